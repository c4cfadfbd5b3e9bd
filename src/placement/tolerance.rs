//! How near is near enough: the default eps, and why it is what it is.

use core::fmt;

use crate::math;
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

/// The share of the wanted unbalance below which searching buys nothing.
const OF_WANTED: f64 = 0.01;
/// The share of the scatter of what is placed and of what is wanted.
const OF_SCATTER: f64 = 0.3;
/// The shares of the permissible residual: what is taken, and what is never exceeded.
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
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum ToleranceReason {
    /// 1 % of what is wanted.
    Wanted,
    /// 0.3 of the usual scatter: nothing nearer can be told from it.
    Scatter,
    /// 0.3 of the scatter that was stated.
    StatedScatter,
    /// 5 % of the permissible residual.
    Permissible,
    /// Half the permissible residual, which is never exceeded.
    HalfPermissible,
}

impl ToleranceReason {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::ToleranceReason::Wanted.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Wanted => 1,
            Self::Scatter => 2,
            Self::StatedScatter => 3,
            Self::Permissible => 4,
            Self::HalfPermissible => 5,
        }
    }
}

impl fmt::Display for ToleranceReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Wanted => "1 % of what is wanted",
            Self::Scatter => "0.3 of the usual scatter of weights and readings",
            Self::StatedScatter => "0.3 of the stated scatter of weights and readings",
            Self::Permissible => "5 % of the permissible residual",
            Self::HalfPermissible => "half the permissible residual, which is never exceeded",
        })
    }
}

/// The default eps of a placement: how near is near enough.
///
/// `max(1 % of what is wanted, 0.3 of the propagated scatter, 5 % of the permissible residual)`, and never above half the
/// permissible residual. Scatter as is usual, unless it is stated: piece mass 0.5 %, wanted correction 3 % and 2 degrees.
/// Common practice, no source.
///
/// It can be written and not read (feature `serde`): what is read would not have been computed from what is wanted.
///
/// [`PlacementQuestion::within_usual`](crate::PlacementQuestion::within_usual) asks with it in one call, for unbalance and
/// for vibration.
///
/// ```
/// use counterpoise::{PlacementTolerance, ToleranceReason, Unbalance, UnbalanceVector};
/// let wanted = UnbalanceVector::from_components_gram_millimetres(900.0, 0.0)?;
/// let tolerance = PlacementTolerance::usual(wanted, None);
/// assert_eq!(tolerance.reason(), ToleranceReason::Scatter);
/// assert!((tolerance.eps() - 12.5).abs() < 0.1);
/// let strict = PlacementTolerance::usual(wanted, Some(Unbalance::from_gram_millimetres(20.0)?));
/// assert_eq!((strict.eps(), strict.reason()), (10.0, ToleranceReason::HalfPermissible));
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct PlacementTolerance {
    #[cfg_attr(feature = "serde", serde(serialize_with = "super::wire::finite"))]
    eps: f64,
    reason: ToleranceReason,
    #[cfg_attr(feature = "serde", serde(serialize_with = "super::wire::finite"))]
    unavoidable: f64,
}

impl PlacementTolerance {
    /// The tolerance for what is wanted in one plane, with the permissible residual unbalance where one is given.
    ///
    /// ```
    /// # use counterpoise::{PlacementTolerance, UnbalanceVector};
    /// let tolerance = PlacementTolerance::usual(UnbalanceVector::ZERO, None);
    /// assert_eq!(tolerance.eps(), 0.0);
    /// ```
    pub fn usual(wanted: UnbalanceVector, permissible: Option<Unbalance>) -> Self {
        Self::unbalance(wanted, None, permissible)
    }

    /// The same with the scatter as it was propagated: the root mean square length of the error of what is wanted and of
    /// what is placed, together.
    ///
    /// ```
    /// # use counterpoise::{PlacementTolerance, ToleranceReason, Unbalance, UnbalanceVector};
    /// let wanted = UnbalanceVector::from_components_gram_millimetres(900.0, 0.0)?;
    /// let scatter = Unbalance::from_gram_millimetres(60.0)?;
    /// let tolerance = PlacementTolerance::with_scatter(wanted, scatter, None);
    /// assert_eq!((tolerance.eps(), tolerance.reason()), (18.0, ToleranceReason::StatedScatter));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn with_scatter(wanted: UnbalanceVector, scatter: Unbalance, permissible: Option<Unbalance>) -> Self {
        Self::unbalance(wanted, Some(scatter), permissible)
    }

    fn unbalance(
        wanted: UnbalanceVector,
        scatter: Option<Unbalance>,
        permissible: Option<Unbalance>,
    ) -> Self {
        let size = |amount: Unbalance| amount.gram_millimetres().abs();
        Self::of(size(wanted.amount()), scatter.map(size), permissible.map(size), |eps| eps, 0.0)
    }

    /// For an effect of such a size that is wanted; `beside` tells the residual of an effect missed by so much.
    pub(super) fn of(
        wanted: f64,
        scatter: Option<f64>,
        permissible: Option<f64>,
        beside: impl Fn(f64) -> f64,
        unavoidable: f64,
    ) -> Self {
        let radians = ANGLE_SCATTER_DEGREES * (core::f64::consts::PI / 180.0);
        // s² = |w|² (s_piece² + s_amount² + s_angle²)
        let usual = wanted
            * math::sqrt(PIECE_SCATTER * PIECE_SCATTER + AMOUNT_SCATTER * AMOUNT_SCATTER + radians * radians);
        let (scatter, because) = scatter
            .map_or((usual, ToleranceReason::Scatter), |stated| (stated, ToleranceReason::StatedScatter));
        let mut best = (OF_WANTED * wanted, ToleranceReason::Wanted);
        if OF_SCATTER * scatter > best.0 {
            best = (OF_SCATTER * scatter, because);
        }
        if let Some(permissible) = permissible {
            if OF_PERMISSIBLE * permissible > best.0 {
                best = (OF_PERMISSIBLE * permissible, ToleranceReason::Permissible);
            }
        }
        best.0 = beside(best.0);
        if let Some(permissible) = permissible {
            if best.0 > MOST_OF_PERMISSIBLE * permissible {
                best = (MOST_OF_PERMISSIBLE * permissible, ToleranceReason::HalfPermissible);
            }
        }
        Self { eps: best.0, reason: best.1, unavoidable }
    }

    /// The eps, in the residual's unit: g mm, or the channels' where coefficients were given.
    ///
    /// ```
    /// # use counterpoise::{PlacementTolerance, UnbalanceVector};
    /// # let tolerance = PlacementTolerance::usual(UnbalanceVector::ZERO, None);
    /// assert_eq!(tolerance.eps(), 0.0);
    /// ```
    pub const fn eps(self) -> f64 {
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

    /// What is in eps because no unbalance in these planes, however placed, would take it off; 0 where unbalance is asked
    /// about and every plane has holes.
    ///
    /// ```
    /// # use counterpoise::{PlacementTolerance, UnbalanceVector};
    /// # let tolerance = PlacementTolerance::usual(UnbalanceVector::ZERO, None);
    /// assert_eq!(tolerance.unavoidable(), 0.0);
    /// ```
    pub const fn unavoidable(self) -> f64 {
        self.unavoidable
    }
}
