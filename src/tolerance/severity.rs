//! How severe a vibration is: zones, scales of the caller's own, changes that matter.

use core::fmt;

use crate::error::ToleranceError;
use crate::math;
use crate::provenance::{Limit, Provenance};
use crate::unit::Speed;
use crate::vector::Vibration;
use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

/// The zones of the evaluation standards, from the best on. A value on a boundary belongs to the better zone.
///
/// ```
/// use counterpoise::tolerance::Zone;
/// assert!(Zone::A < Zone::D);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Zone {
    /// As of machines newly put into service.
    A,
    /// As is found acceptable for long-term running.
    B,
    /// As is found not satisfactory for long-term running.
    C,
    /// As is found severe enough to cause damage.
    D,
}

impl Zone {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::Zone::C.code(), 3);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::A => 1,
            Self::B => 2,
            Self::C => 3,
            Self::D => 4,
        }
    }
}

impl fmt::Display for Zone {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::A => "A",
            Self::B => "B",
            Self::C => "C",
            Self::D => "D",
        })
    }
}

/// Groups of machines of ISO 20816-3, by size.
///
/// ```
/// assert_ne!(counterpoise::tolerance::MachineGroup::Large, counterpoise::tolerance::MachineGroup::Medium);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum MachineGroup {
    /// Group 1: above 300 kW, or electrical machines of 315 mm shaft height and more.
    Large,
    /// Group 2: 15 to 300 kW, or electrical machines of 160 to 315 mm shaft height.
    Medium,
}

/// What a machine stands on: whether its first resonance with it lies above the speed, or below.
///
/// ```
/// assert_ne!(counterpoise::tolerance::Support::Rigid, counterpoise::tolerance::Support::Flexible);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Support {
    /// The lowest natural frequency of machine and support lies well above the frequency of rotation.
    Rigid,
    /// Anything else.
    Flexible,
}

/// Classes of machines of the older ISO 10816-1, annex B.
///
/// ```
/// assert_ne!(counterpoise::tolerance::MachineClass::I, counterpoise::tolerance::MachineClass::IV);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum MachineClass {
    /// Small machines, such as electric motors up to 15 kW.
    I,
    /// Medium machines, 15 to 75 kW, or up to 300 kW on special foundations.
    II,
    /// Large machines on rigid and heavy foundations.
    III,
    /// Large machines on soft foundations.
    IV,
}

/// Three boundaries between four zones, in a unit.
///
/// A reading in any other unit is converted first, which for another quantity needs the speed; so a velocity peak is never
/// compared with a limit for its r.m.s. as it stands.
///
/// ```
/// use counterpoise::tolerance::{MachineGroup, SeverityZones, Support, Zone};
/// use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
/// let zones = SeverityZones::iso_20816_3(MachineGroup::Medium, Support::Rigid);
/// let speed = Speed::from_rpm(1480.0)?;
/// let in_s = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// // 0.1 in/s peak are 1.80 mm/s r.m.s.
/// assert_eq!(zones.zone_of(0.1, in_s, speed), Zone::B);
/// println!("{}", zones.provenance());
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeverityZones {
    unit: VibrationUnit,
    boundaries: [f64; 3],
    provenance: Provenance,
}

const RMS: VibrationUnit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
const ISO_20816_3: Provenance =
    Provenance::from_memory("ISO 20816-3:2022 (earlier ISO 10816-3), tables of zone boundaries");
const ISO_10816_1: Provenance = Provenance::from_memory("ISO 10816-1:1995, annex B, table B.1");
const ISO_7919_3: Provenance = Provenance::read("ISO 7919-3, as coded in NeqSim, RotorUnbalanceAssessment");
const ISO_20816_1: Provenance = Provenance::read("ISO 20816-1, as coded in NeqSim, RotorUnbalanceAssessment");

impl SeverityZones {
    /// Boundaries A/B, B/C and C/D of the caller's own.
    ///
    /// # Errors
    /// [`ToleranceError::Scale`] where they do not rise.
    ///
    /// ```
    /// use counterpoise::tolerance::SeverityZones;
    /// use counterpoise::{Detector, Provenance, VibrationScale, VibrationUnit};
    /// let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// assert!(SeverityZones::new(unit, [1.0, 2.0, 4.0], Provenance::CALLER).is_ok());
    /// assert_eq!(SeverityZones::new(unit, [1.0, 4.0, 2.0], Provenance::CALLER).unwrap_err().code(), 1405);
    /// ```
    pub fn new(
        unit: VibrationUnit,
        boundaries: [f64; 3],
        provenance: Provenance,
    ) -> Result<Self, ToleranceError> {
        rising(boundaries.iter().copied())?;
        Ok(Self { unit, boundaries, provenance })
    }

    /// Vibration of parts that do not rotate, in mm/s r.m.s. (ISO 20816-3:2022, from memory; check it against a copy).
    ///
    /// ```
    /// use counterpoise::tolerance::{MachineGroup, SeverityZones, Support};
    /// let zones = SeverityZones::iso_20816_3(MachineGroup::Large, Support::Flexible);
    /// assert_eq!(zones.boundaries(), [3.5, 7.1, 11.0]);
    /// ```
    #[allow(clippy::match_same_arms)] // a table, row by row
    pub const fn iso_20816_3(group: MachineGroup, support: Support) -> Self {
        let boundaries = match (group, support) {
            (MachineGroup::Large, Support::Rigid) => [2.3, 4.5, 7.1],
            (MachineGroup::Large, Support::Flexible) => [3.5, 7.1, 11.0],
            (MachineGroup::Medium, Support::Rigid) => [1.4, 2.8, 4.5],
            (MachineGroup::Medium, Support::Flexible) => [2.3, 4.5, 7.1],
        };
        Self { unit: RMS, boundaries, provenance: ISO_20816_3 }
    }

    /// The same in displacement, µm r.m.s. (ISO 20816-3:2022, from memory; check it against a copy).
    ///
    /// ```
    /// use counterpoise::tolerance::{MachineGroup, SeverityZones, Support};
    /// let zones = SeverityZones::iso_20816_3_displacement(MachineGroup::Medium, Support::Rigid);
    /// assert_eq!(zones.boundaries(), [22.0, 45.0, 71.0]);
    /// ```
    #[allow(clippy::match_same_arms)] // a table, row by row
    pub const fn iso_20816_3_displacement(group: MachineGroup, support: Support) -> Self {
        let boundaries = match (group, support) {
            (MachineGroup::Large, Support::Rigid) => [29.0, 57.0, 90.0],
            (MachineGroup::Large, Support::Flexible) => [45.0, 90.0, 140.0],
            (MachineGroup::Medium, Support::Rigid) => [22.0, 45.0, 71.0],
            (MachineGroup::Medium, Support::Flexible) => [37.0, 71.0, 113.0],
        };
        let unit = VibrationUnit::new(VibrationScale::Micrometre, Detector::Rms);
        Self { unit, boundaries, provenance: ISO_20816_3 }
    }

    /// The older classes, in mm/s r.m.s. (ISO 10816-1:1995, annex B, from memory; check it against a copy).
    ///
    /// ```
    /// use counterpoise::tolerance::{MachineClass, SeverityZones};
    /// assert_eq!(SeverityZones::iso_10816_1(MachineClass::III).boundaries(), [1.8, 4.5, 11.2]);
    /// ```
    pub const fn iso_10816_1(class: MachineClass) -> Self {
        let boundaries = match class {
            MachineClass::I => [0.71, 1.8, 4.5],
            MachineClass::II => [1.12, 2.8, 7.1],
            MachineClass::III => [1.8, 4.5, 11.2],
            MachineClass::IV => [2.8, 7.1, 18.0],
        };
        Self { unit: RMS, boundaries, provenance: ISO_10816_1 }
    }

    /// Vibration of the shaft in its bearings at a speed, µm peak to peak: 4800, 9000 and 13,200 over √N (ISO 7919-3,
    /// secondary source).
    ///
    /// ```
    /// use counterpoise::{Speed, tolerance::SeverityZones};
    /// let zones = SeverityZones::shaft_displacement(Speed::from_rpm(3600.0)?);
    /// assert_eq!(zones.boundaries(), [80.0, 150.0, 220.0]);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn shaft_displacement(speed: Speed) -> Self {
        let root = math::sqrt(speed.rpm());
        let boundaries = [4800.0 / root, 9000.0 / root, 13_200.0 / root];
        let unit = VibrationUnit::new(VibrationScale::Micrometre, Detector::PeakToPeak);
        Self { unit, boundaries, provenance: ISO_7919_3 }
    }

    /// The zone of an amplitude in a unit, read at a speed. What is no amplitude, being below zero or not a number, is in none: it
    /// is put into the worst.
    ///
    /// ```
    /// use counterpoise::tolerance::{MachineClass, SeverityZones, Zone};
    /// use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
    /// let rms = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// let zones = SeverityZones::iso_10816_1(MachineClass::III);
    /// assert_eq!(zones.zone_of(3.0, rms, Speed::from_rpm(1480.0)?), Zone::B);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn zone_of(&self, amplitude: f64, unit: VibrationUnit, speed: Speed) -> Zone {
        let value = unit.convert_size(amplitude, self.unit, speed);
        let [ab, bc, cd] = self.boundaries;
        if value <= ab {
            Zone::A
        } else if value <= bc {
            Zone::B
        } else if value <= cd {
            Zone::C
        } else {
            // What is not a number, or is below zero, is not called good.
            Zone::D
        }
    }

    /// What a change of the vector has to exceed to be significant, whether the amplitude grows or shrinks: 25 % of the boundary
    /// B/C, in the zones' unit (ISO 20816-1, secondary source).
    ///
    /// ```
    /// use counterpoise::tolerance::{MachineGroup, SeverityZones, Support};
    /// let zones = SeverityZones::iso_20816_3(MachineGroup::Medium, Support::Rigid);
    /// assert_eq!(zones.significant_change().value, 0.7);
    /// ```
    pub fn significant_change(&self) -> Limit<f64> {
        let [_, bc, _] = self.boundaries;
        Limit::new(0.25 * bc, ISO_20816_1)
    }

    /// Whether once per turn changed significantly between two readings in a unit at a speed: the vectors are compared, as an
    /// amplitude may stay while the phase turns.
    ///
    /// ```
    /// use counterpoise::tolerance::{MachineGroup, SeverityZones, Support};
    /// use counterpoise::{Detector, Speed, Vibration, VibrationScale, VibrationUnit};
    /// let rms = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// let zones = SeverityZones::iso_20816_3(MachineGroup::Medium, Support::Rigid);
    /// // The same amplitude, turned by a quarter: a change of 1.4 mm/s.
    /// let (before, after) = (Vibration::from_components(1.0, 0.0)?, Vibration::from_components(0.0, 1.0)?);
    /// assert!(zones.is_significant_change(before, after, rms, Speed::from_rpm(1480.0)?));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn is_significant_change(
        &self,
        before: Vibration,
        after: Vibration,
        unit: VibrationUnit,
        speed: Speed,
    ) -> bool {
        let change = (after - before).amplitude();
        let change = unit.convert_size(change, self.unit, speed);
        change > self.significant_change().value
    }

    /// The boundaries A/B, B/C, C/D, in the unit.
    ///
    /// ```
    /// # use counterpoise::tolerance::{MachineClass, SeverityZones};
    /// assert_eq!(SeverityZones::iso_10816_1(MachineClass::I).boundaries(), [0.71, 1.8, 4.5]);
    /// ```
    pub const fn boundaries(&self) -> [f64; 3] {
        self.boundaries
    }

    /// Their unit.
    ///
    /// ```
    /// # use counterpoise::{Detector, tolerance::{MachineClass, SeverityZones}};
    /// assert_eq!(SeverityZones::iso_10816_1(MachineClass::I).unit().detector, Detector::Rms);
    /// ```
    pub const fn unit(&self) -> VibrationUnit {
        self.unit
    }

    /// Where they come from.
    ///
    /// ```
    /// # use counterpoise::{ProvenanceKind, tolerance::{MachineClass, SeverityZones}};
    /// assert_eq!(SeverityZones::iso_10816_1(MachineClass::I).provenance().kind(), ProvenanceKind::FromMemory);
    /// ```
    pub const fn provenance(&self) -> Provenance {
        self.provenance
    }
}

/// One step of a caller's own scale.
///
/// ```
/// let step = counterpoise::tolerance::ScaleStep { up_to: 0.1, name: "no further work" };
/// assert_eq!(step.up_to, 0.1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScaleStep<'a> {
    /// The greatest value of the step, in the unit of the scale.
    pub up_to: f64,
    /// What the caller calls it.
    pub name: &'a str,
}

/// A scale of the caller's own, with the caller's names.
///
/// ```
/// use counterpoise::tolerance::{OwnScale, ScaleStep};
/// use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
/// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// let steps = [ScaleStep { up_to: 0.1, name: "done" }, ScaleStep { up_to: 0.4, name: "trim" }];
/// let scale = OwnScale::new(unit, &steps, "start anew")?;
/// let speed = Speed::from_rpm(2350.0)?;
/// assert_eq!(scale.name_of(0.1, unit, speed), "done");
/// assert_eq!(scale.name_of(0.5, unit, speed), "start anew");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnScale<'a> {
    unit: VibrationUnit,
    steps: &'a [ScaleStep<'a>],
    above: &'a str,
}

impl<'a> OwnScale<'a> {
    /// A scale in a unit: its steps, and what is above the last.
    ///
    /// # Errors
    /// [`ToleranceError::Scale`] where the steps do not rise.
    ///
    /// ```
    /// # use counterpoise::tolerance::{OwnScale, ScaleStep};
    /// # use counterpoise::{Detector, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// assert!(OwnScale::new(unit, &[ScaleStep { up_to: -1.0, name: "never" }], "always").is_err());
    /// ```
    pub fn new(
        unit: VibrationUnit,
        steps: &'a [ScaleStep<'a>],
        above: &'a str,
    ) -> Result<Self, ToleranceError> {
        rising(steps.iter().map(|step| step.up_to))?;
        Ok(Self { unit, steps, above })
    }

    /// The caller's name for an amplitude in a unit, read at a speed; that of the range above for what is no amplitude.
    ///
    /// ```
    /// # use counterpoise::tolerance::OwnScale;
    /// # use counterpoise::{Detector, Speed, VibrationScale, VibrationUnit};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// assert_eq!(OwnScale::new(unit, &[], "anything")?.name_of(3.0, unit, Speed::from_rpm(900.0)?), "anything");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn name_of(&self, amplitude: f64, unit: VibrationUnit, speed: Speed) -> &'a str {
        let value = unit.convert_size(amplitude, self.unit, speed);
        self.steps.iter().find(|step| value <= step.up_to).map_or(self.above, |step| step.name)
    }
}

fn rising(values: impl Iterator<Item = f64>) -> Result<(), ToleranceError> {
    let mut last = 0.0;
    for (at, value) in values.enumerate() {
        if !(value > last && value.is_finite()) {
            return Err(ToleranceError::Scale { at, value });
        }
        last = value;
    }
    Ok(())
}
