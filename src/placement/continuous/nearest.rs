//! The least residual: bounded-variable least squares by an active set.
//!
//! A hole is empty, full, or free between. The free ones solve the plain least-squares problem of what the full ones
//! leave. Where one of them leaves its bounds, the way there is gone only as far as the first bound that is met, and that
//! hole is no longer free. When all free ones stay within theirs, the hole whose mass would help most, `g_h·r`, is freed;
//! when none would, the conditions of Karush, Kuhn and Tucker hold and the residual is least. It falls with every hole
//! that is freed, so no set of free holes comes twice (C. L. Lawson and R. J. Hanson, Solving Least Squares Problems, 1974,
//! chapter 23; P. B. Stark and R. L. Parker, Computational Statistics 10, 1995; both from memory).

#![allow(clippy::indexing_slicing)] // every index is that of a hole

use alloc::vec;
use alloc::vec::Vec;

use super::columns::Columns;
use crate::dense::norm;
use crate::math;

/// A slope below this part of the terms that make it up is rounding.
pub(super) const SLACK: f64 = 32.0 * f64::EPSILON;
/// Columns nearer to dependent than this are not solved for together.
const DEPENDENT: f64 = 1e-12;

/// What a hole carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum State {
    Empty,
    Full,
    /// Its mass follows from the equations.
    Free,
}

#[derive(Debug, Clone)]
pub(super) struct Nearest {
    pub state: Vec<State>,
    pub mass: Vec<f64>,
    /// `q − Σ m_h g_h`
    pub left: Vec<f64>,
    /// What rounding may have made of a slope per size of a column.
    pub rounding: f64,
}

/// The masses that come nearest to the target.
pub(super) fn nearest(columns: &Columns) -> Nearest {
    let holes = columns.holes();
    let (mut state, mut mass) = (vec![State::Empty; holes], vec![0.0; holes]);
    let mut free: Vec<usize> = Vec::new();
    // Holes that rounding alone calls for.
    let mut refused = vec![false; holes];
    for _ in 0..10 * holes + 1000 {
        let (left, scale) = columns.left(&mass);
        let rounding = SLACK * scale;
        let mut best: Option<(f64, usize)> = None;
        for hole in 0..holes {
            let size = columns.size[hole];
            if refused[hole] || size <= 0.0 || columns.cap[hole] <= 0.0 {
                continue;
            }
            // −∂(½‖r‖²)/∂m_h = g_h·r
            let slope = columns.along(hole, &left) / size;
            let help = match state[hole] {
                State::Empty => slope,
                State::Full => -slope,
                State::Free => continue,
            };
            if help > rounding && best.is_none_or(|(most, _)| help > most) {
                best = Some((help, hole));
            }
        }
        let Some((_, entering)) = best else {
            return Nearest { state, mass, left, rounding };
        };
        if freed(columns, entering, &mut free, &mut state, &mut mass) {
            refused.fill(false);
        } else {
            refused[entering] = true;
        }
    }
    let (left, scale) = columns.left(&mass);
    Nearest { state, mass, left, rounding: SLACK * scale }
}

/// What no masses fall below: `‖r‖ + Σ (m_h s_h − c_h max(0, s_h))/‖r‖` with `s_h = g_h·r`, slopes that are rounding left out.
pub(super) fn least_left(columns: &Columns, mass: &[f64]) -> f64 {
    let (left, scale) = columns.left(mass);
    let (size, rounding) = (norm(&left), 8.0 * SLACK * scale);
    if size <= rounding {
        return columns.apart;
    }
    let mut bound = size;
    for (hole, &mass) in mass.iter().enumerate() {
        let slope = columns.along(hole, &left);
        if slope.abs() > rounding * columns.size[hole] {
            let most = if slope > 0.0 { columns.cap[hole] * slope } else { 0.0 };
            bound += (mass * slope - most) / size;
        }
    }
    math::hypot(bound.max(0.0), columns.apart)
}

/// Frees a hole and goes to the least residual of the free ones within their bounds; false where it would not move.
fn freed(
    columns: &Columns,
    entering: usize,
    free: &mut Vec<usize>,
    state: &mut [State],
    mass: &mut [f64],
) -> bool {
    let before = state[entering];
    state[entering] = State::Free;
    free.push(entering);
    let mut first = true;
    while !free.is_empty() {
        let solved = least_squares(columns, free, state);
        let moved = solved.as_ref().and_then(|solved| solved.last()).is_some_and(|&mass| {
            if before == State::Empty { mass > 0.0 } else { mass < columns.cap[entering] }
        });
        let Some(solved) = solved.filter(|_| moved || !first) else {
            if first {
                state[entering] = before;
                free.pop();
                return false;
            }
            return true;
        };
        first = false;
        // The first bound on the way from the present masses to the solved ones.
        let mut share = 1.0;
        for (&hole, &solved) in free.iter().zip(&solved) {
            let (now, cap) = (mass[hole], columns.cap[hole]);
            if solved < 0.0 {
                share = f64::min(share, now / (now - solved));
            } else if solved > cap {
                share = f64::min(share, (cap - now) / (solved - now));
            }
        }
        let mut stay = Vec::new();
        for (&hole, &solved) in free.iter().zip(&solved) {
            let (now, cap) = (mass[hole], columns.cap[hole]);
            let way = if solved < 0.0 {
                now / (now - solved)
            } else if solved > cap {
                (cap - now) / (solved - now)
            } else {
                f64::INFINITY
            };
            if way <= share {
                state[hole] = if solved < 0.0 { State::Empty } else { State::Full };
                mass[hole] = if solved < 0.0 { 0.0 } else { cap };
            } else {
                // m ← m + α (z − m)
                let next = if share < 1.0 { now + share * (solved - now) } else { solved };
                mass[hole] = next.max(0.0).min(cap);
                stay.push(hole);
            }
        }
        let settled = stay.len() == free.len();
        *free = stay;
        if settled {
            break;
        }
    }
    true
}

/// The masses of the free holes that leave least of what the full ones leave; `None` where they depend on each other.
pub(super) fn least_squares(columns: &Columns, free: &[usize], state: &[State]) -> Option<Vec<f64>> {
    let full = |(hole, state): (usize, &State)| if *state == State::Full { columns.cap[hole] } else { 0.0 };
    let held: Vec<f64> = state.iter().enumerate().map(full).collect();
    let (left, _) = columns.left(&held);
    let qr = columns.factored(free);
    if qr.rank(DEPENDENT) < free.len() {
        return None;
    }
    let mut masses = qr.solve(&left)?;
    for (mass, &hole) in masses.iter_mut().zip(free) {
        *mass /= columns.size[hole];
    }
    Some(masses)
}
