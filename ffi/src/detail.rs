//! Detail: what was wrong, with the value.
//!
//! Every call that can be refused takes, last, a pointer to a cpoise_detail, or NULL. Why it is so and not otherwise: a
//! text that belongs to the caller's own variable cannot be that of another call or thread, needs no lock and no heap,
//! lives as long as the caller wants, works for calls with and without a handle alike, leaves const handles unchanged,
//! and a fixed array has no length to get wrong.

use core::ffi::c_char;

use crate::failure::Failure;
use crate::status::{CPOISE_OK, cpoise_status};

/// Bytes of a detail's text, the NUL at its end among them.
pub const CPOISE_DETAIL_BYTES: usize = 508;

/// What came of a call. Need not be filled in before; written by every call that it is given to: after a success the
/// status is CPOISE_OK and the text empty.
#[repr(C)]
pub struct cpoise_detail {
    /// What the call returned.
    pub status: cpoise_status,
    /// What is wrong, with the offending value, in English, as UTF-8 that ends with a NUL. Cut off where it is longer
    /// than there is room. Without a heap (CPOISE_NO_HEAP) the text of the status alone.
    pub text: [c_char; CPOISE_DETAIL_BYTES],
}

impl cpoise_detail {
    #[cfg(test)]
    pub const EMPTY: Self = Self { status: 0, text: [0; CPOISE_DETAIL_BYTES] };

    #[cfg(test)]
    #[allow(clippy::unwrap_used)]
    pub fn words(&self) -> &str {
        // SAFETY: it ends within the array.
        unsafe { core::ffi::CStr::from_ptr(self.text.as_ptr()) }.to_str().unwrap()
    }

    /// Writes status and text, if the caller wants them.
    ///
    /// # Safety
    /// `detail` is NULL or one writable detail.
    #[inline]
    pub unsafe fn tell(detail: *mut Self, failure: Option<&Failure>) {
        if detail.is_null() || !detail.is_aligned() {
            return;
        }
        let text = failure.map_or("", Failure::text);
        let mut length = text.len().min(CPOISE_DETAIL_BYTES - 1);
        // Not in the middle of a character.
        while !text.is_char_boundary(length) {
            length -= 1;
        }
        // SAFETY: `length` and the NUL are within the text; the two do not overlap, as the text is ours.
        unsafe {
            (&raw mut (*detail).status).write(failure.map_or(CPOISE_OK, Failure::code));
            let to = (&raw mut (*detail).text).cast::<u8>();
            core::ptr::copy_nonoverlapping(text.as_ptr(), to, length);
            to.add(length).write(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_is_cut_between_characters() {
        let mut detail = cpoise_detail::EMPTY;
        let failure = Failure::new(3, format_args!("{}é", "x".repeat(CPOISE_DETAIL_BYTES - 2)));
        // SAFETY: a detail of our own.
        unsafe { cpoise_detail::tell(&raw mut detail, Some(&failure)) };
        assert_eq!(detail.words(), "x".repeat(CPOISE_DETAIL_BYTES - 2));
        // SAFETY: a detail of our own.
        unsafe { cpoise_detail::tell(&raw mut detail, None) };
        assert_eq!((detail.status, detail.words()), (0, ""));
    }
}
