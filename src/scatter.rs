//! How far readings scatter: a 2x2 covariance, and how well it is known.

use crate::angle::Angle;
use crate::error::{QuantityError, ReadingError};
use crate::math;
use crate::statistics::{Ellipse, Symmetric, chi_squared_quantile, chi_squared_upper, f_quantile, f_upper};
use crate::vector::Vibration;

/// How well a covariance is known: what it was estimated from.
///
/// An estimated scatter needs wider limits than a known one: from three readings the 95 % radius of a mean is 22 % wider
/// than with the scatter known. So the degrees of freedom travel with every covariance.
///
/// ```
/// use counterpoise::DegreesOfFreedom;
/// let known = DegreesOfFreedom::Known.squared_factor(2, 0.95);
/// assert!((known - 5.991_464_547_107_98).abs() < 1e-12);
/// let estimated = DegreesOfFreedom::Circular(8.0).squared_factor(2, 0.95);
/// assert!((estimated - 8.917_940_215_049).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
pub enum DegreesOfFreedom {
    /// Stated, as good as exact: limits come from chi-squared.
    Known,
    /// One variance for all components was estimated, with so many real degrees of freedom: limits come from F.
    Circular(#[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))] f64),
    /// A full covariance was estimated with so many degrees of freedom (readings less one): limits come from Hotelling's
    /// T².
    Full(#[cfg_attr(feature = "serde", serde(serialize_with = "crate::unit::finite"))] f64),
}

impl DegreesOfFreedom {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::DegreesOfFreedom::Known.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::Known => 1,
            Self::Circular(_) => 2,
            Self::Full(_) => 3,
        }
    }

    /// The square `c²` of the factor by which the ellipsoid `zᵀ C⁻¹ z ≤ c²` in so many real dimensions holds the truth with
    /// the stated confidence: `χ²_d`; `d F(d, ν)`; `d m/(m−d+1) F(d, m−d+1)`, which is infinite where `m < d`.
    ///
    /// Hotelling, The generalization of Student's ratio, Annals of Mathematical Statistics 2, 1931.
    ///
    /// ```
    /// use counterpoise::DegreesOfFreedom;
    /// assert_eq!(DegreesOfFreedom::Full(1.0).squared_factor(2, 0.95), f64::INFINITY);
    /// assert!(DegreesOfFreedom::Full(4.0).squared_factor(2, 0.95) > DegreesOfFreedom::Circular(8.0).squared_factor(2, 0.95));
    /// ```
    pub fn squared_factor(self, dimensions: usize, confidence: f64) -> f64 {
        #[allow(clippy::cast_precision_loss)] // a count of components
        let d = dimensions as f64;
        let chance_above = 1.0 - confidence;
        if !(chance_above > 0.0 && chance_above <= 1.0) {
            return f64::INFINITY;
        }
        if dimensions == 0 {
            return 0.0;
        }
        let (scale, degrees) = self.as_t(dimensions);
        if degrees == f64::INFINITY {
            chi_squared_quantile(chance_above, d)
        } else if degrees > 0.0 {
            scale * d * f_quantile(chance_above, d, degrees)
        } else {
            f64::INFINITY
        }
    }

    /// How rare it is that the squared distance of so many components from what they estimate is greater than this.
    pub(crate) fn chance_above(self, dimensions: usize, squared: f64) -> f64 {
        #[allow(clippy::cast_precision_loss)] // a count of components
        let d = dimensions as f64;
        let (scale, degrees) = self.as_t(dimensions);
        if degrees == f64::INFINITY {
            chi_squared_upper(squared, d)
        } else if degrees > 0.0 {
            // T²/(scale d) is F
            f_upper(squared / (scale * d), d, degrees)
        } else {
            1.0
        }
    }

    /// As a t distribution in so many dimensions: what the covariance is multiplied by, and the degrees of freedom that are
    /// left, infinite where the covariance is known and not positive where nothing can be said.
    pub(crate) fn as_t(self, dimensions: usize) -> (f64, f64) {
        #[allow(clippy::cast_precision_loss)] // a count of components
        let d = dimensions as f64;
        match self {
            Self::Known => (1.0, f64::INFINITY),
            // Limits from so many differ from those of a known scatter in the twelfth digit.
            Self::Circular(degrees) | Self::Full(degrees) if degrees >= 1e12 => (1.0, f64::INFINITY),
            Self::Circular(degrees) => (1.0, degrees),
            Self::Full(degrees) => {
                let left = degrees - d + 1.0;
                (degrees / left, left)
            }
        }
    }

    /// The number of degrees of freedom; infinite where the scatter is known.
    ///
    /// ```
    /// assert_eq!(counterpoise::DegreesOfFreedom::Known.count(), f64::INFINITY);
    /// ```
    pub const fn count(self) -> f64 {
        match self {
            Self::Known => f64::INFINITY,
            Self::Circular(degrees) | Self::Full(degrees) => degrees,
        }
    }

    /// Of two that stand behind one answer, the one that is worth less: a full covariance before a circular one, fewer
    /// degrees before more. It errs on the wide side.
    #[cfg(feature = "alloc")]
    pub(crate) fn weaker(self, other: Self) -> Self {
        let count = self.count().min(other.count());
        match (self, other) {
            (Self::Known, Self::Known) => Self::Known,
            (Self::Full(_), _) | (_, Self::Full(_)) => Self::Full(count),
            _ => Self::Circular(count),
        }
    }
}

/// The scatter of one vibration: the covariance of its two components, in the channel's unit squared, and how well that
/// is known.
///
/// ```
/// use counterpoise::{Scatter, Vibration};
/// // 2 % in amplitude and 3 deg in phase is not circular: 0.01 along the vector, 0.026 across it.
/// let vibration = Vibration::from_components(0.5, 0.0)?;
/// let scatter = Scatter::known_polar(vibration, 0.01, 3.0)?;
/// let [[along, _], [_, across]] = scatter.covariance();
/// assert!((along.sqrt() - 0.01).abs() < 1e-15 && (across.sqrt() - 0.026_18).abs() < 1e-5);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(try_from = "wire::Scatter", into = "wire::Scatter")
)]
pub struct Scatter {
    re_re: f64,
    re_im: f64,
    im_im: f64,
    degrees_of_freedom: DegreesOfFreedom,
}

/// The largest variance that is taken; its reciprocal is the least.
const LARGEST_VARIANCE: f64 = 1e200;

impl Scatter {
    /// A stated standard deviation of each component, in the channel's unit: a channel's floor, say.
    ///
    /// # Errors
    /// [`QuantityError`] where it is not a positive number.
    ///
    /// ```
    /// # use counterpoise::Scatter;
    /// assert_eq!(Scatter::known(0.5)?.covariance(), [[0.25, 0.0], [0.0, 0.25]]);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn known(standard_deviation: f64) -> Result<Self, QuantityError> {
        let sigma = positive("standard deviation", standard_deviation, "in the channel's unit")?;
        let variance = sigma * sigma;
        Ok(Self { re_re: variance, re_im: 0.0, im_im: variance, degrees_of_freedom: DegreesOfFreedom::Known })
    }

    /// Stated standard deviations of the amplitude, in the channel's unit, and of the phase, in degrees, of a vibration:
    /// `s_A²` along it and `(A s_φ)²` across it, to first order.
    ///
    /// Neither may be zero, as [`known`](Self::known) takes no zero: a reading without scatter in one direction would rule out
    /// every other reading beside that line. Where only one is known, give for the other the least that the instrument can
    /// show, a step of its display over √12 (JCGM 100:2008, 4.3.7).
    ///
    /// # Errors
    /// [`QuantityError`] where one is negative or not finite; [`QuantityError::WithoutScatter`] where one is zero, or the
    /// vibration is, which has no direction to scatter along: [`known`](Self::known) serves there.
    ///
    /// ```
    /// # use counterpoise::{QuantityError, Scatter, Vibration};
    /// let vibration = Vibration::from_components(0.5, 0.0)?;
    /// let error = Scatter::known_polar(vibration, 0.01, 0.0).unwrap_err();
    /// assert_eq!(error, QuantityError::WithoutScatter { quantity: "phase" });
    /// assert!(Scatter::known_polar(Vibration::ZERO, 0.01, 5.0).is_err());
    /// # Ok::<(), QuantityError>(())
    /// ```
    pub fn known_polar(
        vibration: Vibration,
        amplitude_deviation: f64,
        phase_deviation_degrees: f64,
    ) -> Result<Self, QuantityError> {
        let along =
            not_negative("standard deviation of amplitude", amplitude_deviation, "in the channel's unit")?;
        let degrees = not_negative("standard deviation of phase", phase_deviation_degrees, "deg")?;
        if along == 0.0 {
            return Err(QuantityError::WithoutScatter { quantity: "amplitude" });
        }
        if degrees == 0.0 {
            return Err(QuantityError::WithoutScatter { quantity: "phase" });
        }
        if vibration.amplitude() == 0.0 {
            return Err(QuantityError::WithoutScatter { quantity: "direction" });
        }
        let across = vibration.amplitude() * degrees * (core::f64::consts::PI / 180.0);
        positive("standard deviation across a vibration", across, "in the channel's unit")?;
        Ok(Self::polar(vibration, along, across))
    }

    /// `a²` along a vibration and `b²` across it. One of them may be zero: as a part of a scatter, to be added to another.
    pub(crate) fn polar(vibration: Vibration, along: f64, across: f64) -> Self {
        let z = vibration.complex();
        let (sine, cosine) = Angle::of_vector(z.re, z.im).sin_cos();
        let [[re_re, re_im], [_, im_im]] =
            Symmetric::turned([sine, cosine], along * along, across * across).rows();
        Self { re_re, re_im, im_im, degrees_of_freedom: DegreesOfFreedom::Known }
    }

    /// A covariance `[[re re, re im], [im re, im im]]`, and how well it is known.
    ///
    /// A flat one, without scatter in one direction, is taken as what it may be: a part of a scatter, which
    /// [`plus`](Self::plus) adds to another. Of a whole reading it would rule out all that lies beside its line.
    ///
    /// # Errors
    /// [`ReadingError::NotACovariance`] where it is not symmetric and without negative variance in any direction, or is zero;
    /// [`ReadingError::DegreesOfFreedom`] where these are not positive.
    ///
    /// ```
    /// # use counterpoise::{DegreesOfFreedom, Scatter};
    /// let scatter = Scatter::from_covariance([[4e-4, 1e-4], [1e-4, 2e-4]], DegreesOfFreedom::Full(5.0))?;
    /// assert!((scatter.variance() - 3e-4).abs() < 1e-18);
    /// assert!(Scatter::from_covariance([[1.0, 2.0], [2.0, 1.0]], DegreesOfFreedom::Known).is_err());
    /// # Ok::<(), counterpoise::ReadingError>(())
    /// ```
    pub fn from_covariance(
        covariance: [[f64; 2]; 2],
        degrees_of_freedom: DegreesOfFreedom,
    ) -> Result<Self, ReadingError> {
        let [[re_re, re_im], [im_re, im_im]] = covariance;
        let in_range = |value: f64| (0.0..=LARGEST_VARIANCE).contains(&value);
        let largest = re_re.max(im_im);
        // |cov| ≤ √(var var), with room for rounding.
        let bound = math::sqrt(re_re) * math::sqrt(im_im) * (1.0 + 1e-12);
        let sound = in_range(re_re)
            && in_range(im_im)
            && largest >= 1.0 / LARGEST_VARIANCE
            && re_im == im_re
            && re_im.abs() <= bound;
        if !sound {
            return Err(ReadingError::NotACovariance { re_re, re_im, im_re, im_im });
        }
        let degrees = degrees_of_freedom.count();
        if degrees <= 0.0 || degrees.is_nan() {
            return Err(ReadingError::DegreesOfFreedom { value: degrees });
        }
        Ok(Self { re_re, re_im, im_im, degrees_of_freedom })
    }

    /// The covariance `[[re re, re im], [im re, im im]]`, in the channel's unit squared.
    ///
    /// ```
    /// # use counterpoise::Scatter;
    /// assert_eq!(Scatter::known(2.0)?.covariance(), [[4.0, 0.0], [0.0, 4.0]]);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn covariance(&self) -> [[f64; 2]; 2] {
        [[self.re_re, self.re_im], [self.re_im, self.im_im]]
    }

    /// The variance per component, the mean of the two: the one number that weights a reading in a fit.
    ///
    /// ```
    /// # use counterpoise::Scatter;
    /// assert_eq!(Scatter::known(2.0)?.variance(), 4.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn variance(&self) -> f64 {
        0.5 * (self.re_re + self.im_im)
    }

    /// How well the covariance is known.
    ///
    /// ```
    /// # use counterpoise::{DegreesOfFreedom, Scatter};
    /// assert_eq!(Scatter::known(2.0)?.degrees_of_freedom(), DegreesOfFreedom::Known);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn degrees_of_freedom(&self) -> DegreesOfFreedom {
        self.degrees_of_freedom
    }

    /// Whether both components scatter alike and on their own.
    ///
    /// ```
    /// # use counterpoise::Scatter;
    /// assert!(Scatter::known(2.0)?.is_circular());
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn is_circular(&self) -> bool {
        self.re_im == 0.0 && self.re_re == self.im_im
    }

    /// The scatter of the mean of so many readings that each scatter like this: `C/n`.
    ///
    /// ```
    /// # use counterpoise::Scatter;
    /// assert_eq!(Scatter::known(2.0)?.of_mean(4).variance(), 1.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn of_mean(&self, readings: u32) -> Self {
        self.scaled(1.0 / f64::from(readings.max(1)))
    }

    /// Both scatters at once, as of a reading that repeats and drifts: covariances add. Degrees of freedom by Welch and
    /// Satterthwaite, `ν = (a + b)²/(a²/ν_a + b²/ν_b)` (JCGM 100:2008, G.4.1).
    ///
    /// ```
    /// # use counterpoise::{DegreesOfFreedom, Scatter};
    /// let repeats = Scatter::from_covariance([[1.0, 0.0], [0.0, 1.0]], DegreesOfFreedom::Circular(8.0))?;
    /// let both = repeats.plus(&Scatter::known(1.0)?);
    /// assert_eq!((both.variance(), both.degrees_of_freedom()), (2.0, DegreesOfFreedom::Circular(32.0)));
    /// # Ok::<(), counterpoise::ReadingError>(())
    /// ```
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let (a, b) = (self.variance(), other.variance());
        let (share, rest) = if a + b > 0.0 { (a / (a + b), b / (a + b)) } else { (0.0, 0.0) };
        let (one, two) = (self.degrees_of_freedom, other.degrees_of_freedom);
        let degrees = 1.0 / (share * share / one.count() + rest * rest / two.count());
        let degrees_of_freedom = match (one, two) {
            _ if degrees == f64::INFINITY || degrees.is_nan() => DegreesOfFreedom::Known,
            (DegreesOfFreedom::Full(_), _) | (_, DegreesOfFreedom::Full(_)) => {
                DegreesOfFreedom::Full(degrees)
            }
            _ => DegreesOfFreedom::Circular(degrees),
        };
        Self {
            re_re: self.re_re + other.re_re,
            re_im: self.re_im + other.re_im,
            im_im: self.im_im + other.im_im,
            degrees_of_freedom,
        }
    }

    /// The scatter of the vectors times a complex factor: turned with them, and as much larger.
    pub(crate) fn times(&self, factor: num_complex::Complex64) -> Self {
        let (a, b) = (factor.re, factor.im);
        let (p, q, r) = (self.re_re, self.re_im, self.im_im);
        // F C Fᵀ, F = [[a, −b], [b, a]]
        Self {
            re_re: a * a * p - 2.0 * a * b * q + b * b * r,
            re_im: a * b * (p - r) + (a * a - b * b) * q,
            im_im: b * b * p + 2.0 * a * b * q + a * a * r,
            degrees_of_freedom: self.degrees_of_freedom,
        }
    }

    pub(crate) fn scaled(&self, factor: f64) -> Self {
        Self {
            re_re: self.re_re * factor,
            re_im: self.re_im * factor,
            im_im: self.im_im * factor,
            degrees_of_freedom: self.degrees_of_freedom,
        }
    }

    /// The semi-axes, larger first, of the ellipse about the vibration that holds the truth with the stated confidence
    /// (0.95, say), in the channel's unit; infinite where the scatter is known too little.
    ///
    /// ```
    /// # use counterpoise::Scatter;
    /// let [major, minor] = Scatter::known(0.01)?.semi_axes(0.95);
    /// assert!((major - 0.024_477).abs() < 1e-6 && major == minor);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn semi_axes(&self, confidence: f64) -> [f64; 2] {
        let factor = math::sqrt(self.degrees_of_freedom.squared_factor(2, confidence));
        let ellipse = Ellipse::of(self.covariance());
        // Where an axis is without scatter, no factor makes it any.
        let times = |axis: f64| if axis > 0.0 { axis * factor } else { 0.0 };
        [times(ellipse.major), times(ellipse.minor)]
    }
}

/// Repeated readings of one state of the machine: their mean, and how they scatter about it.
///
/// Vectors are averaged, never amplitudes and phases apart.
///
/// ```
/// use counterpoise::{Repeats, Vibration};
/// let readings = [(0.300, 0.010), (0.304, 0.006), (0.299, 0.011)]
///     .map(|(re, im)| Vibration::from_components(re, im).unwrap());
/// let repeats = Repeats::of(&readings)?;
/// assert!((repeats.mean().complex().re - 0.301).abs() < 1e-15);
/// let scatter = repeats.scatter_of_mean().ok_or("too few readings")?;
/// assert!((scatter.covariance()[0][0] - 7e-6 / 3.0).abs() < 1e-18);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeats {
    mean: Vibration,
    count: u32,
    /// Sums of squares and products about the mean.
    re_re: f64,
    re_im: f64,
    im_im: f64,
}

impl Repeats {
    /// The mean of readings of one state, and their scatter.
    ///
    /// # Errors
    /// [`ReadingError::NoRepeats`] for none, and [`ReadingError::Quantity`] for one that is not finite.
    ///
    /// ```
    /// # use counterpoise::{Repeats, ReadingError};
    /// assert_eq!(Repeats::of(&[]).unwrap_err(), ReadingError::NoRepeats);
    /// ```
    pub fn of(readings: &[Vibration]) -> Result<Self, ReadingError> {
        let Ok(count) = u32::try_from(readings.len()) else { return Err(ReadingError::NoRepeats) };
        if count == 0 {
            return Err(ReadingError::NoRepeats);
        }
        if let Some(bad) = readings.iter().find(|reading| !reading.is_finite()) {
            return Err(QuantityError::NotFinite { quantity: "reading", value: bad.amplitude() }.into());
        }
        let n = f64::from(count);
        let rough: Vibration = readings.iter().map(|&reading| reading * (1.0 / n)).sum();
        // One step of correction: what rounding left in the mean is averaged again.
        let mean = rough + readings.iter().map(|&reading| (reading - rough) * (1.0 / n)).sum();
        let (mut re_re, mut re_im, mut im_im) = (0.0, 0.0, 0.0);
        for &reading in readings {
            let apart = (reading - mean).complex();
            re_re += apart.re * apart.re;
            re_im += apart.re * apart.im;
            im_im += apart.im * apart.im;
        }
        Ok(Self { mean, count, re_re, re_im, im_im })
    }

    /// The mean, as a vector.
    ///
    /// ```
    /// # use counterpoise::{Repeats, Vibration};
    /// assert_eq!(Repeats::of(&[Vibration::ZERO])?.mean(), Vibration::ZERO);
    /// # Ok::<(), counterpoise::ReadingError>(())
    /// ```
    pub const fn mean(&self) -> Vibration {
        self.mean
    }

    /// How many readings there are.
    ///
    /// ```
    /// # use counterpoise::{Repeats, Vibration};
    /// assert_eq!(Repeats::of(&[Vibration::ZERO])?.count(), 1);
    /// # Ok::<(), counterpoise::ReadingError>(())
    /// ```
    pub const fn count(&self) -> u32 {
        self.count
    }

    /// The covariance of one reading, `Σ (z − z̄)(z − z̄)ᵀ/(n − 1)`; `None` for a single reading.
    ///
    /// ```
    /// # use counterpoise::{Repeats, Vibration};
    /// assert_eq!(Repeats::of(&[Vibration::ZERO])?.covariance_of_reading(), None);
    /// # Ok::<(), counterpoise::ReadingError>(())
    /// ```
    pub fn covariance_of_reading(&self) -> Option<[[f64; 2]; 2]> {
        (self.count > 1).then(|| {
            let degrees = f64::from(self.count - 1);
            let off = self.re_im / degrees;
            [[self.re_re / degrees, off], [off, self.im_im / degrees]]
        })
    }

    /// The covariance of the mean: that of one reading over n; `None` for a single reading.
    ///
    /// ```
    /// # use counterpoise::{Repeats, Vibration};
    /// let two = [Vibration::from_components(1.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// assert_eq!(Repeats::of(&two)?.covariance_of_mean(), Some([[1.0, 0.0], [0.0, 0.0]]));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn covariance_of_mean(&self) -> Option<[[f64; 2]; 2]> {
        let n = f64::from(self.count);
        self.covariance_of_reading().map(|rows| rows.map(|row| row.map(|entry| entry / n)))
    }

    /// The scatter of the mean, with its full covariance; `None` below three readings, where a 2x2 covariance would be
    /// singular ([pool](Self::pooled) them), and where all are the same.
    ///
    /// ```
    /// # use counterpoise::{Repeats, Vibration};
    /// let two = [Vibration::from_components(1.0, 0.0)?, Vibration::from_components(3.0, 0.0)?];
    /// assert_eq!(Repeats::of(&two)?.scatter_of_mean(), None);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn scatter_of_mean(&self) -> Option<Scatter> {
        if self.count < 3 {
            return None;
        }
        let degrees = DegreesOfFreedom::Full(f64::from(self.count - 1));
        Scatter::from_covariance(self.covariance_of_mean()?, degrees).ok()
    }

    /// The scatter of *one* reading, pooled over several states of one channel, each about its own mean: one variance per
    /// component, `Σ |z − z̄|²/(2 Σ (n − 1))`, with `2 Σ (n − 1)` degrees of freedom. Two readings anywhere are enough;
    /// `None` where no state has two, or nothing scatters.
    ///
    /// ```
    /// # use counterpoise::{DegreesOfFreedom, Repeats, Vibration};
    /// let at = |re| Vibration::from_components(re, 0.0).unwrap();
    /// let states = [Repeats::of(&[at(1.0), at(3.0)])?, Repeats::of(&[at(7.0), at(7.0)])?];
    /// let one = Repeats::pooled(&states).ok_or("no repeats")?;
    /// assert_eq!((one.variance(), one.degrees_of_freedom()), (0.5, DegreesOfFreedom::Circular(4.0)));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn pooled(states: &[Self]) -> Option<Scatter> {
        let degrees: f64 = states.iter().map(|state| 2.0 * f64::from(state.count - 1)).sum();
        let squares: f64 = states.iter().map(|state| state.re_re + state.im_im).sum();
        circular(squares / degrees, degrees)
    }

    /// What comes on top from one visit to the next: drift of the machine between readings of the *same* state that were
    /// taken apart from each other (another start, another day). Back-to-back repeats do not show it, and may understate
    /// the scatter tenfold.
    ///
    /// From V visits, with means that scatter by `s²` per component and repeats by `w²`: `s² − r` with `r = Σ (w²/n)/V` (one-way
    /// analysis of variance). Give [`plus`](Scatter::plus) it to the scatter of every mean. `None` below two visits, and where
    /// the means scatter no more than the repeats explain.
    ///
    /// It is known less well than the means scatter, the less the more of `s²` the repeats explain: of the two variances it
    /// has `(s² − r)²/(s⁴/ν_s + r²/ν_r)` degrees of freedom, with `ν_s = 2 (V − 1)` and `ν_r = 2 Σ (n − 1)` (F. E. Satterthwaite,
    /// An approximate distribution of estimates of variance components, Biometrics Bulletin 2, 1946; from memory).
    ///
    /// ```
    /// # use counterpoise::{Repeats, Vibration};
    /// let at = |re| Vibration::from_components(re, 0.0).unwrap();
    /// let visits = [Repeats::of(&[at(1.00), at(1.01)])?, Repeats::of(&[at(1.20), at(1.21)])?];
    /// let drift = Repeats::drift(&visits).ok_or("no drift")?;
    /// assert!((drift.variance() - (0.01 - 1.25e-5)).abs() < 1e-15);
    /// // Two visits, and repeats that explain little: nearly the 2 degrees of freedom of the two means.
    /// let degrees = drift.degrees_of_freedom().count();
    /// assert!((degrees - 1.995_005).abs() < 1e-6, "{degrees}");
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn drift(visits: &[Self]) -> Option<Scatter> {
        if visits.len() < 2 {
            return None;
        }
        #[allow(clippy::cast_precision_loss)] // a count of visits
        let count = visits.len() as f64;
        let mean: Vibration = visits.iter().map(|visit| visit.mean * (1.0 / count)).sum();
        let square = |vibration: Vibration| vibration.amplitude() * vibration.amplitude();
        let degrees = 2.0 * (count - 1.0);
        let between = visits.iter().map(|visit| square(visit.mean - mean)).sum::<f64>() / degrees;
        let (within, of_within) = within(visits);
        let of_means = visits.iter().map(|visit| within / f64::from(visit.count)).sum::<f64>() / count;
        let (variance, degrees) = without(between, degrees, of_means, of_within);
        circular(variance, degrees)
    }
}

/// How far visits differ beyond what repeats show, as a share of what is read: a drift that grows with the vibration.
///
/// Of a machine that is loaded more, or looked at days later, one drift for all states ([`Repeats::drift`]) says too little. On
/// the measured runs of the rotor kit (`tests/measured_drift.rs`) a share of the vector read explains what one drift for all does
/// not.
///
/// ```
/// use counterpoise::{ProportionalDrift, Vibration};
/// let drift = ProportionalDrift::new(0.03)?;
/// let scatter = drift.scatter_of(Vibration::from_components(0.4, 0.3)?).ok_or("there is vibration")?;
/// assert!((scatter.variance() - 0.015 * 0.015).abs() < 1e-18);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProportionalDrift {
    share: f64,
    degrees_of_freedom: DegreesOfFreedom,
}

impl ProportionalDrift {
    /// A drift that is known: the standard deviation of each component, as a share of the amplitude.
    ///
    /// # Errors
    /// [`QuantityError`] where the share is not a positive number.
    ///
    /// ```
    /// assert!(counterpoise::ProportionalDrift::new(0.0).is_err());
    /// ```
    pub fn new(share: f64) -> Result<Self, QuantityError> {
        let share = positive("drift, as a share of the amplitude", share, "(a plain number)")?;
        Ok(Self { share, degrees_of_freedom: DegreesOfFreedom::Known })
    }

    /// The drift that visits show, from what was read at each and what a fit expects there:
    /// `b² = Σ (|mean − expected|² − 2s²/n)/|expected|² / (2(N − q))`, with s² the variance of a reading from the repeats, n the
    /// repeats of a visit, N visits and q complex unknowns of the fit. Channel by channel.
    ///
    /// Its degrees of freedom are those of a difference of two variances, as of [`Repeats::drift`].
    ///
    /// `None` where the lists differ in length or are not longer than the unknowns, where nothing is expected at a visit, and
    /// where the visits differ by no more than the repeats do.
    ///
    /// ```
    /// use counterpoise::{ProportionalDrift, Repeats, Vibration};
    /// let at = Vibration::from_components;
    /// let expected = [at(1.0, 0.0)?, at(0.0, 2.0)?, at(-4.0, 0.0)?];
    /// // Each is off by a tenth of its amplitude, and repeats exactly.
    /// let read = [at(1.1, 0.0)?, at(0.2, 2.0)?, at(-4.0, 0.4)?];
    /// let visits = read.map(|read| Repeats::of(&[read, read]));
    /// let visits = visits.into_iter().collect::<Result<Vec<_>, _>>()?;
    /// let drift = ProportionalDrift::of(&visits, &expected, 0).ok_or("they differ")?;
    /// // 3 × 0.1² over 6 components
    /// assert!((drift.share() - 0.1 / 2_f64.sqrt()).abs() < 1e-15);
    /// assert_eq!(drift.degrees_of_freedom().count(), 6.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn of(visits: &[Repeats], expected: &[Vibration], unknowns: usize) -> Option<Self> {
        let left = visits.len().checked_sub(unknowns).filter(|&left| left > 0)?;
        if visits.len() != expected.len() {
            return None;
        }
        #[allow(clippy::cast_precision_loss)] // a count of visits
        let degrees = 2.0 * left as f64;
        let (within, of_within) = within(visits);
        let square = |vibration: Vibration| vibration.amplitude() * vibration.amplitude();
        let pairs = || visits.iter().zip(expected);
        let apart =
            |(visit, &expected): (&Repeats, &Vibration)| square(visit.mean - expected) / square(expected);
        let of_repeats = |(visit, &expected): (&Repeats, &Vibration)| {
            2.0 * within / f64::from(visit.count) / square(expected)
        };
        let between = pairs().map(apart).sum::<f64>() / degrees;
        let of_means = pairs().map(of_repeats).sum::<f64>() / degrees;
        let (squared, degrees) = without(between, degrees, of_means, of_within);
        let share = positive("drift", math::sqrt(squared.max(0.0)), "(a plain number)").ok()?;
        Some(Self { share, degrees_of_freedom: DegreesOfFreedom::Circular(degrees) })
    }

    /// The standard deviation of each component, as a share of the amplitude.
    ///
    /// ```
    /// assert_eq!(counterpoise::ProportionalDrift::new(0.05)?.share(), 0.05);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn share(&self) -> f64 {
        self.share
    }

    /// How well it is known.
    ///
    /// ```
    /// use counterpoise::{DegreesOfFreedom, ProportionalDrift};
    /// assert_eq!(ProportionalDrift::new(0.05)?.degrees_of_freedom(), DegreesOfFreedom::Known);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn degrees_of_freedom(&self) -> DegreesOfFreedom {
        self.degrees_of_freedom
    }

    /// The scatter of a visit at which this is read, or expected; add that of the mean of its repeats by
    /// [`plus`](Scatter::plus). `None` where there is no vibration, or it is beyond range.
    ///
    /// ```
    /// use counterpoise::{ProportionalDrift, Vibration};
    /// assert_eq!(ProportionalDrift::new(0.05)?.scatter_of(Vibration::ZERO), None);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn scatter_of(&self, vibration: Vibration) -> Option<Scatter> {
        let deviation = self.share * vibration.amplitude();
        let covariance = [[deviation * deviation, 0.0], [0.0, deviation * deviation]];
        Scatter::from_covariance(covariance, self.degrees_of_freedom).ok()
    }
}

/// The variance of one reading from repeats, 0 where nothing repeats or scatters, and its degrees of freedom.
fn within(visits: &[Repeats]) -> (f64, f64) {
    Repeats::pooled(visits).map_or((0.0, 1.0), |one| (one.variance(), one.degrees_of_freedom().count()))
}

/// `a − b` of two variances, with its degrees of freedom by Satterthwaite: `(a − b)²/(a²/ν_a + b²/ν_b)`.
fn without(whole: f64, of_whole: f64, part: f64, of_part: f64) -> (f64, f64) {
    let share = part / whole;
    let rest = 1.0 - share;
    (whole - part, rest * rest / (1.0 / of_whole + share * share / of_part))
}

fn circular(variance: f64, degrees: f64) -> Option<Scatter> {
    let covariance = [[variance, 0.0], [0.0, variance]];
    Scatter::from_covariance(covariance, DegreesOfFreedom::Circular(degrees)).ok()
}

/// Refuses a number that is not positive, finite, and of a size whose square and reciprocal are.
pub(crate) fn positive(quantity: &'static str, value: f64, unit: &'static str) -> Result<f64, QuantityError> {
    if !value.is_finite() {
        Err(QuantityError::NotFinite { quantity, value })
    } else if value <= 0.0 {
        Err(QuantityError::NotPositive { quantity, value, unit })
    } else if !(1e-100..=1e100).contains(&value) {
        Err(QuantityError::BeyondRange { quantity, value, unit })
    } else {
        Ok(value)
    }
}

fn not_negative(quantity: &'static str, value: f64, unit: &'static str) -> Result<f64, QuantityError> {
    if value == 0.0 {
        Ok(0.0)
    } else if value < 0.0 {
        Err(QuantityError::Negative { quantity, value, unit })
    } else {
        positive(quantity, value, unit)
    }
}

#[cfg(feature = "serde")]
mod wire {
    use super::DegreesOfFreedom;
    use crate::error::ReadingError;

    #[derive(serde::Serialize, serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    pub(super) struct Scatter {
        covariance: [[f64; 2]; 2],
        degrees_of_freedom: DegreesOfFreedom,
    }

    impl From<super::Scatter> for Scatter {
        fn from(scatter: super::Scatter) -> Self {
            Self { covariance: scatter.covariance(), degrees_of_freedom: scatter.degrees_of_freedom }
        }
    }

    impl TryFrom<Scatter> for super::Scatter {
        type Error = ReadingError;
        fn try_from(wire: Scatter) -> Result<Self, ReadingError> {
            Self::from_covariance(wire.covariance, wire.degrees_of_freedom)
        }
    }
}
