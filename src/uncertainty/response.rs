//! Whether a trial weight was seen at all.

use core::fmt;

use crate::error::UncertaintyError;
use crate::scatter::DegreesOfFreedom;
use crate::statistics::{f_upper, mahalanobis_squared};

use super::joint::Uncertainty;

/// How clearly a channel saw the weights in a plane.
///
/// ```
/// use counterpoise::Detectability;
/// assert_eq!(Detectability::NotDetectable.to_string(), "not detectable: use a larger weight, or more readings");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Detectability {
    /// The response may be none at all: nothing computed from it has a finite variance, and none is given.
    NotDetectable,
    /// It was seen, and first-order uncertainties computed from it are not to be trusted.
    Weak,
    /// It was seen clearly.
    Clear,
}

impl Detectability {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::Detectability::Clear.code(), 3);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::NotDetectable => 1,
            Self::Weak => 2,
            Self::Clear => 3,
        }
    }
}

impl fmt::Display for Detectability {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NotDetectable => "not detectable: use a larger weight, or more readings",
            Self::Weak => "weak: read the exact region, not the first-order one",
            Self::Clear => "clear",
        })
    }
}

/// The response of a channel to the weights in a plane, against its scatter.
///
/// ```
/// # use counterpoise::{Uncertainty, UncertaintyError};
/// # fn show(uncertainty: &Uncertainty) -> Result<(), UncertaintyError> {
/// let response = uncertainty.trial_response(0, 0)?;
/// println!("{} (d2 = {:.1})", response.detectability(), response.distance_squared());
/// # Ok(()) }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialResponse {
    distance_squared: f64,
    degrees_of_freedom: DegreesOfFreedom,
}

impl TrialResponse {
    /// The squared distance from which on a response is called clear. Common practice, no source: there the first-order
    /// uncertainty is right to some percent.
    ///
    /// ```
    /// assert_eq!(counterpoise::TrialResponse::CLEAR_FROM, 100.0);
    /// ```
    pub const CLEAR_FROM: f64 = 100.0;

    /// The squared distance of the coefficient from none, in units of its scatter: `d² = hᵀ C⁻¹ h`. With one trial run it is
    /// that of the change of vibration. Only the readings' scatter counts: however badly a weight is known, it makes no
    /// response where there is none.
    ///
    /// ```
    /// # fn show(response: &counterpoise::TrialResponse) -> f64 {
    /// response.distance_squared()
    /// # }
    /// ```
    pub const fn distance_squared(&self) -> f64 {
        self.distance_squared
    }

    /// The chance of seeing as much where there is no response: `e^(−d²/2)` with the scatter known, from F where it was
    /// estimated.
    ///
    /// ```
    /// # fn show(response: &counterpoise::TrialResponse) -> f64 {
    /// response.chance_without_response()
    /// # }
    /// ```
    pub fn chance_without_response(&self) -> f64 {
        let (scale, degrees) = self.degrees_of_freedom.as_t(2);
        if degrees == f64::INFINITY {
            libm::exp(-0.5 * self.distance_squared)
        } else if degrees > 0.0 {
            f_upper(0.5 * self.distance_squared / scale, 2.0, degrees)
        } else {
            1.0
        }
    }

    /// Not detectable where the chance above is 5 % or more; clear from [`CLEAR_FROM`](Self::CLEAR_FROM) on.
    ///
    /// ```
    /// # fn show(response: &counterpoise::TrialResponse) -> counterpoise::Detectability {
    /// response.detectability()
    /// # }
    /// ```
    pub fn detectability(&self) -> Detectability {
        let limit = self.degrees_of_freedom.squared_factor(2, 0.95);
        // No distance, not even an infinite one, reaches a limit that does not exist.
        let seen = limit.is_finite() && self.distance_squared >= limit;
        match seen {
            false => Detectability::NotDetectable,
            true if self.distance_squared >= Self::CLEAR_FROM => Detectability::Clear,
            true => Detectability::Weak,
        }
    }
}

impl Uncertainty {
    /// How clearly a channel saw the weights in a plane.
    ///
    /// # Errors
    /// [`UncertaintyError::OutOfRange`].
    ///
    /// ```
    /// # use counterpoise::{TrialResponse, Uncertainty, UncertaintyError};
    /// # fn show(uncertainty: &Uncertainty) -> Result<TrialResponse, UncertaintyError> {
    /// uncertainty.trial_response(0, 0)
    /// # }
    /// ```
    pub fn trial_response(&self, channel: usize, plane: usize) -> Result<TrialResponse, UncertaintyError> {
        let influence = self.influence(channel, plane)?;
        let h = influence.value().complex();
        let place = self.place(channel, plane + 1);
        let covariance = self.of_readings.block(place, place).unwrap_or_default();
        let distance_squared = mahalanobis_squared([h.re, h.im], covariance);
        Ok(TrialResponse { distance_squared, degrees_of_freedom: influence.degrees_of_freedom() })
    }
}
