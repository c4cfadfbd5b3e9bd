//! Any bits at all into scatter, uncertainty, cautions, trial design and the examination: an answer or a typed error, and
//! never a panic.

use counterpoise::checks::{self, Examination, Plane};
use counterpoise::{
    Channel, DegreesOfFreedom, Detector, Estimator, Influence, InfluenceBelief, Mass, PhaseSense, Radius,
    Repeats, RotorAngle, Run, Scatter, Speed, SpeedWindow, TrialChannel, TrialDesign, UnbalanceVector,
    Uncertainty, Vibration, VibrationScale, VibrationUnit, Weight, thirty_thirty,
};
use proptest::prelude::*;

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<u64>().prop_map(f64::from_bits),
        prop::sample::select(vec![
            0.0,
            -0.0,
            1.0,
            -1.0,
            1e-300,
            1e300,
            5e-324,
            f64::MAX,
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
            0.5,
            2.0,
        ]),
        -10.0..10.0_f64,
    ]
}

fn channel() -> Channel {
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    Channel::new(1, unit, PhaseSense::Lead, window)
}

/// Asks everything of an uncertainty.
fn ask(uncertainty: &Uncertainty, number: f64, unbalance: UnbalanceVector) {
    if let Ok(found) = uncertainty.as_found(0) {
        let _ = (found.radius(number), found.magnitude(number), found.chance_within(number));
        let _ = (
            found.judged(number, 0.95),
            found.region_semi_axes(number),
            found.region_holds(found.value(), number),
        );
    }
    let _ = uncertainty
        .trial_response(0, 0)
        .map(|response| (response.detectability(), response.chance_without_response()));
    let _ = (uncertainty.correction(&[]), uncertainty.correction(&[number]));
    let _ = (uncertainty.least_expected_squares(&[]), uncertainty.vibration_with(&[unbalance]));
    let _ = uncertainty.simulated(1, 3, |as_found, _| as_found.first().map_or(number, |v| v.amplitude()));
    for confidence in [number, 0.95] {
        if let Ok(region) = uncertainty.correction_region(confidence) {
            let _ = (region.is_bounded(), region.boundary(4), region.holds(&[unbalance]));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_bits_of_scatter(n in prop::collection::vec(any_number(), 16)) {
        let at = |i: usize| n[i % n.len()];
        let vibration = |i: usize| Vibration::from_components(at(i), at(i + 1));
        let _ = Scatter::known(at(0));
        let _ = Scatter::known_polar(vibration(1).unwrap_or_default(), at(2), at(3));
        let degrees = [DegreesOfFreedom::Known, DegreesOfFreedom::Circular(at(4)), DegreesOfFreedom::Full(at(5))];
        for degrees in degrees {
            let _ = degrees.squared_factor(2, at(6));
        }
        let scatter = Scatter::from_covariance([[at(7), at(8)], [at(8), at(9)]], degrees[(at(0).to_bits() % 3) as usize]);
        let readings: Vec<Vibration> = (0..4).filter_map(|i| vibration(3 * i).ok()).collect();
        let repeats = Repeats::of(&readings);
        if let Ok(repeats) = repeats {
            let _ = (repeats.scatter_of_mean(), repeats.covariance_of_mean());
            let _ = (Repeats::pooled(&[repeats, repeats]), Repeats::drift(&[repeats, repeats]));
        }
        let scatter = scatter.unwrap_or(Scatter::known(0.1).unwrap());
        let (first, second) = (vibration(10).unwrap_or_default(), vibration(12).unwrap_or_default());
        let _ = (scatter.semi_axes(at(6)), scatter.plus(&scatter).of_mean(3), scatter.variance());
        let unbalance = UnbalanceVector::from_components_gram_millimetres(at(14), at(15)).unwrap_or_default();
        let mut estimator = Estimator::with_known_variances(&[channel()], 1).unwrap();
        let read = |v: Vibration| channel().reading_of(v).with_scatter(scatter);
        let _ = estimator.add(Run::new("as found").reading(read(first)));
        let _ = estimator.add(Run::new("trial").mounted(0, unbalance).reading(read(second)));
        let _ = estimator.add(Run::new("again").mounted(0, unbalance * 2.0).reading(read(first)));
        let Ok(fit) = estimator.fit() else { return Ok(()) };
        let _ = checks::cautions(&estimator, &fit);
        let _ = checks::without_gain(estimator.runs(), &[0, 1, 2, 9]);
        let Ok(uncertainty) = Uncertainty::of(&fit) else { return Ok(()) };
        ask(&uncertainty, at(6), unbalance);
        let weight = Weight::new(Mass::from_grams(3.0).unwrap(), Radius::from_millimetres(50.0).unwrap(), RotorAngle::MARK);
        if let Ok(mass) = Mass::from_grams(at(11)) {
            if let Ok(scattered) = uncertainty.with_weight_scatter(0, &[1], weight, mass, at(13)) {
                ask(&scattered, at(6), unbalance);
            }
        }
    }

    #[test]
    fn any_bits_of_a_trial_design(n in prop::collection::vec(any_number(), 8)) {
        let v = Vibration::from_components(n[0], n[1]).unwrap_or_default();
        let h = Influence::from_components_per_gram_millimetre(n[2], n[3]).unwrap_or_default();
        for belief in [InfluenceBelief::between_per_gram_millimetre(n[2], n[3]), InfluenceBelief::about(h, n[4])].into_iter().flatten() {
            if let Ok(channel) = TrialChannel::new(v, n[5], n[6], belief) {
                if let Ok(design) = TrialDesign::new(&[channel, channel]).and_then(|design| design.confidence(n[7])) {
                    let _ = design.answer();
                }
                let _ = TrialDesign::new(&[channel]).map(|design| design.answer());
            }
        }
        let _ = thirty_thirty(v, Vibration::from_components(n[6], n[7]).unwrap_or_default());
    }

    #[test]
    fn any_bits_of_an_examination(n in prop::collection::vec(any_number(), 12)) {
        let mut job = Examination::new(&[channel()], &[Plane::new()]).unwrap();
        let (Ok(mass), Ok(radius), Ok(place)) =
            (Mass::from_grams(n[0]), Radius::from_millimetres(n[1]), counterpoise::RotorSense::WithRotation.degrees(n[2]))
        else {
            return Ok(());
        };
        let item = job.add_item(0, Weight::new(mass, radius, place));
        for pair in n[3..].chunks(3) {
            if let [re, im, sigma] = *pair {
                let Ok(v) = Vibration::from_components(re, im) else { continue };
                let Ok(reading) = channel().reading_of(v).with_standard_deviation(sigma.abs()) else { continue };
                let on: Vec<_> = item.iter().copied().filter(|_| re > 0.0).collect();
                let _ = job.add_run(&on, &[reading]);
            }
        }
        if let Ok(findings) = job.examine() {
            let _ = (findings.verdict(), findings.next_run().map(|run| run.to_string()));
        }
    }
}
