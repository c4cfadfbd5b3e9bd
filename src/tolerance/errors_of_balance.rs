//! Errors of a balance: those that repeat, which are taken out, and those that do not, which are allowed for.

use crate::conformity::Conformity;
use crate::error::ToleranceError;
use crate::math;
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

/// What indexing by half a turn takes apart: the rotor's own unbalance, and that of the mandrel or fixture it sits on.
///
/// ```
/// use counterpoise::UnbalanceVector;
/// use counterpoise::tolerance::IndexedByHalfTurn;
/// let g_mm = UnbalanceVector::from_components_gram_millimetres;
/// // In the mandrel's own angles: the rotor as first put on, and turned by half a turn against the mandrel.
/// let parts = IndexedByHalfTurn::of(g_mm(70.0, 20.0)?, g_mm(-30.0, 40.0)?);
/// assert_eq!((parts.rotor, parts.fixture), (g_mm(50.0, -10.0)?, g_mm(20.0, 30.0)?));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IndexedByHalfTurn {
    /// The unbalance of the rotor, at the angles of the first reading.
    pub rotor: UnbalanceVector,
    /// The unbalance that stays with the fixture: a systematic error of every rotor on it.
    pub fixture: UnbalanceVector,
}

impl IndexedByHalfTurn {
    /// From the indicated unbalance as first put on, and with the rotor turned by half a turn on the fixture, both at the
    /// angles of the fixture: `r = (u₁ − u₂)/2`, `f = (u₁ + u₂)/2` (the idea of ISO 21940-14, from memory).
    ///
    /// ```
    /// use counterpoise::{UnbalanceVector, tolerance::IndexedByHalfTurn};
    /// let same = UnbalanceVector::from_components_gram_millimetres(12.0, 0.0)?;
    /// // What does not turn with the rotor is not the rotor's.
    /// assert_eq!(IndexedByHalfTurn::of(same, same).rotor, UnbalanceVector::ZERO);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn of(first: UnbalanceVector, turned: UnbalanceVector) -> Self {
        Self { rotor: (first - turned) * 0.5, fixture: (first + turned) * 0.5 }
    }
}

/// Errors that do not repeat, taken together: the root of the sum of their squares (ISO 21940-14, from memory).
///
/// # Errors
/// [`ToleranceError::NegativeError`] with the error that is not 0 or more, [`ToleranceError::Quantity`] where they come to more
/// than an unbalance may be.
///
/// ```
/// use counterpoise::{Unbalance, tolerance::combined_error};
/// let g_mm = Unbalance::from_gram_millimetres;
/// assert_eq!(combined_error(&[g_mm(3.0)?, g_mm(4.0)?])?.gram_millimetres(), 5.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn combined_error(errors: &[Unbalance]) -> Result<Unbalance, ToleranceError> {
    let mut all = 0.0;
    for (at, error) in errors.iter().enumerate() {
        let value = error.gram_millimetres();
        if !(value >= 0.0 && value.is_finite()) {
            return Err(ToleranceError::NegativeError { at, value });
        }
        // √(a² + b²), without overflow
        all = math::hypot(all, value);
    }
    Ok(Unbalance::from_gram_millimetres(all)?)
}

/// The verdict on a measured residual against a permissible one, with the error of the measurement.
///
/// The producer accepts below the limit by the error, the user rejects above it by the error; between them neither can
/// (ISO 21940-14, from memory). An error that [is negligible](is_negligible) is left out where it stands against acceptance,
/// and kept where it stands against rejection: so a wider limit never turns a verdict for the worse. What was measured counts
/// by its size; an error below zero decides nothing.
///
/// ```
/// use counterpoise::{Conformity, Unbalance, tolerance::accepted_with_error};
/// let g_mm = Unbalance::from_gram_millimetres;
/// let verdict = |measured| Ok(accepted_with_error(g_mm(measured)?, g_mm(100.0)?, g_mm(12.0)?));
/// assert_eq!(verdict(85.0)?, Conformity::Within);
/// assert_eq!(verdict(95.0)?, Conformity::Undecided);
/// assert_eq!(verdict(115.0)?, Conformity::Outside);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
pub fn accepted_with_error(measured: Unbalance, permissible: Unbalance, error: Unbalance) -> Conformity {
    let [measured, limit] = [measured.gram_millimetres().abs(), permissible.gram_millimetres()];
    if is_negligible(error, permissible) && measured <= limit {
        return Conformity::Within;
    }
    Conformity::of(measured, error.gram_millimetres(), limit)
}

/// Whether an error, 0 or more, is so small that it may be left out: below 5 % of the permissible unbalance (ISO 21940-14, from
/// memory).
///
/// ```
/// use counterpoise::{Unbalance, tolerance::is_negligible};
/// let g_mm = Unbalance::from_gram_millimetres;
/// assert!(is_negligible(g_mm(4.9)?, g_mm(100.0)?) && !is_negligible(g_mm(5.0)?, g_mm(100.0)?));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
pub fn is_negligible(error: Unbalance, permissible: Unbalance) -> bool {
    let error = error.gram_millimetres();
    error >= 0.0 && error < 0.05 * permissible.gram_millimetres()
}
