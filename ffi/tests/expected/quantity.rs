//! Conversions of quantities.

use counterpoise::{
    Angle, Force, ForceUnit, Length, LengthUnit, Mass, MassUnit, Radius, Speed, SpeedUnit, Unbalance,
    UnbalanceUnit,
};

use super::several;

macro_rules! table {
    ($Quantity:ident, $Unit:ident) => {{
        let mut values = Vec::new();
        for &from in $Unit::ALL {
            for &to in $Unit::ALL {
                values.push($Quantity::new(1.2345678901234567, from).unwrap().value_in(to));
            }
        }
        values
    }};
}

pub fn numbers() -> Vec<(String, f64)> {
    let speed = Speed::from_rpm(2345.6).unwrap();
    let force = Unbalance::from_gram_millimetres(1234.5).unwrap().centrifugal_force(speed);
    let angle = |degrees| Angle::from_degrees(degrees).unwrap();
    let (sine, cosine) = angle(12.3).sin_cos();
    [
        several("mass", &table!(Mass, MassUnit)),
        several("length", &table!(Length, LengthUnit)),
        several("radius", &table!(Radius, LengthUnit)),
        several("speed", &table!(Speed, SpeedUnit)),
        several("unbalance", &table!(Unbalance, UnbalanceUnit)),
        several("force", &table!(Force, ForceUnit)),
        several(
            "physics",
            &[force.newtons(), Unbalance::of_centrifugal_force(force, speed).gram_millimetres()],
        ),
        several(
            "angle",
            &[
                angle(-12.3).degrees(),
                Angle::from_radians(1.0).unwrap().degrees(),
                angle(347.7).signed_degrees(),
                angle(350.1).separation_degrees(angle(9.8)),
                sine,
                cosine,
            ],
        ),
    ]
    .concat()
}
