//! The verdict on a value against a limit, with a guard band for what is not known of the value.

use core::fmt;

/// A verdict with a guard band: a limit is called met or exceeded only where the uncertainty leaves no doubt at the stated
/// confidence (the idea of JCGM 106:2012).
///
/// ```
/// use counterpoise::Conformity;
/// assert_eq!(Conformity::of(0.08, 0.03, 0.12), Conformity::Within);
/// assert_eq!(Conformity::of(0.10, 0.03, 0.12), Conformity::Undecided);
/// assert_eq!(Conformity::of(0.16, 0.03, 0.12), Conformity::Outside);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Conformity {
    /// `value + expanded uncertainty ≤ limit`.
    Within,
    /// `value − expanded uncertainty > limit`.
    Outside,
    /// Neither: measure better, or longer.
    Undecided,
}

impl Conformity {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::Conformity::Within.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Within => 1,
            Self::Outside => 2,
            Self::Undecided => 3,
        }
    }

    /// The verdict on a value with an expanded uncertainty `k u` against a limit, all in one unit.
    ///
    /// What is not a number is undecided, and so is all with an uncertainty below zero.
    ///
    /// ```
    /// use counterpoise::Conformity;
    /// assert_eq!(Conformity::of(f64::NAN, 0.03, 0.12), Conformity::Undecided);
    /// assert_eq!(Conformity::of(0.13, -0.03, 0.12), Conformity::Undecided);
    /// ```
    pub fn of(value: f64, expanded_uncertainty: f64, limit: f64) -> Self {
        if expanded_uncertainty < 0.0 {
            Self::Undecided
        } else if value + expanded_uncertainty <= limit {
            Self::Within
        } else if value - expanded_uncertainty > limit {
            Self::Outside
        } else {
            Self::Undecided
        }
    }
}

impl fmt::Display for Conformity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Within => "within the limit",
            Self::Outside => "outside the limit",
            Self::Undecided => "undecided: the limit lies inside the uncertainty",
        })
    }
}
