/* One and two planes in closed form, and what is refused. */
#include "check.h"

static const cpoise_convention convention = {CPOISE_PHASE_LAG, CPOISE_AGAINST_ROTATION};

static cpoise_vibration reads(double amplitude, double phase)
{
    cpoise_vibration vibration;
    OK(cpoise_vibration_from_polar(&convention, amplitude, phase, &vibration, NULL));
    return vibration;
}

static cpoise_unbalance_vector mounted(double grams, double place)
{
    cpoise_weight weight;
    cpoise_unbalance_vector unbalance;
    OK(cpoise_weight_make(&convention, grams, 165.0, place, &weight, NULL));
    OK(cpoise_weight_unbalance(&weight, &unbalance, NULL));
    return unbalance;
}

static void one_plane(void)
{
    cpoise_vibration as_found = reads(0.45, 48.0), with_trial = reads(0.61, 75.0), left, none;
    cpoise_unbalance_vector trial = mounted(12.0, 90.0), other = mounted(10.0, 200.0), add, zero;
    cpoise_influence h, no_influence;

    OK(cpoise_one_plane_from_trial(&as_found, &with_trial, &trial, &h, NULL));
    OK(cpoise_one_plane_correction(&h, &as_found, &add, NULL));
    OK(cpoise_one_plane_predicted(&h, &as_found, &other, &left, NULL));
    tell("one 0", h.re_per_g_mm);
    tell("one 1", h.im_per_g_mm);
    tell("one 2", add.x_g_mm);
    tell("one 3", add.y_g_mm);
    tell("one 4", left.re);
    tell("one 5", left.im);
    OK(cpoise_one_plane_predicted(&h, &as_found, &add, &left, NULL));
    CHECK(left.re * left.re + left.im * left.im < 1e-30);

    memset(&zero, 0, sizeof zero);
    memset(&no_influence, 0, sizeof no_influence);
    none.re = not_a_number();
    none.im = 0.0;
    fill(&h, sizeof h);
    fill(&add, sizeof add);
    STATUS(CPOISE_ESTIMATE_ZERO_TRIAL, cpoise_one_plane_from_trial(&as_found, &with_trial, &zero, &h, NULL));
    STATUS(CPOISE_ESTIMATE_NO_RESPONSE, cpoise_one_plane_from_trial(&as_found, &as_found, &trial, &h, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_one_plane_from_trial(&none, &as_found, &trial, &h, NULL));
    STATUS(CPOISE_CORRECTION_NO_INFLUENCE, cpoise_one_plane_correction(&no_influence, &as_found, &add, NULL));
    no_influence.re_per_g_mm = infinite();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_one_plane_correction(&no_influence, &as_found, &add, NULL));
    CHECK(untouched(&h, sizeof h) && untouched(&add, sizeof add));
}

static void two_planes(void)
{
    cpoise_two_plane_run runs[3];
    cpoise_two_planes planes, flat;
    cpoise_vibration now[2], then[2];
    cpoise_unbalance_vector add[2], some[2];
    double condition;
    char line[32];
    double numbers[17];
    int i;

    memset(runs, 0, sizeof runs);
    runs[0].vibration[0] = reads(8.5, 60.0);
    runs[0].vibration[1] = reads(6.5, 205.0);
    runs[1].mounted[0] = mounted(10.0, 270.0);
    runs[1].vibration[0] = reads(6.0, 125.0);
    runs[1].vibration[1] = reads(4.5, 230.0);
    runs[2].mounted[1] = mounted(12.0, 180.0);
    runs[2].vibration[0] = reads(6.0, 35.0);
    runs[2].vibration[1] = reads(10.5, 160.0);
    now[0] = runs[0].vibration[0];
    now[1] = runs[0].vibration[1];
    some[0] = mounted(1.0, 10.0);
    some[1] = mounted(2.0, 20.0);
    OK(cpoise_two_planes_from_runs(runs, &planes, NULL));
    OK(cpoise_two_planes_correction(&planes, now, add, NULL));
    OK(cpoise_two_planes_predicted(&planes, now, some, then, NULL));
    OK(cpoise_two_planes_condition_number(&planes, &condition, NULL));
    memcpy(numbers, &planes, sizeof planes);
    memcpy(numbers + 8, add, sizeof add);
    memcpy(numbers + 12, then, sizeof then);
    numbers[16] = condition;
    for (i = 0; i < 17; i++) {
        snprintf(line, sizeof line, "two %d", i);
        tell(line, numbers[i]);
    }
    /* The vibration before may take the vibration after. */
    OK(cpoise_two_planes_predicted(&planes, now, add, now, NULL));
    CHECK(now[0].re * now[0].re + now[1].im * now[1].im < 1e-25);

    flat = planes;
    flat.at_second_point[0] = flat.at_first_point[0];
    flat.at_second_point[1] = flat.at_first_point[1];
    fill(add, sizeof add);
    STATUS(CPOISE_CORRECTION_PROPORTIONAL_PLANES, cpoise_two_planes_correction(&flat, now, add, NULL));
    CHECK(untouched(add, sizeof add));
    OK(cpoise_two_planes_condition_number(&flat, &condition, NULL));
    CHECK(condition > 1e15);
    flat.at_first_point[1].im_per_g_mm = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_two_planes_correction(&flat, now, add, NULL));
    CHECK(untouched(add, sizeof add));
    fill(&planes, sizeof planes);
    runs[2].mounted[1] = runs[0].mounted[1];
    STATUS(CPOISE_ESTIMATE_ZERO_TRIAL, cpoise_two_planes_from_runs(runs, &planes, NULL));
    runs[2].mounted[0] = mounted(5.0, 270.0);
    STATUS(CPOISE_ESTIMATE_PROPORTIONAL_TRIALS, cpoise_two_planes_from_runs(runs, &planes, NULL));
    runs[2].vibration[0] = runs[0].vibration[0];
    runs[2].vibration[1] = runs[0].vibration[1];
    STATUS(CPOISE_ESTIMATE_NO_RESPONSE, cpoise_two_planes_from_runs(runs, &planes, NULL));
    runs[1].vibration[1].im = infinite();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_two_planes_from_runs(runs, &planes, NULL));
    CHECK(untouched(&planes, sizeof planes));
}

int main(void)
{
    one_plane();
    two_planes();
    return done();
}
