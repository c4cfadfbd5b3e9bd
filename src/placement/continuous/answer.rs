//! Continuous masses: what goes where, what it leaves, and the proof.

use alloc::vec;
use alloc::vec::Vec;

use num_complex::Complex64;

use super::columns::{Columns, Origin, Seat};
use super::lightest::least_total;
use super::nearest::least_left;
use super::question::grams;
use crate::caution::Caution;
use crate::error::PlacementError;
use crate::math;
use crate::placement::problem::Pair;
use crate::placement::wanted::Wanted;
use crate::relocation::MassPrice;
use crate::unit::Mass;
use crate::vector::{UnbalanceVector, Vibration};

/// The relative gap between value and bound from which on an optimum is called not proven.
const GAP: f64 = 1e-8;
/// What is left is no more than rounding when it is below this, relative to what was wanted.
const ROUNDING: f64 = 1e-12;

/// The mass that one hole takes.
///
/// ```
/// use counterpoise::{HoleMass, Mass};
/// let one = HoleMass { ring: 0, hole: 3, mass: Mass::from_grams(2.5)? };
/// assert_eq!(one.mass.grams(), 2.5);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct HoleMass {
    /// The ring, counted from 0 as given.
    pub ring: usize,
    /// The hole in the ring, counted from 0.
    pub hole: usize,
    /// What is added there.
    #[cfg_attr(feature = "serde", serde(rename = "mass_g", with = "crate::placement::wire::grams"))]
    pub mass: Mass,
}

/// The proof of continuous masses: a dual point for the residual, prices for the mass, and the bounds that they set.
///
/// Both are checked with a few sums. For any y with `√(Σ |y_s|²/g_s) ≤ 1`, no masses within the caps leave less than
/// `Re Σ conj(y_s) v_s − Σ_h c_h max(0, Re Σ conj(y_s) A_sh)`, where `A_sh` is what a gram at hole h takes off row s:
/// for a wanted unbalance v, one row per plane, the arm `r exp(jβ)` of the holes in that plane (and g = 1); for vibration,
/// `−H r exp(jβ)`. And for any prices p of the planes that are a combination of rows, no masses that place moments of the
/// same effect weigh less than `Σ_p p·w_p − Σ_h c_h max(0, p·a_h − 1)`. A hole without a cap must not add to either sum;
/// what it adds by rounding alone is left out.
///
/// With the feature `serde` it is written and not read. Prices are written as counted with rotation.
///
/// ```
/// # use counterpoise::ContinuousPlacement;
/// # fn show(answer: &ContinuousPlacement) {
/// let certificate = answer.certificate();
/// println!("no masses leave less than {}", certificate.lower_bound());
/// println!("none that leave as little weigh less than {}", certificate.least_mass());
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct ContinuousCertificate {
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::placement::wire::finite"))]
    lower_bound: f64,
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::placement::wire::dual"))]
    dual: Vec<Complex64>,
    #[cfg_attr(
        feature = "serde",
        serde(rename = "least_mass_g", serialize_with = "crate::placement::wire::grams::serialize")
    )]
    least_mass: Mass,
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::placement::wire::prices"))]
    prices: Vec<MassPrice>,
}

impl ContinuousCertificate {
    /// What the residual of no masses within the caps falls below: equal to the residual, but for rounding.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::ContinuousCertificate) -> f64 {
    /// certificate.lower_bound()
    /// # }
    /// ```
    pub const fn lower_bound(&self) -> f64 {
        self.lower_bound
    }

    /// The dual point y of the residual, one number per plane, or per channel where coefficients were given: what is left,
    /// weighted, over its size. All zero where nothing is left.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::ContinuousCertificate) -> usize {
    /// certificate.dual().len()
    /// # }
    /// ```
    pub fn dual(&self) -> &[Complex64] {
        &self.dual
    }

    /// What no masses that leave the same weigh less than: equal to the total mass, but for rounding.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::ContinuousCertificate) -> counterpoise::Mass {
    /// certificate.least_mass()
    /// # }
    /// ```
    pub const fn least_mass(&self) -> Mass {
        self.least_mass
    }

    /// The price of unbalance in mass, plane by plane: by how much the least mass grows with what is placed.
    ///
    /// ```
    /// # fn show(certificate: &counterpoise::ContinuousCertificate) -> usize {
    /// certificate.prices().len()
    /// # }
    /// ```
    pub fn prices(&self) -> &[MassPrice] {
        &self.prices
    }
}

/// Masses at holes, and what they leave.
///
/// With the feature `serde` it is written and not read: an answer read from a text would prove nothing.
///
/// ```
/// # use counterpoise::ContinuousPlacement;
/// # fn show(answer: &ContinuousPlacement) {
/// for one in answer.masses() {
///     println!("{:.2} into hole {} of ring {}", one.mass, one.hole, one.ring);
/// }
/// println!("leaves {}", answer.residual());
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct ContinuousPlacement {
    masses: Vec<HoleMass>,
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::placement::wire::finite"))]
    residual: f64,
    #[cfg_attr(
        feature = "serde",
        serde(rename = "total_mass_g", serialize_with = "crate::placement::wire::grams::serialize")
    )]
    total_mass: Mass,
    placed: Vec<UnbalanceVector>,
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    left: Option<Vec<UnbalanceVector>>,
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    predicted: Option<Vec<Vibration>>,
    certificate: ContinuousCertificate,
    #[cfg_attr(feature = "serde", serde(serialize_with = "crate::placement::wire::cautions"))]
    cautions: Vec<Caution>,
}

impl ContinuousPlacement {
    pub(super) fn of(
        wanted: &Wanted,
        seats: &[Seat],
        places: &[Origin],
        columns: &Columns,
        scaled: &[f64],
        mut price: Vec<f64>,
    ) -> Result<Self, PlacementError> {
        let rows = wanted.rows();
        let mut moments: Vec<Pair> = vec![[0.0; 2]; wanted.planes()];
        let (mut masses, mut total) = (Vec::new(), 0.0);
        for ((seat, &(ring, hole)), &mass) in seats.iter().zip(places).zip(scaled) {
            let mass = (mass * columns.mass_unit).min(seat.cap);
            if mass > 0.0 {
                masses.push(HoleMass { ring, hole, mass: grams(mass)? });
                total += mass;
                if let Some(moment) = moments.get_mut(seat.plane) {
                    // w_p = Σ m_h r_h exp(jβ_h)
                    *moment = [moment[0] + mass * seat.arm[0], moment[1] + mass * seat.arm[1]];
                }
            }
        }
        masses.sort_by_key(|one| (one.ring, one.hole));
        let left: Vec<Pair> = rows.iter().map(|row| row.left(&moments)).collect();
        let size = |pairs: &mut dyn Iterator<Item = Pair>| {
            pairs.fold(0.0, |sum, pair| math::hypot(sum, math::hypot(pair[0], pair[1])))
        };
        let residual = size(&mut left.iter().copied());
        let before = size(&mut rows.iter().map(|row| row.wanted));
        if !residual.is_finite() {
            return Err(PlacementError::NotRepresentable);
        }
        let lower_bound = (least_left(columns, scaled) * columns.target_unit).min(residual);
        let least_mass = least_total(columns, scaled, &mut price) * columns.mass_unit;
        let total_mass = grams(total)?;
        let mut cautions = wanted.cautions();
        if residual - lower_bound > GAP * residual + ROUNDING * before {
            cautions.push(Caution::OptimumNotProven { value: residual, lower_bound });
        } else if total - least_mass > GAP * total {
            cautions.push(Caution::OptimumNotProven { value: total, lower_bound: least_mass });
        }
        let certificate = ContinuousCertificate {
            lower_bound,
            dual: wanted.dual(&left, residual),
            least_mass: grams(least_mass.min(total))?,
            prices: columns.per_plane(&price).into_iter().map(MassPrice::computed).collect(),
        };
        let vector = |[re, im]: Pair| UnbalanceVector::computed(Complex64 { re: re + 0.0, im: im + 0.0 });
        let placed: Vec<UnbalanceVector> = moments.into_iter().map(vector).collect();
        let (left, predicted) = (wanted.left(&placed), wanted.predicted(&placed));
        Ok(Self { masses, residual, total_mass, placed, left, predicted, certificate, cautions })
    }

    /// What each hole takes, by ring and hole; holes that take nothing are left out.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) -> &[counterpoise::HoleMass] {
    /// answer.masses()
    /// # }
    /// ```
    pub fn masses(&self) -> &[HoleMass] {
        &self.masses
    }

    /// What is left: `√(Σ |r|²)` in g mm, or `√(Σ g |r|²)` in the channels' unit where coefficients were given.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) -> f64 {
    /// answer.residual()
    /// # }
    /// ```
    pub const fn residual(&self) -> f64 {
        self.residual
    }

    /// The sum of all masses that are added.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) -> counterpoise::Mass {
    /// answer.total_mass()
    /// # }
    /// ```
    pub const fn total_mass(&self) -> Mass {
        self.total_mass
    }

    /// The unbalance that is placed in every plane.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) -> &[counterpoise::UnbalanceVector] {
    /// answer.placed()
    /// # }
    /// ```
    pub fn placed(&self) -> &[UnbalanceVector] {
        &self.placed
    }

    /// What is still wanted in each plane; `None` where vibration was asked about.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) -> Option<&[counterpoise::UnbalanceVector]> {
    /// answer.left()
    /// # }
    /// ```
    pub fn left(&self) -> Option<&[UnbalanceVector]> {
        self.left.as_deref()
    }

    /// The vibration that every channel should show next; `None` where no coefficients were given.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) -> Option<&[counterpoise::Vibration]> {
    /// answer.predicted()
    /// # }
    /// ```
    pub fn predicted(&self) -> Option<&[Vibration]> {
        self.predicted.as_deref()
    }

    /// The proof.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) -> f64 {
    /// answer.certificate().lower_bound()
    /// # }
    /// ```
    pub const fn certificate(&self) -> &ContinuousCertificate {
        &self.certificate
    }

    /// What makes the answer a poor one: an optimum that is not proven to the digits that are usual here, or channels in
    /// different units without weights.
    ///
    /// ```
    /// # fn show(answer: &counterpoise::ContinuousPlacement) {
    /// for caution in answer.cautions() {
    ///     println!("{caution}");
    /// }
    /// # }
    /// ```
    pub fn cautions(&self) -> &[Caution] {
        &self.cautions
    }
}
