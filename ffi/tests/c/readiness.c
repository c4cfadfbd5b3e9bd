/* Blades, limits, reminders, and what is refused. */
#include "check.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[48];
    snprintf(line, sizeof line, "readiness %d", (int)printed++);
    tell(line, value);
}

static void blades(void)
{
    double offsets[8] = {10.2, 10.0, 12.1, 0.0, 0.0, 0.0, 0.0, 0.0};
    double angles[4] = {18.1, 18.0, 18.4, 18.35};
    cpoise_blades of;
    cpoise_limit metal, wood, any;
    int i;

    OK(cpoise_blade_track(offsets, 3, 1.5875, 0.5, &of, NULL));
    CHECK(of.standing_out == 2 && of.conformity == CPOISE_OUTSIDE && of.apart_from_mean[3] == 0.0);
    tell_next(of.spread);
    for (i = 0; i < 3; i++) {
        tell_next(of.apart_from_mean[i]);
    }
    OK(cpoise_blade_track(offsets, 3, 2.0, 0.5, &of, NULL));
    CHECK(of.conformity == CPOISE_UNDECIDED);
    OK(cpoise_blade_track(offsets, 3, 3.175, 0.5, &of, NULL));
    CHECK(of.conformity == CPOISE_WITHIN);
    OK(cpoise_blade_angles(angles, 4, 0.2, 0.1, &of, NULL));
    CHECK(of.standing_out == 1 && of.conformity == CPOISE_OUTSIDE);
    tell_next(of.spread);
    for (i = 0; i < 4; i++) {
        tell_next(of.apart_from_mean[i]);
    }
    OK(cpoise_blade_track_limits(&metal, &wood, &any, NULL));
    CHECK(metal.provenance.kind == CPOISE_READ && any.provenance.kind == CPOISE_COMMON_PRACTICE);
    tell_next(metal.value);
    tell_next(wood.value);
    tell_next(any.value);
    OK(cpoise_blade_angles_limit(&any, NULL));
    tell_next(any.value);

    fill(&of, sizeof of);
    STATUS(CPOISE_READINESS_BLADES, cpoise_blade_track(offsets, 1, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_READINESS_BLADES, cpoise_blade_track(offsets, 7, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_READINESS_BLADES, cpoise_blade_track(offsets, 8, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_READINESS_BLADES, cpoise_blade_track(NULL, 0, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_blade_track(NULL, 2, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_blade_track(offsets, SIZE_MAX, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_blade_track(offsets, 3, not_a_number(), 0.1, &of, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_blade_track(offsets, 3, 1.0, infinite(), &of, NULL));
    offsets[1] = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_blade_track(offsets, 3, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_READINESS_BLADE_VALUE, cpoise_blade_angles(offsets, 3, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_READINESS_BLADES, cpoise_blade_angles(angles, 1, 1.0, 0.1, &of, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_blade_angles(angles, SIZE_MAX, 1.0, 0.1, &of, NULL));
    CHECK(untouched(&of, sizeof of));
}

static void reminders(void)
{
    cpoise_reminder reminder;
    size_t count, i, used;
    int32_t before = 0, any_rotor = 0;
    char words[400];

    OK(cpoise_reminder_count(&count, NULL));
    CHECK(count > 10);
    for (i = 0; i < count; i++) {
        OK(cpoise_reminder_of(i, &reminder, NULL));
        tell_next(reminder.code);
        tell_next(reminder.moment);
        CHECK(reminder.moment >= before && reminder.provenance.kind != 0);
        before = reminder.moment;
        any_rotor += reminder.any_rotor;
        OK(cpoise_reminder_text(i, words, sizeof words, &used, NULL));
        CHECK(used == strlen(words) + 1 && used > 5);
        OK(cpoise_reminder_reason(i, words, sizeof words, &used, NULL));
        CHECK(used == strlen(words) + 1 && used > 5);
    }
    CHECK(before == CPOISE_AT_THE_END && any_rotor > 0 && (size_t)any_rotor < count);
    OK(cpoise_reminder_text(0, words, sizeof words, &used, NULL));
    CHECK(strcmp(words, "balance statically first") == 0);
    fill(words, sizeof words);
    fill(&reminder, sizeof reminder);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_reminder_text(0, words, 24, &used, NULL));
    CHECK(used == 25);
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_reminder_text(count, words, sizeof words, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_reminder_reason(SIZE_MAX, words, sizeof words, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_reminder_of(count, &reminder, NULL));
    CHECK(untouched(words, sizeof words) && untouched(&reminder, sizeof reminder));
}

int main(void)
{
    blades();
    reminders();
    return done();
}
