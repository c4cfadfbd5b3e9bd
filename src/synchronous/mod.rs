//! From raw samples and shaft marks to the vector once per turn, with its scatter.
//!
//! | step | take |
//! | --- | --- |
//! | find the pulses in a tach channel | [`TachLevels`], [`TachReader`] |
//! | put them right: missing, spurious, several a turn, a gear | [`PulseTrain`]; without a heap [`PulseGate`] |
//! | where the shaft was at every instant | [`Rotation`] |
//! | fit once per turn with other orders, a constant and a drift | [`Extraction`]; as it comes [`Stream`] |
//! | undo what sensor and filter did, integrate, make a [`Reading`](crate::Reading) | [`SensorChain`] |
//! | see how rough the engine runs | [`SynchronousVector::shares`], [`beside_once_per_turn`] |
//! | run through the speeds | [`Sweep`] |
//!
//! The fit is least squares in the angle of the shaft, so that neither leakage nor a drifting speed bends it; on steady and
//! drifting records its error is that of the Cramér-Rao bound (`examples/extraction_study.rs`). The scatter comes from the
//! residuals near once per turn, as noise is not equally strong everywhere: see [`SynchronousVector`].
//!
//! ```
//! use counterpoise::synchronous::{Extraction, MarkPattern, Order, PulseTrain, SensorChain};
//! use counterpoise::{Channel, Detector, PhaseSense, Speed, SpeedWindow, VibrationScale, VibrationUnit};
//! // An invented record: 40 turns a second, blade passing stronger than once per turn, one pulse missing.
//! let turned = |seconds: f64| core::f64::consts::TAU * 40.0 * seconds;
//! let samples: Vec<f64> = (0..10_000)
//!     .map(|i| f64::from(i) / 5000.0)
//!     .map(|t| 0.1 * libm::cos(turned(t) - 1.0) + 0.6 * libm::cos(2.0 * turned(t)))
//!     .collect();
//! let mut pulses: Vec<f64> = (0..80).map(|n| f64::from(n) / 40.0).collect();
//! pulses.remove(33);
//!
//! let train = PulseTrain::read(&pulses, MarkPattern::ONE)?;
//! assert_eq!(train.missing(), [33]);
//! let orders = [Order::ONCE_PER_TURN, Order::of_rotor(2.0)?];
//! let vector = Extraction::new(orders, 5000.0)?.extract(&samples, &train.rotation()?)?;
//!
//! let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
//! let window = SpeedWindow::around_percent(Speed::from_rpm(2400.0)?, 1.0)?;
//! let channel = Channel::new(1, unit, PhaseSense::Lag, window);
//! let reading = SensorChain::new(VibrationScale::StandardGravity, 1.0)?.reading(&vector, channel)?;
//! assert!((reading.vibration().amplitude() - 0.153_62).abs() < 1e-5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod extraction;
mod fit;
mod gate;
mod gathered;
mod kernel;
mod order;
#[cfg(feature = "alloc")]
mod pulses;
mod rotation;
mod roughness;
mod sensor;
mod speed_slope;
mod stream;
#[cfg(feature = "alloc")]
mod sweep;
mod synchronous_vector;
mod tach;

pub use extraction::{Extraction, saturation_found};
pub use gate::PulseGate;
pub use order::{GearRatio, Order};
#[cfg(feature = "alloc")]
pub use pulses::{MarkPattern, PulseTrain};
pub use rotation::{Mark, Rotation, SpeedSummary, Stretch};
pub use roughness::{OrderShare, beside_once_per_turn};
pub use sensor::{ResponsePoint, SensorChain};
pub use speed_slope::SpeedSlope;
pub use stream::Stream;
#[cfg(feature = "alloc")]
pub use sweep::{Sweep, SweepPeak, SweepPoint, WithUncertainty};
pub use synchronous_vector::{SynchronousVector, VectorCaution};
pub use tach::{Edge, TachLevels, TachReader};
