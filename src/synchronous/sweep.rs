//! Once per turn against speed: where it is greatest, how sharp that is, and how fast the phase turns where one balances.

use alloc::vec::Vec;

use super::extraction::Extraction;
use super::rotation::Rotation;
use super::speed_slope::SpeedSlope;
use crate::angle::Angle;
use crate::error::SynchronousError;
use crate::math;
use crate::unit::Speed;
use crate::vector::Vibration;

/// Once per turn at a speed of a run-up or a coast-down.
///
/// ```
/// use counterpoise::{PhaseSense, Speed, Vibration, Angle, synchronous::SweepPoint};
/// let vibration = Vibration::from_polar(0.4, PhaseSense::Lag, Angle::from_degrees(95.0)?)?;
/// let point = SweepPoint { speed: Speed::from_rpm(1650.0)?, vibration };
/// assert_eq!(point.vibration.amplitude(), 0.4);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepPoint {
    /// The speed.
    pub speed: Speed,
    /// The vector, in the channel's unit.
    pub vibration: Vibration,
}

/// A value with its standard uncertainty, in the same unit.
///
/// ```
/// let speed = counterpoise::synchronous::WithUncertainty { value: 1648.0, standard_uncertainty: 3.0 };
/// assert_eq!(speed.value, 1648.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WithUncertainty {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

/// The greatest amplitude of a sweep.
///
/// ```
/// # use counterpoise::{Speed, Vibration, synchronous::{Sweep, SweepPoint}};
/// // A resonance at 1500 rpm, one twentieth of critical damping: its half-power Q is 9.90.
/// let points: Vec<SweepPoint> = (0..80)
///     .map(|i| {
///         let rpm = 1100.0 + 10.0 * f64::from(i);
///         let r = rpm / 1500.0;
///         // r²/(1 − r² + 2jζr)
///         let (re, im) = (1.0 - r * r, 0.1 * r);
///         let d = re * re + im * im;
///         let vibration = Vibration::from_components(r * r * re / d, 0.0 - r * r * im / d)?;
///         Ok(SweepPoint { speed: Speed::from_rpm(rpm)?, vibration })
///     })
///     .collect::<Result<_, counterpoise::QuantityError>>()?;
/// let sweep = Sweep::new(points)?;
/// let peak = sweep.peak().ok_or("it has one")?;
/// assert!((peak.rpm.value - 1503.8).abs() < 0.5);
/// let q = peak.half_power_q.ok_or("both sides fall below half power")?;
/// assert!((q.value - 9.90).abs() < 0.03);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SweepPeak {
    /// The speed at which the amplitude is greatest, in rpm.
    pub rpm: WithUncertainty,
    /// The greatest amplitude, in the channel's unit.
    pub amplitude: WithUncertainty,
    /// The speeds on both sides at which the amplitude has fallen to `1/√2` of it, in rpm; `None` on a side where it does not.
    pub half_power_rpm: [Option<WithUncertainty>; 2],
    /// How sharp it is, `Q = N_peak/(N₂ − N₁)`; `None` where one side does not fall to half power.
    pub half_power_q: Option<WithUncertainty>,
}

/// Once per turn against speed, in rising order of speed.
///
/// ```
/// # use counterpoise::{Speed, Vibration, synchronous::{Sweep, SweepPoint}};
/// let point = |rpm, re| -> Result<SweepPoint, counterpoise::QuantityError> {
///     Ok(SweepPoint { speed: Speed::from_rpm(rpm)?, vibration: Vibration::from_components(re, 0.0)? })
/// };
/// // Points may come in any order, as those of a coast-down do.
/// let sweep = Sweep::new(vec![point(1200.0, 0.3)?, point(1100.0, 0.2)?, point(1000.0, 0.15)?])?;
/// assert_eq!(sweep.points()[0].speed.rpm(), 1000.0);
/// assert!(sweep.peak().is_none(), "the amplitude still grows at the end");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    points: Vec<SweepPoint>,
}

impl Sweep {
    /// A sweep from its points, in any order.
    ///
    /// # Errors
    /// [`SynchronousError::TooFewPoints`] below three.
    ///
    /// ```
    /// # use counterpoise::synchronous::Sweep;
    /// assert_eq!(Sweep::new(vec![]).unwrap_err().code(), 1318);
    /// ```
    pub fn new(mut points: Vec<SweepPoint>) -> Result<Self, SynchronousError> {
        if points.len() < 3 {
            return Err(SynchronousError::TooFewPoints { points: points.len(), least: 3 });
        }
        points.sort_by(|one, other| one.speed.rpm().total_cmp(&other.speed.rpm()));
        Ok(Self { points })
    }

    /// The points, in rising order of speed.
    ///
    /// ```
    /// # use counterpoise::{Speed, Vibration, synchronous::{Sweep, SweepPoint}};
    /// # let point = SweepPoint { speed: Speed::from_rpm(900.0)?, vibration: Vibration::ZERO };
    /// assert_eq!(Sweep::new(vec![point; 4])?.points().len(), 4);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn points(&self) -> &[SweepPoint] {
        &self.points
    }

    fn rpm_and_amplitude(&self, at: usize) -> Option<(f64, f64)> {
        self.points.get(at).map(|point| (point.speed.rpm(), point.vibration.amplitude()))
    }

    /// How far the amplitudes scatter about a smooth curve: from what each differs from the line between its neighbours.
    fn amplitude_scatter(&self) -> f64 {
        let apart = |three: &[SweepPoint]| {
            let &[one, two, three] = three else { return 0.0 };
            let [a, b, c] = [one, two, three].map(|point| (point.speed.rpm(), point.vibration.amplitude()));
            let share = if c.0 > a.0 { (b.0 - a.0) / (c.0 - a.0) } else { 0.5 };
            // b − ((1 − s) a + s c), of variance σ² (1 + (1 − s)² + s²)
            let rest = 1.0 - share;
            (b.1 - (rest * a.1 + share * c.1)) / math::sqrt(1.0 + rest * rest + share * share)
        };
        let mut sizes: Vec<f64> = self.points.windows(3).map(|three| apart(three).abs()).collect();
        sizes.sort_by(f64::total_cmp);
        // The median, so that the bends of the peaks do not count: of a normal distribution it is 0.6745 σ.
        sizes.get(sizes.len() / 2).copied().unwrap_or(0.0) / 0.6745
    }

    /// The greatest amplitude, from a parabola through the highest point and its neighbours; `None` where the first or the
    /// last point is the highest. The uncertainties are those of the scatter of the points about a smooth curve.
    ///
    /// What it says is of the sweep as it was run: a fast run-up passes its greatest amplitude above the resonance, and a fast
    /// coast-down below it.
    ///
    /// ```
    /// # use counterpoise::{Speed, Vibration, synchronous::{Sweep, SweepPoint}};
    /// let amplitudes = [(1000.0, 0.2), (1010.0, 0.4), (1020.0, 0.5), (1030.0, 0.4), (1040.0, 0.2)];
    /// let points = amplitudes.map(|(rpm, re)| {
    ///     Ok(SweepPoint { speed: Speed::from_rpm(rpm)?, vibration: Vibration::from_components(re, 0.0)? })
    /// });
    /// let points = points.into_iter().collect::<Result<_, counterpoise::QuantityError>>()?;
    /// assert!((Sweep::new(points)?.peak().ok_or("it has one")?.rpm.value - 1020.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn peak(&self) -> Option<SweepPeak> {
        let amplitudes = self.points.iter().map(|point| point.vibration.amplitude()).enumerate();
        let (top, _) =
            amplitudes.fold((0, -1.0), |best, (at, value)| if value > best.1 { (at, value) } else { best });
        let sigma = self.amplitude_scatter();
        let (n0, a0) = self.rpm_and_amplitude(top.checked_sub(1)?)?;
        let (n1, a1) = self.rpm_and_amplitude(top)?;
        let (n2, a2) = self.rpm_and_amplitude(top + 1)?;
        let (h0, h1) = (n1 - n0, n2 - n1);
        if !(h0 > 0.0 && h1 > 0.0) {
            return None;
        }
        // a(n₁ + x) = a₁ + b x + c x²
        let (d0, d1) = ((a1 - a0) / h0, (a2 - a1) / h1);
        let c = (d1 - d0) / (h0 + h1);
        let b = d0 + (d1 - d0) * (h0 / (h0 + h1));
        if c >= 0.0 {
            return None;
        }
        let x = -0.5 * b / c;
        let (rpm, amplitude) = (n1 + x, a1 - 0.25 * b * b / c);
        // The slope of the parabola scatters as the difference of the outer points does.
        let of_slope = sigma * math::sqrt(2.0) / (h0 + h1);
        let of_rpm = of_slope / (2.0 * c.abs());
        let half_power = amplitude / math::sqrt(2.0);
        let sides =
            [self.falls_to(half_power, top, sigma, false), self.falls_to(half_power, top, sigma, true)];
        let half_power_q = match sides {
            [Some(low), Some(high)] => {
                let width = high.value - low.value;
                // Q = N/w: (u_Q/Q)² = (u_N/N)² + (u₁² + u₂²)/w²
                let q = rpm / width;
                let of_width = math::hypot(low.standard_uncertainty, high.standard_uncertainty) / width;
                let standard_uncertainty = q * math::hypot(of_rpm / rpm, of_width);
                Some(WithUncertainty { value: q, standard_uncertainty })
            }
            _ => None,
        };
        Some(SweepPeak {
            rpm: WithUncertainty { value: rpm, standard_uncertainty: of_rpm },
            amplitude: WithUncertainty { value: amplitude, standard_uncertainty: sigma },
            half_power_rpm: sides,
            half_power_q,
        })
    }

    /// The speed nearest to the top, on one side of it, at which the amplitude passes a level.
    fn falls_to(&self, level: f64, top: usize, sigma: f64, upwards: bool) -> Option<WithUncertainty> {
        let mut inner = top;
        loop {
            let outer = if upwards { inner + 1 } else { inner.checked_sub(1)? };
            let ((n0, a0), (n1, a1)) = (self.rpm_and_amplitude(inner)?, self.rpm_and_amplitude(outer)?);
            if a1 <= level && a0 > a1 {
                let slope = (a0 - a1) / (n0 - n1);
                let share = (a0 - level) / (a0 - a1);
                // The level has the scatter of the peak over √2, the amplitudes on both sides theirs.
                let rest = 1.0 - share;
                let size = sigma * math::sqrt(0.5 + rest * rest + share * share);
                let value = n0 + share * (n1 - n0);
                return Some(WithUncertainty { value, standard_uncertainty: size / slope.abs() });
            }
            inner = outer;
        }
    }

    /// How fast amplitude and phase change with speed about a speed: straight lines through the points within so many
    /// percent of it. `None` with fewer than three points there, or where one of them shows no vibration.
    ///
    /// A phase that turns fast says that a resonance is near: then a small difference of speed between runs is a large one
    /// in the readings.
    ///
    /// ```
    /// # use counterpoise::{Angle, PhaseSense, Speed, Vibration, synchronous::{Sweep, SweepPoint}};
    /// // The lag grows by 1 degree for every 10 rpm.
    /// let points = (0..21).map(|i| {
    ///     let rpm = 900.0 + 10.0 * f64::from(i);
    ///     let vibration = Vibration::from_polar(0.3, PhaseSense::Lag, Angle::from_degrees(350.0 + f64::from(i))?)?;
    ///     Ok(SweepPoint { speed: Speed::from_rpm(rpm)?, vibration })
    /// });
    /// let sweep = Sweep::new(points.collect::<Result<_, counterpoise::QuantityError>>()?)?;
    /// let slope = sweep.slope_at(Speed::from_rpm(1000.0)?, 5.0).ok_or("eleven points")?;
    /// assert!((slope.lag_degrees_per_percent - 1.0).abs() < 1e-9 && slope.amplitude_percent_per_percent.abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn slope_at(&self, speed: Speed, within_percent: f64) -> Option<SpeedSlope> {
        let at = speed.rpm();
        let percent = |point: &SweepPoint| 100.0 * (point.speed.rpm() / at - 1.0);
        let inside: Vec<&SweepPoint> =
            self.points.iter().filter(|point| percent(point).abs() <= within_percent).collect();
        let mut lines = [Line::default(); 2];
        let mut lag = 0.0;
        let mut last: Option<Angle> = None;
        for point in &inside {
            let amplitude = point.vibration.amplitude();
            if amplitude <= 0.0 {
                return None;
            }
            let phase = point.vibration.phase(crate::angle::PhaseSense::Lag);
            if let Some(last) = last {
                let turned = (phase - last).degrees();
                lag += if turned > 180.0 { turned - 360.0 } else { turned };
            }
            last = Some(phase);
            lines[0].add(percent(point), lag);
            lines[1].add(percent(point), amplitude);
        }
        let [of_lag, of_amplitude] = lines;
        let (lag, _) = of_lag.fitted()?;
        let (amplitude, middle) = of_amplitude.fitted()?;
        (middle > 0.0).then(|| SpeedSlope {
            lag_degrees_per_percent: lag,
            amplitude_percent_per_percent: 100.0 * amplitude / middle,
        })
    }
}

impl<const ORDERS: usize> Extraction<ORDERS> {
    /// Once per turn against speed from the record of a run-up or a coast-down: a point for every so many stretches between
    /// marks, at their mean speed. The fewer, the better a point holds one speed, and the more it scatters; three at least.
    /// Marks before the first sample and after the last are not used.
    ///
    /// # Errors
    /// As [`extract`](Extraction::extract), for the first point that cannot be made; [`SynchronousError::TooFewPoints`] where
    /// there are not three.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark, Rotation};
    /// // From 10 to 30 turns a second in 20 s; the amplitude is a hundredth of the turns a second.
    /// let turned = |t: f64| 10.0 * t + 0.5 * t * t;
    /// let passing = |turn: f64| libm::sqrt(100.0 + 2.0 * turn) - 10.0;
    /// let marks: Vec<Mark> = (0..400).map(f64::from).map(|turns| Mark { seconds: passing(turns), turns }).collect();
    /// let samples: Vec<f64> = (0..20_000)
    ///     .map(|i| f64::from(i) / 1000.0)
    ///     .map(|t| 0.01 * (10.0 + t) * libm::cos(core::f64::consts::TAU * turned(t)))
    ///     .collect();
    /// let sweep = Extraction::once_per_turn(1000.0)?.sweep(&samples, &Rotation::through(&marks)?, 4)?;
    /// assert_eq!(sweep.points().len(), 99);
    /// for point in sweep.points() {
    ///     assert!((point.vibration.amplitude() - 0.01 * point.speed.hertz()).abs() < 1e-3);
    /// }
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn sweep<T: Copy + Into<f64>>(
        &self,
        samples: &[T],
        rotation: &Rotation<'_>,
        stretches_per_point: usize,
    ) -> Result<Sweep, SynchronousError> {
        let step = stretches_per_point.max(3);
        let mut points = Vec::new();
        let mut rest = self.sampled(rotation.marks(), samples.len());
        while let Some(marks) = rest.get(..=step) {
            let vector = self.extract(samples, &Rotation::through(marks)?)?;
            points.push(SweepPoint { speed: vector.speed.mean, vibration: vector.once_per_turn() });
            rest = rest.get(step..).unwrap_or(&[]);
        }
        Sweep::new(points)
    }
}

/// Sums of a straight line through points.
#[derive(Debug, Clone, Copy, Default)]
struct Line {
    count: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
}

impl Line {
    fn add(&mut self, x: f64, y: f64) {
        self.count += 1.0;
        self.x += x;
        self.y += y;
        self.xx += x * x;
        self.xy += x * y;
    }

    /// Its slope, and its value at 0.
    fn fitted(&self) -> Option<(f64, f64)> {
        let (x, y) = (self.x / self.count, self.y / self.count);
        let spread = self.xx / self.count - x * x;
        let slope = (self.xy / self.count - x * y) / spread;
        (self.count >= 3.0 && spread > 0.0).then_some((slope, y - slope * x))
    }
}
