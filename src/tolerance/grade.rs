//! Balance quality grades: how much unbalance a rotor of a mass may keep at a speed.

use core::fmt;

use crate::error::ToleranceError;
use crate::provenance::{Limit, Provenance};
use crate::unit::{Length, Mass, Speed, Unbalance};

/// A balance quality grade: the greatest velocity that the centre of mass of a free rotor may have about its axis,
/// `G = e Ω` in mm/s (ISO 21940-11:2016, earlier ISO 1940-1; the list of grades from memory).
///
/// ```
/// use counterpoise::tolerance::BalanceGrade;
/// use counterpoise::{Mass, Speed};
/// // A fan rotor of 25 kg at 2700 rpm: U = 1000 G m/Ω.
/// let permissible = BalanceGrade::G6_3.permissible(Mass::from_kilograms(25.0)?, Speed::from_rpm(2700.0)?);
/// assert!((permissible.value.gram_millimetres() - 557.042).abs() < 1e-3);
/// println!("{} ({})", permissible.value, permissible.provenance);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct BalanceGrade {
    millimetres_per_second: f64,
    listed: bool,
}

macro_rules! grades {
    ($($(#[$doc:meta])* $name:ident = $value:literal;)+) => {
        $(
            $(#[$doc])*
            ///
            /// ```
            #[doc = concat!("use counterpoise::tolerance::BalanceGrade;\nassert_eq!(BalanceGrade::", stringify!($name), ".millimetres_per_second(), ", stringify!($value), ");")]
            /// ```
            pub const $name: Self = Self { millimetres_per_second: $value, listed: true };
        )+

        /// The grades of the published list, from the finest on.
        ///
        /// ```
        /// use counterpoise::tolerance::BalanceGrade;
        /// assert_eq!(BalanceGrade::LISTED.len(), 11);
        /// ```
        pub const LISTED: [Self; 11] = [$(Self::$name),+];
    };
}

impl BalanceGrade {
    grades! {
        /// Gyroscopes, precision spindles.
        G0_4 = 0.4;
        /// Grinding machine drives.
        G1 = 1.0;
        /// Gas and steam turbines, compressors, machine-tool drives, electric motors of some size and speed.
        G2_5 = 2.5;
        /// Fans, pumps, general machinery, aircraft gas turbines, small electric motors, water turbines.
        G6_3 = 6.3;
        /// Drive shafts, crushing and agricultural machinery.
        G16 = 16.0;
        /// Car wheels and drive shafts.
        G40 = 40.0;
        /// Complete reciprocating engines.
        G100 = 100.0;
        /// Crankshaft drives of diesel engines, the first of four steps.
        G250 = 250.0;
        /// Crankshaft drives of diesel engines, the second step.
        G630 = 630.0;
        /// Crankshaft drives of diesel engines, the third step.
        G1600 = 1600.0;
        /// Crankshaft drives of large slow diesel engines, unbalanced by design.
        G4000 = 4000.0;
    }

    /// Any other value, in mm/s.
    ///
    /// # Errors
    /// [`ToleranceError::BadNumber`] where it is not a positive number, or beyond 1e9.
    ///
    /// ```
    /// use counterpoise::tolerance::BalanceGrade;
    /// assert_eq!(BalanceGrade::from_millimetres_per_second(4.0)?.to_string(), "G 4");
    /// # Ok::<(), counterpoise::ToleranceError>(())
    /// ```
    pub fn from_millimetres_per_second(value: f64) -> Result<Self, ToleranceError> {
        if value > 0.0 && value <= 1e9 {
            Ok(Self { millimetres_per_second: value, listed: false })
        } else {
            let (what, wanted) = ("the balance quality grade in mm/s", "positive, and at most 1e9");
            Err(ToleranceError::BadNumber { what, value, wanted })
        }
    }

    /// The grade that a rotor of a mass has with a residual unbalance at a speed: `G = U Ω/(1000 m)`.
    ///
    /// # Errors
    /// [`ToleranceError::BadNumber`] where there is no mass or no unbalance: a rotor without unbalance has no grade.
    ///
    /// ```
    /// use counterpoise::tolerance::BalanceGrade;
    /// use counterpoise::{Mass, Speed, Unbalance};
    /// let residual = Unbalance::from_gram_millimetres(350.0)?;
    /// let grade = BalanceGrade::of_residual(residual, Mass::from_kilograms(22.0)?, Speed::from_rpm(2700.0)?)?;
    /// assert!((grade.millimetres_per_second() - 4.498).abs() < 1e-3);
    /// assert!(grade < BalanceGrade::G6_3);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of_residual(residual: Unbalance, mass: Mass, speed: Speed) -> Result<Self, ToleranceError> {
        // G [mm/s] = U [g mm] Ω [1/s] / (1000 m [kg]) = U Ω / m [g]
        let eccentricity = residual.gram_millimetres() / positive_mass(mass)?;
        Self::from_millimetres_per_second(eccentricity * speed.radians_per_second())
    }

    /// In mm/s.
    ///
    /// ```
    /// use counterpoise::tolerance::BalanceGrade;
    /// assert_eq!(BalanceGrade::G2_5.millimetres_per_second(), 2.5);
    /// ```
    pub const fn millimetres_per_second(self) -> f64 {
        self.millimetres_per_second
    }

    /// Where it comes from.
    const fn provenance(self) -> Provenance {
        if self.listed { LIST } else { Provenance::CALLER }
    }

    /// The permissible residual unbalance of a rotor of a mass at its highest service speed, `U = 1000 G m/Ω` in g mm, m in kg.
    /// A mass that is zero, negative or out of range has none: the limit is zero.
    ///
    /// ```
    /// use counterpoise::tolerance::BalanceGrade;
    /// use counterpoise::{Mass, Speed};
    /// // ISO 1940-1, informative annex, from memory: 3600 kg at 3000 rpm and G 2.5 may keep 28.6 kg mm.
    /// let limit = BalanceGrade::G2_5.permissible(Mass::from_kilograms(3600.0)?, Speed::from_rpm(3000.0)?);
    /// assert!((limit.value.gram_millimetres() - 28_648.0).abs() < 0.2);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn permissible(self, mass: Mass, speed: Speed) -> Limit<Unbalance> {
        // U [g mm] = G [mm/s] m [g] / Ω [1/s]
        let amount =
            self.millimetres_per_second * positive_mass(mass).unwrap_or(0.0) / speed.radians_per_second();
        Limit::new(Unbalance::canonical(amount), self.provenance())
    }

    /// The permissible specific unbalance, `e = G/Ω`: the same as the distance of the centre of mass from the axis.
    ///
    /// ```
    /// use counterpoise::{Speed, tolerance::BalanceGrade};
    /// let e = BalanceGrade::G2_5.specific_unbalance(Speed::from_rpm(3000.0)?);
    /// assert!((e.value.micrometres() - 7.957_75).abs() < 1e-5);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn specific_unbalance(self, speed: Speed) -> Limit<Length> {
        let millimetres = self.millimetres_per_second / speed.radians_per_second();
        Limit::new(Length::canonical(millimetres), self.provenance())
    }
}

const LIST: Provenance =
    Provenance::from_memory("ISO 21940-11:2016, Rotor balancing: procedures and tolerances, table 1");

pub(super) fn positive_mass(mass: Mass) -> Result<f64, ToleranceError> {
    // Arithmetic may have led out of range.
    let grams = Mass::from_grams(mass.grams())?.grams();
    if grams > 0.0 {
        Ok(grams)
    } else {
        Err(ToleranceError::BadNumber {
            what: "the mass of the rotor in g",
            value: grams,
            wanted: "positive",
        })
    }
}

impl fmt::Display for BalanceGrade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "G {}", self.millimetres_per_second)
    }
}
