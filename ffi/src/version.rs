//! Versions: of the library, and of this binary interface.
//!
//! A program may compare what it was compiled with (the macros) with what it runs with (the calls). The number of the
//! binary interface rises with every change after which a compiled program would have to be compiled again; calls that
//! are only added do not raise it.

use core::ffi::{CStr, c_char};

/// The number of the binary interface that this header describes.
pub const CPOISE_ABI_VERSION: u32 = 1;

const fn number(text: &str) -> u32 {
    let bytes = text.as_bytes();
    let mut value = 0;
    let mut index = 0;
    while index < bytes.len() {
        #[allow(clippy::indexing_slicing)] // evaluated while compiling
        let digit = bytes[index];
        value = value * 10 + (digit - b'0') as u32;
        index += 1;
    }
    value
}

const VERSION: u32 = number(env!("CARGO_PKG_VERSION_MAJOR")) * 1_000_000
    + number(env!("CARGO_PKG_VERSION_MINOR")) * 1000
    + number(env!("CARGO_PKG_VERSION_PATCH"));

const TEXT: &CStr = match CStr::from_bytes_with_nul(concat!(env!("CARGO_PKG_VERSION"), "\0").as_bytes()) {
    Ok(text) => text,
    Err(_) => c"",
};

/// The version of the library that runs: major * 1000000 + minor * 1000 + patch, as CPOISE_VERSION.
#[unsafe(no_mangle)]
pub extern "C" fn cpoise_version() -> u32 {
    guarded_value!(0, { VERSION })
}

/// The version of the library that runs, as text such as "0.1.0"; static, never freed.
#[unsafe(no_mangle)]
pub extern "C" fn cpoise_version_text() -> *const c_char {
    guarded_value!(core::ptr::null(), { TEXT.as_ptr() })
}

/// The number of the binary interface of the library that runs: equal to CPOISE_ABI_VERSION where program and library
/// belong together.
#[unsafe(no_mangle)]
pub extern "C" fn cpoise_abi_version() -> u32 {
    guarded_value!(0, { CPOISE_ABI_VERSION })
}
