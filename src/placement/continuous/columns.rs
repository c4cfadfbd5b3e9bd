//! The continuous problem as few rows of numbers: `min ‖q − Σ m_h g_h‖` with `0 ≤ m_h ≤ c_h`.
//!
//! `A = Q R` turns `‖v − A w‖² = ‖Qᴴv − Qᴴ A w‖²` into as many rows as there are planes, and a part apart that no mass
//! changes. Complex rows become two real ones each. Powers of two bring target and columns to sizes near 1.

#![allow(clippy::indexing_slicing)] // every index is bounded by the shape built here

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::dense::{Matrix, Qr, norm};
use crate::math;
use crate::placement::problem::{Pair, Row};

/// The ring and the hole of the caller's lists.
pub(super) type Origin = (usize, usize);

/// A hole that takes a mass.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seat {
    pub plane: usize,
    /// r exp(jβ) in mm.
    pub arm: Pair,
    /// The most mass in g; infinite without a limit.
    pub cap: f64,
}

#[derive(Debug, Clone)]
pub(super) struct Columns {
    rows: usize,
    /// Per plane, what a unit of its moment takes off the rows.
    planes: Vec<Vec<Complex64>>,
    /// Hole by hole.
    entries: Vec<f64>,
    /// `‖g_h‖`; zero where the hole has no effect.
    pub size: Vec<f64>,
    /// In scaled mass.
    pub cap: Vec<f64>,
    pub target: Vec<f64>,
    /// What no mass changes.
    pub apart: f64,
    /// Grams of one unit of mass, and the residual's unit of one unit of the target.
    pub mass_unit: f64,
    pub target_unit: f64,
}

impl Columns {
    /// `None` where numbers are beyond range.
    pub(super) fn of(rows: &[Row], planes: usize, seats: &[Seat]) -> Option<Self> {
        let complex = |pair: Pair| Complex64 { re: pair[0], im: pair[1] };
        let gain =
            |row: usize, plane: usize| rows[row].gain.get(plane).copied().map_or(Complex64::ZERO, complex);
        let qr = Qr::factor(Matrix::from_fn(rows.len(), planes, gain));
        let kept = rows.len().min(planes);
        let mut wanted: Vec<Complex64> = rows.iter().map(|row| complex(row.wanted)).collect();
        qr.factors().apply_adjoint(&mut wanted);
        let apart = norm(wanted.get(kept..).unwrap_or(&[]));
        let reals = |entries: &[Complex64]| -> Vec<f64> {
            entries.iter().take(kept).flat_map(|entry| [entry.re, entry.im]).collect()
        };
        let target = reals(&wanted);
        let of_plane = |plane: usize| {
            let mut column: Vec<Complex64> = (0..rows.len()).map(|row| gain(row, plane)).collect();
            qr.factors().apply_adjoint(&mut column);
            column.truncate(kept);
            column
        };
        let by_plane: Vec<Vec<Complex64>> = (0..planes).map(of_plane).collect();
        let mut entries = Vec::with_capacity(seats.len() * 2 * kept);
        for seat in seats {
            let column = by_plane.get(seat.plane)?;
            entries.extend(column.iter().flat_map(|entry| {
                let turned = entry * complex(seat.arm);
                [turned.re, turned.im]
            }));
        }
        let cap = seats.iter().map(|seat| seat.cap).collect();
        let columns = Self {
            rows: 2 * kept,
            planes: by_plane,
            entries,
            size: Vec::new(),
            cap,
            target,
            apart,
            mass_unit: 1.0,
            target_unit: 1.0,
        };
        columns.scaled()
    }

    fn scaled(mut self) -> Option<Self> {
        let sizes: Vec<f64> = (0..self.cap.len()).map(|hole| norm(self.column(hole))).collect();
        let largest = sizes.iter().copied().fold(0.0, f64::max);
        let wanted = norm(&self.target);
        let whole = math::hypot(wanted, self.apart);
        if !sizes.iter().all(|size| size.is_finite()) || !whole.is_finite() {
            return None;
        }
        let (effect, target) = (math::power_of_two_near(largest), math::power_of_two_near(wanted));
        for entry in &mut self.entries {
            *entry /= effect;
        }
        for entry in self.planes.iter_mut().flatten() {
            *entry /= effect;
        }
        for entry in &mut self.target {
            *entry /= target;
        }
        self.size = sizes.iter().map(|size| size / effect).collect();
        self.apart /= target;
        self.target_unit = target;
        self.mass_unit = target / effect;
        if !(self.mass_unit.is_finite() && self.mass_unit > 0.0 && self.apart.is_finite()) {
            return None;
        }
        for cap in &mut self.cap {
            *cap /= self.mass_unit;
        }
        Some(self)
    }

    pub(super) fn holes(&self) -> usize {
        self.cap.len()
    }

    pub(super) fn rows(&self) -> usize {
        self.rows
    }

    pub(super) fn column(&self, hole: usize) -> &[f64] {
        &self.entries[hole * self.rows..(hole + 1) * self.rows]
    }

    /// `g_h · y`
    pub(super) fn along(&self, hole: usize, y: &[f64]) -> f64 {
        dot(self.column(hole), y)
    }

    /// A price per row as one per moment of each plane: `p = Σ conj(A_s) y_s`.
    pub(super) fn per_plane(&self, y: &[f64]) -> Vec<Complex64> {
        let of_plane = |column: &Vec<Complex64>| {
            let rows = column.iter().zip(y.chunks_exact(2));
            rows.map(|(entry, y)| entry.conj() * Complex64 { re: y[0], im: y[1] }).sum()
        };
        self.planes.iter().map(of_plane).collect()
    }

    /// The chosen columns, each over its size, factored.
    pub(super) fn factored(&self, holes: &[usize]) -> Qr<f64> {
        Qr::factor(Matrix::from_fn(self.rows, holes.len(), |row, at| {
            self.column(holes[at])[row] / self.size[holes[at]]
        }))
    }

    /// `q − Σ m_h g_h`, and the size of the terms that went into it.
    pub(super) fn left(&self, masses: &[f64]) -> (Vec<f64>, f64) {
        let mut left = self.target.clone();
        let mut scale = norm(&self.target);
        for (hole, &mass) in masses.iter().enumerate() {
            if mass != 0.0 {
                for (left, entry) in left.iter_mut().zip(self.column(hole)) {
                    *left -= mass * entry;
                }
                scale += mass * self.size[hole];
            }
        }
        (left, scale)
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
