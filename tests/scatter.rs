//! What scatter may be stated, and how well an estimated one is known.
// The functions beside the tests may index, fail and use the platform's functions as tests may.
#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods)]

use counterpoise::{DegreesOfFreedom, ProportionalDrift, QuantityError, Repeats, Scatter, Vibration};

fn at(re: f64, im: f64) -> Vibration {
    Vibration::from_components(re, im).unwrap()
}

#[test]
fn a_stated_scatter_has_no_direction_without_any() {
    let vibration = at(0.3, 0.4);
    for (amplitude, phase, quantity) in
        [(0.01, 0.0, "phase"), (0.0, 3.0, "amplitude"), (0.0, 0.0, "amplitude")]
    {
        let error = Scatter::known_polar(vibration, amplitude, phase).unwrap_err();
        assert_eq!(error, QuantityError::WithoutScatter { quantity });
        assert_eq!(error.code(), 105);
    }
    let error = Scatter::known_polar(Vibration::ZERO, 0.01, 3.0).unwrap_err();
    assert_eq!(
        error.to_string(),
        "a reading without scatter of its direction rules out all beside one line: give the least that the instrument can \
         show, a step of its display over the root of 12, or one deviation for both components"
    );
    // A hair of either is enough: every distance is finite.
    let [major, minor] = Scatter::known_polar(vibration, 0.01, 1e-6).unwrap().semi_axes(0.95);
    assert!(major > 0.02 && minor > 0.0);
    // So small that its square is none.
    assert!(Scatter::known_polar(vibration, 0.01, 1e-120).is_err());
}

#[test]
fn a_drift_is_known_less_well_than_the_visits_scatter() {
    // By hand: w² = 4/4 with ν_r = 4, s² = 8/2 with ν_s = 2, r = 1/2; (s² − r)²/(s⁴/ν_s + r²/ν_r) = 3.5²/(8 + 1/16).
    let visits = [[at(0.0, 0.0), at(2.0, 0.0)], [at(4.0, 0.0), at(6.0, 0.0)]];
    let visits = visits.map(|readings| Repeats::of(&readings).unwrap());
    let drift = Repeats::drift(&visits).unwrap();
    assert_eq!(drift.variance(), 3.5);
    let DegreesOfFreedom::Circular(degrees) = drift.degrees_of_freedom() else { panic!("{drift:?}") };
    assert!((degrees - 12.25 / 8.0625).abs() < 1e-14, "{degrees}");
    // Single readings leave nothing to take off: the degrees of freedom of the visits.
    let single = [at(0.0, 0.0), at(4.0, 0.0), at(2.0, 1.0)].map(|reading| Repeats::of(&[reading]).unwrap());
    assert_eq!(Repeats::drift(&single).unwrap().degrees_of_freedom(), DegreesOfFreedom::Circular(4.0));
    // In proportion, with 3 and 10 expected, 4 components: b = (4/9 + 25/100)/4, r = (1/9 + 1/100)/4, by hand.
    let drift = ProportionalDrift::of(&visits, &[at(3.0, 0.0), at(10.0, 0.0)], 0).unwrap();
    let (between, of_repeats) = ((4.0 / 9.0 + 0.25) / 4.0, (1.0 / 9.0 + 0.01) / 4.0);
    let squared: f64 = between - of_repeats;
    assert!((drift.share() - squared.sqrt()).abs() < 1e-15);
    let degrees = squared * squared / (between * between / 4.0 + of_repeats * of_repeats / 4.0);
    assert!((drift.degrees_of_freedom().count() - degrees).abs() < 1e-13);
}
