//! File `coverage`: how often regions hold the truth, over many realisations of the noise.
//!
//! Beside the library's regions three are counted that are wrong on purpose, made here from the library's covariances:
//! they show that the counts of a case would tell them apart.

use counterpoise::{
    Channel, ChannelFit, Convention, CorrectionEstimate, DegreesOfFreedom, Detector, Estimate, Estimator,
    InfluenceFit, PhaseSense, Reading, Repeats, Run, Scatter, Speed, SpeedWindow, UnbalanceVector,
    Uncertainty, Vibration, VibrationScale, VibrationUnit,
};
use num_complex::Complex64;

use crate::case::{Case, largest, unbalances};
use crate::checks::Checks;
use crate::node::{Node, Problem};

/// The confidence of all regions.
const CONFIDENCE: f64 = 0.95;

/// Counts in 400 and shares in 4000 other realisations may be so many standard deviations apart.
const APART: f64 = 4.0;

/// `{"re": [..], "im": [..]}`, or the same with lists of lists, row by row.
fn complexes(node: &Node<'_>) -> Result<Vec<Complex64>, Problem> {
    let flat = |part: &Node<'_>| -> Result<Vec<f64>, Problem> {
        let mut numbers = Vec::new();
        for item in part.items()? {
            match item.items() {
                Ok(_) => numbers.extend(item.numbers()?),
                Err(_) => numbers.push(item.number()?),
            }
        }
        Ok(numbers)
    };
    let (re, im) = (flat(&node.get("re")?)?, flat(&node.get("im")?)?);
    if re.len() != im.len() {
        return Err(format!("{} has not as many re as im", node.path()).into());
    }
    Ok(re.into_iter().zip(im).map(|(re, im)| Complex64::new(re, im)).collect())
}

/// `zᵀ C⁻¹ z`, the symmetric C by rows, by elimination; all variances are positive here.
fn distance_squared(z: &[f64], covariance: &[Vec<f64>]) -> f64 {
    let mut rows: Vec<Vec<f64>> = covariance.to_vec();
    let mut left = z.to_vec();
    let mut sum = 0.0;
    // C = L D Lᵀ, so that zᵀ C⁻¹ z = Σ (L⁻¹ z)²/D.
    while let (Some(pivot), Some(first)) = (rows.first().cloned(), left.first().copied()) {
        let Some(&variance) = pivot.first() else { break };
        sum += first * first / variance;
        let step = |row: &[f64]| -> Vec<f64> {
            let factor = row.first().map_or(f64::NAN, |entry| entry / variance);
            row.iter().zip(&pivot).skip(1).map(|(a, b)| a - factor * b).collect()
        };
        left = left
            .iter()
            .zip(&rows)
            .skip(1)
            .map(|(z, row)| z - row.first().map_or(f64::NAN, |entry| entry / variance) * first)
            .collect();
        rows = rows.iter().skip(1).map(|row| step(row)).collect();
    }
    sum
}

fn distance_2x2(z: Complex64, covariance: [[f64; 2]; 2]) -> f64 {
    distance_squared(&[z.re, z.im], &covariance.map(|row| row.to_vec()))
}

/// Where the noise is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Noise {
    Known,
    Repeats,
    Residuals,
}

/// What is the same in all realisations of a case.
struct Design {
    noise: Noise,
    common: bool,
    channels: Vec<Channel>,
    planes: usize,
    /// Of every run.
    mounted: Vec<Vec<UnbalanceVector>>,
    repeats: usize,
    /// Of one reading of every channel, where the noise is known.
    known: Vec<Scatter>,
    /// What is mounted next.
    stated: Vec<UnbalanceVector>,
    truth: Truth,
}

struct Truth {
    influence: Vec<Complex64>,
    next: Vec<Complex64>,
    correction: Vec<UnbalanceVector>,
}

impl Design {
    fn of(case: &Case<'_>) -> Result<Self, Problem> {
        let inputs = &case.inputs;
        // Phases are not given: readings are canonical.
        let convention = Convention { phase: PhaseSense::Lead, rotor: case.rotor_sense()? };
        let (planes, count) = (inputs.get("n_planes")?.index()?, inputs.get("n_channels")?.index()?);
        let window = SpeedWindow::around_percent(Speed::from_rpm(inputs.get("rpm")?.number()?)?, 1.0)?;
        let unit = VibrationUnit::new(VibrationScale::MillimetrePerSecond, Detector::Peak);
        if case.vibration_unit()? != unit {
            return Err("the unit is not mm/s peak".into());
        }
        let mut channels = Vec::new();
        for sensor in 0..count {
            channels.push(Channel::new(u16::try_from(sensor)?, unit, convention.phase, window));
        }
        let mut mounted = Vec::new();
        for run in inputs.get("runs")?.items()? {
            mounted.push(unbalances(&run.get("weights_on_rotor")?, planes, convention)?);
        }
        let noise = inputs.get("noise")?;
        let mut known = Vec::new();
        if let Some(deviations) = noise.given("sd_re_im_of_one_reading") {
            for of_channel in deviations.items()? {
                let [re, im] = of_channel.numbers()?[..] else { return Err("not two deviations".into()) };
                let covariance = [[re * re, 0.0], [0.0, im * im]];
                known.push(Scatter::from_covariance(covariance, DegreesOfFreedom::Known)?);
            }
        }
        let common = match noise.given("same_variance_in_all_channels") {
            Some(same) => same.flag()?,
            None => false,
        };
        let noise = match case.group {
            "known_noise" => Noise::Known,
            "repeated_readings" => Noise::Repeats,
            _ => Noise::Residuals,
        };
        let truth = inputs.get("truth")?;
        let correction = complexes(&truth.get("exact_correction")?)?;
        let correction = correction
            .iter()
            .map(|w| UnbalanceVector::from_components_gram_millimetres(w.re, w.im))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            noise,
            common,
            channels,
            planes,
            mounted,
            repeats: inputs.get("repeated_readings_per_run")?.index()?,
            known,
            stated: unbalances(&inputs.get("stated_weights")?, planes, convention)?,
            truth: Truth {
                influence: complexes(&truth.get("H")?)?,
                next: complexes(&truth.get("next_vibration_with_stated_weights")?)?,
                correction,
            },
        })
    }

    /// One realisation: its readings are run-major, then repeat, then channel.
    fn realisation(&self, re: &Node<'_>, im: &Node<'_>) -> Result<Realisation, Problem> {
        let mut numbers = re.numbers()?.into_iter().zip(im.numbers()?);
        let mut states: Vec<Vec<Repeats>> = vec![Vec::new(); self.channels.len()];
        for _ in &self.mounted {
            let mut read: Vec<Vec<Vibration>> = vec![Vec::new(); self.channels.len()];
            for _ in 0..self.repeats {
                for of_channel in &mut read {
                    let (re, im) = numbers.next().ok_or_else(|| format!("{} ends early", re.path()))?;
                    of_channel.push(Vibration::from_components(re, im)?);
                }
            }
            for (of_channel, read) in states.iter_mut().zip(&read) {
                of_channel.push(Repeats::of(read)?);
            }
        }
        if numbers.next().is_some() {
            return Err(format!("{} has too many numbers", re.path()).into());
        }
        let scatters = self.scatters(&states)?;
        let mut estimator = match self.noise {
            Noise::Residuals => Estimator::with_relative_weights(&self.channels, self.planes)?,
            _ => Estimator::with_known_variances(&self.channels, self.planes)?,
        };
        for (number, mounted) in self.mounted.iter().enumerate() {
            let mut run = Run::new(format!("run {number}"));
            for (plane, &unbalance) in mounted.iter().enumerate() {
                run = run.mounted(plane, unbalance);
            }
            for ((channel, states), scatter) in self.channels.iter().zip(&states).zip(&scatters) {
                let mean = states.get(number).ok_or("a run has no reading")?.mean();
                let reading: Reading = channel.reading_of(mean);
                run = run.reading(match scatter {
                    Some(scatter) => reading.with_scatter(*scatter),
                    None => reading,
                });
            }
            estimator.add(run)?;
        }
        let mut fit = estimator.fit()?;
        if self.common && self.noise == Noise::Residuals {
            fit = fit.with_common_variance();
        }
        let mut uncertainty = Uncertainty::of(&fit)?;
        if self.common && self.noise == Noise::Repeats {
            uncertainty = uncertainty.with_common_scatter();
        }
        let readings = u32::try_from(self.repeats)?;
        // Of one reading, as the file states it.
        let variance =
            |scatter: &Option<Scatter>| scatter.map(|scatter| scatter.variance() * f64::from(readings));
        let variances = match self.noise {
            Noise::Known => None,
            Noise::Repeats => scatters.iter().map(variance).collect(),
            Noise::Residuals => fit.channels().iter().map(ChannelFit::residual_variance).collect(),
        };
        Ok(Realisation { uncertainty, fit, variances })
    }

    /// How the mean of every channel's readings scatters; nothing where the residuals are to say.
    fn scatters(&self, states: &[Vec<Repeats>]) -> Result<Vec<Option<Scatter>>, Problem> {
        let readings = u32::try_from(self.repeats)?;
        let mut scatters = Vec::new();
        for (channel, of_channel) in states.iter().enumerate() {
            let one = match self.noise {
                Noise::Known => Some(*self.known.get(channel).ok_or("a channel has no stated noise")?),
                Noise::Repeats if self.common => Repeats::pooled(&states.concat()),
                Noise::Repeats => Repeats::pooled(of_channel),
                Noise::Residuals => None,
            };
            scatters.push(one.map(|one| one.of_mean(readings)));
        }
        Ok(scatters)
    }
}

/// One realisation, fitted.
struct Realisation {
    uncertainty: Uncertainty,
    fit: InfluenceFit,
    /// Of one reading, per component; `None` where the noise is known.
    variances: Option<Vec<f64>>,
}

/// The counts of one target: of the library's region, and of those that are wrong on purpose.
#[derive(Debug, Clone, Copy, Default)]
struct Inside {
    reference: usize,
    normal_factors: usize,
    without_correlation: usize,
}

impl Inside {
    fn add(&mut self, [reference, normal_factors, without_correlation]: [bool; 3]) {
        self.reference += usize::from(reference);
        self.normal_factors += usize::from(normal_factors);
        self.without_correlation += usize::from(without_correlation);
    }
}

/// What a target asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Target {
    Influence(usize, usize),
    Next(usize),
    Correction,
    FirstOrder,
}

impl Target {
    fn named(name: &str) -> Result<Self, Problem> {
        let unknown = || format!("target {name} is not known");
        let mut parts = name.split('_');
        let target = match (parts.next(), parts.next(), parts.next()) {
            (Some("H"), Some(channel), Some(plane)) => Self::Influence(channel.parse()?, plane.parse()?),
            (Some("next"), Some(channel), None) => Self::Next(channel.parse()?),
            (Some("correction"), None, None) => Self::Correction,
            (Some("correction"), Some("first"), Some("order")) => Self::FirstOrder,
            _ => return Err(unknown().into()),
        };
        Ok(target)
    }
}

impl Realisation {
    /// The covariance of `v0 + Σ_p H_p u_p` of a channel, as if `v0` and the sum were independent.
    fn without_correlation(
        &self,
        channel: usize,
        mounted: &[UnbalanceVector],
    ) -> Result<[[f64; 2]; 2], Problem> {
        let covariance = self.fit.channels().get(channel).and_then(ChannelFit::covariance);
        let covariance = covariance.ok_or("a channel has no covariance")?;
        let block = |i: usize, j: usize| covariance.block(i, j).ok_or("the covariance is too small");
        let mut sum = block(0, 0)?;
        for (p, left) in mounted.iter().enumerate() {
            for (q, right) in mounted.iter().enumerate() {
                let inner = block(p + 1, q + 1)?;
                let rows = |z: Complex64| [[z.re, -z.im], [z.im, z.re]];
                let (left, right) = (rows(left.complex()), rows(right.complex()));
                for (row, a) in sum.iter_mut().zip(&left) {
                    for (entry, b) in row.iter_mut().zip(&right) {
                        for (a, of_inner) in a.iter().zip(&inner) {
                            for (b, middle) in b.iter().zip(of_inner) {
                                *entry += a * middle * b;
                            }
                        }
                    }
                }
            }
        }
        Ok(sum)
    }

    /// Distances of every channel's vibration with the exact correction from none: as it stands, and without correlation.
    fn distances_from_none(&self, design: &Design) -> Result<Vec<[f64; 2]>, Problem> {
        let exact = &design.truth.correction;
        let of_channel = |(channel, next): (usize, &Estimate<Vibration>)| {
            let value = next.value().complex();
            let apart = self.without_correlation(channel, exact)?;
            Ok([distance_2x2(value, next.covariance()), distance_2x2(value, apart)])
        };
        self.uncertainty.vibration_with(exact)?.iter().enumerate().map(of_channel).collect()
    }

    fn degrees(&self, channel: usize) -> Result<DegreesOfFreedom, Problem> {
        Ok(self.uncertainty.as_found(channel)?.degrees_of_freedom())
    }

    /// Whether the region of a target holds the truth, by the library and by the two wrong ways.
    fn holds(&self, design: &Design, target: Target) -> Result<[bool; 3], Problem> {
        let chi_squared = |dimensions: usize| DegreesOfFreedom::Known.squared_factor(dimensions, CONFIDENCE);
        match target {
            Target::Influence(channel, plane) => {
                let estimate = self.uncertainty.influence(channel, plane)?;
                let truth = design.truth.influence.get(channel * design.planes + plane);
                let truth = truth.ok_or("the truth has no such coefficient")?;
                let vector =
                    counterpoise::Influence::from_components_per_gram_millimetre(truth.re, truth.im)?;
                let apart = estimate.value().complex() - truth;
                let normal = distance_2x2(apart, estimate.covariance()) <= chi_squared(2);
                Ok([estimate.region_holds(vector, CONFIDENCE), normal, false])
            }
            Target::Next(channel) => {
                let next = self.uncertainty.vibration_with(&design.stated)?;
                let next = next.get(channel).ok_or("there is no such channel")?;
                let truth = design.truth.next.get(channel).ok_or("the truth has no such channel")?;
                let apart = next.value().complex() - truth;
                let normal = distance_2x2(apart, next.covariance()) <= chi_squared(2);
                let independent = distance_2x2(apart, self.without_correlation(channel, &design.stated)?);
                let without = independent <= self.degrees(channel)?.squared_factor(2, CONFIDENCE);
                let vector = Vibration::from_components(truth.re, truth.im)?;
                Ok([next.region_holds(vector, CONFIDENCE), normal, without])
            }
            Target::Correction => {
                let region = self.uncertainty.correction_region(CONFIDENCE)?;
                let distances = self.distances_from_none(design)?;
                let count = distances.len();
                let degrees = self.degrees(0)?;
                let own = degrees != DegreesOfFreedom::Known && !design.common;
                #[allow(clippy::cast_precision_loss)] // a count of channels
                let each = CONFIDENCE.powf(1.0 / count as f64);
                let inside = |which: fn(&[f64; 2]) -> f64, degrees: DegreesOfFreedom| {
                    let distances = distances.iter().map(which);
                    if own {
                        distances.fold(0.0, f64::max) <= degrees.squared_factor(2, each)
                    } else {
                        distances.sum::<f64>() <= degrees.squared_factor(2 * count, CONFIDENCE)
                    }
                };
                let held = region.holds(&design.truth.correction)?;
                Ok([held, inside(|d| d[0], DegreesOfFreedom::Known), inside(|d| d[1], degrees)])
            }
            Target::FirstOrder => self.holds_to_first_order(design),
        }
    }

    fn holds_to_first_order(&self, design: &Design) -> Result<[bool; 3], Problem> {
        let correction = self.uncertainty.correction(&[])?;
        let (size, degrees) = (2 * design.planes, self.degrees(0)?);
        let total: Vec<UnbalanceVector> = correction.total().iter().map(Estimate::value).collect();
        let apart: Vec<Complex64> =
            design.truth.correction.iter().zip(&total).map(|(&truth, &w)| (truth - w).complex()).collect();
        let components: Vec<f64> = apart.iter().flat_map(|z| [z.re, z.im]).collect();
        let distance = distance_squared(&components, &rows_of(&correction, size, |at| at)?);
        // With as many planes as channels dw = −H⁻¹ (dv0 + dH w): the distance is that of H times the difference, under the
        // covariance of v0 + H w.
        let mut independent = 0.0;
        for channel in 0..design.channels.len() {
            let mut effect = Complex64::default();
            for (plane, z) in apart.iter().enumerate() {
                effect += self.uncertainty.influence(channel, plane)?.value().complex() * z;
            }
            independent += distance_2x2(effect, self.without_correlation(channel, &total)?);
        }
        let limit = degrees.squared_factor(size, CONFIDENCE);
        let normal = DegreesOfFreedom::Known.squared_factor(size, CONFIDENCE);
        Ok([distance <= limit, distance <= normal, independent <= limit])
    }
}

/// The covariance of a correction by rows, its components in another order.
fn rows_of(
    correction: &CorrectionEstimate,
    size: usize,
    order: impl Fn(usize) -> usize,
) -> Result<Vec<Vec<f64>>, Problem> {
    let entry = |i: usize, j: usize| correction.covariance().get(order(i), order(j));
    let row = |i: usize| (0..size).map(|j| entry(i, j)).collect::<Option<Vec<f64>>>();
    Ok((0..size).map(row).collect::<Option<_>>().ok_or("the covariance of the correction is too small")?)
}

/// All groups.
pub(crate) fn coverage(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let design = Design::of(case)?;
    let targets = case.expected.get("targets")?.members()?;
    let named = targets.iter().map(|(name, _)| Target::named(name)).collect::<Result<Vec<_>, _>>()?;
    let mut counts = vec![Inside::default(); named.len()];
    let (re, im) = (case.inputs.get("readings_re")?.items()?, case.inputs.get("readings_im")?.items()?);
    for (at, (re, im)) in re.iter().zip(&im).enumerate() {
        let realisation = design.realisation(re, im)?;
        if at == 0 {
            realisation.check(case, checks, &design, &named)?;
        }
        for (count, &target) in counts.iter_mut().zip(&named) {
            count.add(realisation.holds(&design, target)?);
        }
    }
    let realisations = case.inputs.get("n_realisations")?.index()?;
    checks.demand_also("the readings", realisations == re.len().min(im.len()), &re.len(), &realisations);
    let tolerance = case.tolerance.get("counts_abs")?.index()?;
    for (((_, want), target), count) in targets.iter().zip(&named).zip(&counts) {
        let counted = Counted { want, target: *target, realisations, tolerance };
        counted.check(checks, &design, count)?;
    }
    Ok(())
}

/// The counts of one target, as they are wanted.
struct Counted<'a> {
    want: &'a Node<'a>,
    target: Target,
    realisations: usize,
    tolerance: usize,
}

impl Counted<'_> {
    fn check(&self, checks: &mut Checks, design: &Design, inside: &Inside) -> Result<(), Problem> {
        #[allow(clippy::cast_precision_loss)] // a count of realisations
        let n = self.realisations as f64;
        let wanted = self.want.get("coverage_wanted")?;
        checks.number(&wanted, CONFIDENCE, 0.0)?;
        let band = 3.0 * (CONFIDENCE * (1.0 - CONFIDENCE) / n).sqrt();
        let [low, high] = [CONFIDENCE - band, CONFIDENCE + band];
        checks.numbers(&self.want.get("band_3_sigma")?, &[low, high], 1e-12)?;

        let estimated = design.noise != Noise::Known;
        let correlated = !matches!(self.target, Target::Influence(..));
        let share = self.check_count(checks, "reference", Some(inside.reference))?.unwrap_or(f64::NAN);
        let field = format!("the share inside, {}", self.want.path());
        let wanted = format!("{low} to {high}");
        checks.demand_also(&field, (low..=high).contains(&share), &share, &wanted);

        for (name, got) in [
            ("normal_factors", estimated.then_some(inside.normal_factors)),
            ("without_correlation", correlated.then_some(inside.without_correlation)),
        ] {
            let share = self.check_count(checks, name, got)?;
            let told = self.want.find(&format!("test_tells_{name}_apart"));
            if let (Some(told), Some(share)) = (told, share) {
                checks.flag(&told, !(low..=high).contains(&share))?;
            }
        }
        if let Some(want) = self.want.find("expected_coverage_normal_factors") {
            checks.optional(&want, self.with_normal_factors(design), 1e-9)?;
        }
        Ok(())
    }

    /// One count against that of the reference, and against the share in the realisations that are not stored. Gives the
    /// share.
    fn check_count(
        &self,
        checks: &mut Checks,
        name: &str,
        got: Option<usize>,
    ) -> Result<Option<f64>, Problem> {
        let (want, of_long_run) =
            (self.want.get(&format!("inside_{name}"))?, self.want.get("long_run_share")?);
        let long_run = of_long_run.get(name)?;
        let Some(got) = got else {
            for field in [want, long_run] {
                checks.demand(&field, field.is_null(), &"null", &"a count or share");
            }
            return Ok(None);
        };
        let met = got.abs_diff(want.index()?) <= self.tolerance;
        checks.demand(&want, met, &got, &format_args!("{} within {}", want.index()?, self.tolerance));
        #[allow(clippy::cast_precision_loss)] // counts of realisations
        let (n, count) = (self.realisations as f64, got as f64);
        let others = of_long_run.get("n")?;
        checks.demand(&others, others.number()? > n, &"few", &"many");
        let (share, expected) = (count / n, long_run.number()?);
        // Both are counts, of different realisations: p (1 − p) (1/n + 1/N).
        let variance = expected * (1.0 - expected) * (1.0 / n + 1.0 / others.number()?);
        checks.number(&long_run, share, APART * variance.sqrt())?;
        Ok(Some(share))
    }

    /// The coverage where an estimated variance is taken for known, from the F distribution; every channel has its own
    /// variance, or there is but one channel.
    fn with_normal_factors(&self, design: &Design) -> Option<f64> {
        let channels = design.channels.len();
        let runs = design.mounted.len();
        let degrees = match design.noise {
            Noise::Known => return None,
            Noise::Repeats => 2 * runs * (design.repeats - 1),
            Noise::Residuals => 2 * (runs - 1 - design.planes),
        };
        if design.common && channels > 1 {
            return None;
        }
        #[allow(clippy::cast_precision_loss)] // counts
        let (nu, boxes) = (
            degrees as f64,
            match self.target {
                Target::Correction => channels as f64,
                _ => 1.0,
            },
        );
        // P(T ≤ c²) = 1 − (1 + c²/ν)^(−ν/2) for T/2 of F(2, ν), with c² = −2 ln(1 − γ), γ = 0.95^(1/K).
        let factor = -2.0 * (1.0 - CONFIDENCE.powf(1.0 / boxes)).ln();
        Some((1.0 - (1.0 + factor / nu).powf(-0.5 * nu)).powf(boxes))
    }
}

impl Realisation {
    /// The numbers of the first realisation.
    fn check(
        &self,
        case: &Case<'_>,
        checks: &mut Checks,
        design: &Design,
        targets: &[Target],
    ) -> Result<(), Problem> {
        let want = case.expected.get("first_realisation")?;
        let numbers = case.tolerance.get("numbers_rel")?.number()?;
        let within = case.tolerance.get("cov_rel")?.number()?;
        let (channels, planes) = (design.channels.len(), design.planes);

        let (mut as_found, mut influence, mut of_influence) = (Vec::new(), Vec::new(), Vec::new());
        for channel in 0..channels {
            as_found.push(self.uncertainty.as_found(channel)?.value().complex());
            for plane in 0..planes {
                let estimate = self.uncertainty.influence(channel, plane)?;
                influence.push(estimate.value().complex());
                of_influence.push(estimate.covariance());
            }
        }
        check_vectors(checks, &want.get("v0")?, &as_found, numbers)?;
        check_vectors(checks, &want.get("H")?, &influence, numbers)?;
        let mut wanted = Vec::new();
        for row in want.get("H_cov")?.items()? {
            wanted.extend(row.items()?);
        }
        check_blocks(checks, &wanted, &of_influence, within)?;

        let next = self.uncertainty.vibration_with(&design.stated)?;
        let values: Vec<Complex64> = next.iter().map(|next| next.value().complex()).collect();
        check_vectors(checks, &want.get("next")?, &values, numbers)?;
        let covariances: Vec<[[f64; 2]; 2]> = next.iter().map(Estimate::covariance).collect();
        check_blocks(checks, &want.get("next_cov")?.items()?, &covariances, within)?;

        let field = want.get("noise_variance_per_component")?;
        match &self.variances {
            None => checks.demand(&field, field.is_null(), &"null", &"variances"),
            Some(variances) => {
                checks.count(&field, field.items()?.len(), variances.len());
                for (want, got) in field.items()?.iter().zip(variances) {
                    checks.number(want, *got, within * want.number()?)?;
                }
            }
        }
        let (degrees, factor) = (want.get("noise_dof")?, want.get("region_factor_squared_2d")?);
        for channel in 0..channels {
            let got = self.degrees(channel)?;
            let known = got == DegreesOfFreedom::Known;
            checks.optional(&degrees, (!known).then(|| got.count()), 0.0)?;
            checks.number(&factor, got.squared_factor(2, CONFIDENCE), numbers * factor.number()?)?;
        }
        let field = want.get("correction_test_over_limit_at_truth")?;
        let region = self.uncertainty.correction_region(CONFIDENCE)?;
        let got = region.statistic_over_limit(&design.truth.correction)?;
        // A square of small differences over a variance: as close as that.
        checks.number(&field, got, within * field.number()?)?;
        self.check_correction(checks, &want, targets, [numbers, within])
    }

    /// The correction and its covariance; `null` in a case that does not ask for first order.
    fn check_correction(
        &self,
        checks: &mut Checks,
        want: &Node<'_>,
        targets: &[Target],
        [numbers, within]: [f64; 2],
    ) -> Result<(), Problem> {
        let (value, covariance) = (want.get("correction")?, want.get("correction_cov_re_then_im")?);
        if !targets.contains(&Target::FirstOrder) {
            for field in [value, covariance] {
                checks.demand(&field, field.is_null(), &"null", &"numbers");
            }
            return Ok(());
        }
        let correction = self.uncertainty.correction(&[])?;
        let total: Vec<Complex64> = correction.total().iter().map(|total| total.value().complex()).collect();
        check_vectors(checks, &value, &total, numbers)?;
        // re of all planes, then im.
        let (planes, size) = (total.len(), 2 * total.len());
        let got = rows_of(&correction, size, |at| 2 * (at % planes) + at / planes)?;
        let wanted = covariance.items()?;
        checks.count(&covariance, wanted.len(), size);
        let mut scale = 0.0_f64;
        for (at, row) in wanted.iter().enumerate() {
            scale = scale.max(row.numbers()?.get(at).copied().unwrap_or(f64::NAN));
        }
        for (row, got) in wanted.iter().zip(&got) {
            checks.numbers(row, got, within * scale)?;
        }
        Ok(())
    }
}

/// Compares `{"re", "im"}` of lists in the size of the largest vector.
fn check_vectors(
    checks: &mut Checks,
    want: &Node<'_>,
    got: &[Complex64],
    relative: f64,
) -> Result<(), Problem> {
    let tolerance = relative * largest(complexes(want)?);
    for (part, of) in [("re", (|z| z.re) as fn(&Complex64) -> f64), ("im", |z| z.im)] {
        let mut wanted = Vec::new();
        for item in want.get(part)?.items()? {
            match item.items() {
                Ok(items) => wanted.extend(items),
                Err(_) => wanted.push(item),
            }
        }
        checks.demand_also(want.path(), wanted.len() == got.len(), &got.len(), &wanted.len());
        for (want, got) in wanted.iter().zip(got) {
            checks.number(want, of(got), tolerance)?;
        }
    }
    Ok(())
}

/// Compares 2x2 covariances, each in the scale of its larger variance.
fn check_blocks(
    checks: &mut Checks,
    want: &[Node<'_>],
    got: &[[[f64; 2]; 2]],
    relative: f64,
) -> Result<(), Problem> {
    checks.demand_also("covariances", want.len() == got.len(), &got.len(), &want.len());
    for (want, got) in want.iter().zip(got) {
        let rows = want.items()?;
        let mut scale = 0.0_f64;
        for row in &rows {
            scale = row.numbers()?.into_iter().fold(scale, f64::max);
        }
        checks.count(want, rows.len(), got.len());
        for (row, got) in rows.iter().zip(got) {
            checks.numbers(row, got, relative * scale)?;
        }
    }
    Ok(())
}
