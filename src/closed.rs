//! One and two planes in closed form: no state, no heap, a few divisions.
//!
//! They give what the general estimator and correction give for as many runs as unknowns, to a few roundings.

use num_complex::Complex64;

use crate::dense::Scalar;
use crate::error::{CorrectionError, EstimateError};
use crate::math;
use crate::vector::{Influence, UnbalanceVector, Vibration};

/// A change of vibration below this many roundings of the readings is none.
const ROUNDINGS: f64 = 4.0;

/// A determinant below this many roundings of its terms is zero.
const DETERMINANT_ROUNDINGS: f64 = 8.0;

/// One correction plane and one measuring point, by the two-run formula.
///
/// ```
/// use counterpoise::{Convention, Mass, OnePlane, PhaseSense, Radius, RotorSense};
/// let convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };
/// let radius = Radius::from_millimetres(150.0)?;
/// let as_found = convention.vibration(0.480, 265.0)?;
/// let with_trial = convention.vibration(0.876_679, 260.455_693)?;
/// let trial = convention.weight(Mass::from_grams(10.0)?, radius, 330.0)?;
///
/// let plane = OnePlane::from_trial(as_found, with_trial, trial.unbalance())?;
/// let correction = plane.correction(as_found)?.weight_at(radius);
/// assert!((correction.mass.grams() - 12.0).abs() < 1e-4);
/// assert!((correction.angle.in_sense(convention.rotor).degrees() - 160.0).abs() < 1e-3);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnePlane {
    influence: Influence,
}

impl OnePlane {
    /// The influence coefficient from two runs: `H = (v1 − v0) / (change of what is mounted)`.
    ///
    /// `change` is what was mounted for the second run and not for the first. T. P. Goodman, "A Least-Squares Method for
    /// Computing Balance Corrections", Journal of Engineering for Industry 86 (1964), has the general case.
    ///
    /// # Errors
    /// [`EstimateError::ZeroTrial`] for no change of what is mounted; [`EstimateError::NoResponse`] where the two readings
    /// are equal to rounding; [`EstimateError::NotRepresentable`] where the quotient is beyond the range of numbers.
    ///
    /// ```
    /// # use counterpoise::{OnePlane, UnbalanceVector, Vibration};
    /// let (before, after) = (Vibration::from_components(0.3, 0.0)?, Vibration::from_components(0.3, 0.2)?);
    /// let trial = UnbalanceVector::from_components_gram_millimetres(1000.0, 0.0)?;
    /// assert_eq!(OnePlane::from_trial(before, after, trial)?.influence().complex().im, 0.2 / 1000.0);
    /// let error = OnePlane::from_trial(before, before, trial).unwrap_err();
    /// assert_eq!(
    ///     error.to_string(),
    ///     "the trial run reads as the run before it (0.3 and 0.3 in the channel's unit): check that the weight was on and \
    ///      the reading new, or use a larger weight",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[inline]
    pub fn from_trial(
        as_found: Vibration,
        with_trial: Vibration,
        change: UnbalanceVector,
    ) -> Result<Self, EstimateError> {
        if change == UnbalanceVector::ZERO {
            return Err(EstimateError::ZeroTrial);
        }
        // H = (v1 − v0) / T
        let response = with_trial.complex() - as_found.complex();
        if is_rounding(response, as_found.complex(), with_trial.complex()) {
            return Err(EstimateError::NoResponse {
                before: as_found.amplitude(),
                after: with_trial.amplitude(),
            });
        }
        let influence = Influence::computed(response.quotient(change.complex()));
        if influence.is_finite() && influence != Influence::ZERO {
            Ok(Self { influence })
        } else {
            Err(EstimateError::NotRepresentable { channel: 0 })
        }
    }

    /// A plane whose influence coefficient is known.
    ///
    /// # Errors
    /// [`CorrectionError::NoInfluence`] where it is zero, [`CorrectionError::NotRepresentable`] where it is not finite.
    ///
    /// ```
    /// # use counterpoise::{Influence, OnePlane};
    /// let stored = Influence::from_components_per_gram_millimetre(2e-4, -1e-4)?;
    /// assert_eq!(OnePlane::from_influence(stored)?.influence(), stored);
    /// assert!(OnePlane::from_influence(Influence::ZERO).is_err());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn from_influence(influence: Influence) -> Result<Self, CorrectionError> {
        if !influence.is_finite() {
            return Err(CorrectionError::NotRepresentable);
        }
        if influence == Influence::ZERO {
            return Err(CorrectionError::NoInfluence);
        }
        Ok(Self { influence })
    }

    /// The influence coefficient.
    ///
    /// ```
    /// # use counterpoise::{Influence, OnePlane};
    /// let stored = Influence::from_components_per_gram_millimetre(2e-4, -1e-4)?;
    /// assert_eq!(OnePlane::from_influence(stored)?.influence(), stored);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn influence(&self) -> Influence {
        self.influence
    }

    /// What to add to what is mounted now, so that the vibration becomes zero: `w = −v / H`.
    ///
    /// # Errors
    /// [`CorrectionError::NotRepresentable`] where the quotient is beyond the range of numbers.
    ///
    /// ```
    /// # use counterpoise::{Influence, OnePlane, Vibration};
    /// let plane = OnePlane::from_influence(Influence::from_components_per_gram_millimetre(0.0, 1e-3)?)?;
    /// let add = plane.correction(Vibration::from_components(0.0, 0.5)?)?;
    /// assert!((add.x_gram_millimetres() - -500.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[inline]
    pub fn correction(&self, now: Vibration) -> Result<UnbalanceVector, CorrectionError> {
        // w = −v / H, and 0 − x makes the opposite of zero a positive zero.
        let correction = UnbalanceVector::ZERO
            - UnbalanceVector::computed(now.complex().quotient(self.influence.complex()));
        if correction.is_finite() { Ok(correction) } else { Err(CorrectionError::NotRepresentable) }
    }

    /// The vibration after adding an unbalance to what is mounted now: `v + H w`.
    ///
    /// ```
    /// # use counterpoise::{Influence, OnePlane, UnbalanceVector, Vibration};
    /// let plane = OnePlane::from_influence(Influence::from_components_per_gram_millimetre(1e-3, 0.0)?)?;
    /// let now = Vibration::from_components(0.5, 0.0)?;
    /// let add = UnbalanceVector::from_components_gram_millimetres(-400.0, 0.0)?;
    /// assert!((plane.predicted(now, add).amplitude() - 0.1).abs() < 1e-15);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn predicted(&self, now: Vibration, added: UnbalanceVector) -> Vibration {
        now + self.influence * added
    }
}

/// One run of a two-plane job: what is mounted in the two planes, and what the two measuring points read.
///
/// ```
/// use counterpoise::{TwoPlaneRun, UnbalanceVector, Vibration};
/// let as_found = TwoPlaneRun {
///     mounted: [UnbalanceVector::ZERO; 2],
///     vibration: [Vibration::from_components(3.0, 1.0)?, Vibration::from_components(2.0, 0.0)?],
/// };
/// assert_eq!(as_found.mounted[1], UnbalanceVector::ZERO);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoPlaneRun {
    /// What is mounted in each plane, counted from the bare rotor.
    pub mounted: [UnbalanceVector; 2],
    /// What each measuring point reads.
    pub vibration: [Vibration; 2],
}

/// Two correction planes and two measuring points, by three runs.
///
/// ```
/// use counterpoise::{Angle, PhaseSense, RotorSense, TwoPlaneRun, TwoPlanes, Unbalance, UnbalanceVector, Vibration};
/// let vibration = |amplitude, degrees| -> Result<_, counterpoise::QuantityError> {
///     Vibration::from_polar(amplitude, PhaseSense::Lead, Angle::from_degrees(degrees)?)
/// };
/// let unbalance = |g_mm, degrees| -> Result<_, counterpoise::QuantityError> {
///     let place = RotorSense::WithRotation.degrees(degrees)?;
///     Ok(UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(g_mm)?, place))
/// };
/// let none = UnbalanceVector::ZERO;
/// let planes = TwoPlanes::from_runs(&[
///     TwoPlaneRun { mounted: [none, none], vibration: [vibration(8.5, 60.0)?, vibration(6.5, 205.0)?] },
///     TwoPlaneRun {
///         mounted: [unbalance(1000.0, 270.0)?, none],
///         vibration: [vibration(6.0, 125.0)?, vibration(4.5, 230.0)?],
///     },
///     TwoPlaneRun {
///         mounted: [none, unbalance(1200.0, 180.0)?],
///         vibration: [vibration(6.0, 35.0)?, vibration(10.5, 160.0)?],
///     },
/// ])?;
/// let [left, right] = planes.correction([vibration(8.5, 60.0)?, vibration(6.5, 205.0)?])?;
/// assert!((left.amount().gram_millimetres() - 1005.61).abs() < 0.01);
/// assert!((right.angle().with_rotation().degrees() - 68.2559).abs() < 1e-4);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoPlanes {
    /// By measuring point, then plane.
    influence: [[Influence; 2]; 2],
}

impl TwoPlanes {
    /// The influence coefficients from three runs: the two later ones against the first.
    ///
    /// Each run says what is mounted in it; a trial weight that stays on is simply said again. With `D` the changes of
    /// what is mounted, one run per column, and `R` those of the vibration, `H = R D⁻¹`.
    ///
    /// # Errors
    /// [`EstimateError::ZeroTrial`] where a later run mounts the same as the first; [`EstimateError::NoResponse`] where
    /// one reads the same at both points, to rounding; [`EstimateError::ProportionalTrials`] where the changes are in
    /// proportion; [`EstimateError::NotRepresentable`].
    ///
    /// ```
    /// # use counterpoise::{EstimateError, TwoPlaneRun, TwoPlanes, UnbalanceVector, Vibration};
    /// let run = TwoPlaneRun { mounted: [UnbalanceVector::ZERO; 2], vibration: [Vibration::ZERO; 2] };
    /// assert_eq!(TwoPlanes::from_runs(&[run, run, run]).unwrap_err(), EstimateError::ZeroTrial);
    /// ```
    #[inline]
    pub fn from_runs([first, second, third]: &[TwoPlaneRun; 3]) -> Result<Self, EstimateError> {
        let change = |later: &TwoPlaneRun| {
            let [a, b] = later.mounted;
            let [from_a, from_b] = first.mounted;
            [(a - from_a).complex(), (b - from_b).complex()]
        };
        let response = |later: &TwoPlaneRun| -> Result<[Complex64; 2], EstimateError> {
            let [a, b] = later.vibration;
            let [from_a, from_b] = first.vibration;
            let (in_a, in_b) = ((a - from_a).complex(), (b - from_b).complex());
            if is_rounding(in_a, from_a.complex(), a.complex())
                && is_rounding(in_b, from_b.complex(), b.complex())
            {
                return Err(EstimateError::NoResponse { before: from_a.amplitude(), after: a.amplitude() });
            }
            Ok([in_a, in_b])
        };
        let zero = Complex64 { re: 0.0, im: 0.0 };
        let (second_change, third_change) = (change(second), change(third));
        if second_change == [zero; 2] || third_change == [zero; 2] {
            return Err(EstimateError::ZeroTrial);
        }
        let [second_a, second_b] = response(second)?;
        let [third_a, third_b] = response(third)?;
        // Each row of H solves D^T h = r, one equation per later run.
        let changes =
            Elimination::of([second_change, third_change]).ok_or(EstimateError::ProportionalTrials)?;
        let influence = [changes.solve([second_a, third_a]), changes.solve([second_b, third_b])]
            .map(|row| row.map(Influence::computed));
        if all_finite(&influence) {
            Ok(Self { influence })
        } else {
            Err(EstimateError::NotRepresentable { channel: 0 })
        }
    }

    /// Planes whose influence coefficients are known: by measuring point, then plane.
    ///
    /// # Errors
    /// [`CorrectionError::NotRepresentable`] where a coefficient is not finite.
    ///
    /// ```
    /// # use counterpoise::{Influence, TwoPlanes};
    /// let h = |re| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// let planes = TwoPlanes::from_influence([[h(2e-3)?, h(0.0)?], [h(0.0)?, h(1e-3)?]])?;
    /// assert_eq!(planes.condition_number(), 2.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn from_influence(influence: [[Influence; 2]; 2]) -> Result<Self, CorrectionError> {
        if influence.iter().flatten().all(|entry| entry.is_finite()) {
            Ok(Self { influence })
        } else {
            Err(CorrectionError::NotRepresentable)
        }
    }

    /// The influence coefficients, by measuring point, then plane.
    ///
    /// ```
    /// # use counterpoise::{Influence, TwoPlanes};
    /// let planes = TwoPlanes::from_influence([[Influence::ZERO; 2]; 2])?;
    /// assert_eq!(planes.influence()[1][0], Influence::ZERO);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn influence(&self) -> [[Influence; 2]; 2] {
        self.influence
    }

    /// What to add in each plane to what is mounted now, so that both vibrations become zero: `w = −H⁻¹ v`.
    ///
    /// # Errors
    /// [`CorrectionError::ProportionalPlanes`] where the planes act in proportion, to rounding;
    /// [`CorrectionError::NotRepresentable`].
    ///
    /// ```
    /// # use counterpoise::{Influence, TwoPlanes, Vibration};
    /// let h = |re| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// let planes = TwoPlanes::from_influence([[h(2e-3)?, h(0.0)?], [h(0.0)?, h(1e-3)?]])?;
    /// let now = [Vibration::from_components(1.0, 0.0)?, Vibration::from_components(0.0, 1.0)?];
    /// let [first, second] = planes.correction(now)?;
    /// assert!((first.x_gram_millimetres() - -500.0).abs() < 1e-12);
    /// assert!((second.y_gram_millimetres() - -1000.0).abs() < 1e-12);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    #[inline]
    pub fn correction(&self, now: [Vibration; 2]) -> Result<[UnbalanceVector; 2], CorrectionError> {
        let planes = Elimination::of(self.influence.map(|row| row.map(Influence::complex)))
            .ok_or(CorrectionError::ProportionalPlanes)?;
        // w = −H⁻¹ v
        let correction = planes
            .solve(now.map(Vibration::complex))
            .map(|x| UnbalanceVector::ZERO - UnbalanceVector::computed(x));
        if correction.iter().all(|unbalance| unbalance.is_finite()) {
            Ok(correction)
        } else {
            Err(CorrectionError::NotRepresentable)
        }
    }

    /// The vibrations after adding an unbalance in each plane: `v + H w`.
    ///
    /// ```
    /// # use counterpoise::{Influence, TwoPlanes, UnbalanceVector, Vibration};
    /// let planes = TwoPlanes::from_influence([[Influence::ZERO; 2]; 2])?;
    /// let now = [Vibration::from_components(1.0, 0.0)?; 2];
    /// assert_eq!(planes.predicted(now, [UnbalanceVector::ZERO; 2]), now);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn predicted(&self, now: [Vibration; 2], added: [UnbalanceVector; 2]) -> [Vibration; 2] {
        let [[aa, ab], [ba, bb]] = self.influence;
        let [a, b] = added;
        let [now_a, now_b] = now;
        [now_a + aa * a + ab * b, now_b + ba * a + bb * b]
    }

    /// The largest over the least singular value of `H`: how much worse than the readings the weights may be. Infinite
    /// where the planes act in proportion.
    ///
    /// From `σ₁² + σ₂² = ‖H‖²` and `σ₁ σ₂ = |det H|`; beyond some 1e7 only its order of magnitude means something.
    ///
    /// ```
    /// # use counterpoise::{Influence, TwoPlanes};
    /// let h = |re| Influence::from_components_per_gram_millimetre(re, 0.0);
    /// let planes = TwoPlanes::from_influence([[h(3e-3)?, h(0.0)?], [h(0.0)?, h(1e-3)?]])?;
    /// assert!((planes.condition_number() - 3.0).abs() < 1e-14);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn condition_number(&self) -> f64 {
        let [[aa, ab], [ba, bb]] = self.influence.map(|row| row.map(Influence::complex));
        let scale = [aa, ab, ba, bb].iter().map(|entry| entry.modulus()).fold(0.0, f64::max);
        if scale <= 0.0 {
            return f64::INFINITY;
        }
        let [aa, ab, ba, bb] = [aa, ab, ba, bb].map(|entry| entry / scale);
        let squares: f64 = [aa, ab, ba, bb].iter().map(|entry| entry.modulus_squared()).sum();
        let determinant = (aa * bb - ab * ba).modulus();
        if determinant <= 0.0 {
            return f64::INFINITY;
        }
        // σ₁/σ₂ = (S + √(S² − 4D²)) / 2D
        let difference = (squares - 2.0 * determinant) * (squares + 2.0 * determinant);
        (squares + math::sqrt(difference.max(0.0))) / (2.0 * determinant)
    }
}

/// Whether all four coefficients are finite: a sum with an infinity or NaN in it is neither zero nor finite times zero.
#[inline]
fn all_finite(influence: &[[Influence; 2]; 2]) -> bool {
    let [[aa, ab], [ba, bb]] = influence.map(|row| row.map(Influence::complex));
    // 0 · x is 0 for every finite x, and NaN otherwise.
    let sum = (aa + ab) * 0.0 + (ba + bb) * 0.0;
    sum.re == 0.0 && sum.im == 0.0
}

/// Whether a difference of two numbers is no more than their rounding.
#[inline]
fn is_rounding(difference: Complex64, a: Complex64, b: Complex64) -> bool {
    let size = |z: Complex64| z.re.abs() + z.im.abs();
    size(difference) <= ROUNDINGS * f64::EPSILON * (size(a) + size(b))
}

/// Two complex equations in two unknowns, eliminated from the largest of the four coefficients.
struct Elimination {
    /// The largest coefficient's reciprocal, and its neighbour in the same equation.
    first_reciprocal: Complex64,
    beside: Complex64,
    /// What is subtracted of the first equation from the second, and the reciprocal of what then stands there.
    factor: Complex64,
    second_reciprocal: Complex64,
    equations_exchanged: bool,
    unknowns_exchanged: bool,
}

impl Elimination {
    /// `None` where the equations are proportional, to rounding.
    #[inline]
    fn of([[a, b], [c, d]]: [[Complex64; 2]; 2]) -> Option<Self> {
        let larger = |x: f64, y: f64| if x < y { y } else { x };
        let size = |z: Complex64| z.re.abs() + z.im.abs();
        let equations_exchanged = larger(size(c), size(d)) > larger(size(a), size(b));
        let [[a, b], [c, d]] = if equations_exchanged { [[c, d], [a, b]] } else { [[a, b], [c, d]] };
        let unknowns_exchanged = size(b) > size(a);
        let [[a, b], [c, d]] = if unknowns_exchanged { [[b, a], [d, c]] } else { [[a, b], [c, d]] };
        let first_reciprocal = Complex64::ONE.quotient(a);
        // (d − b c/a) y = s − r c/a
        let factor = c * first_reciprocal;
        let product = factor * b;
        let pivot = d - product;
        // Also false for NaN.
        let separate = size(pivot) > DETERMINANT_ROUNDINGS * f64::EPSILON * (size(d) + size(product));
        separate.then(|| Self {
            first_reciprocal,
            beside: b,
            factor,
            second_reciprocal: Complex64::ONE.quotient(pivot),
            equations_exchanged,
            unknowns_exchanged,
        })
    }

    #[inline]
    fn solve(&self, [r, s]: [Complex64; 2]) -> [Complex64; 2] {
        let [r, s] = if self.equations_exchanged { [s, r] } else { [r, s] };
        let y = (s - self.factor * r) * self.second_reciprocal;
        // x = (r − b y)/a
        let x = (r - self.beside * y) * self.first_reciprocal;
        if self.unknowns_exchanged { [y, x] } else { [x, y] }
    }
}
