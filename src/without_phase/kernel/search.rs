//! All local minima of the sum of squares, found without chance.
//!
//! With w = −v₀/H the model reads |v₀ + H u| = |H| |u − w|: the amplitudes are proportional to the distances of the
//! places u (the shaft centre for a reading as found) from the correction w. For a given w the best |H| is known,
//!
//! ```text
//! |H| = Σ A D/Σ D²,   D = |u − w|,
//! ```
//!
//! so the search has two dimensions, and a polar grid of w covers it. Far out (c → 0) and far in (A₀ → 0) the sum of
//! squares is smooth; between, its finest structure is the cusp at a trial place of small amplitude. Two minima on two
//! sides of one cusp ask for nearly the same correction, and the higher of them may be passed over.

use alloc::vec::Vec;

use num_complex::Complex64;

use super::unit_vector;

use super::model::{Minimum, Reading, Rotor, count, descend, magnitude, sum_squares};

/// Directions of the grid, 10° apart.
const DIRECTIONS: u16 = 36;
/// Radii of the grid, each √2 times the last, from 2⁻⁸ to 2⁸ of the scaled trial mass.
const RADII: u16 = 33;
/// Every start of this coarser grid is followed, whatever its neighbours are.
const COARSE_DIRECTIONS: u16 = 12;
const COARSE_RADII: [f64; 5] = [0.25, 0.5, 1.0, 2.0, 4.0];

/// The local minima reached from the grid and the caller's own starts, lowest first, each once; those with A₀ < 0 are
/// among them.
pub(super) fn local_minima(readings: &[Reading], own_starts: &[Rotor]) -> Vec<Minimum> {
    let mut minima = Vec::new();
    let mut follow = |start| {
        if let Some(minimum) = descend(readings, start) {
            insert(readings, &mut minima, minimum);
        }
    };
    own_starts.iter().copied().for_each(&mut follow);
    for sign in [1.0, -1.0] {
        Grid::over(readings, sign).starts(readings).into_iter().for_each(&mut follow);
    }
    sort(&mut minima);
    minima
}

pub(super) fn sort(minima: &mut [Minimum]) {
    minima.sort_by(|a, b| a.sum_squares.total_cmp(&b.sum_squares));
}

/// Adds a minimum unless it is already there, within what rounding can tell apart.
pub(super) fn insert(readings: &[Reading], minima: &mut Vec<Minimum>, new: Minimum) {
    for old in minima.iter_mut() {
        let distance = old.rotor.distance(new.rotor);
        let lower = if new.sum_squares < old.sum_squares { new } else { *old };
        if distance <= SAME {
            *old = lower;
            return;
        }
        // Where two roots nearly touch the floor is flat to the fourth order and descents end some way apart: they are
        // one minimum unless the sum of squares rises between them.
        if distance <= NEAR {
            let rotor = old.rotor.midpoint(new.rotor);
            let between = sum_squares(readings, rotor);
            if between <= old.sum_squares.max(new.sum_squares) + FLOOR_ROUNDING * count(readings) {
                *old =
                    if between < lower.sum_squares { Minimum { rotor, sum_squares: between } } else { lower };
                return;
            }
        }
    }
    minima.push(new);
}

/// Relative distance within which two minima are one.
const SAME: f64 = 1e-7;
/// Relative distance within which two minima are compared along the way between them.
const NEAR: f64 = 1e-3;
/// Rounding of one squared residual that should vanish.
const FLOOR_ROUNDING: f64 = 1e-30;

/// The best rotor whose correction is w and whose A₀ has the given sign.
#[derive(Clone, Copy)]
struct Candidate {
    rotor: Rotor,
    /// How far the rotor lowers Σ A².
    explained: f64,
}

impl Candidate {
    fn at(readings: &[Reading], correction: Complex64, sign: f64) -> Option<Candidate> {
        let radius = magnitude(correction);
        // v₀ = ±|H| |w|, H = −v₀/w = ∓|H| w*/|w|, here for |H| = 1
        let unit = Rotor { initial: sign * radius, influence: correction.conj().unscale(-sign * radius) };
        let (mut along, mut square) = (0.0, 0.0);
        for reading in readings {
            let distance = unit.amplitude(reading.mounted);
            along += reading.amplitude * distance;
            square += distance * distance;
        }
        // |H| = Σ A D/Σ D²
        let effect = along / square;
        let rotor = Rotor { initial: unit.initial * effect, influence: unit.influence * effect };
        // Σ (A − |H| D)² = Σ A² − |H| Σ A D at this |H|
        (effect > 0.0 && radius > 0.0).then_some(Candidate { rotor, explained: effect * along })
    }
}

/// The best rotors over a polar grid of corrections.
struct Grid {
    sign: f64,
    points: Vec<Option<Candidate>>,
}

impl Grid {
    fn over(readings: &[Reading], sign: f64) -> Grid {
        let mut points = Vec::with_capacity(usize::from(RADII) * usize::from(DIRECTIONS));
        for k in 0..RADII {
            // |w| = 2^((k − 16)/2)
            let radius = libm::exp2(0.5 * f64::from(k) - 0.25 * f64::from(RADII - 1));
            for j in 0..DIRECTIONS {
                points.push(Candidate::at(readings, grid_direction(j, DIRECTIONS) * radius, sign));
            }
        }
        Grid { sign, points }
    }

    /// What the point at radius k and direction j explains; nothing beyond the first and the last radius.
    fn explained(&self, k: usize, j: usize) -> f64 {
        let j = j % usize::from(DIRECTIONS);
        let point = self.points.get(k * usize::from(DIRECTIONS) + j).copied().flatten();
        point.map_or(0.0, |point| point.explained)
    }

    /// The points that explain no less than their eight neighbours, and all of the coarser grid.
    fn starts(&self, readings: &[Reading]) -> Vec<Rotor> {
        let mut starts = Vec::new();
        let directions = usize::from(DIRECTIONS);
        for (index, point) in self.points.iter().enumerate() {
            let Some(point) = point else { continue };
            let (k, j) = (index / directions, index % directions);
            let (left, right) = (j + directions - 1, j + 1);
            let mut most = self.explained(k, left).max(self.explained(k, right));
            // Inside the first radius lies what is outside the last: nothing.
            for ring in [k.checked_sub(1).unwrap_or(usize::from(RADII)), k + 1] {
                most = [left, j, right].iter().map(|j| self.explained(ring, *j)).fold(most, f64::max);
            }
            if point.explained >= most {
                starts.push(point.rotor);
            }
        }
        for radius in COARSE_RADII {
            for j in 0..COARSE_DIRECTIONS {
                let correction = grid_direction(j, COARSE_DIRECTIONS) * radius;
                starts.extend(Candidate::at(readings, correction, self.sign).map(|c| c.rotor));
            }
        }
        starts
    }
}

fn grid_direction(j: u16, directions: u16) -> Complex64 {
    unit_vector(f64::from(j) * (360.0 / f64::from(directions)))
}
