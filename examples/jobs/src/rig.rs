//! The machine as a person meets it: weights go into holes, a start gives readings, nothing is exact, and one mistake may
//! be made.

use counterpoise::checks::Explanation;
use counterpoise::job::{Fact, Machine, Pieces, Record, StatedReading, WeightPlace};
use counterpoise::{HoleRing, Mass, PhaseSense, Weight};
use num_complex::Complex64;

use super::body::Body;
use super::draws::{Draws, size, turned};
use super::mistake::{Mishap, Mistake};
use super::sensor::Sensor;

/// Ounces to grams, by definition.
const OUNCE: f64 = 28.349_523_125;
/// Speeds are run within this of the nominal one.
const MOST_SPEED_ERROR: f64 = 0.008;

/// How far nothing is exact. Standard deviations, of each component where it is of a vector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inexact {
    /// Of one reading, in its unit.
    pub reading: f64,
    /// Of the machine from one start to the next, in the unit, and as a share of what it shows.
    pub drift: f64,
    pub drift_share: f64,
    /// Of the speed that is run, and of the speed that is read, as shares.
    pub speed_share: f64,
    pub tach_share: f64,
    /// Of the mass of a piece, as a share, and of the place of a hole.
    pub mass_share: f64,
    pub place_degrees: f64,
}

impl Inexact {
    /// A machine without any of it.
    pub const NOTHING: Self = Self {
        reading: 0.0,
        drift: 0.0,
        drift_share: 0.0,
        speed_share: 0.0,
        tach_share: 0.0,
        mass_share: 0.0,
        place_degrees: 0.0,
    };
}

/// A piece that is really on.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    /// Where it is believed to be.
    place: WeightPlace,
    /// The kind of hardware, for pieces in holes.
    kind: usize,
    plane: usize,
    /// In g mm, counted with rotation from the mark.
    unbalance: Complex64,
}

/// The machine as it is, which nobody knows.
#[derive(Debug, Clone)]
pub struct Reality {
    pub body: Body,
    /// One for each channel.
    pub sensors: Vec<Sensor>,
    /// Where the pickup is, as a space angle counted as the rotor turns.
    pub pickup_degrees: f64,
    /// The stations of the correction planes, in m.
    pub planes_m: Vec<f64>,
    /// Stations in m, and unbalance in g mm counted with rotation from the mark.
    pub as_found: Vec<(f64, Complex64)>,
    pub nominal_rpm: f64,
    pub inexact: Inexact,
}

/// The machine as people meet it: as it is described, as it is, and what was done to it.
#[derive(Debug, Clone)]
pub struct Rig {
    pub machine: Machine,
    pub reality: Reality,
    /// The mistake that is planned.
    pub mistake: Option<Mistake>,
    draws: Draws,
    /// How far each hole is from where it should be, ring by ring.
    hole_errors: Vec<Vec<f64>>,
    on: Vec<Piece>,
    mountings: usize,
    trials: usize,
    removals: usize,
    runs: usize,
    mark_degrees: f64,
    mishap: Option<Mishap>,
}

impl Rig {
    /// Channels, rings and planes of the description and of reality are in the same order.
    pub fn new(machine: Machine, reality: Reality, mistake: Option<Mistake>, mut draws: Draws) -> Self {
        let deviation = reality.inexact.place_degrees;
        let mut of_ring = |ring: &HoleRing| -> Vec<f64> {
            ring.holes().iter().map(|_| deviation * draws.normal().re).collect()
        };
        let hole_errors = machine.rings().iter().map(&mut of_ring).collect();
        Self {
            machine,
            reality,
            mistake,
            draws,
            hole_errors,
            on: Vec::new(),
            mountings: 0,
            trials: 0,
            removals: 0,
            runs: 0,
            mark_degrees: 0.0,
            mishap: None,
        }
    }

    /// Takes all that is not exact away.
    pub fn make_exact(&mut self) {
        self.reality.inexact = Inexact::NOTHING;
        self.hole_errors.iter_mut().flatten().for_each(|error| *error = 0.0);
    }

    /// The mistake that was made, once it was.
    pub const fn mishap(&self) -> Option<&Mishap> {
        self.mishap.as_ref()
    }

    /// What the sensors would show, without any noise, of unbalance in g mm at stations in m: with the phase that the pickup
    /// gives it, as `Re(X exp(jWt))`.
    pub fn shown(&self, unbalance: &[(f64, Complex64)], rpm: f64) -> Vec<Complex64> {
        let spin = rpm * (core::f64::consts::PI / 30.0);
        // Counted with rotation; space angles are counted from y towards z. A mark that was moved on is seen earlier.
        let from_pickup = self.reality.pickup_degrees - self.mark_degrees;
        let mut forces = [Complex64::new(0.0, 0.0); 4];
        for &(station, gram_millimetres) in unbalance {
            let kg_m = turned(gram_millimetres * 1e-6, from_pickup);
            for (sum, part) in forces.iter_mut().zip(self.reality.body.pull(spin, station, kg_m)) {
                *sum += part;
            }
        }
        let motion = self.reality.body.motion(spin, spin, forces).unwrap_or_default();
        self.reality.sensors.iter().map(|sensor| sensor.shows(motion, spin)).collect()
    }

    fn really(&self, rpm: f64) -> Vec<Complex64> {
        let weights = self.on.iter().map(|piece| {
            (self.reality.planes_m.get(piece.plane).copied().unwrap_or_default(), piece.unbalance)
        });
        let all: Vec<_> = self.reality.as_found.iter().copied().chain(weights).collect();
        self.shown(&all, rpm)
    }

    /// The vibration at every sensor as it really is now, at nominal speed, without noise.
    pub fn truth(&self) -> Vec<f64> {
        self.really(self.reality.nominal_rpm).into_iter().map(size).collect()
    }

    /// The coefficient of a plane at every sensor, per g mm.
    pub fn coefficients(&self, plane: usize) -> Vec<Complex64> {
        let station = self.reality.planes_m.get(plane).copied().unwrap_or_default();
        self.shown(&[(station, Complex64::new(1.0, 0.0))], self.reality.nominal_rpm)
    }

    /// How many pieces are really on, and their mass as it is stated.
    pub fn hardware_on(&self) -> (usize, f64) {
        let hardware = self.machine.hardware();
        let grams = |piece: &Piece| hardware.get(piece.kind).map_or(0.0, |kind| kind.mass().grams());
        // An empty sum is -0.0.
        (self.on.len(), self.on.iter().map(grams).sum::<f64>() + 0.0)
    }

    /// In how many holes something is believed to be.
    pub fn holes_used(&self) -> usize {
        let mut places: Vec<WeightPlace> = Vec::new();
        for piece in &self.on {
            if !places.contains(&piece.place) {
                places.push(piece.place);
            }
        }
        places.len()
    }

    /// Does what a fact says should be done, and gives what is written down: the facts, to be added in this order, of which
    /// the first becomes the entry named. Facts that are no deeds are written down as they are.
    pub fn carry_out(&mut self, fact: Fact, entry: usize) -> Vec<Fact> {
        match fact {
            Fact::WeightOn { plane, weight } => vec![self.put_on_trial(entry, plane, weight)],
            Fact::WeightOff { on } => {
                let place = WeightPlace::Free { entry: on };
                if !self.left_on(entry, place) {
                    self.on.retain(|piece| piece.place != place);
                }
                vec![Fact::WeightOff { on }]
            }
            Fact::PutOn { ring, hole, pieces } => {
                self.put_on(entry, ring, hole, &pieces);
                vec![Fact::PutOn { ring, hole, pieces }]
            }
            Fact::TakenOff { ring, hole, pieces } => self.take_off(entry, ring, hole, pieces),
            other => vec![other],
        }
    }

    /// Whether the weight that should come off now is the one that is forgotten.
    fn left_on(&mut self, entry: usize, place: WeightPlace) -> bool {
        let removal = self.removals;
        self.removals += 1;
        let forgotten = matches!(self.mistake, Some(Mistake::LeftOn { removal: at }) if removal == at);
        if forgotten {
            self.made(vec![entry], Some(place));
        }
        forgotten
    }

    fn made(&mut self, entries: Vec<usize>, place: Option<WeightPlace>) {
        if let Some(mistake) = self.mistake {
            self.mishap = Some(Mishap { mistake, entries, place, mended: false });
        }
    }

    /// The next weight goes on; where a mistake puts it.
    fn misplaced(&mut self, degrees: f64, pitch: f64, entry: usize, place: WeightPlace) -> f64 {
        let mounting = self.mountings;
        self.mountings += 1;
        let really = match self.mistake {
            Some(Mistake::MirroredHole { mounting: at }) if at == mounting => 360.0 - degrees,
            Some(Mistake::OtherHole { mounting: at, holes }) if at == mounting => {
                degrees + pitch * f64::from(holes)
            }
            _ => return degrees,
        };
        // At the mark and opposite to it the mirrored hole is the same hole.
        if size(turned(Complex64::new(1.0, 0.0), really) - turned(Complex64::new(1.0, 0.0), degrees)) > 1e-9 {
            self.made(vec![entry], Some(place));
        }
        really
    }

    fn put_on_trial(&mut self, entry: usize, plane: usize, weight: Weight) -> Fact {
        let place = WeightPlace::Free { entry };
        let pitch = self.pitch(plane);
        let said = weight.angle.with_rotation().degrees();
        let degrees = self.misplaced(said, pitch, entry, place)
            + self.reality.inexact.place_degrees * self.draws.normal().re;
        let grams = weight.mass.grams() * (1.0 + self.reality.inexact.mass_share * self.draws.normal().re);
        let moment = Complex64::new(grams * weight.radius.millimetres(), 0.0);
        self.on.push(Piece { place, kind: usize::MAX, plane, unbalance: turned(moment, degrees) });
        let trial = self.trials;
        self.trials += 1;
        let mut written = weight;
        if matches!(self.mistake, Some(Mistake::OuncesForGrams { trial: at }) if at == trial) {
            self.made(vec![entry], Some(place));
            written.mass = weight.mass * (1.0 / OUNCE);
        }
        Fact::WeightOn { plane, weight: written }
    }

    /// From one hole of a plane to the next, with rotation.
    fn pitch(&self, plane: usize) -> f64 {
        let ring = self.machine.rings().iter().find(|ring| ring.plane() == plane);
        let Some([first, second, ..]) = ring.map(HoleRing::holes) else { return 0.0 };
        (second.angle().with_rotation() - first.angle().with_rotation()).signed_degrees()
    }

    fn put_on(&mut self, entry: usize, ring: usize, hole: usize, pieces: &[Pieces]) {
        let Some((plane, radius, said)) = self.hole(ring, hole) else { return };
        let pitch = self.pitch(plane);
        let place = WeightPlace::Hole { ring, hole };
        let degrees = self.misplaced(said, pitch, entry, place) + self.hole_error(ring, hole);
        for piece in pieces {
            let nominal = self.machine.hardware().get(piece.item).map_or(0.0, |kind| kind.mass().grams());
            for _ in 0..piece.count {
                let grams = nominal * (1.0 + self.reality.inexact.mass_share * self.draws.normal().re);
                let unbalance = turned(Complex64::new(grams * radius, 0.0), degrees);
                self.on.push(Piece { place, kind: piece.item, plane, unbalance });
            }
        }
    }

    fn hole(&self, ring: usize, hole: usize) -> Option<(usize, f64, f64)> {
        let of = self.machine.rings().get(ring)?;
        let hole = of.holes().get(hole)?;
        Some((of.plane(), hole.radius().millimetres(), hole.angle().with_rotation().degrees()))
    }

    fn hole_error(&self, ring: usize, hole: usize) -> f64 {
        self.hole_errors.get(ring).and_then(|ring| ring.get(hole)).copied().unwrap_or_default()
    }

    /// Pieces come off. Whoever wants to take them out of a hole in which they are not sees where they are.
    fn take_off(&mut self, entry: usize, ring: usize, hole: usize, pieces: Vec<Pieces>) -> Vec<Fact> {
        let place = WeightPlace::Hole { ring, hole };
        if self.left_on(entry, place) {
            return vec![Fact::TakenOff { ring, hole, pieces }];
        }
        let mut written = self.mended(|mishap| {
            mishap.place == Some(place) && !matches!(mishap.mistake, Mistake::LeftOn { .. })
        });
        // What the person finds elsewhere than it was written is written down as found there; the rest is in its hole.
        let found = if written.is_empty() { place } else { self.true_place(place) };
        let (mut there, mut here): (Vec<Pieces>, Vec<Pieces>) = (Vec::new(), Vec::new());
        for Pieces { item, count } in pieces {
            for _ in 0..count {
                let at = |place| self.on.iter().rposition(|on| on.place == place && on.kind == item);
                let list = if found != place && at(found).is_some() { &mut there } else { &mut here };
                if let Some(at) = at(found).or_else(|| at(place)) {
                    self.on.remove(at);
                }
                match list.iter_mut().find(|one| one.item == item) {
                    Some(one) => one.count += 1,
                    None => list.push(Pieces { item, count: 1 }),
                }
            }
        }
        for (place, pieces) in [(found, there), (place, here)] {
            if let (WeightPlace::Hole { ring, hole }, false) = (place, pieces.is_empty()) {
                written.push(Fact::TakenOff { ring, hole, pieces });
            }
        }
        written
    }

    /// Where the pieces of the mistake really are.
    fn true_place(&self, said: WeightPlace) -> WeightPlace {
        let (WeightPlace::Hole { ring, hole }, Some(mistake)) = (said, self.mistake) else { return said };
        let count = self.machine.rings().get(ring).map_or(1, |ring| ring.holes().len());
        let hole = match mistake {
            Mistake::MirroredHole { .. } => (count - hole) % count,
            Mistake::OtherHole { holes, .. } => {
                let step = usize::from(holes.unsigned_abs());
                if holes < 0 { (hole + count - step) % count } else { (hole + step) % count }
            }
            _ => hole,
        };
        WeightPlace::Hole { ring, hole }
    }

    /// The engine is started and read so many times; amplitudes and phases as the channels state them.
    pub fn run(&mut self, repeats: u32, entry: usize) -> Vec<StatedReading> {
        let run = self.runs;
        self.runs += 1;
        let inexact = self.reality.inexact;
        if let Some(Mistake::MarkMoved { run: at, degrees }) = self.mistake {
            if at == run {
                self.mark_degrees = degrees;
                self.made(Vec::new(), None);
            }
        }
        if self.mark_degrees != 0.0 {
            if let Some(mishap) = &mut self.mishap {
                mishap.entries.push(entry);
            }
        }
        let error = (inexact.speed_share * self.draws.normal().re).clamp(-MOST_SPEED_ERROR, MOST_SPEED_ERROR);
        let rpm = self.reality.nominal_rpm * (1.0 + error);
        let shown: Vec<Complex64> = self.really(rpm);
        let shown: Vec<Complex64> = shown
            .into_iter()
            .map(|v| v + v * self.draws.normal() * inexact.drift_share + self.draws.normal() * inexact.drift)
            .collect();
        let mut readings = Vec::new();
        for _ in 0..repeats {
            let tach = (error + inexact.tach_share * self.draws.normal().re)
                .clamp(-MOST_SPEED_ERROR, MOST_SPEED_ERROR);
            let stated_rpm = libm::round(self.reality.nominal_rpm * (1.0 + tach));
            for (channel, v) in shown.iter().enumerate() {
                let read = v + self.draws.normal() * inexact.reading;
                readings.push(self.stated(channel, read, stated_rpm));
            }
        }
        self.miswrite(run, entry, &mut readings);
        readings
    }

    /// A vibration as its channel states it.
    fn stated(&self, channel: usize, value: Complex64, rpm: f64) -> StatedReading {
        let lead = libm::atan2(value.im, value.re) * (180.0 / core::f64::consts::PI);
        let lag = self.machine.channels().get(channel).is_none_or(|c| c.phase_sense() == PhaseSense::Lag);
        StatedReading::new(channel, size(value), whole_turn(if lag { -lead } else { lead }), rpm)
    }

    fn miswrite(&mut self, run: usize, entry: usize, readings: &mut [StatedReading]) {
        let Some(mistake) = self.mistake else { return };
        match mistake {
            Mistake::CablesExchanged { run: at } if at == run => exchange(readings),
            Mistake::DetectorSlip { run: at } if at == run => {
                for reading in readings.iter_mut() {
                    reading.amplitude *= core::f64::consts::FRAC_1_SQRT_2;
                }
            }
            Mistake::PhaseMiswritten { run: at, channel, degrees } if at == run => {
                for reading in readings.iter_mut().filter(|reading| reading.channel == channel) {
                    reading.phase_degrees = whole_turn(reading.phase_degrees + degrees);
                }
            }
            _ => return,
        }
        self.made(vec![entry], None);
    }

    /// A person looks where an explanation points. What is found is put right on the machine, and what it takes to put the
    /// record right is given; nothing where nothing is wrong there.
    pub fn look(&mut self, explanation: &Explanation, record: &Record) -> Vec<Fact> {
        let state = record.state();
        let weights = state.weights_in_runs(record.machine());
        let runs: Vec<usize> = state.present_runs().map(counterpoise::job::JobRun::entry).collect();
        let mut written = self.mended(|mishap| mishap.is_seen_by(explanation, &weights, &runs));
        for fact in &mut written {
            if let Fact::Amend { entry, instead, .. } = fact {
                if let Some(better) = self.better(*entry, record) {
                    *instead = Some(Box::new(better));
                }
            }
        }
        written
    }

    /// Marks the mistake as found where it is, and gives amendments for its entries; what stands in them is still to be said
    /// for all but pieces in holes.
    fn mended(&mut self, found: impl Fn(&Mishap) -> bool) -> Vec<Fact> {
        let Some(mishap) = self.mishap.as_mut().filter(|mishap| !mishap.mended && found(mishap)) else {
            return Vec::new();
        };
        mishap.mended = true;
        let (mistake, place, entries) = (mishap.mistake, mishap.place, mishap.entries.clone());
        self.mark_degrees = 0.0;
        let elsewhere = !matches!(mistake, Mistake::LeftOn { .. });
        if let (true, Some(said @ WeightPlace::Hole { ring, hole })) = (elsewhere, place) {
            let really = self.true_place(said);
            let moved: Vec<usize> = self.of_mishap(said);
            let mut pieces: Vec<Pieces> = Vec::new();
            for &at in &moved {
                let Some(piece) = self.on.get_mut(at) else { continue };
                piece.place = really;
                match pieces.iter_mut().find(|one| one.item == piece.kind) {
                    Some(one) => one.count += 1,
                    None => pieces.push(Pieces { item: piece.kind, count: 1 }),
                }
            }
            let (ring, hole) = match really {
                WeightPlace::Hole { ring, hole } => (ring, hole),
                _ => (ring, hole),
            };
            let fact = Fact::PutOn { ring, hole, pieces };
            return entries.iter().map(|&entry| Fact::amend(entry, fact.clone(), mistake.words())).collect();
        }
        entries.iter().map(|&entry| Fact::withdraw(entry, mistake.words())).collect()
    }

    /// The pieces that the mistake put elsewhere than into this hole.
    fn of_mishap(&self, said: WeightPlace) -> Vec<usize> {
        let WeightPlace::Hole { ring, hole } = said else { return Vec::new() };
        let Some((_, _, degrees)) = self.hole(ring, hole) else { return Vec::new() };
        let elsewhere = |piece: &Piece| {
            let along = turned(piece.unbalance, -degrees);
            // More than half a pitch of any ring off.
            libm::fabs(along.im) > 0.05 * size(along) || along.re < 0.0
        };
        let on = self.on.iter().enumerate();
        on.filter(|(_, piece)| piece.place == said && elsewhere(piece)).map(|(at, _)| at).collect()
    }

    /// What should have stood in an entry of the record, as the person now sees.
    fn better(&self, entry: usize, record: &Record) -> Option<Fact> {
        let mistake = self.mistake?;
        match (record.entries().get(entry)?.fact(), mistake) {
            (Fact::WeightOn { plane, weight }, Mistake::OuncesForGrams { .. }) => {
                let mass = Mass::from_grams(weight.mass.grams() * OUNCE).ok()?;
                Some(Fact::WeightOn { plane: *plane, weight: Weight { mass, ..*weight } })
            }
            (Fact::WeightOn { plane, weight }, _) => {
                let degrees = weight.angle.with_rotation().degrees();
                let degrees = match mistake {
                    Mistake::MirroredHole { .. } => 360.0 - degrees,
                    Mistake::OtherHole { holes, .. } => degrees + self.pitch(*plane) * f64::from(holes),
                    _ => degrees,
                };
                let angle = counterpoise::RotorSense::WithRotation.degrees(whole_turn(degrees)).ok()?;
                Some(Fact::WeightOn { plane: *plane, weight: Weight { angle, ..*weight } })
            }
            (Fact::Run { label, readings }, _) => {
                let mut readings = readings.clone();
                match mistake {
                    Mistake::CablesExchanged { .. } => exchange(&mut readings),
                    Mistake::DetectorSlip { .. } => {
                        for reading in &mut readings {
                            reading.amplitude *= core::f64::consts::SQRT_2;
                        }
                    }
                    Mistake::PhaseMiswritten { channel, degrees, .. } => {
                        for reading in readings.iter_mut().filter(|reading| reading.channel == channel) {
                            reading.phase_degrees = whole_turn(reading.phase_degrees - degrees);
                        }
                    }
                    Mistake::MarkMoved { degrees, .. } => {
                        for reading in &mut readings {
                            let channel = record.machine().channels().get(reading.channel);
                            let lag = channel.is_none_or(|c| c.phase_sense() == PhaseSense::Lag);
                            // All vectors were turned by −δ.
                            let turn = if lag { -degrees } else { degrees };
                            reading.phase_degrees = whole_turn(reading.phase_degrees + turn);
                        }
                    }
                    _ => {}
                }
                Some(Fact::Run { label: label.clone(), readings })
            }
            _ => None,
        }
    }
}

/// In [0, 360).
fn whole_turn(degrees: f64) -> f64 {
    let rest = libm::fmod(degrees, 360.0);
    let rest = if rest < 0.0 { rest + 360.0 } else { rest };
    if rest < 360.0 { rest + 0.0 } else { 0.0 }
}

/// The first two channels change places.
fn exchange(readings: &mut [StatedReading]) {
    for reading in readings.iter_mut().filter(|reading| reading.channel < 2) {
        reading.channel = 1 - reading.channel;
    }
    readings.sort_by_key(|reading| reading.channel);
}
