//! What every exported body runs in.

use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::{CPOISE_INTERNAL_FAULT, CPOISE_OK, cpoise_status};

/// The body of a call that returns a status: what it refuses, and a fault of the library, become a status and a text.
///
/// The body is `unsafe` in one place, here: it reads and writes through the caller's pointers, which are what the top of
/// the header asks for; NULL, alignment and sizes are checked by `argument`, which is the only file that follows them.
macro_rules! guarded {
    ($detail:expr, $body:block) => {
        $crate::guard::guarded($detail, || {
            // SAFETY: the caller keeps the rules at the top of the header.
            #[allow(unused_unsafe)]
            unsafe {
                $body
            }
        })
    };
}

/// The body of a call that returns a plain value and cannot be refused: `fallback` is returned after a fault.
macro_rules! guarded_value {
    ($fallback:expr, $body:block) => {
        $crate::guard::caught(|| {
            // SAFETY: the caller keeps the rules at the top of the header.
            #[allow(unused_unsafe)]
            unsafe {
                $body
            }
        })
        .unwrap_or($fallback)
    };
}

/// Runs a body, and says in the detail, if the caller wants one, what came of it.
#[inline]
pub fn guarded(detail: *mut cpoise_detail, body: impl FnOnce() -> Result<(), Failure>) -> cpoise_status {
    let outcome = caught(body)
        .unwrap_or_else(|| Err(Failure::new(CPOISE_INTERNAL_FAULT, format_args!("the library has a fault"))));
    let status = outcome.as_ref().map_or_else(Failure::code, |()| CPOISE_OK);
    // SAFETY: the caller keeps the rules at the top of the header; NULL and misalignment are seen to there.
    unsafe { cpoise_detail::tell(detail, outcome.as_ref().err()) };
    status
}

/// Runs a body; `None` where it panicked. Without std there is nothing to catch with.
#[inline]
#[cfg_attr(not(feature = "std"), allow(clippy::unnecessary_wraps))]
pub fn caught<T>(body: impl FnOnce() -> T) -> Option<T> {
    #[cfg(any(feature = "std", test))]
    {
        // What the body has changed is dropped or, behind a handle, only read for its text: a fault is to be reported.
        std::panic::catch_unwind(std::panic::AssertUnwindSafe(body)).ok()
    }
    #[cfg(not(any(feature = "std", test)))]
    {
        Some(body())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    extern "C" fn forced(detail: *mut cpoise_detail) -> cpoise_status {
        guarded!(detail, {
            let seven = core::hint::black_box(7);
            assert_eq!(seven, 8, "forced");
            Ok(())
        })
    }

    #[test]
    fn a_panic_becomes_a_status() {
        let mut detail = cpoise_detail::EMPTY;
        assert_eq!(forced(&raw mut detail), CPOISE_INTERNAL_FAULT);
        assert_eq!((detail.status, detail.words()), (CPOISE_INTERNAL_FAULT, "the library has a fault"));
        assert_eq!(forced(core::ptr::null_mut()), CPOISE_INTERNAL_FAULT);
        #[allow(clippy::panic)]
        let value: i32 = guarded_value!(-1, { panic!("forced") });
        assert_eq!(value, -1);
    }
}
