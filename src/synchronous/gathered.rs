//! The sums of a whole record, and of its parts: what an estimate and its scatter are made from. Constant in size, however
//! long the record is.

#![allow(clippy::indexing_slicing, clippy::needless_range_loop)] // every index is below GROUPS

use super::kernel::{Block, Counted, Sampling, Sums, accumulate};
use super::rotation::{Mark, SpeedSums, Stretch};

/// At most so many groups of turns; when they are full, neighbours are joined and every group is twice as long.
pub(super) const GROUPS: usize = 32;

/// Of one group of turns, the products of cosine and sine of once-per-turn with everything.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Group<const N: usize> {
    pub(super) orders: [Block; N],
    pub(super) drift: Block,
    pub(super) values: [f64; 2],
}

impl<const N: usize> Group<N> {
    const EMPTY: Self = Self { orders: [[[0.0; 2]; 2]; N], drift: [[0.0; 2]; 2], values: [0.0; 2] };

    fn of(sums: &Sums<N>) -> Self {
        let mut group = Self::EMPTY;
        for (block, row) in group.orders.iter_mut().zip(&sums.orders) {
            // Stored as order k by once-per-turn; wanted the other way round.
            if let Some(&[[cc, cs], [sc, ss]]) = row.first() {
                *block = [[cc, sc], [cs, ss]];
            }
        }
        if let (Some(&drift), Some(&values)) = (sums.drift.first(), sums.values.first()) {
            group.drift = drift;
            group.values = values;
        }
        group
    }

    fn joined(&self, other: &Self) -> Self {
        let mut both = *self;
        for (block, other) in both.orders.iter_mut().zip(&other.orders) {
            super::kernel::add_block(block, other);
        }
        super::kernel::add_block(&mut both.drift, &other.drift);
        for (value, other) in both.values.iter_mut().zip(&other.values) {
            *value += other;
        }
        both
    }
}

/// Everything that is kept of the samples so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gathered<const N: usize> {
    closed: Sums<N>,
    open: Sums<N>,
    groups: [Group<N>; GROUPS],
    count: usize,
    turns_per_group: f64,
    /// The turn at which the open group is complete.
    complete_at: f64,
    pub(super) speed: SpeedSums,
    pub(super) used: u64,
    pub(super) saturated: u64,
}

impl<const N: usize> Gathered<N> {
    /// Nothing yet; the first stretch starts at this mark.
    pub(super) fn new(first: Mark, turns_per_group: f64) -> Self {
        Self {
            closed: Sums::ZERO,
            open: Sums::ZERO,
            groups: [Group::EMPTY; GROUPS],
            count: 0,
            turns_per_group,
            complete_at: first.turns + turns_per_group,
            speed: SpeedSums::new(first),
            used: 0,
            saturated: 0,
        }
    }

    /// Adds a stretch with its samples; gives the first of them that is not finite, counted from the start of the stretch.
    pub(super) fn add<T: Copy + Into<f64>>(
        &mut self,
        stretch: &Stretch,
        sampling: &Sampling<N>,
        first: u64,
        samples: &[T],
    ) -> Option<usize> {
        let Counted { used, saturated, not_finite } =
            accumulate(&mut self.open, stretch, sampling, first, samples);
        self.used += used;
        self.saturated += saturated;
        self.speed.add(stretch);
        // A mark that is a rounding short of a whole turn is one.
        if stretch.end().turns >= self.complete_at - 1e-6 {
            self.close(stretch.end().turns);
        }
        not_finite
    }

    fn close(&mut self, turns: f64) {
        if self.count == GROUPS {
            for pair in 0..GROUPS / 2 {
                self.groups[pair] = self.groups[2 * pair].joined(&self.groups[2 * pair + 1]);
            }
            self.count = GROUPS / 2;
            self.turns_per_group *= 2.0;
            // The group that is complete now is only half of one of the new length.
            self.complete_at = turns + self.turns_per_group / 2.0;
            return;
        }
        if let Some(place) = self.groups.get_mut(self.count) {
            *place = Group::of(&self.open);
            self.count += 1;
        }
        self.closed.add(&self.open);
        self.open = Sums::ZERO;
        self.complete_at = turns + self.turns_per_group;
    }

    /// The sums of everything, and the groups of equal length; what is open counts as a group where it is half as long.
    pub(super) fn sums(&self) -> (Sums<N>, [Group<N>; GROUPS], usize) {
        let mut all = self.closed;
        all.add(&self.open);
        let (mut groups, mut count) = (self.groups, self.count);
        let open = Group::of(&self.open);
        let samples = |sums: &Sums<N>| sums.times[0];
        #[allow(clippy::cast_precision_loss)] // at most 32 groups
        let half = 0.5 * samples(&self.closed) / (count.max(1) as f64);
        if samples(&self.open) > 0.0 {
            if samples(&self.open) >= half && count < GROUPS {
                groups[count] = open;
                count += 1;
            } else if let Some(last) = count.checked_sub(1).and_then(|last| groups.get_mut(last)) {
                *last = last.joined(&open);
            }
        }
        (all, groups, count)
    }

    /// How many samples, and the sum of their instants.
    pub(super) fn mean_time(&self) -> [f64; 2] {
        let sum = |at: usize| self.closed.times[at] + self.open.times[at];
        [sum(0), sum(1)]
    }
}
