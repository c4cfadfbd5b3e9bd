//! The speeds for which a channel holds, and how the response grows with speed away from resonance.

use crate::error::ReadingError;
use crate::unit::Speed;
use crate::vibration_unit::MotionQuantity;

/// The speeds at which readings of one channel may be put together as they are, and the one they are meant for.
///
/// No two runs have just the same speed; within the window the difference is taken as nothing, unless the channel has a law
/// that says how the response grows with speed.
///
/// ```
/// use counterpoise::{Speed, SpeedWindow};
/// let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// assert!(window.holds(Speed::from_rpm(2380.0)?));
/// assert!(!window.holds(Speed::from_rpm(2370.0)?));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "Bounds", into = "Bounds")
)]
pub struct SpeedWindow {
    nominal: Speed,
    lowest: Speed,
    highest: Speed,
}

/// A speed window as it is written: read back through the same check as everything.
#[cfg(feature = "serde")]
#[derive(serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(clippy::struct_field_names)] // as they are written, with their unit
struct Bounds {
    lowest_rpm: f64,
    nominal_rpm: f64,
    highest_rpm: f64,
}

#[cfg(feature = "serde")]
impl From<SpeedWindow> for Bounds {
    fn from(window: SpeedWindow) -> Self {
        let SpeedWindow { nominal, lowest, highest } = window;
        Self { lowest_rpm: lowest.rpm(), nominal_rpm: nominal.rpm(), highest_rpm: highest.rpm() }
    }
}

#[cfg(feature = "serde")]
impl TryFrom<Bounds> for SpeedWindow {
    type Error = ReadingError;
    fn try_from(bounds: Bounds) -> Result<Self, ReadingError> {
        Self::from_rpm(bounds.lowest_rpm, bounds.nominal_rpm, bounds.highest_rpm)
    }
}

impl SpeedWindow {
    /// A window of so many percent of the nominal speed to either side.
    ///
    /// How wide is proper depends on how fast the machine's response changes with speed there: away from resonances
    /// one percent is common practice (no source).
    ///
    /// # Errors
    /// [`ReadingError::BadWindow`] where the percentage is not in `[0, 100)`.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow};
    /// let window = SpeedWindow::around_percent(Speed::from_rpm(1000.0)?, 2.0)?;
    /// assert_eq!(window.highest().rpm(), 1020.0);
    /// assert_eq!(
    ///     SpeedWindow::around_percent(Speed::from_rpm(1000.0)?, -2.0).unwrap_err().to_string(),
    ///     "a speed window of 1020.0 to 980.0 rpm does not hold its nominal 1000.0 rpm: \
    ///      give bounds on either side of it",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn around_percent(nominal: Speed, percent: f64) -> Result<Self, ReadingError> {
        let half_width = nominal.rpm() * percent / 100.0;
        Self::from_rpm(nominal.rpm() - half_width, nominal.rpm(), nominal.rpm() + half_width)
    }

    /// A window with bounds of its own.
    ///
    /// # Errors
    /// [`ReadingError::BadWindow`] where the nominal speed does not lie between the bounds.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow};
    /// let rpm = |value| Speed::from_rpm(value);
    /// let window = SpeedWindow::between(rpm(995.0)?, rpm(1005.0)?, rpm(1015.0)?)?;
    /// assert_eq!(window.nominal().rpm(), 1005.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn between(lowest: Speed, nominal: Speed, highest: Speed) -> Result<Self, ReadingError> {
        Self::from_rpm(lowest.rpm(), nominal.rpm(), highest.rpm())
    }

    fn from_rpm(lowest: f64, nominal: f64, highest: f64) -> Result<Self, ReadingError> {
        let bad = ReadingError::BadWindow { lowest_rpm: lowest, nominal_rpm: nominal, highest_rpm: highest };
        match (Speed::from_rpm(lowest), Speed::from_rpm(nominal), Speed::from_rpm(highest)) {
            (Ok(low), Ok(middle), Ok(high)) if lowest <= nominal && nominal <= highest => {
                Ok(Self { nominal: middle, lowest: low, highest: high })
            }
            _ => Err(bad),
        }
    }

    /// The speed the channel is meant for.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow};
    /// assert_eq!(SpeedWindow::around_percent(Speed::from_rpm(900.0)?, 1.0)?.nominal().rpm(), 900.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn nominal(&self) -> Speed {
        self.nominal
    }

    /// The lowest speed in the window.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow};
    /// assert_eq!(SpeedWindow::around_percent(Speed::from_rpm(900.0)?, 1.0)?.lowest().rpm(), 891.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn lowest(&self) -> Speed {
        self.lowest
    }

    /// The highest speed in the window.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow};
    /// assert_eq!(SpeedWindow::around_percent(Speed::from_rpm(900.0)?, 1.0)?.highest().rpm(), 909.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn highest(&self) -> Speed {
        self.highest
    }

    /// Whether a speed lies in the window, its bounds included.
    ///
    /// ```
    /// # use counterpoise::{Speed, SpeedWindow};
    /// let window = SpeedWindow::around_percent(Speed::from_rpm(1000.0)?, 1.0)?;
    /// assert!(window.holds(Speed::from_rpm(1010.0)?));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn holds(&self, speed: Speed) -> bool {
        self.lowest <= speed && speed <= self.highest
    }
}

/// How the response to one unbalance grows with speed, away from resonance.
///
/// Declared by the caller for a channel, it brings readings taken at other speeds to the nominal one. Near a resonance
/// neither law holds, and phase turns with speed, too.
///
/// ```
/// use counterpoise::{MotionQuantity, SpeedLaw};
/// assert_eq!(SpeedLaw::StiffnessControlled.exponent(MotionQuantity::Velocity), 3);
/// assert_eq!(SpeedLaw::MassControlled.exponent(MotionQuantity::Velocity), 1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum SpeedLaw {
    /// Far below resonance, where stiffness holds the force: displacement grows as the 2nd power of speed, velocity as
    /// the 3rd, acceleration as the 4th.
    StiffnessControlled,
    /// Far above resonance, where mass alone holds the force, as an engine on soft mounts usually is: displacement does
    /// not change with speed, velocity grows as the 1st power, acceleration as the 2nd.
    MassControlled,
}

impl SpeedLaw {
    /// The power of speed with which a quantity grows.
    ///
    /// ```
    /// # use counterpoise::{MotionQuantity, SpeedLaw};
    /// assert_eq!(SpeedLaw::StiffnessControlled.exponent(MotionQuantity::Acceleration), 4);
    /// ```
    pub const fn exponent(self, quantity: MotionQuantity) -> i32 {
        // F = U Ω².  Far below resonance X = F/k; far above it X = F/(m Ω²).  Each derivative multiplies by Ω.
        match self {
            Self::StiffnessControlled => 2 + quantity.order(),
            Self::MassControlled => quantity.order(),
        }
    }
}
