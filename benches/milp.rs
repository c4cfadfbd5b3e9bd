//! The same placement problems as mixed-integer linear programs, for a general solver (microlp: simplex with branch and
//! bound). The model counts pieces hole by hole and knows nothing of options, levels or joins.
//!
//! What it proves. A linear program has no 2-norm. The largest component is linear, so in that norm its least residual and
//! its fewest holes, pieces and mass within eps are proven as they stand. For the 2-norm, |r| is measured by a polygon,
//! `m(r) = max_j Re(conj(u_j) r)` over k directions, and `m(r) ≤ |r| ≤ m(r)/cos(π/k)`. The least m over all placements so
//! bounds the least residual from both sides. Fewest holes within eps: `m ≤ eps` admits too much, `m ≤ eps cos(π/k)` too
//! little; where both give one number, it is proven. Rows of two planes or channels are measured together the same way,
//! `√(a² + b²) = max_φ (a cos φ + b sin φ)`.

#![allow(clippy::disallowed_methods, reason = "a comparison of its own, not the library")]
#![allow(dead_code, reason = "the tests and the timings each use a part")]

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::time::Duration;

use counterpoise::PlacementNorm;
use counterpoise_benches::placement::Instance;
use microlp::{ComparisonOp, Error, OptimizationDirection, Problem, SolveOptions, Variable};

/// What is to be least.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Goal {
    /// The measured residual.
    Residual,
    /// Holes touched.
    Holes,
    /// Pieces put on or taken off.
    Pieces,
    /// Net mass added.
    Mass,
}

/// What a solution must keep, beside the limits of the instance.
#[derive(Clone, Copy, Debug, Default)]
pub struct Limits {
    /// On the measured residual.
    pub residual: Option<f64>,
    /// On holes touched.
    pub holes: Option<usize>,
    /// On pieces.
    pub pieces: Option<u64>,
}

/// How long the solver may take: whichever comes first.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    /// Branch-and-bound nodes: the same on every machine.
    pub nodes: Option<u64>,
    /// Wall time.
    pub time: Option<Duration>,
}

/// What came out.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// Proven: the value, and the pieces per hole and kind.
    Proven(f64, Vec<Vec<i64>>),
    /// Proven: nothing keeps the limits.
    Infeasible,
    /// Not proven: the best value found, and the solver's bound.
    Open(Option<f64>, Option<f64>),
    /// The solver gave up for reasons of its own.
    Failed(String),
}

/// How the residual is measured, and how tightly: `m ≤ size ≤ m / tightness`.
#[derive(Clone, Debug)]
pub struct Measure {
    sides: usize,
    mixes: usize,
    /// The share of the size that is measured at least.
    pub tightness: f64,
}

impl Measure {
    /// For the norm of the instance, with so many sides; `None` where no linear measure is made of it.
    pub fn of(instance: &Instance, sides: usize) -> Option<Self> {
        #[allow(clippy::cast_precision_loss, reason = "a few sides")]
        let polygon = (PI / sides as f64).cos();
        match (instance.norm, instance.rows.len()) {
            // The square: four sides, and nothing is lost.
            (PlacementNorm::WorstComponent, _) => Some(Self { sides: 4, mixes: 0, tightness: 1.0 }),
            (PlacementNorm::Worst, _) | (PlacementNorm::Euclidean, 1) => {
                Some(Self { sides, mixes: 0, tightness: polygon })
            }
            (PlacementNorm::Euclidean, 2) => {
                // φ in steps of δ over a quarter turn: cos(δ/2) is lost.
                let mixes = sides / 4 + 1;
                #[allow(clippy::cast_precision_loss, reason = "a few sides")]
                let step = FRAC_PI_2 / (mixes - 1) as f64;
                Some(Self { sides, mixes, tightness: polygon * (0.5 * step).cos() })
            }
            _ => None,
        }
    }
}

/// Solves for one goal.
pub fn solve(
    instance: &Instance,
    measure: &Measure,
    goal: Goal,
    limits: Limits,
    patience: Patience,
) -> Outcome {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let unit = |wanted: Goal, value: f64| if goal == wanted { value } else { 0.0 };
    // Per hole: whether it is touched; per hole and kind: pieces put on, and pieces taken off.
    let mut touched = Vec::new();
    let mut counts: Vec<Vec<(Variable, Option<Variable>)>> = Vec::new();
    for place in &instance.places {
        let hole = problem.add_binary_var(unit(Goal::Holes, 1.0));
        touched.push(hole);
        let mounted = |kind: usize| place.mounted.get(kind).copied().unwrap_or(0);
        let all: u32 = place.mounted.iter().sum();
        let variables: Vec<_> = instance
            .pieces
            .iter()
            .enumerate()
            .map(|(kind, piece)| {
                let cost = |sign: f64| unit(Goal::Pieces, 1.0) + unit(Goal::Mass, sign * piece.mass);
                let room =
                    if place.blocked { 0 } else { place.most_pieces.min(piece.stock.unwrap_or(u32::MAX)) };
                let on = problem.add_integer_var(cost(1.0), (0, room.cast_signed()));
                let off = (mounted(kind) > 0 && place.removable && !place.blocked)
                    .then(|| problem.add_integer_var(cost(-1.0), (0, mounted(kind).cast_signed())));
                (on, off)
            })
            .collect();
        // Touched where anything is handled: Σ n ≤ M z.
        for &(on, off) in &variables {
            for variable in [Some(on), off].into_iter().flatten() {
                let most = place.most_pieces.max(all);
                problem.add_constraint([(variable, 1.0), (hole, -f64::from(most))], ComparisonOp::Le, 0.0);
            }
        }
        // The finished stack, where the hole is touched.
        let handled = |weight: &dyn Fn(usize) -> f64| {
            let terms = variables.iter().enumerate().flat_map(|(kind, &(on, off))| {
                [Some((on, weight(kind))), off.map(|off| (off, -weight(kind)))].into_iter().flatten()
            });
            terms.collect::<Vec<(Variable, f64)>>()
        };
        let mut pieces = handled(&|_| 1.0);
        pieces.push((hole, f64::from(all) - f64::from(place.most_pieces)));
        problem.add_constraint(pieces, ComparisonOp::Le, 0.0);
        if let Some(most) = place.most_mass {
            let weight = |kind: usize| instance.pieces[kind].mass.abs();
            let now: f64 =
                (0..instance.pieces.len()).map(|kind| f64::from(mounted(kind)) * weight(kind)).sum();
            let mut mass = handled(&weight);
            mass.push((hole, now - most));
            problem.add_constraint(mass, ComparisonOp::Le, 1e-9);
        }
        counts.push(variables);
    }
    let all_pieces: Vec<(Variable, f64)> = counts
        .iter()
        .flatten()
        .flat_map(|&(on, off)| [Some((on, 1.0)), off.map(|off| (off, 1.0))].into_iter().flatten())
        .collect();
    for most in [limits.pieces, instance.most_pieces.map(u64::from)].into_iter().flatten() {
        #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
        problem.add_constraint(all_pieces.clone(), ComparisonOp::Le, most as f64);
    }
    let all_holes: Vec<(Variable, f64)> = touched.iter().map(|&hole| (hole, 1.0)).collect();
    for most in [limits.holes, instance.most_holes].into_iter().flatten() {
        #[allow(clippy::cast_precision_loss, reason = "a few holes")]
        problem.add_constraint(all_holes.clone(), ComparisonOp::Le, most as f64);
    }
    if let Some(most) = instance.most_in_plane {
        for plane in 0..instance.planes {
            let inside = all_holes.iter().zip(&instance.places).filter(|(_, place)| place.plane == plane);
            let inside: Vec<_> = inside.map(|(&hole, _)| hole).collect();
            #[allow(clippy::cast_precision_loss, reason = "a few holes")]
            problem.add_constraint(inside, ComparisonOp::Le, most as f64);
        }
    }
    for (kind, piece) in instance.pieces.iter().enumerate() {
        if let Some(stock) = piece.stock {
            let on: Vec<_> = counts.iter().map(|hole| (hole[kind].0, 1.0)).collect();
            problem.add_constraint(on, ComparisonOp::Le, f64::from(stock));
        }
    }

    // Rows in a unit in which what one piece does is about 1.
    let mut scale: f64 = 1e-300;
    let mut effects: Vec<Vec<(Variable, [f64; 2])>> = vec![Vec::new(); instance.rows.len()];
    for ((_, gain), effects) in instance.rows.iter().zip(&mut effects) {
        for (place, variables) in instance.places.iter().zip(&counts) {
            let (arm, a) = (place.arm(), gain[place.plane]);
            let effect = [a[0] * arm[0] - a[1] * arm[1], a[0] * arm[1] + a[1] * arm[0]];
            for (piece, &(on, off)) in instance.pieces.iter().zip(variables) {
                let one = effect.map(|part| part * piece.mass);
                scale = scale.max(one[0].abs()).max(one[1].abs());
                effects.push((on, one));
                effects.extend(off.map(|off| (off, one.map(|part| -part))));
            }
        }
    }
    let size =
        problem.add_var(unit(Goal::Residual, 1.0), (0.0, limits.residual.unwrap_or(f64::INFINITY) / scale));
    let mut row_sizes = Vec::new();
    for ((wanted, _), effects) in instance.rows.iter().zip(&effects) {
        let row = if measure.mixes == 0 { size } else { problem.add_var(0.0, (0.0, f64::INFINITY)) };
        row_sizes.push(row);
        for side in 0..measure.sides {
            #[allow(clippy::cast_precision_loss, reason = "a few sides")]
            let (sine, cosine) = (TAU * side as f64 / measure.sides as f64).sin_cos();
            // Re(conj(u) (v − Σ A w)) ≤ t
            let along = |part: [f64; 2]| (part[0] * cosine + part[1] * sine) / scale;
            let mut terms: Vec<(Variable, f64)> = effects
                .iter()
                .map(|&(variable, one)| (variable, along(one)))
                .filter(|term| term.1.abs() > 1e-12)
                .collect();
            terms.push((row, 1.0));
            problem.add_constraint(terms, ComparisonOp::Ge, along(*wanted));
        }
    }
    for mix in 0..measure.mixes {
        #[allow(clippy::cast_precision_loss, reason = "a few mixes")]
        let (sine, cosine) = (FRAC_PI_2 * mix as f64 / (measure.mixes - 1) as f64).sin_cos();
        problem.add_constraint(
            [(size, 1.0), (row_sizes[0], -cosine), (row_sizes[1], -sine)],
            ComparisonOp::Ge,
            0.0,
        );
    }

    let mut options = SolveOptions::default();
    options.node_limit = patience.nodes;
    options.time_limit = patience.time;
    let value_scale = if goal == Goal::Residual { scale } else { 1.0 };
    match problem.solve_with(options) {
        Ok(outcome) if outcome.is_optimal() => {
            let Some(solution) = outcome.solution() else { return Outcome::Open(None, None) };
            #[allow(clippy::cast_possible_truncation, reason = "a few pieces")]
            let whole = |variable: Variable| solution.var_value(variable).round() as i64;
            let of_hole = |hole: &Vec<(Variable, Option<Variable>)>| {
                hole.iter().map(|&(on, off)| whole(on) - off.map_or(0, whole)).collect()
            };
            Outcome::Proven(solution.objective() * value_scale, counts.iter().map(of_hole).collect())
        }
        Ok(outcome) => {
            let found = outcome.solution().map(|solution| solution.objective() * value_scale);
            Outcome::Open(found, outcome.stats().best_bound.map(|bound| bound * value_scale))
        }
        Err(Error::Infeasible) => Outcome::Infeasible,
        Err(error) => Outcome::Failed(error.to_string()),
    }
}
