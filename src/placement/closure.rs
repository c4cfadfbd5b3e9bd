//! Closure: with all but the last holes chosen, the last ones are computed instead of searched.
//!
//! One hole: what is left is projected on its direction; only masses within the chord of the circle of radius ρ matter.
//! Two holes: `r = m₁ e₁ + m₂ e₂` is solved exactly; only masses of the first within `ρ/(|e₁| |sin|)` of the exact one
//! can matter, and each leaves one hole. Three holes: for each triple the exact masses of two are linear in the mass of
//! the third, so an interval of the third is all that has to be looked at.

#![allow(clippy::indexing_slicing)] // every index is bounded by a shape of the problem

use alloc::vec::Vec;

use super::incumbent::Incumbent;
use super::options::Options;
use super::problem::{Pair, Pick, Problem, conjugate_times, cross, dot, minus, scaled, square, times};
use crate::math;

/// Directions nearer to parallel than this are not solved for.
const PARALLEL: f64 = 1e-7;

/// The masses of one kind of hole, with a table that finds the first mass from a value on.
#[derive(Debug, Clone)]
pub(super) struct Menu {
    pub mass: Vec<f64>,
    /// The option that each mass belongs to.
    pub option: Vec<u32>,
    pub pieces: Vec<u32>,
    scale: f64,
    table: Vec<u32>,
}

impl Menu {
    /// The options that handle at most so many pieces.
    pub(super) fn of(options: &Options, most_pieces: u32) -> Self {
        let mut menu =
            Self { mass: Vec::new(), option: Vec::new(), pieces: Vec::new(), scale: 0.0, table: Vec::new() };
        for (option, (&mass, &pieces)) in (0..).zip(options.mass.iter().zip(&options.pieces)) {
            if pieces <= most_pieces {
                menu.mass.push(mass);
                menu.option.push(option);
                menu.pieces.push(pieces);
            }
        }
        if let (Some(&lowest), Some(&highest)) = (menu.mass.first(), menu.mass.last()) {
            let buckets = 2 * menu.mass.len();
            #[allow(clippy::cast_precision_loss)] // a count of options
            let scale = if highest > lowest { buckets as f64 / (highest - lowest) } else { 0.0 };
            menu.scale = if scale.is_finite() { scale } else { 0.0 };
            let mut at = 0;
            for bucket in 0..=buckets {
                #[allow(clippy::cast_precision_loss)]
                // A bucket begins a little early, so that rounding of a look-up cannot pass over a mass.
                let from =
                    if menu.scale > 0.0 { lowest + (bucket as f64 - 1e-6) / menu.scale } else { lowest };
                while at < menu.mass.len() && menu.mass[at] < from {
                    at += 1;
                }
                menu.table.push(u32::try_from(at).unwrap_or(u32::MAX));
            }
        }
        menu
    }

    /// The first entry of at least this mass.
    pub(super) fn first(&self, mass: f64) -> usize {
        let Some(&lowest) = self.mass.first() else { return 0 };
        let bucket = (mass - lowest) * self.scale;
        if bucket.is_nan() {
            return 0;
        }
        // A cast from float saturates.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let bucket = (bucket.max(0.0) as usize).min(self.table.len() - 1);
        let mut at = self.table[bucket] as usize;
        while at < self.mass.len() && self.mass[at] < mass {
            at += 1;
        }
        at
    }

    fn ends(&self) -> Option<(f64, f64)> {
        Some((*self.mass.first()?, *self.mass.last()?))
    }
}

/// A problem in one plane, as a point in the plane of moments that is to be met within a radius.
#[derive(Debug, Clone)]
pub(super) struct Flat {
    /// The moment that leaves least: `w* = (Aᴴ v)/(Aᴴ A)`.
    pub centre: Pair,
    /// |A|
    gain: f64,
    /// |v − A w*|²
    apart: f64,
    roundness: f64,
    rounding: f64,
}

impl Flat {
    /// `None` where there is more than one plane, or the plane has no effect.
    pub(super) fn of(problem: &Problem) -> Option<Self> {
        if problem.planes != 1 {
            return None;
        }
        let gain: f64 = problem.rows.iter().map(|row| square(row.gain[0])).sum();
        if gain <= 0.0 {
            return None;
        }
        let mut centre = [0.0; 2];
        for row in &problem.rows {
            let term = conjugate_times(row.gain[0], row.wanted);
            centre = [centre[0] + term[0] / gain, centre[1] + term[1] / gain];
        }
        let apart =
            problem.rows.iter().map(|row| square(minus(row.wanted, times(row.gain[0], centre)))).sum();
        Some(Self {
            centre,
            gain: math::sqrt(gain),
            apart,
            roundness: problem.roundness(),
            rounding: problem.rounding,
        })
    }

    /// How far from the centre a moment may lie to leave no more than a threshold: negative where none does.
    pub(super) fn radius(&self, threshold: f64) -> f64 {
        // |v − A w|² = |v − A w*|² + |A|² |w − w*|², and the Euclidean size is at most κ times the size.
        let size = self.roundness * threshold * (1.0 + 1e-12) + self.rounding;
        let rest = size * size - self.apart * (1.0 - 1e-12);
        if rest < 0.0 { -1.0 } else { math::sqrt(rest) / self.gain }
    }
}

/// All placements in exactly 0, 1, 2 or 3 holes of one plane.
#[derive(Debug, Clone)]
pub(super) struct Level {
    holes: usize,
    menus: Vec<Menu>,
    length: Vec<f64>,
    /// The next set of holes to be looked at; its places beyond `holes` are not used.
    next: [usize; 3],
    finished: bool,
}

impl Level {
    pub(super) fn new(problem: &Problem, holes: usize) -> Self {
        #[allow(clippy::cast_possible_truncation)] // at most 3
        let others = holes.saturating_sub(1) as u32;
        let most = problem.totals.pieces.map_or(u32::MAX, |most| most.saturating_sub(others));
        let menus = problem.kinds.iter().map(|options| Menu::of(options, most)).collect();
        let length = problem.sites.iter().map(|site| math::hypot(site.arm[0], site.arm[1])).collect();
        let finished = holes > problem.sites.len();
        Self { holes, menus, length, next: [0, 1, 2], finished }
    }

    /// Looks at sets of holes until so many steps are spent; true when none is left.
    pub(super) fn advance(
        &mut self,
        problem: &Problem,
        flat: &Flat,
        incumbent: &mut Incumbent,
        steps: u64,
        spent: &mut u64,
    ) -> bool {
        while !self.finished {
            if *spent >= steps {
                return false;
            }
            let radius = flat.radius(incumbent.threshold());
            if radius < 0.0 {
                self.finished = true;
                break;
            }
            let mut work = Work { problem, flat, level: self, incumbent, radius, steps: 1 };
            let [i, k, l] = self.next;
            match self.holes {
                0 => work.incumbent.offer(problem, &[]),
                1 => work.last(flat.centre, i, &[]),
                2 => work.pair(flat.centre, i, k, &[]),
                _ => work.triple([i, k, l]),
            }
            *spent += work.steps;
            self.finished = !self.step(problem.sites.len());
        }
        true
    }

    /// The next ascending set of holes.
    fn step(&mut self, sites: usize) -> bool {
        let holes = self.holes;
        for place in (0..holes).rev() {
            if self.next[place] + (holes - place) < sites {
                self.next[place] += 1;
                for after in place + 1..holes {
                    self.next[after] = self.next[after - 1] + 1;
                }
                return true;
            }
        }
        false
    }
}

struct Work<'a> {
    problem: &'a Problem,
    flat: &'a Flat,
    level: &'a Level,
    incumbent: &'a mut Incumbent,
    radius: f64,
    steps: u64,
}

impl<'a> Work<'a> {
    fn menu(&self, site: usize) -> &'a Menu {
        &self.level.menus[self.problem.sites[site].kind]
    }

    fn pick(site: usize, option: u32) -> Pick {
        // Sites are counted in u32 by construction.
        Pick { site: u32::try_from(site).unwrap_or(u32::MAX), option }
    }

    /// The last hole, with `rest` still wanted.
    fn last(&mut self, rest: Pair, site: usize, chosen: &[Pick]) {
        let (arm, length, menu) = (self.problem.sites[site].arm, self.level.length[site], self.menu(site));
        self.steps += 1;
        // t = r·e/|e|² leaves |r × e|/|e|
        let apart = cross(rest, arm) / length;
        let room = self.radius * self.radius - apart * apart;
        if room < 0.0 {
            return;
        }
        let exact = dot(rest, arm) / (length * length);
        let half = math::sqrt(room) / length * (1.0 + 1e-12) + exact.abs() * 1e-14;
        let mut at = menu.first(exact - half);
        while at < menu.mass.len() && menu.mass[at] <= exact + half {
            let mut picks = [Pick { site: 0, option: 0 }; 3];
            let count = chosen.len();
            picks[..count].copy_from_slice(chosen);
            picks[count] = Self::pick(site, menu.option[at]);
            let picks = &mut picks[..=count];
            picks.sort_unstable();
            self.incumbent.offer(self.problem, picks);
            self.steps += 1;
            at += 1;
        }
        self.radius = self.flat.radius(self.incumbent.threshold());
    }

    /// The last two holes.
    fn pair(&mut self, rest: Pair, one: usize, two: usize, chosen: &[Pick]) {
        let (first, second) = (self.problem.sites[one].arm, self.problem.sites[two].arm);
        let (menu, other) = (self.menu(one), self.menu(two));
        let (Some(ends), Some(other_ends)) = (menu.ends(), other.ends()) else { return };
        let area = cross(first, second);
        let (length, other_length) = (self.level.length[one], self.level.length[two]);
        let (mut at, mut to) = (0, f64::INFINITY);
        if area.abs() > PARALLEL * length * other_length {
            // m₁ = (r × e₂)/(e₁ × e₂), m₂ = (e₁ × r)/(e₁ × e₂)
            let exact = cross(rest, second) / area;
            let half = self.radius * other_length / area.abs() * (1.0 + 1e-12) + exact.abs() * 1e-14;
            let other_exact = cross(first, rest) / area;
            let other_half = self.radius * length / area.abs() * (1.0 + 1e-12) + other_exact.abs() * 1e-14;
            if exact + half < ends.0
                || exact - half > ends.1
                || other_exact + other_half < other_ends.0
                || other_exact - other_half > other_ends.1
            {
                return;
            }
            at = menu.first(exact - half);
            to = exact + half;
        }
        while at < menu.mass.len() && menu.mass[at] <= to {
            let mut picks = [Pick { site: 0, option: 0 }; 2];
            picks[..chosen.len()].copy_from_slice(chosen);
            picks[chosen.len()] = Self::pick(one, menu.option[at]);
            self.last(minus(rest, scaled(first, menu.mass[at])), two, &picks[..=chosen.len()]);
            at += 1;
        }
    }

    /// Three holes.
    fn triple(&mut self, [i, k, l]: [usize; 3]) {
        let arm = |site: usize| self.problem.sites[site].arm;
        let sine = |one: usize, two: usize| {
            (cross(arm(one), arm(two)) / (self.level.length[one] * self.level.length[two])).abs()
        };
        // The pair that is solved for is the one nearest to square: the windows are then narrowest.
        let (mut free, mut one, mut two) = (i, k, l);
        if sine(i, l) > sine(one, two) {
            (free, one, two) = (k, i, l);
        }
        if sine(i, k) > sine(one, two) {
            (free, one, two) = (l, i, k);
        }
        let menu = self.menu(free);
        let (first, second, third) = (arm(one), arm(two), arm(free));
        let (Some(ends), Some(other_ends)) = (self.menu(one).ends(), self.menu(two).ends()) else { return };
        let area = cross(first, second);
        let (length, other_length) = (self.level.length[one], self.level.length[two]);
        let centre = self.flat.centre;
        let parallel = area.abs() <= PARALLEL * length * other_length;
        if parallel {
            for at in 0..menu.mass.len() {
                let picks = [Self::pick(free, menu.option[at])];
                self.pair(minus(centre, scaled(third, menu.mass[at])), one, two, &picks);
            }
            return;
        }
        // m₁(m) = α₁ + β₁ m, m₂(m) = α₂ + β₂ m
        let (alpha, beta) = (cross(centre, second) / area, 0.0 - cross(third, second) / area);
        let (other_alpha, other_beta) = (cross(first, centre) / area, 0.0 - cross(first, third) / area);
        let half = self.radius * other_length / area.abs() * (1.0 + 1e-12) + alpha.abs() * 1e-13;
        let other_half = self.radius * length / area.abs() * (1.0 + 1e-12) + other_alpha.abs() * 1e-13;
        let (mut from, mut to) = (f64::NEG_INFINITY, f64::INFINITY);
        narrow(&mut from, &mut to, alpha, beta, (ends.0 - half, ends.1 + half));
        narrow(
            &mut from,
            &mut to,
            other_alpha,
            other_beta,
            (other_ends.0 - other_half, other_ends.1 + other_half),
        );
        if from > to {
            return;
        }
        let slack = 1e-13 * (from.abs().min(to.abs()));
        let slack = if slack.is_finite() { slack } else { 0.0 };
        let mut at = menu.first(from - slack);
        let solved = self.menu(one);
        while at < menu.mass.len() && menu.mass[at] <= to + slack {
            let mass = menu.mass[at];
            self.steps += 1;
            let exact = alpha + beta * mass;
            // The radius only shrinks, so the half width taken at the start stays valid; the newest is narrower.
            let half = self.radius * other_length / area.abs() * (1.0 + 1e-12) + alpha.abs() * 1e-13;
            let mut found = solved.first(exact - half);
            while found < solved.mass.len() && solved.mass[found] <= exact + half {
                let picks = [Self::pick(free, menu.option[at]), Self::pick(one, solved.option[found])];
                let rest = minus(minus(centre, scaled(third, mass)), scaled(first, solved.mass[found]));
                self.last(rest, two, &picks);
                found += 1;
            }
            at += 1;
        }
    }
}

/// Narrows an interval of m to where `α + β m` lies between two ends.
fn narrow(from: &mut f64, to: &mut f64, alpha: f64, beta: f64, (lowest, highest): (f64, f64)) {
    // Hardly dependent on m: nothing to be narrowed by.
    if beta.abs() < 1e-9 {
        return;
    }
    let (mut low, mut high) = ((lowest - alpha) / beta, (highest - alpha) / beta);
    if low > high {
        core::mem::swap(&mut low, &mut high);
    }
    *from = from.max(low);
    *to = to.min(high);
}
