//! How the vocabulary and the answers of the placement are written and read: units in the names, numbers through the
//! same checks as everything.
//!
//! Answers are only written. A certificate says what the search has proven; one that came from a text would say what the
//! text says.

use alloc::string::{String, ToString};
use alloc::vec::Vec;

use num_complex::Complex64;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};

use crate::angle::RotorSense;
use crate::caution::Caution;
use crate::relocation::MassPrice;
pub(super) use crate::unit::finite;

/// A quantity as a plain number, whose field names the unit; and the same for one that may be missing.
macro_rules! plain {
    ($module:ident, $optional:ident, $Type:ident, $get:ident, $make:ident) => {
        pub(super) mod $module {
            use super::*;
            use crate::unit::$Type;

            pub(in crate::placement) fn serialize<S: Serializer>(
                quantity: &$Type,
                serializer: S,
            ) -> Result<S::Ok, S::Error> {
                finite(&quantity.$get(), serializer)
            }

            #[allow(dead_code)] // some quantities are only written
            pub(in crate::placement) fn deserialize<'de, D: Deserializer<'de>>(
                deserializer: D,
            ) -> Result<$Type, D::Error> {
                $Type::$make(f64::deserialize(deserializer)?).map_err(D::Error::custom)
            }
        }

        plain!(@optional $optional, $Type, $get, $make);
    };
    (@optional none, $Type:ident, $get:ident, $make:ident) => {};
    (@optional $optional:ident, $Type:ident, $get:ident, $make:ident) => {
        pub(super) mod $optional {
            use super::*;
            use crate::unit::$Type;

            #[allow(clippy::ref_option)] // serde hands over a reference to the field
            pub(in crate::placement) fn serialize<S: Serializer>(
                quantity: &Option<$Type>,
                serializer: S,
            ) -> Result<S::Ok, S::Error> {
                match quantity {
                    Some(quantity) => finite(&quantity.$get(), serializer),
                    None => serializer.serialize_none(),
                }
            }

            pub(in crate::placement) fn deserialize<'de, D: Deserializer<'de>>(
                deserializer: D,
            ) -> Result<Option<$Type>, D::Error> {
                let number = Option::<f64>::deserialize(deserializer)?;
                number.map($Type::$make).transpose().map_err(D::Error::custom)
            }
        }
    };
}

plain!(grams, optional_grams, Mass, grams, from_grams);
plain!(millimetres, optional_millimetres, Length, millimetres, from_millimetres);
plain!(radius_millimetres, none, Radius, millimetres, from_millimetres);

/// A piece adds nothing to the height of a stack, unless the text says otherwise.
pub(super) const fn flat() -> crate::unit::Length {
    crate::unit::Length::ZERO
}

/// What is mounted may come off, unless the text says otherwise.
pub(super) const fn yes() -> bool {
    true
}

/// How many pieces of one kind of hardware.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Count {
    hardware: usize,
    pieces: u32,
}

/// Pieces by name, where the type has pairs.
pub(super) mod counts {
    use super::{Count, Deserialize, Deserializer, Serializer, Vec};

    pub(in crate::placement) fn serialize<S: Serializer>(
        counts: &[(usize, u32)],
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(counts.iter().map(|&(hardware, pieces)| Count { hardware, pieces }))
    }

    pub(in crate::placement) fn deserialize<'de, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<Vec<(usize, u32)>, D::Error> {
        let counts = Vec::<Count>::deserialize(deserializer)?;
        Ok(counts.into_iter().map(|count| (count.hardware, count.pieces)).collect())
    }
}

#[derive(Serialize)]
struct Told {
    code: i32,
    text: String,
}

/// Cautions by their codes and the sentences that they print.
pub(super) fn cautions<S: Serializer>(cautions: &[Caution], serializer: S) -> Result<S::Ok, S::Error> {
    serializer
        .collect_seq(cautions.iter().map(|caution| Told { code: caution.code(), text: caution.to_string() }))
}

/// A complex number without a unit.
#[derive(Serialize)]
struct Plain {
    #[serde(serialize_with = "finite")]
    re: f64,
    #[serde(serialize_with = "finite")]
    im: f64,
}

/// A price of unbalance, counted with rotation.
#[derive(Serialize)]
struct Price {
    #[serde(rename = "x_g_per_g_mm", serialize_with = "finite")]
    x: f64,
    #[serde(rename = "y_g_per_g_mm", serialize_with = "finite")]
    y: f64,
}

pub(super) fn dual<S: Serializer>(dual: &[Complex64], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(dual.iter().map(|value| Plain { re: value.re, im: value.im }))
}

pub(super) fn prices<S: Serializer>(prices: &[MassPrice], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(prices.iter().map(|price| {
        let [x, y] = price.per_gram_millimetre(RotorSense::WithRotation);
        Price { x, y }
    }))
}
