/* First weights by every rule and by a stored coefficient, their cautions, and what is refused. */
#include "job.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[48];
    snprintf(line, sizeof line, "first %d", (int)printed++);
    tell(line, value);
}

static void tell_first(const cpoise_first_weight *first)
{
    tell_next(first->estimate.x_g_mm);
    tell_next(first->estimate.y_g_mm);
    tell_next(first->advised.x_g_mm);
    tell_next(first->advised.y_g_mm);
    tell_next(first->starting_fraction);
    tell_next(first->reason);
    tell_next(first->heavy_spot_deg);
    CHECK(first->has_heavy_spot == 1 && first->nothing_to_correct == 0);
}

int main(void)
{
    cpoise_channel channels[2];
    cpoise_reading reading, bad;
    cpoise_sensor sensor = {12.5, 90.0, CPOISE_POLARITY_AGAINST};
    cpoise_regime regimes[3];
    cpoise_size_rule rules[4];
    cpoise_influence stored = {2e-4, 1e-4};
    cpoise_first_weight first;
    cpoise_detail detail;
    int rule, regime;

    job_channels(channels);
    OK(cpoise_reading_make(&channels[0], 0.62, 40.0, 2350.0, &reading, NULL));
    OK(cpoise_regime_from_resonance(2350.0, 700.0, &regimes[0], NULL));
    OK(cpoise_regime_from_resonance(2350.0, 5000.0, &regimes[1], NULL));
    CHECK(regimes[0].kind == CPOISE_FAR_ABOVE_RESONANCE && regimes[1].kind == CPOISE_FAR_BELOW_RESONANCE);
    regimes[2].kind = CPOISE_RESPONSE_STATED;
    regimes[2].lead_deg = 33.0;
    memset(rules, 0, sizeof rules);
    rules[0].kind = CPOISE_RULE_STATIC_LOAD;
    rules[0].load_n = 600.0;
    rules[1].kind = CPOISE_RULE_STATIC_LOAD_FRACTION;
    rules[1].load_n = 600.0;
    rules[1].fraction = 0.25;
    rules[2].kind = CPOISE_RULE_MASS_CONTROLLED;
    rules[2].effective_mass_kg = 60.0;
    rules[3].kind = CPOISE_RULE_PER_VIBRATION;
    rules[3].amount_g_mm = 900.0;
    rules[3].unit = inches;
    rules[3].factor = 1.5;
    rules[3].provenance = "the shop's own";
    for (rule = 0; rule < 4; rule++) {
        for (regime = 0; regime < 3; regime++) {
            OK(cpoise_first_weight_by_rule(&reading, &rules[rule], &sensor, &regimes[regime], 0.0, &first, NULL));
            tell_first(&first);
            /* Mass control, and a place that is not that of mass control. */
            CHECK(first.regimes_disagree == (rule == 2 && regime > 0));
        }
    }
    CHECK(strcmp(first.provenance, "the shop's own") == 0);
    OK(cpoise_first_weight_by_influence(&reading, &stored, "a sister machine", 0.0, &first, NULL));
    tell_first(&first);
    CHECK(first.reason == CPOISE_START_HALF_FORGIVES && strcmp(first.provenance, "a sister machine") == 0);
    OK(cpoise_first_weight_by_influence(&reading, &stored, "a sister machine", 0.8, &first, NULL));
    tell_first(&first);
    CHECK(first.reason == CPOISE_START_STATED);

    /* A reading of zero calls for nothing. */
    OK(cpoise_reading_make(&channels[0], 0.0, 0.0, 2350.0, &bad, NULL));
    OK(cpoise_first_weight_by_influence(&bad, &stored, "a sister machine", 0.0, &first, NULL));
    CHECK(first.nothing_to_correct == 1 && first.has_heavy_spot == 0 && first.estimate.x_g_mm == 0.0);
    CHECK(first.heavy_spot_deg != first.heavy_spot_deg);

    fill(&first, sizeof first);
    fill(&regimes[2], sizeof regimes[2]);
    STATUS(CPOISE_FIRST_WEIGHT_NEAR_RESONANCE, cpoise_regime_from_resonance(900.0, 1000.0, &regimes[2], &detail));
    CHECK(strstr(detail.text, "900.0 rpm") != NULL);
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_regime_from_resonance(0.0, 1000.0, &regimes[2], NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_regime_from_resonance(1.0, not_a_number(), &regimes[2], NULL));
    CHECK(untouched(&regimes[2], sizeof regimes[2]));
#define BY_RULE(rule) cpoise_first_weight_by_rule(&reading, &(rule), &sensor, &regimes[0], 0.0, &first, NULL)
    rules[1].fraction = 1.5;
    STATUS(CPOISE_FIRST_WEIGHT_BAD_FRACTION, BY_RULE(rules[1]));
    rules[1].fraction = not_a_number();
    STATUS(CPOISE_FIRST_WEIGHT_BAD_FRACTION, BY_RULE(rules[1]));
    rules[0].load_n = 0.0;
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, BY_RULE(rules[0]));
    rules[0].kind = 5;
    STATUS(CPOISE_UNKNOWN_CONSTANT, BY_RULE(rules[0]));
    rules[3].provenance = " ";
    STATUS(CPOISE_FIRST_WEIGHT_NO_PROVENANCE, BY_RULE(rules[3]));
    rules[3].provenance = "\xff";
    STATUS(CPOISE_NOT_UTF8, BY_RULE(rules[3]));
    rules[3].provenance = NULL;
    STATUS(CPOISE_NULL_POINTER, BY_RULE(rules[3]));
    sensor.polarity = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, BY_RULE(rules[2]));
    sensor.polarity = CPOISE_POLARITY_ALONG;
    sensor.pickup_deg = infinite();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, BY_RULE(rules[2]));
    sensor.pickup_deg = 0.0;
    regimes[0].kind = 4;
    STATUS(CPOISE_UNKNOWN_CONSTANT, BY_RULE(rules[2]));
    STATUS(CPOISE_FIRST_WEIGHT_BAD_FRACTION,
           cpoise_first_weight_by_influence(&reading, &stored, "it", not_a_number(), &first, NULL));
    STATUS(CPOISE_FIRST_WEIGHT_NO_PROVENANCE,
           cpoise_first_weight_by_influence(&reading, &stored, "", 0.0, &first, NULL));
    stored.re_per_g_mm = stored.im_per_g_mm = 0.0;
    STATUS(CPOISE_FIRST_WEIGHT_NO_RESPONSE,
           cpoise_first_weight_by_influence(&reading, &stored, "it", 0.0, &first, NULL));
    bad = reading;
    bad.vibration.re = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE,
           cpoise_first_weight_by_influence(&bad, &stored, "it", 0.0, &first, NULL));
    CHECK(untouched(&first, sizeof first));
    return done();
}
