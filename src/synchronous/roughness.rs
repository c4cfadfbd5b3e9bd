//! How rough the engine runs against how far the rotor is out of balance: shares of other orders, for the checks before
//! balancing.

use super::order::{GearRatio, Order};
use super::synchronous_vector::SynchronousVector;

/// The part that one order has in what was read.
///
/// ```
/// use counterpoise::synchronous::{Order, OrderShare};
/// let share = OrderShare { order: Order::of_rotor(0.5)?, amplitude: 0.12, of_once_per_turn: 0.6, of_all: 0.1 };
/// assert_eq!(share.order.per_turn(), 0.5);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrderShare {
    /// The order, counted in turns of the rotor.
    pub order: Order,
    /// Its amplitude, in the unit of the samples, zero to peak.
    pub amplitude: f64,
    /// Its amplitude over that of once per turn; infinite where there is none.
    pub of_once_per_turn: f64,
    /// Its share of the mean square of everything that changes: the orders together and what is left.
    pub of_all: f64,
}

impl<const ORDERS: usize> SynchronousVector<ORDERS> {
    /// The part of every order that was extracted, once per turn first. Of an engine that misfires the half orders of its
    /// crank are strong; blade passing is the order of the number of blades.
    ///
    /// The amplitudes are those of the samples: of an accelerometer, twice the order counts twice as much as it would in
    /// velocity.
    ///
    /// ```
    /// use counterpoise::synchronous::{Extraction, Mark, Order, Rotation};
    /// let samples: Vec<f64> = (0..2000)
    ///     .map(|i| {
    ///         let turned = core::f64::consts::TAU * 0.02 * f64::from(i);
    ///         0.2 * libm::cos(turned) + 0.1 * libm::sin(0.5 * turned)
    ///     })
    ///     .collect();
    /// let marks: Vec<Mark> = (0..40).map(|n| Mark { seconds: 0.05 * f64::from(n), turns: f64::from(n) }).collect();
    /// let orders = [Order::ONCE_PER_TURN, Order::of_rotor(0.5)?];
    /// let vector = Extraction::new(orders, 1000.0)?.extract(&samples, &Rotation::through(&marks)?)?;
    /// let [once, half] = vector.shares();
    /// assert!((half.of_once_per_turn - 0.5).abs() < 1e-9 && (half.of_all - 0.2).abs() < 1e-9);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn shares(&self) -> [OrderShare; ORDERS] {
        // The mean square of a sinusoid is half the square of its amplitude.
        let mean_square = |amplitude: f64| 0.5 * amplitude * amplitude;
        let rest = self.residual_rms * self.residual_rms;
        let all = rest + self.vectors.iter().map(|vector| mean_square(vector.amplitude())).sum::<f64>();
        let once = self.once_per_turn().amplitude();
        let mut shares =
            self.orders.map(|order| OrderShare { order, amplitude: 0.0, of_once_per_turn: 0.0, of_all: 0.0 });
        for (share, vector) in shares.iter_mut().zip(&self.vectors) {
            share.amplitude = vector.amplitude();
            share.of_once_per_turn = if share.amplitude > 0.0 { share.amplitude / once } else { 0.0 };
            share.of_all = if all > 0.0 { mean_square(share.amplitude) / all } else { 0.0 };
        }
        shares
    }
}

/// The half orders of a crank that lie so near to once per turn of a rotor geared to it that a record of so many turns
/// cannot tell them from it: the first twenty are looked at. They feign an unbalance that comes and goes.
///
/// ```
/// use counterpoise::synchronous::{GearRatio, beside_once_per_turn};
/// // Two turns of the crank for one of the propeller: its half order is once per turn of the propeller.
/// assert_eq!(beside_once_per_turn(GearRatio::new(2, 1)?, 100.0).collect::<Vec<_>>(), [0.5]);
/// // 243 to 100: half an order is 1.215 times per turn, and 100 turns tell them apart.
/// assert_eq!(beside_once_per_turn(GearRatio::new(243, 100)?, 100.0).count(), 0);
/// assert_eq!(beside_once_per_turn(GearRatio::new(243, 100)?, 4.0).count(), 1);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
pub fn beside_once_per_turn(gear: GearRatio, turns: f64) -> impl Iterator<Item = f64> {
    (1..=20_u8).map(|half| 0.5 * f64::from(half)).filter(move |&order| {
        let per_turn = order * gear.value();
        // Without a gear the crank's own first order is once per turn by nature.
        (gear.value() != 1.0 || order != 1.0) && (per_turn - 1.0).abs() * turns < 1.0
    })
}
