/* Tolerances, their provenance, verdicts, and what is refused. */
#include "check.h"

static int32_t printed;

static void tell_next(const char *name, double value)
{
    char line[32];
    snprintf(line, sizeof line, "%s %d", name, (int)printed++);
    tell(line, value);
}

static void rules(void)
{
    cpoise_limit limit, other;
    cpoise_unbalance_vector first, turned, rotor, fixture;
    double permissible, number, accepted, rejected;
    double errors[3] = {3.1, 4.1, 1.7};
    int32_t verdict;

    printed = 0;
    OK(cpoise_grade_permissible(CPOISE_GRADE_G6_3, 40000.0, 2951.3, &limit, NULL));
    permissible = limit.value;
    tell_next("rules", permissible);
    /* Where it comes from can be read by a program, and shown to a person. */
    CHECK(limit.provenance.kind == CPOISE_FROM_MEMORY);
    CHECK(strcmp(limit.provenance.source,
                 "ISO 21940-11:2016, Rotor balancing: procedures and tolerances, table 1") == 0);
    OK(cpoise_grade_permissible(5.1, 40000.0, 2951.3, &limit, NULL));
    CHECK(limit.provenance.kind == CPOISE_OF_CALLER && limit.provenance.source[0] == '\0');
    tell_next("rules", limit.value);
    OK(cpoise_grade_specific_unbalance(5.1, 2951.3, &limit, NULL));
    tell_next("rules", limit.value);
    OK(cpoise_grade_of_residual(815.0, 40000.0, 2951.3, &number, NULL));
    tell_next("rules", number);
    OK(cpoise_journal_rule(40000.0, 2951.3, &limit, NULL));
    CHECK(limit.provenance.kind == CPOISE_READ && strstr(limit.provenance.source, "API 617") != NULL);
    tell_next("rules", limit.value);
    OK(cpoise_naval_rule(40000.0, 2951.3, &limit, NULL));
    CHECK(limit.provenance.kind == CPOISE_READ);
    tell_next("rules", limit.value);
    OK(cpoise_naval_rule(40000.0, 333.3, &limit, NULL));
    CHECK(limit.provenance.kind == CPOISE_FROM_MEMORY);
    tell_next("rules", limit.value);
    OK(cpoise_coupling_floor(&limit, NULL));
    tell_next("rules", limit.value);
    OK(cpoise_shop_test_vibration(15000.0, &limit, NULL));
    tell_next("rules", limit.value);
    OK(cpoise_static_couple_limits(permissible, 400.0, 100.0, 60.0, &limit, &other, NULL));
    tell_next("rules", limit.value);
    tell_next("rules", other.value);
    CHECK(strstr(other.provenance.source, "recalled with little confidence") != NULL);
    first.x_g_mm = 10.0;
    first.y_g_mm = 3.3;
    turned.x_g_mm = -4.0;
    turned.y_g_mm = 7.7;
    OK(cpoise_index_by_half_turn(&first, &turned, &rotor, &fixture, NULL));
    tell_next("rules", rotor.x_g_mm);
    tell_next("rules", rotor.y_g_mm);
    tell_next("rules", fixture.x_g_mm);
    tell_next("rules", fixture.y_g_mm);
    OK(cpoise_combined_error(errors, 3, &number, NULL));
    tell_next("rules", number);
    OK(cpoise_guard_band(4.5, 0.7, &accepted, &rejected, NULL));
    tell_next("rules", accepted);
    tell_next("rules", rejected);
    OK(cpoise_chance_of_vector_within(4.1, 0.3, 4.5, &number, NULL));
    tell_next("rules", number);
    OK(cpoise_chance_of_value_within(4.1, 0.3, 4.5, &number, NULL));
    tell_next("rules", number);

    OK(cpoise_combined_error(NULL, 0, &number, NULL));
    CHECK(number == 0.0);
    OK(cpoise_conformity_of(3.7, 0.7, 4.5, &verdict, NULL));
    CHECK(verdict == CPOISE_WITHIN);
    OK(cpoise_conformity_of(5.3, 0.7, 4.5, &verdict, NULL));
    CHECK(verdict == CPOISE_OUTSIDE);
    OK(cpoise_conformity_of(not_a_number(), 0.7, 4.5, &verdict, NULL));
    CHECK(verdict == CPOISE_UNDECIDED);
    OK(cpoise_accepted_with_error(430.0, 475.8, 30.0, &verdict, NULL));
    CHECK(verdict == CPOISE_WITHIN);
    OK(cpoise_accepted_with_error(460.0, 475.8, 30.0, &verdict, NULL));
    CHECK(verdict == CPOISE_UNDECIDED);
    OK(cpoise_error_is_negligible(10.0, 475.8, &verdict, NULL));
    CHECK(verdict == 1);
    OK(cpoise_error_is_negligible(30.0, 475.8, &verdict, NULL));
    CHECK(verdict == 0);

    fill(&limit, sizeof limit);
    fill(&other, sizeof other);
    fill(&number, sizeof number);
    fill(&verdict, sizeof verdict);
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_grade_permissible(0.0, 1.0, 1.0, &limit, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_grade_permissible(not_a_number(), 1.0, 1.0, &limit, NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_grade_permissible(2.5, 0.0, 1.0, &limit, NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_grade_permissible(2.5, 1.0, -1.0, &limit, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_grade_specific_unbalance(2.5, infinite(), &limit, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_grade_of_residual(1.0, -1.0, 1.0, &number, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_grade_of_residual(0.0, 1.0, 1.0, &number, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_journal_rule(0.0, 1.0, &limit, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_naval_rule(-1.0, 1.0, &limit, NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_shop_test_vibration(0.0, &limit, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_static_couple_limits(1.0, 0.0, 1.0, 1.0, &limit, &other, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_static_couple_limits(1.0, 1.0, 1.0, 1.0, &limit, NULL, NULL));
    errors[1] = -4.0;
    STATUS(CPOISE_TOLERANCE_NEGATIVE_ERROR, cpoise_combined_error(errors, 3, &number, NULL));
    errors[1] = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_combined_error(errors, 3, &number, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_combined_error(errors, SIZE_MAX, &number, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_combined_error(errors, SIZE_MAX / 8, &number, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_combined_error(NULL, 1, &number, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_accepted_with_error(not_a_number(), 1.0, 1.0, &verdict, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_error_is_negligible(not_a_number(), 1.0, &verdict, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_chance_of_vector_within(1.0, 0.0, 1.0, &number, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_chance_of_value_within(1.0, 1.0, -1.0, &number, NULL));
    STATUS(CPOISE_TOLERANCE_BAD_NUMBER, cpoise_guard_band(0.0, 1.0, &number, &accepted, NULL));
    CHECK(untouched(&limit, sizeof limit) && untouched(&other, sizeof other));
    CHECK(untouched(&number, sizeof number) && untouched(&verdict, sizeof verdict));
}

static void allocation(void)
{
    cpoise_allocation all[3];
    cpoise_limit limit;
    double permissible;
    int i;

    printed = 0;
    OK(cpoise_grade_permissible(CPOISE_GRADE_G6_3, 40000.0, 2951.3, &limit, NULL));
    permissible = limit.value;
    OK(cpoise_allocate(0.0, 600.0, 100.0, permissible, CPOISE_SHARE_LEAST, CPOISE_SHARE_MOST_INBOARD, &all[0], NULL));
    OK(cpoise_allocate(0.0, 600.0, -100.0, permissible, CPOISE_SHARE_LEAST, CPOISE_SHARE_MOST_OVERHUNG, &all[1], NULL));
    OK(cpoise_allocate_symmetric(permissible, &all[2], NULL));
    for (i = 0; i < 3; i++) {
        tell_next("allocated", all[i].amounts_g_mm[0]);
        tell_next("allocated", all[i].amounts_g_mm[1]);
        tell_next("allocated", all[i].shares[0]);
        tell_next("allocated", all[i].shares[1]);
    }
    CHECK(all[0].limited[0] == 1 && all[0].limited[1] == 1 && all[0].inboard == 1);
    CHECK(all[1].limited[0] == 0 && all[1].limited[1] == 1 && all[1].inboard == 0);
    OK(cpoise_allocate(0.0, 600.0, 100.0, permissible, 0.0, infinite(), &all[0], NULL));
    CHECK(all[0].limited[0] == 0 && all[0].limited[1] == 0);
    fill(&all[0], sizeof all[0]);
    STATUS(CPOISE_TOLERANCE_PLANES_COINCIDE, cpoise_allocate(5.0, 5.0, 1.0, 1.0, 0.3, 0.7, &all[0], NULL));
    STATUS(CPOISE_TOLERANCE_SHARE_LIMITS, cpoise_allocate(0.0, 5.0, 1.0, 1.0, 0.7, 0.3, &all[0], NULL));
    STATUS(CPOISE_TOLERANCE_SHARE_LIMITS, cpoise_allocate(0.0, 5.0, 1.0, 1.0, not_a_number(), 0.3, &all[0], NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_allocate(0.0, infinite(), 1.0, 1.0, 0.3, 0.7, &all[0], NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_allocate_symmetric(not_a_number(), &all[0], NULL));
    CHECK(untouched(&all[0], sizeof all[0]));
}

static void zones(void)
{
    cpoise_severity_zones all[11];
    cpoise_severity_zones bad;
    cpoise_vibration_unit inches = {CPOISE_SCALE_INCH_PER_SECOND, CPOISE_PEAK};
    cpoise_vibration before = {1.0, 0.0}, after = {0.0, 1.0};
    cpoise_limit change;
    double up_to[2] = {2.0, 4.0};
    int32_t zone, significant;
    size_t step;
    int i;

    printed = 0;
    OK(cpoise_zones_iso_20816_3(CPOISE_MACHINE_LARGE, CPOISE_SUPPORT_RIGID, &all[0], NULL));
    OK(cpoise_zones_iso_20816_3(CPOISE_MACHINE_LARGE, CPOISE_SUPPORT_FLEXIBLE, &all[1], NULL));
    OK(cpoise_zones_iso_20816_3(CPOISE_MACHINE_MEDIUM, CPOISE_SUPPORT_RIGID, &all[2], NULL));
    OK(cpoise_zones_iso_20816_3(CPOISE_MACHINE_MEDIUM, CPOISE_SUPPORT_FLEXIBLE, &all[3], NULL));
    OK(cpoise_zones_iso_20816_3_displacement(CPOISE_MACHINE_LARGE, CPOISE_SUPPORT_RIGID, &all[4], NULL));
    OK(cpoise_zones_iso_20816_3_displacement(CPOISE_MACHINE_MEDIUM, CPOISE_SUPPORT_FLEXIBLE, &all[5], NULL));
    OK(cpoise_zones_iso_10816_1(CPOISE_CLASS_I, &all[6], NULL));
    OK(cpoise_zones_iso_10816_1(CPOISE_CLASS_II, &all[7], NULL));
    OK(cpoise_zones_iso_10816_1(CPOISE_CLASS_III, &all[8], NULL));
    OK(cpoise_zones_iso_10816_1(CPOISE_CLASS_IV, &all[9], NULL));
    OK(cpoise_zones_shaft_displacement(2951.3, &all[10], NULL));
    for (i = 0; i < 11; i++) {
        OK(cpoise_significant_change(&all[i], &change, NULL));
        tell_next("zones", all[i].boundaries[0]);
        tell_next("zones", all[i].boundaries[1]);
        tell_next("zones", all[i].boundaries[2]);
        tell_next("zones", change.value);
    }
    CHECK(all[0].provenance.kind == CPOISE_FROM_MEMORY && change.provenance.kind == CPOISE_READ);
    CHECK(all[0].unit.scale == CPOISE_SCALE_MILLIMETRE_PER_SECOND && all[0].unit.detector == CPOISE_RMS);

    /* 0.1 in/s peak are 1.80 mm/s RMS. */
    OK(cpoise_zone_of(&all[0], 0.1, &inches, 3000.0, &zone, NULL));
    CHECK(zone == CPOISE_ZONE_A);
    OK(cpoise_zone_of(&all[0], 0.2, &inches, 3000.0, &zone, NULL));
    CHECK(zone == CPOISE_ZONE_B);
    OK(cpoise_zone_of(&all[0], not_a_number(), &inches, 3000.0, &zone, NULL));
    CHECK(zone == CPOISE_ZONE_D);
    OK(cpoise_is_significant_change(&all[0], &before, &after, &inches, 3000.0, &significant, NULL));
    CHECK(significant == 1);
    OK(cpoise_is_significant_change(&all[0], &before, &before, &inches, 3000.0, &significant, NULL));
    CHECK(significant == 0);
    OK(cpoise_own_scale_step(&all[0].unit, up_to, 2, 0.1, &inches, 3000.0, &step, NULL));
    CHECK(step == 0);
    OK(cpoise_own_scale_step(&all[0].unit, up_to, 2, 0.2, &inches, 3000.0, &step, NULL));
    CHECK(step == 1);
    OK(cpoise_own_scale_step(&all[0].unit, up_to, 2, 0.3, &inches, 3000.0, &step, NULL));
    CHECK(step == 2);
    OK(cpoise_own_scale_step(&all[0].unit, up_to, 2, -1.0, &inches, 3000.0, &step, NULL));
    CHECK(step == 2);
    OK(cpoise_own_scale_step(&all[0].unit, NULL, 0, 0.3, &inches, 3000.0, &step, NULL));
    CHECK(step == 0);

    fill(&zone, sizeof zone);
    fill(&step, sizeof step);
    fill(&all[1], sizeof all[1]);
    bad = all[0];
    bad.boundaries[1] = bad.boundaries[0];
    STATUS(CPOISE_TOLERANCE_SCALE, cpoise_zone_of(&bad, 1.0, &inches, 1.0, &zone, NULL));
    bad = all[0];
    bad.unit.scale = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_zone_of(&bad, 1.0, &inches, 1.0, &zone, NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_zone_of(&all[0], 1.0, &inches, 0.0, &zone, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_zones_iso_20816_3(3, CPOISE_SUPPORT_RIGID, &all[1], NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_zones_iso_20816_3(1, 0, &all[1], NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_zones_iso_20816_3_displacement(0, 1, &all[1], NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_zones_iso_10816_1(5, &all[1], NULL));
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_zones_shaft_displacement(0.0, &all[1], NULL));
    up_to[1] = 1.0;
    STATUS(CPOISE_TOLERANCE_SCALE, cpoise_own_scale_step(&all[0].unit, up_to, 2, 0.1, &inches, 3000.0, &step, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_own_scale_step(&inches, up_to, SIZE_MAX, 0.1, &inches, 1.0, &step, NULL));
    CHECK(untouched(&zone, sizeof zone) && untouched(&step, sizeof step) && untouched(&all[1], sizeof all[1]));
}

static void propeller(void)
{
    cpoise_propeller_limits limits;
    cpoise_vibration_unit metric = {CPOISE_SCALE_MILLIMETRE_PER_SECOND, CPOISE_PEAK};
    int32_t asks_for, verdict;

    printed = 0;
    OK(cpoise_propeller_limits_usual(&limits, NULL));
    CHECK(limits.good.provenance.kind == CPOISE_COMMON_PRACTICE && limits.most.provenance.kind == CPOISE_READ);
    tell_next("propeller", limits.good.value);
    tell_next("propeller", limits.most.value);
    tell_next("propeller", limits.static_first.value);
    OK(cpoise_propeller_judge(&limits, 5.0, &metric, 2400.0, &asks_for, NULL));
    CHECK(asks_for == CPOISE_PROPELLER_PERMITTED);
    OK(cpoise_propeller_judge(&limits, 50.0, &metric, 2400.0, &asks_for, NULL));
    CHECK(asks_for == CPOISE_PROPELLER_STATIC_FIRST);
    OK(cpoise_propeller_conformity(&limits, 5.0, 0.5, &metric, 2400.0, &verdict, NULL));
    CHECK(verdict == CPOISE_UNDECIDED);
    limits.most.value = 0.15;
    OK(cpoise_propeller_judge(&limits, 5.0, &metric, 2400.0, &asks_for, NULL));
    CHECK(asks_for == CPOISE_PROPELLER_BALANCE);
    OK(cpoise_propeller_conformity(&limits, 5.0, 0.5, &metric, 2400.0, &verdict, NULL));
    CHECK(verdict == CPOISE_OUTSIDE);
    fill(&asks_for, sizeof asks_for);
    limits.good.value = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_propeller_judge(&limits, 5.0, &metric, 2400.0, &asks_for, NULL));
    limits.detector = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_propeller_judge(&limits, 5.0, &metric, 2400.0, &asks_for, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_propeller_conformity(&limits, 5.0, 1.0, &metric, 2400.0, &asks_for, NULL));
    CHECK(untouched(&asks_for, sizeof asks_for));
}

int main(void)
{
    rules();
    allocation();
    zones();
    propeller();
    return done();
}
