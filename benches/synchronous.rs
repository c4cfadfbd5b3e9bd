//! Samples a second, beside the time to read the samples once. `cargo bench -p counterpoise-benches --bench synchronous`
//!
//! What a user of numpy would take instead is timed by `tests/beside_numpy/compare.py`, on a record of the same kind.

use std::error::Error;
use std::hint::black_box;

use counterpoise::synchronous::{Extraction, Mark, Order, Rotation};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};

const RATE_HERTZ: f64 = 10_000.0;
const TURNS_A_SECOND: f64 = 40.0;

/// Ten seconds of once per turn on three more orders, a constant and what looks like noise.
fn record() -> (Vec<f32>, Vec<Mark>) {
    let mut state = 1_u32;
    let samples = (0..100_000_u32)
        .map(|i| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let angle = std::f64::consts::TAU * TURNS_A_SECOND * f64::from(i) / RATE_HERTZ;
            let noise = f64::from(state >> 16) / 65_536.0 - 0.5;
            let value = 0.3 * libm::cos(angle) + 0.2 * libm::cos(2.0 * angle) + 1.0 + 0.1 * noise;
            #[allow(clippy::cast_possible_truncation)] // a sample of a converter
            let value = value as f32;
            value
        })
        .collect();
    let marks =
        (0..400).map(|n| Mark { seconds: f64::from(n) / TURNS_A_SECOND, turns: f64::from(n) }).collect();
    (samples, marks)
}

fn orders<const N: usize>() -> Result<Extraction<N>, Box<dyn Error>> {
    let mut orders = [Order::ONCE_PER_TURN; N];
    for (order, per_turn) in orders.iter_mut().zip(1_u16..) {
        *order = Order::of_rotor(f64::from(per_turn))?;
    }
    Ok(Extraction::new(orders, RATE_HERTZ)?)
}

fn block<const N: usize>(
    criterion: &mut Criterion,
    samples: &[f32],
    marks: &[Mark],
) -> Result<(), Box<dyn Error>> {
    let (extraction, rotation) = (orders::<N>()?, Rotation::through(marks)?);
    let mut group = criterion.benchmark_group(format!("{N} orders"));
    group.throughput(Throughput::Elements(samples.len() as u64));
    group.bench_function("in one piece", |bencher| {
        bencher.iter(|| extraction.extract(black_box(samples), &rotation));
    });
    group.bench_function("streamed", |bencher| {
        bencher.iter(|| {
            let mut stream = extraction.stream::<1024>();
            let mut coming = marks.iter();
            for turn in black_box(samples).chunks(250) {
                for &sample in turn {
                    stream.sample(sample).ok()?;
                }
                stream.mark(*coming.next()?).ok()?;
            }
            stream.finish().ok()
        });
    });
    group.finish();
    Ok(())
}

fn reading(criterion: &mut Criterion) {
    let (samples, marks) = record();
    let mut group = criterion.benchmark_group("reading the samples once");
    group.throughput(Throughput::Elements(samples.len() as u64));
    group.bench_function("sum", |bencher| {
        bencher.iter(|| black_box(&samples).iter().copied().map(f64::from).sum::<f64>())
    });
    group.finish();
    for outcome in [
        block::<1>(criterion, &samples, &marks),
        block::<4>(criterion, &samples, &marks),
        block::<16>(criterion, &samples, &marks),
    ] {
        assert!(outcome.is_ok(), "{outcome:?}");
    }
}

criterion_group!(benches, reading);
criterion_main!(benches);
