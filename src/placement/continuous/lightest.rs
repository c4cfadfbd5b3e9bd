//! The least mass among all that leave the least residual: `min Σ m_h` with `Σ m_h g_h = q − r` and `0 ≤ m_h ≤ c_h`.
//!
//! The masses of the least residual are a corner of this linear programme already; the primal simplex method with bounds
//! goes on from it. Its dual is a price y of what is reached: a hole that stays empty costs more than it is worth,
//! `y·g_h ≤ 1`, a full one less, and `y·(q − r) − Σ c_h max(0, y·g_h − 1)` is what no masses undercut. Where several masses
//! are least, the first hole carries the most that it can, then the second, and so on: one more programme for each hole
//! that is left a choice. After a step of no length the least indices decide (R. G. Bland, Mathematics of Operations
//! Research 2, 1977; from memory).

#![allow(clippy::indexing_slicing)] // every index is that of a hole

use alloc::vec;
use alloc::vec::Vec;

use super::columns::{Columns, dot};
use super::nearest::{Nearest, SLACK, State, least_squares};
use crate::dense::norm;

/// Columns that stand out from the others by less than this part of their size add no row.
const INDEPENDENT: f64 = 1e-9;
/// A hole whose slope is below this part of the residual may change its mass without changing the residual.
const LEVEL: f64 = 1e-10;
/// Reduced costs below this part of their terms are rounding.
const COST: f64 = 1e-11;
/// Masses change with the one that enters by at least this part, or not at all.
const PIVOT: f64 = 1e-10;

/// A corner of the programme.
struct Corner<'a> {
    columns: &'a Columns,
    /// As many independent columns as the movable ones have.
    basis: Vec<usize>,
    state: Vec<State>,
    mass: Vec<f64>,
    movable: Vec<bool>,
}

/// Brings the masses to the least; the price of what they reach is returned.
pub(super) fn lightest(columns: &Columns, found: &mut Nearest) -> Vec<f64> {
    let size = norm(&found.left);
    let level = |hole: usize| {
        let slope = columns.along(hole, &found.left).abs();
        slope <= (LEVEL * size + 8.0 * found.rounding) * columns.size[hole]
    };
    let usable = |hole: usize| columns.size[hole] > 0.0 && columns.cap[hole] > 0.0;
    let movable: Vec<bool> = (0..columns.holes())
        .map(|hole| usable(hole) && (found.state[hole] == State::Free || level(hole)))
        .collect();
    let mut corner =
        Corner { columns, basis: Vec::new(), state: found.state.clone(), mass: found.mass.clone(), movable };
    corner.complete();
    let mut price = corner.settle(|_| 1.0);
    raise(columns, found, &corner, &mut price);
    corner.choose(&price);
    found.state = corner.state;
    found.mass = corner.mass;
    price
}

/// Raises the price along what is left, which costs nothing, until it keeps the holes that cannot move where they are.
fn raise(columns: &Columns, found: &Nearest, corner: &Corner<'_>, price: &mut [f64]) {
    let mut most: f64 = 0.0;
    for hole in (0..columns.holes()).filter(|&hole| !corner.movable[hole]) {
        let (slope, excess) = (columns.along(hole, &found.left), columns.along(hole, price) - 1.0);
        // Full: (y + t r)·g ≥ 1, empty: (y + t r)·g ≤ 1
        if (corner.state[hole] == State::Full) == (excess < 0.0) && slope * excess < 0.0 {
            most = most.max(0.0 - excess / slope);
        }
    }
    for (price, left) in price.iter_mut().zip(&found.left) {
        *price += most * left;
    }
}

/// What no masses with the same effect undercut: `Σ m_h v_h − Σ c_h max(0, v_h − 1)` with `v_h = y·g_h`, the price lowered
/// as far as a hole without a cap demands, and once more by a few roundings, which a huge cap would make much of.
pub(super) fn least_total(columns: &Columns, mass: &[f64], price: &mut [f64]) -> f64 {
    let worth: Vec<f64> = (0..columns.holes()).map(|hole| columns.along(hole, price)).collect();
    let uncapped = worth.iter().zip(&columns.cap).filter(|(_, cap)| cap.is_infinite());
    let excess = uncapped.map(|(&worth, _)| worth).fold(1.0, f64::max);
    let bound = |excess: f64| {
        let terms = worth.iter().zip(mass).zip(&columns.cap).map(|((&worth, &mass), &cap)| {
            let worth = worth / excess;
            mass * worth - if worth > 1.0 && cap.is_finite() { cap * (worth - 1.0) } else { 0.0 }
        });
        terms.sum::<f64>()
    };
    let lowered = excess * (1.0 + SLACK);
    let (best, value) =
        if bound(lowered) > bound(excess) { (lowered, bound(lowered)) } else { (excess, bound(excess)) };
    for price in price {
        *price /= best;
    }
    value.max(0.0)
}

impl Corner<'_> {
    /// Fills the basis up to the rank of the movable columns, with those that stand out most.
    fn complete(&mut self) {
        let holes = self.columns.holes();
        let mut directions: Vec<Vec<f64>> = Vec::new();
        let remainder = |columns: &Columns, directions: &[Vec<f64>], hole: usize| {
            let mut rest: Vec<f64> =
                columns.column(hole).iter().map(|entry| entry / columns.size[hole]).collect();
            // Twice is enough.
            for direction in directions.iter().chain(directions) {
                let along = dot(direction, &rest);
                for (rest, entry) in rest.iter_mut().zip(direction) {
                    *rest -= along * entry;
                }
            }
            rest
        };
        let push = |directions: &mut Vec<Vec<f64>>, mut rest: Vec<f64>| {
            let size = norm(&rest);
            if size > 0.0 {
                for entry in &mut rest {
                    *entry /= size;
                }
                directions.push(rest);
            }
        };
        for hole in (0..holes).filter(|&hole| self.state[hole] == State::Free) {
            let rest = remainder(self.columns, &directions, hole);
            push(&mut directions, rest);
            self.basis.push(hole);
        }
        while directions.len() < self.columns.rows() {
            let mut best: Option<(f64, usize, Vec<f64>)> = None;
            for hole in (0..holes).filter(|&hole| self.movable[hole] && self.state[hole] != State::Free) {
                let rest = remainder(self.columns, &directions, hole);
                let size = norm(&rest);
                if size > INDEPENDENT && best.as_ref().is_none_or(|(most, ..)| size > *most) {
                    best = Some((size, hole, rest));
                }
            }
            let Some((_, hole, rest)) = best else { break };
            push(&mut directions, rest);
            self.state[hole] = State::Free;
            self.basis.push(hole);
        }
    }

    /// Goes from corner to corner to the least cost; the price that proves it is returned.
    fn settle(&mut self, cost: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut cautious = false;
        let limit = 200 + 20 * self.columns.holes();
        let mut price = vec![0.0; self.columns.rows()];
        for _ in 0..limit {
            let factored = self.columns.factored(&self.basis);
            let scaled = |hole: usize| cost(hole) / self.columns.size[hole];
            let costs: Vec<f64> = self.basis.iter().map(|&hole| scaled(hole)).collect();
            let Some(inverse) = factored.inverse_r() else { break };
            // Bᵀ y = c_B, the shortest such y: y = Q R⁻ᵀ c_B
            let mut y: Vec<f64> = (0..costs.len()).map(|at| dot(inverse.column(at), &costs)).collect();
            y.resize(self.columns.rows(), 0.0);
            factored.factors().apply(&mut y);
            price = y;
            let Some((entering, sign)) = self.entering(&cost, &price, cautious) else { return price };
            let Some(change) = factored.solve(self.columns.column(entering)) else { break };
            let moved = self.exchange(entering, sign, &change, cautious);
            cautious = moved <= 0.0;
        }
        price
    }

    /// The reduced cost of a hole, zero where it is rounding.
    fn reduced(&self, cost: f64, price: &[f64], hole: usize) -> f64 {
        let worth = self.columns.along(hole, price);
        let reduced = cost - worth;
        let terms = cost.abs() + norm(price) * self.columns.size[hole];
        if reduced.abs() <= COST * terms { 0.0 } else { reduced }
    }

    /// The hole whose mass should change, and which way.
    fn entering(&self, cost: &impl Fn(usize) -> f64, price: &[f64], cautious: bool) -> Option<(usize, f64)> {
        let mut best: Option<(f64, usize, f64)> = None;
        for hole in (0..self.columns.holes()).filter(|&hole| self.movable[hole]) {
            let sign = match self.state[hole] {
                State::Empty => 1.0,
                State::Full => -1.0,
                State::Free => continue,
            };
            let gain = 0.0 - sign * self.reduced(cost(hole), price, hole) / self.columns.size[hole];
            if gain > 0.0 && best.is_none_or(|(most, ..)| gain > most) {
                best = Some((gain, hole, sign));
                if cautious {
                    break;
                }
            }
        }
        best.map(|(_, hole, sign)| (hole, sign))
    }

    /// Changes the mass of a hole as far as the bounds of all allow; how far is returned.
    fn exchange(&mut self, entering: usize, sign: f64, change: &[f64], cautious: bool) -> f64 {
        let largest = change.iter().map(|change| change.abs()).fold(0.0, f64::max);
        let mut way = self.columns.cap[entering];
        let mut leaving: Option<(usize, State)> = None;
        for (at, (&hole, &change)) in self.basis.iter().zip(change).enumerate() {
            // The solved columns are over their sizes.
            let rate = 0.0 - sign * change / self.columns.size[hole];
            if change.abs() <= PIVOT * largest {
                continue;
            }
            let (room, bound) = if rate < 0.0 {
                (self.mass[hole] / (0.0 - rate), State::Empty)
            } else {
                ((self.columns.cap[hole] - self.mass[hole]) / rate, State::Full)
            };
            let room = room.max(0.0);
            let earlier = leaving.is_some_and(|(other, _)| {
                room == way && if cautious { hole < self.basis[other] } else { false }
            });
            if room < way || earlier {
                way = room;
                leaving = Some((at, bound));
            }
        }
        if !way.is_finite() {
            // No cost falls without end; rounding said so.
            self.movable[entering] = false;
            return 0.0;
        }
        match leaving {
            None => {
                let full = sign > 0.0;
                self.state[entering] = if full { State::Full } else { State::Empty };
                self.mass[entering] = if full { self.columns.cap[entering] } else { 0.0 };
            }
            Some((at, bound)) => {
                let out = self.basis[at];
                self.state[out] = bound;
                self.mass[out] = if bound == State::Full { self.columns.cap[out] } else { 0.0 };
                self.state[entering] = State::Free;
                self.basis[at] = entering;
            }
        }
        self.solve();
        way
    }

    /// The masses of the basis afresh, so that no error adds up.
    fn solve(&mut self) {
        if let Some(solved) = least_squares(self.columns, &self.basis, &self.state) {
            for (&hole, &solved) in self.basis.iter().zip(&solved) {
                self.mass[hole] = solved.max(0.0).min(self.columns.cap[hole]);
            }
        }
    }

    /// Among masses of equal cost: the first hole carries the most that it can, then the second, and so on.
    fn choose(&mut self, price: &[f64]) {
        self.hold(|_| 1.0, price);
        let idle = |corner: &Self| {
            (0..corner.columns.holes()).all(|hole| !corner.movable[hole] || corner.state[hole] == State::Free)
        };
        for first in 0..self.columns.holes() {
            if idle(self) {
                return;
            }
            if self.movable[first] {
                let cost = |hole: usize| if hole == first { -1.0 } else { 0.0 };
                let price = self.settle(cost);
                self.hold(cost, &price);
                if self.state[first] != State::Free {
                    self.movable[first] = false;
                }
            }
        }
    }

    /// Holds every hole whose mass cannot change without raising the cost.
    fn hold(&mut self, cost: impl Fn(usize) -> f64, price: &[f64]) {
        for hole in 0..self.columns.holes() {
            if self.movable[hole]
                && self.state[hole] != State::Free
                && self.reduced(cost(hole), price, hole) != 0.0
            {
                self.movable[hole] = false;
            }
        }
    }
}
