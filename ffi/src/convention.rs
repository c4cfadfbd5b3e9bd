//! Conventions: the caller's numbers become canonical ones here, and come back.
//!
//! A vibration, an unbalance vector and an influence coefficient are three types, so that a compiler tells them apart.
//! Each is canonical: whoever made it, and in whatever convention, it means the same.

use counterpoise::{
    Convention, Influence, Mass, PhaseSense, PolarUnbalance, PolarVibration, Radius, RotorAngle, RotorSense,
    Unbalance, UnbalanceVector, Vibration, Weight,
};

use crate::argument::{output, value};
use crate::constant::chosen;
use crate::detail::cpoise_detail;
use crate::failure::Failure;
use crate::status::cpoise_status;

constants! {
    /// How phases are counted.
    PhaseSense, "sense of phases" {
        /// Degrees of shaft rotation from the mark's pulse to the next positive peak: X = A exp(-j phase). The trade's
        /// usual reading.
        CPOISE_PHASE_LAG = 1 => Lag,
        /// The argument of the complex amplitude: X = A exp(+j phase).
        CPOISE_PHASE_LEAD = 2 => Lead,
    }
    /// How places on the rotor are counted, from the mark.
    RotorSense, "sense of places on the rotor" {
        /// Places rise with the rotation: u = m r exp(+j place).
        CPOISE_WITH_ROTATION = 1 => WithRotation,
        /// Places rise against the rotation: u = m r exp(-j place).
        CPOISE_AGAINST_ROTATION = 2 => AgainstRotation,
    }
}

/// The caller's pair of senses. There is no default: a zero is refused.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_convention {
    /// How phases are counted: CPOISE_PHASE_LAG or CPOISE_PHASE_LEAD.
    pub phase: i32,
    /// How places on the rotor are counted: CPOISE_WITH_ROTATION or CPOISE_AGAINST_ROTATION.
    pub rotor: i32,
}

/// Vibration at a measuring point, once per revolution: x(t) = Re(X exp(+jWt)), t = 0 when the mark passes its pickup.
/// In the unit and detector of its channel.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_vibration {
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

/// Unbalance in a correction plane, with its place: m r exp(+jb), b counted from the mark with the rotation.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_unbalance_vector {
    /// Towards the mark, in g mm.
    pub x_g_mm: f64,
    /// A quarter turn from the mark with the rotation, in g mm.
    pub y_g_mm: f64,
}

/// Influence coefficient: vibration, in the unit of its channel, per unbalance in g mm. v = h u.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_influence {
    /// Real part.
    pub re_per_g_mm: f64,
    /// Imaginary part.
    pub im_per_g_mm: f64,
}

/// A mass at a place in a correction plane. Made by cpoise_weight_make from the caller's own sense.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct cpoise_weight {
    /// Mass in g; negative means material taken off.
    pub mass_g: f64,
    /// Distance from the axis in mm, greater than zero.
    pub radius_mm: f64,
    /// Place in degrees from the mark, counted with the rotation whatever the caller's sense is.
    pub angle_with_rotation_deg: f64,
}

impl TryFrom<cpoise_convention> for Convention {
    type Error = Failure;
    #[inline]
    fn try_from(from: cpoise_convention) -> Result<Self, Failure> {
        Ok(Self { phase: chosen(from.phase)?, rotor: chosen(from.rotor)? })
    }
}

impl TryFrom<cpoise_vibration> for Vibration {
    type Error = Failure;
    #[inline]
    fn try_from(from: cpoise_vibration) -> Result<Self, Failure> {
        Ok(Self::from_components(from.re, from.im)?)
    }
}

impl From<Vibration> for cpoise_vibration {
    #[inline]
    fn from(from: Vibration) -> Self {
        Self { re: from.complex().re, im: from.complex().im }
    }
}

impl TryFrom<cpoise_unbalance_vector> for UnbalanceVector {
    type Error = Failure;
    #[inline]
    fn try_from(from: cpoise_unbalance_vector) -> Result<Self, Failure> {
        Ok(Self::from_components_gram_millimetres(from.x_g_mm, from.y_g_mm)?)
    }
}

impl From<UnbalanceVector> for cpoise_unbalance_vector {
    #[inline]
    fn from(from: UnbalanceVector) -> Self {
        Self { x_g_mm: from.x_gram_millimetres(), y_g_mm: from.y_gram_millimetres() }
    }
}

impl TryFrom<cpoise_influence> for Influence {
    type Error = Failure;
    #[inline]
    fn try_from(from: cpoise_influence) -> Result<Self, Failure> {
        Ok(Self::from_components_per_gram_millimetre(from.re_per_g_mm, from.im_per_g_mm)?)
    }
}

impl From<Influence> for cpoise_influence {
    #[inline]
    fn from(from: Influence) -> Self {
        Self { re_per_g_mm: from.complex().re, im_per_g_mm: from.complex().im }
    }
}

impl TryFrom<cpoise_weight> for Weight {
    type Error = Failure;
    fn try_from(from: cpoise_weight) -> Result<Self, Failure> {
        Ok(Self {
            mass: Mass::from_grams(from.mass_g)?,
            radius: Radius::from_millimetres(from.radius_mm)?,
            angle: with_rotation(from.angle_with_rotation_deg)?,
        })
    }
}

impl From<Weight> for cpoise_weight {
    fn from(from: Weight) -> Self {
        Self {
            mass_g: from.mass.grams(),
            radius_mm: from.radius.millimetres(),
            angle_with_rotation_deg: from.angle.with_rotation().degrees(),
        }
    }
}

/// A place counted with rotation, as everywhere across the border.
pub fn with_rotation(degrees: f64) -> Result<RotorAngle, Failure> {
    Ok(RotorSense::WithRotation.degrees(degrees)?)
}

/// A vibration from an amplitude and a phase in degrees, counted in the caller's sense.
///
/// amplitude: in the unit and detector of the channel, not negative. vibration: written on success.
///
/// Refuses: not finite (101), a negative amplitude (103), one beyond 1e100 (104), CPOISE_UNKNOWN_CONSTANT,
/// CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_vibration_from_polar(
    convention: *const cpoise_convention,
    amplitude: f64,
    phase_deg: f64,
    vibration: *mut cpoise_vibration,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibration = output(vibration, "vibration")?;
        let convention = Convention::try_from(value(convention, "convention")?)?;
        vibration.write(convention.vibration(amplitude, phase_deg)?.into());
        Ok(())
    })
}

/// Amplitude, and phase in degrees in [0, 360), counted in the caller's sense. A vibration of zero has phase 0.
///
/// Refuses: a vibration that is not finite (101) or beyond 1e100 (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_vibration_to_polar(
    convention: *const cpoise_convention,
    vibration: *const cpoise_vibration,
    amplitude: *mut f64,
    phase_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_amplitude, to_phase) = (output(amplitude, "amplitude")?, output(phase_deg, "phase_deg")?);
        let convention = Convention::try_from(value(convention, "convention")?)?;
        let vibration = Vibration::try_from(value(vibration, "vibration")?)?;
        let PolarVibration { amplitude, phase, .. } = convention.polar_vibration(vibration);
        to_amplitude.write(amplitude);
        to_phase.write(phase.degrees());
        Ok(())
    })
}

/// A place on the rotor in the caller's sense as degrees counted with the rotation, in [0, 360).
///
/// Refuses: not finite (101), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_place_from_caller(
    convention: *const cpoise_convention,
    place_deg: f64,
    with_rotation_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let with_rotation_deg = output(with_rotation_deg, "with_rotation_deg")?;
        let convention = Convention::try_from(value(convention, "convention")?)?;
        with_rotation_deg.write(convention.place(place_deg)?.with_rotation().degrees());
        Ok(())
    })
}

/// A place counted with the rotation as degrees in the caller's sense, in [0, 360).
///
/// Refuses: not finite (101), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_place_to_caller(
    convention: *const cpoise_convention,
    with_rotation_deg: f64,
    place_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let place_deg = output(place_deg, "place_deg")?;
        let convention = Convention::try_from(value(convention, "convention")?)?;
        place_deg.write(with_rotation(with_rotation_deg)?.in_sense(convention.rotor).degrees());
        Ok(())
    })
}

/// A weight from its mass, its radius and its place in degrees from the mark, counted in the caller's sense.
///
/// Refuses: not finite (101), a radius that is not greater than zero (102), beyond range (104),
/// CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_weight_make(
    convention: *const cpoise_convention,
    mass_g: f64,
    radius_mm: f64,
    place_deg: f64,
    weight: *mut cpoise_weight,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let weight = output(weight, "weight")?;
        let convention = Convention::try_from(value(convention, "convention")?)?;
        let (mass, radius) = (Mass::from_grams(mass_g)?, Radius::from_millimetres(radius_mm)?);
        weight.write(convention.weight(mass, radius, place_deg)?.into());
        Ok(())
    })
}

/// The unbalance vector that a weight makes: u = m r exp(+jb).
///
/// Refuses: a weight with a number that cannot be one (101, 102, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_weight_unbalance(
    weight: *const cpoise_weight,
    unbalance: *mut cpoise_unbalance_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalance = output(unbalance, "unbalance")?;
        unbalance.write(Weight::try_from(value(weight, "weight")?)?.unbalance().into());
        Ok(())
    })
}

/// The weight at a radius that makes an unbalance: its mass is |u| / r.
///
/// Refuses: numbers that cannot be what they stand for (101, 102, 104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_unbalance_weight(
    unbalance: *const cpoise_unbalance_vector,
    radius_mm: f64,
    weight: *mut cpoise_weight,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let weight = output(weight, "weight")?;
        let unbalance = UnbalanceVector::try_from(value(unbalance, "unbalance")?)?;
        weight.write(unbalance.weight_at(Radius::from_millimetres(radius_mm)?).into());
        Ok(())
    })
}

/// An unbalance vector from its amount in g mm and its place in degrees from the mark, counted in the caller's sense.
///
/// Refuses: not finite (101), beyond range (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_unbalance_from_polar(
    convention: *const cpoise_convention,
    amount_g_mm: f64,
    place_deg: f64,
    unbalance: *mut cpoise_unbalance_vector,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let unbalance = output(unbalance, "unbalance")?;
        let convention = Convention::try_from(value(convention, "convention")?)?;
        let amount = Unbalance::from_gram_millimetres(amount_g_mm)?;
        unbalance.write(UnbalanceVector::from_polar(amount, convention.place(place_deg)?).into());
        Ok(())
    })
}

/// Amount in g mm, and place in degrees in [0, 360) from the mark, counted in the caller's sense. An unbalance of zero has
/// place 0.
///
/// Refuses: an unbalance that is not finite (101) or beyond 1e100 (104), CPOISE_UNKNOWN_CONSTANT, CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_unbalance_to_polar(
    convention: *const cpoise_convention,
    unbalance: *const cpoise_unbalance_vector,
    amount_g_mm: *mut f64,
    place_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_amount, to_place) = (output(amount_g_mm, "amount_g_mm")?, output(place_deg, "place_deg")?);
        let convention = Convention::try_from(value(convention, "convention")?)?;
        let unbalance = UnbalanceVector::try_from(value(unbalance, "unbalance")?)?;
        let PolarUnbalance { amount, place, .. } = convention.polar_unbalance(unbalance);
        to_amount.write(amount.gram_millimetres());
        to_place.write(place.degrees());
        Ok(())
    })
}

/// The vibration that an unbalance causes: v = h u.
///
/// Refuses: numbers that are not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_times_unbalance(
    influence: *const cpoise_influence,
    unbalance: *const cpoise_unbalance_vector,
    vibration: *mut cpoise_vibration,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let vibration = output(vibration, "vibration")?;
        let influence = Influence::try_from(value(influence, "influence")?)?;
        let unbalance = UnbalanceVector::try_from(value(unbalance, "unbalance")?)?;
        vibration.write((influence * unbalance).into());
        Ok(())
    })
}

/// Size, per g mm, and lead in degrees in [0, 360) of an influence coefficient: the response runs that far ahead of the
/// unbalance.
///
/// Refuses: a coefficient that is not finite (101) or beyond 1e100 (104), CPOISE_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn cpoise_influence_to_polar(
    influence: *const cpoise_influence,
    size_per_g_mm: *mut f64,
    lead_deg: *mut f64,
    detail: *mut cpoise_detail,
) -> cpoise_status {
    guarded!(detail, {
        let (to_size, to_lead) = (output(size_per_g_mm, "size_per_g_mm")?, output(lead_deg, "lead_deg")?);
        let influence = Influence::try_from(value(influence, "influence")?)?;
        to_size.write(influence.per_gram_millimetre());
        to_lead.write(influence.lead().degrees());
        Ok(())
    })
}
