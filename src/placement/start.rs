//! A first placement for a search that is wide, so that one that is stopped early has something to show.
//!
//! Plane by plane, the others held: first masses that need not be whole pieces, then pieces in a few holes, until no plane
//! brings the residual further down (coordinate descent). It proves nothing.

use alloc::vec;
use alloc::vec::Vec;

use super::incumbent::{Aim, Incumbent};
use super::levels::{Search, greedy};
use super::problem::{Pair, Pick, Problem, Row, Site, Totals, conjugate_times, minus, scaled, square, times};

/// Holes that one plane starts with at most: three come near almost every moment.
const HOLES: usize = 3;
/// Bounds on the work, not limits that good placements meet: of one plane once, and of all.
const STEPS: u64 = 30_000;
const MOST_STEPS: u64 = 1_000_000;
const MEMORY: usize = 4 << 20;
const SWEEPS: usize = 4;
const CONTINUOUS_SWEEPS: usize = 200;
/// Where no moment moves by more than this share of the largest, another sweep brings nothing that pieces could show.
const SETTLED: f64 = 1e-6;

/// Offers a first placement; gives the steps that were spent.
pub(super) fn offer(problem: &Problem, incumbent: &mut Incumbent, most_holes: usize) -> u64 {
    let mut steps = 0;
    if problem.planes > 1 {
        let targets = continuous(problem);
        let mut planes: Vec<Plane> = (0..problem.planes).map(|plane| Plane::of(problem, plane)).collect();
        // Fewer holes come first, so they are tried first.
        for holes in 1..=HOLES {
            let most = [most_holes, holes];
            descend(problem, incumbent, &mut planes, targets.clone(), most, &mut steps);
            if incumbent.least() <= incumbent.threshold() || steps > MOST_STEPS {
                return steps;
            }
        }
    }
    steps + greedy(problem, incumbent, most_holes)
}

/// Coordinate descent with at most so many holes in all, and in a plane.
fn descend(
    problem: &Problem,
    incumbent: &mut Incumbent,
    planes: &mut [Plane],
    mut targets: Vec<Pair>,
    [most, most_in_plane]: [usize; 2],
    steps: &mut u64,
) {
    let mut picks: Vec<Pick> = Vec::new();
    let mut least = f64::INFINITY;
    for _ in 0..SWEEPS {
        for (number, plane) in planes.iter_mut().enumerate() {
            picks.retain(|&pick| problem.plane_of(pick) != number);
            if *steps <= MOST_STEPS {
                let holes = most_in_plane.min(most.saturating_sub(picks.len()));
                let of_plane = plane.best(problem, &picks, &targets, holes, steps);
                picks.extend(of_plane);
                picks.sort_unstable();
            }
            let moment = problem.moments(&picks).get(number).copied();
            if let (Some(target), Some(moment)) = (targets.get_mut(number), moment) {
                *target = moment;
            }
        }
        incumbent.offer(problem, &picks);
        let residual = problem.residual(&picks);
        if residual >= least || *steps > MOST_STEPS {
            return;
        }
        least = residual;
    }
}

/// The moments of all planes that leave least where nothing limits them.
fn continuous(problem: &Problem) -> Vec<Pair> {
    let mut moments = vec![[0.0; 2]; problem.planes];
    for _ in 0..CONTINUOUS_SWEEPS {
        let (mut moved, mut largest) = (0.0_f64, 0.0_f64);
        for plane in 0..problem.planes {
            let before = moments.get(plane).copied().unwrap_or([0.0; 2]);
            let (mut toward, mut size) = ([0.0; 2], 0.0);
            for row in &problem.rows {
                let Some(&gain) = row.gain.get(plane) else { continue };
                let left = minus(row.left(&moments), scaled(times(gain, before), -1.0));
                // w_p = Σ conj(A_sp) (r_s + A_sp w_p)/Σ |A_sp|²
                let along = conjugate_times(gain, left);
                toward = [toward[0] + along[0], toward[1] + along[1]];
                size += square(gain);
            }
            if let (true, Some(moment)) = (size > 0.0, moments.get_mut(plane)) {
                *moment = scaled(toward, 1.0 / size);
                moved = moved.max(square(minus(*moment, before)));
                largest = largest.max(square(*moment));
            }
        }
        if moved <= SETTLED * SETTLED * largest {
            break;
        }
    }
    moments
}

/// One plane of a problem as a problem of its own, which is asked again and again.
struct Plane {
    number: usize,
    /// The problem's sites in it.
    sites: Vec<usize>,
    /// Taken out while it is searched.
    alone: Option<Problem>,
}

impl Plane {
    fn of(problem: &Problem, number: usize) -> Self {
        let inside = problem.sites.iter().enumerate().filter(|(_, site)| site.plane == number);
        let (sites, places): (Vec<usize>, Vec<Site>) =
            inside.map(|(at, site)| (at, Site { plane: 0, ..*site })).unzip();
        let alone = Problem {
            sites: places,
            kinds: problem.kinds.clone(),
            planes: 1,
            rows: Vec::new(),
            norm: problem.norm,
            totals: problem.totals.clone(),
            mass_unit: problem.mass_unit,
            rounding: problem.rounding,
        };
        Self { number, sites, alone: Some(alone) }
    }

    /// The best pieces in a few of its holes, the moments of the other planes held.
    fn best(
        &mut self,
        problem: &Problem,
        others: &[Pick],
        targets: &[Pair],
        holes: usize,
        steps: &mut u64,
    ) -> Vec<Pick> {
        let Some(mut alone) = self.alone.take() else { return Vec::new() };
        let mut held = targets.to_vec();
        if let Some(own) = held.get_mut(self.number) {
            *own = [0.0; 2];
        }
        let row = |row: &Row| Row {
            wanted: row.left(&held),
            gain: vec![row.gain.get(self.number).copied().unwrap_or([0.0; 2])],
        };
        alone.rows = problem.rows.iter().map(row).collect();
        alone.totals = left_of(problem, others, self.number, holes);
        let mut search = Search::new(alone, Aim::Least { tie: 0.0 }, 1, MEMORY);
        search.advance(STEPS);
        *steps += search.steps();
        let best = search.incumbent().ranked();
        let picks = best.first().map_or(&[] as &[Pick], |best| &best.picks);
        let back = |pick: &Pick| {
            let site = self.sites.get(pick.site as usize).copied().unwrap_or(0);
            Pick { site: u32::try_from(site).unwrap_or(u32::MAX), option: pick.option }
        };
        let picks = picks.iter().map(back).collect();
        self.alone = Some(search.into_problem());
        picks
    }
}

/// What the limits over all holes leave to one plane beside what is placed in the others.
fn left_of(problem: &Problem, others: &[Pick], plane: usize, holes: usize) -> Totals {
    let spent_pieces: u64 = others.iter().map(|&pick| u64::from(problem.pieces(pick))).sum();
    let spent_mass: f64 = others.iter().map(|&pick| problem.mass(pick)).sum();
    let stock = problem.totals.stock.iter().enumerate().map(|(item, &stock)| {
        let uses = |pick: &Pick| {
            problem.options(pick.site as usize).uses(pick.option as usize).get(item).copied().unwrap_or(0)
        };
        others.iter().fold(stock, |left, pick| left.saturating_sub(uses(pick)))
    });
    Totals {
        holes: holes.min(problem.totals.holes_in_plane.get(plane).copied().unwrap_or(usize::MAX)),
        holes_in_plane: vec![usize::MAX],
        pieces: problem
            .totals
            .pieces
            .map(|most| u32::try_from(u64::from(most).saturating_sub(spent_pieces)).unwrap_or(u32::MAX)),
        net_mass: problem.totals.net_mass.map(|most| (most - spent_mass).max(0.0)),
        stock: stock.collect(),
    }
}
