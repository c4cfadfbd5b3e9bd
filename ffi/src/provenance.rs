//! Limits: where they come from, and verdicts with a guard band.
//!
//! Every limit that the library knows says how it got here. A figure from memory was recalled, not read: check it against
//! a copy of its source before relying on it. A program shows kind and source wherever it shows the limit.

use core::ffi::c_char;

use counterpoise::{Conformity, Limit, Provenance, ProvenanceKind};

use crate::argument::{TextBuffer, output};
use crate::constant::Constant;
use crate::detail::cpoise_detail;
use crate::status::cpoise_status;

constants! {
    /// How a number got here.
    ProvenanceKind, "kind of provenance" {
        /// Read in the source that is named.
        CPOISE_READ = 1 => Read,
        /// Recalled from the source that is named, and not read in it.
        CPOISE_FROM_MEMORY = 2 => FromMemory,
        /// Common practice, without a source.
        CPOISE_COMMON_PRACTICE = 3 => CommonPractice,
        /// Stated by the caller.
        CPOISE_OF_CALLER = 4 => Caller,
    }
    /// A verdict with a guard band (the idea of JCGM 106:2012).
    Conformity, "verdict" {
        /// value + expanded uncertainty <= limit.
        CPOISE_WITHIN = 1 => Within,
        /// value - expanded uncertainty > limit.
        CPOISE_OUTSIDE = 2 => Outside,
        /// Neither: measure better, or longer.
        CPOISE_UNDECIDED = 3 => Undecided,
    }
}

/// Bytes of a source's text, the NUL at its end among them.
pub const CPOISE_SOURCE_BYTES: usize = 196;

/// Where a number comes from, and how it got here.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_provenance {
    /// CPOISE_READ, CPOISE_FROM_MEMORY, CPOISE_COMMON_PRACTICE or CPOISE_OF_CALLER.
    pub kind: i32,
    /// The source: author, title, year, place; UTF-8 that ends with a NUL. Empty for common practice and for the caller's
    /// own numbers.
    pub source: [c_char; CPOISE_SOURCE_BYTES],
}

/// A number that something is compared with, and where it comes from.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_limit {
    /// The number, in the unit that the call says.
    pub value: f64,
    /// Where it comes from.
    pub provenance: cpoise_provenance,
}

impl From<Provenance> for cpoise_provenance {
    fn from(from: Provenance) -> Self {
        let mut source = TextBuffer::new();
        source.write(format_args!("{}", from.source()));
        Self { kind: from.kind().number(), source: source.ended() }
    }
}

impl cpoise_limit {
    /// A limit whose number is given in the unit that the call says.
    pub fn new<T>(limit: Limit<T>, number: impl FnOnce(T) -> f64) -> Self {
        Self { value: number(limit.value), provenance: limit.provenance.into() }
    }
}

/// The verdict on a value with an expanded uncertainty k u against a limit, all in one unit: CPOISE_WITHIN,
/// CPOISE_OUTSIDE or CPOISE_UNDECIDED. What is not a number is undecided, and so is all with an uncertainty below zero.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_conformity_of(
    value: f64,
    expanded_uncertainty: f64,
    limit: f64,
    conformity: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let conformity = output(conformity, "conformity")?;
        conformity.write(Conformity::of(value, expanded_uncertainty, limit).number());
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_those_of_rust() {
        use Conformity::{Outside, Undecided, Within};
        use ProvenanceKind::{Caller, CommonPractice, FromMemory, Read};
        for kind in [Read, FromMemory, CommonPractice, Caller] {
            assert_eq!((kind.number(), ProvenanceKind::of_number(kind.code())), (kind.code(), Some(kind)));
        }
        for verdict in [Within, Outside, Undecided] {
            assert_eq!(
                (verdict.number(), Conformity::of_number(verdict.code())),
                (verdict.code(), Some(verdict))
            );
        }
    }
}
