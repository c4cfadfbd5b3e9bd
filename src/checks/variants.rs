//! Every explanation that a job allows, in a fixed order.

use alloc::vec::Vec;

use crate::unit::MassUnit;
use crate::vibration_unit::{Detector, VibrationScale};

use super::examination::Examination;
use super::explanation::Explanation;
use super::findings::LeftOut;
use super::model::Model;
use super::{continuous, regression};

/// How many holes off are tried, to either side.
const MOST_HOLES: i8 = 3;

/// The explanations of a job, `NoMistake` first, kind by kind; within a kind by item, then by run. Continuous parameters
/// are fitted.
pub(super) fn explanations(job: &Examination, stated: &Model) -> Vec<Explanation> {
    let mut all = alloc::vec![Explanation::NoMistake];
    pieces(job, &mut all);
    exchanges(job, &mut all);
    all.extend((1..job.runs.len()).map(|run| {
        let turn_degrees = continuous::best_turn(job, stated, run);
        Explanation::MarkMoved { run, turn_degrees }
    }));
    if job.knows_speed() {
        let left = regression::left(stated);
        let speed =
            |run| continuous::best_rpm(job, &left, run).map(|rpm| Explanation::OtherSpeed { run, rpm });
        all.extend((0..job.runs.len()).filter_map(speed));
    }
    slips(job, &mut all);
    for (run, stated) in job.runs.iter().enumerate() {
        let read = stated.readings.iter().enumerate().filter(|(_, reading)| reading.is_some());
        all.extend(read.map(|(channel, _)| Explanation::Outlier { run, channel }));
    }
    if job.mounted_items().next().is_some() {
        all.push(Explanation::SenseWrong);
    }
    all
}

/// What may be wrong with one piece.
fn pieces(job: &Examination, all: &mut Vec<Explanation>) {
    let items: Vec<_> = job.mounted_items().collect();
    all.extend(items.iter().map(|(item, _)| Explanation::WeightMirrored { item: *item }));
    all.extend(items.iter().map(|(item, _)| Explanation::WeightHalfTurn { item: *item }));
    for (item, stated) in &items {
        let holes = job.planes.get(stated.plane).and_then(super::Plane::holes);
        let count = holes.map_or(0, |holes| i32::from(holes.count()));
        for holes in (-MOST_HOLES..=MOST_HOLES).filter(|holes| *holes != 0) {
            // In a small ring some holes off one way are the same as some the other way: the shorter way counts, and
            // of equal ones the way of the numbers.
            let twice = 2 * i32::from(holes);
            if -count < twice && twice <= count {
                all.push(Explanation::WeightOffByHoles { item: *item, holes });
            }
        }
    }
    for (item, _) in &items {
        let first = job.first_run_of(*item).unwrap_or(0);
        let off = job.runs.iter().skip(first).position(|run| !run.holds(*item));
        all.extend(off.map(|after| Explanation::WeightLeftOn { item: *item, run: first + after }));
    }
    all.extend(items.iter().map(|(item, _)| Explanation::WeightNotMounted { item: *item }));
    for (item, stated) in &items {
        let unit = match stated.mass_unit {
            MassUnit::Gram => MassUnit::Ounce,
            MassUnit::Ounce => MassUnit::Gram,
            _ => continue,
        };
        all.push(Explanation::MassUnit { item: *item, unit });
    }
}

/// Pieces in the wrong plane, and cables on the wrong input.
fn exchanges(job: &Examination, all: &mut Vec<Explanation>) {
    let items: Vec<_> = job.mounted_items().collect();
    for run in 0..job.runs.len() {
        for one in 0..job.planes.len() {
            for other in one + 1..job.planes.len() {
                let concerned = items.iter().any(|(item, stated)| {
                    job.first_run_of(*item) == Some(run) && (stated.plane == one || stated.plane == other)
                });
                if concerned {
                    all.push(Explanation::PlanesExchanged { run, planes: [one, other] });
                }
            }
        }
    }
    for (run, stated) in job.runs.iter().enumerate() {
        let read = |channel: usize| stated.readings.get(channel).is_some_and(Option::is_some);
        for (one, first) in job.channels.iter().enumerate() {
            for (other, second) in job.channels.iter().enumerate().skip(one + 1) {
                if first.sensor() == second.sensor() {
                    continue;
                }
                // A pair of sensors is named by its first pair of channels.
                let pairs = job.exchanged_pairs([one, other]);
                let leads = pairs.first() == Some(&[one, other]);
                if leads && pairs.iter().all(|[a, b]| read(*a) && read(*b)) {
                    all.push(Explanation::ChannelsExchanged { run, channels: [one, other] });
                }
            }
        }
    }
}

/// The instrument set to another detector or unit.
fn slips(job: &Examination, all: &mut Vec<Explanation>) {
    let changes = |explanation: &Explanation, run: usize| {
        job.gains_if(explanation, run).iter().any(|gain| *gain != num_complex::Complex64::ONE)
    };
    for run in 0..job.runs.len() {
        let slips =
            Detector::ALL.iter().map(|detector| Explanation::DetectorSlip { run, detector: *detector });
        all.extend(slips.filter(|slip| changes(slip, run)));
    }
    for run in 0..job.runs.len() {
        let slips = VibrationScale::ALL.iter().map(|scale| Explanation::UnitSlip { run, scale: *scale });
        all.extend(slips.filter(|slip| changes(slip, run)));
    }
}

/// What could not be tried for want of knowledge.
pub(super) fn left_out(job: &Examination) -> Vec<LeftOut> {
    let mut left_out = Vec::new();
    if !job.knows_speed() {
        left_out.push(LeftOut::OtherSpeed);
    }
    for (plane, stated) in job.planes.iter().enumerate() {
        if stated.holes().is_none() && job.mounted_items().any(|(_, item)| item.plane == plane) {
            left_out.push(LeftOut::HolesOff { plane });
        }
    }
    left_out
}
