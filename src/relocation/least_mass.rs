//! One unbalance on many places with caps, by the least total mass.

use alloc::vec::Vec;
use num_complex::Complex64;

use crate::angle::RotorSense;
use crate::error::{QuantityError, RelocationError};
use crate::unit::Mass;
use crate::vector::UnbalanceVector;

use super::ascent::{Line, State, Verdict, settle};
use super::geometry::{CompensatedSum, accepted, dot, towards};
use super::reach::largest;
use super::{CappedPlace, Part};

/// A few roundings of a price.
const ROUNDINGS: f64 = 16.0 * f64::EPSILON;

/// What comes of a split over places with caps.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorAngle, relocation::{LeastMass, Place, least_mass}};
/// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
/// let wanted = place.weight(Mass::from_grams(5.0)?);
/// let outcome = least_mass(wanted, &[place.capped(Mass::from_grams(3.0)?)])?;
/// let LeastMass::OutOfReach { largest } = outcome else { return Err("in reach".into()) };
/// assert_eq!(largest.amount().gram_millimetres(), 300.0);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum LeastMass {
    /// The places make the wanted unbalance, with this least mass.
    Reached(LeastMassSplit),
    /// No masses within the caps make it.
    OutOfReach {
        /// The largest unbalance in the wanted direction that the places make; zero where they make none.
        largest: UnbalanceVector,
    },
}

impl LeastMass {
    /// The split, where the wanted unbalance is in reach.
    ///
    /// ```
    /// # use counterpoise::{UnbalanceVector, relocation::least_mass};
    /// let nothing = least_mass(UnbalanceVector::ZERO, &[])?;
    /// assert!(nothing.reached().is_some_and(|split| split.parts().is_empty()));
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn reached(&self) -> Option<&LeastMassSplit> {
        match self {
            Self::Reached(split) => Some(split),
            Self::OutOfReach { .. } => None,
        }
    }
}

/// The split with the least total mass, and the proof that none is lighter.
///
/// ```
/// use counterpoise::{Mass, Radius, RotorSense, relocation::{Place, least_mass}};
/// let radius = Radius::from_millimetres(100.0)?;
/// let at = |degrees| Ok::<_, counterpoise::QuantityError>(Place::new(radius, RotorSense::WithRotation.degrees(degrees)?));
/// let cap = Mass::from_grams(4.0)?;
/// let places = [at(300.0)?.capped(cap), at(0.0)?.capped(cap), at(60.0)?.capped(cap)];
/// let outcome = least_mass(at(0.0)?.weight(Mass::from_grams(6.0)?), &places)?;
/// let split = outcome.reached().ok_or("out of reach")?;
/// // 4 g at 0, and 2 g to either side to make the other two.
/// assert!((split.total_mass().grams() - 8.0).abs() < 1e-14);
/// assert!((split.lower_bound().grams() - 8.0).abs() < 1e-14);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LeastMassSplit {
    parts: Vec<Part>,
    total_mass: Mass,
    price: MassPrice,
    lower_bound: Mass,
}

impl LeastMassSplit {
    /// The places that take a weight, in the order of the list; the others take none.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, relocation::{Place, least_mass}};
    /// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// let outcome = least_mass(place.weight(Mass::from_grams(5.0)?), &[place.uncapped()])?;
    /// let parts = outcome.reached().map(|split| split.parts().len());
    /// assert_eq!(parts, Some(1));
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// The sum of all masses.
    ///
    /// ```
    /// # use counterpoise::{Mass, UnbalanceVector, relocation::least_mass};
    /// let outcome = least_mass(UnbalanceVector::ZERO, &[])?;
    /// assert_eq!(outcome.reached().map(|split| split.total_mass()), Some(Mass::ZERO));
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn total_mass(&self) -> Mass {
        self.total_mass
    }

    /// The price of unbalance in mass: the solution of the dual problem, from which the bound follows.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, RotorSense, relocation::{Place, least_mass}};
    /// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// let outcome = least_mass(place.weight(Mass::from_grams(5.0)?), &[place.uncapped()])?;
    /// let price = outcome.reached().map(|split| split.price().per_gram_millimetre(RotorSense::WithRotation));
    /// assert_eq!(price, Some([0.01, 0.0]));
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn price(&self) -> MassPrice {
        self.price
    }

    /// What no split can be lighter than, computed from the price alone: equal to the total mass, but for rounding.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, relocation::{Place, least_mass}};
    /// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// let outcome = least_mass(place.weight(Mass::from_grams(5.0)?), &[place.uncapped()])?;
    /// assert_eq!(outcome.reached().map(|split| split.lower_bound().grams()), Some(5.0));
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub const fn lower_bound(&self) -> Mass {
        self.lower_bound
    }
}

/// What unbalance costs in mass: by how much the least mass grows with the x and the y component that is wanted.
///
/// ```
/// use counterpoise::{RotorSense, relocation::MassPrice};
/// let price = MassPrice::from_per_gram_millimetre(RotorSense::AgainstRotation, [0.01, 0.002]);
/// assert_eq!(price.per_gram_millimetre(RotorSense::WithRotation), [0.01, -0.002]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassPrice {
    /// With rotation, in g per g mm.
    y: Complex64,
}

impl MassPrice {
    /// For a price computed from accepted numbers, with rotation.
    #[cfg(feature = "alloc")]
    pub(crate) const fn computed(y: Complex64) -> Self {
        Self { y }
    }

    /// A price from its two components, in g per g mm: towards the mark, and a quarter turn further in the sense stated.
    ///
    /// ```
    /// # use counterpoise::{RotorSense, relocation::MassPrice};
    /// let price = MassPrice::from_per_gram_millimetre(RotorSense::WithRotation, [0.01, 0.0]);
    /// assert_eq!(price.per_gram_millimetre(RotorSense::AgainstRotation), [0.01, 0.0]);
    /// ```
    pub fn from_per_gram_millimetre(sense: RotorSense, [x, y]: [f64; 2]) -> Self {
        let im = match sense {
            RotorSense::WithRotation => y,
            RotorSense::AgainstRotation => 0.0 - y,
        };
        Self { y: Complex64 { re: x, im } }
    }

    /// The two components in g per g mm: towards the mark, and a quarter turn further in the sense stated.
    ///
    /// ```
    /// # use counterpoise::{RotorSense, relocation::MassPrice};
    /// let price = MassPrice::from_per_gram_millimetre(RotorSense::WithRotation, [0.01, 0.002]);
    /// assert_eq!(price.per_gram_millimetre(RotorSense::WithRotation), [0.01, 0.002]);
    /// ```
    pub fn per_gram_millimetre(self, sense: RotorSense) -> [f64; 2] {
        let Complex64 { re, im } = self.y;
        match sense {
            RotorSense::WithRotation => [re, im],
            RotorSense::AgainstRotation => [re, 0.0 - im],
        }
    }

    /// What no split of an unbalance over places can be lighter than, by weak duality: every price gives such a bound,
    /// `y·u − Σ cᵢ max(0, y·aᵢ − 1)`, and the right one gives the least mass itself.
    ///
    /// The price is first lowered as far as a place without a cap demands, and once more by a few roundings: a place
    /// with a huge cap whose price is right but for rounding would else spoil the bound. The better of the two is given.
    ///
    /// # Errors
    /// [`RelocationError::Quantity`] where a number is not finite or beyond range.
    ///
    /// ```
    /// # use counterpoise::{Mass, Radius, RotorAngle, RotorSense, relocation::{MassPrice, Place}};
    /// let place = Place::new(Radius::from_millimetres(100.0)?, RotorAngle::MARK);
    /// let wanted = place.weight(Mass::from_grams(5.0)?).unbalance();
    /// let guess = MassPrice::from_per_gram_millimetre(RotorSense::WithRotation, [0.008, 0.0]);
    /// assert_eq!(guess.lower_bound(wanted, &[place.uncapped()])?.grams(), 4.0);
    /// # Ok::<(), counterpoise::RelocationError>(())
    /// ```
    pub fn lower_bound(
        self,
        wanted: UnbalanceVector,
        places: &[CappedPlace],
    ) -> Result<Mass, RelocationError> {
        let u = accepted(wanted)?.complex();
        let value_at =
            |capped: &CappedPlace| dot(self.y, towards(capped.place) * capped.place.radius.millimetres());
        // An uncapped place must not be worth more than it weighs.
        let uncapped = places.iter().filter(|capped| capped.cap.is_none());
        let excess = uncapped.map(value_at).fold(1.0, f64::max);
        let bound_at = |excess: f64| {
            let mut bound = CompensatedSum::default();
            // y·u − Σ cᵢ max(0, y·aᵢ − 1)
            bound.add(self.y.re / excess * u.re);
            bound.add(self.y.im / excess * u.im);
            for capped in places {
                if let Some(cap) = capped.cap {
                    bound.add(-cap.grams() * (value_at(capped) / excess - 1.0).max(0.0));
                }
            }
            bound.value()
        };
        let lowered = excess * (1.0 + ROUNDINGS);
        Ok(Mass::from_grams(bound_at(excess).max(bound_at(lowered)))?)
    }
}

/// The places of a list that can carry something, as lines of the search, with their indices in the list.
pub(super) fn lines(places: &[CappedPlace]) -> Result<(Vec<usize>, Vec<Line>), RelocationError> {
    let (mut indices, mut lines) = (Vec::new(), Vec::new());
    for (index, &CappedPlace { place, cap }) in places.iter().enumerate() {
        let cap = match cap {
            Some(cap) => Mass::from_grams(cap.grams())?.grams(),
            None => f64::INFINITY,
        };
        if cap < 0.0 {
            return Err(RelocationError::NegativeCap { index, grams: cap });
        }
        if cap > 0.0 {
            indices.push(index);
            lines.push(Line { a: towards(place) * place.radius.millimetres(), cap, state: State::Empty });
        }
    }
    Ok((indices, lines))
}

/// Splits an unbalance over places with caps, exactly and with the least total mass: `min Σ mᵢ` with `Σ mᵢ rᵢ eᵢ = u` and
/// `0 ≤ mᵢ ≤ cᵢ`.
///
/// At most two places are neither empty nor full. The answer carries its own proof, a price of unbalance whose bound no
/// split undercuts. Where several splits have the same least mass (places at one radius and angle, or three whose ends
/// lie on one straight line) the answer is one of them, the same on every machine: of places met at once the search
/// takes the one of least index. No unbalance asks for nothing, whatever the places.
///
/// # Errors
/// [`RelocationError::NegativeCap`], and [`RelocationError::Quantity`] where a number is not finite or beyond range. That
/// the places do not reach far enough is an outcome: [`LeastMass::OutOfReach`]. [`RelocationError::NotSettled`] is not
/// known to happen.
///
/// ```
/// use counterpoise::relocation::{CappedPlace, Place, least_mass};
/// use counterpoise::{HoleCircle, Mass, Radius, RotorAngle, RotorSense, Weight};
/// let radius = Radius::from_millimetres(150.0)?;
/// let cap = Mass::from_grams(10.0)?;
/// let holes: Vec<CappedPlace> = HoleCircle::new(16, RotorAngle::MARK, RotorSense::WithRotation)?
///     .places()
///     .map(|angle| Place::new(radius, angle).capped(cap))
///     .collect();
/// let wanted = Weight::new(Mass::from_grams(15.82)?, radius, RotorSense::WithRotation.degrees(205.48)?);
/// let outcome = least_mass(wanted, &holes)?;
/// let split = outcome.reached().ok_or("out of reach")?;
/// let taken: Vec<usize> = split.parts().iter().map(|part| part.index).collect();
/// // Check values: the reference vectors.
/// assert_eq!(taken, [8, 9, 10]);
/// assert!((split.total_mass().grams() - 16.276367301175227).abs() < 1e-12);
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
pub fn least_mass(
    wanted: impl Into<UnbalanceVector>,
    places: &[CappedPlace],
) -> Result<LeastMass, RelocationError> {
    let wanted = accepted(wanted.into())?;
    let (indices, mut lines) = lines(places)?;
    let (basic, price) = if wanted == UnbalanceVector::ZERO {
        ([None, None], Complex64::ZERO)
    } else {
        match settle(wanted.complex(), &mut lines) {
            Verdict::Optimum { basic, price } => (basic, price),
            Verdict::OutOfReach => {
                // No largest, or more than what is wanted, is the work of rounding at the very edge of the reach.
                let reach = largest(wanted.complex(), &lines).map_or(1.0, |reach| reach.min(1.0));
                return Ok(LeastMass::OutOfReach { largest: wanted * reach });
            }
            Verdict::NotSettled { moves } => return Err(RelocationError::NotSettled { moves }),
        }
    };
    let masses = lines.iter().enumerate().map(|(line, Line { cap, state, .. })| match state {
        State::Empty => 0.0,
        State::Full => *cap,
        State::Basic => {
            basic.iter().flatten().find(|(index, _)| *index == line).map_or(0.0, |(_, mass)| *mass)
        }
    });
    let (parts, total_mass) = parts(places, indices.iter().copied().zip(masses))?;
    let price = MassPrice { y: price };
    let lower_bound = price.lower_bound(wanted, places)?;
    Ok(LeastMass::Reached(LeastMassSplit { parts, total_mass, price, lower_bound }))
}

/// The parts with a mass, and their sum.
pub(super) fn parts(
    places: &[CappedPlace],
    masses: impl Iterator<Item = (usize, f64)>,
) -> Result<(Vec<Part>, Mass), QuantityError> {
    let (mut parts, mut total) = (Vec::new(), CompensatedSum::default());
    for (index, grams) in masses {
        if let Some(capped) = places.get(index).filter(|_| grams != 0.0) {
            parts.push(Part { index, weight: capped.place.weight(Mass::from_grams(grams)?) });
            total.add(grams);
        }
    }
    Ok((parts, Mass::from_grams(total.value())?))
}
