//! Where the shaft was at every instant: a smooth curve through the marks that it passed.

use core::f64::consts::PI;

use crate::error::SynchronousError;
use crate::math;
use crate::unit::Speed;

/// A passing of a mark: the instant, and how far the shaft had turned.
///
/// ```
/// use counterpoise::synchronous::Mark;
/// let second_passing = Mark { seconds: 0.050, turns: 1.0 };
/// assert_eq!(second_passing.turns, 1.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// The instant, in seconds on the clock of the samples: that of the first sample is 0.
    pub seconds: f64,
    /// How far the shaft had turned: a whole number whenever the reference mark passes its pickup.
    pub turns: f64,
}

/// The shaft between two neighbouring marks: turned by a cubic in time that passes both at their instants, with a speed
/// that goes on smoothly into the stretches beside it.
///
/// With h the time between the marks and d that since the first,
///
/// ```text
/// turns(d) = n₀ + s₀ d + (3 Δ − 2 s₀ − s₁) d²/h + (s₀ + s₁ − 2 Δ) d³/h²,   Δ = (n₁ − n₀)/h
/// ```
///
/// where the speed s at a mark is that of the parabola through it and its neighbours: exact where the speed changes evenly.
///
/// ```
/// use counterpoise::synchronous::{Mark, Rotation};
/// let marks = [0.00, 0.05, 0.10, 0.15].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
/// let stretch = Rotation::through(&marks)?.stretches().nth(1).ok_or("three stretches")?;
/// assert!((stretch.turns_at(0.075) - 1.5).abs() < 1e-15);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    start: Mark,
    end: Mark,
    /// In turns per second.
    speed_at_start: f64,
    /// In turns per second.
    speed_at_end: f64,
}

impl Stretch {
    /// The stretch between two marks, with the mark before them and the one after, where there are such.
    pub(super) fn between(before: Option<Mark>, start: Mark, end: Mark, after: Option<Mark>) -> Self {
        let mean = (end.turns - start.turns) / (end.seconds - start.seconds);
        let at_start = before.map(|before| speed_between(before, start, end));
        let at_end = after.map(|after| speed_between(start, end, after));
        // Where there is no neighbour, the parabola of the other side goes on: s₀ + s₁ = 2 Δ.
        let (speed_at_start, speed_at_end) = match (at_start, at_end) {
            (Some(s0), Some(s1)) => (s0, s1),
            (Some(s0), None) => (s0, mean + (mean - s0)),
            (None, Some(s1)) => (mean + (mean - s1), s1),
            (None, None) => (mean, mean),
        };
        Self { start, end, speed_at_start, speed_at_end }
    }

    /// The mark at which it starts.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// # let marks = [0.00, 0.05, 0.10, 0.15].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// # let stretch = Rotation::through(&marks)?.stretches().next().ok_or("three stretches")?;
    /// assert_eq!(stretch.start(), marks[0]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn start(&self) -> Mark {
        self.start
    }

    /// The mark at which it ends.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// # let marks = [0.00, 0.05, 0.10, 0.15].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// # let stretch = Rotation::through(&marks)?.stretches().next().ok_or("three stretches")?;
    /// assert_eq!(stretch.end(), marks[1]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn end(&self) -> Mark {
        self.end
    }

    /// How far the shaft had turned at an instant; beyond the stretch the cubic goes on.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// # let marks = [0.00, 0.05, 0.10, 0.15].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// # let stretch = Rotation::through(&marks)?.stretches().next().ok_or("three stretches")?;
    /// assert!((stretch.turns_at(0.05) - 1.0).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn turns_at(&self, seconds: f64) -> f64 {
        let [c1, c2, c3] = self.coefficients();
        let d = seconds - self.start.seconds;
        self.start.turns + d * (c1 + d * (c2 + d * c3))
    }

    /// The coefficients of d, d² and d³: turns per second, per second squared and cubed.
    pub(super) fn coefficients(&self) -> [f64; 3] {
        let h = self.end.seconds - self.start.seconds;
        let mean = (self.end.turns - self.start.turns) / h;
        let (s0, s1) = (self.speed_at_start, self.speed_at_end);
        // (3 Δ − 2 s₀ − s₁)/h, (s₀ + s₁ − 2 Δ)/h²: as differences from Δ, which vanish at steady speed
        [s0, ((mean - s0) + (mean - s0) + (mean - s1)) / h, ((s0 - mean) + (s1 - mean)) / (h * h)]
    }
}

/// The speed of the parabola through three marks, at the middle one: each side's speed weighs as the other side is long.
fn speed_between(before: Mark, at: Mark, after: Mark) -> f64 {
    let (h0, h1) = (at.seconds - before.seconds, after.seconds - at.seconds);
    let (d0, d1) = ((at.turns - before.turns) / h0, (after.turns - at.turns) / h1);
    // (h₁ d₀ + h₀ d₁)/(h₀ + h₁)
    d0 + (d1 - d0) * (h0 / (h0 + h1))
}

/// What the marks say of the speed.
///
/// ```
/// use counterpoise::synchronous::{Mark, Rotation};
/// let marks = [0.00, 0.05, 0.10, 0.15].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
/// let speed = Rotation::through(&marks)?.speed();
/// assert!((speed.mean.rpm() - 1200.0).abs() < 1e-9 && speed.drift_rpm_per_second.abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedSummary {
    /// All turns between the first and the last mark, over the time between them.
    pub mean: Speed,
    /// The slowest stretch between two marks.
    pub lowest: Speed,
    /// The fastest.
    pub highest: Speed,
    /// The slope of the straight line that fits the speeds of the stretches best, in rpm per second.
    pub drift_rpm_per_second: f64,
    /// How far the speeds of the stretches lie from that line: the root of their mean square, in rpm.
    pub spread_rpm: f64,
}

/// The sums from which a [`SpeedSummary`] is made, one stretch after the other: the same in one piece and as it comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SpeedSums {
    first: Mark,
    last: Mark,
    lowest: f64,
    highest: f64,
    count: f64,
    /// Means and sums of squares about them, of the middle instant t and the speed s of every stretch.
    mean_t: f64,
    mean_s: f64,
    tt: f64,
    ts: f64,
    ss: f64,
}

impl SpeedSums {
    pub(super) const fn new(first: Mark) -> Self {
        let (lowest, highest) = (f64::INFINITY, 0.0);
        Self {
            first,
            last: first,
            lowest,
            highest,
            count: 0.0,
            mean_t: 0.0,
            mean_s: 0.0,
            tt: 0.0,
            ts: 0.0,
            ss: 0.0,
        }
    }

    pub(super) fn add(&mut self, stretch: &Stretch) {
        let (start, end) = (stretch.start, stretch.end);
        let speed = (end.turns - start.turns) / (end.seconds - start.seconds);
        let middle = 0.5 * (start.seconds + end.seconds);
        self.last = end;
        self.lowest = self.lowest.min(speed);
        self.highest = self.highest.max(speed);
        self.count += 1.0;
        // Welford: the mean moves by δ/n, and the sums by δ times what is left of it.
        let (dt, ds) = (middle - self.mean_t, speed - self.mean_s);
        self.mean_t += dt / self.count;
        self.mean_s += ds / self.count;
        self.tt += dt * (middle - self.mean_t);
        self.ts += dt * (speed - self.mean_s);
        self.ss += ds * (speed - self.mean_s);
    }

    pub(super) fn turns(&self) -> f64 {
        self.last.turns - self.first.turns
    }

    /// In turns per second.
    pub(super) const fn highest(&self) -> f64 {
        self.highest
    }

    /// What the stretches say together; for one at least.
    pub(super) fn summary(&self) -> SpeedSummary {
        const RPM: f64 = 60.0;
        let rpm = |turns_per_second: f64| Speed::canonical(RPM * turns_per_second);
        let slope = if self.tt > 0.0 { self.ts / self.tt } else { 0.0 };
        // Σ(s − line)² = Σss − (Σts)²/Σtt
        let left = (self.ss - slope * self.ts).max(0.0);
        SpeedSummary {
            mean: rpm(self.turns() / (self.last.seconds - self.first.seconds)),
            lowest: rpm(self.lowest),
            highest: rpm(self.highest),
            drift_rpm_per_second: RPM * slope,
            spread_rpm: RPM * math::sqrt(left / self.count.max(1.0)),
        }
    }
}

/// The shaft's rotation through marks that are known to be right; `PulseTrain` makes them of pulses as they come.
///
/// ```
/// use counterpoise::synchronous::{Mark, Rotation};
/// // A shaft that speeds up evenly: n = 20 t + t².
/// let marks = [0.00, 0.05, 0.10, 0.15, 0.20].map(|seconds| Mark { seconds, turns: seconds * (20.0 + seconds) });
/// let rotation = Rotation::through(&marks)?;
/// assert!((rotation.turns_at(0.12).ok_or("between the marks")? - 0.12 * 20.12).abs() < 1e-14);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rotation<'a> {
    marks: &'a [Mark],
}

impl<'a> Rotation<'a> {
    /// The rotation through marks in the order in which they passed.
    ///
    /// # Errors
    /// [`SynchronousError::TooFewMarks`] below three; [`SynchronousError::MarkOutOfOrder`] where an instant or a turn is not
    /// finite, not after the one before it, or beyond range.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// let backwards = [0.00, 0.05, 0.04].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// assert_eq!(Rotation::through(&backwards).unwrap_err().code(), 1302);
    /// ```
    pub fn through(marks: &'a [Mark]) -> Result<Self, SynchronousError> {
        if marks.len() < 3 {
            return Err(SynchronousError::TooFewMarks { marks: marks.len() });
        }
        for (at, pair) in marks.windows(2).enumerate() {
            if let [one, other] = pair {
                follows(at + 1, *one, *other)?;
            }
        }
        Ok(Self { marks })
    }

    /// The marks.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// # let marks = [0.00, 0.05, 0.10].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// assert_eq!(Rotation::through(&marks)?.marks(), marks);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn marks(&self) -> &'a [Mark] {
        self.marks
    }

    /// The stretches between neighbouring marks, from the first to the last.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// # let marks = [0.00, 0.05, 0.10].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// assert_eq!(Rotation::through(&marks)?.stretches().count(), 2);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn stretches(&self) -> impl Iterator<Item = Stretch> + use<'a> {
        let rotation = *self;
        (1..self.marks.len()).filter_map(move |end| rotation.stretch_to(end))
    }

    /// How far the shaft had turned at an instant; `None` before the first mark and after the last.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// # let marks = [0.00, 0.05, 0.10].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// assert_eq!(Rotation::through(&marks)?.turns_at(0.11), None);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn turns_at(&self, seconds: f64) -> Option<f64> {
        let after = self.marks.partition_point(|mark| mark.seconds <= seconds);
        // The last mark itself belongs to the last stretch.
        let stretch = self.stretch_to(after.min(self.marks.len().saturating_sub(1)))?;
        (seconds <= stretch.end.seconds).then(|| stretch.turns_at(seconds))
    }

    /// The stretch that ends at a mark; `None` at the first, and beyond the last.
    fn stretch_to(&self, end: usize) -> Option<Stretch> {
        let mark = |at: usize| self.marks.get(at).copied();
        let before = end.checked_sub(2).and_then(mark);
        Some(Stretch::between(before, mark(end.checked_sub(1)?)?, mark(end)?, mark(end + 1)))
    }

    /// Mean, range, drift and spread of the speed.
    ///
    /// ```
    /// # use counterpoise::synchronous::{Mark, Rotation};
    /// # let marks = [0.00, 0.05, 0.10].map(|seconds| Mark { seconds, turns: 20.0 * seconds });
    /// assert!((Rotation::through(&marks)?.speed().highest.rpm() - 1200.0).abs() < 1e-9);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn speed(&self) -> SpeedSummary {
        let first = self.marks.first().copied().unwrap_or(Mark { seconds: 0.0, turns: 0.0 });
        let mut sums = SpeedSums::new(first);
        self.stretches().for_each(|stretch| sums.add(&stretch));
        sums.summary()
    }
}

/// Whether a mark's instant and turns are such that differences between them keep their digits.
pub(super) fn is_in_range(mark: Mark) -> bool {
    const LARGEST: f64 = 1e12;
    mark.seconds.abs() <= LARGEST && mark.turns.abs() <= LARGEST
}

/// Refuses a mark that does not come after the one before it.
pub(super) fn follows(at: usize, before: Mark, mark: Mark) -> Result<(), SynchronousError> {
    let (time, turned) = (mark.seconds - before.seconds, mark.turns - before.turns);
    let speed = turned / time;
    let sound = time > 0.0 && turned > 0.0 && (1e-9..=1e9).contains(&speed);
    if sound && is_in_range(before) && is_in_range(mark) {
        Ok(())
    } else {
        Err(SynchronousError::MarkOutOfOrder { mark: at, seconds: mark.seconds, turns: mark.turns })
    }
}

/// exp(j 2π x): the turns are reduced before they become an angle, so that no digit is lost after many.
pub(super) fn phasor(turns: f64) -> [f64; 2] {
    let rest = turns - math::floor(turns + 0.5);
    let (sine, cosine) = math::sin_cos(2.0 * PI * rest);
    [cosine, sine]
}
