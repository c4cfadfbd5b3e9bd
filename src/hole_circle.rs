//! A ring of evenly spaced holes: which hole is where, and which holes a place lies between.

use core::fmt;

use crate::angle::{Angle, RotorAngle, RotorSense};
use crate::error::ViewError;
use crate::math;

/// Evenly spaced holes on the rotor, numbered in one sense.
///
/// An index counts the holes from 0 in the order of their numbers; a number is what is written beside the hole.
///
/// ```
/// use counterpoise::{HoleCircle, HoleNeighbours, RotorAngle, RotorSense};
/// let holes = HoleCircle::new(24, RotorAngle::MARK, RotorSense::AgainstRotation)?;
/// let place = RotorSense::AgainstRotation.degrees(96.0)?;
/// assert_eq!(holes.neighbours(place), HoleNeighbours::Between(6, 7));
/// assert_eq!(holes.numbered(holes.neighbours(place)).to_string(), "between holes 7 and 8");
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "wire::HoleCircle", into = "wire::HoleCircle")
)]
pub struct HoleCircle {
    count: u16,
    first: RotorAngle,
    sense: RotorSense,
    first_number: u16,
}

/// Where a place lies among the holes of a ring, by their indices.
///
/// ```
/// use counterpoise::{HoleCircle, HoleNeighbours, RotorAngle, RotorSense};
/// let holes = HoleCircle::new(4, RotorAngle::MARK, RotorSense::WithRotation)?;
/// assert_eq!(holes.neighbours(RotorSense::WithRotation.degrees(180.0)?), HoleNeighbours::At(2));
/// assert_eq!(holes.neighbours(RotorSense::WithRotation.degrees(300.0)?), HoleNeighbours::Between(3, 0));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HoleNeighbours {
    /// At this hole.
    At(u16),
    /// After the one and before the other, in the order of numbering. Twice the same hole where the ring has but one.
    Between(u16, u16),
}

/// Where a place lies among the holes of a ring, by the numbers beside them; prints as words.
///
/// ```
/// use counterpoise::NumberedHoles;
/// assert_eq!(NumberedHoles::At(6).to_string(), "at hole 6");
/// assert_eq!(NumberedHoles::Between(6, 7).to_string(), "between holes 6 and 7");
/// assert_eq!(NumberedHoles::Between(1, 1).to_string(), "away from hole 1");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NumberedHoles {
    /// At this hole.
    At(u32),
    /// After the one and before the other, in the order of numbering. Twice the same hole where the ring has but one.
    Between(u32, u32),
}

impl fmt::Display for NumberedHoles {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::At(number) => write!(f, "at hole {number}"),
            Self::Between(only, other) if only == other => write!(f, "away from hole {only}"),
            Self::Between(before, after) => write!(f, "between holes {before} and {after}"),
        }
    }
}

impl HoleCircle {
    /// How near to a hole a place counts as being at it, in degrees: far above rounding, far below what can be set.
    ///
    /// ```
    /// use counterpoise::{HoleCircle, HoleNeighbours, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(4, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// let beside = RotorSense::WithRotation.degrees(90.0 + 0.5 * HoleCircle::AT_TOLERANCE_DEGREES)?;
    /// assert_eq!(holes.neighbours(beside), HoleNeighbours::At(1));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const AT_TOLERANCE_DEGREES: f64 = 1e-9;

    /// A ring of `count` holes, the first of them at a place, the others following in a sense. The first is hole 1.
    ///
    /// # Errors
    /// [`ViewError::EmptyCircle`] for no holes.
    ///
    /// ```
    /// use counterpoise::{HoleCircle, RotorSense};
    /// let first = RotorSense::WithRotation.degrees(7.5)?;
    /// let holes = HoleCircle::new(24, first, RotorSense::WithRotation)?;
    /// assert_eq!(holes.number(0), Some(1));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn new(count: u16, first: RotorAngle, sense: RotorSense) -> Result<Self, ViewError> {
        if count == 0 {
            Err(ViewError::EmptyCircle)
        } else {
            Ok(Self { count, first, sense, first_number: 1 })
        }
    }

    /// The same ring with another number at its first hole; the others follow one by one.
    ///
    /// ```
    /// use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?.numbered_from(0);
    /// assert_eq!(holes.number(5), Some(5));
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    #[must_use]
    pub const fn numbered_from(self, first_number: u16) -> Self {
        Self { first_number, ..self }
    }

    /// How many holes there are: at least 1.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// assert_eq!(HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?.count(), 6);
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub const fn count(self) -> u16 {
        self.count
    }

    /// The place of the first hole.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// assert_eq!(HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?.first(), RotorAngle::MARK);
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub const fn first(self) -> RotorAngle {
        self.first
    }

    /// The sense in which the numbers rise.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::AgainstRotation)?;
    /// assert_eq!(holes.sense(), RotorSense::AgainstRotation);
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub const fn sense(self) -> RotorSense {
        self.sense
    }

    /// The place of a hole; `None` beyond the last.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(16, RotorAngle::MARK, RotorSense::AgainstRotation)?;
    /// assert_eq!(holes.place(3).map(|place| place.against_rotation().degrees()), Some(67.5));
    /// assert_eq!(holes.place(16), None);
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn place(self, index: u16) -> Option<RotorAngle> {
        (index < self.count).then(|| self.place_of(index))
    }

    /// The number of a hole; `None` beyond the last.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// assert_eq!((holes.number(5), holes.number(6)), (Some(6), None));
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn number(self, index: u16) -> Option<u32> {
        (index < self.count).then(|| self.number_of(index))
    }

    /// The index of the hole that bears a number, if one does.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// assert_eq!((holes.index_of(0), holes.index_of(6)), (None, Some(5)));
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn index_of(self, number: u32) -> Option<u16> {
        let index = u16::try_from(number.checked_sub(u32::from(self.first_number))?).ok()?;
        (index < self.count).then_some(index)
    }

    /// The index of the hole nearest to a place; half way between two, the one before it in the order of numbering.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// assert_eq!(holes.nearest(RotorSense::WithRotation.degrees(340.0)?), 0);
    /// assert_eq!(holes.nearest(RotorSense::WithRotation.degrees(90.0)?), 1);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn nearest(self, place: RotorAngle) -> u16 {
        let before = self.index_before(place);
        let after = self.next(before);
        let distance = |index| self.place_of(index).with_rotation().separation_degrees(place.with_rotation());
        if distance(after) < distance(before) { after } else { before }
    }

    /// The hole at a place, within [`AT_TOLERANCE_DEGREES`](Self::AT_TOLERANCE_DEGREES), or the two it lies between.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, HoleNeighbours, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// assert_eq!(holes.neighbours(RotorAngle::MARK), HoleNeighbours::At(0));
    /// assert_eq!(holes.neighbours(RotorSense::AgainstRotation.degrees(1.0)?), HoleNeighbours::Between(5, 0));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn neighbours(self, place: RotorAngle) -> HoleNeighbours {
        let nearest = self.nearest(place);
        let ahead = self.numbering_angle(self.place_of(nearest), place).signed_degrees();
        if ahead.abs() <= Self::AT_TOLERANCE_DEGREES {
            HoleNeighbours::At(nearest)
        } else if ahead > 0.0 {
            HoleNeighbours::Between(nearest, self.next(nearest))
        } else {
            HoleNeighbours::Between(self.previous(nearest), nearest)
        }
    }

    /// Indices as the numbers beside the holes, which print as words. Indices beyond the last hole go round the ring.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, HoleNeighbours, NumberedHoles, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// assert_eq!(holes.numbered(HoleNeighbours::Between(5, 0)), NumberedHoles::Between(6, 1));
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn numbered(self, neighbours: HoleNeighbours) -> NumberedHoles {
        // The count is never zero; `checked_rem` says so without a panic.
        let number = |index: u16| self.number_of(index.checked_rem(self.count).unwrap_or(0));
        match neighbours {
            HoleNeighbours::At(index) => NumberedHoles::At(number(index)),
            HoleNeighbours::Between(before, after) => NumberedHoles::Between(number(before), number(after)),
        }
    }

    /// The places of all holes, in the order of their numbers.
    ///
    /// ```
    /// # use counterpoise::{HoleCircle, RotorAngle, RotorSense};
    /// let holes = HoleCircle::new(4, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// let degrees: Vec<f64> = holes.places().map(|place| place.with_rotation().degrees()).collect();
    /// assert_eq!(degrees, [0.0, 90.0, 180.0, 270.0]);
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn places(self) -> impl ExactSizeIterator<Item = RotorAngle> + DoubleEndedIterator + Clone {
        (0..self.count).map(move |index| self.place_of(index))
    }

    /// Whether a place known to within `slack` degrees may lie where the numbers say.
    pub(crate) fn may_hold(
        self,
        holes: NumberedHoles,
        place: RotorAngle,
        slack: f64,
    ) -> Result<bool, ViewError> {
        match holes {
            NumberedHoles::At(number) => {
                let ahead = self.numbering_angle(self.place_of(self.known(number)?), place);
                Ok(ahead.signed_degrees().abs() <= slack)
            }
            NumberedHoles::Between(before, after) => {
                let (before, after) = (self.known(before)?, self.known(after)?);
                let ahead = self.numbering_angle(self.place_of(before), place).degrees();
                let inside = ahead <= 360.0 / f64::from(self.count) + slack || 360.0 - ahead <= slack;
                Ok(inside && self.next(before) == after)
            }
        }
    }

    /// The index of the hole that bears a number, or the error that none does.
    pub(crate) fn known(self, number: u32) -> Result<u16, ViewError> {
        self.index_of(number).ok_or(ViewError::NoSuchHole {
            number,
            lowest: self.number_of(0),
            highest: self.number_of(self.previous(0)),
        })
    }

    /// The place of a hole whose index is known to lie below the count.
    pub(crate) fn place_of(self, index: u16) -> RotorAngle {
        // β_i = β_0 ± i 360/n: the product is exact, so the quotient is rounded once.
        let offset = Angle::reduced(f64::from(index) * 360.0 / f64::from(self.count));
        let first = self.first.with_rotation();
        RotorAngle::from_with_rotation(match self.sense {
            RotorSense::WithRotation => first + offset,
            RotorSense::AgainstRotation => first - offset,
        })
    }

    fn number_of(self, index: u16) -> u32 {
        u32::from(self.first_number) + u32::from(index)
    }

    /// The angle from one place to another in the order of numbering.
    fn numbering_angle(self, from: RotorAngle, to: RotorAngle) -> Angle {
        match self.sense {
            RotorSense::WithRotation => to.with_rotation() - from.with_rotation(),
            RotorSense::AgainstRotation => from.with_rotation() - to.with_rotation(),
        }
    }

    /// The hole a place has last passed in the order of numbering, but for rounding.
    fn index_before(self, place: RotorAngle) -> u16 {
        let offset = self.numbering_angle(self.first, place).degrees();
        let index = math::floor(offset * f64::from(self.count) / 360.0);
        // The offset lies in [0, 360), so the index in 0..=count; a cast from float never wraps.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let index = index as u16;
        index.min(self.count - 1)
    }

    const fn next(self, index: u16) -> u16 {
        if index + 1 < self.count { index + 1 } else { 0 }
    }

    const fn previous(self, index: u16) -> u16 {
        if index == 0 { self.count - 1 } else { index - 1 }
    }
}

/// The form a ring is written in; read back through the same checks as everything.
#[cfg(feature = "serde")]
mod wire {
    use crate::angle::{RotorAngle, RotorSense};
    use crate::error::ViewError;

    #[derive(serde::Serialize, serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    pub(super) struct HoleCircle {
        count: u16,
        first: RotorAngle,
        sense: RotorSense,
        first_number: u16,
    }

    impl TryFrom<HoleCircle> for super::HoleCircle {
        type Error = ViewError;
        fn try_from(wire: HoleCircle) -> Result<Self, ViewError> {
            Ok(Self::new(wire.count, wire.first, wire.sense)?.numbered_from(wire.first_number))
        }
    }

    impl From<super::HoleCircle> for HoleCircle {
        fn from(ring: super::HoleCircle) -> Self {
            let super::HoleCircle { count, first, sense, first_number } = ring;
            Self { count, first, sense, first_number }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(degrees: f64) -> RotorAngle {
        RotorSense::WithRotation.degrees(degrees).unwrap()
    }

    #[test]
    fn one_hole_is_its_own_neighbour() {
        let ring = HoleCircle::new(1, with(10.0), RotorSense::AgainstRotation).unwrap();
        assert_eq!(ring.neighbours(with(10.0)), HoleNeighbours::At(0));
        for degrees in [0.0, 9.9, 10.1, 190.0, 359.0] {
            assert_eq!(ring.nearest(with(degrees)), 0);
            assert_eq!(ring.neighbours(with(degrees)), HoleNeighbours::Between(0, 0));
        }
        assert_eq!(ring.numbered(HoleNeighbours::Between(0, 0)).to_string(), "away from hole 1");
    }

    #[test]
    fn every_hole_of_every_ring_is_at_itself() {
        for count in [1, 2, 3, 7, 12, 24, 48, 360, 997] {
            for sense in [RotorSense::WithRotation, RotorSense::AgainstRotation] {
                let ring = HoleCircle::new(count, with(123.456), sense).unwrap().numbered_from(17);
                assert_eq!(ring.places().len(), usize::from(count));
                for (index, place) in (0..count).zip(ring.places()) {
                    assert_eq!(ring.place(index), Some(place));
                    assert_eq!(ring.nearest(place), index);
                    assert_eq!(ring.neighbours(place), HoleNeighbours::At(index));
                    assert_eq!(ring.index_of(ring.number(index).unwrap()), Some(index));
                }
                assert_eq!(ring.place(count), None);
                assert_eq!(ring.index_of(16), None);
                assert_eq!(ring.index_of(u32::from(count) + 17), None);
            }
        }
    }

    #[test]
    fn the_middle_between_two_holes_belongs_to_the_one_before_it() {
        let ring = HoleCircle::new(4, with(0.0), RotorSense::WithRotation).unwrap();
        assert_eq!(ring.nearest(with(45.0)), 0);
        assert_eq!(ring.nearest(with(315.0)), 3);
        let mirrored = HoleCircle::new(4, with(0.0), RotorSense::AgainstRotation).unwrap();
        assert_eq!(mirrored.nearest(with(45.0)), 3);
        assert_eq!(mirrored.neighbours(with(45.0)), HoleNeighbours::Between(3, 0));
    }

    #[test]
    fn the_tolerance_of_at_is_the_stated_one() {
        let ring = HoleCircle::new(8, with(0.0), RotorSense::WithRotation).unwrap();
        assert_eq!(ring.neighbours(with(45.0 - 0.9e-9)), HoleNeighbours::At(1));
        assert_eq!(ring.neighbours(with(45.0 - 1.1e-9)), HoleNeighbours::Between(0, 1));
        assert_eq!(ring.neighbours(with(45.0 + 1.1e-9)), HoleNeighbours::Between(1, 2));
        assert_eq!(ring.neighbours(with(-1e-12)), HoleNeighbours::At(0));
    }

    #[test]
    fn the_largest_ring_and_numbers_stay_in_range() {
        let ring = HoleCircle::new(u16::MAX, with(0.0), RotorSense::WithRotation).unwrap();
        let ring = ring.numbered_from(u16::MAX);
        assert_eq!(ring.number(u16::MAX - 1), Some(131_069));
        let below = f64::from_bits(360.0_f64.to_bits() - 1);
        assert_eq!(ring.nearest(with(below)), 0);
        assert_eq!(ring.numbered(HoleNeighbours::At(u16::MAX)), NumberedHoles::At(65_535));
    }

    #[test]
    fn places_of_exact_fractions_are_exact() {
        let ring = HoleCircle::new(16, with(0.0), RotorSense::AgainstRotation).unwrap();
        for (index, place) in (0_u16..).zip(ring.places()) {
            assert_eq!(place.against_rotation().degrees(), 22.5 * f64::from(index));
        }
    }

    #[cfg(feature = "serde")]
    #[test]
    fn a_ring_comes_back_from_its_record() {
        let ring = HoleCircle::new(24, with(7.5), RotorSense::AgainstRotation).unwrap().numbered_from(0);
        let text = serde_json::to_string(&ring).unwrap();
        assert_eq!(
            text,
            r#"{"count":24,"first":{"with_rotation_deg":7.5},"sense":"against_rotation","first_number":0}"#
        );
        assert_eq!(serde_json::from_str::<HoleCircle>(&text).unwrap(), ring);
        let error = serde_json::from_str::<HoleCircle>(&text.replace("24", "0")).unwrap_err();
        assert_eq!(error.to_string(), "a ring of holes must have at least one hole: give their number");
    }
}
