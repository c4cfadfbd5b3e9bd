//! What a person is reminded of: data, each with its reason, and when it is due.

use core::fmt;

use crate::provenance::Provenance;

/// When a reminder is due.
///
/// ```
/// assert_eq!(counterpoise::readiness::Moment::BeforeFirstRun.code(), 1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Moment {
    /// Before anything is run.
    BeforeFirstRun,
    /// Before every run.
    BeforeEveryRun,
    /// When the speed is reached, before a reading is taken.
    DuringRun,
    /// After every run, before the rotor is touched.
    AfterEveryRun,
    /// Whenever a weight is put on.
    WhenMounting,
    /// When the job is done.
    AtTheEnd,
}

impl Moment {
    /// The stable number, the same in Rust and in C.
    ///
    /// ```
    /// assert_eq!(counterpoise::readiness::Moment::AtTheEnd.code(), 6);
    /// ```
    pub const fn code(self) -> i32 {
        match self {
            Self::BeforeFirstRun => 1,
            Self::BeforeEveryRun => 2,
            Self::DuringRun => 3,
            Self::AfterEveryRun => 4,
            Self::WhenMounting => 5,
            Self::AtTheEnd => 6,
        }
    }
}

macro_rules! reminders {
    ($($(#[$doc:meta])* $Name:ident = $code:literal, $moment:ident, $who:ident, $hurt:literal, $text:literal, $reason:literal;)+) => {
        /// Something a person is reminded of.
        ///
        /// They are the usual ones of the trade, common practice without a source; the makers' approved data, local rules and
        /// licensed personnel go before them.
        ///
        /// ```
        /// use counterpoise::readiness::Reminder;
        /// // Those for a fan.
        /// for reminder in Reminder::ALL.iter().filter(|reminder| reminder.is_for_any_rotor()) {
        ///     println!("{reminder}: {}", reminder.reason());
        /// }
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[non_exhaustive]
        pub enum Reminder {
            $($(#[$doc])* $Name,)+
        }

        impl Reminder {
            /// All of them, in the order in which they are due.
            ///
            /// ```
            /// use counterpoise::readiness::Reminder;
            /// assert!(Reminder::ALL.is_sorted_by_key(|reminder| reminder.moment()));
            /// ```
            pub const ALL: &[Self] = &[$(Self::$Name),+];

            /// The stable number, the same in Rust and in C.
            ///
            /// ```
            /// assert_eq!(counterpoise::readiness::Reminder::StaticBalance.code(), 1);
            /// ```
            pub const fn code(self) -> i32 {
                match self { $(Self::$Name => $code,)+ }
            }

            /// When it is due.
            ///
            /// ```
            /// use counterpoise::readiness::{Moment, Reminder};
            /// assert_eq!(Reminder::CoolDown.moment(), Moment::AfterEveryRun);
            /// ```
            pub const fn moment(self) -> Moment {
                match self { $(Self::$Name => Moment::$moment,)+ }
            }

            /// Whether it is for any rotor; those that are not are for a propeller on its engine, which all are for.
            ///
            /// ```
            /// assert!(!counterpoise::readiness::Reminder::IntoTheWind.is_for_any_rotor());
            /// ```
            pub const fn is_for_any_rotor(self) -> bool {
                match self { $(Self::$Name => reminders!(@any $who),)+ }
            }

            /// Whether a person can be hurt where it is not followed. Then approved data, local rules and licensed personnel
            /// decide what is done.
            ///
            /// ```
            /// assert!(counterpoise::readiness::Reminder::IgnitionOff.can_hurt());
            /// ```
            pub const fn can_hurt(self) -> bool {
                match self { $(Self::$Name => $hurt,)+ }
            }

            /// What to do.
            ///
            /// ```
            /// use counterpoise::readiness::Reminder;
            /// assert!(Reminder::WarmUp.text().contains("300 F"));
            /// ```
            pub const fn text(self) -> &'static str {
                match self { $(Self::$Name => $text,)+ }
            }

            /// Why.
            ///
            /// ```
            /// use counterpoise::readiness::Reminder;
            /// assert!(!Reminder::WarmUp.reason().is_empty());
            /// ```
            pub const fn reason(self) -> &'static str {
                match self { $(Self::$Name => $reason,)+ }
            }
        }
    };
    (@any any) => { true };
    (@any propeller) => { false };
}

reminders! {
    /// Static balance before dynamic.
    StaticBalance = 1, BeforeFirstRun, any, false,
        "balance statically first", "a large static unbalance shakes the machine before anything is learnt from it";
    /// Blade track, and blade angles.
    TrackAndAngles = 2, BeforeFirstRun, propeller, false,
        "check blade track and that all blades are set alike", "what differs from blade to blade shakes once per turn, and no weight mends it";
    /// A healthy engine.
    HealthyEngine = 3, BeforeFirstRun, propeller, false,
        "see that the engine runs evenly on all cylinders", "a misfire is not an unbalance";
    /// Maker's limits.
    MakersLimits = 4, BeforeFirstRun, any, true,
        "look up the makers' limits on where and how much mass may be added, in all and in a hole", "too much mass, or mass in the wrong place, may come off or break something";
    /// Where the sensor sits.
    SensorNoted = 5, BeforeFirstRun, any, false,
        "note and fix the sensor's place, direction and polarity, the mark and its pickup", "readings before and after one of them moved do not belong together";
    /// Weights from earlier jobs.
    EarlierWeights = 6, BeforeFirstRun, any, false,
        "record earlier balance weights, and decide once whether they stay or come off", "a weight that comes off half-way changes what all runs mean";
    /// The position of spinner and propeller.
    ClockingMarked = 7, BeforeFirstRun, propeller, false,
        "mark how spinner and propeller sit on the flange", "put back in another position they are another unbalance";
    /// Into the wind.
    IntoTheWind = 8, BeforeEveryRun, propeller, false,
        "point it into a light, steady wind", "a gusty or a side wind loads the blades once per turn";
    /// Chocks.
    Chocks = 9, BeforeEveryRun, propeller, true,
        "chock the wheels, set the brake, tie it down where it can pull", "it will try to move";
    /// A clear arc.
    ClearArc = 10, BeforeEveryRun, any, true,
        "keep people and loose things out of the plane of rotation", "a weight that comes off flies in it, and a propeller is not seen when it turns";
    /// Everything on the rotor is fastened.
    Fastened = 11, BeforeEveryRun, any, true,
        "check that every weight, trial weights too, is fastened and locked, and that no tool is left", "the force on it grows with the square of the speed";
    /// Warm up.
    WarmUp = 12, DuringRun, propeller, false,
        "warm up first: cylinder heads above about 300 F", "a cold engine runs unevenly, and its mounts are stiffer";
    /// The speed really flown.
    SpeedFlown = 13, DuringRun, any, false,
        "read at the speed really used, held steady", "a machine answers differently at another speed";
    /// Repeat.
    Repeat = 14, DuringRun, any, false,
        "repeat the reading", "without repeats nobody knows how far it scatters";
    /// Cool down.
    CoolDown = 15, AfterEveryRun, propeller, false,
        "cool down a minute or two at 1000 rpm or less", "an engine that is stopped hot cools unevenly";
    /// Ignition off.
    IgnitionOff = 16, AfterEveryRun, propeller, true,
        "ignition off, mixture closed, key out before a blade is touched; treat every propeller as live", "a hot engine can fire when the propeller is moved";
    /// Stopped and locked out.
    LockedOut = 17, AfterEveryRun, any, true,
        "wait until the rotor stands still and cannot be started by anyone else", "a rotor may run on for longer than it is heard";
    /// Grip and thread.
    GripAndThread = 18, WhenMounting, any, true,
        "check grip length and thread engagement with the washers that are on now, and use the hardware that is approved", "a longer stack needs a longer screw";
    /// Locking and torque.
    LockingAndTorque = 19, WhenMounting, any, true,
        "lock every fastener and tighten it to its torque", "what is not locked comes off";
    /// Write it down.
    WriteItDown = 20, WhenMounting, any, false,
        "write down mass, radius and hole of every weight as it goes on, and the sense in which holes are counted", "most jobs that go wrong go wrong here";
    /// Verify.
    Verify = 21, AtTheEnd, any, false,
        "verify with the permanent weights on, everything back in its place", "they sit on another radius, or in another plane, than the temporary ones";
    /// Spinner back.
    SpinnerBack = 22, AtTheEnd, propeller, false,
        "see that the spinner is back in its marked position", "turned by a hole, it is another unbalance";
    /// The log.
    LogEntry = 23, AtTheEnd, any, false,
        "enter in the log what was found, what was put on and where, and what is left", "the next job begins with it";
}

impl Reminder {
    /// Where it comes from.
    ///
    /// ```
    /// use counterpoise::{ProvenanceKind, readiness::Reminder};
    /// assert_eq!(Reminder::WarmUp.provenance().kind(), ProvenanceKind::CommonPractice);
    /// ```
    pub const fn provenance(self) -> Provenance {
        Provenance::COMMON_PRACTICE
    }
}

impl fmt::Display for Reminder {
    /// What to do.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text())
    }
}
