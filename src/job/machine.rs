//! What a job is done on: planes, holes, hardware, sensors, and how angles are counted.

use alloc::string::String;
use alloc::vec::Vec;

use crate::channel::{Channel, repeated};
use crate::convention::Convention;
use crate::error::JobError;
use crate::placement::{Hardware, HoleRing};

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
}

impl Machine {
    /// A machine with its channels and the names of its correction planes, without holes.
    ///
    /// # Errors
    /// [`JobError::NoChannels`], [`JobError::RepeatedChannel`], [`JobError::NoPlanes`].
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
    /// number of kinds than there are.
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
        Ok(Self { rings: rings.to_vec(), hardware: hardware.to_vec(), ..self })
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
}
