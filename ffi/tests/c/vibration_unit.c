/* Every unit of vibration into every other, and what is refused. */
#include "check.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[32];
    snprintf(line, sizeof line, "converted %d", (int)printed++);
    tell(line, value);
}

int main(void)
{
    cpoise_vibration vibration, result;
    cpoise_vibration_unit from, to, bad;
    const char *text;
    double amplitude;
    int32_t quantity;

    vibration.re = 0.123;
    vibration.im = -0.456;
    for (from.scale = CPOISE_SCALE_MILLIMETRE; from.scale <= CPOISE_SCALE_STANDARD_GRAVITY; from.scale++) {
        for (from.detector = CPOISE_PEAK; from.detector <= CPOISE_RMS; from.detector++) {
            for (to.scale = CPOISE_SCALE_MILLIMETRE; to.scale <= CPOISE_SCALE_STANDARD_GRAVITY; to.scale++) {
                for (to.detector = CPOISE_PEAK; to.detector <= CPOISE_RMS; to.detector++) {
                    OK(cpoise_vibration_convert(&vibration, &from, &to, 2345.6, &result, NULL));
                    OK(cpoise_vibration_convert_amplitude(0.789, &from, &to, 2345.6, &amplitude, NULL));
                    tell_next(result.re);
                    tell_next(result.im);
                    tell_next(amplitude);
                }
            }
        }
    }
    OK(cpoise_vibration_scale_quantity(CPOISE_SCALE_INCH_PER_SECOND, &quantity, NULL));
    CHECK(quantity == CPOISE_VELOCITY);
    OK(cpoise_vibration_scale_symbol(CPOISE_SCALE_STANDARD_GRAVITY, &text, NULL));
    CHECK(strcmp(text, "g_n") == 0);
    OK(cpoise_detector_words(CPOISE_PEAK_TO_PEAK, &text, NULL));
    CHECK(strcmp(text, "peak-to-peak") == 0);
    /* One variable may be input and output. */
    from.scale = to.scale = CPOISE_SCALE_MIL;
    from.detector = CPOISE_PEAK;
    to.detector = CPOISE_PEAK_TO_PEAK;
    OK(cpoise_vibration_convert(&vibration, &from, &to, 100.0, &vibration, NULL));
    CHECK(vibration.re == 0.246 && vibration.im == -0.912);

    fill(&result, sizeof result);
    fill(&amplitude, sizeof amplitude);
    bad = from;
    bad.detector = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_vibration_convert(&vibration, &bad, &to, 1.0, &result, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_vibration_convert_amplitude(1.0, &from, &bad, 1.0, &amplitude, NULL));
    bad = from;
    bad.scale = CPOISE_SCALE_STANDARD_GRAVITY + 1;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_vibration_convert(&vibration, &from, &bad, 1.0, &result, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_vibration_scale_quantity(8, &quantity, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_vibration_scale_symbol(0, &text, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_detector_words(4, &text, NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_vibration_convert(&vibration, &from, &to, 0.0, &result, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_vibration_convert_amplitude(not_a_number(), &from, &to, 1.0, &amplitude, NULL));
    bad.scale = CPOISE_SCALE_MILLIMETRE_PER_SECOND;
    bad.detector = CPOISE_PEAK;
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, cpoise_vibration_convert_amplitude(1e300, &from, &bad, 1e49, &amplitude, NULL));
    vibration.re = 1e99;
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, cpoise_vibration_convert(&vibration, &from, &bad, 1e49, &result, NULL));
    vibration.re = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_vibration_convert(&vibration, &from, &to, 1.0, &result, NULL));
    CHECK(untouched(&result, sizeof result) && untouched(&amplitude, sizeof amplitude));
    return done();
}
