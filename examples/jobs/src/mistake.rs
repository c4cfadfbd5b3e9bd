//! The one mistake that a person may make in a job, and when.

use counterpoise::checks::{Explanation, ExplanationKind};
use counterpoise::job::{WeightInRuns, WeightPlace};

use super::draws::Draws;

/// A mistake. Weights are counted in the order in which they are mounted, runs in that in which they are made, from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mistake {
    /// A weight goes into the hole that has the same angle the other way from the mark.
    MirroredHole { mounting: usize },
    /// A weight goes some holes further than said.
    OtherHole { mounting: usize, holes: i8 },
    /// A weight is said to be off, and is still on. Counted in the order in which weights come off.
    LeftOn { removal: usize },
    /// A trial weight was weighed in ounces, and the number is written down as grams.
    OuncesForGrams { trial: usize },
    /// Before a run the mark comes off, and is stuck on at another place.
    MarkMoved { run: usize, degrees: f64 },
    /// In one run the cables of the two sensors are exchanged.
    CablesExchanged { run: usize },
    /// In one run the instrument shows the effective value instead of the peak.
    DetectorSlip { run: usize },
    /// A phase is written down wrong.
    PhaseMiswritten { run: usize, channel: usize, degrees: f64 },
}

pub const KINDS: [&str; 8] = [
    "weight in the mirrored hole",
    "weight some holes off",
    "weight left on",
    "ounces written as grams",
    "mark moved",
    "cables exchanged",
    "effective value for peak",
    "phase written down wrong",
];

impl Mistake {
    /// One that a job with so many planes allows; the trial weights, and the first correction, come first.
    pub fn drawn(planes: usize, draws: &mut Draws) -> Self {
        let trial = draws.below(planes);
        let mounting = draws.below(planes + 1);
        let run = draws.below(planes + 2);
        let sign = if draws.uniform() < 0.5 { -1.0 } else { 1.0 };
        // One sensor has no cable to be exchanged.
        let kinds: &[usize] = if planes == 1 { &[0, 1, 2, 3, 4, 6, 7] } else { &[0, 1, 2, 3, 4, 5, 6, 7] };
        match kinds.get(draws.below(kinds.len())).copied().unwrap_or_default() {
            0 => Self::MirroredHole { mounting },
            1 => {
                let holes = 1 + i8::from(draws.uniform() < 0.5);
                Self::OtherHole { mounting, holes: if sign < 0.0 { -holes } else { holes } }
            }
            2 => Self::LeftOn { removal: trial },
            3 => Self::OuncesForGrams { trial },
            4 => Self::MarkMoved { run: run.max(1), degrees: sign * draws.between(15.0, 120.0) },
            5 => Self::CablesExchanged { run },
            6 => Self::DetectorSlip { run },
            _ => {
                let channel = draws.below(planes);
                Self::PhaseMiswritten { run, channel, degrees: sign * draws.between(40.0, 180.0) }
            }
        }
    }

    /// Its place in [`KINDS`].
    pub const fn kind(self) -> usize {
        match self {
            Self::MirroredHole { .. } => 0,
            Self::OtherHole { .. } => 1,
            Self::LeftOn { .. } => 2,
            Self::OuncesForGrams { .. } => 3,
            Self::MarkMoved { .. } => 4,
            Self::CablesExchanged { .. } => 5,
            Self::DetectorSlip { .. } => 6,
            Self::PhaseMiswritten { .. } => 7,
        }
    }

    pub fn words(self) -> &'static str {
        KINDS.get(self.kind()).copied().unwrap_or_default()
    }
}

/// A mistake that was made: at which entry of the record, or in which of its runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Mishap {
    pub mistake: Mistake,
    /// The entry that says otherwise than what was done: of the weight, of its taking off, or of the run.
    pub entries: Vec<usize>,
    /// Where the weight was said to be.
    pub place: Option<WeightPlace>,
    pub mended: bool,
}

impl Mishap {
    /// Whether a person who looks where an explanation points sees this mistake. Whoever looks at a weight sees where it
    /// sits and what it weighs; whoever looks at the numbers of a run sees all of them.
    pub fn is_seen_by(&self, explanation: &Explanation, weights: &[WeightInRuns], runs: &[usize]) -> bool {
        let of_weight = |number: usize| weights.get(number).map(|weight| weight.place) == self.place;
        let of_run = |run: usize| runs.get(run).is_some_and(|entry| self.entries.contains(entry));
        let of_weights = matches!(
            self.mistake,
            Mistake::MirroredHole { .. }
                | Mistake::OtherHole { .. }
                | Mistake::LeftOn { .. }
                | Mistake::OuncesForGrams { .. }
        );
        match *explanation {
            Explanation::WeightMirrored { item }
            | Explanation::WeightHalfTurn { item }
            | Explanation::WeightOffByHoles { item, .. }
            | Explanation::WeightLeftOn { item, .. }
            | Explanation::WeightNotMounted { item }
            | Explanation::MassUnit { item, .. } => of_weights && of_weight(item.number()),
            Explanation::MarkMoved { .. } => matches!(self.mistake, Mistake::MarkMoved { .. }),
            Explanation::ChannelsExchanged { run, .. }
            | Explanation::DetectorSlip { run, .. }
            | Explanation::UnitSlip { run, .. }
            | Explanation::OtherSpeed { run, .. }
            | Explanation::Outlier { run, .. } => {
                !of_weights && !matches!(self.mistake, Mistake::MarkMoved { .. }) && of_run(run)
            }
            _ => false,
        }
    }

    /// Whether an explanation names this very kind of mistake.
    pub fn is_named_by(&self, explanation: &Explanation) -> bool {
        let kind = explanation.kind();
        match self.mistake {
            Mistake::MirroredHole { .. } => kind == ExplanationKind::WeightMirrored,
            Mistake::OtherHole { .. } => kind == ExplanationKind::WeightOffByHoles,
            Mistake::LeftOn { .. } => kind == ExplanationKind::WeightLeftOn,
            Mistake::OuncesForGrams { .. } => kind == ExplanationKind::MassUnit,
            Mistake::MarkMoved { .. } => kind == ExplanationKind::MarkMoved,
            Mistake::CablesExchanged { .. } => kind == ExplanationKind::ChannelsExchanged,
            Mistake::DetectorSlip { .. } => kind == ExplanationKind::DetectorSlip,
            Mistake::PhaseMiswritten { .. } => kind == ExplanationKind::Outlier,
        }
    }
}
