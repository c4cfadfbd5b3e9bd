//! The report of a job: what was read and mounted, run by run, what follows, and a log entry to be signed.
//!
//! Everything in it is computed from the [`Record`] alone. [`Report::text`] is plain text; with the feature `report`,
//! `Report::html` is one page that needs no other file, with the vectors and the rings drawn, legible without colour.
//!
//! ```
//! use counterpoise::job::{Fact, Machine, Record, StatedReading};
//! use counterpoise::report::Report;
//! # use counterpoise::*;
//! # let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
//! # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
//! # let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0)?, 1.0)?;
//! # let channel = Channel::new(1, unit, convention.phase, window);
//! let mut record = Record::new(Machine::new("a trainer", convention, &[channel], &["spinner bulkhead"])?);
//! let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
//! record.add(Fact::run("as found", &[read(0.45, 48.0), read(0.452, 48.3), read(0.449, 47.9)]))?;
//! let text = Report::of(&record, 0.95)?.text();
//! assert!(text.contains("as found") && text.contains("0.450"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! | module | holds |
//! | --- | --- |
//! | `document` | sections, lines, tables; as plain text |
//! | `content` | what the sections say |
//! | `log` | the log entry |
//! | `figures` | what is to be drawn: vectors and rings |
//! | `drawing` | the figures as SVG |
//! | `page` | the page |

mod content;
mod document;
#[cfg(feature = "report")]
mod drawing;
// Without the page nothing is drawn.
#[cfg_attr(not(feature = "report"), allow(dead_code))]
mod figures;
mod log;
#[cfg(feature = "report")]
mod page;

use alloc::string::String;

use crate::error::JobError;
use crate::job::{Advice, AdviceOptions, Record};

/// The report of a job. See the [module](self).
///
/// ```
/// # use counterpoise::{job::Record, report::Report};
/// fn print(record: &Record) -> Result<(), counterpoise::JobError> {
///     println!("{}", Report::of(record, 0.95)?.text());
/// #   Ok(())
/// }
/// ```
#[derive(Debug, Clone)]
pub struct Report {
    document: document::Document,
    log: document::Section,
}

impl Report {
    /// The report of a record, with regions and verdicts at a confidence such as 0.95.
    ///
    /// # Errors
    /// [`JobError::BadNumber`] for a confidence that is not from 0.5 to 0.9999.
    ///
    /// ```
    /// # use counterpoise::{job::Record, report::Report};
    /// fn print(record: &Record) -> Result<(), counterpoise::JobError> {
    ///     println!("{}", Report::of(record, 0.95)?.text());
    /// #   Ok(())
    /// }
    /// ```
    pub fn of(record: &Record, confidence: f64) -> Result<Self, JobError> {
        let options = AdviceOptions::default().confidence(confidence)?;
        let advice = Advice::of(record, &options);
        let facts = content::Facts::of(record, &advice, confidence);
        Ok(Self { document: content::document(&facts, &advice), log: log::section(&facts) })
    }

    /// The log entry alone, as plain text.
    ///
    /// ```
    /// # use counterpoise::{job::Record, report::Report};
    /// fn print(record: &Record) -> Result<(), counterpoise::JobError> {
    ///     println!("{}", Report::of(record, 0.95)?.log_entry());
    /// #   Ok(())
    /// }
    /// ```
    pub fn log_entry(&self) -> String {
        self.log.text()
    }

    /// Plain text, at most 100 characters a line where words allow it.
    ///
    /// ```
    /// # use counterpoise::{job::Record, report::Report};
    /// fn print(record: &Record) -> Result<(), counterpoise::JobError> {
    ///     println!("{}", Report::of(record, 0.95)?.text());
    /// #   Ok(())
    /// }
    /// ```
    pub fn text(&self) -> String {
        self.document.text()
    }

    /// One HTML page that needs no other file. Texts of the record are escaped.
    ///
    /// ```
    /// # use counterpoise::{job::Record, report::Report};
    /// fn write(record: &Record) -> Result<(), Box<dyn std::error::Error>> {
    ///     Ok(std::fs::write("report.html", Report::of(record, 0.95)?.html())?)
    /// }
    /// ```
    #[cfg(feature = "report")]
    pub fn html(&self) -> String {
        page::html(&self.document)
    }
}
