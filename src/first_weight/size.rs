//! How heavy a first weight should be: rules that give an amount of unbalance.

use crate::channel::Reading;
use crate::error::{FirstWeightError, QuantityError};
use crate::unit::{Force, Mass, Unbalance};
use crate::vibration_unit::{Detector, VibrationScale, VibrationUnit};

/// A rule for the amount of a first weight, with where it comes from.
///
/// ```
/// use counterpoise::{Force, first_weight::SizeRule};
/// let rule = SizeRule::static_load(Force::from_newtons(600.0)?)?;
/// assert_eq!(rule.provenance(), "trial force as a part of the static load on the bearing (handbook rule, from memory)");
/// # Ok::<(), Box<dyn core::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeRule<'a> {
    kind: Kind<'a>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind<'a> {
    StaticLoad { load: Force, fraction: f64 },
    MassControlled { effective_mass: Mass },
    PerVibration { amount: Unbalance, unit: VibrationUnit, factor: f64, provenance: &'a str },
}

/// The velocity that moves the effective mass: mm/s peak, so that g · mm/s / (rad/s) = g mm.
const VELOCITY: VibrationUnit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);

impl<'a> SizeRule<'a> {
    /// The usual part of the static load: 10 % (handbook rule, from memory).
    ///
    /// ```
    /// assert_eq!(counterpoise::first_weight::SizeRule::STATIC_LOAD_FRACTION, 0.1);
    /// ```
    pub const STATIC_LOAD_FRACTION: f64 = 0.1;

    /// The amount whose centrifugal force is a tenth of the static load on the bearing: `U = 0.1 F/Ω²`.
    ///
    /// It is a trial amount, whatever the reading says.
    ///
    /// # Errors
    /// [`FirstWeightError::Quantity`] where the load is not greater than zero.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Force, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::SizeRule;
    /// # let unit = VibrationUnit::new(VibrationScale::Mil, Detector::PeakToPeak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(3600.0)?, 1.0)?;
    /// let reading = Channel::new(1, unit, PhaseSense::Lag, window).reading(4.0, 90.0)?;
    /// let rule = SizeRule::static_load(Force::from_pounds_force(500.0)?)?;
    /// assert!((rule.amount(&reading)?.ounce_inches() - 2.1733).abs() < 1e-4);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn static_load(load: Force) -> Result<Self, FirstWeightError> {
        Self::static_load_fraction(load, Self::STATIC_LOAD_FRACTION)
    }

    /// The amount whose centrifugal force is a stated part of the static load on the bearing: `U = f F/Ω²`.
    ///
    /// # Errors
    /// [`FirstWeightError::Quantity`] where the load is not greater than zero, [`FirstWeightError::BadFraction`] where the
    /// fraction is not in `(0, 1]`: more would lift the rotor off its bearing.
    ///
    /// ```
    /// use counterpoise::{Force, first_weight::SizeRule};
    /// let load = Force::from_newtons(600.0)?;
    /// assert!(SizeRule::static_load_fraction(load, 0.05).is_ok());
    /// assert_eq!(
    ///     SizeRule::static_load_fraction(load, 10.0).unwrap_err().to_string(),
    ///     "the trial force as a fraction of the static load must be greater than 0 and at most 1, got 10.0: \
    ///      give a part of the whole, not percent",
    /// );
    /// # Ok::<(), counterpoise::QuantityError>(())
    /// ```
    pub fn static_load_fraction(load: Force, fraction: f64) -> Result<Self, FirstWeightError> {
        positive("static load", load.newtons(), "N")?;
        let fraction = super::fraction("the trial force as a fraction of the static load", fraction)?;
        Ok(Self { kind: Kind::StaticLoad { load, fraction } })
    }

    /// The unbalance that moves a mass as the reading says: `U = M v/Ω`, `v` the peak velocity.
    ///
    /// It holds far above resonance, where mass alone holds the pull, as on an engine on soft mounts. The effective mass is
    /// what the mounts let move as one, at the sensor: the caller states it.
    ///
    /// # Errors
    /// [`FirstWeightError::Quantity`] where the mass is not greater than zero.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, Mass, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::SizeRule;
    /// # let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_radians_per_second(250.0)?, 1.0)?;
    /// let reading = Channel::new(1, unit, PhaseSense::Lag, window).reading(10.0, 90.0)?;
    /// let rule = SizeRule::mass_controlled(Mass::from_kilograms(100.0)?)?;
    /// assert!((rule.amount(&reading)?.gram_millimetres() - 4000.0).abs() < 1e-9);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn mass_controlled(effective_mass: Mass) -> Result<Self, FirstWeightError> {
        positive("effective mass", effective_mass.grams(), "g")?;
        Ok(Self { kind: Kind::MassControlled { effective_mass } })
    }

    /// The caller's own rule: an unbalance per one of a stated unit of vibration, times a constant factor (1 for none), and
    /// in words where it comes from.
    ///
    /// Readings in other units are brought to that of the rule first.
    ///
    /// # Errors
    /// [`FirstWeightError::Quantity`] where the amount or the factor is not greater than zero,
    /// [`FirstWeightError::NoProvenance`] for words that say nothing.
    ///
    /// ```
    /// use counterpoise::{Detector, Unbalance, VibrationScale, VibrationUnit, first_weight::SizeRule};
    /// let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// let amount = Unbalance::from_gram_inches(120.0)?;
    /// let rule = SizeRule::per_vibration(amount, unit, 1.0, "the last five jobs on this type")?;
    /// assert_eq!(rule.provenance(), "the last five jobs on this type");
    /// assert_eq!(
    ///     SizeRule::per_vibration(amount, unit, 1.0, " ").unwrap_err().to_string(),
    ///     "the origin of the rule or coefficient is not stated: say where it comes from",
    /// );
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn per_vibration(
        amount: Unbalance,
        unit: VibrationUnit,
        factor: f64,
        provenance: &'a str,
    ) -> Result<Self, FirstWeightError> {
        positive("unbalance per unit of vibration", amount.gram_millimetres(), "g mm")?;
        positive("factor of the rule", factor, "(a plain number)")?;
        super::stated(provenance)?;
        Ok(Self { kind: Kind::PerVibration { amount, unit, factor, provenance } })
    }

    /// Where the rule comes from.
    ///
    /// ```
    /// use counterpoise::{Mass, first_weight::SizeRule};
    /// let rule = SizeRule::mass_controlled(Mass::from_kilograms(100.0)?)?;
    /// assert_eq!(rule.provenance(), "U = M v/Ω with the effective mass as stated, far above resonance (mechanics)");
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub const fn provenance(&self) -> &'a str {
        match self.kind {
            Kind::StaticLoad { .. } => {
                "trial force as a part of the static load on the bearing (handbook rule, from memory)"
            }
            Kind::MassControlled { .. } => {
                "U = M v/Ω with the effective mass as stated, far above resonance (mechanics)"
            }
            Kind::PerVibration { provenance, .. } => provenance,
        }
    }

    /// The amount the rule gives for a reading, at the speed at which it was read.
    ///
    /// # Errors
    /// [`FirstWeightError::Quantity`] where the vibration was computed from others and is not finite,
    /// [`FirstWeightError::EstimateBeyondRange`] where the amount is beyond the range of numbers.
    ///
    /// ```
    /// # use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, Unbalance, VibrationScale, VibrationUnit};
    /// # use counterpoise::first_weight::SizeRule;
    /// # let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
    /// # let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
    /// let reading = Channel::new(1, unit, PhaseSense::Lag, window).reading(0.5, 90.0)?;
    /// let rule = SizeRule::per_vibration(Unbalance::from_gram_millimetres(3000.0)?, unit, 2.0, "earlier jobs")?;
    /// assert_eq!(rule.amount(&reading)?.gram_millimetres(), 3000.0);
    /// # Ok::<(), Box<dyn core::error::Error>>(())
    /// ```
    pub fn amount(&self, reading: &Reading) -> Result<Unbalance, FirstWeightError> {
        let amplitude = super::finite(reading.vibration())?.amplitude();
        let (unit, speed) = (reading.channel().unit(), reading.speed());
        let gram_millimetres = match self.kind {
            // U = f F/Ω²
            Kind::StaticLoad { load, fraction } => {
                Unbalance::of_centrifugal_force(load * fraction, speed).gram_millimetres()
            }
            // U = M v/Ω
            Kind::MassControlled { effective_mass } => {
                let velocity = unit.convert_amplitude(amplitude, VELOCITY, speed);
                effective_mass.grams() * velocity / speed.radians_per_second()
            }
            // U = c u A
            Kind::PerVibration { amount, unit: of_rule, factor, .. } => {
                factor * amount.gram_millimetres() * unit.convert_amplitude(amplitude, of_rule, speed)
            }
        };
        super::in_range(gram_millimetres)
    }

    /// Whether the amount is a trial amount already, not an estimate of the whole unbalance.
    pub(super) const fn is_trial_amount(&self) -> bool {
        matches!(self.kind, Kind::StaticLoad { .. })
    }

    /// Whether the amount takes for granted that mass alone holds the pull.
    pub(super) const fn is_mass_controlled(&self) -> bool {
        matches!(self.kind, Kind::MassControlled { .. })
    }
}

/// Refuses a number that is not finite and greater than zero.
fn positive(quantity: &'static str, value: f64, unit: &'static str) -> Result<(), QuantityError> {
    if !value.is_finite() {
        Err(QuantityError::NotFinite { quantity, value })
    } else if value <= 0.0 {
        Err(QuantityError::NotPositive { quantity, value, unit })
    } else {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::angle::PhaseSense;
    use crate::channel::Channel;
    use crate::speed_window::SpeedWindow;
    use crate::unit::{Radius, Speed};

    const IN_PER_S: VibrationUnit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);

    fn reading(unit: VibrationUnit, rpm: f64, amplitude: f64) -> Reading {
        let window = SpeedWindow::around_percent(Speed::from_rpm(rpm).unwrap(), 1.0).unwrap();
        Channel::new(1, unit, PhaseSense::Lag, window).reading(amplitude, 0.0).unwrap()
    }

    #[test]
    fn ten_percent_of_the_static_load_is_the_handbook_figure() {
        // The published cases, K1 ("handbook rule", from memory; numbers recomputed there): 500 lb, 3600 rpm, 10 in.
        // Each figure is held to half a unit of its last printed place.
        let rule = SizeRule::static_load(Force::from_pounds_force(500.0).unwrap()).unwrap();
        let amount = rule.amount(&reading(IN_PER_S, 3600.0, 0.3)).unwrap();
        assert!((amount.ounce_inches() - 2.1733).abs() < 0.5e-4);
        let mass = amount / Radius::from_inches(10.0).unwrap();
        assert!((mass.ounces() - 0.21733).abs() < 0.5e-5);
        // U [oz in] = 56331.29 W [lb] / N², the same case.
        assert!((amount.ounce_inches() * 3600.0 * 3600.0 / 500.0 - 56_331.29).abs() < 0.5e-2);
    }

    #[test]
    fn the_trial_force_is_the_stated_part_of_the_load() {
        let load = Force::from_newtons(730.0).unwrap();
        for fraction in [0.01, 0.05, 0.1, 1.0] {
            let rule = SizeRule::static_load_fraction(load, fraction).unwrap();
            let reading = reading(IN_PER_S, 2400.0, 0.3);
            let force = rule.amount(&reading).unwrap().centrifugal_force(reading.speed());
            assert!((force.newtons() / (730.0 * fraction) - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn the_effective_mass_takes_a_reading_in_any_unit() {
        // A mass M far above resonance under the pull U Ω²: x = U/M, so U = 250 kg · 40 um = 10000 g mm.
        let rule = SizeRule::mass_controlled(Mass::from_kilograms(250.0).unwrap()).unwrap();
        let speed = Speed::from_rpm(2400.0).unwrap();
        let displacement = VibrationUnit::new(VibrationScale::Micrometre, Detector::Peak);
        for &scale in VibrationScale::ALL {
            for &detector in Detector::ALL {
                let unit = VibrationUnit::new(scale, detector);
                let amplitude = displacement.convert_amplitude(40.0, unit, speed);
                let amount = rule.amount(&reading(unit, 2400.0, amplitude)).unwrap().gram_millimetres();
                assert!((amount / 10_000.0 - 1.0).abs() < 1e-14, "{unit}: {amount}");
            }
        }
    }

    #[test]
    fn a_callers_rule_by_engine_power_gives_its_grams() {
        // Common practice, no source: grams = (hp/10 + 30) x reading in in/s, here for 180 hp at a radius of 6 in.
        let radius = Radius::from_inches(6.0).unwrap();
        let one_gram = Mass::from_grams(1.0).unwrap() * radius;
        let factor = 180.0 / 10.0 + 30.0;
        let rule = SizeRule::per_vibration(one_gram, IN_PER_S, factor, "common practice, no source").unwrap();
        let grams =
            |unit, amplitude| (rule.amount(&reading(unit, 2400.0, amplitude)).unwrap() / radius).grams();
        assert!((grams(IN_PER_S, 0.5) - 24.0).abs() < 1e-13);
        // The same motion as 12.7 mm/s peak.
        let metric = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);
        assert!((grams(metric, 12.7) - 24.0).abs() < 1e-13);
        assert_eq!(rule.provenance(), "common practice, no source");
    }

    #[test]
    fn refusals_carry_what_was_given() {
        let text = |result: Result<SizeRule<'_>, FirstWeightError>| {
            let error = result.unwrap_err();
            (error.code(), error.to_string())
        };
        let mass = |grams| SizeRule::mass_controlled(Mass::from_grams(grams).unwrap());
        assert_eq!(
            text(mass(0.0)),
            (
                102,
                "effective mass must be greater than zero, got 0.0 g: give its size, without a sign".into()
            )
        );
        assert_eq!(
            text(mass(-5.0)),
            (
                102,
                "effective mass must be greater than zero, got -5.0 g: give its size, without a sign".into()
            )
        );
        assert_eq!(
            text(SizeRule::static_load(Force::ZERO)),
            (102, "static load must be greater than zero, got 0.0 N: give its size, without a sign".into())
        );
        let load = Force::from_newtons(600.0).unwrap();
        for (fraction, printed) in [(-0.1, "-0.1"), (0.0, "0.0"), (1.5, "1.5"), (f64::NAN, "NaN")] {
            assert_eq!(
                text(SizeRule::static_load_fraction(load, fraction)),
                (
                    602,
                    format!(
                        "the trial force as a fraction of the static load must be greater than 0 and at most 1, \
                         got {printed}: give a part of the whole, not percent"
                    )
                )
            );
        }
        let amount = Unbalance::from_gram_millimetres(100.0).unwrap();
        assert_eq!(
            text(SizeRule::per_vibration(-amount, IN_PER_S, 1.0, "jobs")),
            (
                102,
                "unbalance per unit of vibration must be greater than zero, got -100.0 g mm: \
                 give its size, without a sign"
                    .into()
            )
        );
        assert_eq!(
            text(SizeRule::per_vibration(amount, IN_PER_S, f64::INFINITY, "jobs")),
            (
                101,
                "factor of the rule must be a finite number, got inf: check where the number comes from"
                    .into()
            )
        );
        assert_eq!(text(SizeRule::per_vibration(amount, IN_PER_S, 1.0, "\t")).0, 605);
    }

    #[test]
    fn an_amount_beyond_all_numbers_is_refused() {
        let amount = Unbalance::from_gram_millimetres(1e100).unwrap();
        let rule = SizeRule::per_vibration(amount, IN_PER_S, 1e300, "nonsense").unwrap();
        assert_eq!(
            rule.amount(&reading(IN_PER_S, 2400.0, 0.5)).unwrap_err().to_string(),
            "the estimate comes to inf g mm, beyond what can be computed with: \
             check the reading, the speed and the figures of the rule"
        );
    }
}
