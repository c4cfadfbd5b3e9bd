//! Balancing without phase: the correction from amplitudes alone.
//!
//! One reading as found and one with a trial mass at each of several places give, for the linear rotor,
//!
//! ```text
//! Aᵢ = |v₀ + H mᵢ exp(i αᵢ)| = √(A₀² + (mᵢ c)² + 2 A₀ mᵢ c cos(αᵢ + δ))
//! A₀ = |v₀|,   c = |H| (the effect of a unit mass),   δ = arg H − arg v₀
//! ```
//!
//! and the mass that cancels v₀, with the trial masses taken off, is A₀/c at 180° − δ. Both senses of the rotor angle obey
//! the same equation, so the answer is in the sense of the angles given. "Amount" is mass in any unit, or mass over a
//! reference mass; c is per one of that unit and the correction is in it.
//!
//! The answer minimises Σ (Aᵢ − model)² over every amplitude, those as found included, with (A₀, c, δ) unknown. One
//! reading is weighted as the other.
//!
//! | symbol | meaning | here |
//! | --- | --- | --- |
//! | A₀ | amplitude as found, as fitted | [`Fit::initial`] |
//! | c | effect of a unit amount | [`Fit::effect`] |
//! | δ | arg H − arg v₀ | [`Fit::delta_deg`] |
//! | a, p, q | c², 2 A₀ c cos δ, −2 A₀ c sin δ | [`ClosedForm`] |

mod closed_form;
mod model;
mod search;
#[cfg(test)]
mod tests;

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::math::{argument_degrees, sin_cos_degrees};
use closed_form::Places;
use model::{Minimum, Reading, Rotor};

/// One trial run: the mass mounted for it, alone, and the amplitude it gave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Trial {
    /// Mass in the unit of the answer; positive.
    pub(crate) amount: f64,
    /// Where it sat, in degrees; any finite angle, in the sense in which the answer is wanted.
    pub(crate) angle_deg: f64,
    /// The amplitude read, in the unit and detector of the readings as found.
    pub(crate) amplitude: f64,
}

/// A linear rotor fitted to the amplitudes, and the correction it asks for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fit {
    /// A₀, in the unit of the readings.
    pub(crate) initial: f64,
    /// c, reading per unit amount.
    pub(crate) effect: f64,
    /// δ in [0, 360).
    pub(crate) delta_deg: f64,
    /// A₀/c, in the unit of the trial amounts, with the trial mass taken off.
    pub(crate) correction_amount: f64,
    /// 180° − δ in [0, 360).
    pub(crate) correction_deg: f64,
    /// Measured − model: the readings as found first, then the trials, each in the order given.
    pub(crate) residuals: Vec<f64>,
    /// Σ residual².
    pub(crate) sum_squares: f64,
    /// √(Σ residual²/n), n the number of residuals: the misfit, in the unit of the readings. It is not an estimate of the
    /// noise, for which three fitted unknowns would have to be taken off n.
    pub(crate) rms: f64,
}

/// A local minimum of the sum of squares at a negative A₀, where a descent in (A₀, c, δ) without bounds may end by mistake.
///
/// No rotor has a negative amplitude; turned half round it is a rotor, and fits better than here.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mirage {
    /// A₀ < 0.
    pub(crate) initial: f64,
    /// Σ residual², with this A₀ for the readings as found.
    pub(crate) sum_squares: f64,
}

/// The solution of the squared amplitudes, which is linear: Aᵢ² − A₀² = mᵢ² a + mᵢ (p cos αᵢ + q sin αᵢ), A₀ the mean
/// reading as found.
///
/// With three trials it is exact; with more it is the least squares of the *squared* amplitudes. In either case it ignores
/// the side condition p² + q² = 4 A₀² a, which consistent readings fulfil by themselves. The least squares of the
/// amplitudes ([`Fit`]) is the answer; this is the textbook's figure beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ClosedForm {
    /// c², found without regard to p and q; negative when the readings contradict a linear rotor, or by noise.
    pub(crate) a: f64,
    /// 2 A₀ c cos δ.
    pub(crate) p: f64,
    /// −2 A₀ c sin δ.
    pub(crate) q: f64,
    /// √a; `None` unless a > 0.
    pub(crate) effect_from_a: Option<f64>,
    /// √(p² + q²)/(2 A₀).
    pub(crate) effect_from_pq: f64,
    /// δ = atan2(−q, p) in [0, 360).
    pub(crate) delta_deg: f64,
    /// √a over √(p² + q²)/(2 A₀): 1 for consistent readings. `None` unless both exist and are positive.
    pub(crate) inconsistency_ratio: Option<f64>,
    /// A₀/√a; `None` unless a > 0: then there is no closed-form solution.
    pub(crate) correction_amount: Option<f64>,
    /// 180° − δ in [0, 360).
    pub(crate) correction_deg: f64,
}

/// Why more than one rotor shows the same amplitudes.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub(crate) enum Ambiguity {
    /// All trial places lie on one line through the shaft centre: any answer and its mirror image in that line fit alike.
    /// A trial off the line settles it.
    Line {
        /// Direction of the line, in [0, 180).
        axis_deg: f64,
    },
    /// All trial places lie on one circle through the shaft centre, as any two places do: any answer and its inverse point
    /// in that circle fit alike. A trial off the circle settles it: with equal amounts, one at any third angle.
    Circle,
    /// The places would settle it, but several rotors fit these readings equally badly.
    EqualFits,
}

/// What amplitudes alone can say.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub(crate) enum Outcome {
    /// One rotor fits best.
    Unique {
        /// The global minimum of the sum of squares.
        fit: Fit,
        /// The next higher local minimum, if there is one. Where its sum of squares is not much larger the readings hardly
        /// tell the two apart, and another trial must.
        next_local_minimum: Option<Fit>,
        /// Local minima that are no rotor, lowest first.
        mirages: Vec<Mirage>,
        /// The closed form of three or more trials.
        closed_form: Option<ClosedForm>,
    },
    /// Several rotors fit alike; only one of them is the machine.
    Ambiguous {
        /// What the readings lack.
        reason: Ambiguity,
        /// Every solution, by rising correction angle. It is a single one where both roots coincide or where the second
        /// would be a rotor on which the trial masses have no effect: it is then as much in need of another trial.
        fits: Vec<Fit>,
        /// The next higher local minimum; not looked for when two trials are met exactly.
        next_local_minimum: Option<Fit>,
        /// Local minima that are no rotor, lowest first; not looked for when two trials are met exactly.
        mirages: Vec<Mirage>,
        /// The closed form of three or more trials (only with [`Ambiguity::EqualFits`]).
        closed_form: Option<ClosedForm>,
    },
    /// A single trial, or all trials in one place: a whole circle of corrections fits.
    Undetermined,
    /// The readings contradict every linear rotor: the best fit misses by more than a tenth of the readings
    /// ([`CONTRADICTION`]) *and* there is no closed-form solution (a ≤ 0, or places without one) or no effect in the best
    /// fit (c = 0). A poor fit beside a closed-form solution, or a ≤ 0 beside a fair fit, is an answer with its misfit.
    Impossible {
        /// The closed form of three or more trials, with its a ≤ 0.
        closed_form: Option<ClosedForm>,
        /// The best of the bad fits; `None` when none beats c = 0.
        best: Option<Fit>,
    },
    /// No rotor on which the trial masses act fits better than one on which they do not (c = 0): there is no correction to
    /// compute. The trial masses are too small for the scatter of the readings, or the sensor cannot see them.
    NoEffect {
        /// The closed form of three or more trials.
        closed_form: Option<ClosedForm>,
    },
    /// The rotor showed no vibration as found, or less than the rounding of the other readings (1e-13 of the largest).
    NothingToCorrect,
}

/// Input that is no set of readings. The number of the run counts from 0 within its own list.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub(crate) enum InputError {
    /// No reading as found.
    NoAsFound,
    /// No trial run.
    NoTrials,
    /// A reading as found is negative, not a number, or above [`LARGEST`].
    AsFound {
        /// Number of the reading.
        index: usize,
        /// The reading.
        value: f64,
    },
    /// A trial amount is not a number, not above [`SMALLEST_AMOUNT`], or above [`LARGEST`].
    Amount {
        /// Number of the trial.
        index: usize,
        /// The amount.
        value: f64,
    },
    /// A trial angle is not finite.
    Angle {
        /// Number of the trial.
        index: usize,
        /// The angle in degrees.
        value: f64,
    },
    /// A trial amplitude is negative, not a number, or above [`LARGEST`].
    Amplitude {
        /// Number of the trial.
        index: usize,
        /// The amplitude.
        value: f64,
    },
}

/// The unit vector of an angle in degrees.
fn unit_vector(degrees: f64) -> Complex64 {
    let (sine, cosine) = sin_cos_degrees(degrees);
    Complex64 { re: cosine, im: sine }
}

/// The direction of a vector in degrees, in [0, 360).
fn direction(vector: Complex64) -> f64 {
    argument_degrees(vector.im, vector.re)
}

/// Largest amplitude and amount taken: squares and ratios of such numbers are still floats.
pub(crate) const LARGEST: f64 = 1e75;
/// Smallest trial amount taken; zero and less is no trial.
pub(crate) const SMALLEST_AMOUNT: f64 = 1e-75;
/// Misfit (rms residual over rms reading) above which readings that have no solution otherwise count as contradictory.
///
/// Our choice, from no standard: repeated amplitudes of one machine scatter by a few per cent, not by ten.
pub(crate) const CONTRADICTION: f64 = 0.1;

/// Misfits are equal within this part of each other,
const EQUAL_RATIO: f64 = 1e-9;
/// and within this part of the largest reading (rounding of residuals).
const EQUAL_ROUNDING: f64 = 1e-13;
/// Largest residual, in the same measure, at which a rotor of two trials counts as verified: then two are equal, too.
const VERIFIED: f64 = EQUAL_ROUNDING / 2.0;
/// A fitted A₀ below this part of the reading as found is none.
const VANISHED: f64 = 1e-6;
/// Below this effect, of A₀, a rotor is compared with one on which the trial masses have none.
const FEEBLE: f64 = 1e-3;

/// Every linear rotor that explains the amplitudes best, and the correction each asks for.
///
/// Readings as found beyond the first are repeats: each counts as one more reading at A₀.
///
/// - Two trials in different places: all exact solutions, or the nearest rotors where there is none.
/// - Three or more: the global least squares over all amplitudes, with the other local minima looked for.
///
/// The search is deterministic and the minimum is polished until the gradient drowns in rounding. A trial of less than
/// 1e-8 of the largest, or an angle apart by less than 6e-7 degrees, counts as no other place.
///
/// # Errors
///
/// [`InputError`] with the first offending value.
pub(crate) fn solve(as_found: &[f64], trials: &[Trial]) -> Result<Outcome, InputError> {
    check(as_found, trials)?;
    let scaled = Scaled::new(as_found, trials);
    if scaled.mean_as_found <= EQUAL_ROUNDING {
        return Ok(Outcome::NothingToCorrect);
    }
    let places = Places::of(scaled.trials());
    let Places::Circle { normal } = places else {
        return Ok(match places {
            Places::Spread => scaled.settled(),
            _ => Outcome::Undetermined,
        });
    };
    Ok(scaled.on_circle(normal))
}

fn check(as_found: &[f64], trials: &[Trial]) -> Result<(), InputError> {
    if as_found.is_empty() {
        return Err(InputError::NoAsFound);
    }
    if trials.is_empty() {
        return Err(InputError::NoTrials);
    }
    // A NaN is in no range.
    for (index, &value) in as_found.iter().enumerate() {
        if !(0.0..=LARGEST).contains(&value) {
            return Err(InputError::AsFound { index, value });
        }
    }
    for (index, trial) in trials.iter().enumerate() {
        if !(SMALLEST_AMOUNT..=LARGEST).contains(&trial.amount) {
            return Err(InputError::Amount { index, value: trial.amount });
        }
        if !trial.angle_deg.is_finite() {
            return Err(InputError::Angle { index, value: trial.angle_deg });
        }
        if !(0.0..=LARGEST).contains(&trial.amplitude) {
            return Err(InputError::Amplitude { index, value: trial.amplitude });
        }
    }
    Ok(())
}

/// The readings with the largest amplitude and the largest amount brought into [½, 1) by powers of two, which is exact.
struct Scaled {
    readings: Vec<Reading>,
    as_found: usize,
    /// The amplitudes are 2^this times the scaled ones,
    amplitude_exponent: i32,
    /// the amounts 2^this times.
    amount_exponent: i32,
    /// Mean reading as found: A₀ of the closed forms.
    mean_as_found: f64,
}

impl Scaled {
    fn new(as_found: &[f64], trials: &[Trial]) -> Scaled {
        let amplitudes = as_found.iter().copied().chain(trials.iter().map(|t| t.amplitude));
        let (_, amplitude_exponent) = libm::frexp(amplitudes.fold(0.0, f64::max));
        let (_, amount_exponent) = libm::frexp(trials.iter().map(|t| t.amount).fold(0.0, f64::max));
        let mut readings = Vec::with_capacity(as_found.len() + trials.len());
        let mut sum = 0.0;
        for a in as_found {
            let amplitude = libm::scalbn(*a, -amplitude_exponent);
            sum += amplitude;
            readings.push(Reading { mounted: Complex64::new(0.0, 0.0), amplitude });
        }
        let mean_as_found = sum / model::count(&readings);
        for trial in trials {
            readings.push(Reading {
                mounted: unit_vector(trial.angle_deg) * libm::scalbn(trial.amount, -amount_exponent),
                amplitude: libm::scalbn(trial.amplitude, -amplitude_exponent),
            });
        }
        Scaled { readings, as_found: as_found.len(), amplitude_exponent, amount_exponent, mean_as_found }
    }

    fn trials(&self) -> &[Reading] {
        self.readings.get(self.as_found..).unwrap_or(&[])
    }

    /// Trial places that settle the answer.
    fn settled(&self) -> Outcome {
        let linear = closed_form::linear_solution(self.mean_as_found, self.trials());
        let mut starts = Vec::new();
        if let Some([_, p, q]) = linear {
            // H = (p − i q)/(2 A₀)
            starts.push(Rotor {
                initial: self.mean_as_found,
                influence: Complex64::new(p, -q).unscale(2.0 * self.mean_as_found),
            });
        }
        let minima = search::local_minima(&self.readings, &starts);
        self.judge(&minima, linear, Ambiguity::EqualFits)
    }

    /// Trial places on one circle or line through the shaft centre.
    fn on_circle(&self, normal: [f64; 3]) -> Outcome {
        let reason = if closed_form::is_line(normal) {
            let axis = direction(closed_form::line(normal));
            Ambiguity::Line { axis_deg: if axis >= 180.0 { axis - 180.0 } else { axis } }
        } else {
            Ambiguity::Circle
        };
        if let &[first, second] = self.trials() {
            let exact = self.exact([first, second]);
            if !exact.is_empty() {
                return self.judge(&exact, None, reason);
            }
        }
        let mut minima = search::local_minima(&self.readings, &[]);
        // Every minimum has its partner, to be listed even where the search would have missed it.
        for index in 0..minima.len() {
            if let Some(minimum) = minima.get(index).copied() {
                let partner = closed_form::partner(normal, minimum.rotor);
                if let Some(found) = model::descend(&self.readings, partner) {
                    search::insert(&self.readings, &mut minima, found);
                }
            }
        }
        search::sort(&mut minima);
        self.judge(&minima, None, reason)
    }

    /// The rotors of two trials that the readings confirm.
    fn exact(&self, trials: [Reading; 2]) -> Vec<Minimum> {
        let mut exact = Vec::new();
        for rotor in closed_form::two_trial_rotors(self.mean_as_found, trials) {
            let minimum = Minimum { rotor, sum_squares: model::sum_squares(&self.readings, rotor) };
            let verified =
                trials.iter().all(|t| (t.amplitude - rotor.amplitude(t.mounted)).abs() <= VERIFIED);
            if verified {
                search::insert(&self.readings, &mut exact, minimum);
            }
        }
        exact
    }

    /// The outcome of the local minima, lowest first.
    fn judge(&self, minima: &[Minimum], linear: Option<[f64; 3]>, reason: Ambiguity) -> Outcome {
        let closed_form = linear.map(|apq| self.closed_form(apq));
        // A₀ = 0 is never a minimum, but may be stationary and flat enough to pass for one.
        let least = VANISHED * self.mean_as_found;
        let acting = minima.iter().filter(|m| m.rotor.initial.abs() > least && !self.is_no_effect(m));
        let (rotors, mirages): (Vec<&Minimum>, Vec<&Minimum>) = acting.partition(|m| m.rotor.initial > 0.0);
        let no_effect = self.no_effect();
        let best = rotors.first().copied().filter(|best| !is_lower(&no_effect, best));
        let misfit = best.map_or(no_effect.sum_squares, |b| b.sum_squares);
        let unsolved = best.is_none() || linear.is_none_or(|[a, _, _]| a <= 0.0);
        // √(Σ residual²/n)/√(Σ A²/n) > limit, squared
        if unsolved && misfit > CONTRADICTION * CONTRADICTION * self.power() {
            return Outcome::Impossible { closed_form, best: best.map(|b| self.fit(b)) };
        }
        let Some(best) = best else {
            return Outcome::NoEffect { closed_form };
        };
        let alike = rotors.iter().take_while(|m| !is_lower(best, m)).count();
        let mut fits: Vec<Fit> = rotors.iter().take(alike).map(|m| self.fit(m)).collect();
        let next_local_minimum = rotors.get(alike).map(|m| self.fit(m));
        let mirages = mirages.iter().map(|m| self.mirage(m)).collect();
        if alike == 1 && reason == Ambiguity::EqualFits {
            return Outcome::Unique { fit: self.fit(best), next_local_minimum, mirages, closed_form };
        }
        fits.sort_by(|a, b| a.correction_deg.total_cmp(&b.correction_deg));
        Outcome::Ambiguous { reason, fits, next_local_minimum, mirages, closed_form }
    }

    /// The rotor on which the trial masses have no effect: A₀ is the mean of all readings.
    fn no_effect(&self) -> Minimum {
        let mut sum = 0.0;
        for reading in &self.readings {
            sum += reading.amplitude;
        }
        let rotor =
            Rotor { initial: sum / model::count(&self.readings), influence: Complex64::new(0.0, 0.0) };
        Minimum { rotor, sum_squares: model::sum_squares(&self.readings, rotor) }
    }

    /// True for a minimum at c = 0 to within rounding: a feeble effect that does not lower the sum of squares.
    fn is_no_effect(&self, minimum: &Minimum) -> bool {
        minimum.rotor.effect() <= FEEBLE * minimum.rotor.initial.abs()
            && !is_lower(minimum, &self.no_effect())
    }

    /// Σ A².
    fn power(&self) -> f64 {
        let mut sum = 0.0;
        for reading in &self.readings {
            sum += reading.amplitude * reading.amplitude;
        }
        sum
    }

    fn to_squares(&self, scaled: f64) -> f64 {
        libm::scalbn(scaled, 2 * self.amplitude_exponent)
    }

    fn fit(&self, minimum: &Minimum) -> Fit {
        let Rotor { initial, influence } = minimum.rotor;
        let effect = minimum.rotor.effect();
        let to_amplitude = |x: f64| libm::scalbn(x, self.amplitude_exponent);
        let residuals = self
            .readings
            .iter()
            .map(|r| to_amplitude(r.amplitude - minimum.rotor.amplitude(r.mounted)))
            .collect();
        Fit {
            initial: to_amplitude(initial),
            effect: libm::scalbn(effect, self.amplitude_exponent - self.amount_exponent),
            delta_deg: direction(influence),
            // m = A₀/c at 180° − δ
            correction_amount: libm::scalbn(initial / effect, self.amount_exponent),
            correction_deg: direction(-influence.conj()),
            residuals,
            sum_squares: self.to_squares(minimum.sum_squares),
            rms: to_amplitude(libm::sqrt(minimum.sum_squares / model::count(&self.readings))),
        }
    }

    fn mirage(&self, minimum: &Minimum) -> Mirage {
        Mirage {
            initial: libm::scalbn(minimum.rotor.initial, self.amplitude_exponent),
            sum_squares: self.to_squares(minimum.sum_squares),
        }
    }

    fn closed_form(&self, [a, p, q]: [f64; 3]) -> ClosedForm {
        let a0 = self.mean_as_found;
        let effect_exponent = self.amplitude_exponent - self.amount_exponent;
        let to_effect = |x: f64| libm::scalbn(x, effect_exponent);
        // c = √a, and again c = √(p² + q²)/(2 A₀)
        let from_a = (a > 0.0).then(|| libm::sqrt(a));
        let from_pq = libm::hypot(p, q) / (2.0 * a0);
        // c exp(i δ) is along p − i q, the correction along −(p + i q).
        ClosedForm {
            a: libm::scalbn(a, 2 * effect_exponent),
            p: libm::scalbn(p, effect_exponent + self.amplitude_exponent),
            q: libm::scalbn(q, effect_exponent + self.amplitude_exponent),
            effect_from_a: from_a.map(to_effect),
            effect_from_pq: to_effect(from_pq),
            delta_deg: direction(Complex64::new(p, -q)),
            inconsistency_ratio: from_a.filter(|_| from_pq > 0.0).map(|c| c / from_pq),
            correction_amount: from_a.map(|c| libm::scalbn(a0 / c, self.amount_exponent)),
            correction_deg: direction(Complex64::new(-p, -q)),
        }
    }
}

/// True where one misfit is below another by more than rounding.
fn is_lower(one: &Minimum, other: &Minimum) -> bool {
    let (one, other) = (libm::sqrt(one.sum_squares), libm::sqrt(other.sum_squares));
    one < other * (1.0 - EQUAL_RATIO) - EQUAL_ROUNDING
}
