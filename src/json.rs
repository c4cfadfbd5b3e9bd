//! JSON text of whatever the library can write, with numbers that come back bit for bit.
//!
//! Units stand in the field names, unknown fields are refused, and everything that is read goes through the same checks
//! as when it is built by hand. Numbers that are not finite are neither written nor read. Answers of the placement are
//! written and not read, as a certificate from a text would claim what nothing has proven.
//!
//! ```
//! use counterpoise::{
//!     Channel, Detector, Influence, InfluenceMatrix, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit, json,
//! };
//! let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
//! let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
//! let channel = Channel::new(1, unit, PhaseSense::Lag, window);
//! let coefficient = Influence::from_components_per_gram_millimetre(-1.4e-4, 0.7e-4)?;
//! let stored = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
//!
//! let text = json::to_text(&stored)?;
//! let back: InfluenceMatrix = json::from_text(&text)?;
//! assert_eq!(back, stored);
//! # Ok::<(), Box<dyn core::error::Error>>(())
//! ```

use alloc::string::{String, ToString};

use serde::{Serialize, de::DeserializeOwned};

use crate::job::Record;

/// A text that is not what it should be, or a value that cannot be written. Code 900.
///
/// ```
/// use counterpoise::{Mass, json};
/// let error = json::from_text::<Mass>("{\"kg\": 1.0}").unwrap_err();
/// assert_eq!((error.line, error.column), (1, 5));
/// assert_eq!(error.to_string(), "line 1, column 5: unknown field `kg`, expected `g`");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, column {column}: {reason}")]
pub struct JsonError {
    /// The line of the text, counted from 1; 0 when writing.
    pub line: usize,
    /// The column of the text, counted from 1; 0 when writing.
    pub column: usize,
    /// What is wrong there.
    pub reason: String,
}

impl JsonError {
    /// The stable number of this error, the same in Rust and in C.
    ///
    /// ```
    /// use counterpoise::{Mass, json};
    /// assert_eq!(json::from_text::<Mass>("").unwrap_err().code(), 900);
    /// ```
    pub const fn code(&self) -> i32 {
        900
    }
}

impl From<serde_json::Error> for JsonError {
    fn from(error: serde_json::Error) -> Self {
        let text = error.to_string();
        // The place is kept in numbers, so it is taken off the end of the text.
        let place = alloc::format!(" at line {} column {}", error.line(), error.column());
        let reason = text.strip_suffix(place.as_str()).unwrap_or(&text).to_string();
        Self { line: error.line(), column: error.column(), reason }
    }
}

/// The JSON text of a value.
///
/// # Errors
/// [`JsonError`] where the value holds a number that is not finite.
///
/// ```
/// use counterpoise::{Mass, json};
/// assert_eq!(json::to_text(&Mass::from_grams(0.1)?)?, r#"{"g":0.1}"#);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn to_text<T: Serialize + ?Sized>(value: &T) -> Result<String, JsonError> {
    serde_json::to_string(value).map_err(JsonError::from)
}

/// The value of a JSON text.
///
/// # Errors
/// [`JsonError`] with the place, where the text is not JSON or not such a value.
///
/// ```
/// use counterpoise::{Radius, json};
/// let radius: Radius = json::from_text(r#"{"mm": 165.0}"#)?;
/// assert_eq!(radius.millimetres(), 165.0);
/// let error = json::from_text::<Radius>(r#"{"mm": -165.0}"#).unwrap_err();
/// assert!(error.reason.starts_with("radius must be greater than zero, got -165.0 mm"));
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn from_text<T: DeserializeOwned>(text: &str) -> Result<T, JsonError> {
    serde_json::from_str(text).map_err(JsonError::from)
}

/// The record of a job from its JSON text. A text of a later version is told by its version, whatever else is in it.
///
/// # Errors
/// [`JsonError`] with the place, where the text is not JSON, not a record, of a version that is not known, or says what
/// cannot be.
///
/// ```
/// use counterpoise::json;
/// let error = json::record_from_text(r#"{"version": 7, "written_by": "a later one"}"#).unwrap_err();
/// assert!(error.reason.starts_with("the record is of version 7 and this library reads versions 1 to 1"));
/// ```
pub fn record_from_text(text: &str) -> Result<Record, JsonError> {
    /// Only the version: what else there is depends on it.
    #[derive(serde::Deserialize)]
    struct Versioned {
        version: u32,
    }
    let Versioned { version } = from_text(text)?;
    // A later version adds its way of reading here; this one is read for good.
    match Record::check_version(version) {
        Ok(()) => from_text(text),
        Err(error) => Err(JsonError { line: 1, column: 1, reason: error.to_string() }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Mass, UnbalanceVector, Vibration};

    #[test]
    fn every_double_comes_back_bit_for_bit() {
        // Without exact reading some 8 % of doubles change their last bits; these are spread over the mantissas.
        let mut bits = 0x3ff0_0000_0000_0000_u64;
        for _ in 0..20_000 {
            bits = bits.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let value = f64::from_bits((bits >> 12) | 0x3ff0_0000_0000_0000) - 1.5;
            let written = to_text(&Vibration::from_components(value, -value).unwrap()).unwrap();
            let back: Vibration = from_text(&written).unwrap();
            assert_eq!(back.complex().re.to_bits(), (value + 0.0).to_bits());
        }
    }

    #[test]
    fn numbers_that_are_not_finite_are_not_written() {
        let huge = UnbalanceVector::from_components_gram_millimetres(1e100, 0.0).unwrap() * 1e300;
        assert!(to_text(&huge).unwrap_err().reason.contains("not finite"));
        assert!(to_text(&(Mass::from_grams(1e50).unwrap() * f64::MAX)).is_err());
        assert!(from_text::<Mass>(r#"{"g": 1e999}"#).is_err());
        assert!(from_text::<Mass>(r#"{"g": null}"#).is_err());
    }
}
