//! Memory in a build with a heap and without std: from two functions of the integrator's, which the top of the header names.

use core::alloc::{GlobalAlloc, Layout};
use core::ffi::c_void;

unsafe extern "C" {
    fn cpoise_host_allocate(bytes: usize, alignment: usize) -> *mut c_void;
    fn cpoise_host_release(memory: *mut c_void, bytes: usize, alignment: usize);
}

struct Host;

// SAFETY: the integrator's functions do what the top of the header asks of them.
unsafe impl GlobalAlloc for Host {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        // SAFETY: the size is not zero, and the alignment a power of two.
        unsafe { cpoise_host_allocate(layout.size(), layout.align()) }.cast()
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        // SAFETY: the memory came from `alloc` with this layout.
        unsafe { cpoise_host_release(memory.cast(), layout.size(), layout.align()) };
    }
}

#[global_allocator]
static HOST: Host = Host;
