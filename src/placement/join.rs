//! Join: a placement is cut in two halves; all sums of either are listed, and pairs that meet are looked up.
//!
//! The right half's sums are laid out in a grid. Each left sum asks for the right sums within a radius of the point that
//! would leave least. In one plane that point is what is still wanted; in two planes it is the best moment of the second
//! plane for the moment of the first, a projection, and the radius is what the projection leaves room for. The grid is
//! built strip by strip, so that memory stays within its bound however many sums there are.
//!
//! Two halves that list the same sets meet every pair twice; the larger x of the two asks, and the smaller is laid out. The
//! left sums of a strip are sorted into bands, so that neighbours ask in the same part of the grid.

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
const IN_CACHE: usize = 1 << 21;
/// Into how many bands a strip's left sums are sorted.
const BANDS: usize = 256;
/// Left sums whose cells are found before any is looked into.
const BLOCK: usize = 64;
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
        if holes == 1 {
            self.last(place, pieces, sum);
            return;
        }
        for at in place..(self.half.sites.len() + 1).saturating_sub(holes) {
            let site = &self.problem.sites[self.half.sites[at]];
            let menu = &self.half.menus[site.kind];
            #[allow(clippy::cast_possible_truncation)] // at most a few holes
            let others = holes as u32 - 1;
            for (entry, (&mass, &used)) in (0..).zip(menu.mass.iter().zip(&menu.pieces)) {
                if used.saturating_add(others) <= pieces {
                    let next = Sum {
                        at: [sum.at[0] + mass * site.arm[0], sum.at[1] + mass * site.arm[1]],
                        code: sum.code * self.half.base + self.half.offsets[at] + entry,
                    };
                    self.exact(at + 1, holes - 1, pieces - used, next);
                }
            }
        }
    }

    /// The last hole, where nearly all the time goes.
    fn last(&mut self, place: usize, pieces: u32, sum: Sum) {
        let half = self.half;
        for (&at, &offset) in half.sites[place..].iter().zip(&half.offsets[place..]) {
            let site = &self.problem.sites[at];
            let menu = &half.menus[site.kind];
            self.steps += 1;
            let from = self.first(menu, site.arm[0], sum.at[0]);
            let code = sum.code * half.base + offset + from as u64;
            let entries = menu.mass[from..].iter().zip(&menu.pieces[from..]);
            for (code, (&mass, &used)) in (code..).zip(entries) {
                let at = [sum.at[0] + mass * site.arm[0], sum.at[1] + mass * site.arm[1]];
                let (inside, beyond) = if site.arm[0] < 0.0 {
                    (at[0] < self.to, at[0] < self.from)
                } else {
                    (at[0] >= self.from, at[0] >= self.to)
                };
                // Rounding keeps the order: x only moves on.
                if beyond {
                    break;
                }
                if inside && used <= pieces {
                    (self.take)(Sum { at, code });
                    self.steps += 1;
                }
            }
        }
    }

    /// The first entry that brings x into the strip, or one before it.
    fn first(&self, menu: &Menu, arm: f64, x: f64) -> usize {
        let edge = if arm < 0.0 { self.to } else { self.from };
        let mass = (edge - x) / arm;
        if edge.is_infinite() || mass.is_nan() || arm == 0.0 { 0 } else { menu.first(mass).saturating_sub(1) }
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

/// What one left sum asks the grid for.
struct Span {
    asker: usize,
    centre: Pair,
    /// The square of the radius.
    room: f64,
    columns: (usize, usize),
    rows: (usize, usize),
    /// The sums in the first of the rows: mostly the only one.
    first: (u32, u32),
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

    /// The cells within a radius of a point.
    fn span(&self, asker: usize, centre: Pair, radius: f64) -> Span {
        let columns = (self.column(centre[0] - radius), self.column(centre[0] + radius));
        let rows = (self.row(centre[1] - radius), self.row(centre[1] + radius));
        let cells = rows.0 * self.columns;
        let first = (self.starts[cells + columns.0], self.starts[cells + columns.1 + 1]);
        Span { asker, centre, room: radius * radius, columns, rows, first }
    }

    fn in_row(&self, span: &Span, row: usize) -> &[Sum] {
        let cells = row * self.columns;
        let (start, end) = if row == span.rows.0 {
            span.first
        } else {
            (self.starts[cells + span.columns.0], self.starts[cells + span.columns.1 + 1])
        };
        &self.sums[start as usize..end as usize]
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

    /// The point that would leave least.
    fn point(&self, left: Pair) -> Pair {
        match self {
            Self::Same(flat) => minus(flat.centre, left),
            Self::Other { start, turn, .. } => minus(*start, times(*turn, left)),
        }
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

/// The left half's sums of a strip, sorted into bands of the y they ask for: what one band asks for stays near the
/// processor.
struct Bands<'a> {
    half: &'a Half,
    problem: &'a Problem,
    question: &'a Question,
    /// The x in which the sums lie.
    window: Pair,
    lowest: f64,
    /// Bands per g mm.
    scale: f64,
    /// Where each band begins.
    starts: Vec<usize>,
}

impl<'a> Bands<'a> {
    fn survey(
        half: &'a Half,
        problem: &'a Problem,
        question: &'a Question,
        window: Pair,
        right: &Survey,
        spent: &mut u64,
    ) -> Self {
        let (lowest, high) = (right.lowest[1], right.highest[1] - right.lowest[1]);
        #[allow(clippy::cast_precision_loss)] // a few hundred
        let scale = if high > 0.0 { BANDS as f64 / high } else { 0.0 };
        let mut bands = Self { half, problem, question, window, lowest, scale, starts: vec![0; BANDS + 1] };
        if right.count > 0 {
            *spent += half.list(problem, window[0], window[1], &mut |sum: Sum| {
                let band = bands.band(sum);
                bands.starts[band + 1] += 1;
            });
            for band in 0..BANDS {
                bands.starts[band + 1] += bands.starts[band];
            }
        }
        bands
    }

    fn count(&self) -> usize {
        self.starts[BANDS]
    }

    fn band(&self, sum: Sum) -> usize {
        // A cast from float saturates.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let band = ((self.question.point(sum.at)[1] - self.lowest) * self.scale).max(0.0) as usize;
        band.min(BANDS - 1)
    }

    fn sorted(mut self, spent: &mut u64) -> Vec<Sum> {
        let mut sums = vec![Sum { at: [0.0; 2], code: 0 }; self.count()];
        if !sums.is_empty() {
            *spent += self.half.list(self.problem, self.window[0], self.window[1], &mut |sum: Sum| {
                let band = self.band(sum);
                sums[self.starts[band]] = sum;
                self.starts[band] += 1;
            });
        }
        sums
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
    /// No sum of the right half lies farther out in x.
    span: f64,
    built: Option<(Grid, Option<Vec<Sum>>)>,
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
        // Strips are cheap where the last hole's masses are looked up, and stay near the processor.
        if matches!(question, Question::Same(_)) && right.holes.is_some_and(|holes| holes > 1) {
            most_sums = most_sums.min(IN_CACHE.max(right.sets_before_last(problem).saturating_mul(4)));
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
            span,
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
        let mut spans = Vec::with_capacity(BLOCK);
        loop {
            if *spent >= steps {
                return Outcome::Paused;
            }
            let Some((right, left)) = &self.built else {
                if self.from >= self.end.min(self.middle(incumbent.threshold())[1]) {
                    return Outcome::Finished;
                }
                if !self.build(problem, incumbent, spent) {
                    return Outcome::OutOfMemory;
                }
                continue;
            };
            let asking = left.as_ref().unwrap_or(&right.sums);
            let until = (self.asked + ASKED).min(asking.len());
            let mut threshold = incumbent.threshold();
            let mut flat_radius = self.question.flat_radius(threshold);
            let lowest = self.middle(threshold)[0];
            if right.sums.is_empty() {
                self.asked = asking.len();
            }
            while self.asked < until && !right.sums.is_empty() {
                // First where to look, for a block of sums: the look-ups do not wait for each other.
                spans.clear();
                let block = self.asked..until.min(self.asked + BLOCK);
                self.asked = block.end;
                *spent += block.len() as u64;
                for asker in block {
                    let at = asking[asker].at;
                    let (centre, radius) = self.question.ask(at, threshold, flat_radius);
                    if at[0] >= lowest && radius >= 0.0 {
                        spans.push(right.span(asker, centre, radius));
                    }
                }
                for span in &spans {
                    for row in span.rows.0..=span.rows.1 {
                        for &other in right.in_row(span, row) {
                            let apart = minus(other.at, span.centre);
                            if dot(apart, apart) <= span.room {
                                *spent += 1;
                                self.offer(problem, incumbent, asking[span.asker], other, &mut picks);
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
            if self.asked >= asking.len() {
                self.built = None;
                self.asked = 0;
                self.from = self.to;
            }
        }
    }

    /// Takes a pair into account, unless both would use the same hole.
    fn offer(
        &self,
        problem: &Problem,
        incumbent: &mut Incumbent,
        left: Sum,
        right: Sum,
        picks: &mut Vec<Pick>,
    ) {
        picks.clear();
        self.left.decode(problem, left.code, picks);
        self.right.decode(problem, right.code, picks);
        picks.sort_unstable();
        if picks.windows(2).all(|pair| pair[0].site != pair[1].site) {
            incumbent.offer(problem, picks);
        }
    }

    /// Where both halves list the same sets, each pair need be met once: the larger x of the two asks, the smaller is laid
    /// out. Two that meet have `x + x' = c` give or take the radius, so the larger is at least, and the smaller at most, half
    /// of that.
    fn middle(&self, threshold: f64) -> Pair {
        match &self.question {
            Question::Same(flat) if self.same => {
                let (centre, radius) = (flat.centre[0], flat.radius(threshold).max(0.0));
                let slack = 1e-12 * (self.span + centre.abs());
                [0.5 * (centre - radius) - slack, 0.5 * (centre + radius) + slack]
            }
            _ => [f64::NEG_INFINITY, f64::INFINITY],
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
                    [flat.centre[0] - self.to - radius, flat.centre[0] - self.from + radius]
                }
                _ => [f64::NEG_INFINITY, f64::INFINITY],
            };
            let right = Survey::of(&self.right, problem, self.from, self.to, spent);
            // One list that serves both halves is laid out once.
            let left = (!(whole && self.same))
                .then(|| Bands::survey(&self.left, problem, &self.question, window, &right, spent));
            let count = right.count + left.as_ref().map_or(0, Bands::count);
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
            let left = left.map(|left| left.sorted(spent));
            let right = Grid::of(&self.right, problem, right, spent);
            self.built = Some((right, left));
            return true;
        }
    }
}
