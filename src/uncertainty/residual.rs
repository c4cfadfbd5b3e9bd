//! The unbalance that is left, with its uncertainty: in the correction planes, and in the planes a tolerance is stated for.

use alloc::vec::Vec;

use super::correction::CorrectionEstimate;
use super::estimate::Estimate;
use crate::error::UncertaintyError;
use crate::scatter::DegreesOfFreedom;
use crate::unit::Length;
use crate::vector::UnbalanceVector;

impl CorrectionEstimate {
    /// The residual unbalance of every correction plane with what is mounted now: `u = u_mounted − w`, with w the total
    /// correction, so that `v0 + H u_mounted = H u`. It has the covariance of the correction.
    ///
    /// Ask [`is_determined`](Self::is_determined) first. Compare it with a limit by
    /// [`judged`](Estimate::judged) and [`chance_within`](Estimate::chance_within).
    ///
    /// # Errors
    /// [`UncertaintyError::Count`] where it is not one unbalance per plane; [`UncertaintyError::BadNumber`] where one is not
    /// finite.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
    /// let read = |amplitude| channel.reading(amplitude, 0.0)?.with_standard_deviation(0.02);
    /// estimator.add(Run::new("as found").reading(read(3.0)?))?;
    /// estimator.add(Run::new("trial").mounted(0, trial).reading(read(1.0)?))?;
    /// let correction = Uncertainty::of(&estimator.fit()?)?.correction(&[])?;
    /// // 1500 g mm would take it all; 1000 g mm are on.
    /// let residual = correction.residual_with(&[trial])?[0];
    /// assert!((residual.value().amount().gram_millimetres() - 500.0).abs() < 1e-9);
    /// assert_eq!(residual.judged(560.0, 0.95), Conformity::Within);
    /// assert_eq!(residual.judged(510.0, 0.95), Conformity::Undecided);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn residual_with(
        &self,
        mounted: &[UnbalanceVector],
    ) -> Result<Vec<Estimate<UnbalanceVector>>, UncertaintyError> {
        self.check_mounted(mounted)?;
        let residual = |(total, &mounted): (&Estimate<UnbalanceVector>, &UnbalanceVector)| {
            Estimate::new(mounted - total.value(), total.covariance(), total.degrees_of_freedom())
        };
        Ok(self.total().iter().zip(mounted).map(residual).collect())
    }

    /// The residual unbalance of a rigid rotor in two tolerance planes, mostly its bearings: each correction plane's goes to
    /// both by the lever, `u_A = Σ u_i (z_B − z_i)/(z_B − z_A)`, and the covariance of all planes with it. The places are
    /// counted along the axis from any point on it.
    ///
    /// # Errors
    /// As [`residual_with`](Self::residual_with); [`UncertaintyError::Count`] where it is not one place per correction plane;
    /// [`UncertaintyError::BadNumber`] where the tolerance planes coincide.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// # let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
    /// # let read = |amplitude| channel.reading(amplitude, 0.0)?.with_standard_deviation(0.02);
    /// # estimator.add(Run::new("as found").reading(read(3.0)?))?;
    /// # estimator.add(Run::new("trial").mounted(0, trial).reading(read(1.0)?))?;
    /// # let correction = Uncertainty::of(&estimator.fit()?)?.correction(&[])?;
    /// let mm = Length::from_millimetres;
    /// // The disc sits a quarter of the way from bearing A to bearing B: 500 g mm are 375 at A and 125 at B.
    /// let [a, b] = correction.residual_in_planes(&[trial], &[mm(100.0)?], [mm(0.0)?, mm(400.0)?])?;
    /// assert!((a.value().amount().gram_millimetres() - 375.0).abs() < 1e-9);
    /// assert!((b.value().amount().gram_millimetres() - 125.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn residual_in_planes(
        &self,
        mounted: &[UnbalanceVector],
        correction_planes: &[Length],
        tolerance_planes: [Length; 2],
    ) -> Result<[Estimate<UnbalanceVector>; 2], UncertaintyError> {
        let residual = self.residual_with(mounted)?;
        if correction_planes.len() != residual.len() {
            let what = "places of correction planes, one per plane";
            return Err(UncertaintyError::Count {
                what,
                expected: residual.len(),
                got: correction_planes.len(),
            });
        }
        let [first, second] = tolerance_planes;
        let (a, b) = (first.millimetres(), second.millimetres());
        let Some(span) = first.to_plane_millimetres(second, Length::ZERO) else {
            let wanted = "a plane apart from the first";
            return Err(UncertaintyError::BadNumber {
                what: "the second tolerance plane in mm",
                value: b,
                wanted,
            });
        };
        let places = || correction_planes.iter().map(|place| place.millimetres());
        let levers: [Vec<f64>; 2] =
            [places().map(|z| (b - z) / span).collect(), places().map(|z| (z - a) / span).collect()];
        let degrees = residual.iter().map(Estimate::degrees_of_freedom).reduce(DegreesOfFreedom::weaker);
        let degrees = degrees.unwrap_or(DegreesOfFreedom::Known);
        // u = Σ l_i u_i,  C = Σ l_i l_j C_ij
        Ok(levers.map(|levers| {
            let mut value = UnbalanceVector::ZERO;
            let mut covariance = [[0.0; 2]; 2];
            for (i, (one, &lever)) in residual.iter().zip(&levers).enumerate() {
                value = value + one.value() * lever;
                for (j, &other) in levers.iter().enumerate() {
                    let factor = lever * other;
                    for (row, entries) in covariance.iter_mut().enumerate() {
                        for (column, entry) in entries.iter_mut().enumerate() {
                            *entry += factor * self.covariance().entry(2 * i + row, 2 * j + column);
                        }
                    }
                }
            }
            Estimate::new(value, covariance, degrees)
        }))
    }

    fn check_mounted(&self, mounted: &[UnbalanceVector]) -> Result<(), UncertaintyError> {
        let planes = self.total().len();
        if mounted.len() != planes {
            let what = "mounted unbalances, one per plane";
            return Err(UncertaintyError::Count { what, expected: planes, got: mounted.len() });
        }
        let components =
            |mounted: &UnbalanceVector| [mounted.x_gram_millimetres(), mounted.y_gram_millimetres()];
        match mounted.iter().flat_map(components).find(|component| !component.is_finite()) {
            Some(value) => {
                let (what, wanted) = ("a component of a mounted unbalance in g mm", "a finite number");
                Err(UncertaintyError::BadNumber { what, value, wanted })
            }
            None => Ok(()),
        }
    }
}
