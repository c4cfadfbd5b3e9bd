//! How a job stands: what the runs up to now say.

use alloc::vec::Vec;

use super::advice::checked;
use super::limit::LimitPurpose;
use super::machine::Machine;
use super::record::Record;
use super::state::{JobRun, State};
use crate::caution::Caution;
use crate::channel::Reading;
use crate::checks::{self, Findings};
use crate::conformity::Conformity;
use crate::error::{EstimateError, JobError};
use crate::influence::{Estimator, InfluenceFit, Prior};
use crate::uncertainty::{Estimate, Uncertainty};
use crate::vector::{UnbalanceVector, Vibration};

/// What the runs of a record say of the machine as it is now: the vibration with what is mounted, the coefficients with their
/// uncertainty, verdicts, a mistake that the runs show, cautions. Computed once; ask it as often as is needed.
///
/// Where only the [rotor was changed](super::Change::Rotor) since earlier runs, those are a prior for the coefficients.
///
/// ```
/// # use counterpoise::Conformity;
/// # use counterpoise::job::{Fact, LimitPurpose, Pieces, Record, Standing, StatedReading, VibrationLimit};
#[doc = example_machine!()]
/// let machine = machine.with_limit(VibrationLimit::new(0, LimitPurpose::Done, 0.2, "the maker's manual"))?;
/// let mut record = Record::new(machine);
/// let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
/// record.add(Fact::run("as found", &[read(0.45, 48.0), read(0.46, 47.0), read(0.45, 49.0)]))?;
/// let standing = Standing::of(&record, 0.95)?;
/// assert_eq!(standing.verdict(0), Some(Conformity::Outside));
/// assert!(standing.fit().is_none(), "one run says nothing of the coefficients");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Standing {
    run: Option<usize>,
    /// What was read of every channel.
    read: Vec<Option<Reading>>,
    verdicts: Vec<Option<Conformity>>,
    estimator: Option<Estimator>,
    fit: Option<Result<InfluenceFit, EstimateError>>,
    uncertainty: Option<Uncertainty>,
    predicted: Option<Vec<Estimate<Vibration>>>,
    findings: Option<Findings>,
    cautions: Vec<Caution>,
}

impl Standing {
    /// How the job stands, with verdicts at a confidence such as 0.95.
    ///
    /// # Errors
    /// [`JobError::BadNumber`] for a confidence that is not from 0.5 to 0.9999.
    ///
    /// ```
    /// # use counterpoise::job::{Record, Standing};
    #[doc = example_machine!()]
    /// assert_eq!(Standing::of(&Record::new(machine), 0.95)?.run(), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(record: &Record, confidence: f64) -> Result<Self, JobError> {
        Ok(Self::of_state(record.machine(), record.state(), checked(confidence)?, None))
    }

    /// The same, where coefficients are known before the first run; see [`pooled_prior`](super::pooled_prior).
    ///
    /// # Errors
    /// As [`of`](Self::of).
    ///
    /// ```
    /// # use counterpoise::{Influence, InfluenceMatrix, Prior};
    /// # use counterpoise::job::{Fact, Record, Standing, StatedReading};
    #[doc = example_machine!()]
    /// let coefficient = Influence::from_components_per_gram_millimetre(1.2e-4, -0.5e-4)?;
    /// let prior = Prior::with_relative_spread(InfluenceMatrix::new(&[channel], 1, &[coefficient])?, 0.2)?;
    /// let mut record = Record::new(machine);
    /// let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
    /// record.add(Fact::run("as found", &[read(0.45, 48.0), read(0.46, 47.0), read(0.45, 49.0)]))?;
    /// assert!(Standing::with_prior(&record, 0.95, prior)?.fit().is_some());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with_prior(record: &Record, confidence: f64, prior: Prior) -> Result<Self, JobError> {
        Ok(Self::of_state(record.machine(), record.state(), checked(confidence)?, Some(prior)))
    }

    pub(super) fn of_state(machine: &Machine, state: &State, confidence: f64, prior: Option<Prior>) -> Self {
        let run = state.run_as_mounted();
        let read: Vec<Option<Reading>> = run.map_or_else(Vec::new, |run| state.means_of(machine, run));
        let verdict = |(channel, read): (usize, &Option<Reading>)| {
            let limit = machine.limit(channel, LimitPurpose::Done)?;
            let judged = |read: Estimate<Vibration>| read.judged(limit.amplitude, confidence);
            read.as_ref().map(|read| estimate_of(read).map_or(Conformity::Undecided, judged))
        };
        let verdicts = read.iter().enumerate().map(verdict).collect();
        let has_runs = state.present_runs().next().is_some();
        let prior = prior.or_else(|| before_the_rotor_changed(machine, state));
        let estimator =
            state.estimator(machine).ok().filter(|_| has_runs).and_then(|estimator| match prior {
                Some(prior) => estimator.with_prior(prior).ok(),
                None => Some(estimator),
            });
        let fit = estimator.as_ref().map(Estimator::fit);
        let fitted = fit.as_ref().and_then(|fit| fit.as_ref().ok());
        let uncertainty = fitted.and_then(|fit| Uncertainty::of(fit).ok());
        let predicted =
            uncertainty.as_ref().and_then(|uncertainty| uncertainty.vibration_with(state.mounted()).ok());
        let mut cautions = match (&estimator, fitted) {
            (Some(estimator), Some(fit)) => {
                fit.cautions().iter().cloned().chain(checks::cautions(estimator, fit)).collect()
            }
            _ => Vec::new(),
        };
        cautions.extend(estimator.as_ref().and_then(without_gain));
        if let Some(uncertainty) = &uncertainty {
            cautions.extend(unexpected(machine, uncertainty, confidence));
        }
        let findings = state.examination(machine).ok().and_then(|examination| examination.examine().ok());
        let run = run.and_then(|run| number_of(state, run));
        Self { run, read, verdicts, estimator, fit, uncertainty, predicted, findings, cautions }
    }

    /// The run that read what is mounted now, as [`State::runs`] counts them; `None` where there is none yet.
    ///
    /// ```
    /// # use counterpoise::job::{Record, Standing};
    #[doc = example_machine!()]
    /// assert_eq!(Standing::of(&Record::new(machine), 0.95)?.run(), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub const fn run(&self) -> Option<usize> {
        self.run
    }

    /// The vibration that a channel read with what is mounted now, at its nominal speed.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn amplitude(standing: &Standing) -> Option<f64> {
    ///     standing.vibration(0).map(|vibration| vibration.amplitude())
    /// }
    /// ```
    pub fn vibration(&self, channel: usize) -> Option<Vibration> {
        self.read.get(channel)?.as_ref().map(Reading::at_nominal_speed)
    }

    /// The same with its scatter; `None` where the scatter is not known.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn at_most(standing: &Standing) -> Option<f64> {
    ///     standing.estimate(0).map(|read| read.magnitude(0.95))
    /// }
    /// ```
    pub fn estimate(&self, channel: usize) -> Option<Estimate<Vibration>> {
        self.read.get(channel)?.as_ref().and_then(estimate_of)
    }

    /// The verdict on a channel against its limit; `None` where it has none or was not read. Undecided where the scatter is not
    /// known.
    ///
    /// ```
    /// # use counterpoise::{Conformity, job::Standing};
    /// fn is_within(standing: &Standing) -> bool {
    ///     standing.verdict(0) == Some(Conformity::Within)
    /// }
    /// ```
    pub fn verdict(&self, channel: usize) -> Option<Conformity> {
        self.verdicts.get(channel).copied().flatten()
    }

    /// The present runs, ready to be fitted; `None` where there are none.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn runs(standing: &Standing) -> usize {
    ///     standing.estimator().map_or(0, |estimator| estimator.runs().len())
    /// }
    /// ```
    pub const fn estimator(&self) -> Option<&Estimator> {
        self.estimator.as_ref()
    }

    /// The coefficients; `None` where the runs do not determine them, and [`undetermined`](Self::undetermined) says why.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn is_known(standing: &Standing) -> bool {
    ///     standing.fit().is_some()
    /// }
    /// ```
    pub fn fit(&self) -> Option<&InfluenceFit> {
        self.fit.as_ref()?.as_ref().ok()
    }

    /// Why the runs do not determine the coefficients.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn why(standing: &Standing) -> String {
    ///     standing.undetermined().map_or_else(String::new, |error| error.to_string())
    /// }
    /// ```
    pub fn undetermined(&self) -> Option<&EstimateError> {
        self.fit.as_ref()?.as_ref().err()
    }

    /// The uncertainty of the coefficients; `None` where nothing is known of it.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn is_known(standing: &Standing) -> bool {
    ///     standing.uncertainty().is_some()
    /// }
    /// ```
    pub const fn uncertainty(&self) -> Option<&Uncertainty> {
        self.uncertainty.as_ref()
    }

    /// What every channel is expected to read with what is mounted now, from all runs; `None` where that is not known.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn at_most(standing: &Standing) -> Option<f64> {
    ///     standing.predicted().map(|channels| channels[0].magnitude(0.95))
    /// }
    /// ```
    pub fn predicted(&self) -> Option<&[Estimate<Vibration>]> {
        self.predicted.as_deref()
    }

    /// What a cross-examination of the runs found; `None` where it is not known how the readings scatter.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn verdict(standing: &Standing) -> Option<String> {
    ///     standing.findings().map(|findings| findings.verdict().to_string())
    /// }
    /// ```
    pub const fn findings(&self) -> Option<&Findings> {
        self.findings.as_ref()
    }

    /// What makes the runs, and a correction from them, less trusted. Runs are counted among the present ones.
    ///
    /// ```
    /// # use counterpoise::job::Standing;
    /// fn say(standing: &Standing) {
    ///     for caution in standing.cautions() {
    ///         println!("{caution}");
    ///     }
    /// }
    /// ```
    pub fn cautions(&self) -> &[Caution] {
        &self.cautions
    }
}

/// A reading at its nominal speed, with its scatter, where that is known.
pub(crate) fn estimate_of(reading: &Reading) -> Option<Estimate<Vibration>> {
    let scatter = reading.scatter_at_nominal_speed()?;
    Some(Estimate::new(reading.at_nominal_speed(), scatter.covariance(), scatter.degrees_of_freedom()))
}

/// Coefficients that lie outside what was expected of them, with all that is not known of them.
fn unexpected(machine: &Machine, uncertainty: &Uncertainty, confidence: f64) -> Vec<Caution> {
    let mut found = Vec::new();
    for channel in 0..uncertainty.channels() {
        for plane in 0..uncertainty.planes() {
            let (Some(expected), Ok(influence)) =
                (machine.expected_response(channel, plane), uncertainty.influence(channel, plane))
            else {
                continue;
            };
            let (size, unsure) = (influence.value().per_gram_millimetre(), influence.radius(confidence));
            let expected = [expected.lowest_per_gram_millimetre, expected.highest_per_gram_millimetre];
            if size + unsure < expected[0] || size - unsure > expected[1] {
                found.push(Caution::UnexpectedResponse { channel, plane, size, expected });
            }
        }
    }
    found
}

/// What the runs before the last change say of the coefficients, where only the rotor was changed since: the machine answers
/// as it did, and what is left anew is the vibration as found.
fn before_the_rotor_changed(machine: &Machine, state: &State) -> Option<Prior> {
    let mut groups = state.changes().len();
    let mut changes = state.changes().iter().rev();
    while changes.next()?.what.keeps_coefficients() {
        groups -= 1;
        let fit = state.estimator_of_group(machine, groups).ok().and_then(|estimator| estimator.fit().ok());
        if let Some(prior) = fit.as_ref().and_then(Prior::from_fit) {
            return Some(prior);
        }
    }
    None
}

fn number_of(state: &State, run: &JobRun) -> Option<usize> {
    state.runs().iter().position(|other| other.entry() == run.entry())
}

/// Whether the last corrections brought nothing. A run is taken as one after a correction where something else was mounted
/// than in the run before, at a time when the runs before determined the coefficients.
fn without_gain(estimator: &Estimator) -> Option<Caution> {
    let runs = estimator.runs();
    let planes = estimator.planes();
    let mut after = Vec::new();
    let mut states: Vec<Vec<UnbalanceVector>> = Vec::new();
    for (number, run) in runs.iter().enumerate() {
        let on: Vec<_> = (0..planes).map(|plane| run.unbalance_in(plane)).collect();
        let is_new = !states.contains(&on);
        // As many states as unknowns were there before this one.
        if number == 0 || (is_new && states.len() > planes) {
            after.push(number);
        }
        if is_new {
            states.push(on);
        }
    }
    checks::without_gain(runs, &after)
}
