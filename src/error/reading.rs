//! What can be wrong with a channel or a reading.

use super::QuantityError;

/// A channel or a reading that cannot be used. Codes 200 to 299; a wrong number keeps its own code.
///
/// ```
/// use counterpoise::{Speed, SpeedWindow};
/// let speed = Speed::from_rpm(2400.0)?;
/// assert_eq!(SpeedWindow::around_percent(speed, f64::NAN).unwrap_err().code(), 201);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadingError {
    /// One of the numbers cannot be what it was given for.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// The bounds of a speed window are not positive and in order.
    #[error(
        "a speed window of {lowest_rpm:?} to {highest_rpm:?} rpm does not hold its nominal {nominal_rpm:?} rpm: \
         give bounds on either side of it"
    )]
    BadWindow {
        /// The lower bound as it was given.
        lowest_rpm: f64,
        /// The nominal speed.
        nominal_rpm: f64,
        /// The upper bound as it was given.
        highest_rpm: f64,
    },
    /// A reading taken at a speed for which its channel does not hold.
    #[error(
        "a reading at {rpm:?} rpm lies outside the {lowest_rpm:?} to {highest_rpm:?} rpm of sensor {sensor}: \
         read again at speed, widen the window, or declare how the response grows with speed"
    )]
    SpeedOutsideWindow {
        /// The number of the sensor.
        sensor: u16,
        /// The speed of the reading.
        rpm: f64,
        /// The lower bound of the window.
        lowest_rpm: f64,
        /// The upper bound of the window.
        highest_rpm: f64,
    },
    /// The declared law of speed takes the reading out of the range of numbers.
    #[error(
        "a reading of sensor {sensor} at {rpm:?} rpm would be scaled by {factor:?}: check the speed, or declare no law"
    )]
    ScalingBeyondRange {
        /// The number of the sensor.
        sensor: u16,
        /// The speed of the reading.
        rpm: f64,
        /// The factor the law gives.
        factor: f64,
    },
    /// A 2x2 matrix that is no covariance.
    #[error(
        "[[{re_re:?}, {re_im:?}], [{im_re:?}, {im_im:?}]] is no covariance of a reading: give variances that are not \
         negative and not both zero, and one covariance, twice, of at most the root of their product"
    )]
    NotACovariance {
        /// The variance of the real part.
        re_re: f64,
        /// The covariance, in the first row.
        re_im: f64,
        /// The covariance, in the second row.
        im_re: f64,
        /// The variance of the imaginary part.
        im_im: f64,
    },
    /// Degrees of freedom that are not positive.
    #[error(
        "{value:?} degrees of freedom say nothing: give a positive number, or state the scatter as known"
    )]
    DegreesOfFreedom {
        /// As given.
        value: f64,
    },
    /// There is nothing to average.
    #[error("there is no reading to average: give one or more")]
    NoRepeats,
    /// Readings of two channels were put together.
    #[error(
        "readings of sensor {sensor} at {rpm:?} rpm and of sensor {other_sensor} at {other_rpm:?} rpm \
         do not go together: compare readings of one channel, with one unit, phase sense, window and law"
    )]
    DifferentChannels {
        /// The sensor of the one.
        sensor: u16,
        /// The nominal speed of the one.
        rpm: f64,
        /// The sensor of the other.
        other_sensor: u16,
        /// The nominal speed of the other.
        other_rpm: f64,
    },
}

impl ReadingError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::{QuantityError, ReadingError};
    /// let inner = QuantityError::NotFinite { quantity: "amplitude", value: f64::NAN };
    /// assert_eq!(ReadingError::from(inner).code(), 101);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Quantity(error) => error.code(),
            Self::BadWindow { .. } => 201,
            Self::SpeedOutsideWindow { .. } => 202,
            Self::DifferentChannels { .. } => 203,
            Self::ScalingBeyondRange { .. } => 204,
            Self::NotACovariance { .. } => 205,
            Self::DegreesOfFreedom { .. } => 206,
            Self::NoRepeats => 207,
        }
    }
}
