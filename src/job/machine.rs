//! What a job is done on: planes, holes, hardware, sensors, and how angles are counted.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use super::limit::{ExpectedResponse, LimitPurpose, RingPurpose, RingUse, VibrationLimit, VisitDrift};
use crate::angle::{RotorAngle, RotorSense};
use crate::channel::{Channel, repeated};
use crate::convention::Convention;
use crate::error::JobError;
use crate::placement::{Hardware, HoleRing};
use crate::unit::{Mass, Radius};

// A record may come from anywhere, so a machine is bounded. A ring, hole or plane more than the placement takes could be
// kept and not used.
const MOST_CHANNELS: usize = 1000;
const MOST_PLANES: usize = 1000;
const MOST_HOLES: usize = 20_000;
const MOST_KINDS: usize = 1000;
/// The most counts of one kind in one hole: every run keeps them all.
const MOST_COUNTS: usize = 2_000_000;

/// A part with a name and a serial number, for the log.
///
/// ```
/// use counterpoise::job::MachinePart;
/// let part = MachinePart::new("propeller", "P-1043");
/// assert_eq!((part.name(), part.serial()), ("propeller", "P-1043"));
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct MachinePart {
    name: String,
    serial: String,
}

impl MachinePart {
    /// A part.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::MachinePart::new("blade 1", "B-7").serial(), "B-7");
    /// ```
    pub fn new(name: impl Into<String>, serial: impl Into<String>) -> Self {
        Self { name: name.into(), serial: serial.into() }
    }

    /// What it is.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::MachinePart::new("blade 1", "B-7").name(), "blade 1");
    /// ```
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its serial number, as it is stamped.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::MachinePart::new("blade 2", "B-8").serial(), "B-8");
    /// ```
    pub fn serial(&self) -> &str {
        &self.serial
    }
}

/// The machine of a job, as it was found: its correction planes by name, the holes in them with what is in each, the
/// hardware at hand, the channels, and the caller's senses.
///
/// ```
/// # use counterpoise::{
/// #     Channel, Convention, Detector, PhaseSense, RotorSense, Speed, SpeedWindow, VibrationScale, VibrationUnit,
/// # };
/// use counterpoise::job::{Machine, MachinePart};
/// # let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?);
/// let machine = Machine::new("the club's trainer", convention, &[channel], &["spinner bulkhead"])?
///     .of_kind("two blades, 60 kg engine")
///     .with_part(MachinePart::new("propeller", "P-1043"));
/// assert_eq!(machine.planes(), ["spinner bulkhead"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "super::wire::Machine", into = "super::wire::Machine")
)]
pub struct Machine {
    pub(super) name: String,
    pub(super) kind: String,
    pub(super) parts: Vec<MachinePart>,
    pub(super) convention: Convention,
    pub(super) planes: Vec<String>,
    pub(super) channels: Vec<Channel>,
    pub(super) hardware: Vec<Hardware>,
    pub(super) rings: Vec<HoleRing>,
    /// One per ring.
    pub(super) ring_uses: Vec<RingUse>,
    /// One per plane.
    pub(super) radii: Vec<Option<Radius>>,
    pub(super) limits: Vec<VibrationLimit>,
    pub(super) expected: Vec<ExpectedResponse>,
    pub(super) drifts: Vec<VisitDrift>,
    pub(super) mass_limit: Option<MassLimit>,
    pub(super) checks: Vec<String>,
    pub(super) crank_turns: f64,
}

/// The most mass that the balance weights may have in all, and where the limit comes from.
///
/// ```
/// use counterpoise::{Mass, job::MassLimit};
/// let limit = MassLimit { mass: Mass::from_grams(120.0)?, source: "the propeller maker's manual".into() };
/// assert_eq!(limit.mass.grams(), 120.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct MassLimit {
    /// The most, of everything that is on, as found included.
    pub mass: Mass,
    /// Where it comes from, in the caller's words.
    pub source: String,
}

impl Machine {
    /// A machine with its channels and the names of its correction planes, without holes.
    ///
    /// # Errors
    /// [`JobError::NoChannels`], [`JobError::RepeatedChannel`], [`JobError::NoPlanes`]; [`JobError::TooManyInMachine`] for
    /// more than 1000 of either.
    ///
    /// ```
    /// # use counterpoise::{Convention, PhaseSense, RotorSense, job::Machine};
    /// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation };
    /// assert_eq!(Machine::new("fan", convention, &[], &["disc"]).unwrap_err().code(), 1501);
    /// ```
    pub fn new(
        name: impl Into<String>,
        convention: Convention,
        channels: &[Channel],
        planes: &[&str],
    ) -> Result<Self, JobError> {
        if channels.is_empty() {
            return Err(JobError::NoChannels);
        }
        at_most("channels", channels.len(), MOST_CHANNELS)?;
        at_most("planes", planes.len(), MOST_PLANES)?;
        if let Some((first, second, sensor)) = repeated(channels) {
            return Err(JobError::RepeatedChannel { first, second, sensor });
        }
        if planes.is_empty() {
            return Err(JobError::NoPlanes);
        }
        Ok(Self {
            name: name.into(),
            kind: String::new(),
            parts: Vec::new(),
            convention,
            planes: planes.iter().map(|&plane| String::from(plane)).collect(),
            channels: channels.to_vec(),
            hardware: Vec::new(),
            rings: Vec::new(),
            ring_uses: Vec::new(),
            radii: planes.iter().map(|_| None).collect(),
            limits: Vec::new(),
            expected: Vec::new(),
            drifts: Vec::new(),
            mass_limit: None,
            checks: Vec::new(),
            crank_turns: 1.0,
        })
    }

    /// The same machine with a kind: machines of one kind answer alike, so that coefficients are shared among them.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.of_kind("two blades").kind(), "two blades");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn of_kind(self, kind: impl Into<String>) -> Self {
        Self { kind: kind.into(), ..self }
    }

    /// The same machine with one more part that has a serial number.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::MachinePart;
    /// assert_eq!(machine.with_part(MachinePart::new("blade 1", "B-7")).parts().len(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_part(mut self, part: MachinePart) -> Self {
        self.parts.push(part);
        self
    }

    /// The same machine with its holes, as they were found, and the hardware they are counted in.
    ///
    /// # Errors
    /// [`JobError::RingPlane`] for a ring in a plane that was not named; [`JobError::Mounted`] where a hole counts another
    /// number of kinds than there are; [`JobError::TooManyInMachine`] for more than 20,000 rings, 20,000 holes in all,
    /// 1000 kinds of hardware, or 2,000,000 holes times kinds.
    ///
    /// ```
    #[doc = example_machine!()]
    /// let circle = HoleCircle::new(24, RotorAngle::MARK, convention.rotor)?;
    /// let ring = HoleRing::even(circle, Radius::from_millimetres(165.0)?).each(|hole| hole.limit_pieces(3));
    /// let machine = machine.with_holes(&[ring], &[Hardware::new("washer", Mass::from_grams(2.0)?)])?;
    /// assert_eq!(machine.rings()[0].holes().len(), 24);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_holes(self, rings: &[HoleRing], hardware: &[Hardware]) -> Result<Self, JobError> {
        let holes = rings.iter().map(|ring| ring.holes().len()).sum();
        at_most("rings", rings.len(), MOST_HOLES)?;
        at_most("holes", holes, MOST_HOLES)?;
        at_most("kinds of hardware", hardware.len(), MOST_KINDS)?;
        at_most("holes times kinds of hardware", holes * hardware.len(), MOST_COUNTS)?;
        for (ring, stated) in rings.iter().enumerate() {
            if stated.plane() >= self.planes.len() {
                return Err(JobError::RingPlane { ring, plane: stated.plane(), planes: self.planes.len() });
            }
            for (hole, of) in stated.holes().iter().enumerate() {
                if let Some(got) = of.counts_other_than(hardware.len()) {
                    return Err(JobError::Mounted { ring, hole, expected: hardware.len(), got });
                }
            }
        }
        let ring_uses = rings.iter().map(|_| RingUse::default()).collect();
        Ok(Self { rings: rings.to_vec(), hardware: hardware.to_vec(), ring_uses, ..self })
    }

    /// The same machine with the name of a ring and whether weights stay there. Permanent unless told otherwise.
    ///
    /// # Errors
    /// [`JobError::NoSuchInMachine`] where there is no such ring.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::{RingPurpose, RingUse};
    /// let machine = machine.with_ring_use(0, RingUse::new("spinner screws", RingPurpose::Temporary))?;
    /// assert_eq!(machine.ring_use(0).map(|ring| ring.name.as_str()), Some("spinner screws"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_ring_use(mut self, ring: usize, of_ring: RingUse) -> Result<Self, JobError> {
        let there = self.rings.len();
        let place = self.ring_uses.get_mut(ring).ok_or(JobError::NoSuchInMachine {
            what: "ring",
            number: ring,
            there,
        })?;
        *place = of_ring;
        Ok(self)
    }

    /// The same machine with the radius at which weights go on in a plane that has no holes.
    ///
    /// # Errors
    /// [`JobError::NoSuchInMachine`] where there is no such plane.
    ///
    /// ```
    #[doc = example_machine!()]
    /// let machine = machine.with_radius(0, Radius::from_millimetres(140.0)?)?;
    /// assert_eq!(machine.radius(0).map(Radius::millimetres), Some(140.0));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_radius(mut self, plane: usize, radius: Radius) -> Result<Self, JobError> {
        let there = self.planes.len();
        let place = self.radii.get_mut(plane).ok_or(JobError::NoSuchInMachine {
            what: "plane",
            number: plane,
            there,
        })?;
        *place = Some(radius);
        Ok(self)
    }

    /// The same machine with a limit of its vibration; one of the same channel and purpose is replaced.
    ///
    /// # Errors
    /// [`JobError::NoSuchInMachine`] where there is no such channel; [`JobError::BadNumber`] for an amplitude that is not
    /// greater than zero.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::{LimitPurpose, VibrationLimit};
    /// let machine = machine.with_limit(VibrationLimit::new(0, LimitPurpose::Done, 0.2, "the maker's manual"))?;
    /// assert_eq!(machine.limit(0, LimitPurpose::Done).map(|limit| limit.amplitude), Some(0.2));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_limit(mut self, limit: VibrationLimit) -> Result<Self, JobError> {
        self.check_channel(limit.channel)?;
        positive("the limit of a vibration", limit.amplitude)?;
        self.limits.retain(|other| (other.channel, other.purpose) != (limit.channel, limit.purpose));
        self.limits.push(limit);
        Ok(self)
    }

    /// The same machine with what is expected of a channel before any run; what was said of the same channel and plane is
    /// replaced.
    ///
    /// # Errors
    /// [`JobError::NoSuchInMachine`] where there is no such channel or plane; [`JobError::BadNumber`] unless
    /// `0 < lowest <= highest`.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::ExpectedResponse;
    /// let machine = machine.with_expected_response(ExpectedResponse::new(0, 5e-5, 5e-4, "sister ships"))?;
    /// assert!(machine.expected_response(0, 0).is_some());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_expected_response(mut self, expected: ExpectedResponse) -> Result<Self, JobError> {
        self.check_channel(expected.channel)?;
        let there = self.planes.len();
        if let Some(number) = expected.plane.filter(|&plane| plane >= there) {
            return Err(JobError::NoSuchInMachine { what: "plane", number, there });
        }
        let lowest = positive("the lowest expected response", expected.lowest_per_gram_millimetre)?;
        let highest = positive("the highest expected response", expected.highest_per_gram_millimetre)?;
        if lowest > highest {
            let (what, wanted) = ("the highest expected response", "at least the lowest");
            return Err(JobError::BadNumber { what, value: highest, wanted });
        }
        self.expected.retain(|other| (other.channel, other.plane) != (expected.channel, expected.plane));
        self.expected.push(expected);
        Ok(self)
    }

    /// The same machine with how far a channel drifts from one run to the next; what was said of the channel is replaced. It is
    /// added to the scatter of every run that says how its readings scatter.
    ///
    /// # Errors
    /// [`JobError::NoSuchInMachine`] where there is no such channel; [`JobError::BadNumber`] for a figure that is negative or
    /// not finite.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::VisitDrift;
    /// let machine = machine.with_drift(VisitDrift::new(0, 0.01, "earlier jobs"))?;
    /// assert!(machine.drift(0).is_some());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_drift(mut self, drift: VisitDrift) -> Result<Self, JobError> {
        self.check_channel(drift.channel)?;
        for (what, value) in
            [("the drift between runs", drift.standard_deviation), ("the share of the drift", drift.share)]
        {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(JobError::BadNumber { what, value, wanted: "a finite number, zero or more" });
            }
        }
        self.drifts.retain(|other| other.channel != drift.channel);
        self.drifts.push(drift);
        Ok(self)
    }

    /// The same machine with the most mass that its balance weights may have in all.
    ///
    /// # Errors
    /// [`JobError::BadNumber`] for a mass below zero.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::MassLimit;
    /// let limit = MassLimit { mass: Mass::from_grams(120.0)?, source: "the maker's manual".into() };
    /// assert_eq!(machine.with_mass_limit(limit.clone())?.mass_limit(), Some(&limit));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_mass_limit(self, limit: MassLimit) -> Result<Self, JobError> {
        let (what, value) = ("the limit of mass in g", limit.mass.grams());
        if value < 0.0 {
            return Err(JobError::BadNumber { what, value, wanted: "zero or more" });
        }
        Ok(Self { mass_limit: Some(limit), ..self })
    }

    /// The same machine with what is to be checked before the first run, in the caller's words; a
    /// [`Fact::Checked`](super::Fact::Checked) of the same words says that it was.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.with_checks(&["blade track", "static balance"]).checks().len(), 2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub fn with_checks(mut self, checks: &[&str]) -> Self {
        self.checks.extend(checks.iter().map(|&check| String::from(check)));
        self
    }

    /// The same machine with a gear between its engine and its rotor: so many turns of the crank make one of the rotor.
    ///
    /// # Errors
    /// [`JobError::BadNumber`] for a number that is not greater than zero.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.geared(2.43)?.crank_turns_per_turn(), 2.43);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn geared(self, crank_turns_per_turn: f64) -> Result<Self, JobError> {
        let crank_turns = positive("the turns of the crank per turn of the rotor", crank_turns_per_turn)?;
        Ok(Self { crank_turns, ..self })
    }

    /// What it is called.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.name(), "trainer");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its kind; empty where none was said.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.kind(), "");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn kind(&self) -> &str {
        &self.kind
    }

    /// The parts with serial numbers.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert!(machine.parts().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn parts(&self) -> &[MachinePart] {
        &self.parts
    }

    /// How phases and places are counted.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.convention(), convention);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn convention(&self) -> Convention {
        self.convention
    }

    /// The names of the correction planes.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.planes(), ["bulkhead"]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn planes(&self) -> &[String] {
        &self.planes
    }

    /// The channels.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.channels(), [channel]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn channels(&self) -> &[Channel] {
        &self.channels
    }

    /// The kinds of hardware at hand.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.hardware()[1].name(), "small");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn hardware(&self) -> &[Hardware] {
        &self.hardware
    }

    /// The holes, with what was in them as the machine was found.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.rings()[0].holes().len(), 24);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn rings(&self) -> &[HoleRing] {
        &self.rings
    }

    /// The name and purpose of a ring; `None` where there is no such ring.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::RingPurpose;
    /// assert_eq!(machine.ring_use(0).map(|ring| ring.purpose), Some(RingPurpose::Permanent));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn ring_use(&self, ring: usize) -> Option<&RingUse> {
        self.ring_uses.get(ring)
    }

    /// The radius of a plane without holes; `None` where none was said.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.radius(0), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn radius(&self, plane: usize) -> Option<Radius> {
        self.radii.get(plane).copied().flatten()
    }

    /// The limit of a channel for a purpose; `None` where none was said.
    ///
    /// ```
    #[doc = example_machine!()]
    /// # use counterpoise::job::LimitPurpose;
    /// assert_eq!(machine.limit(0, LimitPurpose::Done), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn limit(&self, channel: usize, purpose: LimitPurpose) -> Option<&VibrationLimit> {
        self.limits.iter().find(|limit| (limit.channel, limit.purpose) == (channel, purpose))
    }

    /// Every limit of the vibration.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert!(machine.limits().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn limits(&self) -> &[VibrationLimit] {
        &self.limits
    }

    /// What is expected of a channel's answer to a plane: what was said of the two, else of the channel; `None` where nothing
    /// was.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.expected_response(0, 0), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn expected_response(&self, channel: usize, plane: usize) -> Option<&ExpectedResponse> {
        let of = |plane: Option<usize>| {
            self.expected.iter().find(|expected| (expected.channel, expected.plane) == (channel, plane))
        };
        of(Some(plane)).or_else(|| of(None))
    }

    /// How far a channel drifts from one run to the next; `None` where nothing was said.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.drift(0), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn drift(&self, channel: usize) -> Option<&VisitDrift> {
        self.drifts.iter().find(|drift| drift.channel == channel)
    }

    /// The most mass of the balance weights; `None` where none was said.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.mass_limit(), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn mass_limit(&self) -> Option<&MassLimit> {
        self.mass_limit.as_ref()
    }

    /// What is to be checked before the first run.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert!(machine.checks().is_empty());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn checks(&self) -> &[String] {
        &self.checks
    }

    /// How many turns of the crank make one of the rotor: 1 unless there is a gear.
    ///
    /// ```
    #[doc = example_machine!()]
    /// assert_eq!(machine.crank_turns_per_turn(), 1.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn crank_turns_per_turn(&self) -> f64 {
        self.crank_turns
    }

    /// Whether weights in a ring are there for the job only.
    pub(super) fn is_temporary(&self, ring: usize) -> bool {
        self.ring_use(ring).is_some_and(|ring| ring.purpose == RingPurpose::Temporary)
    }

    fn check_channel(&self, channel: usize) -> Result<(), JobError> {
        let there = self.channels.len();
        if channel < there {
            return Ok(());
        }
        Err(JobError::NoSuchInMachine { what: "channel", number: channel, there })
    }
}

const fn at_most(what: &'static str, count: usize, most: usize) -> Result<(), JobError> {
    if count > most { Err(JobError::TooManyInMachine { what, count, most }) } else { Ok(()) }
}

fn positive(what: &'static str, value: f64) -> Result<f64, JobError> {
    if value > 0.0 && value.is_finite() {
        return Ok(value);
    }
    Err(JobError::BadNumber { what, value, wanted: "a finite number greater than zero" })
}

/// Words for a person who stands at the machine.
impl Machine {
    pub(crate) fn plane_words(&self, plane: usize) -> String {
        self.planes
            .get(plane)
            .filter(|name| !name.is_empty())
            .cloned()
            .unwrap_or_else(|| format!("plane {plane}"))
    }

    pub(crate) fn channel_words(&self, channel: usize) -> String {
        let of_sensor = |channel: &Channel| {
            format!("sensor {} at {:.0} rpm", channel.sensor(), channel.window().nominal().rpm())
        };
        self.channels.get(channel).map_or_else(|| format!("channel {channel}"), of_sensor)
    }

    pub(crate) fn amplitude_words(&self, channel: usize, amplitude: f64) -> String {
        let unit = self.channels.get(channel).map(Channel::unit);
        unit.map_or_else(|| format!("{amplitude:.3}"), |unit| format!("{amplitude:.3} {unit}"))
    }

    /// A hole, counted from 1 as its ring lists it, with its place.
    pub(crate) fn hole_words(&self, ring: usize, hole: usize) -> String {
        let of_ring = self.rings.get(ring);
        let name = match (self.ring_use(ring).map(|named| named.name.as_str()), of_ring) {
            (Some(""), Some(of_ring)) => self.plane_words(of_ring.plane()),
            (Some(name), _) => String::from(name),
            _ => format!("ring {ring}"),
        };
        let place =
            of_ring.and_then(|ring| ring.holes().get(hole)).map(|hole| self.angle_words(hole.angle()));
        format!("{name}, hole {} ({})", hole + 1, place.unwrap_or_default())
    }

    pub(crate) fn angle_words(&self, angle: RotorAngle) -> String {
        let sense = match self.convention.rotor {
            RotorSense::WithRotation => "with",
            RotorSense::AgainstRotation => "against",
        };
        format!("{:.0} deg {sense} rotation", angle.in_sense(self.convention.rotor).degrees())
    }

    pub(crate) fn pieces_words(&self, counts: &[(usize, u32)]) -> String {
        let one = |&(item, count): &(usize, u32)| {
            let name =
                self.hardware.get(item).map_or_else(|| format!("piece {item}"), |kind| kind.name().into());
            format!("{count} x {name}")
        };
        counts.iter().map(one).collect::<Vec<String>>().join(", ")
    }
}
