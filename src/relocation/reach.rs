//! What places with caps reach: the zonotope `{Σ mᵢ aᵢ : 0 ≤ mᵢ ≤ cᵢ}`, a convex polygon with opposite sides parallel.

use alloc::vec::Vec;
use num_complex::Complex64;

use crate::angle::{Angle, RotorAngle};
use crate::error::RelocationError;
use crate::math;
use crate::unit::Unbalance;
use crate::vector::UnbalanceVector;

use super::ascent::{Line, SLACK, quarter_turn};
use super::geometry::{CompensatedSum, VectorSum, accepted, dot, vector};
use super::least_mass::{LeastMass, least_mass, lines, parts};
use super::{CappedPlace, Part};

/// The largest unbalance that places make at an angle; `None` where there is no largest, for want of caps.
///
/// # Errors
/// [`RelocationError::NegativeCap`], and [`RelocationError::Quantity`] where a number is not finite or beyond range.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorAngle, RotorSense, relocation::{Place, largest_reachable}};
/// let radius = Radius::from_millimetres(100.0)?;
/// let at = |degrees| Ok::<_, counterpoise::QuantityError>(Place::new(radius, RotorSense::WithRotation.degrees(degrees)?));
/// let cap = Mass::from_grams(4.0)?;
/// let places = [at(0.0)?.capped(cap), at(60.0)?.capped(cap)];
/// let most = largest_reachable(RotorSense::WithRotation.degrees(30.0)?, &places)?.ok_or("no largest")?;
/// assert!((most.gram_millimetres() - 400.0 * 3.0_f64.sqrt()).abs() < 1e-12);
/// assert_eq!(largest_reachable(RotorAngle::MARK, &[at(0.0)?.uncapped()])?, None);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn largest_reachable(
    angle: RotorAngle,
    places: &[CappedPlace],
) -> Result<Option<Unbalance>, RelocationError> {
    let (_, lines) = lines(places)?;
    let (sine, cosine) = angle.with_rotation().sin_cos();
    let most = largest(Complex64 { re: cosine, im: sine }, &lines);
    Ok(most.map(Unbalance::from_gram_millimetres).transpose()?)
}

/// The largest multiple of a vector that the lines reach; `None` where there is no largest.
///
/// By duality it is the least `h(y) = Σ cᵢ max(0, y·aᵢ)` over all `y` with `y·d = 1`: a convex function of the one
/// number `s` in `y = d/|d|² + s d⊥`, with corners where `y·aᵢ = 0`.
pub(super) fn largest(d: Complex64, lines: &[Line]) -> Option<f64> {
    let size = math::modulus(d);
    let (along, across) = (d / size, quarter_turn(d / size));
    let ahead_and_rate = |line: &Line| {
        let (ahead, rate) = (dot(line.a, along), dot(line.a, across));
        // A place at the very angle asked for, or opposite to it, stands square to the search, whatever rounding says.
        (ahead, if rate.abs() <= SLACK * ahead.abs() { 0.0 } else { rate })
    };
    let (mut lowest, mut highest) = (f64::NEG_INFINITY, f64::INFINITY);
    // Where the slope of h grows, and by how much; below all corners it is that of the places with a falling y·a.
    let (mut corners, mut slope) = (Vec::new(), CompensatedSum::default());
    for line in lines {
        let (ahead, rate) = ahead_and_rate(line);
        let corner = -ahead / rate;
        if line.cap < f64::INFINITY {
            if rate != 0.0 {
                corners.push((corner, line.cap * rate.abs()));
                slope.add(line.cap * rate.min(0.0));
            }
        } else if rate < 0.0 {
            // Without a cap y·a must not be positive.
            lowest = lowest.max(corner);
        } else if rate > 0.0 {
            highest = highest.min(corner);
        } else if ahead > 0.0 {
            return None;
        }
    }
    // Opposite places without a cap leave one s, which rounding may split in two: by ε (1 + s²), as s is
    // a tangent.
    if lowest - highest > SLACK * (1.0 + highest * highest) {
        return None;
    }
    corners.sort_unstable_by(|one, other| one.0.total_cmp(&other.0));
    let mut least = 0.0;
    for (corner, growth) in corners {
        least = corner;
        slope.add(growth);
        if slope.value() >= 0.0 {
            break;
        }
    }
    let s = least.max(lowest).min(highest);
    // h(s) = Σ cᵢ (d·aᵢ + s d⊥·aᵢ) over the places with y·a > 0. Which these are is told by the corners: a place at its
    // own corner adds nothing, and must not add rounding.
    let rounding = SLACK * (1.0 + s * s);
    let (mut level, mut tilt) = (CompensatedSum::default(), CompensatedSum::default());
    for line in lines.iter().filter(|line| line.cap < f64::INFINITY) {
        let (ahead, rate) = ahead_and_rate(line);
        let full = if rate == 0.0 { ahead > 0.0 } else { (s + ahead / rate) * rate.signum() > rounding };
        if full {
            level.add(line.cap * ahead);
            tilt.add(line.cap * rate);
        }
    }
    Some(((level.value() + s * tilt.value()) / size).max(0.0))
}

/// The reachable unbalance nearest to a wanted one, with the lightest weights that make it.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, relocation::{Place, nearest_reachable}};
/// let radius = Radius::from_millimetres(100.0)?;
/// let at = |degrees| Ok::<_, counterpoise::QuantityError>(Place::new(radius, RotorSense::WithRotation.degrees(degrees)?));
/// let nearest = nearest_reachable(at(30.0)?.weight(Mass::from_grams(2.0)?), &[at(0.0)?.uncapped()])?;
/// assert!((nearest.unbalance.x_gram_millimetres() - 100.0 * 3.0_f64.sqrt()).abs() < 1e-12);
/// assert!((nearest.error.y_gram_millimetres() + 100.0).abs() < 1e-12);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct NearestReachable {
    /// The places that take a weight, in the order of the list; the others take none.
    pub parts: Vec<Part>,
    /// The unbalance that they make.
    pub unbalance: UnbalanceVector,
    /// That unbalance minus the one wanted; zero where it is in reach.
    pub error: UnbalanceVector,
}

/// The unbalance nearest to a wanted one that places with caps make: the nearest point of a polygon.
///
/// Unlike the largest in the wanted direction ([`LeastMass::OutOfReach`]) it may lie at another angle.
///
/// # Errors
/// Those of [`least_mass`].
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, relocation::{Place, nearest_reachable}};
/// let radius = Radius::from_millimetres(100.0)?;
/// let at = |degrees| Ok::<_, counterpoise::QuantityError>(Place::new(radius, RotorSense::WithRotation.degrees(degrees)?));
/// let places = [at(0.0)?.capped(Mass::from_grams(3.0)?), at(90.0)?.capped(Mass::from_grams(1.0)?)];
/// let nearest = nearest_reachable(at(45.0)?.weight(Mass::from_grams(2.0)?), &places)?;
/// let masses: Vec<f64> = nearest.parts.iter().map(|part| part.weight.mass.grams()).collect();
/// // 100 g mm is all there is upwards; to the right the wanted 141.4 g mm can be had.
/// assert!((masses[0] - 2.0_f64.sqrt()).abs() < 1e-14);
/// assert_eq!(masses[1], 1.0);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn nearest_reachable(
    wanted: impl Into<UnbalanceVector>,
    places: &[CappedPlace],
) -> Result<NearestReachable, RelocationError> {
    let wanted = accepted(wanted.into())?;
    if let LeastMass::Reached(split) = least_mass(wanted, places)? {
        let parts = split.parts().to_vec();
        return Ok(NearestReachable { parts, unbalance: wanted, error: UnbalanceVector::ZERO });
    }
    let (indices, lines) = lines(places)?;
    let masses = nearest_masses(wanted.complex(), &lines, places, &indices);
    let mut sum = VectorSum::default();
    for (line, mass) in lines.iter().zip(&masses) {
        sum.add(line.a * *mass);
    }
    let unbalance = vector(sum.value())?;
    // Where places stand at one angle or opposite to each other the walk need not have found the lightest masses.
    let parts = match least_mass(unbalance, places)? {
        LeastMass::Reached(split) => split.parts().to_vec(),
        LeastMass::OutOfReach { .. } => parts(places, indices.into_iter().zip(masses))?.0,
    };
    Ok(NearestReachable { parts, unbalance, error: unbalance - wanted })
}

/// A place turning from empty to full, or back, as the direction of the support turns with rotation: one side of the
/// polygon.
struct Side {
    degrees: f64,
    fills: bool,
    line: usize,
}

/// The nearest point so far: on which side, how far along it, and the square of its distance.
struct Nearest {
    distance: f64,
    position: usize,
    moved: f64,
}

/// Masses that make the boundary point nearest to `u`, which is out of reach.
///
/// The boundary is walked once around. In the direction `y` of the support the places with `y·a > 0` are full; each
/// becomes so a quarter turn before its own angle, and ceases to be a quarter turn after it. A place without a cap stays
/// empty, and sends out a ray from the corners at either end of its range. All points on the way are in reach, and the
/// whole boundary is among them, so the nearest of them is the answer.
fn nearest_masses(u: Complex64, lines: &[Line], places: &[CappedPlace], indices: &[usize]) -> Vec<f64> {
    let mut sides = Vec::with_capacity(2 * lines.len());
    // The walk starts with the support at the mark; full are the places whose full range holds it.
    let mut masses = Vec::with_capacity(lines.len());
    let mut corner = VectorSum::default();
    for (line, (index, Line { a, cap, .. })) in indices.iter().zip(lines).enumerate() {
        let angle = places.get(*index).map_or(0.0, |capped| capped.place.angle.with_rotation().degrees());
        let (fills, empties) =
            (Angle::reduced(angle - 90.0).degrees(), Angle::reduced(angle + 90.0).degrees());
        sides.push(Side { degrees: fills, fills: true, line });
        sides.push(Side { degrees: empties, fills: false, line });
        let full = fills > empties && *cap < f64::INFINITY;
        if full {
            corner.add(*a * *cap);
        }
        masses.push(if full { *cap } else { 0.0 });
    }
    // Of sides at one angle, what is emptied comes before what is filled.
    sides.sort_unstable_by(|one, other| {
        let by_angle = one.degrees.total_cmp(&other.degrees);
        by_angle.then(one.fills.cmp(&other.fills)).then(one.line.cmp(&other.line))
    });
    let mut nearest = None::<Nearest>;
    for (position, side) in sides.iter().enumerate() {
        let Some(&Line { a, cap, .. }) = lines.get(side.line) else { continue };
        let endless = cap == f64::INFINITY;
        let step = if side.fills || endless { a } else { -a };
        let (moved, distance) = foot(u - corner.value(), step, cap);
        if nearest.as_ref().is_none_or(|nearest| distance < nearest.distance) {
            nearest = Some(Nearest { distance, position, moved });
        }
        if !endless {
            corner.add(step * cap);
        }
    }
    // Once more along the walk, to the side that holds the nearest point.
    let Some(Nearest { position, moved, .. }) = nearest else { return masses };
    for (at, side) in sides.iter().enumerate().take(position + 1) {
        if let (Some(carried), Some(line)) = (masses.get_mut(side.line), lines.get(side.line)) {
            let endless = line.cap == f64::INFINITY;
            *carried = match (at == position, side.fills) {
                (true, true) => moved,
                (true, false) => {
                    if endless {
                        moved
                    } else {
                        line.cap - moved
                    }
                }
                (false, true) => {
                    if endless {
                        0.0
                    } else {
                        line.cap
                    }
                }
                (false, false) => 0.0,
            };
        }
    }
    masses
}

/// How far along `step`, from nothing to `cap` times, `rest` is nearest, and the square of what is then left.
fn foot(rest: Complex64, step: Complex64, cap: f64) -> (f64, f64) {
    let mass = (dot(rest, step) / dot(step, step)).clamp(0.0, cap);
    let left = rest - step * mass;
    (mass, dot(left, left))
}
