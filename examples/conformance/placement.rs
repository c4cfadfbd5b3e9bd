//! Instances of the placement problem, with proven optima.

use counterpoise::{
    Channel, Detector, Hardware, Hole, HoleRing, Influence, InfluenceMatrix, Mass, PhaseSense, PlacementNorm,
    PlacementQuestion, Radius, RotorSense, Speed, SpeedWindow, UnbalanceVector, Vibration, VibrationScale,
    VibrationUnit,
};

use crate::checks::{Checks, Verdict};
use crate::node::{Node, Problem};

/// Steps after which a search is given up: no instance of the family is known to need as many.
const STEPS: u64 = 2_000_000_000;

/// How closely a mass that is a sum of pieces must agree.
const MASS: f64 = 1e-9;

/// Residual, holes, pieces and mass of the optimum, its proof, and the front of residual against pieces.
pub(crate) fn instance(instance: &Node<'_>) -> Result<Verdict, Problem> {
    let mut checks = Checks::default();
    let optimum = instance.get("optimum")?;
    let tolerance = instance.get("tolerance")?.number()?;
    let answer = question(instance)?.solve(STEPS)?;
    let (best, certificate) = (answer.best(), answer.certificate());
    let residual = optimum.get("residual")?;
    if instance.get("objective")?.text()? == "fewest" {
        // Several placements may share holes, pieces and mass, so the recorded residual is one of several.
        let eps = instance.get("eps")?.number()?;
        checks.demand(
            &residual,
            best.residual() <= eps + tolerance,
            &best.residual(),
            &format!("within {eps}"),
        );
    } else {
        checks.number(&residual, best.residual(), tolerance)?;
    }
    counted(&mut checks, &optimum.get("holes")?, best.changes().len())?;
    counted(&mut checks, &optimum.get("items")?, usize::try_from(best.pieces())?)?;
    checks.number(&optimum.get("mass_g")?, best.net_mass().grams(), MASS)?;
    checks.demand_also("proven best", certificate.is_proven(), &format!("{certificate:?}"), &"a proof");
    if let Some(front) = instance.given("pareto_residual_vs_items") {
        let points = front.items()?;
        let most = points.iter().map(|point| point.get("items")?.index()).collect::<Result<Vec<_>, _>>()?;
        let most = u32::try_from(most.into_iter().max().unwrap_or(0))?;
        let answers = question(instance)?.front(most, STEPS)?;
        for point in &points {
            let pieces = point.get("items")?.index()?;
            let answer = answers.get(pieces).ok_or("the front ends early")?;
            checks.number(&point.get("residual")?, answer.best().residual(), tolerance)?;
            counted(&mut checks, &point.get("holes")?, answer.best().changes().len())?;
        }
    }
    Ok(checks.verdict(&optimum))
}

fn counted(checks: &mut Checks, want: &Node<'_>, got: usize) -> Result<(), Problem> {
    checks.demand(want, want.index()? == got, &got, &want.index()?);
    Ok(())
}

/// The question of an instance. One ring per hole keeps the file's numbering.
fn question(instance: &Node<'_>) -> Result<PlacementQuestion, Problem> {
    let two = match instance.get("kind")?.text()? {
        "P1" => false,
        "P2" => true,
        other => return Err(format!("kind {other} is not known").into()),
    };
    let hardware =
        instance.get("items")?.items()?.iter().map(piece).collect::<Result<Vec<Hardware>, Problem>>()?;
    let rings =
        instance.get("holes")?.items()?.iter().map(ring).collect::<Result<Vec<HoleRing>, Problem>>()?;
    let mut question = if two {
        let (influence, now, weights) = machine(instance)?;
        PlacementQuestion::through(&rings, &hardware, &influence, &now)?.channel_weights(&weights)?
    } else {
        let (x, y) = pair(&instance.get("target_gmm")?)?;
        PlacementQuestion::new(
            &rings,
            &hardware,
            &[UnbalanceVector::from_components_gram_millimetres(x, y)?],
        )?
    };
    question = match instance.get("norm")?.text()? {
        "l2" => question,
        "max" => question.norm(PlacementNorm::Worst),
        "linf" => question.norm(PlacementNorm::WorstComponent),
        other => return Err(format!("norm {other} is not known").into()),
    };
    if let Some(most) = instance.given("max_holes") {
        let most = most.index()?;
        // For two planes the limit is that of each plane.
        question = if two {
            question.limit_holes_in_plane(0, most)?.limit_holes_in_plane(1, most)?
        } else {
            question.limit_holes(most)
        };
    }
    if let Some(most) = instance.given("max_items") {
        question = question.limit_pieces(u32::try_from(most.index()?)?);
    }
    match instance.get("objective")?.text()? {
        "min_residual" => Ok(question),
        "fewest" => Ok(question.within(instance.get("eps")?.number()?)?),
        other => Err(format!("objective {other} is not known").into()),
    }
}

fn piece(item: &Node<'_>) -> Result<Hardware, Problem> {
    let piece = Hardware::new("piece", Mass::from_grams(item.get("mass_g")?.number()?)?);
    Ok(match item.given("stock") {
        Some(stock) => piece.in_stock(u32::try_from(stock.index()?)?),
        None => piece,
    })
}

fn ring(stated: &Node<'_>) -> Result<HoleRing, Problem> {
    let is = |key: &str| stated.given(key).map_or(Ok(false), |flag| flag.flag());
    let place = RotorSense::WithRotation.degrees(stated.get("angle_deg")?.number()?)?;
    let mut hole = Hole::new(Radius::from_millimetres(stated.get("radius_mm")?.number()?)?, place);
    if let Some(most) = stated.given("max_mass_g") {
        hole = hole.limit_mass(Mass::from_grams(most.number()?)?);
    }
    if let Some(most) = stated.given("max_items") {
        hole = hole.limit_pieces(u32::try_from(most.index()?)?);
    }
    if let Some(existing) = stated.given("existing") {
        let counts = existing.items()?.into_iter().map(|count| Ok(u32::try_from(count.index()?)?));
        hole = hole.mounted(&counts.collect::<Result<Vec<u32>, Problem>>()?);
    }
    if !is("removable")? {
        hole = hole.fixed();
    }
    if is("blocked")? {
        hole = hole.block();
    }
    let plane = stated.given("plane").map_or(Ok(0), |plane| plane.index())?;
    Ok(HoleRing::listed(vec![hole]).in_plane(plane))
}

/// Coefficients, vibration and channel weights of two planes.
fn machine(instance: &Node<'_>) -> Result<(InfluenceMatrix, Vec<Vibration>, Vec<f64>), Problem> {
    let now = instance.get("v")?.items()?.into_iter().map(|value| {
        let (re, im) = pair(&value)?;
        Ok(Vibration::from_components(re, im)?)
    });
    let now = now.collect::<Result<Vec<Vibration>, Problem>>()?;
    // The file's vibrations have no unit, and all the same one.
    let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);
    let window = SpeedWindow::around_percent(Speed::from_rpm(1000.0)?, 1.0)?;
    let channels: Vec<Channel> =
        (0..).zip(&now).map(|(sensor, _)| Channel::new(sensor, unit, PhaseSense::Lead, window)).collect();
    let mut coefficients = Vec::new();
    for row in instance.get("a")?.items()? {
        for value in row.items()? {
            let (re, im) = pair(&value)?;
            coefficients.push(Influence::from_components_per_gram_millimetre(re, im)?);
        }
    }
    // The file's weights multiply |r|; the library's multiply |r|².
    let weights = instance.get("wt")?.items()?.into_iter().map(|weight| {
        let weight = weight.number()?;
        Ok(weight * weight)
    });
    let weights = weights.collect::<Result<Vec<f64>, Problem>>()?;
    Ok((InfluenceMatrix::new(&channels, 2, &coefficients)?, now, weights))
}

fn pair(value: &Node<'_>) -> Result<(f64, f64), Problem> {
    match value.items()?.as_slice() {
        [first, second] => Ok((first.number()?, second.number()?)),
        _ => Err(format!("{} is not a pair", value.path()).into()),
    }
}
