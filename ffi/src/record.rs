//! The record of a job: the machine, and what was done and read, in that order. It only grows.
//!
//! Nothing is overwritten: a fact that was wrong is amended by a later one, and both stay. What is mounted now, and which
//! runs belong together, follows from the facts and is never stored. A machine with holes, hardware, limits or checks comes
//! as JSON text. Channels, planes, rings, holes, kinds of hardware, runs and entries are counted from 0.

use alloc::vec::Vec;
use core::ffi::c_char;

use counterpoise::job::{
    Change, CheckResult, Entry, Fact, JobRun, Machine, Pieces, Record, RunReading, StatedReading, WeightOn,
};
use counterpoise::{Channel, Convention};

use crate::argument::{
    Options, handle, list, optional_output, options, output, results, text, value, write_text,
};
use crate::caution::CPOISE_NONE;
use crate::channel::{cpoise_channel, cpoise_reading, cpoise_scatter};
use crate::constant::chosen;
use crate::convention::{cpoise_convention, cpoise_unbalance_vector, cpoise_weight};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::influence::{cpoise_estimator, each};
use crate::status::{CPOISE_NO_SUCH_INDEX, CPOISE_UNKNOWN_CONSTANT, cpoise_status};

constants! {
    /// What was changed, after which runs are not compared with those before.
    Change, "change" {
        /// A sensor was moved, turned or exchanged.
        CPOISE_CHANGE_SENSOR = 1 => Sensor,
        /// The mark on the rotor was moved.
        CPOISE_CHANGE_MARK = 2 => Mark,
        /// The pickup that sees the mark was moved.
        CPOISE_CHANGE_PICKUP = 3 => Pickup,
        /// The rotor itself: a blade dressed, the propeller or the spinner put back in another position. The machine still
        /// answers weights as it did; after all other changes it may not.
        CPOISE_CHANGE_ROTOR = 4 => Rotor,
        /// The machine on its mounts: an engine mount, a strut, what the machine stands on.
        CPOISE_CHANGE_MACHINE = 5 => Machine,
    }
    /// What a check found.
    CheckResult, "result of a check" {
        /// All is as it should be.
        CPOISE_CHECK_IN_ORDER = 1 => InOrder,
        /// Something is not as it should be.
        CPOISE_CHECK_NOT_IN_ORDER = 2 => NotInOrder,
        /// It was not checked, and the job goes on without.
        CPOISE_CHECK_NOT_DONE = 3 => NotDone,
    }
}

/// The record of a job.
pub struct cpoise_record(pub Record);

/// When a fact is said to have been, and whether it stands in the place of an earlier one. Declared with
/// CPOISE_ENTRY_OPTIONS_INIT; every member may stay zero.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_entry_options {
    /// The size of this struct, as its INIT macro sets it.
    pub size: usize,
    /// When it was, in words of the caller's own; the library has no clock. NULL where it is not stated.
    pub when: *const c_char,
    /// 1 where the fact is what should have stood in the place of an earlier entry, else 0.
    pub amends: i32,
    /// That earlier entry; not read unless amends is 1.
    pub of: usize,
    /// Why it is amended; must be stated where amends is 1, and is not read otherwise.
    pub reason: *const c_char,
}

// SAFETY: repr(C), numbers and pointers, the size first.
unsafe impl Options for cpoise_entry_options {
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// A reading of a run, as the instrument showed it.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_stated_reading {
    /// The machine's channel.
    pub channel: usize,
    /// In the channel's unit and detector.
    pub amplitude: f64,
    /// In degrees, counted as the channel says.
    pub phase_deg: f64,
    /// The speed it was taken at.
    pub speed_rpm: f64,
    /// 1 where the scatter of the reading is stated, else 0.
    pub has_scatter: i32,
    /// Not read unless has_scatter is 1.
    pub scatter: cpoise_scatter,
}

/// So many pieces of one kind of hardware.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_pieces {
    /// The machine's kind of hardware.
    pub item: usize,
    /// How many.
    pub count: u32,
}

/// How much a record holds.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_record_counts {
    /// The machine's channels.
    pub channels: usize,
    /// The machine's correction planes.
    pub planes: usize,
    /// The machine's rings of holes.
    pub rings: usize,
    /// The machine's kinds of hardware.
    pub hardware: usize,
    /// Entries, those that are amended or withdrawn among them.
    pub entries: usize,
    /// Runs in force.
    pub runs: usize,
    /// Weights that are on and in no hole.
    pub weights: usize,
    /// The latest run with what is mounted now and nothing changed since, or CPOISE_NONE.
    pub run_as_mounted: i32,
}

/// A run in force.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_job_run {
    /// The entry that says it.
    pub entry: usize,
    /// Runs of one group are of one rotor, one mark and the same sensors.
    pub group: usize,
    /// How many readings it has.
    pub readings: usize,
}

/// A reading of a run in force.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_run_reading {
    /// The machine's channel.
    pub channel: usize,
    /// What was read.
    pub reading: cpoise_reading,
}

/// A weight that is on and in no hole.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_weight_on {
    /// The entry that put it on.
    pub entry: usize,
    /// Its plane.
    pub plane: usize,
    /// The weight.
    pub weight: cpoise_weight,
}

/// Yes or no, which C says with 1 and 0.
fn yes(flag: i32, what: &str) -> Result<bool, Failure> {
    match flag {
        0 => Ok(false),
        1 => Ok(true),
        other => {
            Err(Failure::new(CPOISE_UNKNOWN_CONSTANT, format_args!("{what} must be 0 or 1, got {other}")))
        }
    }
}

/// Something of an index.
pub fn nth<'a, T>(list: &'a [T], index: usize, what: &str) -> Result<&'a T, Failure> {
    list.get(index).ok_or_else(|| {
        let count = list.len();
        Failure::new(
            CPOISE_NO_SUCH_INDEX,
            format_args!("there is no {what} {index}: there are {count}, from 0"),
        )
    })
}

impl TryFrom<cpoise_stated_reading> for StatedReading {
    type Error = Failure;
    fn try_from(from: cpoise_stated_reading) -> Result<Self, Failure> {
        let reading = Self::new(from.channel, from.amplitude, from.phase_deg, from.speed_rpm);
        Ok(if yes(from.has_scatter, "has_scatter")? {
            reading.with_scatter(from.scatter.try_into()?)
        } else {
            reading
        })
    }
}

impl From<&RunReading> for cpoise_run_reading {
    fn from(from: &RunReading) -> Self {
        Self { channel: from.channel, reading: from.reading.into() }
    }
}

impl From<&WeightOn> for cpoise_weight_on {
    fn from(from: &WeightOn) -> Self {
        Self { entry: from.entry, plane: from.plane, weight: from.weight.into() }
    }
}

fn pieces_of(list: &[cpoise_pieces]) -> Vec<Pieces> {
    list.iter().map(|of| Pieces { item: of.item, count: of.count }).collect()
}

/// Adds a fact, in force or as an amendment, and says the number of its entry.
unsafe fn add(
    record: *mut cpoise_record,
    wanted: *const cpoise_entry_options,
    entry: *mut usize,
    fact: Result<Fact, Failure>,
) -> Result<(), Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let (record, entry, wanted) = unsafe {
        (handle::exclusive(record, "record")?, optional_output(entry, "entry")?, options(wanted, "options")?)
    };
    let fact = if yes(wanted.amends, "amends")? {
        // SAFETY: as above.
        Fact::amend(wanted.of, fact?, unsafe { text(wanted.reason, "reason") }?)
    } else {
        fact?
    };
    // SAFETY: as above.
    let number = record.0.add(unsafe { dated(wanted.when, fact) }?)?;
    if let Some(entry) = entry {
        entry.write(number);
    }
    Ok(())
}

unsafe fn dated(when: *const c_char, fact: Fact) -> Result<Entry, Failure> {
    if when.is_null() {
        return Ok(fact.into());
    }
    // SAFETY: the caller keeps the rules at the top of the header.
    Ok(Entry::at(unsafe { text(when, "when") }?, fact))
}

fn run_of(record: &cpoise_record, run: usize) -> Result<&JobRun, Failure> {
    nth(record.0.state().runs(), run, "run")
}

/// A record of a machine without holes, on which nothing happened yet. Other machines come as JSON text.
///
/// name: what the machine is called. channels: a list of channel_count. planes: the names of the correction planes, a list of
/// plane_count. record: the new handle.
///
/// Refuses: no channels (1501), a channel twice (1502), no planes (1503), more of them than are taken (1521), a channel that
/// cannot be one (101, 102, 104, 201, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NOT_UTF8,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_new(
    name: *const c_char,
    convention: *const cpoise_convention,
    channels: *const cpoise_channel,
    channel_count: usize,
    planes: *const *const c_char,
    plane_count: usize,
    record: *mut *mut cpoise_record,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let record = handle::new(record)?;
        let name = text(name, "name")?;
        let convention = Convention::try_from(value(convention, "convention")?)?;
        let channels: Vec<Channel> = each(list(channels, channel_count, "channels")?)?;
        let mut names = Vec::new();
        for plane in list(planes, plane_count, "planes")? {
            names.push(text(*plane, "the name of a plane")?);
        }
        record.write(cpoise_record(Record::new(Machine::new(name, convention, &channels, &names)?)));
        Ok(())
    })
}

/// A copy that goes its own way, as for a question of what would be if. copy: the new handle.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_copy_new(
    record: *const cpoise_record,
    copy: *mut *mut cpoise_record,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let copy = handle::new(copy)?;
        copy.write(cpoise_record(handle::shared(record, "record")?.0.clone()));
        Ok(())
    })
}

/// Frees a record; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_free(record: *mut cpoise_record) {
    guarded_value!((), { handle::free(record) });
}

/// Adds a run: the machine ran with what is mounted, and this was read. Several readings of one channel are repeats.
///
/// options: NULL for a plain fact. label: what the run is called. readings: a list of count. entry: its number; may be NULL,
/// as in all that follow.
///
/// Refuses: no reading (1507), a reading that cannot be one (1508; its scatter: 205, 206), a channel that is not there
/// (1506), more than a record keeps (1522), an amendment of no earlier entry (1512), one after which a later entry cannot be
/// (its own number), CPOISE_UNKNOWN_CONSTANT, CPOISE_BAD_SIZE, CPOISE_NOT_UTF8, CPOISE_COUNT_TOO_LARGE,
/// CPOISE_NULL_POINTER. What is refused leaves the record as it was.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_run(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    label: *const c_char,
    readings: *const cpoise_stated_reading,
    count: usize,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let label = text(label, "label")?;
        let readings: Vec<StatedReading> = each(list(readings, count, "readings")?)?;
        add(record, options, entry, Ok(Fact::run(label, &readings)))
    })
}

/// Adds that pieces were put into a hole. pieces: a list of count.
///
/// Refuses: a ring, hole or kind of hardware that is not there (1506), more pieces than can be counted (1510), and as
/// cpoise_record_add_run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_put_on(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    ring: usize,
    hole: usize,
    pieces: *const cpoise_pieces,
    count: usize,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let pieces = pieces_of(list(pieces, count, "pieces")?);
        add(record, options, entry, Ok(Fact::PutOn { ring, hole, pieces }))
    })
}

/// Adds that pieces were taken out of a hole; those that were there as found may be taken off too.
///
/// Refuses: more pieces than are there (1509), and as cpoise_record_add_put_on.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_taken_off(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    ring: usize,
    hole: usize,
    pieces: *const cpoise_pieces,
    count: usize,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let pieces = pieces_of(list(pieces, count, "pieces")?);
        add(record, options, entry, Ok(Fact::TakenOff { ring, hole, pieces }))
    })
}

/// Adds that a weight was put on that is in no hole. Its entry is what cpoise_record_add_weight_off names.
///
/// Refuses: a plane that is not there (1506), a weight that cannot be one (101, 102, 104), and as cpoise_record_add_run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_weight_on(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    plane: usize,
    weight: *const cpoise_weight,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let weight = value(weight, "weight")?.try_into()?;
        add(record, options, entry, Ok(Fact::WeightOn { plane, weight }))
    })
}

/// Adds that a weight was taken off that is in no hole. on: the entry that put it on.
///
/// Refuses: an entry that put none on, or whose weight is off already (1511), and as cpoise_record_add_run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_weight_off(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    on: usize,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { add(record, options, entry, Ok(Fact::WeightOff { on })) })
}

/// Adds that something was changed, after which runs are not compared with those before.
///
/// what: a CPOISE_CHANGE_ constant. remark: in the person's words, may be empty.
///
/// Refuses: as cpoise_record_add_run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_changed(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    what: i32,
    remark: *const c_char,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let remark = text(remark, "remark")?.into();
        add(record, options, entry, chosen(what).map(|what| Fact::Changed { what, remark }))
    })
}

/// Adds that something was checked.
///
/// what: in the words of the machine's checks where it is one of them. result: a CPOISE_CHECK_ constant. remark: how it was
/// found, may be empty.
///
/// Refuses: as cpoise_record_add_run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_checked(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    what: *const c_char,
    result: i32,
    remark: *const c_char,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (what, remark) = (text(what, "what")?, text(remark, "remark")?);
        add(record, options, entry, chosen(result).map(|result| Fact::checked(what, result, remark)))
    })
}

/// Adds a line of the log, such as the hours of an engine. The last of one name counts.
///
/// Refuses: more names than are kept (1522), and as cpoise_record_add_run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_noted(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    what: *const c_char,
    value: *const c_char,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (what, value) = (text(what, "what")?, text(value, "value")?);
        add(record, options, entry, Ok(Fact::noted(what, value)))
    })
}

/// Adds anything worth writing down.
///
/// Refuses: as cpoise_record_add_run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_add_remark(
    record: *mut cpoise_record,
    options: *const cpoise_entry_options,
    remark: *const c_char,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let remark = text(remark, "remark")?;
        add(record, options, entry, Ok(Fact::remark(remark)))
    })
}

/// Adds that an earlier entry did not happen. Of two amendments of one entry the later counts.
///
/// when: NULL where it is not stated. of: the earlier entry. reason: why.
///
/// Refuses: no earlier entry (1512), a withdrawal after which a later entry cannot be (its own number), CPOISE_NOT_UTF8,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_withdraw(
    record: *mut cpoise_record,
    when: *const c_char,
    of: usize,
    reason: *const c_char,
    entry: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let record = handle::exclusive(record, "record")?;
        let entry = optional_output(entry, "entry")?;
        let number = record.0.add(dated(when, Fact::withdraw(of, text(reason, "reason")?))?)?;
        if let Some(entry) = entry {
            entry.write(number);
        }
        Ok(())
    })
}

/// How much a record holds.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_count(
    record: *const cpoise_record,
    counts: *mut cpoise_record_counts,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let counts = output(counts, "counts")?;
        let record = &handle::shared(record, "record")?.0;
        let (machine, state) = (record.machine(), record.state());
        let latest = state.run_as_mounted().map(JobRun::entry);
        let latest = state.runs().iter().position(|run| Some(run.entry()) == latest);
        counts.write(cpoise_record_counts {
            channels: machine.channels().len(),
            planes: machine.planes().len(),
            rings: machine.rings().len(),
            hardware: machine.hardware().len(),
            entries: record.entries().len(),
            runs: state.runs().len(),
            weights: state.weights().len(),
            run_as_mounted: latest.map_or(CPOISE_NONE, |run| i32::try_from(run).unwrap_or(i32::MAX)),
        });
        Ok(())
    })
}

/// The name of the machine.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_machine_name(
    record: *const cpoise_record,
    name: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(name, capacity, used, "name")?;
        write_text(to, format_args!("{}", handle::shared(record, "record")?.0.machine().name()))
    })
}

/// The name of a correction plane.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_plane_name(
    record: *const cpoise_record,
    plane: usize,
    name: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(name, capacity, used, "name")?;
        let planes = handle::shared(record, "record")?.0.machine().planes();
        write_text(to, format_args!("{}", nth(planes, plane, "plane")?))
    })
}

/// The channels of the machine.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_channels(
    record: *const cpoise_record,
    channels: *mut cpoise_channel,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let channels = results(channels, capacity, used, "channels")?;
        let machine = handle::shared(record, "record")?.0.machine();
        channels.write(machine.channels().iter().map(|channel| (*channel).into()))
    })
}

/// A run in force.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_run(
    record: *const cpoise_record,
    run: usize,
    about: *mut cpoise_job_run,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let about = output(about, "about")?;
        let run = run_of(handle::shared(record, "record")?, run)?;
        let readings = run.readings().len();
        about.write(cpoise_job_run { entry: run.entry(), group: run.group(), readings });
        Ok(())
    })
}

/// What a run is called.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_run_label(
    record: *const cpoise_record,
    run: usize,
    label: *mut c_char,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let to = results(label, capacity, used, "label")?;
        write_text(to, format_args!("{}", run_of(handle::shared(record, "record")?, run)?.label()))
    })
}

/// What was read in a run, repeats one by one.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_run_readings(
    record: *const cpoise_record,
    run: usize,
    readings: *mut cpoise_run_reading,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let readings = results(readings, capacity, used, "readings")?;
        let run = run_of(handle::shared(record, "record")?, run)?;
        readings.write(run.readings().iter().map(Into::into))
    })
}

/// What was mounted in a run more than on the machine as it was found, by plane.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_run_mounted(
    record: *const cpoise_record,
    run: usize,
    mounted: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let mounted = results(mounted, capacity, used, "mounted")?;
        let run = run_of(handle::shared(record, "record")?, run)?;
        mounted.write(run.mounted().iter().map(|sum| (*sum).into()))
    })
}

/// What is mounted now more than on the machine as it was found, by plane.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_mounted(
    record: *const cpoise_record,
    mounted: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let mounted = results(mounted, capacity, used, "mounted")?;
        mounted.write(handle::shared(record, "record")?.0.state().mounted().iter().map(|sum| (*sum).into()))
    })
}

/// The weights that are on and in no hole.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_weights(
    record: *const cpoise_record,
    weights: *mut cpoise_weight_on,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let weights = results(weights, capacity, used, "weights")?;
        weights.write(handle::shared(record, "record")?.0.state().weights().iter().map(Into::into))
    })
}

/// How many holes a ring has.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_holes(
    record: *const cpoise_record,
    ring: usize,
    holes: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let holes = output(holes, "holes")?;
        holes.write(nth(handle::shared(record, "record")?.0.state().rings(), ring, "ring")?.holes().len());
        Ok(())
    })
}

/// The pieces that are in a hole now: how many, by kind of hardware.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_pieces(
    record: *const cpoise_record,
    ring: usize,
    hole: usize,
    pieces: *mut u32,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let pieces = results(pieces, capacity, used, "pieces")?;
        let record = &handle::shared(record, "record")?.0;
        let ring = nth(record.state().rings(), ring, "ring")?;
        // A hole without a list has none.
        let mounted = nth(ring.holes(), hole, "hole")?.pieces_mounted();
        let kinds = 0..record.machine().hardware().len();
        pieces.write(kinds.map(|kind| mounted.get(kind).copied().unwrap_or(0)))
    })
}

/// An estimator that holds the runs which can be compared with the present one, each with what was mounted in it, and with
/// the scatter of its readings where that is known. estimator: the new handle, which does not depend on the record.
///
/// Refuses: what the estimator refuses (301 to 321), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_record_estimator_new(
    record: *const cpoise_record,
    estimator: *mut *mut cpoise_estimator,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let estimator = handle::new(estimator)?;
        let record = &handle::shared(record, "record")?.0;
        estimator.write(cpoise_estimator(record.state().estimator(record.machine())?));
        Ok(())
    })
}
