//! A correction bolted on: 24 holes, five washer sizes, the fewest holes that come near enough, and what is proven.

use counterpoise::{
    Hardware, HoleCircle, HoleRing, Length, Mass, Placement, PlacementQuestion, PlacementTolerance, Radius,
    RotorAngle, RotorSense, Unbalance, UnbalanceVector,
};

fn main() -> Result<(), Box<dyn core::error::Error>> {
    let sense = RotorSense::AgainstRotation;
    let millimetres = Length::from_millimetres;
    // Outer and inner diameter, thickness; steel of 7.85 g/cm3. Sizes as common practice has them, no source.
    let washers = [
        Hardware::washer("9 x 4.3 x 0.8", millimetres(9.0)?, millimetres(4.3)?, millimetres(0.8)?, 7.85)?,
        Hardware::washer("12 x 6.4 x 1.6", millimetres(12.0)?, millimetres(6.4)?, millimetres(1.6)?, 7.85)?,
        Hardware::washer("18 x 6.4 x 1.6", millimetres(18.0)?, millimetres(6.4)?, millimetres(1.6)?, 7.85)?,
        Hardware::washer("18 x 6.4 x 3", millimetres(18.0)?, millimetres(6.4)?, millimetres(3.0)?, 7.85)?,
        Hardware::washer("25 x 6.4 x 3", millimetres(25.0)?, millimetres(6.4)?, millimetres(3.0)?, 7.85)?
            .in_stock(3),
    ];
    let circle = HoleCircle::new(24, RotorAngle::MARK, sense)?;
    let ring = HoleRing::even(circle, Radius::from_millimetres(127.0)?)
        .each(|hole| hole.limit_pieces(3))
        .at(16, counterpoise::Hole::block);
    let place = sense.degrees(247.0)?;
    let wanted = UnbalanceVector::from_polar(Unbalance::from_gram_millimetres(1460.0)?, place);

    let tolerance = PlacementTolerance::usual(wanted, Some(Unbalance::from_gram_millimetres(120.0)?));
    println!("wanted: {:.0} at {:.0} deg against rotation", wanted.amount(), place.in_sense(sense).degrees());
    println!("near enough: {:.1} g mm, {}", tolerance.eps(), tolerance.reason());

    let question = PlacementQuestion::new(&[ring], &washers, &[wanted])?
        .within(tolerance.eps())?
        .best_of_different_holes(3);
    let mut search = question.search()?;
    while !search.advance(100_000) {}
    let answer = search.answer();
    show("plan", answer.best(), &washers, circle)?;
    for other in answer.runners_up() {
        show("or", other, &washers, circle)?;
    }
    let certificate = answer.certificate();
    println!("proof: {:?}, after {} steps", certificate.proof(), certificate.steps());
    Ok(())
}

fn show(
    title: &str,
    placement: &Placement,
    washers: &[Hardware],
    circle: HoleCircle,
) -> Result<(), Box<dyn core::error::Error>> {
    let added: Mass = placement.net_mass();
    println!("{title}: leaves {:.1} g mm, adds {added:.2}", placement.residual());
    for change in placement.changes() {
        let number = circle.number(u16::try_from(change.hole)?).unwrap_or(0);
        for &(item, count) in &change.added {
            let name = washers.get(item).map_or("", Hardware::name);
            println!("    hole {number:2}: {count} x {name}");
        }
    }
    Ok(())
}
