//! File `mistakes`: jobs with one planted mistake, or none, and what may be said about them.

use std::collections::BTreeMap;

use counterpoise::checks::{
    Examination, Explanation, ExplanationKind, Findings, Item, Plane, Ranked, Verdict,
};
use counterpoise::checks::{Repair, Resonance};
use counterpoise::{
    Channel, ChannelFit, Detector, Estimator, HoleCircle, Mass, Reading, RotorAngle, Run, Speed, SpeedWindow,
    UnbalanceVector, Vibration, VibrationScale,
};

use num_complex::Complex64;

use crate::case::{Case, check_unbalances, largest, readings, stated_radius};
use crate::checks::Checks;
use crate::node::{Node, Problem};

/// A job of the file, and the items by the numbers the file gives them.
struct Job {
    examination: Examination,
    items: BTreeMap<usize, Item>,
    /// Item by item, the plane and the unbalance, as stated.
    mounted: Vec<(usize, UnbalanceVector)>,
    planes: usize,
    /// Run by run, the items on and the readings.
    runs: Vec<(Vec<Item>, Vec<Reading>)>,
    sigma: f64,
}

impl Job {
    fn of(case: &Case<'_>) -> Result<Self, Problem> {
        let inputs = &case.inputs;
        let (convention, rpm) = (case.convention()?, Speed::from_rpm(inputs.get("rpm")?.number()?)?);
        let window = SpeedWindow::around_percent(rpm, 1.0)?;
        let unit = case.vibration_unit()?;
        let count = u16::try_from(inputs.get("n_channels")?.index()?)?;
        let channels: Vec<Channel> =
            (0..count).map(|sensor| Channel::new(sensor, unit, convention.phase, window)).collect();
        let mut planes = Vec::new();
        for plane in inputs.get("planes")?.items()? {
            let holes = u16::try_from(plane.get("ring_holes")?.index()?)?;
            // Positive numbers of holes are towards larger stated angles.
            let ring = HoleCircle::new(holes, RotorAngle::MARK, convention.rotor)?;
            planes.push(Plane::new().with_holes(ring).at_radius(stated_radius()?));
        }
        let model = inputs.get("resonance_model")?;
        let critical = Speed::from_rpm(model.get("critical_rpm")?.number()?)?;
        let resonance = Resonance::new(critical, model.get("damping_ratio")?.number()?)?;
        let sigma = inputs.get("sigma_per_component")?.number()?;

        let mut examination = Examination::new(&channels, &planes)?.with_resonance(resonance);
        let (mut items, mut mounted, mut runs) = (BTreeMap::new(), Vec::new(), Vec::new());
        for node in inputs.get("runs")?.items()? {
            let mut on = Vec::new();
            for weight in node.get("weights_on_rotor")?.items()? {
                let number = weight.get("item")?.index()?;
                let item = if let Some(item) = items.get(&number) {
                    *item
                } else {
                    let (mass, degrees) = (weight.get("mass_g")?.number()?, weight.get("deg")?.number()?);
                    let stated = convention.weight(Mass::from_grams(mass)?, stated_radius()?, degrees)?;
                    let plane = weight.get("plane")?.index()?;
                    mounted.push((plane, stated.unbalance()));
                    examination.add_item(plane, stated)?
                };
                items.insert(number, item);
                on.push(item);
            }
            let mut read = Vec::new();
            for reading in readings(&node.get("readings")?, &channels)? {
                read.push(reading.with_standard_deviation(sigma)?);
            }
            examination.add_run(&on, &read)?;
            runs.push((on, read));
        }
        Ok(Self { examination, items, mounted, planes: planes.len(), runs, sigma })
    }

    /// The χ² of the plain model by the estimator, with the readings of one run divided by a gain.
    fn plain_chi_squared(&self, run: usize, gain: Complex64) -> Result<f64, Problem> {
        let channels: Vec<Channel> =
            self.runs.iter().take(1).flat_map(|(_, read)| read.iter().map(|r| *r.channel())).collect();
        let mut estimator = Estimator::with_known_variances(&channels, self.planes)?;
        for (at, (on, read)) in self.runs.iter().enumerate() {
            let mut stated = Run::new("");
            for item in on {
                let (plane, unbalance) = self.mounted.get(item.number()).ok_or("an item is missing")?;
                stated = stated.mounted(*plane, *unbalance);
            }
            for reading in read {
                let value = if at == run {
                    reading.vibration().complex() / gain
                } else {
                    reading.vibration().complex()
                };
                let repaired = reading.channel().reading_of(Vibration::from_components(value.re, value.im)?);
                stated = stated.reading(repaired.with_standard_deviation(self.sigma)?);
            }
            estimator.add(stated)?;
        }
        let fit = estimator.fit()?;
        let of_channel = |channel: &ChannelFit| channel.chi_squared().map(|chi_squared| chi_squared.value);
        fit.channels()
            .iter()
            .map(of_channel)
            .sum::<Option<f64>>()
            .ok_or_else(|| "no variance is known".into())
    }

    /// The run the file names with an explanation.
    fn run_of(&self, explanation: &Explanation) -> Option<usize> {
        let first = |item: Item| self.runs.iter().position(|(on, _)| on.contains(&item));
        match *explanation {
            Explanation::WeightMirrored { item }
            | Explanation::WeightHalfTurn { item }
            | Explanation::WeightOffByHoles { item, .. }
            | Explanation::WeightNotMounted { item }
            | Explanation::MassUnit { item, .. } => first(item),
            Explanation::WeightLeftOn { run, .. }
            | Explanation::PlanesExchanged { run, .. }
            | Explanation::ChannelsExchanged { run, .. }
            | Explanation::MarkMoved { run, .. }
            | Explanation::OtherSpeed { run, .. }
            | Explanation::DetectorSlip { run, .. }
            | Explanation::UnitSlip { run, .. }
            | Explanation::Outlier { run, .. } => Some(run),
            _ => None,
        }
    }

    /// Whether an explanation is the one that `{"kind", "run", "params"}` describes, but for continuous parameters.
    fn is_meant(&self, node: &Node<'_>, explanation: &Explanation) -> Result<bool, Problem> {
        let (run, params) = (node.get("run")?, node.get("params")?);
        let run = if run.is_null() { None } else { Some(run.index()?) };
        if kind(explanation) != node.get("kind")?.text()? || self.run_of(explanation) != run {
            return Ok(false);
        }
        let same_item = |item: Item| -> Result<bool, Problem> {
            Ok(self.items.get(&params.get("item")?.index()?) == Some(&item))
        };
        Ok(match *explanation {
            Explanation::WeightMirrored { item }
            | Explanation::WeightHalfTurn { item }
            | Explanation::WeightLeftOn { item, .. }
            | Explanation::WeightNotMounted { item }
            | Explanation::MassUnit { item, .. } => same_item(item)?,
            Explanation::WeightOffByHoles { item, holes } => {
                same_item(item)? && params.get("holes")?.number()? == f64::from(holes)
            }
            Explanation::PlanesExchanged { run, .. } => {
                let before: Vec<Item> = self.runs.iter().take(run).flat_map(|(on, _)| on.clone()).collect();
                let (on, _) = self.runs.get(run).ok_or("the run does not exist")?;
                let wanted = params.get("items")?.indices()?;
                let first: Vec<&Item> = on.iter().filter(|item| !before.contains(item)).collect();
                first.len() == wanted.len()
                    && wanted
                        .iter()
                        .all(|number| self.items.get(number).is_some_and(|item| first.contains(&item)))
            }
            Explanation::ChannelsExchanged { channels, .. } => params.get("channels")?.indices()? == channels,
            Explanation::DetectorSlip { detector, .. } => match params.get("slip")?.text()? {
                "rms_for_peak" => detector == Detector::Rms,
                "peak_to_peak_for_peak" => detector == Detector::PeakToPeak,
                other => return Err(format!("slip {other} is not known").into()),
            },
            Explanation::UnitSlip { scale, .. } => scale == VibrationScale::MillimetrePerSecond,
            Explanation::Outlier { channel, .. } => params.get("channel")?.index()? == channel,
            _ => true,
        })
    }

    /// The explanation that `{"kind", "run", "params"}` describes, which the library is to have tried.
    fn meant<'a>(&self, node: &Node<'_>, findings: &'a Findings) -> Result<&'a Ranked, Problem> {
        for ranked in findings.ranked() {
            if self.is_meant(node, &ranked.explanation)? {
                return Ok(ranked);
            }
        }
        Err(format!("{}: the library did not try it", node.path()).into())
    }
}

/// The name of the file for a kind.
fn kind(explanation: &Explanation) -> &'static str {
    match explanation.kind() {
        ExplanationKind::NoMistake => "none",
        ExplanationKind::WeightMirrored => "weight_mirrored",
        ExplanationKind::WeightHalfTurn => "weight_half_turn",
        ExplanationKind::WeightOffByHoles => "weight_off_by_holes",
        ExplanationKind::WeightLeftOn => "trial_left_on",
        ExplanationKind::WeightNotMounted => "trial_not_mounted",
        ExplanationKind::MassUnit => "mass_unit_oz_for_g",
        ExplanationKind::PlanesExchanged => "planes_exchanged",
        ExplanationKind::ChannelsExchanged => "channels_exchanged",
        ExplanationKind::MarkMoved => "mark_moved",
        ExplanationKind::OtherSpeed => "other_speed",
        ExplanationKind::DetectorSlip => "detector_slip",
        ExplanationKind::UnitSlip => "unit_slip",
        ExplanationKind::Outlier => "outlier",
        ExplanationKind::SenseWrong => "sense_wrong",
        _ => "not in the file",
    }
}

/// A difference of scores, as a decimal logarithm of odds.
fn odds_of(difference: f64) -> f64 {
    difference / (2.0 * std::f64::consts::LN_10)
}

/// Compares numbers of the file with what the library found.
struct Comparison<'a, 'b> {
    case: &'a Case<'b>,
    job: &'a Job,
    findings: &'a Findings,
}

impl Comparison<'_, '_> {
    fn chi_squared_tolerance(&self, want: f64) -> Result<f64, Problem> {
        Ok(self.case.tolerance_of("chi2_rel")? * want.abs() + self.case.tolerance_of("chi2_abs")?)
    }

    /// `chi2`, and as far as they stand beside it `dof`, `p_value`, `penalised_score`, and the odds of the best.
    fn fit(&self, checks: &mut Checks, node: &Node<'_>, got: &Ranked) -> Result<(), Problem> {
        let chi_squared = node.get("chi2")?;
        let tolerance = self.chi_squared_tolerance(chi_squared.number()?)?;
        checks.number(&chi_squared, got.chi_squared, tolerance)?;
        if let Some(dof) = node.find("dof") {
            checks.index(&dof, got.degrees_of_freedom)?;
        }
        if let Some(p) = node.find("p_value") {
            // ln Q changes by less than χ² does. The file may have underflowed to 0.
            checks.optional(&p, got.p_value, p.number()? * tolerance + 1e-300)?;
        }
        if let Some(score) = node.find("penalised_score") {
            checks.number(&score, got.score, tolerance)?;
        }
        for odds in ["log10_odds", "log10_odds_of_best_over_this"] {
            if let Some(odds) = node.find(odds) {
                let tolerance = self.case.tolerance_of("log10_odds_abs")?.max(odds_of(tolerance));
                checks.number(&odds, got.log10_odds, tolerance)?;
            }
        }
        Ok(())
    }

    /// Kind, run and parameters.
    fn described(&self, checks: &mut Checks, node: &Node<'_>, got: &Ranked) -> Result<(), Problem> {
        let got = &got.explanation;
        for field in ["kind", "run"] {
            checks.demand(&node.get(field)?, self.job.is_meant(node, got)?, got, &"as the file says");
        }
        let params = node.get("params")?;
        if params.members()?.is_empty() {
            checks.demand(&params, self.job.is_meant(node, got)?, got, &"as the file says");
        }
        for (name, value) in params.members()? {
            match (name, *got) {
                ("turn_deg", Explanation::MarkMoved { turn_degrees, .. }) => {
                    checks.angle(&value, turn_degrees, self.case.tolerance_of("angle_abs_deg")?)?;
                }
                ("rpm", Explanation::OtherSpeed { rpm, .. }) => {
                    checks.number(&value, rpm, self.case.tolerance_of("rpm_abs")?)?;
                }
                ("items" | "channels", _) => {
                    for value in value.items()? {
                        checks.demand(&value, self.job.is_meant(node, got)?, got, &"as the file says");
                    }
                }
                _ => checks.demand(&value, self.job.is_meant(node, got)?, got, &"as the file says"),
            }
        }
        Ok(())
    }

    /// A list of weights, or `null` where they are not determined.
    fn weights(
        &self,
        checks: &mut Checks,
        want: &Node<'_>,
        repair: Option<&Repair>,
        part: fn(&Repair) -> &[UnbalanceVector],
    ) -> Result<(), Problem> {
        let (false, Some(repair)) = (want.is_null(), repair) else {
            checks.demand(want, want.is_null() == repair.is_none(), &repair.is_some(), &!want.is_null());
            return Ok(());
        };
        let relative = self.case.tolerance_of("weights_rel")?;
        let tolerance = relative * largest(part(repair).iter().map(|unbalance| unbalance.complex()));
        check_unbalances(checks, want, part(repair), self.case.rotor_sense()?, tolerance)
    }

    fn corrections(&self, checks: &mut Checks, node: &Node<'_>, got: &Ranked) -> Result<(), Problem> {
        let repair = self.findings.repair(got);
        let total = node.get("correction_total_from_bare_rotor")?;
        self.weights(checks, &total, repair.as_ref(), |repair| &repair.total)?;
        let added = node.get("correction_added_to_last_run")?;
        self.weights(checks, &added, repair.as_ref(), |repair| &repair.added_to_last_run)
    }

    /// An explanation that is listed with its figures.
    fn listed(&self, checks: &mut Checks, node: &Node<'_>) -> Result<Ranked, Problem> {
        let got = *self.job.meant(node, self.findings)?;
        self.described(checks, node, &got)?;
        if node.find("chi2").is_some() {
            self.fit(checks, node, &got)?;
        }
        Ok(got)
    }
}

/// What the file calls the decision. It counts explanations of another run or parameter as others, also where they ask for
/// the same weights, which the library does not.
fn decision(case: &Case<'_>, findings: &Findings) -> &'static str {
    match (findings.verdict(), findings.undistinguished()) {
        (Verdict::NothingToAccuse, _) if case.group == "undecidable" => "none_or_undecided",
        (Verdict::NothingToAccuse, _) => "none",
        (Verdict::OneStands(one), [_]) => kind(&one),
        (Verdict::OneStands(_) | Verdict::SeveralStand, _) => "undecided",
        _ => "not in the file",
    }
}

/// All groups.
pub(crate) fn mistakes(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let job = Job::of(case)?;
    let findings = job.examination.examine()?;
    let compare = Comparison { case, job: &job, findings: &findings };
    let expected = &case.expected;

    compare.fit(checks, &expected.get("plain_model")?, findings.plain())?;
    checks.index(&expected.get("number_of_explanations")?, findings.ranked().len())?;
    let (want, got) = (expected.get("decision")?, decision(case, &findings));
    checks.demand(&want, want.text()? == got, &got, &want.text()?);
    if case.group == "undecidable" {
        return undecidable(&compare, checks);
    }

    let best = findings.ranked().first().ok_or("nothing was tried")?;
    checks.demand_also(
        "the best",
        job.is_meant(expected, &best.explanation)?,
        &best.explanation,
        &"the expected",
    );
    compare.described(checks, expected, best)?;
    compare.corrections(checks, expected, best)?;
    let runner_up = expected.get("runner_up")?;
    let second = compare.listed(checks, &runner_up)?;
    let is_second = findings.ranked().get(1).is_some_and(|ranked| ranked.score >= second.score - 1e-6);
    checks.demand_also("the runner-up", is_second, &second.explanation, &"the second of the ranking");
    if case.group == "strong" {
        compare.fit(checks, &expected.get("planted_explanation")?, best)?;
        let plain = findings.repair(findings.plain());
        let unrepaired = expected.get("correction_total_without_repair")?;
        compare.weights(checks, &unrepaired, plain.as_ref(), |repair| &repair.total)?;
        scaled_noise(&compare, checks, best)?;
    }
    Ok(())
}

/// The sets that cannot be told apart.
fn undecidable(compare: &Comparison<'_, '_>, checks: &mut Checks) -> Result<(), Problem> {
    let expected = &compare.case.expected;
    let set = expected.get("cannot_be_told_apart")?;
    let members = set.items()?;
    checks.count(&set, members.len(), compare.findings.undistinguished().len());
    for node in &members {
        let got = compare.listed(checks, node)?;
        compare.corrections(checks, node, &got)?;
        let named = compare.findings.undistinguished().contains(&got);
        checks.demand_also(node.path(), named, &got.explanation, &"in the set that cannot be told apart");
    }
    let more = expected.get("may_be_listed_too")?;
    if more.items()?.is_empty() {
        let none = |ranked: &&Ranked| (2.0..4.0).contains(&ranked.log10_odds);
        let count = compare.findings.ranked().iter().filter(none).count();
        checks.demand(&more, count == 0, &count, &"none");
    }
    for node in more.items()? {
        compare.listed(checks, &node)?;
    }
    let equal = expected.get("equal_by_construction")?;
    let members = equal.items()?;
    if members.is_empty() {
        let standing = compare.findings.undistinguished();
        let alone = |ranked: &Ranked| {
            compare.findings.fitting_alike(ranked).filter(|other| standing.contains(other)).count() == 1
        };
        checks.demand(&equal, standing.iter().all(alone), &"some", &"none that fit alike");
    }
    let mut first = None;
    for node in &members {
        let got = compare.listed(checks, node)?;
        let first = first.get_or_insert(got);
        let alike = compare.findings.fitting_alike(first).any(|ranked| *ranked == got);
        checks.demand_also(node.path(), alike, &got.explanation, &"fits alike");
    }
    Ok(())
}

/// The odds if the noise of a slipped run, or one at another speed, scales with its gain: the same fit with the readings of
/// that run divided by it, and `4 ln|g|` for each of them.
fn scaled_noise(compare: &Comparison<'_, '_>, checks: &mut Checks, best: &Ranked) -> Result<(), Problem> {
    let inputs = &compare.case.inputs;
    let (rpm, read) = (inputs.get("rpm")?.number()?, inputs.get("n_channels")?.number()?);
    let model = inputs.get("resonance_model")?;
    let (critical, damping) = (model.get("critical_rpm")?.number()?, model.get("damping_ratio")?.number()?);
    // rho(N) = N^3/(Nc^2 - N^2 + 2i zeta Nc N)
    let response = |n: f64| {
        Complex64::new(n * n * n, 0.0)
            / Complex64::new(critical * critical - n * n, 2.0 * damping * critical * n)
    };
    let scaled = |run: usize, gain: Complex64| -> Result<f64, Problem> {
        Ok(compare.job.plain_chi_squared(run, gain)? + 4.0 * gain.norm().ln() * read)
    };
    let mut scores = Vec::new();
    for ranked in compare.findings.ranked() {
        let real = |gain: f64| Complex64::new(gain, 0.0);
        let chi_squared = match ranked.explanation {
            Explanation::DetectorSlip { run, detector: Detector::Rms } => scaled(run, real(0.5_f64.sqrt()))?,
            Explanation::DetectorSlip { run, .. } => scaled(run, real(2.0))?,
            Explanation::UnitSlip { run, .. } => scaled(run, real(25.4))?,
            Explanation::OtherSpeed { run, .. } => {
                least(0.8 * rpm, 1.2 * rpm, |n| scaled(run, response(n) / response(rpm)))?
            }
            _ => ranked.chi_squared,
        };
        scores.push((ranked.explanation, ranked.score - ranked.chi_squared + chi_squared));
    }
    let of_best = scores.iter().find(|(explanation, _)| *explanation == best.explanation).ok_or("no best")?.1;
    let others = scores.iter().filter(|(explanation, _)| *explanation != best.explanation);
    let second = others.map(|(_, score)| *score).fold(f64::INFINITY, f64::min);
    let want = compare.case.expected.get("log10_odds_if_noise_scales_with_the_slip")?;
    let tolerance = compare.case.tolerance_of("log10_odds_abs")?.max(1e-6 * want.number()?);
    checks.number(&want, odds_of(second - of_best), tolerance)
}

/// The least value of a function: a grid of 200 steps, then ever finer ones around the best point.
fn least(low: f64, high: f64, of: impl Fn(f64) -> Result<f64, Problem>) -> Result<f64, Problem> {
    let (mut low, mut high, mut steps) = (low, high, 200_u32);
    let mut best = (low, of(low)?);
    while high - low > 1e-7 * high {
        let step = (high - low) / f64::from(steps);
        for number in 0..=steps {
            let at = low + step * f64::from(number);
            let value = of(at)?;
            if value < best.1 {
                best = (at, value);
            }
        }
        (low, high, steps) = ((best.0 - step).max(low), (best.0 + step).min(high), 10);
    }
    Ok(best.1)
}
