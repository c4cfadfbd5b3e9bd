//! What scatter may be stated, and how well an estimated one is known.
// The functions beside the tests may index, fail and use the platform's functions as tests may.
#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods)]

use counterpoise::{QuantityError, Scatter, Vibration};

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
