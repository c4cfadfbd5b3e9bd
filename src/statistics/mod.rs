//! Distributions: what a figure of merit is worth as a probability, and which figure a probability allows.
//!
//! | file | holds |
//! | --- | --- |
//! | `gamma` | incomplete gamma function: chi-squared |
//! | `beta` | incomplete beta function: F, Student's t |
//! | `normal` | the normal distribution |
//! | `circle` | how much of a plane normal or t distribution lies inside a circle |
//! | `symmetric` | covariances and information in the plane |
//! | `root` | where a rising function reaches a value |
//!
//! Formulas: Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, chapters 6 and 26; continued fractions by
//! Lentz's method as Press et al., Numerical Recipes, 3rd edition, Cambridge 2007, section 5.2, describe it.

mod beta;
mod circle;
mod gamma;
mod normal;
mod root;
mod symmetric;

pub(crate) use beta::{f_quantile, f_upper};
pub(crate) use circle::{Ellipse, centre_seen_outside, mahalanobis_squared, radius_holding, share_inside};
pub(crate) use gamma::{chi_squared_quantile, chi_squared_upper};
pub(crate) use normal::normal_lower;
pub(crate) use symmetric::Symmetric;
#[cfg(feature = "alloc")]
pub(crate) use symmetric::dot;

#[cfg(test)]
mod tests;
