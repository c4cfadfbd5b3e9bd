//! One and two planes in closed form: no state, no heap.
//!
//! One plane: h = (v1 - v0) / u, correction w = -v / h. Two planes and two measuring points: three runs, H = R D^-1 with
//! D the changes of what is mounted and R those of the vibration; w = -H^-1 v. T. P. Goodman, "A Least-Squares Method for
//! Computing Balance Corrections", Journal of Engineering for Industry 86 (1964), has the general case.
//!
//! Corrections are what to add to what is mounted now.

use counterpoise::{Influence, OnePlane, TwoPlaneRun, TwoPlanes, UnbalanceVector, Vibration};

use crate::argument::{output, value};
use crate::convention::{cpoise_influence, cpoise_unbalance_vector, cpoise_vibration};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::cpoise_status;

/// One of the three runs of two planes.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_two_plane_run {
    /// What is mounted in each plane, counted from the bare rotor. A trial weight that stays on is said again.
    pub mounted: [cpoise_unbalance_vector; 2],
    /// What each measuring point reads.
    pub vibration: [cpoise_vibration; 2],
}

/// The four influence coefficients of two planes and two measuring points.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_two_planes {
    /// At the first measuring point: of the first plane, of the second.
    pub at_first_point: [cpoise_influence; 2],
    /// At the second measuring point: of the first plane, of the second.
    pub at_second_point: [cpoise_influence; 2],
}

/// Two values, each through its own check.
fn both<T: Copy, U>([one, other]: [T; 2]) -> Result<[U; 2], Failure>
where
    U: TryFrom<T, Error = Failure>,
{
    Ok([U::try_from(one)?, U::try_from(other)?])
}

impl TryFrom<cpoise_two_plane_run> for TwoPlaneRun {
    type Error = Failure;
    fn try_from(from: cpoise_two_plane_run) -> Result<Self, Failure> {
        Ok(Self { mounted: both(from.mounted)?, vibration: both(from.vibration)? })
    }
}

impl TryFrom<cpoise_two_planes> for TwoPlanes {
    type Error = Failure;
    fn try_from(from: cpoise_two_planes) -> Result<Self, Failure> {
        Ok(Self::from_influence([both(from.at_first_point)?, both(from.at_second_point)?])?)
    }
}

/// The influence coefficient of one plane from two runs: h = (v1 - v0) / change.
///
/// change: what was mounted for the second run and not for the first.
///
/// Refuses: no change of what is mounted (301), readings equal to rounding (302), a quotient beyond the range of numbers
/// (320), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_one_plane_from_trial(
    as_found: *const cpoise_vibration,
    with_trial: *const cpoise_vibration,
    change: *const cpoise_unbalance_vector,
    influence: *mut cpoise_influence,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let influence = output(influence, "influence")?;
        let as_found = Vibration::try_from(value(as_found, "as_found")?)?;
        let with_trial = Vibration::try_from(value(with_trial, "with_trial")?)?;
        let change = UnbalanceVector::try_from(value(change, "change")?)?;
        influence.write(OnePlane::from_trial(as_found, with_trial, change)?.influence().into());
        Ok(())
    })
}

/// What to add in one plane so that the vibration becomes zero: w = -v / h.
///
/// now: the vibration with what is mounted now.
///
/// Refuses: a coefficient of zero (404), a quotient beyond the range of numbers (412), numbers that are not finite (101)
/// or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_one_plane_correction(
    influence: *const cpoise_influence,
    now: *const cpoise_vibration,
    add: *mut cpoise_unbalance_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let add = output(add, "add")?;
        let plane = OnePlane::from_influence(Influence::try_from(value(influence, "influence")?)?)?;
        add.write(plane.correction(Vibration::try_from(value(now, "now")?)?)?.into());
        Ok(())
    })
}

/// The vibration after adding an unbalance in one plane: v + h w.
///
/// Refuses: a coefficient of zero (404), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_one_plane_predicted(
    influence: *const cpoise_influence,
    now: *const cpoise_vibration,
    added: *const cpoise_unbalance_vector,
    then: *mut cpoise_vibration,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let then = output(then, "then")?;
        let plane = OnePlane::from_influence(Influence::try_from(value(influence, "influence")?)?)?;
        let now = Vibration::try_from(value(now, "now")?)?;
        then.write(plane.predicted(now, UnbalanceVector::try_from(value(added, "added")?)?).into());
        Ok(())
    })
}

/// The influence coefficients of two planes from three runs: the two later ones against the first.
///
/// runs: an array of three.
///
/// Refuses: a later run that mounts the same as the first (301) or reads the same at both points (302), changes in
/// proportion (303), a result beyond the range of numbers (320), numbers that are not finite (101) or beyond 1e100 (104),
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_two_planes_from_runs(
    runs: *const cpoise_two_plane_run,
    planes: *mut cpoise_two_planes,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let planes = output(planes, "planes")?;
        let [first, second, third] = value(runs.cast::<[cpoise_two_plane_run; 3]>(), "runs")?;
        let runs = [first.try_into()?, second.try_into()?, third.try_into()?];
        let [at_first_point, at_second_point] = TwoPlanes::from_runs(&runs)?.influence();
        planes.write(cpoise_two_planes {
            at_first_point: at_first_point.map(Into::into),
            at_second_point: at_second_point.map(Into::into),
        });
        Ok(())
    })
}

/// What to add in each plane so that both vibrations become zero: w = -H^-1 v.
///
/// now: the vibrations at the two points, an array of two. add: by plane, an array of two.
///
/// Refuses: planes that act in proportion, to rounding (411), a result beyond the range of numbers (412), numbers that
/// are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_two_planes_correction(
    planes: *const cpoise_two_planes,
    now: *const cpoise_vibration,
    add: *mut cpoise_unbalance_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let add = output(add.cast::<[cpoise_unbalance_vector; 2]>(), "add")?;
        let planes = TwoPlanes::try_from(value(planes, "planes")?)?;
        let now = both(value(now.cast::<[cpoise_vibration; 2]>(), "now")?)?;
        add.write(planes.correction(now)?.map(Into::into));
        Ok(())
    })
}

/// The vibrations after adding an unbalance in each plane: v + H w.
///
/// now, then: at the two points, arrays of two. added: by plane, an array of two.
///
/// Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_two_planes_predicted(
    planes: *const cpoise_two_planes,
    now: *const cpoise_vibration,
    added: *const cpoise_unbalance_vector,
    then: *mut cpoise_vibration,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let then = output(then.cast::<[cpoise_vibration; 2]>(), "then")?;
        let planes = TwoPlanes::try_from(value(planes, "planes")?)?;
        let now = both(value(now.cast::<[cpoise_vibration; 2]>(), "now")?)?;
        let added = both(value(added.cast::<[cpoise_unbalance_vector; 2]>(), "added")?)?;
        then.write(planes.predicted(now, added).map(Into::into));
        Ok(())
    })
}

/// The largest over the least singular value of H: how much worse than the readings the weights may be. Infinite where
/// the planes act in proportion.
///
/// Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_two_planes_condition_number(
    planes: *const cpoise_two_planes,
    condition_number: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let condition_number = output(condition_number, "condition_number")?;
        condition_number.write(TwoPlanes::try_from(value(planes, "planes")?)?.condition_number());
        Ok(())
    })
}
