//! Times, side by side with what a user would take instead. `cargo bench -p counterpoise-benches`

use std::error::Error;
use std::hint::black_box;

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettings, DefaultSettingsBuilder, DefaultSolver, IPSolver, SupportedConeT};
use counterpoise::{CorrectionQuestion, InfluenceMatrix, Objective, OnePlane, TwoPlanes, Vibration};
use counterpoise_benches::{many, one_plane, two_planes};
use criterion::{Criterion, criterion_group, criterion_main};
use nalgebra::{DMatrix, DVector, Matrix2, Vector2};
use num_complex::Complex64;

fn complex(vibrations: &[Vibration]) -> Vec<Complex64> {
    vibrations.iter().map(|vibration| vibration.complex()).collect()
}

fn coefficients(influence: &InfluenceMatrix) -> Vec<Complex64> {
    influence.coefficients().iter().map(|coefficient| coefficient.complex()).collect()
}

/// Two runs, one plane: coefficient and correction.
fn one_plane_two_runs(criterion: &mut Criterion) -> Result<(), Box<dyn Error>> {
    let (as_found, with_trial, trial) = one_plane()?;
    let mut group = criterion.benchmark_group("one plane, two runs");
    group.bench_function("counterpoise", |bencher| {
        bencher.iter(|| {
            let plane =
                OnePlane::from_trial(black_box(as_found), black_box(with_trial), black_box(trial)).ok()?;
            plane.correction(black_box(as_found)).ok()
        });
    });
    let (v0, v1, u) = (as_found.complex(), with_trial.complex(), trial.complex());
    group.bench_function("plain complex division", |bencher| {
        bencher.iter(|| {
            let influence = (black_box(v1) - black_box(v0)) / black_box(u);
            (influence, -black_box(v0) / influence)
        });
    });
    group.finish();
    Ok(())
}

/// Three runs, two planes: coefficients and correction.
fn two_planes_three_runs(criterion: &mut Criterion) -> Result<(), Box<dyn Error>> {
    let runs = two_planes()?;
    let mut group = criterion.benchmark_group("two planes, three runs");
    group.bench_function("counterpoise", |bencher| {
        bencher.iter(|| {
            let runs = black_box(&runs);
            let [as_found, ..] = runs;
            TwoPlanes::from_runs(runs).ok()?.correction(as_found.vibration).ok()
        });
    });
    let v = runs.map(|run| Vector2::from(run.vibration.map(|vibration| vibration.complex())));
    let u = runs.map(|run| Vector2::from(run.mounted.map(|unbalance| unbalance.complex())));
    group.bench_function("nalgebra, fixed size, QR", |bencher| {
        bencher.iter(|| {
            let ([v0, v1, v2], [u0, u1, u2]) = (black_box(&v), black_box(&u));
            let changes = Matrix2::from_columns(&[u1 - u0, u2 - u0]);
            let responses = Matrix2::from_columns(&[v1 - v0, v2 - v0]);
            let influence = changes.transpose().qr().solve(&responses.transpose())?.transpose();
            influence.qr().solve(&-v0)
        });
    });
    group.finish();
    Ok(())
}

/// Correction with known coefficients by least squares: weights, and what is left at every channel.
fn least_squares(
    criterion: &mut Criterion,
    name: &str,
    channels: u16,
    planes: usize,
) -> Result<(), Box<dyn Error>> {
    let (influence, now) = many(channels, planes)?;
    let mut group = criterion.benchmark_group(name);
    group.bench_function("counterpoise, with proof and cautions", |bencher| {
        bencher.iter(|| CorrectionQuestion::new(black_box(&influence), black_box(&now)).ok()?.solve().ok());
    });
    let (h, v) = (coefficients(&influence), complex(&now));
    group.bench_function("nalgebra QR, with what is left", |bencher| {
        bencher.iter(|| {
            let matrix = DMatrix::from_row_slice(v.len(), planes, black_box(&h));
            let found = DVector::from_column_slice(black_box(&v));
            let qr = matrix.clone().qr();
            let mut rotated = -found.clone();
            qr.q_tr_mul(&mut rotated);
            let weights = qr.r().solve_upper_triangular(&rotated.rows(0, planes))?;
            let left = found + matrix * &weights;
            Some((weights, left))
        });
    });
    group.finish();
    Ok(())
}

/// The smallest worst channel: 4 sensors at 3 speeds, 2 planes.
fn min_max(criterion: &mut Criterion) -> Result<(), Box<dyn Error>> {
    let (influence, now) = many(12, 2)?;
    let mut group = criterion.benchmark_group("min-max, 12 channels, 2 planes");
    group.bench_function("counterpoise", |bencher| {
        bencher.iter(|| {
            CorrectionQuestion::new(black_box(&influence), black_box(&now))
                .ok()?
                .objective(Objective::MinMax)
                .solve()
                .ok()
        });
    });
    let (h, v) = (coefficients(&influence), complex(&now));
    let settings = DefaultSettingsBuilder::default().verbose(false).build()?;
    group.bench_function("clarabel", |bencher| {
        bencher.iter(|| worst_by_cones(black_box(&h), black_box(&v), &settings));
    });
    let ours = CorrectionQuestion::new(&influence, &now)?.objective(Objective::MinMax).solve()?;
    let theirs = worst_by_cones(&h, &v, &settings).ok_or("the conic solver found nothing")?;
    let difference = (ours.objective_value() - theirs).abs() / theirs;
    assert!(difference < 1e-6, "min-max {} here, {theirs} by the conic solver", ours.objective_value());
    group.finish();
    Ok(())
}

/// Minimise t with (t, Re r_k, Im r_k) in a second-order cone for every channel; the unknowns are t and the weights.
fn worst_by_cones(h: &[Complex64], v: &[Complex64], settings: &DefaultSettings<f64>) -> Option<f64> {
    let planes = h.len() / v.len();
    let unknowns = 1 + 2 * planes;
    // s = b − A x in the cone: rows (t, Re r, Im r) of every channel.
    let mut rows = Vec::with_capacity(3 * v.len());
    let mut b = Vec::with_capacity(3 * v.len());
    for (channel, vibration) in h.chunks(planes).zip(v) {
        let (mut top, mut re, mut im) = (vec![0.0; unknowns], vec![0.0; unknowns], vec![0.0; unknowns]);
        top[0] = -1.0;
        for (plane, entry) in channel.iter().enumerate() {
            (re[1 + 2 * plane], re[2 + 2 * plane]) = (-entry.re, entry.im);
            (im[1 + 2 * plane], im[2 + 2 * plane]) = (-entry.im, -entry.re);
        }
        rows.extend([top, re, im]);
        b.extend([0.0, vibration.re, vibration.im]);
    }
    let constraints = CscMatrix::from(&rows);
    let mut cost = vec![0.0; unknowns];
    cost[0] = 1.0;
    let cones: Vec<SupportedConeT<f64>> = v.iter().map(|_| SupportedConeT::SecondOrderConeT(3)).collect();
    let none = CscMatrix::zeros((unknowns, unknowns));
    let mut solver = DefaultSolver::new(&none, &cost, &constraints, &b, &cones, settings.clone()).ok()?;
    solver.solve();
    solver.solution.x.first().copied()
}

fn all(criterion: &mut Criterion) {
    let done = one_plane_two_runs(criterion)
        .and_then(|()| two_planes_three_runs(criterion))
        .and_then(|()| least_squares(criterion, "least squares, 12 channels, 2 planes", 12, 2))
        .and_then(|()| least_squares(criterion, "least squares, 24 channels, 6 planes", 24, 6))
        .and_then(|()| min_max(criterion));
    if let Err(error) = done {
        panic!("a problem cannot be set up: {error}");
    }
}

criterion_group!(benches, all);
criterion_main!(benches);
