//! Whether a region of corrections has an end, against plain ways to the least statistic far out: eigenvalues, and a grid.
#![cfg(feature = "alloc")]
// The functions beside the tests may index, fail and use the platform's functions as tests may.
#![allow(
    clippy::indexing_slicing,
    clippy::unwrap_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss
)]

use counterpoise::{
    Channel, CorrectionRegion, DegreesOfFreedom, Detector, Estimator, Mass, PhaseSense, Radius, RegionEnd,
    RotorAngle, Run, Scatter, Speed, SpeedWindow, UnbalanceVector, Uncertainty, UncertaintyError, Vibration,
    VibrationScale, VibrationUnit, Weight,
};
use nalgebra::DMatrix;
use num_complex::Complex64;

/// Numbers between -1 and 1 (Knuth's MMIX generator, from memory).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / f64::from(1 << 30) - 1.0
    }

    fn complex(&mut self) -> Complex64 {
        Complex64::new(self.next(), self.next())
    }
}

fn unbalance(z: Complex64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(z.re, z.im).unwrap()
}

/// As many channels as planes, a run as found and one with 1 g mm in each plane: what each channel read in each run, and how it
/// scatters.
fn uncertainty(
    read: &[Vec<Complex64>],
    scatter: impl Fn(usize, usize) -> Option<Scatter>,
) -> Result<Uncertainty, UncertaintyError> {
    let planes = read[0].len();
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    let channels: Vec<Channel> =
        (0..planes).map(|k| Channel::new(k as u16 + 1, unit, PhaseSense::Lead, window)).collect();
    let mut estimator = Estimator::with_known_variances(&channels, planes).unwrap();
    for (number, row) in read.iter().enumerate() {
        let mut run = Run::new("run");
        if number > 0 {
            let amount = if number <= planes { 1.0 } else { -1.0 };
            run = run.mounted((number - 1) % planes, unbalance(Complex64::new(amount, 0.0)));
        }
        for (k, (channel, z)) in channels.iter().zip(row).enumerate() {
            let vibration = Vibration::from_components(z.re, z.im).unwrap();
            if let Some(scatter) = scatter(number, k) {
                run = run.reading(channel.reading_of(vibration).with_scatter(scatter));
            }
        }
        estimator.add(run).unwrap();
    }
    Uncertainty::of(&estimator.fit().unwrap())
}

fn readings(planes: usize, more: usize, numbers: &mut Numbers) -> Vec<Vec<Complex64>> {
    let v0: Vec<Complex64> = (0..planes).map(|_| numbers.complex()).collect();
    let h: Vec<Vec<Complex64>> =
        (0..planes).map(|_| (0..planes).map(|_| numbers.complex()).collect()).collect();
    let run = |number: usize| -> Vec<Complex64> {
        let amount = if number <= planes { 1.0 } else { -1.0 };
        let effect =
            |k: usize| if number == 0 { Complex64::ZERO } else { h[k][(number - 1) % planes] * amount };
        (0..planes).map(|k| v0[k] + effect(k)).collect()
    };
    (0..=planes + more).map(run).collect()
}

/// Far out along a direction the statistic tends to its value without the vibration as found.
fn far_out(region: &CorrectionRegion, direction: &[UnbalanceVector]) -> f64 {
    let far: Vec<UnbalanceVector> = direction.iter().map(|&u| u * 1e7).collect();
    region.statistic_over_limit(&far).unwrap()
}

#[test]
fn with_one_circular_scatter_the_least_eigenvalue_decides_in_any_number_of_planes() {
    for planes in [1, 2, 3, 4, 8, 16] {
        for seed in 1..=4 {
            let read = readings(planes, 0, &mut Numbers(seed));
            // H_p = v_p − v_0, so that the covariance of two coefficients is σ² (1 + δ): S = |H w|²/(wᴴ (I + 1 1ᵀ) w σ²)
            let h = DMatrix::from_fn(planes, planes, |k, p| read[p + 1][k] - read[0][k]);
            let g =
                DMatrix::from_fn(planes, planes, |i, j| Complex64::new(if i == j { 2.0 } else { 1.0 }, 0.0));
            let l_inverse = g.cholesky().unwrap().l().try_inverse().unwrap();
            let values = (h * l_inverse.adjoint()).singular_values();
            let least = values.min() * values.min();
            let limit = DegreesOfFreedom::Known.squared_factor(2 * planes, 0.95);
            for over in [0.99, 1.01] {
                let sigma = Scatter::known((least / (over * limit)).sqrt()).unwrap();
                let region = uncertainty(&read, |_, _| Some(sigma)).unwrap().correction_region(0.95).unwrap();
                match region.end() {
                    RegionEnd::Bounded => assert!(over > 1.0, "{planes} planes"),
                    RegionEnd::WithoutEnd { direction } => {
                        assert!(over < 1.0, "{planes} planes");
                        assert!((far_out(&region, &direction) - over).abs() < 1e-4);
                        let size: f64 =
                            direction.iter().map(|u| u.amount().gram_millimetres().powi(2)).sum::<f64>();
                        assert!((size - 1.0).abs() < 1e-12);
                    }
                    other => panic!("{planes} planes at {over}: {other:?}"),
                }
                assert_eq!(region.is_bounded(), over > 1.0);
            }
        }
    }
}

/// The least statistic over all directions of two planes, by a grid that is refined about its least place.
fn least_of_two(region: &CorrectionRegion) -> f64 {
    let mut least = f64::INFINITY;
    for chart in 0..2 {
        let at = |z: Complex64| {
            let one = unbalance(Complex64::ONE);
            let direction = if chart == 0 { [one, unbalance(z)] } else { [unbalance(z), one] };
            far_out(region, &direction)
        };
        let (mut centre, mut half) = (Complex64::ZERO, 1.0);
        for _ in 0..12 {
            let mut best = (f64::INFINITY, centre);
            for i in -20..=20 {
                for j in -20..=20 {
                    let z = centre + Complex64::new(f64::from(i), f64::from(j)) * (half / 20.0);
                    let value = at(z);
                    if value < best.0 {
                        best = (value, z);
                    }
                }
            }
            least = least.min(best.0);
            (centre, half) = (best.1, half * 0.3);
        }
    }
    least
}

#[test]
fn two_planes_with_any_scatter_are_settled_as_a_grid_has_it() {
    let mut settled = 0;
    for seed in 1..=25 {
        let mut numbers = Numbers(1000 + seed);
        let read = readings(2, 2, &mut numbers);
        // Every reading scatters in its own ellipse; channel 1 was not read in the last run.
        let shapes: Vec<[[f64; 2]; 2]> = (0..10)
            .map(|_| {
                let (a, b, r) =
                    (1.0 + 0.8 * numbers.next(), 1.0 + 0.8 * numbers.next(), 0.8 * numbers.next());
                [[a * a, r * a * b], [r * a * b, b * b]]
            })
            .collect();
        for degrees in [DegreesOfFreedom::Known, DegreesOfFreedom::Circular(12.0)] {
            for coupled in [false, true] {
                let region = |variance: f64| {
                    let scatter = |run: usize, k: usize| {
                        let shape = shapes[2 * run + k].map(|row| row.map(|entry| entry * variance));
                        (k == 0 || run < 4).then(|| Scatter::from_covariance(shape, degrees).unwrap())
                    };
                    let mut uncertainty = uncertainty(&read, scatter).unwrap();
                    if coupled {
                        let weight = Weight::new(
                            Mass::from_grams(1.0).unwrap(),
                            Radius::from_millimetres(1.0).unwrap(),
                            RotorAngle::MARK,
                        );
                        let deviation = Mass::from_grams(0.5 * variance.sqrt()).unwrap();
                        uncertainty = uncertainty
                            .with_weight_scatter(0, &[1], weight, deviation, 30.0 * variance.sqrt())
                            .unwrap();
                    }
                    uncertainty.correction_region(0.95).unwrap()
                };
                // The statistic falls as the variance grows.
                let variance = 1e-4 * least_of_two(&region(1e-4));
                for over in [0.9, 0.97, 1.03, 1.1, 3.0] {
                    let region = region(variance / over);
                    match region.end() {
                        RegionEnd::Bounded => assert!(over > 1.0, "{seed} {degrees:?} {coupled} {over}"),
                        RegionEnd::WithoutEnd { direction } => {
                            assert!(over < 1.0, "{seed} {degrees:?} {coupled} {over}");
                            assert!(far_out(&region, &direction) <= 1.0 + 1e-5);
                        }
                        RegionEnd::NotSettled { at_least, at_most, .. } => {
                            panic!("{seed} {degrees:?} {coupled} {over}: {at_least} {at_most}")
                        }
                        other => panic!("{other:?}"),
                    }
                    settled += 1;
                }
            }
        }
    }
    assert_eq!(settled, 25 * 4 * 5);
}

#[test]
fn what_is_not_settled_says_between_which_bounds() {
    // Three planes and three channels read in different runs: neither the bound nor the search need meet the other.
    let (mut bounded, mut endless, mut open) = (0, 0, 0);
    for seed in 1..=6 {
        let read = readings(3, 3, &mut Numbers(seed));
        for deviation in [0.01, 0.05, 0.1, 0.2, 0.4, 2.0] {
            let scatter = |run: usize, k: usize| {
                (run < 4 || (run + k) % 3 == 0).then(|| Scatter::known(deviation * (1.0 + k as f64)).unwrap())
            };
            let region = uncertainty(&read, scatter).unwrap().correction_region(0.95).unwrap();
            match region.end() {
                RegionEnd::Bounded => {
                    bounded += 1;
                    let mut numbers = Numbers(seed + 77);
                    for _ in 0..2000 {
                        let direction: Vec<_> = (0..3).map(|_| unbalance(numbers.complex())).collect();
                        assert!(far_out(&region, &direction) > 1.0);
                    }
                }
                RegionEnd::WithoutEnd { direction } => {
                    endless += 1;
                    assert!(far_out(&region, &direction) <= 1.0 + 1e-5);
                }
                RegionEnd::NotSettled { at_least, at_most, direction } => {
                    open += 1;
                    assert!(at_least <= 1.0 && at_most > 1.0);
                    assert!((far_out(&region, &direction) / at_most - 1.0).abs() < 1e-4);
                    assert!(!region.is_bounded() && region.without_end().is_none());
                }
                other => panic!("{other:?}"),
            }
        }
    }
    assert!(bounded > 0 && endless > 0, "{bounded} {endless} {open}");
}

#[test]
fn nothing_is_drawn_or_traced_beyond_what_memory_holds() {
    let read = readings(1, 0, &mut Numbers(3));
    let uncertainty = uncertainty(&read, |_, _| Some(Scatter::known(1e-3).unwrap())).unwrap();
    let region = uncertainty.correction_region(0.95).unwrap();
    let error = region.boundary(u32::MAX).unwrap_err();
    assert_eq!(
        error.to_string(),
        "4294967295 points of a boundary are more than the 36000 that are computed at once: ask for fewer"
    );
    assert_eq!(error.code(), 1209);
    assert_eq!(region.boundary(3).unwrap().unwrap().len(), 3);
    let error = uncertainty.simulated(1, usize::MAX, |_, _| 0.0).unwrap_err();
    assert_eq!(
        error,
        UncertaintyError::TooMany { what: "samples", most: Uncertainty::MOST_SAMPLES, got: usize::MAX }
    );
    // The region outlives what it came from, and draws are the same one by one.
    let amplitude = |draw: counterpoise::Draw| draw.as_found[0].amplitude();
    let mut drawn: Vec<f64> = uncertainty.draws(5).unwrap().take(50).map(amplitude).collect();
    drawn.sort_unstable_by(f64::total_cmp);
    let simulated = uncertainty.simulated(5, 50, |as_found, _| as_found[0].amplitude()).unwrap();
    assert_eq!(simulated.sorted(), drawn);
    drop(uncertainty);
    assert_eq!(region.confidence(), 0.95);
}
