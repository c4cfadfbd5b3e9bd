//! Medium placements, answered again by a general mixed-integer solver. `milp.rs` says what it proves.

#![allow(clippy::disallowed_methods, reason = "a comparison of its own, not the library")]

#[path = "../milp.rs"]
mod milp;

use std::error::Error;

use counterpoise::PlacementNorm;
use counterpoise_benches::placement::{Aim, Instance, Piece, Place};
use serde_json::Value;

use milp::{Goal, Limits, Measure, Outcome, Patience, solve};

/// Steps of a search.
const STEPS: u64 = 5_000_000;

/// Reproducible numbers: the generator of Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014 (constants from memory).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % n
    }
    fn count(&mut self, low: u32, high: u32) -> u32 {
        low + u32::try_from(self.below(u64::from(high - low) + 1)).unwrap_or(0)
    }
    fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * f64::from(self.count(0, 1_000_000)) * 1e-6
    }
}

/// 6 to 12 holes, 2 to 4 kinds of pieces.
fn instance(dice: &mut Dice) -> Instance {
    let planes = if dice.one_in(3) { 2 } else { 1 };
    let holes = dice.count(6, 12);
    let kinds = dice.count(2, 4) as usize;
    let even = !dice.one_in(3);
    let existing = dice.one_in(3);
    let places: Vec<Place> = (0..holes)
        .map(|at| Place {
            degrees: if even {
                360.0 * f64::from(at / planes) / f64::from(holes / planes)
            } else {
                dice.between(0.0, 360.0)
            },
            radius: if even { 100.0 } else { dice.between(60.0, 140.0) },
            plane: (at % planes) as usize,
            most_pieces: dice.count(1, 2),
            most_mass: dice.one_in(4).then(|| dice.between(5.0, 9.0)),
            mounted: if existing && dice.one_in(3) {
                let kind = dice.count(0, 3) as usize % kinds;
                (0..kinds).map(|at| u32::from(at == kind)).collect()
            } else {
                vec![0; kinds]
            },
            removable: !dice.one_in(3),
            blocked: dice.one_in(8),
        })
        .collect();
    let scarce = dice.one_in(3);
    let pieces = (0..kinds).map(|_| Piece {
        mass: dice.between(0.4, 4.5),
        stock: (scarce && dice.one_in(2)).then(|| dice.count(1, 3)),
    });
    let pieces = pieces.collect();
    // Within reach, at its edge, beyond.
    let size = [250.0, 700.0, 2500.0][dice.count(0, 2) as usize];
    let vector = |dice: &mut Dice, size: f64| [dice.between(-size, size), dice.between(-size, size)];
    let vibration = planes == 2 || dice.one_in(4);
    let channels = if vibration { dice.count(1, 3).max(planes) } else { planes };
    let rows = (0..channels).map(|row| {
        let gain = |plane: u32, dice: &mut Dice| {
            if vibration { vector(dice, 0.01) } else { [f64::from(u8::from(plane == row)), 0.0] }
        };
        let gain = (0..planes).map(|plane| gain(plane, dice)).collect();
        (vector(dice, if vibration { 0.007 * size } else { size }), gain)
    });
    let rows: Vec<_> = rows.collect();
    let norm = [PlacementNorm::WorstComponent, PlacementNorm::Euclidean, PlacementNorm::Worst]
        [dice.count(0, 2) as usize];
    let unit = if vibration { 0.007 } else { 1.0 };
    let aim = if dice.one_in(2) { Aim::Within(dice.between(0.03, 0.3) * size * unit) } else { Aim::Least };
    let limited = aim == Aim::Least && size < 1000.0;
    Instance {
        name: "drawn",
        pieces,
        places,
        planes: planes as usize,
        rows,
        vibration,
        norm,
        aim,
        most_holes: (limited || dice.one_in(3)).then(|| dice.count(2, 4) as usize),
        most_in_plane: (planes == 2 && dice.one_in(3)).then_some(2),
        most_pieces: dice.one_in(3).then(|| dice.count(2, 6)),
    }
}

/// What counts of pieces leave, in the norm of the instance; written apart from the library.
fn size(instance: &Instance, counts: &[Vec<i64>]) -> f64 {
    let left = instance.left(counts);
    let sizes = left.iter().map(|r| r[0].hypot(r[1]));
    match instance.norm {
        PlacementNorm::Worst => sizes.fold(0.0, f64::max),
        PlacementNorm::WorstComponent => left.iter().flatten().fold(0.0, |most, part| part.abs().max(most)),
        _ => sizes.map(|size| size * size).sum::<f64>().sqrt(),
    }
}

fn holes(counts: &[Vec<i64>]) -> usize {
    counts.iter().filter(|hole| hole.iter().any(|&count| count != 0)).count()
}

fn pieces(counts: &[Vec<i64>]) -> u64 {
    counts.iter().flatten().map(|count| count.unsigned_abs()).sum()
}

fn mass(instance: &Instance, counts: &[Vec<i64>]) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a few pieces")]
    let of = |hole: &Vec<i64>| {
        hole.iter().zip(&instance.pieces).map(|(&n, piece)| n as f64 * piece.mass).sum::<f64>()
    };
    counts.iter().map(of).sum()
}

/// How often the solver proved what.
#[derive(Debug, Default)]
struct Tally {
    residual: usize,
    residual_between: usize,
    fewest_for_residual: usize,
    pieces_for_residual: usize,
    none_within: usize,
    holes: usize,
    pieces: usize,
    mass: usize,
    /// Not proven within the steps here.
    unproven: usize,
    /// Not proven by the solver within its nodes.
    open: usize,
    failed: usize,
}

fn compare(instance: &Instance, patience: Patience, tally: &mut Tally) -> Result<(), Box<dyn Error>> {
    let Some(measure) = Measure::of(instance, 32) else { return Ok(()) };
    let answer = instance.question()?.solve(STEPS)?;
    if !answer.certificate().is_proven() {
        // No limit on the holes, far out of reach: a general solver's ground. What is claimed is a bound.
        tally.unproven += 1;
        if let Outcome::Proven(_, theirs) =
            solve(instance, &measure, Goal::Residual, Limits::default(), patience)
        {
            let theirs = size(instance, &theirs);
            assert!(answer.certificate().lower_bound() <= theirs + 1e-9, "{theirs} {answer:?} {instance:?}");
        }
        return Ok(());
    }
    let best = answer.best();
    let counts = instance.counts(best);
    let ours = size(instance, &counts);
    // The scale of the solver's tolerance of 1e-7, with room.
    let slack =
        1e-5 * instance.rows.iter().flat_map(|row| row.0).fold(0.0, |most: f64, part| most.max(part.abs()));
    let at = format!("{ours} {counts:?} {instance:?}");
    assert!((ours - best.residual()).abs() < 1e-9 * (1.0 + ours), "{at}");
    assert_eq!((holes(&counts), pieces(&counts)), (best.changes().len(), best.pieces()));
    let ask = |goal, limits, tally: &mut Tally| {
        let outcome = solve(instance, &measure, goal, limits, patience);
        match outcome {
            Outcome::Open(..) => tally.open += 1,
            Outcome::Failed(_) => tally.failed += 1,
            _ => {}
        }
        outcome
    };
    let Aim::Within(eps) = instance.aim else {
        if let Outcome::Proven(least, theirs) = ask(Goal::Residual, Limits::default(), tally) {
            // least ≤ the least residual ≤ least / tightness
            assert!(ours >= least - slack, "the solver's bound {least} {at}");
            assert!(ours <= size(instance, &theirs) + 1e-6, "the solver found {theirs:?} {at}");
            if measure.tightness == 1.0 {
                assert!((ours - least).abs() <= slack, "{least} {at}");
                tally.residual += 1;
                // As few holes and pieces as ours: with fewer, more is left.
                let fewer = |limits, tally: &mut Tally| match ask(Goal::Residual, limits, tally) {
                    Outcome::Proven(more, theirs) if more > least + 2.0 * slack => {
                        assert!(size(instance, &theirs) > ours, "{at}");
                        1
                    }
                    Outcome::Proven(_, theirs) => {
                        assert!(size(instance, &theirs) > ours + 1e-6, "{theirs:?} would do {at}");
                        0
                    }
                    _ => 0,
                };
                if let Some(holes) = holes(&counts).checked_sub(1) {
                    tally.fewest_for_residual +=
                        fewer(Limits { holes: Some(holes), ..Limits::default() }, tally);
                }
                if let Some(pieces) = pieces(&counts).checked_sub(1) {
                    let limits =
                        Limits { holes: Some(holes(&counts)), pieces: Some(pieces), ..Limits::default() };
                    tally.pieces_for_residual += fewer(limits, tally);
                }
            } else {
                assert!(ours <= least / measure.tightness + slack, "{least} {at}");
                tally.residual_between += 1;
            }
        }
        return Ok(());
    };
    // Too wide and too narrow, by the polygon and by the solver's tolerance.
    let (wide, narrow) = (eps + slack, eps * measure.tightness - slack);
    let least = |goal, limits: Limits, tally: &mut Tally| {
        let outer = ask(goal, Limits { residual: Some(wide), ..limits }, tally);
        let inner = ask(goal, Limits { residual: Some(narrow), ..limits }, tally);
        (outer, inner)
    };
    let (outer, inner) = least(Goal::Holes, Limits::default(), tally);
    if let Outcome::Infeasible = outer {
        assert!(ours > eps, "{at}");
        tally.none_within += 1;
        return Ok(());
    }
    if ours > eps {
        // The solver may not know a placement within the narrow limit.
        assert!(!matches!(inner, Outcome::Proven(..)), "{inner:?} {at}");
        return Ok(());
    }
    let number = |outcome: &Outcome| match outcome {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small whole number")]
        Outcome::Proven(value, _) => Some(value.round() as u64),
        _ => None,
    };
    let lower = number(&outer);
    assert!(lower.is_none_or(|lower| lower <= holes(&counts) as u64), "{outer:?} {at}");
    assert!(number(&inner).is_none_or(|upper| upper >= holes(&counts) as u64), "{inner:?} {at}");
    if lower.is_none() || lower != number(&inner) {
        return Ok(());
    }
    tally.holes += 1;
    let (outer, inner) =
        least(Goal::Pieces, Limits { holes: Some(holes(&counts)), ..Limits::default() }, tally);
    let lower = number(&outer);
    assert!(lower.is_none_or(|lower| lower <= pieces(&counts)), "{outer:?} {at}");
    assert!(number(&inner).is_none_or(|upper| upper >= pieces(&counts)), "{inner:?} {at}");
    if lower.is_none() || lower != number(&inner) {
        return Ok(());
    }
    tally.pieces += 1;
    let limits = Limits { holes: Some(holes(&counts)), pieces: Some(pieces(&counts)), ..Limits::default() };
    if let (Outcome::Proven(outer, _), Outcome::Proven(inner, _)) = least(Goal::Mass, limits, tally) {
        let ours = mass(instance, &counts);
        assert!(outer <= ours + 1e-5 && ours <= inner + 1e-5, "{outer} {ours} {inner} {at}");
        tally.mass += usize::from((inner - outer).abs() < 1e-5);
    }
    Ok(())
}

#[test]
fn what_a_general_solver_proves_is_what_is_answered() -> Result<(), Box<dyn Error>> {
    // A limit on nodes, not on time: the same comparisons on every machine.
    let patience = Patience { nodes: Some(2_000), time: None };
    let mut tally = Tally::default();
    for seed in 0..500 {
        compare(&instance(&mut Dice(seed)), patience, &mut tally)?;
    }
    println!("{tally:?}");
    let Tally { residual, residual_between, none_within, holes, pieces, mass, failed, unproven, .. } = tally;
    assert!(residual > 60 && residual_between > 130, "{tally:?}");
    assert!(none_within > 100 && holes > 90 && pieces > 90 && mass > 90, "{tally:?}");
    assert!(failed == 0 && unproven == 0, "{tally:?}");
    Ok(())
}

/// An instance of the reference vectors; their weights multiply |r|, so they are taken into the rows.
fn stated(of: &Value) -> Option<Instance> {
    let pair = |value: &Value| Some([value[0].as_f64()?, value[1].as_f64()?]);
    let count = |value: &Value| value.as_u64().and_then(|count| u32::try_from(count).ok());
    let pieces = of["items"].as_array()?.iter();
    let pieces =
        pieces.map(|item| Some(Piece { mass: item["mass_g"].as_f64()?, stock: count(&item["stock"]) }));
    let places = of["holes"].as_array()?.iter().map(|hole| {
        Some(Place {
            degrees: hole["angle_deg"].as_f64()?,
            radius: hole["radius_mm"].as_f64()?,
            plane: count(&hole["plane"])? as usize,
            most_pieces: count(&hole["max_items"])?,
            most_mass: hole["max_mass_g"].as_f64(),
            mounted: hole["existing"]
                .as_array()
                .map_or(Vec::new(), |all| all.iter().filter_map(count).collect()),
            removable: hole["removable"] == true,
            blocked: hole["blocked"] == true,
        })
    });
    let vibration = of["kind"] == "P2";
    let rows = if vibration {
        let rows = of["v"].as_array()?.iter().zip(of["a"].as_array()?).zip(of["wt"].as_array()?);
        let rows = rows.map(|((v, a), weight)| {
            let weight = weight.as_f64()?;
            let gain = a.as_array()?.iter().map(|a| Some(pair(a)?.map(|part| -part * weight)));
            Some((pair(v)?.map(|part| part * weight), gain.collect::<Option<Vec<_>>>()?))
        });
        rows.collect::<Option<Vec<_>>>()?
    } else {
        vec![(pair(&of["target_gmm"])?, vec![[1.0, 0.0]])]
    };
    let most_holes = count(&of["max_holes"]).map(|most| most as usize);
    Some(Instance {
        name: "reference",
        pieces: pieces.collect::<Option<Vec<_>>>()?,
        places: places.collect::<Option<Vec<_>>>()?,
        planes: if vibration { 2 } else { 1 },
        rows,
        vibration,
        norm: match of["norm"].as_str()? {
            "max" => PlacementNorm::Worst,
            "linf" => PlacementNorm::WorstComponent,
            _ => PlacementNorm::Euclidean,
        },
        aim: if of["objective"] == "fewest" { Aim::Within(of["eps"].as_f64()?) } else { Aim::Least },
        most_holes: most_holes.filter(|_| !vibration),
        most_in_plane: most_holes.filter(|_| vibration),
        most_pieces: count(&of["max_items"]),
    })
}

#[test]
fn the_reference_instances_are_what_a_general_solver_proves() -> Result<(), Box<dyn Error>> {
    let file: Value = serde_json::from_str(include_str!("../../tests/vectors/placement.json"))?;
    let patience = Patience { nodes: Some(2_000), time: None };
    let mut tally = Tally::default();
    for of in file["instances"].as_array().ok_or("no instances")? {
        let taken = stated(of).ok_or("an instance that cannot be read")?;
        // The largest are not for a general solver.
        if taken.places.len() <= 24 {
            compare(&taken, patience, &mut tally)?;
            // The same holes and hardware in the norm that a linear program has.
            if taken.norm == PlacementNorm::Euclidean && taken.places.len() <= 12 {
                compare(&Instance { norm: PlacementNorm::WorstComponent, ..taken }, patience, &mut tally)?;
            }
        }
    }
    println!("{tally:?}");
    assert!(tally.residual >= 8 && tally.residual_between >= 9 && tally.failed == 0, "{tally:?}");
    Ok(())
}
