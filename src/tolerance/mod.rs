//! How much unbalance may stay, and how severe a vibration is: grades, other rules, allocation to planes, zones, limits of
//! propellers, and the errors of a balance. Every limit says where it comes from.
//!
//! | to | take |
//! | --- | --- |
//! | ask what a rotor may keep | [`BalanceGrade`], [`journal_rule`], [`naval_rule`] |
//! | share it between two planes | [`TolerancePlanes`], [`ShareLimits`]; static and couple apart: [`StaticCoupleLimits`] |
//! | move residuals from correction planes to tolerance planes | [`relocation::in_two_planes`](crate::relocation::in_two_planes), [`StaticCouple`](crate::relocation::StaticCouple) |
//! | judge a residual with its error | [`accepted_with_error`], [`GuardBand`], [`chance_of_vector_within`] |
//! | judge a vibration | [`SeverityZones`], [`OwnScale`], [`PropellerLimits`] |
//!
//! Figures marked "from memory" were recalled, not read in the standard: check them against a copy before relying on them.
//! [`Provenance`](crate::Provenance) carries that mark to wherever a limit is shown.
//!
//! ```
//! use counterpoise::tolerance::{BalanceGrade, ShareLimits, TolerancePlanes, accepted_with_error};
//! use counterpoise::{Conformity, Length, Mass, Speed, Unbalance};
//! let (mass, speed) = (Mass::from_kilograms(40.0)?, Speed::from_rpm(2950.0)?);
//! let whole = BalanceGrade::G6_3.permissible(mass, speed);
//! let mm = Length::from_millimetres;
//! let bearings = TolerancePlanes::new(mm(0.0)?, mm(600.0)?, mm(250.0)?)?;
//! let parts = bearings.allocate(whole.value, ShareLimits::INBOARD);
//! // 815.7 g mm in all, by the lever 475.8 at A.
//! assert!((parts.amounts[0].gram_millimetres() - 475.8).abs() < 0.1);
//! let measured = Unbalance::from_gram_millimetres(430.0)?;
//! let error = Unbalance::from_gram_millimetres(30.0)?;
//! assert_eq!(accepted_with_error(measured, parts.amounts[0], error), Conformity::Within);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod allocation;
mod errors_of_balance;
mod grade;
mod guard_band;
mod propeller;
mod rules;
mod severity;

pub use allocation::{Allocation, ShareLimits, StaticCoupleLimits, TolerancePlanes, allocate_symmetric};
pub use errors_of_balance::{IndexedByHalfTurn, accepted_with_error, combined_error, is_negligible};
pub use grade::BalanceGrade;
pub use guard_band::{GuardBand, chance_of_value_within, chance_of_vector_within};
pub use propeller::{PropellerLimits, PropellerVibration};
pub use rules::{coupling_floor, journal_rule, naval_rule, shop_test_vibration};
pub use severity::{MachineClass, MachineGroup, OwnScale, ScaleStep, SeverityZones, Support, Zone};
