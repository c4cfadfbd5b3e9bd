/* One plane, one trial run: what to add, and where, in the caller's own sense of angles. */
#include <counterpoise.h>
#include <stdio.h>

static cpoise_detail detail;

/* Ends the program with the reason where a call was refused. */
static int refused(cpoise_status status)
{
    if (status != CPOISE_OK) {
        fprintf(stderr, "%s (%d)\n", detail.text, (int)status);
    }
    return status != CPOISE_OK;
}

int main(void)
{
    const cpoise_convention convention = {CPOISE_PHASE_LAG, CPOISE_AGAINST_ROTATION};
    cpoise_vibration as_found, with_trial;
    cpoise_weight trial, add;
    cpoise_unbalance_vector unbalance, correction;
    cpoise_influence influence;
    double place_deg;

    if (refused(cpoise_vibration_from_polar(&convention, 0.45, 48.0, &as_found, &detail)) ||
        refused(cpoise_vibration_from_polar(&convention, 0.61, 75.0, &with_trial, &detail)) ||
        refused(cpoise_weight_make(&convention, 12.0, 165.0, 90.0, &trial, &detail)) ||
        refused(cpoise_weight_unbalance(&trial, &unbalance, &detail)) ||
        refused(cpoise_one_plane_from_trial(&as_found, &with_trial, &unbalance, &influence, &detail)) ||
        refused(cpoise_one_plane_correction(&influence, &as_found, &correction, &detail)) ||
        refused(cpoise_unbalance_weight(&correction, 165.0, &add, &detail)) ||
        refused(cpoise_place_to_caller(&convention, add.angle_with_rotation_deg, &place_deg, &detail))) {
        return 1;
    }
    printf("take the trial off; add %.1f g at 165 mm, %.0f deg against rotation\n", add.mass_g, place_deg);
    return 0;
}
