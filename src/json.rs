//! JSON text of whatever the library can write, with numbers that come back bit for bit.
//!
//! Units stand in the field names, unknown fields are refused, and everything that is read goes through the same checks
//! as when it is built by hand. Numbers that are not finite are neither written nor read. Answers of the placement are
//! written and not read, as a certificate from a text would claim what nothing has proven; so are plans of what is to be
//! mounted ([`Mounting`](crate::job::Mounting)), which follow from the record.
//!
//! A record and a store of coefficients begin with their version. The [guide](crate::guide::record) shows the record as data,
//! and [`RECORD_SCHEMA`] describes it to other programs.
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

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use core::cell::Cell;
use core::fmt;

use serde::de::{DeserializeOwned, DeserializeSeed, Error as _, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde::{Deserializer, Serialize};

use crate::error::JobError;
use crate::job::wire::{self, Misplaced, Step};
use crate::job::{Record, StoredCoefficients};

/// The JSON Schema (draft 2020-12) of the record of a job, of [`Record::VERSION`].
///
/// What it accepts has the right fields, types, names and ranges. Whether the facts can be so (a hole that is not there, a
/// piece taken off that is not on) is told by [`record_from_text`] alone; the [guide](crate::guide::record) lists all that
/// only the reader sees.
///
/// ```
/// use counterpoise::json;
/// assert!(json::RECORD_SCHEMA.contains("https://json-schema.org/draft/2020-12/schema"));
/// ```
pub const RECORD_SCHEMA: &str = include_str!("job/record.schema.json");

/// The version of the text of stored coefficients that is written.
///
/// ```
/// assert_eq!(counterpoise::json::COEFFICIENTS_VERSION, 1);
/// ```
pub const COEFFICIENTS_VERSION: u32 = 1;

/// A text that is not what it should be, or a value that cannot be written.
///
/// ```
/// use counterpoise::{Mass, json};
/// let error = json::from_text::<Mass>("{\"kg\": 1.0}").unwrap_err();
/// assert_eq!((error.line, error.column, error.path.as_str()), (1, 5, "kg"));
/// assert_eq!(error.to_string(), "line 1, column 5, at kg: unknown field `kg`, expected `g`");
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JsonError {
    /// The line of the text, counted from 1; 0 when writing.
    pub line: usize,
    /// The column of the text in bytes, counted from 1; 0 when writing. It is where reading stopped: at the end of what is
    /// wrong, or just before it.
    pub column: usize,
    /// What is wrong, from the outermost value: `entries[3].fact.run.readings[0].rpm`. Empty for the text as a whole, and
    /// when writing.
    pub path: String,
    /// What is wrong there, at most 400 bytes of it.
    pub reason: String,
    code: i32,
}

impl JsonError {
    /// The stable number of this error, the same in Rust and in C: 900 for a text that is not JSON or not such a value, and
    /// for a value that cannot be written; that of the [`JobError`] for a record that cannot be.
    ///
    /// ```
    /// use counterpoise::{Mass, json};
    /// assert_eq!(json::from_text::<Mass>("").unwrap_err().code(), 900);
    /// assert_eq!(json::record_from_text(r#"{"version": 7}"#).unwrap_err().code(), 1514);
    /// ```
    pub const fn code(&self) -> i32 {
        self.code
    }

    /// What is wrong with a text that can be read all the same.
    fn found(text: &str, Misplaced { error, path }: Misplaced) -> Self {
        let (line, column, path) = place_of(text, &path);
        Self { line, column, path, reason: shortened(error.to_string()), code: error.code() }
    }
}

impl fmt::Display for JsonError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, column, path, reason, .. } = self;
        if path.is_empty() {
            write!(f, "line {line}, column {column}: {reason}")
        } else {
            write!(f, "line {line}, column {column}, at {path}: {reason}")
        }
    }
}

impl core::error::Error for JsonError {}

impl From<serde_json::Error> for JsonError {
    fn from(error: serde_json::Error) -> Self {
        let text = error.to_string();
        // The place is kept in numbers, so it is taken off the end of the text.
        let place = format!(" at line {} column {}", error.line(), error.column());
        let reason = shortened(text.strip_suffix(place.as_str()).unwrap_or(&text).to_string());
        Self { line: error.line(), column: error.column(), path: String::new(), reason, code: 900 }
    }
}

impl From<serde_path_to_error::Error<serde_json::Error>> for JsonError {
    fn from(error: serde_path_to_error::Error<serde_json::Error>) -> Self {
        let path = error.path().to_string();
        // A single dot stands for the text as a whole.
        let path = if path == "." { String::new() } else { shortened(path) };
        Self { path, ..Self::from(error.into_inner()) }
    }
}

/// A name from a hostile text may be as long as the text.
fn shortened(mut words: String) -> String {
    const MOST: usize = 400;
    if words.len() > MOST {
        let end = (0..=MOST - 3).rev().find(|&end| words.is_char_boundary(end));
        words.truncate(end.unwrap_or(0));
        words.push_str("...");
    }
    words
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
    if text.starts_with('\u{feff}') {
        let reason = String::from("the text begins with a byte order mark: write it without");
        return Err(JsonError { line: 1, column: 1, path: String::new(), reason, code: 900 });
    }
    let mut reader = serde_json::Deserializer::from_str(text);
    let value = serde_path_to_error::deserialize(&mut reader)?;
    reader.end()?;
    Ok(value)
}

/// Only the version: what else there is depends on it.
#[derive(serde::Deserialize)]
struct Versioned {
    version: u32,
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
    let found = |misplaced| JsonError::found(text, misplaced);
    let Versioned { version } = from_text(text)?;
    let wire: wire::Record = match version {
        // An earlier version has its arm above this one, is read by its own types for good, and brought on:
        // `1 => from_text::<wire_1::Record>(text)?.into()`. See `wire`.
        Record::VERSION => from_text(text)?,
        other => {
            return Err(found(Misplaced {
                error: wire::unknown_version(other),
                path: [Step::Key("version")].to_vec(),
            }));
        }
    };
    wire.made().map_err(found)
}

/// What is written of stored coefficients.
#[derive(serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Coefficients<T> {
    version: u32,
    coefficients: T,
}

/// The JSON text of coefficients that jobs have left, with its version: a store that other jobs read.
///
/// # Errors
/// [`JsonError`] where one holds a number that is not finite.
///
/// ```
/// use counterpoise::json;
/// assert_eq!(json::coefficients_to_text(&[])?, r#"{"version":1,"coefficients":[]}"#);
/// # Ok::<(), json::JsonError>(())
/// ```
pub fn coefficients_to_text(stored: &[StoredCoefficients]) -> Result<String, JsonError> {
    to_text(&Coefficients { version: COEFFICIENTS_VERSION, coefficients: stored })
}

/// The stored coefficients of a JSON text. Unknown fields and later versions are refused, as in a record.
///
/// # Errors
/// [`JsonError`] with the place, where the text is not JSON, not a store of coefficients, or of a version that is not known.
///
/// ```
/// use counterpoise::json;
/// # use counterpoise::*;
/// # use counterpoise::job::StoredCoefficients;
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// # let coefficient = Influence::from_components_per_gram_millimetre(1.2e-4, -0.5e-4)?;
/// # let influence = InfluenceMatrix::new(&[channel], 1, &[coefficient])?;
/// # let stored = [StoredCoefficients::new("two blades", "no. 7", influence)];
/// let text = json::coefficients_to_text(&stored)?;
/// assert_eq!(json::coefficients_from_text(&text)?, stored);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn coefficients_from_text(text: &str) -> Result<Vec<StoredCoefficients>, JsonError> {
    let Versioned { version } = from_text(text)?;
    // As for the record: an earlier version has its arm above.
    match version {
        COEFFICIENTS_VERSION => Ok(from_text::<Coefficients<_>>(text)?.coefficients),
        found => {
            let (what, newest) = ("store of coefficients", COEFFICIENTS_VERSION);
            let error = JobError::Version { what, found, newest };
            Err(JsonError::found(text, Misplaced { error, path: [Step::Key("version")].to_vec() }))
        }
    }
}

/// Line, column and path of a value of a text that is JSON, or of the innermost on the way to it that is there.
fn place_of(text: &str, path: &[Step]) -> (usize, usize, String) {
    let gone = Cell::new(0);
    let mut reader = serde_json::Deserializer::from_str(text);
    let seed = Way { left: path, gone: &gone };
    let (line, column) = match seed.deserialize(&mut reader) {
        Err(there) => (there.line(), there.column()),
        Ok(()) => (1, 1),
    };
    let words = path.iter().take(gone.get()).enumerate().map(|(at, step)| match step {
        Step::Key(key) if at == 0 => String::from(*key),
        Step::Key(key) => format!(".{key}"),
        Step::Index(index) => format!("[{index}]"),
    });
    let words = words.collect::<Vec<String>>().concat();
    // An error that comes from before the first byte has no place.
    (line.max(1), column.max(1), words)
}

/// Goes down a text along a path and stops there with an error, as only errors tell where reading is.
struct Way<'a> {
    left: &'a [Step],
    gone: &'a Cell<usize>,
}

impl Way<'_> {
    const HERE: &'static str = "here";

    fn inner(&self) -> Self {
        self.gone.set(self.gone.get() + 1);
        Self { left: self.left.get(1..).unwrap_or_default(), gone: self.gone }
    }
}

impl<'de> DeserializeSeed<'de> for Way<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        if self.left.is_empty() {
            return Err(D::Error::custom(Self::HERE));
        }
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Way<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list or an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key::<String>()? {
            match self.left.first() {
                Some(Step::Key(wanted)) if key == *wanted => return map.next_value_seed(self.inner()),
                _ => map.next_value::<IgnoredAny>()?,
            };
        }
        Err(A::Error::custom(Self::HERE))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        if let Some(&Step::Index(wanted)) = self.left.first() {
            for _ in 0..wanted {
                if list.next_element::<IgnoredAny>()?.is_none() {
                    return Err(A::Error::custom(Self::HERE));
                }
            }
            let gone = self.gone;
            if list.next_element_seed(self.inner())?.is_none() {
                gone.set(gone.get() - 1);
            }
        }
        Err(A::Error::custom(Self::HERE))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{LimitPurpose, StatedReading, VibrationLimit};
    use crate::{DegreesOfFreedom, Mass, Scatter, UnbalanceVector, Vibration};

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
        // Plain numbers too, and degrees of freedom that are without end.
        let reading = StatedReading::new(0, f64::NAN, 0.0, 1000.0);
        assert!(to_text(&reading).unwrap_err().reason.contains("not finite"));
        let limit = VibrationLimit::new(0, LimitPurpose::Done, f64::INFINITY, "");
        assert!(to_text(&limit).unwrap_err().reason.contains("not finite"));
        let endless = DegreesOfFreedom::Circular(f64::INFINITY);
        let scatter = Scatter::from_covariance([[1.0, 0.0], [0.0, 1.0]], endless).unwrap();
        assert!(to_text(&scatter).unwrap_err().reason.contains("not finite"));
    }
}
