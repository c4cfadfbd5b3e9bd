//! The smallest worst point, and limits in the planes: what every optimum must keep to.
//!
//! The bound is worked out here from the dual point that comes with an answer, by its definition.

use counterpoise::{Certificate, Correction, CorrectionQuestion, Objective, Unbalance};
use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;

use super::machines::{degrees, machine, sized};
use crate::support::double_double::Complex as Exact;
use crate::support::{Plant, cases, complex, distance, length, modulus, polar, unbalance, vibrations};

/// What is asked, in plain numbers.
#[derive(Debug, Clone)]
struct Asked {
    plant: Plant,
    weights: Vec<f64>,
    /// A limit of what is added in each plane, as a part of what a free correction has there.
    limits: Vec<Option<f64>>,
    objective: Objective,
}

fn asked() -> impl Strategy<Value = Asked> {
    (1..=3_usize, 0..=4_usize, any::<bool>()).prop_flat_map(|(planes, more, min_max)| {
        let weights = vec((1..=100_u32).prop_map(|tenths| f64::from(tenths) / 10.0), planes + more);
        let limits =
            vec(prop::option::of((0..=150_u32).prop_map(|percent| f64::from(percent) / 100.0)), planes);
        let objective = if min_max { Objective::MinMax } else { Objective::LeastSquares };
        (machine(planes + more, planes), weights, limits).prop_map(move |(plant, weights, limits)| {
            let matrix = plant.matrix();
            let free =
                CorrectionQuestion::new(&matrix, &vibrations(&plant.as_found)).unwrap().solve().unwrap();
            let limits = limits
                .iter()
                .zip(free.added())
                .map(|(part, added)| part.map(|part| part * added.amount().gram_millimetres()))
                .collect();
            Asked { plant, weights, limits, objective }
        })
    })
}

fn solved(asked: &Asked, as_found: &[Complex64]) -> Correction {
    let matrix = asked.plant.matrix();
    let mut question = CorrectionQuestion::new(&matrix, &vibrations(as_found))
        .unwrap()
        .channel_weights(&asked.weights)
        .objective(asked.objective);
    for (plane, limit) in asked.limits.iter().enumerate() {
        if let Some(limit) = limit {
            question = question.limit_added(plane, Unbalance::from_gram_millimetres(*limit).unwrap());
        }
    }
    question.solve().unwrap()
}

/// √(Σ g |r|²), or max √g |r|.
fn value(asked: &Asked, residuals: &[Complex64]) -> f64 {
    let weighted: Vec<Complex64> =
        residuals.iter().zip(&asked.weights).map(|(r, g)| r * libm::sqrt(*g)).collect();
    match asked.objective {
        Objective::LeastSquares => length(&weighted),
        Objective::MinMax => weighted.iter().map(|&r| modulus(r)).fold(0.0, f64::max),
    }
}

/// What no admissible weights fall below: `Re Σ conj(y) v − Σ_p L_p |Σ_k conj(H_kp) y_k|`, for y brought to size 1. What y
/// has along a plane without a limit is charged with three times the largest weight there is.
fn bound(asked: &Asked, certificate: &Certificate, largest: f64) -> f64 {
    let y = certificate.dual();
    let roots: Vec<f64> = asked.weights.iter().map(|g| libm::sqrt(*g)).collect();
    let size = match asked.objective {
        Objective::LeastSquares => {
            length(&y.iter().zip(&roots).map(|(y, root)| y / root).collect::<Vec<_>>())
        }
        Objective::MinMax => y.iter().zip(&roots).map(|(&y, root)| modulus(y) / root).sum(),
    };
    let gain: f64 = y.iter().zip(&asked.plant.as_found).map(|(y, v)| y.re * v.re + y.im * v.im).sum();
    let cost: f64 = (0..asked.plant.planes())
        .map(|plane| {
            let along: Complex64 =
                y.iter().zip(&asked.plant.influence).map(|(y, row)| row[plane].conj() * y).sum();
            asked.limits[plane].unwrap_or(3.0 * largest) * modulus(along)
        })
        .sum();
    (gain - cost) / size.max(1.0)
}

proptest! {
    #![proptest_config(cases(300))]

    /// Limits are kept, the prediction is what the machine shows, the certificate proves the value, and it is not proven
    /// wrong by weights nearby.
    #[test]
    fn an_optimum_is_what_its_certificate_says(asked in asked(), nudges in vec((sized(1..=400), sized(1..=400), sized(1..=400)), 6)) {
        let answer = solved(&asked, &asked.plant.as_found);
        let added = complex(answer.added());
        for (u, limit) in added.iter().zip(&asked.limits) {
            prop_assert!(limit.is_none_or(|limit| modulus(*u) <= limit * (1.0 + 1e-12)));
        }
        let scale = length(&asked.plant.as_found);
        let shown = asked.plant.read(&added);
        prop_assert!(distance(&complex(answer.predicted()), &shown) <= 1e-12 * scale);
        let reached = value(&asked, &shown);
        prop_assert!((answer.objective_value() - reached).abs() <= 1e-12 * scale);

        let proven = bound(&asked, answer.certificate(), length(&added));
        let slack = 1e-8 * reached + 1e-9 * scale;
        prop_assert!(proven >= reached - slack, "{proven} proves less than {reached}");
        let stated = answer.certificate().lower_bound();
        prop_assert!(stated <= answer.objective_value() && stated >= reached - slack);

        for (a, b, c) in nudges {
            let nudged: Vec<Complex64> = added
                .iter()
                .zip([a, b, c])
                .zip(&asked.limits)
                .map(|((u, nudge), limit)| {
                    let moved = u + nudge;
                    // Back onto the limit where it was passed.
                    let beyond = limit.map_or(1.0, |limit| (limit / modulus(moved)).min(1.0));
                    moved * beyond
                })
                .collect();
            prop_assert!(value(&asked, &asked.plant.read(&nudged)) >= reached - slack);
        }
    }

    /// Turning all weights turns the answer; turning each sensor changes nothing; louder readings want more.
    #[test]
    fn an_optimum_turns_and_scales_with_its_question(asked in asked(), by in degrees(), sensors in degrees(), percent in 1..=900_u32) {
        let louder = f64::from(percent) / 100.0;
        let before = solved(&asked, &asked.plant.as_found);
        let turn = |z: &Complex64, k: usize| z * polar(1.0, sensors * f64::from(u32::try_from(k).unwrap()));
        let influence = |row: &[Complex64], k: usize| row.iter().map(|h| turn(h, k)).collect();
        let plant = Plant {
            as_found: asked
                .plant
                .as_found
                .iter()
                .enumerate()
                .map(|(k, v)| turn(v, k) * polar(louder, by))
                .collect(),
            influence: asked.plant.influence.iter().enumerate().map(|(k, row)| influence(row, k)).collect(),
        };
        let limits = asked.limits.iter().map(|limit| limit.map(|limit| limit * louder)).collect();
        let changed = Asked { plant, limits, ..asked.clone() };
        let after = solved(&changed, &changed.plant.as_found);
        let scale = length(&asked.plant.as_found) * louder;
        prop_assert!((after.objective_value() - before.objective_value() * louder).abs() <= 1e-8 * scale);
        let want: Vec<Complex64> = complex(before.added()).iter().map(|u| u * polar(louder, by)).collect();
        // The weights of a flat optimum are free to move: what counts is that the turned ones do as well.
        prop_assert!(value(&changed, &changed.plant.read(&want)) <= after.objective_value() + 1e-8 * scale);
    }

    /// A limit that is wide enough changes nothing, and one of zero leaves the plane alone; of two planes one limit on the
    /// total, with something mounted, is one on what is added to nothing.
    #[test]
    fn limits_far_out_and_at_zero(plant in machine(4, 2), mounted in (sized(0..=3000), sized(0..=3000)), percent in 1..=120_u32) {
        let matrix = plant.matrix();
        let now = vibrations(&plant.as_found);
        let amount = |g_mm: f64| Unbalance::from_gram_millimetres(g_mm).unwrap();
        let question = CorrectionQuestion::new(&matrix, &now).unwrap();
        let free = question.solve().unwrap();
        let scale = length(&complex(free.added()));
        let wide = question.clone().limit_added(0, amount(100.0 * scale)).limit_added(1, amount(100.0 * scale));
        prop_assert!(distance(&complex(wide.solve().unwrap().added()), &complex(free.added())) <= 1e-7 * scale);
        for objective in [Objective::LeastSquares, Objective::MinMax] {
            let shut = question.clone().objective(objective).limit_added(0, amount(0.0)).solve().unwrap();
            prop_assert_eq!(shut.added()[0].amount().gram_millimetres(), 0.0);
        }
        let min_max = question.clone().objective(Objective::MinMax).solve().unwrap();
        let slack = 1e-8 * length(&plant.as_found);
        prop_assert!(min_max.largest_amplitude() <= free.largest_amplitude() + slack);
        prop_assert!(free.weighted_rms() <= min_max.weighted_rms() + slack);

        // With m mounted, limits on the total are those of the bare rotor.
        let limit = amount(scale * f64::from(percent) / 100.0);
        let held = [mounted.0, mounted.1];
        let bare: Vec<Complex64> = {
            let opposite: Vec<Complex64> = held.iter().map(|u| -u).collect();
            plant.read(&opposite)
        };
        let of_total = question
            .mounted_now(&held.map(unbalance))
            .unwrap()
            .limit_total(0, limit)
            .limit_total(1, limit)
            .solve()
            .unwrap();
        let of_bare = CorrectionQuestion::new(&matrix, &vibrations(&bare)).unwrap();
        let of_bare = of_bare.limit_added(0, limit).limit_added(1, limit).solve().unwrap();
        prop_assert!((of_total.objective_value() - of_bare.objective_value()).abs() <= slack);
        prop_assert!(distance(&complex(of_total.total()), &complex(of_bare.added())) <= 1e-5 * scale);
    }

    /// However far the channel weights are apart and in whatever order the channels stand, no lower bound lies above what
    /// some weights reach (worked out with 31 digits), the dual point stands against every column, and a gap is said.
    #[test]
    fn no_bound_is_above_what_can_be_reached(
        plant in machine(5, 2),
        others in vec(1..=50_u32, 4),
        decades in 0..=24_i32,
        heavy in 0..5_usize,
        limited in any::<bool>(),
    ) {
        let channels = plant.as_found.len();
        let mut weights: Vec<f64> = others.iter().map(|tenths| f64::from(*tenths) / 10.0).collect();
        weights.insert(heavy, libm::pow(10.0, f64::from(decades)));
        let mut answers = Vec::new();
        for turn in 0..channels {
            let place = |k: usize| (k + turn) % channels;
            let turned = Plant {
                as_found: (0..channels).map(|k| plant.as_found[place(k)]).collect(),
                influence: (0..channels).map(|k| plant.influence[place(k)].clone()).collect(),
            };
            let turned_weights: Vec<f64> = (0..channels).map(|k| weights[place(k)]).collect();
            let matrix = turned.matrix();
            let mut question =
                CorrectionQuestion::new(&matrix, &vibrations(&turned.as_found)).unwrap().channel_weights(&turned_weights);
            if limited {
                // Beyond what any of these machines asks for: it holds nothing back.
                question = question.limit_added(0, Unbalance::from_gram_millimetres(1e6).unwrap());
            }
            let answer = question.solve().unwrap();
            let y = answer.certificate().dual();
            for plane in 0..plant.planes() {
                let terms = turned.influence.iter().zip(y).map(|(row, y)| row[plane].conj() * y);
                let (sum, sizes) = terms.fold((Complex64::default(), 0.0), |(sum, sizes), term| {
                    (sum + term, sizes + modulus(term))
                });
                prop_assert!(modulus(sum) <= 1e-13 * sizes, "{} of {}", modulus(sum), sizes);
            }
            let (reached, bound) = (answer.objective_value(), answer.certificate().lower_bound());
            let said = answer.cautions().iter().any(|caution| caution.code() == 1003);
            prop_assert!(said || reached - bound <= 1.1e-8 * reached, "{reached} {bound}");
            prop_assert_eq!(said && decades <= 8, false, "{} {}", reached, bound);
            answers.push((bound, exact_value(&plant, &weights, &complex(answer.added()))));
        }
        let least = answers.iter().map(|(_, value)| *value).fold(f64::INFINITY, f64::min);
        for (bound, value) in &answers {
            prop_assert!(*bound <= least * (1.0 + 4.0 * f64::EPSILON), "{bound} above {least}");
            prop_assert!(*value <= least * (1.0 + 1e-9), "{value} far above {least}");
        }
    }
}

/// √(Σ g |v + H w|²) of exactly these numbers, by 31-digit arithmetic.
fn exact_value(plant: &Plant, weights: &[f64], w: &[Complex64]) -> f64 {
    let square = |k: usize| {
        let start = Exact::of(plant.as_found[k]);
        let left =
            plant.influence[k].iter().zip(w).fold(start, |sum, (h, w)| sum + Exact::of(*h) * Exact::of(*w));
        let left = left.value();
        weights[k] * (left.re * left.re + left.im * left.im)
    };
    libm::sqrt((0..plant.as_found.len()).map(square).sum())
}
