//! What can be wrong with a question for a placement.

use super::QuantityError;

/// A placement that cannot be searched for. Codes 800 to 899; a wrong number keeps its own code. Rings, holes, hardware
/// and planes are counted from 0, as in the calls.
///
/// ```
/// use counterpoise::PlacementError;
/// assert_eq!(PlacementError::NoHoles.code(), 801);
/// assert_eq!(PlacementError::NoHoles.to_string(), "there is no hole: give at least one ring with holes");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PlacementError {
    /// One of the numbers cannot be what it was given for.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// No ring, or only rings without holes.
    #[error("there is no hole: give at least one ring with holes")]
    NoHoles,
    /// No hardware.
    #[error("there is no hardware: give at least one kind of piece")]
    NoHardware,
    /// A piece without mass changes nothing.
    #[error("hardware {item} has no mass: give its mass, negative where material is taken off")]
    NoMass {
        /// Which piece.
        item: usize,
    },
    /// A thickness below zero.
    #[error("the thickness of hardware {item} must not be negative, got {millimetres:?} mm")]
    NegativeThickness {
        /// Which piece.
        item: usize,
        /// The thickness in mm.
        millimetres: f64,
    },
    /// A limit below zero, or not a number.
    #[error("the limit of {what} at hole {hole} of ring {ring} must be zero or more, got {value:?}")]
    BadLimit {
        /// What is limited.
        what: &'static str,
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// The limit as it was given.
        value: f64,
    },
    /// Nothing bounds the stack at a hole.
    #[error(
        "nothing limits the stack at hole {hole} of ring {ring}: limit its pieces, its mass or its height, or state stocks"
    )]
    NoLimit {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
    },
    /// More different stacks at one hole than can be listed.
    #[error(
        "hole {hole} of ring {ring} allows more than {limit} different stacks: lower its limits or give fewer kinds of hardware"
    )]
    TooManyStacks {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// How many are taken.
        limit: usize,
    },
    /// More holes than are taken.
    #[error("{holes} holes are more than the {limit} that are taken: give only those that can be used")]
    TooManyHoles {
        /// How many there were.
        holes: usize,
        /// How many are taken.
        limit: usize,
    },
    /// The list of what is mounted is longer than the list of hardware.
    #[error(
        "hole {hole} of ring {ring} states {got} kinds of mounted pieces, but there are {expected} kinds of hardware"
    )]
    Mounted {
        /// The ring.
        ring: usize,
        /// The hole.
        hole: usize,
        /// How many kinds of hardware there are.
        expected: usize,
        /// How many were stated.
        got: usize,
    },
    /// A ring in a plane that the question does not have.
    #[error("ring {ring} lies in plane {plane}, but the question has {planes} planes, counted from 0")]
    PlaneOutOfRange {
        /// The ring.
        ring: usize,
        /// Its plane.
        plane: usize,
        /// How many planes there are.
        planes: usize,
    },
    /// A list has another length than it must have.
    #[error("wrong number of {what}: expected {expected}, got {got}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// How many there must be.
        expected: usize,
        /// How many there were.
        got: usize,
    },
    /// A number of the question that must be finite and not negative.
    #[error("{what} must be zero or more and finite, got {value:?}")]
    BadNumber {
        /// What it was given for.
        what: &'static str,
        /// The number as it was given.
        value: f64,
    },
    /// A vibration or wanted unbalance that is not finite.
    #[error("the {what} {at} is not finite: check where the numbers come from")]
    NotFinite {
        /// What is not finite.
        what: &'static str,
        /// Its place in the list.
        at: usize,
    },
    /// The bound on memory leaves no room to search in.
    #[error("a memory limit of {bytes} bytes is too small: give at least {least}")]
    MemoryLimit {
        /// The limit as it was given.
        bytes: usize,
        /// The least that is taken.
        least: usize,
    },
    /// The largest possible moment, or what it does, is beyond the range of numbers.
    #[error("the result is beyond the range of numbers: check the units of masses, radii and coefficients")]
    NotRepresentable,
    /// A limit for a plane that the question does not have.
    #[error("there is no plane {plane} to be limited: the question has {planes} planes, counted from 0")]
    LimitedPlane {
        /// The plane.
        plane: usize,
        /// How many planes there are.
        planes: usize,
    },
    /// More planes than are taken.
    #[error("{planes} planes are more than the {limit} that are taken: give only those that have holes")]
    TooManyPlanes {
        /// How many there were.
        planes: usize,
        /// How many are taken.
        limit: usize,
    },
    /// All channel weights are zero.
    #[error("all channel weights are zero: then every placement is as good")]
    NoWeight,
}

impl PlacementError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::PlacementError::NoHardware.code(), 802);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Quantity(error) => error.code(),
            Self::NoHoles => 801,
            Self::NoHardware => 802,
            Self::NoMass { .. } => 803,
            Self::NegativeThickness { .. } => 804,
            Self::BadLimit { .. } => 805,
            Self::NoLimit { .. } => 806,
            Self::TooManyStacks { .. } => 807,
            Self::TooManyHoles { .. } => 808,
            Self::Mounted { .. } => 809,
            Self::PlaneOutOfRange { .. } => 810,
            Self::Count { .. } => 811,
            Self::BadNumber { .. } => 812,
            Self::NotFinite { .. } => 813,
            Self::MemoryLimit { .. } => 814,
            Self::NotRepresentable => 815,
            Self::LimitedPlane { .. } => 816,
            Self::NoWeight => 817,
            Self::TooManyPlanes { .. } => 818,
        }
    }
}
