//! The problem as numbers: holes with directions, options, and the residual that is to be small.
//!
//! One plane or many, unbalance or vibration: `r_s = v_s − Σ_p A_sp w_p`, with `w_p = Σ m_h r_h exp(jβ_h)` over the
//! holes of plane p. For a wanted unbalance, A is the identity and v what is wanted; for vibration, v is the weighted
//! reading and A the weighted influence coefficient with its sign changed.

#![allow(clippy::indexing_slicing)] // every index is bounded by a shape of the problem

use alloc::vec;
use alloc::vec::Vec;

use super::options::Options;
use crate::math;

/// A plane vector.
pub(super) type Pair = [f64; 2];

/// How large a residual is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Norm {
    /// `√(Σ |r_s|²)`
    Euclidean,
    /// `max |r_s|`
    WorstRow,
    /// The largest component of all; a square instead of a circle.
    WorstComponent,
}

impl Norm {
    pub(super) fn size(self, rows: impl Iterator<Item = Pair>) -> f64 {
        match self {
            Self::Euclidean => rows.fold(0.0, |sum, left| math::hypot(sum, math::hypot(left[0], left[1]))),
            Self::WorstRow => rows.fold(0.0, |worst, left| math::hypot(left[0], left[1]).max(worst)),
            Self::WorstComponent => {
                rows.fold(0.0, |worst: f64, left| worst.max(left[0].abs()).max(left[1].abs()))
            }
        }
    }
}

/// One usable hole.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site {
    pub plane: usize,
    /// r exp(jβ) in mm.
    pub arm: Pair,
    /// Which list of options.
    pub kind: usize,
}

/// One row: a wanted vector, and what a unit moment in each plane takes off it.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub wanted: Pair,
    pub gain: Vec<Pair>,
}

/// Limits over all holes.
#[derive(Debug, Clone)]
pub(super) struct Totals {
    pub holes: usize,
    pub holes_in_plane: Vec<usize>,
    pub pieces: Option<u32>,
    pub net_mass: Option<f64>,
    /// What is there of each scarce item.
    pub stock: Vec<u32>,
}

/// One choice: an option of a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Pick {
    pub site: u32,
    pub option: u32,
}

#[derive(Debug, Clone)]
pub(super) struct Problem {
    /// In the order of plane, angle, radius, limits: what is given first does not matter.
    pub sites: Vec<Site>,
    pub kinds: Vec<Options>,
    pub planes: usize,
    pub rows: Vec<Row>,
    pub norm: Norm,
    pub totals: Totals,
    /// The unit in which net masses are told apart.
    pub mass_unit: f64,
    /// The largest residual that rounding can make of zero.
    pub rounding: f64,
}

/// (a + jb)(c + jd)
pub(super) fn times(a: Pair, b: Pair) -> Pair {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

/// conj(a) b
pub(super) fn conjugate_times(a: Pair, b: Pair) -> Pair {
    [a[0] * b[0] + a[1] * b[1], a[0] * b[1] - a[1] * b[0]]
}

pub(super) fn minus(a: Pair, b: Pair) -> Pair {
    [a[0] - b[0], a[1] - b[1]]
}

pub(super) fn scaled(a: Pair, factor: f64) -> Pair {
    [a[0] * factor, a[1] * factor]
}

pub(super) fn square(a: Pair) -> f64 {
    a[0] * a[0] + a[1] * a[1]
}

pub(super) fn dot(a: Pair, b: Pair) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// The component of a × b along the axis.
pub(super) fn cross(a: Pair, b: Pair) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

impl Row {
    /// What is left in the row: `r_s = v_s − Σ_p A_sp w_p`.
    pub(super) fn left(&self, moments: &[Pair]) -> Pair {
        let mut left = self.wanted;
        for (&gain, &moment) in self.gain.iter().zip(moments) {
            left = minus(left, times(gain, moment));
        }
        left
    }
}

impl Problem {
    pub(super) fn options(&self, site: usize) -> &Options {
        &self.kinds[self.sites[site].kind]
    }

    pub(super) fn mass(&self, pick: Pick) -> f64 {
        self.options(pick.site as usize).mass[pick.option as usize]
    }

    pub(super) fn plane_of(&self, pick: Pick) -> usize {
        self.sites[pick.site as usize].plane
    }

    pub(super) fn pieces(&self, pick: Pick) -> u32 {
        self.options(pick.site as usize).pieces[pick.option as usize]
    }

    /// The moment of every plane: `w_p = Σ m_h r_h exp(jβ_h)`, in the order of the sites.
    pub(super) fn moments(&self, picks: &[Pick]) -> Vec<Pair> {
        let mut moments = vec![[0.0; 2]; self.planes];
        for &pick in picks {
            let site = &self.sites[pick.site as usize];
            let mass = self.mass(pick);
            let moment = &mut moments[site.plane];
            moment[0] += mass * site.arm[0];
            moment[1] += mass * site.arm[1];
        }
        moments
    }

    /// The size of what a placement leaves; the picks ascend.
    pub(super) fn residual(&self, picks: &[Pick]) -> f64 {
        if self.planes == 1 && self.rows.len() == 1 && self.norm == Norm::Euclidean {
            let mut sum = [0.0; 2];
            for &pick in picks {
                let (arm, mass) = (self.sites[pick.site as usize].arm, self.mass(pick));
                sum[0] += mass * arm[0];
                sum[1] += mass * arm[1];
            }
            let left = minus(self.rows[0].wanted, times(self.rows[0].gain[0], sum));
            return math::hypot(left[0], left[1]);
        }
        let moments = self.moments(picks);
        self.size(self.rows.iter().map(|row| row.left(&moments)))
    }

    pub(super) fn size(&self, rows: impl Iterator<Item = Pair>) -> f64 {
        self.norm.size(rows)
    }

    /// Whether a placement keeps within what is limited over all holes.
    pub(super) fn admits(&self, picks: &[Pick]) -> bool {
        if picks.len() > self.totals.holes {
            return false;
        }
        for (plane, &most) in self.totals.holes_in_plane.iter().enumerate() {
            let inside = |pick: &&Pick| self.sites[pick.site as usize].plane == plane;
            if most < picks.len() && picks.iter().filter(inside).count() > most {
                return false;
            }
        }
        if let Some(most) = self.totals.pieces {
            if picks.iter().map(|&pick| u64::from(self.pieces(pick))).sum::<u64>() > u64::from(most) {
                return false;
            }
        }
        if let Some(most) = self.totals.net_mass {
            let net: f64 = picks.iter().map(|&pick| self.mass(pick)).sum();
            if net > most + 1e-9 * most {
                return false;
            }
        }
        self.totals.stock.iter().enumerate().all(|(item, &stock)| {
            let uses =
                |pick: &Pick| u64::from(self.options(pick.site as usize).uses(pick.option as usize)[item]);
            picks.iter().map(uses).sum::<u64>() <= u64::from(stock)
        })
    }

    /// How much larger the Euclidean size of a residual can be than its size.
    pub(super) fn roundness(&self) -> f64 {
        #[allow(clippy::cast_precision_loss)] // a count of channels
        let rows = self.rows.len() as f64;
        match self.norm {
            Norm::Euclidean => 1.0,
            Norm::WorstRow => math::sqrt(rows),
            Norm::WorstComponent => math::sqrt(2.0 * rows),
        }
    }
}
