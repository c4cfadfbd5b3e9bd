//! A permissible unbalance shared between two tolerance planes.

use crate::error::ToleranceError;
use crate::provenance::{Limit, Provenance};
use crate::unit::{Length, Unbalance};

/// Between which shares of the whole each plane's part is held.
///
/// ```
/// use counterpoise::tolerance::ShareLimits;
/// assert_eq!(ShareLimits::INBOARD.least(), 0.3);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareLimits {
    least: f64,
    most: f64,
}

impl ShareLimits {
    /// The usual ones where the centre of mass lies between the planes: 0.3 to 0.7 (ISO 21940-11:2016, from memory; check it
    /// against a copy).
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::ShareLimits::INBOARD.most(), 0.7);
    /// ```
    pub const INBOARD: Self = Self { least: 0.3, most: 0.7 };
    /// The usual ones where it lies outside, as of an overhung rotor: 0.3 to 1.3 (ISO 21940-11:2016, from memory; check it
    /// against a copy).
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::ShareLimits::OVERHUNG.most(), 1.3);
    /// ```
    pub const OVERHUNG: Self = Self { least: 0.3, most: 1.3 };
    /// None: every share as the lever gives it.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::ShareLimits::NONE.least(), 0.0);
    /// ```
    pub const NONE: Self = Self { least: 0.0, most: f64::INFINITY };

    /// Any others.
    ///
    /// # Errors
    /// [`ToleranceError::ShareLimits`].
    ///
    /// ```
    /// use counterpoise::tolerance::ShareLimits;
    /// assert!(ShareLimits::new(0.25, 0.75).is_ok());
    /// assert_eq!(ShareLimits::new(0.7, 0.3).unwrap_err().code(), 1404);
    /// ```
    pub fn new(least: f64, most: f64) -> Result<Self, ToleranceError> {
        if least >= 0.0 && least <= most {
            Ok(Self { least, most })
        } else {
            Err(ToleranceError::ShareLimits { least, most })
        }
    }

    /// The least share.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::ShareLimits::OVERHUNG.least(), 0.3);
    /// ```
    pub const fn least(self) -> f64 {
        self.least
    }

    /// The greatest share.
    ///
    /// ```
    /// assert_eq!(counterpoise::tolerance::ShareLimits::NONE.most(), f64::INFINITY);
    /// ```
    pub const fn most(self) -> f64 {
        self.most
    }
}

/// Where the tolerance planes, mostly the bearings, and the centre of mass lie along the axis, from any point on it.
///
/// ```
/// use counterpoise::tolerance::{ShareLimits, TolerancePlanes};
/// use counterpoise::{Length, Unbalance};
/// // ISO 1940-1, informative annex, from memory: 28.6 kg mm, 1500 mm and 900 mm from the bearings: 10.7 and 17.9 kg mm.
/// let mm = Length::from_millimetres;
/// let planes = TolerancePlanes::new(mm(0.0)?, mm(2400.0)?, mm(1500.0)?)?;
/// let parts = planes.allocate(Unbalance::from_gram_millimetres(28_648.0)?, ShareLimits::INBOARD);
/// assert_eq!(parts.amounts.map(|amount| amount.gram_millimetres().round()), [10_743.0, 17_905.0]);
/// assert_eq!(parts.limited, [false, false]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TolerancePlanes {
    a: f64,
    b: f64,
    centre: f64,
}

/// What each of two tolerance planes may keep.
///
/// ```
/// # use counterpoise::tolerance::{ShareLimits, TolerancePlanes};
/// # use counterpoise::{Length, Unbalance};
/// # let mm = Length::from_millimetres;
/// let planes = TolerancePlanes::new(mm(0.0)?, mm(1000.0)?, mm(100.0)?)?;
/// // 0.9 and 0.1 of it by the lever; held within 0.3 and 0.7.
/// let parts = planes.allocate(Unbalance::from_gram_millimetres(1000.0)?, ShareLimits::INBOARD);
/// assert_eq!(parts.amounts.map(|amount| amount.gram_millimetres()), [700.0, 300.0]);
/// assert_eq!(parts.limited, [true, true]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allocation {
    /// The part of plane A and that of plane B.
    pub amounts: [Unbalance; 2],
    /// The shares that the lever gives, with their signs: they sum to 1.
    pub shares: [f64; 2],
    /// Whether a share was held at a limit.
    pub limited: [bool; 2],
}

impl TolerancePlanes {
    /// Two planes and the centre of mass.
    ///
    /// # Errors
    /// [`ToleranceError::PlanesCoincide`] where they lie at one station, or, seen from the farthest of the three, nearer than
    /// rounding tells; [`ToleranceError::Quantity`] where a station is out of range.
    ///
    /// ```
    /// # use counterpoise::{Length, tolerance::TolerancePlanes};
    /// let at = Length::from_millimetres(10.0)?;
    /// assert_eq!(TolerancePlanes::new(at, at, at).unwrap_err().code(), 1403);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn new(plane_a: Length, plane_b: Length, centre_of_mass: Length) -> Result<Self, ToleranceError> {
        // Arithmetic may have led out of range.
        let checked = |z: Length| Length::from_millimetres(z.millimetres());
        let (a, b, centre) = (checked(plane_a)?, checked(plane_b)?, checked(centre_of_mass)?);
        // No share exceeds 2e12.
        match a.to_plane_millimetres(b, centre) {
            Some(_) => Ok(Self { a: a.millimetres(), b: b.millimetres(), centre: centre.millimetres() }),
            None => Err(ToleranceError::PlanesCoincide { millimetres: a.millimetres() }),
        }
    }

    /// Whether the centre of mass lies between the planes.
    ///
    /// ```
    /// # use counterpoise::{Length, tolerance::TolerancePlanes};
    /// # let mm = Length::from_millimetres;
    /// assert!(!TolerancePlanes::new(mm(0.0)?, mm(100.0)?, mm(-50.0)?)?.is_inboard());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn is_inboard(&self) -> bool {
        let [one, other] = self.shares();
        one >= 0.0 && other >= 0.0
    }

    /// The shares of the planes in a static unbalance at the centre of mass, by the lever: `s_A = (z_B − z_C)/(z_B − z_A)`. They
    /// sum to 1; outside the planes one is negative.
    ///
    /// ```
    /// # use counterpoise::{Length, tolerance::TolerancePlanes};
    /// # let mm = Length::from_millimetres;
    /// assert_eq!(TolerancePlanes::new(mm(0.0)?, mm(100.0)?, mm(-50.0)?)?.shares(), [1.5, -0.5]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn shares(&self) -> [f64; 2] {
        let span = self.b - self.a;
        [(self.b - self.centre) / span, (self.centre - self.a) / span]
    }

    /// A permissible unbalance shared between the planes: the size of each share, held within limits.
    ///
    /// ```
    /// # use counterpoise::tolerance::{ShareLimits, TolerancePlanes};
    /// # use counterpoise::{Length, Unbalance};
    /// # let mm = Length::from_millimetres;
    /// let planes = TolerancePlanes::new(mm(0.0)?, mm(100.0)?, mm(-50.0)?)?;
    /// let parts = planes.allocate(Unbalance::from_gram_millimetres(100.0)?, ShareLimits::OVERHUNG);
    /// assert_eq!(parts.amounts.map(|amount| amount.gram_millimetres()), [130.0, 50.0]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn allocate(&self, permissible: Unbalance, limits: ShareLimits) -> Allocation {
        let shares = self.shares();
        let held = shares.map(|share| share.abs().clamp(limits.least, limits.most));
        let mut limited = [false; 2];
        for ((limited, held), share) in limited.iter_mut().zip(held).zip(shares) {
            *limited = held != share.abs();
        }
        let amounts = held.map(|share| Unbalance::canonical(permissible.gram_millimetres() * share));
        Allocation { amounts, shares, limited }
    }
}

/// A permissible unbalance shared in equal halves: two correction planes of a rotor that is symmetric (H. P. Bloch,
/// F. K. Geitner, Machinery Component Maintenance and Repair, 3rd ed., fig. 6-33).
///
/// ```
/// use counterpoise::{Unbalance, UnbalanceUnit, tolerance::allocate_symmetric};
/// let parts = allocate_symmetric(Unbalance::from_gram_millimetres(500.0)?);
/// assert_eq!(parts.amounts[0].gram_millimetres(), 250.0);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
pub fn allocate_symmetric(permissible: Unbalance) -> Allocation {
    let half = Unbalance::canonical(0.5 * permissible.gram_millimetres());
    Allocation { amounts: [half; 2], shares: [0.5; 2], limited: [false; 2] }
}

/// Separate limits for the static unbalance and for the couple.
///
/// ```
/// use counterpoise::{Length, Unbalance, tolerance::StaticCoupleLimits};
/// let mm = Length::from_millimetres;
/// // Bearings 400 mm apart; the static plane 100 mm outside one of them; couple planes 60 mm apart.
/// let permissible = Unbalance::from_gram_millimetres(300.0)?;
/// let limits = StaticCoupleLimits::of_overhung(permissible, mm(400.0)?, mm(100.0)?, mm(60.0)?)?;
/// assert_eq!(limits.resultant.value.gram_millimetres(), 300.0);
/// assert_eq!(limits.couple_per_plane.value.gram_millimetres(), 750.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StaticCoupleLimits {
    /// What the resultant of all unbalances may be.
    pub resultant: Limit<Unbalance>,
    /// What each of the two couple planes may carry, opposite to the other.
    pub couple_per_plane: Limit<Unbalance>,
}

/// How sure it is: recalled from handbooks that carry the text of 1986.
const STATIC_COUPLE: Provenance = Provenance::from_memory(
    "handbooks after ISO 1940-1:1986, overhung rotors and closely spaced planes; recalled with little confidence",
);

impl StaticCoupleLimits {
    /// The limits of an overhung rotor, or of one whose correction planes lie close together: the resultant may be
    /// `(U/2)(d/2c)`, each couple plane may carry `(U/2)(3d/4b)`, with d the span of the bearings, c the overhang of the static
    /// plane and b the distance of the couple planes. From memory, with little confidence: check it against a copy.
    ///
    /// # Errors
    /// [`ToleranceError::BadNumber`] where a distance is not positive; [`ToleranceError::Quantity`] where a limit would be
    /// beyond range.
    ///
    /// ```
    /// use counterpoise::{Length, ProvenanceKind, Unbalance, tolerance::StaticCoupleLimits};
    /// let mm = Length::from_millimetres;
    /// let whole = Unbalance::from_gram_millimetres(300.0)?;
    /// let limits = StaticCoupleLimits::of_overhung(whole, mm(400.0)?, mm(100.0)?, mm(60.0)?)?;
    /// assert_eq!(limits.resultant.provenance.kind(), ProvenanceKind::FromMemory);
    /// assert!(StaticCoupleLimits::of_overhung(whole, mm(400.0)?, mm(0.0)?, mm(60.0)?).is_err());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of_overhung(
        permissible: Unbalance,
        bearing_span: Length,
        overhang: Length,
        couple_planes_apart: Length,
    ) -> Result<Self, ToleranceError> {
        let positive = |what, length: Length| {
            let value = length.millimetres();
            if value > 0.0 && value.is_finite() {
                Ok(value)
            } else {
                Err(ToleranceError::BadNumber { what, value, wanted: "positive and finite" })
            }
        };
        let d = positive("the span of the bearings in mm", bearing_span)?;
        let c = positive("the overhang in mm", overhang)?;
        let b = positive("the distance of the couple planes in mm", couple_planes_apart)?;
        let half = 0.5 * permissible.gram_millimetres();
        let limit = |amount: f64| -> Result<Limit<Unbalance>, ToleranceError> {
            Ok(Limit::new(Unbalance::from_gram_millimetres(amount)?, STATIC_COUPLE))
        };
        Ok(Self {
            resultant: limit(half * (d / (2.0 * c)))?,
            couple_per_plane: limit(half * (3.0 * d / (4.0 * b)))?,
        })
    }
}
