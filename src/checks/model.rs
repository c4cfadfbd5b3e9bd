//! What an explanation changes: the weights really mounted, the readings, and the gain of each reading.

use alloc::vec::Vec;

use num_complex::Complex64;

use crate::angle::{Angle, PhaseSense};
use crate::channel::{Precision, Reading};
use crate::math;
use crate::unit::MassUnit;
use crate::vector::UnbalanceVector;
use crate::vibration_unit::{MotionQuantity, VibrationUnit};

use super::examination::{Examination, Item, Resonance, Stated};
use super::explanation::Explanation;

/// Grams in an avoirdupois ounce, exactly.
const GRAMS_PER_OUNCE: f64 = 28.349_523_125;

/// One number read, at the nominal speed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Taken {
    pub(super) value: Complex64,
    /// One over the standard deviation of each component.
    pub(super) root: f64,
    /// What was stated is this times what the machine did.
    pub(super) gain: Complex64,
}

/// The runs as one explanation has them: `value = gain (v0 + Σ_p H_p mounted_p) + noise`.
#[derive(Debug, Clone)]
pub(super) struct Model {
    /// Run by run, the unbalance in every plane.
    pub(super) mounted: Vec<Vec<Complex64>>,
    /// Run by run, what every channel read.
    pub(super) taken: Vec<Vec<Option<Taken>>>,
}

impl Examination {
    /// The runs as they were stated.
    pub(super) fn stated_model(&self) -> Model {
        Model {
            mounted: self.mounted_if(&Explanation::NoMistake),
            taken: self
                .runs
                .iter()
                .map(|run| run.readings.iter().map(|reading| reading.as_ref().map(taken)).collect())
                .collect(),
        }
    }

    /// `ν₀` of the factor common to all variances: infinite where the scatter of every reading is known.
    pub(super) fn scatter_degrees_of_freedom(&self) -> f64 {
        pooled_degrees_of_freedom(self.runs.iter().flat_map(|run| run.readings.iter().flatten()))
    }

    /// The runs as an explanation has them.
    pub(super) fn model_if(&self, stated: &Model, explanation: &Explanation) -> Model {
        let mut model = stated.clone();
        match *explanation {
            Explanation::NoMistake => {}
            Explanation::WeightMirrored { .. }
            | Explanation::WeightHalfTurn { .. }
            | Explanation::WeightOffByHoles { .. }
            | Explanation::WeightLeftOn { .. }
            | Explanation::WeightNotMounted { .. }
            | Explanation::MassUnit { .. }
            | Explanation::PlanesExchanged { .. }
            | Explanation::SenseWrong => model.mounted = self.mounted_if(explanation),
            Explanation::ChannelsExchanged { run, channels } => {
                if let Some(taken) = model.taken.get_mut(run) {
                    for [one, other] in self.exchanged_pairs(channels) {
                        // The scatter goes with the number.
                        if one < taken.len() && other < taken.len() {
                            taken.swap(one, other);
                        }
                    }
                }
            }
            Explanation::MarkMoved { run, turn_degrees } => {
                let turn = self.unturned(turn_degrees);
                for taken in model.taken.iter_mut().skip(run).flatten().flatten() {
                    taken.value *= turn;
                }
            }
            Explanation::OtherSpeed { run, .. }
            | Explanation::DetectorSlip { run, .. }
            | Explanation::UnitSlip { run, .. } => {
                let gains = self.gains_if(explanation, run);
                let row = model.taken.get_mut(run).into_iter().flatten();
                for (taken, gain) in row.zip(gains) {
                    if let Some(taken) = taken {
                        taken.gain = gain;
                    }
                }
            }
            Explanation::Outlier { run, channel } => {
                if let Some(taken) = model.taken.get_mut(run).and_then(|row| row.get_mut(channel)) {
                    *taken = None;
                }
            }
        }
        model
    }

    /// The factor that takes a turn of the stated phases off the canonical readings, in the sense of the first channel.
    pub(super) fn unturned(&self, turn_degrees: f64) -> Complex64 {
        // Lag: X = A exp(-jφ), φ = φ_true + τ, so X_true = X exp(+jτ).  Lead: X_true = X exp(-jτ).
        let turn = match self.channels.first().map(crate::channel::Channel::phase_sense) {
            Some(PhaseSense::Lead) => -turn_degrees,
            _ => turn_degrees,
        };
        let (sine, cosine) = math::sin_cos_degrees(turn);
        Complex64 { re: cosine, im: sine }
    }

    /// The turn of the stated phases that a canonical turn takes off, in (-180, 180], in the sense of the first channel.
    pub(super) fn turn_of(&self, unturned: Complex64) -> f64 {
        let turn = Angle::of_vector(unturned.re, unturned.im);
        let turn = match self.channels.first().map(crate::channel::Channel::phase_sense) {
            Some(PhaseSense::Lead) => -turn,
            _ => turn,
        };
        turn.signed_degrees()
    }

    fn mounted_if(&self, explanation: &Explanation) -> Vec<Vec<Complex64>> {
        let runs = self.runs.iter().enumerate();
        runs.map(|(run, stated)| self.on_rotor_if(explanation, run, |item| stated.holds(item))).collect()
    }

    /// The unbalance in every plane in a run, with the items that were stated to be on in it.
    pub(super) fn on_rotor_if(
        &self,
        explanation: &Explanation,
        run: usize,
        stated_on: impl Fn(Item) -> bool,
    ) -> Vec<Complex64> {
        let mut sums = alloc::vec![Complex64::ZERO; self.planes.len()];
        for (number, stated) in self.items.iter().enumerate() {
            let item = Item(number);
            if let Some((plane, unbalance)) = self.really(explanation, item, stated, run, stated_on(item)) {
                if let Some(sum) = sums.get_mut(plane) {
                    *sum += unbalance;
                }
            }
        }
        sums
    }

    /// Where an item really is in a run, and the unbalance it makes there; `None` where it is not on the rotor.
    fn really(
        &self,
        explanation: &Explanation,
        item: Item,
        stated: &Stated,
        run: usize,
        stated_on: bool,
    ) -> Option<(usize, Complex64)> {
        let (mut plane, mut weight, mut on) = (stated.plane, stated.weight, stated_on);
        let mut unbalance = None;
        match *explanation {
            // About the mark, in either sense: U = m r exp(-jβ)
            Explanation::WeightMirrored { item: wrong } if wrong == item => {
                unbalance = Some(weight.unbalance().complex().conj());
            }
            Explanation::SenseWrong => unbalance = Some(weight.unbalance().complex().conj()),
            Explanation::WeightHalfTurn { item: wrong } if wrong == item => {
                unbalance = Some(-weight.unbalance().complex());
            }
            Explanation::WeightOffByHoles { item: wrong, holes } if wrong == item => {
                if let Some(circle) = self.planes.get(plane).and_then(super::Plane::holes) {
                    // β + n 360/count, in the order of the numbers
                    let turn = Angle::reduced(f64::from(holes) * 360.0 / f64::from(circle.count()));
                    let place = weight.angle.in_sense(circle.sense()) + turn;
                    weight.angle = circle.sense().angle(place);
                }
            }
            Explanation::WeightLeftOn { item: wrong, run: from } if wrong == item => on |= run >= from,
            Explanation::WeightNotMounted { item: wrong } if wrong == item => on = false,
            Explanation::MassUnit { item: wrong, unit } if wrong == item => {
                let factor = match unit {
                    MassUnit::Ounce => GRAMS_PER_OUNCE,
                    _ => 1.0 / GRAMS_PER_OUNCE,
                };
                unbalance = Some(weight.unbalance().complex() * factor);
            }
            Explanation::PlanesExchanged { run: from, planes: [one, other] } => {
                let wrong = self.first_run_of(item) == Some(from);
                if wrong && (plane == one || plane == other) {
                    plane = if plane == one { other } else { one };
                    if let Some(radius) = self.planes.get(plane).and_then(super::Plane::radius) {
                        weight.radius = radius;
                    }
                }
            }
            _ => {}
        }
        on.then(|| (plane, unbalance.unwrap_or_else(|| weight.unbalance().complex())))
    }

    /// What an unbalance that is newly mounted really is: it follows the sense in which its angle is counted.
    pub(super) fn newly_mounted_if(explanation: &Explanation, unbalance: UnbalanceVector) -> Complex64 {
        match explanation {
            Explanation::SenseWrong => unbalance.complex().conj(),
            _ => unbalance.complex(),
        }
    }

    /// The channels whose readings are exchanged together with those of a pair: the same two sensors at other speeds.
    pub(super) fn exchanged_pairs(&self, [one, other]: [usize; 2]) -> Vec<[usize; 2]> {
        let sensor = |at: usize| self.channels.get(at).map(crate::channel::Channel::sensor);
        let mut pairs: Vec<[usize; 2]> = Vec::new();
        for (a, first) in self.channels.iter().enumerate().filter(|(a, _)| sensor(*a) == sensor(one)) {
            for (b, second) in self.channels.iter().enumerate().filter(|(b, _)| sensor(*b) == sensor(other)) {
                let alike = first.unit() == second.unit()
                    && first.phase_sense() == second.phase_sense()
                    && first.window().nominal() == second.window().nominal();
                if alike && a != b && !pairs.iter().any(|[x, y]| *x == b || *y == b || *x == a || *y == a) {
                    pairs.push([a, b]);
                }
            }
        }
        pairs
    }

    /// The gain of every channel in a run that a slip or another speed brings.
    pub(super) fn gains_if(&self, explanation: &Explanation, run: usize) -> Vec<Complex64> {
        let readings = self.runs.get(run).map(|run| run.readings.as_slice()).unwrap_or_default();
        let first_rpm = readings.iter().flatten().next().map(|reading| reading.speed().rpm());
        let gain = |reading: &Reading| -> Complex64 {
            let stated = reading.channel().unit();
            match *explanation {
                Explanation::DetectorSlip { detector, .. } => {
                    slip(stated, VibrationUnit { detector, ..stated }, reading)
                }
                Explanation::UnitSlip { scale, .. } if scale.quantity() == stated.scale.quantity() => {
                    slip(stated, VibrationUnit { scale, ..stated }, reading)
                }
                Explanation::OtherSpeed { rpm, .. } => {
                    let ratio = first_rpm.map_or(1.0, |first| rpm / first);
                    self.speed_gain(reading, ratio)
                }
                _ => Complex64::ONE,
            }
        };
        readings.iter().map(|reading| reading.as_ref().map_or(Complex64::ONE, gain)).collect()
    }

    /// By what a response changes when the speed is `ratio` times the stated one; 1 where no law is known.
    pub(super) fn speed_gain(&self, reading: &Reading, ratio: f64) -> Complex64 {
        let quantity = reading.channel().unit().scale.quantity();
        if let Some(resonance) = &self.resonance {
            let stated = reading.speed().rpm();
            // ρ(N)/ρ(N₀)
            return response(resonance, quantity, stated * ratio) / response(resonance, quantity, stated);
        }
        match reading.channel().law() {
            // (N/N₀)ᵖ
            Some(law) => Complex64 { re: math::power(ratio, law.exponent(quantity)), im: 0.0 },
            None => Complex64::ONE,
        }
    }

    /// Whether it is known how the readings of some channel change with speed.
    pub(super) fn knows_speed(&self) -> bool {
        let grows = |channel: &crate::channel::Channel| {
            channel.law().map(|law| law.exponent(channel.unit().scale.quantity()))
        };
        let powers: Option<Vec<i32>> = self.channels.iter().map(grows).collect();
        self.resonance.is_some() || powers.is_some_and(|powers| powers.iter().any(|power| *power != 0))
    }
}

/// `ν₀` of the factor common to the variances of readings: infinite where the scatter of each is known.
pub(super) fn pooled_degrees_of_freedom<'a>(readings: impl Iterator<Item = &'a Reading>) -> f64 {
    let count = |reading: &Reading| match reading.precision() {
        Precision::Scatter(scatter) => scatter.degrees_of_freedom().count(),
        Precision::Relative { .. } => f64::INFINITY,
    };
    let (number, sum) =
        readings.fold((0.0, 0.0), |(number, sum), reading| (number + 1.0, sum + 1.0 / count(reading)));
    // 1/ν₀ = Σ (1/ν)/n
    if sum > 0.0 { number / sum } else { f64::INFINITY }
}

/// What is read in one unit for each one in the stated unit.
fn slip(stated: VibrationUnit, used: VibrationUnit, reading: &Reading) -> Complex64 {
    Complex64 { re: stated.convert_amplitude(1.0, used, reading.speed()), im: 0.0 }
}

/// The response of a quantity to an unbalance, up to a factor.
fn response(resonance: &Resonance, quantity: MotionQuantity, rpm: f64) -> Complex64 {
    let critical = resonance.critical_speed().rpm();
    // In parts of the critical speed: ρ(n) = nᵖ/(1 − n² + 2jζn), p = 2, 3, 4
    let n = rpm / critical;
    let below = Complex64 { re: 1.0 - n * n, im: 2.0 * resonance.damping_ratio() * n };
    Complex64 { re: math::power(n, 2 + quantity.order()), im: 0.0 } / below
}

/// A reading brought to the nominal speed, with its scatter.
fn taken(reading: &Reading) -> Taken {
    let (weight, _) = reading.weight_at_nominal_speed();
    Taken { value: reading.at_nominal_speed().complex(), root: math::sqrt(weight), gain: Complex64::ONE }
}
