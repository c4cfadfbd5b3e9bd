//! Hardware: the kinds of piece that can be put on, or of material that can be taken off.

use alloc::string::String;
use core::f64::consts::PI;

use crate::angle::Angle;
use crate::error::PlacementError;
use crate::math;
use crate::unit::{Length, Mass};

/// One kind of piece: a name, a mass, what it adds to a stack's height, and how many there are.
///
/// Drilling and grinding are pieces of negative mass. Screws of different lengths are kinds of their own; a hole that
/// always holds one is [mounted](crate::Hole::mounted) with it and [keeps one piece](crate::Hole::keep_pieces).
///
/// ```
/// use counterpoise::{Hardware, Length, Mass};
/// let washer = Hardware::new("M6 washer", Mass::from_grams(1.02)?)
///     .with_thickness(Length::from_millimetres(1.6)?)
///     .in_stock(12);
/// assert_eq!(washer.mass().grams(), 1.02);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(deny_unknown_fields))]
pub struct Hardware {
    name: String,
    #[cfg_attr(feature = "serde", serde(rename = "mass_g", with = "super::wire::grams"))]
    mass: Mass,
    #[cfg_attr(
        feature = "serde",
        serde(rename = "thickness_mm", default = "super::wire::flat", with = "super::wire::millimetres")
    )]
    thickness: Length,
    #[cfg_attr(feature = "serde", serde(default, skip_serializing_if = "Option::is_none"))]
    stock: Option<u32>,
}

/// Grams per cubic millimetre in one gram per cubic centimetre.
const PER_CUBIC_MILLIMETRE: f64 = 1e-3;

impl Hardware {
    /// A piece of a mass, without thickness, as many as are needed. Negative mass is material taken off.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Mass};
    /// assert_eq!(Hardware::new("nut", Mass::from_grams(2.5)?).name(), "nut");
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn new(name: &str, mass: Mass) -> Self {
        Self { name: String::from(name), mass, thickness: Length::ZERO, stock: None }
    }

    /// A washer: `m = ρ π/4 (D² − d²) t`, with its thickness. The density in g/cm³: steel is about 7.85.
    ///
    /// # Errors
    /// [`PlacementError::BadNumber`] where the density is not a positive number, or the inner diameter is not below the
    /// outer one, or the thickness is not positive.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Length, Radius};
    /// let mm = Length::from_millimetres;
    /// let washer = Hardware::washer("A 6.4", mm(12.0)?, mm(6.4)?, mm(1.6)?, 7.85)?;
    /// assert!((washer.mass().grams() - 1.016_45).abs() < 1e-4);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn washer(
        name: &str,
        outer_diameter: Length,
        inner_diameter: Length,
        thickness: Length,
        grams_per_cubic_centimetre: f64,
    ) -> Result<Self, PlacementError> {
        let (outer, inner) = (outer_diameter.millimetres(), inner_diameter.millimetres());
        positive("the density in g/cm3", grams_per_cubic_centimetre)?;
        positive("the thickness in mm", thickness.millimetres())?;
        if !(inner >= 0.0 && inner < outer) {
            return Err(PlacementError::BadNumber {
                what: "the inner diameter, below the outer one,",
                value: inner,
            });
        }
        // m = ρ π/4 (D − d)(D + d) t
        let volume = PI / 4.0 * (outer - inner) * (outer + inner) * thickness.millimetres();
        let mass = Mass::from_grams(volume * grams_per_cubic_centimetre * PER_CUBIC_MILLIMETRE)?;
        Ok(Self { name: String::from(name), mass, thickness, stock: None })
    }

    /// A drilled hole: a negative mass. The depth is that of the full diameter; the drill's point, of the given included
    /// angle, cuts a cone below it: `m = −ρ π/4 d² (t + (d/2)/(3 tan(α/2)))`.
    ///
    /// # Errors
    /// [`PlacementError::BadNumber`] where the density or a length is not positive, or the angle not in (0, 180] degrees.
    ///
    /// ```
    /// # use counterpoise::{Angle, Hardware, Length};
    /// let mm = Length::from_millimetres;
    /// let drilled = Hardware::drilled("8 mm, 5 deep", mm(8.0)?, mm(5.0)?, Angle::from_degrees(118.0)?, 7.85)?;
    /// // A cylinder of 251.33 mm3 and a cone of 40.27 mm3.
    /// assert!((drilled.mass().grams() + 2.289_03).abs() < 1e-4);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn drilled(
        name: &str,
        diameter: Length,
        depth: Length,
        point_angle: Angle,
        grams_per_cubic_centimetre: f64,
    ) -> Result<Self, PlacementError> {
        let (wide, deep) = (diameter.millimetres(), depth.millimetres());
        positive("the density in g/cm3", grams_per_cubic_centimetre)?;
        positive("the diameter in mm", wide)?;
        positive("the depth in mm", deep)?;
        let degrees = point_angle.degrees();
        if !(degrees > 0.0 && degrees <= 180.0) {
            return Err(PlacementError::BadNumber {
                what: "the point angle, at most 180 deg,",
                value: degrees,
            });
        }
        let (sine, cosine) = math::sin_cos_degrees(0.5 * degrees);
        // m = −ρ π/4 d² (t + (d/2) cos(α/2) / (3 sin(α/2)))
        let volume = PI / 4.0 * wide * wide * (deep + 0.5 * wide * cosine / (3.0 * sine));
        let mass = Mass::from_grams(0.0 - volume * grams_per_cubic_centimetre * PER_CUBIC_MILLIMETRE)?;
        Ok(Self { name: String::from(name), mass, thickness: Length::ZERO, stock: None })
    }

    /// The same piece with what it adds to the height of a stack.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Length, Mass};
    /// let nut = Hardware::new("nut", Mass::from_grams(2.5)?).with_thickness(Length::from_millimetres(5.0)?);
    /// assert_eq!(nut.thickness().millimetres(), 5.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn with_thickness(self, thickness: Length) -> Self {
        Self { thickness, ..self }
    }

    /// The same piece, of which only so many are there to be put on.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Mass};
    /// assert_eq!(Hardware::new("nut", Mass::from_grams(2.5)?).in_stock(4).stock(), Some(4));
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    #[must_use]
    pub fn in_stock(self, pieces: u32) -> Self {
        Self { stock: Some(pieces), ..self }
    }

    /// The name.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Mass};
    /// assert_eq!(Hardware::new("nut", Mass::from_grams(2.5)?).name(), "nut");
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The mass of one piece.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Mass};
    /// assert_eq!(Hardware::new("nut", Mass::from_grams(2.5)?).mass().grams(), 2.5);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn mass(&self) -> Mass {
        self.mass
    }

    /// What one piece adds to the height of a stack.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Mass};
    /// assert_eq!(Hardware::new("nut", Mass::from_grams(2.5)?).thickness().millimetres(), 0.0);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn thickness(&self) -> Length {
        self.thickness
    }

    /// How many there are; `None` for as many as are needed.
    ///
    /// ```
    /// # use counterpoise::{Hardware, Mass};
    /// assert_eq!(Hardware::new("nut", Mass::from_grams(2.5)?).stock(), None);
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub const fn stock(&self) -> Option<u32> {
        self.stock
    }
}

fn positive(what: &'static str, value: f64) -> Result<(), PlacementError> {
    if value > 0.0 && value.is_finite() { Ok(()) } else { Err(PlacementError::BadNumber { what, value }) }
}
