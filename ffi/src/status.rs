//! Statuses: what a call returns.
//!
//! 0 is done; every other number says what was refused, and then nothing was written but the detail. 1 to 99 are of the
//! C interface itself; from 100 on they are the numbers of the mathematics, the same as in Rust, by stage: 100 quantities,
//! 200 readings, 300 estimation, 400 correction, 500 moves, 600 first weights, 650 balancing without phase, 700 views,
//! 800 placement, 900 JSON, 1100 cross-examination, 1200 uncertainty, 1300 shaft marks and samples, 1400 tolerances,
//! 1450 before and after a job, 1500 the record. They are never renumbered or used again. A poor answer is no refusal: it
//! comes with cautions.

use core::ffi::{CStr, c_char};

/// CPOISE_OK, or why nothing was done.
pub type cpoise_status = i32;

/// Names, numbers and texts of the statuses. The header is made from these lines.
macro_rules! statuses {
    ($($NAME:ident = $number:literal, $text:literal;)+) => {
        $(
            #[doc = $text]
            pub const $NAME: cpoise_status = $number;
        )+

        /// The text of a status.
        #[cfg(not(feature = "alloc"))]
        pub fn text(status: cpoise_status) -> &'static str {
            match status {
                $( $number => $text, )+
                _ => "",
            }
        }

        fn ended(status: cpoise_status) -> Option<&'static CStr> {
            match status {
                $( $number => CStr::from_bytes_with_nul(concat!($text, "\0").as_bytes()).ok(), )+
                _ => None,
            }
        }
    };
}

statuses! {
    CPOISE_OK = 0, "Done.";
    CPOISE_NULL_POINTER = 1, "A pointer that must lead somewhere is NULL.";
    CPOISE_MISALIGNED = 2, "A pointer is not aligned for what it should lead to.";
    CPOISE_COUNT_TOO_LARGE = 3, "A list of that many elements cannot be in memory.";
    CPOISE_WRONG_COUNT = 4, "A list has another length than it must have.";
    CPOISE_BUFFER_TOO_SMALL = 5, "There is not enough room for the results: the needed count was written to used.";
    CPOISE_UNKNOWN_CONSTANT = 6, "A number that is none of the constants of its kind.";
    CPOISE_BAD_SIZE = 7, "An option struct does not say its size: begin with its INIT macro.";
    CPOISE_NOT_UTF8 = 8, "A text is not UTF-8.";
    CPOISE_NO_SUCH_INDEX = 9, "There is nothing of that index.";
    CPOISE_NO_VALUE = 10, "There is no such value here, which is no mistake: the description of the call says when.";
    CPOISE_OUT_OF_RANGE = 11, "An integer is beyond what it may be.";
    CPOISE_WRONG_STATE = 12, "The call does not fit what the handle holds or has done before.";
    CPOISE_INTERNAL_FAULT = 13, "A fault of the library was caught; please report it. Free the handles of the call, and use them for nothing else.";
    CPOISE_QUANTITY_NOT_FINITE = 101, "Not a number, or infinite.";
    CPOISE_QUANTITY_NOT_POSITIVE = 102, "Zero or negative where only a positive number has a meaning.";
    CPOISE_QUANTITY_NEGATIVE = 103, "Negative where zero is the least that has a meaning.";
    CPOISE_QUANTITY_BEYOND_RANGE = 104, "So large or so small that results computed from it would overflow.";
    CPOISE_QUANTITY_WITHOUT_SCATTER = 105, "A reading whose stated scatter rules out all beside one line.";
    CPOISE_READING_BAD_WINDOW = 201, "The bounds of a speed window are not positive and in order.";
    CPOISE_READING_SPEED_OUTSIDE_WINDOW = 202, "A reading taken at a speed for which its channel does not hold.";
    CPOISE_READING_DIFFERENT_CHANNELS = 203, "Readings of two channels were put together.";
    CPOISE_READING_SCALING_BEYOND_RANGE = 204, "The declared law of speed takes the reading out of the range of numbers.";
    CPOISE_READING_NOT_A_COVARIANCE = 205, "A 2x2 matrix that is no covariance.";
    CPOISE_READING_DEGREES_OF_FREEDOM = 206, "Degrees of freedom that are not positive.";
    CPOISE_READING_NO_REPEATS = 207, "There is nothing to average.";
    CPOISE_ESTIMATE_ZERO_TRIAL = 301, "The trial weight makes no unbalance, or the same as was there before.";
    CPOISE_ESTIMATE_NO_RESPONSE = 302, "The vibration did not change with the trial weight, as far as the digits show.";
    CPOISE_ESTIMATE_PROPORTIONAL_TRIALS = 303, "The two trial runs changed the unbalance of the two planes in proportion.";
    CPOISE_ESTIMATE_NO_CHANNELS = 304, "There is no channel.";
    CPOISE_ESTIMATE_NO_PLANES = 305, "There is no correction plane.";
    CPOISE_ESTIMATE_NO_RUNS = 306, "There is no run.";
    CPOISE_ESTIMATE_REPEATED_CHANNEL = 307, "One channel is named twice.";
    CPOISE_ESTIMATE_COUNT = 308, "A list has another length than it must have.";
    CPOISE_ESTIMATE_PLANE_OUT_OF_RANGE = 309, "A run mounts a weight in a plane that the rotor does not have.";
    CPOISE_ESTIMATE_UNBALANCE_NOT_FINITE = 310, "A run mounts an unbalance that is not finite.";
    CPOISE_ESTIMATE_NO_READING = 311, "A run has no reading.";
    CPOISE_ESTIMATE_UNKNOWN_CHANNEL = 312, "A run has a reading of a channel that was not named.";
    CPOISE_ESTIMATE_REPEATED_READING = 313, "A run has two readings of one channel.";
    CPOISE_ESTIMATE_PRECISION = 314, "A reading says its weight where the estimator was told to expect variances, or the other way round.";
    CPOISE_ESTIMATE_PRIOR_NEEDS_VARIANCES = 315, "A prior was given to an estimator that has only relative weights.";
    CPOISE_ESTIMATE_PRIOR_DOES_NOT_FIT = 316, "A prior is for other channels or planes.";
    CPOISE_ESTIMATE_COVARIANCE_ENTRY = 317, "An entry of a covariance matrix that cannot be one.";
    CPOISE_ESTIMATE_PRIOR_COVARIANCE = 318, "The covariance of a prior is not positive definite.";
    CPOISE_ESTIMATE_UNDETERMINED = 319, "The runs do not determine all unknowns of a channel.";
    CPOISE_ESTIMATE_NOT_REPRESENTABLE = 320, "The numbers of the runs are so far apart in size that the result is not a finite number.";
    CPOISE_ESTIMATE_CHANNEL_OUT_OF_RANGE = 321, "A channel was asked for that was not named.";
    CPOISE_CORRECTION_COUNT = 401, "A list has another length than it must have.";
    CPOISE_CORRECTION_WRONG_CHANNEL = 402, "A reading does not belong to the channel in whose place it stands.";
    CPOISE_CORRECTION_CHANNEL_WEIGHT = 403, "A channel weight that cannot be one.";
    CPOISE_CORRECTION_NO_INFLUENCE = 404, "The plane has no effect on the measuring point.";
    CPOISE_CORRECTION_NO_WEIGHT = 405, "All channels have weight zero.";
    CPOISE_CORRECTION_VIBRATION_NOT_FINITE = 406, "A vibration that is not finite.";
    CPOISE_CORRECTION_UNBALANCE_NOT_FINITE = 407, "An unbalance that is not finite.";
    CPOISE_CORRECTION_PLANE_OUT_OF_RANGE = 408, "A limit for a plane that the rotor does not have.";
    CPOISE_CORRECTION_NEGATIVE_LIMIT = 409, "A limit that is negative.";
    CPOISE_CORRECTION_INSEPARABLE_PLANES = 410, "Some planes, or a combination of them, have no effect of their own at the measuring points.";
    CPOISE_CORRECTION_PROPORTIONAL_PLANES = 411, "The two planes have no effects of their own at the two measuring points.";
    CPOISE_CORRECTION_NOT_REPRESENTABLE = 412, "The numbers are so far apart in size that the result is not a finite number.";
    CPOISE_RELOCATION_NO_PLACES = 501, "There is no place to put anything.";
    CPOISE_RELOCATION_NOT_BRACKETED = 502, "The two places do not have the wanted angle between them, the shorter way round.";
    CPOISE_RELOCATION_PLACES_IN_LINE = 503, "The two places lie on one line through the axis, and the wanted angle does not.";
    CPOISE_RELOCATION_SPREAD_TOO_WIDE = 504, "Two equal weights a quarter turn or more to either side do not add up to one between them.";
    CPOISE_RELOCATION_NEGATIVE_CAP = 505, "The most that a place may carry is less than nothing.";
    CPOISE_RELOCATION_NO_EFFECT = 506, "The new plane does nothing at the measuring points, so that no weight there has the wanted effect.";
    CPOISE_RELOCATION_CHANNEL_COUNTS_DIFFER = 507, "The lists of influence coefficients and of weights do not belong to the same channels.";
    CPOISE_RELOCATION_PLANES_COINCIDE = 508, "Two correction planes at one station cannot take up a moment.";
    CPOISE_RELOCATION_NOT_SETTLED = 509, "The search for the least mass did not come to its end, which is not known to happen on any input.";
    CPOISE_FIRST_WEIGHT_NEAR_RESONANCE = 601, "The speed is so near a resonance that the angle of the response is not known.";
    CPOISE_FIRST_WEIGHT_BAD_FRACTION = 602, "A fraction that is not one.";
    CPOISE_FIRST_WEIGHT_NO_RESPONSE = 603, "A stored influence coefficient of zero.";
    CPOISE_FIRST_WEIGHT_ESTIMATE_BEYOND_RANGE = 604, "The estimate leaves the range of numbers.";
    CPOISE_FIRST_WEIGHT_NO_PROVENANCE = 605, "An estimate whose origin is not stated.";
    CPOISE_WITHOUT_PHASE_NO_AS_FOUND = 651, "There is no reading as found.";
    CPOISE_WITHOUT_PHASE_NO_TRIALS = 652, "There is no trial run.";
    CPOISE_WITHOUT_PHASE_AS_FOUND = 653, "A reading as found that cannot be an amplitude.";
    CPOISE_WITHOUT_PHASE_AMOUNT = 654, "A trial weight that makes no unbalance, or one beyond range.";
    CPOISE_WITHOUT_PHASE_AMPLITUDE = 655, "A trial reading that cannot be an amplitude.";
    CPOISE_VIEW_EMPTY_CIRCLE = 701, "A ring without holes.";
    CPOISE_VIEW_BAD_VIEWPOINT = 702, "Words for a viewpoint that could not be told apart again in a sentence.";
    CPOISE_VIEW_NO_SUCH_HOLE = 703, "A hole number that no hole of the ring bears.";
    CPOISE_VIEW_WITHOUT_HOLES = 704, "A hole was named, and the view has none.";
    CPOISE_VIEW_UNREADABLE = 705, "Words that are not those of a place.";
    CPOISE_VIEW_OTHER_VIEWPOINT = 706, "Words for a person who stands elsewhere.";
    CPOISE_VIEW_OTHER_TURNING = 707, "Words for a rotor that turns the other way.";
    CPOISE_VIEW_OTHER_HOLES = 708, "Words that name other holes than the view has at that place.";
    CPOISE_VIEW_OTHER_MARK = 709, "Words for a rotor that was put at rest with its mark elsewhere.";
    CPOISE_VIEW_OTHER_SEEN_ANGLE = 710, "Words whose angle from the mark and angle from the top are not of one place.";
    CPOISE_VIEW_OTHER_HOUR = 711, "Words whose hour is not that of their angle from the top.";
    CPOISE_PLACEMENT_NO_HOLES = 801, "No ring, or only rings without holes.";
    CPOISE_PLACEMENT_NO_HARDWARE = 802, "No hardware.";
    CPOISE_PLACEMENT_NO_MASS = 803, "A piece without mass changes nothing.";
    CPOISE_PLACEMENT_NEGATIVE_THICKNESS = 804, "A thickness below zero.";
    CPOISE_PLACEMENT_BAD_LIMIT = 805, "A limit below zero, or not a number.";
    CPOISE_PLACEMENT_NO_LIMIT = 806, "Nothing bounds the stack at a hole.";
    CPOISE_PLACEMENT_TOO_MANY_STACKS = 807, "More different stacks at one hole than can be listed.";
    CPOISE_PLACEMENT_TOO_MANY_HOLES = 808, "More holes than are taken.";
    CPOISE_PLACEMENT_MOUNTED = 809, "The list of what is mounted is longer than the list of hardware.";
    CPOISE_PLACEMENT_PLANE_OUT_OF_RANGE = 810, "A ring in a plane that the question does not have.";
    CPOISE_PLACEMENT_COUNT = 811, "A list has another length than it must have.";
    CPOISE_PLACEMENT_BAD_NUMBER = 812, "A number of the question that must be finite and not negative.";
    CPOISE_PLACEMENT_NOT_FINITE = 813, "A vibration or wanted unbalance that is not finite.";
    CPOISE_PLACEMENT_MEMORY_LIMIT = 814, "The bound on memory leaves no room to search in.";
    CPOISE_PLACEMENT_NOT_REPRESENTABLE = 815, "The largest possible moment, or what it does, is beyond the range of numbers.";
    CPOISE_PLACEMENT_LIMITED_PLANE = 816, "A limit for a plane that the question does not have.";
    CPOISE_PLACEMENT_NO_WEIGHT = 817, "All channel weights are zero.";
    CPOISE_PLACEMENT_TOO_MANY_PLANES = 818, "More planes than are taken.";
    CPOISE_JSON_TEXT = 900, "Text that is not what was to be read.";
    CPOISE_EXAMINATION_NO_CHANNELS = 1101, "There is no channel.";
    CPOISE_EXAMINATION_REPEATED_CHANNEL = 1102, "A channel is named twice.";
    CPOISE_EXAMINATION_NO_PLANES = 1103, "There is no plane.";
    CPOISE_EXAMINATION_NO_SUCH_PLANE = 1104, "An item in a plane that does not exist.";
    CPOISE_EXAMINATION_NO_SUCH_ITEM = 1105, "An item of another examination.";
    CPOISE_EXAMINATION_REPEATED_ITEM = 1106, "An item that is on the rotor twice.";
    CPOISE_EXAMINATION_UNKNOWN_CHANNEL = 1107, "A reading of a channel that was not named.";
    CPOISE_EXAMINATION_REPEATED_READING = 1108, "Two readings of one channel in one run.";
    CPOISE_EXAMINATION_SCATTER_UNKNOWN = 1109, "A reading that does not say how much it scatters.";
    CPOISE_EXAMINATION_NO_READING = 1110, "A run without any reading.";
    CPOISE_EXAMINATION_NO_RUNS = 1111, "There is no run.";
    CPOISE_EXAMINATION_DAMPING_RATIO = 1112, "A damping ratio that is none.";
    CPOISE_EXAMINATION_NOT_REPRESENTABLE = 1113, "The misfit of the runs is too large for a number.";
    CPOISE_UNCERTAINTY_SCATTER_UNKNOWN = 1201, "Nothing says how the readings of a channel scatter.";
    CPOISE_UNCERTAINTY_COUNT = 1202, "A list has another length than it must have.";
    CPOISE_UNCERTAINTY_OUT_OF_RANGE = 1203, "A channel, plane or run that does not exist.";
    CPOISE_UNCERTAINTY_BAD_NUMBER = 1204, "A number that cannot be what it was given for.";
    CPOISE_UNCERTAINTY_NOT_SQUARE = 1205, "The exact region of a correction needs as many planes as channels.";
    CPOISE_UNCERTAINTY_UNDETERMINED = 1206, "The coefficients do not determine a correction.";
    CPOISE_UNCERTAINTY_NOT_POSITIVE_DEFINITE = 1207, "A covariance that nothing can be drawn from, or numbers beyond range.";
    CPOISE_UNCERTAINTY_ABOVE_LIMIT = 1208, "A channel vibrates above its limit before any weight is mounted.";
    CPOISE_UNCERTAINTY_TOO_MANY = 1209, "More than is computed in one piece.";
    CPOISE_SYNCHRONOUS_TOO_FEW_MARKS = 1301, "Fewer marks than a rotation needs.";
    CPOISE_SYNCHRONOUS_MARK_OUT_OF_ORDER = 1302, "A mark that does not come after the one before it.";
    CPOISE_SYNCHRONOUS_BAD_NUMBER = 1303, "A number that cannot be what it was given for.";
    CPOISE_SYNCHRONOUS_FIRST_ORDER = 1304, "The first order is not once per turn.";
    CPOISE_SYNCHRONOUS_ORDERS_TOO_CLOSE = 1305, "Two orders that this record cannot tell apart.";
    CPOISE_SYNCHRONOUS_BEYOND_NYQUIST = 1306, "An order that the sampling cannot show.";
    CPOISE_SYNCHRONOUS_TOO_FEW_TURNS = 1307, "Fewer turns than an estimate with a scatter needs.";
    CPOISE_SYNCHRONOUS_SAMPLE_NOT_FINITE = 1308, "A sample that is not finite.";
    CPOISE_SYNCHRONOUS_UNDETERMINED = 1309, "The samples left do not determine the orders.";
    CPOISE_SYNCHRONOUS_BUFFER_FULL = 1310, "The streaming buffer filled up before the shaft passed its next marks.";
    CPOISE_SYNCHRONOUS_GEAR_RATIO = 1311, "A gear ratio that is not one.";
    CPOISE_SYNCHRONOUS_PULSES_UNCLEAR = 1312, "Pulses that no pattern of marks explains.";
    CPOISE_SYNCHRONOUS_PULSE_OUT_OF_ORDER = 1313, "A pulse that does not come after the one before it.";
    CPOISE_SYNCHRONOUS_NO_PULSES = 1314, "A tach channel without two levels.";
    CPOISE_SYNCHRONOUS_MARK_PATTERN = 1315, "A pattern of marks that is not one.";
    CPOISE_SYNCHRONOUS_RESPONSE_TABLE = 1316, "A table of the sensor's response that is not one.";
    CPOISE_SYNCHRONOUS_READING = 1317, "The vector does not make a reading of its channel.";
    CPOISE_SYNCHRONOUS_TOO_FEW_POINTS = 1318, "Fewer points than a sweep needs.";
    CPOISE_SYNCHRONOUS_OUTSIDE_MARKS = 1319, "An instant at which it is not known how far the shaft had turned.";
    CPOISE_TOLERANCE_BAD_NUMBER = 1401, "A number that cannot be what it was given for.";
    CPOISE_TOLERANCE_PLANES_COINCIDE = 1403, "Two planes that are one.";
    CPOISE_TOLERANCE_SHARE_LIMITS = 1404, "Limits of a share that are none.";
    CPOISE_TOLERANCE_SCALE = 1405, "Boundaries of a scale that do not rise.";
    CPOISE_TOLERANCE_NEGATIVE_ERROR = 1406, "Errors that cannot be combined.";
    CPOISE_READINESS_BLADES = 1451, "A number of blades that no propeller here has.";
    CPOISE_READINESS_BLADE_VALUE = 1452, "A value of a blade that is not finite, or is beyond 1e100.";
    CPOISE_READINESS_BAD_NUMBER = 1453, "A number that has to be positive and finite, or at least 0.";
    CPOISE_READINESS_SPEED_RANGE = 1454, "A range whose second end is below its first.";
    CPOISE_READINESS_COUNT = 1455, "A list has another length than it must have.";
    CPOISE_READINESS_SCATTER_UNKNOWN = 1456, "A reading without a scatter.";
    CPOISE_READINESS_DIFFERENT_CHANNELS = 1457, "A reading, then or now, that is not of the channel of its coefficients.";
    CPOISE_READINESS_PLANE = 1458, "A ring in a plane without coefficients.";
    CPOISE_READINESS_MOUNTED = 1459, "A hole says of another number of kinds than there are what is in it.";
    CPOISE_JOB_NO_CHANNELS = 1501, "A machine without channels.";
    CPOISE_JOB_REPEATED_CHANNEL = 1502, "A channel is named twice.";
    CPOISE_JOB_NO_PLANES = 1503, "A machine without correction planes.";
    CPOISE_JOB_RING_PLANE = 1504, "A ring in a plane that does not exist.";
    CPOISE_JOB_MOUNTED = 1505, "A hole says of another number of kinds than there are what is in it.";
    CPOISE_JOB_NO_SUCH = 1506, "A fact names something that the machine does not have.";
    CPOISE_JOB_NO_READING = 1507, "A run without a reading.";
    CPOISE_JOB_READING = 1508, "A reading that cannot be one.";
    CPOISE_JOB_NOT_THERE = 1509, "More pieces are taken off than there are.";
    CPOISE_JOB_TOO_MANY_PIECES = 1510, "More pieces in one hole than can be counted.";
    CPOISE_JOB_NO_WEIGHT = 1511, "A weight comes off that is not on.";
    CPOISE_JOB_AMENDS_LATER = 1512, "An amendment of something that is not before it.";
    CPOISE_JOB_AMENDMENT_INSTEAD = 1513, "An amendment that would put an amendment in the place of a fact.";
    CPOISE_JOB_VERSION = 1514, "A text of a version that this library does not know.";
    CPOISE_JOB_NOTHING_STORED = 1515, "No machine of a kind is stored.";
    CPOISE_JOB_STORED_DIFFER = 1516, "Machines of one kind whose coefficients are of other channels or planes.";
    CPOISE_JOB_ESTIMATE = 1517, "The coefficients cannot be estimated.";
    CPOISE_JOB_UNCERTAINTY = 1518, "The uncertainty cannot be computed.";
    CPOISE_JOB_NO_SUCH_IN_MACHINE = 1519, "Something is said of a channel, plane or ring that the machine does not have.";
    CPOISE_JOB_BAD_NUMBER = 1520, "A number that cannot be what it was given for.";
    CPOISE_JOB_TOO_MANY_IN_MACHINE = 1521, "A machine with more of something than is taken.";
    CPOISE_JOB_TOO_MUCH = 1522, "A record that makes more of something than is kept.";
}

/// What a status means, in one English sentence; static, never freed; never NULL. A number that is no status has a text
/// that says so. With the offending value it stands in the cpoise_detail.
#[unsafe(no_mangle)]
pub extern "C" fn cpoise_status_text(status: cpoise_status) -> *const c_char {
    guarded_value!(c"".as_ptr(), {
        ended(status).unwrap_or(c"This number is no status of this library.").as_ptr()
    })
}
