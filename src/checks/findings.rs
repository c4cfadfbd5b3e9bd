//! What the runs say: the explanations in their order, and the verdict.

use alloc::vec::Vec;
use core::fmt;

use num_complex::Complex64;

use crate::error::ExaminationError;
use crate::influence::InfluenceMatrix;
use crate::math;
use crate::vector::{Influence, UnbalanceVector, Vibration};

use super::examination::Examination;
use super::explanation::{Explanation, ExplanationKind};
use super::model::Model;
use super::next_run::{self, NextRun};
use super::{regression, variants};
use crate::statistics::{chi_squared_upper, f_upper};

/// Scores that differ by no more than rounding count as equal, relative to their size.
const ROUNDING: f64 = 1e-9;

/// The relative size up to which two fits, or two corrections, count as the same.
const SAME: f64 = 1e-6;

/// One explanation, and how well it does.
///
/// ```
/// # use counterpoise::*;
/// # use counterpoise::checks::{Examination, Explanation, Plane};
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// for degrees in [10.0, 12.0] {
///     job.add_run(&[], &[channel.reading(0.3, degrees)?.with_standard_deviation(0.01)?])?;
/// }
/// let findings = job.examine()?;
/// let plain = findings.plain();
/// assert_eq!(plain.explanation, Explanation::NoMistake);
/// // Two readings of one vibration: χ² = |y1 − y2|²/(2σ²) with 4 − 2 degrees of freedom.
/// assert_eq!(plain.degrees_of_freedom, 2);
/// assert!((plain.chi_squared - 0.548).abs() < 1e-3);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Ranked {
    /// The explanation, with its fitted parameter where it has one.
    pub explanation: Explanation,
    /// `χ² = Σ |y − fit|²/σ²`, with the vibration as found and the coefficients fitted anew.
    pub chi_squared: f64,
    /// How many real numbers were fitted: twice the rank of each channel's design, and what the explanation itself has
    /// (1 for a moved mark and another speed, 2 for an outlier).
    pub parameters: usize,
    /// Real numbers read, less those fitted.
    pub degrees_of_freedom: usize,
    /// The probability that noise alone misfits as much: the upper tail of chi-square, or of F where
    /// the scatter was estimated. `None` without a degree of freedom.
    pub p_value: Option<f64>,
    /// How many explanations of this kind the job allows.
    pub variants: usize,
    /// `χ² + p ln N + 2 ln M`: `p` parameters, `N` real numbers read, `M` variants. The penalty is this library's choice,
    /// not a standard's: the Schwarz approximation of the marginal likelihood (G. Schwarz, Annals of Statistics 6, 1978;
    /// from memory), with all kinds equally probable beforehand.
    ///
    /// Where scatter was estimated, `(N + ν₀) ln(1 + χ²/ν₀)` stands in place of `χ²`: the variances are then right up to a
    /// common factor `s²`, scaled inverse chi-square with `ν₀` degrees of freedom, which is integrated out (A. Gelman et
    /// al., Bayesian Data Analysis; from memory). `1/ν₀` is the mean of `1/ν` over the readings, 0 for known scatter: the
    /// relative variance of an estimated variance is `2/ν`, and the mean of the readings' errors, however they hang
    /// together, varies by no more than the mean of their variances.
    pub score: f64,
    /// The decimal logarithm of the odds of the best explanation over this one, `(score − least score)/(2 ln 10)`.
    pub log10_odds: f64,
}

/// What may be said.
///
/// ```
/// # use counterpoise::*;
/// # use counterpoise::checks::{Examination, Plane, Verdict};
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// for degrees in [10.0, 12.0] {
///     job.add_run(&[], &[channel.reading(0.3, degrees)?.with_standard_deviation(0.01)?])?;
/// }
/// assert_eq!(job.examine()?.verdict(), Verdict::NothingToAccuse);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Verdict {
    /// There are no more numbers than unknowns: any readings would fit.
    Untested,
    /// The runs fit as they were stated. That does not prove that nothing is wrong: [`Findings::undistinguished`] lists
    /// what fits as well.
    NothingToAccuse,
    /// The runs do not fit as stated; this explanation fits, and beats every one of another consequence at least 100 to 1.
    OneStands(Explanation),
    /// The runs do not fit as stated; several explanations of different consequence do, and cannot be told apart:
    /// [`Findings::undistinguished`]. [`Findings::next_run`] says which run would decide.
    SeveralStand,
    /// The runs do not fit as stated, and no single mistake explains them: two mistakes, a machine that is not linear or
    /// not repeatable, or scatter that was understated.
    Unclear,
}

impl Verdict {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::Verdict::NothingToAccuse.code(), 2);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Untested => 1,
            Self::NothingToAccuse => 2,
            Self::OneStands(_) => 3,
            Self::SeveralStand => 4,
            Self::Unclear => 5,
        }
    }
}

impl fmt::Display for Verdict {
    /// One sentence, for a person.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Untested => f.write_str("there are too few runs to be checked against each other"),
            Self::NothingToAccuse => f.write_str("the runs fit as they were stated: nothing is accused"),
            Self::OneStands(explanation) => write!(
                f,
                "the runs do not fit as they were stated, and one mistake explains them: {explanation}; {}",
                explanation.what_to_look_at()
            ),
            Self::SeveralStand => f.write_str(
                "the runs do not fit as they were stated, and several mistakes explain them equally well: \
                 take one more run before anything is mounted on their strength",
            ),
            Self::Unclear => f.write_str(
                "the runs do not fit as they were stated, and no single mistake explains them: look for two mistakes, \
                 a loose or rubbing part, a change between the runs, or scatter that is larger than stated",
            ),
        }
    }
}

/// A kind of explanation that could not be tried.
///
/// ```
/// use counterpoise::checks::LeftOut;
/// assert_eq!(
///     LeftOut::HolesOff { plane: 1 }.to_string(),
///     "weights some holes off in plane 1 were not looked for: give the plane its ring of holes",
/// );
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum LeftOut {
    /// Another speed than stated: it is not known how the readings change with speed.
    OtherSpeed,
    /// Some holes off: the plane has no ring.
    HolesOff {
        /// The plane.
        plane: usize,
    },
}

impl LeftOut {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::LeftOut::OtherSpeed.code(), 1);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::OtherSpeed => 1,
            Self::HolesOff { .. } => 2,
        }
    }
}

impl fmt::Display for LeftOut {
    /// What was not looked for, and what to give so that it is.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OtherSpeed => f.write_str(
                "runs at another speed were not looked for: give the resonance, or a speed law for every channel",
            ),
            Self::HolesOff { plane } => write!(
                f,
                "weights some holes off in plane {plane} were not looked for: give the plane its ring of holes"
            ),
        }
    }
}

/// What follows for the balancing if an explanation holds: what is really on, the refitted machine, and the corrections.
///
/// Unbalances are given on the scale on which the weights were stated: if the sense of the angles was stated wrong, the
/// place to go to is the printed angle on the same scale.
///
/// ```
/// # use counterpoise::*;
/// # use counterpoise::checks::{Examination, Plane};
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
/// # let read = |amplitude, degrees| channel.reading(amplitude, degrees)?.with_standard_deviation(0.01);
/// let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
/// let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// let trial = job.add_item(0, weight)?;
/// job.add_run(&[], &[read(0.5, 0.0)?])?;
/// job.add_run(&[trial], &[read(0.7, 0.0)?])?;
/// let findings = job.examine()?;
/// let repair = findings.repair(findings.plain()).ok_or("not determined")?;
/// assert!((repair.total[0].x_gram_millimetres() - -2500.0).abs() < 1e-9);
/// assert!((repair.added_to_last_run[0].x_gram_millimetres() - -3500.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Repair {
    /// The vibration of the bare rotor, channel by channel.
    pub as_found: Vec<Vibration>,
    /// The coefficients, for unbalances on the true scale.
    pub influence: InfluenceMatrix,
    /// What is really on the rotor in the last run, plane by plane.
    pub really_on: Vec<UnbalanceVector>,
    /// What is to be on the rotor altogether, from the bare rotor, plane by plane: it makes the sum of the squared
    /// amplitudes of all channels least. With channels in different units, ask a
    /// [`CorrectionQuestion`](crate::CorrectionQuestion) with channel weights instead.
    pub total: Vec<UnbalanceVector>,
    /// What is to be added to what is really on in the last run.
    pub added_to_last_run: Vec<UnbalanceVector>,
}

/// What an examination found.
///
/// ```
/// # use counterpoise::*;
/// # use counterpoise::checks::{Examination, Plane};
/// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
/// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
/// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
/// let mut job = Examination::new(&[channel], &[Plane::new()])?;
/// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
/// job.add_run(&[], &[channel.reading(0.6, 10.0)?.with_standard_deviation(0.01)?])?;
/// let findings = job.examine()?;
/// for ranked in findings.undistinguished() {
///     println!("{} (1 to {:.0})", ranked.explanation, 10_f64.powf(ranked.log10_odds));
///     println!("  {}", ranked.explanation.what_to_look_at());
/// }
/// # assert!(findings.undistinguished().len() > 1);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Findings {
    job: Examination,
    stated: Model,
    plain: Ranked,
    ranked: Vec<Ranked>,
    verdict: Verdict,
}

impl Findings {
    /// The p-value of the runs as stated below which they are said not to fit, and of an explanation below which it is
    /// said not to fit either. A job without mistake is suspected in one case of a thousand, whatever else is tried.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::Findings::HOPELESS_BELOW, 1e-3);
    /// ```
    pub const HOPELESS_BELOW: f64 = 1e-3;

    /// The decimal logarithm of the odds from which on an explanation is said to be beaten: 100 to 1.
    ///
    /// ```
    /// assert_eq!(counterpoise::checks::Findings::DECISIVE_LOG10_ODDS, 2.0);
    /// ```
    pub const DECISIVE_LOG10_ODDS: f64 = 2.0;

    pub(super) fn of(job: Examination) -> Result<Self, ExaminationError> {
        let stated = job.stated_model();
        let numbers = 2 * stated.taken.iter().flatten().flatten().count();
        let scatter = job.scatter_degrees_of_freedom();
        let explanations = variants::explanations(&job, &stated);
        let variants_of =
            |kind: ExplanationKind| explanations.iter().filter(|other| other.kind() == kind).count();
        let mut ranked: Vec<Ranked> = Vec::with_capacity(explanations.len());
        for explanation in &explanations {
            let variants = match ranked.last() {
                Some(last) if last.explanation.kind() == explanation.kind() => last.variants,
                _ => variants_of(explanation.kind()),
            };
            let fit = regression::fit(&job.model_if(&stated, explanation));
            ranked.push(rank(*explanation, fit, numbers, variants, scatter));
        }
        in_order(&mut ranked);
        let plain = ranked.iter().find(|ranked| ranked.explanation == Explanation::NoMistake);
        let plain =
            *plain.filter(|plain| plain.score.is_finite()).ok_or(ExaminationError::NotRepresentable)?;
        let mut findings = Self { job, stated, plain, ranked, verdict: Verdict::Untested };
        findings.verdict = findings.judged();
        Ok(findings)
    }

    fn judged(&self) -> Verdict {
        let plain = &self.plain;
        let fits = |ranked: &Ranked| ranked.p_value.is_none_or(|p| p >= Self::HOPELESS_BELOW);
        if plain.p_value.is_none() {
            return Verdict::Untested;
        }
        if fits(plain) {
            return Verdict::NothingToAccuse;
        }
        let Some((best, others)) = self.undistinguished().split_first() else { return Verdict::Unclear };
        if !fits(best) || best.explanation == Explanation::NoMistake {
            return Verdict::Unclear;
        }
        if others.iter().all(|other| self.same_consequence(best, other)) {
            Verdict::OneStands(best.explanation)
        } else {
            Verdict::SeveralStand
        }
    }

    /// The runs as they were stated: how well they fit without any mistake.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// assert_eq!(job.examine()?.plain().p_value, None);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn plain(&self) -> &Ranked {
        &self.plain
    }

    /// All explanations, the best first. Equal scores stand in a fixed order: kind by kind as in [`ExplanationKind`],
    /// then by item and run.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// // No mistake, two slips of detector, one of unit, an outlier.
    /// assert_eq!(job.examine()?.ranked().len(), 5);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn ranked(&self) -> &[Ranked] {
        &self.ranked
    }

    /// What may be said.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane, Verdict};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// assert_eq!(job.examine()?.verdict(), Verdict::Untested);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn verdict(&self) -> Verdict {
        self.verdict
    }

    /// The best explanation and all that it does not beat 100 to 1: what the runs cannot tell apart.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// // One run tells nothing from anything.
    /// let findings = job.examine()?;
    /// assert_eq!(findings.undistinguished().len(), findings.ranked().len());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn undistinguished(&self) -> &[Ranked] {
        let count = self.ranked.partition_point(|ranked| ranked.log10_odds < Self::DECISIVE_LOG10_ODDS);
        self.ranked.get(..count).unwrap_or_default()
    }

    /// The explanations that fit just as well with as many parameters, itself among them: equal by construction, so that
    /// no penalty and no better reading of the same runs could tell them apart.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Explanation, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// # let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// let at_the_mark = job.add_item(0, weight)?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// job.add_run(&[at_the_mark], &[channel.reading(0.5, 10.0)?.with_standard_deviation(0.01)?])?;
    /// let findings = job.examine()?;
    /// let mut alike = findings.fitting_alike(findings.plain());
    /// assert!(alike.any(|ranked| ranked.explanation == Explanation::WeightMirrored { item: at_the_mark }));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn fitting_alike(&self, of: &Ranked) -> impl Iterator<Item = &Ranked> {
        let of = *of;
        self.ranked.iter().filter(move |other| {
            other.parameters == of.parameters
                && (other.chi_squared - of.chi_squared).abs() <= SAME * of.chi_squared.max(1.0)
        })
    }

    /// What could not be looked for, and what to give so that it is.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, LeftOut, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// assert_eq!(job.examine()?.left_out(), [LeftOut::OtherSpeed]);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn left_out(&self) -> Vec<LeftOut> {
        variants::left_out(&self.job)
    }

    /// What follows if an explanation holds; `None` where the runs do not determine the correction under it.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// let findings = job.examine()?;
    /// assert!(findings.repair(findings.plain()).is_none());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn repair(&self, of: &Ranked) -> Option<Repair> {
        let explanation = &of.explanation;
        let model = self.job.model_if(&self.stated, explanation);
        let solutions = regression::solve(&model);
        let solutions: Vec<&regression::Solution> =
            solutions.iter().map(Option::as_ref).collect::<Option<_>>()?;
        let total = regression::correction(&solutions)?;
        let really_on = model.mounted.last()?;
        let stated = |unbalance: Complex64| {
            UnbalanceVector::computed(match explanation {
                // On the scale on which the weights were stated, the angle runs the other way.
                Explanation::SenseWrong => unbalance.conj(),
                _ => unbalance,
            })
        };
        let first = |solution: &&regression::Solution| solution.unknowns.first().copied().unwrap_or_default();
        let coefficients = solutions.iter().flat_map(|solution| solution.unknowns.iter().skip(1));
        Some(Repair {
            as_found: solutions.iter().map(first).map(Vibration::computed).collect(),
            influence: InfluenceMatrix::computed(
                self.job.channels.clone(),
                self.job.planes.len(),
                coefficients.map(|h| Influence::computed(*h)).collect(),
            ),
            really_on: really_on.iter().map(|u| stated(*u)).collect(),
            added_to_last_run: total.iter().zip(really_on).map(|(total, on)| stated(total - on)).collect(),
            total: total.into_iter().map(stated).collect(),
        })
    }

    /// Whether two explanations ask for the same weights: the same in all, and the same to be added to the last run.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lag, window);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// job.add_run(&[], &[channel.reading(0.3, 10.0)?.with_standard_deviation(0.01)?])?;
    /// let findings = job.examine()?;
    /// assert!(findings.same_consequence(findings.plain(), findings.plain()));
    /// assert!(!findings.same_consequence(findings.plain(), &findings.ranked()[1]));
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn same_consequence(&self, one: &Ranked, other: &Ranked) -> bool {
        if one.explanation == other.explanation {
            return true;
        }
        match (self.consequence(one), self.consequence(other)) {
            (Some(one), Some(other)) => one.same_as(&other),
            _ => false,
        }
    }

    /// What an explanation asks for; `None` where the runs do not determine it.
    pub(super) fn consequence(&self, of: &Ranked) -> Option<Consequence> {
        let Repair { total, added_to_last_run, .. } = self.repair(of)?;
        Some(Consequence { total, added_to_last_run })
    }

    /// The run to take next: of the candidates that need no more than pieces like those used, the one that tells most of
    /// the undistinguished explanations apart. `None` where there is nothing to tell apart, or no run would do it.
    ///
    /// ```
    /// # use counterpoise::*;
    /// # use counterpoise::checks::{Examination, Plane};
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// # let channel = Channel::new(1, unit, PhaseSense::Lead, window);
    /// # let read = |amplitude: f64, degrees: f64| channel.reading(amplitude, degrees)?.with_standard_deviation(0.002);
    /// let weight = Weight::new(Mass::from_grams(10.0)?, Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// let mut job = Examination::new(&[channel], &[Plane::new()])?;
    /// let trial = job.add_item(0, weight)?;
    /// job.add_run(&[], &[read(0.5, 0.0)?])?;
    /// job.add_run(&[trial], &[read(0.7, 20.0)?])?;
    /// let findings = job.examine()?;
    /// // All weights lie on one line: whether the sense is right does not show. A weight off the line tells.
    /// let next = findings.next_run().ok_or("none")?;
    /// assert!(next.added.is_some());
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn next_run(&self) -> Option<NextRun> {
        next_run::best(self, &self.job, &self.stated)
    }
}

/// The weights that an explanation asks for.
#[derive(Debug)]
pub(super) struct Consequence {
    total: Vec<UnbalanceVector>,
    added_to_last_run: Vec<UnbalanceVector>,
}

impl Consequence {
    /// Whether another explanation asks for the same, in all and to be added to the last run.
    pub(super) fn same_as(&self, other: &Self) -> bool {
        let size = |unbalance: &UnbalanceVector| math::modulus(unbalance.complex());
        let all = self.total.iter().chain(&other.total).chain(&self.added_to_last_run);
        let largest = all.map(size).fold(0.0, f64::max);
        let same = |one: &[UnbalanceVector], other: &[UnbalanceVector]| {
            one.iter().zip(other).all(|(one, other)| size(&(*one - *other)) <= SAME * largest)
        };
        same(&self.total, &other.total) && same(&self.added_to_last_run, &other.added_to_last_run)
    }
}

/// How rare a misfit is that is greater, with the variances right up to a common factor that is known with so many degrees of
/// freedom: chi-squared where these are infinite, else `χ²/d` is F.
pub(super) fn chance_of_misfit(chi_squared: f64, degrees: f64, of_scatter: f64) -> f64 {
    if of_scatter == f64::INFINITY {
        chi_squared_upper(chi_squared, degrees)
    } else {
        f_upper(chi_squared / degrees, degrees, of_scatter)
    }
}

fn rank(
    explanation: Explanation,
    fit: regression::Fit,
    numbers: usize,
    variants: usize,
    scatter: f64,
) -> Ranked {
    let own = match explanation.kind() {
        ExplanationKind::MarkMoved | ExplanationKind::OtherSpeed => 1,
        ExplanationKind::Outlier => 2,
        _ => 0,
    };
    let parameters = 2 * fit.rank + own;
    let degrees_of_freedom = numbers.saturating_sub(parameters);
    // Counts are far below 2⁵².
    #[allow(clippy::cast_precision_loss)]
    let [parameters_f, numbers_f, variants_f, degrees_f] =
        [parameters, numbers, variants, degrees_of_freedom].map(|count| count as f64);
    let known = scatter == f64::INFINITY;
    let misfit = if known {
        fit.chi_squared
    } else {
        // (N + ν₀) ln(1 + χ²/ν₀)
        (numbers_f + scatter) * math::log1p(fit.chi_squared / scatter)
    };
    let tail = |degrees: f64| chance_of_misfit(fit.chi_squared, degrees, scatter);
    Ranked {
        explanation,
        chi_squared: fit.chi_squared,
        parameters,
        degrees_of_freedom,
        p_value: (degrees_f > 0.0).then(|| tail(degrees_f)),
        variants,
        // χ² + p ln N + 2 ln M, with the misfit in place of χ² where the scatter was estimated
        score: misfit + parameters_f * math::log(numbers_f) + 2.0 * math::log(variants_f),
        log10_odds: 0.0,
    }
}

/// Brings the explanations into the order of their scores; scores that differ by rounding alone keep the order in which
/// they stand.
fn in_order(ranked: &mut [Ranked]) {
    let stated: Vec<Explanation> = ranked.iter().map(|ranked| ranked.explanation).collect();
    let place = |ranked: &Ranked| stated.iter().position(|explanation| *explanation == ranked.explanation);
    ranked.sort_by(|one, other| one.score.total_cmp(&other.score));
    let mut rest = &mut *ranked;
    while let Some(first) = rest.first() {
        let limit = first.score + ROUNDING * first.score.abs().max(1.0);
        let equal = rest.partition_point(|ranked| ranked.score <= limit).max(1);
        let (group, later) = rest.split_at_mut(equal.min(rest.len()));
        group.sort_by_key(place);
        rest = later;
    }
    let least = ranked.iter().map(|ranked| ranked.score).fold(f64::INFINITY, f64::min);
    for ranked in ranked {
        // log₁₀ exp((score − least)/2)
        let odds = (ranked.score - least) / (2.0 * core::f64::consts::LN_10);
        ranked.log10_odds = if odds.is_nan() { f64::INFINITY } else { odds };
    }
}
