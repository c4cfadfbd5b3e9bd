//! What is to be drawn, as numbers; nothing here draws.

use alloc::string::String;
use alloc::vec::Vec;

/// A figure with the words under it.
#[derive(Debug, Clone)]
pub(super) struct Figure {
    pub caption: String,
    pub drawn: Drawn,
}

#[derive(Debug, Clone)]
pub(super) enum Drawn {
    Polar(Polar),
    Ring(Ring),
}

/// Vectors about a centre; 0 degrees is up and angles run clockwise.
#[derive(Debug, Clone)]
pub(super) struct Polar {
    pub unit: String,
    pub angles: &'static str,
    pub vectors: Vec<Tip>,
    /// A circle about the centre, and what it is.
    pub limit: Option<f64>,
}

/// The tip of a vector with its region.
#[derive(Debug, Clone)]
pub(super) struct Tip {
    pub label: String,
    pub amplitude: f64,
    pub degrees: f64,
    /// The radius of the region that holds it.
    pub radius: Option<f64>,
    /// Expected, not read.
    pub is_expected: bool,
}

/// A ring of holes; the mark is up and angles run clockwise.
#[derive(Debug, Clone)]
pub(super) struct Ring {
    pub holes: Vec<DrawnHole>,
    pub turning: &'static str,
}

#[derive(Debug, Clone)]
pub(super) struct DrawnHole {
    pub number: usize,
    pub degrees: f64,
    pub grams: f64,
}
