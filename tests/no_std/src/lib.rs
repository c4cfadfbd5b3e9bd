//! A small balancing job whose answer is one number: the bits of all results folded together.
#![cfg_attr(feature = "bare", no_std)]

#[cfg(feature = "heap")]
extern crate alloc;

use core::error::Error;

use counterpoise::{Convention, Mass, OnePlane, PhaseSense, Radius, RotorSense};

/// One plane, closed form. Folds the bits of mass and angle of the correction.
pub fn one_plane_bits() -> Option<u64> {
    let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    let radius = Radius::from_millimetres(165.0).ok()?;
    let as_found = convention.vibration(0.45, 48.0).ok()?;
    let trial = convention.weight(Mass::from_grams(12.0).ok()?, radius, 90.0).ok()?;
    let with_trial = convention.vibration(0.61, 75.0).ok()?;
    let plane = OnePlane::from_trial(as_found, with_trial, trial.unbalance()).ok()?;
    let weight = plane.correction(as_found).ok()?.weight_at(radius);
    let angle = weight.angle.in_sense(convention.rotor).degrees();
    Some(weight.mass.grams().to_bits() ^ angle.to_bits().rotate_left(1))
}

/// The general estimator and correction on the same job, and errors as `core::error::Error`.
#[cfg(feature = "heap")]
pub fn general_bits() -> Option<u64> {
    use counterpoise::{
        Channel, CorrectionQuestion, Detector, Estimator, Run, Speed, SpeedWindow, VibrationScale, VibrationUnit,
    };
    let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(2350.0).ok()?, 1.0).ok()?;
    let channel = Channel::new(1, unit, convention.phase, window);
    let radius = Radius::from_millimetres(165.0).ok()?;
    let trial = convention.weight(Mass::from_grams(12.0).ok()?, radius, 90.0).ok()?;
    let mut runs = Estimator::with_relative_weights(&[channel], 1).ok()?;
    runs.add(Run::new("as found").reading(channel.reading(0.45, 48.0).ok()?)).ok()?;
    runs.add(Run::new("trial").mounted(0, trial).reading(channel.reading(0.61, 75.0).ok()?)).ok()?;
    let fit = runs.fit().ok()?;
    let answer = CorrectionQuestion::new(fit.influence(), &fit.as_found()).ok()?.solve().ok()?;
    let added = answer.added().first()?;
    Some(added.x_gram_millimetres().to_bits() ^ added.y_gram_millimetres().to_bits().rotate_left(1))
}

/// All answers in one number, 0 where one is missing.
pub fn all_bits() -> u64 {
    let refused = Mass::from_grams(f64::NAN);
    let is_error = refused.as_ref().err().is_some_and(|error| (error as &dyn Error).source().is_none());
    let general = {
        #[cfg(feature = "heap")]
        {
            general_bits()
        }
        #[cfg(not(feature = "heap"))]
        {
            Some(0_u64)
        }
    };
    match (one_plane_bits(), general, is_error) {
        (Some(one), Some(general), true) => one ^ general.rotate_left(7),
        _ => 0,
    }
}

#[cfg(feature = "bare")]
mod bare {
    /// Called by the program without a C library.
    #[unsafe(no_mangle)]
    pub extern "C" fn all_bits() -> u64 {
        super::all_bits()
    }

    #[panic_handler]
    fn panic(_: &core::panic::PanicInfo) -> ! {
        loop {}
    }

    /// Hands out memory from one block and takes none back: enough for one job.
    #[cfg(feature = "heap")]
    mod heap {
        use core::alloc::{GlobalAlloc, Layout};
        use core::cell::UnsafeCell;
        use core::sync::atomic::{AtomicUsize, Ordering};

        const SIZE: usize = 1 << 20;

        #[repr(align(64))]
        struct Block(UnsafeCell<[u8; SIZE]>, AtomicUsize);

        // SAFETY: the cursor only moves forward, so no byte is handed out twice.
        unsafe impl Sync for Block {}

        // SAFETY: every block handed out is aligned, inside the array, and handed out once.
        unsafe impl GlobalAlloc for Block {
            unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
                let start = self.1.load(Ordering::Relaxed).next_multiple_of(layout.align());
                let Some(end) = start.checked_add(layout.size()).filter(|end| *end <= SIZE) else {
                    return core::ptr::null_mut();
                };
                self.1.store(end, Ordering::Relaxed);
                // SAFETY: start <= end <= SIZE.
                unsafe { self.0.get().cast::<u8>().add(start) }
            }

            unsafe fn dealloc(&self, _: *mut u8, _: Layout) {}
        }

        #[global_allocator]
        static HEAP: Block = Block(UnsafeCell::new([0; SIZE]), AtomicUsize::new(0));
    }
}
