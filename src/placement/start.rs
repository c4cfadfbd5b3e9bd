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
/// Bounds on the work, not limits that good placements meet.
const STEPS: u64 = 30_000;
const MEMORY: usize = 4 << 20;
const SWEEPS: usize = 4;
const CONTINUOUS_SWEEPS: usize = 200;

/// Offers a first placement; gives the steps that were spent.
pub(super) fn offer(problem: &Problem, incumbent: &mut Incumbent, most_holes: usize) -> u64 {
    let mut steps = 0;
    if problem.planes > 1 {
        // Fewer holes come first, so they are tried first.
        for holes in 1..=HOLES {
            steps += descend(problem, incumbent, most_holes, holes);
            if incumbent.least() <= incumbent.threshold() {
                return steps;
            }
        }
    }
    steps + greedy(problem, incumbent, most_holes)
}

/// Coordinate descent with at most so many holes a plane.
fn descend(problem: &Problem, incumbent: &mut Incumbent, most_holes: usize, holes: usize) -> u64 {
    let mut steps = 0;
    let mut targets = continuous(problem);
    let mut picks: Vec<Pick> = Vec::new();
    let mut least = f64::INFINITY;
    for _ in 0..SWEEPS {
        for plane in 0..problem.planes {
            picks.retain(|&pick| problem.plane_of(pick) != plane);
            let most = holes.min(most_holes.saturating_sub(picks.len()));
            let (of_plane, spent) = best_in(problem, plane, &picks, &targets, most);
            steps += spent;
            picks.extend(of_plane);
            picks.sort_unstable();
            let moment = problem.moments(&picks).get(plane).copied();
            if let (Some(target), Some(moment)) = (targets.get_mut(plane), moment) {
                *target = moment;
            }
        }
        incumbent.offer(problem, &picks);
        let residual = problem.residual(&picks);
        if residual >= least {
            break;
        }
        least = residual;
    }
    steps
}

/// The moments of all planes that leave least where nothing limits them.
fn continuous(problem: &Problem) -> Vec<Pair> {
    let mut moments = vec![[0.0; 2]; problem.planes];
    for _ in 0..CONTINUOUS_SWEEPS {
        for plane in 0..problem.planes {
            let (mut toward, mut size) = ([0.0; 2], 0.0);
            for row in &problem.rows {
                let Some(&gain) = row.gain.get(plane) else { continue };
                let moment = moments.get(plane).copied().unwrap_or([0.0; 2]);
                let left = minus(row.left(&moments), scaled(times(gain, moment), -1.0));
                // w_p = Σ conj(A_sp) (r_s + A_sp w_p)/Σ |A_sp|²
                let along = conjugate_times(gain, left);
                toward = [toward[0] + along[0], toward[1] + along[1]];
                size += square(gain);
            }
            if let (true, Some(moment)) = (size > 0.0, moments.get_mut(plane)) {
                *moment = scaled(toward, 1.0 / size);
            }
        }
    }
    moments
}

/// The best pieces in a few holes of one plane, the moments of the other planes held.
fn best_in(
    problem: &Problem,
    plane: usize,
    others: &[Pick],
    targets: &[Pair],
    most: usize,
) -> (Vec<Pick>, u64) {
    let mut held = targets.to_vec();
    if let Some(own) = held.get_mut(plane) {
        *own = [0.0; 2];
    }
    let numbers: Vec<usize> = (0..problem.sites.len())
        .filter(|&site| problem.sites.get(site).is_some_and(|s| s.plane == plane))
        .collect();
    let sites: Vec<Site> = numbers
        .iter()
        .filter_map(|&site| problem.sites.get(site))
        .map(|site| Site { plane: 0, ..*site })
        .collect();
    let rows = problem.rows.iter().map(|row| Row {
        wanted: row.left(&held),
        gain: vec![row.gain.get(plane).copied().unwrap_or([0.0; 2])],
    });
    let spent_pieces: u64 = others.iter().map(|&pick| u64::from(problem.pieces(pick))).sum();
    let spent_mass: f64 = others.iter().map(|&pick| problem.mass(pick)).sum();
    let stock = problem.totals.stock.iter().enumerate().map(|(item, &stock)| {
        let uses = |pick: &Pick| {
            problem.options(pick.site as usize).uses(pick.option as usize).get(item).copied().unwrap_or(0)
        };
        others.iter().fold(stock, |left, pick| left.saturating_sub(uses(pick)))
    });
    let of_plane = problem.totals.holes_in_plane.get(plane).copied().unwrap_or(usize::MAX);
    let totals = Totals {
        holes: most.min(of_plane),
        holes_in_plane: vec![usize::MAX],
        pieces: problem
            .totals
            .pieces
            .map(|most| u32::try_from(u64::from(most).saturating_sub(spent_pieces)).unwrap_or(u32::MAX)),
        net_mass: problem.totals.net_mass.map(|most| (most - spent_mass).max(0.0)),
        stock: stock.collect(),
    };
    let part = Problem {
        sites,
        kinds: problem.kinds.clone(),
        planes: 1,
        rows: rows.collect(),
        norm: problem.norm,
        totals,
        mass_unit: problem.mass_unit,
        rounding: problem.rounding,
    };
    let mut search = Search::new(part, Aim::Least { tie: 0.0 }, 1, MEMORY);
    search.advance(STEPS);
    let best = search.incumbent().ranked();
    let picks = best.first().map_or(&[] as &[Pick], |best| &best.picks);
    let back = |pick: &Pick| {
        let site = numbers.get(pick.site as usize).copied().unwrap_or(0);
        Pick { site: u32::try_from(site).unwrap_or(u32::MAX), option: pick.option }
    };
    (picks.iter().map(back).collect(), search.steps())
}
