//! The best placements found so far, and how good another must be to matter.
//!
//! One rule orders placements: fewest holes touched, then fewest pieces handled, then least net mass added, then the list
//! of (hole, change) that comes first in dictionary order, holes by plane, angle and radius, changes by net mass. It decides
//! among all placements whose residual lies within the tie tolerance of the least, or within eps.

#![allow(clippy::indexing_slicing)] // every index is bounded by a shape of the problem

use alloc::vec::Vec;
use core::cmp::Ordering;

use super::problem::{Pick, Problem};

/// What the best placement is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Aim {
    /// The least residual; residuals within `tie` of it are as good.
    Least { tie: f64 },
    /// The first by the rule with a residual of at most `eps`.
    Within { eps: f64 },
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Candidate {
    /// Ascending.
    pub picks: Vec<Pick>,
    pub residual: f64,
    pub pieces: u64,
    /// In the problem's unit of mass, whole.
    pub mass: f64,
}

impl Candidate {
    /// The picks must ascend.
    pub(super) fn of(problem: &Problem, picks: &[Pick]) -> Self {
        let pieces = picks.iter().map(|&pick| u64::from(problem.pieces(pick))).sum();
        let net: f64 = picks.iter().map(|&pick| problem.mass(pick)).sum();
        let mass = crate::math::floor(net / problem.mass_unit + 0.5);
        Self { picks: picks.to_vec(), residual: problem.residual(picks), pieces, mass }
    }

    fn rule(&self, other: &Self) -> Ordering {
        let holes = self.picks.len().cmp(&other.picks.len());
        let pieces = self.pieces.cmp(&other.pieces);
        let mass = self.mass.partial_cmp(&other.mass).unwrap_or(Ordering::Equal);
        holes.then(pieces).then(mass).then_with(|| self.picks.cmp(&other.picks))
    }

    fn same_holes(&self, other: &Self) -> bool {
        self.picks.len() == other.picks.len()
            && self.picks.iter().zip(&other.picks).all(|(one, two)| one.site == two.site)
    }
}

/// The candidates of one set of holes (or of all sets, when one answer is wanted) that may still be the answer.
#[derive(Debug, Clone)]
struct Front {
    least: f64,
    members: Vec<Candidate>,
}

#[derive(Debug, Clone)]
pub(super) struct Incumbent {
    aim: Aim,
    keep: usize,
    fronts: Vec<Front>,
    /// The nearest of all, kept for when nothing lies within eps.
    nearest: Option<Candidate>,
}

#[allow(clippy::single_match_else)] // two cases of one question
impl Incumbent {
    pub(super) fn new(aim: Aim, keep: usize) -> Self {
        Self { aim, keep: keep.max(1), fronts: Vec::new(), nearest: None }
    }

    pub(super) const fn aim(&self) -> Aim {
        self.aim
    }

    /// The residual beyond which a placement cannot matter.
    pub(super) fn threshold(&self) -> f64 {
        match self.aim {
            Aim::Within { eps } => eps,
            Aim::Least { tie } if self.fronts.len() >= self.keep => {
                self.fronts.iter().map(|front| front.least).fold(0.0, f64::max) + tie
            }
            Aim::Least { .. } => f64::INFINITY,
        }
    }

    /// The least residual found.
    pub(super) fn least(&self) -> f64 {
        self.nearest.as_ref().map_or(f64::INFINITY, |nearest| nearest.residual)
    }

    /// More pieces than this cannot matter among placements of the same number of holes.
    pub(super) fn most_pieces(&self, holes: usize) -> u64 {
        match self.aim {
            Aim::Within { .. } if self.fronts.len() >= self.keep => {
                let last =
                    self.fronts.iter().filter_map(|front| front.members.first()).max_by(|a, b| a.rule(b));
                last.map_or(u64::MAX, |last| match last.picks.len().cmp(&holes) {
                    Ordering::Less => 0,
                    Ordering::Equal => last.pieces,
                    Ordering::Greater => u64::MAX,
                })
            }
            _ => u64::MAX,
        }
    }

    /// Whether as many placements lie within eps as are wanted.
    pub(super) fn enough(&self) -> bool {
        matches!(self.aim, Aim::Within { .. }) && self.fronts.len() >= self.keep
    }

    /// Takes a placement into account; the picks ascend.
    pub(super) fn offer(&mut self, problem: &Problem, picks: &[Pick]) {
        let residual = problem.residual(picks);
        let threshold = self.threshold();
        let nearer = residual < self.least();
        if (residual > threshold && !nearer) || !problem.admits(picks) {
            return;
        }
        let candidate = Candidate::of(problem, picks);
        if nearer {
            self.nearest = Some(candidate.clone());
        }
        if residual <= threshold {
            self.enter(candidate);
        }
    }

    fn enter(&mut self, candidate: Candidate) {
        let apart = self.keep > 1;
        let same = |front: &Front| !apart || front.members.first().is_some_and(|m| m.same_holes(&candidate));
        let tie = match self.aim {
            Aim::Least { tie } => tie,
            Aim::Within { .. } => f64::INFINITY,
        };
        match self.fronts.iter().position(same) {
            Some(at) => {
                let front = &mut self.fronts[at];
                let beats = |one: &Candidate, other: &Candidate| {
                    (tie.is_infinite() || one.residual <= other.residual)
                        && one.rule(other) != Ordering::Greater
                };
                if front.members.iter().any(|member| beats(member, &candidate)) {
                    return;
                }
                front.members.retain(|member| !beats(&candidate, member));
                front.least = front.least.min(candidate.residual);
                front.members.push(candidate);
                let most = front.least + tie;
                front.members.retain(|member| member.residual <= most);
            }
            None => {
                let least = candidate.residual;
                self.fronts.push(Front { least, members: alloc::vec![candidate] });
            }
        }
        self.trim(tie);
    }

    /// Drops the fronts that can no longer be among the answers.
    fn trim(&mut self, tie: f64) {
        if self.fronts.len() <= self.keep {
            return;
        }
        if tie.is_infinite() {
            self.fronts.sort_by(|one, other| match (one.members.first(), other.members.first()) {
                (Some(one), Some(other)) => one.rule(other),
                _ => Ordering::Equal,
            });
            self.fronts.truncate(self.keep);
        } else {
            let mut least: Vec<f64> = self.fronts.iter().map(|front| front.least).collect();
            least.sort_by(|one, other| one.partial_cmp(other).unwrap_or(Ordering::Equal));
            // A set of holes within the tolerance of the last that is kept may still be chosen in its stead.
            let most = least[self.keep - 1] + tie;
            self.fronts.retain(|front| front.least <= most);
        }
    }

    /// The answers, best first, no two on the same holes; with eps and none within it, the nearest.
    pub(super) fn ranked(&self) -> Vec<Candidate> {
        let mut fronts = self.fronts.clone();
        let mut ranked = Vec::new();
        while ranked.len() < self.keep && !fronts.is_empty() {
            let least = fronts.iter().map(|front| front.least).fold(f64::INFINITY, f64::min);
            let most = match self.aim {
                Aim::Least { tie } => least + tie,
                Aim::Within { eps } => eps,
            };
            let mut best: Option<(usize, &Candidate)> = None;
            for (at, front) in fronts.iter().enumerate() {
                for member in front.members.iter().filter(|member| member.residual <= most) {
                    if best.is_none_or(|(_, best)| member.rule(best) == Ordering::Less) {
                        best = Some((at, member));
                    }
                }
            }
            let Some((at, best)) = best else { break };
            ranked.push(best.clone());
            fronts.remove(at);
        }
        if ranked.is_empty() {
            ranked.extend(self.nearest.clone());
        }
        ranked
    }
}
