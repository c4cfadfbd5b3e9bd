/* Corrections by every objective, with weights and limits, their proofs, and what is refused. */
#include "job.h"

static int32_t printed;

static void tell_next(const char *name, double value)
{
    char line[48];
    snprintf(line, sizeof line, "%s %d", name, (int)printed++);
    tell(line, value);
}

static void tell_correction(const char *name, const cpoise_correction *correction)
{
    cpoise_unbalance_vector unbalances[2];
    cpoise_vibration predicted[2];
    cpoise_correction_summary summary;
    cpoise_complex dual[2];
    cpoise_share shares[2];
    size_t used, i;

    printed = 0;
    OK(cpoise_correction_added(correction, unbalances, 2, &used, NULL));
    CHECK(used == 2);
    for (i = 0; i < used; i++) {
        tell_next(name, unbalances[i].x_g_mm);
        tell_next(name, unbalances[i].y_g_mm);
    }
    OK(cpoise_correction_total(correction, unbalances, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next(name, unbalances[i].x_g_mm);
        tell_next(name, unbalances[i].y_g_mm);
    }
    OK(cpoise_correction_predicted(correction, predicted, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next(name, predicted[i].re);
        tell_next(name, predicted[i].im);
    }
    OK(cpoise_correction_get_summary(correction, &summary, NULL));
    tell_next(name, summary.objective_value);
    tell_next(name, summary.lower_bound);
    tell_next(name, summary.weighted_rms);
    tell_next(name, summary.largest_amplitude);
    tell_next(name, summary.largest_weighted_amplitude);
    OK(cpoise_correction_dual(correction, dual, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next(name, dual[i].re);
        tell_next(name, dual[i].im);
    }
    OK(cpoise_correction_active_channels(correction, shares, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        CHECK(shares[i].index < 2);
        tell_next(name, shares[i].figure);
    }
    OK(cpoise_correction_planes_at_limit(correction, shares, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        CHECK(shares[i].index < 2);
        tell_next(name, shares[i].figure);
    }
}

int main(void)
{
    cpoise_correction_options options = CPOISE_CORRECTION_OPTIONS_INIT;
    cpoise_fit *fit = job_fit();
    cpoise_influence_matrix *matrix = NULL, *parallel = NULL;
    cpoise_correction *correction = NULL;
    cpoise_vibration as_found[2], now[2];
    cpoise_unbalance_vector mounted[2] = {{100.0, 50.0}, {-30.0, 10.0}};
    cpoise_plane_limit limits[2] = {{0, CPOISE_LIMIT_TOTAL, 500.0}, {1, CPOISE_LIMIT_ADDED, 300.0}};
    cpoise_influence coefficients[4];
    cpoise_channel channels[2];
    cpoise_reading readings[2];
    cpoise_caution cautions[4];
    double weights[2] = {1.0, 2.0};
    size_t used, i;
    cpoise_detail detail;
    /* An option struct of a newer version: more bytes than this library knows. */
    struct {
        cpoise_correction_options known;
        double newer;
    } newer;

    OK(cpoise_fit_influence_new(fit, &matrix, NULL));
    OK(cpoise_fit_as_found(fit, as_found, 2, &used, NULL));
    OK(cpoise_correction_new(matrix, as_found, 2, NULL, &correction, NULL));
    tell_correction("plain", correction);
    cpoise_correction_free(correction);
    correction = NULL;

    OK(cpoise_fit_vibration_with(fit, mounted, 2, now, 2, &used, NULL));
    options.mounted_now = mounted;
    options.mounted_count = 2;
    options.channel_weights = weights;
    options.weight_count = 2;
    options.limits = limits;
    options.limit_count = 2;
    OK(cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    tell_correction("squares", correction);
    cpoise_correction_free(correction);
    correction = NULL;
    options.objective = CPOISE_MIN_MAX;
    OK(cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    tell_correction("minmax", correction);
    cpoise_correction_free(correction);
    correction = NULL;

    /* A newer struct whose new members are zero is taken; one that asks for something is not. */
    memset(&newer, 0, sizeof newer);
    newer.known = options;
    newer.known.size = sizeof newer;
    OK(cpoise_correction_new(matrix, now, 2, &newer.known, &correction, NULL));
    cpoise_correction_free(correction);
    correction = NULL;
    newer.newer = 1.0;
    STATUS(CPOISE_BAD_SIZE, cpoise_correction_new(matrix, now, 2, &newer.known, &correction, &detail));
    CHECK(strstr(detail.text, "asks for what this library does not know") != NULL);
    options.size = 0;
    STATUS(CPOISE_BAD_SIZE, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    options.size = sizeof(size_t);
    STATUS(CPOISE_BAD_SIZE, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    options.size = SIZE_MAX;
    STATUS(CPOISE_BAD_SIZE, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    options.size = sizeof options;

    options.objective = 3;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    options.objective = 0;
    options.mounted_count = 1;
    STATUS(CPOISE_CORRECTION_COUNT, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    options.mounted_count = SIZE_MAX;
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    options.mounted_count = 2;
    options.mounted_now = NULL;
    STATUS(CPOISE_NULL_POINTER, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    options.mounted_now = mounted;
    weights[0] = -1.0;
    STATUS(CPOISE_CORRECTION_CHANNEL_WEIGHT, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    weights[0] = weights[1] = 0.0;
    STATUS(CPOISE_CORRECTION_NO_WEIGHT, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    weights[0] = 1.0;
    limits[0].plane = 2;
    STATUS(CPOISE_CORRECTION_PLANE_OUT_OF_RANGE, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    limits[0].plane = 0;
    limits[0].kind = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    limits[0].kind = CPOISE_LIMIT_TOTAL;
    limits[0].amount_g_mm = -1.0;
    STATUS(CPOISE_CORRECTION_NEGATIVE_LIMIT, cpoise_correction_new(matrix, now, 2, &options, &correction, NULL));
    STATUS(CPOISE_CORRECTION_COUNT, cpoise_correction_new(matrix, now, 1, NULL, &correction, NULL));
    now[1].re = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_correction_new(matrix, now, 2, NULL, &correction, NULL));
    CHECK(correction == NULL);

    /* From readings: of these channels, in this order. */
    job_channels(channels);
    for (i = 0; i < 2; i++) {
        OK(cpoise_reading_make(&channels[i], job_runs[0][2 * i], job_runs[0][2 * i + 1], 2350.0, &readings[i], NULL));
    }
    OK(cpoise_correction_from_readings_new(matrix, readings, 2, NULL, &correction, NULL));
    cpoise_correction_free(correction);
    correction = NULL;
    readings[0] = readings[1];
    STATUS(CPOISE_CORRECTION_WRONG_CHANNEL,
           cpoise_correction_from_readings_new(matrix, readings, 2, NULL, &correction, NULL));

    /* Planes that nearly act in proportion: a caution with its figure and the combination. */
    memset(coefficients, 0, sizeof coefficients);
    coefficients[0].re_per_g_mm = coefficients[1].re_per_g_mm = 1e-3;
    coefficients[2].re_per_g_mm = 1e-3;
    coefficients[3].re_per_g_mm = 1.05e-3;
    OK(cpoise_influence_matrix_new(channels, 2, 2, coefficients, 4, &parallel, NULL));
    OK(cpoise_correction_new(parallel, as_found, 2, NULL, &correction, NULL));
    OK(cpoise_correction_cautions(correction, cautions, 4, &used, NULL));
    CHECK(used == 1 && cautions[0].code == CPOISE_CAUTION_ILL_CONDITIONED_PLANES);
    CHECK(cautions[0].figures[0] > 10.0 && cautions[0].channel == CPOISE_NONE && cautions[0].text[0] != '\0');
    OK(cpoise_correction_least_seen(correction, 0, mounted, 2, &used, NULL));
    CHECK(used == 2 && mounted[0].x_g_mm * mounted[1].x_g_mm < 0.0);
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_correction_least_seen(correction, 1, mounted, 2, &used, NULL));
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_correction_cautions(correction, NULL, 0, &used, NULL));
    CHECK(used == 1);
    fill(mounted, sizeof mounted);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_correction_added(correction, mounted, 1, &used, NULL));
    CHECK(used == 2 && untouched(mounted, sizeof mounted));
    cpoise_correction_free(correction);
    correction = NULL;
    coefficients[3].re_per_g_mm = 1e-3;
    cpoise_influence_matrix_free(parallel);
    OK(cpoise_influence_matrix_new(channels, 2, 2, coefficients, 4, &parallel, NULL));
    STATUS(CPOISE_CORRECTION_INSEPARABLE_PLANES,
           cpoise_correction_new(parallel, as_found, 2, NULL, &correction, NULL));
    cpoise_influence_matrix_free(parallel);
    cpoise_influence_matrix_free(matrix);
    cpoise_fit_free(fit);
    cpoise_correction_free(NULL);
    return done();
}
