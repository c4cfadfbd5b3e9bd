//! A place on the rotor in words that a person can act on, and the way back.

use core::fmt::{self, Write as _};

use crate::angle::{Angle, RotorAngle, RotorSense};
use crate::error::ViewError;
use crate::hole_circle::{HoleCircle, NumberedHoles};
use crate::math;
use crate::view::{Turning, View, Viewpoint};

/// A place on the rotor as the person of a [`View`] finds it. Made by [`View::locate`].
///
/// It prints with the precision of the formatter, to a whole degree without one, and never as 360. The alternate form
/// adds where the place is seen when the mark stands as the view says. The full angle stays in the location;
/// [`View::read`] takes either form back.
///
/// ```
/// use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
/// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
/// let location = view.locate(RotorSense::AgainstRotation.degrees(96.25)?, RotorSense::AgainstRotation);
/// assert_eq!(
///     format!("{location:.1}"),
///     "seen from the front, turning clockwise, 96.2 deg against rotation from the mark",
/// );
/// assert_eq!(
///     format!("{location:#}"),
///     "seen from the front, turning clockwise, 96 deg against rotation from the mark; \
///      with the mark 0 deg clockwise from the top it is at 264 deg, about 9 o'clock",
/// );
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Location {
    view: View,
    place: RotorAngle,
    sense: RotorSense,
}

// The words, for printing and reading alike.
const SEEN_FROM: &str = "seen from ";
const TURNING: &str = ", turning ";
const DEGREES: &str = " deg ";
const FROM_THE_MARK: &str = " from the mark";
const WITH_THE_MARK: &str = "; with the mark ";
const FROM_THE_TOP: &str = " deg clockwise from the top it is at ";
const ABOUT: &str = " deg, about ";
const O_CLOCK: &str = " o'clock";

impl Location {
    pub(crate) const fn new(view: View, place: RotorAngle, sense: RotorSense) -> Self {
        Self { view, place, sense }
    }

    /// The view it is described for.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorAngle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// assert_eq!(view.locate(RotorAngle::MARK, RotorSense::WithRotation).view(), view);
    /// ```
    pub const fn view(&self) -> View {
        self.view
    }

    /// The place itself, to the last digit.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// let place = RotorSense::WithRotation.degrees(12.3456789)?;
    /// assert_eq!(view.locate(place, RotorSense::AgainstRotation).place(), place);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn place(&self) -> RotorAngle {
        self.place
    }

    /// The sense in which its angle from the mark is counted.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorAngle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// assert_eq!(view.locate(RotorAngle::MARK, RotorSense::WithRotation).sense(), RotorSense::WithRotation);
    /// ```
    pub const fn sense(&self) -> RotorSense {
        self.sense
    }

    /// Its angle from the mark, in its sense.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// let location = view.locate(RotorSense::WithRotation.degrees(264.0)?, RotorSense::AgainstRotation);
    /// assert_eq!(location.from_mark().degrees(), 96.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn from_mark(&self) -> Angle {
        self.place.in_sense(self.sense)
    }

    /// Its seen angle: clockwise from the top, with the mark where the view says.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// let location = view.locate(RotorSense::AgainstRotation.degrees(96.0)?, RotorSense::AgainstRotation);
    /// assert_eq!(location.seen().degrees(), 264.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn seen(&self) -> Angle {
        self.view.seen(self.place)
    }

    /// The hour of a clock, 1 to 12, that its seen angle is nearest to; half way, the later.
    ///
    /// ```
    /// # use counterpoise::{Angle, RotorSense, Turning, View, Viewpoint};
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
    /// assert_eq!(view.locate(RotorSense::WithRotation.degrees(119.0)?, RotorSense::WithRotation).hour(), 4);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn hour(&self) -> u8 {
        let hour = math::floor(self.seen().degrees() / 30.0 + 0.5);
        // The hour lies in 0..=12; a cast from float never wraps.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let hour = hour as u8;
        if hour == 0 { 12 } else { hour }
    }

    /// The hole it is at, or the two it lies between; `None` where the view has no holes.
    ///
    /// ```
    /// # use counterpoise::{Angle, HoleCircle, NumberedHoles, RotorAngle, RotorSense, Turning, View, Viewpoint};
    /// let holes = HoleCircle::new(6, RotorAngle::MARK, RotorSense::WithRotation)?;
    /// let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO).with_holes(holes);
    /// let location = view.locate(RotorSense::WithRotation.degrees(70.0)?, RotorSense::WithRotation);
    /// assert_eq!(location.holes(), Some(NumberedHoles::Between(2, 3)));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn holes(&self) -> Option<NumberedHoles> {
        self.view.holes().map(|ring| ring.numbered(ring.neighbours(self.place)))
    }
}

impl fmt::Display for Location {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{SEEN_FROM}{}{TURNING}{}, ", self.view.viewpoint(), self.view.turning())?;
        write_degrees(f, self.from_mark())?;
        write!(f, "{DEGREES}{}{FROM_THE_MARK}", self.sense.words())?;
        if let Some(holes) = self.holes() {
            write!(f, ", {holes}")?;
        }
        if f.alternate() {
            f.write_str(WITH_THE_MARK)?;
            write_degrees(f, self.view.mark())?;
            f.write_str(FROM_THE_TOP)?;
            write_degrees(f, self.seen())?;
            write!(f, "{ABOUT}{}{O_CLOCK}", self.hour())?;
        }
        Ok(())
    }
}

/// Degrees with the formatter's precision, none without one; what rounds to 360 is printed as 0.
fn write_degrees(f: &mut fmt::Formatter<'_>, angle: Angle) -> fmt::Result {
    let precision = f.precision().unwrap_or(0);
    let mut leading = Leading { digits: [0; 3], length: 0 };
    write!(leading, "{:.precision$}", angle.degrees())?;
    // The angle lies below 360, so a number that begins so was rounded up to the full turn.
    let degrees = if leading.digits == *b"360" { 0.0 } else { angle.degrees() };
    write!(f, "{degrees:.precision$}")
}

/// Keeps the first three bytes of what is written, so that a rounding is judged by what will be printed.
struct Leading {
    digits: [u8; 3],
    length: usize,
}

impl fmt::Write for Leading {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for &byte in text.as_bytes() {
            let Some(digit) = self.digits.get_mut(self.length) else { break };
            *digit = byte;
            self.length += 1;
        }
        Ok(())
    }
}

/// The place that the words of a location describe, after everything in them is checked against the view.
pub(crate) fn read(view: &View, words: &str) -> Result<RotorAngle, ViewError> {
    let mut reader = Reader { words: words.trim_end(), at: words.len() - words.trim_start().len() };
    reader.expect(SEEN_FROM)?;
    reader.viewpoint(view.viewpoint())?;
    reader.expect(TURNING)?;
    reader.turning(view.turning())?;
    reader.expect(", ")?;
    let degrees = reader.degrees()?;
    reader.expect(DEGREES)?;
    let sense = reader.sense()?;
    reader.expect(FROM_THE_MARK)?;
    let place = sense.angle(degrees.angle);
    if let Some(holes) = reader.holes()? {
        let (NumberedHoles::At(number) | NumberedHoles::Between(number, _)) = holes;
        let ring = view.holes().ok_or(ViewError::WithoutHoles { number })?;
        // The words tell the place only to within half a printed unit; twice the tolerance leaves room for rounding.
        if !ring.may_hold(holes, place, degrees.slack + 2.0 * HoleCircle::AT_TOLERANCE_DEGREES)? {
            return Err(ViewError::OtherHoles {
                degrees: degrees.angle.degrees(),
                sense: sense.words(),
                view: ring.numbered(ring.neighbours(place)),
                words: holes,
            });
        }
    }
    if reader.takes(WITH_THE_MARK) {
        let mark = reader.degrees()?;
        reader.expect(FROM_THE_TOP)?;
        let seen = reader.degrees()?;
        reader.expect(ABOUT)?;
        let hour = reader.whole("an hour")?;
        reader.expect(O_CLOCK)?;
        if !mark.may_be(view.mark(), 0.0) {
            return Err(ViewError::OtherMark {
                view_degrees: view.mark().degrees(),
                words_degrees: mark.angle.degrees(),
            });
        }
        if !seen.may_be(view.seen(place), degrees.slack) {
            return Err(ViewError::OtherSeenAngle {
                view_degrees: view.seen(place).degrees(),
                words_degrees: seen.angle.degrees(),
            });
        }
        let of_the_hour = Angle::reduced(30.0 * f64::from(hour));
        if !(1..=12).contains(&hour) || !seen.may_be(of_the_hour, 15.0) {
            return Err(ViewError::OtherHour { degrees: seen.angle.degrees(), hour });
        }
    }
    if reader.rest().is_empty() { Ok(place) } else { Err(reader.unreadable("the end of the words")) }
}

/// Degrees as they were printed, and how far the angle behind them may lie from them.
struct Printed {
    angle: Angle,
    slack: f64,
}

impl Printed {
    /// Whether these degrees may have been printed for an angle that is itself known to within `slack` degrees.
    fn may_be(&self, angle: Angle, slack: f64) -> bool {
        // The last term stands for rounding in sums of angles below 360.
        self.angle.separation_degrees(angle) <= self.slack + slack + 1e-9
    }
}

/// Reads along a text, from byte `at`.
struct Reader<'a> {
    words: &'a str,
    at: usize,
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.words.get(self.at..).unwrap_or("")
    }

    fn unreadable(&self, expected: &'static str) -> ViewError {
        ViewError::Unreadable { at: self.at, expected }
    }

    /// Whether the rest begins so; if it does, it is passed.
    fn takes(&mut self, text: &str) -> bool {
        let begins = self.rest().starts_with(text);
        if begins {
            self.at += text.len();
        }
        begins
    }

    fn expect(&mut self, text: &'static str) -> Result<(), ViewError> {
        if self.takes(text) { Ok(()) } else { Err(self.unreadable(text)) }
    }

    fn viewpoint(&mut self, expected: Viewpoint) -> Result<(), ViewError> {
        // No words for a viewpoint hold a comma.
        let from = self.rest().split(',').next().unwrap_or("");
        let view = expected.words();
        for known in [expected, expected.other_side(), Viewpoint::Front, Viewpoint::Rear] {
            let words = known.words();
            if from == words {
                self.at += words.len();
                return if words == view { Ok(()) } else { Err(ViewError::OtherViewpoint { view, words }) };
            }
        }
        Err(self.unreadable(view))
    }

    fn turning(&mut self, expected: Turning) -> Result<(), ViewError> {
        if self.takes(expected.words()) {
            Ok(())
        } else if self.takes(expected.reversed().words()) {
            Err(ViewError::OtherTurning { view: expected.words(), words: expected.reversed().words() })
        } else {
            Err(self.unreadable(expected.words()))
        }
    }

    fn sense(&mut self) -> Result<RotorSense, ViewError> {
        for sense in [RotorSense::WithRotation, RotorSense::AgainstRotation] {
            if self.takes(sense.words()) {
                return Ok(sense);
            }
        }
        Err(self.unreadable("with rotation, or against it"))
    }

    fn holes(&mut self) -> Result<Option<NumberedHoles>, ViewError> {
        const NUMBER: &str = "the number of a hole";
        if self.takes(", at hole ") {
            Ok(Some(NumberedHoles::At(self.whole(NUMBER)?)))
        } else if self.takes(", away from hole ") {
            let only = self.whole(NUMBER)?;
            Ok(Some(NumberedHoles::Between(only, only)))
        } else if self.takes(", between holes ") {
            let before = self.whole(NUMBER)?;
            self.expect(" and ")?;
            Ok(Some(NumberedHoles::Between(before, self.whole(NUMBER)?)))
        } else {
            Ok(None)
        }
    }

    /// The digits that come next; there may be none.
    fn digits(&mut self) -> &'a str {
        let rest = self.rest();
        let length = rest.bytes().take_while(u8::is_ascii_digit).count();
        self.at += length;
        rest.get(..length).unwrap_or("")
    }

    fn whole(&mut self, expected: &'static str) -> Result<u32, ViewError> {
        let error = self.unreadable(expected);
        self.digits().parse().map_err(|_| error)
    }

    /// Degrees below a full turn, without sign or exponent, as they are printed.
    fn degrees(&mut self) -> Result<Printed, ViewError> {
        let error = self.unreadable("degrees from 0 to below 360");
        let text = self.rest();
        let whole = self.digits().len();
        let (pointed, decimals) = (self.takes("."), self.digits().len());
        if whole == 0 || pointed != (decimals > 0) {
            return Err(error);
        }
        let length = whole + usize::from(pointed) + decimals;
        let number = text.get(..length).and_then(|text| text.parse::<f64>().ok());
        match number {
            Some(degrees) if degrees < 360.0 => {
                // Beyond 300 decimals the slack is nothing in any case.
                let decimals = i32::try_from(decimals).unwrap_or(300).min(300);
                // half a unit of the last place: 0.5 · 10⁻ᵈ
                Ok(Printed { angle: Angle::reduced(degrees), slack: 0.5 / math::power(10.0, decimals) })
            }
            _ => Err(error),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn angle(degrees: f64) -> Angle {
        Angle::from_degrees(degrees).unwrap()
    }

    fn against(degrees: f64) -> RotorAngle {
        RotorSense::AgainstRotation.degrees(degrees).unwrap()
    }

    /// From the front, clockwise, the mark at the top, hole 1 at the mark and 24 holes against rotation.
    fn view() -> View {
        let ring = HoleCircle::new(24, RotorAngle::MARK, RotorSense::AgainstRotation).unwrap();
        View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO).with_holes(ring)
    }

    fn refused(words: &str) -> ViewError {
        view().read(words).unwrap_err()
    }

    #[test]
    fn a_full_turn_is_never_printed() {
        let bare = View::new(Viewpoint::Front, Turning::Clockwise, angle(359.97));
        let location = bare.locate(against(359.96), RotorSense::AgainstRotation);
        assert_eq!(
            format!("{location:.1}"),
            "seen from the front, turning clockwise, 0.0 deg against rotation from the mark"
        );
        assert!(format!("{location:.2}").contains(" 359.96 deg "));
        assert!(format!("{location}").contains(" 0 deg "));
        assert!(format!("{location:#.1}").contains("with the mark 0.0 deg clockwise"));
        // A half rounds to the even neighbour, which here is the full turn.
        let half = bare.locate(against(359.5), RotorSense::AgainstRotation);
        assert!(format!("{half}").contains(" 0 deg "));
        assert!(bare.read(&format!("{half:#}")).is_ok());
    }

    #[test]
    fn a_hole_is_named_when_the_place_is_at_it() {
        let location = view().locate(against(90.0), RotorSense::WithRotation);
        assert_eq!(
            location.to_string(),
            "seen from the front, turning clockwise, 270 deg with rotation from the mark, at hole 7"
        );
        assert_eq!(view().read(&location.to_string()).unwrap(), against(90.0));
    }

    #[test]
    fn the_printed_angle_may_round_across_a_hole() {
        // Holes 2 and 3 of 17 are at 21.18 and 42.35 degrees: 21.4 is beyond hole 2, its rounded 21 is not.
        let ring = HoleCircle::new(17, RotorAngle::MARK, RotorSense::AgainstRotation).unwrap();
        let view = View::new(Viewpoint::Rear, Turning::Clockwise, Angle::ZERO).with_holes(ring);
        let words = view.locate(against(21.4), RotorSense::AgainstRotation).to_string();
        assert!(words.ends_with("21 deg against rotation from the mark, between holes 2 and 3"));
        assert_eq!(view.read(&words).unwrap(), against(21.0));
        // With more decimals the same holes are a contradiction.
        let finer = words.replace("21 deg", "21.0 deg");
        assert_eq!(view.read(&finer).unwrap_err().code(), 708);
    }

    #[test]
    fn the_only_hole_is_read_back() {
        let ring = HoleCircle::new(1, RotorAngle::MARK, RotorSense::WithRotation).unwrap().numbered_from(4);
        let view = View::new(Viewpoint::Front, Turning::CounterClockwise, Angle::ZERO).with_holes(ring);
        let words = view.locate(against(200.0), RotorSense::AgainstRotation).to_string();
        assert!(words.ends_with(", away from hole 4"));
        assert_eq!(view.read(&words).unwrap(), against(200.0));
    }

    #[test]
    fn own_words_are_read_back_and_told_from_the_other_side() {
        let drive = Viewpoint::named("the drive end", "the free end").unwrap();
        let view = View::new(drive, Turning::Clockwise, Angle::ZERO);
        let words = view.locate(against(10.0), RotorSense::AgainstRotation).to_string();
        assert_eq!(view.read(&words).unwrap(), against(10.0));
        let error = view.from_the_other_side().read(&words).unwrap_err();
        assert_eq!(error, ViewError::OtherViewpoint { view: "the free end", words: "the drive end" });
        let front = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
        assert_eq!(
            front.read(&words).unwrap_err().to_string(),
            "the words cannot be read from byte 10 on, where \"the front\" was expected: \
             give them as a location prints them"
        );
    }

    #[test]
    fn each_contradiction_is_named() {
        let good = "seen from the front, turning clockwise, 96 deg against rotation from the mark, \
                    between holes 7 and 8; with the mark 0 deg clockwise from the top it is at 264 deg, \
                    about 9 o'clock";
        assert_eq!(view().read(good).unwrap(), against(96.0));
        assert_eq!(format!("{:#}", view().locate(against(96.0), RotorSense::AgainstRotation)), good);
        let changes = [
            (
                ("the front", "the rear"),
                "the words are for a person who sees the rotor from the rear, the view is from the front: \
                 read them in the view from there",
            ),
            (
                ("turning clockwise", "turning counter-clockwise"),
                "the words are for a rotor turning counter-clockwise, the view has it turning clockwise: \
                 check which way it turns",
            ),
            (
                ("between holes 7 and 8", "between holes 18 and 19"),
                "the words put 96.0 deg against rotation between holes 18 and 19, the view has it \
                 between holes 7 and 8: check where the first hole is and which way the holes are numbered",
            ),
            (
                ("between holes 7 and 8", "between holes 8 and 7"),
                "the words put 96.0 deg against rotation between holes 8 and 7, the view has it \
                 between holes 7 and 8: check where the first hole is and which way the holes are numbered",
            ),
            (
                ("between holes 7 and 8", "between holes 7 and 9"),
                "the words put 96.0 deg against rotation between holes 7 and 9, the view has it \
                 between holes 7 and 8: check where the first hole is and which way the holes are numbered",
            ),
            (
                ("between holes 7 and 8", "at hole 7"),
                "the words put 96.0 deg against rotation at hole 7, the view has it \
                 between holes 7 and 8: check where the first hole is and which way the holes are numbered",
            ),
            (
                ("between holes 7 and 8", "between holes 25 and 26"),
                "there is no hole 25: the holes are numbered 1 to 24",
            ),
            (
                ("the mark 0 deg", "the mark 90 deg"),
                "the words are for a mark at 90.0 deg clockwise from the top, the view has it at 0.0 deg: \
                 turn the rotor, or state where its mark stands",
            ),
            (
                ("at 264 deg", "at 96 deg"),
                "the words put the place 96.0 deg clockwise from the top, their angle from the mark puts it \
                 at 264.0 deg: one of the two was changed",
            ),
            (
                ("about 9 ", "about 3 "),
                "264.0 deg clockwise from the top is not about 3 o'clock: one of the two was changed",
            ),
            (
                ("about 9 ", "about 21 "),
                "264.0 deg clockwise from the top is not about 21 o'clock: one of the two was changed",
            ),
            (
                ("96 deg", "360 deg"),
                "the words cannot be read from byte 40 on, where \"degrees from 0 to below 360\" was expected: \
                 give them as a location prints them",
            ),
        ];
        for ((from, to), text) in changes {
            assert!(good.contains(from));
            assert_eq!(refused(&good.replace(from, to)).to_string(), text);
        }
        let bare = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
        assert_eq!(
            bare.read(good).unwrap_err().to_string(),
            "hole 7 means nothing to a view without holes: give the view its ring of holes"
        );
    }

    #[test]
    fn words_that_are_none_are_refused_where_they_stop_making_sense() {
        for (words, at) in [
            ("", 0),
            ("  ", 2),
            ("Seen from the front", 0),
            ("seen from the side, turning clockwise, 1 deg with rotation from the mark", 10),
            ("seen from the front, turning round", 29),
            ("seen from the front, turning clockwise, -1 deg with rotation from the mark", 40),
            ("seen from the front, turning clockwise, 1e2 deg with rotation from the mark", 41),
            ("seen from the front, turning clockwise, .5 deg with rotation from the mark", 40),
            ("seen from the front, turning clockwise, NaN deg with rotation from the mark", 40),
            ("seen from the front, turning clockwise, 1. deg with rotation from the mark", 40),
            ("seen from the front, turning clockwise, 1 deg sideways from the mark", 46),
            ("seen from the front, turning clockwise, 1 deg with rotation from the mark.", 73),
            ("seen from the front, turning clockwise, 1 deg with rotation from the mark, at hole x", 83),
            (
                "seen from the front, turning clockwise, 1 deg with rotation from the mark, at hole 99999999999",
                83,
            ),
            ("seen from the front, turning clockwise, 1 deg with rotation from the märk", 59),
        ] {
            let error = refused(words);
            assert!(
                matches!(error, ViewError::Unreadable { at: found, .. } if found == at),
                "{words:?} {error:?}"
            );
        }
        let padded = " \tseen from the front, turning clockwise, 1.50 deg with rotation from the mark\n";
        assert_eq!(view().read(padded).unwrap().with_rotation().degrees(), 1.5);
    }

    #[test]
    fn the_hour_is_that_of_a_clock() {
        let view = View::new(Viewpoint::Front, Turning::Clockwise, Angle::ZERO);
        for (degrees, hour) in
            [(0.0, 12), (14.9, 12), (15.0, 1), (90.0, 3), (180.0, 6), (344.9, 11), (345.0, 12), (359.9, 12)]
        {
            let place = RotorSense::WithRotation.degrees(degrees).unwrap();
            assert_eq!(view.locate(place, RotorSense::WithRotation).hour(), hour, "{degrees}");
        }
    }

    #[test]
    fn any_precision_prints_and_reads() {
        let location = view().locate(against(96.1), RotorSense::AgainstRotation);
        for precision in [0, 1, 3, 17, 60, 400] {
            let words = format!("{location:#.precision$}");
            let read = view().read(&words).unwrap();
            let error = read.with_rotation().separation_degrees(against(96.1).with_rotation());
            let half = 0.5 / math::power(10.0, i32::try_from(precision).unwrap().min(300));
            assert!(error <= half + 1e-12, "{precision}: {error}");
        }
    }
}
