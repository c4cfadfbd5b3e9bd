//! The record of a job as JSON text: for files, and for programs in other languages.
//!
//! Numbers come back bit for bit, unknown fields are refused, and what is read goes through the same checks as when it is
//! added by calls. Text that is refused is so with line, column and path in the detail.

use core::ffi::c_char;

use counterpoise::json;

use crate::argument::{handle, results, text, write_text};
use crate::detail::cpoise_detail;
use crate::record::cpoise_record;
use crate::status::cpoise_status;

/// A record from its JSON text. record: the new handle.
///
/// Refuses: text that is no JSON or no record (900), a version that is not known (1514), a machine or a fact that cannot be
/// (1501 to 1522), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_from_json_new(
    json_text: *const c_char,
    record: *mut *mut cpoise_record,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let record = handle::new(record)?;
        record.write(cpoise_record(json::record_from_text(text(json_text, "json_text")?)?));
        Ok(())
    })
}

/// The JSON text of a record. What is read from it is equal to the record.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_to_json(
    record: *const cpoise_record,
    json_text: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(json_text, capacity, used, "json_text")?;
        write_text(to, format_args!("{}", json::to_text(&handle::shared(record, "record")?.0)?))
    })
}

/// The JSON Schema (draft 2020-12) of the record.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_json_schema(
    schema: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(schema, capacity, used, "schema")?;
        write_text(to, format_args!("{}", json::RECORD_SCHEMA))
    })
}
