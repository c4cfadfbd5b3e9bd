//! A limit with a band on both sides of it that the uncertainty of a value takes, and how likely it is met.

use crate::conformity::Conformity;
use crate::error::ToleranceError;
use crate::statistics::{Ellipse, normal_lower, share_inside};

/// A limit and the expanded uncertainty `k u` of what is compared with it (the idea of JCGM 106:2012). Both in one unit.
///
/// ```
/// use counterpoise::{Conformity, tolerance::GuardBand};
/// let band = GuardBand::new(0.20, 0.03)?;
/// assert_eq!((band.accepted_up_to(), band.rejected_above()), (0.17, 0.23));
/// assert_eq!(band.verdict(0.16), Conformity::Within);
/// # Ok::<(), counterpoise::ToleranceError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GuardBand {
    limit: f64,
    expanded: f64,
}

impl GuardBand {
    /// A limit with an expanded uncertainty.
    ///
    /// # Errors
    /// [`ToleranceError::BadNumber`] where the limit is not a positive number, or the uncertainty is negative or not finite.
    ///
    /// ```
    /// use counterpoise::tolerance::GuardBand;
    /// assert!(GuardBand::new(0.0, 0.03).is_err() && GuardBand::new(0.2, f64::NAN).is_err());
    /// ```
    pub fn new(limit: f64, expanded_uncertainty: f64) -> Result<Self, ToleranceError> {
        if !(limit > 0.0 && limit.is_finite()) {
            let (what, wanted) = ("the limit", "positive and finite");
            return Err(ToleranceError::BadNumber { what, value: limit, wanted });
        }
        if !(expanded_uncertainty >= 0.0 && expanded_uncertainty.is_finite()) {
            let (what, wanted) = ("the expanded uncertainty", "0 or more, and finite");
            return Err(ToleranceError::BadNumber { what, value: expanded_uncertainty, wanted });
        }
        Ok(Self { limit, expanded: expanded_uncertainty })
    }

    /// A value up to here is surely within: `L − k u`. Negative where the uncertainty is larger than the limit: nothing is.
    ///
    /// ```
    /// use counterpoise::tolerance::GuardBand;
    /// assert!(GuardBand::new(0.2, 0.5)?.accepted_up_to() < 0.0);
    /// # Ok::<(), counterpoise::ToleranceError>(())
    /// ```
    pub fn accepted_up_to(&self) -> f64 {
        self.limit - self.expanded
    }

    /// A value above here is surely outside: `L + k u`.
    ///
    /// ```
    /// use counterpoise::tolerance::GuardBand;
    /// assert_eq!(GuardBand::new(0.5, 0.25)?.rejected_above(), 0.75);
    /// # Ok::<(), counterpoise::ToleranceError>(())
    /// ```
    pub fn rejected_above(&self) -> f64 {
        self.limit + self.expanded
    }

    /// The verdict on a value.
    ///
    /// ```
    /// use counterpoise::{Conformity, tolerance::GuardBand};
    /// assert_eq!(GuardBand::new(0.5, 0.25)?.verdict(0.6), Conformity::Undecided);
    /// # Ok::<(), counterpoise::ToleranceError>(())
    /// ```
    pub fn verdict(&self, value: f64) -> Conformity {
        Conformity::of(value, self.expanded, self.limit)
    }
}

/// How likely it is that the size of a vector is within a limit, where it was measured as so large with a standard uncertainty
/// per component: `1 − Q₁(r/u, L/u)` (S. O. Rice, Mathematical analysis of random noise, 1944; a flat prior). All in one unit.
///
/// ```
/// use counterpoise::tolerance::chance_of_vector_within;
/// // At its limit, a vector is a little more likely beyond it: there is more room outside a circle than inside.
/// assert!(chance_of_vector_within(0.2, 0.02, 0.2)? < 0.5);
/// # Ok::<(), counterpoise::ToleranceError>(())
/// ```
///
/// # Errors
/// [`ToleranceError::BadNumber`] where the uncertainty is not a positive number, or another is negative or not finite.
pub fn chance_of_vector_within(
    size: f64,
    standard_uncertainty_per_component: f64,
    limit: f64,
) -> Result<f64, ToleranceError> {
    let u = checked(size, standard_uncertainty_per_component, limit)?;
    let circle = Ellipse { major: u, minor: u, direction: [1.0, 0.0] };
    Ok(share_inside(limit, [size, 0.0], circle, f64::INFINITY))
}

/// How likely it is that a value is within an upper limit, where it was measured with a standard uncertainty: `Φ((L − r)/u)`.
/// All in one unit.
///
/// ```
/// use counterpoise::tolerance::chance_of_value_within;
/// assert_eq!(chance_of_value_within(0.2, 0.02, 0.2)?, 0.5);
/// # Ok::<(), counterpoise::ToleranceError>(())
/// ```
///
/// # Errors
/// As [`chance_of_vector_within`].
pub fn chance_of_value_within(
    value: f64,
    standard_uncertainty: f64,
    limit: f64,
) -> Result<f64, ToleranceError> {
    let u = checked(value, standard_uncertainty, limit)?;
    Ok(normal_lower((limit - value) / u))
}

fn checked(value: f64, uncertainty: f64, limit: f64) -> Result<f64, ToleranceError> {
    let refused = |what, value, wanted| Err(ToleranceError::BadNumber { what, value, wanted });
    if !(0.0..=1e100).contains(&value) {
        return refused("the value", value, "0 to 1e100");
    }
    if !(0.0..=1e100).contains(&limit) {
        return refused("the limit", limit, "0 to 1e100");
    }
    if !(1e-100..=1e100).contains(&uncertainty) {
        return refused("the standard uncertainty", uncertainty, "1e-100 to 1e100");
    }
    Ok(uncertainty)
}
