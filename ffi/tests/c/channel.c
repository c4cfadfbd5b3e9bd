/* Channels, readings, scatter, repeated readings, and what is refused. */
#include "check.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[32];
    snprintf(line, sizeof line, "channel %d", (int)printed++);
    tell(line, value);
}

int main(void)
{
    const cpoise_vibration_unit unit = {CPOISE_SCALE_INCH_PER_SECOND, CPOISE_PEAK};
    cpoise_vibration repeats[4] = {{1.0, 2.0}, {1.1, 2.2}, {0.8, 2.1}, {1.05, 1.9}};
    cpoise_vibration_unit no_unit = {0, 0};
    cpoise_channel channel, other, bad;
    cpoise_reading reading, earlier, scaled, wrong;
    cpoise_vibration vibration;
    cpoise_scatter scatter, sum, no_scatter;
    double a, b;
    cpoise_detail detail;

    OK(cpoise_channel_make(7, &unit, CPOISE_PHASE_LAG, 2350.0, 1.0, &channel, NULL));
    CHECK(channel.sensor == 7 && channel.law == CPOISE_LAW_NONE && channel.nominal_rpm == 2350.0);
    tell_next(channel.lowest_rpm);
    tell_next(channel.highest_rpm);
    OK(cpoise_reading_make(&channel, 0.45, 48.0, 2360.0, &reading, NULL));
    CHECK(reading.precision == CPOISE_PRECISION_RELATIVE && reading.weight == 1.0);
    OK(cpoise_reading_make(&channel, 0.61, 75.0, 2350.0, &earlier, NULL));
    tell_next(reading.vibration.re);
    tell_next(reading.vibration.im);
    other = channel;
    other.law = CPOISE_LAW_MASS_CONTROLLED;
    OK(cpoise_reading_make(&other, 0.45, 48.0, 2000.0, &scaled, NULL));
    OK(cpoise_reading_at_nominal_speed(&scaled, &vibration, &a, NULL));
    tell_next(vibration.re);
    tell_next(a);
    OK(cpoise_reading_at_nominal_speed(&scaled, &vibration, NULL, NULL));
    OK(cpoise_reading_change(&reading, &earlier, &vibration, NULL));
    tell_next(vibration.re);
    tell_next(vibration.im);
    OK(cpoise_channel_polar(&channel, &earlier.vibration, &a, &b, NULL));
    tell_next(a);
    tell_next(b);
    OK(cpoise_scatter_known(0.02, &sum, NULL));
    CHECK(sum.degrees_kind == CPOISE_DEGREES_KNOWN && sum.re_re == 0.02 * 0.02 && sum.re_im == 0.0);
    OK(cpoise_scatter_known_polar(&reading.vibration, 0.01, 3.0, &scatter, NULL));
    OK(cpoise_scatter_plus(&scatter, &sum, &sum, NULL));
    tell_next(sum.re_re);
    tell_next(sum.re_im);
    tell_next(sum.im_im);
    OK(cpoise_scatter_semi_axes(&sum, 0.95, &a, &b, NULL));
    tell_next(a);
    tell_next(b);
    OK(cpoise_repeats_mean(repeats, 4, &vibration, &scatter, NULL));
    tell_next(vibration.re);
    tell_next(scatter.re_im);
    CHECK(scatter.degrees_kind == CPOISE_DEGREES_FULL);
    tell_next(scatter.degrees_of_freedom);
    OK(cpoise_repeats_mean(repeats, 1, &vibration, NULL, NULL));
    CHECK(vibration.re == 1.0 && vibration.im == 2.0);

    fill(&bad, sizeof bad);
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_channel_make(1, &no_unit, CPOISE_PHASE_LAG, 1.0, 1.0, &bad, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_channel_make(1, &unit, 0, 1.0, 1.0, &bad, NULL));
    STATUS(CPOISE_OUT_OF_RANGE, cpoise_channel_make(65536, &unit, CPOISE_PHASE_LAG, 1.0, 1.0, &bad, &detail));
    CHECK(strcmp(detail.text, "sensor must be at most 65535, got 65536") == 0);
    STATUS(CPOISE_READING_BAD_WINDOW, cpoise_channel_make(1, &unit, CPOISE_PHASE_LAG, 1.0, -2.0, &bad, NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_channel_make(1, &unit, CPOISE_PHASE_LAG, 0.0, 1.0, &bad, NULL));
    CHECK(untouched(&bad, sizeof bad));
    fill(&wrong, sizeof wrong);
    STATUS(CPOISE_READING_SPEED_OUTSIDE_WINDOW, cpoise_reading_make(&channel, 1.0, 0.0, 2000.0, &wrong, &detail));
    CHECK(strstr(detail.text, "2000.0 rpm") != NULL && strstr(detail.text, "sensor 7") != NULL);
    STATUS(CPOISE_QUANTITY_NEGATIVE, cpoise_reading_make(&channel, -1.0, 0.0, 2350.0, &wrong, NULL));
    bad = channel;
    bad.law = 9;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_reading_make(&bad, 1.0, 0.0, 2350.0, &wrong, NULL));
    bad = channel;
    bad.lowest_rpm = 2400.0;
    STATUS(CPOISE_READING_BAD_WINDOW, cpoise_reading_make(&bad, 1.0, 0.0, 2350.0, &wrong, NULL));
    CHECK(untouched(&wrong, sizeof wrong));
    fill(&vibration, sizeof vibration);
    STATUS(CPOISE_READING_DIFFERENT_CHANNELS, cpoise_reading_change(&scaled, &reading, &vibration, NULL));
    wrong = reading;
    wrong.precision = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_reading_change(&wrong, &reading, &vibration, NULL));
    wrong.precision = CPOISE_PRECISION_RELATIVE;
    wrong.weight = 0.0;
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_reading_change(&wrong, &reading, &vibration, NULL));
    wrong.precision = CPOISE_PRECISION_SCATTER;
    memset(&wrong.scatter, 0, sizeof wrong.scatter);
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_reading_change(&wrong, &reading, &vibration, NULL));
    wrong.scatter.degrees_kind = CPOISE_DEGREES_KNOWN;
    STATUS(CPOISE_READING_NOT_A_COVARIANCE, cpoise_reading_change(&wrong, &reading, &vibration, NULL));
    fill(&no_scatter, sizeof no_scatter);
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_scatter_known(0.0, &no_scatter, NULL));
    STATUS(CPOISE_QUANTITY_NEGATIVE, cpoise_scatter_known_polar(&reading.vibration, -1.0, 1.0, &no_scatter, NULL));
    STATUS(CPOISE_READING_NO_REPEATS, cpoise_repeats_mean(NULL, 0, &vibration, &no_scatter, NULL));
    STATUS(CPOISE_NO_VALUE, cpoise_repeats_mean(repeats, 2, &vibration, &no_scatter, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_repeats_mean(repeats, SIZE_MAX, &vibration, &no_scatter, NULL));
    repeats[1].im = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_repeats_mean(repeats, 4, &vibration, &no_scatter, NULL));
    CHECK(untouched(&vibration, sizeof vibration) && untouched(&no_scatter, sizeof no_scatter));
    return done();
}
