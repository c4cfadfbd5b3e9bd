/* Matrix, prior, estimator and fit, and what is refused. */
#include "job.h"

static int32_t printed;

static void tell_next(const char *name, double value)
{
    char line[48];
    snprintf(line, sizeof line, "%s %d", name, (int)printed++);
    tell(line, value);
}

static double known(double value)
{
    return value == value ? value : 0.0;
}

static void tell_unknowns(const char *name, const cpoise_fit *fit)
{
    cpoise_vibration as_found[2];
    cpoise_influence coefficients[4];
    cpoise_influence_matrix *matrix = NULL;
    size_t used = 0, i;
    OK(cpoise_fit_as_found(fit, as_found, 2, &used, NULL));
    CHECK(used == 2);
    OK(cpoise_fit_influence_new(fit, &matrix, NULL));
    OK(cpoise_influence_matrix_coefficients(matrix, coefficients, 4, &used, NULL));
    CHECK(used == 4);
    cpoise_influence_matrix_free(matrix);
    for (i = 0; i < 2; i++) {
        tell_next(name, as_found[i].re);
        tell_next(name, as_found[i].im);
    }
    for (i = 0; i < 4; i++) {
        tell_next(name, coefficients[i].re_per_g_mm);
        tell_next(name, coefficients[i].im_per_g_mm);
    }
}

static void tell_fit(const char *name, const cpoise_fit *fit)
{
    cpoise_unbalance_vector some[2];
    cpoise_vibration residual, with[2];
    cpoise_channel_fit of;
    double leverage, standardised, studentised, entries[36];
    size_t channel, used = 0, i;

    printed = 0;
    tell_unknowns(name, fit);
    for (channel = 0; channel < 2; channel++) {
        OK(cpoise_fit_channel(fit, channel, &of, NULL));
        OK(cpoise_fit_residual(fit, channel, 1, &residual, &leverage, &standardised, &studentised, NULL));
        CHECK(of.excess_readings == 1 && of.degrees_kind == CPOISE_DEGREES_CIRCULAR);
        tell_next(name, of.weighted_sum_of_squares);
        tell_next(name, known(of.residual_variance));
        tell_next(name, known(of.chi_squared));
        tell_next(name, residual.re);
        tell_next(name, known(leverage));
        tell_next(name, known(standardised));
        tell_next(name, known(studentised));
        OK(cpoise_fit_covariance(fit, channel, entries, 36, &used, NULL));
        CHECK(used == 36);
        for (i = 0; i < used; i++) {
            tell_next(name, entries[i]);
        }
        OK(cpoise_fit_cofactor(fit, channel, entries, 36, &used, NULL));
        for (i = 0; i < used; i++) {
            tell_next(name, entries[i]);
        }
    }
    some[0] = job_unbalance(3.0, 10.0);
    some[1] = job_unbalance(4.0, 20.0);
    OK(cpoise_fit_vibration_with(fit, some, 2, with, 2, &used, NULL));
    for (i = 0; i < 2; i++) {
        tell_next(name, with[i].re);
        tell_next(name, with[i].im);
    }
}

static void figures(void)
{
    cpoise_fit *fit = job_fit(), *common = NULL, *stated = NULL;
    cpoise_influence_matrix *matrix = NULL;
    cpoise_estimator *estimator;
    cpoise_prior *prior = NULL;
    double weights[2] = {1.0, 4.0}, values[2], condition;
    cpoise_unbalance_vector mounted[2];
    size_t used, i, rank, unknowns, runs;

    tell_fit("fit", fit);
    OK(cpoise_fit_with_common_variance_new(fit, &common, NULL));
    tell_fit("common", common);
    cpoise_fit_free(common);
    OK(cpoise_fit_mounted_in(fit, 1, mounted, 2, &used, NULL));
    CHECK(used == 2 && mounted[1].x_g_mm == 0.0 && mounted[0].y_g_mm == -1980.0);

    OK(cpoise_fit_influence_new(fit, &matrix, NULL));
    /* One-shot balancing: stored coefficients, one reading. */
    OK(cpoise_prior_with_relative_spread_new(matrix, 0.2, &prior, NULL));
    estimator = job_estimator(CPOISE_PRECISION_SCATTER);
    OK(cpoise_estimator_set_prior(estimator, prior, NULL));
    cpoise_prior_free(prior);
    job_add(estimator, 1, 0.02);
    OK(cpoise_estimator_design(estimator, 0, &rank, &unknowns, &condition, NULL));
    CHECK(rank == 1 && unknowns == 3);
    OK(cpoise_estimator_runs(estimator, &runs, NULL));
    CHECK(runs == 1);
    OK(cpoise_estimator_fit_new(estimator, &stated, NULL));
    printed = 0;
    tell_unknowns("prior", stated);
    cpoise_fit_free(stated);
    cpoise_estimator_free(estimator);
    /* The coefficients of the job before, for a sister machine. */
    OK(cpoise_prior_from_fit_new(fit, 0.1, &prior, NULL));
    estimator = job_estimator(CPOISE_PRECISION_SCATTER);
    OK(cpoise_estimator_set_prior(estimator, prior, NULL));
    cpoise_prior_free(prior);
    job_add(estimator, 2, 0.02);
    OK(cpoise_estimator_fit_new(estimator, &stated, NULL));
    printed = 0;
    tell_unknowns("update", stated);
    cpoise_fit_free(stated);
    cpoise_estimator_free(estimator);

    printed = 0;
    OK(cpoise_influence_matrix_singular_values(matrix, weights, 2, values, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next("matrix", values[i]);
    }
    OK(cpoise_influence_matrix_condition_number(matrix, NULL, 0, &condition, NULL));
    tell_next("matrix", condition);
    cpoise_influence_matrix_free(matrix);
    cpoise_fit_free(fit);
}

static void refused(void)
{
    cpoise_channel channels[2];
    cpoise_estimator *estimator = NULL, *relative;
    cpoise_influence_matrix *matrix = NULL;
    cpoise_fit *fit = NULL, *good = job_fit();
    cpoise_prior *prior = NULL;
    cpoise_reading reading, other;
    cpoise_mounted mounted;
    cpoise_influence coefficients[4];
    cpoise_vibration as_found[2];
    cpoise_caution caution;
    double entries[36], one_deviation = 1.0;
    size_t used = 77, runs;
    cpoise_detail detail;

    job_channels(channels);
    STATUS(CPOISE_ESTIMATE_NO_CHANNELS, cpoise_estimator_new(NULL, 0, 1, 1, &estimator, NULL));
    STATUS(CPOISE_ESTIMATE_NO_PLANES, cpoise_estimator_new(channels, 2, 0, 1, &estimator, NULL));
    STATUS(CPOISE_OUT_OF_RANGE, cpoise_estimator_new(channels, 2, 257, 1, &estimator, NULL));
    STATUS(CPOISE_OUT_OF_RANGE, cpoise_estimator_new(channels, 2, SIZE_MAX, 1, &estimator, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_estimator_new(channels, 2, 1, 0, &estimator, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_estimator_new(channels, SIZE_MAX, 1, 1, &estimator, NULL));
    channels[1] = channels[0];
    STATUS(CPOISE_ESTIMATE_REPEATED_CHANNEL, cpoise_estimator_new(channels, 2, 1, 1, &estimator, NULL));
    job_channels(channels);
    CHECK(estimator == NULL);

    relative = job_estimator(CPOISE_PRECISION_RELATIVE);
    STATUS(CPOISE_ESTIMATE_NO_RUNS, cpoise_estimator_fit_new(relative, &fit, NULL));
    OK(cpoise_reading_make(&channels[0], 0.3, 10.0, 2350.0, &reading, NULL));
    mounted.plane = 2;
    mounted.unbalance = job_unbalance(1.0, 0.0);
    STATUS(CPOISE_ESTIMATE_PLANE_OUT_OF_RANGE, cpoise_estimator_add_run(relative, NULL, &mounted, 1, &reading, 1, NULL, &detail));
    CHECK(strcmp(detail.text, "run 0 mounts a weight in plane 2, but there are 2 planes, counted from 0") == 0);
    mounted.plane = SIZE_MAX;
    STATUS(CPOISE_ESTIMATE_PLANE_OUT_OF_RANGE, cpoise_estimator_add_run(relative, NULL, &mounted, 1, &reading, 1, NULL, NULL));
    mounted.plane = 0;
    mounted.unbalance.x_g_mm = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_estimator_add_run(relative, NULL, &mounted, 1, &reading, 1, NULL, NULL));
    STATUS(CPOISE_ESTIMATE_NO_READING, cpoise_estimator_add_run(relative, NULL, NULL, 0, NULL, 0, NULL, NULL));
    STATUS(CPOISE_NOT_UTF8, cpoise_estimator_add_run(relative, "\xc3", NULL, 0, &reading, 1, NULL, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_estimator_add_run(relative, NULL, NULL, 0, &reading, SIZE_MAX / 2, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_estimator_add_run(relative, NULL, NULL, 1, &reading, 1, NULL, NULL));
    other = reading;
    other.channel.sensor = 9;
    STATUS(CPOISE_ESTIMATE_UNKNOWN_CHANNEL, cpoise_estimator_add_run(relative, NULL, NULL, 0, &other, 1, NULL, NULL));
    other = reading;
    other.precision = CPOISE_PRECISION_SCATTER;
    OK(cpoise_scatter_known(0.1, &other.scatter, NULL));
    STATUS(CPOISE_ESTIMATE_PRECISION, cpoise_estimator_add_run(relative, NULL, NULL, 0, &other, 1, NULL, NULL));
    OK(cpoise_estimator_runs(relative, &runs, NULL));
    CHECK(runs == 0);
    job_add(relative, 2, 0.0);
    STATUS(CPOISE_ESTIMATE_UNDETERMINED, cpoise_estimator_fit_new(relative, &fit, &detail));
    CHECK(fit == NULL && detail.text[0] != '\0');
    STATUS(CPOISE_ESTIMATE_CHANNEL_OUT_OF_RANGE, cpoise_estimator_design(relative, 2, &runs, &runs, entries, NULL));

    OK(cpoise_fit_influence_new(good, &matrix, NULL));
    STATUS(CPOISE_ESTIMATE_PRIOR_COVARIANCE, cpoise_prior_with_relative_spread_new(matrix, 0.0, &prior, NULL));
    STATUS(CPOISE_ESTIMATE_COUNT, cpoise_prior_with_standard_deviations_new(matrix, &one_deviation, 1, &prior, NULL));
    STATUS(CPOISE_ESTIMATE_COUNT, cpoise_prior_with_covariances_new(matrix, entries, 36, &prior, NULL));
    memset(entries, 0, sizeof entries);
    entries[1] = 1.0;
    STATUS(CPOISE_ESTIMATE_COVARIANCE_ENTRY, cpoise_prior_with_covariances_new(matrix, entries, 32, &prior, NULL));
    STATUS(CPOISE_QUANTITY_NEGATIVE, cpoise_prior_from_fit_new(good, -1.0, &prior, NULL));
    CHECK(prior == NULL);
    OK(cpoise_prior_with_relative_spread_new(matrix, 0.1, &prior, NULL));
    STATUS(CPOISE_ESTIMATE_PRIOR_NEEDS_VARIANCES, cpoise_estimator_set_prior(relative, prior, NULL));
    OK(cpoise_estimator_new(channels, 2, 1, CPOISE_PRECISION_SCATTER, &estimator, NULL));
    STATUS(CPOISE_ESTIMATE_PRIOR_DOES_NOT_FIT, cpoise_estimator_set_prior(estimator, prior, NULL));
    cpoise_prior_free(prior);
    cpoise_estimator_free(estimator);
    cpoise_estimator_free(relative);
    cpoise_influence_matrix_free(matrix);
    matrix = NULL;

    fill(coefficients, sizeof coefficients);
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, cpoise_influence_matrix_new(channels, 2, 2, coefficients, 4, &matrix, NULL));
    memset(coefficients, 0, sizeof coefficients);
    STATUS(CPOISE_ESTIMATE_COUNT, cpoise_influence_matrix_new(channels, 2, 2, coefficients, 3, &matrix, NULL));
    CHECK(matrix == NULL);
    OK(cpoise_influence_matrix_new(channels, 2, 2, coefficients, 4, &matrix, NULL));
    OK(cpoise_influence_matrix_size(matrix, &used, &runs, NULL));
    CHECK(used == 2 && runs == 2);
    OK(cpoise_influence_matrix_channels(matrix, channels, 2, &used, NULL));
    CHECK(used == 2 && channels[1].sensor == 2);
    STATUS(CPOISE_CORRECTION_COUNT, cpoise_influence_matrix_effect(matrix, &mounted.unbalance, 0, as_found, 2, &used, NULL));
    STATUS(CPOISE_CORRECTION_COUNT, cpoise_influence_matrix_condition_number(matrix, &one_deviation, 1, entries, NULL));
    cpoise_influence_matrix_free(matrix);

    fill(as_found, sizeof as_found);
    fill(entries, sizeof entries);
    used = 77;
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_fit_as_found(good, as_found, 1, &used, NULL));
    CHECK(used == 2 && untouched(as_found, sizeof as_found));
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_fit_covariance(good, 0, NULL, 0, &used, NULL));
    CHECK(used == 36);
    used = 77;
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_fit_covariance(good, 2, entries, 36, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_fit_cofactor(good, SIZE_MAX, entries, 36, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_fit_mounted_in(good, 4, &mounted.unbalance, 1, &used, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_fit_covariance(good, 0, entries, SIZE_MAX, &used, NULL));
    CHECK(used == 77 && untouched(entries, sizeof entries));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_fit_residual(good, 0, 4, as_found, entries, entries, entries, NULL));
    CHECK(untouched(as_found, sizeof as_found));
    OK(cpoise_fit_cautions(good, &caution, 1, &used, NULL));
    cpoise_fit_free(good);

    /* Nothing to free. */
    cpoise_influence_matrix_free(NULL);
    cpoise_prior_free(NULL);
    cpoise_estimator_free(NULL);
    cpoise_fit_free(NULL);
}

int main(void)
{
    figures();
    refused();
    return done();
}
