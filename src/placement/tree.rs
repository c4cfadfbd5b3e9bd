//! Tree: hole by hole, depth first, cut by reach. Where the wanted moment is out of reach nearly everything is cut at
//! once; it also serves any number of planes.

#![allow(clippy::indexing_slicing)] // every index is bounded by a shape of the problem

use alloc::vec;
use alloc::vec::Vec;
use core::cmp::Ordering;

use super::incumbent::Incumbent;
use super::problem::{Pick, Problem};
use super::reach::Reach;

/// Beyond this many holes the limit on holes is left out of the bounds: the tables would grow too long.
const LONGEST_TABLE: usize = 12;

/// All placements in at most so many holes.
#[derive(Debug, Clone)]
pub(super) struct Tree {
    holes: usize,
    order: Vec<usize>,
    directions: usize,
    /// Per direction and place in the order: what one gram takes off.
    gain: Vec<f64>,
    /// Per place, holes left and direction: the most that the holes from there on take off.
    most: Vec<f64>,
    columns: usize,
    /// Per depth and direction: `u·r`.
    left: Vec<f64>,
    frames: Vec<Frame>,
    picks: Vec<Pick>,
    pieces: u64,
    sorted: Vec<Pick>,
    finished: bool,
}

#[derive(Debug, Clone, Copy)]
struct Frame {
    leave: bool,
    from: usize,
    to: usize,
    picked: bool,
}

impl Tree {
    pub(super) fn new(problem: &Problem, reach: &Reach, holes: usize) -> Self {
        let sites = problem.sites.len();
        let directions = reach.directions.len();
        let mut order: Vec<usize> = (0..sites).collect();
        if let Some(main) = reach.directions.first() {
            let weight = |site: usize| main.gain[site].abs();
            order.sort_by(|&one, &other| {
                weight(other).partial_cmp(&weight(one)).unwrap_or(Ordering::Equal).then(one.cmp(&other))
            });
        }
        let columns = if holes < sites && holes <= LONGEST_TABLE { holes + 1 } else { 1 };
        let mut most = vec![0.0; (sites + 1) * columns * directions];
        for (number, direction) in reach.directions.iter().enumerate() {
            // The largest so far, descending.
            let mut largest: Vec<f64> = Vec::new();
            let mut sum = 0.0;
            for place in (0..sites).rev() {
                let here = direction.most[order[place]];
                sum += here;
                if columns == 1 {
                    most[place * directions + number] = sum;
                } else {
                    let at = largest.partition_point(|&one| one >= here);
                    largest.insert(at, here);
                    largest.truncate(holes);
                    let mut partial = 0.0;
                    for left in 1..columns {
                        partial += largest.get(left - 1).copied().unwrap_or(0.0);
                        most[(place * columns + left) * directions + number] = partial;
                    }
                }
            }
        }
        let mut gain = vec![0.0; sites * directions];
        for (place, &site) in order.iter().enumerate() {
            for (number, direction) in reach.directions.iter().enumerate() {
                gain[place * directions + number] = direction.gain[site];
            }
        }
        let left = reach.directions.iter().map(|direction| direction.wanted).collect();
        Self {
            holes,
            order,
            directions,
            gain,
            most,
            columns,
            left,
            frames: Vec::new(),
            picks: Vec::new(),
            pieces: 0,
            sorted: Vec::new(),
            finished: false,
        }
    }

    /// How many numbers the tables hold, for the bound on memory.
    pub(super) fn table_size(sites: usize, directions: usize, holes: usize) -> usize {
        let columns = if holes < sites && holes <= LONGEST_TABLE { holes + 1 } else { 1 };
        (sites + 1).saturating_mul(directions).saturating_mul(columns + 3)
    }

    /// Visits nodes until so many steps are spent; true when none is left.
    pub(super) fn advance(
        &mut self,
        problem: &Problem,
        incumbent: &mut Incumbent,
        steps: u64,
        spent: &mut u64,
    ) -> bool {
        if self.finished {
            return true;
        }
        if self.frames.is_empty() {
            let root = self.frame(problem, incumbent);
            self.frames.push(root);
        }
        while let Some(&Frame { leave, from, to, picked }) = self.frames.last() {
            if *spent >= steps {
                return false;
            }
            *spent += 1;
            let depth = self.frames.len() - 1;
            if picked {
                if let Some(pick) = self.picks.pop() {
                    self.pieces -= u64::from(problem.pieces(pick));
                }
            }
            let choice = if leave {
                self.frames[depth].leave = false;
                None
            } else if from < to {
                self.frames[depth].from = from + 1;
                Some(from)
            } else {
                self.frames.pop();
                continue;
            };
            self.frames[depth].picked = choice.is_some();
            let start = depth * self.directions;
            self.left.truncate(start + self.directions);
            let mut mass = 0.0;
            if let Some(option) = choice {
                let site = self.order[depth];
                let pick = Pick {
                    site: u32::try_from(site).unwrap_or(u32::MAX),
                    option: u32::try_from(option).unwrap_or(u32::MAX),
                };
                self.picks.push(pick);
                self.pieces += u64::from(problem.pieces(pick));
                mass = problem.mass(pick);
                let most = problem.totals.pieces.map_or(u64::MAX, u64::from);
                if self.pieces > most.min(incumbent.most_pieces(self.holes)) {
                    continue;
                }
            }
            for number in 0..self.directions {
                let left = self.left[start + number] - mass * self.gain[start + number];
                self.left.push(left);
            }
            if self.picks.len() == self.holes || depth + 1 == self.order.len() {
                self.sorted.clear();
                self.sorted.extend_from_slice(&self.picks);
                self.sorted.sort_unstable();
                incumbent.offer(problem, &self.sorted);
                continue;
            }
            let frame = self.frame(problem, incumbent);
            self.frames.push(frame);
            *spent += 1;
        }
        self.finished = true;
        true
    }

    /// What may be chosen at the next hole: only masses that leave a residual within the threshold in reach.
    fn frame(&self, problem: &Problem, incumbent: &Incumbent) -> Frame {
        let depth = self.frames.len();
        if depth == self.order.len() {
            return Frame { leave: false, from: 0, to: 0, picked: false };
        }
        let remaining = self.holes - self.picks.len();
        let threshold = incumbent.threshold() + problem.rounding;
        let (mut lowest, mut highest) = (f64::NEG_INFINITY, f64::INFINITY);
        let (mut leave, mut take) = (true, remaining > 0);
        let start = depth * self.directions;
        for number in 0..self.directions {
            let left = self.left[start + number];
            let gain = self.gain[start + number];
            let (after_leaving, after_taking) = if self.columns == 1 {
                let rest = self.most[(depth + 1) * self.directions + number];
                (rest, rest)
            } else {
                let row = (depth + 1) * self.columns + remaining;
                let rest = self.most[row * self.directions + number];
                let fewer = if remaining > 0 { self.most[(row - 1) * self.directions + number] } else { 0.0 };
                (rest, fewer)
            };
            leave &= left - after_leaving <= threshold;
            // u·r − m g − (the rest) ≤ ρ
            let needed = left - after_taking - threshold;
            if gain > 0.0 {
                lowest = lowest.max(needed / gain);
            } else if gain < 0.0 {
                highest = highest.min(needed / gain);
            } else {
                take &= needed <= 0.0;
            }
        }
        let masses = &problem.options(self.order[depth]).mass;
        let slack = |bound: f64| if bound.is_finite() { bound.abs() * 1e-13 } else { 0.0 };
        let (low, high) = (lowest - slack(lowest), highest + slack(highest));
        let from = masses.partition_point(|&mass| mass < low);
        let to = masses.partition_point(|&mass| mass <= high);
        if take && from < to {
            Frame { leave, from, to, picked: false }
        } else {
            Frame { leave, from: 0, to: 0, picked: false }
        }
    }
}
