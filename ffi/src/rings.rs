//! Rings and hardware: where pieces can go, and which there are.
//!
//! Holes, rings, planes and hardware are counted from 0, as they were given.

use alloc::vec::Vec;
use core::ffi::c_char;

use counterpoise::{Angle, Hardware, Hole, HoleCircle, HoleRing, Length, Mass, Radius};

use crate::argument::{handle, list, output, text, value};
use crate::convention::with_rotation;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::influence::each;
use crate::status::{CPOISE_NO_SUCH_INDEX, cpoise_status};
use crate::view::cpoise_hole_circle;

/// Every hole of a ring.
pub const CPOISE_EVERY_HOLE: i32 = -1;

/// Rings of holes, which grow and change call by call.
pub struct cpoise_rings(pub(crate) Vec<HoleRing>);

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

pub(crate) unsafe fn all_hardware(
    hardware: *const cpoise_hardware,
    count: usize,
) -> Result<Vec<Hardware>, Failure> {
    // SAFETY: the caller keeps the rules at the top of the header.
    unsafe { list(hardware, count, "hardware")?.iter().map(|piece| hardware_of(piece)).collect() }
}
