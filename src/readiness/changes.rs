//! What may have changed since the last job, and how the possible changes rank.

use alloc::vec::Vec;
use core::fmt;

use crate::checks::Findings;
use crate::uncertainty::Estimate;
use crate::vector::UnbalanceVector;

/// What may have happened to a rotor since its last job. Everything is counted from 0.
///
/// ```
/// use counterpoise::readiness::LaterExplanation;
/// let lost = LaterExplanation::PiecesLost { ring: 0, hole: 6, item: 1, pieces: 2 };
/// assert_eq!(lost.to_string(), "2 of hardware 1 are gone from hole 6 of ring 0");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum LaterExplanation {
    /// Nothing: the reading differs by chance.
    Nothing,
    /// Pieces are gone from a hole.
    PiecesLost {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// The kind of hardware.
        item: usize,
        /// How many are gone.
        pieces: u32,
    },
    /// A piece was replaced by one of another kind, such as a screw of another length.
    PieceExchanged {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// The kind that was there.
        was: usize,
        /// The kind that is there now.
        is: usize,
    },
    /// What was in a hole is in another of the same ring.
    HoleMistaken {
        /// The ring.
        ring: usize,
        /// The hole it was in.
        hole: usize,
        /// The hole it is in now.
        now: usize,
    },
    /// What carries a ring was put back turned by so many holes, with all that is in it: a spinner, for instance. The unbalance
    /// of the part itself is not known and turns with it; only what is mounted is counted.
    RingTurned {
        /// The ring.
        ring: usize,
        /// By how many holes, in the order in which they are listed.
        holes: usize,
    },
    /// Some other unbalance in a plane: whatever it is, this is what it would have to be.
    OtherUnbalance {
        /// The plane.
        plane: usize,
        /// The unbalance that explains the reading best.
        unbalance: UnbalanceVector,
    },
}

impl LaterExplanation {
    /// The stable number of its kind, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::LaterExplanation::Nothing.code(), 1);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Nothing => 1,
            Self::PiecesLost { .. } => 2,
            Self::PieceExchanged { .. } => 3,
            Self::HoleMistaken { .. } => 4,
            Self::RingTurned { .. } => 5,
            Self::OtherUnbalance { .. } => 6,
        }
    }
}

impl fmt::Display for LaterExplanation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => f.write_str("nothing has changed"),
            Self::PiecesLost { ring, hole, item, pieces } => {
                let are = if *pieces == 1 { "is" } else { "are" };
                write!(f, "{pieces} of hardware {item} {are} gone from hole {hole} of ring {ring}")
            }
            Self::PieceExchanged { ring, hole, was, is } => {
                write!(
                    f,
                    "in hole {hole} of ring {ring} a piece of hardware {was} was replaced by one of {is}"
                )
            }
            Self::HoleMistaken { ring, hole, now } => {
                write!(f, "what was in hole {hole} of ring {ring} is in hole {now}")
            }
            Self::RingTurned { ring, holes } => {
                let plural = if *holes == 1 { "" } else { "s" };
                write!(f, "ring {ring} was put back turned by {holes} hole{plural}")
            }
            Self::OtherUnbalance { plane, unbalance } => {
                write!(f, "another unbalance in plane {plane}, {:.0} in size", unbalance.amount())
            }
        }
    }
}

/// An explanation with how well it fits.
///
/// ```
/// use counterpoise::readiness::{LaterExplanation, RankedChange};
/// let ranked = RankedChange { explanation: LaterExplanation::Nothing, chi_squared: 1.2, score: 1.2, log10_odds: 0.0 };
/// assert_eq!(ranked.log10_odds, 0.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankedChange {
    /// The explanation.
    pub explanation: LaterExplanation,
    /// What it leaves: squares over variances, `Σ d²` with `d² = rᵀ C⁻¹ r` of each channel. `C` is the scatter of the change,
    /// wider by `|u|²` times the variance of the coefficient where that is stated.
    pub chi_squared: f64,
    /// `Σ [d² + ln |C|/|S|] + 2 ln M`, with M variants of the kind; `(ν + 2) ln(1 + d²/ν)` in place of `d²` where the scatter `S`
    /// was estimated with `ν` degrees of freedom. For an unbalance of any size and place the price of its freedom besides:
    /// minus twice the logarithm of the share that stays of where it might have been. All kinds are equally probable
    /// beforehand.
    pub score: f64,
    /// How much less likely it is than the best, as a power of ten: 0 for the best.
    pub log10_odds: f64,
}

/// What a later reading says.
///
/// ```
/// # use counterpoise::readiness::LaterFindings;
/// fn show(findings: &LaterFindings) {
///     if findings.is_significant(0.99) {
///         for ranked in findings.not_told_apart() {
///             println!("perhaps {}", ranked.explanation);
///         }
///     }
/// }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LaterFindings {
    pub(super) ranked: Vec<RankedChange>,
    pub(super) chance: f64,
    pub(super) worth: Vec<Option<Estimate<UnbalanceVector>>>,
    pub(super) left_out: usize,
}

impl LaterFindings {
    /// An explanation is spoken of alone only where its odds over every other reach so many, as a power of ten: 100 to 1, as of
    /// [`Findings`](crate::checks::Findings::DECISIVE_LOG10_ODDS).
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::LaterFindings::DECISIVE_LOG10_ODDS, 2.0);
    /// ```
    pub const DECISIVE_LOG10_ODDS: f64 = Findings::DECISIVE_LOG10_ODDS;

    /// How rare a difference as large as this would be by chance, where nothing has changed. Scatter that was estimated from a
    /// few readings counts for what it is worth.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn by_chance(findings: &LaterFindings) -> bool {
    ///     findings.chance() > 0.05
    /// }
    /// ```
    pub const fn chance(&self) -> f64 {
        self.chance
    }

    /// Whether something has changed, at a confidence: a difference as large would be rarer by chance than what is left of it.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn look_again(findings: &LaterFindings) -> bool {
    ///     findings.is_significant(0.99)
    /// }
    /// ```
    pub fn is_significant(&self, confidence: f64) -> bool {
        self.chance < 1.0 - confidence
    }

    /// All explanations, the best first.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn best(findings: &LaterFindings) -> Option<String> {
    ///     findings.ranked().first().map(|best| best.explanation.to_string())
    /// }
    /// ```
    pub fn ranked(&self) -> &[RankedChange] {
        &self.ranked
    }

    /// The best explanation, and all others that are not at least a hundred times less likely. Where it is one, it may be spoken
    /// of; where they are several, the readings cannot tell them apart.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn is_one(findings: &LaterFindings) -> bool {
    ///     findings.not_told_apart().count() == 1
    /// }
    /// ```
    pub fn not_told_apart(&self) -> impl Iterator<Item = &RankedChange> {
        self.ranked.iter().filter(|ranked| ranked.log10_odds < Self::DECISIVE_LOG10_ODDS)
    }

    /// How many possible changes were not gone through, as there are too many of their kind: more than 100,000 of one, more than
    /// 16 pieces of a kind lost from a hole, a ring turned by more than 360 holes. Only where it is 0 has everything been looked
    /// at.
    ///
    /// ```
    /// # use counterpoise::readiness::LaterFindings;
    /// fn is_complete(findings: &LaterFindings) -> bool {
    ///     findings.left_out() == 0
    /// }
    /// ```
    pub const fn left_out(&self) -> usize {
        self.left_out
    }

    /// The unbalance in a plane that the change is worth, with its covariance; `None` where there is no such plane, or it has no
    /// effect.
    ///
    /// ```
    /// # use counterpoise::{Estimate, UnbalanceVector, readiness::LaterFindings};
    /// fn worth(findings: &LaterFindings) -> Option<Estimate<UnbalanceVector>> {
    ///     findings.unbalance_in(0)
    /// }
    /// ```
    pub fn unbalance_in(&self, plane: usize) -> Option<Estimate<UnbalanceVector>> {
        self.worth.get(plane).copied().flatten()
    }
}
