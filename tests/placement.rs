//! Thousands of small random questions, answered again by trying every placement. The enumerator shares nothing with the
//! search: it counts pieces up hole by hole, checks every limit at the end, and keeps no options.

#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::indexing_slicing)]
// Small whole numbers go back and forth between types.
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss
)]

use counterpoise::{
    Caution, Channel, Detector, Hardware, Hole, HoleCircle, HoleRing, Influence, InfluenceMatrix, Length,
    Mass, PhaseSense, PlacementAnswer, PlacementError, PlacementNorm, PlacementProof, PlacementQuestion,
    Radius, RotorAngle, RotorSense, Speed, SpeedWindow, ToleranceReason, UnbalanceVector, Vibration,
    VibrationScale, VibrationUnit,
};

const TIE: f64 = 1e-6;
const STEPS: u64 = 1_000_000_000;

/// Reproducible numbers: the generator of Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014 (constants from memory).
struct Dice(u64);

impl Dice {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    fn below(&mut self, n: u64) -> u64 {
        self.bits() % n
    }
    fn one_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        // Thousandths, so that sums of pieces meet limits and each other exactly.
        let steps = ((high - low) * 1000.0) as u64 + 1;
        low + self.below(steps) as f64 / 1000.0
    }
}

#[derive(Clone, Debug)]
struct Piece {
    mass: f64,
    thickness: f64,
    stock: Option<u32>,
}

#[derive(Clone, Debug)]
struct Place {
    angle: f64,
    radius: f64,
    plane: usize,
    pieces: u32,
    mass: Option<f64>,
    height: Option<f64>,
    least: u32,
    mounted: Vec<u32>,
    removable: bool,
    blocked: bool,
    symmetric: bool,
}

#[derive(Clone, Debug)]
struct Case {
    pieces: Vec<Piece>,
    places: Vec<Place>,
    planes: usize,
    /// Rows: wanted, and gain per plane; the identity for a wanted unbalance.
    rows: Vec<([f64; 2], Vec<[f64; 2]>)>,
    weights: Vec<f64>,
    vibration: bool,
    norm: PlacementNorm,
    eps: Option<f64>,
    most_holes: Option<usize>,
    most_in_plane: Option<usize>,
    most_pieces: Option<u32>,
    most_mass: Option<f64>,
}

fn case(dice: &mut Dice, kind: u64) -> Case {
    let vibration = kind % 4 == 3;
    let planes = if vibration {
        1 + dice.below(2) as usize
    } else if dice.one_in(8) {
        2
    } else {
        1
    };
    let items = 1 + dice.below(3) as usize;
    let grid = [0.5, 1.0, 1.5, 2.0, 3.0];
    let coarse = dice.one_in(3);
    let drilling = dice.one_in(5);
    let pieces: Vec<Piece> = (0..items)
        .map(|_| Piece {
            mass: if coarse { grid[dice.below(5) as usize] } else { dice.between(0.3, 5.0) }
                * if drilling && dice.one_in(2) { -1.0 } else { 1.0 },
            thickness: if dice.one_in(2) { dice.between(0.5, 3.0) } else { 0.0 },
            stock: dice.one_in(4).then(|| dice.below(3) as u32),
        })
        .collect();
    let holes = 1 + dice.below(if items == 1 { 7 } else { 5 }) as usize;
    let even = !dice.one_in(3);
    let places = (0..holes)
        .map(|at| {
            let existing = dice.one_in(4);
            Place {
                angle: if even { 360.0 * at as f64 / holes as f64 } else { dice.between(0.0, 359.0) },
                radius: if even { 100.0 } else { dice.between(60.0, 140.0) },
                plane: dice.below(planes as u64) as usize,
                pieces: 1 + dice.below(2) as u32,
                mass: dice.one_in(3).then(|| dice.between(1.0, 8.0)),
                height: dice.one_in(4).then(|| dice.between(1.0, 5.0)),
                least: u32::from(dice.one_in(8)),
                mounted: if existing {
                    (0..items).map(|_| dice.below(2) as u32).collect()
                } else {
                    vec![0; items]
                },
                removable: dice.one_in(2),
                blocked: dice.one_in(7),
                symmetric: dice.one_in(12),
            }
        })
        .collect();
    // Zero, within reach, at its edge, far beyond.
    let size = [0.0, 200.0, 600.0, 5000.0][dice.below(4) as usize];
    let vector =
        |dice: &mut Dice, size: f64| [dice.between(-1.0, 1.0) * size, dice.between(-1.0, 1.0) * size];
    let (rows, weights) = if vibration {
        let channels = 1 + dice.below(3) as usize;
        let rows: Vec<_> = (0..channels)
            .map(|_| {
                let gain = (0..planes).map(|_| vector(dice, 0.01)).collect();
                (vector(dice, size * 0.01), gain)
            })
            .collect();
        let weights = (0..channels).map(|_| dice.between(0.2, 2.0)).collect();
        (rows, weights)
    } else {
        let rows = (0..planes)
            .map(|plane| {
                let gain = (0..planes).map(|other| [f64::from(u8::from(other == plane)), 0.0]).collect();
                (vector(dice, size), gain)
            })
            .collect();
        (rows, vec![1.0; planes])
    };
    let norms = [PlacementNorm::Euclidean, PlacementNorm::Worst, PlacementNorm::WorstComponent];
    let scale = if vibration { 0.01 } else { 1.0 };
    Case {
        pieces,
        places,
        planes,
        rows,
        weights,
        vibration,
        norm: norms[dice.below(5).min(2) as usize % 3],
        eps: dice.one_in(3).then(|| dice.between(0.0, 200.0) * scale),
        most_holes: dice.one_in(3).then(|| dice.below(4) as usize),
        most_in_plane: dice.one_in(6).then(|| dice.below(3) as usize),
        most_pieces: dice.one_in(4).then(|| dice.below(6) as u32),
        most_mass: dice.one_in(6).then(|| dice.between(0.0, 10.0)),
    }
}

fn question(case: &Case, holes: &[usize], items: &[usize]) -> PlacementQuestion {
    let hardware: Vec<Hardware> = items
        .iter()
        .map(|&item| {
            let piece = &case.pieces[item];
            let made = Hardware::new("piece", Mass::from_grams(piece.mass).unwrap())
                .with_thickness(Length::from_millimetres(piece.thickness).unwrap());
            piece.stock.map_or(made.clone(), |stock| made.in_stock(stock))
        })
        .collect();
    let rings: Vec<HoleRing> = holes
        .iter()
        .map(|&at| {
            let place = &case.places[at];
            let angle = RotorSense::WithRotation.degrees(place.angle).unwrap();
            let mounted: Vec<u32> = items.iter().map(|&item| place.mounted[item]).collect();
            let mut hole = Hole::new(Radius::from_millimetres(place.radius).unwrap(), angle)
                .limit_pieces(place.pieces)
                .keep_pieces(place.least)
                .mounted(&mounted);
            if let Some(mass) = place.mass {
                hole = hole.limit_mass(Mass::from_grams(mass).unwrap());
            }
            if let Some(height) = place.height {
                hole = hole.limit_height(Length::from_millimetres(height).unwrap());
            }
            if !place.removable {
                hole = hole.fixed();
            }
            if place.blocked {
                hole = hole.block();
            }
            if place.symmetric {
                hole = hole.symmetric();
            }
            HoleRing::listed(vec![hole]).in_plane(place.plane)
        })
        .collect();
    let mut question = if case.vibration {
        let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
        let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
        let channels: Vec<Channel> = (0..case.rows.len())
            .map(|sensor| Channel::new(sensor as u16, unit, PhaseSense::Lead, window))
            .collect();
        let now: Vec<Vibration> =
            case.rows.iter().map(|(v, _)| Vibration::from_components(v[0], v[1]).unwrap()).collect();
        let influence: Vec<Influence> = case
            .rows
            .iter()
            .flat_map(|(_, gain)| gain)
            .map(|a| Influence::from_components_per_gram_millimetre(a[0], a[1]).unwrap())
            .collect();
        let matrix = InfluenceMatrix::new(&channels, case.planes, &influence).unwrap();
        let question = PlacementQuestion::through(&rings, &hardware, &matrix, &now).unwrap();
        question.channel_weights(&case.weights).unwrap()
    } else {
        let wanted: Vec<UnbalanceVector> = case
            .rows
            .iter()
            .map(|(v, _)| UnbalanceVector::from_components_gram_millimetres(v[0], v[1]).unwrap())
            .collect();
        PlacementQuestion::new(&rings, &hardware, &wanted).unwrap()
    };
    question = question.norm(case.norm);
    if let Some(eps) = case.eps {
        question = question.within(eps).unwrap();
    }
    if let Some(most) = case.most_holes {
        question = question.limit_holes(most);
    }
    if let Some(most) = case.most_in_plane {
        question = question.limit_holes_in_plane(0, most).unwrap();
    }
    if let Some(most) = case.most_pieces {
        question = question.limit_pieces(most);
    }
    if let Some(most) = case.most_mass {
        question = question.limit_net_mass(Mass::from_grams(most).unwrap()).unwrap();
    }
    question
}

fn asked(case: &Case) -> PlacementQuestion {
    let holes: Vec<usize> = (0..case.places.len()).collect();
    let items: Vec<usize> = (0..case.pieces.len()).collect();
    question(case, &holes, &items)
}

#[derive(Clone, Debug)]
struct Tried {
    residual: f64,
    holes: Vec<usize>,
    pieces: i64,
    mass: f64,
}

/// Every placement that keeps all limits.
fn every(case: &Case) -> Vec<Tried> {
    let mut found = Vec::new();
    let mut counts = vec![vec![0_i64; case.pieces.len()]; case.places.len()];
    count_up(case, 0, 0, &mut counts, &mut found);
    found
}

fn count_up(case: &Case, hole: usize, item: usize, counts: &mut Vec<Vec<i64>>, found: &mut Vec<Tried>) {
    if hole == case.places.len() {
        found.extend(tried(case, counts));
        return;
    }
    let place = &case.places[hole];
    if item == case.pieces.len() {
        let finished: Vec<i64> =
            place.mounted.iter().zip(&counts[hole]).map(|(&m, &c)| i64::from(m) + c).collect();
        let touched = counts[hole].iter().any(|&count| count != 0);
        let sum = |size: &dyn Fn(&Piece) -> f64| {
            finished.iter().zip(&case.pieces).map(|(&n, piece)| n as f64 * size(piece)).sum::<f64>()
        };
        let total: i64 = finished.iter().sum();
        let fits = total <= i64::from(place.pieces)
            && total >= i64::from(place.least)
            && place.mass.is_none_or(|most| sum(&|piece: &Piece| piece.mass.abs()) <= most + 1e-9)
            && place.height.is_none_or(|most| sum(&|piece: &Piece| piece.thickness) <= most + 1e-9)
            && (!place.symmetric || finished.iter().all(|n| n % 2 == 0));
        if !touched || (fits && !place.blocked) {
            count_up(case, hole + 1, 0, counts, found);
        }
        return;
    }
    let mounted = i64::from(place.mounted[item]);
    let lowest = if place.removable { -mounted } else { 0 };
    for count in lowest..=i64::from(place.pieces) {
        counts[hole][item] = count;
        count_up(case, hole, item + 1, counts, found);
    }
    counts[hole][item] = 0;
}

fn tried(case: &Case, counts: &[Vec<i64>]) -> Option<Tried> {
    let mut moments = vec![[0.0; 2]; case.planes];
    let (mut pieces, mut mass, mut holes) = (0, 0.0, Vec::new());
    for (item, piece) in case.pieces.iter().enumerate() {
        let added: i64 = counts.iter().map(|hole| hole[item].max(0)).sum();
        if piece.stock.is_some_and(|stock| added > i64::from(stock)) {
            return None;
        }
    }
    for (hole, place) in case.places.iter().enumerate() {
        let net: f64 = counts[hole].iter().zip(&case.pieces).map(|(&c, piece)| c as f64 * piece.mass).sum();
        let (sine, cosine) = place.angle.to_radians().sin_cos();
        moments[place.plane][0] += net * place.radius * cosine;
        moments[place.plane][1] += net * place.radius * sine;
        mass += net;
        pieces += counts[hole].iter().map(|count| count.abs()).sum::<i64>();
        if counts[hole].iter().any(|&count| count != 0) {
            holes.push(hole);
        }
    }
    let in_first = holes.iter().filter(|&&hole| case.places[hole].plane == 0).count();
    let allowed = case.most_holes.is_none_or(|most| holes.len() <= most)
        && case.most_in_plane.is_none_or(|most| in_first <= most)
        && case.most_pieces.is_none_or(|most| pieces <= i64::from(most))
        && case.most_mass.is_none_or(|most| mass <= most + 1e-9);
    if !allowed {
        return None;
    }
    let sign = if case.vibration { 1.0 } else { -1.0 };
    let (mut squares, mut worst, mut component) = (0.0, 0.0_f64, 0.0_f64);
    for ((wanted, gain), weight) in case.rows.iter().zip(&case.weights) {
        let mut left = *wanted;
        for (a, w) in gain.iter().zip(&moments) {
            left[0] += sign * (a[0] * w[0] - a[1] * w[1]);
            left[1] += sign * (a[0] * w[1] + a[1] * w[0]);
        }
        let left = left.map(|part| part * weight.sqrt());
        squares += left[0] * left[0] + left[1] * left[1];
        worst = worst.max(left[0].hypot(left[1]));
        component = component.max(left[0].abs()).max(left[1].abs());
    }
    let residual = match case.norm {
        PlacementNorm::Worst => worst,
        PlacementNorm::WorstComponent => component,
        _ => squares.sqrt(),
    };
    Some(Tried { residual, holes, pieces, mass })
}

/// The first by the rule among those within a residual.
fn first<'a>(found: impl Iterator<Item = &'a Tried>) -> Option<&'a Tried> {
    found.min_by(|one, other| {
        let mass = if (one.mass - other.mass).abs() < 1e-9 {
            std::cmp::Ordering::Equal
        } else {
            one.mass.partial_cmp(&other.mass).unwrap()
        };
        one.holes.len().cmp(&other.holes.len()).then(one.pieces.cmp(&other.pieces)).then(mass)
    })
}

/// The first by pieces, then holes, then mass, of each set of holes; the sets in the same order.
fn by_pieces(found: &[Tried], eps: f64) -> Vec<Tried> {
    let mut within: Vec<Tried> = found.iter().filter(|one| one.residual <= eps).cloned().collect();
    let mass = |one: &Tried| (one.mass * 1e8).round() as i64;
    within.sort_by_key(|one| (one.pieces, one.holes.len(), mass(one)));
    let mut first: Vec<Tried> = Vec::new();
    for one in within {
        if !first.iter().any(|other| other.holes == one.holes) {
            first.push(one);
        }
    }
    first
}

#[test]
fn the_least_change_is_that_of_trying_everything() {
    let (mut cases, mut none, mut otherwise, mut ranked, mut stopped) = (0, 0, 0, 0, 0);
    small(5, 5000, |number, drawn, found| {
        let mut dice = Dice(number);
        let (tall, listed);
        let (case, found) = if number % 3 == 0 {
            (drawn, found)
        } else {
            // Few holes with tall stacks: there one hole more can mean fewer pieces.
            let mut case = drawn.clone();
            case.pieces.truncate(2);
            case.places.truncate(if case.pieces.len() == 1 { 5 } else { 3 });
            (case.most_holes, case.most_pieces, case.most_in_plane) = (None, None, None);
            // A light piece that is there, a heavy one that is scarce.
            for (piece, mass) in case.pieces.iter_mut().zip([1.0, 2.5]) {
                (piece.mass, piece.stock) = (mass * dice.between(0.8, 1.2), (mass > 2.0).then_some(1));
            }
            for place in &mut case.places {
                (place.pieces, place.mass, place.height) = (2 + dice.below(3) as u32, None, None);
                place.mounted.truncate(case.pieces.len());
                if dice.one_in(3) {
                    place.mounted.iter_mut().for_each(|count| *count = dice.below(3) as u32);
                }
                place.removable |= dice.one_in(2);
            }
            // A small radius straight ahead, large ones to its sides.
            if case.planes == 1 && !case.vibration && number % 3 == 1 {
                let size = case.pieces[0].mass.abs() * dice.between(120.0, 260.0);
                case.rows[0].0 = [size, 0.0];
                let sides = [(0.0, 55.0), (35.0, 110.0), (325.0, 110.0), (180.0, 60.0), (90.0, 60.0)];
                for (place, (angle, radius)) in case.places.iter_mut().zip(sides) {
                    (place.angle, place.radius) = (angle, radius + dice.between(-10.0, 10.0));
                    (place.pieces, place.blocked, place.symmetric, place.least) = (4, false, false, 0);
                }
            }
            listed = every(&case);
            tall = case;
            (&tall, &listed[..])
        };
        // Few placements lie within eps, or none does.
        let mut residuals: Vec<f64> = found.iter().map(|one| one.residual).collect();
        residuals.sort_by(|one, other| one.partial_cmp(other).unwrap());
        let share = [40, 10, 4][dice.below(3) as usize];
        let at = dice.below(1 + found.len() as u64 / share) as usize;
        let eps = if number % 5 == 0 { residuals[0] * 0.9 - 1e-3 } else { residuals[at] * 1.001 + 1e-3 };
        if eps < 0.0 {
            return;
        }
        let expected = by_pieces(found, eps);
        let question = asked(case).least_change_within(eps).unwrap();
        let answer = question.solve(STEPS).unwrap();
        let best = answer.best();
        cases += 1;
        let Some(first) = expected.first() else {
            assert_eq!(answer.certificate().proof(), PlacementProof::NoneWithin, "{number}");
            let caution = |caution: &Caution| matches!(caution, Caution::NoneWithin { .. });
            assert!(answer.cautions().iter().any(caution), "{number}");
            assert!(answer.certificate().lower_bound() >= eps);
            none += 1;
            return;
        };
        let same = best.residual() <= eps
            && best.pieces() == first.pieces.unsigned_abs()
            && best.changes().len() == first.holes.len()
            && (best.net_mass().grams() - first.mass).abs() < 1e-7;
        assert!(same && answer.certificate().proof() == PlacementProof::Best, "{number} {best:?} {first:?}");
        let by_holes = asked(case).within(eps).unwrap().solve(STEPS).unwrap();
        otherwise += u32::from(by_holes.best().pieces() > best.pieces());

        let mut search = question.search().unwrap();
        while !search.advance(1 + number % 5) {}
        assert_eq!(search.answer().best(), best, "{number}");

        let early = question.solve(number % 100 + number % 1000).unwrap();
        if let PlacementProof::BestInPieces(pieces) = early.certificate().proof() {
            let fewer = first.pieces <= i64::from(pieces);
            assert!(!fewer || early.best().pieces() <= first.pieces.unsigned_abs(), "{number}");
            assert!(!early.certificate().is_proven() && !early.cautions().is_empty());
            stopped += 1;
        }
        // Sets of holes that tie only through idle exchanges are left out.
        if case.pieces.len() == 1 && case.places.iter().all(|place| place.mounted.iter().all(|&n| n == 0)) {
            let answer = question.best_of_different_holes(4).solve(STEPS).unwrap();
            let placements: Vec<_> = std::iter::once(answer.best()).chain(answer.runners_up()).collect();
            assert_eq!(placements.len(), expected.len().min(4), "{number} {case:?}");
            for (placement, expected) in placements.iter().zip(&expected) {
                assert_eq!(placement.pieces(), expected.pieces.unsigned_abs(), "{number}");
                assert_eq!(placement.changes().len(), expected.holes.len(), "{number}");
                assert!((placement.net_mass().grams() - expected.mass).abs() < 1e-7, "{number}");
                ranked += 1;
            }
        }
    });
    println!(
        "{cases} cases, {none} with none; {otherwise} where holes first handles more; {ranked} ranked, {stopped} stopped"
    );
    assert!(cases > 4000 && none > 400 && otherwise > 60 && ranked > 1000 && stopped > 20);
}

#[test]
fn an_answer_that_is_not_proven_says_so() {
    let (mut unproven, mut none, mut proven) = (0, 0, 0);
    small(6, 1000, |number, case, found| {
        let least = found.iter().map(|one| one.residual).fold(f64::INFINITY, f64::min);
        for steps in [0, 20, STEPS] {
            let answer = asked(case).solve(steps).unwrap();
            let best = answer.best().residual();
            let bound = answer.certificate().lower_bound();
            assert!(bound <= least + 1e-9, "{number}");
            match answer.cautions() {
                [] => {
                    assert_eq!(answer.certificate().proof(), PlacementProof::Best);
                    proven += 1;
                }
                [Caution::PlacementNotProven { residual, lower_bound }] => {
                    assert!(!answer.certificate().is_proven() && (*residual, *lower_bound) == (best, bound));
                    unproven += 1;
                }
                [Caution::NoneWithin { eps, residual, lower_bound }] => {
                    assert_eq!((Some(*eps), *residual, *lower_bound), (case.eps, best, bound), "{number}");
                    assert!(least > *eps && *lower_bound >= *eps && best > *eps, "{number}");
                    none += 1;
                }
                other => assert_eq!(other, [], "{number}"),
            }
        }
    });
    println!("{proven} proven, {unproven} not, {none} with none within eps");
    assert!(proven > 1000 && unproven > 200 && none > 100);
}

#[test]
fn cautions_have_stable_texts_and_codes() {
    let stopped = Caution::PlacementNotProven { residual: 3.5, lower_bound: 1.25 };
    assert_eq!(stopped.code(), 1008);
    assert_eq!(
        stopped.to_string(),
        "the search for a placement stopped early: the best found leaves 3.5, none leaves less than 1.25, and a better \
         one may exist"
    );
    let none = Caution::NoneWithin { eps: 2.0, residual: 3.5, lower_bound: 2.0 };
    assert_eq!(none.code(), 1009);
    assert_eq!(
        none.to_string(),
        "no placement leaves as little as 2.0: the nearest found leaves 3.5, and none leaves less than 2.0"
    );
}

fn check(case: &Case, found: &[Tried], answer: &PlacementAnswer, number: u64) {
    let least = found.iter().map(|one| one.residual).fold(f64::INFINITY, f64::min);
    let best = answer.best();
    assert!(answer.certificate().is_proven(), "{number} {case:?}");
    let bound = answer.certificate().lower_bound();
    assert!(bound <= least + 1e-9, "{number}: bound {bound} above {least}");
    let most = match case.eps {
        Some(eps) if least > eps => {
            assert_eq!(answer.certificate().proof(), PlacementProof::NoneWithin, "{number}");
            return;
        }
        Some(eps) => eps,
        None => {
            assert!(
                (best.residual() - least).abs() <= TIE + 1e-9,
                "{number}: {} {least} {case:?}",
                best.residual()
            );
            least + TIE
        }
    };
    let expected = first(found.iter().filter(|one| one.residual <= most)).unwrap();
    let same = best.residual() <= most + 1e-9
        && best.changes().len() == expected.holes.len()
        && best.pieces() == expected.pieces.unsigned_abs()
        && (best.net_mass().grams() - expected.mass).abs() < 1e-9;
    assert!(same, "{number}: {best:?}\nexpected {expected:?}\nleast {least}\n{case:?}");
}

/// The cases of a seed whose placements are few enough to be tried one by one.
fn small(seed: u64, wanted: u64, mut look: impl FnMut(u64, &Case, &[Tried])) {
    let mut dice = Dice(seed);
    let (mut kept, mut number) = (0, 0);
    while kept < wanted {
        let case = case(&mut dice, number);
        number += 1;
        let each = |place: &Place| {
            let counts = case.pieces.len() as i32;
            f64::from(place.pieces + 2).powi(counts)
        };
        if case.places.iter().map(each).product::<f64>() > 3e5 {
            continue;
        }
        kept += 1;
        look(number, &case, &every(&case));
    }
}

#[test]
fn the_search_finds_what_trying_everything_finds() {
    let (mut cases, mut planes2, mut vibration, mut within, mut none, mut zero, mut stock, mut mounted) =
        (0, 0, 0, 0, 0, 0, 0, 0);
    small(1, 4000, |number, case, found| {
        let answer = asked(case).solve(STEPS).unwrap();
        check(case, found, &answer, number);
        // And again with an eps that some placement certainly meets, by a little.
        let some = &found[(number as usize * 7919) % found.len()];
        let met = Case { eps: Some(some.residual * 1.05 + 1e-3), ..case.clone() };
        check(&met, found, &asked(&met).solve(STEPS).unwrap(), number);
        cases += 1;
        planes2 += u32::from(case.planes == 2);
        vibration += u32::from(case.vibration);
        within += u32::from(case.eps.is_some());
        none += u32::from(answer.certificate().proof() == PlacementProof::NoneWithin);
        zero += u32::from(case.rows.iter().all(|(v, _)| v == &[0.0; 2]));
        stock += u32::from(case.pieces.iter().any(|piece| piece.stock.is_some()));
        mounted += u32::from(case.places.iter().any(|place| place.mounted.iter().any(|&n| n > 0)));
    });
    println!(
        "{cases} cases: two planes {planes2}, vibration {vibration}, eps {within} ({none} with none), zero {zero}, stock {stock}, mounted {mounted}"
    );
    assert!(cases == 4000 && planes2 > 300 && vibration > 500 && within > 800 && none > 100);
    assert!(zero > 300 && stock > 800 && mounted > 800);
}

#[test]
fn runners_up_are_the_best_on_other_holes() {
    let mut compared = 0;
    small(2, 600, |number, case, found| {
        let answer = asked(case).best_of_different_holes(4).solve(STEPS).unwrap();
        check(case, found, &answer, number);
        if case.eps.is_some() {
            return;
        }
        let mut rest: Vec<Tried> = found.to_vec();
        for placement in std::iter::once(answer.best()).chain(answer.runners_up()) {
            // A change without net mass is never made by the search.
            let least = rest.iter().map(|one| one.residual).fold(f64::INFINITY, f64::min);
            assert!((placement.residual() - least).abs() <= TIE + 1e-9, "{number} {case:?}");
            let mut holes: Vec<usize> = placement.changes().iter().map(|change| change.ring).collect();
            holes.sort_unstable();
            rest.retain(|one| one.holes != holes);
            compared += 1;
            // Sets of holes that only tie through idle exchanges are left to the first check.
            if case.places.iter().any(|place| place.mounted.iter().any(|&n| n > 0)) || case.pieces.len() > 1 {
                break;
            }
        }
    });
    assert!(compared > 600, "{compared}");
}

#[test]
fn portions_and_order_do_not_matter() {
    small(3, 300, |number, case, _| {
        let whole = asked(case).solve(STEPS).unwrap();
        let mut search = asked(case).search().unwrap();
        while !search.advance(1 + number % 7) {}
        assert_eq!(search.answer().best(), whole.best(), "{number}");
        assert_eq!(search.answer().certificate().proof(), whole.certificate().proof(), "{number}");
        let holes: Vec<usize> = (0..case.places.len()).rev().collect();
        let items: Vec<usize> = (0..case.pieces.len()).rev().collect();
        let turned = question(case, &holes, &items).solve(STEPS).unwrap();
        assert_eq!(turned.best().residual().to_bits(), whole.best().residual().to_bits(), "{number}");
        assert_eq!(turned.best().net_mass(), whole.best().net_mass(), "{number}");
        let places = |answer: &PlacementAnswer, order: &dyn Fn(usize) -> usize| {
            let mut rings: Vec<usize> =
                answer.best().changes().iter().map(|change| order(change.ring)).collect();
            rings.sort_unstable();
            rings
        };
        let last = case.places.len() - 1;
        assert_eq!(places(&turned, &|ring| last - ring), places(&whole, &|ring| ring), "{number}");
    });
}

#[test]
fn a_search_stopped_early_claims_no_more_than_is_true() {
    let mut unfinished = 0;
    small(4, 300, |number, case, found| {
        let least = found.iter().map(|one| one.residual).fold(f64::INFINITY, f64::min);
        for steps in [0, 5, 50, 500] {
            let answer = asked(case).solve(steps).unwrap();
            let certificate = answer.certificate();
            assert!(certificate.lower_bound() <= least + 1e-9, "{number}");
            assert!(answer.best().residual() >= least - 1e-9, "{number}");
            if certificate.is_proven() {
                check(case, found, &answer, number);
                continue;
            }
            unfinished += 1;
            if let (PlacementProof::BestInHoles(holes), None) = (certificate.proof(), case.eps) {
                let few = found.iter().filter(|one| one.holes.len() <= holes).map(|one| one.residual);
                let least_few = few.fold(f64::INFINITY, f64::min);
                assert!(answer.best().residual() <= least_few + TIE + 1e-9, "{number}");
            }
        }
    });
    assert!(unfinished > 100, "{unfinished}");
}

fn ring(count: u16) -> HoleRing {
    let circle = HoleCircle::new(count, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
    HoleRing::even(circle, Radius::from_millimetres(100.0).unwrap())
}

fn washer(grams: f64) -> Hardware {
    Hardware::new("washer", Mass::from_grams(grams).unwrap())
}

#[test]
fn bad_input_is_refused_with_its_place() {
    let wanted = [UnbalanceVector::from_components_gram_millimetres(300.0, 0.0).unwrap()];
    let limited = || ring(6).each(|hole| hole.limit_pieces(2));
    let ask = |rings: &[HoleRing], hardware: &[Hardware]| PlacementQuestion::new(rings, hardware, &wanted);
    assert_eq!(ask(&[], &[washer(1.0)]).unwrap_err(), PlacementError::NoHoles);
    assert_eq!(ask(&[HoleRing::listed(vec![])], &[washer(1.0)]).unwrap_err(), PlacementError::NoHoles);
    assert_eq!(ask(&[limited()], &[]).unwrap_err(), PlacementError::NoHardware);
    assert_eq!(
        ask(&[limited()], &[washer(1.0), washer(0.0)]).unwrap_err(),
        PlacementError::NoMass { item: 1 }
    );
    let unlimited = ask(&[ring(6)], &[washer(1.0)]).unwrap().solve(1000).unwrap_err();
    assert_eq!(unlimited, PlacementError::NoLimit { ring: 0, hole: 0 });
    assert_eq!(
        ask(&[limited().in_plane(1)], &[washer(1.0)]).unwrap_err(),
        PlacementError::PlaneOutOfRange { ring: 0, plane: 1, planes: 1 }
    );
    let mounted = limited().at(2, |hole| hole.mounted(&[1, 2]));
    let error = ask(&[mounted], &[washer(1.0)]).unwrap_err();
    assert_eq!(error, PlacementError::Mounted { ring: 0, hole: 2, expected: 1, got: 2 });
    let many: Vec<Hardware> = (1..=30).map(|n| washer(1.0 + f64::from(n) * 0.0137)).collect();
    let stacks = ask(&[ring(6).each(|hole| hole.limit_pieces(8))], &many).unwrap().solve(1000).unwrap_err();
    assert!(matches!(stacks, PlacementError::TooManyStacks { .. }));
    assert_eq!(ask(&[limited()], &[washer(1.0)]).unwrap().within(f64::NAN).unwrap_err().code(), 812);
    assert_eq!(ask(&[limited()], &[washer(1.0)]).unwrap().limit_memory(10).unwrap_err().code(), 814);
}

#[test]
fn limits_that_exclude_everything_leave_the_rotor_as_it_is() {
    let wanted = [UnbalanceVector::from_components_gram_millimetres(300.0, 0.0).unwrap()];
    for ring in [
        ring(6).each(|hole| hole.limit_pieces(0)),
        ring(6).each(|hole| hole.limit_mass(Mass::from_grams(0.5).unwrap())),
        ring(6).each(Hole::block),
    ] {
        let answer = PlacementQuestion::new(&[ring], &[washer(1.0)], &wanted).unwrap().solve(1000).unwrap();
        assert!(answer.best().changes().is_empty() && answer.certificate().is_proven());
        assert_eq!(answer.best().residual(), 300.0);
        assert!((answer.certificate().lower_bound() - 300.0).abs() < 1e-6);
    }
}

#[test]
fn ten_thousand_holes_and_equal_angles_stay_bounded() {
    let wanted = [UnbalanceVector::from_components_gram_millimetres(812.3, 411.7).unwrap()];
    let ring = ring(10_000).each(|hole| hole.limit_pieces(2));
    let pieces = [washer(0.31), washer(0.85), washer(1.63)];
    let question = PlacementQuestion::new(&[ring], &pieces, &wanted).unwrap();
    let answer = question.clone().solve(200_000).unwrap();
    assert!(!answer.certificate().is_proven());
    let bound = answer.certificate().lower_bound();
    assert!(answer.best().residual() < 20.0 && bound <= answer.best().residual(), "{answer:?}");
    let within = question.within(8.0).unwrap().limit_holes(2).solve(200_000).unwrap();
    assert!(within.best().changes().len() <= 2);
    let place = RotorSense::WithRotation.degrees(33.0).unwrap();
    let hole = Hole::new(Radius::from_millimetres(100.0).unwrap(), place).limit_pieces(1);
    let equal = HoleRing::listed(vec![hole; 12]);
    let answer = PlacementQuestion::new(&[equal], &pieces, &wanted).unwrap().solve(5_000_000).unwrap();
    assert!(answer.certificate().is_proven());
}

#[test]
fn what_is_placed_is_described() {
    // 3 g at 0 degrees and 1 g at 180, both at 100 mm: 200 g mm placed, 100 of them against it.
    let wanted = [UnbalanceVector::from_components_gram_millimetres(200.0, 0.0).unwrap()];
    let pieces = [washer(3.0), washer(1.0)];
    let ring = ring(2).each(|hole| hole.limit_pieces(1));
    let answer = PlacementQuestion::new(&[ring], &pieces, &wanted).unwrap().solve(1_000).unwrap();
    let best = answer.best();
    assert_eq!((best.changes().len(), best.pieces()), (2, 2));
    assert!((best.heavy_side_moment().gram_millimetres() - 100.0).abs() < 1e-9);
    // s = √(300² + 100²) · 0.01
    let scatter = best.scatter(0.01, 0.0)[0].gram_millimetres();
    assert!((scatter - 100_000.0_f64.sqrt() * 0.01).abs() < 1e-9, "{scatter}");
    assert!(best.left().unwrap()[0].amount().gram_millimetres() < 1e-9);
    let added: Vec<_> = best.changes().iter().map(|change| (change.hole, change.added.clone())).collect();
    assert_eq!(added, [(0, vec![(0, 1)]), (1, vec![(1, 1)])]);
}

#[test]
fn screws_are_exchanged_and_material_is_drilled_out() {
    // Every hole holds a 2 g screw and must keep one; 5 g screws are there to exchange.
    let wanted = [UnbalanceVector::from_components_gram_millimetres(300.0, 0.0).unwrap()];
    let screws = ring(6).each(|hole| hole.limit_pieces(1).keep_pieces(1).mounted(&[1, 0]));
    let pieces = [washer(2.0), washer(5.0)];
    let answer = PlacementQuestion::new(&[screws], &pieces, &wanted).unwrap().solve(100_000).unwrap();
    assert!(answer.best().residual() < 1e-9 && answer.certificate().is_proven());
    let change = &answer.best().changes()[0];
    assert_eq!((change.hole, &change.added[..], &change.removed[..]), (0, &[(1, 1)][..], &[(0, 1)][..]));
    // Nothing can be added at hole 0: 3 g are drilled out at hole 3.
    let drilled = ring(6).each(|hole| hole.limit_pieces(1));
    let answer =
        PlacementQuestion::new(&[drilled], &[washer(-3.0)], &wanted).unwrap().solve(100_000).unwrap();
    assert_eq!(answer.best().changes()[0].hole, 3);
    assert_eq!(answer.best().net_mass().grams(), -3.0);
}

#[test]
fn three_planes_are_searched_by_the_tree() {
    let vector = |x, y| UnbalanceVector::from_components_gram_millimetres(x, y).unwrap();
    let wanted = [vector(100.0, 0.0), vector(0.0, 200.0), vector(-300.0, 0.0)];
    let in_plane = |plane| ring(4).each(|hole| hole.limit_pieces(1)).in_plane(plane);
    let rings: Vec<HoleRing> = (0..3).map(in_plane).collect();
    let pieces = [washer(1.0), washer(2.0), washer(3.0)];
    let answer = PlacementQuestion::new(&rings, &pieces, &wanted).unwrap().solve(50_000_000).unwrap();
    assert!(answer.certificate().is_proven() && answer.best().residual() < 1e-9);
    let places: Vec<_> = answer.best().changes().iter().map(|change| (change.ring, change.hole)).collect();
    assert_eq!(places, [(0, 0), (1, 1), (2, 2)]);
}

#[test]
fn every_share_of_the_holes_between_two_planes_is_looked_at() {
    // One nut in the first plane does what two do in the second: both touch one hole, one handles fewer pieces.
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    let h = |re| Influence::from_components_per_gram_millimetre(re, 0.0).unwrap();
    let influence = InfluenceMatrix::new(&[channel], 2, &[h(2e-3), h(1e-3)]).unwrap();
    let now = [Vibration::from_components(-0.2, 0.0).unwrap()];
    let in_plane = |plane| ring(4).each(|hole| hole.limit_pieces(2)).in_plane(plane);
    for rings in [[in_plane(0), in_plane(1)], [in_plane(1), in_plane(0)]] {
        let question = PlacementQuestion::through(&rings, &[washer(1.0)], &influence, &now).unwrap();
        for answer in [question.solve(STEPS).unwrap(), question.within(0.05).unwrap().solve(STEPS).unwrap()] {
            assert_eq!((answer.best().changes().len(), answer.best().pieces()), (1, 1));
            assert!(answer.certificate().is_proven());
        }
    }
}

#[test]
fn the_usual_eps_is_that_of_the_best_correction_s_effect() {
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    let h = |re| Influence::from_components_per_gram_millimetre(re, 0.0).unwrap();
    let influence = InfluenceMatrix::new(&channels, 1, &[h(2e-3), h(1e-3)]).unwrap();
    // The best correction takes (4.4, 2.2) off and leaves (−0.4, 0.8).
    let now = [4.0, 3.0].map(|re| Vibration::from_components(re, 0.0).unwrap());
    let rings = [ring(12).each(|hole| hole.limit_pieces(3))];
    let pieces = [washer(5.0), washer(9.0)];
    let question = PlacementQuestion::through(&rings, &pieces, &influence, &now).unwrap();
    let effect = 4.4_f64.hypot(2.2);
    let rest = 0.4_f64.hypot(0.8);
    let scatter = (0.005_f64.powi(2) + 0.03_f64.powi(2) + 2.0_f64.to_radians().powi(2)).sqrt();
    let answer = question.clone().within_usual(None).unwrap().solve(STEPS).unwrap();
    let tolerance = answer.tolerance().unwrap();
    assert!((tolerance.unavoidable() - rest).abs() < 1e-12);
    assert!((tolerance.eps() - rest.hypot(0.3 * scatter * effect)).abs() < 1e-12);
    assert_eq!(tolerance.reason(), ToleranceReason::Scatter);
    assert!(answer.best().residual() <= tolerance.eps() && answer.certificate().is_proven());
    let told = |question: PlacementQuestion| question.solve(0).unwrap().tolerance().unwrap();
    let stated = told(question.clone().within_scatter(2.0, None).unwrap());
    assert!((stated.eps() - rest.hypot(0.6)).abs() < 1e-12);
    assert_eq!(stated.reason(), ToleranceReason::StatedScatter);
    // In the norm of the worst channel: what is left there, 0.8, and the share of 4.4.
    let worst = told(question.clone().within_usual(None).unwrap().norm(PlacementNorm::Worst));
    assert!((worst.eps() - (0.8 + 0.3 * scatter * 4.4)).abs() < 1e-12);
    let strict = told(question.clone().within_usual(Some(0.5)).unwrap());
    assert_eq!((strict.eps(), strict.reason()), (0.25, ToleranceReason::HalfPermissible));
    assert_eq!(question.within_usual(Some(-1.0)).unwrap_err().code(), 812);
}

#[test]
fn a_wide_search_that_is_stopped_early_has_something_to_show() {
    let mut dice = Dice(77);
    let (mut near, mut all) = (0, 0);
    for _ in 0..40 {
        for planes in [2_usize, 3] {
            let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
            let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
            let channels: Vec<Channel> =
                (0..planes).map(|at| Channel::new(at as u16, unit, PhaseSense::Lead, window)).collect();
            let h: Vec<Influence> = (0..planes * planes)
                .map(|at| {
                    let size = if at % (planes + 1) == 0 { 1e-3 } else { 3e-4 };
                    let degrees = dice.between(0.0, 360.0).to_radians();
                    let (re, im) = (size * degrees.cos(), size * degrees.sin());
                    Influence::from_components_per_gram_millimetre(re, im).unwrap()
                })
                .collect();
            let influence = InfluenceMatrix::new(&channels, planes, &h).unwrap();
            let now: Vec<Vibration> = (0..planes)
                .map(|_| {
                    Vibration::from_components(dice.between(-2.0, 2.0), dice.between(-2.0, 2.0)).unwrap()
                })
                .collect();
            let rings: Vec<HoleRing> =
                (0..planes).map(|plane| ring(24).in_plane(plane).each(|hole| hole.limit_pieces(3))).collect();
            let pieces = [1.1, 2.3, 4.6, 7.0, 11.5].map(washer);
            let most = Mass::from_grams(dice.between(20.0, 200.0)).unwrap();
            let question = PlacementQuestion::through(&rings, &pieces, &influence, &now)
                .unwrap()
                .within(0.05)
                .unwrap()
                .limit_net_mass(most)
                .unwrap();
            let answer = question.solve(1).unwrap();
            all += 1;
            near += usize::from(answer.best().residual() <= 0.05);
            let untouched = now.iter().map(|v| v.amplitude().powi(2)).sum::<f64>().sqrt();
            assert!(
                answer.best().residual() < 0.9 * untouched,
                "{} of {untouched}",
                answer.best().residual()
            );
            assert!(answer.best().net_mass().grams() <= most.grams() + 1e-6);
            assert!(!answer.certificate().is_proven());
        }
    }
    // Where mass is short, no placement comes near.
    assert!(near > all / 2, "{near} of {all}");
}
