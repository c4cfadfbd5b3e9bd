//! Placement: which pieces go into which holes, with the proof that none do better.
//!
//! A question is put together from rings of holes, a list of hardware and what is wanted, with options; a search begins
//! from it and is advanced by so many steps at a time, which gives progress and a way to stop; at any time it has an
//! answer, which says what is proven of it. Holes, rings, planes and hardware are counted from 0, as they were given.
//!
//! A front of residual against pieces is had from questions for the least residual with CPOISE_LIMIT_PIECES 0, 1, 2, ...

use alloc::vec::Vec;
use core::ffi::c_char;

use counterpoise::{
    Angle, Hardware, Hole, HoleCircle, HoleRing, InfluenceMatrix, Length, Mass, Placement, PlacementAnswer,
    PlacementNorm, PlacementProof, PlacementQuestion, PlacementSearch, PlacementTolerance, Radius, Unbalance,
    UnbalanceVector, Vibration,
};

use crate::argument::{Options, handle, list, options, output, results, text, value};
use crate::caution::{cpoise_caution, write_all};
use crate::constant::chosen;
use crate::convention::{cpoise_unbalance_vector, cpoise_vibration, with_rotation};
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::influence::{cpoise_influence_matrix, each};
use crate::status::{CPOISE_NO_SUCH_INDEX, CPOISE_NO_VALUE, CPOISE_UNKNOWN_CONSTANT, cpoise_status};
use crate::view::cpoise_hole_circle;

constants! {
    /// How large a residual is.
    PlacementNorm, "norm" {
        /// The root of the sum of squares over planes, or over weighted channels. The default.
        CPOISE_NORM_EUCLIDEAN = 1 => Euclidean,
        /// The worst plane, or the worst weighted channel.
        CPOISE_NORM_WORST = 2 => Worst,
        /// The largest component of all vectors.
        CPOISE_NORM_WORST_COMPONENT = 3 => WorstComponent,
    }
}

/// Every hole of a ring.
pub const CPOISE_EVERY_HOLE: i32 = -1;

// What the best placement is.

/// The least residual; among ties the fewest holes, then pieces, then mass. The default.
pub const CPOISE_AIM_LEAST: i32 = 1;
/// The fewest holes, then pieces, then mass, that leave no more than eps.
pub const CPOISE_AIM_WITHIN: i32 = 2;
/// The fewest pieces put on and taken off, then holes, then mass, that leave no more than eps.
pub const CPOISE_AIM_LEAST_CHANGE: i32 = 3;
/// As CPOISE_AIM_WITHIN, with the usual eps for what is wanted.
pub const CPOISE_AIM_USUAL: i32 = 4;
/// As CPOISE_AIM_USUAL, with a stated scatter in the place of the usual one.
pub const CPOISE_AIM_SCATTER: i32 = 5;

// What is limited; no numbers of the limits of a correction.

/// Holes touched, over all planes.
pub const CPOISE_LIMIT_HOLES: i32 = 11;
/// Holes touched in one plane.
pub const CPOISE_LIMIT_HOLES_IN_PLANE: i32 = 12;
/// Pieces handled, put on or taken off.
pub const CPOISE_LIMIT_PIECES: i32 = 13;
/// Net mass added, over all planes.
pub const CPOISE_LIMIT_NET_MASS: i32 = 14;

// What is proven of an answer; the same numbers as in Rust.

/// No placement within the limits is better.
pub const CPOISE_PROOF_BEST: i32 = 1;
/// No placement leaves as little as eps. The nearest found is given, and not proven nearest.
pub const CPOISE_PROOF_NONE_WITHIN: i32 = 2;
/// No placement in at most so many holes is better; more holes were not looked at to the end.
pub const CPOISE_PROOF_BEST_IN_HOLES: i32 = 3;
/// No placement that handles at most so many pieces is better; more were not looked at to the end.
pub const CPOISE_PROOF_BEST_IN_PIECES: i32 = 4;
/// Stopped before anything was proven but the lower bound.
pub const CPOISE_PROOF_STOPPED: i32 = 5;

// What decided the usual eps; the same numbers as in Rust.

/// 1 % of what is wanted.
pub const CPOISE_NEAR_WANTED: i32 = 1;
/// 0.3 of the usual scatter of weights and readings.
pub const CPOISE_NEAR_SCATTER: i32 = 2;
/// 0.3 of the stated scatter of weights and readings.
pub const CPOISE_NEAR_STATED_SCATTER: i32 = 3;
/// 5 % of the permissible residual.
pub const CPOISE_NEAR_PERMISSIBLE: i32 = 4;
/// Half the permissible residual, which is never exceeded.
pub const CPOISE_NEAR_HALF_PERMISSIBLE: i32 = 5;

/// Rings of holes, which grow and change call by call.
pub struct cpoise_rings(Vec<HoleRing>);

/// A question for a placement. Never changes once it is made, and does not depend on what it was made from.
pub struct cpoise_placement_question(PlacementQuestion);

/// A search, which goes on call by call. Does not depend on its question.
pub struct cpoise_placement_search(PlacementSearch);

/// An answer. Never changes, and does not depend on its search.
pub struct cpoise_placement_answer(PlacementAnswer);

/// A kind of piece that can be put on, or of material that can be taken off. Made by the calls below; the name, which
/// may be NULL for none, is the caller's and not copied.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_hardware {
    /// Its name, UTF-8 that ends with a NUL, or NULL.
    pub name: *const c_char,
    /// The mass of one piece in g; negative means material taken off.
    pub mass_g: f64,
    /// What one piece adds to the height of a stack, in mm.
    pub thickness_mm: f64,
    /// 0: as many as are needed; not 0: there are only stock of them to be put on.
    pub stock_is_limited: i32,
    /// How many there are, where that is limited.
    pub stock: u32,
}

/// A hole of a ring that is not even.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_hole {
    /// Distance from the axis in mm, greater than zero.
    pub radius_mm: f64,
    /// Place in degrees from the mark, counted with the rotation.
    pub angle_with_rotation_deg: f64,
}

/// A limit of a placement as a whole.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_limit {
    /// One of CPOISE_LIMIT_HOLES, CPOISE_LIMIT_HOLES_IN_PLANE, CPOISE_LIMIT_PIECES and CPOISE_LIMIT_NET_MASS.
    pub kind: i32,
    /// The most holes or pieces; not read for net mass.
    pub most: u32,
    /// The plane, for CPOISE_LIMIT_HOLES_IN_PLANE; else not read.
    pub plane: usize,
    /// The most mass in g, for CPOISE_LIMIT_NET_MASS; else not read.
    pub mass_g: f64,
}

/// What else is asked of a placement. Declared with CPOISE_PLACEMENT_OPTIONS_INIT; every member may stay zero.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_options {
    /// The size of this struct, as its INIT macro sets it.
    pub size: usize,
    /// CPOISE_NORM_EUCLIDEAN (also 0), CPOISE_NORM_WORST or CPOISE_NORM_WORST_COMPONENT.
    pub norm: i32,
    /// CPOISE_AIM_LEAST (also 0) or another CPOISE_AIM_.
    pub aim: i32,
    /// For CPOISE_AIM_WITHIN and CPOISE_AIM_LEAST_CHANGE: how much may be left, in the residual's unit.
    pub eps: f64,
    /// For CPOISE_AIM_SCATTER: the root mean square size of the error of what is wanted and of what is placed, together.
    pub scatter: f64,
    /// For CPOISE_AIM_USUAL and CPOISE_AIM_SCATTER: the permissible residual, in the residual's unit; 0 for none stated.
    pub permissible: f64,
    /// How many answers, no two of them on the same holes: 1 to 1000; 0 is 1, more than 1000 is 1000.
    pub answers: usize,
    /// Weights g by channel, which multiply the squared residual, for a question through coefficients. NULL for 1 each.
    pub channel_weights: *const f64,
    /// How many there are: one per channel, or 0.
    pub weight_count: usize,
    /// Limits; a later one of the same kind (and plane) replaces an earlier one. NULL for none.
    pub limits: *const cpoise_placement_limit,
    /// How many there are.
    pub limit_count: usize,
    /// The memory that lists of sums may take, at least 1048576 bytes; 0 for 200 MiB.
    pub memory_bytes: usize,
}

// SAFETY: repr(C), numbers and pointers, the size first.
unsafe impl Options for cpoise_placement_options {
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// Pieces of one kind put on or taken off at one hole.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_change {
    /// The ring.
    pub ring: usize,
    /// The hole in the ring.
    pub hole: usize,
    /// The kind of hardware.
    pub hardware: usize,
    /// Pieces to put on.
    pub added: u32,
    /// Pieces to take off.
    pub removed: u32,
}

/// What a placement comes to.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_summary {
    /// What is left: in g mm, or in the channels' unit for a question through coefficients.
    pub residual: f64,
    /// Holes touched.
    pub holes: usize,
    /// Pieces handled, put on or taken off.
    pub pieces: u64,
    /// The net mass added in g.
    pub net_mass_g: f64,
    /// The moment in g mm that works against what is placed: what lies more than a quarter turn from the unbalance placed
    /// in its plane, along it. Zero is best.
    pub heavy_side_moment_g_mm: f64,
}

/// How good an answer is known to be.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_certificate {
    /// A CPOISE_PROOF_ number.
    pub proof: i32,
    /// 1 where the search came to its end, so that nothing better is possible within the limits; else 0.
    pub proven: i32,
    /// For CPOISE_PROOF_BEST_IN_HOLES and CPOISE_PROOF_BEST_IN_PIECES: how many of them; else 0.
    pub proven_up_to: u64,
    /// What the residual of no placement within the limits falls below; eps, where none is within it.
    pub lower_bound: f64,
    /// The steps that were spent.
    pub steps: u64,
    /// 1 where the search ended because the rest does not fit into the memory allowed; else 0.
    pub out_of_memory: i32,
}

/// The usual eps: how near is near enough.
/// max(1 % of what is wanted, 0.3 of the scatter, 5 % of the permissible residual), never above half the permissible
/// residual. Scatter as is usual, unless it is stated: piece mass 0.5 %, wanted correction 3 % and 2 degrees. Common
/// practice, no source.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_placement_tolerance {
    /// The eps, in the residual's unit.
    pub eps: f64,
    /// What decided it: a CPOISE_NEAR_ number.
    pub reason: i32,
    /// What not even the best correction takes off, which does not count against the placement; 0 for an unbalance.
    pub unavoidable: f64,
}

impl From<PlacementTolerance> for cpoise_placement_tolerance {
    fn from(from: PlacementTolerance) -> Self {
        Self { eps: from.eps(), reason: from.reason().code(), unavoidable: from.unavoidable() }
    }
}

impl TryFrom<cpoise_hole> for Hole {
    type Error = Failure;
    fn try_from(from: cpoise_hole) -> Result<Self, Failure> {
        let radius = Radius::from_millimetres(from.radius_mm)?;
        Ok(Self::new(radius, with_rotation(from.angle_with_rotation_deg)?))
    }
}

/// Name, or nothing where the caller has none.
unsafe fn name_of<'a>(name: *const c_char) -> Result<&'a str, Failure> {
    if name.is_null() {
        return Ok("");
    }
    // SAFETY: the caller keeps the rules at the top of the header.
    unsafe { text(name, "name") }
}

unsafe fn hardware_of(from: &cpoise_hardware) -> Result<Hardware, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let name = unsafe { name_of(from.name) }?;
    let hardware = Hardware::new(name, Mass::from_grams(from.mass_g)?)
        .with_thickness(Length::from_millimetres(from.thickness_mm)?);
    Ok(if from.stock_is_limited == 0 { hardware } else { hardware.in_stock(from.stock) })
}

/// What the caller keeps of a piece.
fn told(hardware: &Hardware, name: *const c_char) -> cpoise_hardware {
    cpoise_hardware {
        name,
        mass_g: hardware.mass().grams(),
        thickness_mm: hardware.thickness().millimetres(),
        stock_is_limited: i32::from(hardware.stock().is_some()),
        stock: hardware.stock().unwrap_or(0),
    }
}

/// A piece of a mass, without thickness, as many as are needed. Negative mass is material taken off.
///
/// name: UTF-8 that ends with a NUL, or NULL; must be there as long as the piece is used.
///
/// Refuses: a mass that is not finite (101) or beyond range (104), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hardware_make(
    name: *const c_char,
    mass_g: f64,
    hardware: *mut cpoise_hardware,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let hardware = output(hardware, "hardware")?;
        hardware.write(told(&Hardware::new(name_of(name)?, Mass::from_grams(mass_g)?), name));
        Ok(())
    })
}

/// A washer: m = rho pi/4 (D^2 - d^2) t, with its thickness, as many as are needed. The density is in g/cm3: steel is
/// about 7.85.
///
/// Refuses: a density or thickness that is not positive, an inner diameter that is not below the outer one (812), numbers
/// that are not finite (101) or beyond range (104), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hardware_washer(
    name: *const c_char,
    outer_diameter_mm: f64,
    inner_diameter_mm: f64,
    thickness_mm: f64,
    density_g_per_cm3: f64,
    hardware: *mut cpoise_hardware,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let hardware = output(hardware, "hardware")?;
        let mm = Length::from_millimetres;
        let (outer, inner, thickness) = (mm(outer_diameter_mm)?, mm(inner_diameter_mm)?, mm(thickness_mm)?);
        let washer = Hardware::washer(name_of(name)?, outer, inner, thickness, density_g_per_cm3)?;
        hardware.write(told(&washer, name));
        Ok(())
    })
}

/// A drilled hole, a negative mass: m = -rho pi/4 d^2 (t + (d/2) / (3 tan(a/2))), t the depth of the full diameter and a
/// the included angle of the drill's point, as in 118 degrees. The density is in g/cm3.
///
/// Refuses: a density or length that is not positive, an angle that is not above 0 and at most 180 degrees (812), numbers
/// that are not finite (101) or beyond range (104), CPOISE_NOT_UTF8, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_hardware_drilled(
    name: *const c_char,
    diameter_mm: f64,
    depth_mm: f64,
    point_angle_deg: f64,
    density_g_per_cm3: f64,
    hardware: *mut cpoise_hardware,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let hardware = output(hardware, "hardware")?;
        let mm = Length::from_millimetres;
        let (diameter, depth) = (mm(diameter_mm)?, mm(depth_mm)?);
        let angle = Angle::from_degrees(point_angle_deg)?;
        let drilled = Hardware::drilled(name_of(name)?, diameter, depth, angle, density_g_per_cm3)?;
        hardware.write(told(&drilled, name));
        Ok(())
    })
}

/// An empty list of rings.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_new(
    rings: *mut *mut cpoise_rings,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        handle::new(rings)?.write(cpoise_rings(Vec::new()));
        Ok(())
    })
}

/// Frees a list of rings; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_free(rings: *mut cpoise_rings) {
    guarded_value!((), { handle::free(rings) });
}

/// Adds an even ring: a circle of holes at one radius, empty and without limits.
///
/// plane: counted from 0. index: the number of the new ring, counted from 0.
///
/// Refuses: a radius that is not greater than zero (102), numbers that are not finite (101) or beyond range (104), a circle
/// that cannot be (701, CPOISE_OUT_OF_RANGE, CPOISE_UNKNOWN_CONSTANT), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_add_even(
    rings: *mut cpoise_rings,
    plane: usize,
    circle: *const cpoise_hole_circle,
    radius_mm: f64,
    index: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let index = output(index, "index")?;
        let circle = HoleCircle::try_from(value(circle, "circle")?)?;
        let ring = HoleRing::even(circle, Radius::from_millimetres(radius_mm)?).in_plane(plane);
        let rings = handle::exclusive(rings, "rings")?;
        index.write(rings.0.len());
        rings.0.push(ring);
        Ok(())
    })
}

/// Adds a ring of holes each at its own place, empty and without limits.
///
/// plane: counted from 0. holes: a list of count. index: the number of the new ring, counted from 0.
///
/// Refuses: a radius that is not greater than zero (102), numbers that are not finite (101) or beyond range (104),
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_add_listed(
    rings: *mut cpoise_rings,
    plane: usize,
    holes: *const cpoise_hole,
    count: usize,
    index: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let index = output(index, "index")?;
        let holes: Vec<Hole> = each(list(holes, count, "holes")?)?;
        let rings = handle::exclusive(rings, "rings")?;
        index.write(rings.0.len());
        rings.0.push(HoleRing::listed(holes).in_plane(plane));
        Ok(())
    })
}

/// Changes one hole of a ring, or every one.
unsafe fn change(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    change: impl Fn(Hole) -> Hole,
) -> Result<(), Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let rings = unsafe { handle::exclusive(rings, "rings") }?;
    let none =
        |what: &str| Failure::new(CPOISE_NO_SUCH_INDEX, format_args!("there is no {what}, counted from 0"));
    let of = rings.0.get_mut(ring).ok_or_else(|| none(&alloc::format!("ring {ring}")))?;
    let one = match usize::try_from(hole) {
        Ok(index) if index < of.holes().len() => Some(index),
        Err(_) if hole == CPOISE_EVERY_HOLE => None,
        _ => return Err(none(&alloc::format!("hole {hole} in ring {ring}"))),
    };
    let taken = core::mem::replace(of, HoleRing::listed(Vec::new()));
    *of = match one {
        Some(index) => taken.at(index, change),
        None => taken.each(change),
    };
    Ok(())
}

/// Limits the mass of the finished stack, with what stays of what is mounted; of material taken off, its size counts. A
/// negative limit is refused with the question (805).
///
/// hole: counted from 0 in its ring, or CPOISE_EVERY_HOLE, here and in the calls below.
///
/// Refuses: a mass that is not finite (101) or beyond range (104), CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_limit_mass(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    most_g: f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let most = Mass::from_grams(most_g)?;
        change(rings, ring, hole, |hole| hole.limit_mass(most))
    })
}

/// Limits the pieces of the finished stack.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_limit_pieces(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    most: u32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { change(rings, ring, hole, |hole| hole.limit_pieces(most)) })
}

/// Limits the height of the finished stack, such as a bolt's grip length. A negative limit is refused with the question
/// (805).
///
/// Refuses: a height that is not finite (101) or beyond range (104), CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_limit_height(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    most_mm: f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let most = Length::from_millimetres(most_mm)?;
        change(rings, ring, hole, |hole| hole.limit_height(most))
    })
}

/// The fewest pieces of the finished stack, where the hole is touched at all: with a limit of one piece, screws are
/// exchanged and never left out.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_keep_pieces(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    least: u32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { change(rings, ring, hole, |hole| hole.keep_pieces(least)) })
}

/// The hole stays as it is.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_block(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { change(rings, ring, hole, Hole::block) })
}

/// The pieces that are in the hole now. What is wanted is to be added to them.
///
/// pieces: a list of count, one per kind of hardware; another count is refused with the question (809).
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_mounted(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    pieces: *const u32,
    count: usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let pieces = list(pieces, count, "pieces")?;
        change(rings, ring, hole, |hole| hole.mounted(pieces))
    })
}

/// What is mounted in the hole may not come off.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_fixed(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { change(rings, ring, hole, Hole::fixed) })
}

/// The finished stack holds an even number of every kind: the same on both faces of the disc.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_rings_symmetric(
    rings: *mut cpoise_rings,
    ring: usize,
    hole: i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, { change(rings, ring, hole, Hole::symmetric) })
}

/// A question with what its options add.
unsafe fn with_options(
    question: PlacementQuestion,
    wanted: *const cpoise_placement_options,
) -> Result<cpoise_placement_question, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let (wanted, weights, limits) = unsafe {
        let wanted = options(wanted, "options")?;
        (
            wanted,
            list(wanted.channel_weights, wanted.weight_count, "channel_weights")?,
            list(wanted.limits, wanted.limit_count, "limits")?,
        )
    };
    let unknown = |what: &str, number: i32| {
        Failure::new(
            CPOISE_UNKNOWN_CONSTANT,
            format_args!("{what} {number} is not known: take one of the constants in the header"),
        )
    };
    let mut question = question;
    if wanted.norm != 0 {
        question = question.norm(chosen(wanted.norm)?);
    }
    if !weights.is_empty() {
        question = question.channel_weights(weights)?;
    }
    // Not a number is stated, and refused.
    let permissible = if wanted.permissible == 0.0 { None } else { Some(wanted.permissible) };
    question = match wanted.aim {
        0 | CPOISE_AIM_LEAST => question,
        CPOISE_AIM_WITHIN => question.within(wanted.eps)?,
        CPOISE_AIM_LEAST_CHANGE => question.least_change_within(wanted.eps)?,
        CPOISE_AIM_USUAL => question.within_usual(permissible)?,
        CPOISE_AIM_SCATTER => question.within_scatter(wanted.scatter, permissible)?,
        other => return Err(unknown("aim", other)),
    };
    if wanted.answers != 0 {
        question = question.best_of_different_holes(wanted.answers);
    }
    if wanted.memory_bytes != 0 {
        question = question.limit_memory(wanted.memory_bytes)?;
    }
    for limit in limits {
        let holes = usize::try_from(limit.most).unwrap_or(usize::MAX);
        question = match limit.kind {
            CPOISE_LIMIT_HOLES => question.limit_holes(holes),
            CPOISE_LIMIT_HOLES_IN_PLANE => question.limit_holes_in_plane(limit.plane, holes)?,
            CPOISE_LIMIT_PIECES => question.limit_pieces(limit.most),
            CPOISE_LIMIT_NET_MASS => question.limit_net_mass(Mass::from_grams(limit.mass_g)?)?,
            other => return Err(unknown("kind of limit", other)),
        };
    }
    Ok(cpoise_placement_question(question))
}

unsafe fn all_hardware(hardware: *const cpoise_hardware, count: usize) -> Result<Vec<Hardware>, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    unsafe { list(hardware, count, "hardware")?.iter().map(|piece| hardware_of(piece)).collect() }
}

/// Asks for an unbalance to be added to what is mounted now, one vector per plane. Residuals are in g mm.
///
/// rings and hardware are copied; hardware is a list of hardware_count, wanted one of wanted_count. options: NULL for the
/// least residual without limits. question: the new handle.
///
/// Refuses: no holes (801), no hardware (802), a piece without mass (803) or of negative thickness (804), a limit that
/// cannot be (805, 812, 816), too many holes (808) or planes (818), a hole that says of another number of kinds what is in
/// it (809), a ring in a plane without a wanted vector (810), channel weights where there are no channels (811), too little
/// memory (814), numbers that are not finite (101) or beyond range (104); CPOISE_BAD_SIZE, CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NOT_UTF8, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_question_new(
    rings: *const cpoise_rings,
    hardware: *const cpoise_hardware,
    hardware_count: usize,
    wanted: *const cpoise_unbalance_vector,
    wanted_count: usize,
    options: *const cpoise_placement_options,
    question: *mut *mut cpoise_placement_question,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let question = handle::new(question)?;
        let rings = &handle::shared(rings, "rings")?.0;
        let hardware = all_hardware(hardware, hardware_count)?;
        let wanted: Vec<UnbalanceVector> = each(list(wanted, wanted_count, "wanted")?)?;
        question.write(with_options(PlacementQuestion::new(rings, &hardware, &wanted)?, options)?);
        Ok(())
    })
}

/// Asks for the vibration to become small through influence coefficients. Residuals are in the channels' unit.
///
/// now: the vibration of every channel, a list of count in the order of the matrix, with everything on that is mounted
/// now. All else as in cpoise_placement_question_new.
///
/// Refuses: as cpoise_placement_question_new; another count of vibrations or of weights (811), weights that cannot be
/// (812) or are all zero (817).
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_question_through_new(
    rings: *const cpoise_rings,
    hardware: *const cpoise_hardware,
    hardware_count: usize,
    matrix: *const cpoise_influence_matrix,
    now: *const cpoise_vibration,
    count: usize,
    options: *const cpoise_placement_options,
    question: *mut *mut cpoise_placement_question,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let question = handle::new(question)?;
        let rings = &handle::shared(rings, "rings")?.0;
        let matrix: &InfluenceMatrix = &handle::shared(matrix, "matrix")?.0;
        let hardware = all_hardware(hardware, hardware_count)?;
        let now: Vec<Vibration> = each(list(now, count, "now")?)?;
        question.write(with_options(PlacementQuestion::through(rings, &hardware, matrix, &now)?, options)?);
        Ok(())
    })
}

/// Frees a question; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_question_free(question: *mut cpoise_placement_question) {
    guarded_value!((), { handle::free(question) });
}

/// A search, not yet begun.
///
/// Refuses: nothing that limits a stack (806), a hole that allows too many different stacks (807), numbers beyond range
/// (815), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_new(
    question: *const cpoise_placement_question,
    search: *mut *mut cpoise_placement_search,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let search = handle::new(search)?;
        search.write(cpoise_placement_search(handle::shared(question, "question")?.0.search()?));
        Ok(())
    })
}

/// Frees a search; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_free(search: *mut cpoise_placement_search) {
    guarded_value!((), { handle::free(search) });
}

/// Goes on by at most about so many steps. The answer depends on how many there were in all, and not on the clock.
///
/// ended: 1 when the search has come to its end, and more steps change nothing; else 0.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_advance(
    search: *mut cpoise_placement_search,
    steps: u64,
    ended: *mut i32,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let ended = output(ended, "ended")?;
        ended.write(handle::exclusive(search, "search")?.0.advance(steps).into());
        Ok(())
    })
}

/// How many steps were spent.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_steps(
    search: *const cpoise_placement_search,
    steps: *mut u64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let steps = output(steps, "steps")?;
        steps.write(handle::shared(search, "search")?.0.steps());
        Ok(())
    })
}

/// The best so far, and what is proven of it; the search can go on afterwards.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_search_answer_new(
    search: *const cpoise_placement_search,
    answer: *mut *mut cpoise_placement_answer,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let answer = handle::new(answer)?;
        answer.write(cpoise_placement_answer(handle::shared(search, "search")?.0.answer()));
        Ok(())
    })
}

/// Frees an answer; NULL is nothing to free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_free(answer: *mut cpoise_placement_answer) {
    guarded_value!((), { handle::free(answer) });
}

/// What is proven.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_certificate(
    answer: *const cpoise_placement_answer,
    certificate: *mut cpoise_placement_certificate,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let certificate = output(certificate, "certificate")?;
        let of = handle::shared(answer, "answer")?.0.certificate();
        let proven_up_to = match of.proof() {
            PlacementProof::BestInHoles(holes) => u64::try_from(holes).unwrap_or(u64::MAX),
            PlacementProof::BestInPieces(pieces) => pieces.into(),
            _ => 0,
        };
        certificate.write(cpoise_placement_certificate {
            proof: of.proof().code(),
            proven: of.is_proven().into(),
            proven_up_to,
            lower_bound: of.lower_bound(),
            steps: of.steps(),
            out_of_memory: of.out_of_memory().into(),
        });
        Ok(())
    })
}

/// How many placements an answer has: the best, and its runners-up, each on other holes than those before it.
///
/// Refuses: CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_count(
    answer: *const cpoise_placement_answer,
    count: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let count = output(count, "count")?;
        count.write(1 + handle::shared(answer, "answer")?.0.runners_up().len());
        Ok(())
    })
}

unsafe fn placement_of<'a>(
    answer: *const cpoise_placement_answer,
    which: usize,
) -> Result<&'a Placement, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    let answer = unsafe { &handle::shared(answer, "answer")?.0 };
    match which.checked_sub(1) {
        None => Ok(answer.best()),
        Some(runner_up) => answer.runners_up().get(runner_up).ok_or_else(|| {
            Failure::new(
                CPOISE_NO_SUCH_INDEX,
                format_args!(
                    "there is no placement {which}: there are {}, counted from 0",
                    1 + answer.runners_up().len()
                ),
            )
        }),
    }
}

/// What a placement comes to.
///
/// which: 0 for the best, from 1 for the runners-up, here and in the calls below.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_summary(
    answer: *const cpoise_placement_answer,
    which: usize,
    summary: *mut cpoise_placement_summary,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let summary = output(summary, "summary")?;
        let of = placement_of(answer, which)?;
        summary.write(cpoise_placement_summary {
            residual: of.residual(),
            holes: of.changes().len(),
            pieces: of.pieces(),
            net_mass_g: of.net_mass().grams(),
            heavy_side_moment_g_mm: of.heavy_side_moment().gram_millimetres(),
        });
        Ok(())
    })
}

/// What changes, hole by hole and kind by kind, at each hole first what is put on; what stays as it is is left out.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_changes(
    answer: *const cpoise_placement_answer,
    which: usize,
    changes: *mut cpoise_placement_change,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let changes = results(changes, capacity, used, "changes")?;
        let mut rows = Vec::new();
        for at in placement_of(answer, which)?.changes() {
            let (ring, hole) = (at.ring, at.hole);
            rows.extend(at.added.iter().map(|&(hardware, added)| cpoise_placement_change {
                ring,
                hole,
                hardware,
                added,
                removed: 0,
            }));
            rows.extend(at.removed.iter().map(|&(hardware, removed)| cpoise_placement_change {
                ring,
                hole,
                hardware,
                added: 0,
                removed,
            }));
        }
        changes.write(rows.into_iter())
    })
}

/// The unbalance added in each plane.
///
/// Refuses: CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_placed(
    answer: *const cpoise_placement_answer,
    which: usize,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        unbalances.write(placement_of(answer, which)?.placed().iter().map(|u| (*u).into()))
    })
}

/// What is still wanted in each plane.
///
/// Refuses: CPOISE_NO_VALUE where vibration was asked about, CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_left(
    answer: *const cpoise_placement_answer,
    which: usize,
    unbalances: *mut cpoise_unbalance_vector,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalances = results(unbalances, capacity, used, "unbalances")?;
        let left = placement_of(answer, which)?.left().ok_or_else(|| {
            Failure::new(CPOISE_NO_VALUE, format_args!("vibration was asked about: see what is predicted"))
        })?;
        unbalances.write(left.iter().map(|u| (*u).into()))
    })
}

/// The vibration that every channel should show next.
///
/// Refuses: CPOISE_NO_VALUE where no coefficients were given, CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_predicted(
    answer: *const cpoise_placement_answer,
    which: usize,
    vibrations: *mut cpoise_vibration,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibrations = results(vibrations, capacity, used, "vibrations")?;
        let predicted = placement_of(answer, which)?.predicted().ok_or_else(|| {
            Failure::new(CPOISE_NO_VALUE, format_args!("no coefficients were given: see what is left"))
        })?;
        vibrations.write(predicted.iter().map(|v| (*v).into()))
    })
}

/// How far each plane's placed unbalance scatters, in g mm: the root mean square length of its error when the moment of
/// every changed hole scatters on its own, by a share of its size (mass) and by an angle (place):
/// s^2 = sum |u_h|^2 (s_m^2 + s_b^2), to first order.
///
/// mass_share: such as 0.005. angle_deg: such as 0.5.
///
/// Refuses: a result that is not finite (101) or beyond range (104), CPOISE_NO_SUCH_INDEX, CPOISE_BUFFER_TOO_SMALL,
/// CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_scatter(
    answer: *const cpoise_placement_answer,
    which: usize,
    mass_share: f64,
    angle_deg: f64,
    scatter_g_mm: *mut f64,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let scatter_g_mm = results(scatter_g_mm, capacity, used, "scatter_g_mm")?;
        let scatter = placement_of(answer, which)?.scatter(mass_share, angle_deg);
        let checked: Vec<f64> = scatter
            .into_iter()
            .map(|of| {
                Unbalance::from_gram_millimetres(of.gram_millimetres()).map(Unbalance::gram_millimetres)
            })
            .collect::<Result<_, _>>()?;
        scatter_g_mm.write(checked.into_iter())
    })
}

/// The usual eps, and why it is so.
///
/// Refuses: CPOISE_NO_VALUE where neither CPOISE_AIM_USUAL nor CPOISE_AIM_SCATTER asked for it, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_tolerance(
    answer: *const cpoise_placement_answer,
    tolerance: *mut cpoise_placement_tolerance,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let tolerance = output(tolerance, "tolerance")?;
        tolerance.write(handle::shared(answer, "answer")?.0.tolerance().map(Into::into).ok_or_else(
            || Failure::new(CPOISE_NO_VALUE, format_args!("the question did not ask for the usual eps")),
        )?);
        Ok(())
    })
}

/// What to think of before mounting it.
///
/// Refuses: CPOISE_BUFFER_TOO_SMALL, CPOISE_COUNT_TOO_LARGE, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_placement_answer_cautions(
    answer: *const cpoise_placement_answer,
    cautions: *mut cpoise_caution,
    capacity: usize,
    used: *mut usize,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let cautions = results(cautions, capacity, used, "cautions")?;
        write_all(cautions, handle::shared(answer, "answer")?.0.cautions())
    })
}
