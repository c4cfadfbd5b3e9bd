//! The rotor as a person sees it: where they stand, which way it turns from there, and where its mark is.

use core::fmt;

use crate::angle::{Angle, RotorAngle, RotorSense};
use crate::error::ViewError;
use crate::hole_circle::HoleCircle;
use crate::location::{self, Location};

/// Which way the rotor turns, as seen from a viewpoint.
///
/// ```
/// use counterpoise::Turning;
/// assert_eq!(Turning::CounterClockwise.to_string(), "counter-clockwise");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum Turning {
    /// As the hands of a clock.
    Clockwise,
    /// The other way.
    CounterClockwise,
}

impl Turning {
    /// The other way: what a person on the other side sees.
    ///
    /// ```
    /// # use counterpoise::Turning;
    /// assert_eq!(Turning::Clockwise.reversed(), Turning::CounterClockwise);
    /// ```
    #[must_use]
    pub const fn reversed(self) -> Self {
        match self {
            Self::Clockwise => Self::CounterClockwise,
            Self::CounterClockwise => Self::Clockwise,
        }
    }

    /// In words: `clockwise` or `counter-clockwise`.
    ///
    /// ```
    /// # use counterpoise::Turning;
    /// assert_eq!(Turning::Clockwise.words(), "clockwise");
    /// ```
    pub const fn words(self) -> &'static str {
        match self {
            Self::Clockwise => "clockwise",
            Self::CounterClockwise => "counter-clockwise",
        }
    }

    /// An angle counted clockwise, as counted with rotation; and back, for it is its own inverse.
    fn mirrored(self, angle: Angle) -> Angle {
        match self {
            Self::Clockwise => angle,
            Self::CounterClockwise => -angle,
        }
    }
}

impl fmt::Display for Turning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// Where the person stands who looks along the axis of the rotor.
///
/// ```
/// use counterpoise::Viewpoint;
/// let viewpoint = Viewpoint::named("the drive end", "the free end")?;
/// assert_eq!(viewpoint.other_side().words(), "the free end");
/// assert_eq!(Viewpoint::Front.other_side(), Viewpoint::Rear);
/// # Ok::<(), counterpoise::ViewError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Viewpoint {
    /// Ahead of the propeller, looking aft.
    Front,
    /// Behind the propeller, looking forward, as from the seat behind a tractor propeller.
    Rear,
    /// In the caller's own words.
    Named(NamedViewpoint),
}

/// The caller's own words for the two sides from which a rotor is seen. Made by [`Viewpoint::named`].
///
/// ```
/// use counterpoise::Viewpoint;
/// let viewpoint = Viewpoint::named("the drive end", "the free end")?;
/// assert!(matches!(viewpoint, Viewpoint::Named(named) if named.words() == "the drive end"));
/// # Ok::<(), counterpoise::ViewError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct NamedViewpoint {
    words: &'static str,
    other_side: &'static str,
}

impl NamedViewpoint {
    /// The words for the side on which the person stands.
    ///
    /// ```
    /// # use counterpoise::Viewpoint;
    /// let viewpoint = Viewpoint::named("the drive end", "the free end")?;
    /// assert_eq!(viewpoint.words(), "the drive end");
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub const fn words(self) -> &'static str {
        self.words
    }
}

impl Viewpoint {
    /// A viewpoint in the caller's own words, which follow "seen from", and those for the side across the rotor.
    ///
    /// # Errors
    /// [`ViewError::BadViewpoint`] where words are empty, hold a comma or a line break, begin or end with a space, or
    /// where the two are the same: they could not be told apart when they are read back.
    ///
    /// ```
    /// # use counterpoise::Viewpoint;
    /// assert_eq!(Viewpoint::named("the cabin", "the nose")?.words(), "the cabin");
    /// assert_eq!(
    ///     Viewpoint::named("left, behind", "right").unwrap_err().to_string(),
    ///     "a viewpoint cannot be called \"left, behind\": give each side its own words, with no comma, \
    ///      no line break and no space at either end",
    /// );
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn named(words: &'static str, other_side: &'static str) -> Result<Self, ViewError> {
        for side in [words, other_side] {
            if side.is_empty() || side.trim() != side || side.contains(|c: char| c == ',' || c.is_control()) {
                return Err(ViewError::BadViewpoint { words: side });
            }
        }
        if words == other_side {
            return Err(ViewError::BadViewpoint { words });
        }
        Ok(Self::Named(NamedViewpoint { words, other_side }))
    }

    /// The viewpoint across the rotor.
    ///
    /// ```
    /// # use counterpoise::Viewpoint;
    /// assert_eq!(Viewpoint::Rear.other_side(), Viewpoint::Front);
    /// ```
    #[must_use]
    pub const fn other_side(self) -> Self {
        match self {
            Self::Front => Self::Rear,
            Self::Rear => Self::Front,
            Self::Named(NamedViewpoint { words, other_side }) => {
                Self::Named(NamedViewpoint { words: other_side, other_side: words })
            }
        }
    }

    /// The words that follow "seen from".
    ///
    /// ```
    /// # use counterpoise::Viewpoint;
    /// assert_eq!(Viewpoint::Front.words(), "the front");
    /// ```
    pub const fn words(self) -> &'static str {
        match self {
            Self::Front => "the front",
            Self::Rear => "the rear",
            Self::Named(named) => named.words,
        }
    }
}

impl fmt::Display for Viewpoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// How a person sees the rotor at rest, ready for the work: it turns any place on the rotor into words, and back.
///
/// A *seen angle* is counted clockwise from the top, as the hours on a clock.
///
/// ```
/// use counterpoise::{Angle, HoleCircle, RotorAngle, RotorSense, Turning, View, Viewpoint};
/// let holes = HoleCircle::new(24, RotorSense::AgainstRotation.degrees(15.0)?, RotorSense::AgainstRotation)?;
/// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO).with_holes(holes);
///
/// let place = RotorSense::AgainstRotation.degrees(96.0)?;
/// let words = view.locate(place, RotorSense::AgainstRotation).to_string();
/// assert_eq!(
///     words,
///     "seen from the front, turning clockwise, 96 deg against rotation from the mark, between holes 6 and 7",
/// );
/// assert_eq!(view.read(&words)?, place);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    viewpoint: Viewpoint,
    turning: Turning,
    mark: Angle,
    holes: Option<HoleCircle>,
}

impl View {
    /// A view from a viewpoint, of a rotor that turns that way as seen from there, and whose mark stands at that seen
    /// angle when the rotor is at rest for the work: 0 degrees for a mark at 12 o'clock.
    ///
    /// ```
    /// use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Rear, Turning::Clockwise, Angle::from_degrees(90.0)?);
    /// assert_eq!(view.mark().degrees(), 90.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn new(viewpoint: Viewpoint, turning: Turning, mark: Angle) -> Self {
        Self { viewpoint, turning, mark, holes: None }
    }

    /// The same view of a rotor with a ring of holes, which then appear in the words.
    ///
    /// ```
    /// # use counterpoise::{Angle, HoleCircle, RotorAngle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// assert_eq!(view.with_holes(holes).holes(), Some(holes));
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    #[must_use]
    pub const fn with_holes(self, holes: HoleCircle) -> Self {
        Self { holes: Some(holes), ..self }
    }

    /// The view of the same rotor, at rest as it is, by a person across it: it turns the other way, and every seen
    /// angle is mirrored.
    ///
    /// ```
    /// # use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::from_degrees(30.0)?);
    /// let rear = view.from_the_other_side();
    /// assert_eq!((rear.viewpoint(), rear.turning()), (Viewpoint::Rear, Turning::CounterClockwise));
    /// assert_eq!(rear.mark().degrees(), 330.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn from_the_other_side(self) -> Self {
        Self {
            viewpoint: self.viewpoint.other_side(),
            turning: self.turning.reversed(),
            mark: -self.mark,
            holes: self.holes,
        }
    }

    /// Where the person stands.
    ///
    /// ```
    /// # use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// assert_eq!(view.viewpoint(), Viewpoint::Front);
    /// ```
    pub const fn viewpoint(&self) -> Viewpoint {
        self.viewpoint
    }

    /// Which way the rotor turns as seen from there.
    ///
    /// ```
    /// # use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// assert_eq!(view.turning(), Turning::Clockwise);
    /// ```
    pub const fn turning(&self) -> Turning {
        self.turning
    }

    /// The seen angle at which the mark stands.
    ///
    /// ```
    /// # use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// assert_eq!(view.mark(), Angle::ZERO);
    /// ```
    pub const fn mark(&self) -> Angle {
        self.mark
    }

    /// The holes in view, if there are any.
    ///
    /// ```
    /// # use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// assert_eq!(view.holes(), None);
    /// ```
    pub const fn holes(&self) -> Option<HoleCircle> {
        self.holes
    }

    /// A place on the rotor as this person finds it, with its angle from the mark counted in a sense.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Rear, Turning::Clockwise, Angle::ZERO);
    /// let place = RotorSense::WithRotation.degrees(217.0)?;
    /// let location = view.locate(place, RotorSense::AgainstRotation);
    /// assert_eq!(location.to_string(), "seen from the rear, turning clockwise, 143 deg against rotation from the mark");
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn locate(&self, place: RotorAngle, sense: RotorSense) -> Location {
        Location::new(*self, place, sense)
    }

    /// The seen angle of a place on the rotor at rest: clockwise from the top.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::CounterClockwise, Angle::from_degrees(90.0)?);
    /// assert_eq!(view.seen(RotorSense::WithRotation.degrees(30.0)?).degrees(), 60.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn seen(&self, place: RotorAngle) -> Angle {
        // σ = μ ± β: + where the rotor turns clockwise
        match self.turning {
            Turning::Clockwise => self.mark + place.with_rotation(),
            Turning::CounterClockwise => self.mark - place.with_rotation(),
        }
    }

    /// The place on the rotor that stands at a seen angle.
    ///
    /// ```
    /// # use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::CounterClockwise, Angle::from_degrees(90.0)?);
    /// let place = view.place_seen_at(Angle::from_degrees(60.0)?);
    /// assert_eq!(place.with_rotation().degrees(), 30.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn place_seen_at(&self, seen: Angle) -> RotorAngle {
        // β = ±(σ − μ): + where the rotor turns clockwise
        RotorAngle::from_with_rotation(match self.turning {
            Turning::Clockwise => seen - self.mark,
            Turning::CounterClockwise => self.mark - seen,
        })
    }

    /// The place at any finite number of degrees from the mark, counted in a sense. It is the same from every view.
    ///
    /// # Errors
    /// [`ViewError::Quantity`] for NaN and the infinities.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// let place = view.place_from_mark(96.0, RotorSense::AgainstRotation)?;
    /// assert_eq!(place.with_rotation().degrees(), 264.0);
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn place_from_mark(&self, degrees: f64, sense: RotorSense) -> Result<RotorAngle, ViewError> {
        Ok(sense.degrees(degrees)?)
    }

    /// The place of the hole that bears a number.
    ///
    /// # Errors
    /// [`ViewError::WithoutHoles`] where the view has no holes, [`ViewError::NoSuchHole`] where none bears the number.
    ///
    /// ```
    /// # use counterpoise::{Angle, HoleCircle, RotorAngle, RotorSense, Turning, View, Viewpoint};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO).with_holes(holes);
    /// assert_eq!(view.place_of_hole(2)?.with_rotation().degrees(), 60.0);
    /// assert_eq!(
    ///     view.place_of_hole(7).unwrap_err().to_string(),
    ///     "there is no hole 7: the holes are numbered 1 to 6",
    /// );
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn place_of_hole(&self, number: u32) -> Result<RotorAngle, ViewError> {
        let holes = self.holes.ok_or(ViewError::WithoutHoles { number })?;
        holes.known(number).map(|index| holes.place_of(index))
    }

    /// A fixed direction seen clockwise from the top, such as that of a sensor, as an angle counted with rotation from
    /// the top: what a [`Sensor`](crate::first_weight::Sensor) asks for.
    ///
    /// ```
    /// # use counterpoise::{Angle, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Rear, Turning::CounterClockwise, Angle::ZERO);
    /// let sensor_at_three_o_clock = Angle::from_degrees(90.0)?;
    /// assert_eq!(view.space_angle(sensor_at_three_o_clock).degrees(), 270.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn space_angle(&self, seen: Angle) -> Angle {
        self.turning.mirrored(seen)
    }

    /// Reads the words of a [`Location`] back: the place, to the precision at which its angle from the mark was printed.
    ///
    /// Everything else in the words is checked against the view. Holes in the words need holes in the view.
    ///
    /// # Errors
    /// [`ViewError::Unreadable`] where the words are not those of a location; [`ViewError::OtherViewpoint`],
    /// [`ViewError::OtherTurning`], [`ViewError::OtherHoles`], [`ViewError::OtherMark`], [`ViewError::OtherSeenAngle`],
    /// [`ViewError::OtherHour`], [`ViewError::NoSuchHole`] or [`ViewError::WithoutHoles`] where they contradict the view.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// let place = view.read("seen from the front, turning clockwise, 30.5 deg with rotation from the mark")?;
    /// assert_eq!(place.with_rotation().degrees(), 30.5);
    /// let words = view.locate(place, RotorSense::WithRotation).to_string();
    /// assert_eq!(
    ///     view.from_the_other_side().read(&words).unwrap_err().to_string(),
    ///     "the words are for a person who sees the rotor from the front, the view is from the rear: \
    ///      read them in the view from there",
    /// );
    /// # Ok::<(), counterpoise::ViewError>(())
    /// ```
    pub fn read(&self, words: &str) -> Result<RotorAngle, ViewError> {
        location::read(self, words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn angle(degrees: f64) -> Angle {
        Angle::from_degrees(degrees).unwrap()
    }

    #[test]
    fn a_clockwise_rotor_carries_its_points_clockwise() {
        let view = View::new(Viewpoint::Front, Turning::Clockwise, angle(350.0));
        assert_eq!(view.seen(RotorAngle::MARK).degrees(), 350.0);
        assert_eq!(view.seen(RotorSense::WithRotation.degrees(100.0).unwrap()).degrees(), 90.0);
        assert_eq!(view.seen(RotorSense::AgainstRotation.degrees(80.0).unwrap()).degrees(), 270.0);
        assert_eq!(view.place_seen_at(angle(90.0)).with_rotation().degrees(), 100.0);
    }

    #[test]
    fn the_other_side_mirrors_what_is_seen_and_keeps_what_is() {
        let view = View::new(Viewpoint::Rear, Turning::CounterClockwise, angle(40.0));
        let other = view.from_the_other_side();
        let place = RotorSense::WithRotation.degrees(75.0).unwrap();
        assert_eq!(view.seen(place).degrees(), 325.0);
        assert_eq!(other.seen(place).degrees(), 35.0);
        assert_eq!(other.from_the_other_side(), view);
        assert_eq!(view.space_angle(angle(90.0)), angle(270.0));
        assert_eq!(other.space_angle(angle(270.0)), angle(270.0));
    }

    #[test]
    fn a_viewpoint_without_words_of_its_own_is_refused() {
        for (words, other) in
            [("", "rear"), ("a", ""), ("a,b", "c"), (" a", "b"), ("a", "b "), ("a\nb", "c"), ("a", "a")]
        {
            assert_eq!(Viewpoint::named(words, other).unwrap_err().code(), 702, "{words:?} {other:?}");
        }
    }

    #[test]
    fn a_hole_needs_a_ring() {
        let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
        assert_eq!(
            view.place_of_hole(3).unwrap_err().to_string(),
            "hole 3 means nothing to a view without holes: give the view its ring of holes"
        );
    }

    #[test]
    fn degrees_that_are_no_number_keep_their_own_error() {
        let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
        let error = view.place_from_mark(f64::NAN, RotorSense::WithRotation).unwrap_err();
        assert_eq!(error.code(), 101);
        assert_eq!(
            error.to_string(),
            "angle must be a finite number, got NaN: check where the number comes from"
        );
    }
}
