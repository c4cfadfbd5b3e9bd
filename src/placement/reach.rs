//! Reach: how far the holes can carry a moment along a direction, and so how near the wanted one they can come.
//!
//! For any direction u of dual size at most 1, a residual r has size at least Re(u·r). What each hole can add along u is
//! known, so `u·v − Σ (the most that the q best holes add along u)` is a bound that no placement in q holes falls below.

#![allow(clippy::indexing_slicing)] // every index is bounded by a shape of the problem

use alloc::vec;
use alloc::vec::Vec;
use core::cmp::Ordering;

use super::problem::{Norm, Pair, Problem, conjugate_times, dot, scaled, square, times};
use crate::math;

/// Directions round the circle of each plane.
const ROUND: usize = 32;
/// Steps towards the nearest point that a continuous placement reaches.
const APPROACH: usize = 60;

/// Steps of a climb towards the direction that bounds best, in the norms of the worst.
const CLIMB: usize = 400;

/// A direction of dual size 1, and what it makes of the wanted vector and of every hole.
#[derive(Debug, Clone)]
pub(super) struct Direction {
    /// u·v
    pub wanted: f64,
    /// Per site, what one gram there takes off `u·r`.
    pub gain: Vec<f64>,
    /// Per site, the most that any of its options takes off: zero or more.
    pub most: Vec<f64>,
}

impl Direction {
    fn along(problem: &Problem, rows: &[Pair]) -> Option<Self> {
        let modulus = |row: &Pair| math::hypot(row[0], row[1]);
        let dual = match problem.norm {
            Norm::Euclidean => rows.iter().map(modulus).fold(0.0, math::hypot),
            Norm::WorstRow => rows.iter().map(modulus).sum(),
            Norm::WorstComponent => rows.iter().map(|row| row[0].abs() + row[1].abs()).sum(),
        };
        if dual <= 0.0 || !dual.is_finite() {
            return None;
        }
        // A hair shorter than 1, so that rounding cannot make the bound too large.
        let unit: Vec<Pair> = rows.iter().map(|&row| scaled(row, (1.0 - 1e-14) / dual)).collect();
        let wanted = unit.iter().zip(&problem.rows).map(|(&u, row)| dot(u, row.wanted)).sum();
        // Re Σ_s conj(u_s) A_sp, per plane, as a vector on which the arm is projected.
        let mut planes = vec![[0.0; 2]; problem.planes];
        for (&u, row) in unit.iter().zip(&problem.rows) {
            for (sum, &gain) in planes.iter_mut().zip(&row.gain) {
                let term = conjugate_times(gain, u);
                *sum = [sum[0] + term[0], sum[1] + term[1]];
            }
        }
        let gain: Vec<f64> = problem.sites.iter().map(|site| dot(planes[site.plane], site.arm)).collect();
        let most = gain.iter().enumerate().map(|(site, &gain)| {
            let masses = &problem.options(site).mass;
            let ends = masses.first().into_iter().chain(masses.last());
            ends.map(|mass| mass * gain).fold(0.0, f64::max)
        });
        Some(Self { wanted, most: most.collect(), gain })
    }

    /// What no placement in at most so many holes falls below.
    pub(super) fn bound(&self, holes: usize) -> f64 {
        let mut most = self.most.clone();
        if holes < most.len() {
            most.sort_by(|one, other| other.partial_cmp(one).unwrap_or(Ordering::Equal));
            most.truncate(holes);
        }
        self.wanted - most.iter().sum::<f64>()
    }
}

/// Directions that bound well: round the circle of each plane, and the one towards what cannot be reached.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    pub directions: Vec<Direction>,
    /// What no placement falls below.
    pub bound: f64,
}

impl Reach {
    pub(super) fn of(problem: &Problem, holes: usize) -> Self {
        let mut directions = Vec::new();
        let mut bound: f64 = 0.0;
        let mut nearest = approached(problem, holes);
        if problem.norm != Norm::Euclidean
            && Direction::along(problem, &nearest).is_some_and(|direction| direction.bound(holes) > 0.0)
        {
            nearest = climbed(problem, holes, nearest);
        }
        if let Some(direction) = Direction::along(problem, &nearest) {
            bound = bound.max(direction.bound(holes));
            directions.push(direction);
        }
        for plane in 0..problem.planes {
            for step in 0..ROUND {
                #[allow(clippy::cast_precision_loss)] // below ROUND
                let (sine, cosine) = math::sin_cos_degrees(360.0 * step as f64 / ROUND as f64);
                let rows: Vec<Pair> =
                    problem.rows.iter().map(|row| times(row.gain[plane], [cosine, sine])).collect();
                if let Some(direction) = Direction::along(problem, &rows) {
                    bound = bound.max(direction.bound(holes));
                    directions.push(direction);
                }
            }
        }
        let size = problem.size(problem.rows.iter().map(|row| row.wanted));
        // What the sums of the bound may have been rounded by.
        Self { directions, bound: (bound - size * 1e-12 - problem.rounding).max(0.0) }
    }

    /// What no placement in at most so many holes falls below.
    pub(super) fn bound_for(&self, holes: usize) -> f64 {
        self.directions.iter().map(|direction| direction.bound(holes)).fold(0.0, f64::max)
    }
}

/// What is left at the best of a few steps towards the nearest reachable point, masses taken as continuous: each step
/// goes as far as is best towards the placement that reaches farthest along what is left.
fn approached(problem: &Problem, holes: usize) -> Vec<Pair> {
    let mut left: Vec<Pair> = problem.rows.iter().map(|row| row.wanted).collect();
    let mut best = (f64::NEG_INFINITY, left.clone());
    let mut moments = vec![[0.0; 2]; problem.planes];
    for _ in 0..APPROACH {
        let Some(direction) = Direction::along(problem, &left) else { break };
        let bound = direction.bound(holes);
        if bound > best.0 {
            best = (bound, left.clone());
        }
        let farthest = farthest(problem, &direction, holes);
        let step: Vec<Pair> =
            moments.iter().zip(&farthest).map(|(m, f)| [f[0] - m[0], f[1] - m[1]]).collect();
        let moved: Vec<Pair> = problem
            .rows
            .iter()
            .map(|row| {
                row.gain.iter().zip(&step).fold([0.0; 2], |sum, (&gain, &step)| {
                    let term = times(gain, step);
                    [sum[0] + term[0], sum[1] + term[1]]
                })
            })
            .collect();
        let length: f64 = moved.iter().map(|&row| square(row)).sum();
        let along: f64 = moved.iter().zip(&left).map(|(&moved, &left)| dot(moved, left)).sum();
        if length <= 0.0 || along <= 0.0 {
            break;
        }
        let share = (along / length).min(1.0);
        for (moment, step) in moments.iter_mut().zip(&step) {
            *moment = [moment[0] + share * step[0], moment[1] + share * step[1]];
        }
        left = problem.rows.iter().map(|row| row.left(&moments)).collect();
    }
    best.1
}

/// The moments of the placement in at most so many holes, masses taken as continuous, that reaches farthest along a
/// direction.
fn farthest(problem: &Problem, direction: &Direction, holes: usize) -> Vec<Pair> {
    let mut order: Vec<usize> = (0..problem.sites.len()).collect();
    order.sort_by(|&one, &other| {
        let most = direction.most[other].partial_cmp(&direction.most[one]);
        most.unwrap_or(Ordering::Equal).then(one.cmp(&other))
    });
    let mut farthest = vec![[0.0; 2]; problem.planes];
    for &site in order.iter().take(holes) {
        let (gain, most) = (direction.gain[site], direction.most[site]);
        if most > 0.0 {
            let (mass, hole) = (most / gain, &problem.sites[site]);
            farthest[hole.plane][0] += mass * hole.arm[0];
            farthest[hole.plane][1] += mass * hole.arm[1];
        }
    }
    farthest
}

/// Climbs from a direction to one with a higher bound, in a norm of the worst: the bound is concave in the direction, and
/// what the farthest placement leaves is its slope. Steps aim a little above the best so far (Polyak's step with a level,
/// from memory), and directions are taken back to the ball of dual size 1.
fn climbed(problem: &Problem, holes: usize, start: Vec<Pair>) -> Vec<Pair> {
    let Some(first) = Direction::along(problem, &start) else { return start };
    let mut best = (first.bound(holes), start.clone());
    let mut direction = onto_ball(problem.norm, start);
    let mut above = 0.25 * problem.size(problem.rows.iter().map(|row| row.wanted));
    let mut stale = 0;
    for _ in 0..CLIMB {
        let Some(along) = Direction::along(problem, &direction) else { break };
        let bound = along.bound(holes);
        if bound > best.0 {
            best = (bound, direction.clone());
            stale = 0;
        } else {
            stale += 1;
        }
        if stale == 12 {
            above *= 0.5;
            direction.clone_from(&best.1);
            stale = 0;
        }
        let moments = farthest(problem, &along, holes);
        let slope: Vec<Pair> = problem.rows.iter().map(|row| row.left(&moments)).collect();
        let steepness: f64 = slope.iter().map(|&row| square(row)).sum();
        if steepness <= 0.0 {
            break;
        }
        let step = (best.0 + above - bound) / steepness;
        let moved = direction.iter().zip(&slope).map(|(u, r)| [u[0] + step * r[0], u[1] + step * r[1]]);
        direction = onto_ball(problem.norm, moved.collect());
    }
    best.1
}

/// The nearest direction of dual size 1 or less: sizes are lessened by one amount, none below zero.
fn onto_ball(norm: Norm, mut rows: Vec<Pair>) -> Vec<Pair> {
    let mut sizes: Vec<f64> = match norm {
        Norm::Euclidean => return rows,
        Norm::WorstRow => rows.iter().map(|row| math::hypot(row[0], row[1])).collect(),
        Norm::WorstComponent => rows.iter().flatten().map(|part| part.abs()).collect(),
    };
    if sizes.iter().sum::<f64>() <= 1.0 {
        return rows;
    }
    sizes.sort_by(|one, other| other.partial_cmp(one).unwrap_or(Ordering::Equal));
    // Σ max(s − τ, 0) = 1 over the largest
    let (mut sum, mut less, mut count) = (0.0, 0.0, 0.0);
    for size in sizes {
        sum += size;
        count += 1.0;
        let amount = (sum - 1.0) / count;
        if size <= amount {
            break;
        }
        less = amount;
    }
    for row in &mut rows {
        *row = if norm == Norm::WorstRow {
            let size = math::hypot(row[0], row[1]);
            scaled(*row, if size > less { (size - less) / size } else { 0.0 })
        } else {
            row.map(|part| if part > 0.0 { (part - less).max(0.0) } else { (part + less).min(0.0) })
        };
    }
    rows
}
