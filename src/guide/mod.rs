//! The longer texts: conventions, a whole job, its record as data, from raw samples to a reading, placement, symbols, sources,
//! words of other books, uncertainty.

#[doc = include_str!("conventions.md")]
pub mod conventions {}

#[cfg(feature = "alloc")]
#[doc = include_str!("job.md")]
pub mod job {}

#[doc = include_str!("measuring.md")]
pub mod measuring {}

#[cfg(feature = "alloc")]
#[doc = include_str!("placement.md")]
pub mod placement {}

#[cfg(feature = "json")]
#[doc = include_str!("record.md")]
pub mod record {}

#[doc = include_str!("symbols.md")]
pub mod symbols {}

#[doc = include_str!("sources.md")]
pub mod sources {}

#[doc = include_str!("words.md")]
pub mod words {}

#[cfg(feature = "alloc")]
#[doc = include_str!("uncertainty.md")]
pub mod uncertainty {}
