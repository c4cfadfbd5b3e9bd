//! Force and moment of a rigid rotor: static and couple unbalance, and corrections in two planes.
//!
//! A rigid rotor feels of its unbalances only the resultant `R = Σ Uᵢ` and the moment `M = Σ (zᵢ − z₀) Uᵢ`. Any two
//! planes that do not coincide can carry both, overhung ones (outside the bearings, or both on one side of everything)
//! included.

use crate::error::RelocationError;
use crate::unit::Length;
use crate::vector::UnbalanceVector;

use super::UnbalanceMoment;
use super::geometry::{VectorSum, accepted, vector};

/// An unbalance at a station of the axis.
///
/// ```
/// use counterpoise::{Length, UnbalanceVector, relocation::PlaneUnbalance};
/// let disc = PlaneUnbalance {
///     station: Length::from_metres(-0.442)?,
///     unbalance: UnbalanceVector::from_components_gram_millimetres(300.0, 400.0)?,
/// };
/// assert_eq!(disc.unbalance.amount().gram_millimetres(), 500.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct PlaneUnbalance {
    /// Where on the axis, from any origin that all stations share.
    pub station: Length,
    /// The unbalance there.
    pub unbalance: UnbalanceVector,
}

impl PlaneUnbalance {
    /// An unbalance at a station.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::PlaneUnbalance};
    /// let plane = PlaneUnbalance::new(Length::from_millimetres(5.0)?, UnbalanceVector::ZERO);
    /// assert_eq!(plane.station.millimetres(), 5.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn new(station: Length, unbalance: UnbalanceVector) -> Self {
        Self { station, unbalance }
    }
}

/// The resultant and the moment of unbalances about a station: with the station at the centre of mass, the static and
/// the couple unbalance.
///
/// Of a set of unbalances and their corrections together it is the residual; for zero the rotor is balanced.
///
/// ```
/// use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, StaticCouple}};
/// let at = |millimetres, x| Ok::<_, counterpoise::QuantityError>(PlaneUnbalance {
///     station: Length::from_millimetres(millimetres)?,
///     unbalance: UnbalanceVector::from_components_gram_millimetres(x, 0.0)?,
/// });
/// let pair = StaticCouple::of([at(-100.0, -30.0)?, at(100.0, 50.0)?], Length::ZERO)?;
/// assert_eq!(pair.resultant().x_gram_millimetres(), 20.0);
/// assert_eq!(pair.moment().x_gram_square_millimetres(), 8000.0);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StaticCouple {
    station: Length,
    resultant: UnbalanceVector,
    moment: UnbalanceMoment,
}

impl StaticCouple {
    /// The resultant `R = Σ Uᵢ` and the moment `M = Σ (zᵢ − z₀) Uᵢ` of any number of unbalances about the station `z₀`.
    ///
    /// # Errors
    /// [`RelocationError::Quantity`] where a number is not finite, or a sum beyond range.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::StaticCouple};
    /// assert_eq!(StaticCouple::of([], Length::ZERO)?.resultant(), UnbalanceVector::ZERO);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn of<I>(unbalances: I, station: Length) -> Result<Self, RelocationError>
    where
        I: IntoIterator<Item = PlaneUnbalance>,
    {
        let station = Length::from_millimetres(station.millimetres())?;
        let (mut resultant, mut moment) = (VectorSum::default(), VectorSum::default());
        for plane in unbalances {
            let arm = (Length::from_millimetres(plane.station.millimetres())? - station).millimetres();
            let unbalance = accepted(plane.unbalance)?.complex();
            // R = Σ Uᵢ,  M = Σ (zᵢ − z₀) Uᵢ
            resultant.add(unbalance);
            moment.add(unbalance * arm);
        }
        let (resultant, moment) = (vector(resultant.value())?, moment.value());
        let moment = UnbalanceMoment::from_gram_square_millimetres(moment.re, moment.im)?;
        Ok(Self { station, resultant, moment })
    }

    /// The station about which the moment is taken.
    ///
    /// ```
    /// # use counterpoise::{Length, relocation::StaticCouple};
    /// let station = Length::from_millimetres(120.0)?;
    /// assert_eq!(StaticCouple::of([], station)?.station(), station);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn station(&self) -> Length {
        self.station
    }

    /// The resultant unbalance, the same about every station.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, StaticCouple}};
    /// let unbalance = UnbalanceVector::from_components_gram_millimetres(30.0, 0.0)?;
    /// let alone = StaticCouple::of([PlaneUnbalance { station: Length::ZERO, unbalance }], Length::ZERO)?;
    /// assert_eq!(alone.resultant(), unbalance);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn resultant(&self) -> UnbalanceVector {
        self.resultant
    }

    /// The moment about the station.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, StaticCouple, UnbalanceMoment}};
    /// let unbalance = UnbalanceVector::from_components_gram_millimetres(30.0, 0.0)?;
    /// let alone = StaticCouple::of([PlaneUnbalance { station: Length::ZERO, unbalance }], Length::ZERO)?;
    /// assert_eq!(alone.moment(), UnbalanceMoment::ZERO);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn moment(&self) -> UnbalanceMoment {
        self.moment
    }

    /// The same unbalances about another station: `M' = M + (z₀ − z₀') R`.
    ///
    /// # Errors
    /// [`RelocationError::Quantity`] where a number is not finite or beyond range.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, StaticCouple}};
    /// let unbalance = UnbalanceVector::from_components_gram_millimetres(30.0, 0.0)?;
    /// let alone = StaticCouple::of([PlaneUnbalance { station: Length::ZERO, unbalance }], Length::ZERO)?;
    /// let moved = alone.about(Length::from_millimetres(-10.0)?)?;
    /// assert_eq!(moved.moment().x_gram_square_millimetres(), 300.0);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn about(&self, station: Length) -> Result<Self, RelocationError> {
        let station = Length::from_millimetres(station.millimetres())?;
        // M' = M + (z₀ − z₀') R
        let arm = (self.station - station).millimetres();
        let moment = self.moment.complex() + self.resultant.complex() * arm;
        let moment = UnbalanceMoment::from_gram_square_millimetres(moment.re, moment.im)?;
        Ok(Self { station, moment, ..*self })
    }

    /// The two vectors in two planes with the same resultant and moment.
    ///
    /// # Errors
    /// [`RelocationError::PlanesCoincide`] where the planes lie at one station, and [`RelocationError::Quantity`] where a
    /// number is not finite or beyond range.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, StaticCouple}};
    /// let unbalance = UnbalanceVector::from_components_gram_millimetres(30.0, 0.0)?;
    /// let alone = StaticCouple::of([PlaneUnbalance { station: Length::ZERO, unbalance }], Length::ZERO)?;
    /// let [left, right] = alone.in_planes(Length::from_millimetres(-10.0)?, Length::from_millimetres(20.0)?)?;
    /// assert_eq!(left.unbalance.x_gram_millimetres(), 20.0);
    /// assert_eq!(right.unbalance.x_gram_millimetres(), 10.0);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn in_planes(&self, first: Length, second: Length) -> Result<[PlaneUnbalance; 2], RelocationError> {
        let span = span(first, second)?;
        let (r, m) = (self.resultant.complex(), self.moment.complex());
        let (before, after) = ((first - self.station).millimetres(), (second - self.station).millimetres());
        // V₁ = (R (z₂ − z₀) − M)/(z₂ − z₁),  V₂ = (M − R (z₁ − z₀))/(z₂ − z₁)
        let (in_first, in_second) = ((r * after - m) / span, (m - r * before) / span);
        Ok([PlaneUnbalance::new(first, vector(in_first)?), PlaneUnbalance::new(second, vector(in_second)?)])
    }

    /// The couple alone as two equal and opposite vectors in two planes; they have the moment and no resultant.
    ///
    /// # Errors
    /// [`RelocationError::PlanesCoincide`] where the planes lie at one station, and [`RelocationError::Quantity`] where a
    /// number is not finite or beyond range.
    ///
    /// ```
    /// # use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, StaticCouple}};
    /// let unbalance = UnbalanceVector::from_components_gram_millimetres(30.0, 0.0)?;
    /// let station = Length::from_millimetres(10.0)?;
    /// let alone = StaticCouple::of([PlaneUnbalance { station, unbalance }], Length::ZERO)?;
    /// let [left, right] = alone.couple_in_planes(Length::ZERO, Length::from_millimetres(60.0)?)?;
    /// assert_eq!(left.unbalance.x_gram_millimetres(), -5.0);
    /// assert_eq!(right.unbalance.x_gram_millimetres(), 5.0);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn couple_in_planes(
        &self,
        first: Length,
        second: Length,
    ) -> Result<[PlaneUnbalance; 2], RelocationError> {
        // C = M/(z₂ − z₁), opposite in the first plane.
        let couple = vector(self.moment.complex() / span(first, second)?)?;
        Ok([PlaneUnbalance::new(first, -couple), PlaneUnbalance::new(second, couple)])
    }
}

/// The distance from the first plane to the second, in mm, or why they cannot take up a moment.
fn span(first: Length, second: Length) -> Result<f64, RelocationError> {
    let (first, second) =
        (Length::from_millimetres(first.millimetres())?, Length::from_millimetres(second.millimetres())?);
    first.to_plane_millimetres(second, Length::ZERO).ok_or(RelocationError::PlanesCoincide {
        first_millimetres: first.millimetres(),
        second_millimetres: second.millimetres(),
    })
}

/// Moves any number of unbalances of a rigid rotor to two planes: the resultant and the moment stay the same.
///
/// # Errors
/// [`RelocationError::PlanesCoincide`] where the two planes lie at one station, and [`RelocationError::Quantity`] where a
/// number is not finite or beyond range.
///
/// ```
/// use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, in_two_planes}};
/// let disc = PlaneUnbalance::new(Length::from_millimetres(-10.0)?, UnbalanceVector::from_components_gram_millimetres(50.0, 0.0)?);
/// // An overhung disc, ahead of both planes.
/// let [near, far] = in_two_planes([disc], Length::ZERO, Length::from_millimetres(50.0)?)?;
/// assert_eq!(near.unbalance.x_gram_millimetres(), 60.0);
/// assert_eq!(far.unbalance.x_gram_millimetres(), -10.0);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn in_two_planes<I>(
    unbalances: I,
    first: Length,
    second: Length,
) -> Result<[PlaneUnbalance; 2], RelocationError>
where
    I: IntoIterator<Item = PlaneUnbalance>,
{
    let span = span(first, second)?;
    let (mut in_first, mut in_second) = (VectorSum::default(), VectorSum::default());
    for plane in unbalances {
        let station = Length::from_millimetres(plane.station.millimetres())?;
        let unbalance = accepted(plane.unbalance)?.complex();
        // V₁ = Σ Uᵢ (z₂ − zᵢ)/(z₂ − z₁),  V₂ = Σ Uᵢ (zᵢ − z₁)/(z₂ − z₁): each plane straight from the sources, with no
        // moment in between that would lose digits far from the origin.
        in_first.add(unbalance * (second - station).millimetres());
        in_second.add(unbalance * (station - first).millimetres());
    }
    let (in_first, in_second) = (vector(in_first.value() / span)?, vector(in_second.value() / span)?);
    Ok([PlaneUnbalance::new(first, in_first), PlaneUnbalance::new(second, in_second)])
}

/// The corrections in two planes that leave a rigid rotor with these unbalances without force and moment.
///
/// The planes may lie anywhere: between the unbalances, outside them, overhung on one side.
///
/// # Errors
/// Those of [`in_two_planes`].
///
/// ```
/// use counterpoise::{Length, UnbalanceVector, relocation::{PlaneUnbalance, StaticCouple, correction_in_two_planes}};
/// let disc = PlaneUnbalance::new(Length::from_millimetres(20.0)?, UnbalanceVector::from_components_gram_millimetres(50.0, 0.0)?);
/// let [left, right] = correction_in_two_planes([disc], Length::ZERO, Length::from_millimetres(50.0)?)?;
/// assert_eq!(left.unbalance.x_gram_millimetres(), -30.0);
/// let residual = StaticCouple::of([disc, left, right], Length::ZERO)?;
/// assert_eq!(residual.resultant(), UnbalanceVector::ZERO);
/// # Ok::<(), counterpoise::RelocationError>(())
/// ```
pub fn correction_in_two_planes<I>(
    unbalances: I,
    first: Length,
    second: Length,
) -> Result<[PlaneUnbalance; 2], RelocationError>
where
    I: IntoIterator<Item = PlaneUnbalance>,
{
    let moved = in_two_planes(unbalances, first, second)?;
    Ok(moved.map(|plane| PlaneUnbalance { unbalance: -plane.unbalance, ..plane }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn millimetres(value: f64) -> Length {
        Length::from_millimetres(value).unwrap()
    }

    fn plane(z: f64, x: f64, y: f64) -> PlaneUnbalance {
        PlaneUnbalance {
            station: millimetres(z),
            unbalance: UnbalanceVector::from_components_gram_millimetres(x, y).unwrap(),
        }
    }

    #[test]
    fn static_part_and_couple_give_the_two_vectors_back() {
        let given = [plane(-442.0, 500.0, 4400.0), plane(196.0, -3300.0, 240.0)];
        let whole = StaticCouple::of(given, millimetres(-60.0)).unwrap();
        let again = whole.in_planes(given[0].station, given[1].station).unwrap();
        for (given, again) in given.iter().zip(again) {
            assert!((given.unbalance - again.unbalance).amount().gram_millimetres() < 1e-11);
        }
        let couple = whole.couple_in_planes(given[0].station, given[1].station).unwrap();
        let static_part = PlaneUnbalance::new(whole.station(), whole.resultant());
        let [first, second] = couple;
        let both = StaticCouple::of([first, second, static_part], millimetres(777.0)).unwrap();
        let other = whole.about(millimetres(777.0)).unwrap();
        assert!((both.resultant() - other.resultant()).amount().gram_millimetres() < 1e-11);
        assert!((both.moment() - other.moment()).gram_square_millimetres() < 1e-8);
    }

    #[test]
    fn coincident_planes_are_refused() {
        let (first, second) = (millimetres(0.1 + 0.2), millimetres(0.3));
        assert_eq!(in_two_planes([], first, second).unwrap_err().code(), 508);
        assert_eq!(
            in_two_planes([], millimetres(50.0), millimetres(50.0)).unwrap_err().to_string(),
            "correction planes at 50.0 and 50.0 mm coincide and take up no moment: choose planes some way apart"
        );
        assert_eq!(in_two_planes([], Length::ZERO, Length::ZERO).unwrap_err().code(), 508);
    }

    #[test]
    fn numbers_out_of_range_are_refused() {
        let endless = Length::ZERO - millimetres(1.0) * f64::INFINITY;
        assert_eq!(in_two_planes([], endless, Length::ZERO).unwrap_err().code(), 101);
        assert_eq!(StaticCouple::of([], endless).unwrap_err().code(), 101);
        let far = plane(1e50, 1e99, 0.0);
        assert_eq!(StaticCouple::of([far], Length::ZERO).unwrap_err().code(), 104);
        assert_eq!(in_two_planes([far], Length::ZERO, millimetres(1.0)).unwrap_err().code(), 104);
    }
}
