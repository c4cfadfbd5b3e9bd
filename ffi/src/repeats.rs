//! Repeated readings: their mean, and how it scatters. Vectors are averaged, never amplitudes and phases apart.

use alloc::vec::Vec;

use counterpoise::{Repeats, Vibration};

use crate::argument::{list, optional_output, output};
use crate::channel::cpoise_scatter;
use crate::convention::cpoise_vibration;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::{CPOISE_NO_VALUE, cpoise_status};

/// The mean, as a vector, of repeated readings of one state, and the scatter of that mean.
///
/// repeats: a list of count, at least 1. scatter may be NULL where only the mean is wanted.
///
/// Refuses: none (207), one that is not finite (101) or beyond 1e100 (104); a scatter asked for from fewer than three or
/// from equal readings (CPOISE_NO_VALUE); CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_repeats_mean(
    repeats: *const cpoise_vibration,
    count: usize,
    mean: *mut cpoise_vibration,
    scatter: *mut cpoise_scatter,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let mean = output(mean, "mean")?;
        let scatter = optional_output(scatter, "scatter")?;
        let repeats = list(repeats, count, "repeats")?;
        let repeats: Result<Vec<Vibration>, Failure> =
            repeats.iter().map(|repeat| Vibration::try_from(*repeat)).collect();
        let repeats = Repeats::of(&repeats?)?;
        if let Some(scatter) = scatter {
            let of_mean = repeats.scatter_of_mean().ok_or_else(|| {
                Failure::new(
                    CPOISE_NO_VALUE,
                    format_args!(
                        "{count} readings do not say how their mean scatters: give three or more that differ"
                    ),
                )
            })?;
            scatter.write(of_mean.into());
        }
        mean.write(repeats.mean().into());
        Ok(())
    })
}
