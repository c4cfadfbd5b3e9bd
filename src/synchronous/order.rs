//! Orders: how often something happens while the rotor turns once, and on which shaft.

use crate::error::SynchronousError;

/// How two shafts that are geared together turn: so many turns of the one while the other makes so many.
///
/// ```
/// use counterpoise::synchronous::GearRatio;
/// // An engine that turns 243 times while its propeller turns 100 times.
/// let ratio = GearRatio::new(243, 100)?;
/// assert_eq!(ratio.value(), 2.43);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct GearRatio {
    driving: u32,
    driven: u32,
}

impl GearRatio {
    /// No gear: both turn together.
    ///
    /// ```
    /// assert_eq!(counterpoise::synchronous::GearRatio::DIRECT.value(), 1.0);
    /// ```
    pub const DIRECT: Self = Self { driving: 1, driven: 1 };

    /// So many turns of the driving shaft, such as a crank, while the driven one, such as a propeller, makes so many.
    ///
    /// # Errors
    /// [`SynchronousError::GearRatio`] where one of them is 0.
    ///
    /// ```
    /// # use counterpoise::synchronous::GearRatio;
    /// assert_eq!(GearRatio::new(0, 1).unwrap_err().code(), 1311);
    /// ```
    pub const fn new(driving: u32, driven: u32) -> Result<Self, SynchronousError> {
        if driving == 0 || driven == 0 {
            return Err(SynchronousError::GearRatio { driving, driven });
        }
        Ok(Self { driving, driven })
    }

    /// Turns of the driving shaft per turn of the driven one.
    ///
    /// ```
    /// # use counterpoise::synchronous::GearRatio;
    /// assert_eq!(GearRatio::new(3, 2)?.value(), 1.5);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn value(self) -> f64 {
        f64::from(self.driving) / f64::from(self.driven)
    }

    /// Turns of the driving shaft.
    ///
    /// ```
    /// # use counterpoise::synchronous::GearRatio;
    /// assert_eq!(GearRatio::DIRECT.driving(), 1);
    /// ```
    pub const fn driving(self) -> u32 {
        self.driving
    }

    /// Turns of the driven shaft in the same time.
    ///
    /// ```
    /// # use counterpoise::synchronous::GearRatio;
    /// assert_eq!(GearRatio::DIRECT.driven(), 1);
    /// ```
    pub const fn driven(self) -> u32 {
        self.driven
    }
}

/// How often something happens in one turn of the rotor that is balanced. Half an order is once in two turns.
///
/// ```
/// use counterpoise::synchronous::{GearRatio, Order};
/// // Once in two turns of a crank that is geared to the propeller 243 to 100, in orders of the propeller.
/// let firing = Order::of_driving_shaft(0.5, GearRatio::new(243, 100)?)?;
/// assert_eq!(firing.per_turn(), 1.215);
/// # Ok::<(), counterpoise::SynchronousError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Order(f64);

impl Order {
    /// Once per turn of the rotor: what unbalance does.
    ///
    /// ```
    /// assert_eq!(counterpoise::synchronous::Order::ONCE_PER_TURN.per_turn(), 1.0);
    /// ```
    pub const ONCE_PER_TURN: Self = Self(1.0);

    /// So often per turn of the rotor that is balanced: the number of blades for blade passing.
    ///
    /// # Errors
    /// [`SynchronousError::BadNumber`] where it is not a positive number, or beyond 1e6.
    ///
    /// ```
    /// # use counterpoise::synchronous::Order;
    /// assert_eq!(Order::of_rotor(3.0)?.per_turn(), 3.0);
    /// assert!(Order::of_rotor(-1.0).is_err());
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn of_rotor(per_turn: f64) -> Result<Self, SynchronousError> {
        if per_turn > 0.0 && per_turn <= 1e6 {
            Ok(Self(per_turn))
        } else {
            Err(SynchronousError::BadNumber {
                what: "an order",
                value: per_turn,
                wanted: "positive, and at most 1e6",
            })
        }
    }

    /// So often per turn of the shaft that drives the rotor through a gear.
    ///
    /// # Errors
    /// As [`of_rotor`](Self::of_rotor).
    ///
    /// ```
    /// # use counterpoise::synchronous::{GearRatio, Order};
    /// assert_eq!(Order::of_driving_shaft(0.5, GearRatio::new(2, 1)?)?, Order::ONCE_PER_TURN);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub fn of_driving_shaft(per_turn: f64, gear: GearRatio) -> Result<Self, SynchronousError> {
        Self::of_rotor(per_turn * f64::from(gear.driving) / f64::from(gear.driven))
    }

    /// How often per turn of the rotor.
    ///
    /// ```
    /// # use counterpoise::synchronous::Order;
    /// assert_eq!(Order::of_rotor(0.5)?.per_turn(), 0.5);
    /// # Ok::<(), counterpoise::SynchronousError>(())
    /// ```
    pub const fn per_turn(self) -> f64 {
        self.0
    }
}
