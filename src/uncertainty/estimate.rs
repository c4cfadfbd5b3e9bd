//! A value with its covariance: regions, chances, verdicts.

use num_complex::Complex64;

use crate::conformity::Conformity;
use crate::math;
use crate::scatter::DegreesOfFreedom;
use crate::statistics::{Ellipse, mahalanobis_squared, radius_holding, share_inside};

/// An estimated vector quantity: a [`Vibration`](crate::Vibration), an [`UnbalanceVector`](crate::UnbalanceVector) or an
/// [`Influence`](crate::Influence), with the covariance of its two components.
///
/// ```
/// # use counterpoise::*;
/// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// # let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
/// # let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
/// # estimator.add(Run::new("as found").reading(channel.reading(3.0, 0.0)?.with_standard_deviation(0.05)?))?;
/// # estimator.add(Run::new("trial").mounted(0, trial).reading(channel.reading(1.0, 0.0)?.with_standard_deviation(0.05)?))?;
/// let uncertainty = Uncertainty::of(&estimator.fit()?)?;
/// // With half as much again on as in the trial, nothing should be left; as far as can be known:
/// let next = uncertainty.vibration_with(&[trial * 1.5])?[0];
/// assert!(next.value().amplitude() < 1e-12);
/// assert!((next.magnitude(0.95) - 0.05 * (0.25_f64 + 2.25).sqrt() * 2.447_75).abs() < 1e-5);
/// assert_eq!(next.judged(0.1, 0.95), Conformity::Undecided);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate<V> {
    value: V,
    covariance: [[f64; 2]; 2],
    degrees_of_freedom: DegreesOfFreedom,
}

macro_rules! example {
    ($line:literal) => {
        concat!(
            "# use counterpoise::*;\n",
            "# let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Rms);\n",
            "# let window = SpeedWindow::around_percent(Speed::from_rpm(1480.0)?, 1.0)?;\n",
            "# let channel = Channel::new(1, unit, PhaseSense::Lead, window);\n",
            "# let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;\n",
            "# let mut estimator = Estimator::with_known_variances(&[channel], 1)?;\n",
            "# estimator.add(Run::new(\"as found\").reading(channel.reading(3.0, 0.0)?.with_standard_deviation(0.05)?))?;\n",
            "# estimator.add(Run::new(\"trial\").mounted(0, trial).reading(channel.reading(1.0, 0.0)?.with_standard_deviation(0.05)?))?;\n",
            "# let estimate = Uncertainty::of(&estimator.fit()?)?.as_found(0)?;\n",
            $line,
            "\n# Ok::<(), Box<dyn core::error::Error>>(())"
        )
    };
}

impl<V: Copy + Into<Complex64>> Estimate<V> {
    pub(crate) const fn new(
        value: V,
        covariance: [[f64; 2]; 2],
        degrees_of_freedom: DegreesOfFreedom,
    ) -> Self {
        // Symmetric to the last bit, which sums in two orders are not.
        let [[re_re, re_im], [im_re, im_im]] = covariance;
        let off = 0.5 * (re_im + im_re);
        Self { value, covariance: [[re_re, off], [off, im_im]], degrees_of_freedom }
    }

    /// The value.
    ///
    /// ```
    #[doc = example!("assert!((estimate.value().amplitude() - 3.0).abs() < 1e-14);")]
    /// ```
    pub const fn value(&self) -> V {
        self.value
    }

    /// The covariance `[[re re, re im], [im re, im im]]` of its components, in its unit squared.
    ///
    /// ```
    #[doc = example!("assert!((estimate.covariance()[0][0] - 0.0025).abs() < 1e-16);")]
    /// ```
    pub const fn covariance(&self) -> [[f64; 2]; 2] {
        self.covariance
    }

    /// How well the covariance is known.
    ///
    /// ```
    #[doc = example!("assert_eq!(estimate.degrees_of_freedom(), DegreesOfFreedom::Known);")]
    /// ```
    pub const fn degrees_of_freedom(&self) -> DegreesOfFreedom {
        self.degrees_of_freedom
    }

    /// Whether the ellipse that holds the truth with the stated confidence holds a given value.
    ///
    /// ```
    #[doc = example!("assert!(estimate.region_holds(Vibration::from_components(3.1, 0.0)?, 0.95));\nassert!(!estimate.region_holds(Vibration::from_components(3.2, 0.0)?, 0.95));")]
    /// ```
    pub fn region_holds(&self, value: V, confidence: f64) -> bool {
        let (at, here): (Complex64, Complex64) = (value.into(), self.value.into());
        let factor = self.degrees_of_freedom.squared_factor(2, confidence);
        mahalanobis_squared([at.re - here.re, at.im - here.im], self.covariance) <= factor
    }

    /// The semi-axes, larger first, of that ellipse.
    ///
    /// ```
    #[doc = example!("assert!((estimate.region_semi_axes(0.95)[0] - 0.05 * 2.447_75).abs() < 1e-5);")]
    /// ```
    pub fn region_semi_axes(&self, confidence: f64) -> [f64; 2] {
        let factor = math::sqrt(self.degrees_of_freedom.squared_factor(2, confidence));
        let ellipse = Ellipse::of(self.covariance);
        let times = |axis: f64| if axis > 0.0 { axis * factor } else { 0.0 };
        [times(ellipse.major), times(ellipse.minor)]
    }

    /// The radius of the circle about the value that holds the truth with the stated confidence.
    ///
    /// ```
    #[doc = example!("assert!((estimate.radius(0.95) - 0.05 * 2.447_75).abs() < 1e-5);")]
    /// ```
    pub fn radius(&self, confidence: f64) -> f64 {
        self.holding([0.0; 2], confidence)
    }

    /// The size that the truth does not exceed with the stated confidence.
    ///
    /// ```
    #[doc = example!("assert!((estimate.magnitude(0.95) - 3.083).abs() < 1e-3);")]
    /// ```
    pub fn magnitude(&self, confidence: f64) -> f64 {
        let value = self.value.into();
        self.holding([value.re, value.im], confidence)
    }

    fn holding(&self, centre: [f64; 2], confidence: f64) -> f64 {
        if !(confidence > 0.0 && confidence < 1.0) {
            return if confidence <= 0.0 { 0.0 } else { f64::INFINITY };
        }
        let (scale, degrees) = self.degrees_of_freedom.as_t(2);
        if degrees <= 0.0 {
            return f64::INFINITY;
        }
        radius_holding(
            confidence,
            centre,
            Ellipse::of(self.covariance.map(|row| row.map(|entry| entry * scale))),
            degrees,
        )
    }

    /// The chance that the size of the truth is within a limit, in the value's unit; NaN where the scatter is known too
    /// little to say.
    ///
    /// ```
    #[doc = example!("assert!((estimate.chance_within(3.0) - 0.5).abs() < 0.01);")]
    /// ```
    pub fn chance_within(&self, limit: f64) -> f64 {
        let (scale, degrees) = self.degrees_of_freedom.as_t(2);
        if degrees <= 0.0 {
            return f64::NAN;
        }
        let value = self.value.into();
        let ellipse = Ellipse::of(self.covariance.map(|row| row.map(|entry| entry * scale)));
        share_inside(limit, [value.re, value.im], ellipse, degrees)
    }

    /// The verdict on its size against a limit: within where the chance of that is at least the confidence, outside where
    /// the chance of that is, undecided otherwise. A confidence below a half or above 1 decides nothing.
    ///
    /// ```
    #[doc = example!("assert_eq!(estimate.judged(2.5, 0.95), Conformity::Outside);\nassert_eq!(estimate.judged(3.5, 0.95), Conformity::Within);")]
    /// ```
    pub fn judged(&self, limit: f64, confidence: f64) -> Conformity {
        let chance = self.chance_within(limit);
        if !(0.5..=1.0).contains(&confidence) {
            Conformity::Undecided
        } else if chance >= confidence {
            Conformity::Within
        } else if 1.0 - chance >= confidence {
            Conformity::Outside
        } else {
            Conformity::Undecided
        }
    }
}
