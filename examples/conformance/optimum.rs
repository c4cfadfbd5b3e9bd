//! File `optimum`: min-max corrections, and corrections with limits on the mass of each plane.

use counterpoise::{
    Channel, Correction, CorrectionQuestion, Influence, InfluenceMatrix, Objective, Speed, SpeedWindow,
    Unbalance,
};
use num_complex::Complex64;

use crate::case::{Case, check_unbalances, largest, readings};
use crate::checks::Checks;
use crate::node::{Node, Problem};

/// Residuals that vanish do so to rounding: to this part of the largest reading.
const ROUNDING: f64 = 1e-12;

/// What is asked, in the terms of the file.
struct Question {
    objective: Objective,
    influence: InfluenceMatrix,
    weights: Vec<f64>,
    limits: Vec<Option<f64>>,
    as_found: Vec<Complex64>,
}

/// How closely the answer is asked for.
struct Tolerances {
    objective: f64,
    weights: f64,
    weight: f64,
    /// What rounding leaves of the readings.
    rounding: f64,
}

impl Question {
    fn of(case: &Case<'_>) -> Result<(Self, Vec<counterpoise::Reading>), Problem> {
        let inputs = &case.inputs;
        let objective = match inputs.get("objective")?.text()? {
            "minmax" => Objective::MinMax,
            "ls" => Objective::LeastSquares,
            other => return Err(format!("objective {other} is not known").into()),
        };
        let rows = inputs.get("influence_canonical_unit_per_g")?.items()?;
        let mut coefficients = Vec::new();
        let mut channels = Vec::new();
        for (row, node) in rows.iter().enumerate() {
            for entry in node.items()? {
                let Complex64 { re, im } = entry.complex()?;
                coefficients.push(Influence::from_components_per_gram_millimetre(re, im)?);
            }
            // Rows are told apart by number; the file gives no speed, and none matters here.
            let window = SpeedWindow::around_percent(Speed::from_rpm(1000.0)?, 1.0)?;
            channels.push(Channel::new(
                u16::try_from(row)?,
                case.vibration_unit()?,
                case.phase_sense()?,
                window,
            ));
        }
        let planes = coefficients.len().checked_div(rows.len()).ok_or("there is no row")?;
        let influence = InfluenceMatrix::new(&channels, planes, &coefficients)?;
        let readings = readings(&inputs.get("as_found")?, &channels)?;
        let mut limits = vec![None; planes];
        if let Some(list) = inputs.given("mass_limit_g") {
            let list = list.items()?;
            if list.len() != planes {
                return Err(format!("{} limits for {planes} planes", list.len()).into());
            }
            for (limit, node) in limits.iter_mut().zip(list) {
                *limit = if node.is_null() { None } else { Some(node.number()?) };
            }
        }
        let as_found = readings.iter().map(|reading| reading.vibration().complex()).collect();
        let weights = match inputs.given("channel_weights") {
            Some(weights) => weights.numbers()?,
            None => vec![1.0; channels.len()],
        };
        Ok((Self { objective, influence, weights, limits, as_found }, readings))
    }

    fn column(&self, plane: usize) -> impl Iterator<Item = Complex64> + '_ {
        let planes = self.influence.planes();
        self.influence.coefficients().iter().skip(plane).step_by(planes).map(|h| h.complex())
    }

    /// `Σ_k conj(H_kp) y_k` for a dual point y.
    fn projected(&self, plane: usize, dual: &[Complex64]) -> Complex64 {
        self.column(plane).zip(dual).map(|(h, y)| h.conj() * y).sum()
    }
}

/// All groups.
pub(crate) fn optimum(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (question, readings) = Question::of(case)?;
    let tolerances = Tolerances {
        objective: case.tolerance.get("objective_rel")?.number()?,
        weights: case.tolerance.get("weights_rel")?.number()?,
        weight: case.tolerance.get("scale_weight_g")?.number()?,
        rounding: ROUNDING * largest(question.as_found.iter().copied()),
    };
    let mut asked = CorrectionQuestion::from_readings(&question.influence, &readings)?
        .objective(question.objective)
        .channel_weights(&question.weights);
    for (plane, limit) in question.limits.iter().enumerate() {
        if let Some(grams) = limit {
            // Per gram at the stated radius, so a limit of m g is one of m g mm.
            asked = asked.limit_added(plane, Unbalance::from_gram_millimetres(*grams)?);
        }
    }
    let answer = asked.solve()?;
    check_answer(case, checks, &question, &answer, &tolerances)?;
    check_proof(case, checks, &question, &answer, &tolerances)?;

    let Some(want) = case.expected.find("for_comparison_unlimited_least_squares") else { return Ok(()) };
    checks.by("unlimited least squares");
    let free = CorrectionQuestion::from_readings(&question.influence, &readings)?
        .channel_weights(&question.weights)
        .solve()?;
    // In closed form, so without the flatness that the tolerance of the weights allows for.
    let tolerance = tolerances.objective * largest(free.added().iter().map(|unbalance| unbalance.complex()));
    check_unbalances(checks, &want.get("weights")?, free.added(), case.rotor_sense()?, tolerance)?;
    for (field, got) in
        [("weighted_max", free.largest_weighted_amplitude()), ("weighted_rms", free.weighted_rms())]
    {
        let want = want.get(field)?;
        checks.number(&want, got, tolerances.objective * want.number()? + tolerances.rounding)?;
    }
    checks.by("");
    Ok(())
}

/// Objective, weights, and what they leave.
fn check_answer(
    case: &Case<'_>,
    checks: &mut Checks,
    question: &Question,
    answer: &Correction,
    tolerances: &Tolerances,
) -> Result<(), Problem> {
    let expected = &case.expected;
    let value = expected.get("objective_value")?;
    let firm = tolerances.objective * value.number()?.abs() + tolerances.rounding;
    checks.number(&value, answer.objective_value(), firm)?;
    let grams = tolerances.weights * tolerances.weight;
    check_unbalances(checks, &expected.get("weights")?, answer.added(), case.rotor_sense()?, grams)?;

    // What weights that are off by as much as they may be make at a channel.
    let planes = question.influence.planes();
    let loose: Vec<f64> = question
        .influence
        .coefficients()
        .chunks(planes)
        .map(|row| row.iter().map(|h| h.complex().norm()).sum::<f64>() * grams + tolerances.rounding)
        .collect();
    let (canonical, lengths) =
        (expected.get("residual_canonical")?.items()?, expected.get("residual_amp")?.items()?);
    checks.count(&expected.get("residual_canonical")?, canonical.len(), answer.predicted().len());
    checks.count(&expected.get("residual_amp")?, lengths.len(), answer.predicted().len());
    for (((vector, length), left), loose) in
        canonical.iter().zip(&lengths).zip(answer.predicted()).zip(&loose)
    {
        checks.complex(vector, left.complex(), *loose)?;
        checks.number(length, left.amplitude(), *loose)?;
    }
    // The objective itself is held to its own tolerance, the other measure to what the weights allow.
    let weighted = loose.iter().zip(&question.weights).map(|(loose, weight)| loose * weight.sqrt());
    let loosest = weighted.fold(0.0, f64::max);
    let (of_max, of_rms) = match question.objective {
        Objective::MinMax => (firm, loosest),
        Objective::LeastSquares => (loosest, firm),
    };
    checks.number(&expected.get("weighted_max")?, answer.largest_weighted_amplitude(), of_max)?;
    checks.number(&expected.get("weighted_rms")?, answer.weighted_rms(), of_rms)
}

/// Which rows and limits decide the optimum, and the dual point that proves it.
fn check_proof(
    case: &Case<'_>,
    checks: &mut Checks,
    question: &Question,
    answer: &Correction,
    tolerances: &Tolerances,
) -> Result<(), Problem> {
    let certificate = answer.certificate();
    let value = case.expected.get("objective_value")?.number()?;
    check_bound(checks, question, certificate, value, tolerances);

    let want = case.expected.get("optimality")?;
    if let Some(rows) = want.find("active_rows") {
        let (active, shares): (Vec<usize>, Vec<f64>) =
            certificate.active_channels().iter().map(|active| (active.channel, active.share)).unzip();
        checks.indices(&rows, &active)?;
        checks.numbers(&want.get("multipliers")?, &shares, tolerances.weights)?;
    }
    let (capped, prices): (Vec<usize>, Vec<f64>) =
        certificate.planes_at_limit().iter().map(|at| (at.plane, at.gain_per_gram_millimetre)).unzip();
    checks.indices(&want.get("capped_planes")?, &capped)?;
    // The file's multiplier belongs to |W|² ≤ L² with the column of the plane scaled to a largest entry of 1. With
    // z = Σ conj(H) y it is |z| value/(L max|H|²), and |z| is what one more gram takes off the value.
    for field in ["cap_multipliers", "cap_multipliers_normalised"] {
        let Some(list) = want.find(field) else { continue };
        let mut multipliers = Vec::new();
        for (plane, price) in capped.iter().zip(&prices) {
            let limit =
                question.limits.get(*plane).copied().flatten().ok_or("a plane without limit is capped")?;
            let column = largest(question.column(*plane));
            multipliers.push(price * value / (limit * column * column));
        }
        let items = list.items()?;
        checks.count(&list, items.len(), multipliers.len());
        for (item, got) in items.iter().zip(multipliers) {
            checks.number(item, got, tolerances.weights * item.number()?.abs().max(tolerances.weights))?;
        }
    }
    match want.find("dual_y") {
        Some(list) => check_dual(checks, &list, question, certificate.dual(), tolerances),
        None => Ok(()),
    }
}

/// The dual point, which is zero in the rows that are not listed.
fn check_dual(
    checks: &mut Checks,
    list: &Node<'_>,
    question: &Question,
    dual: &[Complex64],
    tolerances: &Tolerances,
) -> Result<(), Problem> {
    let items = list.items()?;
    let mut listed = Vec::new();
    for item in &items {
        let row = item.get("row")?;
        listed.push(row.index()?);
        checks.index(&row, row.index()?)?;
        let (got, weight) = dual
            .get(row.index()?)
            .zip(question.weights.get(row.index()?))
            .ok_or("the dual point has too few rows")?;
        // Its length is the share times √g.
        checks.complex(item, *got, tolerances.weights * weight.sqrt())?;
    }
    checks.count(list, dual.len(), question.weights.len());
    for (row, (got, weight)) in dual.iter().zip(&question.weights).enumerate() {
        if !listed.contains(&row) {
            let met = got.norm() <= tolerances.weights * weight.sqrt();
            checks.demand_also(&format!("{}, row {row}", list.path()), met, got, &"zero");
        }
    }
    Ok(())
}

/// The bound that the dual point sets, computed here: no admissible weights do better, and these do as well.
fn check_bound(
    checks: &mut Checks,
    question: &Question,
    certificate: &counterpoise::Certificate,
    value: f64,
    tolerances: &Tolerances,
) {
    let dual = certificate.dual();
    let mut bound: f64 = dual.iter().zip(&question.as_found).map(|(y, v)| (y.conj() * v).re).sum();
    for (plane, limit) in question.limits.iter().enumerate() {
        let projected = question.projected(plane, dual).norm();
        let size: f64 = question.column(plane).zip(dual).map(|(h, y)| h.norm() * y.norm()).sum();
        if let Some(limit) = limit {
            bound -= limit * projected;
        } else {
            let met = projected <= ROUNDING * size;
            let what = format!("dual point, plane {plane} without limit");
            checks.demand_also(&what, met, &format!("{projected:?}"), &"zero to rounding");
        }
    }
    // Both are norms of the dual point that must not exceed 1.
    let terms = dual.iter().zip(&question.weights).filter(|(_, weight)| **weight > 0.0);
    let norm = match question.objective {
        Objective::MinMax => terms.map(|(y, weight)| y.norm() / weight.sqrt()).sum::<f64>(),
        Objective::LeastSquares => terms.map(|(y, weight)| y.norm_sqr() / weight).sum::<f64>(),
    };
    checks.demand_also("dual norm", norm <= 1.0 + ROUNDING, &format!("{norm:?}"), &"1 at most");
    let tolerance = tolerances.objective * value + tolerances.rounding;
    for (what, got) in [("lower bound of the dual point", bound), ("lower bound", certificate.lower_bound())]
    {
        let met = (got - value).abs() <= tolerance;
        checks.demand_also(what, met, &format!("{got:?}"), &format!("{value:?}"));
    }
}
