//! Who says what is done next, and the loop that does it: on the machine, and in the record.

use counterpoise::checks::Explanation;
use counterpoise::job::{Fact, Record, StatedReading};

use super::Problem;
use super::draws::turned;
use super::rig::Rig;

/// What is to be done next.
#[derive(Debug, Clone)]
pub enum Step {
    /// Deeds, one after the other.
    Change(Vec<Fact>),
    /// A start, with so many readings.
    Measure {
        label: String,
        repeats: u32,
    },
    /// Look where these explanations point.
    Look(Vec<Explanation>),
    Stop(Stopped),
}

/// Why a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    WithinLimit,
    NoFurtherGain,
    /// So many runs are made; it is not worth more.
    ManyRuns,
    /// The vibration is too near to the highest that is allowed for a trial run.
    StaticBalanceFirst,
    /// Nothing that is advised can be done.
    NothingToDo,
}

impl Stopped {
    pub const fn words(self) -> &'static str {
        match self {
            Self::WithinLimit => "within the limit",
            Self::NoFurtherGain => "no further gain can be seen",
            Self::ManyRuns => "enough runs were made",
            Self::NothingToDo => "nothing that is advised can be done",
            Self::StaticBalanceFirst => "too rough for a trial run: static balancing first",
        }
    }
}

/// Says what to do next, from the record and nothing else that the machine did.
pub trait Driver {
    fn next(&mut self, record: &Record) -> Result<Step, Problem>;

    /// What came of looking: whether a mistake was found.
    fn looked(&mut self, found: bool);
}

/// What is worth telling while a job goes on.
#[derive(Debug)]
pub enum Event<'a> {
    Done(&'a Fact),
    Run { label: &'a str, readings: &'a [StatedReading], truth: &'a [f64] },
    Looked { at: &'a Explanation, found: bool },
}

/// How a job went. Vibrations are true ones, of the worst sensor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    pub stopped: Stopped,
    pub runs: usize,
    pub readings: u32,
    pub found: f64,
    pub left: f64,
    /// The highest that any run showed.
    pub highest: f64,
    pub pieces: usize,
    pub grams: f64,
    pub holes: usize,
    /// A mistake was made.
    pub mistake: Option<usize>,
    /// It was found.
    pub caught: bool,
    /// The explanation that stood first named its kind.
    pub named: bool,
    /// So many places were in order.
    pub looks_in_vain: u32,
    /// Somebody was sent to look, and nothing was wrong at any of the places.
    pub accused_wrongly: bool,
}

impl Outcome {
    /// Before anything was done.
    pub const fn before(found: f64) -> Self {
        Self {
            stopped: Stopped::ManyRuns,
            runs: 0,
            readings: 0,
            found,
            left: found,
            highest: found,
            pieces: 0,
            grams: 0.0,
            holes: 0,
            mistake: None,
            caught: false,
            named: false,
            looks_in_vain: 0,
            accused_wrongly: false,
        }
    }
}

pub fn worst(amplitudes: &[f64]) -> f64 {
    amplitudes.iter().copied().fold(0.0, f64::max)
}

/// Plays a job to its end. The record is written as people write it; only the outcome knows the truth.
pub fn play(
    rig: &mut Rig,
    record: &mut Record,
    driver: &mut dyn Driver,
    tell: &mut dyn FnMut(Event),
) -> Result<Outcome, Problem> {
    let found = worst(&rig.truth());
    let mut outcome = Outcome::before(found);
    loop {
        match driver.next(record)? {
            Step::Change(facts) => {
                for fact in facts {
                    for written in rig.carry_out(fact, record.entries().len()) {
                        tell(Event::Done(&written));
                        record.add(written)?;
                    }
                }
            }
            Step::Measure { label, repeats } => {
                let readings = rig.run(repeats, record.entries().len());
                let truth = rig.truth();
                tell(Event::Run { label: &label, readings: &readings, truth: &truth });
                record.add(Fact::run(label, &readings))?;
                outcome.runs += 1;
                outcome.readings += repeats;
                outcome.highest = outcome.highest.max(worst(&truth));
            }
            Step::Look(at) => {
                let mut found = false;
                for (number, explanation) in at.iter().enumerate() {
                    let amendments = rig.look(explanation, record);
                    found = !amendments.is_empty();
                    tell(Event::Looked { at: explanation, found });
                    for fact in &amendments {
                        tell(Event::Done(fact));
                    }
                    record.add_all(amendments)?;
                    if found {
                        outcome.caught = true;
                        outcome.named =
                            number == 0 && rig.mishap().is_some_and(|one| one.is_named_by(explanation));
                        break;
                    }
                    outcome.looks_in_vain += 1;
                }
                outcome.accused_wrongly |= !found;
                driver.looked(found);
            }
            Step::Stop(stopped) => {
                outcome.stopped = stopped;
                break;
            }
        }
    }
    outcome.mistake = rig.mishap().map(|mishap| mishap.mistake.kind());
    outcome.left = worst(&rig.truth());
    (outcome.pieces, outcome.grams) = rig.hardware_on();
    outcome.holes = rig.holes_used();
    Ok(outcome)
}

/// The largest amplitude that was read.
pub fn worst_read(readings: &[StatedReading]) -> f64 {
    readings.iter().map(|reading| reading.amplitude).fold(0.0, f64::max)
}

/// The components of a stated reading as naive polar arithmetic has them.
pub fn naive(reading: &StatedReading) -> num_complex::Complex64 {
    let length = num_complex::Complex64::new(reading.amplitude, 0.0);
    turned(length, reading.phase_degrees)
}
