/* Placements by every aim, searches that go on step by step, their answers, and what is refused. */
#include "job.h"

static int32_t printed;

static void tell_next(const char *name, double value)
{
    char line[48];
    snprintf(line, sizeof line, "%s %d", name, (int)printed++);
    tell(line, value);
}

static void tell_placement(const char *name, const cpoise_placement_answer *answer, size_t which, int through)
{
    cpoise_placement_summary summary;
    cpoise_placement_change changes[16];
    cpoise_unbalance_vector unbalances[2];
    cpoise_vibration predicted[2];
    double scatter[2];
    size_t used, i;

    OK(cpoise_placement_answer_summary(answer, which, &summary, NULL));
    tell_next(name, summary.residual);
    tell_next(name, (double)summary.holes);
    tell_next(name, (double)summary.pieces);
    tell_next(name, summary.net_mass_g);
    tell_next(name, summary.heavy_side_moment_g_mm);
    OK(cpoise_placement_answer_changes(answer, which, changes, 16, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next(name, (double)changes[i].ring);
        tell_next(name, (double)changes[i].hole);
        tell_next(name, (double)changes[i].hardware);
        tell_next(name, changes[i].added);
        tell_next(name, changes[i].removed);
    }
    OK(cpoise_placement_answer_placed(answer, which, unbalances, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next(name, unbalances[i].x_g_mm);
        tell_next(name, unbalances[i].y_g_mm);
    }
    if (through) {
        STATUS(CPOISE_NO_VALUE, cpoise_placement_answer_left(answer, which, unbalances, 2, &used, NULL));
        OK(cpoise_placement_answer_predicted(answer, which, predicted, 2, &used, NULL));
        CHECK(used == 2);
        for (i = 0; i < used; i++) {
            tell_next(name, predicted[i].re);
            tell_next(name, predicted[i].im);
        }
    } else {
        STATUS(CPOISE_NO_VALUE, cpoise_placement_answer_predicted(answer, which, predicted, 2, &used, NULL));
        OK(cpoise_placement_answer_left(answer, which, unbalances, 2, &used, NULL));
        for (i = 0; i < used; i++) {
            tell_next(name, unbalances[i].x_g_mm);
            tell_next(name, unbalances[i].y_g_mm);
        }
    }
    OK(cpoise_placement_answer_scatter(answer, which, 0.005, 0.5, scatter, 2, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next(name, scatter[i]);
    }
}

/* Searches a thousand steps at a time and tells all that the answer has. */
static cpoise_placement_answer *told(const char *name, const cpoise_placement_question *question, uint64_t most,
                                     int usual, int through)
{
    cpoise_placement_search *search = NULL;
    cpoise_placement_answer *answer = NULL;
    cpoise_placement_certificate certificate;
    cpoise_placement_tolerance tolerance;
    cpoise_caution cautions[4];
    int32_t ended = 0;
    uint64_t steps = 0;
    size_t count, which, used, i;

    OK(cpoise_placement_search_new(question, &search, NULL));
    while (!ended && steps < most) {
        OK(cpoise_placement_search_advance(search, 1000, &ended, NULL));
        OK(cpoise_placement_search_steps(search, &steps, NULL));
    }
    OK(cpoise_placement_search_answer_new(search, &answer, NULL));
    cpoise_placement_search_free(search);

    printed = 0;
    OK(cpoise_placement_answer_certificate(answer, &certificate, NULL));
    tell_next(name, certificate.proof);
    tell_next(name, certificate.proven);
    tell_next(name, (double)certificate.proven_up_to);
    tell_next(name, certificate.lower_bound);
    tell_next(name, (double)certificate.steps);
    tell_next(name, certificate.out_of_memory);
    if (usual) {
        OK(cpoise_placement_answer_tolerance(answer, &tolerance, NULL));
        tell_next(name, tolerance.eps);
        tell_next(name, tolerance.reason);
        tell_next(name, tolerance.unavoidable);
    } else {
        STATUS(CPOISE_NO_VALUE, cpoise_placement_answer_tolerance(answer, &tolerance, NULL));
    }
    OK(cpoise_placement_answer_count(answer, &count, NULL));
    for (which = 0; which < count; which++) {
        tell_placement(name, answer, which, through);
    }
    OK(cpoise_placement_answer_cautions(answer, cautions, 4, &used, NULL));
    for (i = 0; i < used; i++) {
        tell_next(name, cautions[i].code);
    }
    return answer;
}

static cpoise_rings *even_ring(void)
{
    cpoise_rings *rings = NULL;
    cpoise_hole_circle circle = {24, 1, CPOISE_AGAINST_ROTATION, 0.0};
    size_t index = 9;
    OK(cpoise_rings_new(&rings, NULL));
    OK(cpoise_rings_add_even(rings, 0, &circle, 127.0, &index, NULL));
    CHECK(index == 0);
    OK(cpoise_rings_limit_pieces(rings, 0, CPOISE_EVERY_HOLE, 3, NULL));
    return rings;
}

static void washers(cpoise_hardware hardware[3])
{
    OK(cpoise_hardware_make("small", 0.85, &hardware[0], NULL));
    OK(cpoise_hardware_make("middle", 1.63, &hardware[1], NULL));
    OK(cpoise_hardware_make("large", 2.94, &hardware[2], NULL));
}

static void unbalances(void)
{
    cpoise_rings *rings = even_ring();
    cpoise_hardware hardware[3], made[2];
    cpoise_unbalance_vector wanted = {-310.0, 540.0}, left[1];
    cpoise_placement_options options = CPOISE_PLACEMENT_OPTIONS_INIT;
    cpoise_placement_question *question = NULL;
    cpoise_placement_answer *answer;
    cpoise_placement_change changes[1];
    cpoise_placement_summary summary;
    cpoise_hole holes[3] = {{100.0, 0.0}, {100.0, 180.0}, {100.0, 90.0}};
    cpoise_caution cautions[1];
    uint32_t mounted[3] = {1, 0, 0};
    double scatter;
    size_t used, index;

    washers(hardware);
    options.aim = CPOISE_AIM_WITHIN;
    options.eps = 10.0;
    options.answers = 3;
    OK(cpoise_placement_question_new(rings, hardware, 3, &wanted, 1, &options, &question, NULL));
    answer = told("within", question, 1000000, 0, 0);
    cpoise_placement_question_free(question);

    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_placement_answer_changes(answer, 0, NULL, 0, &used, NULL));
    CHECK(used >= 1);
    fill(left, sizeof left);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_placement_answer_left(answer, 0, left, 0, &used, NULL));
    CHECK(used == 1 && untouched(left, sizeof left));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_placement_answer_summary(answer, 3, &summary, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_placement_answer_summary(answer, SIZE_MAX, &summary, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_placement_answer_changes(answer, 3, changes, 1, &used, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_placement_answer_changes(answer, 0, changes, SIZE_MAX, &used, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE,
           cpoise_placement_answer_scatter(answer, 0, not_a_number(), 0.0, &scatter, 1, &used, NULL));
    cpoise_placement_answer_free(answer);

    /* Stopped early: the rest is open, and a caution says so. */
    OK(cpoise_placement_question_new(rings, hardware, 3, &wanted, 1, NULL, &question, NULL));
    answer = told("least", question, 2000, 0, 0);
    OK(cpoise_placement_answer_cautions(answer, cautions, 1, &used, NULL));
    CHECK(used == 1 && cautions[0].code == CPOISE_CAUTION_PLACEMENT_NOT_PROVEN);
    cpoise_placement_answer_free(answer);
    cpoise_placement_question_free(question);
    cpoise_rings_free(rings);

    printed = 0;
    OK(cpoise_hardware_washer("A 6.4", 12.0, 6.4, 1.6, 7.85, &made[0], NULL));
    OK(cpoise_hardware_drilled("8 mm", 8.0, 5.0, 118.0, 7.85, &made[1], NULL));
    tell_next("pieces", made[0].mass_g);
    tell_next("pieces", made[0].thickness_mm);
    tell_next("pieces", made[1].mass_g);
    tell_next("pieces", made[1].thickness_mm);
    CHECK(strcmp(made[0].name, "A 6.4") == 0 && made[0].stock_is_limited == 0);

    OK(cpoise_rings_new(&rings, NULL));
    OK(cpoise_rings_add_listed(rings, 0, holes, 3, &index, NULL));
    OK(cpoise_rings_limit_pieces(rings, index, CPOISE_EVERY_HOLE, 4, NULL));
    OK(cpoise_rings_mounted(rings, index, 0, mounted, 3, NULL));
    OK(cpoise_rings_block(rings, index, 2, NULL));
    OK(cpoise_hardware_make("washer", 1.0, &hardware[0], NULL));
    OK(cpoise_hardware_make("nut", 2.0, &hardware[1], NULL));
    OK(cpoise_hardware_make("plate", 0.75, &hardware[2], NULL));
    hardware[0].stock_is_limited = 1;
    hardware[0].stock = 0;
    wanted.x_g_mm = -300.0;
    wanted.y_g_mm = 0.0;
    options.aim = CPOISE_AIM_LEAST_CHANGE;
    options.eps = 1.0;
    options.answers = 0;
    OK(cpoise_placement_question_new(rings, hardware, 3, &wanted, 1, &options, &question, NULL));
    answer = told("change", question, 100000, 0, 0);
    cpoise_placement_answer_free(answer);
    cpoise_placement_question_free(question);
    cpoise_rings_free(rings);
}

static void vibrations(void)
{
    cpoise_fit *fit = job_fit();
    cpoise_influence_matrix *matrix = NULL;
    cpoise_vibration as_found[2];
    cpoise_rings *rings = NULL;
    cpoise_hole_circle circle = {12, 1, CPOISE_WITH_ROTATION, 7.5};
    cpoise_hardware nuts[2];
    cpoise_placement_options options = CPOISE_PLACEMENT_OPTIONS_INIT;
    cpoise_placement_limit limits[4] = {
        {CPOISE_LIMIT_HOLES, 3, 0, 0.0},
        {CPOISE_LIMIT_HOLES_IN_PLANE, 2, 1, 0.0},
        {CPOISE_LIMIT_PIECES, 6, 0, 0.0},
        {CPOISE_LIMIT_NET_MASS, 0, 0, 15.0},
    };
    cpoise_placement_question *question = NULL;
    uint32_t mounted[2] = {0, 1};
    double weights[2] = {1.0, 2.0};
    size_t used, plane, index;

    OK(cpoise_fit_influence_new(fit, &matrix, NULL));
    OK(cpoise_fit_as_found(fit, as_found, 2, &used, NULL));
    OK(cpoise_rings_new(&rings, NULL));
    for (plane = 0; plane < 2; plane++) {
        OK(cpoise_rings_add_even(rings, plane, &circle, 165.0, &index, NULL));
        CHECK(index == plane);
        OK(cpoise_rings_limit_mass(rings, index, CPOISE_EVERY_HOLE, 12.0, NULL));
        OK(cpoise_rings_limit_height(rings, index, CPOISE_EVERY_HOLE, 9.0, NULL));
    }
    OK(cpoise_rings_mounted(rings, 0, 3, mounted, 2, NULL));
    OK(cpoise_rings_fixed(rings, 0, 3, NULL));
    OK(cpoise_rings_symmetric(rings, 1, 5, NULL));
    OK(cpoise_rings_keep_pieces(rings, 1, 5, 1, NULL));
    OK(cpoise_hardware_make("nut", 2.5, &nuts[0], NULL));
    OK(cpoise_hardware_make("bolt", 4.0, &nuts[1], NULL));
    nuts[0].thickness_mm = 4.0;
    nuts[1].thickness_mm = 3.0;
    nuts[1].stock_is_limited = 1;
    nuts[1].stock = 4;

    options.channel_weights = weights;
    options.weight_count = 2;
    options.limits = limits;
    options.limit_count = 4;
    options.memory_bytes = (size_t)4 << 20;
    options.norm = CPOISE_NORM_WORST;
    options.aim = CPOISE_AIM_USUAL;
    options.permissible = 0.5;
    OK(cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    cpoise_placement_answer_free(told("usual", question, 100000, 1, 1));
    cpoise_placement_question_free(question);
    options.norm = CPOISE_NORM_WORST_COMPONENT;
    options.aim = CPOISE_AIM_SCATTER;
    options.permissible = 0.0;
    options.scatter = 0.2;
    OK(cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    cpoise_placement_answer_free(told("scatter", question, 100000, 1, 1));
    cpoise_placement_question_free(question);
    question = NULL;

    STATUS(CPOISE_PLACEMENT_COUNT,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 1, &options, &question, NULL));
    options.weight_count = 1;
    STATUS(CPOISE_PLACEMENT_COUNT,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    options.weight_count = 2;
    weights[0] = not_a_number();
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    weights[0] = weights[1] = 0.0;
    STATUS(CPOISE_PLACEMENT_NO_WEIGHT,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    weights[0] = 1.0;
    limits[1].plane = 2;
    STATUS(CPOISE_PLACEMENT_LIMITED_PLANE,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    limits[1].kind = CPOISE_LIMIT_TOTAL;
    STATUS(CPOISE_UNKNOWN_CONSTANT,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    limits[1].kind = CPOISE_LIMIT_HOLES;
    limits[3].mass_g = -1.0;
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    options.limit_count = SIZE_MAX;
    STATUS(CPOISE_COUNT_TOO_LARGE,
           cpoise_placement_question_through_new(rings, nuts, 2, matrix, as_found, 2, &options, &question, NULL));
    CHECK(question == NULL);
    cpoise_rings_free(rings);
    cpoise_influence_matrix_free(matrix);
    cpoise_fit_free(fit);
}

static void refused(void)
{
    cpoise_rings *rings = even_ring(), *none = NULL, *unlimited = NULL;
    cpoise_hole_circle circle = {24, 1, CPOISE_AGAINST_ROTATION, 0.0};
    cpoise_hole hole = {0.0, 0.0};
    cpoise_hardware hardware[3], piece;
    cpoise_unbalance_vector wanted = {-310.0, 540.0};
    cpoise_placement_options options = CPOISE_PLACEMENT_OPTIONS_INIT;
    cpoise_placement_question *question = NULL;
    cpoise_placement_search *search = NULL;
    cpoise_detail detail;
    uint32_t mounted[2] = {1, 0};
    size_t index = 77;
    struct {
        cpoise_placement_options known;
        double newer;
    } newer;

    washers(hardware);
    fill(&piece, sizeof piece);
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_hardware_make("x", not_a_number(), &piece, NULL));
    STATUS(CPOISE_NOT_UTF8, cpoise_hardware_make("\xff", 1.0, &piece, NULL));
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER, cpoise_hardware_washer("x", 6.0, 6.0, 1.0, 7.85, &piece, NULL));
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER, cpoise_hardware_washer("x", 12.0, 6.0, 1.0, not_a_number(), &piece, NULL));
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER, cpoise_hardware_drilled("x", 8.0, 5.0, 181.0, 7.85, &piece, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_hardware_drilled("x", infinite(), 5.0, 118.0, 7.85, &piece, NULL));
    CHECK(untouched(&piece, sizeof piece));
    OK(cpoise_hardware_make(NULL, 1.0, &piece, NULL));
    CHECK(piece.name == NULL);

    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_rings_add_even(rings, 0, &circle, 0.0, &index, NULL));
    circle.count = 0;
    STATUS(CPOISE_VIEW_EMPTY_CIRCLE, cpoise_rings_add_even(rings, 0, &circle, 1.0, &index, NULL));
    circle.sense = 3;
    circle.count = 24;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_rings_add_even(rings, 0, &circle, 1.0, &index, NULL));
    circle.sense = CPOISE_AGAINST_ROTATION;
    STATUS(CPOISE_QUANTITY_NOT_POSITIVE, cpoise_rings_add_listed(rings, 0, &hole, 1, &index, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_rings_add_listed(rings, 0, &hole, SIZE_MAX, &index, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_rings_add_listed(rings, 0, NULL, 1, &index, NULL));
    CHECK(index == 77);
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_rings_block(rings, 1, 0, &detail));
    CHECK(strcmp(detail.text, "there is no ring 1, counted from 0") == 0);
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_rings_fixed(rings, 0, 24, &detail));
    CHECK(strcmp(detail.text, "there is no hole 24 in ring 0, counted from 0") == 0);
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_rings_symmetric(rings, 0, -2, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_rings_keep_pieces(rings, SIZE_MAX, 0, 1, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_rings_limit_mass(rings, 0, 0, not_a_number(), NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_rings_limit_height(rings, 0, 0, infinite(), NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_rings_mounted(rings, 0, 0, mounted, SIZE_MAX, NULL));
    STATUS(CPOISE_NULL_POINTER, cpoise_rings_mounted(rings, 0, 0, NULL, 2, NULL));

#define ASK(list, count, options) \
    cpoise_placement_question_new(list, hardware, count, &wanted, 1, options, &question, &detail)
    OK(cpoise_rings_new(&none, NULL));
    STATUS(CPOISE_PLACEMENT_NO_HOLES, ASK(none, 3, NULL));
    STATUS(CPOISE_PLACEMENT_NO_HARDWARE, ASK(rings, 0, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, ASK(rings, SIZE_MAX, NULL));
    STATUS(CPOISE_PLACEMENT_PLANE_OUT_OF_RANGE,
           cpoise_placement_question_new(rings, hardware, 3, NULL, 0, NULL, &question, NULL));
    hardware[1].mass_g = 0.0;
    STATUS(CPOISE_PLACEMENT_NO_MASS, ASK(rings, 3, NULL));
    hardware[1].mass_g = 1.63;
    hardware[1].thickness_mm = -1.0;
    STATUS(CPOISE_PLACEMENT_NEGATIVE_THICKNESS, ASK(rings, 3, NULL));
    hardware[1].thickness_mm = 0.0;
    hardware[1].name = "\xff";
    STATUS(CPOISE_NOT_UTF8, ASK(rings, 3, NULL));
    hardware[1].name = NULL;
    wanted.x_g_mm = not_a_number();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, ASK(rings, 3, NULL));
    wanted.x_g_mm = -310.0;
    options.norm = 4;
    STATUS(CPOISE_UNKNOWN_CONSTANT, ASK(rings, 3, &options));
    options.norm = 0;
    options.aim = 6;
    STATUS(CPOISE_UNKNOWN_CONSTANT, ASK(rings, 3, &options));
    CHECK(strstr(detail.text, "aim 6 is not known") != NULL);
    options.aim = CPOISE_AIM_WITHIN;
    options.eps = -1.0;
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER, ASK(rings, 3, &options));
    options.aim = CPOISE_AIM_USUAL;
    options.permissible = not_a_number();
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER, ASK(rings, 3, &options));
    options.aim = CPOISE_AIM_SCATTER;
    options.permissible = 0.0;
    options.scatter = infinite();
    STATUS(CPOISE_PLACEMENT_BAD_NUMBER, ASK(rings, 3, &options));
    options.aim = 0;
    options.memory_bytes = 1;
    STATUS(CPOISE_PLACEMENT_MEMORY_LIMIT, ASK(rings, 3, &options));
    options.memory_bytes = 0;
    options.weight_count = 1;
    STATUS(CPOISE_NULL_POINTER, ASK(rings, 3, &options));
    options.weight_count = 0;
    options.size = 0;
    STATUS(CPOISE_BAD_SIZE, ASK(rings, 3, &options));
    options.size = sizeof options - 1;
    STATUS(CPOISE_BAD_SIZE, ASK(rings, 3, &options));
    options.size = sizeof options;
    memset(&newer, 0, sizeof newer);
    newer.known.size = sizeof newer;
    OK(ASK(rings, 3, &newer.known));
    cpoise_placement_question_free(question);
    question = NULL;
    newer.newer = 1.0;
    STATUS(CPOISE_BAD_SIZE, ASK(rings, 3, &newer.known));

    OK(cpoise_rings_mounted(rings, 0, 2, mounted, 2, NULL));
    STATUS(CPOISE_PLACEMENT_MOUNTED, ASK(rings, 3, NULL));
    OK(cpoise_rings_mounted(rings, 0, 2, NULL, 0, NULL));
    OK(cpoise_rings_limit_height(rings, 0, 2, -1.0, NULL));
    STATUS(CPOISE_PLACEMENT_BAD_LIMIT, ASK(rings, 3, NULL));
    CHECK(question == NULL);

    OK(cpoise_rings_new(&unlimited, NULL));
    OK(cpoise_rings_add_even(unlimited, 0, &circle, 1.0, &index, NULL));
    OK(ASK(unlimited, 3, NULL));
    STATUS(CPOISE_PLACEMENT_NO_LIMIT, cpoise_placement_search_new(question, &search, NULL));
    CHECK(search == NULL);
    cpoise_placement_question_free(question);
    cpoise_rings_free(unlimited);
    cpoise_rings_free(none);
    cpoise_rings_free(rings);
    cpoise_rings_free(NULL);
    cpoise_placement_question_free(NULL);
    cpoise_placement_search_free(NULL);
    cpoise_placement_answer_free(NULL);
}

int main(void)
{
    unbalances();
    vibrations();
    refused();
    return done();
}
