//! Influence coefficients from runs: matrix, prior, estimator, fit.
//!
//! v_i = v0_i + sum over planes of h_ip u_p + noise, for every run: one complex linear regression, by weighted least squares,
//! x = argmin sum g |y - A x|^2 for every channel (T. P. Goodman, 1964, has the weighted case); with a prior the mean of what
//! is then believed. Channels, planes and runs are counted from 0.
//!
//! All weights that differ from the bare rotor are said in every run, whether put on for it or left on from one before.

use alloc::vec::Vec;
use core::ffi::c_char;

use counterpoise::{
    Channel, ChannelFit, Covariance, Estimator, Influence, InfluenceFit, InfluenceMatrix, Prior, Reading,
    Run, UnbalanceVector, Vibration,
};

use crate::argument::{handle, list, output, results, text};
use crate::caution::{cpoise_caution, write_all};
use crate::channel::{
    CPOISE_PRECISION_RELATIVE, CPOISE_PRECISION_SCATTER, cpoise_channel, cpoise_reading, degrees,
};
use crate::convention::{cpoise_influence, cpoise_unbalance_vector, cpoise_vibration};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::{
    CPOISE_NO_SUCH_INDEX, CPOISE_NO_VALUE, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT, cpoise_status,
};

/// The largest number of correction planes that is taken here.
pub const CPOISE_MOST_PLANES: usize = 256;

/// Influence coefficients, channel by channel, with their channels. Never changes once it is made.
pub struct cpoise_influence_matrix(pub InfluenceMatrix);

/// Coefficients of an earlier job or of a sister machine, and how far those of this machine may differ from them.
pub struct cpoise_prior(pub Prior);

/// Estimates the vibration as found and the influence coefficients from all runs that it is given.
pub struct cpoise_estimator(pub Estimator);

/// What an estimator found. Never changes once it is made, and does not depend on the estimator.
pub struct cpoise_fit(pub InfluenceFit);

/// An unbalance that is mounted in a plane.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_mounted {
    /// The plane, counted from 0.
    pub plane: usize,
    /// What is mounted; several in one plane add up.
    pub unbalance: cpoise_unbalance_vector,
}

/// How well one channel was fitted.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_channel_fit {
    /// The vibration as found: that of the bare rotor, from which all mounted weights were counted.
    pub as_found: cpoise_vibration,
    /// How many readings there are beyond the unknowns.
    pub excess_readings: usize,
    /// The weighted sum of squares of the residuals.
    pub weighted_sum_of_squares: f64,
    /// The variance per component of a reading of weight 1, from the residuals; NaN where there are none in excess.
    pub residual_variance: f64,
    /// With known variances, the chi-squared of the residuals; NaN otherwise.
    pub chi_squared: f64,
    /// Its degrees of freedom; 0 where there is none.
    pub chi_squared_degrees: usize,
    /// How well the covariance is known: CPOISE_DEGREES_KNOWN, _CIRCULAR or _FULL; 0 where there is no covariance.
    pub degrees_kind: i32,
    /// Degrees of freedom of the covariance: infinite where it is known, NaN where there is none.
    pub degrees_of_freedom: f64,
}

/// A list through the checks of its elements.
pub fn each<T: Copy, U: TryFrom<T, Error = Failure>>(list: &[T]) -> Result<Vec<U>, Failure> {
    list.iter().map(|element| U::try_from(*element)).collect()
}

fn few_planes(planes: usize) -> Result<usize, Failure> {
    if planes <= CPOISE_MOST_PLANES {
        Ok(planes)
    } else {
        Err(Failure::new(
            CPOISE_OUT_OF_RANGE,
            format_args!("planes must be at most {CPOISE_MOST_PLANES}, got {planes}"),
        ))
    }
}

fn channel_of(fit: &cpoise_fit, channel: usize) -> Result<&ChannelFit, Failure> {
    fit.0.channels().get(channel).ok_or_else(|| {
        let count = fit.0.channels().len();
        Failure::new(
            CPOISE_NO_SUCH_INDEX,
            format_args!("there is no channel {channel}: there are {count}, from 0"),
        )
    })
}

fn no_run(run: usize) -> Failure {
    Failure::new(CPOISE_NO_SUCH_INDEX, format_args!("there is no reading of the channel in a run {run}"))
}

/// Makes a matrix from stored coefficients.
///
/// channels: a list of channel_count. coefficients: a list of coefficient_count = channel_count times planes: all planes of
/// the first channel, then of the next. matrix: the new handle.
///
/// Refuses: no channels (304), no planes (305), a channel twice (307), another count (308), a channel or coefficient that
/// cannot be one (101 to 104, 201, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), more than CPOISE_MOST_PLANES planes
/// (CPOISE_OUT_OF_RANGE), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_new(
    channels: *const cpoise_channel,
    channel_count: usize,
    planes: usize,
    coefficients: *const cpoise_influence,
    coefficient_count: usize,
    matrix: *mut *mut cpoise_influence_matrix,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let matrix = handle::new(matrix)?;
        let channels: Vec<Channel> = each(list(channels, channel_count, "channels")?)?;
        let coefficients: Vec<Influence> = each(list(coefficients, coefficient_count, "coefficients")?)?;
        let made = InfluenceMatrix::new(&channels, few_planes(planes)?, &coefficients)?;
        matrix.write(cpoise_influence_matrix(made));
        Ok(())
    })
}

/// Frees a matrix; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_free(matrix: *mut cpoise_influence_matrix) {
    guarded_value!((), { handle::free(matrix) });
}

/// How many channels and planes a matrix has.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_size(
    matrix: *const cpoise_influence_matrix,
    channel_count: *mut usize,
    planes: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_count, to_planes) = (output(channel_count, "channel_count")?, output(planes, "planes")?);
        let matrix = &handle::shared(matrix, "matrix")?.0;
        to_count.write(matrix.channels().len());
        to_planes.write(matrix.planes());
        Ok(())
    })
}

/// The channels of a matrix, in its order.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_channels(
    matrix: *const cpoise_influence_matrix,
    channels: *mut cpoise_channel,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let channels = results(channels, capacity, used, "channels")?;
        channels.write(handle::shared(matrix, "matrix")?.0.channels().iter().map(|channel| (*channel).into()))
    })
}

/// All coefficients: all planes of the first channel, then of the next.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_coefficients(
    matrix: *const cpoise_influence_matrix,
    coefficients: *mut cpoise_influence,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let coefficients = results(coefficients, capacity, used, "coefficients")?;
        coefficients.write(handle::shared(matrix, "matrix")?.0.coefficients().iter().map(|h| (*h).into()))
    })
}

/// What unbalances, one per plane, do at every channel: H u.
///
/// unbalances: a list of count, by plane. vibrations: by channel.
///
/// Refuses: another count (401), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_effect(
    matrix: *const cpoise_influence_matrix,
    unbalances: *const cpoise_unbalance_vector,
    count: usize,
    vibrations: *mut cpoise_vibration,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibrations = results(vibrations, capacity, used, "vibrations")?;
        let matrix = handle::shared(matrix, "matrix")?;
        let unbalances: Vec<UnbalanceVector> = each(list(unbalances, count, "unbalances")?)?;
        vibrations.write(matrix.0.effect_of(&unbalances)?.into_iter().map(Into::into))
    })
}

/// The singular values of sqrt(g) H, descending. channel_weights: g, a list of weight_count by channel; none for 1 each. The
/// first over the last is the condition number: how much worse than the readings the weights may be.
///
/// Refuses: another count (401), a weight that is negative or not finite (403), CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_singular_values(
    matrix: *const cpoise_influence_matrix,
    channel_weights: *const f64,
    weight_count: usize,
    values: *mut f64,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let values = results(values, capacity, used, "values")?;
        let matrix = handle::shared(matrix, "matrix")?;
        let weights = list(channel_weights, weight_count, "channel_weights")?;
        values.write(matrix.0.singular_values(weights)?.into_iter())
    })
}

/// The condition number of sqrt(g) H: infinite where some combination of planes has no effect at all.
///
/// Refuses: another count (401), a weight that is negative or not finite (403), CPOISE_COUNT_TOO_LARGE,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_matrix_condition_number(
    matrix: *const cpoise_influence_matrix,
    channel_weights: *const f64,
    weight_count: usize,
    condition_number: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let condition_number = output(condition_number, "condition_number")?;
        let matrix = handle::shared(matrix, "matrix")?;
        let weights = list(channel_weights, weight_count, "channel_weights")?;
        condition_number.write(matrix.0.condition_number(weights)?);
        Ok(())
    })
}

/// A prior of coefficients that may each differ by a fraction of their size, in any direction: the standard deviation of
/// each component is the fraction times |h|. mean: copied.
///
/// Refuses: a fraction that is not positive and finite, a coefficient of zero (318), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_prior_with_relative_spread_new(
    mean: *const cpoise_influence_matrix,
    fraction: f64,
    prior: *mut *mut cpoise_prior,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let prior = handle::new(prior)?;
        let mean = handle::shared(mean, "mean")?.0.clone();
        prior.write(cpoise_prior(Prior::with_relative_spread(mean, fraction)?));
        Ok(())
    })
}

/// A prior of coefficients that may each differ by a standard deviation of its own, per component and g mm.
///
/// mean: copied. standard_deviations: a list of count, in the order of the coefficients.
///
/// Refuses: another count (308), one that is not positive and finite (318), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_prior_with_standard_deviations_new(
    mean: *const cpoise_influence_matrix,
    standard_deviations: *const f64,
    count: usize,
    prior: *mut *mut cpoise_prior,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let prior = handle::new(prior)?;
        let mean = handle::shared(mean, "mean")?.0.clone();
        let deviations = list(standard_deviations, count, "standard_deviations")?;
        prior.write(cpoise_prior(Prior::with_standard_deviations(mean, deviations)?));
        Ok(())
    })
}

/// A prior of coefficients with a full covariance for every channel, over the planes.
///
/// mean: copied. entries: a list of count = channels times (2 planes)^2: for each channel the real symmetric matrix over
/// Re h_0, Im h_0, Re h_1, ... row by row, per g mm squared. Whether each is positive definite shows in the fit.
///
/// Refuses: another count (308), an entry that cannot be one (317), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_prior_with_covariances_new(
    mean: *const cpoise_influence_matrix,
    entries: *const f64,
    count: usize,
    prior: *mut *mut cpoise_prior,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let prior = handle::new(prior)?;
        let mean = handle::shared(mean, "mean")?.0.clone();
        let entries = list(entries, count, "entries")?;
        let planes = mean.planes();
        let size = 4 * planes * planes;
        let expected = size * mean.channels().len();
        if count != expected {
            let what = "covariance entries";
            return Err(counterpoise::EstimateError::Count { what, expected, got: count }.into());
        }
        let covariances: Result<Vec<Covariance>, _> =
            entries.chunks(size).map(|entries| Covariance::from_entries(planes, entries)).collect();
        prior.write(cpoise_prior(Prior::with_covariances(mean, covariances?)?));
        Ok(())
    })
}

/// A prior of the coefficients of an earlier fit with its covariance.
///
/// widened_by: for another machine of the type, which differs by a further fraction of each coefficient; 0 for the same.
///
/// Refuses: a fit without a covariance, as with as many runs as unknowns and no known variances (CPOISE_NO_VALUE); a
/// fraction that is negative or not finite (101, 103), a variance beyond range (318), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_prior_from_fit_new(
    fit: *const cpoise_fit,
    widened_by: f64,
    prior: *mut *mut cpoise_prior,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let prior = handle::new(prior)?;
        let fit = handle::shared(fit, "fit")?;
        let known = Prior::from_fit(&fit.0)
            .ok_or_else(|| Failure::new(CPOISE_NO_VALUE, format_args!("the fit has no covariance")))?;
        prior.write(cpoise_prior(known.widened_by(widened_by)?));
        Ok(())
    })
}

/// Frees a prior; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_prior_free(prior: *mut cpoise_prior) {
    guarded_value!((), { handle::free(prior) });
}

/// Makes an estimator.
///
/// channels: a list of channel_count. planes: 1 to CPOISE_MOST_PLANES. precision: CPOISE_PRECISION_RELATIVE where readings
/// have weights, and their scatter is estimated from the residuals, channel by channel; CPOISE_PRECISION_SCATTER where all
/// readings say how much they scatter. estimator: the new handle.
///
/// Refuses: no channels (304), no planes (305), a channel twice (307), a channel that cannot be one (101, 102, 104, 201,
/// CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_estimator_new(
    channels: *const cpoise_channel,
    channel_count: usize,
    planes: usize,
    precision: i32,
    estimator: *mut *mut cpoise_estimator,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let estimator = handle::new(estimator)?;
        let channels: Vec<Channel> = each(list(channels, channel_count, "channels")?)?;
        let planes = few_planes(planes)?;
        let made = match precision {
            CPOISE_PRECISION_RELATIVE => Estimator::with_relative_weights(&channels, planes)?,
            CPOISE_PRECISION_SCATTER => Estimator::with_known_variances(&channels, planes)?,
            other => {
                return Err(Failure::new(
                    CPOISE_UNKNOWN_CONSTANT,
                    format_args!("precision {other} is not known: take one of the constants in the header"),
                ));
            }
        };
        estimator.write(cpoise_estimator(made));
        Ok(())
    })
}

/// Frees an estimator; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_estimator_free(estimator: *mut cpoise_estimator) {
    guarded_value!((), { handle::free(estimator) });
}

/// Gives an estimator a prior on the coefficients, in place of one that it had. prior: copied. With one reading and a
/// prior it does one-shot balancing.
///
/// Refuses, and leaves the estimator as it was: relative weights, which leave nothing to weigh a prior against (315); a
/// prior for other channels or planes (316); CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_estimator_set_prior(
    estimator: *mut cpoise_estimator,
    prior: *const cpoise_prior,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let estimator = handle::exclusive(estimator, "estimator")?;
        let prior = handle::shared(prior, "prior")?.0.clone();
        estimator.0 = estimator.0.clone().with_prior(prior)?;
        Ok(())
    })
}

/// Adds a run: what was mounted, and what was read.
///
/// label: for the person who reads a report, UTF-8 that ends with a NUL; or NULL. mounted: a list of mounted_count; a plane
/// that is not mentioned carries nothing. readings: a list of reading_count, at least 1; a channel that was not read is left
/// out. run: its number, counted from 0; or NULL.
///
/// Refuses, and leaves the estimator as it was: a plane that does not exist (309), an unbalance that is not finite (310), no
/// reading (311), a channel that was not named (312) or twice (313), a precision of the other kind (314), numbers beyond
/// range (320); readings and unbalances that cannot be such (101 to 104, 201, 202, 205, 206, CPOISE_OUT_OF_RANGE,
/// CPOISE_UNKNOWN_CONSTANT); CPOISE_NOT_UTF8, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_estimator_add_run(
    estimator: *mut cpoise_estimator,
    label: *const c_char,
    mounted: *const cpoise_mounted,
    mounted_count: usize,
    readings: *const cpoise_reading,
    reading_count: usize,
    run: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to_run = crate::argument::optional_output(run, "run")?;
        let estimator = handle::exclusive(estimator, "estimator")?;
        let mut run = Run::new(if label.is_null() { "" } else { text(label, "label")? });
        for mounted in list(mounted, mounted_count, "mounted")? {
            run = run.mounted(mounted.plane, UnbalanceVector::try_from(mounted.unbalance)?);
        }
        for reading in list(readings, reading_count, "readings")? {
            run = run.reading(Reading::try_from(*reading)?);
        }
        let number = estimator.0.add(run)?;
        if let Some(to_run) = to_run {
            to_run.write(number);
        }
        Ok(())
    })
}

/// How many runs an estimator has.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_estimator_runs(
    estimator: *const cpoise_estimator,
    runs: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let runs = output(runs, "runs")?;
        runs.write(handle::shared(estimator, "estimator")?.0.runs().len());
        Ok(())
    })
}

/// What the runs alone, without a prior, can tell of a channel: the rank of its design against the number of its unknowns,
/// and the condition number, with columns brought to equal length; infinite where the rank is too low.
///
/// Refuses: a channel that does not exist (321), numbers too far apart (320), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_estimator_design(
    estimator: *const cpoise_estimator,
    channel: usize,
    rank: *mut usize,
    unknowns: *mut usize,
    condition_number: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (rank, unknowns) = (output(rank, "rank")?, output(unknowns, "unknowns")?);
        let condition_number = output(condition_number, "condition_number")?;
        let design = handle::shared(estimator, "estimator")?.0.design(channel)?;
        rank.write(design.rank);
        unknowns.write(design.unknowns);
        condition_number.write(design.condition_number);
        Ok(())
    })
}

/// Fits all runs. fit: the new handle; the estimator stays as it is, and may take more runs.
///
/// Refuses: no runs (306), runs that do not determine all unknowns (319, the detail says which planes cannot be told apart),
/// a prior whose covariance is not positive definite (318), numbers too far apart (320), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_estimator_fit_new(
    estimator: *const cpoise_estimator,
    fit: *mut *mut cpoise_fit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let fit = handle::new(fit)?;
        fit.write(cpoise_fit(handle::shared(estimator, "estimator")?.0.fit()?));
        Ok(())
    })
}

/// The same fit with one residual variance for all channels, which says more where they scatter alike. It changes nothing
/// where the scatter of readings was given.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_with_common_variance_new(
    fit: *const cpoise_fit,
    common: *mut *mut cpoise_fit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let common = handle::new(common)?;
        common.write(cpoise_fit(handle::shared(fit, "fit")?.0.clone().with_common_variance()));
        Ok(())
    })
}

/// Frees a fit; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_free(fit: *mut cpoise_fit) {
    guarded_value!((), { handle::free(fit) });
}

/// The influence coefficients of a fit, as a new matrix of its own.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_influence_new(
    fit: *const cpoise_fit,
    matrix: *mut *mut cpoise_influence_matrix,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let matrix = handle::new(matrix)?;
        matrix.write(cpoise_influence_matrix(handle::shared(fit, "fit")?.0.influence().clone()));
        Ok(())
    })
}

/// The vibration as found of every channel: that of the bare rotor, from which all mounted weights were counted.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_as_found(
    fit: *const cpoise_fit,
    vibrations: *mut cpoise_vibration,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibrations = results(vibrations, capacity, used, "vibrations")?;
        vibrations.write(handle::shared(fit, "fit")?.0.as_found().into_iter().map(Into::into))
    })
}

/// The vibration of every channel with given unbalances mounted, counted from the bare rotor: v0 + H u.
///
/// unbalances: a list of count, by plane.
///
/// Refuses: another count (401), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_vibration_with(
    fit: *const cpoise_fit,
    unbalances: *const cpoise_unbalance_vector,
    count: usize,
    vibrations: *mut cpoise_vibration,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibrations = results(vibrations, capacity, used, "vibrations")?;
        let fit = handle::shared(fit, "fit")?;
        let unbalances: Vec<UnbalanceVector> = each(list(unbalances, count, "unbalances")?)?;
        let with: Vec<Vibration> = fit.0.vibration_with(&unbalances)?;
        vibrations.write(with.into_iter().map(Into::into))
    })
}

/// How well one channel was fitted.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_channel(
    fit: *const cpoise_fit,
    channel: usize,
    channel_fit: *mut cpoise_channel_fit,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let channel_fit = output(channel_fit, "channel_fit")?;
        let of = channel_of(handle::shared(fit, "fit")?, channel)?;
        let chi_squared = of.chi_squared();
        let (degrees_kind, degrees_of_freedom) = of.degrees_of_freedom().map_or((0, f64::NAN), degrees);
        channel_fit.write(cpoise_channel_fit {
            as_found: of.as_found().into(),
            excess_readings: of.excess_readings(),
            weighted_sum_of_squares: of.weighted_sum_of_squares(),
            residual_variance: of.residual_variance().unwrap_or(f64::NAN),
            chi_squared: chi_squared.map_or(f64::NAN, |chi_squared| chi_squared.value),
            chi_squared_degrees: chi_squared.map_or(0, |chi_squared| chi_squared.degrees_of_freedom),
            degrees_kind,
            degrees_of_freedom,
        });
        Ok(())
    })
}

/// The residual of a reading: what was read less what the fit expects, at the nominal speed; and what it is in standard
/// deviations, standardised by the scatter of the fit and studentised by that of all others. NaN for a figure that the runs
/// do not give.
///
/// Refuses: CPOISE_NO_SUCH_INDEX for a channel that does not exist or was not read in the run, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_residual(
    fit: *const cpoise_fit,
    channel: usize,
    run: usize,
    residual: *mut cpoise_vibration,
    leverage: *mut f64,
    standardised: *mut f64,
    studentised: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (residual, leverage) = (output(residual, "residual")?, output(leverage, "leverage")?);
        let (standardised, studentised) =
            (output(standardised, "standardised")?, output(studentised, "studentised")?);
        let of = channel_of(handle::shared(fit, "fit")?, channel)?;
        residual.write(of.residual(run).ok_or_else(|| no_run(run))?.into());
        leverage.write(of.leverage(run).unwrap_or(f64::NAN));
        standardised.write(of.standardised_residual(run).unwrap_or(f64::NAN));
        studentised.write(of.studentised_residual(run).unwrap_or(f64::NAN));
        Ok(())
    })
}

/// The covariance of a channel's unknowns: a real symmetric matrix over Re v0, Im v0, Re h_0, Im h_0, Re h_1, ..., row by
/// row: (2 (planes + 1))^2 entries, in the channel's unit and per g mm, squared.
///
/// Refuses: CPOISE_NO_VALUE where there are only as many runs as unknowns and no known variances, CPOISE_NO_SUCH_INDEX,
/// CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_covariance(
    fit: *const cpoise_fit,
    channel: usize,
    entries: *mut f64,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let entries = results(entries, capacity, used, "entries")?;
        let of = channel_of(handle::shared(fit, "fit")?, channel)?;
        let covariance = of.covariance().ok_or_else(|| {
            Failure::new(
                CPOISE_NO_VALUE,
                format_args!("nothing says how the readings of channel {channel} scatter"),
            )
        })?;
        entries.write(covariance.entries().iter().copied())
    })
}

/// The cofactor of a channel's unknowns: its covariance were the variance of a reading of weight 1 equal to 1. Always
/// there. Rows and columns as of cpoise_fit_covariance.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_cofactor(
    fit: *const cpoise_fit,
    channel: usize,
    entries: *mut f64,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let entries = results(entries, capacity, used, "entries")?;
        let of = channel_of(handle::shared(fit, "fit")?, channel)?;
        entries.write(of.cofactor().entries().iter().copied())
    })
}

/// What was mounted in a run, one unbalance per plane.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_mounted_in(
    fit: *const cpoise_fit,
    run: usize,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        let mounted = handle::shared(fit, "fit")?.0.mounted_in(run);
        let mounted = mounted.ok_or_else(|| {
            Failure::new(CPOISE_NO_SUCH_INDEX, format_args!("there is no run {run}, counted from 0"))
        })?;
        unbalances.write(mounted.iter().map(|unbalance| (*unbalance).into()))
    })
}

/// The cautions of a fit.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_fit_cautions(
    fit: *const cpoise_fit,
    cautions: *mut cpoise_caution,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let cautions = results(cautions, capacity, used, "cautions")?;
        write_all(cautions, handle::shared(fit, "fit")?.0.cautions())
    })
}
