//! How near is near enough: the default eps, and why it is what it is.

use core::fmt;

use crate::math;
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

/// The share of the wanted unbalance below which searching buys nothing.
const OF_WANTED: f64 = 0.01;
/// The share of the scatter of what is placed and of what is wanted.
const OF_SCATTER: f64 = 0.3;
/// The shares of the permissible residual unbalance: what is taken, and what is never exceeded.
const OF_PERMISSIBLE: f64 = 0.05;
const MOST_OF_PERMISSIBLE: f64 = 0.5;
/// Usual scatter (common practice, no source): pieces 0.5 % in mass; the wanted correction 3 % and 2 degrees.
const PIECE_SCATTER: f64 = 0.005;
const AMOUNT_SCATTER: f64 = 0.03;
const ANGLE_SCATTER_DEGREES: f64 = 2.0;

/// What decided the default eps.
///
/// ```
/// use counterpoise::ToleranceReason;
/// assert_eq!(ToleranceReason::Scatter.to_string(), "0.3 of the usual scatter of weights and readings");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum ToleranceReason {
    /// 1 % of the wanted unbalance.
    Wanted,
    /// 0.3 of the usual scatter: nothing nearer can be told from it.
    Scatter,
    /// 5 % of the permissible residual unbalance.
    Permissible,
    /// Half the permissible residual unbalance, which is never exceeded.
    HalfPermissible,
}

impl fmt::Display for ToleranceReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Wanted => "1 % of the wanted unbalance",
            Self::Scatter => "0.3 of the usual scatter of weights and readings",
            Self::Permissible => "5 % of the permissible residual unbalance",
            Self::HalfPermissible => "half the permissible residual unbalance, which is never exceeded",
        })
    }
}

/// The default eps of a placement: how near is near enough.
///
/// `max(1 % of the wanted unbalance, 0.3 of the propagated scatter, 5 % of the permissible residual unbalance)`, and never
/// above half the permissible residual unbalance. Scatter as is usual: piece mass 0.5 %, wanted correction 3 % and 2
/// degrees. Common practice, no source.
///
/// ```
/// use counterpoise::{PlacementTolerance, ToleranceReason, Unbalance, UnbalanceVector};
/// let wanted = UnbalanceVector::from_components_gram_millimetres(900.0, 0.0)?;
/// let tolerance = PlacementTolerance::usual(wanted, None);
/// assert_eq!(tolerance.reason(), ToleranceReason::Scatter);
/// assert!((tolerance.eps().gram_millimetres() - 12.5).abs() < 0.1);
/// let strict = PlacementTolerance::usual(wanted, Some(Unbalance::from_gram_millimetres(20.0)?));
/// assert_eq!((strict.eps().gram_millimetres(), strict.reason()), (10.0, ToleranceReason::HalfPermissible));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacementTolerance {
    eps: Unbalance,
    reason: ToleranceReason,
}

impl PlacementTolerance {
    /// The tolerance for what is wanted, with the permissible residual unbalance where one is given.
    ///
    /// ```
    /// # use counterpoise::{PlacementTolerance, UnbalanceVector};
    /// let tolerance = PlacementTolerance::usual(UnbalanceVector::ZERO, None);
    /// assert_eq!(tolerance.eps().gram_millimetres(), 0.0);
    /// ```
    pub fn usual(wanted: UnbalanceVector, permissible: Option<Unbalance>) -> Self {
        let amount = wanted.amount().gram_millimetres();
        let radians = ANGLE_SCATTER_DEGREES * (core::f64::consts::PI / 180.0);
        // s² = |w|² (s_piece² + s_amount² + s_angle²)
        let scatter = amount
            * math::sqrt(PIECE_SCATTER * PIECE_SCATTER + AMOUNT_SCATTER * AMOUNT_SCATTER + radians * radians);
        let mut best = (OF_WANTED * amount, ToleranceReason::Wanted);
        if OF_SCATTER * scatter > best.0 {
            best = (OF_SCATTER * scatter, ToleranceReason::Scatter);
        }
        if let Some(permissible) = permissible {
            let permissible = permissible.gram_millimetres().abs();
            if OF_PERMISSIBLE * permissible > best.0 {
                best = (OF_PERMISSIBLE * permissible, ToleranceReason::Permissible);
            }
            if best.0 > MOST_OF_PERMISSIBLE * permissible {
                best = (MOST_OF_PERMISSIBLE * permissible, ToleranceReason::HalfPermissible);
            }
        }
        Self { eps: Unbalance::canonical(best.0), reason: best.1 }
    }

    /// The eps.
    ///
    /// ```
    /// # use counterpoise::{PlacementTolerance, UnbalanceVector};
    /// # let tolerance = PlacementTolerance::usual(UnbalanceVector::ZERO, None);
    /// assert_eq!(tolerance.eps().gram_millimetres(), 0.0);
    /// ```
    pub const fn eps(self) -> Unbalance {
        self.eps
    }

    /// What decided it.
    ///
    /// ```
    /// # use counterpoise::{PlacementTolerance, ToleranceReason, UnbalanceVector};
    /// # let tolerance = PlacementTolerance::usual(UnbalanceVector::ZERO, None);
    /// assert_eq!(tolerance.reason(), ToleranceReason::Wanted);
    /// ```
    pub const fn reason(self) -> ToleranceReason {
        self.reason
    }
}
