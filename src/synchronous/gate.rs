//! Pulses put right as they come, without a heap and without looking ahead.

use super::rotation::Mark;
use crate::error::SynchronousError;
use crate::math;
use crate::speed_window::SpeedWindow;

/// Tells true pulses from spurious ones as they come, and counts missing ones, by one rule: a pulse is true where a whole
/// number of intervals has passed since the last true one, to a tenth of an interval. The interval is that before, and at
/// first any within the window of speeds.
///
/// It decides on every pulse at once and never goes back, so it is less sure than [`PulseTrain`](super::PulseTrain), which
/// looks at the whole record. The marks are evenly spaced; the first pulse is taken as true.
///
/// ```
/// use counterpoise::synchronous::PulseGate;
/// use counterpoise::{Speed, SpeedWindow};
/// let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 10.0)?;
/// let mut gate = PulseGate::new(1, window)?;
/// let pulses = [0.00, 0.05, 0.10, 0.113, 0.15, 0.25, 0.30];
/// let marks: Vec<f64> = pulses
///     .iter()
///     .filter_map(|&seconds| gate.pulse(seconds).transpose())
///     .map(|mark| mark.map(|mark| mark.turns))
///     .collect::<Result<_, _>>()?;
/// assert_eq!(marks, [0.0, 1.0, 2.0, 3.0, 5.0, 6.0]);
/// assert_eq!((gate.spurious(), gate.missing()), (1, 1));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PulseGate {
    places: f64,
    /// The shortest and the longest interval of the window.
    window: [f64; 2],
    last: Option<f64>,
    period: Option<f64>,
    number: u64,
    pulses: usize,
    spurious: usize,
    missing: usize,
    in_a_row: u32,
}

/// A true pulse lies within this share of an interval of its place.
const NEAR: f64 = 0.1;
/// After so many spurious pulses in a row it is not known any more which are true.
const MOST_IN_A_ROW: u32 = 8;

impl PulseGate {
    /// A gate for so many evenly spaced marks a turn, and speeds within a window.
    ///
    /// # Errors
    /// [`SynchronousError::MarkPattern`] without a mark.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow, synchronous::PulseGate};
    /// let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 10.0)?;
    /// assert!(PulseGate::new(0, window).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(marks: u32, window: SpeedWindow) -> Result<Self, SynchronousError> {
        if marks == 0 {
            return Err(SynchronousError::MarkPattern { marks, missing: 0 });
        }
        let places = f64::from(marks);
        let interval = |hertz: f64| 1.0 / (hertz * places);
        Ok(Self {
            places,
            window: [interval(window.highest().hertz()), interval(window.lowest().hertz())],
            last: None,
            period: None,
            number: 0,
            pulses: 0,
            spurious: 0,
            missing: 0,
            in_a_row: 0,
        })
    }

    /// The next pulse; gives its mark where it is true.
    ///
    /// # Errors
    /// [`SynchronousError::PulseOutOfOrder`]; [`SynchronousError::PulsesUnclear`] after eight spurious pulses in a row, as the
    /// turns since are not known: start a new gate, and a new extraction.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow, synchronous::PulseGate};
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 10.0)?;
    /// let mut gate = PulseGate::new(1, window)?;
    /// assert!(gate.pulse(0.05)?.is_some());
    /// assert_eq!(gate.pulse(0.05).unwrap_err().code(), 1313);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn pulse(&mut self, seconds: f64) -> Result<Option<Mark>, SynchronousError> {
        let last = self.last.unwrap_or(f64::NEG_INFINITY);
        if !(seconds.is_finite() && seconds > last) {
            return Err(SynchronousError::PulseOutOfOrder { pulse: self.pulses, seconds });
        }
        let pulse = self.pulses;
        self.pulses += 1;
        if self.last.is_none() {
            return Ok(Some(self.taken(seconds, 0)));
        }
        let interval = seconds - last;
        let intervals = match self.period {
            Some(period) => {
                let whole = math::floor(interval / period + 0.5);
                let near = (interval - whole * period).abs() <= NEAR * period;
                ((1.0..=1e6).contains(&whole) && near).then_some(whole)
            }
            None => (self.window[0]..=self.window[1]).contains(&interval).then_some(1.0),
        };
        let Some(whole) = intervals else {
            self.spurious += 1;
            self.in_a_row += 1;
            if self.in_a_row >= MOST_IN_A_ROW {
                let (pulses, spurious, missing) = (self.pulses, self.spurious, self.missing);
                let first = pulse + 1 - MOST_IN_A_ROW as usize;
                return Err(SynchronousError::PulsesUnclear { pulses, spurious, missing, first });
            }
            return Ok(None);
        };
        self.period = Some(interval / whole);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 1 and a million
        let whole = whole as u32;
        self.missing += whole as usize - 1;
        Ok(Some(self.taken(seconds, whole)))
    }

    fn taken(&mut self, seconds: f64, intervals: u32) -> Mark {
        self.last = Some(seconds);
        self.in_a_row = 0;
        self.number += u64::from(intervals);
        #[allow(clippy::cast_precision_loss)] // far below 2⁵³
        let turns = self.number as f64 / self.places;
        Mark { seconds, turns }
    }

    /// How many pulses were left out as spurious.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow, synchronous::PulseGate};
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 10.0)?;
    /// assert_eq!(PulseGate::new(1, window)?.spurious(), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn spurious(&self) -> usize {
        self.spurious
    }

    /// How many true pulses did not come.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow, synchronous::PulseGate};
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1200.0)?, 10.0)?;
    /// assert_eq!(PulseGate::new(1, window)?.missing(), 0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn missing(&self) -> usize {
        self.missing
    }
}
