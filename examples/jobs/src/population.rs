//! Invented machines and jobs, drawn from stated ranges: light engines with their propellers on soft mounts.

use counterpoise::job::{ExpectedResponse, LimitPurpose, Machine, VibrationLimit, VisitDrift};
use counterpoise::{
    Channel, Convention, Detector, Hardware, HoleCircle, HoleRing, Length, Mass, PhaseSense, Radius,
    RotorAngle, RotorSense, Speed, SpeedWindow, VibrationScale, VibrationUnit,
};

use super::Problem;
use super::body::{Body, Mount, Turns};
use super::draws::{Draws, size};
use super::mistake::Mistake;
use super::rig::{Inexact, Reality, Rig};
use super::sensor::Sensor;

pub const RPM: f64 = 2300.0;
/// What is to be reached, in in/s peak at once per turn; common practice, no source.
pub const LIMIT: f64 = 0.07;
/// What no run may exceed at any sensor.
pub const NEVER_ABOVE: f64 = 2.0;
/// Radius of the holes, and of the washers in them: mass in g and thickness in mm. Invented.
pub const RADIUS_MM: f64 = 165.0;
pub const WASHERS: [(&str, f64, f64); 5] =
    [("XS", 0.6, 0.4), ("S", 1.2, 0.8), ("M", 2.5, 1.2), ("L", 5.2, 1.6), ("XL", 10.0, 2.5)];
/// What a hole takes.
pub const HOLES: u16 = 24;
pub const HOLE_GRAMS: f64 = 30.0;
pub const HOLE_PIECES: u32 = 4;
pub const HOLE_MM: f64 = 9.0;

/// What people write into the description of a machine about its drift. Every reading is written down in either case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// How far it drifts from one start to the next.
    Drift,
    /// Nothing: what is seen then is how the readings of one start scatter.
    NoDrift,
}

/// What people know of machines of this kind before they have seen one.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// The amplitude to be reached, and the one never to be exceeded, in in/s peak.
    pub limit: f64,
    pub never_above: f64,
    /// How far readings scatter and machines drift, stated with some reserve.
    pub reading: f64,
    pub drift: f64,
    pub drift_share: f64,
    pub written: Written,
    /// The least and the largest coefficient of each channel (rows) and plane, in in/s per g mm.
    pub coefficients: Vec<Vec<(f64, f64)>>,
}

impl Known {
    /// The machine's description with the limits, and with what is known of its response.
    fn stated(&self, mut machine: Machine) -> Result<Machine, Problem> {
        for (channel, of_planes) in self.coefficients.iter().enumerate() {
            let (done, highest) = (LimitPurpose::Done, LimitPurpose::Highest);
            machine = machine
                .with_limit(VibrationLimit::new(channel, done, self.limit, "invented"))?
                .with_limit(VibrationLimit::new(channel, highest, self.never_above, "invented"))?;
            for (plane, &(least, largest)) in
                of_planes.iter().enumerate().filter(|(_, bounds)| bounds.0 < bounds.1)
            {
                let seen = "hundreds of machines of the kind";
                let expected = ExpectedResponse::new(channel, least, largest, seen).in_plane(plane);
                machine = machine.with_expected_response(expected)?;
            }
            if self.written == Written::Drift {
                let drift = VisitDrift::new(channel, self.drift, "invented").with_share(self.drift_share);
                machine = machine.with_drift(drift)?;
            }
        }
        Ok(machine)
    }
}

/// The senses in which a shop counts. Where naive polar arithmetic holds, and where it gives the mirror image.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Senses {
    Naive,
    Mirrored,
}

/// Jobs of one kind: one plane with one sensor, or two with two.
#[derive(Debug, Clone, PartialEq)]
pub struct Population {
    planes: usize,
    known: Known,
}

impl Population {
    /// All machines with so many correction planes, and what people who have seen hundreds of them know.
    pub fn new(planes: usize) -> Result<Self, Problem> {
        let known = Known {
            limit: LIMIT,
            never_above: NEVER_ABOVE,
            reading: 0.010,
            drift: 0.008,
            drift_share: 0.02,
            written: Written::Drift,
            coefficients: vec![vec![(f64::INFINITY, 0.0); planes]; planes],
        };
        let mut population = Self { planes, known };
        for seed in 0..300 {
            let (rig, _) = population.drawn(seed, Senses::Naive, 0.0)?;
            for plane in 0..planes {
                for (bounds, h) in population.known.coefficients.iter_mut().zip(rig.coefficients(plane)) {
                    if let Some((least, largest)) = bounds.get_mut(plane) {
                        *least = least.min(size(h));
                        *largest = largest.max(size(h));
                    }
                }
            }
        }
        Ok(population)
    }

    /// The same machines, where people write something else.
    pub fn written(mut self, written: Written) -> Self {
        self.known.written = written;
        self
    }

    pub const fn known(&self) -> &Known {
        &self.known
    }

    /// The machine of a seed, with a mistake planned in such a share of the jobs; and what is known of machines of its kind.
    #[allow(clippy::too_many_lines)] // ranges, one after the other
    pub fn drawn(&self, seed: u64, senses: Senses, share_of_mistakes: f64) -> Result<(Rig, Known), Problem> {
        let mut draws = Draws::seeded(seed);
        let convention = match (senses, draws.uniform() < 0.5) {
            (Senses::Naive, true) => Convention { phase: PhaseSense::Lead, rotor: RotorSense::WithRotation },
            (Senses::Naive, false) => {
                Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation }
            }
            (Senses::Mirrored, true) => {
                Convention { phase: PhaseSense::Lag, rotor: RotorSense::WithRotation }
            }
            (Senses::Mirrored, false) => {
                Convention { phase: PhaseSense::Lead, rotor: RotorSense::AgainstRotation }
            }
        };
        let mass = draws.between(120.0, 220.0);
        let inertia = draws.between(8.0, 16.0);
        // Engine mounts behind the engine, resonances between 7 and 14 Hz.
        let stiffness = |draws: &mut Draws| {
            let rad_per_s = core::f64::consts::TAU * draws.between(7.0, 14.0);
            mass * rad_per_s * rad_per_s
        };
        let stiffness = [stiffness(&mut draws), stiffness(&mut draws)];
        let damping_ratio = draws.between(0.03, 0.10);
        let damping = stiffness.map(|k| 2.0 * damping_ratio * libm::sqrt(k * mass));
        let tilt = |draws: &mut Draws| {
            let rad_per_s = core::f64::consts::TAU * draws.between(5.0, 12.0);
            inertia * rad_per_s * rad_per_s
        };
        let tilt = [tilt(&mut draws), tilt(&mut draws)];
        let tilt_damping = tilt.map(|k| 2.0 * damping_ratio * libm::sqrt(k * inertia));
        let body = Body {
            mass_kg: mass,
            transverse_inertia_kg_m2: [inertia * draws.between(0.9, 1.1), inertia * draws.between(0.9, 1.1)],
            polar_inertia_kg_m2: draws.between(0.5, 2.0),
            turns: if draws.uniform() < 0.5 { Turns::FromYToZ } else { Turns::FromZToY },
            mounts: vec![Mount {
                station_m: draws.between(-0.45, -0.15),
                stiffness_n_per_m: stiffness,
                damping_n_s_per_m: damping,
                tilt_stiffness_n_m_per_rad: tilt,
                tilt_damping_n_m_s_per_rad: tilt_damping,
            }],
        };
        let propeller = draws.between(0.50, 0.75);
        // With a second plane: a disc at the accessories' end.
        let planes_m = [propeller - 0.05, draws.between(-0.50, -0.35)];
        let planes_m = planes_m.get(..self.planes).unwrap_or_default().to_vec();
        let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
        let upright = if body.turns == Turns::FromYToZ { 90.0 } else { -90.0 };
        let stations = [draws.between(0.30, 0.45), draws.between(-0.45, -0.30)];
        let along = draws.uniform() < 0.8;
        let sensors: Vec<Sensor> = stations
            .iter()
            .take(self.planes)
            .map(|&station_m| Sensor { station_m, direction_degrees: upright, along, unit })
            .collect();
        let window = SpeedWindow::around_percent(Speed::from_rpm(RPM)?, 1.0)?;
        let channels: Vec<Channel> = (1..)
            .take(self.planes)
            .map(|sensor| Channel::new(sensor, unit, convention.phase, window))
            .collect();
        let names = ["spinner bulkhead", "rear disc"];
        let names = names.get(..self.planes).unwrap_or_default();
        let hardware = WASHERS
            .iter()
            .map(|&(name, grams, millimetres)| -> Result<Hardware, Problem> {
                Ok(Hardware::new(name, Mass::from_grams(grams)?)
                    .with_thickness(Length::from_millimetres(millimetres)?))
            })
            .collect::<Result<Vec<_>, _>>()?;
        let (most_mass, most_height) = (Mass::from_grams(HOLE_GRAMS)?, Length::from_millimetres(HOLE_MM)?);
        let circle = HoleCircle::new(HOLES, RotorAngle::MARK, convention.rotor)?;
        let radius = Radius::from_millimetres(RADIUS_MM)?;
        let rings: Vec<HoleRing> = (0..self.planes)
            .map(|plane| {
                let ring = HoleRing::even(circle, radius).in_plane(plane);
                ring.each(|hole| {
                    hole.limit_mass(most_mass).limit_pieces(HOLE_PIECES).limit_height(most_height)
                })
            })
            .collect();
        let machine = Machine::new(format!("invented machine {seed}"), convention, &channels, names)?
            .with_holes(&rings, &hardware)?;
        let machine = self.known.stated(machine)?;
        // The unbalance of the propeller lies about its plane, that of the accessories at the other end.
        let amount = draws.between_ratios(700.0, 3500.0);
        let mut as_found = vec![(propeller + draws.between(-0.03, 0.03), draws.on_circle(amount))];
        if self.planes == 2 {
            let amount = draws.between_ratios(500.0, 2500.0);
            as_found.push((draws.between(-0.45, -0.30), draws.on_circle(amount)));
        } else {
            let amount = draws.between(0.0, 300.0);
            as_found.push((draws.between(-0.3, 0.1), draws.on_circle(amount)));
        }
        let known = self.known.clone();
        let inexact = Inexact {
            reading: known.reading * draws.between(0.4, 1.0),
            drift: known.drift * draws.between(0.3, 1.0),
            drift_share: known.drift_share * draws.between(0.3, 1.0),
            speed_share: 0.002,
            tach_share: 0.0005,
            mass_share: 0.005,
            place_degrees: 0.3,
        };
        let pickup_degrees = 360.0 * draws.uniform();
        let mistake = (draws.uniform() < share_of_mistakes).then(|| Mistake::drawn(self.planes, &mut draws));
        let reality =
            Reality { body, sensors, pickup_degrees, planes_m, as_found, nominal_rpm: RPM, inexact };
        Ok((Rig::new(machine, reality, mistake, draws), known))
    }
}
