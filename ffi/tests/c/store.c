/* A store of coefficients, its text, a prior from it, and what is refused. */
#include "job.h"

int main(void)
{
    static const cpoise_influence given[4] = {{-1.4e-4, 0.7e-4}, {1.0 / 3.0, 0.1}, {1e-3, 2e-3}, {-3e-4, 1e-5}};
    cpoise_channel channels[2];
    cpoise_influence back[4];
    cpoise_influence_matrix *matrix = NULL, *none = NULL;
    cpoise_store *store = NULL, *again = NULL, *no_store = NULL;
    cpoise_prior *prior = NULL;
    size_t used = 0, needed = 0, i;
    char *words;

    job_channels(channels);
    OK(cpoise_influence_matrix_new(channels, 2, 2, given, 4, &matrix, NULL));
    OK(cpoise_store_new(&store, NULL));
    STATUS(CPOISE_JOB_NOTHING_STORED, cpoise_store_prior_new(store, "trainer", 0.2, &prior, NULL));
    OK(cpoise_store_add(store, "trainer", "D-EABC", matrix, NULL));
    STATUS(CPOISE_NOT_UTF8, cpoise_store_add(store, "\xff", "", matrix, NULL));
    cpoise_influence_matrix_free(matrix);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_store_to_json(store, NULL, 0, &needed, NULL));
    words = (char *)malloc(needed);
    OK(cpoise_store_to_json(store, words, needed, &used, NULL));
    CHECK(used == needed && strlen(words) + 1 == needed);
    OK(cpoise_store_from_json_new(words, &again, NULL));
    OK(cpoise_store_count(again, &used, NULL));
    CHECK(used == 1);
    OK(cpoise_store_influence_new(again, 0, &matrix, NULL));
    OK(cpoise_influence_matrix_coefficients(matrix, back, 4, &used, NULL));
    for (i = 0; i < 4; i++) {
        CHECK(back[i].re_per_g_mm == given[i].re_per_g_mm && back[i].im_per_g_mm == given[i].im_per_g_mm);
    }
    tell("store 0", back[0].re_per_g_mm);
    tell("store 1", back[0].im_per_g_mm);
    tell("store 2", back[1].re_per_g_mm);
    tell("store 3", back[1].im_per_g_mm);
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_store_influence_new(again, 1, &none, NULL));
    words[needed / 2] = '\0';
    STATUS(CPOISE_JSON_TEXT, cpoise_store_from_json_new(words, &no_store, NULL));
    STATUS(CPOISE_JSON_TEXT, cpoise_store_from_json_new("", &no_store, NULL));
    STATUS(CPOISE_JOB_NOTHING_STORED, cpoise_store_prior_new(again, "fan", 0.2, &prior, NULL));
    CHECK(cpoise_store_prior_new(again, "trainer", not_a_number(), &prior, NULL) != CPOISE_OK);
    CHECK(none == NULL && no_store == NULL && prior == NULL);
    OK(cpoise_store_prior_new(again, "trainer", 0.2, &prior, NULL));
    CHECK(prior != NULL);
    cpoise_prior_free(prior);
    cpoise_influence_matrix_free(matrix);
    cpoise_store_free(again);
    cpoise_store_free(store);
    cpoise_store_free(NULL);
    free(words);
    return done();
}
