//! Other rules than grades: what one journal, or a whole rotor, may keep.

use super::grade::positive_mass;
use crate::error::ToleranceError;
use crate::math;
use crate::provenance::{Limit, Provenance};
use crate::unit::{Length, Mass, MassUnit, Speed, Unbalance, UnbalanceUnit};

/// Ounce inches that a pound may keep times the speed in rpm, per plane.
const FOUR: f64 = 4.0;

fn ounce_inches(value: f64, provenance: Provenance) -> Result<Limit<Unbalance>, ToleranceError> {
    Ok(Limit::new(Unbalance::new(value, UnbalanceUnit::OunceInch)?, provenance))
}

/// A mass in pounds, which has to be positive.
fn pounds(mass: Mass) -> Result<f64, ToleranceError> {
    positive_mass(mass)?;
    Ok(mass.value_in(MassUnit::Pound))
}

/// 4 W/N: what a tolerance plane may keep, with W the static load on its journal, given as a mass (API 617 and 610). In
/// U.S. units `U = 4 W/N` in oz in, W in lb and N in rpm; that is `6350 W/N` in g mm, W in kg, exactly.
///
/// # Errors
/// [`ToleranceError::BadNumber`] where the load is not positive.
///
/// ```
/// use counterpoise::tolerance::journal_rule;
/// use counterpoise::{Mass, MassUnit, Speed, UnbalanceUnit};
/// // API 617 example, energy-tech magazine, article 18389, page 4: 500 lb at 15,000 rpm may keep 0.13 oz in.
/// let limit = journal_rule(Mass::new(500.0, MassUnit::Pound)?, Speed::from_rpm(15_000.0)?)?;
/// assert!((limit.value.value_in(UnbalanceUnit::OunceInch) - 0.1333).abs() < 1e-4);
/// assert!((limit.value.gram_millimetres() - 96.0104).abs() < 1e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn journal_rule(static_load: Mass, speed: Speed) -> Result<Limit<Unbalance>, ToleranceError> {
    ounce_inches(FOUR * pounds(static_load)? / speed.rpm(), API)
}

const API: Provenance =
    Provenance::read("API 617 4W/N rule, in energy-tech magazine, article 18389, pages 3-4");
const SHOP: Provenance =
    Provenance::read("API 617 shop-test limit, as coded in NeqSim, RotorUnbalanceAssessment");
const FLOOR: Provenance =
    Provenance::read("API 671 coupling floor, as coded in NeqSim, RotorUnbalanceAssessment");
const NAVAL: Provenance =
    Provenance::read("MIL-STD-167-1 (1974) type II, in energy-tech magazine, article 18389");
const NAVAL_SLOW: Provenance =
    Provenance::from_memory("MIL-STD-167-1 (SHIPS), 1974, type II, balance limits");

/// The naval rule with W the mass of the whole rotor (MIL-STD-167-1, 1974): up to 150 rpm `0.177 W`, up to 1000 rpm
/// `4000 W/N²`, above `4 W/N`, in oz in with W in lb. The ranges below 1000 rpm are from memory, and the limit says so. There is
/// a step of 0.4 % at 150 rpm, as 0.177 is 4000/150² cut short.
///
/// # Errors
/// [`ToleranceError::BadNumber`] where the mass is not positive.
///
/// ```
/// use counterpoise::tolerance::naval_rule;
/// use counterpoise::{Mass, MassUnit, ProvenanceKind, Speed, UnbalanceUnit};
/// let limit = naval_rule(Mass::new(1000.0, MassUnit::Pound)?, Speed::from_rpm(500.0)?)?;
/// assert!((limit.value.value_in(UnbalanceUnit::OunceInch) - 16.0).abs() < 1e-12);
/// assert_eq!(limit.provenance.kind(), ProvenanceKind::FromMemory);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn naval_rule(rotor: Mass, speed: Speed) -> Result<Limit<Unbalance>, ToleranceError> {
    let (pounds, rpm) = (pounds(rotor)?, speed.rpm());
    if rpm <= 150.0 {
        ounce_inches(0.177 * pounds, NAVAL_SLOW)
    } else if rpm <= 1000.0 {
        ounce_inches(4000.0 * pounds / (rpm * rpm), NAVAL_SLOW)
    } else {
        ounce_inches(FOUR * pounds / rpm, NAVAL)
    }
}

/// The least that a coupling need not go below: 0.01 oz in (API 671, secondary source).
///
/// ```
/// let floor = counterpoise::tolerance::coupling_floor();
/// assert!((floor.value.gram_millimetres() - 7.200_8).abs() < 1e-4);
/// ```
pub const fn coupling_floor() -> Limit<Unbalance> {
    // 0.01 · 720.0778873750 g mm, exactly
    Limit::new(Unbalance::canonical(7.200_778_873_75), FLOOR)
}

/// The shaft vibration that a shop test permits, peak to peak: `25.4 √(12000/N)` µm, at most 25.4 µm (API 617, secondary
/// source).
///
/// ```
/// use counterpoise::{Speed, tolerance::shop_test_vibration};
/// let limit = shop_test_vibration(Speed::from_rpm(15_000.0)?);
/// assert!((limit.value.micrometres() - 22.718_5).abs() < 1e-4);
/// # Ok::<(), counterpoise::QuantityError>(())
/// ```
pub fn shop_test_vibration(speed: Speed) -> Limit<Length> {
    // 25.4 µm √(12000/N), at most 25.4 µm
    let millimetres = 0.0254 * math::sqrt(12_000.0 / speed.rpm()).min(1.0);
    Limit::new(Length::canonical(millimetres), SHOP)
}
