//! The usual way to balance by hand, to compare with (common practice, no source): one reading a run, polar arithmetic with
//! the numbers as they are read, the vector method of two runs (three for two planes), a trial weight of a fixed mass, and
//! the nearest hole with the washers that come nearest, the largest first.

use counterpoise::job::{Fact, Pieces};
use counterpoise::{Mass, RotorSense, Weight};
use num_complex::Complex64;

use super::Problem;
use super::draws::{size, turned};
use super::driver::{Outcome, Stopped, naive, worst, worst_read};
use super::population::{HOLE_GRAMS, HOLE_MM, HOLE_PIECES, HOLES, Known, WASHERS};
use super::rig::Rig;

/// The trial weight that is always taken.
const TRIAL_GRAMS: f64 = 10.0;
/// Runs beside one as found and one trial run a plane; as many as the library's way may take.
const MOST_MORE: usize = 7;
/// Whoever sees no gain so many times goes back to the best.
const MOST_IN_VAIN: u32 = 2;
const PITCH: f64 = 360.0 / HOLES as f64;

/// Washers in holes: plane, hole, and how many of each kind.
type Placed = Vec<(usize, usize, [u32; 5])>;

/// One job by hand.
pub struct ByHand<'a> {
    rig: &'a mut Rig,
    sense: RotorSense,
    planes: usize,
    entry: usize,
    placed: Placed,
    outcome: Outcome,
}

impl<'a> ByHand<'a> {
    pub fn new(rig: &'a mut Rig) -> Self {
        let found = worst(&rig.truth());
        let sense = rig.machine.convention().rotor;
        let planes = rig.machine.planes().len();
        let outcome = Outcome::before(found);
        Self { rig, sense, planes, entry: 0, placed: Vec::new(), outcome }
    }

    pub fn play(mut self, known: &Known) -> Result<Outcome, Problem> {
        let (mut now, mut read) = self.read();
        let influence = self.influence(&now)?;
        let mut total = vec![Complex64::new(0.0, 0.0); self.planes];
        let mut best = (read, Placed::new());
        let mut in_vain = 0;
        self.outcome.stopped = Stopped::ManyRuns;
        for _ in 0..MOST_MORE {
            let Some(more) = correction(&influence, &now) else { break };
            for (sum, more) in total.iter_mut().zip(more) {
                *sum += more;
            }
            self.place(&total);
            (now, read) = self.read();
            if read < best.0 {
                best = (read, self.placed.clone());
                in_vain = 0;
            } else {
                in_vain += 1;
            }
            if read <= known.limit {
                self.outcome.stopped = Stopped::WithinLimit;
                break;
            }
            if in_vain == MOST_IN_VAIN {
                self.outcome.stopped = Stopped::NoFurtherGain;
                break;
            }
        }
        if read > best.0 {
            self.change(best.1);
        }
        self.outcome.mistake = self.rig.mishap().map(|mishap| mishap.mistake.kind());
        self.outcome.left = worst(&self.rig.truth());
        (self.outcome.pieces, self.outcome.grams) = self.rig.hardware_on();
        self.outcome.holes = self.rig.holes_used();
        Ok(self.outcome)
    }

    /// One start, one reading, as naive vectors; and the largest amplitude.
    fn read(&mut self) -> (Vec<Complex64>, f64) {
        let readings = self.rig.run(1, self.entry);
        self.entry += 1;
        self.outcome.runs += 1;
        self.outcome.readings += 1;
        self.outcome.highest = self.outcome.highest.max(worst(&self.rig.truth()));
        (readings.iter().map(naive).collect(), worst_read(&readings))
    }

    fn carry_out(&mut self, fact: Fact) -> Vec<Fact> {
        let written = self.rig.carry_out(fact, self.entry);
        self.entry += 1;
        written
    }

    /// `H = (v1 − v0)/T`, a row for each sensor.
    fn influence(&mut self, as_found: &[Complex64]) -> Result<Vec<Vec<Complex64>>, Problem> {
        let mut rows = vec![Vec::new(); as_found.len()];
        for plane in 0..self.planes {
            let ring = self.rig.machine.rings().iter().find(|ring| ring.plane() == plane);
            let at = usize::from(HOLES) / 6;
            let hole = ring.and_then(|ring| ring.holes().get(at)).ok_or("no hole")?;
            let weight = Weight::new(Mass::from_grams(TRIAL_GRAMS)?, hole.radius(), hole.angle());
            let degrees = hole.angle().in_sense(self.sense).degrees();
            let on = self.entry;
            let written = self.carry_out(Fact::WeightOn { plane, weight });
            let Some(Fact::WeightOn { weight, .. }) = written.first() else { return Err("no weight".into()) };
            let trial = turned(Complex64::new(weight.mass.grams(), 0.0), degrees);
            let (with_trial, _) = self.read();
            self.carry_out(Fact::WeightOff { on });
            for ((row, after), before) in rows.iter_mut().zip(with_trial).zip(as_found) {
                row.push((after - before) / trial);
            }
        }
        Ok(rows)
    }

    /// All washers come out, and those for the total correction, in grams at the radius of the holes, go in.
    fn place(&mut self, total: &[Complex64]) {
        let mut placed = Placed::new();
        for (plane, &grams) in total.iter().enumerate() {
            let angle = libm::atan2(grams.im, grams.re) * (180.0 / core::f64::consts::PI);
            let pitches = libm::fmod(angle / PITCH + 2.0 * f64::from(HOLES), f64::from(HOLES));
            let (nearest, wanted) = (libm::round(pitches), size(grams));
            // What one hole does not take is split over the two holes about the place, by the distance from each.
            let first = libm::floor(pitches);
            let share = pitches - first;
            let parts = if wanted <= HOLE_GRAMS {
                [(nearest, wanted), (nearest, 0.0)]
            } else {
                [(first, wanted * (1.0 - share)), (first + 1.0, wanted * share)]
            };
            for (hole, wanted) in parts {
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a whole number of holes
                let hole = hole as usize % usize::from(HOLES);
                let washers = nearest_washers(wanted);
                if washers.iter().any(|&count| count > 0) {
                    placed.push((plane, hole, washers));
                }
            }
        }
        self.change(placed);
    }

    fn change(&mut self, to: Placed) {
        let pieces = |washers: &[u32; 5]| -> Vec<Pieces> {
            let kinds = washers.iter().enumerate().filter(|&(_, &count)| count > 0);
            kinds.map(|(item, &count)| Pieces { item, count }).collect()
        };
        for (ring, hole, washers) in core::mem::take(&mut self.placed) {
            self.carry_out(Fact::TakenOff { ring, hole, pieces: pieces(&washers) });
        }
        for (ring, hole, washers) in &to {
            self.carry_out(Fact::PutOn { ring: *ring, hole: *hole, pieces: pieces(washers) });
        }
        self.placed = to;
    }
}

/// The largest washer that still goes in, again and again; at the end the smallest where that is nearer.
pub fn nearest_washers(wanted: f64) -> [u32; 5] {
    let mut counts = [0; 5];
    let (mut grams, mut millimetres, mut pieces) = (0.0, 0.0, 0);
    for (kind, (&(_, mass, thickness), count)) in WASHERS.iter().zip(&mut counts).enumerate().rev() {
        let fits = |grams: f64, millimetres: f64, pieces: u32| {
            let near = if kind == 0 { 0.5 * mass } else { 0.0 };
            grams + mass <= wanted + near
                && grams + mass <= HOLE_GRAMS
                && millimetres + thickness <= HOLE_MM
                && pieces < HOLE_PIECES
        };
        while fits(grams, millimetres, pieces) {
            *count += 1;
            (grams, millimetres, pieces) = (grams + mass, millimetres + thickness, pieces + 1);
        }
    }
    counts
}

/// `W = −H⁻¹ v`, one or two planes; `None` where the trials showed nothing.
pub fn correction(influence: &[Vec<Complex64>], now: &[Complex64]) -> Option<Vec<Complex64>> {
    let finite = |w: &Complex64| w.re.is_finite() && w.im.is_finite();
    let solved = match (influence, now) {
        ([row], [v]) => vec![-v / *row.first()?],
        ([one, two], [v, w]) => {
            let ([a, b], [c, d]) = (one.as_slice(), two.as_slice()) else { return None };
            let determinant = a * d - b * c;
            vec![(b * w - d * v) / determinant, (c * v - a * w) / determinant]
        }
        _ => return None,
    };
    solved.iter().all(finite).then_some(solved)
}
