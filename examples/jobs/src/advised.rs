//! A job driven by the library's advice: a person who does what is advised first, as far as it can be done.

use std::collections::BTreeSet;

use counterpoise::checks::{Explanation, Findings, Verdict, WhatToLookAt};
use counterpoise::job::{Action, Advice, AdviceOptions, Record};

use super::Problem;
use super::driver::{Driver, Step, Stopped};

/// Readings a start.
const REPEATS: u32 = 3;
/// So often one state is read again, and no more: whoever cannot decide then goes on.
const MOST_AGAIN: u32 = 1;
/// Runs beside one as found and one trial run a plane.
const MOST_MORE: usize = 7;
/// Steps that the search for a placement may take. In two planes most are not proven; ten times as many change the share of
/// jobs within the limit by nothing.
const STEPS: u64 = 20_000;

/// Advice, for one job.
#[derive(Debug, Default)]
pub struct Advised {
    looked_at: BTreeSet<String>,
    read_again: u32,
    /// What was advised last, and why, in words.
    pub action: String,
    pub reasons: Vec<String>,
}

impl Driver for Advised {
    fn next(&mut self, record: &Record) -> Result<Step, Problem> {
        let advice = Advice::of(record, &AdviceOptions::default().placement_steps(STEPS));
        let runs = record.state().runs().len();
        let most = 1 + record.machine().planes().len() + MOST_MORE;
        for step in advice.steps() {
            self.action = step.action().words(record.machine());
            self.reasons = step.reasons().iter().map(|reason| reason.words(record.machine())).collect();
            let done = match step.action() {
                Action::BalanceStatically => Step::Stop(Stopped::StaticBalanceFirst),
                Action::StopWithinLimit => Step::Stop(Stopped::WithinLimit),
                Action::StopNoGain => Step::Stop(Stopped::NoFurtherGain),
                Action::LookForMistake => {
                    let at = advice.standing().findings().map(|findings| self.unseen(findings));
                    match at {
                        Some(at) if !at.is_empty() => Step::Look(at),
                        _ => continue,
                    }
                }
                Action::Measure | Action::Verify { .. } if runs < most => {
                    self.read_again = 0;
                    let label = if runs == 0 { "as found" } else { "as mounted" };
                    Step::Measure { label: label.into(), repeats: REPEATS }
                }
                Action::ReadAgain { readings } if self.read_again < MOST_AGAIN && runs < most => {
                    self.read_again += 1;
                    Step::Measure { label: "again".into(), repeats: *readings }
                }
                Action::Mount { .. } | Action::MoveToPermanent { .. } if runs >= most => continue,
                action => match action.facts() {
                    Some(facts) if !facts.is_empty() && runs < most => Step::Change(facts),
                    _ => continue,
                },
            };
            return Ok(done);
        }
        let stopped = if runs < most { Stopped::NothingToDo } else { Stopped::ManyRuns };
        (self.action, self.reasons) = (stopped.words().into(), Vec::new());
        Ok(Step::Stop(stopped))
    }

    fn looked(&mut self, _found: bool) {}
}

impl Advised {
    pub fn new() -> Self {
        Self::default()
    }

    /// What the findings accuse and nobody has looked at yet.
    fn unseen(&mut self, findings: &Findings) -> Vec<Explanation> {
        unseen(findings, &mut self.looked_at)
    }
}

/// What findings accuse; nobody looks at the same thing twice.
pub fn unseen(findings: &Findings, looked_at: &mut BTreeSet<String>) -> Vec<Explanation> {
    let listed: Vec<Explanation> = match findings.verdict() {
        Verdict::OneStands(explanation) => vec![explanation],
        Verdict::SeveralStand => findings.undistinguished().iter().map(|ranked| ranked.explanation).collect(),
        _ => Vec::new(),
    };
    listed
        .into_iter()
        .filter(|explanation| {
            let what = explanation.what_to_look_at();
            what != WhatToLookAt::Nothing && looked_at.insert(format!("{what:?}"))
        })
        .collect()
}
