//! Advice: what can be done next in a job, best first, each with its reasons; and the report of a job.
//!
//! Advice follows from the record alone, with the same bits every time. A step that mounts something is carried out by one
//! call, which adds the facts; a person may as well do another thing, and add that. Steps, reasons and lines are counted
//! from 0; step 0 is what is advised.

use alloc::string::String;
use alloc::vec::Vec;
use core::ffi::c_char;

use counterpoise::job::{Action, Advice, AdviceOptions, Entry, Fact, Machine, Step};
use counterpoise::report::Report;

use crate::argument::{
    Options, handle, optional_output, options as read_options, output, results, text, write_text,
};
use crate::convention::{cpoise_unbalance_vector, cpoise_vibration};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::influence::cpoise_prior;
use crate::record::{cpoise_record, nth};
use crate::status::{CPOISE_NO_VALUE, CPOISE_WRONG_STATE, cpoise_status};

// The numbers of the actions, the same as in Rust.

/// Check something, or put it in order.
pub const CPOISE_ACTION_CHECK: i32 = 1;
/// Balance the rotor statically first.
pub const CPOISE_ACTION_BALANCE_STATICALLY: i32 = 2;
/// Run with what is mounted now.
pub const CPOISE_ACTION_MEASURE: i32 = 3;
/// Read more of the run with what is mounted now.
pub const CPOISE_ACTION_READ_AGAIN: i32 = 4;
/// The runs show a mistake: look for it, and amend the record.
pub const CPOISE_ACTION_LOOK_FOR_MISTAKE: i32 = 5;
/// Mount a trial weight.
pub const CPOISE_ACTION_ADD_TRIAL: i32 = 6;
/// Learn more of a plane before trusting the coefficients.
pub const CPOISE_ACTION_LEARN_MORE: i32 = 7;
/// Mount a correction.
pub const CPOISE_ACTION_MOUNT: i32 = 8;
/// Move weights from where they cannot stay to where they can.
pub const CPOISE_ACTION_MOVE_TO_PERMANENT: i32 = 9;
/// Run to verify what was mounted.
pub const CPOISE_ACTION_VERIFY: i32 = 10;
/// Stop: every channel is within its limit.
pub const CPOISE_ACTION_STOP_WITHIN_LIMIT: i32 = 11;
/// Stop: weights do not bring the vibration further down.
pub const CPOISE_ACTION_STOP_NO_GAIN: i32 = 12;

/// How advice is given. Declared with CPOISE_ADVICE_OPTIONS_INIT; every member may stay zero.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_advice_options {
    /// The size of this struct, as its INIT macro sets it.
    pub size: usize,
    /// The confidence of verdicts, 0.5 to 0.9999; 0 for 0.95.
    pub confidence: f64,
    /// How many readings a run should have; 0 for 3.
    pub readings_per_run: u32,
    /// How many steps the search for a placement may take; 0 for 200000.
    pub placement_steps: u64,
    /// What is known of machines of the kind, copied: with it a correction can be advised without a trial run. NULL for
    /// nothing.
    pub prior: *const cpoise_prior,
}

// SAFETY: repr(C), numbers and pointers, the size first.
unsafe impl Options for cpoise_advice_options {
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// Advice, with the machine and the entries that it follows from. Never changes once it is made.
pub struct cpoise_advice {
    advice: Advice,
    machine: Machine,
    entries: Vec<Entry>,
}

/// The report of a job. Never changes once it is made, and does not depend on the record.
pub struct cpoise_report(Report);

/// A step that can be done next.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_advice_step {
    /// A CPOISE_ACTION_ number; a number that is none of them is newer than this header.
    pub action: i32,
    /// How many reasons it has.
    pub reasons: usize,
    /// 1 where the job ends with it, else 0.
    pub is_stop: i32,
    /// 1 where it says what to put on and take off, else 0.
    pub has_mounting: i32,
    /// 1 where cpoise_advice_carry_out can add its facts, else 0: a weight whose radius nothing states is for the caller to
    /// add.
    pub can_be_carried_out: i32,
    /// How many lines its mounting has in words.
    pub mounting_lines: usize,
}

fn step_of(advice: &cpoise_advice, step: usize) -> Result<&Step, Failure> {
    let steps = advice.advice.steps();
    nth(&steps, step, "step").copied()
}

fn no_value(what: &str) -> Failure {
    Failure::new(CPOISE_NO_VALUE, format_args!("the step {what}"))
}

fn lines_of(advice: &cpoise_advice, step: &Step) -> Vec<String> {
    step.action().mounting().map_or_else(Vec::new, |mounting| mounting.words(&advice.machine))
}

/// Advises what to do next. It may take long where a placement is searched for: placement_steps bounds it.
///
/// options: NULL for the defaults. advice: the new handle, which does not depend on the record.
///
/// Refuses: a confidence beyond its range (1520), CPOISE_BAD_SIZE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_new(
    record: *const cpoise_record,
    options: *const cpoise_advice_options,
    advice: *mut *mut cpoise_advice,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let advice = handle::new(advice)?;
        let record = &handle::shared(record, "record")?.0;
        let wanted = read_options(options, "options")?;
        let mut how = AdviceOptions::default();
        #[allow(clippy::float_cmp)] // a zero is as it was left
        if wanted.confidence != 0.0 {
            how = how.confidence(wanted.confidence)?;
        }
        if wanted.readings_per_run > 0 {
            how = how.readings_per_run(wanted.readings_per_run);
        }
        if wanted.placement_steps > 0 {
            how = how.placement_steps(wanted.placement_steps);
        }
        if !wanted.prior.is_null() {
            how = how.prior(handle::shared(wanted.prior, "prior")?.0.clone());
        }
        advice.write(cpoise_advice {
            advice: Advice::of(record, &how),
            machine: record.machine().clone(),
            entries: record.entries().to_vec(),
        });
        Ok(())
    })
}

/// Frees advice; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_free(advice: *mut cpoise_advice) {
    guarded_value!((), { handle::free(advice) });
}

/// How many steps there are, at least 1.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_count(
    advice: *const cpoise_advice,
    steps: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let steps = output(steps, "steps")?;
        steps.write(handle::shared(advice, "advice")?.advice.steps().len());
        Ok(())
    })
}

/// A step.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_step_of(
    advice: *const cpoise_advice,
    step: usize,
    about: *mut cpoise_advice_step,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let about = output(about, "about")?;
        let advice = handle::shared(advice, "advice")?;
        let step = step_of(advice, step)?;
        let action = step.action();
        about.write(cpoise_advice_step {
            action: action.code(),
            reasons: step.reasons().len(),
            is_stop: i32::from(action.is_stop()),
            has_mounting: i32::from(action.mounting().is_some()),
            can_be_carried_out: i32::from(action.facts().is_some()),
            mounting_lines: lines_of(advice, step).len(),
        });
        Ok(())
    })
}

/// What to do, in words.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_words(
    advice: *const cpoise_advice,
    step: usize,
    words: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(words, capacity, used, "words")?;
        let advice = handle::shared(advice, "advice")?;
        write_text(to, format_args!("{}", step_of(advice, step)?.action().words(&advice.machine)))
    })
}

/// The number of a reason, the same as in Rust.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_reason(
    advice: *const cpoise_advice,
    step: usize,
    reason: usize,
    code: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let code = output(code, "code")?;
        let step = step_of(handle::shared(advice, "advice")?, step)?;
        code.write(nth(step.reasons(), reason, "reason")?.code());
        Ok(())
    })
}

/// A reason in words.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_reason_words(
    advice: *const cpoise_advice,
    step: usize,
    reason: usize,
    words: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(words, capacity, used, "words")?;
        let advice = handle::shared(advice, "advice")?;
        let reason = nth(step_of(advice, step)?.reasons(), reason, "reason")?;
        write_text(to, format_args!("{}", reason.words(&advice.machine)))
    })
}

/// What to put on or take off, one line in words for a person.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_mounting_words(
    advice: *const cpoise_advice,
    step: usize,
    line: usize,
    words: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(words, capacity, used, "words")?;
        let advice = handle::shared(advice, "advice")?;
        let lines = lines_of(advice, step_of(advice, step)?);
        write_text(to, format_args!("{}", nth(&lines, line, "line")?))
    })
}

/// What a step adds to every plane, after everything is put on and taken off.
///
/// Refuses: a step that mounts nothing (CPOISE_NO_VALUE), CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_mounting_added(
    advice: *const cpoise_advice,
    step: usize,
    added: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let added = results(added, capacity, used, "added")?;
        let step = step_of(handle::shared(advice, "advice")?, step)?;
        let mounting = step.action().mounting().ok_or_else(|| no_value("mounts nothing"))?;
        added.write(mounting.added().iter().map(|sum| (*sum).into()))
    })
}

/// What every channel is expected to read after a correction, a move or in a run to verify.
///
/// Refuses: a step that predicts nothing (CPOISE_NO_VALUE), CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_predicted(
    advice: *const cpoise_advice,
    step: usize,
    predicted: *mut cpoise_vibration,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(predicted, capacity, used, "predicted")?;
        match step_of(handle::shared(advice, "advice")?, step)?.action() {
            Action::Mount { predicted, .. }
            | Action::MoveToPermanent { predicted, .. }
            | Action::Verify { predicted } => to.write(predicted.iter().map(|of| of.value().into())),
            _ => Err(no_value("predicts nothing")),
        }
    })
}

/// Adds the facts of a step that mounts something to the record, as done: all, or none where one is refused.
///
/// record: the one that the advice was given for, with nothing added since. when: NULL where it is not stated. added: how
/// many entries were added; may be NULL.
///
/// Refuses: a record that is another or has changed since (CPOISE_WRONG_STATE), a step that mounts nothing or of which not
/// all is known (CPOISE_NO_VALUE), CPOISE_NO_SUCH_INDEX, CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_advice_carry_out(
    record: *mut cpoise_record,
    advice: *const cpoise_advice,
    step: usize,
    when: *const c_char,
    added: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let record = &mut handle::exclusive(record, "record")?.0;
        let added = optional_output(added, "added")?;
        let advice = handle::shared(advice, "advice")?;
        let when = if when.is_null() { "" } else { text(when, "when")? };
        let facts: Vec<Fact> = step_of(advice, step)?
            .action()
            .facts()
            .ok_or_else(|| no_value("mounts nothing, or a weight whose radius nothing states"))?;
        if *record.machine() != advice.machine || record.entries() != advice.entries.as_slice() {
            let words = "the advice is for another record, or the record has changed since";
            return Err(Failure::new(CPOISE_WRONG_STATE, format_args!("{words}")));
        }
        let count = facts.len();
        let mut done = record.clone();
        for fact in facts {
            done.add(Entry::at(when, fact))?;
        }
        *record = done;
        if let Some(added) = added {
            added.write(count);
        }
        Ok(())
    })
}

/// Makes the report of a job. confidence: of its verdicts, 0.5 to 0.9999, such as 0.95. report: the new handle.
///
/// Refuses: a confidence beyond its range (1520), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_report_new(
    record: *const cpoise_record,
    confidence: f64,
    report: *mut *mut cpoise_report,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let report = handle::new(report)?;
        let record = &handle::shared(record, "record")?.0;
        report.write(cpoise_report(Report::of(record, confidence)?));
        Ok(())
    })
}

/// Frees a report; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_report_free(report: *mut cpoise_report) {
    guarded_value!((), { handle::free(report) });
}

/// The report as plain text.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_report_text(
    report: *const cpoise_report,
    words: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(words, capacity, used, "words")?;
        write_text(to, format_args!("{}", handle::shared(report, "report")?.0.text()))
    })
}

/// The entry for the machine's log as plain text.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_report_log_entry(
    report: *const cpoise_report,
    words: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(words, capacity, used, "words")?;
        write_text(to, format_args!("{}", handle::shared(report, "report")?.0.log_entry()))
    })
}
