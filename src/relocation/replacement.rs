//! A temporary weight replaced by a permanent one: what the next reading will show.

use crate::vector::{Influence, UnbalanceVector, Vibration};

/// What is taken off and what is put on in one plane, as one channel sees it.
///
/// With several planes, add up their changes: `v + Σ change`. Several weights in one plane are
/// [combined](super::combine) first.
///
/// ```
/// use counterpoise::{Influence, UnbalanceVector, Vibration, relocation::Replacement};
/// let replacement = Replacement {
///     influence: Influence::from_components_per_gram_millimetre(2e-4, 0.0)?,
///     temporary: UnbalanceVector::from_components_gram_millimetres(6000.0, 0.0)?,
///     permanent: UnbalanceVector::from_components_gram_millimetres(6000.0, 500.0)?,
/// };
/// let next = replacement.predicted(Vibration::from_components(0.03, 0.0)?);
/// assert_eq!(next, Vibration::from_components(0.03, 0.1)?);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Replacement {
    /// The channel's coefficient of the plane.
    pub influence: Influence,
    /// What is mounted now and will be taken off.
    pub temporary: UnbalanceVector,
    /// What will be put on instead.
    pub permanent: UnbalanceVector,
}

impl Replacement {
    /// By how much the unbalance changes: permanent minus temporary.
    ///
    /// ```
    /// # use counterpoise::{Influence, UnbalanceVector, relocation::Replacement};
    /// let temporary = UnbalanceVector::from_components_gram_millimetres(6000.0, 0.0)?;
    /// let replacement = Replacement { influence: Influence::ZERO, temporary, permanent: temporary };
    /// assert_eq!(replacement.difference(), UnbalanceVector::ZERO);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn difference(&self) -> UnbalanceVector {
        self.permanent - self.temporary
    }

    /// By how much the vibration changes: `H (U_new − U_old)`.
    ///
    /// ```
    /// # use counterpoise::{Influence, UnbalanceVector, Vibration, relocation::Replacement};
    /// let temporary = UnbalanceVector::from_components_gram_millimetres(6000.0, 0.0)?;
    /// let influence = Influence::from_components_per_gram_millimetre(2e-4, 1e-4)?;
    /// let replacement = Replacement { influence, temporary, permanent: temporary };
    /// assert_eq!(replacement.change(), Vibration::ZERO);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn change(&self) -> Vibration {
        // Δv = H (U_new − U_old)
        self.influence * self.difference()
    }

    /// The reading to expect, from the one taken with the temporary weight: `v₂ = v + H (U_new − U_old)`.
    ///
    /// ```
    /// # use counterpoise::{Influence, UnbalanceVector, Vibration, relocation::Replacement};
    /// let replacement = Replacement {
    ///     influence: Influence::from_components_per_gram_millimetre(2e-4, 0.0)?,
    ///     temporary: UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?,
    ///     permanent: UnbalanceVector::ZERO,
    /// };
    /// assert_eq!(replacement.predicted(Vibration::ZERO).complex().re, -0.2);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn predicted(&self, with_temporary: Vibration) -> Vibration {
        with_temporary + self.change()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn swapping_there_and_back_changes_nothing() {
        let replacement = Replacement {
            influence: Influence::from_components_per_gram_millimetre(-1.4e-4, -6.8e-5).unwrap(),
            temporary: UnbalanceVector::from_components_gram_millimetres(-5200.0, 2960.0).unwrap(),
            permanent: UnbalanceVector::from_components_gram_millimetres(-5213.0, 3009.0).unwrap(),
        };
        let back =
            Replacement { temporary: replacement.permanent, permanent: replacement.temporary, ..replacement };
        assert_eq!(replacement.change() + back.change(), Vibration::ZERO);
        assert!(replacement.change().amplitude() > 0.0);
    }
}
