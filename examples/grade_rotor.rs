//! An invented rotor, graded from its drawing to the verdict in its bearings, with the source of every limit.
//!
//! A fan rotor between two bearings, balanced in two planes on a machine. The residuals are read twice, the second time with
//! the rotor turned by half a turn on its mandrel, so that the unbalance of the mandrel falls out.

#![allow(clippy::disallowed_methods)] // a program rounds as it likes; only the library must give the same bits

use std::error::Error;
use std::fmt::Display;

use counterpoise::relocation::{PlaneUnbalance, StaticCouple, in_two_planes};
use counterpoise::tolerance::{
    BalanceGrade, IndexedByHalfTurn, ShareLimits, TolerancePlanes, accepted_with_error, combined_error,
    is_negligible, journal_rule,
};
use counterpoise::{
    Conformity, Convention, Length, Limit, Mass, PhaseSense, RotorSense, Speed, Unbalance, UnbalanceVector,
};

/// This shop counts places on the rotor against rotation, from the keyway. No phase is read here.
const CONVENTION: Convention = Convention { phase: PhaseSense::Lag, rotor: RotorSense::AgainstRotation };

/// What the balancing machine says of one plane: g mm and degrees.
type Indicated = (f64, f64);

fn main() -> Result<(), Box<dyn Error>> {
    let (mass, speed) = (Mass::from_kilograms(84.0)?, Speed::from_rpm(1780.0)?);
    let grade = BalanceGrade::G6_3;
    println!("An invented fan rotor: {:.0} kg, {:.0} rpm at most in service.", mass.kilograms(), speed.rpm());
    println!(
        "Which grade or rule holds is for the maker and the owner to say; this shop was given {grade}.\n"
    );

    // What it may keep as a whole, and in each bearing.
    let mm = Length::from_millimetres;
    let (bearing_a, bearing_b, centre) = (mm(0.0)?, mm(940.0)?, mm(610.0)?);
    let whole = grade.permissible(mass, speed);
    limit("permissible residual unbalance", whole, |amount| format!("{amount:.0}"));
    limit("permissible specific unbalance", grade.specific_unbalance(speed), |e| {
        format!("{:.1} um", e.micrometres())
    });
    let planes = TolerancePlanes::new(bearing_a, bearing_b, centre)?;
    let shares = if planes.is_inboard() { ShareLimits::INBOARD } else { ShareLimits::OVERHUNG };
    let allowed = planes.allocate(whole.value, shares);
    println!(
        "  centre of mass {:.0} mm from bearing A, {:.0} mm from B; each share held within {} and {}\n  \
         (ISO 21940-11:2016; from memory, check it against a copy)",
        (centre - bearing_a).millimetres(),
        (bearing_b - centre).millimetres(),
        shares.least(),
        shares.most()
    );
    for ((name, amount), (share, held)) in
        ["A", "B"].iter().zip(allowed.amounts).zip(allowed.shares.into_iter().zip(allowed.limited))
    {
        let held = if held { ", held at its limit" } else { "" };
        println!("  bearing {name} may keep {amount:.0} (share by the lever {share:.3}{held})");
    }

    // The residuals in the correction planes, without the mandrel.
    println!("\nResiduals in the correction planes, degrees against rotation from the keyway:");
    let readings: [(&str, Length, Indicated, Indicated); 2] =
        [("1", mm(180.0)?, (905.0, 62.0), (790.0, 216.0)), ("2", mm(760.0)?, (560.0, 305.0), (400.0, 149.0))];
    let mut residuals = Vec::new();
    for (name, station, as_put_on, turned) in readings {
        let parts = IndexedByHalfTurn::of(vector(as_put_on)?, vector(turned)?);
        println!("  plane {name}: rotor {}, mandrel {} taken out", shown(parts.rotor), shown(parts.fixture));
        residuals.push(PlaneUnbalance::new(station, parts.rotor));
    }

    // The same residual as the bearings feel it: same sum, same moment.
    let in_bearings = in_two_planes(residuals.iter().copied(), bearing_a, bearing_b)?;
    let statics = StaticCouple::of(residuals.iter().copied(), centre)?;
    let e = statics.resultant().amount().gram_millimetres() / mass.kilograms();
    println!("\nStatic unbalance {} (specific {e:.1} um),", shown(statics.resultant()));
    println!(
        "couple about the centre of mass {:.0} kg mm^2.",
        statics.moment().gram_square_millimetres() / 1000.0
    );

    // What does not repeat in a reading of the machine: each carried to a bearing as an amount.
    let g_mm = Unbalance::from_gram_millimetres;
    let causes = [
        ("repeat readings", g_mm(35.0)?),
        ("seating on the mandrel", g_mm(60.0)?),
        ("scale of the machine", g_mm(25.0)?),
    ];
    let error = combined_error(&causes.map(|(_, amount)| amount))?;
    println!("\nErrors that do not repeat, in a bearing (the shop's own):");
    for (cause, amount) in causes {
        println!("  {cause}: {amount:.0}");
    }
    println!("  together, root of the sum of squares: {error:.0} (ISO 21940-14, from memory)");

    println!("\nVerdicts, tolerance plane by tolerance plane:");
    let mut verdicts = Vec::new();
    for ((name, plane), permissible) in ["A", "B"].iter().zip(in_bearings).zip(allowed.amounts) {
        let left = plane.unbalance.amount();
        let verdict = accepted_with_error(left, permissible, error);
        let small = if is_negligible(error, permissible) { ", below 5 %: left out" } else { "" };
        println!("  bearing {name}: {} of {permissible:.0}, error {error:.0}{small}", shown(plane.unbalance));
        println!("    {verdict}");
        verdicts.push(verdict);
    }
    println!("\n{}", what_next(&verdicts));

    // For comparison: which grade that would be, and what another rule would allow.
    let reached = BalanceGrade::of_residual(statics.resultant().amount(), mass, speed)?;
    println!("\nThe static unbalance alone would be G {:.2}.", reached.millimetres_per_second());
    println!("By a stricter rule, 4 W/N with W the load on each journal:");
    for (name, share) in ["A", "B"].iter().zip(planes.shares()) {
        let rule = journal_rule(mass * share, speed)?;
        limit(&format!("journal {name}, {:.0} kg", (mass * share).kilograms()), rule, |amount| {
            format!("{amount:.0} ({:.2} oz in)", amount.ounce_inches())
        });
    }
    println!("\nThe maker's data and the standard itself, not this program, say what the rotor has to meet.");
    Ok(())
}

fn vector((amount, degrees): Indicated) -> Result<UnbalanceVector, Box<dyn Error>> {
    let amount = Unbalance::from_gram_millimetres(amount)?;
    Ok(UnbalanceVector::from_polar(amount, CONVENTION.place(degrees)?))
}

/// An amount and a place, in this shop's sense.
fn shown(vector: UnbalanceVector) -> String {
    let degrees = vector.angle().in_sense(CONVENTION.rotor).degrees();
    format!("{:.0} at {degrees:.0} deg", vector.amount())
}

/// A limit with its source below it.
fn limit<T>(what: &str, limit: Limit<T>, words: impl Fn(T) -> String) {
    let source: &dyn Display = &limit.provenance;
    println!("  {what}: {}\n    ({source})", words(limit.value));
}

fn what_next(verdicts: &[Conformity]) -> &'static str {
    if verdicts.contains(&Conformity::Outside) {
        "Balance again: a bearing keeps more than it may, beyond the error of the reading."
    } else if verdicts.iter().all(|&verdict| verdict == Conformity::Within) {
        "Both bearings are within their tolerance, the error of the reading allowed for."
    } else {
        "Not decided: lessen the error of the reading, or the residual, and judge again."
    }
}
