//! What is wanted: an unbalance in every plane, or small vibration through influence coefficients; and both as rows.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use super::problem::{Pair, Row, minus};
use crate::caution::Caution;
use crate::channel::Channel;
use crate::dense::{Matrix, Qr};
use crate::error::{CorrectionError, PlacementError};
use crate::influence::InfluenceMatrix;
use crate::vector::{UnbalanceVector, Vibration};

/// Planes whose effects are nearer to dependent than this are one.
const INDEPENDENT: f64 = 1e-10;

/// What a placement is to come near to.
#[derive(Debug, Clone)]
pub(super) enum Wanted {
    Unbalance(Vec<UnbalanceVector>),
    /// The roots of the channel weights stand beside what is read now.
    Vibration {
        influence: InfluenceMatrix,
        now: Vec<Vibration>,
        roots: Vec<f64>,
        /// Whether the weights were given.
        weighted: bool,
    },
}

impl Wanted {
    pub(super) fn unbalance(wanted: &[UnbalanceVector]) -> Result<Self, PlacementError> {
        if let Some(at) = wanted.iter().position(|wanted| !wanted.is_finite()) {
            return Err(PlacementError::NotFinite { what: "wanted unbalance of plane", at });
        }
        Ok(Self::Unbalance(wanted.to_vec()))
    }

    pub(super) fn through(influence: &InfluenceMatrix, now: &[Vibration]) -> Result<Self, PlacementError> {
        let channels = influence.channels().len();
        if now.len() != channels {
            let what = "vibrations, one per channel";
            return Err(PlacementError::Count { what, expected: channels, got: now.len() });
        }
        if let Some(at) = now.iter().position(|now| !now.is_finite()) {
            return Err(PlacementError::NotFinite { what: "vibration of channel", at });
        }
        let (influence, now) = (influence.clone(), now.to_vec());
        Ok(Self::Vibration { influence, now, roots: vec![1.0; channels], weighted: false })
    }

    /// The same with a weight per channel; without channels there is nothing to weigh.
    pub(super) fn weighted(self, weights: &[f64]) -> Result<Self, PlacementError> {
        let what = "channel weights, one per channel";
        match self {
            Self::Unbalance(_) => Err(PlacementError::Count { what, expected: 0, got: weights.len() }),
            Self::Vibration { influence, .. } if weights.is_empty() => {
                Err(PlacementError::Count { what, expected: influence.channels().len(), got: 0 })
            }
            Self::Vibration { influence, now, .. } => {
                let roots = influence.weight_roots(weights).map_err(|error| match error {
                    CorrectionError::Count { expected, got, .. } => {
                        PlacementError::Count { what, expected, got }
                    }
                    CorrectionError::ChannelWeight { value, .. } => {
                        PlacementError::BadNumber { what: "a channel weight", value }
                    }
                    _ => PlacementError::NoWeight,
                })?;
                Ok(Self::Vibration { influence, now, roots, weighted: true })
            }
        }
    }

    pub(super) fn planes(&self) -> usize {
        match self {
            Self::Unbalance(wanted) => wanted.len(),
            Self::Vibration { influence, .. } => influence.planes(),
        }
    }

    /// `r_s = v_s − Σ_p A_sp w_p`: a wanted unbalance with A the identity, or the weighted vibration with the weighted
    /// coefficients, their signs changed.
    pub(super) fn rows(&self) -> Vec<Row> {
        let pair = |z: Complex64, factor: f64| [z.re * factor, z.im * factor];
        match self {
            Self::Unbalance(wanted) => {
                let row = |(at, wanted): (usize, &UnbalanceVector)| Row {
                    wanted: pair(wanted.complex(), 1.0),
                    gain: (0..self.planes()).map(|plane| [f64::from(u8::from(plane == at)), 0.0]).collect(),
                };
                wanted.iter().enumerate().map(row).collect()
            }
            Self::Vibration { influence, now, roots, .. } => {
                let rows = now.iter().zip(roots).enumerate().map(|(channel, (now, &root))| {
                    let gain = influence.row(channel).unwrap_or(&[]).iter();
                    Row {
                        wanted: pair(now.complex(), root),
                        gain: gain.map(|influence| pair(influence.complex(), 0.0 - root)).collect(),
                    }
                });
                rows.collect()
            }
        }
    }

    /// What is still wanted in each plane once this is placed; `None` where vibration is asked about.
    pub(super) fn left(&self, placed: &[UnbalanceVector]) -> Option<Vec<UnbalanceVector>> {
        match self {
            Self::Unbalance(wanted) => Some(wanted.iter().zip(placed).map(|(&w, &p)| w - p).collect()),
            Self::Vibration { .. } => None,
        }
    }

    /// The vibration of every channel once this is placed; `None` where unbalance is asked about.
    pub(super) fn predicted(&self, placed: &[UnbalanceVector]) -> Option<Vec<Vibration>> {
        match self {
            Self::Unbalance(_) => None,
            Self::Vibration { influence, now, .. } => {
                let effect = influence.effect_of(placed).ok()?;
                Some(now.iter().zip(effect).map(|(&now, effect)| now + effect).collect())
            }
        }
    }

    /// What makes any answer a poor one.
    pub(super) fn cautions(&self) -> Vec<Caution> {
        let mixed = match self {
            Self::Vibration { influence, weighted: false, .. } => {
                let mut units = influence.channels().iter().map(Channel::unit);
                let first = units.next();
                units.any(|unit| Some(unit) != first)
            }
            _ => false,
        };
        if mixed { vec![Caution::MixedUnits] } else { Vec::new() }
    }

    /// What is left in the rows, over its size: `√g r/‖r‖`, which against v itself makes up the size. All zero for nothing
    /// left.
    pub(super) fn dual(&self, left: &[Pair], size: f64) -> Vec<Complex64> {
        let root = |row: usize| match self {
            Self::Unbalance(_) => 1.0,
            Self::Vibration { roots, .. } => roots.get(row).copied().unwrap_or(1.0),
        };
        let over = |(row, left): (usize, &Pair)| {
            let share = |part: f64| if size > 0.0 { root(row) * (part / size) } else { 0.0 };
            Complex64 { re: share(left[0]), im: share(left[1]) }
        };
        left.iter().enumerate().map(over).collect()
    }

    /// What unbalance in some of the planes can take off the rows, and what it cannot: `v = Q Qᴴ v + (1 − Q Qᴴ) v` with
    /// `A = Q R`.
    pub(super) fn divided(&self, planes: &[usize]) -> (Vec<Pair>, Vec<Pair>) {
        let rows = self.rows();
        let complex = |pair: Pair| Complex64 { re: pair[0], im: pair[1] };
        let gain = |row: usize, at: usize| {
            let gain = rows.get(row).zip(planes.get(at)).and_then(|(row, &plane)| row.gain.get(plane));
            gain.copied().map_or(Complex64::ZERO, complex)
        };
        let qr = Qr::factor(Matrix::from_fn(rows.len(), planes.len(), gain));
        let mut rest: Vec<Complex64> = rows.iter().map(|row| complex(row.wanted)).collect();
        qr.factors().apply_adjoint(&mut rest);
        rest.iter_mut().take(qr.rank(INDEPENDENT)).for_each(|part| *part = Complex64::ZERO);
        qr.factors().apply(&mut rest);
        let rest: Vec<Pair> = rest.iter().map(|part| [part.re, part.im]).collect();
        (rows.iter().zip(&rest).map(|(row, &rest)| minus(row.wanted, rest)).collect(), rest)
    }
}
