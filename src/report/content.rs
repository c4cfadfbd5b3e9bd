//! What the sections of a report say.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec;
use alloc::vec::Vec;

use super::document::{Block, Document, Section};
use super::figures::{Drawn, DrawnHole, Figure, Polar, Ring, Tip};
use super::log;
use crate::angle::{PhaseSense, RotorSense};
use crate::channel::{Channel, Reading};
use crate::conformity::Conformity;
use crate::influence::ChannelFit;
use crate::job::{
    Action, Advice, CheckResult, JobRun, LimitPurpose, Machine, Reason, Record, RingPurpose, Standing, State,
    estimate_of,
};
use crate::placement::{HoleRing, PlacementAnswer};
use crate::uncertainty::{Estimate, Uncertainty};
use crate::vector::{UnbalanceVector, Vibration};

/// What every section is made from.
pub(super) struct Facts<'a> {
    pub record: &'a Record,
    pub machine: &'a Machine,
    pub state: &'a State,
    pub standing: &'a Standing,
    pub confidence: f64,
    /// The mean of what every run read of every channel.
    pub means: Vec<Vec<Option<Reading>>>,
    /// Digits after the point of the amplitudes of every channel.
    pub digits: Vec<usize>,
}

/// The whole report.
pub(super) fn document(facts: &Facts<'_>, advice: &Advice) -> Document {
    let sections = [
        outcome(facts, advice),
        description(facts),
        checks(facts),
        runs(facts),
        rotor(facts),
        coefficients(facts),
        next(facts, advice),
        cautions(facts),
        log::section(facts),
        what_it_is_not(),
    ];
    let title = format!("Balancing of {}", facts.machine.name());
    Document { title, sections: sections.into_iter().filter(|section| !section.blocks.is_empty()).collect() }
}

/// Three digits of the largest reading.
fn digits(state: &State, channel: usize) -> usize {
    let readings = state.runs().iter().flat_map(JobRun::readings).filter(|read| read.channel == channel);
    let mut largest = readings.map(|read| read.reading.vibration().amplitude()).fold(0.0, f64::max);
    let mut digits = 3;
    while largest >= 1.0 && digits > 0 {
        largest /= 10.0;
        digits -= 1;
    }
    while largest > 0.0 && largest < 0.1 && digits < 9 {
        largest *= 10.0;
        digits += 1;
    }
    digits
}

impl<'a> Facts<'a> {
    pub(super) fn of(record: &'a Record, advice: &'a Advice, confidence: f64) -> Self {
        let (machine, state) = (record.machine(), record.state());
        let digits = (0..machine.channels().len()).map(|channel| digits(state, channel)).collect();
        let means = state.means_by_channel(machine);
        Self { record, machine, state, standing: advice.standing(), confidence, means, digits }
    }

    fn amplitude(&self, channel: usize, amplitude: f64) -> String {
        format!("{amplitude:.*}", self.digits.get(channel).copied().unwrap_or(3))
    }

    /// A vibration as its channel counts it.
    pub(super) fn polar_words(&self, channel: usize, vibration: Vibration) -> String {
        let phase = self.phase_degrees(channel, vibration);
        format!("{} at {phase:.0} deg", self.amplitude(channel, vibration.amplitude()))
    }

    fn phase_degrees(&self, channel: usize, vibration: Vibration) -> f64 {
        let sense = self.machine.channels().get(channel).map_or(PhaseSense::Lag, Channel::phase_sense);
        vibration.phase(sense).degrees()
    }

    fn percent(&self) -> String {
        format!("{:.4}", 100.0 * self.confidence).trim_end_matches('0').trim_end_matches('.').into()
    }

    fn channels(&self) -> core::ops::Range<usize> {
        0..self.machine.channels().len()
    }
}

/// The first thing that a person wants to know.
fn outcome(facts: &Facts<'_>, advice: &Advice) -> Section {
    let mut section = Section::new("Outcome");
    let mut rows = Vec::new();
    for channel in facts.channels() {
        let Some(now) = facts.standing.vibration(channel) else { continue };
        let first = (0..facts.means.len()).find_map(|run| read(facts, run, channel));
        let unsure = facts.standing.estimate(channel).map(|read| read.radius(facts.confidence));
        let limit = facts.machine.limit(channel, LimitPurpose::Done);
        let verdict = match (facts.standing.verdict(channel), limit) {
            (_, None) => "no limit was stated",
            (Some(Conformity::Within), _) => "within",
            (Some(Conformity::Outside), _) => "outside",
            _ => "undecided",
        };
        rows.push(vec![
            facts.machine.channel_words(channel),
            first.map_or_else(String::new, |first| facts.amplitude(channel, first.value.amplitude())),
            facts.amplitude(channel, now.amplitude()),
            unsure.filter(|unsure| unsure.is_finite()).map_or_else(
                || String::from("not known"),
                |unsure| format!("+/- {}", facts.amplitude(channel, unsure)),
            ),
            limit.map_or_else(String::new, |limit| facts.amplitude(channel, limit.amplitude)),
            String::from(verdict),
            facts
                .machine
                .channels()
                .get(channel)
                .map_or_else(String::new, |channel| channel.unit().to_string()),
        ]);
    }
    if rows.is_empty() {
        section.line("Nothing was read yet with what is mounted now.");
    }
    section.table(&["channel", "as found", "now", "unsure by", "limit", "verdict", "unit"], rows);
    if facts.channels().any(|channel| facts.standing.verdict(channel).is_some()) {
        section.line(format!(
            "A limit is called met, or exceeded, only where the scatter of the readings leaves no doubt at {} % confidence.",
            facts.percent()
        ));
    }
    section.line(format!("Next: {}.", advice.first().action().words(facts.machine)));
    section
}

fn description(facts: &Facts<'_>) -> Section {
    let mut section = Section::new("The machine and how it is counted");
    let machine = facts.machine;
    if !machine.kind().is_empty() {
        section.line(format!("Kind: {}", machine.kind()));
    }
    section.list(
        machine
            .parts()
            .iter()
            .map(|part| format!("{}, serial number {}", part.name(), part.serial()))
            .collect(),
    );
    if machine.crank_turns_per_turn() != 1.0 {
        section.line(format!(
            "Gear: {} turns of the crank make one of the rotor.",
            machine.crank_turns_per_turn()
        ));
    }
    section.line(match machine.convention().rotor {
        RotorSense::WithRotation => {
            "Places are counted in degrees from the mark, with rotation; holes from 1, as listed."
        }
        RotorSense::AgainstRotation => {
            "Places are counted in degrees from the mark, against rotation; holes from 1, as listed."
        }
    });
    let channel = |(number, channel): (usize, &Channel)| {
        vec![
            number.to_string(),
            channel.sensor().to_string(),
            format!("{:.0} rpm", channel.window().nominal().rpm()),
            channel.unit().to_string(),
            String::from(phase_words(channel.phase_sense())),
        ]
    };
    section.table(
        &["channel", "sensor", "speed", "unit and detector", "phase"],
        machine.channels().iter().enumerate().map(channel).collect(),
    );
    let ring = |(number, ring): (usize, &HoleRing)| {
        let named = machine.ring_use(number);
        let name = named.map(|named| named.name.clone()).filter(|name| !name.is_empty());
        let stays = named.map_or(RingPurpose::Permanent, |named| named.purpose);
        vec![
            name.unwrap_or_else(|| format!("ring {number}")),
            machine.plane_words(ring.plane()),
            ring.holes().len().to_string(),
            ring.holes()
                .first()
                .map_or_else(String::new, |hole| format!("{:.0} mm", hole.radius().millimetres())),
            String::from(if stays == RingPurpose::Temporary { "for the job only" } else { "may stay" }),
        ]
    };
    section.table(
        &["ring", "plane", "holes", "radius", "weights there"],
        machine.rings().iter().enumerate().map(ring).collect(),
    );
    section.list(limits(machine));
    let drift = |channel: usize| {
        let drift = machine.drift(channel)?;
        let same = machine.amplitude_words(channel, drift.standard_deviation);
        let share = 100.0 * drift.share;
        Some(format!(
            "{} drifts from run to run by {same} and {share:.1} % of what is read (standard deviations); {}",
            machine.channel_words(channel),
            drift.source
        ))
    };
    section.list(facts.channels().filter_map(drift).collect());
    section
}

fn limits(machine: &Machine) -> Vec<String> {
    let purpose = |purpose| match purpose {
        LimitPurpose::Done => "done within",
        LimitPurpose::Highest => "never above",
        LimitPurpose::StaticFirst => "static balancing first above",
    };
    let mut lines: Vec<String> = machine
        .limits()
        .iter()
        .map(|limit| {
            format!(
                "{}: {} {}; {}",
                machine.channel_words(limit.channel),
                purpose(limit.purpose),
                machine.amplitude_words(limit.channel, limit.amplitude),
                limit.source
            )
        })
        .collect();
    if let Some(limit) = machine.mass_limit() {
        lines.push(format!("balance weights in all: at most {:.1} g; {}", limit.mass.grams(), limit.source));
    }
    lines
}

const fn phase_words(sense: PhaseSense) -> &'static str {
    match sense {
        PhaseSense::Lag => "lag: from the mark's pulse to the next positive peak",
        PhaseSense::Lead => "lead: argument of the vibration",
    }
}

fn checks(facts: &Facts<'_>) -> Section {
    let mut section = Section::new("Checks");
    let words = |result| match result {
        CheckResult::InOrder => "in order",
        CheckResult::NotInOrder => "not in order",
        CheckResult::NotDone => "not done",
    };
    let mut rows: Vec<Vec<String>> = Vec::new();
    for made in facts.state.checks() {
        let when = facts.record.entries().get(made.entry).map_or("", crate::job::Entry::when);
        let row = vec![made.what.clone(), words(made.result).into(), made.remark.clone(), when.into()];
        rows.push(row);
    }
    let open = facts
        .machine
        .checks()
        .iter()
        .filter(|what| facts.state.checks().iter().all(|made| made.what != **what));
    rows.extend(
        open.map(|what| vec![what.clone(), String::from("not recorded"), String::new(), String::new()]),
    );
    section.table(&["check", "result", "remark", "when"], rows);
    section
}

/// A reading of a run, at the nominal speed.
struct Seen {
    value: Vibration,
    estimate: Option<Estimate<Vibration>>,
    rpm: f64,
    count: usize,
}

fn read(facts: &Facts<'_>, run: usize, channel: usize) -> Option<Seen> {
    let reading = facts.means.get(run)?.get(channel)?.as_ref()?;
    let single = facts.state.runs().get(run)?.readings().iter();
    Some(Seen {
        value: reading.at_nominal_speed(),
        estimate: estimate_of(reading),
        rpm: reading.speed().rpm(),
        count: single.filter(|read| read.channel == channel).count(),
    })
}

/// What the runs before a run let expect of it.
fn expected(facts: &Facts<'_>, run: &JobRun) -> Option<Vec<Estimate<Vibration>>> {
    let fit = facts.state.estimator_before(facts.machine, run).ok()?.fit().ok()?;
    Uncertainty::of(&fit).ok()?.vibration_with(run.mounted()).ok()
}

fn runs(facts: &Facts<'_>) -> Section {
    let mut section = Section::new("Runs");
    let mut rows = Vec::new();
    let expected: Vec<Option<Vec<Estimate<Vibration>>>> =
        facts.state.runs().iter().map(|run| expected(facts, run)).collect();
    for (number, (run, expected)) in facts.state.runs().iter().zip(&expected).enumerate() {
        for channel in facts.channels() {
            let Some(seen) = read(facts, number, channel) else { continue };
            let radius =
                seen.estimate.map(|read| read.radius(facts.confidence)).filter(|radius| radius.is_finite());
            let of_channel = expected.as_ref().and_then(|expected| expected.get(channel));
            let expected = of_channel.map_or_else(String::new, |expected| {
                let words = facts.polar_words(channel, expected.value());
                let radius = expected.radius(facts.confidence);
                if radius.is_finite() {
                    format!("{words}, +/- {}", facts.amplitude(channel, radius))
                } else {
                    words
                }
            });
            rows.push(vec![
                (number + 1).to_string(),
                run.label().into(),
                facts.machine.channel_words(channel),
                facts.polar_words(channel, seen.value),
                radius.map_or_else(String::new, |radius| format!("+/- {}", facts.amplitude(channel, radius))),
                expected,
                seen.count.to_string(),
                format!("{:.0}", seen.rpm),
                in_planes(facts, run.mounted()),
            ]);
        }
    }
    section.table(
        &[
            "run",
            "name",
            "channel",
            "read",
            "unsure by",
            "expected before",
            "readings",
            "rpm",
            "mounted more than as found",
        ],
        rows,
    );
    if expected.iter().any(Option::is_some) {
        section.line(format!(
            "Expected is what the runs before let expect, and how far it may be off at {} % confidence, without the scatter of \
             the reading itself.",
            facts.percent()
        ));
    }
    for channel in facts.channels() {
        section.blocks.extend(polar(facts, channel, &expected).map(Block::Figure));
    }
    section
}

/// What is mounted in every plane, by the planes' names where there are several.
fn in_planes(facts: &Facts<'_>, mounted: &[UnbalanceVector]) -> String {
    if let [on] = mounted {
        return mounted_words(facts, on);
    }
    let one = |(plane, on): (usize, &UnbalanceVector)| {
        format!("{}: {}", facts.machine.plane_words(plane), mounted_words(facts, on))
    };
    mounted.iter().enumerate().map(one).collect::<Vec<_>>().join("; ")
}

fn mounted_words(facts: &Facts<'_>, on: &UnbalanceVector) -> String {
    let amount = on.amount().gram_millimetres();
    if amount == 0.0 {
        return String::from("nothing");
    }
    format!("{amount:.0} g mm at {}", facts.machine.angle_words(on.angle()))
}

fn polar(facts: &Facts<'_>, channel: usize, expected: &[Option<Vec<Estimate<Vibration>>>]) -> Option<Figure> {
    let of = facts.machine.channels().get(channel)?;
    let mut vectors = Vec::new();
    let finite = |radius: f64| radius.is_finite().then_some(radius);
    for (number, expected) in expected.iter().enumerate() {
        if let Some(expected) = expected.as_ref().and_then(|expected| expected.get(channel)) {
            vectors.push(Tip {
                label: format!("{}", number + 1),
                amplitude: expected.value().amplitude(),
                degrees: facts.phase_degrees(channel, expected.value()),
                radius: finite(expected.radius(facts.confidence)),
                is_expected: true,
            });
        }
        if let Some(seen) = read(facts, number, channel) {
            vectors.push(Tip {
                label: format!("{}", number + 1),
                amplitude: seen.value.amplitude(),
                degrees: facts.phase_degrees(channel, seen.value),
                radius: seen.estimate.and_then(|read| finite(read.radius(facts.confidence))),
                is_expected: false,
            });
        }
    }
    if vectors.is_empty() {
        return None;
    }
    let limit = facts.machine.limit(channel, LimitPurpose::Done).map(|limit| limit.amplitude);
    let angles = match of.phase_sense() {
        PhaseSense::Lag => "deg lag",
        PhaseSense::Lead => "deg lead",
    };
    let caption = format!(
        "{}, {}: each reading is an arrow numbered as its run; the circle about its tip is how far it may be off at {} % \
         confidence. Dotted circles are where the runs before let expect it{}",
        facts.machine.channel_words(channel),
        of.unit(),
        facts.percent(),
        if limit.is_some() { "; the dashed circle about the centre is the limit." } else { "." }
    );
    Some(Figure {
        caption,
        drawn: Drawn::Polar(Polar { unit: of.unit().to_string(), angles, vectors, limit }),
    })
}

/// What is on the rotor now.
fn rotor(facts: &Facts<'_>) -> Section {
    let mut section = Section::new("On the rotor now");
    let machine = facts.machine;
    let mut lines = Vec::new();
    for (number, ring) in facts.state.rings().iter().enumerate() {
        for (at, hole) in ring.holes().iter().enumerate() {
            let counts: Vec<(usize, u32)> =
                hole.pieces_mounted().iter().copied().enumerate().filter(|&(_, count)| count > 0).collect();
            if !counts.is_empty() {
                lines.push(format!("{}: {}", machine.hole_words(number, at), machine.pieces_words(&counts)));
            }
        }
    }
    for on in facts.state.weights() {
        lines.push(format!(
            "{}: {:.2} g at {:.0} mm, {}",
            machine.plane_words(on.plane),
            on.weight.mass.grams(),
            on.weight.radius.millimetres(),
            machine.angle_words(on.weight.angle)
        ));
    }
    if lines.is_empty() && !facts.state.runs().is_empty() {
        lines.push(String::from("no balance weight that the record knows of"));
    }
    section.list(lines);
    for (number, ring) in facts.state.rings().iter().enumerate() {
        section.blocks.push(Block::Figure(ring_figure(facts, number, ring)));
    }
    section
}

fn ring_figure(facts: &Facts<'_>, number: usize, ring: &HoleRing) -> Figure {
    let machine = facts.machine;
    let sense = machine.convention().rotor;
    let hole = |(at, hole): (usize, &crate::placement::Hole)| {
        let pieces = hole.pieces_mounted().iter().zip(machine.hardware());
        DrawnHole {
            number: at + 1,
            degrees: hole.angle().in_sense(sense).degrees(),
            grams: pieces.map(|(&count, kind)| f64::from(count) * kind.mass().grams()).sum(),
        }
    };
    let holes = ring.holes().iter().enumerate().map(hole).collect();
    // Places run clockwise in the drawing.
    let turning = match sense {
        RotorSense::WithRotation => "the rotor turns clockwise here",
        RotorSense::AgainstRotation => "the rotor turns counter-clockwise here",
    };
    let name = machine.ring_use(number).map(|named| named.name.clone()).filter(|name| !name.is_empty());
    let caption = format!(
        "{}: the mark is up; filled holes carry weights, with their mass in g. {}: look at the rotor from the side from which \
         it does.",
        name.unwrap_or_else(|| format!("ring {number}")),
        capital(turning)
    );
    Figure { caption, drawn: Drawn::Ring(Ring { holes, turning }) }
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn coefficients(facts: &Facts<'_>) -> Section {
    let mut section = Section::new("How the machine answers");
    let (Some(fit), Some(uncertainty)) = (facts.standing.fit(), facts.standing.uncertainty()) else {
        if let Some(why) = facts.standing.undetermined() {
            section.line(format!("The coefficients are not known yet: {why}"));
        }
        return section;
    };
    let mut rows = Vec::new();
    for channel in facts.channels() {
        for plane in 0..facts.machine.planes().len() {
            let Ok(influence) = uncertainty.influence(channel, plane) else { continue };
            let response = uncertainty.trial_response(channel, plane).ok();
            // Per 1000 g mm the figures are of a size that people write.
            let (value, radius) = (influence.value(), influence.radius(facts.confidence));
            rows.push(vec![
                facts.machine.channel_words(channel),
                facts.machine.plane_words(plane),
                format!("{:.4}", 1000.0 * value.per_gram_millimetre()),
                if radius.is_finite() {
                    format!("+/- {:.4}", 1000.0 * radius)
                } else {
                    String::from("not known")
                },
                format!("{:.0} deg", value.lead().degrees()),
                response.map_or_else(String::new, |response| response.detectability().to_string()),
            ]);
        }
    }
    section.table(&["channel", "plane", "per 1000 g mm", "unsure by", "lead", "answer to the trials"], rows);
    if let Ok(correction) = uncertainty.correction(&[]) {
        if correction.is_determined() {
            let row = |(plane, total): (usize, &Estimate<UnbalanceVector>)| {
                let [major, minor] = total.region_semi_axes(facts.confidence);
                vec![
                    facts.machine.plane_words(plane),
                    mounted_words(facts, &total.value()),
                    if major.is_finite() {
                        format!("{major:.0} by {minor:.0} g mm")
                    } else {
                        String::from("not known")
                    },
                ]
            };
            section
                .line("What would have to be on, counted from the machine as found, so that least is left:");
            section.table(
                &["plane", "unbalance", "half axes of its region"],
                correction.total().iter().enumerate().map(row).collect(),
            );
        } else {
            section.line("The correction is not determined by these runs.");
        }
    }
    if let Some(free) = fit.channels().iter().find_map(ChannelFit::degrees_of_freedom) {
        section.line(format!(
            "Scatter known from {}.",
            if free.count().is_finite() {
                format!("readings with {:.0} degrees of freedom", free.count())
            } else {
                String::from("what was stated")
            }
        ));
    }
    section
}

fn next(facts: &Facts<'_>, advice: &Advice) -> Section {
    let mut section = Section::new("What can be done next");
    for (number, step) in advice.steps().into_iter().enumerate() {
        let advised = if number == 0 { "advised" } else { "possible" };
        section.line(format!("{} ({advised}).", capital(&step.action().words(facts.machine))));
        let mut reasons = Vec::new();
        for reason in step.reasons() {
            match reason {
                // One line for each: a sentence would be too long.
                Reason::Mistake { verdict, explanations, next_run } => {
                    reasons.push(verdict.clone());
                    reasons.extend(explanations.iter().cloned());
                    reasons.extend(next_run.iter().map(|run| format!("a run that decides: {run}")));
                }
                reason => reasons.push(reason.words(facts.machine)),
            }
        }
        section.list(reasons);
        if let Some(mounting) = step.action().mounting() {
            section.list(mounting.words(facts.machine));
        }
        if let Action::Mount { predicted, placement, .. }
        | Action::MoveToPermanent { predicted, placement, .. } = step.action()
        {
            section.list(prediction(facts, predicted));
            section.list(placement.iter().map(|answer| proof(answer)).collect());
        }
        if let Action::Verify { predicted } = step.action() {
            section.list(prediction(facts, predicted));
        }
    }
    section
}

fn prediction(facts: &Facts<'_>, predicted: &[Estimate<Vibration>]) -> Vec<String> {
    let one = |(channel, next): (usize, &Estimate<Vibration>)| {
        let limit = facts.machine.limit(channel, LimitPurpose::Done);
        let chance = limit.map_or_else(String::new, |limit| {
            format!(
                "; the chance to be within the limit is {}",
                chance_words(next.chance_within(limit.amplitude))
            )
        });
        format!(
            "{} is then expected at {}, and at most {} with {} % confidence{chance}",
            facts.machine.channel_words(channel),
            facts.polar_words(channel, next.value()),
            facts.amplitude(channel, next.magnitude(facts.confidence)),
            facts.percent()
        )
    };
    predicted.iter().enumerate().map(one).collect()
}

/// A chance is never printed as certain.
fn chance_words(chance: f64) -> String {
    if chance > 0.99 {
        String::from("more than 99 %")
    } else if chance < 0.01 {
        String::from("less than 1 %")
    } else {
        format!("{:.0} %", 100.0 * chance)
    }
}

fn proof(answer: &PlacementAnswer) -> String {
    if answer.certificate().is_proven() {
        String::from(
            "no other placement leaves so little in fewer holes, with fewer pieces or less mass: that is proven",
        )
    } else {
        String::from("the best placement found; a better one may exist")
    }
}

fn cautions(facts: &Facts<'_>) -> Section {
    let mut section = Section::new("Cautions on the runs");
    if !facts.standing.cautions().is_empty() {
        section.line(
            "Channels, planes and runs are counted from 0 in these lines, runs from the last change on.",
        );
    }
    section.list(facts.standing.cautions().iter().map(ToString::to_string).collect());
    if let Some(findings) = facts.standing.findings() {
        section.line(format!("Cross-examination: {}.", findings.verdict()));
    }
    section
}

fn what_it_is_not() -> Section {
    let mut section = Section::new("What this report does not say");
    section.line(
        "It is computed from what was recorded, and says nothing of whether the machine may be run or flown. The approved data of \
         the makers of propeller, engine and airframe and the rules of the country come before it, and work that they reserve to \
         licensed personnel is left to them. A turning rotor kills: ignition off before a blade is touched, chocks, nobody in the \
         plane of rotation.",
    );
    section
}
