/* A record: its facts, what follows from them, its text, and what is refused. */
#include "machine.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[48];
    snprintf(line, sizeof line, "record %d", (int)printed++);
    tell(line, value);
}

static cpoise_record *machine(void)
{
    cpoise_record *record = NULL;
    OK(cpoise_record_from_json_new(machine_text, &record, NULL));
    return record;
}

static cpoise_stated_reading stated(double amplitude, double phase_deg, double speed_rpm)
{
    cpoise_stated_reading reading;
    memset(&reading, 0, sizeof reading);
    reading.amplitude = amplitude;
    reading.phase_deg = phase_deg;
    reading.speed_rpm = speed_rpm;
    return reading;
}

static cpoise_record *told(void)
{
    static const cpoise_convention convention = {CPOISE_PHASE_LAG, CPOISE_AGAINST_ROTATION};
    cpoise_record *record = machine();
    cpoise_stated_reading readings[2];
    cpoise_pieces pieces[2] = {{0, 1}, {1, 2}};
    cpoise_entry_options instead = CPOISE_ENTRY_OPTIONS_INIT;
    cpoise_weight weight;
    size_t entry = 99;

    readings[0] = stated(0.45, 48.0, 2346.0);
    readings[1] = stated(0.452, 48.5, 2351.0);
    readings[1].has_scatter = 1;
    OK(cpoise_scatter_known(0.003, &readings[1].scatter, NULL));
    OK(cpoise_record_add_run(record, NULL, "as found", readings, 2, &entry, NULL));
    CHECK(entry == 0);
    OK(cpoise_record_add_put_on(record, NULL, 0, 1, pieces, 2, &entry, NULL));
    CHECK(entry == 1);
    readings[0] = stated(0.61, 75.0, 2350.0);
    readings[1] = stated(0.612, 75.4, 2349.0);
    OK(cpoise_record_add_run(record, NULL, "trial", readings, 2, NULL, NULL));
    instead.amends = 1;
    instead.of = entry;
    instead.reason = "counted from the other side";
    OK(cpoise_record_add_put_on(record, &instead, 0, 2, pieces, 2, &entry, NULL));
    CHECK(entry == 3);
    OK(cpoise_record_add_taken_off(record, NULL, 0, 1, pieces, 1, &entry, NULL));
    OK(cpoise_weight_make(&convention, 5.5, 140.0, 10.0, &weight, NULL));
    OK(cpoise_record_add_weight_on(record, NULL, 1, &weight, &entry, NULL));
    CHECK(entry == 5);
    return record;
}

static void follows(void)
{
    cpoise_record *record = told();
    cpoise_record_counts counts;
    cpoise_job_run run;
    cpoise_run_reading readings[2];
    cpoise_unbalance_vector mounted[2];
    cpoise_weight_on on;
    cpoise_channel channel;
    uint32_t pieces[2];
    size_t used, number, i;
    char words[32];

    OK(cpoise_record_count(record, &counts, NULL));
    CHECK(counts.channels == 1 && counts.planes == 2 && counts.rings == 1 && counts.hardware == 2);
    CHECK(counts.entries == 6 && counts.runs == 2 && counts.weights == 1);
    CHECK(counts.run_as_mounted == CPOISE_NONE);
    for (number = 0; number < 2; number++) {
        OK(cpoise_record_run(record, number, &run, NULL));
        CHECK(run.entry == 2 * number && run.group == 0 && run.readings == 2);
        OK(cpoise_record_run_readings(record, number, readings, 2, &used, NULL));
        CHECK(used == 2);
        for (i = 0; i < 2; i++) {
            CHECK(readings[i].channel == 0);
            tell_next(readings[i].reading.vibration.re);
            tell_next(readings[i].reading.vibration.im);
            tell_next(readings[i].reading.speed_rpm);
        }
        CHECK(number == 1 || readings[1].reading.precision == CPOISE_PRECISION_SCATTER);
        OK(cpoise_record_run_mounted(record, number, mounted, 2, &used, NULL));
        for (i = 0; i < used; i++) {
            tell_next(mounted[i].x_g_mm);
            tell_next(mounted[i].y_g_mm);
        }
    }
    OK(cpoise_record_mounted(record, mounted, 2, &used, NULL));
    CHECK(used == 2);
    for (i = 0; i < used; i++) {
        tell_next(mounted[i].x_g_mm);
        tell_next(mounted[i].y_g_mm);
    }
    OK(cpoise_record_weights(record, &on, 1, &used, NULL));
    CHECK(used == 1 && on.entry == 5 && on.plane == 1);
    tell_next(on.weight.mass_g);
    tell_next(on.weight.radius_mm);
    tell_next(on.weight.angle_with_rotation_deg);

    OK(cpoise_record_holes(record, 0, &used, NULL));
    CHECK(used == 3);
    /* The amended fact is out of force, and what was there as found came off. */
    OK(cpoise_record_pieces(record, 0, 1, pieces, 2, &used, NULL));
    CHECK(used == 2 && pieces[0] == 0 && pieces[1] == 0);
    OK(cpoise_record_pieces(record, 0, 2, pieces, 2, &used, NULL));
    CHECK(pieces[0] == 1 && pieces[1] == 2);
    OK(cpoise_record_machine_name(record, words, sizeof words, &used, NULL));
    CHECK(strcmp(words, "a trainer") == 0 && used == 10);
    OK(cpoise_record_plane_name(record, 1, words, sizeof words, &used, NULL));
    CHECK(strcmp(words, "flywheel") == 0);
    OK(cpoise_record_run_label(record, 1, words, sizeof words, &used, NULL));
    CHECK(strcmp(words, "trial") == 0);
    OK(cpoise_record_channels(record, &channel, 1, &used, NULL));
    CHECK(used == 1 && channel.sensor == 1 && channel.nominal_rpm == 2350.0 && channel.lowest_rpm == 2326.5);

    fill(pieces, sizeof pieces);
    fill(words, sizeof words);
    fill(&run, sizeof run);
    fill(mounted, sizeof mounted);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_record_pieces(record, 0, 2, pieces, 1, &used, NULL));
    CHECK(used == 2 && untouched(pieces, sizeof pieces));
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_record_machine_name(record, words, 9, &used, NULL));
    CHECK(used == 10 && untouched(words, sizeof words));
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_record_mounted(record, NULL, 0, &used, NULL));
    CHECK(used == 2);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_record_run_mounted(record, 0, mounted, 1, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_record_run(record, 2, &run, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_record_run_label(record, SIZE_MAX, words, sizeof words, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_record_pieces(record, 1, 0, pieces, 2, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_record_pieces(record, 0, 3, pieces, 2, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_record_holes(record, 1, &used, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_record_plane_name(record, 2, words, sizeof words, &used, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_record_run_mounted(record, 0, mounted, SIZE_MAX, &used, NULL));
    CHECK(untouched(&run, sizeof run) && untouched(words, sizeof words) && untouched(mounted, sizeof mounted));
    cpoise_record_free(record);
}

static void text(void)
{
    cpoise_record *record = told(), *back = NULL, *none = NULL;
    cpoise_record_counts counts;
    cpoise_detail detail;
    size_t used = 0, again = 0;
    char *one, *other;

    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_record_to_json(record, NULL, 0, &used, NULL));
    one = (char *)malloc(used);
    other = (char *)malloc(used);
    OK(cpoise_record_to_json(record, one, used, &again, NULL));
    CHECK(again == used && strlen(one) + 1 == used);
    OK(cpoise_record_from_json_new(one, &back, NULL));
    OK(cpoise_record_to_json(back, other, used, &again, NULL));
    CHECK(strcmp(one, other) == 0);
    OK(cpoise_record_count(back, &counts, NULL));
    CHECK(counts.entries == 6 && counts.runs == 2);

    /* A text that is cut off says where. */
    one[used / 2] = '\0';
    STATUS(CPOISE_JSON_TEXT, cpoise_record_from_json_new(one, &none, &detail));
    CHECK(none == NULL && strncmp(detail.text, "line 1, column ", 15) == 0);
    STATUS(CPOISE_JSON_TEXT, cpoise_record_from_json_new("", &none, NULL));
    STATUS(CPOISE_JOB_VERSION, cpoise_record_from_json_new("{\"version\": 7}", &none, NULL));
    STATUS(CPOISE_NOT_UTF8, cpoise_record_from_json_new("\xff", &none, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_record_from_json_new(NULL, &none, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_record_from_json_new("{}", NULL, NULL));
    CHECK(none == NULL);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_record_json_schema(NULL, 0, &used, NULL));
    CHECK(used > 1000);
    free(one);
    free(other);
    cpoise_record_free(back);
    cpoise_record_free(record);
}

/* What is refused leaves the record as it was. */
static void refused(void)
{
    cpoise_record *record = told(), *copy = NULL;
    cpoise_entry_options about = CPOISE_ENTRY_OPTIONS_INIT;
    cpoise_stated_reading reading = stated(0.45, 48.0, 2350.0);
    cpoise_pieces pieces = {0, 1};
    cpoise_weight weight = {1.0, 100.0, 0.0};
    cpoise_record_counts counts;
    cpoise_detail detail;
    size_t entry, used = 0, length = 0;
    char *before, *after;

    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_record_to_json(record, NULL, 0, &length, NULL));
    before = (char *)malloc(length);
    after = (char *)malloc(length);
    OK(cpoise_record_to_json(record, before, length, &used, NULL));
    fill(&entry, sizeof entry);

    STATUS(CPOISE_JOB_NO_READING, cpoise_record_add_run(record, NULL, "", NULL, 0, &entry, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_record_add_run(record, NULL, "", NULL, 1, &entry, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_record_add_run(record, NULL, "", &reading, SIZE_MAX, &entry, NULL));
    STATUS(CPOISE_NOT_UTF8, cpoise_record_add_run(record, NULL, "\xc3", &reading, 1, &entry, NULL));
    reading.channel = 1;
    STATUS(CPOISE_JOB_NO_SUCH, cpoise_record_add_run(record, NULL, "", &reading, 1, &entry, NULL));
    reading = stated(not_a_number(), 48.0, 2350.0);
    STATUS(CPOISE_JOB_READING, cpoise_record_add_run(record, NULL, "", &reading, 1, &entry, &detail));
    CHECK(strstr(detail.text, "entry 6, reading 0") != NULL);
    reading = stated(0.45, infinite(), 2350.0);
    STATUS(CPOISE_JOB_READING, cpoise_record_add_run(record, NULL, "", &reading, 1, &entry, NULL));
    reading = stated(0.45, 48.0, 900.0);
    STATUS(CPOISE_JOB_READING, cpoise_record_add_run(record, NULL, "", &reading, 1, &entry, NULL));
    reading = stated(0.45, 48.0, 2350.0);
    reading.has_scatter = 2;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_record_add_run(record, NULL, "", &reading, 1, &entry, NULL));
    reading.has_scatter = 1;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_record_add_run(record, NULL, "", &reading, 1, &entry, NULL));
    reading.has_scatter = 0;

    STATUS(CPOISE_JOB_NO_SUCH, cpoise_record_add_put_on(record, NULL, 1, 0, &pieces, 1, &entry, NULL));
    STATUS(CPOISE_JOB_NO_SUCH, cpoise_record_add_put_on(record, NULL, 0, 3, &pieces, 1, &entry, NULL));
    STATUS(CPOISE_JOB_NOT_THERE, cpoise_record_add_taken_off(record, NULL, 0, 0, &pieces, 1, &entry, NULL));
    pieces.item = 2;
    STATUS(CPOISE_JOB_NO_SUCH, cpoise_record_add_put_on(record, NULL, 0, 0, &pieces, 1, &entry, NULL));
    pieces.item = 0;
    pieces.count = UINT32_MAX;
    STATUS(CPOISE_JOB_TOO_MANY_PIECES, cpoise_record_add_put_on(record, NULL, 0, 2, &pieces, 1, &entry, NULL));
    STATUS(CPOISE_JOB_NO_SUCH, cpoise_record_add_weight_on(record, NULL, 2, &weight, &entry, NULL));
    weight.radius_mm = 0.0;
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_record_add_weight_on(record, NULL, 0, &weight, &entry, NULL));
    STATUS(CPOISE_JOB_NO_WEIGHT, cpoise_record_add_weight_off(record, NULL, 4, &entry, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_record_add_changed(record, NULL, 0, "", &entry, NULL));
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_record_add_checked(record, NULL, "", 4, "", &entry, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_record_add_noted(record, NULL, "hours", NULL, &entry, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_record_add_remark(NULL, NULL, "calm", &entry, NULL));

    about.amends = 1;
    about.of = 0;
    STATUS(CPOISE_NULL_POINTER, cpoise_record_add_remark(record, &about, "calm", &entry, NULL));
    about.reason = "it was so";
    about.of = 6;
    STATUS(CPOISE_JOB_AMENDS_LATER, cpoise_record_add_remark(record, &about, "calm", &entry, NULL));
    about.amends = 2;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_record_add_remark(record, &about, "calm", &entry, NULL));
    about.amends = 0;
    about.when = "\xff";
    STATUS(CPOISE_NOT_UTF8, cpoise_record_add_remark(record, &about, "calm", &entry, NULL));
    about.when = NULL;
    about.size = sizeof about - 1;
    STATUS(CPOISE_BAD_SIZE, cpoise_record_add_remark(record, &about, "calm", &entry, NULL));
    about.size = 0;
    STATUS(CPOISE_BAD_SIZE, cpoise_record_add_remark(record, &about, "calm", &entry, NULL));
    STATUS(CPOISE_JOB_AMENDS_LATER, cpoise_record_withdraw(record, NULL, SIZE_MAX, "", &entry, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_record_withdraw(record, NULL, 0, NULL, &entry, NULL));
    CHECK(untouched(&entry, sizeof entry));
    OK(cpoise_record_to_json(record, after, length, &used, NULL));
    CHECK(used == length && strcmp(before, after) == 0);

    /* Once the run is as mounted it is known as such, until something changes; a copy goes its own way. */
    OK(cpoise_record_copy_new(record, &copy, NULL));
    about.size = sizeof about;
    about.when = "2026-05-03 10:15";
    OK(cpoise_record_add_run(record, &about, "corrected", &reading, 1, &entry, NULL));
    CHECK(entry == 6);
    OK(cpoise_record_count(record, &counts, NULL));
    CHECK(counts.run_as_mounted == 2);
    OK(cpoise_record_add_changed(record, NULL, CPOISE_CHANGE_PICKUP, "bracket bent", &entry, NULL));
    OK(cpoise_record_count(record, &counts, NULL));
    CHECK(counts.run_as_mounted == CPOISE_NONE && counts.runs == 3);
    OK(cpoise_record_withdraw(record, "later", entry, "the bracket was straight", NULL, NULL));
    OK(cpoise_record_count(record, &counts, NULL));
    CHECK(counts.run_as_mounted == 2 && counts.entries == 9);
    OK(cpoise_record_add_checked(record, NULL, "blade track", CPOISE_CHECK_IN_ORDER, "1 mm", NULL, NULL));
    OK(cpoise_record_add_noted(record, NULL, "hours", "1204.6", NULL, NULL));
    OK(cpoise_record_add_remark(record, NULL, "calm", NULL, NULL));
    OK(cpoise_record_add_weight_off(record, NULL, 5, &entry, NULL));
    CHECK(entry == 12);
    STATUS(CPOISE_JOB_NO_WEIGHT, cpoise_record_add_weight_off(record, NULL, 5, &entry, NULL));
    OK(cpoise_record_count(record, &counts, NULL));
    CHECK(counts.weights == 0);
    OK(cpoise_record_count(copy, &counts, NULL));
    CHECK(counts.entries == 6 && counts.weights == 1);
    free(before);
    free(after);
    cpoise_record_free(copy);
    cpoise_record_free(record);
    cpoise_record_free(NULL);
}

/* A machine without holes needs no text. */
static void without_holes(void)
{
    static const cpoise_convention convention = {CPOISE_PHASE_LAG, CPOISE_AGAINST_ROTATION};
    static const cpoise_vibration_unit inches = {CPOISE_SCALE_INCH_PER_SECOND, CPOISE_PEAK};
    const char *planes[2] = {"left", "right"};
    cpoise_channel channels[2];
    cpoise_record *record = NULL, *none = NULL;
    cpoise_estimator *estimator = NULL;
    cpoise_fit *fit = NULL;
    cpoise_record_counts counts;
    cpoise_stated_reading reading = stated(0.45, 48.0, 2350.0);

    OK(cpoise_channel_make(1, &inches, CPOISE_PHASE_LAG, 2350.0, 1.0, &channels[0], NULL));
    channels[1] = channels[0];
    OK(cpoise_record_new("a fan", &convention, channels, 1, planes, 2, &record, NULL));
    OK(cpoise_record_count(record, &counts, NULL));
    CHECK(counts.planes == 2 && counts.rings == 0 && counts.hardware == 0 && counts.entries == 0);
    OK(cpoise_record_add_run(record, NULL, "as found", &reading, 1, NULL, NULL));
    OK(cpoise_record_estimator_new(record, &estimator, NULL));
    cpoise_record_free(record);
    STATUS(CPOISE_ESTIMATE_UNDETERMINED, cpoise_estimator_fit_new(estimator, &fit, NULL));
    cpoise_estimator_free(estimator);

    STATUS(CPOISE_JOB_NO_CHANNELS, cpoise_record_new("", &convention, NULL, 0, planes, 2, &none, NULL));
    STATUS(CPOISE_JOB_NO_PLANES, cpoise_record_new("", &convention, channels, 1, NULL, 0, &none, NULL));
    STATUS(CPOISE_JOB_REPEATED_CHANNEL, cpoise_record_new("", &convention, channels, 2, planes, 2, &none, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_record_new("", &convention, channels, 1, planes, SIZE_MAX, &none, NULL));
    planes[1] = NULL;
    STATUS(CPOISE_NULL_POINTER, cpoise_record_new("", &convention, channels, 1, planes, 2, &none, NULL));
    channels[0].unit.scale = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_record_new("", &convention, channels, 1, planes, 1, &none, NULL));
    CHECK(none == NULL && fit == NULL);
}

int main(void)
{
    follows();
    text();
    refused();
    without_holes();
    return done();
}
