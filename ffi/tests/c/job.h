/* Two channels, two planes, four runs: invented. The same stand in tests/expected/influence.rs. */
#ifndef JOB_H
#define JOB_H

#include "check.h"

static const cpoise_convention convention = {CPOISE_PHASE_LAG, CPOISE_AGAINST_ROTATION};
static const cpoise_vibration_unit inches = {CPOISE_SCALE_INCH_PER_SECOND, CPOISE_PEAK};

/* Amplitude and phase of both channels, and grams and place in both planes, run by run. */
static const double job_runs[4][8] = {
    {0.45, 48.0, 0.33, 120.0, 0.0, 0.0, 0.0, 0.0},
    {0.61, 75.0, 0.28, 101.0, 12.0, 90.0, 0.0, 0.0},
    {0.39, 21.0, 0.52, 150.0, 0.0, 0.0, 9.0, 200.0},
    {0.55, 49.0, 0.44, 133.0, 12.0, 90.0, 9.0, 200.0},
};

static inline cpoise_unbalance_vector job_unbalance(double grams, double place)
{
    cpoise_weight weight;
    cpoise_unbalance_vector unbalance;
    OK(cpoise_weight_make(&convention, grams, 165.0, place, &weight, NULL));
    OK(cpoise_weight_unbalance(&weight, &unbalance, NULL));
    return unbalance;
}

static inline void job_channels(cpoise_channel channels[2])
{
    OK(cpoise_channel_make(1, &inches, CPOISE_PHASE_LAG, 2350.0, 1.0, &channels[0], NULL));
    OK(cpoise_channel_make(2, &inches, CPOISE_PHASE_LAG, 2350.0, 1.0, &channels[1], NULL));
}

static inline cpoise_estimator *job_estimator(int32_t precision)
{
    cpoise_channel channels[2];
    cpoise_estimator *estimator = NULL;
    job_channels(channels);
    OK(cpoise_estimator_new(channels, 2, 2, precision, &estimator, NULL));
    return estimator;
}

static inline void job_add(cpoise_estimator *estimator, int runs, double standard_deviation)
{
    cpoise_channel channels[2];
    int run, channel;
    job_channels(channels);
    for (run = 0; run < runs; run++) {
        const double *of = job_runs[run];
        cpoise_mounted mounted[2];
        cpoise_reading readings[2];
        size_t number = 99;
        for (channel = 0; channel < 2; channel++) {
            OK(cpoise_reading_make(&channels[channel], of[2 * channel], of[2 * channel + 1], 2350.0,
                                   &readings[channel], NULL));
            if (standard_deviation > 0.0) {
                readings[channel].precision = CPOISE_PRECISION_SCATTER;
                OK(cpoise_scatter_known(standard_deviation, &readings[channel].scatter, NULL));
            }
            mounted[channel].plane = (size_t)channel;
            mounted[channel].unbalance = job_unbalance(of[4 + 2 * channel], of[5 + 2 * channel]);
        }
        OK(cpoise_estimator_add_run(estimator, "a run", mounted, 2, readings, 2, &number, NULL));
        CHECK(number == (size_t)run);
    }
}

static inline cpoise_fit *job_fit(void)
{
    cpoise_estimator *estimator = job_estimator(CPOISE_PRECISION_RELATIVE);
    cpoise_fit *fit = NULL;
    job_add(estimator, 4, 0.0);
    OK(cpoise_estimator_fit_new(estimator, &fit, NULL));
    cpoise_estimator_free(estimator);
    return fit;
}

#endif
