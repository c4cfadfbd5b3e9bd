/* Amplitudes alone: one rotor, two, none, and what is refused. */
#include "check.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[48];
    snprintf(line, sizeof line, "amplitudes %d", (int)printed++);
    tell(line, value);
}

static void tell_solutions(const cpoise_without_phase *answer, size_t count)
{
    cpoise_amplitude_solution solution;
    double residuals[6];
    size_t which, used, i;
    for (which = 0; which < count; which++) {
        OK(cpoise_without_phase_solution(answer, which, &solution, NULL));
        tell_next(solution.correction.x_g_mm);
        tell_next(solution.correction.y_g_mm);
        tell_next(solution.as_found_amplitude);
        tell_next(solution.influence_per_g_mm);
        tell_next(solution.response_lead_deg);
        tell_next(solution.sum_of_squares);
        tell_next(solution.rms_residual);
        OK(cpoise_without_phase_residuals(answer, which, residuals, 6, &used, NULL));
        for (i = 0; i < used; i++) {
            tell_next(residuals[i]);
        }
    }
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_without_phase_solution(answer, count, &solution, NULL));
}

int main(void)
{
    cpoise_amplitude_trial trials[4] = {
        {{1500.0, 0.0}, 0.78}, {{-750.0, 1299.0}, 0.79}, {{-750.0, -1299.0}, 0.1}, {{0.0, 1500.0}, 0.93}};
    double as_found[2] = {0.5, 0.51}, residuals[1];
    cpoise_without_phase *answer = NULL;
    cpoise_without_phase_outcome outcome;
    cpoise_closed_form closed;
    size_t used;

    OK(cpoise_without_phase_new(as_found, 2, trials, 4, &answer, NULL));
    OK(cpoise_without_phase_get_outcome(answer, &outcome, NULL));
    CHECK(outcome.outcome == CPOISE_OUTCOME_UNIQUE && outcome.ambiguity == 0 && outcome.has_closed_form == 1);
    tell_solutions(answer, outcome.solutions);
    OK(cpoise_without_phase_closed_form(answer, &closed, NULL));
    CHECK(closed.has_correction == 1);
    tell_next(closed.squared_influence);
    tell_next(closed.influence_from_mean);
    tell_next(closed.influence_from_places);
    tell_next(closed.response_lead_deg);
    tell_next(closed.inconsistency_ratio);
    tell_next(closed.correction.x_g_mm);
    tell_next(closed.correction.y_g_mm);
    fill(residuals, sizeof residuals);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_without_phase_residuals(answer, 0, residuals, 1, &used, NULL));
    CHECK(used == 6 && untouched(residuals, sizeof residuals));
    cpoise_without_phase_free(answer);

    OK(cpoise_without_phase_new(as_found, 2, trials, 2, &answer, NULL));
    OK(cpoise_without_phase_get_outcome(answer, &outcome, NULL));
    CHECK(outcome.outcome == CPOISE_OUTCOME_AMBIGUOUS && outcome.ambiguity == CPOISE_AMBIGUITY_TWO_PLACES);
    tell_solutions(answer, outcome.solutions);
    STATUS(CPOISE_NO_VALUE, cpoise_without_phase_closed_form(answer, &closed, NULL));
    cpoise_without_phase_free(answer);

    OK(cpoise_without_phase_new(as_found, 2, trials, 1, &answer, NULL));
    OK(cpoise_without_phase_get_outcome(answer, &outcome, NULL));
    CHECK(outcome.outcome == CPOISE_OUTCOME_UNDETERMINED && outcome.solutions == 0);
    cpoise_without_phase_free(answer);
    answer = NULL;

    STATUS(CPOISE_WITHOUT_PHASE_NO_AS_FOUND, cpoise_without_phase_new(NULL, 0, trials, 4, &answer, NULL));
    STATUS(CPOISE_WITHOUT_PHASE_NO_TRIALS, cpoise_without_phase_new(as_found, 2, NULL, 0, &answer, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_without_phase_new(as_found, SIZE_MAX, trials, 4, &answer, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_without_phase_new(as_found, 2, NULL, 4, &answer, NULL));
    trials[1].amplitude = not_a_number();
    STATUS(CPOISE_WITHOUT_PHASE_AMPLITUDE, cpoise_without_phase_new(as_found, 2, trials, 4, &answer, NULL));
    trials[0].unbalance.x_g_mm = 0.0;
    STATUS(CPOISE_WITHOUT_PHASE_AMOUNT, cpoise_without_phase_new(as_found, 2, trials, 4, &answer, NULL));
    trials[0].unbalance.x_g_mm = infinite();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_without_phase_new(as_found, 2, trials, 4, &answer, NULL));
    as_found[1] = -1.0;
    trials[0].unbalance.x_g_mm = 1.0;
    STATUS(CPOISE_WITHOUT_PHASE_AS_FOUND, cpoise_without_phase_new(as_found, 2, trials, 4, &answer, NULL));
    CHECK(answer == NULL);
    cpoise_without_phase_free(NULL);
    return done();
}
