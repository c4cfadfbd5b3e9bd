//! The sums of the least squares: every sample once, at the angle the shaft had, without a stored table of angles.
//!
//! A sample y at the angle θ is a sum of orders, a constant and a slow drift,
//!
//! ```text
//! y = Σ_o a_o cos oθ + b_o sin oθ + c₀ + c₁ t + noise
//! ```
//!
//! and all that is kept of it are its products with these functions, and theirs with one another. The angles come from one
//! rotation of a phasor per sample; it starts anew from the exact angle every [`CHUNK`] samples.

#![allow(clippy::indexing_slicing, clippy::needless_range_loop)] // every index is below CHUNK, SUMS, LANES or the number of orders

use super::rotation::{Stretch, phasor};

/// After so many samples the phasors start anew: few enough that rounding stays below 5e-13 on the steepest sweeps, and
/// near 1e-14 at nearly steady speed.
pub(super) const CHUNK: usize = 128;
/// Phasors that go on side by side, each from every fourth sample to the next.
const LANES: usize = 4;
/// Sums that go on side by side.
const SUMS: usize = 4;

/// 0, 1, 2, ...
const INDEX: [f64; CHUNK] = {
    let mut index = [0.0; CHUNK];
    let mut at = 1;
    while at < CHUNK {
        index[at] = index[at - 1] + 1.0;
        at += 1;
    }
    index
};

type Complex = [f64; 2];
/// Products of one pair of functions with another pair.
pub(super) type Block = [[f64; 2]; 2];

const fn times(a: Complex, b: Complex) -> Complex {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}

/// The sums over samples of all products: cosine and sine of every order, the constant and the time, and the sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sums<const N: usize> {
    /// `orders[i][k]`, for k ≤ i: products of cosine and sine of order i with those of order k.
    pub(super) orders: [[Block; N]; N],
    /// Products of cosine and sine of every order with 1 and t.
    pub(super) drift: [Block; N],
    /// Σ1, Σt, Σt².
    pub(super) times: [f64; 3],
    /// Products of cosine and sine of every order with the sample.
    pub(super) values: [[f64; 2]; N],
    /// Σy, Σty.
    pub(super) value_times: [f64; 2],
    /// Σy².
    pub(super) squares: f64,
}

impl<const N: usize> Sums<N> {
    pub(super) const ZERO: Self = Self {
        orders: [[[[0.0; 2]; 2]; N]; N],
        drift: [[[0.0; 2]; 2]; N],
        times: [0.0; 3],
        values: [[0.0; 2]; N],
        value_times: [0.0; 2],
        squares: 0.0,
    };

    pub(super) fn add(&mut self, other: &Self) {
        for (row, others) in self.orders.iter_mut().zip(&other.orders) {
            for (block, other) in row.iter_mut().zip(others) {
                add_block(block, other);
            }
        }
        for (block, other) in self.drift.iter_mut().zip(&other.drift) {
            add_block(block, other);
        }
        for (pair, others) in self.values.iter_mut().zip(&other.values) {
            add_to(pair, others);
        }
        add_to(&mut self.times, &other.times);
        add_to(&mut self.value_times, &other.value_times);
        self.squares += other.squares;
    }
}

pub(super) fn add_block(block: &mut Block, other: &Block) {
    for (row, others) in block.iter_mut().zip(other) {
        add_to(row, others);
    }
}

fn add_to(sums: &mut [f64], others: &[f64]) {
    for (sum, other) in sums.iter_mut().zip(others) {
        *sum += other;
    }
}

/// How the samples of a stretch become sums.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sampling<const N: usize> {
    pub(super) orders: [f64; N],
    /// Samples a second.
    pub(super) rate: f64,
    /// The instant that the drift is counted from.
    pub(super) origin_seconds: f64,
    /// What is taken off every sample first, so that a large constant costs no digits.
    pub(super) offset: f64,
    /// Samples at or beyond these are saturated, and left out.
    pub(super) limits: Option<[f64; 2]>,
}

/// What became of the samples of a stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Counted {
    pub(super) used: u64,
    pub(super) saturated: u64,
    /// The first sample that is not finite, from the start of the stretch.
    pub(super) not_finite: Option<usize>,
}

/// Adds the samples of a stretch. `first` is the number of the first of them; sample i was taken at i/rate.
pub(super) fn accumulate<const N: usize, T: Copy + Into<f64>>(
    sums: &mut Sums<N>,
    stretch: &Stretch,
    sampling: &Sampling<N>,
    first: u64,
    samples: &[T],
) -> Counted {
    let mut counted = Counted::default();
    let mut number = first;
    for (at, chunk) in samples.chunks(CHUNK).enumerate() {
        let mut values = [0.0; CHUNK];
        let (mut left_out, mut squares) = (0, 0.0);
        if let Some([low, high]) = sampling.limits {
            let mut saturated = [false; CHUNK];
            for ((place, out), &sample) in values.iter_mut().zip(&mut saturated).zip(chunk) {
                let value: f64 = sample.into();
                *out = value <= low || value >= high;
                left_out += u64::from(*out);
                *place = if *out { 0.0 } else { value - sampling.offset };
            }
            let mask = (left_out > 0).then_some(&saturated);
            squares += add_chunk(sums, stretch, sampling, number, chunk.len(), &values, mask);
        } else {
            for (place, &sample) in values.iter_mut().zip(chunk) {
                let value: f64 = sample.into();
                *place = value - sampling.offset;
            }
            squares += add_chunk(sums, stretch, sampling, number, chunk.len(), &values, None);
        }
        // One sample that is not finite leaves no sum of squares finite.
        if !squares.is_finite() && counted.not_finite.is_none() {
            let bad = values.iter().position(|value| !value.is_finite());
            counted.not_finite = bad.map(|bad| at * CHUNK + bad);
        }
        let length = chunk.len() as u64;
        counted.used += length - left_out;
        counted.saturated += left_out;
        number += length;
    }
    counted
}

fn add_chunk<const N: usize>(
    sums: &mut Sums<N>,
    stretch: &Stretch,
    sampling: &Sampling<N>,
    number: u64,
    length: usize,
    values: &[f64; CHUNK],
    saturated: Option<&[bool; CHUNK]>,
) -> f64 {
    #[allow(clippy::cast_precision_loss)] // sample numbers stay far below 2⁵³
    let seconds = number as f64 / sampling.rate;
    let step = 1.0 / sampling.rate;
    let [c1, c2, c3] = stretch.coefficients();
    let d = seconds - stretch.start().seconds;
    // turns(d + k h) = p₀ + k p₁ + k² p₂ + k³ p₃
    let turned = [
        stretch.start().turns + d * (c1 + d * (c2 + d * c3)),
        step * (c1 + d * (2.0 * c2 + d * (3.0 * c3))),
        step * step * (c2 + d * (3.0 * c3)),
        step * step * step * c3,
    ];
    let mut waves = [[[0.0; CHUNK]; 2]; N];
    for (wave, order) in waves.iter_mut().zip(sampling.orders) {
        phasors(turned.map(|turns| order * turns), wave);
    }
    let start = seconds - sampling.origin_seconds;
    let mut times = INDEX.map(|index| start + index * step);
    #[allow(clippy::cast_precision_loss)] // at most a chunk
    let mut count = length as f64;
    // A sample that is not there, or is left out, counts nothing in any sum.
    let mut leave_out = |at: usize, times: &mut Values| {
        times[at] = 0.0;
        for wave in &mut waves {
            wave[0][at] = 0.0;
            wave[1][at] = 0.0;
        }
    };
    for at in length..CHUNK {
        leave_out(at, &mut times);
    }
    let mut of_times = time_squares(start, step, count);
    if let Some(saturated) = saturated {
        for (at, _) in saturated.iter().enumerate().take(length).filter(|(_, saturated)| **saturated) {
            leave_out(at, &mut times);
            count -= 1.0;
        }
        of_times = summed_squares(&times);
    }
    for i in 0..N {
        let [cosine, sine] = &waves[i];
        for k in 0..i {
            let [other_cosine, other_sine] = &waves[k];
            add_block(&mut sums.orders[i][k], &products(cosine, sine, other_cosine, other_sine));
        }
        let [[cc, cs], [c, s], [ct, st], [cy, sy]] = own_products(cosine, sine, &times, values);
        // cos² + sin² = 1
        add_block(&mut sums.orders[i][i], &[[cc, cs], [cs, count - cc]]);
        add_block(&mut sums.drift[i], &[[c, ct], [s, st]]);
        add_to(&mut sums.values[i], &[cy, sy]);
    }
    let [t, tt] = of_times;
    let [y, ty, yy] = value_products(&times, values);
    add_to(&mut sums.times, &[count, t, tt]);
    add_to(&mut sums.value_times, &[y, ty]);
    sums.squares += yy;
    yy
}

type Values = [f64; CHUNK];

/// Products of cosine and sine of one order with those of another.
fn products(cosine: &Values, sine: &Values, other_cosine: &Values, other_sine: &Values) -> Block {
    let mut sums = [[[0.0; SUMS]; 2]; 2];
    let ones = cosine.chunks_exact(SUMS).zip(sine.chunks_exact(SUMS));
    let others = other_cosine.chunks_exact(SUMS).zip(other_sine.chunks_exact(SUMS));
    for ((c, s), (oc, os)) in ones.zip(others) {
        for l in 0..SUMS {
            sums[0][0][l] += c[l] * oc[l];
            sums[0][1][l] += c[l] * os[l];
            sums[1][0][l] += s[l] * oc[l];
            sums[1][1][l] += s[l] * os[l];
        }
    }
    sums.map(|row| row.map(in_pairs))
}

/// Σcos², Σcos sin; Σcos, Σsin; Σt cos, Σt sin; Σy cos, Σy sin.
fn own_products(cosine: &Values, sine: &Values, times: &Values, values: &Values) -> [[f64; 2]; 4] {
    let mut sums = [[[0.0; SUMS]; 2]; 4];
    let waves = cosine.chunks_exact(SUMS).zip(sine.chunks_exact(SUMS));
    let others = times.chunks_exact(SUMS).zip(values.chunks_exact(SUMS));
    for ((c, s), (t, y)) in waves.zip(others) {
        for l in 0..SUMS {
            sums[0][0][l] += c[l] * c[l];
            sums[0][1][l] += c[l] * s[l];
            sums[1][0][l] += c[l];
            sums[1][1][l] += s[l];
            sums[2][0][l] += c[l] * t[l];
            sums[2][1][l] += s[l] * t[l];
            sums[3][0][l] += c[l] * y[l];
            sums[3][1][l] += s[l] * y[l];
        }
    }
    sums.map(|row| row.map(in_pairs))
}

/// Σt, Σt² of n samples in a row: n m and n (m² + h² (n² − 1)/12), about their middle m.
fn time_squares(start: f64, step: f64, n: f64) -> [f64; 2] {
    let middle = start + 0.5 * step * (n - 1.0);
    [n * middle, n * (middle * middle + step * step * (n * n - 1.0) / 12.0)]
}

/// Σt, Σt² of a chunk of which samples are left out.
fn summed_squares(times: &Values) -> [f64; 2] {
    let mut sums = [[0.0; SUMS]; 2];
    for t in times.chunks_exact(SUMS) {
        for l in 0..SUMS {
            sums[0][l] += t[l];
            sums[1][l] += t[l] * t[l];
        }
    }
    sums.map(in_pairs)
}

/// Σy, Σty, Σy².
fn value_products(times: &Values, values: &Values) -> [f64; 3] {
    let mut sums = [[0.0; SUMS]; 3];
    for (t, y) in times.chunks_exact(SUMS).zip(values.chunks_exact(SUMS)) {
        for l in 0..SUMS {
            sums[0][l] += y[l];
            sums[1][l] += t[l] * y[l];
            sums[2][l] += y[l] * y[l];
        }
    }
    sums.map(in_pairs)
}

fn in_pairs(s: [f64; SUMS]) -> f64 {
    (s[0] + s[2]) + (s[1] + s[3])
}

/// Cosine and sine of 2π (p₀ + k p₁ + k² p₂ + k³ p₃) for k = 0, 1, ...
fn phasors([p0, p1, p2, p3]: [f64; 4], [cosines, sines]: &mut [Values; 2]) {
    // From one sample to the next the phasor turns by u_k, u_k itself by r_k, and r_k by the same always.
    let mut z = phasor(p0);
    let mut u = phasor(p1 + p2 + p3);
    let mut r = phasor(2.0 * p2 + 6.0 * p3);
    let always = phasor(6.0 * p3);
    let mut turns = [[1.0, 0.0]; 2 * LANES];
    let mut lanes = [[0.0; LANES]; 2];
    for (at, turn) in turns.iter_mut().enumerate() {
        if at < LANES {
            lanes[0][at] = z[0];
            lanes[1][at] = z[1];
        }
        *turn = u;
        z = times(z, u);
        u = times(u, r);
        r = times(r, always);
    }
    // Each lane goes on by four samples: its turn w is four u, w turns by v, and v by the same always.
    let mut w = [[0.0; LANES]; 2];
    let mut v = [[0.0; LANES]; 2];
    let mut next = phasor(32.0 * p2 + 384.0 * p3);
    let lane = phasor(96.0 * p3);
    for at in 0..LANES {
        let four = times(times(turns[at], turns[at + 1]), times(turns[at + 2], turns[at + 3]));
        w[0][at] = four[0];
        w[1][at] = four[1];
        v[0][at] = next[0];
        v[1][at] = next[1];
        next = times(next, lane);
    }
    let [g0, g1] = phasor(384.0 * p3);
    for (cosine, sine) in cosines.chunks_exact_mut(LANES).zip(sines.chunks_exact_mut(LANES)) {
        for l in 0..LANES {
            let (z0, z1, w0, w1, v0, v1) = (lanes[0][l], lanes[1][l], w[0][l], w[1][l], v[0][l], v[1][l]);
            cosine[l] = z0;
            sine[l] = z1;
            lanes[0][l] = z0 * w0 - z1 * w1;
            lanes[1][l] = z0 * w1 + z1 * w0;
            w[0][l] = w0 * v0 - w1 * v1;
            w[1][l] = w0 * v1 + w1 * v0;
            v[0][l] = v0 * g0 - v1 * g1;
            v[1][l] = v0 * g1 + v1 * g0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is compared with: the exact angle of every sample.
    #[test]
    fn the_phasors_are_those_of_the_exact_angles() {
        let cases = [
            [0.25, 0.01, 0.0, 0.0],
            [123_456.3, 0.013, 2e-6, -3e-9],
            [-7.5, 0.49, -1e-4, 1e-7],
            [0.0, 0.25, 1e-3, -1e-5],
        ];
        for p in cases {
            let mut waves = [[0.0; CHUNK]; 2];
            phasors(p, &mut waves);
            let [cosines, sines] = waves;
            for k in 0..CHUNK {
                #[allow(clippy::cast_precision_loss)]
                let x = k as f64;
                let turns = p[0] + x * (p[1] + x * (p[2] + x * p[3]));
                let [cosine, sine] = phasor(turns);
                // Rounding of the angle itself: 2π times half a unit in the last place of the turns.
                let rounding = 5e-13 + 4.0 * f64::EPSILON * turns.abs();
                assert!((cosines[k] - cosine).abs() < rounding, "{p:?} {k}: {} {cosine}", cosines[k]);
                assert!((sines[k] - sine).abs() < rounding, "{p:?} {k}");
            }
        }
    }
}
