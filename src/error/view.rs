//! What can be wrong with a ring of holes, a view, or the words for a place.

use super::QuantityError;
use crate::hole_circle::NumberedHoles;

/// A ring of holes that cannot be, or words that do not fit the view they are read in. Codes 700 to 799; a wrong
/// number keeps its own code.
///
/// ```
/// use counterpoise::{HoleCircle, RotorAngle, RotorSense};
/// let error = HoleCircle::new(0, RotorAngle::MARK, RotorSense::WithRotation).unwrap_err();
/// assert_eq!(error.code(), 701);
/// assert_eq!(error.to_string(), "a ring of holes must have at least one hole: give their number");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ViewError {
    /// One of the numbers cannot be what it was given for.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// A ring without holes.
    #[error("a ring of holes must have at least one hole: give their number")]
    EmptyCircle,
    /// Words for a viewpoint that could not be told apart again in a sentence.
    #[error(
        "a viewpoint cannot be called {words:?}: give each side its own words, with no comma, \
         no line break and no space at either end"
    )]
    BadViewpoint {
        /// The words as they were given.
        words: &'static str,
    },
    /// A hole number that no hole of the ring bears.
    #[error("there is no hole {number}: the holes are numbered {lowest} to {highest}")]
    NoSuchHole {
        /// The number as it was given.
        number: u32,
        /// The number of the first hole.
        lowest: u32,
        /// The number of the last hole.
        highest: u32,
    },
    /// A hole was named, and the view has none.
    #[error("hole {number} means nothing to a view without holes: give the view its ring of holes")]
    WithoutHoles {
        /// The number as it was given.
        number: u32,
    },
    /// Words that are not those of a place.
    #[error(
        "the words cannot be read from byte {at} on, where {expected:?} was expected: \
         give them as a location prints them"
    )]
    Unreadable {
        /// How many bytes of the text could be read.
        at: usize,
        /// What should have followed.
        expected: &'static str,
    },
    /// Words for a person who stands elsewhere.
    #[error(
        "the words are for a person who sees the rotor from {words}, the view is from {view}: \
         read them in the view from there"
    )]
    OtherViewpoint {
        /// Where the view is from.
        view: &'static str,
        /// Where the words are from.
        words: &'static str,
    },
    /// Words for a rotor that turns the other way.
    #[error(
        "the words are for a rotor turning {words}, the view has it turning {view}: check which way it turns"
    )]
    OtherTurning {
        /// How the rotor turns in the view.
        view: &'static str,
        /// How it turns in the words.
        words: &'static str,
    },
    /// Words that name other holes than the view has at that place.
    #[error(
        "the words put {degrees:?} deg {sense} {words}, the view has it {view}: \
         check where the first hole is and which way the holes are numbered"
    )]
    OtherHoles {
        /// The angle in the words.
        degrees: f64,
        /// The sense in the words.
        sense: &'static str,
        /// The holes at that angle in the view.
        view: NumberedHoles,
        /// The holes in the words.
        words: NumberedHoles,
    },
    /// Words for a rotor that was put at rest with its mark elsewhere.
    #[error(
        "the words are for a mark at {words_degrees:?} deg clockwise from the top, \
         the view has it at {view_degrees:?} deg: turn the rotor, or state where its mark stands"
    )]
    OtherMark {
        /// Where the mark stands in the view.
        view_degrees: f64,
        /// Where it stands in the words.
        words_degrees: f64,
    },
    /// Words whose angle from the mark and angle from the top are not of one place.
    #[error(
        "the words put the place {words_degrees:?} deg clockwise from the top, \
         their angle from the mark puts it at {view_degrees:?} deg: one of the two was changed"
    )]
    OtherSeenAngle {
        /// What the angle from the mark comes to in the view.
        view_degrees: f64,
        /// The angle from the top in the words.
        words_degrees: f64,
    },
    /// Words whose hour is not that of their angle from the top.
    #[error("{degrees:?} deg clockwise from the top is not about {hour} o'clock: one of the two was changed")]
    OtherHour {
        /// The angle from the top in the words.
        degrees: f64,
        /// The hour in the words.
        hour: u32,
    },
}

impl ViewError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::{QuantityError, ViewError};
    /// assert_eq!(ViewError::WithoutHoles { number: 3 }.code(), 704);
    /// let inner = QuantityError::NotFinite { quantity: "angle", value: f64::NAN };
    /// assert_eq!(ViewError::from(inner).code(), 101);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Quantity(error) => error.code(),
            Self::EmptyCircle => 701,
            Self::BadViewpoint { .. } => 702,
            Self::NoSuchHole { .. } => 703,
            Self::WithoutHoles { .. } => 704,
            Self::Unreadable { .. } => 705,
            Self::OtherViewpoint { .. } => 706,
            Self::OtherTurning { .. } => 707,
            Self::OtherHoles { .. } => 708,
            Self::OtherMark { .. } => 709,
            Self::OtherSeenAngle { .. } => 710,
            Self::OtherHour { .. } => 711,
        }
    }
}
