//! The checks before balancing, on an invented three-blade propeller on a geared engine.
//!
//! `cargo run --release --example before_balancing`

use std::error::Error;

use counterpoise::readiness::{
    BalancingSpeed, BladeAngles, BladeTrack, Concern, Facts, FoundVibration, Moment, RatedSpeed, Reminder,
    Roughness, SpeedInUse,
};
use counterpoise::synchronous::GearRatio;
use counterpoise::tolerance::PropellerLimits;
use counterpoise::{Detector, Length, Limit, Speed, VibrationScale, VibrationUnit};

fn main() -> Result<(), Box<dyn Error>> {
    let mm = Length::from_millimetres;
    let rpm = Speed::from_rpm;
    let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);

    // Tips measured against a block on the ground, to half a millimetre; angles with a level, to a tenth of a degree.
    let track = BladeTrack::of(&[mm(102.0)?, mm(103.5)?, mm(99.5)?])?;
    let angles = BladeAngles::of_degrees(&[21.4, 21.5, 21.4])?;
    let facts = Facts {
        statically_balanced: Some(true),
        // The maker of this invented propeller permits 3 mm.
        track: Some((track, Limit::of_caller(mm(3.0)?), mm(0.5)?)),
        angles: Some((angles, BladeAngles::COMMON_PRACTICE_DEGREES, 0.1)),
        roughness: Some((
            Roughness { half_order: 0.5, half_order_over_once_per_turn: 0.4 },
            Roughness::COMMON_PRACTICE,
        )),
        gear: Some((GearRatio::new(243, 100)?, 400.0)),
        rated_speed: Some(RatedSpeed::new(rpm(2310.0)?, rpm(2250.0)?, rpm(2400.0)?)?),
        found: Some((FoundVibration { amplitude: 0.42, unit, speed: rpm(2200.0)? }, PropellerLimits::USUAL)),
        lag_degrees_per_percent: None,
    };

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
        let due = Reminder::ALL.iter().filter(|reminder| reminder.moment() == moment);
        for reminder in due.filter(|reminder| reminder.is_for_propellers()) {
            let mark = if reminder.can_hurt() { "!" } else { " " };
            println!("{mark} {reminder}: {}", reminder.reason());
        }
    }
    println!(
        "\n! someone can be hurt: the makers' approved data, local rules and licensed personnel decide."
    );
    Ok(())
}
