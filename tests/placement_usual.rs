//! The usual eps against a naive computation: the best correction's effect by normal equations or plane by plane, the
//! eps by the sentence that defines it. Nothing is shared with the library.

#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::indexing_slicing)]
#![allow(clippy::cast_precision_loss)] // small whole numbers

use counterpoise::{
    Channel, Detector, Hardware, Hole, HoleCircle, HoleRing, Influence, InfluenceMatrix, Mass, PhaseSense,
    PlacementNorm, PlacementQuestion, PlacementTolerance, Radius, RotorAngle, RotorSense, Speed, SpeedWindow,
    ToleranceReason, Unbalance, UnbalanceVector, Vibration, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;

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
    fn below(&mut self, n: u64) -> usize {
        usize::try_from(self.bits() % n).unwrap()
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn vector(&mut self, size: f64) -> Complex64 {
        Complex64::new(self.between(-size, size), self.between(-size, size))
    }
    /// None, or a size around that of what is wanted: from far below to far above.
    fn maybe(&mut self, size: f64) -> Option<f64> {
        (self.below(3) > 0).then(|| size * 10_f64.powf(self.between(-2.0, 2.0)))
    }
}

/// As the norms are defined.
fn size(norm: PlacementNorm, rows: &[Complex64]) -> f64 {
    match norm {
        PlacementNorm::Euclidean => rows.iter().map(Complex64::norm_sqr).sum::<f64>().sqrt(),
        PlacementNorm::Worst => rows.iter().map(|row| row.norm()).fold(0.0, f64::max),
        _ => rows.iter().flat_map(|row| [row.re.abs(), row.im.abs()]).fold(0.0, f64::max),
    }
}

/// `max(1 % of what is wanted, 0.3 of the scatter, 5 % of the permissible residual)`, with what cannot be taken off beside
/// it, and never above half the permissible residual. Usual scatter: pieces 0.5 %, the correction 3 % and 2 degrees.
/// Common practice, no source.
fn naive(
    norm: PlacementNorm,
    wanted: f64,
    rest: f64,
    scatter: Option<f64>,
    permissible: Option<f64>,
) -> (f64, ToleranceReason) {
    let usual = wanted * (0.005_f64.powi(2) + 0.03_f64.powi(2) + 2.0_f64.to_radians().powi(2)).sqrt();
    let candidates = [
        (0.01 * wanted, ToleranceReason::Wanted),
        scatter.map_or((0.3 * usual, ToleranceReason::Scatter), |scatter| {
            (0.3 * scatter, ToleranceReason::StatedScatter)
        }),
        (0.05 * permissible.unwrap_or(0.0), ToleranceReason::Permissible),
    ];
    let (missed, reason) = candidates.into_iter().rev().max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
    let eps =
        if norm == PlacementNorm::Euclidean { (rest * rest + missed * missed).sqrt() } else { rest + missed };
    match permissible {
        Some(permissible) if eps > 0.5 * permissible => (0.5 * permissible, ToleranceReason::HalfPermissible),
        _ => (eps, reason),
    }
}

/// The least-squares effect by the normal equations, planes one or two: `Aᴴ A w = Aᴴ v`, effect `A w`.
fn best_effect(columns: &[Vec<Complex64>], v: &[Complex64]) -> Vec<Complex64> {
    let inner =
        |a: &[Complex64], b: &[Complex64]| a.iter().zip(b).map(|(a, b)| a.conj() * b).sum::<Complex64>();
    let w = match columns {
        [] => vec![],
        [a] => vec![inner(a, v) / inner(a, a)],
        [a, b] => {
            let (aa, ab, bb) = (inner(a, a), inner(a, b), inner(b, b));
            let (av, bv) = (inner(a, v), inner(b, v));
            let determinant = aa * bb - ab * ab.conj();
            vec![(bb * av - ab * bv) / determinant, (aa * bv - ab.conj() * av) / determinant]
        }
        _ => unreachable!("at most two planes are drawn"),
    };
    (0..v.len()).map(|row| columns.iter().zip(&w).map(|(column, w)| column[row] * w).sum()).collect()
}

/// `|det(Aᴴ A)|` over the squared lengths of two columns: sin² of the angle between them.
fn apart(columns: &[Vec<Complex64>]) -> f64 {
    let inner =
        |a: &[Complex64], b: &[Complex64]| a.iter().zip(b).map(|(a, b)| a.conj() * b).sum::<Complex64>();
    let [a, b] = columns else { return 1.0 };
    1.0 - inner(a, b).norm_sqr() / (inner(a, a).re * inner(b, b).re)
}

fn rings(open: &[bool]) -> Vec<HoleRing> {
    let circle = HoleCircle::new(4, RotorAngle::MARK, RotorSense::WithRotation).unwrap();
    let ring = |(plane, &open): (usize, &bool)| {
        let ring = HoleRing::even(circle, Radius::from_millimetres(100.0).unwrap())
            .each(|hole| hole.limit_pieces(1))
            .in_plane(plane);
        // One open hole is enough.
        let closed = if open { 3 } else { 4 };
        (0..closed).fold(ring, |ring, hole| ring.at(hole, Hole::block))
    };
    open.iter().enumerate().map(ring).collect()
}

/// What is asked, and the tolerance that the answer tells, without searching.
fn told(question: PlacementQuestion, scatter: Option<f64>, permissible: Option<f64>) -> PlacementTolerance {
    let question = match scatter {
        Some(scatter) => question.within_scatter(scatter, permissible),
        None => question.within_usual(permissible),
    };
    question.unwrap().solve(0).unwrap().tolerance().unwrap()
}

/// How often each reason was met.
#[derive(Default, Debug)]
struct Met([usize; 5]);

impl Met {
    #[track_caller]
    fn check(
        &mut self,
        told: PlacementTolerance,
        rest: f64,
        (eps, reason): (f64, ToleranceReason),
        scale: f64,
    ) {
        assert!((told.eps() - eps).abs() <= 1e-11 * scale, "{told:?}, expected {eps}");
        assert!((told.unavoidable() - rest).abs() <= 1e-11 * scale, "{told:?}, expected {rest}");
        assert_eq!(told.reason(), reason);
        let at = match reason {
            ToleranceReason::Wanted => 0,
            ToleranceReason::Scatter => 1,
            ToleranceReason::StatedScatter => 2,
            ToleranceReason::Permissible => 3,
            _ => 4,
        };
        self.0[at] += 1;
    }

    fn all(&self) {
        assert!(self.0.iter().all(|&count| count >= 20), "{self:?}");
    }
}

const NORMS: [PlacementNorm; 3] =
    [PlacementNorm::Euclidean, PlacementNorm::Worst, PlacementNorm::WorstComponent];
const CASES: usize = 2_000;

#[test]
fn for_unbalance_it_is_that_of_the_naive_computation() {
    let (mut dice, mut met, mut closed) = (Dice(816), Met::default(), 0);
    let nut = [Hardware::new("nut", Mass::from_grams(1.0).unwrap())];
    for _ in 0..CASES {
        let planes = 1 + dice.below(3);
        let norm = NORMS[dice.below(3)];
        let amount = 10_f64.powf(dice.between(0.0, 4.0));
        let wanted: Vec<Complex64> = (0..planes).map(|_| dice.vector(amount)).collect();
        let open: Vec<bool> = (0..planes).map(|_| dice.below(5) > 0).collect();
        let (scatter, permissible) = (dice.maybe(amount * 0.1), dice.maybe(amount));
        let vectors: Vec<UnbalanceVector> = wanted
            .iter()
            .map(|w| UnbalanceVector::from_components_gram_millimetres(w.re, w.im).unwrap())
            .collect();
        let question = PlacementQuestion::new(&rings(&open), &nut, &vectors).unwrap().norm(norm);
        let told = told(question, scatter, permissible);
        // A plane without an open hole takes nothing.
        let part = |kept: bool| -> Vec<Complex64> {
            let kept = |(w, open): (&Complex64, &bool)| if *open == kept { *w } else { Complex64::ZERO };
            wanted.iter().zip(&open).map(kept).collect()
        };
        let (effect, rest) = (size(norm, &part(true)), size(norm, &part(false)));
        closed += usize::from(rest > 0.0);
        let scale = amount.max(permissible.unwrap_or(0.0)).max(scatter.unwrap_or(0.0));
        met.check(told, rest, naive(norm, effect, rest, scatter, permissible), scale);
        if let ([one], [true]) = (&vectors[..], &open[..]) {
            if norm == PlacementNorm::Euclidean {
                let amount = |g_mm| Unbalance::from_gram_millimetres(g_mm).unwrap();
                let direct = match scatter {
                    Some(scatter) => {
                        PlacementTolerance::with_scatter(*one, amount(scatter), permissible.map(amount))
                    }
                    None => PlacementTolerance::usual(*one, permissible.map(amount)),
                };
                met.check(direct, 0.0, naive(norm, effect, 0.0, scatter, permissible), scale);
            }
        }
    }
    met.all();
    assert!(closed > 200, "{closed}");
}

#[test]
fn through_influence_it_is_that_of_the_naive_computation() {
    let (mut dice, mut met, mut drawn) = (Dice(818), Met::default(), 0);
    let nut = [Hardware::new("nut", Mass::from_grams(1.0).unwrap())];
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0).unwrap(), 1.0).unwrap();
    while drawn < CASES {
        let (planes, points) = (1 + dice.below(2), 1 + dice.below(4));
        let norm = NORMS[dice.below(3)];
        let open: Vec<bool> = (0..planes).map(|_| dice.below(6) > 0).collect();
        let coefficients: Vec<Vec<Complex64>> =
            (0..points).map(|_| (0..planes).map(|_| dice.vector(1e-3)).collect()).collect();
        let level = 10_f64.powf(dice.between(-2.0, 2.0));
        let now: Vec<Complex64> = (0..points).map(|_| dice.vector(level)).collect();
        let weights: Option<Vec<f64>> =
            (dice.below(2) > 0).then(|| (0..points).map(|_| dice.between(0.2, 5.0)).collect());
        let root = |point: usize| weights.as_ref().map_or(1.0, |weights| weights[point].sqrt());
        let columns: Vec<Vec<Complex64>> = (0..planes)
            .filter(|&plane| open[plane])
            .map(|plane| (0..points).map(|point| coefficients[point][plane] * root(point)).collect())
            .collect();
        // Normal equations lose digits where planes are nearly one; more planes than points are another matter.
        if columns.len() > points || apart(&columns) < 1e-2 {
            continue;
        }
        drawn += 1;
        let v: Vec<Complex64> = now.iter().enumerate().map(|(point, now)| now * root(point)).collect();
        let taken = best_effect(&columns, &v);
        let rest: Vec<Complex64> = v.iter().zip(&taken).map(|(v, taken)| v - taken).collect();
        let (effect, rest) = (size(norm, &taken), size(norm, &rest));

        let channels: Vec<Channel> = (1..=points)
            .map(|sensor| Channel::new(u16::try_from(sensor).unwrap(), unit, PhaseSense::Lead, window))
            .collect();
        let influence: Vec<Influence> = coefficients
            .iter()
            .flatten()
            .map(|h| Influence::from_components_per_gram_millimetre(h.re, h.im).unwrap())
            .collect();
        let matrix = InfluenceMatrix::new(&channels, planes, &influence).unwrap();
        let now: Vec<Vibration> =
            now.iter().map(|now| Vibration::from_components(now.re, now.im).unwrap()).collect();
        let question = PlacementQuestion::through(&rings(&open), &nut, &matrix, &now).unwrap().norm(norm);
        let question = match &weights {
            Some(weights) => question.channel_weights(weights).unwrap(),
            None => question,
        };
        let (scatter, permissible) = (dice.maybe(effect * 0.1), dice.maybe(effect + 2.0 * rest));
        let told = told(question, scatter, permissible);
        let scale = (effect + rest).max(permissible.unwrap_or(0.0)).max(scatter.unwrap_or(0.0));
        met.check(told, rest, naive(norm, effect, rest, scatter, permissible), scale);
    }
    met.all();
}
