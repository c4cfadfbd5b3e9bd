/* Conversion of quantities, and what is refused. */
#include "check.h"

typedef cpoise_status convert(double, int32_t, int32_t, double *, cpoise_detail *);
typedef cpoise_status symbol(int32_t, const char **, cpoise_detail *);

static void table(const char *name, convert *call, symbol *symbol_of, int32_t last, int positive)
{
    char line[64];
    const char *text = NULL;
    double result, before;
    int32_t from, to, index = 0;
    for (from = 1; from <= last; from++) {
        for (to = 1; to <= last; to++) {
            OK(call(1.2345678901234567, from, to, &result, NULL));
            snprintf(line, sizeof line, "%s %d", name, (int)index++);
            tell(line, result);
        }
        OK(symbol_of(from, &text, NULL));
        CHECK(text[0] != '\0');
    }
    fill(&result, sizeof result);
    before = result;
    STATUS(CPOISE_UNKNOWN_CONSTANT, call(1.0, 0, 1, &result, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, call(1.0, last + 1, 1, &result, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, call(1.0, 1, last + 1, &result, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, call(1.0, 1, INT32_MIN, &result, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, call(not_a_number(), 1, 1, &result, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, call(-infinite(), 1, 1, &result, NULL));
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, call(1e300, 1, 1, &result, NULL));
    STATUS(CPOISE_NULL_POINTER, call(1.0, 1, 1, NULL, NULL));
    if (positive) {
        STATUS(CPOISE_QUANTITY_NOT_POSITIVE, call(0.0, 1, 1, &result, NULL));
        STATUS(CPOISE_QUANTITY_NOT_POSITIVE, call(-1.0, 1, 1, &result, NULL));
    }
    CHECK(memcmp(&before, &result, sizeof result) == 0);
    text = "before";
    STATUS(CPOISE_UNKNOWN_CONSTANT, symbol_of(last + 1, &text, NULL));
    STATUS(CPOISE_NULL_POINTER, symbol_of(1, NULL, NULL));
    CHECK(strcmp(text, "before") == 0);
}

int main(void)
{
    double force, amount, a, b;
    const char *text;

    table("mass", cpoise_mass_convert, cpoise_mass_unit_symbol, CPOISE_POUND, 0);
    table("length", cpoise_length_convert, cpoise_length_unit_symbol, CPOISE_FOOT, 0);
    table("radius", cpoise_radius_convert, cpoise_length_unit_symbol, CPOISE_FOOT, 1);
    table("speed", cpoise_speed_convert, cpoise_speed_unit_symbol, CPOISE_RADIAN_PER_SECOND, 1);
    table("unbalance", cpoise_unbalance_convert, cpoise_unbalance_unit_symbol, CPOISE_POUND_INCH, 0);
    table("force", cpoise_force_convert, cpoise_force_unit_symbol, CPOISE_POUND_FORCE, 0);

    /* 1 lb = 16 oz = 453.59237 g, exactly: international yard and pound agreement, 1959. */
    OK(cpoise_mass_convert(1.0, CPOISE_POUND, CPOISE_OUNCE, &a, NULL));
    CHECK(a == 16.0);
    OK(cpoise_mass_convert(1.0, CPOISE_POUND, CPOISE_GRAM, &a, NULL));
    CHECK(a == 453.59237);
    OK(cpoise_speed_unit_symbol(CPOISE_HERTZ, &text, NULL));
    CHECK(strcmp(text, "Hz") == 0);

    OK(cpoise_centrifugal_force(1234.5, 2345.6, &force, NULL));
    OK(cpoise_unbalance_of_force(force, 2345.6, &amount, NULL));
    tell("physics 0", force);
    tell("physics 1", amount);
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_centrifugal_force(1.0, 0.0, &force, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_unbalance_of_force(not_a_number(), 1.0, &amount, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_centrifugal_force(1.0, 1.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_unbalance_of_force(1.0, 1.0, NULL, NULL));

    OK(cpoise_angle_reduce(-12.3, &a, NULL));
    tell("angle 0", a);
    OK(cpoise_angle_from_radians(1.0, &a, NULL));
    tell("angle 1", a);
    OK(cpoise_angle_signed(347.7, &a, NULL));
    tell("angle 2", a);
    OK(cpoise_angle_separation(350.1, 9.8, &a, NULL));
    tell("angle 3", a);
    OK(cpoise_angle_sine_cosine(12.3, &a, &b, NULL));
    tell("angle 4", a);
    tell("angle 5", b);
    fill(&a, sizeof a);
    fill(&b, sizeof b);
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_angle_reduce(not_a_number(), &a, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_angle_from_radians(infinite(), &a, NULL));
    STATUS(CPOISE_QUANTITY_BEYOND_RANGE, cpoise_angle_from_radians(1e308, &a, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_angle_signed(not_a_number(), &a, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_angle_separation(0.0, not_a_number(), &a, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_angle_sine_cosine(0.0, &a, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_angle_sine_cosine(0.0, NULL, &b, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_angle_reduce(0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_angle_from_radians(0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_angle_signed(0.0, NULL, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_angle_separation(0.0, 0.0, NULL, NULL));
    CHECK(untouched(&a, sizeof a) && untouched(&b, sizeof b));
    return done();
}
