//! Options: every change that a hole allows, one per distinct net mass.
//!
//! A hole's choice matters to the search only through its net mass (a scalar along a fixed direction), the pieces
//! handled, and what it takes from scarce stock. Of two changes of equal mass the one with fewer pieces, or less scarce
//! stock, wins in every placement; the other is never looked at.

#![allow(clippy::indexing_slicing)] // every index is bounded by a shape of the problem

use alloc::vec::Vec;
use core::cmp::Ordering;

/// The most stacks that are listed for one hole before equal masses are merged.
pub(super) const MOST_STACKS: usize = 1 << 18;

/// Masses nearer than this, relative to the heaviest change, are one mass: sums of the same pieces in another order.
const SAME_MASS: f64 = 1e-12;

/// Slack of limits of mass and height, relative: a sum of pieces may round above the limit it meets exactly.
const LIMIT_SLACK: f64 = 1e-9;

/// One kind of piece, as numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Item {
    pub mass: f64,
    pub thickness: f64,
    pub stock: Option<u32>,
}

/// What a hole allows, as numbers; counts are per item.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Allowance {
    pub most_mass: Option<f64>,
    pub most_pieces: Option<u32>,
    pub most_height: Option<f64>,
    pub least_pieces: u32,
    pub mounted: Vec<u32>,
    pub removable: bool,
    pub blocked: bool,
    /// Finished counts must be even: the same pieces on both faces of the disc.
    pub symmetric: bool,
}

/// The changes of one kind of hole, ascending in net mass; equal masses by fewer pieces.
#[derive(Debug, Clone, Default)]
pub(super) struct Options {
    pub mass: Vec<f64>,
    /// Pieces handled: added and removed.
    pub pieces: Vec<u32>,
    /// Pieces taken from each scarce item, `scarce` numbers per option.
    pub uses: Vec<u32>,
    /// Pieces added (negative: removed) of each item, `items` numbers per option.
    pub counts: Vec<i32>,
    pub scarce: usize,
    pub items: usize,
}

/// Why the options could not be listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Refusal {
    Unlimited,
    TooMany,
}

impl Options {
    pub(super) fn len(&self) -> usize {
        self.mass.len()
    }

    pub(super) fn uses(&self, option: usize) -> &[u32] {
        &self.uses[option * self.scarce..(option + 1) * self.scarce]
    }

    pub(super) fn counts(&self, option: usize) -> &[i32] {
        &self.counts[option * self.items..(option + 1) * self.items]
    }

    /// Lists all changes of a hole that handle at most `most_handled` pieces.
    pub(super) fn listed(
        items: &[Item],
        scarce: &[usize],
        hole: &Allowance,
        most_handled: Option<u32>,
    ) -> Result<Self, Refusal> {
        let none = Self { scarce: scarce.len(), items: items.len(), ..Self::default() };
        if hole.blocked {
            return Ok(none);
        }
        let mut walk = Walk { items, hole, most_handled, counts: Vec::new(), found: Vec::new(), steps: 0 };
        walk.descend(0, Load::default())?;
        Ok(merged(items, scarce, walk.found, none))
    }
}

/// What a stack adds up to on the way.
#[derive(Clone, Copy, Default)]
struct Load {
    pieces: u32,
    mass: f64,
    height: f64,
    handled: u32,
}

struct Walk<'a> {
    items: &'a [Item],
    hole: &'a Allowance,
    most_handled: Option<u32>,
    counts: Vec<i32>,
    found: Vec<Vec<i32>>,
    steps: usize,
}

fn within(value: f64, limit: Option<f64>) -> bool {
    limit.is_none_or(|limit| value <= limit + LIMIT_SLACK * limit.max(f64::MIN_POSITIVE))
}

impl Walk<'_> {
    fn descend(&mut self, at: usize, load: Load) -> Result<(), Refusal> {
        // Cut-off branches also count, so that limits without solutions cannot take forever.
        self.steps += 1;
        if self.steps > 16 * MOST_STACKS {
            return Err(Refusal::TooMany);
        }
        if at == self.items.len() {
            if load.handled > 0 && load.pieces >= self.hole.least_pieces {
                if self.found.len() == MOST_STACKS {
                    return Err(Refusal::TooMany);
                }
                self.found.push(self.counts.clone());
            }
            return Ok(());
        }
        let item = self.items[at];
        let mounted = self.hole.mounted.get(at).copied().unwrap_or(0);
        let mut finished = if self.hole.removable { 0 } else { mounted };
        loop {
            let added = finished.saturating_sub(mounted);
            let handled = load.handled.saturating_add(finished.abs_diff(mounted));
            let next = Load {
                pieces: load.pieces.saturating_add(finished),
                mass: load.mass + f64::from(finished) * item.mass.abs(),
                height: load.height + f64::from(finished) * item.thickness,
                handled,
            };
            let fits = within(next.mass, self.hole.most_mass)
                && within(next.height, self.hole.most_height)
                && self.hole.most_pieces.is_none_or(|most| next.pieces <= most)
                && item.stock.is_none_or(|stock| added <= stock);
            if !fits {
                // Every one of these only grows with more pieces.
                return Ok(());
            }
            let enough = self.most_handled.is_some_and(|most| handled > most);
            if enough && finished >= mounted {
                return Ok(());
            }
            if !enough && (!self.hole.symmetric || finished % 2 == 0) {
                self.counts.push(i32::try_from(i64::from(finished) - i64::from(mounted)).unwrap_or(i32::MAX));
                self.descend(at + 1, next)?;
                self.counts.pop();
            }
            if !self.bounded(item) {
                return Err(Refusal::Unlimited);
            }
            if finished == 65_535 {
                return Err(Refusal::TooMany);
            }
            finished += 1;
        }
    }

    /// Whether something ends the count of an item.
    fn bounded(&self, item: Item) -> bool {
        self.hole.most_pieces.is_some()
            || self.hole.most_mass.is_some()
            || self.most_handled.is_some()
            || item.stock.is_some()
            || (self.hole.most_height.is_some() && item.thickness > 0.0)
    }
}

/// The net mass of a change: Σ cᵢ mᵢ in the order of the items.
fn net_mass(items: &[Item], counts: &[i32]) -> f64 {
    items.iter().zip(counts).map(|(item, &count)| f64::from(count) * item.mass).sum()
}

fn handled(counts: &[i32]) -> u32 {
    counts.iter().map(|count| count.unsigned_abs()).sum()
}

fn scarce_uses(scarce: &[usize], counts: &[i32]) -> Vec<u32> {
    scarce.iter().map(|&item| u32::try_from(counts[item].max(0)).unwrap_or(0)).collect()
}

/// Keeps of each mass the changes that no other beats, ascending in mass.
fn merged(items: &[Item], scarce: &[usize], found: Vec<Vec<i32>>, mut options: Options) -> Options {
    let mut all: Vec<(f64, u32, Vec<i32>)> =
        found.into_iter().map(|counts| (net_mass(items, &counts), handled(&counts), counts)).collect();
    all.sort_by(|one, other| {
        let mass = one.0.partial_cmp(&other.0).unwrap_or(Ordering::Equal);
        mass.then(one.1.cmp(&other.1)).then_with(|| one.2.cmp(&other.2))
    });
    let heaviest = all.iter().map(|(mass, ..)| mass.abs()).fold(0.0, f64::max);
    let same = SAME_MASS * heaviest;
    let mut from = 0;
    while from < all.len() {
        let mut to = from + 1;
        while to < all.len() && all[to].0 - all[to - 1].0 <= same {
            to += 1;
        }
        let group = &mut all[from..to];
        let mass = group[0].0;
        group.sort_by(|one, other| one.1.cmp(&other.1).then_with(|| one.2.cmp(&other.2)));
        // A change without net mass does what leaving the hole alone does.
        if mass.abs() > same {
            let mut kept: Vec<(u32, Vec<u32>)> = Vec::new();
            for (_, pieces, counts) in group.iter() {
                let uses = scarce_uses(scarce, counts);
                let beaten = kept.iter().any(|(fewer, less)| {
                    fewer <= pieces && less.iter().zip(&uses).all(|(less, uses)| less <= uses)
                });
                if !beaten {
                    options.mass.push(mass);
                    options.pieces.push(*pieces);
                    options.uses.extend_from_slice(&uses);
                    options.counts.extend_from_slice(counts);
                    kept.push((*pieces, uses));
                }
            }
        }
        from = to;
    }
    options
}
