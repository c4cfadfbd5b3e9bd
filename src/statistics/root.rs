//! Where a rising function reaches a value.

/// The least `x` in `[low, ∞)` at which a function that rises from below zero reaches zero, to the last digits.
///
/// The bracket is doubled until it holds the root, then halved; regula falsi (the Illinois kind) speeds it up.
pub(super) fn reached(low: f64, first: f64, function: impl Fn(f64) -> f64) -> f64 {
    let (mut left, mut right) = (low, first.max(f64::MIN_POSITIVE));
    let mut at_left = function(left);
    if at_left >= 0.0 || at_left.is_nan() {
        return left;
    }
    let mut at_right = function(right);
    while at_right < 0.0 {
        (left, at_left) = (right, at_right);
        right *= 2.0;
        if !right.is_finite() {
            return f64::INFINITY;
        }
        at_right = function(right);
    }
    let mut last = 0;
    for step in 0..400 {
        let width = right - left;
        if width <= 2.0 * f64::EPSILON * right || at_right == 0.0 {
            break;
        }
        // Every third step halves, so that the bracket is sure to shrink.
        let middle = if step % 3 == 2 || !(at_right - at_left).is_normal() {
            left + 0.5 * width
        } else {
            let falsi = right - at_right * width / (at_right - at_left);
            if falsi > left && falsi < right { falsi } else { left + 0.5 * width }
        };
        let at = function(middle);
        if at < 0.0 {
            (left, at_left) = (middle, at);
            if last == -1 {
                at_right *= 0.5;
            }
            last = -1;
        } else {
            (right, at_right) = (middle, at);
            if last == 1 {
                at_left *= 0.5;
            }
            last = 1;
        }
        if middle == right && at == 0.0 {
            break;
        }
    }
    right
}
