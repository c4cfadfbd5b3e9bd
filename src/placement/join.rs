//! Join: a placement is cut in two halves; all sums of either are listed, and pairs that meet are looked up.
//!
//! The right half's sums are laid out in a grid. Each left sum asks for the right sums within a radius of the point that
//! would leave least. In one plane that point is what is still wanted; in two planes it is the best moment of the second
//! plane for the moment of the first, a projection, and the radius is what the projection leaves room for. The grid is
//! built strip by strip, so that memory stays within its bound however many sums there are.

#![allow(clippy::indexing_slicing)] // every index is bounded by a shape of the problem

use alloc::vec;
use alloc::vec::Vec;

use super::closure::{Flat, Menu};
use super::incumbent::Incumbent;
use super::problem::{Pair, Pick, Problem, conjugate_times, dot, minus, square, times};
use crate::math;

/// Bytes of one listed sum with its share of the grid.
const BYTES_PER_SUM: usize = 28;
/// Sums of a strip that still stay near the processor.
const IN_CACHE: usize = 1 << 18;
/// Left sums asked for in one go.
const ASKED: usize = 1024;

/// Which sets of options a half lists.
#[derive(Debug, Clone)]
pub(super) struct Half {
    sites: Vec<usize>,
    /// Exactly so many holes; `None`: any number.
    holes: Option<usize>,
    pieces: u32,
    menus: Vec<Menu>,
    /// Per place in `sites`: the code of its first option.
    offsets: Vec<u64>,
    base: u64,
}

#[derive(Debug, Clone, Copy)]
struct Sum {
    at: Pair,
    code: u64,
}

impl Half {
    /// `None` where the sets are too many to be numbered.
    pub(super) fn new(
        problem: &Problem,
        sites: Vec<usize>,
        holes: Option<usize>,
        pieces: u32,
    ) -> Option<Self> {
        let others = u32::try_from(holes.unwrap_or(1).saturating_sub(1)).ok()?;
        let most = pieces.saturating_sub(others);
        let menus: Vec<Menu> = problem.kinds.iter().map(|options| Menu::of(options, most)).collect();
        let mut offsets = Vec::new();
        let mut next = 1_u64;
        let mut product = 1_u64;
        for &site in &sites {
            offsets.push(next);
            let count = u64::try_from(menus[problem.sites[site].kind].mass.len()).ok()?;
            next = next.checked_add(count)?;
            product = product.saturating_mul(count + 1);
        }
        // A limit that no set can meet is none; what is left is short enough to be counted by.
        let highest = menus.iter().flat_map(|menu| &menu.pieces).copied().max().unwrap_or(0);
        let all = u64::from(highest).saturating_mul(u64::try_from(holes.unwrap_or(0)).ok()?);
        let pieces = if holes.is_none() || u64::from(pieces) >= all { u32::MAX } else { pieces };
        let half = Self { sites, holes, pieces, menus, offsets, base: next };
        match holes {
            Some(holes) => next.checked_pow(u32::try_from(holes).ok()?)?,
            None if product < u64::MAX => product,
            None => return None,
        };
        Some(half)
    }

    /// How many sets there are.
    pub(super) fn count(&self, problem: &Problem) -> f64 {
        #[allow(clippy::cast_precision_loss)]
        let options = |site: usize| self.menus[problem.sites[site].kind].mass.len() as f64;
        match self.holes {
            None => self.sites.iter().map(|&site| options(site) + 1.0).product(),
            Some(holes) if self.pieces == u32::MAX => {
                let mut sets = vec![0.0; holes + 1];
                sets[0] = 1.0;
                for &site in &self.sites {
                    for chosen in (0..holes).rev() {
                        sets[chosen + 1] += sets[chosen] * options(site);
                    }
                }
                sets[holes]
            }
            Some(holes) => {
                let width = self.pieces as usize + 1;
                let mut sets = vec![0.0; (holes + 1) * width];
                sets[0] = 1.0;
                for &site in &self.sites {
                    let menu = &self.menus[problem.sites[site].kind];
                    let mut by_pieces = vec![0.0; width];
                    for &pieces in &menu.pieces {
                        if (pieces as usize) < width {
                            by_pieces[pieces as usize] += 1.0;
                        }
                    }
                    for chosen in (0..holes).rev() {
                        for used in 0..width {
                            let here = sets[chosen * width + used];
                            if here > 0.0 {
                                for (more, count) in by_pieces.iter().enumerate().take(width - used) {
                                    sets[(chosen + 1) * width + used + more] += here * count;
                                }
                            }
                        }
                    }
                }
                sets[holes * width..].iter().sum()
            }
        }
    }

    /// About how many sets there are without their last hole: what a strip costs however narrow it is.
    fn sets_before_last(&self, problem: &Problem) -> usize {
        let longest = self.sites.iter().map(|&site| self.menus[problem.sites[site].kind].mass.len()).max();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
        // saturates
        let sets = (self.count(problem) / longest.unwrap_or(1).max(1) as f64) as usize;
        sets
    }

    /// Calls `take` with every sum whose x lies in `[from, to)`; what it costs is returned.
    fn list(&self, problem: &Problem, from: f64, to: f64, take: &mut impl FnMut(Sum)) -> u64 {
        let mut work = Listing { half: self, problem, from, to, take, steps: 0 };
        let start = Sum { at: [0.0; 2], code: 0 };
        match self.holes {
            Some(holes) => work.exact(0, holes, self.pieces, start),
            None => work.any(0, start),
        }
        work.steps
    }

    fn decode(&self, problem: &Problem, mut code: u64, picks: &mut Vec<Pick>) {
        let pick = |place: usize, entry: u64| {
            let site = self.sites[place];
            #[allow(clippy::cast_possible_truncation)] // below the length of the menu
            let option = self.menus[problem.sites[site].kind].option[entry as usize];
            Pick { site: u32::try_from(site).unwrap_or(u32::MAX), option }
        };
        if self.holes.is_some() {
            while code > 0 {
                let one = code % self.base;
                code /= self.base;
                let place = self.offsets.partition_point(|&offset| offset <= one) - 1;
                picks.push(pick(place, one - self.offsets[place]));
            }
        } else {
            for place in (0..self.sites.len()).rev() {
                let site = self.sites[place];
                let radix = self.menus[problem.sites[site].kind].mass.len() as u64 + 1;
                let digit = code % radix;
                code /= radix;
                if digit > 0 {
                    picks.push(pick(place, digit - 1));
                }
            }
        }
    }
}

struct Listing<'a, F> {
    half: &'a Half,
    problem: &'a Problem,
    from: f64,
    to: f64,
    take: &'a mut F,
    steps: u64,
}

impl<F: FnMut(Sum)> Listing<'_, F> {
    fn give(&mut self, sum: Sum) {
        if sum.at[0] >= self.from && sum.at[0] < self.to {
            (self.take)(sum);
            self.steps += 1;
        }
    }

    fn exact(&mut self, place: usize, holes: usize, pieces: u32, sum: Sum) {
        if holes == 0 {
            self.give(sum);
            return;
        }
        for at in place..(self.half.sites.len() + 1).saturating_sub(holes) {
            let site = &self.problem.sites[self.half.sites[at]];
            let menu = &self.half.menus[site.kind];
            let (mut entry, mut end) = (0, menu.mass.len());
            if holes == 1 {
                (entry, end) = self.range(menu, site.arm[0], sum.at[0]);
                self.steps += 1;
            }
            #[allow(clippy::cast_possible_truncation)] // at most a few holes
            let others = holes as u32 - 1;
            while entry < end {
                let (mass, used) = (menu.mass[entry], menu.pieces[entry]);
                if used.saturating_add(others) <= pieces {
                    let next = Sum {
                        at: [sum.at[0] + mass * site.arm[0], sum.at[1] + mass * site.arm[1]],
                        code: sum.code * self.half.base + self.half.offsets[at] + entry as u64,
                    };
                    self.exact(at + 1, holes - 1, pieces - used, next);
                }
                entry += 1;
            }
        }
    }

    /// The entries that bring x into the strip, and perhaps one more at either end.
    fn range(&self, menu: &Menu, arm: f64, x: f64) -> (usize, usize) {
        if self.from == f64::NEG_INFINITY && self.to == f64::INFINITY {
            return (0, menu.mass.len());
        }
        let (mut low, mut high) = ((self.from - x) / arm, (self.to - x) / arm);
        if arm < 0.0 {
            core::mem::swap(&mut low, &mut high);
        }
        if low.is_nan() || high.is_nan() || arm == 0.0 {
            return (0, menu.mass.len());
        }
        let from = menu.first(low).saturating_sub(1);
        let to = (menu.first(high) + 1).min(menu.mass.len());
        (from, to.max(from))
    }

    fn any(&mut self, place: usize, sum: Sum) {
        let Some(&site) = self.half.sites.get(place) else {
            self.give(sum);
            return;
        };
        self.steps += 1;
        let site = &self.problem.sites[site];
        let menu = &self.half.menus[site.kind];
        let radix = menu.mass.len() as u64 + 1;
        self.any(place + 1, Sum { at: sum.at, code: sum.code * radix });
        for (digit, &mass) in (1..).zip(&menu.mass) {
            let at = [sum.at[0] + mass * site.arm[0], sum.at[1] + mass * site.arm[1]];
            self.any(place + 1, Sum { at, code: sum.code * radix + digit });
        }
    }
}

/// How many sums lie in a strip, and where.
#[derive(Debug, Clone, Copy)]
struct Survey {
    from: f64,
    to: f64,
    count: usize,
    lowest: Pair,
    highest: Pair,
}

impl Survey {
    fn of(half: &Half, problem: &Problem, from: f64, to: f64, spent: &mut u64) -> Self {
        let mut survey =
            Self { from, to, count: 0, lowest: [f64::INFINITY; 2], highest: [f64::NEG_INFINITY; 2] };
        *spent += half.list(problem, from, to, &mut |sum: Sum| {
            survey.count += 1;
            for axis in 0..2 {
                survey.lowest[axis] = survey.lowest[axis].min(sum.at[axis]);
                survey.highest[axis] = survey.highest[axis].max(sum.at[axis]);
            }
        });
        survey
    }
}

/// Sums laid out row by row in cells.
#[derive(Debug, Clone, Default)]
struct Grid {
    sums: Vec<Sum>,
    starts: Vec<u32>,
    origin: Pair,
    /// Cells per g mm.
    scale: Pair,
    columns: usize,
    rows: usize,
}

impl Grid {
    fn of(half: &Half, problem: &Problem, survey: Survey, spent: &mut u64) -> Self {
        let Survey { from, to, count, lowest, highest } = survey;
        if count == 0 {
            return Self::default();
        }
        // Two sums or so per cell, the cells about square.
        #[allow(clippy::cast_precision_loss)]
        let cells = (count as f64 / 2.0).max(1.0);
        let (wide, high) = (highest[0] - lowest[0], highest[1] - lowest[1]);
        let flat = !(wide > 0.0 && high > 0.0);
        let columns = if flat {
            if wide > high { cells } else { 1.0 }
        } else {
            math::sqrt(cells * wide / high).clamp(1.0, cells)
        };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // saturates, and is clamped
        let (columns, rows) = (columns as usize, (cells / columns.max(1.0)) as usize);
        let (columns, rows) = (columns.max(1), rows.max(1));
        #[allow(clippy::cast_precision_loss)]
        let per = |cells: usize, span: f64| if span > 0.0 { cells as f64 / span } else { 0.0 };
        let mut grid = Self {
            sums: vec![Sum { at: [0.0; 2], code: 0 }; count],
            starts: vec![0; columns * rows + 1],
            origin: lowest,
            scale: [per(columns, wide), per(rows, high)],
            columns,
            rows,
        };
        *spent += half.list(problem, from, to, &mut |sum: Sum| {
            let cell = grid.cell(sum.at);
            grid.starts[cell + 1] += 1;
        });
        for cell in 0..columns * rows {
            grid.starts[cell + 1] += grid.starts[cell];
        }
        *spent += half.list(problem, from, to, &mut |sum: Sum| {
            let cell = grid.cell(sum.at);
            let place = grid.starts[cell] as usize;
            grid.sums[place] = sum;
            grid.starts[cell] += 1;
        });
        // Every start has moved to the next cell's.
        grid.starts.rotate_right(1);
        grid.starts[0] = 0;
        grid.starts.truncate(columns * rows);
        grid.starts.push(u32::try_from(count).unwrap_or(u32::MAX));
        grid
    }

    fn column(&self, x: f64) -> usize {
        // A cast from float saturates.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let column = ((x - self.origin[0]) * self.scale[0]).max(0.0) as usize;
        column.min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let row = ((y - self.origin[1]) * self.scale[1]).max(0.0) as usize;
        row.min(self.rows - 1)
    }

    fn cell(&self, at: Pair) -> usize {
        self.row(at[1]) * self.columns + self.column(at[0])
    }
}

/// What a left sum asks of the right half: the point that would leave least, and what is left there.
#[derive(Debug, Clone)]
pub(super) enum Question {
    /// One plane.
    Same(Flat),
    /// The best moment of the second plane is `c₀ − C w`, and leaves `|p − q w|²`.
    Other { start: Pair, turn: Pair, apart: Vec<(Pair, Pair)>, gain: f64, roundness: f64, rounding: f64 },
}

impl Question {
    pub(super) fn of(problem: &Problem) -> Option<Self> {
        if problem.planes == 1 {
            return Flat::of(problem).map(Self::Same);
        }
        if problem.planes != 2 {
            return None;
        }
        let gain: f64 = problem.rows.iter().map(|row| square(row.gain[1])).sum();
        if gain <= 0.0 {
            return None;
        }
        // c₀ = (A₂ᴴ v)/(A₂ᴴ A₂), C = (A₂ᴴ A₁)/(A₂ᴴ A₂), p = v − A₂ c₀, q = A₁ − A₂ C
        let (mut start, mut turn) = ([0.0; 2], [0.0; 2]);
        for row in &problem.rows {
            let (one, two) =
                (conjugate_times(row.gain[1], row.wanted), conjugate_times(row.gain[1], row.gain[0]));
            start = [start[0] + one[0] / gain, start[1] + one[1] / gain];
            turn = [turn[0] + two[0] / gain, turn[1] + two[1] / gain];
        }
        let apart = problem.rows.iter().map(|row| {
            (minus(row.wanted, times(row.gain[1], start)), minus(row.gain[0], times(row.gain[1], turn)))
        });
        Some(Self::Other {
            start,
            turn,
            apart: apart.collect(),
            gain: math::sqrt(gain),
            roundness: problem.roundness(),
            rounding: problem.rounding,
        })
    }

    /// The point, and the radius: negative where nothing can meet the threshold.
    fn ask(&self, left: Pair, threshold: f64, flat_radius: f64) -> (Pair, f64) {
        match self {
            Self::Same(flat) => (minus(flat.centre, left), flat_radius),
            Self::Other { start, turn, apart, gain, roundness, rounding } => {
                let size = roundness * threshold * (1.0 + 1e-12) + rounding;
                let apart: f64 = apart.iter().map(|&(p, q)| square(minus(p, times(q, left)))).sum();
                let room = size * size - apart * (1.0 - 1e-12);
                let radius = if room < 0.0 { -1.0 } else { math::sqrt(room) / gain };
                (minus(*start, times(*turn, left)), radius)
            }
        }
    }

    fn flat_radius(&self, threshold: f64) -> f64 {
        match self {
            Self::Same(flat) => flat.radius(threshold),
            Self::Other { .. } => 0.0,
        }
    }
}

/// How a join ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    Finished,
    Paused,
    /// Even the narrowest strip does not fit into memory.
    OutOfMemory,
}

/// All placements that are a set of the left half and one of the right.
#[derive(Debug, Clone)]
pub(super) struct Join {
    question: Question,
    left: Half,
    right: Half,
    /// Both halves list the same sets: each pair is met twice.
    same: bool,
    /// What a strip should hold, and what it may hold.
    most_sums: usize,
    memory_sums: usize,
    /// The next strip of the right half begins here.
    from: f64,
    to: f64,
    end: f64,
    width: f64,
    built: Option<(Grid, Option<Grid>)>,
    asked: usize,
}

impl Join {
    pub(super) fn new(
        problem: &Problem,
        question: Question,
        left: Half,
        right: Half,
        same: bool,
        memory: usize,
    ) -> Self {
        // The span of x: no sum lies beyond what the holes it may take carry.
        let mut most: Vec<f64> = right
            .sites
            .iter()
            .map(|&site| {
                let options = problem.options(site);
                let ends = options.mass.first().into_iter().chain(options.mass.last());
                ends.map(|mass| (mass * problem.sites[site].arm[0]).abs()).fold(0.0, f64::max)
            })
            .collect();
        most.sort_by(|one, other| other.partial_cmp(one).unwrap_or(core::cmp::Ordering::Equal));
        most.truncate(right.holes.unwrap_or(usize::MAX));
        let span = most.iter().sum::<f64>() * (1.0 + 1e-9) + f64::MIN_POSITIVE;
        let sums = right.count(problem) + if same { 0.0 } else { left.count(problem) };
        let mut most_sums = (memory / BYTES_PER_SUM).max(1);
        // One list that serves both halves is laid out once, if it fits; otherwise strips are cheap, and stay near.
        #[allow(clippy::cast_precision_loss)]
        let once = same && sums <= most_sums as f64;
        if !once && matches!(question, Question::Same(_)) && right.holes.is_some_and(|holes| holes > 1) {
            most_sums = most_sums.min(IN_CACHE.max(right.sets_before_last(problem).saturating_mul(8)));
        }
        #[allow(clippy::cast_precision_loss)]
        let strips = sums / most_sums as f64;
        let single = strips <= 1.0;
        // Sums crowd towards the middle: narrower strips than the mean.
        let width = if single { f64::INFINITY } else { 2.0 * span / math::floor(2.0 * strips + 2.0) };
        Self {
            question,
            left,
            right,
            same,
            most_sums,
            memory_sums: (memory / BYTES_PER_SUM).max(1),
            from: if single { f64::NEG_INFINITY } else { -span },
            to: 0.0,
            end: if single { f64::INFINITY } else { span },
            width,
            built: None,
            asked: 0,
        }
    }

    /// Whether the right half is laid out strip by strip.
    #[cfg(test)]
    pub(super) fn in_strips(&self) -> bool {
        self.width.is_finite()
    }

    pub(super) fn advance(
        &mut self,
        problem: &Problem,
        incumbent: &mut Incumbent,
        steps: u64,
        spent: &mut u64,
    ) -> Outcome {
        let mut picks = Vec::new();
        loop {
            if *spent >= steps {
                return Outcome::Paused;
            }
            let Some((right, left)) = &self.built else {
                if self.from >= self.end {
                    return Outcome::Finished;
                }
                if !self.build(problem, incumbent, spent) {
                    return Outcome::OutOfMemory;
                }
                continue;
            };
            let asking = left.as_ref().unwrap_or(right);
            let until = (self.asked + ASKED).min(asking.sums.len());
            let mut threshold = incumbent.threshold();
            let mut flat_radius = self.question.flat_radius(threshold);
            if right.sums.is_empty() {
                self.asked = asking.sums.len();
            }
            while self.asked < until && !right.sums.is_empty() {
                let sum = asking.sums[self.asked];
                self.asked += 1;
                *spent += 1;
                let (centre, radius) = self.question.ask(sum.at, threshold, flat_radius);
                if radius < 0.0 {
                    continue;
                }
                let (low, high) = (right.column(centre[0] - radius), right.column(centre[0] + radius));
                let (bottom, top) = (right.row(centre[1] - radius), right.row(centre[1] + radius));
                let room = radius * radius;
                for row in bottom..=top {
                    let cells = row * right.columns;
                    let (start, end) =
                        (right.starts[cells + low] as usize, right.starts[cells + high + 1] as usize);
                    for other in &right.sums[start..end] {
                        let apart = minus(other.at, centre);
                        if dot(apart, apart) <= room {
                            *spent += 1;
                            if self.same && other.code > sum.code {
                                continue;
                            }
                            picks.clear();
                            self.left.decode(problem, sum.code, &mut picks);
                            self.right.decode(problem, other.code, &mut picks);
                            picks.sort_unstable();
                            if picks.windows(2).all(|pair| pair[0].site != pair[1].site) {
                                incumbent.offer(problem, &picks);
                            }
                        }
                    }
                }
                let newest = incumbent.threshold();
                if newest < threshold {
                    threshold = newest;
                    flat_radius = self.question.flat_radius(threshold);
                }
            }
            if self.asked >= asking.sums.len() {
                self.built = None;
                self.asked = 0;
                self.from = self.to;
            }
        }
    }

    /// Lays out the next strip; false where none fits into memory.
    fn build(&mut self, problem: &Problem, incumbent: &Incumbent, spent: &mut u64) -> bool {
        let whole = self.width.is_infinite();
        let radius = self.question.flat_radius(incumbent.threshold());
        loop {
            self.to = if whole { f64::INFINITY } else { self.from + self.width };
            let window = match (&self.question, whole) {
                // x_left = c − x_right, give or take the radius
                (Question::Same(flat), false) => {
                    (flat.centre[0] - self.to - radius, flat.centre[0] - self.from + radius)
                }
                _ => (f64::NEG_INFINITY, f64::INFINITY),
            };
            let reused = whole && self.same;
            let right = Survey::of(&self.right, problem, self.from, self.to, spent);
            let left = (!reused && right.count > 0)
                .then(|| Survey::of(&self.left, problem, window.0, window.1, spent));
            let count = right.count + left.map_or(0, |left| left.count);
            let narrow = self.width < 1e-6 * self.end.abs();
            if !whole && count > self.most_sums && !(narrow && count <= self.memory_sums) {
                self.width *= 0.5;
                if self.width < 1e-9 * self.end.abs() {
                    return false;
                }
                continue;
            }
            if !whole && count < self.most_sums / 3 {
                self.width *= 1.5;
            }
            let right = Grid::of(&self.right, problem, right, spent);
            let left = if reused {
                None
            } else {
                Some(left.map_or_else(Grid::default, |left| Grid::of(&self.left, problem, left, spent)))
            };
            self.built = Some((right, left));
            return true;
        }
    }
}
