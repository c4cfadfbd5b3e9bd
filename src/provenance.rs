//! Where a limit comes from: what a person may rely on, and what is to be looked up first.

use core::fmt;

/// Where a number comes from, and how it got here.
///
/// ```
/// use counterpoise::{Provenance, ProvenanceKind};
/// let limit = Provenance::from_memory("ISO 21940-11:2016, table 1");
/// assert_eq!(limit.kind(), ProvenanceKind::FromMemory);
/// assert_eq!(limit.to_string(), "ISO 21940-11:2016, table 1; from memory, check it against a copy");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Provenance {
    kind: ProvenanceKind,
    source: &'static str,
}

/// How a number got here.
///
/// ```
/// assert_eq!(counterpoise::ProvenanceKind::CommonPractice.code(), 3);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum ProvenanceKind {
    /// Read in the source that is named.
    Read,
    /// Recalled from the source that is named, and not read in it.
    FromMemory,
    /// Common practice, without a source.
    CommonPractice,
    /// Stated by the caller.
    Caller,
}

impl ProvenanceKind {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::ProvenanceKind::Read.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Read => 1,
            Self::FromMemory => 2,
            Self::CommonPractice => 3,
            Self::Caller => 4,
        }
    }
}

impl Provenance {
    /// Common practice, without a source.
    ///
    /// ```
    /// use counterpoise::Provenance;
    /// assert_eq!(Provenance::COMMON_PRACTICE.to_string(), "common practice, no source");
    /// ```
    pub const COMMON_PRACTICE: Self = Self { kind: ProvenanceKind::CommonPractice, source: "" };

    /// Stated by the caller, who knows the source.
    ///
    /// ```
    /// use counterpoise::Provenance;
    /// assert_eq!(Provenance::CALLER.to_string(), "stated by the caller");
    /// ```
    pub const CALLER: Self = Self { kind: ProvenanceKind::Caller, source: "" };

    /// Read in a source: author, title, year, place.
    ///
    /// ```
    /// use counterpoise::Provenance;
    /// assert_eq!(Provenance::read("AC 43.13-1B, par. 8-74").source(), "AC 43.13-1B, par. 8-74");
    /// ```
    pub const fn read(source: &'static str) -> Self {
        Self { kind: ProvenanceKind::Read, source }
    }

    /// Recalled from a source, and not read in it.
    ///
    /// ```
    /// use counterpoise::Provenance;
    /// assert_eq!(Provenance::from_memory("ISO 1940-1").source(), "ISO 1940-1");
    /// ```
    pub const fn from_memory(source: &'static str) -> Self {
        Self { kind: ProvenanceKind::FromMemory, source }
    }

    /// How it got here.
    ///
    /// ```
    /// use counterpoise::{Provenance, ProvenanceKind};
    /// assert_eq!(Provenance::CALLER.kind(), ProvenanceKind::Caller);
    /// ```
    pub const fn kind(self) -> ProvenanceKind {
        self.kind
    }

    /// The source; empty for common practice and for the caller's own numbers.
    ///
    /// ```
    /// use counterpoise::Provenance;
    /// assert_eq!(Provenance::COMMON_PRACTICE.source(), "");
    /// ```
    pub const fn source(self) -> &'static str {
        self.source
    }
}

impl fmt::Display for Provenance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.kind {
            ProvenanceKind::Read => f.write_str(self.source),
            ProvenanceKind::FromMemory => {
                write!(f, "{}; from memory, check it against a copy", self.source)
            }
            ProvenanceKind::CommonPractice => f.write_str("common practice, no source"),
            ProvenanceKind::Caller => f.write_str("stated by the caller"),
        }
    }
}

/// A number that something is compared with, and where it comes from.
///
/// ```
/// use counterpoise::{Limit, Provenance, Unbalance};
/// let limit = Limit::of_caller(Unbalance::from_gram_millimetres(350.0)?);
/// assert_eq!(limit.provenance, Provenance::CALLER);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit<T> {
    /// The number.
    pub value: T,
    /// Where it comes from.
    pub provenance: Provenance,
}

impl<T> Limit<T> {
    /// A limit from a source.
    ///
    /// ```
    /// use counterpoise::{Limit, Provenance};
    /// assert_eq!(Limit::new(1.0, Provenance::COMMON_PRACTICE).value, 1.0);
    /// ```
    pub const fn new(value: T, provenance: Provenance) -> Self {
        Self { value, provenance }
    }

    /// A limit that the caller states.
    ///
    /// ```
    /// assert_eq!(counterpoise::Limit::of_caller(0.1).value, 0.1);
    /// ```
    pub const fn of_caller(value: T) -> Self {
        Self { value, provenance: Provenance::CALLER }
    }
}
