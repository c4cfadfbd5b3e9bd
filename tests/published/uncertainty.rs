//! Means and covariances of repeats, and what is drawn from them (JCGM 100, 101, 102).

use counterpoise::{
    Channel, DegreesOfFreedom, Estimator, PhaseSense, Repeats, Run, Scatter, UnbalanceVector, Uncertainty,
    Vibration,
};
use num_complex::Complex64;

use super::case::{Case, assert_direction, assert_near};
use crate::support::{self, vectors::Fields};

/// Enough that chance moves the figures below by a third of their tolerances or less.
const DRAWS: usize = 1_500_000;

fn numbers(case: &Case, key: &str) -> Vec<f64> {
    case.inputs().list(key).iter().map(|value| value.as_f64().unwrap()).collect()
}

fn repeats_of(pairs: impl Iterator<Item = (f64, f64)>) -> Repeats {
    let vectors: Vec<Vibration> = pairs.map(|(re, im)| Vibration::from_components(re, im).unwrap()).collect();
    Repeats::of(&vectors).unwrap()
}

fn deviations([[a, _], [_, b]]: [[f64; 2]; 2]) -> [f64; 2] {
    [libm::sqrt(a), libm::sqrt(b)]
}

fn correlation([[a, c], [_, b]]: [[f64; 2]; 2]) -> f64 {
    c / libm::sqrt(a * b)
}

/// Impedance from voltage, current and phase that were read together.
pub(crate) fn impedance(case: &Case) {
    let (expected, of_inputs) = (case.expected(), &case.expected()["inputs_from_memory"]);
    let (volts, milliamperes, phases) =
        (numbers(case, "V_volt"), numbers(case, "I_mA"), numbers(case, "phi_rad"));

    // Any two quantities that are read together make a vector.
    let pair = |one: &[f64], two: &[f64]| repeats_of(one.iter().copied().zip(two.iter().copied()));
    let [vi, vp, ip] = [pair(&volts, &milliamperes), pair(&volts, &phases), pair(&milliamperes, &phases)];
    let ([u_v, u_i], [_, u_phi]) =
        (deviations(vi.covariance_of_mean().unwrap()), deviations(vp.covariance_of_mean().unwrap()));
    for (got, key, tolerance) in [
        (vi.mean().complex().re, "V_volt", "mean"),
        (vi.mean().complex().im, "I_mA", "mean"),
        (vp.mean().complex().im, "phi_rad", "mean_phi"),
        (u_v, "u_V", "u_V"),
        (u_i, "u_I", "u_I"),
        (u_phi, "u_phi", "u_phi"),
        (correlation(vi.covariance_of_mean().unwrap()), "r_VI", "r_inputs"),
        (correlation(vp.covariance_of_mean().unwrap()), "r_Vphi", "r_inputs"),
        (correlation(ip.covariance_of_mean().unwrap()), "r_Iphi", "r_inputs"),
    ] {
        assert_near(got, of_inputs.number(key), case.tolerance(tolerance));
    }

    // H = (v1 − v0)/I with v0 = 0. A mounted weight does not vary with the reading; so the readings are brought to the mean
    // current: v1 = V e^{jφ} Ī/I.
    let mean_current = vi.mean().complex().im;
    let at_mean_current = repeats_of(volts.iter().zip(&milliamperes).zip(&phases).map(|((v, i), phi)| {
        let size = v * mean_current / i;
        (size * libm::cos(*phi), size * libm::sin(*phi))
    }));
    let channel = support::channel(1);
    let mut estimator = Estimator::with_known_variances(&[channel], 1).unwrap();
    let nothing = channel.reading_of(Vibration::ZERO).with_standard_deviation(1e-12).unwrap();
    let voltage =
        channel.reading_of(at_mean_current.mean()).with_scatter(at_mean_current.scatter_of_mean().unwrap());
    let current = UnbalanceVector::from_components_gram_millimetres(mean_current, 0.0).unwrap();
    estimator.add(Run::new("no current").reading(nothing)).unwrap();
    estimator.add(Run::new("current").mounted(0, current).reading(voltage)).unwrap();
    let impedance = Uncertainty::of(&estimator.fit().unwrap()).unwrap().influence(0, 0).unwrap();

    // V/mA are kΩ.
    let z = impedance.value().complex() * 1e3;
    let covariance = impedance.covariance().map(|row| row.map(|entry| entry * 1e6));
    let [u_r, u_x] = deviations(covariance);
    let [[rr, rx], [_, xx]] = covariance;
    // With the direction (c, s) of Z, cov(|Z|, R) = c rr + s rx, cov(|Z|, X) = c rx + s xx.
    let size = support::modulus(z);
    let (c, s) = (z.re / size, z.im / size);
    let (zr, zx) = (c * rr + s * rx, c * rx + s * xx);
    let u_z = libm::sqrt(c * zr + s * zx);
    for (got, key, tolerance) in [
        (z.re, "R_ohm", "value"),
        (u_r, "u_R", "u"),
        (z.im, "X_ohm", "value"),
        (u_x, "u_X", "u"),
        (size, "Z_ohm", "value"),
        (u_z, "u_Z", "u"),
        (correlation(covariance), "r_RX", "r"),
        (zr / (u_r * u_z), "r_RZ", "r"),
        (zx / (u_x * u_z), "r_XZ", "r"),
    ] {
        assert_near(got, expected.number(key), case.tolerance(tolerance));
    }
    // Five sets of readings stand behind it.
    assert_eq!(impedance.degrees_of_freedom(), DegreesOfFreedom::Full(4.0));
}

/// Channels as found with these readings, all with one deviation per component, and a plane that plays no part.
fn as_found(readings: &[Complex64], deviation: f64) -> Uncertainty {
    let channels: Vec<Channel> = support::channels(readings.len());
    let mut estimator = Estimator::with_known_variances(&channels, 1).unwrap();
    for mounted in [0.0, 1.0] {
        let unbalance = UnbalanceVector::from_components_gram_millimetres(mounted, 0.0).unwrap();
        let run = channels.iter().zip(readings).fold(Run::new("run"), |run, (channel, z)| {
            let reading = channel.reading_of(support::vibration(*z + mounted));
            run.reading(reading.with_standard_deviation(deviation).unwrap())
        });
        estimator.add(run.mounted(0, unbalance)).unwrap();
    }
    Uncertainty::of(&estimator.fit().unwrap()).unwrap()
}

fn mean_and_deviation(drawn: &[f64]) -> [f64; 2] {
    #[allow(clippy::cast_precision_loss)] // a count of draws
    let count = drawn.len() as f64;
    let mean = drawn.iter().sum::<f64>() / count;
    let squares: f64 = drawn.iter().map(|x| (x - mean) * (x - mean)).sum();
    [mean, libm::sqrt(squares / (count - 1.0))]
}

/// A vector that is small against its scatter.
pub(crate) fn small_vector(case: &Case) {
    let (inputs, expected) = (case.inputs(), case.expected());
    let z = Complex64::new(inputs.number("re"), inputs.number("im"));
    let deviation = inputs.number("u_re");
    assert_eq!((deviation, 0.0), (inputs.number("u_im"), inputs.number("r")));

    // To first order, from amplitude and phase back to components.
    let linear = &expected["gum"];
    let degrees = linear.number("u_phase_rad") * (180.0 / core::f64::consts::PI);
    let vector = support::vibration(support::polar(linear.number("mag"), linear.number("phase_rad")));
    let scatter = Scatter::known_polar(vector, linear.number("u_mag"), degrees).unwrap();
    let [u_re, u_im] = deviations(scatter.covariance());
    assert_near(u_re, deviation, 1e-15);
    assert_near(u_im, deviation, 1e-15);
    assert_near(scatter.covariance()[0][1], 0.0, 1e-20);

    // By draws.
    let uncertainty = as_found(&[z], deviation);
    let sizes = uncertainty.simulated(102, DRAWS, |found, _| found[0].amplitude()).unwrap();
    let lead = |found: Vibration| found.phase(PhaseSense::Lead).degrees();
    let radians = |degrees: f64| {
        (if degrees > 180.0 { degrees - 360.0 } else { degrees }) * (core::f64::consts::PI / 180.0)
    };
    let phases = uncertainty.simulated(102, DRAWS, |found, _| radians(lead(found[0]))).unwrap();
    let drawn = &expected["monte_carlo"];
    let ([mag, u_mag], [phase, u_phase]) =
        (mean_and_deviation(sizes.sorted()), mean_and_deviation(phases.sorted()));
    assert_near(mag, drawn.number("mag"), case.tolerance("mag"));
    assert_near(u_mag, drawn.number("u_mag"), case.tolerance("u_mag"));
    assert_near(phase, drawn.number("phase_rad"), case.tolerance("phase"));
    assert_near(u_phase, drawn.number("u_phase_rad"), case.tolerance("u_phase"));

    // What the library says of the size without draws agrees with them, bias and all.
    let estimate = uncertainty.as_found(0).unwrap();
    for share in [0.05, 0.5, 0.95] {
        assert_near(estimate.magnitude(share), sizes.quantile(share), 1e-4);
    }
}

/// The sum of four quantities, normal and rectangular.
pub(crate) fn sum_of_four(case: &Case) {
    let (expected, tolerance) = (case.expected(), case.tolerance("abs"));
    let want = expected.number("table2_half_width");
    // Variances add; in one dimension the factor is 1.96.
    let one = Scatter::known(1.0).unwrap();
    let sum = one.plus(&one).plus(&one).plus(&one);
    let squared_factor = sum.degrees_of_freedom().squared_factor(1, 0.95);
    assert_near(libm::sqrt(sum.variance() * squared_factor), want, tolerance);

    let uncertainty = as_found(&[Complex64::default(); 2], 1.0);
    let half_width = |of: fn(f64) -> f64| {
        let drawn = uncertainty.simulated(101, DRAWS, |found, _| {
            found.iter().map(|vibration| of(vibration.complex().re) + of(vibration.complex().im)).sum()
        });
        let drawn = drawn.unwrap();
        0.5 * (drawn.quantile(0.975) - drawn.quantile(0.025))
    };
    assert_near(half_width(|z| z), want, tolerance);
    // Φ(z) is rectangular on 0 to 1: X = √3 (2 Φ(z) − 1) = √3 erf(z/√2) has unit deviation.
    let rectangular = half_width(|z| libm::sqrt(3.0) * libm::erf(z * core::f64::consts::FRAC_1_SQRT_2));
    assert_near(rectangular, expected.number("table3_half_width"), tolerance);
}

/// Phases on both sides of 0: vectors are averaged.
pub(crate) fn vector_average(case: &Case) {
    let expected = case.expected();
    let channel = support::channel(1);
    let read: Vec<Vibration> = case
        .inputs()
        .list("readings")
        .iter()
        .map(|one| channel.reading(one.number("in_s"), one.number("deg")).unwrap().vibration())
        .collect();
    let repeats = Repeats::of(&read).unwrap();
    let (mean, want) = (repeats.mean(), &expected["vector_mean"]);
    assert_near(mean.amplitude(), want.number("mag"), case.tolerance("rel") * want.number("mag"));
    let phase = mean.phase(channel.phase_sense()).degrees();
    assert_direction(phase, want.number("deg"), case.tolerance("deg"));
    assert!(support::turn_between(phase, expected.number("wrong_arithmetic_phase_mean_deg")) > 179.0);
    let [u_re, u_im] = deviations(repeats.scatter_of_mean().unwrap().covariance());
    assert_near(u_re, expected.number("u_re"), case.tolerance("u"));
    assert_near(u_im, expected.number("u_im"), case.tolerance("u"));
}
