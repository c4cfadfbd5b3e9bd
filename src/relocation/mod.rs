//! Moves: the same effect from other weights, radii, places or planes.
//!
//! | wanted | call |
//! | --- | --- |
//! | one weight for several | [`combine`] |
//! | the same unbalance at another radius | [`at_radius`] |
//! | one weight on two places | [`split`], [`split_symmetric`], [`split_to_neighbours`] |
//! | which two places lie about an angle | [`neighbours`]; [`HoleCircle`](crate::HoleCircle) for a ring |
//! | one weight on many places, least mass, each with a cap | `least_mass` |
//! | what the places reach at most, and nearest | `largest_reachable`, `nearest_reachable` |
//! | one weight on the single best place | [`nearest_place`] |
//! | the same vibration from another plane | [`to_other_plane`] |
//! | a temporary weight replaced by a permanent one | [`Replacement`] |
//! | resultant and moment of a rigid rotor; two-plane design | [`StaticCouple`], [`in_two_planes`], [`correction_in_two_planes`] |
//!
//! All but the calls that return a list work without a heap. The moves within a plane are plain vector sums, so the
//! angles they print are the same whichever sense the reader counts in; only moves through influence coefficients need
//! the canonical sense, and the types see to that.

mod combine;
mod geometry;
mod moment;
mod nearest_place;
mod neighbours;
mod other_plane;
mod place;
mod replacement;
mod split;
mod statics;

#[cfg(feature = "alloc")]
mod ascent;
#[cfg(feature = "alloc")]
mod least_mass;
#[cfg(feature = "alloc")]
mod reach;

pub use combine::{Combination, at_radius, combine};
#[cfg(feature = "alloc")]
pub use least_mass::{LeastMass, LeastMassSplit, MassPrice, least_mass};
pub use moment::UnbalanceMoment;
pub use nearest_place::{MassStep, NearestPlace, nearest_place};
pub use neighbours::{Neighbours, neighbours, split_to_neighbours};
pub use other_plane::{OtherPlane, to_other_plane};
pub use place::{CappedPlace, Part, Place};
#[cfg(feature = "alloc")]
pub use reach::{NearestReachable, largest_reachable, nearest_reachable};
pub use replacement::Replacement;
pub use split::{Material, split, split_symmetric};
pub use statics::{PlaneUnbalance, StaticCouple, correction_in_two_planes, in_two_planes};
