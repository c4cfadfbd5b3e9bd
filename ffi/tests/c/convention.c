/* All four conventions, there and back, and what is refused. */
#include "check.h"

static void pair(int32_t phase, int32_t rotor)
{
    cpoise_convention convention;
    cpoise_vibration vibration, caused;
    cpoise_weight weight, back;
    cpoise_unbalance_vector unbalance, direct;
    cpoise_influence influence;
    double numbers[21];
    char line[64];
    int i;

    convention.phase = phase;
    convention.rotor = rotor;
    influence.re_per_g_mm = -1.4e-4;
    influence.im_per_g_mm = 0.7e-4;
    OK(cpoise_vibration_from_polar(&convention, 0.45, 48.1, &vibration, NULL));
    numbers[0] = vibration.re;
    numbers[1] = vibration.im;
    OK(cpoise_vibration_to_polar(&convention, &vibration, &numbers[2], &numbers[3], NULL));
    OK(cpoise_weight_make(&convention, 12.0, 165.0, 91.7, &weight, NULL));
    numbers[4] = weight.mass_g;
    numbers[5] = weight.radius_mm;
    numbers[6] = weight.angle_with_rotation_deg;
    OK(cpoise_weight_unbalance(&weight, &unbalance, NULL));
    numbers[7] = unbalance.x_g_mm;
    numbers[8] = unbalance.y_g_mm;
    OK(cpoise_unbalance_weight(&unbalance, 165.0, &back, NULL));
    numbers[9] = back.mass_g;
    numbers[10] = back.angle_with_rotation_deg;
    OK(cpoise_unbalance_to_polar(&convention, &unbalance, &numbers[11], &numbers[12], NULL));
    OK(cpoise_unbalance_from_polar(&convention, 1980.0, 91.7, &direct, NULL));
    numbers[13] = direct.x_g_mm;
    numbers[14] = direct.y_g_mm;
    OK(cpoise_influence_times_unbalance(&influence, &unbalance, &caused, NULL));
    numbers[15] = caused.re;
    numbers[16] = caused.im;
    OK(cpoise_influence_to_polar(&influence, &numbers[17], &numbers[18], NULL));
    OK(cpoise_place_from_caller(&convention, 33.3, &numbers[19], NULL));
    OK(cpoise_place_to_caller(&convention, numbers[19], &numbers[20], NULL));
    for (i = 0; i < 21; i++) {
        snprintf(line, sizeof line, "pair %d%d %d", (int)phase - 1, (int)rotor - 1, i);
        tell(line, numbers[i]);
    }
}

static void refused(void)
{
    cpoise_convention good, bad;
    cpoise_vibration vibration, no_vibration, vibration_out;
    cpoise_unbalance_vector unbalance, no_unbalance, unbalance_out;
    cpoise_influence influence, no_influence;
    cpoise_weight weight, weight_out;
    double a, b;
    cpoise_detail detail;

    good.phase = CPOISE_PHASE_LAG;
    good.rotor = CPOISE_AGAINST_ROTATION;
    vibration.re = 1.0;
    vibration.im = 2.0;
    no_vibration.re = not_a_number();
    no_vibration.im = 0.0;
    unbalance.x_g_mm = 3.0;
    unbalance.y_g_mm = 4.0;
    no_unbalance.x_g_mm = 0.0;
    no_unbalance.y_g_mm = infinite();
    influence.re_per_g_mm = 1e-3;
    influence.im_per_g_mm = 0.0;
    no_influence.re_per_g_mm = 1e200;
    no_influence.im_per_g_mm = 0.0;
    OK(cpoise_weight_make(&good, 1.0, 100.0, 0.0, &weight, NULL));
    fill(&a, sizeof a);
    fill(&b, sizeof b);
    fill(&vibration_out, sizeof vibration_out);
    fill(&unbalance_out, sizeof unbalance_out);
    fill(&weight_out, sizeof weight_out);

    /* No sense is the default. */
    memset(&bad, 0, sizeof bad);
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_vibration_from_polar(&bad, 1.0, 0.0, &vibration_out, &detail));
    CHECK(strcmp(detail.text, "sense of phases 0 is not known: take one of the constants in the header") == 0);
    bad = good;
    bad.rotor = 3;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_vibration_to_polar(&bad, &vibration, &a, &b, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_weight_make(&bad, 1.0, 1.0, 0.0, &weight_out, &detail));
    CHECK(strcmp(detail.text, "sense of places on the rotor 3 is not known: take one of the constants in the header") == 0);
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_unbalance_from_polar(&bad, 1.0, 0.0, &unbalance_out, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_unbalance_to_polar(&bad, &unbalance, &a, &b, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_place_from_caller(&bad, 0.0, &a, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_place_to_caller(&bad, 0.0, &a, NULL));

    STATUS(CPOISE_QUANTITY_NEGATIVE, cpoise_vibration_from_polar(&good, -1.0, 0.0, &vibration_out, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_vibration_from_polar(&good, 1.0, not_a_number(), &vibration_out, NULL));
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, cpoise_vibration_from_polar(&good, 1e101, 0.0, &vibration_out, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_vibration_to_polar(&good, &no_vibration, &a, &b, NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_weight_make(&good, 1.0, 0.0, 0.0, &weight_out, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_unbalance_weight(&no_unbalance, 1.0, &weight_out, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_unbalance_to_polar(&good, &no_unbalance, &a, &b, NULL));
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, cpoise_influence_to_polar(&no_influence, &a, &b, NULL));
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, cpoise_influence_times_unbalance(&no_influence, &unbalance, &vibration_out, NULL));
    weight.radius_mm = -1.0;
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_weight_unbalance(&weight, &unbalance_out, NULL));

    STATUS(CPOISE_NULL_POINTER, cpoise_vibration_from_polar(NULL, 1.0, 0.0, &vibration_out, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_vibration_from_polar(&good, 1.0, 0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_vibration_to_polar(NULL, &vibration, &a, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_vibration_to_polar(&good, NULL, &a, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_vibration_to_polar(&good, &vibration, NULL, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_vibration_to_polar(&good, &vibration, &a, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_place_from_caller(NULL, 0.0, &a, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_place_from_caller(&good, 0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_place_to_caller(NULL, 0.0, &a, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_place_to_caller(&good, 0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_weight_make(NULL, 1.0, 1.0, 0.0, &weight_out, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_weight_make(&good, 1.0, 1.0, 0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_weight_unbalance(NULL, &unbalance_out, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_weight_unbalance(&weight, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_weight(NULL, 1.0, &weight_out, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_weight(&unbalance, 1.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_from_polar(NULL, 1.0, 0.0, &unbalance_out, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_from_polar(&good, 1.0, 0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_to_polar(NULL, &unbalance, &a, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_to_polar(&good, NULL, &a, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_to_polar(&good, &unbalance, NULL, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_to_polar(&good, &unbalance, &a, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_influence_times_unbalance(NULL, &unbalance, &vibration_out, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_influence_times_unbalance(&influence, NULL, &vibration_out, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_influence_times_unbalance(&influence, &unbalance, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_influence_to_polar(NULL, &a, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_influence_to_polar(&influence, NULL, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_influence_to_polar(&influence, &a, NULL, NULL));

    CHECK(untouched(&a, sizeof a) && untouched(&b, sizeof b));
    CHECK(untouched(&vibration_out, sizeof vibration_out));
    CHECK(untouched(&unbalance_out, sizeof unbalance_out));
    CHECK(untouched(&weight_out, sizeof weight_out));
}

int main(void)
{
    pair(CPOISE_PHASE_LAG, CPOISE_WITH_ROTATION);
    pair(CPOISE_PHASE_LAG, CPOISE_AGAINST_ROTATION);
    pair(CPOISE_PHASE_LEAD, CPOISE_WITH_ROTATION);
    pair(CPOISE_PHASE_LEAD, CPOISE_AGAINST_ROTATION);
    refused();
    return done();
}
