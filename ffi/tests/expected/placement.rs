//! Placements by every aim, and their answers.

use counterpoise::{
    Angle, Hardware, Hole, HoleCircle, HoleRing, Length, Mass, Placement, PlacementAnswer, PlacementNorm,
    PlacementProof, PlacementQuestion, Radius, RotorAngle, RotorSense, UnbalanceVector,
};

use super::influence::relative;
use super::several;

#[allow(clippy::cast_precision_loss)] // small counts
fn placement(of: &Placement) -> Vec<f64> {
    let mut values = vec![
        of.residual(),
        of.changes().len() as f64,
        of.pieces() as f64,
        of.net_mass().grams(),
        of.heavy_side_moment().gram_millimetres(),
    ];
    for change in of.changes() {
        let place = [change.ring as f64, change.hole as f64];
        for &(hardware, count) in &change.added {
            values.extend([place[0], place[1], hardware as f64, f64::from(count), 0.0]);
        }
        for &(hardware, count) in &change.removed {
            values.extend([place[0], place[1], hardware as f64, 0.0, f64::from(count)]);
        }
    }
    let vectors = of.placed().iter().chain(of.left().unwrap_or(&[]));
    values.extend(vectors.flat_map(|u| [u.x_gram_millimetres(), u.y_gram_millimetres()]));
    values.extend(of.predicted().unwrap_or(&[]).iter().flat_map(|v| [v.complex().re, v.complex().im]));
    values.extend(of.scatter(0.005, 0.5).iter().map(|s| s.gram_millimetres()));
    values
}

#[allow(clippy::cast_precision_loss)] // small counts
fn of(answer: &PlacementAnswer) -> Vec<f64> {
    let certificate = answer.certificate();
    let up_to = match certificate.proof() {
        PlacementProof::BestInHoles(holes) => holes as f64,
        PlacementProof::BestInPieces(pieces) => f64::from(pieces),
        _ => 0.0,
    };
    let mut values = vec![
        f64::from(certificate.proof().code()),
        f64::from(u8::from(certificate.is_proven())),
        up_to,
        certificate.lower_bound(),
        certificate.steps() as f64,
        f64::from(u8::from(certificate.out_of_memory())),
    ];
    if let Some(tolerance) = answer.tolerance() {
        values.extend([tolerance.eps(), f64::from(tolerance.reason().code()), tolerance.unavoidable()]);
    }
    values.extend(placement(answer.best()));
    values.extend(answer.runners_up().iter().flat_map(placement));
    values.extend(answer.cautions().iter().map(|caution| f64::from(caution.code())));
    values
}

fn mm(value: f64) -> Length {
    Length::from_millimetres(value).unwrap()
}

fn radius(value: f64) -> Radius {
    Radius::from_millimetres(value).unwrap()
}

fn grams(value: f64) -> Mass {
    Mass::from_grams(value).unwrap()
}

fn place(degrees: f64) -> RotorAngle {
    RotorSense::WithRotation.degrees(degrees).unwrap()
}

fn unbalance(x: f64, y: f64) -> UnbalanceVector {
    UnbalanceVector::from_components_gram_millimetres(x, y).unwrap()
}

fn solved(question: &PlacementQuestion, steps: u64) -> PlacementAnswer {
    let mut search = question.search().unwrap();
    while !search.advance(1000) && search.steps() < steps {}
    search.answer()
}

pub fn numbers() -> Vec<(String, f64)> {
    let circle = HoleCircle::new(24, RotorAngle::MARK, RotorSense::AgainstRotation).unwrap();
    let even = HoleRing::even(circle, radius(127.0)).each(|hole| hole.limit_pieces(3));
    let washers = [("small", 0.85), ("middle", 1.63), ("large", 2.94)]
        .map(|(name, mass)| Hardware::new(name, grams(mass)));
    let wanted = [unbalance(-310.0, 540.0)];
    let within = PlacementQuestion::new(std::slice::from_ref(&even), &washers, &wanted)
        .unwrap()
        .within(10.0)
        .unwrap()
        .best_of_different_holes(3);
    let least = PlacementQuestion::new(&[even], &washers, &wanted).unwrap();

    let made = [
        Hardware::washer("A 6.4", mm(12.0), mm(6.4), mm(1.6), 7.85).unwrap(),
        Hardware::drilled("8 mm", mm(8.0), mm(5.0), Angle::from_degrees(118.0).unwrap(), 7.85).unwrap(),
    ];

    let hole = |degrees| Hole::new(radius(100.0), place(degrees)).limit_pieces(4);
    let listed = HoleRing::listed(vec![hole(0.0).mounted(&[1, 0, 0]), hole(180.0), hole(90.0).block()]);
    let pieces = [
        Hardware::new("washer", grams(1.0)).in_stock(0),
        Hardware::new("nut", grams(2.0)),
        Hardware::new("plate", grams(0.75)),
    ];
    let change = PlacementQuestion::new(&[listed], &pieces, &[unbalance(-300.0, 0.0)])
        .unwrap()
        .least_change_within(1.0)
        .unwrap();

    let fit = relative();
    let ring = |plane, circle| {
        HoleRing::even(circle, radius(165.0))
            .in_plane(plane)
            .each(|hole| hole.limit_mass(grams(12.0)).limit_height(mm(9.0)))
    };
    let turned = HoleCircle::new(12, place(7.5), RotorSense::WithRotation).unwrap().numbered_from(1);
    let nuts = [
        Hardware::new("nut", grams(2.5)).with_thickness(mm(4.0)),
        Hardware::new("bolt", grams(4.0)).with_thickness(mm(3.0)).in_stock(4),
    ];
    let rings = [
        ring(0, turned).at(3, |hole| hole.mounted(&[0, 1]).fixed()),
        ring(1, turned).at(5, |hole| hole.symmetric().keep_pieces(1)),
    ];
    let through = |norm| {
        PlacementQuestion::through(&rings, &nuts, fit.influence(), &fit.as_found())
            .unwrap()
            .channel_weights(&[1.0, 2.0])
            .unwrap()
            .norm(norm)
            .limit_holes(3)
            .limit_holes_in_plane(1, 2)
            .unwrap()
            .limit_pieces(6)
            .limit_net_mass(grams(15.0))
            .unwrap()
            .limit_memory(4 << 20)
            .unwrap()
    };
    let usual = through(PlacementNorm::Worst).within_usual(Some(0.5)).unwrap();
    let scatter = through(PlacementNorm::WorstComponent).within_scatter(0.2, None).unwrap();
    [
        several("within", &of(&solved(&within, 1_000_000))),
        several("least", &of(&solved(&least, 2000))),
        several(
            "pieces",
            &made.map(|piece| [piece.mass().grams(), piece.thickness().millimetres()]).concat(),
        ),
        several("change", &of(&solved(&change, 100_000))),
        several("usual", &of(&solved(&usual, 100_000))),
        several("scatter", &of(&solved(&scatter, 100_000))),
    ]
    .concat()
}
