// C++17 on the same header: handles in unique_ptr, refusals as exceptions. Two planes, three runs, a correction.
#include <counterpoise.h>

#include <cstdio>
#include <memory>
#include <stdexcept>

// A deleter per handle: the one place where its free call stands.
template <auto Free>
struct Freed {
    template <typename T>
    void operator()(T *handle) const
    {
        Free(handle);
    }
};
using Estimator = std::unique_ptr<cpoise_estimator, Freed<cpoise_estimator_free>>;
using Fit = std::unique_ptr<cpoise_fit, Freed<cpoise_fit_free>>;
using Matrix = std::unique_ptr<cpoise_influence_matrix, Freed<cpoise_influence_matrix_free>>;
using Correction = std::unique_ptr<cpoise_correction, Freed<cpoise_correction_free>>;

// Calls, with a detail at the end, and throws what was refused.
template <typename Call, typename... Arguments>
void done(Call call, Arguments... arguments)
{
    cpoise_detail detail;
    if (call(arguments..., &detail) != CPOISE_OK) {
        throw std::runtime_error(detail.text);
    }
}

// The handle that a _new call makes, owned.
template <typename Handle, typename Call, typename... Arguments>
Handle made(Call call, Arguments... arguments)
{
    typename Handle::pointer handle = nullptr;
    done(call, arguments..., &handle);
    return Handle(handle);
}

int main()
try {
    const cpoise_convention convention = {CPOISE_PHASE_LAG, CPOISE_AGAINST_ROTATION};
    const cpoise_vibration_unit unit = {CPOISE_SCALE_MILLIMETRE_PER_SECOND, CPOISE_RMS};
    cpoise_channel channels[2];
    for (unsigned sensor = 0; sensor < 2; sensor++) {
        done(cpoise_channel_make, sensor + 1, &unit, CPOISE_PHASE_LAG, 1500.0, 1.0, &channels[sensor]);
    }
    // Amplitude and phase at both sensors; the plane of the trial weight of 20 g at 45 deg, or none.
    const struct { double read[4]; int plane; } runs[] = {
        {{7.2, 238.0, 13.5, 296.0}, -1}, {{4.9, 114.0, 9.2, 347.0}, 0}, {{4.0, 79.0, 12.0, 292.0}, 1}};

    auto estimator = made<Estimator>(cpoise_estimator_new, channels, 2u, 2u, CPOISE_PRECISION_RELATIVE);
    for (const auto &run : runs) {
        cpoise_reading readings[2];
        cpoise_weight trial;
        cpoise_mounted mounted = {};
        for (int at = 0; at < 2; at++) {
            done(cpoise_reading_make, &channels[at], run.read[2 * at], run.read[2 * at + 1], 1500.0, &readings[at]);
        }
        if (run.plane >= 0) {
            mounted.plane = static_cast<size_t>(run.plane);
            done(cpoise_weight_make, &convention, 20.0, 150.0, 45.0, &trial);
            done(cpoise_weight_unbalance, &trial, &mounted.unbalance);
        }
        done(cpoise_estimator_add_run, estimator.get(), nullptr, &mounted, run.plane < 0 ? size_t{0} : size_t{1},
             readings, size_t{2}, nullptr);
    }
    const auto fit = made<Fit>(cpoise_estimator_fit_new, estimator.get());
    const auto matrix = made<Matrix>(cpoise_fit_influence_new, fit.get());
    cpoise_vibration as_found[2];
    size_t used = 0;
    done(cpoise_fit_as_found, fit.get(), as_found, size_t{2}, &used);
    const auto correction = made<Correction>(cpoise_correction_new, matrix.get(), as_found, size_t{2}, nullptr);
    cpoise_unbalance_vector add[2];
    done(cpoise_correction_added, correction.get(), add, size_t{2}, &used);
    for (size_t plane = 0; plane < used; plane++) {
        cpoise_weight weight;
        double place_deg;
        done(cpoise_unbalance_weight, &add[plane], 150.0, &weight);
        done(cpoise_place_to_caller, &convention, weight.angle_with_rotation_deg, &place_deg);
        std::printf("plane %zu: add %.1f g at 150 mm, %.0f deg against rotation\n", plane, weight.mass_g, place_deg);
    }
} catch (const std::exception &refusal) {
    std::fprintf(stderr, "%s\n", refusal.what());
    return 1;
}
