//! The influence coefficients of all channels and planes.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use crate::channel::{Channel, Reading, repeated};
use crate::dense::{Matrix, Svd};
use crate::error::{CorrectionError, EstimateError};
use crate::math;
use crate::vector::{Influence, UnbalanceVector, Vibration};

/// Influence coefficients: one row per channel, one column per correction plane.
///
/// It knows its channels, so that a reading of another channel is refused where readings meet coefficients.
///
/// ```
/// use counterpoise::{
///     Channel, Detector, Influence, InfluenceMatrix, PhaseSense, Speed, SpeedWindow, UnbalanceVector, VibrationScale,
///     VibrationUnit,
/// };
/// let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lag, window));
/// let per_g_mm = |re, im| Influence::from_components_per_gram_millimetre(re, im);
/// let matrix = InfluenceMatrix::new(
///     &channels,
///     2,
///     &[per_g_mm(2e-3, 0.0)?, per_g_mm(0.0, 1e-3)?, per_g_mm(1e-3, 0.0)?, per_g_mm(0.0, -2e-3)?],
/// )?;
/// let weights = [UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?, UnbalanceVector::ZERO];
/// assert_eq!(matrix.effect_of(&weights)?[1].complex().re, 1.0);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "Rows", into = "Rows")
)]
pub struct InfluenceMatrix {
    channels: Vec<Channel>,
    planes: usize,
    /// Row-major: channel by channel.
    coefficients: Vec<Influence>,
}

/// A matrix as it is written, row by row: read back through the same checks as everything.
#[cfg(feature = "serde")]
#[derive(serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    channels: Vec<Channel>,
    planes: usize,
    coefficients: Vec<Vec<Influence>>,
}

#[cfg(feature = "serde")]
impl From<InfluenceMatrix> for Rows {
    fn from(matrix: InfluenceMatrix) -> Self {
        let coefficients = matrix.coefficients.chunks(matrix.planes).map(<[_]>::to_vec).collect();
        Self { channels: matrix.channels, planes: matrix.planes, coefficients }
    }
}

#[cfg(feature = "serde")]
impl TryFrom<Rows> for InfluenceMatrix {
    type Error = EstimateError;
    fn try_from(rows: Rows) -> Result<Self, EstimateError> {
        if let Some(row) = rows.coefficients.iter().find(|row| row.len() != rows.planes) {
            return Err(EstimateError::Count {
                what: "influence coefficients of a channel, one per plane",
                expected: rows.planes,
                got: row.len(),
            });
        }
        Self::new(&rows.channels, rows.planes, &rows.coefficients.concat())
    }
}

impl InfluenceMatrix {
    /// A matrix from its coefficients, channel by channel: all planes of the first channel, then of the next.
    ///
    /// # Errors
    /// [`EstimateError::NoChannels`], [`EstimateError::NoPlanes`], [`EstimateError::RepeatedChannel`],
    /// [`EstimateError::Count`] where there are not channels times planes coefficients, and
    /// [`EstimateError::NotRepresentable`] where one is not finite.
    ///
    /// ```
    /// # use counterpoise::{InfluenceMatrix, Influence};
    /// let error = InfluenceMatrix::new(&[], 1, &[]).unwrap_err();
    /// assert_eq!(error.to_string(), "there is no channel: name at least one sensor at one speed");
    /// ```
    pub fn new(
        channels: &[Channel],
        planes: usize,
        coefficients: &[Influence],
    ) -> Result<Self, EstimateError> {
        check_channels(channels)?;
        if planes == 0 {
            return Err(EstimateError::NoPlanes);
        }
        let expected = channels.len().saturating_mul(planes);
        if coefficients.len() != expected {
            return Err(EstimateError::Count {
                what: "influence coefficients",
                expected,
                got: coefficients.len(),
            });
        }
        if let Some(at) = coefficients.iter().position(|coefficient| !coefficient.is_finite()) {
            return Err(EstimateError::NotRepresentable { channel: at / planes });
        }
        Ok(Self { channels: channels.to_vec(), planes, coefficients: coefficients.to_vec() })
    }

    /// For coefficients that were computed for these channels.
    pub(crate) fn computed(channels: Vec<Channel>, planes: usize, coefficients: Vec<Influence>) -> Self {
        Self { channels, planes, coefficients }
    }

    /// The coefficients of some of the planes, in the order given.
    pub(crate) fn in_planes(&self, planes: &[usize]) -> Self {
        let kept = |row: &[Influence]| -> Vec<Influence> {
            planes.iter().filter_map(|&plane| row.get(plane).copied()).collect()
        };
        let coefficients = self.coefficients.chunks(self.planes).flat_map(kept).collect();
        Self::computed(self.channels.clone(), planes.len(), coefficients)
    }

    /// The channels, in the order of the rows.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// let matrix = InfluenceMatrix::new(&channels, 1, &[Influence::ZERO; 2])?;
    /// assert_eq!(matrix.channels()[1].sensor(), 2);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn channels(&self) -> &[Channel] {
        &self.channels
    }

    /// The number of correction planes.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// assert_eq!(matrix.planes(), 2);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn planes(&self) -> usize {
        self.planes
    }

    /// One coefficient, channel and plane counted from 0; `None` outside the matrix.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// assert_eq!(matrix.get(1, 1), Some(h(1e-3)?));
    /// assert_eq!(matrix.get(2, 0), None);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn get(&self, channel: usize, plane: usize) -> Option<Influence> {
        if plane >= self.planes {
            return None;
        }
        self.coefficients.get(channel.checked_mul(self.planes)?.checked_add(plane)?).copied()
    }

    /// The coefficients of one channel, plane by plane; `None` for a channel that does not exist.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// assert_eq!(matrix.row(0).map(<[_]>::len), Some(2));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn row(&self, channel: usize) -> Option<&[Influence]> {
        self.coefficients.chunks(self.planes).nth(channel)
    }

    /// All coefficients, channel by channel.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// assert_eq!(matrix.coefficients().len(), 4);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn coefficients(&self) -> &[Influence] {
        &self.coefficients
    }

    /// What unbalances, one per plane, do at every channel: `Δv_k = Σ_p H_kp u_p`.
    ///
    /// # Errors
    /// [`CorrectionError::Count`] where there is not one unbalance per plane.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// let weight = UnbalanceVector::from_components_gram_millimetres(500.0, 0.0)?;
    /// let effect = matrix.effect_of(&[weight, UnbalanceVector::ZERO])?;
    /// assert_eq!(effect[0].amplitude(), 1.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn effect_of(&self, unbalances: &[UnbalanceVector]) -> Result<Vec<Vibration>, CorrectionError> {
        if unbalances.len() != self.planes {
            return Err(CorrectionError::Count {
                what: "unbalance vectors, one per plane",
                expected: self.planes,
                got: unbalances.len(),
            });
        }
        let effect =
            |row: &[Influence]| row.iter().zip(unbalances).map(|(&influence, &u)| influence * u).sum();
        Ok(self.coefficients.chunks(self.planes).map(effect).collect())
    }

    /// The vibrations of readings, one per channel and in the order of the channels, at their nominal speeds.
    ///
    /// # Errors
    /// [`CorrectionError::Count`] for another count, [`CorrectionError::WrongChannel`] where a reading does not belong
    /// to the channel in its place.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// let [first, second] = channels;
    /// let readings = [first.reading(3.0, 0.0)?, second.reading(2.0, 0.0)?];
    /// assert_eq!(matrix.vibrations_of(&readings)?[1].amplitude(), 2.0);
    /// let exchanged = [readings[1], readings[0]];
    /// assert_eq!(matrix.vibrations_of(&exchanged).unwrap_err().code(), 402);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn vibrations_of(&self, readings: &[Reading]) -> Result<Vec<Vibration>, CorrectionError> {
        if readings.len() != self.channels.len() {
            return Err(CorrectionError::Count {
                what: "readings, one per channel",
                expected: self.channels.len(),
                got: readings.len(),
            });
        }
        let pairs = readings.iter().zip(&self.channels).enumerate();
        pairs
            .map(|(at, (reading, channel))| {
                if reading.channel() == channel {
                    Ok(reading.at_nominal_speed())
                } else {
                    Err(CorrectionError::WrongChannel {
                        channel: at,
                        expected_sensor: channel.sensor(),
                        got_sensor: reading.channel().sensor(),
                    })
                }
            })
            .collect()
    }

    /// The singular values of `√g H`, descending, with `channel_weights` as g; all weights 1 when it is empty.
    ///
    /// # Errors
    /// As [`condition_number`](Self::condition_number).
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// let values = matrix.singular_values(&[])?;
    /// assert!((values[0] - 2e-3).abs() < 1e-17 && (values[1] - 1e-3).abs() < 1e-17);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn singular_values(&self, channel_weights: &[f64]) -> Result<Vec<f64>, CorrectionError> {
        Ok(self.decomposed(channel_weights)?.values().to_vec())
    }

    /// The largest over the least singular value of `√g H`: how much worse than the readings the weights may be.
    /// Infinite where some combination of planes has no effect at all.
    ///
    /// # Errors
    /// [`CorrectionError::Count`] where there is not one weight per channel, [`CorrectionError::ChannelWeight`] where
    /// one is negative or not finite.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channels = [1, 2].map(|sensor| Channel::new(sensor, unit, PhaseSense::Lead, window));
    /// # let h = |re: f64| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// # let matrix = InfluenceMatrix::new(&channels, 2, &[h(2e-3)?, h(0.0)?, h(0.0)?, h(1e-3)?])?;
    /// assert!((matrix.condition_number(&[])? - 2.0).abs() < 1e-14);
    /// // A weight of 4 on the second channel makes both planes equally well seen.
    /// assert!((matrix.condition_number(&[1.0, 4.0])? - 1.0).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn condition_number(&self, channel_weights: &[f64]) -> Result<f64, CorrectionError> {
        let svd = self.decomposed(channel_weights)?;
        if self.channels.len() < self.planes {
            return Ok(f64::INFINITY);
        }
        Ok(svd.condition().unwrap_or(f64::INFINITY))
    }

    /// The singular value decomposition of `√g H`.
    pub(crate) fn decomposed(&self, channel_weights: &[f64]) -> Result<Svd<Complex64>, CorrectionError> {
        let roots = self.weight_roots(channel_weights)?;
        let weighted = Matrix::from_fn(self.channels.len(), self.planes, |channel, plane| {
            let root = roots.get(channel).copied().unwrap_or(1.0);
            self.get(channel, plane).unwrap_or_default().complex() * root
        });
        Svd::factor(weighted).ok_or(CorrectionError::NotRepresentable)
    }

    /// √g of every channel; 1 for all when none are given.
    pub(crate) fn weight_roots(&self, channel_weights: &[f64]) -> Result<Vec<f64>, CorrectionError> {
        if channel_weights.is_empty() {
            return Ok(vec![1.0; self.channels.len()]);
        }
        if channel_weights.len() != self.channels.len() {
            return Err(CorrectionError::Count {
                what: "channel weights, one per channel",
                expected: self.channels.len(),
                got: channel_weights.len(),
            });
        }
        let root = |(channel, &weight): (usize, &f64)| {
            if weight.is_finite() && (0.0..=1e100).contains(&weight) {
                Ok(math::sqrt(weight))
            } else {
                Err(CorrectionError::ChannelWeight { channel, value: weight })
            }
        };
        let roots = channel_weights.iter().enumerate().map(root).collect::<Result<Vec<_>, _>>()?;
        if roots.iter().all(|&root| root == 0.0) {
            return Err(CorrectionError::NoWeight);
        }
        Ok(roots)
    }
}

/// Refuses an empty list of channels, and one that names a channel twice.
pub(crate) fn check_channels(channels: &[Channel]) -> Result<(), EstimateError> {
    if channels.is_empty() {
        return Err(EstimateError::NoChannels);
    }
    match repeated(channels) {
        Some((first, second, sensor)) => Err(EstimateError::RepeatedChannel { first, second, sensor }),
        None => Ok(()),
    }
}
