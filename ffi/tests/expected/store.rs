//! Coefficients that come back from their text bit for bit.

use super::several;

pub fn numbers() -> Vec<(String, f64)> {
    several("store", &[-1.4e-4, 0.7e-4, 1.0 / 3.0, 0.1])
}
