//! What the caller hands over: the only file that follows his pointers.
//!
//! NULL, alignment and sizes are checked here, once. Outputs are raw pointers until they are written, at the end of a
//! body, so that one variable may be both input and output of a call.

use core::ffi::{CStr, c_char};
use core::fmt::{self, Write as _};
use core::mem::{MaybeUninit, align_of, size_of};

use crate::failure::Failure;
use crate::status::{
    CPOISE_BAD_SIZE, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_MISALIGNED, CPOISE_NOT_UTF8,
    CPOISE_NULL_POINTER, CPOISE_WRONG_COUNT,
};

fn pointer<T>(pointer: *const T, what: &str) -> Result<(), Failure> {
    if pointer.is_null() {
        Err(Failure::new(CPOISE_NULL_POINTER, format_args!("{what} is NULL")))
    } else if !pointer.is_aligned() {
        Err(Failure::new(
            CPOISE_MISALIGNED,
            format_args!("{what} is not aligned to {} bytes", align_of::<T>()),
        ))
    } else {
        Ok(())
    }
}

fn count<T>(count: usize, what: &str) -> Result<(), Failure> {
    // No object in memory is larger than isize::MAX bytes.
    match count.checked_mul(size_of::<T>()) {
        Some(bytes) if isize::try_from(bytes).is_ok() => Ok(()),
        _ => Err(Failure::new(
            CPOISE_COUNT_TOO_LARGE,
            format_args!("{what} cannot have {count} elements of {} bytes", size_of::<T>()),
        )),
    }
}

/// A plain value.
pub unsafe fn value<T: Copy>(from: *const T, what: &str) -> Result<T, Failure> {
    pointer(from, what)?;
    // SAFETY: not NULL, aligned, and by the header's rules one readable value.
    Ok(unsafe { from.read() })
}

/// A plain value that may be left out with NULL.
pub unsafe fn optional<T: Copy>(from: *const T, what: &str) -> Result<Option<T>, Failure> {
    if from.is_null() {
        return Ok(None);
    }
    // SAFETY: as for `value`.
    unsafe { value(from, what) }.map(Some)
}

/// A list; NULL is a list of none.
pub unsafe fn list<'a, T: Copy>(from: *const T, length: usize, what: &str) -> Result<&'a [T], Failure> {
    if length == 0 {
        return Ok(&[]);
    }
    pointer(from, what)?;
    count::<T>(length, what)?;
    // SAFETY: not NULL, aligned, of a size that can be, and by the header's rules that many readable values.
    Ok(unsafe { core::slice::from_raw_parts(from, length) })
}

/// A list that must have a given length.
pub unsafe fn list_of<'a, T: Copy>(
    from: *const T,
    length: usize,
    wanted: usize,
    what: &str,
) -> Result<&'a [T], Failure> {
    if length == wanted {
        // SAFETY: as for `list`.
        unsafe { list(from, length, what) }
    } else {
        Err(Failure::new(
            CPOISE_WRONG_COUNT,
            format_args!("{what} must have {wanted} elements, got {length}"),
        ))
    }
}

/// Text that ends with a NUL.
pub unsafe fn text<'a>(from: *const c_char, what: &str) -> Result<&'a str, Failure> {
    pointer(from, what)?;
    // SAFETY: not NULL, and by the header's rules it ends.
    unsafe { CStr::from_ptr(from) }
        .to_str()
        .map_err(|_| Failure::new(CPOISE_NOT_UTF8, format_args!("{what} is not UTF-8")))
}

/// An option struct whose first member is its size, for what the caller knows of it: NULL and all later members are
/// zero, which means the default.
///
/// `T` must be made of numbers and pointers only, for which zero bytes are a value.
pub unsafe fn options<T: Copy + Options>(from: *const T, what: &str) -> Result<T, Failure> {
    let mut options = MaybeUninit::<T>::zeroed();
    if !from.is_null() {
        pointer(from, what)?;
        // SAFETY: not NULL and aligned; every option struct begins with its size.
        let size = unsafe { from.cast::<usize>().read() };
        let bad = |reason: &str| {
            Err(Failure::new(
                CPOISE_BAD_SIZE,
                format_args!("{what} says it has {size} bytes, {reason}: begin with its INIT macro"),
            ))
        };
        if size < T::FIRST_SIZE {
            return bad("fewer than its first version");
        }
        let known = size.min(size_of::<T>());
        // A caller with a newer header may ask for what is not known here; no struct grows beyond 4096 bytes.
        if size > 4096 {
            return bad("more than any version");
        }
        // SAFETY: by the header's rules `size` bytes are readable, and bytes have no alignment.
        let beyond = unsafe { core::slice::from_raw_parts(from.cast::<u8>().add(known), size - known) };
        if beyond.iter().any(|byte| *byte != 0) {
            return bad("and asks for what this library does not know");
        }
        // SAFETY: `known` is within both, and bytes have no alignment.
        unsafe {
            core::ptr::copy_nonoverlapping(from.cast::<u8>(), options.as_mut_ptr().cast::<u8>(), known);
        };
    }
    // SAFETY: numbers and pointers, all bytes of which are set.
    Ok(unsafe { options.assume_init() })
}

/// A struct that may grow.
///
/// # Safety
/// `repr(C)`, made of numbers and pointers only, the first of them the size as `usize`.
pub unsafe trait Options {
    /// Its size in the first version that had it.
    const FIRST_SIZE: usize;
}

/// Where one answer goes.
pub struct Output<T>(*mut T);

/// Where one answer goes, checked before anything is computed.
pub unsafe fn output<T>(to: *mut T, what: &str) -> Result<Output<T>, Failure> {
    pointer(to, what)?;
    Ok(Output(to))
}

/// Where one answer goes that the caller may not want: NULL.
pub unsafe fn optional_output<T>(to: *mut T, what: &str) -> Result<Option<Output<T>>, Failure> {
    if to.is_null() {
        return Ok(None);
    }
    // SAFETY: as for `output`.
    unsafe { output(to, what) }.map(Some)
}

impl<T> Output<T> {
    pub fn write(self, value: T) {
        // SAFETY: not NULL, aligned, and by the header's rules writable.
        unsafe { self.0.write(value) }
    }
}

/// Where a list of answers goes: room for `capacity`, and how many were written, or are needed.
pub struct Results<T> {
    to: *mut T,
    capacity: usize,
    used: Output<usize>,
}

/// Where a list of answers goes, checked before anything is computed. NULL with a capacity of 0 asks how many there are.
pub unsafe fn results<T>(
    to: *mut T,
    capacity: usize,
    used: *mut usize,
    what: &str,
) -> Result<Results<T>, Failure> {
    // SAFETY: as for `output`.
    let used = unsafe { output(used, "the place for the number of results") }?;
    if capacity > 0 {
        pointer(to, what)?;
        count::<T>(capacity, what)?;
    }
    Ok(Results { to, capacity, used })
}

impl<T> Results<T> {
    /// Writes all, or none where they are too many; in both cases says how many there are.
    pub fn write(self, values: impl ExactSizeIterator<Item = T>) -> Result<(), Failure> {
        let needed = values.len();
        if needed > self.capacity {
            self.used.write(needed);
            return Err(Failure::new(
                CPOISE_BUFFER_TOO_SMALL,
                format_args!("there are {needed} results, and room for {}", self.capacity),
            ));
        }
        for (index, value) in values.enumerate().take(needed) {
            // SAFETY: `index` is below the capacity, for which by the header's rules there is room.
            unsafe { self.to.add(index).write(value) };
        }
        self.used.write(needed);
        Ok(())
    }
}

/// Where a text goes: room for `capacity` bytes, the NUL at its end among them. It is formatted twice, first to see how
/// long it is, so that nothing is written where it does not fit and no heap is needed.
pub fn write_text(to: Results<c_char>, text: fmt::Arguments<'_>) -> Result<(), Failure> {
    let mut writer = TextWriter { to: core::ptr::null_mut(), room: 0, length: 0 };
    // Neither counting nor writing fails.
    let _ = writer.write_fmt(text);
    let needed = writer.length + 1;
    if needed > to.capacity {
        to.used.write(needed);
        return Err(Failure::new(
            CPOISE_BUFFER_TOO_SMALL,
            format_args!("the text has {needed} bytes with its NUL, and there is room for {}", to.capacity),
        ));
    }
    let mut writer = TextWriter { to: to.to.cast(), room: writer.length, length: 0 };
    let _ = writer.write_fmt(text);
    // SAFETY: at most `room` bytes were written, and there is room for one more.
    unsafe { to.to.cast::<u8>().add(writer.length.min(writer.room)).write(0) };
    to.used.write(needed);
    Ok(())
}

/// Counts bytes, and writes those for which there is room.
struct TextWriter {
    to: *mut u8,
    room: usize,
    length: usize,
}

impl fmt::Write for TextWriter {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        let fits = text.len().min(self.room.saturating_sub(self.length));
        if fits > 0 {
            // SAFETY: `length + fits` is at most `room`, for which by the header's rules there is room.
            unsafe { core::ptr::copy_nonoverlapping(text.as_ptr(), self.to.add(self.length), fits) };
        }
        self.length += text.len();
        Ok(())
    }
}

/// A text of limited length inside a struct, which ends with a NUL and is cut between characters where it is too long.
pub struct TextBuffer<const BYTES: usize> {
    bytes: [c_char; BYTES],
    length: usize,
    full: bool,
}

impl<const BYTES: usize> TextBuffer<BYTES> {
    pub fn new() -> Self {
        Self { bytes: [0; BYTES], length: 0, full: false }
    }

    pub fn write(&mut self, text: fmt::Arguments<'_>) {
        // It never fails: what does not fit is cut off.
        let _ = self.write_fmt(text);
    }

    pub fn ended(self) -> [c_char; BYTES] {
        self.bytes
    }
}

impl<const BYTES: usize> fmt::Write for TextBuffer<BYTES> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        for character in text.chars() {
            // Once something is cut off, nothing follows; the last byte stays the NUL.
            self.full |= self.length + character.len_utf8() >= BYTES;
            if self.full {
                break;
            }
            let mut encoded = [0; 4];
            for byte in character.encode_utf8(&mut encoded).bytes() {
                if let Some(to) = self.bytes.get_mut(self.length) {
                    // A byte is a char of C, whether that has a sign or not.
                    #[allow(clippy::cast_possible_wrap)]
                    {
                        *to = byte as c_char;
                    }
                    self.length += 1;
                }
            }
        }
        Ok(())
    }
}

/// State that the caller holds by an opaque handle.
#[cfg(feature = "alloc")]
pub mod handle {
    use super::{Failure, Output, output, pointer};
    use alloc::boxed::Box;

    /// A handle that is only read.
    pub unsafe fn shared<'a, T>(handle: *const T, what: &str) -> Result<&'a T, Failure> {
        pointer(handle, what)?;
        // SAFETY: not NULL, and by the header's rules made by the library and not yet freed.
        Ok(unsafe { &*handle })
    }

    /// A handle that is changed.
    pub unsafe fn exclusive<'a, T>(handle: *mut T, what: &str) -> Result<&'a mut T, Failure> {
        pointer(handle, what)?;
        // SAFETY: as for `shared`, and by the header's rules in use by no other thread.
        Ok(unsafe { &mut *handle })
    }

    /// Where a new handle goes.
    pub struct NewHandle<T>(Output<*mut T>);

    /// Where a new handle goes, checked before anything is computed.
    pub unsafe fn new<T>(to: *mut *mut T) -> Result<NewHandle<T>, Failure> {
        // SAFETY: as for `output`.
        unsafe { output(to, "the place for the new handle") }.map(NewHandle)
    }

    impl<T> NewHandle<T> {
        pub fn write(self, state: T) {
            self.0.write(Box::into_raw(Box::new(state)));
        }
    }

    /// Frees a handle; NULL is nothing to free.
    pub unsafe fn free<T>(handle: *mut T) {
        if !handle.is_null() {
            // SAFETY: by the header's rules made by `NewHandle::write`, and freed once.
            drop(unsafe { Box::from_raw(handle) });
        }
    }
}
