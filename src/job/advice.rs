//! What can be done next in a job, and what is advised, each with its reason.

use alloc::boxed::Box;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;
use core::fmt;

use super::fact::{CheckResult, Fact};
use super::limit::LimitPurpose;
use super::machine::Machine;
use super::mounting::Mounting;
use super::names::Names;
use super::planning::{Planned, Planning};
use super::reason::Reason;
use super::record::Record;
use super::standing::Standing;
use super::state::State;
use crate::caution::Caution;
use crate::checks::{Ranked, Verdict};
use crate::conformity::Conformity;
use crate::error::JobError;
use crate::influence::Prior;
use crate::placement::PlacementAnswer;
use crate::uncertainty::{Estimate, TrialResponse};
use crate::vector::{UnbalanceVector, Vibration};

/// More readings than this are not asked of a person. Common practice, no source.
const MOST_AVERAGED: u32 = 20;

/// How advice is given.
///
/// ```
/// use counterpoise::job::AdviceOptions;
/// let options = AdviceOptions::default().confidence(0.99)?.readings_per_run(5);
/// # Ok::<(), counterpoise::JobError>(())
/// ```
#[derive(Debug, Clone)]
pub struct AdviceOptions {
    pub(super) confidence: f64,
    pub(super) readings: u32,
    pub(super) placement_steps: u64,
    pub(super) prior: Option<Prior>,
}

/// A confidence that verdicts can be given at.
pub(super) fn checked(confidence: f64) -> Result<f64, JobError> {
    if (0.5..=0.9999).contains(&confidence) {
        return Ok(confidence);
    }
    Err(JobError::BadNumber {
        what: "a confidence",
        value: confidence,
        wanted: "a number from 0.5 to 0.9999",
    })
}

impl Default for AdviceOptions {
    /// A confidence of 95 %, three readings a run, 200,000 steps for a placement, nothing known beforehand.
    fn default() -> Self {
        Self { confidence: 0.95, readings: 3, placement_steps: 200_000, prior: None }
    }
}

impl AdviceOptions {
    /// The confidence of verdicts.
    ///
    /// # Errors
    /// [`JobError::BadNumber`] unless it is from 0.5 to 0.9999.
    ///
    /// ```
    /// use counterpoise::job::AdviceOptions;
    /// assert_eq!(AdviceOptions::default().confidence(1.0).unwrap_err().code(), 1520);
    /// ```
    pub fn confidence(self, confidence: f64) -> Result<Self, JobError> {
        Ok(Self { confidence: checked(confidence)?, ..self })
    }

    /// How many readings a run should have; at least one.
    ///
    /// ```
    /// let options = counterpoise::job::AdviceOptions::default().readings_per_run(5);
    /// ```
    #[must_use]
    pub fn readings_per_run(self, readings: u32) -> Self {
        Self { readings: readings.max(1), ..self }
    }

    /// How many steps the search for a placement may take.
    ///
    /// ```
    /// let options = counterpoise::job::AdviceOptions::default().placement_steps(2_000_000);
    /// ```
    #[must_use]
    pub fn placement_steps(self, steps: u64) -> Self {
        Self { placement_steps: steps, ..self }
    }

    /// What is known of machines of the kind: with it a correction can be advised without a trial run. See
    /// [`pooled_prior`](super::pooled_prior).
    ///
    /// ```
    /// # fn with(prior: counterpoise::Prior) -> counterpoise::job::AdviceOptions {
    /// counterpoise::job::AdviceOptions::default().prior(prior)
    /// # }
    /// ```
    #[must_use]
    pub fn prior(self, prior: Prior) -> Self {
        Self { prior: Some(prior), ..self }
    }
}

/// Something that can be done next.
///
/// ```
/// use counterpoise::job::Action;
/// assert_eq!(Action::Measure.code(), 3);
/// assert_eq!(Action::Measure.to_string(), "run with what is mounted now, and read every channel");
/// ```
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Action {
    /// Check something, or put it in order.
    Check {
        /// What.
        what: String,
    },
    /// Balance the rotor statically first.
    BalanceStatically,
    /// Run with what is mounted now.
    Measure,
    /// Read more of the run with what is mounted now.
    ReadAgain {
        /// How many readings more of every channel.
        readings: u32,
    },
    /// The runs show a mistake: look for it, and amend the record.
    LookForMistake,
    /// Mount a trial weight.
    AddTrial {
        /// The plane that is to be learnt, counted from 0.
        plane: usize,
        /// The weights; `None` where no size can be designed, and the caller chooses.
        mounting: Option<Mounting>,
    },
    /// Learn more of a plane before trusting the coefficients: a clearer trial, or more readings of it.
    LearnMore {
        /// The plane, counted from 0.
        plane: usize,
        /// The weights; `None` where no size can be designed, and the caller chooses.
        mounting: Option<Mounting>,
    },
    /// Mount a correction.
    Mount {
        /// The weights.
        mounting: Mounting,
        /// What every channel is expected to read then.
        predicted: Vec<Estimate<Vibration>>,
        /// The placement with its proof; `None` where no plane has holes.
        placement: Option<Box<PlacementAnswer>>,
    },
    /// Move weights from where they cannot stay to where they can.
    MoveToPermanent {
        /// The weights.
        mounting: Mounting,
        /// What every channel is expected to read then.
        predicted: Vec<Estimate<Vibration>>,
        /// The placement with its proof.
        placement: Option<Box<PlacementAnswer>>,
    },
    /// Run to verify what was mounted.
    Verify {
        /// What every channel is expected to read.
        predicted: Vec<Estimate<Vibration>>,
    },
    /// Stop: every channel is within its limit.
    StopWithinLimit,
    /// Stop: weights do not bring the vibration further down.
    StopNoGain,
}

impl Action {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::job::Action::StopNoGain.code(), 12);
    /// ```
    pub const fn code(&self) -> i32 {
        match self {
            Self::Check { .. } => 1,
            Self::BalanceStatically => 2,
            Self::Measure => 3,
            Self::ReadAgain { .. } => 4,
            Self::LookForMistake => 5,
            Self::AddTrial { .. } => 6,
            Self::LearnMore { .. } => 7,
            Self::Mount { .. } => 8,
            Self::MoveToPermanent { .. } => 9,
            Self::Verify { .. } => 10,
            Self::StopWithinLimit => 11,
            Self::StopNoGain => 12,
        }
    }

    /// Whether the job ends with it.
    ///
    /// ```
    /// use counterpoise::job::Action;
    /// assert!(Action::StopWithinLimit.is_stop() && !Action::Measure.is_stop());
    /// ```
    pub const fn is_stop(&self) -> bool {
        matches!(self, Self::StopWithinLimit | Self::StopNoGain)
    }

    /// The weights to mount; `None` for an action without.
    ///
    /// ```
    /// assert!(counterpoise::job::Action::Measure.mounting().is_none());
    /// ```
    pub const fn mounting(&self) -> Option<&Mounting> {
        match self {
            Self::AddTrial { mounting, .. } | Self::LearnMore { mounting, .. } => mounting.as_ref(),
            Self::Mount { mounting, .. } | Self::MoveToPermanent { mounting, .. } => Some(mounting),
            _ => None,
        }
    }

    /// The facts to add to the record when it was done as it stands here: those of its weights. `None` where the person says
    /// what was done.
    ///
    /// ```
    /// assert!(counterpoise::job::Action::Measure.facts().is_none());
    /// ```
    pub fn facts(&self) -> Option<Vec<Fact>> {
        self.mounting().and_then(Mounting::facts)
    }
}

impl Action {
    /// What to do, for a person, with the machine's names. The weights are told by [`Mounting::words`].
    ///
    /// ```
    /// use counterpoise::job::Action;
    #[doc = example_machine!()]
    /// let learn = Action::LearnMore { plane: 0, mounting: None };
    /// assert!(learn.words(&machine).starts_with("learn more of plane \u{201c}bulkhead\u{201d}"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn words(&self, machine: &Machine) -> String {
        let mut words = String::new();
        // Writing into a string does not fail.
        let _ = self.tell(&mut words, &Names(Some(machine)));
        words
    }

    fn tell(&self, f: &mut dyn fmt::Write, names: &Names<'_>) -> fmt::Result {
        match self {
            Self::Check { what } => write!(f, "check {what}"),
            Self::BalanceStatically => f.write_str("balance the rotor statically first"),
            Self::Measure => f.write_str("run with what is mounted now, and read every channel"),
            Self::ReadAgain { readings } => {
                write!(f, "read every channel {readings} times more with what is mounted now")
            }
            Self::LookForMistake => f.write_str("look for a mistake in the runs, and amend the record"),
            Self::AddTrial { plane, mounting: Some(_) } => {
                write!(f, "mount a trial weight in {}", names.plane(*plane))
            }
            Self::AddTrial { plane, mounting: None } => {
                write!(f, "mount a trial weight in {}; its size is yours to choose", names.plane(*plane))
            }
            Self::LearnMore { plane, .. } => write!(
                f,
                "learn more of {} before trusting the coefficients: a clearer trial weight, or more readings",
                names.plane(*plane)
            ),
            Self::Mount { .. } => f.write_str("mount the correction"),
            Self::MoveToPermanent { .. } => f.write_str("move the weights to where they can stay"),
            Self::Verify { .. } => f.write_str("run to verify, and read every channel"),
            Self::StopWithinLimit => f.write_str("stop: every channel is within its limit"),
            Self::StopNoGain => f.write_str("stop: weights do not bring the vibration further down"),
        }
    }
}

impl fmt::Display for Action {
    /// What to do, for a person. Planes are numbered; [`words`](Self::words) names them.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.tell(f, &Names(None))
    }
}

/// One thing that can be done next, and why.
///
/// ```
/// # use counterpoise::job::{Advice, AdviceOptions, Reason, Record};
#[doc = example_machine!()]
/// let advice = Advice::of(&Record::new(machine), &AdviceOptions::default());
/// assert_eq!(advice.first().reasons(), [Reason::NothingRead]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Step {
    action: Action,
    reasons: Vec<Reason>,
}

impl Step {
    const fn new(action: Action, reasons: Vec<Reason>) -> Self {
        Self { action, reasons }
    }

    /// What to do.
    ///
    /// ```
    /// # fn show(step: &counterpoise::job::Step) {
    /// println!("{}", step.action());
    /// # }
    /// ```
    pub const fn action(&self) -> &Action {
        &self.action
    }

    /// Why, with the figures.
    ///
    /// ```
    /// # fn show(step: &counterpoise::job::Step) {
    /// for reason in step.reasons() {
    ///     println!("  because {reason}");
    /// }
    /// # }
    /// ```
    pub fn reasons(&self) -> &[Reason] {
        &self.reasons
    }
}

/// What can be done next, the advised first. It decides nothing: any fact can be added to the record.
///
/// A person's safety is not in the figures: follow the makers' approved data and the rules that hold where the machine is, and
/// leave to licensed personnel what is theirs.
///
/// ```
/// use counterpoise::job::{Action, Advice, AdviceOptions, Fact, Pieces, Record, StatedReading};
#[doc = example_machine!()]
/// let machine = machine.with_checks(&["blade track"]);
/// let mut record = Record::new(machine);
/// let options = AdviceOptions::default();
/// let advice = Advice::of(&record, &options);
/// assert_eq!(advice.first().action().to_string(), "check blade track");
/// // Embedders may go another way.
/// let read = |amplitude, phase| StatedReading::new(0, amplitude, phase, 2350.0);
/// record.add(Fact::run("as found", &[read(0.45, 48.0), read(0.452, 48.3), read(0.449, 47.9)]))?;
/// record.add(Fact::PutOn { ring: 0, hole: 6, pieces: vec![Pieces { item: 0, count: 2 }] })?;
/// record.add(Fact::run("trial", &[read(0.61, 75.0), read(0.612, 75.2), read(0.609, 74.8)]))?;
/// let advice = Advice::of(&record, &options);
/// assert!(advice.steps().iter().any(|step| matches!(step.action(), Action::Mount { .. })));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Advice {
    first: Step,
    others: Vec<Step>,
    standing: Standing,
}

impl Advice {
    /// What can be done next in a job.
    ///
    /// ```
    /// # use counterpoise::job::{Action, Advice, AdviceOptions, Record};
    #[doc = example_machine!()]
    /// let advice = Advice::of(&Record::new(machine), &AdviceOptions::default());
    /// assert!(matches!(advice.first().action(), Action::Measure));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of(record: &Record, options: &AdviceOptions) -> Self {
        let (machine, state) = (record.machine(), record.state());
        let standing = Standing::of_state(machine, state, options.confidence, options.prior.clone());
        let mut steps = Advising {
            planning: Planning { machine, state, standing: &standing, options },
            steps: Vec::new(),
        };
        steps.all();
        let mut steps = steps.steps.into_iter();
        let first = steps.next().unwrap_or(Step::new(Action::Measure, vec![Reason::NothingRead]));
        Self { first, others: steps.collect(), standing }
    }

    /// What is advised.
    ///
    /// ```
    /// # fn show(advice: &counterpoise::job::Advice) {
    /// println!("{}", advice.first().action());
    /// # }
    /// ```
    pub const fn first(&self) -> &Step {
        &self.first
    }

    /// Everything that can be done, the advised first.
    ///
    /// ```
    /// # fn show(advice: &counterpoise::job::Advice) {
    /// for step in advice.steps() {
    ///     println!("{}", step.action());
    /// }
    /// # }
    /// ```
    pub fn steps(&self) -> Vec<&Step> {
        core::iter::once(&self.first).chain(&self.others).collect()
    }

    /// How the job stands, which the advice follows from.
    ///
    /// ```
    /// # fn show(advice: &counterpoise::job::Advice) -> usize {
    /// advice.standing().cautions().len()
    /// # }
    /// ```
    pub const fn standing(&self) -> &Standing {
        &self.standing
    }
}

/// Goes through what can be done, in the order in which it is advised.
struct Advising<'a> {
    planning: Planning<'a>,
    steps: Vec<Step>,
}

impl Advising<'_> {
    fn machine(&self) -> &Machine {
        self.planning.machine
    }

    fn state(&self) -> &State {
        self.planning.state
    }

    fn standing(&self) -> &Standing {
        self.planning.standing
    }

    fn channels(&self) -> core::ops::Range<usize> {
        0..self.machine().channels().len()
    }

    fn say(&mut self, action: Action, reasons: Vec<Reason>) {
        self.steps.push(Step::new(action, reasons));
    }

    fn all(&mut self) {
        self.checks();
        self.mistake();
        if self.standing().run().is_none() {
            self.run();
            return;
        }
        self.static_first();
        let missing: Vec<Reason> = self
            .channels()
            .filter(|&channel| self.standing().vibration(channel).is_none())
            .map(|channel| Reason::NotRead { channel })
            .collect();
        if !missing.is_empty() {
            self.say(Action::Measure, missing);
        }
        self.read_again();
        if self.is_within() {
            self.within();
            return;
        }
        self.towards();
    }

    /// What was to be checked before the first run, and is not in order.
    fn checks(&mut self) {
        let mut steps = Vec::new();
        for what in self.machine().checks() {
            let made = self.state().checks().iter().rev().find(|made| made.what == *what);
            let reason = match made.map(|made| (made.result, &made.remark)) {
                Some((CheckResult::InOrder, _)) => continue,
                Some((CheckResult::NotInOrder, remark)) => {
                    Reason::NotInOrder { what: what.clone(), remark: remark.clone() }
                }
                _ => Reason::NotChecked { what: what.clone() },
            };
            steps.push(Step::new(Action::Check { what: what.clone() }, vec![reason]));
        }
        self.steps.extend(steps);
    }

    /// What the runs accuse.
    fn mistake(&mut self) {
        let Some(findings) = self.standing().findings() else { return };
        let verdict = findings.verdict();
        let alike = matches!(verdict, Verdict::SeveralStand);
        if matches!(verdict, Verdict::Untested | Verdict::NothingToAccuse) {
            return;
        }
        let told = |ranked: &Ranked| {
            let explanation = ranked.explanation;
            format!("{explanation}: {}", explanation.what_to_look_at())
        };
        let listed = findings.undistinguished().iter().filter(|_| alike);
        let explanations = listed.map(told).collect();
        let next_run = findings.next_run().filter(|_| alike).map(|next| next.to_string());
        let verdict = verdict.to_string();
        self.say(Action::LookForMistake, vec![Reason::Mistake { verdict, explanations, next_run }]);
    }

    fn run(&mut self) {
        let predicted = self.standing().predicted().map(<[_]>::to_vec);
        let first = self.state().present_runs().next().is_none();
        let reason = if first { Reason::NothingRead } else { Reason::MountedSince };
        match predicted {
            Some(predicted) if !first => self.say(Action::Verify { predicted }, vec![reason]),
            _ => self.say(Action::Measure, vec![reason]),
        }
    }

    /// Before anything is mounted, a vibration so large that the rotor is balanced statically.
    fn static_first(&mut self) {
        if self.state().mounted().iter().any(|&on| on != UnbalanceVector::ZERO) {
            return;
        }
        let above = |channel: usize| {
            let limit = self.machine().limit(channel, LimitPurpose::StaticFirst)?;
            let amplitude = self.standing().vibration(channel)?.amplitude();
            let (limit, source) = (limit.amplitude, limit.source.clone());
            (amplitude > limit).then_some(Reason::AboveStaticLimit { channel, amplitude, limit, source })
        };
        let reasons: Vec<Reason> = self.channels().filter_map(above).collect();
        if !reasons.is_empty() {
            self.say(Action::BalanceStatically, reasons);
        }
    }

    /// Readings of which is not known how they scatter, or that leave a verdict open.
    fn read_again(&mut self) {
        let mut reasons = Vec::new();
        for channel in self.channels() {
            let Some(vibration) = self.standing().vibration(channel) else { continue };
            let Some(estimate) = self.standing().estimate(channel) else {
                reasons.push(Reason::ScatterUnknown { channel });
                continue;
            };
            if let (Some(Conformity::Undecided), Some(limit)) =
                (self.standing().verdict(channel), self.machine().limit(channel, LimitPurpose::Done))
            {
                let (amplitude, limit) = (vibration.amplitude(), limit.amplitude);
                let uncertainty = estimate.radius(self.planning.options.confidence);
                reasons.push(Reason::Undecided { channel, amplitude, uncertainty, limit });
            }
        }
        if !reasons.is_empty() {
            let readings = self.planning.options.readings;
            self.say(Action::ReadAgain { readings }, reasons);
        }
    }

    /// Whether every channel has a limit and reads below it, with its scatter where that is known.
    fn is_within(&self) -> bool {
        let within = |channel: usize| {
            let limit = self.machine().limit(channel, LimitPurpose::Done);
            match (limit, self.standing().vibration(channel), self.standing().estimate(channel)) {
                (Some(_), Some(_), Some(_)) => self.standing().verdict(channel) == Some(Conformity::Within),
                (Some(limit), Some(vibration), None) => vibration.amplitude() <= limit.amplitude,
                _ => false,
            }
        };
        self.channels().all(within)
    }

    fn within(&mut self) {
        let mut reasons = self.limits_met();
        if self.planning.has_temporary() {
            reasons.insert(0, Reason::Temporary);
            if self.planning.can_move() {
                let reasons = reasons.clone();
                match self.planning.moved() {
                    Ok(planned) => {
                        let Planned { mounting, predicted, answer, .. } = planned;
                        let placement = answer.map(Box::new);
                        self.say(Action::MoveToPermanent { mounting, predicted, placement }, reasons);
                    }
                    Err(reason) => self.learn(vec![reason, Reason::Temporary]),
                }
            }
        }
        self.say(Action::StopWithinLimit, reasons);
    }

    fn limits_met(&self) -> Vec<Reason> {
        let met = |channel: usize| {
            let limit = self.machine().limit(channel, LimitPurpose::Done)?;
            let amplitude = self.standing().vibration(channel)?.amplitude();
            let estimate = self.standing().estimate(channel);
            let uncertainty =
                estimate.map_or(f64::NAN, |estimate| estimate.radius(self.planning.options.confidence));
            let (limit, source) = (limit.amplitude, limit.source.clone());
            Some(Reason::WithinLimit { channel, amplitude, uncertainty, limit, source })
        };
        self.channels().filter_map(met).collect()
    }

    /// Above a limit, or none is stated: learn, correct, or stop.
    fn towards(&mut self) {
        let above = self.limits_missed();
        if self.standing().fit().is_none() {
            let plane = self.plane_to_try();
            let (mounting, design) = self.planning.trial(plane);
            self.instead_of_a_trial(&design);
            let mut reasons = vec![Reason::PlaneNotTried { plane }, design];
            reasons.extend(above);
            self.say(Action::AddTrial { plane, mounting }, reasons);
            return;
        }
        let gave_up = self.standing().cautions().iter().find(|caution| {
            matches!(caution, Caution::NothingToResolve { .. } | Caution::WithoutGain { .. })
        });
        if let Some(caution) = gave_up.cloned() {
            self.say(Action::StopNoGain, vec![Reason::Caution(caution)]);
        }
        match self.planning.correction() {
            Err(reason @ Reason::AboveMassLimit { .. }) => self.say(Action::BalanceStatically, vec![reason]),
            Err(reason) => self.learn(vec![reason]),
            Ok(planned) => self.weigh(planned, above),
        }
    }

    fn weigh(&mut self, planned: Planned, above: Vec<Reason>) {
        let (now, best, expected, of_limits) =
            (planned.now, planned.best, planned.expected, planned.of_limits);
        if planned.mounting.is_nothing() || best >= now {
            self.say(Action::StopNoGain, vec![Reason::NoGain { now, best, of_limits }]);
            return;
        }
        if expected >= now {
            self.learn(vec![Reason::Unsure { now, expected, of_limits }]);
            return;
        }
        let mut reasons = vec![Reason::Gain { now, expected, of_limits }];
        reasons.extend(above);
        let beyond = |caution: &&Caution| {
            matches!(
                caution,
                Caution::BeyondTrials { .. }
                    | Caution::AgainstMounted { .. }
                    | Caution::WeakTrial { .. }
                    | Caution::UnexpectedResponse { .. }
            )
        };
        reasons.extend(self.standing().cautions().iter().filter(beyond).cloned().map(Reason::Caution));
        let Planned { mounting, predicted, answer, .. } = planned;
        let placement = answer.map(Box::new);
        self.say(Action::Mount { mounting, predicted, placement }, reasons);
        let weak = self.least_detected();
        if let Some((channel, plane, distance_squared)) = weak {
            if distance_squared < TrialResponse::CLEAR_FROM {
                self.learn(vec![Reason::NotDetected { channel, plane, distance_squared }]);
            }
        }
    }

    /// Another trial in the plane that is known least.
    fn learn(&mut self, mut reasons: Vec<Reason>) {
        let (channel, plane, distance_squared) = self.least_detected().unwrap_or((0, 0, f64::NAN));
        if distance_squared < TrialResponse::CLEAR_FROM
            && !reasons.iter().any(|reason| matches!(reason, Reason::NotDetected { .. }))
        {
            reasons.push(Reason::NotDetected { channel, plane, distance_squared });
        }
        let (mounting, design) = self.planning.trial(plane);
        self.instead_of_a_trial(&design);
        reasons.push(design);
        self.say(Action::LearnMore { plane, mounting }, reasons);
    }

    /// Where no trial weight can be: better readings where they make one possible, else less vibration first.
    fn instead_of_a_trial(&mut self, design: &Reason) {
        // Readings of one run share its drift, which averaging does not lessen.
        let drifts = self.channels().any(|channel| self.machine().drift(channel).is_some());
        match design {
            Reason::NoTrialWeight { averaged, .. } if !drifts && (2..=MOST_AVERAGED).contains(averaged) => {
                self.say(Action::ReadAgain { readings: *averaged }, vec![design.clone()]);
            }
            Reason::NoTrialWeight { .. } | Reason::AboveHighest { .. } | Reason::AboveMassLimit { .. } => {
                self.say(Action::BalanceStatically, vec![design.clone()]);
            }
            _ => {}
        }
    }

    /// The plane whose best answer of any channel is the weakest, with that channel.
    fn least_detected(&self) -> Option<(usize, usize, f64)> {
        let uncertainty = self.standing().uncertainty()?;
        let of_plane = |plane: usize| {
            let of_channel = |channel: usize| {
                let response = uncertainty.trial_response(channel, plane).ok()?;
                Some((channel, plane, response.distance_squared()))
            };
            self.channels().filter_map(of_channel).max_by(|one, other| one.2.total_cmp(&other.2))
        };
        (0..self.machine().planes().len()).filter_map(of_plane).min_by(|one, other| one.2.total_cmp(&other.2))
    }

    fn plane_to_try(&self) -> usize {
        let tried = |plane: usize| {
            let runs = self.state().present_runs();
            let mut on = runs.map(|run| run.mounted().get(plane).copied().unwrap_or_default());
            let first = on.next();
            on.any(|other| Some(other) != first)
        };
        (0..self.machine().planes().len()).find(|&plane| !tried(plane)).unwrap_or(0)
    }

    fn limits_missed(&self) -> Vec<Reason> {
        let missed = |channel: usize| {
            let amplitude = self.standing().vibration(channel)?.amplitude();
            let Some(limit) = self.machine().limit(channel, LimitPurpose::Done) else {
                return Some(Reason::NoLimit { channel });
            };
            let is_missed = self.standing().verdict(channel) == Some(Conformity::Outside)
                || (self.standing().estimate(channel).is_none() && amplitude > limit.amplitude);
            let (limit, source) = (limit.amplitude, limit.source.clone());
            is_missed.then_some(Reason::AboveLimit { channel, amplitude, limit, source })
        };
        self.channels().filter_map(missed).collect()
    }
}
