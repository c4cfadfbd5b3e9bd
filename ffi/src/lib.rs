//! The C interface of counterpoise. The manual is `include/counterpoise.h`, made from the files here.
//!
//! Every module under "One section of the header each" is one, in the order of the list in `tests/header.rs`. A call is a
//! plain `extern "C"` function with one body, in [`guarded!`]; what it takes from the caller goes through `argument`,
//! constants through `constant`, and what it refuses through `Failure`.
#![cfg_attr(not(any(feature = "std", test)), no_std)]
// Constants stand here for the header, and at each level of features some ways of `argument` are not gone.
#![allow(dead_code)]

#[cfg(any(feature = "alloc", test))]
extern crate alloc;

#[macro_use]
mod guard;
#[macro_use]
mod constant;
#[cfg(all(feature = "alloc", not(any(feature = "std", test))))]
mod allocator;
mod argument;
mod failure;

// One section of the header each.
#[cfg(feature = "alloc")]
mod advice;
#[cfg(feature = "alloc")]
mod caution;
mod channel;
mod closed;
mod convention;
#[cfg(feature = "alloc")]
mod correction;
mod detail;
#[cfg(feature = "alloc")]
mod extraction;
mod first_weight;
#[cfg(feature = "alloc")]
mod influence;
#[cfg(feature = "alloc")]
mod placement;
#[cfg(feature = "alloc")]
mod placement_answer;
mod provenance;
mod quantity;
mod readiness;
#[cfg(feature = "alloc")]
mod record;
#[cfg(feature = "json")]
mod record_text;
#[cfg(feature = "alloc")]
mod repeats;
#[cfg(feature = "alloc")]
mod rings;
mod severity;
mod status;
#[cfg(feature = "json")]
mod store;
mod synchronous;
mod tolerance;
mod version;
mod vibration_unit;
mod view;
#[cfg(feature = "alloc")]
mod without_phase;

/// A fault of the library in a build that has nothing to unwind with. Nothing here is known to reach it.
#[cfg(not(any(feature = "std", test)))]
#[panic_handler]
fn stopped(_: &core::panic::PanicInfo<'_>) -> ! {
    loop {
        core::hint::spin_loop();
    }
}
