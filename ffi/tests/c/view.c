/* Rings of holes, views, words there and back, and what is refused. */
#include "check.h"

static int32_t printed;

static void tell_next(double value)
{
    char line[32];
    snprintf(line, sizeof line, "view %d", (int)printed++);
    tell(line, value);
}

int main(void)
{
    cpoise_hole_circle holes, bad_holes;
    cpoise_view view, other, bad;
    double number;
    char words[400], again[400];
    size_t used = 0, needed = 0;
    uint32_t index, before, after, hour;
    int32_t at;
    cpoise_detail detail;

    holes.count = 24;
    holes.first_number = 5;
    holes.sense = CPOISE_AGAINST_ROTATION;
    holes.first_with_rotation_deg = 345.1;
    memset(&view, 0, sizeof view);
    view.viewpoint = CPOISE_VIEW_FRONT;
    view.turning = CPOISE_COUNTER_CLOCKWISE;
    view.mark_deg = 30.3;
    view.holes = &holes;

    OK(cpoise_hole_place(&holes, 7, &number, NULL));
    tell_next(number);
    OK(cpoise_hole_number(&holes, 7, &index, NULL));
    tell_next(index);
    OK(cpoise_hole_index(&holes, 12, &index, NULL));
    CHECK(index == 7);
    OK(cpoise_hole_nearest(&holes, 100.0, &index, NULL));
    tell_next(index);
    OK(cpoise_hole_neighbours(&holes, 345.1 - 15.0, &at, &before, &after, NULL));
    CHECK(at == 1 && before == 1 && after == 1);
    OK(cpoise_hole_neighbours(&holes, 345.1 - 20.0, &at, &before, &after, NULL));
    CHECK(at == 0 && before == 1 && after == 2);
    OK(cpoise_view_seen(&view, 77.7, &number, NULL));
    tell_next(number);
    OK(cpoise_view_from_the_other_side(&view, &other, NULL));
    CHECK(other.viewpoint == CPOISE_VIEW_REAR && other.turning == CPOISE_CLOCKWISE && other.holes == &holes);
    OK(cpoise_view_seen(&other, 77.7, &number, NULL));
    tell_next(number);
    OK(cpoise_view_place_seen_at(&view, 12.5, &number, NULL));
    tell_next(number);
    OK(cpoise_view_place_of_hole(&view, 9, &number, NULL));
    tell_next(number);
    OK(cpoise_view_space_angle(&view, 12.5, &number, NULL));
    tell_next(number);
    tell_next(other.mark_deg);
    OK(cpoise_view_hour(&view, 123.456, &hour, NULL));
    tell_next(hour);
    OK(cpoise_view_words(&view, 123.456, CPOISE_AGAINST_ROTATION, 9, 1, words, sizeof words, &used, NULL));
    CHECK(used == strlen(words) + 1);
    OK(cpoise_view_read(&view, words, &number, NULL));
    tell_next(number);

    OK(cpoise_view_words(&view, 123.456, CPOISE_AGAINST_ROTATION, 1, 0, words, sizeof words, &used, NULL));
    CHECK(strcmp(words, "seen from the front, turning counter-clockwise, 236.5 deg against rotation from the mark, "
                        "between holes 19 and 20") == 0);
    /* How long it is, room for all but the NUL, and for all. */
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_view_words(&view, 123.456, 2, 1, 0, NULL, 0, &needed, NULL));
    CHECK(needed == used);
    fill(again, sizeof again);
    STATUS(CPOISE_BUFFER_TOO_SMALL, cpoise_view_words(&view, 123.456, 2, 1, 0, again, used - 1, &needed, &detail));
    CHECK(needed == used && untouched(again, sizeof again));
    CHECK(strstr(detail.text, "and there is room for") != NULL);
    OK(cpoise_view_words(&view, 123.456, 2, 1, 0, again, used, &needed, NULL));
    CHECK(strcmp(words, again) == 0 && needed == used && untouched(again + used, sizeof again - used));

    /* In the caller's own words. */
    view.viewpoint = CPOISE_VIEW_NAMED;
    view.words = "the drive end";
    view.other_side_words = "the free end";
    view.holes = NULL;
    OK(cpoise_view_from_the_other_side(&view, &other, NULL));
    CHECK(other.viewpoint == CPOISE_VIEW_NAMED && strcmp(other.words, "the free end") == 0);
    OK(cpoise_view_words(&other, 90.0, CPOISE_WITH_ROTATION, 0, 0, words, sizeof words, &used, NULL));
    CHECK(strcmp(words, "seen from the free end, turning clockwise, 90 deg with rotation from the mark") == 0);
    fill(&number, sizeof number);
    STATUS(CPOISE_VIEW_OTHER_VIEWPOINT, cpoise_view_read(&view, words, &number, &detail));
    CHECK(strstr(detail.text, "the free end") != NULL);
    STATUS(CPOISE_VIEW_UNREADABLE, cpoise_view_read(&view, "somewhere", &number, NULL));
    STATUS(CPOISE_NOT_UTF8, cpoise_view_read(&view, "\xff", &number, NULL));
    STATUS(CPOISE_VIEW_WITHOUT_HOLES, cpoise_view_place_of_hole(&view, 1, &number, NULL));
    bad = view;
    bad.words = NULL;
    STATUS(CPOISE_NULL_POINTER, cpoise_view_seen(&bad, 0.0, &number, &detail));
    CHECK(strcmp(detail.text, "the view's words is NULL") == 0);
    bad.words = "a, b";
    STATUS(CPOISE_VIEW_BAD_VIEWPOINT, cpoise_view_seen(&bad, 0.0, &number, NULL));
    bad.words = bad.other_side_words;
    STATUS(CPOISE_VIEW_BAD_VIEWPOINT, cpoise_view_seen(&bad, 0.0, &number, NULL));
    bad.words = "\x80";
    STATUS(CPOISE_NOT_UTF8, cpoise_view_seen(&bad, 0.0, &number, NULL));
    bad = view;
    bad.viewpoint = 4;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_view_seen(&bad, 0.0, &number, NULL));
    bad = view;
    bad.turning = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_view_place_seen_at(&bad, 0.0, &number, NULL));
    bad = view;
    bad.mark_deg = infinite();
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_view_space_angle(&bad, 0.0, &number, NULL));
    view.holes = &holes;
    STATUS(CPOISE_VIEW_NO_SUCH_HOLE, cpoise_view_place_of_hole(&view, 4, &number, NULL));
    STATUS(CPOISE_QUANTITY_NOT_FINITE, cpoise_view_seen(&view, not_a_number(), &number, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_hole_place(&holes, 24, &number, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_hole_place(&holes, UINT32_MAX, &number, NULL));
    fill(&index, sizeof index);
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_hole_number(&holes, 24, &index, NULL));
    STATUS(CPOISE_NO_SUCH_INDEX, cpoise_hole_index(&holes, 29, &index, NULL));
    bad_holes = holes;
    bad_holes.count = 0;
    view.holes = &bad_holes;
    STATUS(CPOISE_VIEW_EMPTY_CIRCLE, cpoise_view_seen(&view, 0.0, &number, NULL));
    bad_holes.count = 65536;
    STATUS(CPOISE_OUT_OF_RANGE, cpoise_hole_nearest(&bad_holes, 0.0, &index, NULL));
    bad_holes = holes;
    bad_holes.first_number = 65536;
    STATUS(CPOISE_OUT_OF_RANGE, cpoise_hole_nearest(&bad_holes, 0.0, &index, NULL));
    bad_holes = holes;
    bad_holes.sense = 0;
    STATUS(CPOISE_UNKNOWN_CONSTANT, cpoise_hole_nearest(&bad_holes, 0.0, &index, NULL));
    CHECK(untouched(&number, sizeof number) && untouched(&index, sizeof index));
    view.holes = &holes;
    view.viewpoint = CPOISE_VIEW_FRONT;
    fill(words, sizeof words);
    STATUS(CPOISE_OUT_OF_RANGE, cpoise_view_words(&view, 0.0, 1, 18, 0, words, sizeof words, &used, NULL));
    STATUS(CPOISE_OUT_OF_RANGE, cpoise_view_words(&view, 0.0, 1, UINT32_MAX, 0, words, sizeof words, &used, NULL));
    STATUS(CPOISE_COUNT_TOO_LARGE, cpoise_view_words(&view, 0.0, 1, 1, 0, words, SIZE_MAX, &used, NULL));
    CHECK(untouched(words, sizeof words));
    return done();
}
