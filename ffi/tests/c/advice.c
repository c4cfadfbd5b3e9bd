/* Advice: steps with their reasons, a step carried out, the report, and what is refused. */
#include "machine.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[48];
    snprintf(line, sizeof line, "advice %d", (int)printed++);
    tell(line, value);
}

static void read_three(cpoise_record *record, const char *label, const double of[6])
{
    cpoise_stated_reading readings[3];
    int i;
    memset(readings, 0, sizeof readings);
    for (i = 0; i < 3; i++) {
        readings[i].amplitude = of[2 * i];
        readings[i].phase_deg = of[2 * i + 1];
        readings[i].speed_rpm = 2350.0;
    }
    OK(cpoise_record_add_run(record, NULL, label, readings, 3, NULL, NULL));
}

static cpoise_record *tried(void)
{
    static const double as_found[6] = {0.45, 48.0, 0.452, 48.3, 0.449, 47.9};
    static const double trial[6] = {0.61, 75.0, 0.612, 75.2, 0.609, 74.8};
    static const char other[] = ", \"flywheel\"";
    cpoise_record *record = NULL;
    cpoise_pieces pieces = {0, 2};
    char one_plane[sizeof machine_text];
    /* The same machine without its second plane, so that one trial is enough. */
    memcpy(one_plane, machine_text, sizeof machine_text);
    memset(strstr(one_plane, other), ' ', sizeof other - 1);
    OK(cpoise_record_from_json_new(one_plane, &record, NULL));
    OK(cpoise_record_add_checked(record, NULL, "blade track", CPOISE_CHECK_IN_ORDER, "1 mm", NULL, NULL));
    read_three(record, "as found", as_found);
    OK(cpoise_record_add_put_on(record, NULL, 0, 2, &pieces, 1, NULL, NULL));
    read_three(record, "trial", trial);
    return record;
}

static void first_steps(void)
{
    cpoise_record *record = NULL;
    cpoise_advice *advice = NULL;
    cpoise_advice_step step;
    cpoise_unbalance_vector added[2];
    size_t used;
    char words[64];

    OK(cpoise_record_from_json_new(machine_text, &record, NULL));
    OK(cpoise_advice_new(record, NULL, &advice, NULL));
    OK(cpoise_advice_step_of(advice, 0, &step, NULL));
    CHECK(step.action == CPOISE_ACTION_CHECK && step.reasons >= 1 && !step.is_stop);
    CHECK(!step.has_mounting && !step.can_be_carried_out && step.mounting_lines == 0);
    OK(cpoise_advice_words(advice, 0, words, sizeof words, &used, NULL));
    CHECK(strcmp(words, "check blade track") == 0 && used == 18);
    fill(words, sizeof words);
    fill(added, sizeof added);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_advice_words(advice, 0, words, 17, &used, NULL));
    CHECK(used == 18 && untouched(words, sizeof words));
    STATUS(CPOISE_NO_VALUE, cpoise_advice_mounting_added(advice, 0, added, 2, &used, NULL));
    STATUS(CPOISE_NO_VALUE, cpoise_advice_carry_out(record, advice, 0, NULL, NULL, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_advice_mounting_words(advice, 0, 0, words, sizeof words, &used, NULL));
    CHECK(untouched(words, sizeof words) && untouched(added, sizeof added));
    cpoise_advice_free(advice);
    cpoise_record_free(record);
}

static void all_steps(void)
{
    cpoise_record *record = tried();
    cpoise_advice *advice = NULL;
    cpoise_advice_step about;
    cpoise_unbalance_vector added[2], before[2], after[2];
    cpoise_vibration predicted;
    cpoise_record_counts counts, now;
    size_t steps, step, i, used, done = 0, carried = SIZE_MAX;
    int32_t code;
    char words[512];

    OK(cpoise_advice_new(record, NULL, &advice, NULL));
    OK(cpoise_advice_count(advice, &steps, NULL));
    CHECK(steps >= 1);
    for (step = 0; step < steps; step++) {
        OK(cpoise_advice_step_of(advice, step, &about, NULL));
        tell_next(about.action);
        for (i = 0; i < about.reasons; i++) {
            OK(cpoise_advice_reason(advice, step, i, &code, NULL));
            tell_next(code);
            OK(cpoise_advice_reason_words(advice, step, i, words, sizeof words, &used, NULL));
            CHECK(used == strlen(words) + 1 && used > 1);
        }
        STATUS(CPOISE_NO_SUCH_INDEX, cpoise_advice_reason(advice, step, about.reasons, &code, NULL));
        if (about.has_mounting) {
            OK(cpoise_advice_mounting_added(advice, step, added, 2, &used, NULL));
            for (i = 0; i < used; i++) {
                tell_next(added[i].x_g_mm);
                tell_next(added[i].y_g_mm);
            }
            for (i = 0; i < about.mounting_lines; i++) {
                OK(cpoise_advice_mounting_words(advice, step, i, words, sizeof words, &used, NULL));
                CHECK(strstr(words, "put on") != NULL || strstr(words, "take off") != NULL);
            }
        }
        if (about.action == CPOISE_ACTION_MOUNT) {
            OK(cpoise_advice_predicted(advice, step, &predicted, 1, &used, NULL));
            tell_next(predicted.re);
            tell_next(predicted.im);
        }
        if (about.can_be_carried_out && carried == SIZE_MAX) {
            carried = step;
        }
    }
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_advice_step_of(advice, steps, &about, NULL));

    /* What is carried out is what was said. */
    CHECK(carried != SIZE_MAX);
    OK(cpoise_advice_mounting_added(advice, carried, added, 2, &used, NULL));
    OK(cpoise_record_mounted(record, before, 2, &used, NULL));
    OK(cpoise_record_count(record, &counts, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_advice_carry_out(record, advice, steps, NULL, &done, NULL));
    STATUS(CPOISE_NOT_UTF8, cpoise_advice_carry_out(record, advice, carried, "\xff", &done, NULL));
    CHECK(done == 0);
    OK(cpoise_advice_carry_out(record, advice, carried, "2026-05-03 11:00", &done, NULL));
    OK(cpoise_record_count(record, &now, NULL));
    CHECK(done > 0 && now.entries == counts.entries + done && now.run_as_mounted == CPOISE_NONE);
    OK(cpoise_record_mounted(record, after, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        double x = after[i].x_g_mm - before[i].x_g_mm - added[i].x_g_mm;
        double y = after[i].y_g_mm - before[i].y_g_mm - added[i].y_g_mm;
        CHECK(x * x + y * y < 1e-12);
    }
    /* It was for the record as it was. */
    done = 77;
    STATUS(CPOISE_WRONG_STATE, cpoise_advice_carry_out(record, advice, carried, NULL, &done, NULL));
    OK(cpoise_record_count(record, &counts, NULL));
    CHECK(done == 77 && counts.entries == now.entries);
    cpoise_advice_free(advice);
    cpoise_record_free(record);
    cpoise_advice_free(NULL);
}

static void refused(void)
{
    cpoise_record *record = tried();
    cpoise_advice *advice = NULL;
    cpoise_advice_options how = CPOISE_ADVICE_OPTIONS_INIT;
    how.confidence = 1.0;
    STATUS(CPOISE_JOB_BAD_NUMBER, cpoise_advice_new(record, &how, &advice, NULL));
    how.confidence = not_a_number();
    STATUS(CPOISE_JOB_BAD_NUMBER, cpoise_advice_new(record, &how, &advice, NULL));
    how.confidence = 0.99;
    how.size--;
    STATUS(CPOISE_BAD_SIZE, cpoise_advice_new(record, &how, &advice, NULL));
    CHECK(advice == NULL);
    how.size++;
    how.readings_per_run = 5;
    how.placement_steps = 1000;
    OK(cpoise_advice_new(record, &how, &advice, NULL));
    cpoise_advice_free(advice);
    cpoise_record_free(record);
}

static char *text_of(cpoise_status (*call)(const cpoise_report *, char *, size_t, size_t *, cpoise_detail *),
                     const cpoise_report *report)
{
    size_t needed = 0, used = 0;
    char *words;
    STATUS(CPOISE_BUFFER_TOO_SMALL, call(report, NULL, 0, &needed, NULL));
    words = (char *)malloc(needed);
    words[0] = 'x';
    STATUS(CPOISE_BUFFER_TOO_SMALL, call(report, words, needed - 1, &used, NULL));
    CHECK(words[0] == 'x' && used == needed);
    OK(call(report, words, needed, &used, NULL));
    CHECK(used == needed && strlen(words) + 1 == needed);
    return words;
}

static void reported(void)
{
    cpoise_record *record = tried();
    cpoise_report *report = NULL;
    char *words;
    STATUS(CPOISE_JOB_BAD_NUMBER, cpoise_report_new(record, 0.0, &report, NULL));
    STATUS(CPOISE_JOB_BAD_NUMBER, cpoise_report_new(record, not_a_number(), &report, NULL));
    CHECK(report == NULL);
    OK(cpoise_report_new(record, 0.95, &report, NULL));
    cpoise_record_free(record);
    words = text_of(cpoise_report_text, report);
    CHECK(strstr(words, "a trainer") != NULL);
    free(words);
    words = text_of(cpoise_report_log_entry, report);
    CHECK(strlen(words) > 20);
    free(words);
    cpoise_report_free(report);
    cpoise_report_free(NULL);
}

int main(void)
{
    first_steps();
    all_steps();
    refused();
    reported();
    return done();
}
