/* A const handle read from eight threads at once gives each the same; so do calls without a handle. */
#include "job.h"

#include <pthread.h>

#define THREADS 8
#define ROUNDS 200

static const cpoise_fit *shared_fit;
static const cpoise_influence_matrix *shared_matrix;

struct answer {
    cpoise_vibration with[2];
    cpoise_unbalance_vector add[2];
    double covariance[36];
    int equal;
};

static void compute(struct answer *answer)
{
    cpoise_unbalance_vector some[2] = {{100.0, 50.0}, {-30.0, 10.0}};
    cpoise_correction *correction = NULL;
    cpoise_detail detail;
    size_t used = 0;
    int failed = 0;
    failed |= cpoise_fit_vibration_with(shared_fit, some, 2, answer->with, 2, &used, &detail);
    failed |= cpoise_correction_new(shared_matrix, answer->with, 2, NULL, &correction, &detail);
    failed |= cpoise_correction_added(correction, answer->add, 2, &used, &detail);
    failed |= cpoise_fit_covariance(shared_fit, 1, answer->covariance, 36, &used, &detail);
    cpoise_correction_free(correction);
    answer->equal = failed == 0;
}

static void *work(void *argument)
{
    struct answer *first = (struct answer *)argument;
    struct answer again;
    int i;
    compute(first);
    for (i = 0; i < ROUNDS; i++) {
        compute(&again);
        first->equal &= again.equal && memcmp(first->with, again.with, sizeof again.with) == 0 &&
                        memcmp(first->add, again.add, sizeof again.add) == 0 &&
                        memcmp(first->covariance, again.covariance, sizeof again.covariance) == 0;
    }
    return NULL;
}

int main(void)
{
    static struct answer answers[THREADS];
    pthread_t threads[THREADS];
    cpoise_fit *fit = job_fit();
    cpoise_influence_matrix *matrix = NULL;
    int i;

    OK(cpoise_fit_influence_new(fit, &matrix, NULL));
    shared_fit = fit;
    shared_matrix = matrix;
    for (i = 0; i < THREADS; i++) {
        CHECK(pthread_create(&threads[i], NULL, work, &answers[i]) == 0);
    }
    for (i = 0; i < THREADS; i++) {
        CHECK(pthread_join(threads[i], NULL) == 0);
        CHECK(answers[i].equal == 1);
        CHECK(memcmp(answers[i].add, answers[0].add, sizeof answers[0].add) == 0);
        CHECK(memcmp(answers[i].covariance, answers[0].covariance, sizeof answers[0].covariance) == 0);
    }
    cpoise_influence_matrix_free(matrix);
    cpoise_fit_free(fit);
    return done();
}
