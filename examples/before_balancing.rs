//! The checks before balancing, on an invented three-blade propeller on a geared engine.
//!
//! `cargo run --release --example before_balancing`

use std::error::Error;

use counterpoise::readiness::{
    BalancingSpeed, BladeAngles, BladeTrack, Concern, Facts, Finding, FoundVibration, Moment, RatedSpeed,
    Reminder, Roughness, SpeedInUse,
};
use counterpoise::synchronous::GearRatio;
use counterpoise::tolerance::PropellerLimits;
use counterpoise::{Detector, Length, Limit, Speed, VibrationScale, VibrationUnit};

fn main() -> Result<(), Box<dyn Error>> {
    let mm = Length::from_millimetres;
    let rpm = Speed::from_rpm;
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);

    // Tips measured against a block on the ground, to half a millimetre; angles with a level, to 0.15 degrees.
    let track = BladeTrack::of(&[mm(102.0)?, mm(103.5)?, mm(99.5)?])?;
    let angles = BladeAngles::of_degrees(&[21.4, 21.5, 21.4])?;
    let even = Roughness { half_order: 0.5, half_order_over_once_per_turn: 0.4 };
    let reached = RatedSpeed::new(rpm(2310.0)?, rpm(2250.0)?, rpm(2400.0)?)?;
    let found = FoundVibration { amplitude: 0.42, unit, speed: rpm(2200.0)? };
    // Nobody has yet looked how the phase turns with speed: whether a resonance is near is not known.
    let facts = Facts::default()
        .with_static_balance(true)
        // The maker of this invented propeller permits 3 mm.
        .with_track(track, Limit::of_caller(mm(3.0)?), mm(0.5)?)
        .with_angles(angles, BladeAngles::COMMON_PRACTICE_DEGREES, 0.15)
        .with_roughness(even, Roughness::COMMON_PRACTICE)
        .with_gear(GearRatio::new(243, 100)?, 400.0)
        .with_rated_speed(reached)
        .with_vibration(found, PropellerLimits::USUAL);

    println!("Before balancing, an invented three-blade propeller\n");
    for concern in [Concern::Hinders, Concern::Caution, Concern::Unknown] {
        let heading = match concern {
            Concern::Hinders => "put right first",
            Concern::Caution => "with care",
            _ => "find out",
        };
        println!("{heading}:");
        let mut findings = facts.findings().filter(|finding| finding.concern() == concern).peekable();
        if findings.peek().is_none() {
            println!("  nothing");
        }
        findings.for_each(|finding| println!("  {finding}"));
    }

    let uses = [(2200.0, 6.0), (2000.0, 2.0), (2310.0, 0.2)];
    let uses = uses.map(|(speed, share)| Ok(SpeedInUse { speed: rpm(speed)?, share }));
    let uses = uses.into_iter().collect::<Result<Vec<_>, Box<dyn Error>>>()?;
    match BalancingSpeed::advised(&uses)? {
        Some(BalancingSpeed::At { speed, share }) => {
            println!("\nbalance at {speed:.0}, flown {:.0} % of the time", 100.0 * share);
        }
        Some(_) => println!("\nbalance at all these speeds, each weighted by its share"),
        None => {}
    }

    for (moment, heading) in [
        (Moment::BeforeFirstRun, "before the first run"),
        (Moment::BeforeEveryRun, "before every run"),
        (Moment::DuringRun, "at speed"),
        (Moment::AfterEveryRun, "after every run, before a blade is touched"),
        (Moment::WhenMounting, "with every weight"),
        (Moment::AtTheEnd, "at the end"),
    ] {
        println!("\n{heading}:");
        for reminder in Reminder::ALL.iter().filter(|reminder| reminder.moment() == moment) {
            let mark = if reminder.can_hurt() { "!" } else { " " };
            println!("{mark} {reminder}: {}", reminder.reason());
        }
    }
    println!("\nwhere the limits come from, which the makers' own go before:");
    let usual = PropellerLimits::USUAL;
    for (limit, what) in [
        (BladeTrack::METAL_TO_SIX_FEET, "track of metal blades up to 6 ft"),
        (BladeTrack::WOOD, "track of wooden blades"),
        (BladeTrack::COMMON_PRACTICE, "track of others"),
    ] {
        println!("  {what}, {:.4} in: {}", limit.value.inches(), limit.provenance);
    }
    for (limit, what) in [
        (BladeAngles::COMMON_PRACTICE_DEGREES, "deg, angles of the blades"),
        (Roughness::COMMON_PRACTICE, "of once per turn, a half order of the crank"),
        (Finding::RESONANCE_NEAR_FROM, "deg per percent of speed, a resonance is near"),
        (usual.good(), "in/s peak, a good result"),
        (usual.most(), "in/s peak, the most that is permitted"),
        (usual.static_first(), "in/s peak, static balancing comes first"),
    ] {
        println!("  {} {what}: {}", limit.value, limit.provenance);
    }
    println!("  all reminders: {}", Reminder::WarmUp.provenance());

    println!(
        "\n! someone can be hurt: the makers' approved data, local rules and licensed personnel decide."
    );
    Ok(())
}
