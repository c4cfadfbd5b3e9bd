//! Rings of holes: where pieces can go, what each hole takes, and what is in it now.

use alloc::vec::Vec;

use crate::angle::RotorAngle;
use crate::error::PlacementError;
use crate::hole_circle::HoleCircle;
use crate::unit::{Length, Mass, Radius};

/// One hole: its place, its limits, and what is mounted in it now.
///
/// Limits are on the finished stack, with what stays of what is mounted. Something must end a stack: a limit here, or the
/// stock of every piece.
///
/// ```
/// use counterpoise::{Hole, Mass, Radius, RotorAngle};
/// let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK)
///     .limit_pieces(3)
///     .limit_mass(Mass::from_grams(15.0)?)
///     .mounted(&[1, 0, 0]);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct Hole {
    #[cfg_attr(feature = "serde", serde(rename = "radius_mm", with = "super::wire::radius_millimetres"))]
    pub(super) radius: Radius,
    pub(super) angle: RotorAngle,
    #[cfg_attr(
        feature = "serde",
        serde(
            rename = "most_mass_g",
            default,
            skip_serializing_if = "Option::is_none",
            with = "super::wire::optional_grams"
        )
    )]
    pub(super) most_mass: Option<Mass>,
    #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
    pub(super) most_pieces: Option<u32>,
    #[cfg_attr(
        feature = "serde",
        serde(
            rename = "most_height_mm",
            default,
            skip_serializing_if = "Option::is_none",
            with = "super::wire::optional_millimetres"
        )
    )]
    pub(super) most_height: Option<Length>,
    #[cfg_attr(feature = "serde", serde(default))]
    pub(super) least_pieces: u32,
    #[cfg_attr(feature = "serde", serde(default))]
    pub(super) blocked: bool,
    #[cfg_attr(feature = "serde", serde(default))]
    pub(super) mounted: Vec<u32>,
    #[cfg_attr(feature = "serde", serde(default = "super::wire::yes"))]
    pub(super) removable: bool,
    #[cfg_attr(feature = "serde", serde(default))]
    pub(super) symmetric: bool,
}

macro_rules! hole_setter {
    ($(#[$doc:meta])* $name:ident($($argument:ident: $Type:ty)?) $field:ident = $value:expr) => {
        $(#[$doc])*
        ///
        /// ```
        /// use counterpoise::{Hole, Length, Mass, Radius, RotorAngle};
        /// let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
        #[doc = hole_setter!(@example $name)]
        /// # Ok::<(), counterpoise::QuantityError>(())
        /// ```
        #[must_use]
        pub fn $name(self $(, $argument: $Type)?) -> Self {
            Self { $field: $value, ..self }
        }
    };
    (@example limit_mass) => { "let hole = hole.limit_mass(Mass::from_grams(15.0)?);" };
    (@example limit_pieces) => { "let hole = hole.limit_pieces(3);" };
    (@example limit_height) => { "let hole = hole.limit_height(Length::from_millimetres(8.0)?);" };
    (@example keep_pieces) => { "let hole = hole.limit_pieces(1).keep_pieces(1);" };
    (@example block) => { "let hole = hole.block();" };
    (@example mounted) => { "let hole = hole.mounted(&[0, 2]);" };
    (@example fixed) => { "let hole = hole.mounted(&[0, 2]).fixed();" };
    (@example symmetric) => { "let hole = hole.limit_pieces(4).symmetric();" };
}

impl Hole {
    /// A hole at a radius and a place, empty and without limits.
    ///
    /// ```
    /// # use counterpoise::{Hole, Radius, RotorAngle};
    /// let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
    /// assert_eq!(hole.radius().millimetres(), 120.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn new(radius: Radius, angle: RotorAngle) -> Self {
        Self {
            radius,
            angle,
            most_mass: None,
            most_pieces: None,
            most_height: None,
            least_pieces: 0,
            blocked: false,
            mounted: Vec::new(),
            removable: true,
            symmetric: false,
        }
    }

    /// The radius.
    ///
    /// ```
    /// # use counterpoise::{Hole, Radius, RotorAngle};
    /// # let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
    /// assert_eq!(hole.radius().millimetres(), 120.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn radius(&self) -> Radius {
        self.radius
    }

    /// The place on the rotor.
    ///
    /// ```
    /// # use counterpoise::{Hole, Radius, RotorAngle};
    /// # let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
    /// assert_eq!(hole.angle(), RotorAngle::MARK);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn angle(&self) -> RotorAngle {
        self.angle
    }

    /// Whether nothing may go in.
    ///
    /// ```
    /// # use counterpoise::{Hole, Radius, RotorAngle};
    /// # let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
    /// assert!(!hole.is_blocked());
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn is_blocked(&self) -> bool {
        self.blocked
    }

    /// The pieces that are in the hole now, one count per kind of hardware; empty where nothing was said.
    ///
    /// ```
    /// # use counterpoise::{Hole, Radius, RotorAngle};
    /// let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK).mounted(&[1, 0, 2]);
    /// assert_eq!(hole.pieces_mounted(), [1, 0, 2]);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn pieces_mounted(&self) -> &[u32] {
        &self.mounted
    }

    /// Of how many kinds of hardware it says what is in it, where that is another number than there are.
    pub(crate) fn counts_other_than(&self, kinds: usize) -> Option<usize> {
        Some(self.mounted.len()).filter(|&stated| stated != 0 && stated != kinds)
    }

    hole_setter! {
        /// The most mass of the finished stack; of material taken off, its size counts.
        limit_mass(most: Mass) most_mass = Some(most)
    }
    hole_setter! {
        /// The most pieces of the finished stack.
        limit_pieces(most: u32) most_pieces = Some(most)
    }
    hole_setter! {
        /// The greatest height of the finished stack, such as a bolt's grip length.
        limit_height(most: Length) most_height = Some(most)
    }
    hole_setter! {
        /// The fewest pieces of the finished stack, where the hole is touched at all: with a limit of one piece, screws are
        /// exchanged and never left out.
        keep_pieces(least: u32) least_pieces = least
    }
    hole_setter! {
        /// The hole stays as it is.
        block() blocked = true
    }
    hole_setter! {
        /// The pieces that are in the hole now, one count per kind of hardware. What is wanted is to be added to them.
        mounted(counts: &[u32]) mounted = counts.to_vec()
    }
    hole_setter! {
        /// What is mounted may not come off.
        fixed() removable = false
    }
    hole_setter! {
        /// The finished stack holds an even number of every kind: the same on both faces of the disc.
        symmetric() symmetric = true
    }
}

/// Holes in one correction plane.
///
/// ```
/// use counterpoise::{HoleCircle, HoleRing, Radius, RotorAngle, RotorSense};
/// let circle = HoleCircle::new(24, RotorAngle::MARK, RotorSense::AgainstRotation)?;
/// let ring = HoleRing::even(circle, Radius::from_millimetres(127.0)?).each(|hole| hole.limit_pieces(3));
/// assert_eq!(ring.holes().len(), 24);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct HoleRing {
    #[cfg_attr(feature = "serde", serde(default))]
    pub(super) plane: usize,
    pub(super) holes: Vec<Hole>,
}

impl HoleRing {
    /// Evenly spaced holes at one radius, in plane 0.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, HoleRing, Radius, RotorAngle, RotorSense};
    /// let circle = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// let ring = HoleRing::even(circle, Radius::from_millimetres(127.0)?);
    /// assert_eq!(ring.holes()[1].angle().with_rotation().degrees(), 60.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn even(circle: HoleCircle, radius: Radius) -> Self {
        Self { plane: 0, holes: circle.places().map(|place| Hole::new(radius, place)).collect() }
    }

    /// Holes one by one, in plane 0.
    ///
    /// ```
    /// # use counterpoise::{Hole, HoleRing, Radius, RotorAngle};
    /// let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
    /// assert_eq!(HoleRing::listed(vec![hole]).holes().len(), 1);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn listed(holes: Vec<Hole>) -> Self {
        Self { plane: 0, holes }
    }

    /// The same ring in another plane.
    ///
    /// ```
    /// # use counterpoise::HoleRing;
    /// assert_eq!(HoleRing::listed(vec![]).in_plane(1).plane(), 1);
    /// ```
    #[must_use]
    pub fn in_plane(self, plane: usize) -> Self {
        Self { plane, ..self }
    }

    /// The same ring with something said about every hole.
    ///
    /// ```
    /// # use counterpoise::{Hole, HoleRing, Radius, RotorAngle};
    /// let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
    /// let ring = HoleRing::listed(vec![hole]).each(|hole| hole.limit_pieces(2));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn each(self, change: impl FnMut(Hole) -> Hole) -> Self {
        Self { plane: self.plane, holes: self.holes.into_iter().map(change).collect() }
    }

    /// The same ring with something said about one hole, by its index; nothing where there is no such hole.
    ///
    /// ```
    /// # use counterpoise::{Hole, HoleRing, Radius, RotorAngle};
    /// let hole = Hole::new(Radius::from_millimetres(120.0)?, RotorAngle::MARK);
    /// let ring = HoleRing::listed(vec![hole]).at(0, |hole| hole.block());
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn at(mut self, index: usize, change: impl FnOnce(Hole) -> Hole) -> Self {
        if let Some(hole) = self.holes.get_mut(index) {
            *hole = change(hole.clone());
        }
        self
    }

    /// The plane, counted from 0.
    ///
    /// ```
    /// assert_eq!(counterpoise::HoleRing::listed(vec![]).plane(), 0);
    /// ```
    pub const fn plane(&self) -> usize {
        self.plane
    }

    /// The holes.
    ///
    /// ```
    /// assert!(counterpoise::HoleRing::listed(vec![]).holes().is_empty());
    /// ```
    pub fn holes(&self) -> &[Hole] {
        &self.holes
    }
}

/// The most holes that are taken.
const MOST_HOLES: usize = 20_000;
/// The most planes that are taken.
const MOST_PLANES: usize = 1000;

/// Refuses rings that no question can be asked about, with as many planes and kinds of hardware.
pub(super) fn check_rings(rings: &[HoleRing], planes: usize, items: usize) -> Result<(), PlacementError> {
    let holes: usize = rings.iter().map(|ring| ring.holes.len()).sum();
    if holes == 0 {
        return Err(PlacementError::NoHoles);
    }
    if holes > MOST_HOLES {
        return Err(PlacementError::TooManyHoles { holes, limit: MOST_HOLES });
    }
    if planes > MOST_PLANES {
        return Err(PlacementError::TooManyPlanes { planes, limit: MOST_PLANES });
    }
    for (ring, holes) in rings.iter().enumerate() {
        if holes.plane >= planes {
            return Err(PlacementError::PlaneOutOfRange { ring, plane: holes.plane, planes });
        }
        for (hole, stated) in holes.holes.iter().enumerate() {
            check_hole(ring, hole, stated, items)?;
        }
    }
    Ok(())
}

fn check_hole(ring: usize, hole: usize, stated: &Hole, items: usize) -> Result<(), PlacementError> {
    let negative = |what, value: f64| {
        if value < 0.0 { Err(PlacementError::BadLimit { what, ring, hole, value }) } else { Ok(()) }
    };
    negative("mass in g", stated.most_mass.map_or(0.0, Mass::grams))?;
    negative("height in mm", stated.most_height.map_or(0.0, Length::millimetres))?;
    match stated.counts_other_than(items) {
        Some(got) => Err(PlacementError::Mounted { ring, hole, expected: items, got }),
        None => Ok(()),
    }
}
