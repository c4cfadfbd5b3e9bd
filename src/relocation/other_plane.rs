//! The same vibration from another plane, through influence coefficients.

use num_complex::Complex64;

use crate::error::{QuantityError, RelocationError};
use crate::vector::{Influence, UnbalanceVector, Vibration};

use super::geometry::{accepted, dot, vector};

/// A new plane whose largest coefficient is below this part of the old plane's has no effect: what is left is rounding.
const NO_EFFECT: f64 = 1e-12;

/// An unbalance moved to another plane, and what the move does at each channel.
///
/// ```
/// use counterpoise::{Influence, UnbalanceVector, relocation::to_other_plane};
/// let from = [Influence::from_components_per_gram_millimetre(2e-4, 0.0)?];
/// let to = [Influence::from_components_per_gram_millimetre(0.0, 1e-4)?];
/// let moved = to_other_plane(UnbalanceVector::from_components_gram_millimetres(500.0, 0.0)?, &from, &to, &[])?;
/// // Twice as much, a quarter turn back.
/// assert!((moved.vector().y_gram_millimetres() + 1000.0).abs() < 1e-12);
/// assert!(moved.largest_change() < 1e-16);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OtherPlane<'a> {
    from: &'a [Influence],
    to: &'a [Influence],
    original: UnbalanceVector,
    vector: UnbalanceVector,
}

impl<'a> OtherPlane<'a> {
    /// The unbalance in the new plane.
    ///
    /// ```
    /// # use counterpoise::{Influence, UnbalanceVector, relocation::to_other_plane};
    /// let influence = [Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?];
    /// let moved = to_other_plane(UnbalanceVector::from_components_gram_millimetres(500.0, 0.0)?, &influence, &influence, &[])?;
    /// assert!((moved.vector().x_gram_millimetres() - 500.0).abs() < 1e-12);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn vector(&self) -> UnbalanceVector {
        self.vector
    }

    /// What the move changes at each channel: `H₂ U₂ − H₁ U₁`, in the order of the coefficients.
    ///
    /// ```
    /// # use counterpoise::{Influence, UnbalanceVector, relocation::to_other_plane};
    /// let from = [2e-4, 1e-4].map(|re| Influence::from_components_per_gram_millimetre(re, 0.0));
    /// let from = [from[0]?, from[1]?];
    /// let to = [Influence::from_components_per_gram_millimetre(1e-4, 0.0)?; 2];
    /// let moved = to_other_plane(UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?, &from, &to, &[])?;
    /// let changes: Vec<f64> = moved.changes().map(|change| change.complex().re).collect();
    /// assert!((changes[0] + 0.05).abs() < 1e-15 && (changes[1] - 0.05).abs() < 1e-15);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn changes(&self) -> impl ExactSizeIterator<Item = Vibration> + Clone + use<'a> {
        let (original, moved) = (self.original, self.vector);
        // Δv = H₂ U₂ − H₁ U₁
        self.from.iter().zip(self.to).map(move |(&from, &to)| to * moved - from * original)
    }

    /// The size of the largest change at any channel, each in its own unit.
    ///
    /// ```
    /// # use counterpoise::{Influence, UnbalanceVector, relocation::to_other_plane};
    /// let influence = [Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?];
    /// let moved = to_other_plane(UnbalanceVector::from_components_gram_millimetres(500.0, 0.0)?, &influence, &influence, &[])?;
    /// assert!(moved.largest_change() < 1e-16);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn largest_change(&self) -> f64 {
        self.changes().map(Vibration::amplitude).fold(0.0, f64::max)
    }
}

/// The unbalance in another plane that does the same at the measuring points, as nearly as it can.
///
/// `U₂ = argmin Σₖ gₖ |Hₖ₂ U₂ − Hₖ₁ U₁|² = Σ gₖ H̄ₖ₂ Hₖ₁ U₁ / Σ gₖ |Hₖ₂|²`; with one channel `U₂ = U₁ H₁/H₂`, and nothing
/// changes. `from` and `to` are the coefficients of the old and of the new plane, channel by channel; the weights `gₖ`
/// multiply squared vibrations and are all 1 where the list is empty.
///
/// # Errors
/// * [`RelocationError::ChannelCountsDiffer`] where the lists are not of one length.
/// * [`RelocationError::NoEffect`] where no weighted channel sees the new plane, or its coefficients are below 1e-12 of
///   the old plane's.
/// * [`RelocationError::Quantity`] where a weight is negative, or a number not finite or beyond range.
///
/// ```
/// use counterpoise::{Influence, UnbalanceVector, relocation::to_other_plane};
/// let from = [Influence::from_components_per_gram_millimetre(2e-4, 0.0)?; 2];
/// let silent = [Influence::ZERO; 2];
/// let unbalance = UnbalanceVector::from_components_gram_millimetres(500.0, 0.0)?;
/// assert_eq!(to_other_plane(unbalance, &from, &silent, &[]).unwrap_err().code(), 506);
/// assert_eq!(to_other_plane(unbalance, &from, &silent[..1], &[]).unwrap_err().code(), 507);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn to_other_plane<'a>(
    unbalance: UnbalanceVector,
    from: &'a [Influence],
    to: &'a [Influence],
    weights: &[f64],
) -> Result<OtherPlane<'a>, RelocationError> {
    let count = if weights.is_empty() { from.len() } else { weights.len() };
    if from.len() != to.len() || from.len() != count {
        return Err(RelocationError::ChannelCountsDiffer { from: from.len(), to: to.len(), weights: count });
    }
    let original = accepted(unbalance)?;
    let weight_of = |channel: usize| weights.get(channel).copied().unwrap_or(1.0);
    // Coefficients and weights are taken relative to the largest, so that no square leaves the range of numbers.
    let (mut largest_from, mut largest_to, mut largest_weight) = (0.0_f64, 0.0_f64, 0.0_f64);
    for (channel, (from, to)) in from.iter().zip(to).enumerate() {
        let weight = weight_of(channel);
        for influence in [from, to] {
            Influence::from_components_per_gram_millimetre(influence.complex().re, influence.complex().im)?;
        }
        if !weight.is_finite() {
            return Err(QuantityError::NotFinite { quantity: "channel weight", value: weight }.into());
        }
        if weight < 0.0 {
            let unit = "(a plain number)";
            return Err(QuantityError::Negative { quantity: "channel weight", value: weight, unit }.into());
        }
        largest_weight = largest_weight.max(weight);
        if weight > 0.0 {
            largest_from = largest_from.max(from.per_gram_millimetre());
            largest_to = largest_to.max(to.per_gram_millimetre());
        }
    }
    // Two planes without any effect are refused, too: nothing says how much to put on.
    if largest_to <= NO_EFFECT * largest_from || largest_to < f64::MIN_POSITIVE {
        return Err(RelocationError::NoEffect);
    }
    let (mut numerator, mut denominator, mut old_effect) = (Complex64::ZERO, 0.0, 0.0);
    for (channel, (from, to)) in from.iter().zip(to).enumerate() {
        let relative_weight = weight_of(channel) / largest_weight;
        let (from, to) = (from.complex() / largest_to, to.complex() / largest_to);
        // Σ gₖ H̄ₖ₂ Hₖ₁  and  Σ gₖ |Hₖ₂|²
        numerator += to.conj() * from * relative_weight;
        denominator += dot(to, to) * relative_weight;
        old_effect += dot(from, from) * relative_weight;
    }
    // The channels that see the new plane may have next to no weight.
    if denominator <= NO_EFFECT * NO_EFFECT * old_effect {
        return Err(RelocationError::NoEffect);
    }
    // U₂ = U₁ Σ gₖ H̄ₖ₂ Hₖ₁ / Σ gₖ |Hₖ₂|²
    let moved = vector(original.complex() * (numerator / denominator))?;
    Ok(OtherPlane { from, to, original, vector: moved })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn influence(re: f64, im: f64) -> Influence {
        Influence::from_components_per_gram_millimetre(re, im).unwrap()
    }

    fn unbalance(x: f64, y: f64) -> UnbalanceVector {
        UnbalanceVector::from_components_gram_millimetres(x, y).unwrap()
    }

    #[test]
    fn the_answer_is_where_the_weighted_squares_are_least() {
        let from = [influence(2e-4, 1e-4), influence(-1e-4, 3e-4), influence(5e-5, -2e-4)];
        let to = [influence(1e-4, 2e-4), influence(-2e-4, 1e-4), influence(3e-4, 1e-5)];
        let weights = [1.0, 4.0, 0.25];
        let original = unbalance(700.0, -300.0);
        let moved = to_other_plane(original, &from, &to, &weights).unwrap();
        let cost = |vector: UnbalanceVector| -> f64 {
            let terms = from.iter().zip(&to).zip(weights);
            terms
                .map(|((&from, &to), g)| {
                    let change = (to * vector - from * original).complex();
                    g * dot(change, change)
                })
                .sum()
        };
        let least = cost(moved.vector());
        for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            assert!(cost(moved.vector() + unbalance(x, y)) > least);
        }
        assert!(moved.largest_change() > 0.0);
        assert_eq!(moved.changes().len(), 3);
    }

    #[test]
    fn a_channel_without_weight_does_not_count() {
        let (from, to) =
            ([influence(1.0, 0.0), influence(5.0, 5.0)], [influence(0.0, 1.0), influence(1.0, 0.0)]);
        let moved = to_other_plane(unbalance(2.0, 0.0), &from, &to, &[3.0, 0.0]).unwrap();
        assert!((moved.vector() - unbalance(0.0, -2.0)).amount().gram_millimetres() < 1e-15);
    }

    #[test]
    fn extreme_sizes_neither_overflow_nor_vanish() {
        for size in [1e-150, 1e-40, 1e40, 1e99] {
            let (from, to) = ([influence(size, size)], [influence(0.0, size / 2.0)]);
            let moved = to_other_plane(unbalance(1.0, 0.0), &from, &to, &[1e-200]).unwrap();
            assert!((moved.vector() - unbalance(2.0, -2.0)).amount().gram_millimetres() < 1e-14, "{size}");
        }
        let (strong, weak) = ([influence(1e10, 0.0)], [influence(1.0, 0.0)]);
        assert_eq!(to_other_plane(unbalance(1e95, 0.0), &strong, &weak, &[]).unwrap_err().code(), 104);
    }

    #[test]
    fn refusals_have_their_own_texts() {
        let (from, to) = ([influence(1.0, 0.0)], [influence(1e-13, 0.0)]);
        assert_eq!(
            to_other_plane(unbalance(1.0, 0.0), &from, &to, &[]).unwrap_err().to_string(),
            "the new plane has no effect on the channels beside that of the old one: \
             choose another plane, or measure its influence again"
        );
        assert_eq!(to_other_plane(unbalance(1.0, 0.0), &[], &[], &[]).unwrap_err().code(), 506);
        // The only channel that sees the new plane has next to no weight.
        let (seen, unseen) = ([influence(1.0, 0.0), Influence::ZERO], [Influence::ZERO, influence(1.0, 0.0)]);
        let error = to_other_plane(unbalance(1.0, 0.0), &seen, &unseen, &[1.0, 1e-30]).unwrap_err();
        assert_eq!(error.code(), 506);
        assert_eq!(
            to_other_plane(unbalance(1.0, 0.0), &from, &[], &[1.0, 2.0]).unwrap_err().to_string(),
            "1 influence coefficients of the old plane, 0 of the new one and 2 weights do not go together: \
             give one of each per channel"
        );
        assert_eq!(
            to_other_plane(unbalance(1.0, 0.0), &from, &from, &[-1.0]).unwrap_err().to_string(),
            "channel weight must not be negative, got -1.0 (a plain number): give its size, without a sign"
        );
        let error = to_other_plane(unbalance(1.0, 0.0), &from, &from, &[f64::NAN]).unwrap_err();
        assert_eq!(error.code(), 101);
        let broken = [influence(1.0, 0.0) * f64::NAN];
        assert_eq!(to_other_plane(unbalance(1.0, 0.0), &from, &broken, &[]).unwrap_err().code(), 101);
    }
}
