//! How fast once per turn changes with speed, and from when on that says that a resonance is near.

#[cfg(feature = "alloc")]
use crate::caution::Caution;
#[cfg(feature = "alloc")]
use crate::unit::Speed;

/// How fast amplitude and phase change with speed.
///
/// ```
/// let slope = counterpoise::synchronous::SpeedSlope { lag_degrees_per_percent: 6.0, amplitude_percent_per_percent: 2.0 };
/// assert!(slope.lag_degrees_per_percent > 5.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedSlope {
    /// By how many degrees the vibration falls further behind for one percent more of speed.
    pub lag_degrees_per_percent: f64,
    /// By how many percent the amplitude grows for one percent more of speed.
    pub amplitude_percent_per_percent: f64,
}

impl SpeedSlope {
    /// From so many degrees per percent of speed on a resonance is called near: with it, readings at speeds one percent
    /// apart differ by 5 %. Common practice, no source.
    ///
    /// ```
    /// assert_eq!(counterpoise::synchronous::SpeedSlope::STEEP_DEGREES_PER_PERCENT, 3.0);
    /// ```
    pub const STEEP_DEGREES_PER_PERCENT: f64 = 3.0;

    /// The caution that a resonance is near, where the phase turns steeply at a speed: from
    /// [`STEEP_DEGREES_PER_PERCENT`](Self::STEEP_DEGREES_PER_PERCENT) on.
    ///
    /// ```
    /// use counterpoise::{Speed, synchronous::SpeedSlope};
    /// let slope = SpeedSlope { lag_degrees_per_percent: 6.0, amplitude_percent_per_percent: 2.0 };
    /// let caution = slope.near_resonance(Speed::from_rpm(2350.0)?).ok_or("6 degrees are steep")?;
    /// assert_eq!(caution.code(), 1021);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[cfg(feature = "alloc")]
    pub fn near_resonance(&self, speed: Speed) -> Option<Caution> {
        let lag_degrees_per_percent = self.lag_degrees_per_percent;
        (lag_degrees_per_percent.abs() >= Self::STEEP_DEGREES_PER_PERCENT)
            .then_some(Caution::NearResonance { rpm: speed.rpm(), lag_degrees_per_percent })
    }
}
