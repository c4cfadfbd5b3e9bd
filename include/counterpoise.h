/*
 * counterpoise: rotor-balancing mathematics. The C interface, for C99 and later and for C++.
 *
 * Made from the sources in ffi/src; not edited by hand.
 *
 * CONVENTIONS
 *
 * The signal is x(t) = Re(X exp(+jWt)), t = 0 when the mark on the shaft passes its pickup. X is a cpoise_vibration, in
 * the unit and detector of its channel. Places on the rotor are counted from the mark; a mass m at radius r and place b,
 * counted with the rotation, is the unbalance m r exp(+jb), a cpoise_unbalance_vector in g mm. A cpoise_influence is a
 * vibration per g mm: v = v0 + sum over planes of h u. There is this one convention inside. The caller's numbers become
 * canonical in the calls that take a cpoise_convention (how he counts phases and places), and come back through the same.
 *
 * Units stand in the names: _g, _mm, _g_mm, _rpm, _n, _deg. Angles that come back lie in [0, 360) degrees, never 360
 * itself; a zero vector has angle 0. The same input gives the same bits on every machine.
 *
 * CALLS
 *
 * - A call returns a cpoise_status: CPOISE_OK (0), or why nothing was done. A few plain look-ups cannot be refused, and
 *   return their value.
 * - Outputs are written only on CPOISE_OK. There are two exceptions: the detail, and used after CPOISE_BUFFER_TOO_SMALL.
 * - detail, always the last argument, is NULL or a cpoise_detail of the caller's own, which takes a text with the
 *   offending value. Statuses are tested; texts are for people and may change.
 * - Lists are a pointer and a count; a count of 0 goes with any pointer. Lists of results are a pointer, a capacity and
 *   used: how many were written. Where they do not fit, the status is CPOISE_BUFFER_TOO_SMALL, nothing is written, and
 *   used is how many there are: NULL with a capacity of 0 asks for it. Counts are in elements, and for text in bytes with
 *   the NUL at its end among them.
 * - Text that is passed in is UTF-8 that ends with a NUL. Text that is returned as const char* is static.
 * - Constants are int32_t with names, numbered from 1: a zero that was forgotten is refused.
 * - Structs that may grow begin with their size and are declared with their INIT macro; after it every member is zero,
 *   which means the default:  cpoise_x_options options = CPOISE_X_OPTIONS_INIT;
 * - One variable may be both input and output of a call. Lists may not overlap.
 * - Every call names the statuses it returns. CPOISE_MISALIGNED and CPOISE_INTERNAL_FAULT may come from any, and
 *   CPOISE_NULL_POINTER from any that takes a pointer.
 *
 * What no library can check and the caller must see to: a pointer that is not NULL leads to as many valid objects as its
 * count says; a handle came from its _new call and has not been freed.
 *
 * OWNERSHIP
 *
 * Plain structs and lists belong to the caller; nothing that is passed in is kept after the call. A handle (a pointer to
 * a type without members here) is made by a call that ends in _new and freed by the one that ends in _free; _free(NULL)
 * does nothing. Handles do not depend on each other: what one is made from may be freed before it.
 *
 * THREADS
 *
 * There is no global state. Calls without a handle may run in any number of threads. A const handle never changes, and
 * may be read by many threads at once; a handle that is not const may be used by one at a time.
 *
 * BUILDS
 *
 * Define CPOISE_NO_HEAP for a library that was built without a heap (cargo feature "alloc" off), and CPOISE_NO_JSON for one
 * without JSON: what it lacks is then not declared.
 *
 * A library with a heap and without std (feature "alloc" without "std") takes its memory from two functions of yours:
 *     void *cpoise_host_allocate(size_t bytes, size_t alignment);    NULL where there is none: the library then stops
 *     void cpoise_host_release(void *memory, size_t bytes, size_t alignment);
 *
 * The library computes. It never says that a machine may be run or flown: makers' approved data, local rules and licensed
 * personnel do.
 */

#ifndef COUNTERPOISE_H
#define COUNTERPOISE_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define CPOISE_VERSION_MAJOR 0
#define CPOISE_VERSION_MINOR 1
#define CPOISE_VERSION_PATCH 0
/** The version of this header: major * 1000000 + minor * 1000 + patch. */
#define CPOISE_VERSION (CPOISE_VERSION_MAJOR * 1000000u + CPOISE_VERSION_MINOR * 1000u + CPOISE_VERSION_PATCH)
#define CPOISE_VERSION_TEXT "0.1.0"

/* ================================================================================================================== */

/*
 * Versions: of the library, and of this binary interface.
 *
 * A program may compare what it was compiled with (the macros) with what it runs with (the calls). The number of the
 * binary interface rises with every change after which a compiled program would have to be compiled again; calls that
 * are only added do not raise it.
 */

/**
 * The number of the binary interface that this header describes.
 */
#define CPOISE_ABI_VERSION 1

/**
 * The version of the library that runs: major * 1000000 + minor * 1000 + patch, as CPOISE_VERSION.
 */
uint32_t cpoise_version(void);

/**
 * The version of the library that runs, as text such as "0.1.0"; static, never freed.
 */
const char *cpoise_version_text(void);

/**
 * The number of the binary interface of the library that runs: equal to CPOISE_ABI_VERSION where program and library
 * belong together.
 */
uint32_t cpoise_abi_version(void);

/* ================================================================================================================== */

/*
 * Statuses: what a call returns.
 *
 * 0 is done; every other number says what was refused, and then nothing was written but the detail. 1 to 99 are of the
 * C interface itself; from 100 on they are the numbers of the mathematics, the same as in Rust, by stage: 100 quantities,
 * 200 readings, 300 estimation, 400 correction, 500 moves, 600 first weights, 650 balancing without phase, 700 views,
 * 800 placement, 900 JSON, 1100 cross-examination, 1200 uncertainty, 1300 shaft marks and samples, 1400 tolerances,
 * 1450 before and after a job, 1500 the record. They are never renumbered or used again. A poor answer is no refusal: it
 * comes with cautions.
 */

/** Done. */
#define CPOISE_OK 0

/** A pointer that must lead somewhere is NULL. */
#define CPOISE_NULL_POINTER 1

/** A pointer is not aligned for what it should lead to. */
#define CPOISE_MISALIGNED 2

/** A list of that many elements cannot be in memory. */
#define CPOISE_COUNT_TOO_LARGE 3

/** A list has another length than it must have. */
#define CPOISE_WRONG_COUNT 4

/** There is not enough room for the results: the needed count was written to used. */
#define CPOISE_BUFFER_TOO_SMALL 5

/** A number that is none of the constants of its kind. */
#define CPOISE_UNKNOWN_CONSTANT 6

/** An option struct does not say its size: begin with its INIT macro. */
#define CPOISE_BAD_SIZE 7

/** A text is not UTF-8. */
#define CPOISE_NOT_UTF8 8

/** There is nothing of that index. */
#define CPOISE_NO_SUCH_INDEX 9

/** There is no such value here, which is no mistake: the description of the call says when. */
#define CPOISE_NO_VALUE 10

/** An integer is beyond what it may be. */
#define CPOISE_OUT_OF_RANGE 11

/** The call does not fit what the handle holds or has done before. */
#define CPOISE_WRONG_STATE 12

/** A fault of the library was caught; please report it. Free the handles of the call, and use them for nothing else. */
#define CPOISE_INTERNAL_FAULT 13

/** Not a number, or infinite. */
#define CPOISE_QUANTITY_NOT_FINITE 101

/** Zero or negative where only a positive number has a meaning. */
#define CPOISE_QUANTITY_NOT_POSITIVE 102

/** Negative where zero is the least that has a meaning. */
#define CPOISE_QUANTITY_NEGATIVE 103

/** So large or so small that results computed from it would overflow. */
#define CPOISE_QUANTITY_BEYOND_RANGE 104

/** A scatter of zero in amplitude or phase, or of no vibration at all. */
#define CPOISE_QUANTITY_WITHOUT_SCATTER 105

/** The bounds of a speed window are not positive and in order. */
#define CPOISE_READING_BAD_WINDOW 201

/** A reading taken at a speed for which its channel does not hold. */
#define CPOISE_READING_SPEED_OUTSIDE_WINDOW 202

/** Readings of two channels were put together. */
#define CPOISE_READING_DIFFERENT_CHANNELS 203

/** The declared law of speed takes the reading out of the range of numbers. */
#define CPOISE_READING_SCALING_BEYOND_RANGE 204

/** A 2x2 matrix that is no covariance. */
#define CPOISE_READING_NOT_A_COVARIANCE 205

/** Degrees of freedom that are not positive. */
#define CPOISE_READING_DEGREES_OF_FREEDOM 206

/** There is nothing to average. */
#define CPOISE_READING_NO_REPEATS 207

/** The trial weight makes no unbalance, or the same as was there before. */
#define CPOISE_ESTIMATE_ZERO_TRIAL 301

/** The vibration did not change with the trial weight, as far as the digits show. */
#define CPOISE_ESTIMATE_NO_RESPONSE 302

/** The two trial runs changed the unbalance of the two planes in proportion. */
#define CPOISE_ESTIMATE_PROPORTIONAL_TRIALS 303

/** There is no channel. */
#define CPOISE_ESTIMATE_NO_CHANNELS 304

/** There is no correction plane. */
#define CPOISE_ESTIMATE_NO_PLANES 305

/** There is no run. */
#define CPOISE_ESTIMATE_NO_RUNS 306

/** One channel is named twice. */
#define CPOISE_ESTIMATE_REPEATED_CHANNEL 307

/** A list has another length than it must have. */
#define CPOISE_ESTIMATE_COUNT 308

/** A run mounts a weight in a plane that the rotor does not have. */
#define CPOISE_ESTIMATE_PLANE_OUT_OF_RANGE 309

/** A run mounts an unbalance that is not finite. */
#define CPOISE_ESTIMATE_UNBALANCE_NOT_FINITE 310

/** A run has no reading. */
#define CPOISE_ESTIMATE_NO_READING 311

/** A run has a reading of a channel that was not named. */
#define CPOISE_ESTIMATE_UNKNOWN_CHANNEL 312

/** A run has two readings of one channel. */
#define CPOISE_ESTIMATE_REPEATED_READING 313

/** A reading says its weight where the estimator was told to expect variances, or the other way round. */
#define CPOISE_ESTIMATE_PRECISION 314

/** A prior was given to an estimator that has only relative weights. */
#define CPOISE_ESTIMATE_PRIOR_NEEDS_VARIANCES 315

/** A prior is for other channels or planes. */
#define CPOISE_ESTIMATE_PRIOR_DOES_NOT_FIT 316

/** An entry of a covariance matrix that cannot be one. */
#define CPOISE_ESTIMATE_COVARIANCE_ENTRY 317

/** The covariance of a prior is not positive definite. */
#define CPOISE_ESTIMATE_PRIOR_COVARIANCE 318

/** The runs do not determine all unknowns of a channel. */
#define CPOISE_ESTIMATE_UNDETERMINED 319

/** The numbers of the runs are so far apart in size that the result is not a finite number. */
#define CPOISE_ESTIMATE_NOT_REPRESENTABLE 320

/** A channel was asked for that was not named. */
#define CPOISE_ESTIMATE_CHANNEL_OUT_OF_RANGE 321

/** A list has another length than it must have. */
#define CPOISE_CORRECTION_COUNT 401

/** A reading does not belong to the channel in whose place it stands. */
#define CPOISE_CORRECTION_WRONG_CHANNEL 402

/** A channel weight that cannot be one. */
#define CPOISE_CORRECTION_CHANNEL_WEIGHT 403

/** The plane has no effect on the measuring point. */
#define CPOISE_CORRECTION_NO_INFLUENCE 404

/** All channels have weight zero. */
#define CPOISE_CORRECTION_NO_WEIGHT 405

/** A vibration that is not finite. */
#define CPOISE_CORRECTION_VIBRATION_NOT_FINITE 406

/** An unbalance that is not finite. */
#define CPOISE_CORRECTION_UNBALANCE_NOT_FINITE 407

/** A limit for a plane that the rotor does not have. */
#define CPOISE_CORRECTION_PLANE_OUT_OF_RANGE 408

/** A limit that is negative. */
#define CPOISE_CORRECTION_NEGATIVE_LIMIT 409

/** Some planes, or a combination of them, have no effect of their own at the measuring points. */
#define CPOISE_CORRECTION_INSEPARABLE_PLANES 410

/** The two planes have no effects of their own at the two measuring points. */
#define CPOISE_CORRECTION_PROPORTIONAL_PLANES 411

/** The numbers are so far apart in size that the result is not a finite number. */
#define CPOISE_CORRECTION_NOT_REPRESENTABLE 412

/** There is no place to put anything. */
#define CPOISE_RELOCATION_NO_PLACES 501

/** The two places do not have the wanted angle between them, the shorter way round. */
#define CPOISE_RELOCATION_NOT_BRACKETED 502

/** The two places lie on one line through the axis, and the wanted angle does not. */
#define CPOISE_RELOCATION_PLACES_IN_LINE 503

/** Two equal weights a quarter turn or more to either side do not add up to one between them. */
#define CPOISE_RELOCATION_SPREAD_TOO_WIDE 504

/** The most that a place may carry is less than nothing. */
#define CPOISE_RELOCATION_NEGATIVE_CAP 505

/** The new plane does nothing at the measuring points, so that no weight there has the wanted effect. */
#define CPOISE_RELOCATION_NO_EFFECT 506

/** The lists of influence coefficients and of weights do not belong to the same channels. */
#define CPOISE_RELOCATION_CHANNEL_COUNTS_DIFFER 507

/** Two correction planes at one station cannot take up a moment. */
#define CPOISE_RELOCATION_PLANES_COINCIDE 508

/** The search for the least mass did not come to its end, which is not known to happen on any input. */
#define CPOISE_RELOCATION_NOT_SETTLED 509

/** The speed is so near a resonance that the angle of the response is not known. */
#define CPOISE_FIRST_WEIGHT_NEAR_RESONANCE 601

/** A fraction that is not one. */
#define CPOISE_FIRST_WEIGHT_BAD_FRACTION 602

/** A stored influence coefficient of zero. */
#define CPOISE_FIRST_WEIGHT_NO_RESPONSE 603

/** The estimate leaves the range of numbers. */
#define CPOISE_FIRST_WEIGHT_ESTIMATE_BEYOND_RANGE 604

/** An estimate whose origin is not stated. */
#define CPOISE_FIRST_WEIGHT_NO_PROVENANCE 605

/** There is no reading as found. */
#define CPOISE_WITHOUT_PHASE_NO_AS_FOUND 651

/** There is no trial run. */
#define CPOISE_WITHOUT_PHASE_NO_TRIALS 652

/** A reading as found that cannot be an amplitude. */
#define CPOISE_WITHOUT_PHASE_AS_FOUND 653

/** A trial weight that makes no unbalance, or one beyond range. */
#define CPOISE_WITHOUT_PHASE_AMOUNT 654

/** A trial reading that cannot be an amplitude. */
#define CPOISE_WITHOUT_PHASE_AMPLITUDE 655

/** A ring without holes. */
#define CPOISE_VIEW_EMPTY_CIRCLE 701

/** Words for a viewpoint that could not be told apart again in a sentence. */
#define CPOISE_VIEW_BAD_VIEWPOINT 702

/** A hole number that no hole of the ring bears. */
#define CPOISE_VIEW_NO_SUCH_HOLE 703

/** A hole was named, and the view has none. */
#define CPOISE_VIEW_WITHOUT_HOLES 704

/** Words that are not those of a place. */
#define CPOISE_VIEW_UNREADABLE 705

/** Words for a person who stands elsewhere. */
#define CPOISE_VIEW_OTHER_VIEWPOINT 706

/** Words for a rotor that turns the other way. */
#define CPOISE_VIEW_OTHER_TURNING 707

/** Words that name other holes than the view has at that place. */
#define CPOISE_VIEW_OTHER_HOLES 708

/** Words for a rotor that was put at rest with its mark elsewhere. */
#define CPOISE_VIEW_OTHER_MARK 709

/** Words whose angle from the mark and angle from the top are not of one place. */
#define CPOISE_VIEW_OTHER_SEEN_ANGLE 710

/** Words whose hour is not that of their angle from the top. */
#define CPOISE_VIEW_OTHER_HOUR 711

/** No ring, or only rings without holes. */
#define CPOISE_PLACEMENT_NO_HOLES 801

/** No hardware. */
#define CPOISE_PLACEMENT_NO_HARDWARE 802

/** A piece without mass changes nothing. */
#define CPOISE_PLACEMENT_NO_MASS 803

/** A thickness below zero. */
#define CPOISE_PLACEMENT_NEGATIVE_THICKNESS 804

/** A limit below zero, or not a number. */
#define CPOISE_PLACEMENT_BAD_LIMIT 805

/** Nothing bounds the stack at a hole. */
#define CPOISE_PLACEMENT_NO_LIMIT 806

/** More different stacks at one hole than can be listed. */
#define CPOISE_PLACEMENT_TOO_MANY_STACKS 807

/** More holes than are taken. */
#define CPOISE_PLACEMENT_TOO_MANY_HOLES 808

/** The list of what is mounted is longer than the list of hardware. */
#define CPOISE_PLACEMENT_MOUNTED 809

/** A ring in a plane that the question does not have. */
#define CPOISE_PLACEMENT_PLANE_OUT_OF_RANGE 810

/** A list has another length than it must have. */
#define CPOISE_PLACEMENT_COUNT 811

/** A number of the question that must be finite and not negative. */
#define CPOISE_PLACEMENT_BAD_NUMBER 812

/** A vibration or wanted unbalance that is not finite. */
#define CPOISE_PLACEMENT_NOT_FINITE 813

/** The bound on memory leaves no room to search in. */
#define CPOISE_PLACEMENT_MEMORY_LIMIT 814

/** The largest possible moment, or what it does, is beyond the range of numbers. */
#define CPOISE_PLACEMENT_NOT_REPRESENTABLE 815

/** A limit for a plane that the question does not have. */
#define CPOISE_PLACEMENT_LIMITED_PLANE 816

/** All channel weights are zero. */
#define CPOISE_PLACEMENT_NO_WEIGHT 817

/** More planes than are taken. */
#define CPOISE_PLACEMENT_TOO_MANY_PLANES 818

/** Text that is not what was to be read. */
#define CPOISE_JSON_TEXT 900

/** There is no channel. */
#define CPOISE_EXAMINATION_NO_CHANNELS 1101

/** A channel is named twice. */
#define CPOISE_EXAMINATION_REPEATED_CHANNEL 1102

/** There is no plane. */
#define CPOISE_EXAMINATION_NO_PLANES 1103

/** An item in a plane that does not exist. */
#define CPOISE_EXAMINATION_NO_SUCH_PLANE 1104

/** An item of another examination. */
#define CPOISE_EXAMINATION_NO_SUCH_ITEM 1105

/** An item that is on the rotor twice. */
#define CPOISE_EXAMINATION_REPEATED_ITEM 1106

/** A reading of a channel that was not named. */
#define CPOISE_EXAMINATION_UNKNOWN_CHANNEL 1107

/** Two readings of one channel in one run. */
#define CPOISE_EXAMINATION_REPEATED_READING 1108

/** A reading that does not say how much it scatters. */
#define CPOISE_EXAMINATION_SCATTER_UNKNOWN 1109

/** A run without any reading. */
#define CPOISE_EXAMINATION_NO_READING 1110

/** There is no run. */
#define CPOISE_EXAMINATION_NO_RUNS 1111

/** A damping ratio that is none. */
#define CPOISE_EXAMINATION_DAMPING_RATIO 1112

/** The misfit of the runs is too large for a number. */
#define CPOISE_EXAMINATION_NOT_REPRESENTABLE 1113

/** Nothing says how the readings of a channel scatter. */
#define CPOISE_UNCERTAINTY_SCATTER_UNKNOWN 1201

/** A list has another length than it must have. */
#define CPOISE_UNCERTAINTY_COUNT 1202

/** A channel, plane or run that does not exist. */
#define CPOISE_UNCERTAINTY_OUT_OF_RANGE 1203

/** A number that cannot be what it was given for. */
#define CPOISE_UNCERTAINTY_BAD_NUMBER 1204

/** The exact region of a correction needs as many planes as channels. */
#define CPOISE_UNCERTAINTY_NOT_SQUARE 1205

/** The coefficients do not determine a correction. */
#define CPOISE_UNCERTAINTY_UNDETERMINED 1206

/** A covariance that nothing can be drawn from, or numbers beyond range. */
#define CPOISE_UNCERTAINTY_NOT_POSITIVE_DEFINITE 1207

/** A channel vibrates above its limit before any weight is mounted. */
#define CPOISE_UNCERTAINTY_ABOVE_LIMIT 1208

/** More points or samples than are taken. */
#define CPOISE_UNCERTAINTY_TOO_MANY 1209

/** Fewer marks than a rotation needs. */
#define CPOISE_SYNCHRONOUS_TOO_FEW_MARKS 1301

/** A mark that does not come after the one before it. */
#define CPOISE_SYNCHRONOUS_MARK_OUT_OF_ORDER 1302

/** A number that cannot be what it was given for. */
#define CPOISE_SYNCHRONOUS_BAD_NUMBER 1303

/** The first order is not once per turn. */
#define CPOISE_SYNCHRONOUS_FIRST_ORDER 1304

/** Two orders that this record cannot tell apart. */
#define CPOISE_SYNCHRONOUS_ORDERS_TOO_CLOSE 1305

/** An order that the sampling cannot show. */
#define CPOISE_SYNCHRONOUS_BEYOND_NYQUIST 1306

/** Fewer turns than an estimate with a scatter needs. */
#define CPOISE_SYNCHRONOUS_TOO_FEW_TURNS 1307

/** A sample that is not finite. */
#define CPOISE_SYNCHRONOUS_SAMPLE_NOT_FINITE 1308

/** The samples left do not determine the orders. */
#define CPOISE_SYNCHRONOUS_UNDETERMINED 1309

/** The streaming buffer filled up before the shaft passed its next marks. */
#define CPOISE_SYNCHRONOUS_BUFFER_FULL 1310

/** A gear ratio that is not one. */
#define CPOISE_SYNCHRONOUS_GEAR_RATIO 1311

/** Pulses that no pattern of marks explains. */
#define CPOISE_SYNCHRONOUS_PULSES_UNCLEAR 1312

/** A pulse that does not come after the one before it. */
#define CPOISE_SYNCHRONOUS_PULSE_OUT_OF_ORDER 1313

/** A tach channel without two levels. */
#define CPOISE_SYNCHRONOUS_NO_PULSES 1314

/** A pattern of marks that is not one. */
#define CPOISE_SYNCHRONOUS_MARK_PATTERN 1315

/** A table of the sensor's response that is not one. */
#define CPOISE_SYNCHRONOUS_RESPONSE_TABLE 1316

/** The vector does not make a reading of its channel. */
#define CPOISE_SYNCHRONOUS_READING 1317

/** Fewer points than a sweep needs. */
#define CPOISE_SYNCHRONOUS_TOO_FEW_POINTS 1318

/** An instant at which it is not known how far the shaft had turned. */
#define CPOISE_SYNCHRONOUS_OUTSIDE_MARKS 1319

/** A number that cannot be what it was given for. */
#define CPOISE_TOLERANCE_BAD_NUMBER 1401

/** Two planes that are one. */
#define CPOISE_TOLERANCE_PLANES_COINCIDE 1403

/** Limits of a share that are none. */
#define CPOISE_TOLERANCE_SHARE_LIMITS 1404

/** Boundaries of a scale that do not rise. */
#define CPOISE_TOLERANCE_SCALE 1405

/** Errors that cannot be combined. */
#define CPOISE_TOLERANCE_NEGATIVE_ERROR 1406

/** A number of blades that no propeller here has. */
#define CPOISE_READINESS_BLADES 1451

/** A value of a blade that is not finite, or is beyond 1e100. */
#define CPOISE_READINESS_BLADE_VALUE 1452

/** A number that has to be positive and finite, or at least 0. */
#define CPOISE_READINESS_BAD_NUMBER 1453

/** A range whose second end is below its first. */
#define CPOISE_READINESS_SPEED_RANGE 1454

/** A list has another length than it must have. */
#define CPOISE_READINESS_COUNT 1455

/** A reading without a scatter. */
#define CPOISE_READINESS_SCATTER_UNKNOWN 1456

/** A reading, then or now, that is not of the channel of its coefficients. */
#define CPOISE_READINESS_DIFFERENT_CHANNELS 1457

/** A ring in a plane without coefficients. */
#define CPOISE_READINESS_PLANE 1458

/** A hole says of another number of kinds than there are what is in it. */
#define CPOISE_READINESS_MOUNTED 1459

/** A machine without channels. */
#define CPOISE_JOB_NO_CHANNELS 1501

/** A channel is named twice. */
#define CPOISE_JOB_REPEATED_CHANNEL 1502

/** A machine without correction planes. */
#define CPOISE_JOB_NO_PLANES 1503

/** A ring in a plane that does not exist. */
#define CPOISE_JOB_RING_PLANE 1504

/** A hole says of another number of kinds than there are what is in it. */
#define CPOISE_JOB_MOUNTED 1505

/** A fact names something that the machine does not have. */
#define CPOISE_JOB_NO_SUCH 1506

/** A run without a reading. */
#define CPOISE_JOB_NO_READING 1507

/** A reading that cannot be one. */
#define CPOISE_JOB_READING 1508

/** More pieces are taken off than there are. */
#define CPOISE_JOB_NOT_THERE 1509

/** More pieces in one hole than can be counted. */
#define CPOISE_JOB_TOO_MANY_PIECES 1510

/** A weight comes off that is not on. */
#define CPOISE_JOB_NO_WEIGHT 1511

/** An amendment of something that is not before it. */
#define CPOISE_JOB_AMENDS_LATER 1512

/** An amendment that would put an amendment in the place of a fact. */
#define CPOISE_JOB_AMENDMENT_INSTEAD 1513

/** A text of a version that this library does not know. */
#define CPOISE_JOB_VERSION 1514

/** No machine of a kind is stored. */
#define CPOISE_JOB_NOTHING_STORED 1515

/** Machines of one kind whose coefficients are of other channels or planes. */
#define CPOISE_JOB_STORED_DIFFER 1516

/** The coefficients cannot be estimated. */
#define CPOISE_JOB_ESTIMATE 1517

/** The uncertainty cannot be computed. */
#define CPOISE_JOB_UNCERTAINTY 1518

/** A description of something that the machine does not have. */
#define CPOISE_JOB_NO_SUCH_IN_MACHINE 1519

/** A number that cannot be. */
#define CPOISE_JOB_BAD_NUMBER 1520

/** More of a kind than a machine may have. */
#define CPOISE_JOB_TOO_MANY_IN_MACHINE 1521

/** A record from which more would follow than can be kept. */
#define CPOISE_JOB_TOO_MUCH 1522

/**
 * CPOISE_OK, or why nothing was done.
 */
typedef int32_t cpoise_status;

/**
 * What a status means, in one English sentence; static, never freed; never NULL. A number that is no status has a text
 * that says so. With the offending value it stands in the cpoise_detail.
 */
const char *cpoise_status_text(cpoise_status status);

/* ================================================================================================================== */

/*
 * Detail: what was wrong, with the value.
 *
 * Every call that can be refused takes, last, a pointer to a cpoise_detail, or NULL. Why it is so and not otherwise: a
 * text that belongs to the caller's own variable cannot be that of another call or thread, needs no lock and no heap,
 * lives as long as the caller wants, works for calls with and without a handle alike, leaves const handles unchanged,
 * and a fixed array has no length to get wrong.
 */

/**
 * Bytes of a detail's text, the NUL at its end among them.
 */
#define CPOISE_DETAIL_BYTES 508

/**
 * What came of a call. Need not be filled in before; written by every call that it is given to: after a success the
 * status is CPOISE_OK and the text empty.
 */
typedef struct cpoise_detail {
  /**
   * What the call returned.
   */
  cpoise_status status;
  /**
   * What is wrong, with the offending value, in English, as UTF-8 that ends with a NUL. Cut off where it is longer
   * than there is room. Without a heap (CPOISE_NO_HEAP) the text of the status alone.
   */
  char text[CPOISE_DETAIL_BYTES];
} cpoise_detail;

/* ================================================================================================================== */

/*
 * Quantities: mass, length, radius, speed, unbalance, force, angle.
 *
 * Everywhere else in this header the unit stands in the name: _g (gram), _mm (millimetre), _rpm (revolution per
 * minute), _g_mm (gram millimetre), _n (newton), _deg (degree). Numbers in other units are converted here. The factors
 * are exact by definition (1 in = 25.4 mm, 1 lb = 453.59237 g, 1 oz = 28.349523125 g, 1 lbf = 4.4482216152605 N; the
 * international yard and pound agreement of 1959), and a conversion is one multiplication and one division.
 */

/* Units of mass. */

/** The gram. */
#define CPOISE_GRAM 1

/** The kilogram. */
#define CPOISE_KILOGRAM 2

/** The milligram. */
#define CPOISE_MILLIGRAM 3

/** The avoirdupois ounce. */
#define CPOISE_OUNCE 4

/** The avoirdupois pound. */
#define CPOISE_POUND 5

/* Units of length and of radius. */

/** The millimetre. */
#define CPOISE_MILLIMETRE 1

/** The metre. */
#define CPOISE_METRE 2

/** The centimetre. */
#define CPOISE_CENTIMETRE 3

/** The micrometre. */
#define CPOISE_MICROMETRE 4

/** The inch. */
#define CPOISE_INCH 5

/** The thousandth of an inch. */
#define CPOISE_MIL 6

/** The foot. */
#define CPOISE_FOOT 7

/* Units of rotational speed. */

/** The revolution per minute. */
#define CPOISE_REVOLUTION_PER_MINUTE 1

/** The revolution per second. */
#define CPOISE_HERTZ 2

/** The radian per second. */
#define CPOISE_RADIAN_PER_SECOND 3

/* Units of unbalance: mass times radius. */

/** The gram millimetre. */
#define CPOISE_GRAM_MILLIMETRE 1

/** The gram centimetre. */
#define CPOISE_GRAM_CENTIMETRE 2

/** The gram metre. */
#define CPOISE_GRAM_METRE 3

/** The gram inch. */
#define CPOISE_GRAM_INCH 4

/** The kilogram millimetre. */
#define CPOISE_KILOGRAM_MILLIMETRE 5

/** The kilogram metre. */
#define CPOISE_KILOGRAM_METRE 6

/** The ounce inch. */
#define CPOISE_OUNCE_INCH 7

/** The ounce millimetre. */
#define CPOISE_OUNCE_MILLIMETRE 8

/** The pound inch. */
#define CPOISE_POUND_INCH 9

/* Units of force. */

/** The newton. */
#define CPOISE_NEWTON 1

/** The pound-force. */
#define CPOISE_POUND_FORCE 2

/**
 * Converts a mass. Negative means material taken off.
 *
 * value: in units of from, a CPOISE_GRAM.. constant. result: in units of to.
 *
 * Refuses: not finite (101), beyond 1e50 g (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_mass_convert(double value, int32_t from, int32_t to, double *result, cpoise_detail *detail);

/**
 * Converts a length, such as the distance between planes or an eccentricity; of either sign.
 *
 * value: in units of from, a CPOISE_MILLIMETRE.. constant. result: in units of to.
 *
 * Refuses: not finite (101), beyond 1e50 mm (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_length_convert(double value, int32_t from, int32_t to, double *result, cpoise_detail *detail);

/**
 * Converts a radius: the distance of a weight from the axis, greater than zero.
 *
 * value: in units of from, a CPOISE_MILLIMETRE.. constant. result: in units of to.
 *
 * Refuses: not finite (101), not greater than zero (102), outside 1e-50 to 1e50 mm (104), CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_radius_convert(double value, int32_t from, int32_t to, double *result, cpoise_detail *detail);

/**
 * Converts a speed of rotation, greater than zero.
 *
 * value: in units of from, a CPOISE_REVOLUTION_PER_MINUTE.. constant. result: in units of to.
 *
 * Refuses: not finite (101), not greater than zero (102), outside 1e-50 to 1e50 rpm (104), CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_speed_convert(double value, int32_t from, int32_t to, double *result, cpoise_detail *detail);

/**
 * Converts an amount of unbalance: mass times radius.
 *
 * value: in units of from, a CPOISE_GRAM_MILLIMETRE.. constant. result: in units of to.
 *
 * Refuses: not finite (101), beyond 1e100 g mm (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_unbalance_convert(double value, int32_t from, int32_t to, double *result, cpoise_detail *detail);

/**
 * Converts a force.
 *
 * value: in units of from, a CPOISE_NEWTON.. constant. result: in units of to.
 *
 * Refuses: not finite (101), beyond 1e100 N (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_force_convert(double value, int32_t from, int32_t to, double *result, cpoise_detail *detail);

/**
 * The centrifugal force, in N, of an unbalance in g mm at a speed in rpm: F = U W^2.
 *
 * Refuses: an unbalance or a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_centrifugal_force(double unbalance_g_mm, double speed_rpm, double *force_n, cpoise_detail *detail);

/**
 * The unbalance, in g mm, whose centrifugal force at a speed in rpm is the given one in N: U = F / W^2.
 *
 * Refuses: a force or a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_unbalance_of_force(double force_n,
                                        double speed_rpm,
                                        double *unbalance_g_mm,
                                        cpoise_detail *detail);

/**
 * An angle in degrees reduced to [0, 360), without loss: never 360 itself, never a negative zero.
 *
 * Refuses: not finite (101), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_angle_reduce(double angle_deg, double *reduced_deg, cpoise_detail *detail);

/**
 * An angle in radians as degrees in [0, 360).
 *
 * Refuses: not finite (101), so large that its degrees overflow (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_angle_from_radians(double angle_rad, double *angle_deg, cpoise_detail *detail);

/**
 * An angle in degrees reduced to (-180, 180].
 *
 * Refuses: not finite (101), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_angle_signed(double angle_deg, double *signed_deg, cpoise_detail *detail);

/**
 * How far apart two angles in degrees are, the shorter way round: 0 to 180.
 *
 * Refuses: not finite (101), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_angle_separation(double angle_deg,
                                      double other_deg,
                                      double *separation_deg,
                                      cpoise_detail *detail);

/**
 * Sine and cosine of an angle in degrees, exact at multiples of 90, with the same bits on every machine.
 *
 * Refuses: not finite (101), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_angle_sine_cosine(double angle_deg, double *sine, double *cosine, cpoise_detail *detail);

/**
 * The symbol of a unit of mass, such as "g"; static, never freed.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_mass_unit_symbol(int32_t unit, const char **symbol, cpoise_detail *detail);

/**
 * The symbol of a unit of length, such as "mm"; static, never freed.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_length_unit_symbol(int32_t unit, const char **symbol, cpoise_detail *detail);

/**
 * The symbol of a unit of speed, such as "rpm"; static, never freed.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_speed_unit_symbol(int32_t unit, const char **symbol, cpoise_detail *detail);

/**
 * The symbol of a unit of unbalance, such as "g mm"; static, never freed.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_unbalance_unit_symbol(int32_t unit, const char **symbol, cpoise_detail *detail);

/**
 * The symbol of a unit of force, such as "N"; static, never freed.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_force_unit_symbol(int32_t unit, const char **symbol, cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Conventions: the caller's numbers become canonical ones here, and come back.
 *
 * A vibration, an unbalance vector and an influence coefficient are three types, so that a compiler tells them apart.
 * Each is canonical: whoever made it, and in whatever convention, it means the same.
 */

/* How phases are counted. */

/**
 * Degrees of shaft rotation from the mark's pulse to the next positive peak: X = A exp(-j phase). The trade's
 * usual reading.
 */
#define CPOISE_PHASE_LAG 1

/** The argument of the complex amplitude: X = A exp(+j phase). */
#define CPOISE_PHASE_LEAD 2

/* How places on the rotor are counted, from the mark. */

/** Places rise with the rotation: u = m r exp(+j place). */
#define CPOISE_WITH_ROTATION 1

/** Places rise against the rotation: u = m r exp(-j place). */
#define CPOISE_AGAINST_ROTATION 2

/**
 * The caller's pair of senses. There is no default: a zero is refused.
 */
typedef struct cpoise_convention {
  /**
   * How phases are counted: CPOISE_PHASE_LAG or CPOISE_PHASE_LEAD.
   */
  int32_t phase;
  /**
   * How places on the rotor are counted: CPOISE_WITH_ROTATION or CPOISE_AGAINST_ROTATION.
   */
  int32_t rotor;
} cpoise_convention;

/**
 * Vibration at a measuring point, once per revolution: x(t) = Re(X exp(+jWt)), t = 0 when the mark passes its pickup.
 * In the unit and detector of its channel.
 */
typedef struct cpoise_vibration {
  /**
   * Real part.
   */
  double re;
  /**
   * Imaginary part.
   */
  double im;
} cpoise_vibration;

/**
 * A mass at a place in a correction plane. Made by cpoise_weight_make from the caller's own sense.
 */
typedef struct cpoise_weight {
  /**
   * Mass in g; negative means material taken off.
   */
  double mass_g;
  /**
   * Distance from the axis in mm, greater than zero.
   */
  double radius_mm;
  /**
   * Place in degrees from the mark, counted with the rotation whatever the caller's sense is.
   */
  double angle_with_rotation_deg;
} cpoise_weight;

/**
 * Unbalance in a correction plane, with its place: m r exp(+jb), b counted from the mark with the rotation.
 */
typedef struct cpoise_unbalance_vector {
  /**
   * Towards the mark, in g mm.
   */
  double x_g_mm;
  /**
   * A quarter turn from the mark with the rotation, in g mm.
   */
  double y_g_mm;
} cpoise_unbalance_vector;

/**
 * Influence coefficient: vibration, in the unit of its channel, per unbalance in g mm. v = h u.
 */
typedef struct cpoise_influence {
  /**
   * Real part.
   */
  double re_per_g_mm;
  /**
   * Imaginary part.
   */
  double im_per_g_mm;
} cpoise_influence;

/**
 * A vibration from an amplitude and a phase in degrees, counted in the caller's sense.
 *
 * amplitude: in the unit and detector of the channel, not negative. vibration: written on success.
 *
 * Refuses: not finite (101), a negative amplitude (103), one beyond 1e100 (104), CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_vibration_from_polar(const struct cpoise_convention *convention,
                                          double amplitude,
                                          double phase_deg,
                                          struct cpoise_vibration *vibration,
                                          cpoise_detail *detail);

/**
 * Amplitude, and phase in degrees in [0, 360), counted in the caller's sense. A vibration of zero has phase 0.
 *
 * Refuses: a vibration that is not finite (101) or beyond 1e100 (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_vibration_to_polar(const struct cpoise_convention *convention,
                                        const struct cpoise_vibration *vibration,
                                        double *amplitude,
                                        double *phase_deg,
                                        cpoise_detail *detail);

/**
 * A place on the rotor in the caller's sense as degrees counted with the rotation, in [0, 360).
 *
 * Refuses: not finite (101), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_place_from_caller(const struct cpoise_convention *convention,
                                       double place_deg,
                                       double *with_rotation_deg,
                                       cpoise_detail *detail);

/**
 * A place counted with the rotation as degrees in the caller's sense, in [0, 360).
 *
 * Refuses: not finite (101), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_place_to_caller(const struct cpoise_convention *convention,
                                     double with_rotation_deg,
                                     double *place_deg,
                                     cpoise_detail *detail);

/**
 * A weight from its mass, its radius and its place in degrees from the mark, counted in the caller's sense.
 *
 * Refuses: not finite (101), a radius that is not greater than zero (102), beyond range (104),
 * CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_weight_make(const struct cpoise_convention *convention,
                                 double mass_g,
                                 double radius_mm,
                                 double place_deg,
                                 struct cpoise_weight *weight,
                                 cpoise_detail *detail);

/**
 * The unbalance vector that a weight makes: u = m r exp(+jb).
 *
 * Refuses: a weight with a number that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_weight_unbalance(const struct cpoise_weight *weight,
                                      struct cpoise_unbalance_vector *unbalance,
                                      cpoise_detail *detail);

/**
 * The weight at a radius that makes an unbalance: its mass is |u| / r.
 *
 * Refuses: numbers that cannot be what they stand for (101, 102, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_unbalance_weight(const struct cpoise_unbalance_vector *unbalance,
                                      double radius_mm,
                                      struct cpoise_weight *weight,
                                      cpoise_detail *detail);

/**
 * An unbalance vector from its amount in g mm and its place in degrees from the mark, counted in the caller's sense.
 *
 * Refuses: not finite (101), beyond range (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_unbalance_from_polar(const struct cpoise_convention *convention,
                                          double amount_g_mm,
                                          double place_deg,
                                          struct cpoise_unbalance_vector *unbalance,
                                          cpoise_detail *detail);

/**
 * Amount in g mm, and place in degrees in [0, 360) from the mark, counted in the caller's sense. An unbalance of zero has
 * place 0.
 *
 * Refuses: an unbalance that is not finite (101) or beyond 1e100 (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_unbalance_to_polar(const struct cpoise_convention *convention,
                                        const struct cpoise_unbalance_vector *unbalance,
                                        double *amount_g_mm,
                                        double *place_deg,
                                        cpoise_detail *detail);

/**
 * The vibration that an unbalance causes: v = h u.
 *
 * Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_times_unbalance(const struct cpoise_influence *influence,
                                               const struct cpoise_unbalance_vector *unbalance,
                                               struct cpoise_vibration *vibration,
                                               cpoise_detail *detail);

/**
 * Size, per g mm, and lead in degrees in [0, 360) of an influence coefficient: the response runs that far ahead of the
 * unbalance.
 *
 * Refuses: a coefficient that is not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_to_polar(const struct cpoise_influence *influence,
                                        double *size_per_g_mm,
                                        double *lead_deg,
                                        cpoise_detail *detail);

/* ================================================================================================================== */

/* Units of vibration: scale and detector, and conversion among them. */

/* What of a motion is measured. */

/** How far the point moves. */
#define CPOISE_DISPLACEMENT 1

/** How fast it moves. */
#define CPOISE_VELOCITY 2

/** How its velocity changes. */
#define CPOISE_ACCELERATION 3

/* Scales of vibration. */

/** Displacement in millimetres. */
#define CPOISE_SCALE_MILLIMETRE 1

/** Displacement in micrometres. */
#define CPOISE_SCALE_MICROMETRE 2

/** Displacement in thousandths of an inch. */
#define CPOISE_SCALE_MIL 3

/** Velocity in millimetres per second. */
#define CPOISE_SCALE_MILLIMETRE_PER_SECOND 4

/** Velocity in inches per second. */
#define CPOISE_SCALE_INCH_PER_SECOND 5

/** Acceleration in metres per second squared. */
#define CPOISE_SCALE_METRE_PER_SECOND_SQUARED 6

/** Acceleration in units of gravity, 9.80665 m/s^2. This is not the gram. */
#define CPOISE_SCALE_STANDARD_GRAVITY 7

/* What of a sinusoid is called its amplitude. */

/** Zero to peak. */
#define CPOISE_PEAK 1

/** Peak to peak: twice the peak. */
#define CPOISE_PEAK_TO_PEAK 2

/** Root mean square: the peak over the root of 2. */
#define CPOISE_RMS 3

/**
 * A scale with a detector, such as in/s peak.
 */
typedef struct cpoise_vibration_unit {
  /**
   * A CPOISE_SCALE_ constant.
   */
  int32_t scale;
  /**
   * CPOISE_PEAK, CPOISE_PEAK_TO_PEAK or CPOISE_RMS.
   */
  int32_t detector;
} cpoise_vibration_unit;

/**
 * What a scale measures: CPOISE_DISPLACEMENT, CPOISE_VELOCITY or CPOISE_ACCELERATION.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_vibration_scale_quantity(int32_t scale, int32_t *quantity, cpoise_detail *detail);

/**
 * The symbol of a scale, such as "mm/s"; static, never freed.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_vibration_scale_symbol(int32_t scale, const char **symbol, cpoise_detail *detail);

/**
 * A detector in words, such as "peak-to-peak"; static, never freed.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_detector_words(int32_t detector, const char **words, cpoise_detail *detail);

/**
 * Converts an amplitude from one unit to another. Between displacement, velocity and acceleration each derivative
 * multiplies by the angular speed.
 *
 * speed_rpm: the speed it was read at; it matters where the quantity changes.
 *
 * Refuses: an amplitude that is not finite (101) or a result that is not (104), a speed that cannot be one (101, 102,
 * 104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_vibration_convert_amplitude(double amplitude,
                                                 const struct cpoise_vibration_unit *from,
                                                 const struct cpoise_vibration_unit *to,
                                                 double speed_rpm,
                                                 double *result,
                                                 cpoise_detail *detail);

/**
 * Converts a vibration from one unit to another, with the quarter turn that its phase takes per derivative: velocity
 * leads displacement by 90 degrees.
 *
 * speed_rpm: the speed it was read at; it matters where the quantity changes.
 *
 * Refuses: a vibration that is not finite (101) or beyond 1e100 (104), before or after; a speed that cannot be one (101,
 * 102, 104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_vibration_convert(const cpoise_vibration *vibration,
                                       const struct cpoise_vibration_unit *from,
                                       const struct cpoise_vibration_unit *to,
                                       double speed_rpm,
                                       cpoise_vibration *result,
                                       cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Views: rings of holes, and words for a person at the rotor.
 *
 * A seen angle is counted clockwise from the top, as the hours on a clock, by a person who looks along the axis.
 */

/* Which way the rotor turns, as seen from the viewpoint. */

/** As the hands of a clock. */
#define CPOISE_CLOCKWISE 1

/** The other way. */
#define CPOISE_COUNTER_CLOCKWISE 2

/**
 * Ahead of the propeller, looking aft.
 */
#define CPOISE_VIEW_FRONT 1

/**
 * Behind the propeller, looking forward, as from the seat behind a tractor propeller.
 */
#define CPOISE_VIEW_REAR 2

/**
 * In the caller's own words.
 */
#define CPOISE_VIEW_NAMED 3

/**
 * Evenly spaced holes on the rotor. An index counts them from 0 in the order of their numbers; a number is what is
 * written beside the hole.
 */
typedef struct cpoise_hole_circle {
  /**
   * How many holes: 1 to 65535.
   */
  uint32_t count;
  /**
   * The number beside the first hole, mostly 1: 0 to 65535.
   */
  uint32_t first_number;
  /**
   * The sense in which the numbers rise: CPOISE_WITH_ROTATION or CPOISE_AGAINST_ROTATION.
   */
  int32_t sense;
  /**
   * The place of the first hole in degrees from the mark, counted with the rotation whatever the sense is.
   */
  double first_with_rotation_deg;
} cpoise_hole_circle;

/**
 * How a person sees the rotor at rest, ready for the work.
 */
typedef struct cpoise_view {
  /**
   * CPOISE_VIEW_FRONT, CPOISE_VIEW_REAR or CPOISE_VIEW_NAMED.
   */
  int32_t viewpoint;
  /**
   * Which way the rotor turns as seen from there: CPOISE_CLOCKWISE or CPOISE_COUNTER_CLOCKWISE.
   */
  int32_t turning;
  /**
   * Where the mark stands when the rotor is at rest for the work: its seen angle in degrees, 0 at 12 o'clock.
   */
  double mark_deg;
  /**
   * For CPOISE_VIEW_NAMED the words that follow "seen from", such as "the drive end", UTF-8; else not read.
   */
  const char *words;
  /**
   * For CPOISE_VIEW_NAMED the words for the side across the rotor; else not read.
   */
  const char *other_side_words;
  /**
   * The ring of holes, or NULL for none.
   */
  const struct cpoise_hole_circle *holes;
} cpoise_view;

/**
 * The place of a hole in degrees from the mark, counted with the rotation.
 *
 * index: from 0 in the order of the numbers.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX; a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hole_place(const struct cpoise_hole_circle *ring,
                                uint32_t index,
                                double *with_rotation_deg,
                                cpoise_detail *detail);

/**
 * The number beside a hole.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX; a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hole_number(const struct cpoise_hole_circle *ring,
                                 uint32_t index,
                                 uint32_t *number,
                                 cpoise_detail *detail);

/**
 * The index of the hole that bears a number.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX where none bears it; a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE,
 * CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hole_index(const struct cpoise_hole_circle *ring,
                                uint32_t number,
                                uint32_t *index,
                                cpoise_detail *detail);

/**
 * The index of the hole nearest to a place; half way between two, the one before it in the order of the numbers.
 *
 * Refuses: a place that is not finite (101); a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE,
 * CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hole_nearest(const struct cpoise_hole_circle *ring,
                                  double with_rotation_deg,
                                  uint32_t *index,
                                  cpoise_detail *detail);

/**
 * Where a place lies among the holes. at: 1 where it is at a hole, within 1e-9 degrees, whose index is then both before
 * and after; 0 where it lies after the one and before the other, in the order of the numbers.
 *
 * Refuses: a place that is not finite (101); a ring that cannot be (101, 701, CPOISE_OUT_OF_RANGE,
 * CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hole_neighbours(const struct cpoise_hole_circle *ring,
                                     double with_rotation_deg,
                                     int32_t *at,
                                     uint32_t *before,
                                     uint32_t *after,
                                     cpoise_detail *detail);

/**
 * The same rotor at rest as the person across it sees it. The words and the ring are those of the view given, and not
 * copied.
 *
 * Refuses: a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_from_the_other_side(const struct cpoise_view *view,
                                              struct cpoise_view *other_side,
                                              cpoise_detail *detail);

/**
 * The seen angle, in degrees clockwise from the top, of a place on the rotor at rest.
 *
 * Refuses: a place that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_seen(const struct cpoise_view *view,
                               double with_rotation_deg,
                               double *seen_deg,
                               cpoise_detail *detail);

/**
 * The place on the rotor at rest, counted with the rotation, that stands at a seen angle.
 *
 * Refuses: an angle that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_place_seen_at(const struct cpoise_view *view,
                                        double seen_deg,
                                        double *with_rotation_deg,
                                        cpoise_detail *detail);

/**
 * The place, counted with the rotation, of the hole that bears a number.
 *
 * Refuses: no such hole (703), a view without holes (704); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_place_of_hole(const struct cpoise_view *view,
                                        uint32_t number,
                                        double *with_rotation_deg,
                                        cpoise_detail *detail);

/**
 * A fixed direction seen clockwise from the top, such as that of a sensor, as degrees counted with the rotation from the
 * top: what is asked for a first weight.
 *
 * Refuses: an angle that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_space_angle(const struct cpoise_view *view,
                                      double seen_deg,
                                      double *space_deg,
                                      cpoise_detail *detail);

/**
 * The hour of a clock, 1 to 12, to which a place is nearest as it is seen; half way, the later.
 *
 * Refuses: a place that is not finite (101); a view that cannot be (101, 701, 702, CPOISE_NOT_UTF8,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_hour(const struct cpoise_view *view,
                               double with_rotation_deg,
                               uint32_t *hour,
                               cpoise_detail *detail);

/**
 * A place in words that a person can act on, such as "seen from the front, turning clockwise, 96 deg against rotation
 * from the mark, between holes 6 and 7".
 *
 * sense: in which the angle from the mark is counted, CPOISE_WITH_ROTATION or CPOISE_AGAINST_ROTATION. decimals: of the
 * degrees, 0 to 17. at_rest: not 0 adds where the place is seen when the mark stands as the view says. text: room for
 * capacity bytes; used: the bytes written, the NUL among them.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL; a place that is not finite (101); decimals beyond 17 (CPOISE_OUT_OF_RANGE); a view
 * that cannot be (101, 701, 702, CPOISE_NOT_UTF8, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_words(const struct cpoise_view *view,
                                double with_rotation_deg,
                                int32_t sense,
                                uint32_t decimals,
                                int32_t at_rest,
                                char *text,
                                size_t capacity,
                                size_t *used,
                                cpoise_detail *detail);

/**
 * Reads such words back: the place, counted with the rotation, to the precision at which its angle was written.
 * Everything else in the words is checked against the view.
 *
 * words: UTF-8 that ends with a NUL.
 *
 * Refuses: words that are not those of a place (705) or contradict the view (703, 704, 706 to 711), CPOISE_NOT_UTF8; a
 * view that cannot be (101, 701, 702, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_view_read(const struct cpoise_view *view,
                               const char *words,
                               double *with_rotation_deg,
                               cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * One and two planes in closed form: no state, no heap.
 *
 * One plane: h = (v1 - v0) / u, correction w = -v / h. Two planes and two measuring points: three runs, H = R D^-1 with
 * D the changes of what is mounted and R those of the vibration; w = -H^-1 v. T. P. Goodman, "A Least-Squares Method for
 * Computing Balance Corrections", Journal of Engineering for Industry 86 (1964), has the general case.
 *
 * Corrections are what to add to what is mounted now.
 */

/**
 * One of the three runs of two planes.
 */
typedef struct cpoise_two_plane_run {
  /**
   * What is mounted in each plane, counted from the bare rotor. A trial weight that stays on is said again.
   */
  cpoise_unbalance_vector mounted[2];
  /**
   * What each measuring point reads.
   */
  cpoise_vibration vibration[2];
} cpoise_two_plane_run;

/**
 * The four influence coefficients of two planes and two measuring points.
 */
typedef struct cpoise_two_planes {
  /**
   * At the first measuring point: of the first plane, of the second.
   */
  cpoise_influence at_first_point[2];
  /**
   * At the second measuring point: of the first plane, of the second.
   */
  cpoise_influence at_second_point[2];
} cpoise_two_planes;

/**
 * The influence coefficient of one plane from two runs: h = (v1 - v0) / change.
 *
 * change: what was mounted for the second run and not for the first.
 *
 * Refuses: no change of what is mounted (301), readings equal to rounding (302), a quotient beyond the range of numbers
 * (320), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_one_plane_from_trial(const cpoise_vibration *as_found,
                                          const cpoise_vibration *with_trial,
                                          const cpoise_unbalance_vector *change,
                                          cpoise_influence *influence,
                                          cpoise_detail *detail);

/**
 * What to add in one plane so that the vibration becomes zero: w = -v / h.
 *
 * now: the vibration with what is mounted now.
 *
 * Refuses: a coefficient of zero (404), a quotient beyond the range of numbers (412), numbers that are not finite (101)
 * or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_one_plane_correction(const cpoise_influence *influence,
                                          const cpoise_vibration *now,
                                          cpoise_unbalance_vector *add,
                                          cpoise_detail *detail);

/**
 * The vibration after adding an unbalance in one plane: v + h w.
 *
 * Refuses: a coefficient of zero (404), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_one_plane_predicted(const cpoise_influence *influence,
                                         const cpoise_vibration *now,
                                         const cpoise_unbalance_vector *added,
                                         cpoise_vibration *then,
                                         cpoise_detail *detail);

/**
 * The influence coefficients of two planes from three runs: the two later ones against the first.
 *
 * runs: an array of three.
 *
 * Refuses: a later run that mounts the same as the first (301) or reads the same at both points (302), changes in
 * proportion (303), a result beyond the range of numbers (320), numbers that are not finite (101) or beyond 1e100 (104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_two_planes_from_runs(const struct cpoise_two_plane_run *runs,
                                          struct cpoise_two_planes *planes,
                                          cpoise_detail *detail);

/**
 * What to add in each plane so that both vibrations become zero: w = -H^-1 v.
 *
 * now: the vibrations at the two points, an array of two. add: by plane, an array of two.
 *
 * Refuses: planes that act in proportion, to rounding (411), a result beyond the range of numbers (412), numbers that
 * are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_two_planes_correction(const struct cpoise_two_planes *planes,
                                           const cpoise_vibration *now,
                                           cpoise_unbalance_vector *add,
                                           cpoise_detail *detail);

/**
 * The vibrations after adding an unbalance in each plane: v + H w.
 *
 * now, then: at the two points, arrays of two. added: by plane, an array of two.
 *
 * Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_two_planes_predicted(const struct cpoise_two_planes *planes,
                                          const cpoise_vibration *now,
                                          const cpoise_unbalance_vector *added,
                                          cpoise_vibration *then,
                                          cpoise_detail *detail);

/**
 * The largest over the least singular value of H: how much worse than the readings the weights may be. Infinite where
 * the planes act in proportion.
 *
 * Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_two_planes_condition_number(const struct cpoise_two_planes *planes,
                                                 double *condition_number,
                                                 cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Limits: where they come from, and verdicts with a guard band.
 *
 * Every limit that the library knows says how it got here. A figure from memory was recalled, not read: check it against
 * a copy of its source before relying on it. A program shows kind and source wherever it shows the limit.
 */

/* How a number got here. */

/** Read in the source that is named. */
#define CPOISE_READ 1

/** Recalled from the source that is named, and not read in it. */
#define CPOISE_FROM_MEMORY 2

/** Common practice, without a source. */
#define CPOISE_COMMON_PRACTICE 3

/** Stated by the caller. */
#define CPOISE_OF_CALLER 4

/* A verdict with a guard band (the idea of JCGM 106:2012). */

/** value + expanded uncertainty <= limit. */
#define CPOISE_WITHIN 1

/** value - expanded uncertainty > limit. */
#define CPOISE_OUTSIDE 2

/** Neither: measure better, or longer. */
#define CPOISE_UNDECIDED 3

/**
 * Bytes of a source's text, the NUL at its end among them.
 */
#define CPOISE_SOURCE_BYTES 196

/**
 * Where a number comes from, and how it got here.
 */
typedef struct cpoise_provenance {
  /**
   * CPOISE_READ, CPOISE_FROM_MEMORY, CPOISE_COMMON_PRACTICE or CPOISE_OF_CALLER.
   */
  int32_t kind;
  /**
   * The source: author, title, year, place; UTF-8 that ends with a NUL. Empty for common practice and for the caller's
   * own numbers.
   */
  char source[CPOISE_SOURCE_BYTES];
} cpoise_provenance;

/**
 * A number that something is compared with, and where it comes from.
 */
typedef struct cpoise_limit {
  /**
   * The number, in the unit that the call says.
   */
  double value;
  /**
   * Where it comes from.
   */
  struct cpoise_provenance provenance;
} cpoise_limit;

/**
 * The verdict on a value with an expanded uncertainty k u against a limit, all in one unit: CPOISE_WITHIN,
 * CPOISE_OUTSIDE or CPOISE_UNDECIDED. What is not a number is undecided, and so is all with an uncertainty below zero.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_conformity_of(double value,
                                   double expanded_uncertainty,
                                   double limit,
                                   int32_t *conformity,
                                   cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Tolerances: how much unbalance may stay.
 *
 * Balance quality grades and their allocation to two planes (ISO 21940-11:2016), errors of a balance (ISO 21940-14), other
 * rules. Each limit says where it comes from; figures from memory say so in their provenance.
 */

/**
 * Gyroscopes, precision spindles. Grades are in mm/s.
 */
#define CPOISE_GRADE_G0_4 0.4

/**
 * Grinding machine drives.
 */
#define CPOISE_GRADE_G1 1.0

/**
 * Gas and steam turbines, compressors, machine-tool drives, electric motors of some size and speed.
 */
#define CPOISE_GRADE_G2_5 2.5

/**
 * Fans, pumps, general machinery, aircraft gas turbines, small electric motors, water turbines.
 */
#define CPOISE_GRADE_G6_3 6.3

/**
 * Drive shafts, crushing and agricultural machinery.
 */
#define CPOISE_GRADE_G16 16.0

/**
 * Car wheels and drive shafts.
 */
#define CPOISE_GRADE_G40 40.0

/**
 * Complete reciprocating engines.
 */
#define CPOISE_GRADE_G100 100.0

/**
 * Crankshaft drives of diesel engines, the first of four steps.
 */
#define CPOISE_GRADE_G250 250.0

/**
 * Crankshaft drives of diesel engines, the second step.
 */
#define CPOISE_GRADE_G630 630.0

/**
 * Crankshaft drives of diesel engines, the third step.
 */
#define CPOISE_GRADE_G1600 1600.0

/**
 * Crankshaft drives of large slow diesel engines, unbalanced by design.
 */
#define CPOISE_GRADE_G4000 4000.0

/**
 * The least share of a plane, wherever the centre of mass lies (ISO 21940-11:2016, from memory).
 */
#define CPOISE_SHARE_LEAST 0.3

/**
 * The greatest share where the centre of mass lies between the planes (ISO 21940-11:2016, from memory).
 */
#define CPOISE_SHARE_MOST_INBOARD 0.7

/**
 * The greatest share where it lies outside, as of an overhung rotor (ISO 21940-11:2016, from memory).
 */
#define CPOISE_SHARE_MOST_OVERHUNG 1.3

/**
 * What each of two tolerance planes may keep.
 */
typedef struct cpoise_allocation {
  /**
   * The part of plane A and that of plane B, in g mm.
   */
  double amounts_g_mm[2];
  /**
   * The shares that the lever gives, with their signs: they sum to 1.
   */
  double shares[2];
  /**
   * For each plane 1 where its share was held at a limit, else 0.
   */
  int32_t limited[2];
  /**
   * 1 where the centre of mass lies between the planes, else 0.
   */
  int32_t inboard;
} cpoise_allocation;

/**
 * The permissible residual unbalance, in g mm, of a rotor at its highest service speed: U = 1000 G m / W, m in kg.
 *
 * grade_mm_per_s: a CPOISE_GRADE_ constant, or another. mass_g: of the rotor, in g.
 *
 * Refuses: a grade that is not positive or beyond 1e9 (1401), a mass or a speed that cannot be one (101, 102, 104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_grade_permissible(double grade_mm_per_s,
                                       double mass_g,
                                       double speed_rpm,
                                       cpoise_limit *permissible_g_mm,
                                       cpoise_detail *detail);

/**
 * The permissible specific unbalance, in mm, at a speed: e = G / W, the distance of the centre of mass from the axis.
 *
 * Refuses: a grade that is not positive or beyond 1e9 (1401), a speed that cannot be one (101, 102, 104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_grade_specific_unbalance(double grade_mm_per_s,
                                              double speed_rpm,
                                              cpoise_limit *specific_mm,
                                              cpoise_detail *detail);

/**
 * The grade, in mm/s, that a rotor has with a residual unbalance at a speed: G = U W / (1000 m).
 *
 * Refuses: no mass, or no unbalance (1401); numbers that cannot be what they stand for (101, 102, 104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_grade_of_residual(double residual_g_mm,
                                       double mass_g,
                                       double speed_rpm,
                                       double *grade_mm_per_s,
                                       cpoise_detail *detail);

/**
 * 4 W/N: what a tolerance plane may keep, in g mm, with W the static load on its journal, given as a mass (API 617, 610).
 *
 * Refuses: a load that is not positive (1401), numbers that cannot be what they stand for (101, 102, 104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_journal_rule(double static_load_g,
                                  double speed_rpm,
                                  cpoise_limit *permissible_g_mm,
                                  cpoise_detail *detail);

/**
 * The naval rule, in g mm, with the mass of the whole rotor (MIL-STD-167-1, 1974): in oz in with W in lb, up to 150 rpm
 * 0.177 W, up to 1000 rpm 4000 W/N^2, above 4 W/N. The ranges below 1000 rpm are from memory, and the limit says so.
 *
 * Refuses: a mass that is not positive (1401), numbers that cannot be what they stand for (101, 102, 104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_naval_rule(double rotor_g,
                                double speed_rpm,
                                cpoise_limit *permissible_g_mm,
                                cpoise_detail *detail);

/**
 * The least, in g mm, that a coupling need not go below: 0.01 oz in (API 671, secondary source).
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_coupling_floor(cpoise_limit *floor_g_mm, cpoise_detail *detail);

/**
 * The shaft vibration, in mm peak to peak, that a shop test permits: 0.0254 sqrt(12000/N), at most 0.0254 (API 617,
 * secondary source).
 *
 * Refuses: a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_shop_test_vibration(double speed_rpm, cpoise_limit *vibration_mm, cpoise_detail *detail);

/**
 * A permissible unbalance shared between two tolerance planes by the lever, each share held within limits.
 *
 * plane_a_mm, plane_b_mm, centre_of_mass_mm: where they lie along the axis, from any point on it. least_share,
 * most_share: CPOISE_SHARE_LEAST with CPOISE_SHARE_MOST_INBOARD or CPOISE_SHARE_MOST_OVERHUNG; 0 and INFINITY for none.
 *
 * Refuses: planes at one place (1403), limits that are none (1404), numbers that cannot be what they stand for (101,
 * 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_allocate(double plane_a_mm,
                              double plane_b_mm,
                              double centre_of_mass_mm,
                              double permissible_g_mm,
                              double least_share,
                              double most_share,
                              struct cpoise_allocation *allocation,
                              cpoise_detail *detail);

/**
 * A permissible unbalance shared in equal halves: two correction planes of a rotor that is symmetric (H. P. Bloch,
 * F. K. Geitner, Machinery Component Maintenance and Repair, 3rd ed., fig. 6-33).
 *
 * Refuses: an amount that cannot be one (101, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_allocate_symmetric(double permissible_g_mm,
                                        struct cpoise_allocation *allocation,
                                        cpoise_detail *detail);

/**
 * Limits of an overhung rotor, or of one whose correction planes lie close together, in g mm: what the resultant of all
 * unbalances may be, (U/2)(d/2c), and what each of the two couple planes may carry, (U/2)(3d/4b). From memory, with little
 * confidence: check it against a copy.
 *
 * bearing_span_mm: d. overhang_mm: c, of the static plane. couple_planes_apart_mm: b.
 *
 * Refuses: a distance that is not positive (1401), numbers that cannot be what they stand for (101, 104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_static_couple_limits(double permissible_g_mm,
                                          double bearing_span_mm,
                                          double overhang_mm,
                                          double couple_planes_apart_mm,
                                          cpoise_limit *resultant_g_mm,
                                          cpoise_limit *couple_per_plane_g_mm,
                                          cpoise_detail *detail);

/**
 * What indexing by half a turn takes apart: the rotor's own unbalance, (u1 - u2)/2, and that of the fixture it sits on,
 * (u1 + u2)/2 (the idea of ISO 21940-14, from memory).
 *
 * first, turned: the indicated unbalance as first put on, and with the rotor turned by half a turn on the fixture, both at
 * the angles of the fixture. rotor: at the angles of the first reading.
 *
 * Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_index_by_half_turn(const cpoise_unbalance_vector *first,
                                        const cpoise_unbalance_vector *turned,
                                        cpoise_unbalance_vector *rotor,
                                        cpoise_unbalance_vector *fixture,
                                        cpoise_detail *detail);

/**
 * Errors that do not repeat, taken together, in g mm: the root of the sum of their squares (ISO 21940-14, from memory).
 *
 * errors_g_mm: a list of count.
 *
 * Refuses: an error that is below zero (1406), numbers that cannot be what they stand for (101, 104),
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_combined_error(const double *errors_g_mm,
                                    size_t count,
                                    double *combined_g_mm,
                                    cpoise_detail *detail);

/**
 * The verdict on a measured residual against a permissible one, with the error of the measurement, all in g mm. The
 * producer accepts below the limit by the error, the user rejects above it by the error (ISO 21940-14, from memory); an
 * error that is negligible is left out where it stands against acceptance.
 *
 * conformity: CPOISE_WITHIN, CPOISE_OUTSIDE or CPOISE_UNDECIDED.
 *
 * Refuses: numbers that cannot be what they stand for (101, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_accepted_with_error(double measured_g_mm,
                                         double permissible_g_mm,
                                         double error_g_mm,
                                         int32_t *conformity,
                                         cpoise_detail *detail);

/**
 * Whether an error, 0 or more, is so small that it may be left out: below 5 % of the permissible unbalance (ISO 21940-14,
 * from memory). Both in g mm; negligible: 1 or 0.
 *
 * Refuses: numbers that cannot be what they stand for (101, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_error_is_negligible(double error_g_mm,
                                         double permissible_g_mm,
                                         int32_t *negligible,
                                         cpoise_detail *detail);

/**
 * The guard band of a limit with an expanded uncertainty k u, in one unit: a value up to L - k u is surely within, one
 * above L + k u surely outside. The verdict is that of cpoise_conformity_of.
 *
 * Refuses: a limit that is not a positive number, an uncertainty that is negative or not finite (1401),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_guard_band(double limit,
                                double expanded_uncertainty,
                                double *accepted_up_to,
                                double *rejected_above,
                                cpoise_detail *detail);

/**
 * How likely it is, 0 to 1, that the size of a vector is within a limit, where it was measured as so large with a standard
 * uncertainty per component: 1 - Q1(r/u, L/u) (S. O. Rice, Mathematical analysis of random noise, 1944; a flat prior). All
 * in one unit.
 *
 * Refuses: size and limit outside 0 to 1e100, an uncertainty outside 1e-100 to 1e100 (1401), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_chance_of_vector_within(double size,
                                             double standard_uncertainty_per_component,
                                             double limit,
                                             double *chance,
                                             cpoise_detail *detail);

/**
 * How likely it is, 0 to 1, that a value is within an upper limit, where it was measured with a standard uncertainty:
 * Phi((L - r)/u). All in one unit.
 *
 * Refuses: value and limit outside 0 to 1e100, an uncertainty outside 1e-100 to 1e100 (1401), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_chance_of_value_within(double value,
                                            double standard_uncertainty,
                                            double limit,
                                            double *chance,
                                            cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Severity: how severe a vibration is.
 *
 * Zones of machines (ISO 20816 and older), a scale of the caller's own, limits of propellers. Each limit says where it comes
 * from; figures from memory say so in their provenance.
 */

/* The zones of the evaluation standards, from the best on. */

/** As of machines newly put into service. */
#define CPOISE_ZONE_A 1

/** As is found acceptable for long-term running. */
#define CPOISE_ZONE_B 2

/** As is found not satisfactory for long-term running. */
#define CPOISE_ZONE_C 3

/** As is found severe enough to cause damage. */
#define CPOISE_ZONE_D 4

/* Groups of machines of ISO 20816-3, by size. */

/** Group 1: above 300 kW, or electrical machines of 315 mm shaft height and more. */
#define CPOISE_MACHINE_LARGE 1

/** Group 2: 15 to 300 kW, or electrical machines of 160 to 315 mm shaft height. */
#define CPOISE_MACHINE_MEDIUM 2

/* What a machine stands on. */

/** The lowest natural frequency of machine and support lies well above the frequency of rotation. */
#define CPOISE_SUPPORT_RIGID 1

/** Anything else. */
#define CPOISE_SUPPORT_FLEXIBLE 2

/* Classes of machines of the older ISO 10816-1, annex B. */

/** Small machines, such as electric motors up to 15 kW. */
#define CPOISE_CLASS_I 1

/** Medium machines, 15 to 75 kW, or up to 300 kW on special foundations. */
#define CPOISE_CLASS_II 2

/** Large machines on rigid and heavy foundations. */
#define CPOISE_CLASS_III 3

/** Large machines on soft foundations. */
#define CPOISE_CLASS_IV 4

/* What the amplitude of a propeller's vibration asks for. */

/** At or below what is called a good result: nothing to do. */
#define CPOISE_PROPELLER_GOOD 1

/** Below the most that is permitted, and above a good result: balancing would better it. */
#define CPOISE_PROPELLER_PERMITTED 2

/** Above what is permitted: balance. */
#define CPOISE_PROPELLER_BALANCE 3

/** So large that static balancing, and a look at the machine, come first. */
#define CPOISE_PROPELLER_STATIC_FIRST 4

/**
 * Three boundaries between four zones, in a unit. Filled by the calls below, or by the caller with his own.
 */
typedef struct cpoise_severity_zones {
  /**
   * The unit of the boundaries.
   */
  cpoise_vibration_unit unit;
  /**
   * A/B, B/C and C/D: positive and rising.
   */
  double boundaries[3];
  /**
   * Where they come from.
   */
  cpoise_provenance provenance;
} cpoise_severity_zones;

/**
 * Amplitudes that a propeller's vibration is judged by, in in/s. Filled by cpoise_propeller_limits_usual; the maker's own
 * limits go before those.
 */
typedef struct cpoise_propeller_limits {
  /**
   * The detector of the limits: CPOISE_PEAK, CPOISE_PEAK_TO_PEAK or CPOISE_RMS.
   */
  int32_t detector;
  /**
   * What is called a good result.
   */
  cpoise_limit good;
  /**
   * The most that is permitted.
   */
  cpoise_limit most;
  /**
   * Above it static balancing comes first.
   */
  cpoise_limit static_first;
} cpoise_propeller_limits;

/**
 * Zones for vibration of parts that do not rotate, in mm/s RMS (ISO 20816-3:2022, from memory; check it against a copy).
 *
 * group: CPOISE_MACHINE_LARGE or CPOISE_MACHINE_MEDIUM. support: CPOISE_SUPPORT_RIGID or CPOISE_SUPPORT_FLEXIBLE.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_zones_iso_20816_3(int32_t group,
                                       int32_t support,
                                       struct cpoise_severity_zones *zones,
                                       cpoise_detail *detail);

/**
 * The same in displacement, um RMS (ISO 20816-3:2022, from memory; check it against a copy).
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_zones_iso_20816_3_displacement(int32_t group,
                                                    int32_t support,
                                                    struct cpoise_severity_zones *zones,
                                                    cpoise_detail *detail);

/**
 * Zones of the older classes, in mm/s RMS (ISO 10816-1:1995, annex B, from memory; check it against a copy).
 *
 * class_of_machine: CPOISE_CLASS_I to CPOISE_CLASS_IV.
 *
 * Refuses: CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_zones_iso_10816_1(int32_t class_of_machine,
                                       struct cpoise_severity_zones *zones,
                                       cpoise_detail *detail);

/**
 * Zones for vibration of the shaft in its bearings at a speed, um peak to peak: 4800, 9000 and 13200 over sqrt(N) (ISO
 * 7919-3, secondary source).
 *
 * Refuses: a speed that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_zones_shaft_displacement(double speed_rpm,
                                              struct cpoise_severity_zones *zones,
                                              cpoise_detail *detail);

/**
 * The zone of an amplitude in a unit, read at a speed: CPOISE_ZONE_A to CPOISE_ZONE_D. A value on a boundary belongs to the
 * better zone; what is no amplitude, being below zero or not a number, is put into the worst.
 *
 * Refuses: boundaries that do not rise (1405), a speed that cannot be one (101, 102, 104), CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_zone_of(const struct cpoise_severity_zones *zones,
                             double amplitude,
                             const cpoise_vibration_unit *unit,
                             double speed_rpm,
                             int32_t *zone,
                             cpoise_detail *detail);

/**
 * What a change of the vector has to exceed to be significant: 25 % of the boundary B/C, in the zones' unit (ISO 20816-1,
 * secondary source).
 *
 * Refuses: boundaries that do not rise (1405), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_significant_change(const struct cpoise_severity_zones *zones,
                                        cpoise_limit *change,
                                        cpoise_detail *detail);

/**
 * Whether once per turn changed significantly between two readings in a unit at a speed: the vectors are compared, as an
 * amplitude may stay while the phase turns. significant: 1 or 0.
 *
 * Refuses: boundaries that do not rise (1405), numbers that cannot be what they stand for (101, 102, 104),
 * CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_is_significant_change(const struct cpoise_severity_zones *zones,
                                           const cpoise_vibration *before,
                                           const cpoise_vibration *after,
                                           const cpoise_vibration_unit *unit,
                                           double speed_rpm,
                                           int32_t *significant,
                                           cpoise_detail *detail);

/**
 * The step of a scale of the caller's own to which an amplitude belongs.
 *
 * unit: of the scale. up_to: the greatest value of each step, a list of count, positive and rising. amplitude: in
 * amplitude_unit, read at a speed. step: its index, or count where it is above the last or is no amplitude.
 *
 * Refuses: steps that do not rise (1405), a speed that cannot be one (101, 102, 104), CPOISE_COUNT_TOO_LARGE,
 * CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_own_scale_step(const cpoise_vibration_unit *unit,
                                    const double *up_to,
                                    size_t count,
                                    double amplitude,
                                    const cpoise_vibration_unit *amplitude_unit,
                                    double speed_rpm,
                                    size_t *step,
                                    cpoise_detail *detail);

/**
 * The usual limits: 0.1 in/s and below is a good result, and above about 1 in/s static balancing comes first (common
 * practice, no source); a propeller maker's owner's manuals permit or recommend 0.2 in/s. A maker's own limit goes before
 * it: write it into most.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_propeller_limits_usual(struct cpoise_propeller_limits *limits,
                                            cpoise_detail *detail);

/**
 * What an amplitude in a unit, read at a speed, asks for: CPOISE_PROPELLER_GOOD to CPOISE_PROPELLER_STATIC_FIRST. What is
 * no amplitude, being below zero or not a number, asks for the most.
 *
 * Refuses: limits that are not finite (101), a speed that cannot be one (101, 102, 104), CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_propeller_judge(const struct cpoise_propeller_limits *limits,
                                     double amplitude,
                                     const cpoise_vibration_unit *unit,
                                     double speed_rpm,
                                     int32_t *asks_for,
                                     cpoise_detail *detail);

/**
 * The verdict on an amplitude with an expanded uncertainty, both in a unit, against the most that is permitted:
 * CPOISE_WITHIN, CPOISE_OUTSIDE or CPOISE_UNDECIDED.
 *
 * Refuses: limits that are not finite (101), a speed that cannot be one (101, 102, 104), CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_propeller_conformity(const struct cpoise_propeller_limits *limits,
                                          double amplitude,
                                          double expanded_uncertainty,
                                          const cpoise_vibration_unit *unit,
                                          double speed_rpm,
                                          int32_t *conformity,
                                          cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Before and after a job: blades against one another, and what a person is reminded of.
 *
 * What differs from blade to blade shakes a propeller once per turn as an unbalance does, and no weight mends it. Blades
 * are counted from 0. The makers' limits go before those here.
 */

/**
 * The most blades that are taken.
 */
#define CPOISE_MOST_BLADES 6

/**
 * Before anything is run.
 */
#define CPOISE_BEFORE_FIRST_RUN 1

/**
 * Before every run.
 */
#define CPOISE_BEFORE_EVERY_RUN 2

/**
 * When the speed is reached, before a reading is taken.
 */
#define CPOISE_DURING_RUN 3

/**
 * After every run, before the rotor is touched.
 */
#define CPOISE_AFTER_EVERY_RUN 4

/**
 * Whenever a weight is put on.
 */
#define CPOISE_WHEN_MOUNTING 5

/**
 * When the job is done.
 */
#define CPOISE_AT_THE_END 6

/**
 * Blades against one another.
 */
typedef struct cpoise_blades {
  /**
   * From the least to the largest value.
   */
  double spread;
  /**
   * How far each blade lies from the mean of all; 0 where there is no such blade.
   */
  double apart_from_mean[6];
  /**
   * The blade farthest from the mean; of several the first.
   */
  size_t standing_out;
  /**
   * The verdict on the spread: CPOISE_WITHIN, CPOISE_OUTSIDE or CPOISE_UNDECIDED.
   */
  int32_t conformity;
} cpoise_blades;

/**
 * Something a person is reminded of.
 */
typedef struct cpoise_reminder {
  /**
   * Its stable number.
   */
  int32_t code;
  /**
   * When it is due, such as CPOISE_BEFORE_FIRST_RUN.
   */
  int32_t moment;
  /**
   * 1 where it is for any rotor, 0 where it is for a propeller on its engine, which all are for.
   */
  int32_t any_rotor;
  /**
   * 1 where a person can be hurt if it is not followed, else 0. Then approved data, local rules and licensed personnel
   * decide what is done.
   */
  int32_t can_hurt;
  /**
   * Where it comes from.
   */
  cpoise_provenance provenance;
} cpoise_reminder;

/**
 * The track of 2 to 6 blades: how far forward or aft of any mark, all from the same, the tip of each passes, in mm.
 *
 * offsets_mm: a list of count, in the order of the blades' numbers. limit_mm, expanded_uncertainty_mm: what the spread is
 * judged with; an uncertainty below zero decides nothing.
 *
 * Refuses: another number of blades (1451), a value that is not finite (101) or beyond 1e100 (104), a limit or uncertainty
 * likewise, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_blade_track(const double *offsets_mm,
                                 size_t count,
                                 double limit_mm,
                                 double expanded_uncertainty_mm,
                                 struct cpoise_blades *blades,
                                 cpoise_detail *detail);

/**
 * The angles at which 2 to 6 blades are set, at one station of each, in degrees.
 *
 * angles_deg: a list of count, in the order of the blades' numbers. limit_deg, expanded_uncertainty_deg: what the spread is
 * judged with; an uncertainty below zero, or numbers that are not finite, decide nothing.
 *
 * Refuses: another number of blades (1451), an angle that is not finite or beyond 1e100 (1452), CPOISE_COUNT_TOO_LARGE,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_blade_angles(const double *angles_deg,
                                  size_t count,
                                  double limit_deg,
                                  double expanded_uncertainty_deg,
                                  struct cpoise_blades *blades,
                                  cpoise_detail *detail);

/**
 * What the track of blades may spread where the maker's limit is not known, in mm: of a metal propeller up to 6 ft across,
 * of a wooden one, and of any.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_blade_track_limits(cpoise_limit *metal_to_six_feet_mm,
                                        cpoise_limit *wood_mm,
                                        cpoise_limit *common_practice_mm,
                                        cpoise_detail *detail);

/**
 * About what the angles of blades may spread where the maker's limit is not known, in degrees: common practice, no source.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_blade_angles_limit(cpoise_limit *limit_deg,
                                        cpoise_detail *detail);

/**
 * How many reminders there are. They are counted from 0, in the order in which they are due.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_reminder_count(size_t *reminders, cpoise_detail *detail);

/**
 * A reminder. They are the usual ones of the trade; the makers' approved data, local rules and licensed personnel go before
 * them.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_reminder_of(size_t index,
                                 struct cpoise_reminder *reminder,
                                 cpoise_detail *detail);

/**
 * What a reminder says to do.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_reminder_text(size_t index, char *words, size_t capacity, size_t *used, cpoise_detail *detail);

/**
 * Why.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_reminder_reason(size_t index, char *words, size_t capacity, size_t *used, cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Channels and readings: a sensor at a speed, what it read, and how precise that is.
 *
 * Readings that are put together must be of equal channels: sensor, unit, phase sense, window and law. "Variance" is
 * always per real component.
 */

/* How the response to one unbalance grows with speed, away from resonance. */

/** Far below resonance: displacement grows as the 2nd power of speed, velocity as the 3rd, acceleration as the 4th. */
#define CPOISE_LAW_STIFFNESS_CONTROLLED 1

/**
 * Far above resonance: displacement does not change with speed, velocity grows as the 1st power, acceleration as
 * the 2nd.
 */
#define CPOISE_LAW_MASS_CONTROLLED 2

/**
 * No law: a reading outside the channel's window is refused.
 */
#define CPOISE_LAW_NONE 0

/**
 * The scatter is stated, as good as exact: limits come from chi-squared.
 */
#define CPOISE_DEGREES_KNOWN 1

/**
 * One variance for all components was estimated, with so many real degrees of freedom: limits come from F.
 */
#define CPOISE_DEGREES_CIRCULAR 2

/**
 * A full covariance was estimated with so many degrees of freedom, readings less one: limits come from Hotelling's T^2.
 */
#define CPOISE_DEGREES_FULL 3

/**
 * A reading has a weight up to a common factor, such as the number of readings averaged.
 */
#define CPOISE_PRECISION_RELATIVE 1

/**
 * A reading has a scatter: stated, or estimated from repeated readings.
 */
#define CPOISE_PRECISION_SCATTER 2

/**
 * A measuring point at a speed. Made by cpoise_channel_make.
 */
typedef struct cpoise_channel {
  /**
   * The caller's number of the sensor: 0 to 65535.
   */
  uint32_t sensor;
  /**
   * How the phases of its readings are counted: CPOISE_PHASE_LAG or CPOISE_PHASE_LEAD.
   */
  int32_t phase;
  /**
   * The unit of its readings.
   */
  cpoise_vibration_unit unit;
  /**
   * The lowest speed it holds for.
   */
  double lowest_rpm;
  /**
   * The speed it is meant for.
   */
  double nominal_rpm;
  /**
   * The highest speed it holds for.
   */
  double highest_rpm;
  /**
   * CPOISE_LAW_NONE, or the law that brings readings at any speed to the nominal one.
   */
  int32_t law;
} cpoise_channel;

/**
 * The scatter of one vibration: the covariance of its two components, in the channel's unit squared.
 */
typedef struct cpoise_scatter {
  /**
   * The variance of the real part.
   */
  double re_re;
  /**
   * The covariance of the two parts.
   */
  double re_im;
  /**
   * The variance of the imaginary part.
   */
  double im_im;
  /**
   * How well it is known: CPOISE_DEGREES_KNOWN, CPOISE_DEGREES_CIRCULAR or CPOISE_DEGREES_FULL.
   */
  int32_t degrees_kind;
  /**
   * Degrees of freedom; not read where it is known.
   */
  double degrees_of_freedom;
} cpoise_scatter;

/**
 * One reading of one channel. Made by cpoise_reading_make.
 */
typedef struct cpoise_reading {
  /**
   * The channel it belongs to.
   */
  struct cpoise_channel channel;
  /**
   * The vibration as it was read, canonical.
   */
  cpoise_vibration vibration;
  /**
   * The speed it was taken at.
   */
  double speed_rpm;
  /**
   * CPOISE_PRECISION_RELATIVE or CPOISE_PRECISION_SCATTER.
   */
  int32_t precision;
  /**
   * With CPOISE_PRECISION_RELATIVE: what multiplies the squared residual, 1 for a single reading.
   */
  double weight;
  /**
   * With CPOISE_PRECISION_SCATTER.
   */
  struct cpoise_scatter scatter;
} cpoise_reading;

/**
 * A channel of a sensor, which the caller numbers as he likes, with a window of so many percent to either side of its
 * nominal speed; away from resonances one percent is common practice (no source). Other bounds, and a law, are written
 * into its members.
 *
 * phase: CPOISE_PHASE_LAG or CPOISE_PHASE_LEAD.
 *
 * Refuses: a window that does not hold the nominal speed (201), a speed that cannot be one (101, 102, 104), a sensor
 * beyond 65535 (CPOISE_OUT_OF_RANGE), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_channel_make(uint32_t sensor,
                                  const cpoise_vibration_unit *unit,
                                  int32_t phase,
                                  double nominal_rpm,
                                  double percent,
                                  struct cpoise_channel *channel,
                                  cpoise_detail *detail);

/**
 * A reading from an amplitude in the channel's unit and a phase in degrees, counted as the channel says, taken at a speed.
 * Its precision is a weight of 1; write another, or a scatter, into its members.
 *
 * Refuses: a speed outside the channel's window where it has no law (202), numbers that cannot be what they stand for
 * (101 to 104), a channel that cannot be one (201, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_reading_make(const struct cpoise_channel *channel,
                                  double amplitude,
                                  double phase_deg,
                                  double speed_rpm,
                                  struct cpoise_reading *reading,
                                  cpoise_detail *detail);

/**
 * Amplitude in the channel's unit, and phase in degrees in [0, 360), counted as the channel says.
 *
 * Refuses: numbers that cannot be what they stand for (101, 102, 104), a channel that cannot be one (201,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_channel_polar(const struct cpoise_channel *channel,
                                   const cpoise_vibration *vibration,
                                   double *amplitude,
                                   double *phase_deg,
                                   cpoise_detail *detail);

/**
 * The vibration of a reading as it would be at the nominal speed, and the factor that the channel's law multiplies it
 * with: 1 without a law. factor may be NULL.
 *
 * Refuses: a reading that cannot be one (101 to 104, 201, 202, 205, 206, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_reading_at_nominal_speed(const struct cpoise_reading *reading,
                                              cpoise_vibration *vibration,
                                              double *factor,
                                              cpoise_detail *detail);

/**
 * How the vibration changed since an earlier reading of the same channel, both at the nominal speed.
 *
 * Refuses: readings of two channels (203), a reading that cannot be one (101 to 104, 201, 202, 205, 206,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_reading_change(const struct cpoise_reading *reading,
                                    const struct cpoise_reading *earlier,
                                    cpoise_vibration *change,
                                    cpoise_detail *detail);

/**
 * A stated standard deviation of each component, in the channel's unit, as a scatter that is known.
 *
 * Refuses: one that is not a positive number (101, 102, 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_scatter_known(double standard_deviation, struct cpoise_scatter *scatter, cpoise_detail *detail);

/**
 * Stated standard deviations of the amplitude, in the channel's unit, and of the phase, in degrees, of a vibration: s_A^2
 * along it and (A s_phi)^2 across it, to first order.
 *
 * Refuses: one that is negative or not finite, or both components without scatter (101 to 104), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_scatter_known_polar(const cpoise_vibration *vibration,
                                         double amplitude_deviation,
                                         double phase_deviation_deg,
                                         struct cpoise_scatter *scatter,
                                         cpoise_detail *detail);

/**
 * Both scatters at once, as of a reading that repeats and drifts: covariances add; degrees of freedom by Welch and
 * Satterthwaite (JCGM 100:2008, G.4.1).
 *
 * Refuses: a scatter that cannot be one (205, 206, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_scatter_plus(const struct cpoise_scatter *one,
                                  const struct cpoise_scatter *other,
                                  struct cpoise_scatter *sum,
                                  cpoise_detail *detail);

/**
 * The semi-axes, larger first, of the ellipse about a vibration that holds the truth with a confidence, such as 0.95, in
 * the channel's unit; infinite where the scatter is known too little.
 *
 * Refuses: a scatter that cannot be one (205, 206, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_scatter_semi_axes(const struct cpoise_scatter *scatter,
                                       double confidence,
                                       double *larger,
                                       double *smaller,
                                       cpoise_detail *detail);

/* ================================================================================================================== */

/*
 * Samples and shaft marks to once per turn: tach channel, pulse gate, and the streaming form, all without a heap.
 *
 * Least squares in the angle of the shaft: orders, a constant and a slow drift, so that neither leakage nor a drifting
 * speed bends it. The scatter comes from the residuals near once per turn.
 *
 * The order of calls is: a sample, then the marks that passed up to it. The clock of samples and marks begins with the first
 * sample, at 0 s.
 */

/* Which edge of a pulse is the mark. */

/** From the low level to the high one. */
#define CPOISE_EDGE_RISING 1

/** From the high level to the low one. */
#define CPOISE_EDGE_FALLING 2

/* Which way a sensor counts as positive. */

/** Motion along the sensor's direction gives positive samples. */
#define CPOISE_POLARITY_ALONG 1

/** It gives negative samples. */
#define CPOISE_POLARITY_AGAINST 2

/**
 * The largest number of orders that are fitted together in one piece; a stream takes up to 4.
 */
#define CPOISE_MOST_ORDERS 8

/**
 * Samples were left out as saturated. A bit in the cautions of a vector.
 */
#define CPOISE_VECTOR_SATURATED 1

/**
 * So few turns that the scatter is hardly known. A bit in the cautions of a vector.
 */
#define CPOISE_VECTOR_FEW_TURNS 2

/**
 * Once per turn is not the same in both halves of the record. A bit in the cautions of a vector.
 */
#define CPOISE_VECTOR_TREND 4

/**
 * The speed changed much while the record was made. A bit in the cautions of a vector.
 */
#define CPOISE_VECTOR_SPEED_RANGE 8

/**
 * How the memory of a stream is aligned, in bytes.
 */
#define CPOISE_STREAM_ALIGNMENT 8

/**
 * The most points of a chain's response.
 */
#define CPOISE_MOST_RESPONSE_POINTS 64

/**
 * An extraction while the samples come in, in memory of the caller's: there is nothing to free.
 */
typedef struct cpoise_stream cpoise_stream;

/**
 * The state of a tach reader: plain memory of the caller's, made by cpoise_tach_reader_make.
 */
typedef struct cpoise_tach_reader {
  /**
   * Nothing in it is to be read or written by the caller.
   */
  uint64_t opaque[16];
} cpoise_tach_reader;

/**
 * The state of a pulse gate: plain memory of the caller's, made by cpoise_pulse_gate_make.
 */
typedef struct cpoise_pulse_gate {
  /**
   * Nothing in it is to be read or written by the caller.
   */
  uint64_t opaque[24];
} cpoise_pulse_gate;

/**
 * A passing of a mark.
 */
typedef struct cpoise_mark {
  /**
   * The instant on the clock of the samples: that of the first sample is 0.
   */
  double seconds;
  /**
   * How far the shaft had turned: a whole number whenever the reference mark passes its pickup.
   */
  double turns;
} cpoise_mark;

/**
 * Which orders are extracted, and how the samples were taken. Declared with CPOISE_EXTRACTION_INIT.
 */
typedef struct cpoise_extraction {
  /**
   * The size of this struct, as its INIT macro sets it.
   */
  size_t size;
  /**
   * Samples a second: up to 1e9.
   */
  double rate_hertz;
  /**
   * Orders of the rotor, once per turn (1) first: what is strong in the signal should be named. NULL for once per turn
   * alone.
   */
  const double *orders;
  /**
   * How many there are: up to CPOISE_MOST_ORDERS, or 0.
   */
  size_t order_count;
  /**
   * Not 0 where samples at or beyond the two values below are left out as saturated.
   */
  int32_t saturates;
  /**
   * The converter's lower end.
   */
  double lowest;
  /**
   * The converter's upper end.
   */
  double highest;
} cpoise_extraction;

/**
 * How a chain answers at one frequency, against how it answers where its sensitivity was stated.
 */
typedef struct cpoise_response_point {
  /**
   * The frequency.
   */
  double hertz;
  /**
   * The amplitude that comes out, as a share of what the sensitivity says.
   */
  double gain;
  /**
   * How far what comes out is ahead of the vibration; negative where it lags.
   */
  double phase_lead_deg;
} cpoise_response_point;

/**
 * A sensor with its chain: what makes a reading of a vector. Declared with CPOISE_SENSOR_CHAIN_INIT.
 */
typedef struct cpoise_sensor_chain {
  /**
   * The size of this struct, as its INIT macro sets it.
   */
  size_t size;
  /**
   * The scale of the samples times per_unit: a CPOISE_SCALE_ constant.
   */
  int32_t scale;
  /**
   * CPOISE_POLARITY_ALONG (also 0) or CPOISE_POLARITY_AGAINST.
   */
  int32_t polarity;
  /**
   * Vibration in the scale per unit of the samples: the inverse of the sensitivity; positive.
   */
  double per_unit;
  /**
   * How late a sample is after what it shows, against the clock of the marks, in s: 0 to 1000.
   */
  double delay_seconds;
  /**
   * How it answers against frequency, in rising order; NULL for alike everywhere.
   */
  const struct cpoise_response_point *response;
  /**
   * How many points there are: up to CPOISE_MOST_RESPONSE_POINTS.
   */
  size_t response_count;
  /**
   * The standard uncertainty of its gain, as a share: 0 to 1.
   */
  double gain_uncertainty;
  /**
   * The standard uncertainty of its phase, in degrees: 0 to 360.
   */
  double phase_uncertainty_deg;
} cpoise_sensor_chain;

/**
 * What a record says: orders at the mean speed, in the unit of the samples, zero to peak.
 */
typedef struct cpoise_synchronous_vector {
  /**
   * How many orders there are.
   */
  size_t order_count;
  /**
   * The vector of every order, once per turn first; what is beyond the count is 0.
   */
  cpoise_vibration vectors[CPOISE_MOST_ORDERS];
  /**
   * 1 where the scatter of once per turn is known.
   */
  int32_t has_scatter;
  /**
   * CPOISE_VECTOR_ bits: what makes it a poor one.
   */
  uint32_t cautions;
  /**
   * The scatter of once per turn, from the residuals near it.
   */
  cpoise_scatter scatter;
  /**
   * The mean of the signal.
   */
  double mean;
  /**
   * The slow drift of the signal, per second.
   */
  double drift_per_second;
  /**
   * Root of the mean square of the residuals: what is neither an order nor drift.
   */
  double residual_rms;
  /**
   * The mean speed between the first and the last mark.
   */
  double mean_rpm;
  /**
   * That of the slowest stretch between two marks.
   */
  double lowest_rpm;
  /**
   * That of the fastest.
   */
  double highest_rpm;
  /**
   * Turns between the first and the last mark.
   */
  double turns;
  /**
   * Samples that were used.
   */
  uint64_t samples_used;
  /**
   * Samples that were left out as saturated.
   */
  uint64_t samples_saturated;
  /**
   * How rare a difference as between the halves of the record would be by chance; NaN where nothing scatters.
   */
  double chance_of_trend;
  /**
   * 1 where a chain and a channel were given, and the readings below are made.
   */
  int32_t has_reading;
  /**
   * The reading of the channel, with its scatter; what is the same in every run, as the calibration, is left out.
   */
  cpoise_reading reading;
  /**
   * The same with the uncertainty of the calibration, for a comparison with a limit.
   */
  cpoise_reading calibrated_reading;
} cpoise_synchronous_vector;

/**
 * The two levels of a tach channel from a record of it. An edge is where the signal passes half-way between them.
 *
 * samples: a list of count; what is not finite is passed over. low, high: the levels.
 *
 * Refuses: samples that do not lie about two levels, as noise does not (1314), CPOISE_COUNT_TOO_LARGE,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_tach_levels_found(const double *samples,
                                       size_t count,
                                       double *low,
                                       double *high,
                                       cpoise_detail *detail);

/**
 * Makes a reader of a tach channel, sample by sample.
 *
 * low, high: its levels. edge: CPOISE_EDGE_RISING or CPOISE_EDGE_FALLING. rate_hertz: samples a second.
 *
 * Refuses: a high level that is not above the low one (1314), a rate that is not positive or beyond 1e9 (1303),
 * CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_tach_reader_make(double low,
                                      double high,
                                      int32_t edge,
                                      double rate_hertz,
                                      struct cpoise_tach_reader *reader,
                                      cpoise_detail *detail);

/**
 * The next sample of a tach channel. found: 1 where an edge is now sure, whose instant, in s, is then written to seconds;
 * else 0. A sample that is not finite is no edge.
 *
 * Refuses: a reader that was not made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_tach_reader_sample(struct cpoise_tach_reader *reader,
                                        double sample,
                                        int32_t *found,
                                        double *seconds,
                                        cpoise_detail *detail);

/**
 * Makes a gate that makes marks of pulses as they come, leaving out spurious ones and bridging missing ones.
 *
 * marks: evenly spaced on the shaft, at least 1; the first pulse is taken as the reference. The speeds are those within
 * which the shaft turns.
 *
 * Refuses: no marks (1315), a window that does not hold its nominal speed (201), a speed that cannot be one (101, 102, 104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_pulse_gate_make(uint32_t marks,
                                     double lowest_rpm,
                                     double nominal_rpm,
                                     double highest_rpm,
                                     struct cpoise_pulse_gate *gate,
                                     cpoise_detail *detail);

/**
 * The next pulse, at an instant in s. taken: 1 where it is a true one, whose mark is then written; else 0.
 *
 * Refuses: a pulse that does not come after the one before (1313), pulses that are not clear (1312), a gate that was not
 * made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_pulse_gate_pulse(struct cpoise_pulse_gate *gate,
                                      double seconds,
                                      int32_t *taken,
                                      struct cpoise_mark *mark,
                                      cpoise_detail *detail);

/**
 * The bytes of memory, aligned to CPOISE_STREAM_ALIGNMENT, that a stream takes.
 *
 * order_count: 1 to 4. buffer: how many samples it can keep, those of a little more than two turns at the lowest speed:
 * 1024, 4096 or 16384. While it is made, the stack holds it once.
 *
 * Refuses: other sizes (CPOISE_WRONG_COUNT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_stream_size(size_t order_count, size_t buffer, size_t *bytes, cpoise_detail *detail);

/**
 * Makes a stream in memory of the caller's, which must stay until the last call with it.
 *
 * extraction: its order_count, 1 to 4 (or 0 for once per turn alone), and buffer as of cpoise_stream_size. memory: bytes of
 * it, aligned to CPOISE_STREAM_ALIGNMENT. stream: the same place, for the calls below.
 *
 * Refuses: memory that is too small (CPOISE_BUFFER_TOO_SMALL) or not aligned (CPOISE_MISALIGNED), sizes other than those
 * (CPOISE_WRONG_COUNT); a first order other than once per turn (1304), numbers that cannot be what they stand for (1303);
 * CPOISE_BAD_SIZE, CPOISE_OUT_OF_RANGE, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_stream_make(const struct cpoise_extraction *extraction,
                                 size_t buffer,
                                 void *memory,
                                 size_t bytes,
                                 struct cpoise_stream **stream,
                                 cpoise_detail *detail);

/**
 * The lowest speed, in rpm, that the buffer holds two turns of.
 *
 * Refuses: a stream that was not made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_stream_lowest_speed(const struct cpoise_stream *stream, double *lowest_rpm, cpoise_detail *detail);

/**
 * The next sample.
 *
 * Refuses: one that is not finite (1308); one that would be lost, as no mark has come for so long (1310). After a lost
 * sample the stream takes no more, and gives the same status; what was extracted before stays. A stream that was not made
 * (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_stream_sample(struct cpoise_stream *stream,
                                   double sample,
                                   cpoise_detail *detail);

/**
 * The next mark, after the samples up to it.
 *
 * Refuses: one that does not come after the one before, or before the samples between them (1302): it is not taken. The
 * status of a lost sample, after one. A stream that was not made (CPOISE_WRONG_STATE), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_stream_mark(struct cpoise_stream *stream, const struct cpoise_mark *mark, cpoise_detail *detail);

/**
 * What the samples so far say, up to the last mark but one. Bit for bit that of the same samples in one piece.
 *
 * chain, channel: NULL, or what makes readings of it.
 *
 * Refuses: too few turns (1307), orders that cannot be told apart (1305) or that the sampling cannot show (1306), samples
 * that do not determine the orders (1309); a chain or channel that cannot be one (101, 102, 104, 201, 1303, 1316, 1317,
 * CPOISE_BAD_SIZE, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT); a stream that was not made (CPOISE_WRONG_STATE),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_stream_estimate(const struct cpoise_stream *stream,
                                     const struct cpoise_sensor_chain *chain,
                                     const cpoise_channel *channel,
                                     struct cpoise_synchronous_vector *vector,
                                     cpoise_detail *detail);

/**
 * What all samples say, up to the last mark; the stream may go on. The stack holds the stream once meanwhile.
 *
 * Refuses: as cpoise_stream_estimate.
 */
cpoise_status cpoise_stream_finish(const struct cpoise_stream *stream,
                                   const struct cpoise_sensor_chain *chain,
                                   const cpoise_channel *channel,
                                   struct cpoise_synchronous_vector *vector,
                                   cpoise_detail *detail);

/** Declares a cpoise_extraction with the default of everything. */
#define CPOISE_EXTRACTION_INIT { sizeof(cpoise_extraction), 0, NULL, 0, 0, 0, 0 }

/** Declares a cpoise_sensor_chain with the default of everything. */
#define CPOISE_SENSOR_CHAIN_INIT { sizeof(cpoise_sensor_chain), 0, 0, 0, 0, NULL, 0, 0, 0 }

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/* Whole records: pulses put right, and once per turn in one piece. */

/**
 * Once per turn of a whole record of double samples, and the other orders.
 *
 * samples: a list of count, the first at 0 s. marks: a list of mark_count in the order in which they passed; samples before
 * the first and after the last are not used. chain, channel: NULL, or what makes readings of it.
 *
 * Refuses: too few marks (1301) or one out of order (1302), too few turns (1307), orders that cannot be told apart (1305) or
 * that the sampling cannot show (1306), a first order other than once per turn (1304), a sample that is not finite (1308),
 * samples that do not determine the orders (1309), numbers that cannot be what they stand for (1303); a chain or channel
 * that cannot be one (101, 102, 104, 201, 1303, 1316, 1317, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT); CPOISE_BAD_SIZE,
 * CPOISE_OUT_OF_RANGE, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_extract_double(const double *samples,
                                    size_t count,
                                    const cpoise_mark *marks,
                                    size_t mark_count,
                                    const cpoise_extraction *extraction,
                                    const cpoise_sensor_chain *chain,
                                    const cpoise_channel *channel,
                                    cpoise_synchronous_vector *vector,
                                    cpoise_detail *detail);

/**
 * The same of float samples.
 *
 * Refuses: as cpoise_extract_double.
 */
cpoise_status cpoise_extract_float(const float *samples,
                                   size_t count,
                                   const cpoise_mark *marks,
                                   size_t mark_count,
                                   const cpoise_extraction *extraction,
                                   const cpoise_sensor_chain *chain,
                                   const cpoise_channel *channel,
                                   cpoise_synchronous_vector *vector,
                                   cpoise_detail *detail);

/**
 * The same of the counts of a converter.
 *
 * Refuses: as cpoise_extract_double.
 */
cpoise_status cpoise_extract_counts(const int32_t *samples,
                                    size_t count,
                                    const cpoise_mark *marks,
                                    size_t mark_count,
                                    const cpoise_extraction *extraction,
                                    const cpoise_sensor_chain *chain,
                                    const cpoise_channel *channel,
                                    cpoise_synchronous_vector *vector,
                                    cpoise_detail *detail);

/**
 * The marks of a whole record of pulses: spurious ones left out, missing ones bridged, the reference found.
 *
 * pulses: their instants in s, a list of count, rising. places: evenly spaced on the shaft. missing: how many of them are
 * left out, which shows where the reference is; 0 for none. driving, driven: the teeth of a gear to the shaft that is asked
 * for, 1 and 1 where the marks are on it. marks: in the order in which they passed.
 *
 * Refuses: a pattern that is none (1315), a gear that is none (1311), a pulse out of order (1313), pulses that no pattern of
 * marks explains (1312), turns beyond range (1302), CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_pulses_to_marks(const double *pulses,
                                     size_t count,
                                     uint32_t places,
                                     uint32_t missing,
                                     uint32_t driving,
                                     uint32_t driven,
                                     cpoise_mark *marks,
                                     size_t capacity,
                                     size_t *used,
                                     cpoise_detail *detail);

/**
 * The values at which a record of double samples saturates, where it shows; where only one side does, the other is
 * infinite.
 *
 * Refuses: a record that does not show saturation (CPOISE_NO_VALUE), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_saturation_found(const double *samples,
                                      size_t count,
                                      double *lowest,
                                      double *highest,
                                      cpoise_detail *detail);

#endif /* CPOISE_NO_HEAP */

/* ================================================================================================================== */

/*
 * First weights, before any trial run: how heavy, and where.
 *
 * The size comes from a rule or a stored influence coefficient, the place from the reading, from how the sensor and the
 * pickup stand, and from how the machine answers. Both are estimates: the answer advises a part of the whole to start
 * with, and says why.
 */

/**
 * Stiffness holds the pull: the rotor moves with it.
 */
#define CPOISE_FAR_BELOW_RESONANCE 1

/**
 * Mass alone holds the pull, as on an engine on soft mounts: the rotor moves against it.
 */
#define CPOISE_FAR_ABOVE_RESONANCE 2

/**
 * The angle itself is stated, of the quantity that is read.
 */
#define CPOISE_RESPONSE_STATED 3

/**
 * The trial weight pulls with a tenth of the static load.
 */
#define CPOISE_RULE_STATIC_LOAD 1

/**
 * The trial weight pulls with a stated fraction of the static load: U = f F / W^2.
 */
#define CPOISE_RULE_STATIC_LOAD_FRACTION 2

/**
 * Far above resonance: the mass that moves along holds the pull.
 */
#define CPOISE_RULE_MASS_CONTROLLED 3

/**
 * The caller's own: so much unbalance per unit of vibration.
 */
#define CPOISE_RULE_PER_VIBRATION 4

/**
 * The rule gives a trial amount already: all of it.
 */
#define CPOISE_START_TRIAL_AMOUNT 1

/**
 * Half: it still lowers the vibration when the estimate is up to four times too large, or its place up to 75 deg out.
 */
#define CPOISE_START_HALF_FORGIVES 2

/**
 * The caller stated the fraction.
 */
#define CPOISE_START_STATED 3

/**
 * How the machine answers at the speed of the reading.
 */
typedef struct cpoise_regime {
  /**
   * CPOISE_FAR_BELOW_RESONANCE, CPOISE_FAR_ABOVE_RESONANCE or CPOISE_RESPONSE_STATED.
   */
  int32_t kind;
  /**
   * For CPOISE_RESPONSE_STATED by how many degrees the response runs ahead of the pull; else not read.
   */
  double lead_deg;
} cpoise_regime;

/**
 * A rule for the size of a first weight.
 */
typedef struct cpoise_size_rule {
  /**
   * One of the CPOISE_RULE_ numbers. It says which of the members below are read.
   */
  int32_t kind;
  /**
   * For both rules of static load: the load in N.
   */
  double load_n;
  /**
   * For CPOISE_RULE_STATIC_LOAD_FRACTION: above 0, at most 1.
   */
  double fraction;
  /**
   * For CPOISE_RULE_MASS_CONTROLLED: the mass that moves along, in kg.
   */
  double effective_mass_kg;
  /**
   * For CPOISE_RULE_PER_VIBRATION: the unbalance in g mm,
   */
  double amount_g_mm;
  /**
   * for one of this unit,
   */
  cpoise_vibration_unit unit;
  /**
   * times this factor,
   */
  double factor;
  /**
   * and where that comes from, UTF-8 that ends with a NUL.
   */
  const char *provenance;
} cpoise_size_rule;

/**
 * How the sensor and the pickup of the mark stand about the rotor. Both angles are space angles in degrees, counted with
 * the rotation from one fixed line: see cpoise_view_space_angle.
 */
typedef struct cpoise_sensor {
  /**
   * The direction of the motion it reads: as a rule the one in which it sits, seen from the axis.
   */
  double direction_deg;
  /**
   * Where the mark is at the instant of its pulse: the position of the pickup.
   */
  double pickup_deg;
  /**
   * CPOISE_POLARITY_ALONG or CPOISE_POLARITY_AGAINST.
   */
  int32_t polarity;
} cpoise_sensor;

/**
 * A first weight, and what to know before it is used.
 */
typedef struct cpoise_first_weight {
  /**
   * The full estimate: what would cancel the unbalance if the estimate were right; for static load the trial amount.
   */
  cpoise_unbalance_vector estimate;
  /**
   * What to start with: the starting fraction of the estimate, in the same place.
   */
  cpoise_unbalance_vector advised;
  /**
   * The part of the estimate to start with.
   */
  double starting_fraction;
  /**
   * Why that part: a CPOISE_START_ number.
   */
  int32_t reason;
  /**
   * 1 where there is a heavy spot; 0 where there is nothing to correct.
   */
  int32_t has_heavy_spot;
  /**
   * The heavy spot, opposite the estimate, in degrees from the mark, counted with the rotation; NaN where there is none.
   */
  double heavy_spot_deg;
  /**
   * Caution: 1 where the reading calls for no weight.
   */
  int32_t nothing_to_correct;
  /**
   * Caution: 1 where the size is computed as far above resonance and the place as far below it. One of them is wrong.
   */
  int32_t regimes_disagree;
  /**
   * Where the rule or the coefficient comes from, UTF-8 that ends with a NUL; cut off where it is longer.
   */
  char provenance[CPOISE_SOURCE_BYTES];
} cpoise_first_weight;

/**
 * The regime at a speed, for a machine with one resonance that matters: far below it up to half its speed, far above it
 * from twice its speed on (common practice, no source).
 *
 * Refuses: a speed between (601), one that is not positive (102), numbers that are not finite (101) or beyond range (104),
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_regime_from_resonance(double speed_rpm,
                                           double resonance_rpm,
                                           struct cpoise_regime *regime,
                                           cpoise_detail *detail);

/**
 * A first weight whose size comes from a rule, set opposite the heavy spot. For a reading of zero it is no weight, with a
 * caution.
 *
 * starting_fraction: above 0, at most 1; 0 for the usual one.
 *
 * Refuses: a fraction that is none (602), an estimate beyond range (604), a rule without its origin (605), numbers that
 * cannot be what they stand for (101 to 104), a reading that cannot be one (201, 202, 205, 206, CPOISE_OUT_OF_RANGE),
 * CPOISE_NOT_UTF8, CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_first_weight_by_rule(const cpoise_reading *reading,
                                          const struct cpoise_size_rule *rule,
                                          const struct cpoise_sensor *sensor,
                                          const struct cpoise_regime *regime,
                                          double starting_fraction,
                                          struct cpoise_first_weight *first_weight,
                                          cpoise_detail *detail);

/**
 * A first weight from an influence coefficient of an earlier job or a sister machine: U = -v/H. The coefficient belongs
 * to the channel of the reading: in its unit, at its nominal speed.
 *
 * provenance: where the coefficient comes from, UTF-8 that ends with a NUL. starting_fraction: above 0, at most 1; 0 for
 * the usual one.
 *
 * Refuses: a fraction that is none (602), a coefficient of zero (603), an estimate beyond range (604), words that say
 * nothing (605), numbers that cannot be what they stand for (101 to 104), a reading that cannot be one (201, 202, 205,
 * 206, CPOISE_OUT_OF_RANGE), CPOISE_NOT_UTF8, CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_first_weight_by_influence(const cpoise_reading *reading,
                                               const cpoise_influence *influence,
                                               const char *provenance,
                                               double starting_fraction,
                                               struct cpoise_first_weight *first_weight,
                                               cpoise_detail *detail);

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/* Repeated readings: their mean, and how it scatters. Vectors are averaged, never amplitudes and phases apart. */

/**
 * The mean, as a vector, of repeated readings of one state, and the scatter of that mean.
 *
 * repeats: a list of count, at least 1. scatter may be NULL where only the mean is wanted.
 *
 * Refuses: none (207), one that is not finite (101) or beyond 1e100 (104); a scatter asked for from fewer than three or
 * from equal readings (CPOISE_NO_VALUE); CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_repeats_mean(const cpoise_vibration *repeats,
                                  size_t count,
                                  cpoise_vibration *mean,
                                  cpoise_scatter *scatter,
                                  cpoise_detail *detail);

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/* Cautions: reasons to trust an answer less. They come with the answer, and are no refusals. */

/**
 * Bytes of a caution's text, the NUL at its end among them.
 */
#define CPOISE_CAUTION_BYTES 400

/**
 * Stands in a caution for a channel, plane or run that it does not name.
 */
#define CPOISE_NONE -1

/**
 * Some combination of unbalances is hardly seen. figures: condition number.
 */
#define CPOISE_CAUTION_ILL_CONDITIONED_PLANES 1001

/**
 * Weights that differ from these do as well.
 */
#define CPOISE_CAUTION_FLAT_OPTIMUM 1002

/**
 * The optimum was approached, and not proven. figures: value, lower bound.
 */
#define CPOISE_CAUTION_OPTIMUM_NOT_PROVEN 1003

/**
 * A reading was brought to the nominal speed by the declared law: run, channel. figures: speed in rpm, factor.
 */
#define CPOISE_CAUTION_SCALED_TO_SPEED 1004

/**
 * The runs hardly tell the unknowns of a channel apart: channel. figures: condition number.
 */
#define CPOISE_CAUTION_ILL_CONDITIONED_RUNS 1005

/**
 * A channel showed no response to a plane: channel, plane.
 */
#define CPOISE_CAUTION_NO_RESPONSE 1006

/**
 * Channels in different units without weights that bring them to a common one.
 */
#define CPOISE_CAUTION_MIXED_UNITS 1007

/**
 * The search for a placement stopped before the best was proven. figures: residual, lower bound.
 */
#define CPOISE_CAUTION_PLACEMENT_NOT_PROVEN 1008

/**
 * No placement leaves as little as was asked for. figures: asked for, residual, lower bound.
 */
#define CPOISE_CAUTION_NONE_WITHIN 1009

/**
 * A channel saw the weights of a plane too little: channel, plane. figures: squared distance from none.
 */
#define CPOISE_CAUTION_WEAK_TRIAL 1010

/**
 * The runs do not fit one linear machine: channel. figures: chi-squared, degrees of freedom, chance.
 */
#define CPOISE_CAUTION_INCONSISTENT_RUNS 1011

/**
 * Two masses in one place did not act in proportion: channel, plane, run, other run. figures: squared distance.
 */
#define CPOISE_CAUTION_NON_LINEAR_RESPONSE 1012

/**
 * Two runs with the same weights read differently: channel, run, other run. figures: squared distance.
 */
#define CPOISE_CAUTION_DRIFT_BETWEEN_RUNS 1013

/**
 * The correction lies far beyond anything tried: plane. figures: its amount and the largest trial, in g mm.
 */
#define CPOISE_CAUTION_BEYOND_TRIALS 1014

/**
 * The correction goes against what is mounted: plane. figures: by how much, in g mm.
 */
#define CPOISE_CAUTION_AGAINST_MOUNTED 1015

/**
 * A coefficient is not the same at two speeds: sensor (in channel), plane. figures: the speeds in rpm, change per percent.
 */
#define CPOISE_CAUTION_CHANGES_WITH_SPEED 1016

/**
 * The phase of a reading scatters much: run, channel. figures: its standard deviation in degrees.
 */
#define CPOISE_CAUTION_PHASE_NOT_REPEATABLE 1017

/**
 * The runs were read at different speeds: channel. figures: lowest and highest in rpm.
 */
#define CPOISE_CAUTION_SPEEDS_DIFFER 1018

/**
 * What is left is less than the scatter can resolve: stop. figures: its share of that.
 */
#define CPOISE_CAUTION_NOTHING_TO_RESOLVE 1019

/**
 * Two corrections one after the other did not help: run, other run. figures: before, after.
 */
#define CPOISE_CAUTION_WITHOUT_GAIN 1020

/**
 * A resonance is near. figures: speed in rpm, lag in degrees per percent of speed.
 */
#define CPOISE_CAUTION_NEAR_RESONANCE 1021

/**
 * A caution with its figures.
 */
typedef struct cpoise_caution {
  /**
   * A CPOISE_CAUTION_ number, which says which of the members below it names.
   */
  int32_t code;
  /**
   * The channel, counted from 0, or CPOISE_NONE.
   */
  int32_t channel;
  /**
   * The plane, counted from 0, or CPOISE_NONE.
   */
  int32_t plane;
  /**
   * The run, counted from 0, or CPOISE_NONE.
   */
  int32_t run;
  /**
   * The other run, or CPOISE_NONE.
   */
  int32_t other_run;
  /**
   * The figures that raised it, in the order that its number says; what is not used is 0.
   */
  double figures[3];
  /**
   * One English sentence for a person, UTF-8 that ends with a NUL.
   */
  char text[CPOISE_CAUTION_BYTES];
} cpoise_caution;

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * Influence coefficients from runs: matrix, prior, estimator, fit.
 *
 * v_i = v0_i + sum over planes of h_ip u_p + noise, for every run: one complex linear regression, by weighted least squares,
 * x = argmin sum g |y - A x|^2 for every channel (T. P. Goodman, 1964, has the weighted case); with a prior the mean of what
 * is then believed. Channels, planes and runs are counted from 0.
 *
 * All weights that differ from the bare rotor are said in every run, whether put on for it or left on from one before.
 */

/**
 * The largest number of correction planes that is taken here.
 */
#define CPOISE_MOST_PLANES 256

/**
 * Estimates the vibration as found and the influence coefficients from all runs that it is given.
 */
typedef struct cpoise_estimator cpoise_estimator;

/**
 * What an estimator found. Never changes once it is made, and does not depend on the estimator.
 */
typedef struct cpoise_fit cpoise_fit;

/**
 * Influence coefficients, channel by channel, with their channels. Never changes once it is made.
 */
typedef struct cpoise_influence_matrix cpoise_influence_matrix;

/**
 * Coefficients of an earlier job or of a sister machine, and how far those of this machine may differ from them.
 */
typedef struct cpoise_prior cpoise_prior;

/**
 * An unbalance that is mounted in a plane.
 */
typedef struct cpoise_mounted {
  /**
   * The plane, counted from 0.
   */
  size_t plane;
  /**
   * What is mounted; several in one plane add up.
   */
  cpoise_unbalance_vector unbalance;
} cpoise_mounted;

/**
 * How well one channel was fitted.
 */
typedef struct cpoise_channel_fit {
  /**
   * The vibration as found: that of the bare rotor, from which all mounted weights were counted.
   */
  cpoise_vibration as_found;
  /**
   * How many readings there are beyond the unknowns.
   */
  size_t excess_readings;
  /**
   * The weighted sum of squares of the residuals.
   */
  double weighted_sum_of_squares;
  /**
   * The variance per component of a reading of weight 1, from the residuals; NaN where there are none in excess.
   */
  double residual_variance;
  /**
   * With known variances, the chi-squared of the residuals; NaN otherwise.
   */
  double chi_squared;
  /**
   * Its degrees of freedom; 0 where there is none.
   */
  size_t chi_squared_degrees;
  /**
   * How well the covariance is known: CPOISE_DEGREES_KNOWN, _CIRCULAR or _FULL; 0 where there is no covariance.
   */
  int32_t degrees_kind;
  /**
   * Degrees of freedom of the covariance: infinite where it is known, NaN where there is none.
   */
  double degrees_of_freedom;
} cpoise_channel_fit;

/**
 * Makes a matrix from stored coefficients.
 *
 * channels: a list of channel_count. coefficients: a list of coefficient_count = channel_count times planes: all planes of
 * the first channel, then of the next. matrix: the new handle.
 *
 * Refuses: no channels (304), no planes (305), a channel twice (307), another count (308), a channel or coefficient that
 * cannot be one (101 to 104, 201, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), more than CPOISE_MOST_PLANES planes
 * (CPOISE_OUT_OF_RANGE), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_matrix_new(const cpoise_channel *channels,
                                          size_t channel_count,
                                          size_t planes,
                                          const cpoise_influence *coefficients,
                                          size_t coefficient_count,
                                          struct cpoise_influence_matrix **matrix,
                                          cpoise_detail *detail);

/**
 * Frees a matrix; NULL is nothing to free.
 */
void cpoise_influence_matrix_free(struct cpoise_influence_matrix *matrix);

/**
 * How many channels and planes a matrix has.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_matrix_size(const struct cpoise_influence_matrix *matrix,
                                           size_t *channel_count,
                                           size_t *planes,
                                           cpoise_detail *detail);

/**
 * The channels of a matrix, in its order.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_matrix_channels(const struct cpoise_influence_matrix *matrix,
                                               cpoise_channel *channels,
                                               size_t capacity,
                                               size_t *used,
                                               cpoise_detail *detail);

/**
 * All coefficients: all planes of the first channel, then of the next.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_matrix_coefficients(const struct cpoise_influence_matrix *matrix,
                                                   cpoise_influence *coefficients,
                                                   size_t capacity,
                                                   size_t *used,
                                                   cpoise_detail *detail);

/**
 * What unbalances, one per plane, do at every channel: H u.
 *
 * unbalances: a list of count, by plane. vibrations: by channel.
 *
 * Refuses: another count (401), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_matrix_effect(const struct cpoise_influence_matrix *matrix,
                                             const cpoise_unbalance_vector *unbalances,
                                             size_t count,
                                             cpoise_vibration *vibrations,
                                             size_t capacity,
                                             size_t *used,
                                             cpoise_detail *detail);

/**
 * The singular values of sqrt(g) H, descending. channel_weights: g, a list of weight_count by channel; none for 1 each. The
 * first over the last is the condition number: how much worse than the readings the weights may be.
 *
 * Refuses: another count (401), a weight that is negative or not finite (403), CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_matrix_singular_values(const struct cpoise_influence_matrix *matrix,
                                                      const double *channel_weights,
                                                      size_t weight_count,
                                                      double *values,
                                                      size_t capacity,
                                                      size_t *used,
                                                      cpoise_detail *detail);

/**
 * The condition number of sqrt(g) H: infinite where some combination of planes has no effect at all.
 *
 * Refuses: another count (401), a weight that is negative or not finite (403), CPOISE_COUNT_TOO_LARGE,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_influence_matrix_condition_number(const struct cpoise_influence_matrix *matrix,
                                                       const double *channel_weights,
                                                       size_t weight_count,
                                                       double *condition_number,
                                                       cpoise_detail *detail);

/**
 * A prior of coefficients that may each differ by a fraction of their size, in any direction: the standard deviation of
 * each component is the fraction times |h|. mean: copied.
 *
 * Refuses: a fraction that is not positive and finite, a coefficient of zero (318), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_prior_with_relative_spread_new(const struct cpoise_influence_matrix *mean,
                                                    double fraction,
                                                    struct cpoise_prior **prior,
                                                    cpoise_detail *detail);

/**
 * A prior of coefficients that may each differ by a standard deviation of its own, per component and g mm.
 *
 * mean: copied. standard_deviations: a list of count, in the order of the coefficients.
 *
 * Refuses: another count (308), one that is not positive and finite (318), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_prior_with_standard_deviations_new(const struct cpoise_influence_matrix *mean,
                                                        const double *standard_deviations,
                                                        size_t count,
                                                        struct cpoise_prior **prior,
                                                        cpoise_detail *detail);

/**
 * A prior of coefficients with a full covariance for every channel, over the planes.
 *
 * mean: copied. entries: a list of count = channels times (2 planes)^2: for each channel the real symmetric matrix over
 * Re h_0, Im h_0, Re h_1, ... row by row, per g mm squared. Whether each is positive definite shows in the fit.
 *
 * Refuses: another count (308), an entry that cannot be one (317), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_prior_with_covariances_new(const struct cpoise_influence_matrix *mean,
                                                const double *entries,
                                                size_t count,
                                                struct cpoise_prior **prior,
                                                cpoise_detail *detail);

/**
 * A prior of the coefficients of an earlier fit with its covariance.
 *
 * widened_by: for another machine of the type, which differs by a further fraction of each coefficient; 0 for the same.
 *
 * Refuses: a fit without a covariance, as with as many runs as unknowns and no known variances (CPOISE_NO_VALUE); a
 * fraction that is negative or not finite (101, 103), a variance beyond range (318), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_prior_from_fit_new(const struct cpoise_fit *fit,
                                        double widened_by,
                                        struct cpoise_prior **prior,
                                        cpoise_detail *detail);

/**
 * Frees a prior; NULL is nothing to free.
 */
void cpoise_prior_free(struct cpoise_prior *prior);

/**
 * Makes an estimator.
 *
 * channels: a list of channel_count. planes: 1 to CPOISE_MOST_PLANES. precision: CPOISE_PRECISION_RELATIVE where readings
 * have weights, and their scatter is estimated from the residuals, channel by channel; CPOISE_PRECISION_SCATTER where all
 * readings say how much they scatter. estimator: the new handle.
 *
 * Refuses: no channels (304), no planes (305), a channel twice (307), a channel that cannot be one (101, 102, 104, 201,
 * CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_estimator_new(const cpoise_channel *channels,
                                   size_t channel_count,
                                   size_t planes,
                                   int32_t precision,
                                   struct cpoise_estimator **estimator,
                                   cpoise_detail *detail);

/**
 * Frees an estimator; NULL is nothing to free.
 */
void cpoise_estimator_free(struct cpoise_estimator *estimator);

/**
 * Gives an estimator a prior on the coefficients, in place of one that it had. prior: copied. With one reading and a
 * prior it does one-shot balancing.
 *
 * Refuses, and leaves the estimator as it was: relative weights, which leave nothing to weigh a prior against (315); a
 * prior for other channels or planes (316); CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_estimator_set_prior(struct cpoise_estimator *estimator,
                                         const struct cpoise_prior *prior,
                                         cpoise_detail *detail);

/**
 * Adds a run: what was mounted, and what was read.
 *
 * label: for the person who reads a report, UTF-8 that ends with a NUL; or NULL. mounted: a list of mounted_count; a plane
 * that is not mentioned carries nothing. readings: a list of reading_count, at least 1; a channel that was not read is left
 * out. run: its number, counted from 0; or NULL.
 *
 * Refuses, and leaves the estimator as it was: a plane that does not exist (309), an unbalance that is not finite (310), no
 * reading (311), a channel that was not named (312) or twice (313), a precision of the other kind (314), numbers beyond
 * range (320); readings and unbalances that cannot be such (101 to 104, 201, 202, 205, 206, CPOISE_OUT_OF_RANGE,
 * CPOISE_UNKNOWN_CONSTANT); CPOISE_NOT_UTF8, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_estimator_add_run(struct cpoise_estimator *estimator,
                                       const char *label,
                                       const struct cpoise_mounted *mounted,
                                       size_t mounted_count,
                                       const cpoise_reading *readings,
                                       size_t reading_count,
                                       size_t *run,
                                       cpoise_detail *detail);

/**
 * How many runs an estimator has.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_estimator_runs(const struct cpoise_estimator *estimator, size_t *runs, cpoise_detail *detail);

/**
 * What the runs alone, without a prior, can tell of a channel: the rank of its design against the number of its unknowns,
 * and the condition number, with columns brought to equal length; infinite where the rank is too low.
 *
 * Refuses: a channel that does not exist (321), numbers too far apart (320), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_estimator_design(const struct cpoise_estimator *estimator,
                                      size_t channel,
                                      size_t *rank,
                                      size_t *unknowns,
                                      double *condition_number,
                                      cpoise_detail *detail);

/**
 * Fits all runs. fit: the new handle; the estimator stays as it is, and may take more runs.
 *
 * Refuses: no runs (306), runs that do not determine all unknowns (319, the detail says which planes cannot be told apart),
 * a prior whose covariance is not positive definite (318), numbers too far apart (320), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_estimator_fit_new(const struct cpoise_estimator *estimator,
                                       struct cpoise_fit **fit,
                                       cpoise_detail *detail);

/**
 * The same fit with one residual variance for all channels, which says more where they scatter alike. It changes nothing
 * where the scatter of readings was given.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_with_common_variance_new(const struct cpoise_fit *fit,
                                                  struct cpoise_fit **common,
                                                  cpoise_detail *detail);

/**
 * Frees a fit; NULL is nothing to free.
 */
void cpoise_fit_free(struct cpoise_fit *fit);

/**
 * The influence coefficients of a fit, as a new matrix of its own.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_influence_new(const struct cpoise_fit *fit,
                                       struct cpoise_influence_matrix **matrix,
                                       cpoise_detail *detail);

/**
 * The vibration as found of every channel: that of the bare rotor, from which all mounted weights were counted.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_as_found(const struct cpoise_fit *fit,
                                  cpoise_vibration *vibrations,
                                  size_t capacity,
                                  size_t *used,
                                  cpoise_detail *detail);

/**
 * The vibration of every channel with given unbalances mounted, counted from the bare rotor: v0 + H u.
 *
 * unbalances: a list of count, by plane.
 *
 * Refuses: another count (401), numbers that are not finite (101) or beyond 1e100 (104), CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_vibration_with(const struct cpoise_fit *fit,
                                        const cpoise_unbalance_vector *unbalances,
                                        size_t count,
                                        cpoise_vibration *vibrations,
                                        size_t capacity,
                                        size_t *used,
                                        cpoise_detail *detail);

/**
 * How well one channel was fitted.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_channel(const struct cpoise_fit *fit,
                                 size_t channel,
                                 struct cpoise_channel_fit *channel_fit,
                                 cpoise_detail *detail);

/**
 * The residual of a reading: what was read less what the fit expects, at the nominal speed; and what it is in standard
 * deviations, standardised by the scatter of the fit and studentised by that of all others. NaN for a figure that the runs
 * do not give.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX for a channel that does not exist or was not read in the run, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_residual(const struct cpoise_fit *fit,
                                  size_t channel,
                                  size_t run,
                                  cpoise_vibration *residual,
                                  double *leverage,
                                  double *standardised,
                                  double *studentised,
                                  cpoise_detail *detail);

/**
 * The covariance of a channel's unknowns: a real symmetric matrix over Re v0, Im v0, Re h_0, Im h_0, Re h_1, ..., row by
 * row: (2 (planes + 1))^2 entries, in the channel's unit and per g mm, squared.
 *
 * Refuses: CPOISE_NO_VALUE where there are only as many runs as unknowns and no known variances, CPOISE_NO_SUCH_INDEX,
 * CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_covariance(const struct cpoise_fit *fit,
                                    size_t channel,
                                    double *entries,
                                    size_t capacity,
                                    size_t *used,
                                    cpoise_detail *detail);

/**
 * The cofactor of a channel's unknowns: its covariance were the variance of a reading of weight 1 equal to 1. Always
 * there. Rows and columns as of cpoise_fit_covariance.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_cofactor(const struct cpoise_fit *fit,
                                  size_t channel,
                                  double *entries,
                                  size_t capacity,
                                  size_t *used,
                                  cpoise_detail *detail);

/**
 * What was mounted in a run, one unbalance per plane.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_mounted_in(const struct cpoise_fit *fit,
                                    size_t run,
                                    cpoise_unbalance_vector *unbalances,
                                    size_t capacity,
                                    size_t *used,
                                    cpoise_detail *detail);

/**
 * The cautions of a fit.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_fit_cautions(const struct cpoise_fit *fit,
                                  cpoise_caution *cautions,
                                  size_t capacity,
                                  size_t *used,
                                  cpoise_detail *detail);

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * Correction: the unbalances to add that make the vibration smallest, what is then left, and the proof.
 *
 * min over w of sqrt(sum g |v + H w|^2) (least squares; T. P. Goodman, 1964) or of max sqrt(g) |v + H w| (min-max), with
 * limits in the planes. The proof is a dual point, which sets a lower bound that no admissible weights can fall below.
 */

/* What a correction makes smallest. */

/** The weighted sum of squares over the channels. The default. */
#define CPOISE_LEAST_SQUARES 1

/** The worst channel. */
#define CPOISE_MIN_MAX 2

/**
 * A limit on what is mounted in a plane afterwards, all together.
 */
#define CPOISE_LIMIT_TOTAL 1

/**
 * A limit on what is added in a plane.
 */
#define CPOISE_LIMIT_ADDED 2

/**
 * A correction. Never changes once it is made, and does not depend on the matrix.
 */
typedef struct cpoise_correction cpoise_correction;

/**
 * How much is allowed in a plane.
 */
typedef struct cpoise_plane_limit {
  /**
   * The plane, counted from 0.
   */
  size_t plane;
  /**
   * CPOISE_LIMIT_TOTAL or CPOISE_LIMIT_ADDED.
   */
  int32_t kind;
  /**
   * The limit, 0 or more; with 0 the plane takes no part.
   */
  double amount_g_mm;
} cpoise_plane_limit;

/**
 * What else a correction is to keep to. Declared with CPOISE_CORRECTION_OPTIONS_INIT; every member may stay zero.
 */
typedef struct cpoise_correction_options {
  /**
   * The size of this struct, as its INIT macro sets it.
   */
  size_t size;
  /**
   * CPOISE_LEAST_SQUARES (also 0) or CPOISE_MIN_MAX.
   */
  int32_t objective;
  /**
   * What is mounted now, by plane: it enters the total, and limits on it. NULL for nothing.
   */
  const cpoise_unbalance_vector *mounted_now;
  /**
   * How many there are: one per plane, or 0.
   */
  size_t mounted_count;
  /**
   * Weights g by channel, which multiply the squared residual. Channels in different units want weights that bring them
   * to a common one. NULL for 1 each.
   */
  const double *channel_weights;
  /**
   * How many there are: one per channel, or 0.
   */
  size_t weight_count;
  /**
   * Limits in planes; a later one for the same plane replaces an earlier one. NULL for none.
   */
  const struct cpoise_plane_limit *limits;
  /**
   * How many there are.
   */
  size_t limit_count;
} cpoise_correction_options;

/**
 * What a correction comes to.
 */
typedef struct cpoise_correction_summary {
  /**
   * The value of the objective: sqrt(sum g |r|^2) or max sqrt(g) |r|.
   */
  double objective_value;
  /**
   * What no admissible weights can fall below, in the same unit.
   */
  double lower_bound;
  /**
   * The weighted root mean square of what is left: sqrt(sum g |r|^2 / sum g).
   */
  double weighted_rms;
  /**
   * The largest amplitude that is left, without regard to weights, each in its channel's unit.
   */
  double largest_amplitude;
  /**
   * The largest weighted amplitude that is left: max sqrt(g) |r|.
   */
  double largest_weighted_amplitude;
} cpoise_correction_summary;

/**
 * A number of the proof: the dual point of one channel.
 */
typedef struct cpoise_complex {
  /**
   * Real part.
   */
  double re;
  /**
   * Imaginary part.
   */
  double im;
} cpoise_complex;

/**
 * A channel or a plane of a proof, with its figure.
 */
typedef struct cpoise_share {
  /**
   * The channel or plane, counted from 0.
   */
  size_t index;
  /**
   * Its figure.
   */
  double figure;
} cpoise_share;

/**
 * Computes a correction from vibrations.
 *
 * now: the vibration of every channel, a list of count in the order of the matrix, with everything on that is mounted now:
 * that of cpoise_fit_as_found with nothing mounted. options: NULL for least squares with nothing mounted and no limits.
 * correction: the new handle.
 *
 * Refuses: another count (401), a weight that cannot be one (403, 405), numbers that are not finite (101, 406, 407) or
 * beyond range (104), a limit for a plane that does not exist (408) or below zero (409), planes without an effect of their
 * own and without a limit (410), a result beyond range (412); CPOISE_BAD_SIZE, CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_new(const cpoise_influence_matrix *matrix,
                                    const cpoise_vibration *now,
                                    size_t count,
                                    const struct cpoise_correction_options *options,
                                    struct cpoise_correction **correction,
                                    cpoise_detail *detail);

/**
 * The same from readings, which must be of the channels of the matrix, in their order: trim balancing with known
 * coefficients, by one reading and no trial run.
 *
 * Refuses: as cpoise_correction_new; a reading of another channel (402), one that cannot be a reading (101 to 104, 201, 202,
 * 205, 206, CPOISE_OUT_OF_RANGE).
 */
cpoise_status cpoise_correction_from_readings_new(const cpoise_influence_matrix *matrix,
                                                  const cpoise_reading *now,
                                                  size_t count,
                                                  const struct cpoise_correction_options *options,
                                                  struct cpoise_correction **correction,
                                                  cpoise_detail *detail);

/**
 * Frees a correction; NULL is nothing to free.
 */
void cpoise_correction_free(struct cpoise_correction *correction);

/**
 * What to add to what is mounted now, by plane.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_added(const struct cpoise_correction *correction,
                                      cpoise_unbalance_vector *unbalances,
                                      size_t capacity,
                                      size_t *used,
                                      cpoise_detail *detail);

/**
 * What is mounted afterwards, by plane: what was said to be mounted now, and what is added.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_total(const struct cpoise_correction *correction,
                                      cpoise_unbalance_vector *unbalances,
                                      size_t capacity,
                                      size_t *used,
                                      cpoise_detail *detail);

/**
 * The vibration that is left at every channel, as predicted: r = v + H w.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_predicted(const struct cpoise_correction *correction,
                                          cpoise_vibration *vibrations,
                                          size_t capacity,
                                          size_t *used,
                                          cpoise_detail *detail);

/**
 * What a correction comes to: its value, the bound that proves it, and what is left.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_get_summary(const struct cpoise_correction *correction,
                                            struct cpoise_correction_summary *summary,
                                            cpoise_detail *detail);

/**
 * The dual point y of the proof, by channel. No admissible weights have a value below
 * Re sum conj(y_k) v_k - sum over limited planes of L_p |sum conj(h_kp) y_k|.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_dual(const struct cpoise_correction *correction,
                                     struct cpoise_complex *dual,
                                     size_t capacity,
                                     size_t *used,
                                     cpoise_detail *detail);

/**
 * The channels that decide a min-max value, with their shares, which sum to 1; none for least squares.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_active_channels(const struct cpoise_correction *correction,
                                                struct cpoise_share *channels,
                                                size_t capacity,
                                                size_t *used,
                                                cpoise_detail *detail);

/**
 * The planes at their limit, each with what one g mm more would take off the value.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_planes_at_limit(const struct cpoise_correction *correction,
                                                struct cpoise_share *planes,
                                                size_t capacity,
                                                size_t *used,
                                                cpoise_detail *detail);

/**
 * What to think of before mounting it.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_cautions(const struct cpoise_correction *correction,
                                         cpoise_caution *cautions,
                                         size_t capacity,
                                         size_t *used,
                                         cpoise_detail *detail);

/**
 * The combination of unbalances that is least seen, by plane, of 1 g mm together: that of a caution of
 * CPOISE_CAUTION_ILL_CONDITIONED_PLANES.
 *
 * caution: its index in cpoise_correction_cautions.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NO_VALUE for another caution, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_correction_least_seen(const struct cpoise_correction *correction,
                                           size_t caution,
                                           cpoise_unbalance_vector *unbalances,
                                           size_t capacity,
                                           size_t *used,
                                           cpoise_detail *detail);

/** Declares a cpoise_correction_options with the default of everything. */
#define CPOISE_CORRECTION_OPTIONS_INIT { sizeof(cpoise_correction_options), 0, NULL, 0, NULL, 0, NULL, 0 }

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * Rings and hardware: where pieces can go, and which there are.
 *
 * Holes, rings, planes and hardware are counted from 0, as they were given.
 */

/**
 * Every hole of a ring.
 */
#define CPOISE_EVERY_HOLE -1

/**
 * Rings of holes, which grow and change call by call.
 */
typedef struct cpoise_rings cpoise_rings;

/**
 * A kind of piece that can be put on, or of material that can be taken off. Made by the calls below; the name, which
 * may be NULL for none, is the caller's and not copied.
 */
typedef struct cpoise_hardware {
  /**
   * Its name, UTF-8 that ends with a NUL, or NULL.
   */
  const char *name;
  /**
   * The mass of one piece in g; negative means material taken off.
   */
  double mass_g;
  /**
   * What one piece adds to the height of a stack, in mm.
   */
  double thickness_mm;
  /**
   * 0: as many as are needed; not 0: there are only stock of them to be put on.
   */
  int32_t stock_is_limited;
  /**
   * How many there are, where that is limited.
   */
  uint32_t stock;
} cpoise_hardware;

/**
 * A hole of a ring that is not even.
 */
typedef struct cpoise_hole {
  /**
   * Distance from the axis in mm, greater than zero.
   */
  double radius_mm;
  /**
   * Place in degrees from the mark, counted with the rotation.
   */
  double angle_with_rotation_deg;
} cpoise_hole;

/**
 * A piece of a mass, without thickness, as many as are needed. Negative mass is material taken off.
 *
 * name: UTF-8 that ends with a NUL, or NULL; must be there as long as the piece is used.
 *
 * Refuses: a mass that is not finite (101) or beyond range (104), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hardware_make(const char *name,
                                   double mass_g,
                                   struct cpoise_hardware *hardware,
                                   cpoise_detail *detail);

/**
 * A washer: m = rho pi/4 (D^2 - d^2) t, with its thickness, as many as are needed. The density is in g/cm3: steel is
 * about 7.85.
 *
 * Refuses: a density or thickness that is not positive, an inner diameter that is not below the outer one (812), numbers
 * that are not finite (101) or beyond range (104), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hardware_washer(const char *name,
                                     double outer_diameter_mm,
                                     double inner_diameter_mm,
                                     double thickness_mm,
                                     double density_g_per_cm3,
                                     struct cpoise_hardware *hardware,
                                     cpoise_detail *detail);

/**
 * A drilled hole, a negative mass: m = -rho pi/4 d^2 (t + (d/2) / (3 tan(a/2))), t the depth of the full diameter and a
 * the included angle of the drill's point, as in 118 degrees. The density is in g/cm3.
 *
 * Refuses: a density or length that is not positive, an angle that is not above 0 and at most 180 degrees (812), numbers
 * that are not finite (101) or beyond range (104), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_hardware_drilled(const char *name,
                                      double diameter_mm,
                                      double depth_mm,
                                      double point_angle_deg,
                                      double density_g_per_cm3,
                                      struct cpoise_hardware *hardware,
                                      cpoise_detail *detail);

/**
 * An empty list of rings.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_new(struct cpoise_rings **rings, cpoise_detail *detail);

/**
 * Frees a list of rings; NULL is nothing to free.
 */
void cpoise_rings_free(struct cpoise_rings *rings);

/**
 * Adds an even ring: a circle of holes at one radius, empty and without limits.
 *
 * plane: counted from 0. index: the number of the new ring, counted from 0.
 *
 * Refuses: a radius that is not greater than zero (102), numbers that are not finite (101) or beyond range (104), a circle
 * that cannot be (701, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_add_even(struct cpoise_rings *rings,
                                    size_t plane,
                                    const cpoise_hole_circle *circle,
                                    double radius_mm,
                                    size_t *index,
                                    cpoise_detail *detail);

/**
 * Adds a ring of holes each at its own place, empty and without limits.
 *
 * plane: counted from 0. holes: a list of count. index: the number of the new ring, counted from 0.
 *
 * Refuses: a radius that is not greater than zero (102), numbers that are not finite (101) or beyond range (104),
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_add_listed(struct cpoise_rings *rings,
                                      size_t plane,
                                      const struct cpoise_hole *holes,
                                      size_t count,
                                      size_t *index,
                                      cpoise_detail *detail);

/**
 * Limits the mass of the finished stack, with what stays of what is mounted; of material taken off, its size counts. A
 * negative limit is refused with the question (805).
 *
 * hole: counted from 0 in its ring, or CPOISE_EVERY_HOLE, here and in the calls below.
 *
 * Refuses: a mass that is not finite (101) or beyond range (104), CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_limit_mass(struct cpoise_rings *rings,
                                      size_t ring,
                                      int32_t hole,
                                      double most_g,
                                      cpoise_detail *detail);

/**
 * Limits the pieces of the finished stack.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_limit_pieces(struct cpoise_rings *rings,
                                        size_t ring,
                                        int32_t hole,
                                        uint32_t most,
                                        cpoise_detail *detail);

/**
 * Limits the height of the finished stack, such as a bolt's grip length. A negative limit is refused with the question
 * (805).
 *
 * Refuses: a height that is not finite (101) or beyond range (104), CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_limit_height(struct cpoise_rings *rings,
                                        size_t ring,
                                        int32_t hole,
                                        double most_mm,
                                        cpoise_detail *detail);

/**
 * The fewest pieces of the finished stack, where the hole is touched at all: with a limit of one piece, screws are
 * exchanged and never left out.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_keep_pieces(struct cpoise_rings *rings,
                                       size_t ring,
                                       int32_t hole,
                                       uint32_t least,
                                       cpoise_detail *detail);

/**
 * The hole stays as it is.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_block(struct cpoise_rings *rings, size_t ring, int32_t hole, cpoise_detail *detail);

/**
 * The pieces that are in the hole now. What is wanted is to be added to them.
 *
 * pieces: a list of count, one per kind of hardware; another count is refused with the question (809).
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_mounted(struct cpoise_rings *rings,
                                   size_t ring,
                                   int32_t hole,
                                   const uint32_t *pieces,
                                   size_t count,
                                   cpoise_detail *detail);

/**
 * What is mounted in the hole may not come off.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_fixed(struct cpoise_rings *rings, size_t ring, int32_t hole, cpoise_detail *detail);

/**
 * The finished stack holds an even number of every kind: the same on both faces of the disc.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_rings_symmetric(struct cpoise_rings *rings, size_t ring, int32_t hole, cpoise_detail *detail);

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * Placement: which pieces go into which holes, with the proof that none do better.
 *
 * A question is put together from rings of holes, a list of hardware and what is wanted, with options; a search begins
 * from it and is advanced by so many steps at a time, which gives progress and a way to stop; at any time it has an
 * answer, which says what is proven of it. Holes, rings, planes and hardware are counted from 0, as they were given.
 */

/* How large a residual is. */

/** The root of the sum of squares over planes, or over weighted channels. The default. */
#define CPOISE_NORM_EUCLIDEAN 1

/** The worst plane, or the worst weighted channel. */
#define CPOISE_NORM_WORST 2

/** The largest component of all vectors. */
#define CPOISE_NORM_WORST_COMPONENT 3

/**
 * The least residual; among ties the fewest holes, then pieces, then mass. The default.
 */
#define CPOISE_AIM_LEAST 1

/**
 * The fewest holes, then pieces, then mass, that leave no more than eps.
 */
#define CPOISE_AIM_WITHIN 2

/**
 * The fewest pieces put on and taken off, then holes, then mass, that leave no more than eps.
 */
#define CPOISE_AIM_LEAST_CHANGE 3

/**
 * As CPOISE_AIM_WITHIN, with the usual eps for what is wanted.
 */
#define CPOISE_AIM_USUAL 4

/**
 * As CPOISE_AIM_USUAL, with a stated scatter in the place of the usual one.
 */
#define CPOISE_AIM_SCATTER 5

/**
 * Holes touched, over all planes.
 */
#define CPOISE_LIMIT_HOLES 11

/**
 * Holes touched in one plane.
 */
#define CPOISE_LIMIT_HOLES_IN_PLANE 12

/**
 * Pieces handled, put on or taken off.
 */
#define CPOISE_LIMIT_PIECES 13

/**
 * Net mass added, over all planes.
 */
#define CPOISE_LIMIT_NET_MASS 14

/**
 * An answer. Never changes, and does not depend on its search.
 */
typedef struct cpoise_placement_answer cpoise_placement_answer;

/**
 * A question for a placement. Never changes once it is made, and does not depend on what it was made from.
 */
typedef struct cpoise_placement_question cpoise_placement_question;

/**
 * A search, which goes on call by call. Does not depend on its question.
 */
typedef struct cpoise_placement_search cpoise_placement_search;

/**
 * A limit of a placement as a whole.
 */
typedef struct cpoise_placement_limit {
  /**
   * One of CPOISE_LIMIT_HOLES, CPOISE_LIMIT_HOLES_IN_PLANE, CPOISE_LIMIT_PIECES and CPOISE_LIMIT_NET_MASS.
   */
  int32_t kind;
  /**
   * The most holes or pieces; not read for net mass.
   */
  uint32_t most;
  /**
   * The plane, for CPOISE_LIMIT_HOLES_IN_PLANE; else not read.
   */
  size_t plane;
  /**
   * The most mass in g, for CPOISE_LIMIT_NET_MASS; else not read.
   */
  double mass_g;
} cpoise_placement_limit;

/**
 * What else is asked of a placement. Declared with CPOISE_PLACEMENT_OPTIONS_INIT; every member may stay zero.
 */
typedef struct cpoise_placement_options {
  /**
   * The size of this struct, as its INIT macro sets it.
   */
  size_t size;
  /**
   * CPOISE_NORM_EUCLIDEAN (also 0), CPOISE_NORM_WORST or CPOISE_NORM_WORST_COMPONENT.
   */
  int32_t norm;
  /**
   * CPOISE_AIM_LEAST (also 0) or another CPOISE_AIM_.
   */
  int32_t aim;
  /**
   * For CPOISE_AIM_WITHIN and CPOISE_AIM_LEAST_CHANGE: how much may be left, in the residual's unit.
   */
  double eps;
  /**
   * For CPOISE_AIM_SCATTER: the root mean square size of the error of what is wanted and of what is placed, together.
   */
  double scatter;
  /**
   * For CPOISE_AIM_USUAL and CPOISE_AIM_SCATTER: the permissible residual, in the residual's unit; 0 for none stated.
   */
  double permissible;
  /**
   * How many answers, no two of them on the same holes: 1 to 1000; 0 is 1, more than 1000 is 1000.
   */
  size_t answers;
  /**
   * Weights g by channel, which multiply the squared residual, for a question through coefficients. NULL for 1 each.
   */
  const double *channel_weights;
  /**
   * How many there are: one per channel, or 0.
   */
  size_t weight_count;
  /**
   * Limits; a later one of the same kind (and plane) replaces an earlier one. NULL for none.
   */
  const struct cpoise_placement_limit *limits;
  /**
   * How many there are.
   */
  size_t limit_count;
  /**
   * The memory that lists of sums may take, at least 1048576 bytes; 0 for 200 MiB.
   */
  size_t memory_bytes;
} cpoise_placement_options;

/**
 * Asks for an unbalance to be added to what is mounted now, one vector per plane. Residuals are in g mm.
 *
 * rings and hardware are copied; hardware is a list of hardware_count, wanted one of wanted_count. options: NULL for the
 * least residual without limits. question: the new handle.
 *
 * Refuses: no holes (801), no hardware (802), a piece without mass (803) or of negative thickness (804), a limit that
 * cannot be (805, 812, 816), too many holes (808) or planes (818), a hole that says of another number of kinds what is in
 * it (809), a ring in a plane without a wanted vector (810), channel weights where there are no channels (811), too little
 * memory (814), numbers that are not finite (101) or beyond range (104); CPOISE_BAD_SIZE, CPOISE_UNKNOWN_CONSTANT,
 * CPOISE_NOT_UTF8, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_question_new(const cpoise_rings *rings,
                                            const cpoise_hardware *hardware,
                                            size_t hardware_count,
                                            const cpoise_unbalance_vector *wanted,
                                            size_t wanted_count,
                                            const struct cpoise_placement_options *options,
                                            struct cpoise_placement_question **question,
                                            cpoise_detail *detail);

/**
 * Asks for the vibration to become small through influence coefficients. Residuals are in the channels' unit.
 *
 * now: the vibration of every channel, a list of count in the order of the matrix, with everything on that is mounted
 * now. All else as in cpoise_placement_question_new.
 *
 * Refuses: as cpoise_placement_question_new; another count of vibrations or of weights (811), weights that cannot be
 * (812) or are all zero (817).
 */
cpoise_status cpoise_placement_question_through_new(const cpoise_rings *rings,
                                                    const cpoise_hardware *hardware,
                                                    size_t hardware_count,
                                                    const cpoise_influence_matrix *matrix,
                                                    const cpoise_vibration *now,
                                                    size_t count,
                                                    const struct cpoise_placement_options *options,
                                                    struct cpoise_placement_question **question,
                                                    cpoise_detail *detail);

/**
 * Frees a question; NULL is nothing to free.
 */
void cpoise_placement_question_free(struct cpoise_placement_question *question);

/**
 * A search, not yet begun.
 *
 * Refuses: nothing that limits a stack (806), a hole that allows too many different stacks (807), numbers beyond range
 * (815), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_search_new(const struct cpoise_placement_question *question,
                                          struct cpoise_placement_search **search,
                                          cpoise_detail *detail);

/**
 * Frees a search; NULL is nothing to free.
 */
void cpoise_placement_search_free(struct cpoise_placement_search *search);

/**
 * Goes on by at most about so many steps. The answer depends on how many there were in all, and not on the clock.
 *
 * ended: 1 when the search has come to its end, and more steps change nothing; else 0.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_search_advance(struct cpoise_placement_search *search,
                                              uint64_t steps,
                                              int32_t *ended,
                                              cpoise_detail *detail);

/**
 * How many steps were spent.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_search_steps(const struct cpoise_placement_search *search,
                                            uint64_t *steps,
                                            cpoise_detail *detail);

/**
 * The best so far, and what is proven of it; the search can go on afterwards.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_search_answer_new(const struct cpoise_placement_search *search,
                                                 struct cpoise_placement_answer **answer,
                                                 cpoise_detail *detail);

/** Declares a cpoise_placement_options with the default of everything. */
#define CPOISE_PLACEMENT_OPTIONS_INIT { sizeof(cpoise_placement_options), 0, 0, 0, 0, 0, 0, NULL, 0, NULL, 0, 0 }

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * The answer to a placement: which pieces go into which holes, and what is proven of it.
 *
 * A front of residual against pieces is had from questions for the least residual with CPOISE_LIMIT_PIECES 0, 1, 2, ...
 */

/**
 * No placement within the limits is better.
 */
#define CPOISE_PROOF_BEST 1

/**
 * No placement leaves as little as eps. The nearest found is given, and not proven nearest.
 */
#define CPOISE_PROOF_NONE_WITHIN 2

/**
 * No placement in at most so many holes is better; more holes were not looked at to the end.
 */
#define CPOISE_PROOF_BEST_IN_HOLES 3

/**
 * No placement that handles at most so many pieces is better; more were not looked at to the end.
 */
#define CPOISE_PROOF_BEST_IN_PIECES 4

/**
 * Stopped before anything was proven but the lower bound.
 */
#define CPOISE_PROOF_STOPPED 5

/**
 * 1 % of what is wanted.
 */
#define CPOISE_NEAR_WANTED 1

/**
 * 0.3 of the usual scatter of weights and readings.
 */
#define CPOISE_NEAR_SCATTER 2

/**
 * 0.3 of the stated scatter of weights and readings.
 */
#define CPOISE_NEAR_STATED_SCATTER 3

/**
 * 5 % of the permissible residual.
 */
#define CPOISE_NEAR_PERMISSIBLE 4

/**
 * Half the permissible residual, which is never exceeded.
 */
#define CPOISE_NEAR_HALF_PERMISSIBLE 5

/**
 * How good an answer is known to be.
 */
typedef struct cpoise_placement_certificate {
  /**
   * A CPOISE_PROOF_ number.
   */
  int32_t proof;
  /**
   * 1 where the search came to its end, so that nothing better is possible within the limits; else 0.
   */
  int32_t proven;
  /**
   * For CPOISE_PROOF_BEST_IN_HOLES and CPOISE_PROOF_BEST_IN_PIECES: how many of them; else 0.
   */
  uint64_t proven_up_to;
  /**
   * What the residual of no placement within the limits falls below; eps, where none is within it.
   */
  double lower_bound;
  /**
   * The steps that were spent.
   */
  uint64_t steps;
  /**
   * 1 where the search ended because the rest does not fit into the memory allowed; else 0.
   */
  int32_t out_of_memory;
} cpoise_placement_certificate;

/**
 * What a placement comes to.
 */
typedef struct cpoise_placement_summary {
  /**
   * What is left: in g mm, or in the channels' unit for a question through coefficients.
   */
  double residual;
  /**
   * Holes touched.
   */
  size_t holes;
  /**
   * Pieces handled, put on or taken off.
   */
  uint64_t pieces;
  /**
   * The net mass added in g.
   */
  double net_mass_g;
  /**
   * The moment in g mm that works against what is placed: what lies more than a quarter turn from the unbalance placed
   * in its plane, along it. Zero is best.
   */
  double heavy_side_moment_g_mm;
} cpoise_placement_summary;

/**
 * Pieces of one kind put on or taken off at one hole.
 */
typedef struct cpoise_placement_change {
  /**
   * The ring.
   */
  size_t ring;
  /**
   * The hole in the ring.
   */
  size_t hole;
  /**
   * The kind of hardware.
   */
  size_t hardware;
  /**
   * Pieces to put on.
   */
  uint32_t added;
  /**
   * Pieces to take off.
   */
  uint32_t removed;
} cpoise_placement_change;

/**
 * The usual eps: how near is near enough.
 * max(1 % of what is wanted, 0.3 of the scatter, 5 % of the permissible residual), never above half the permissible
 * residual. Scatter as is usual, unless it is stated: piece mass 0.5 %, wanted correction 3 % and 2 degrees. Common
 * practice, no source.
 */
typedef struct cpoise_placement_tolerance {
  /**
   * The eps, in the residual's unit.
   */
  double eps;
  /**
   * What decided it: a CPOISE_NEAR_ number.
   */
  int32_t reason;
  /**
   * What not even the best correction takes off, which does not count against the placement; 0 for an unbalance.
   */
  double unavoidable;
} cpoise_placement_tolerance;

/**
 * Frees an answer; NULL is nothing to free.
 */
void cpoise_placement_answer_free(cpoise_placement_answer *answer);

/**
 * What is proven.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_certificate(const cpoise_placement_answer *answer,
                                                  struct cpoise_placement_certificate *certificate,
                                                  cpoise_detail *detail);

/**
 * How many placements an answer has: the best, and its runners-up, each on other holes than those before it.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_count(const cpoise_placement_answer *answer,
                                            size_t *count,
                                            cpoise_detail *detail);

/**
 * What a placement comes to.
 *
 * which: 0 for the best, from 1 for the runners-up, here and in the calls below.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_summary(const cpoise_placement_answer *answer,
                                              size_t which,
                                              struct cpoise_placement_summary *summary,
                                              cpoise_detail *detail);

/**
 * What changes, hole by hole and kind by kind, at each hole first what is put on; what stays as it is is left out.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_changes(const cpoise_placement_answer *answer,
                                              size_t which,
                                              struct cpoise_placement_change *changes,
                                              size_t capacity,
                                              size_t *used,
                                              cpoise_detail *detail);

/**
 * The unbalance added in each plane.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_placed(const cpoise_placement_answer *answer,
                                             size_t which,
                                             cpoise_unbalance_vector *unbalances,
                                             size_t capacity,
                                             size_t *used,
                                             cpoise_detail *detail);

/**
 * What is still wanted in each plane.
 *
 * Refuses: CPOISE_NO_VALUE where vibration was asked about, CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_left(const cpoise_placement_answer *answer,
                                           size_t which,
                                           cpoise_unbalance_vector *unbalances,
                                           size_t capacity,
                                           size_t *used,
                                           cpoise_detail *detail);

/**
 * The vibration that every channel should show next.
 *
 * Refuses: CPOISE_NO_VALUE where no coefficients were given, CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_predicted(const cpoise_placement_answer *answer,
                                                size_t which,
                                                cpoise_vibration *vibrations,
                                                size_t capacity,
                                                size_t *used,
                                                cpoise_detail *detail);

/**
 * How far each plane's placed unbalance scatters, in g mm: the root mean square length of its error when the moment of
 * every changed hole scatters on its own, by a share of its size (mass) and by an angle (place):
 * s^2 = sum |u_h|^2 (s_m^2 + s_b^2), to first order.
 *
 * mass_share: such as 0.005. angle_deg: such as 0.5.
 *
 * Refuses: a result that is not finite (101) or beyond range (104), CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_scatter(const cpoise_placement_answer *answer,
                                              size_t which,
                                              double mass_share,
                                              double angle_deg,
                                              double *scatter_g_mm,
                                              size_t capacity,
                                              size_t *used,
                                              cpoise_detail *detail);

/**
 * The usual eps, and why it is so.
 *
 * Refuses: CPOISE_NO_VALUE where neither CPOISE_AIM_USUAL nor CPOISE_AIM_SCATTER asked for it, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_tolerance(const cpoise_placement_answer *answer,
                                                struct cpoise_placement_tolerance *tolerance,
                                                cpoise_detail *detail);

/**
 * What to think of before mounting it.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_placement_answer_cautions(const cpoise_placement_answer *answer,
                                               cpoise_caution *cautions,
                                               size_t capacity,
                                               size_t *used,
                                               cpoise_detail *detail);

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * The record of a job: the machine, and what was done and read, in that order. It only grows.
 *
 * Nothing is overwritten: a fact that was wrong is amended by a later one, and both stay. What is mounted now, and which
 * runs belong together, follows from the facts and is never stored. A machine with holes, hardware, limits or checks comes
 * as JSON text. Channels, planes, rings, holes, kinds of hardware, runs and entries are counted from 0.
 */

/* What was changed, after which runs are not compared with those before. */

/** A sensor was moved, turned or exchanged. */
#define CPOISE_CHANGE_SENSOR 1

/** The mark on the rotor was moved. */
#define CPOISE_CHANGE_MARK 2

/** The pickup that sees the mark was moved. */
#define CPOISE_CHANGE_PICKUP 3

/**
 * The rotor itself: a blade dressed, the propeller or the spinner put back in another position. The machine still
 * answers weights as it did; after all other changes it may not.
 */
#define CPOISE_CHANGE_ROTOR 4

/** The machine on its mounts: an engine mount, a strut, what the machine stands on. */
#define CPOISE_CHANGE_MACHINE 5

/* What a check found. */

/** All is as it should be. */
#define CPOISE_CHECK_IN_ORDER 1

/** Something is not as it should be. */
#define CPOISE_CHECK_NOT_IN_ORDER 2

/** It was not checked, and the job goes on without. */
#define CPOISE_CHECK_NOT_DONE 3

/**
 * The record of a job.
 */
typedef struct cpoise_record cpoise_record;

/**
 * When a fact is said to have been, and whether it stands in the place of an earlier one. Declared with
 * CPOISE_ENTRY_OPTIONS_INIT; every member may stay zero.
 */
typedef struct cpoise_entry_options {
  /**
   * The size of this struct, as its INIT macro sets it.
   */
  size_t size;
  /**
   * When it was, in words of the caller's own; the library has no clock. NULL where it is not stated.
   */
  const char *when;
  /**
   * 1 where the fact is what should have stood in the place of an earlier entry, else 0.
   */
  int32_t amends;
  /**
   * That earlier entry; not read unless amends is 1.
   */
  size_t of;
  /**
   * Why it is amended; must be stated where amends is 1, and is not read otherwise.
   */
  const char *reason;
} cpoise_entry_options;

/**
 * A reading of a run, as the instrument showed it.
 */
typedef struct cpoise_stated_reading {
  /**
   * The machine's channel.
   */
  size_t channel;
  /**
   * In the channel's unit and detector.
   */
  double amplitude;
  /**
   * In degrees, counted as the channel says.
   */
  double phase_deg;
  /**
   * The speed it was taken at.
   */
  double speed_rpm;
  /**
   * 1 where the scatter of the reading is stated, else 0.
   */
  int32_t has_scatter;
  /**
   * Not read unless has_scatter is 1.
   */
  cpoise_scatter scatter;
} cpoise_stated_reading;

/**
 * So many pieces of one kind of hardware.
 */
typedef struct cpoise_pieces {
  /**
   * The machine's kind of hardware.
   */
  size_t item;
  /**
   * How many.
   */
  uint32_t count;
} cpoise_pieces;

/**
 * How much a record holds.
 */
typedef struct cpoise_record_counts {
  /**
   * The machine's channels.
   */
  size_t channels;
  /**
   * The machine's correction planes.
   */
  size_t planes;
  /**
   * The machine's rings of holes.
   */
  size_t rings;
  /**
   * The machine's kinds of hardware.
   */
  size_t hardware;
  /**
   * Entries, those that are amended or withdrawn among them.
   */
  size_t entries;
  /**
   * Runs in force.
   */
  size_t runs;
  /**
   * Weights that are on and in no hole.
   */
  size_t weights;
  /**
   * The latest run with what is mounted now and nothing changed since, or CPOISE_NONE.
   */
  int32_t run_as_mounted;
} cpoise_record_counts;

/**
 * A run in force.
 */
typedef struct cpoise_job_run {
  /**
   * The entry that says it.
   */
  size_t entry;
  /**
   * Runs of one group are of one rotor, one mark and the same sensors.
   */
  size_t group;
  /**
   * How many readings it has.
   */
  size_t readings;
} cpoise_job_run;

/**
 * A reading of a run in force.
 */
typedef struct cpoise_run_reading {
  /**
   * The machine's channel.
   */
  size_t channel;
  /**
   * What was read.
   */
  cpoise_reading reading;
} cpoise_run_reading;

/**
 * A weight that is on and in no hole.
 */
typedef struct cpoise_weight_on {
  /**
   * The entry that put it on.
   */
  size_t entry;
  /**
   * Its plane.
   */
  size_t plane;
  /**
   * The weight.
   */
  cpoise_weight weight;
} cpoise_weight_on;

/**
 * A record of a machine without holes, on which nothing happened yet. Other machines come as JSON text.
 *
 * name: what the machine is called. channels: a list of channel_count. planes: the names of the correction planes, a list of
 * plane_count. record: the new handle.
 *
 * Refuses: no channels (1501), a channel twice (1502), no planes (1503), more of them than are taken (1521), a channel that
 * cannot be one (101, 102, 104, 201, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NOT_UTF8,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_new(const char *name,
                                const cpoise_convention *convention,
                                const cpoise_channel *channels,
                                size_t channel_count,
                                const char *const *planes,
                                size_t plane_count,
                                struct cpoise_record **record,
                                cpoise_detail *detail);

/**
 * A copy that goes its own way, as for a question of what would be if. copy: the new handle.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_copy_new(const struct cpoise_record *record,
                                     struct cpoise_record **copy,
                                     cpoise_detail *detail);

/**
 * Frees a record; NULL is nothing to free.
 */
void cpoise_record_free(struct cpoise_record *record);

/**
 * Adds a run: the machine ran with what is mounted, and this was read. Several readings of one channel are repeats.
 *
 * options: NULL for a plain fact. label: what the run is called. readings: a list of count. entry: its number; may be NULL,
 * as in all that follow.
 *
 * Refuses: no reading (1507), a reading that cannot be one (1508; its scatter: 205, 206), a channel that is not there
 * (1506), more than a record keeps (1522), an amendment of no earlier entry (1512), one after which a later entry cannot be
 * (its own number), CPOISE_UNKNOWN_CONSTANT, CPOISE_BAD_SIZE, CPOISE_NOT_UTF8, CPOISE_COUNT_TOO_LARGE,
 * CPOISE_NULL_POINTER. What is refused leaves the record as it was.
 */
cpoise_status cpoise_record_add_run(struct cpoise_record *record,
                                    const struct cpoise_entry_options *options,
                                    const char *label,
                                    const struct cpoise_stated_reading *readings,
                                    size_t count,
                                    size_t *entry,
                                    cpoise_detail *detail);

/**
 * Adds that pieces were put into a hole. pieces: a list of count.
 *
 * Refuses: a ring, hole or kind of hardware that is not there (1506), more pieces than can be counted (1510), and as
 * cpoise_record_add_run.
 */
cpoise_status cpoise_record_add_put_on(struct cpoise_record *record,
                                       const struct cpoise_entry_options *options,
                                       size_t ring,
                                       size_t hole,
                                       const struct cpoise_pieces *pieces,
                                       size_t count,
                                       size_t *entry,
                                       cpoise_detail *detail);

/**
 * Adds that pieces were taken out of a hole; those that were there as found may be taken off too.
 *
 * Refuses: more pieces than are there (1509), and as cpoise_record_add_put_on.
 */
cpoise_status cpoise_record_add_taken_off(struct cpoise_record *record,
                                          const struct cpoise_entry_options *options,
                                          size_t ring,
                                          size_t hole,
                                          const struct cpoise_pieces *pieces,
                                          size_t count,
                                          size_t *entry,
                                          cpoise_detail *detail);

/**
 * Adds that a weight was put on that is in no hole. Its entry is what cpoise_record_add_weight_off names.
 *
 * Refuses: a plane that is not there (1506), a weight that cannot be one (101, 102, 104), and as cpoise_record_add_run.
 */
cpoise_status cpoise_record_add_weight_on(struct cpoise_record *record,
                                          const struct cpoise_entry_options *options,
                                          size_t plane,
                                          const cpoise_weight *weight,
                                          size_t *entry,
                                          cpoise_detail *detail);

/**
 * Adds that a weight was taken off that is in no hole. on: the entry that put it on.
 *
 * Refuses: an entry that put none on, or whose weight is off already (1511), and as cpoise_record_add_run.
 */
cpoise_status cpoise_record_add_weight_off(struct cpoise_record *record,
                                           const struct cpoise_entry_options *options,
                                           size_t on,
                                           size_t *entry,
                                           cpoise_detail *detail);

/**
 * Adds that something was changed, after which runs are not compared with those before.
 *
 * what: a CPOISE_CHANGE_ constant. remark: in the person's words, may be empty.
 *
 * Refuses: as cpoise_record_add_run.
 */
cpoise_status cpoise_record_add_changed(struct cpoise_record *record,
                                        const struct cpoise_entry_options *options,
                                        int32_t what,
                                        const char *remark,
                                        size_t *entry,
                                        cpoise_detail *detail);

/**
 * Adds that something was checked.
 *
 * what: in the words of the machine's checks where it is one of them. result: a CPOISE_CHECK_ constant. remark: how it was
 * found, may be empty.
 *
 * Refuses: as cpoise_record_add_run.
 */
cpoise_status cpoise_record_add_checked(struct cpoise_record *record,
                                        const struct cpoise_entry_options *options,
                                        const char *what,
                                        int32_t result,
                                        const char *remark,
                                        size_t *entry,
                                        cpoise_detail *detail);

/**
 * Adds a line of the log, such as the hours of an engine. The last of one name counts.
 *
 * Refuses: more names than are kept (1522), and as cpoise_record_add_run.
 */
cpoise_status cpoise_record_add_noted(struct cpoise_record *record,
                                      const struct cpoise_entry_options *options,
                                      const char *what,
                                      const char *value,
                                      size_t *entry,
                                      cpoise_detail *detail);

/**
 * Adds anything worth writing down.
 *
 * Refuses: as cpoise_record_add_run.
 */
cpoise_status cpoise_record_add_remark(struct cpoise_record *record,
                                       const struct cpoise_entry_options *options,
                                       const char *remark,
                                       size_t *entry,
                                       cpoise_detail *detail);

/**
 * Adds that an earlier entry did not happen. Of two amendments of one entry the later counts.
 *
 * when: NULL where it is not stated. of: the earlier entry. reason: why.
 *
 * Refuses: no earlier entry (1512), a withdrawal after which a later entry cannot be (its own number), CPOISE_NOT_UTF8,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_withdraw(struct cpoise_record *record,
                                     const char *when,
                                     size_t of,
                                     const char *reason,
                                     size_t *entry,
                                     cpoise_detail *detail);

/**
 * How much a record holds.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_count(const struct cpoise_record *record,
                                  struct cpoise_record_counts *counts,
                                  cpoise_detail *detail);

/**
 * The name of the machine.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_machine_name(const struct cpoise_record *record,
                                         char *name,
                                         size_t capacity,
                                         size_t *used,
                                         cpoise_detail *detail);

/**
 * The name of a correction plane.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_plane_name(const struct cpoise_record *record,
                                       size_t plane,
                                       char *name,
                                       size_t capacity,
                                       size_t *used,
                                       cpoise_detail *detail);

/**
 * The channels of the machine.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_channels(const struct cpoise_record *record,
                                     cpoise_channel *channels,
                                     size_t capacity,
                                     size_t *used,
                                     cpoise_detail *detail);

/**
 * A run in force.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_run(const struct cpoise_record *record,
                                size_t run,
                                struct cpoise_job_run *about,
                                cpoise_detail *detail);

/**
 * What a run is called.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_run_label(const struct cpoise_record *record,
                                      size_t run,
                                      char *label,
                                      size_t capacity,
                                      size_t *used,
                                      cpoise_detail *detail);

/**
 * What was read in a run, repeats one by one.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_run_readings(const struct cpoise_record *record,
                                         size_t run,
                                         struct cpoise_run_reading *readings,
                                         size_t capacity,
                                         size_t *used,
                                         cpoise_detail *detail);

/**
 * What was mounted in a run more than on the machine as it was found, by plane.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_run_mounted(const struct cpoise_record *record,
                                        size_t run,
                                        cpoise_unbalance_vector *mounted,
                                        size_t capacity,
                                        size_t *used,
                                        cpoise_detail *detail);

/**
 * What is mounted now more than on the machine as it was found, by plane.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_mounted(const struct cpoise_record *record,
                                    cpoise_unbalance_vector *mounted,
                                    size_t capacity,
                                    size_t *used,
                                    cpoise_detail *detail);

/**
 * The weights that are on and in no hole.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_weights(const struct cpoise_record *record,
                                    struct cpoise_weight_on *weights,
                                    size_t capacity,
                                    size_t *used,
                                    cpoise_detail *detail);

/**
 * How many holes a ring has.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_holes(const struct cpoise_record *record,
                                  size_t ring,
                                  size_t *holes,
                                  cpoise_detail *detail);

/**
 * The pieces that are in a hole now: how many, by kind of hardware.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_pieces(const struct cpoise_record *record,
                                   size_t ring,
                                   size_t hole,
                                   uint32_t *pieces,
                                   size_t capacity,
                                   size_t *used,
                                   cpoise_detail *detail);

/**
 * An estimator that holds the runs which can be compared with the present one, each with what was mounted in it, and with
 * the scatter of its readings where that is known. estimator: the new handle, which does not depend on the record.
 *
 * Refuses: what the estimator refuses (301 to 321), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_estimator_new(const struct cpoise_record *record,
                                          cpoise_estimator **estimator,
                                          cpoise_detail *detail);

/** Declares a cpoise_entry_options with the default of everything. */
#define CPOISE_ENTRY_OPTIONS_INIT { sizeof(cpoise_entry_options), NULL, 0, 0, NULL }

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_JSON

/* ================================================================================================================== */

/*
 * The record of a job as JSON text: for files, and for programs in other languages.
 *
 * Numbers come back bit for bit, unknown fields are refused, and what is read goes through the same checks as when it is
 * added by calls. Text that is refused is so with line, column and path in the detail.
 */

/**
 * A record from its JSON text. record: the new handle.
 *
 * Refuses: text that is no JSON or no record (900), a version that is not known (1514), a machine or a fact that cannot be
 * (1501 to 1522), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_from_json_new(const char *json_text,
                                          cpoise_record **record,
                                          cpoise_detail *detail);

/**
 * The JSON text of a record. What is read from it is equal to the record.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_to_json(const cpoise_record *record,
                                    char *json_text,
                                    size_t capacity,
                                    size_t *used,
                                    cpoise_detail *detail);

/**
 * The JSON Schema (draft 2020-12) of the record.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_record_json_schema(char *schema, size_t capacity, size_t *used, cpoise_detail *detail);

#endif /* CPOISE_NO_JSON */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * Advice: what can be done next in a job, best first, each with its reasons; and the report of a job.
 *
 * Advice follows from the record alone, with the same bits every time. A step that mounts something is carried out by one
 * call, which adds the facts; a person may as well do another thing, and add that. Steps, reasons and lines are counted
 * from 0; step 0 is what is advised.
 */

/**
 * Check something, or put it in order.
 */
#define CPOISE_ACTION_CHECK 1

/**
 * Balance the rotor statically first.
 */
#define CPOISE_ACTION_BALANCE_STATICALLY 2

/**
 * Run with what is mounted now.
 */
#define CPOISE_ACTION_MEASURE 3

/**
 * Read more of the run with what is mounted now.
 */
#define CPOISE_ACTION_READ_AGAIN 4

/**
 * The runs show a mistake: look for it, and amend the record.
 */
#define CPOISE_ACTION_LOOK_FOR_MISTAKE 5

/**
 * Mount a trial weight.
 */
#define CPOISE_ACTION_ADD_TRIAL 6

/**
 * Learn more of a plane before trusting the coefficients.
 */
#define CPOISE_ACTION_LEARN_MORE 7

/**
 * Mount a correction.
 */
#define CPOISE_ACTION_MOUNT 8

/**
 * Move weights from where they cannot stay to where they can.
 */
#define CPOISE_ACTION_MOVE_TO_PERMANENT 9

/**
 * Run to verify what was mounted.
 */
#define CPOISE_ACTION_VERIFY 10

/**
 * Stop: every channel is within its limit.
 */
#define CPOISE_ACTION_STOP_WITHIN_LIMIT 11

/**
 * Stop: weights do not bring the vibration further down.
 */
#define CPOISE_ACTION_STOP_NO_GAIN 12

/**
 * Advice, with the machine and the entries that it follows from. Never changes once it is made.
 */
typedef struct cpoise_advice cpoise_advice;

/**
 * The report of a job. Never changes once it is made, and does not depend on the record.
 */
typedef struct cpoise_report cpoise_report;

/**
 * How advice is given. Declared with CPOISE_ADVICE_OPTIONS_INIT; every member may stay zero.
 */
typedef struct cpoise_advice_options {
  /**
   * The size of this struct, as its INIT macro sets it.
   */
  size_t size;
  /**
   * The confidence of verdicts, 0.5 to 0.9999; 0 for 0.95.
   */
  double confidence;
  /**
   * How many readings a run should have; 0 for 3.
   */
  uint32_t readings_per_run;
  /**
   * How many steps the search for a placement may take; 0 for 200000.
   */
  uint64_t placement_steps;
  /**
   * What is known of machines of the kind, copied: with it a correction can be advised without a trial run. NULL for
   * nothing.
   */
  const cpoise_prior *prior;
} cpoise_advice_options;

/**
 * A step that can be done next.
 */
typedef struct cpoise_advice_step {
  /**
   * A CPOISE_ACTION_ number; a number that is none of them is newer than this header.
   */
  int32_t action;
  /**
   * How many reasons it has.
   */
  size_t reasons;
  /**
   * 1 where the job ends with it, else 0.
   */
  int32_t is_stop;
  /**
   * 1 where it says what to put on and take off, else 0.
   */
  int32_t has_mounting;
  /**
   * 1 where cpoise_advice_carry_out can add its facts, else 0: a weight whose radius nothing states is for the caller to
   * add.
   */
  int32_t can_be_carried_out;
  /**
   * How many lines its mounting has in words.
   */
  size_t mounting_lines;
} cpoise_advice_step;

/**
 * Advises what to do next. It may take long where a placement is searched for: placement_steps bounds it.
 *
 * options: NULL for the defaults. advice: the new handle, which does not depend on the record.
 *
 * Refuses: a confidence beyond its range (1520), CPOISE_BAD_SIZE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_new(const cpoise_record *record,
                                const struct cpoise_advice_options *options,
                                struct cpoise_advice **advice,
                                cpoise_detail *detail);

/**
 * Frees advice; NULL is nothing to free.
 */
void cpoise_advice_free(struct cpoise_advice *advice);

/**
 * How many steps there are, at least 1.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_count(const struct cpoise_advice *advice, size_t *steps, cpoise_detail *detail);

/**
 * A step.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_step_of(const struct cpoise_advice *advice,
                                    size_t step,
                                    struct cpoise_advice_step *about,
                                    cpoise_detail *detail);

/**
 * What to do, in words.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_words(const struct cpoise_advice *advice,
                                  size_t step,
                                  char *words,
                                  size_t capacity,
                                  size_t *used,
                                  cpoise_detail *detail);

/**
 * The number of a reason, the same as in Rust.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_reason(const struct cpoise_advice *advice,
                                   size_t step,
                                   size_t reason,
                                   int32_t *code,
                                   cpoise_detail *detail);

/**
 * A reason in words.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_reason_words(const struct cpoise_advice *advice,
                                         size_t step,
                                         size_t reason,
                                         char *words,
                                         size_t capacity,
                                         size_t *used,
                                         cpoise_detail *detail);

/**
 * What to put on or take off, one line in words for a person.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_mounting_words(const struct cpoise_advice *advice,
                                           size_t step,
                                           size_t line,
                                           char *words,
                                           size_t capacity,
                                           size_t *used,
                                           cpoise_detail *detail);

/**
 * What a step adds to every plane, after everything is put on and taken off.
 *
 * Refuses: a step that mounts nothing (CPOISE_NO_VALUE), CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_mounting_added(const struct cpoise_advice *advice,
                                           size_t step,
                                           cpoise_unbalance_vector *added,
                                           size_t capacity,
                                           size_t *used,
                                           cpoise_detail *detail);

/**
 * What every channel is expected to read after a correction, a move or in a run to verify.
 *
 * Refuses: a step that predicts nothing (CPOISE_NO_VALUE), CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
 * CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_predicted(const struct cpoise_advice *advice,
                                      size_t step,
                                      cpoise_vibration *predicted,
                                      size_t capacity,
                                      size_t *used,
                                      cpoise_detail *detail);

/**
 * Adds the facts of a step that mounts something to the record, as done: all, or none where one is refused.
 *
 * record: the one that the advice was given for, with nothing added since. when: NULL where it is not stated. added: how
 * many entries were added; may be NULL.
 *
 * Refuses: a record that is another or has changed since (CPOISE_WRONG_STATE), a step that mounts nothing or of which not
 * all is known (CPOISE_NO_VALUE), CPOISE_NO_SUCH_INDEX, CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_advice_carry_out(cpoise_record *record,
                                      const struct cpoise_advice *advice,
                                      size_t step,
                                      const char *when,
                                      size_t *added,
                                      cpoise_detail *detail);

/**
 * Makes the report of a job. confidence: of its verdicts, 0.5 to 0.9999, such as 0.95. report: the new handle.
 *
 * Refuses: a confidence beyond its range (1520), CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_report_new(const cpoise_record *record,
                                double confidence,
                                struct cpoise_report **report,
                                cpoise_detail *detail);

/**
 * Frees a report; NULL is nothing to free.
 */
void cpoise_report_free(struct cpoise_report *report);

/**
 * The report as plain text.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_report_text(const struct cpoise_report *report,
                                 char *words,
                                 size_t capacity,
                                 size_t *used,
                                 cpoise_detail *detail);

/**
 * The entry for the machine's log as plain text.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_report_log_entry(const struct cpoise_report *report,
                                      char *words,
                                      size_t capacity,
                                      size_t *used,
                                      cpoise_detail *detail);

/** Declares a cpoise_advice_options with the default of everything. */
#define CPOISE_ADVICE_OPTIONS_INIT { sizeof(cpoise_advice_options), 0, 0, 0, NULL }

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_HEAP

/* ================================================================================================================== */

/*
 * Balancing without phase: the correction from amplitudes alone.
 *
 * One reading as found and one with a trial weight at each of several places, the last weight taken off each time. For a
 * linear rotor A_i = |v0 + H u_i|. Three trials in different directions settle it, more are fitted by least squares, two
 * leave two answers. Readings that no linear rotor can give are told from a poor fit.
 */

/**
 * One rotor fits best: solution 0. Solution 1, where there is one, is the next higher local minimum.
 */
#define CPOISE_OUTCOME_UNIQUE 1

/**
 * Several rotors fit alike: all solutions, by rising angle of the correction. Only one of them is the machine.
 */
#define CPOISE_OUTCOME_AMBIGUOUS 2

/**
 * One trial, or all trials at one place: a whole circle of corrections fits.
 */
#define CPOISE_OUTCOME_UNDETERMINED 3

/**
 * The readings contradict every linear rotor. Solution 0, where there is one, is the best of the bad fits.
 */
#define CPOISE_OUTCOME_IMPOSSIBLE 4

/**
 * No rotor on which the trial weights act fits better than one on which they do not.
 */
#define CPOISE_OUTCOME_NO_EFFECT 5

/**
 * There was no vibration as found.
 */
#define CPOISE_OUTCOME_NOTHING_TO_CORRECT 6

/**
 * All trial places lie on one line through the shaft's centre: add a trial off the line.
 */
#define CPOISE_AMBIGUITY_ONE_LINE 1

/**
 * Two places leave two answers: add a trial at a third place.
 */
#define CPOISE_AMBIGUITY_TWO_PLACES 2

/**
 * Several rotors fit these readings equally badly: read again, or add a trial at another place.
 */
#define CPOISE_AMBIGUITY_EQUAL_FITS 3

/**
 * What amplitudes say. Never changes once it is made.
 */
typedef struct cpoise_without_phase cpoise_without_phase;

/**
 * One trial run: the unbalance of the weight that was mounted for it, alone, and the amplitude it gave.
 */
typedef struct cpoise_amplitude_trial {
  /**
   * What was mounted.
   */
  cpoise_unbalance_vector unbalance;
  /**
   * What was read, in the unit and detector of the reading as found.
   */
  double amplitude;
} cpoise_amplitude_trial;

/**
 * What the amplitudes came to.
 */
typedef struct cpoise_without_phase_outcome {
  /**
   * A CPOISE_OUTCOME_ number.
   */
  int32_t outcome;
  /**
   * For CPOISE_OUTCOME_AMBIGUOUS a CPOISE_AMBIGUITY_ number; else 0.
   */
  int32_t ambiguity;
  /**
   * For CPOISE_AMBIGUITY_ONE_LINE where the line points, in degrees with rotation from the mark, in [0, 180); else 0.
   */
  double line_with_rotation_deg;
  /**
   * How many solutions there are.
   */
  size_t solutions;
  /**
   * 1 where there is a closed form; else 0.
   */
  int32_t has_closed_form;
} cpoise_without_phase_outcome;

/**
 * A linear rotor that explains the amplitudes, and the correction it asks for.
 */
typedef struct cpoise_amplitude_solution {
  /**
   * What to mount, with the trial weights off.
   */
  cpoise_unbalance_vector correction;
  /**
   * The amplitude as found, as fitted.
   */
  double as_found_amplitude;
  /**
   * The size of the influence coefficient, in the unit of the readings per g mm.
   */
  double influence_per_g_mm;
  /**
   * How far the response to an unbalance at the mark leads the vibration as found, in degrees.
   */
  double response_lead_deg;
  /**
   * The sum of squared residuals.
   */
  double sum_of_squares;
  /**
   * The root of their mean square: the misfit, in the unit of the readings.
   */
  double rms_residual;
} cpoise_amplitude_solution;

/**
 * The textbook's figure beside the fit, from three or more trials; NaN for what there is not.
 */
typedef struct cpoise_closed_form {
  /**
   * The squared influence coefficient, per g^2 mm^2; negative where the readings contradict a linear rotor, or by noise.
   */
  double squared_influence;
  /**
   * The influence coefficient from it, per g mm; NaN unless it is positive.
   */
  double influence_from_mean;
  /**
   * The influence coefficient from how the amplitude changes with the place, per g mm.
   */
  double influence_from_places;
  /**
   * As that of a solution.
   */
  double response_lead_deg;
  /**
   * The first coefficient over the second: 1 for consistent readings; NaN where there is none.
   */
  double inconsistency_ratio;
  /**
   * 1 where there is a correction with the first coefficient; else 0.
   */
  int32_t has_correction;
  /**
   * That correction; zero where there is none.
   */
  cpoise_unbalance_vector correction;
} cpoise_closed_form;

/**
 * What the amplitudes say: every linear rotor that explains them best.
 *
 * as_found: readings without a trial weight, a list of as_found_count. trials: a list of trial_count.
 *
 * Refuses: no reading as found (651), no trial (652), amplitudes that cannot be (653, 655), a trial weight that makes no
 * unbalance (654), numbers that are not finite (101) or beyond range (104), CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_without_phase_new(const double *as_found,
                                       size_t as_found_count,
                                       const struct cpoise_amplitude_trial *trials,
                                       size_t trial_count,
                                       struct cpoise_without_phase **answer,
                                       cpoise_detail *detail);

/**
 * Frees an answer; NULL is nothing to free.
 */
void cpoise_without_phase_free(struct cpoise_without_phase *answer);

/**
 * What the amplitudes came to.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_without_phase_get_outcome(const struct cpoise_without_phase *answer,
                                               struct cpoise_without_phase_outcome *outcome,
                                               cpoise_detail *detail);

/**
 * A solution, counted from 0.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_without_phase_solution(const struct cpoise_without_phase *answer,
                                            size_t which,
                                            struct cpoise_amplitude_solution *solution,
                                            cpoise_detail *detail);

/**
 * Measured less fitted of a solution: the readings as found first, then the trials, in the order given.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_without_phase_residuals(const struct cpoise_without_phase *answer,
                                             size_t which,
                                             double *residuals,
                                             size_t capacity,
                                             size_t *used,
                                             cpoise_detail *detail);

/**
 * The textbook's figure beside the fit.
 *
 * Refuses: CPOISE_NO_VALUE where there is none, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_without_phase_closed_form(const struct cpoise_without_phase *answer,
                                               struct cpoise_closed_form *closed,
                                               cpoise_detail *detail);

#endif /* CPOISE_NO_HEAP */

#ifndef CPOISE_NO_JSON

/* ================================================================================================================== */

/* Coefficients kept from job to job, as JSON text, and what they say of another machine of the kind. */

/**
 * A store of coefficients, one machine after the other, counted from 0.
 */
typedef struct cpoise_store cpoise_store;

/**
 * A store of nothing. store: the new handle.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_store_new(struct cpoise_store **store, cpoise_detail *detail);

/**
 * A store from its JSON text. store: the new handle.
 *
 * Refuses: text that is no JSON or no store (900), a version that is not known (1514), CPOISE_NOT_UTF8,
 * CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_store_from_json_new(const char *json_text, struct cpoise_store **store, cpoise_detail *detail);

/**
 * Frees a store; NULL is nothing to free.
 */
void cpoise_store_free(struct cpoise_store *store);

/**
 * Adds a machine at the end. kind: what its coefficients are shared with. machine: which one it is. matrix: copied.
 *
 * Refuses: CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_store_add(struct cpoise_store *store,
                               const char *kind,
                               const char *machine,
                               const cpoise_influence_matrix *matrix,
                               cpoise_detail *detail);

/**
 * How many machines there are.
 *
 * Refuses: CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_store_count(const struct cpoise_store *store, size_t *machines, cpoise_detail *detail);

/**
 * The coefficients of a machine. matrix: the new handle, which does not depend on the store.
 *
 * Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_store_influence_new(const struct cpoise_store *store,
                                         size_t machine,
                                         cpoise_influence_matrix **matrix,
                                         cpoise_detail *detail);

/**
 * The JSON text of a store.
 *
 * Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_store_to_json(const struct cpoise_store *store,
                                   char *json_text,
                                   size_t capacity,
                                   size_t *used,
                                   cpoise_detail *detail);

/**
 * A prior of what the stored machines of a kind have in common. expected_spread: how far machines of the kind differ, as a
 * fraction of a coefficient. prior: the new handle, which does not depend on the store.
 *
 * Refuses: a kind of which nothing is stored (1515), machines of other channels or planes (1516), a spread that cannot be
 * one (1517), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
 */
cpoise_status cpoise_store_prior_new(const struct cpoise_store *store,
                                     const char *kind,
                                     double expected_spread,
                                     cpoise_prior **prior,
                                     cpoise_detail *detail);

#endif /* CPOISE_NO_JSON */

#ifdef __cplusplus
}
#endif

#endif /* COUNTERPOISE_H */
