//! Once per turn, and other orders, of a record in a file: what `tests/beside_numpy/compare.py` calls.
//!
//! `cargo run --release --example extract_record -- SAMPLES PULSES RATE ORDERS`
//!
//! Both files hold little-endian doubles: samples, and pulse times in seconds. `ORDERS` is 1, 4 or 16: once per turn alone,
//! or with so many of 2, 3, 4, ... after it. Prints one line an order: order, real and imaginary part; then the covariance
//! of once per turn; then samples per second that were extracted, in one piece and as a stream.

#![allow(clippy::disallowed_methods, clippy::cast_precision_loss)] // a program computes as it likes
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // of counts

use std::error::Error;
use std::time::Instant;

use counterpoise::synchronous::{Extraction, MarkPattern, Order, PulseTrain, Rotation};

fn doubles(path: &str) -> Result<Vec<f64>, Box<dyn Error>> {
    let bytes = std::fs::read(path)?;
    let double = |bytes: &[u8]| bytes.try_into().map_or(f64::NAN, f64::from_le_bytes);
    Ok(bytes.chunks_exact(8).map(double).collect())
}

fn orders<const N: usize>() -> [Order; N] {
    let mut orders = [Order::ONCE_PER_TURN; N];
    for (order, per_turn) in orders.iter_mut().zip(1_u16..) {
        *order = Order::of_rotor(f64::from(per_turn)).unwrap_or(Order::ONCE_PER_TURN);
    }
    orders
}

fn show<const N: usize>(samples: &[f64], rotation: &Rotation<'_>, rate: f64) -> Result<(), Box<dyn Error>> {
    let extraction = Extraction::new(orders::<N>(), rate)?;
    let mut best = f64::INFINITY;
    let mut vector = extraction.extract(samples, rotation)?;
    for _ in 0..5 {
        let start = Instant::now();
        vector = extraction.extract(samples, rotation)?;
        best = best.min(start.elapsed().as_secs_f64());
    }
    for (order, vector) in vector.orders.iter().zip(&vector.vectors) {
        println!("{:?} {:?} {:?}", order.per_turn(), vector.complex().re, vector.complex().im);
    }
    if let Some(scatter) = vector.scatter {
        let [[a, b], [_, d]] = scatter.covariance();
        println!("covariance {a:?} {b:?} {d:?}");
    }
    let mut streamed = f64::INFINITY;
    for _ in 0..5 {
        let mut stream = extraction.stream::<65_536>();
        let mut marks = rotation.marks().iter().copied().peekable();
        let start = Instant::now();
        let mut next = marks.peek().map_or(f64::INFINITY, |mark| mark.seconds * rate);
        for (i, &sample) in samples.iter().enumerate() {
            stream.sample(sample)?;
            if i as f64 >= next {
                while let Some(mark) = marks.next_if(|mark| mark.seconds * rate <= i as f64) {
                    stream.mark(mark)?;
                }
                next = marks.peek().map_or(f64::INFINITY, |mark| mark.seconds * rate);
            }
        }
        stream.finish()?;
        streamed = streamed.min(start.elapsed().as_secs_f64());
    }
    let count = samples.len() as f64;
    println!("samples_per_second {:.0} {:.0}", count / best, count / streamed);
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [samples, pulses, rate, count] = arguments.as_slice() else {
        // Without files there is nothing to extract: a record of its own, to show the form.
        let samples: Vec<f64> = (0..5000).map(|i| (0.1 * f64::from(i)).cos()).collect();
        let pulses: Vec<f64> = (0..79).map(|n| 0.001 * std::f64::consts::TAU / 0.1 * f64::from(n)).collect();
        let train = PulseTrain::read(&pulses, MarkPattern::ONE)?;
        return show::<1>(&samples, &train.rotation()?, 1000.0);
    };
    let (samples, pulses, rate) = (doubles(samples)?, doubles(pulses)?, rate.parse::<f64>()?);
    let train = PulseTrain::read(&pulses, MarkPattern::ONE)?;
    let rotation = train.rotation()?;
    match count.as_str() {
        "1" => show::<1>(&samples, &rotation, rate),
        "4" => show::<4>(&samples, &rotation, rate),
        "16" => show::<16>(&samples, &rotation, rate),
        other => Err(format!("{other} orders: 1, 4 or 16").into()),
    }
}
