//! Machines to draw: all of them linear and well conditioned.

use num_complex::Complex64;
use proptest::collection::vec;
use proptest::prelude::*;

use crate::support::{Plant, polar};

/// A whole number of tenths of a degree.
pub(crate) fn degrees() -> impl Strategy<Value = f64> {
    (0..3600_u32).prop_map(|tenths| f64::from(tenths) / 10.0)
}

/// A complex number of a size between two whole numbers of thousandths, in any direction.
pub(crate) fn sized(thousandths: core::ops::RangeInclusive<u32>) -> impl Strategy<Value = Complex64> {
    (thousandths, degrees()).prop_map(|(size, degrees)| polar(f64::from(size) / 1000.0, degrees))
}

/// A machine with so many measuring points and planes, no fewer points than planes. The first points each see a plane of
/// their own better than all the others together, so that the planes are well told apart.
pub(crate) fn machine(points: usize, planes: usize) -> impl Strategy<Value = Plant> {
    let own = vec(sized(2000..=5000), planes);
    // The others come to 3 · 0.5 at the most.
    let other = vec(sized(50..=500), points * planes);
    let as_found = vec(sized(1000..=20_000), points);
    (own, other, as_found).prop_map(move |(own, other, as_found)| {
        let row = |k: usize| {
            let mut row = other[k * planes..(k + 1) * planes].to_vec();
            if let Some(own) = own.get(k) {
                row[k] = *own;
            }
            row
        };
        Plant { as_found, influence: (0..points).map(row).collect() }
    })
}

/// A trial weight for each plane.
pub(crate) fn trials(planes: usize) -> impl Strategy<Value = Vec<Complex64>> {
    vec(sized(500..=4000), planes)
}

/// One to four planes, as many points or up to three more, with a trial weight for each plane.
pub(crate) fn machine_and_trials() -> impl Strategy<Value = (Plant, Vec<Complex64>)> {
    (1..=4_usize, 0..=3_usize)
        .prop_flat_map(|(planes, more)| (machine(planes + more, planes), trials(planes)))
}

/// A machine, and more runs than unknowns: every plane's trial twice, the bare rotor twice, and some runs with weights in
/// all planes; each read with some scatter and a weight of its own.
pub(crate) fn scattered_job(points: usize) -> impl Strategy<Value = Scattered> {
    (1..=3_usize, 0..=3_usize).prop_flat_map(move |(planes, more)| {
        let runs = 2 * (planes + 1) + more;
        (
            machine(points.max(planes), planes),
            trials(planes),
            vec(vec(sized(0..=4000), planes), more),
            vec(sized(0..=300), runs * points.max(planes)),
            vec(1..=40_u32, runs),
        )
            .prop_map(|(plant, trials, others, scatter, weights)| {
                let twice = plant.runs(&trials).into_iter().flat_map(|run| [run.clone(), run]);
                let mut runs: Vec<_> = twice.chain(others.iter().map(|mounted| plant.run(mounted))).collect();
                let read = runs.iter_mut().flat_map(|(_, read)| read.iter_mut());
                for (v, error) in read.zip(scatter) {
                    *v += error;
                }
                let weights = weights.into_iter().map(|tenths| f64::from(tenths) / 10.0).collect();
                Scattered { plant, runs, weights }
            })
    })
}

/// What [`scattered_job`] draws.
#[derive(Debug, Clone)]
pub(crate) struct Scattered {
    pub(crate) plant: Plant,
    /// What is mounted, and what was read.
    pub(crate) runs: Vec<(Vec<Complex64>, Vec<Complex64>)>,
    /// The weight of each run's readings.
    pub(crate) weights: Vec<f64>,
}
