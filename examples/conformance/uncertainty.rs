//! File `uncertainty`: scatter of readings carried on to coefficients, corrections and residuals, to first order and by
//! draws.

use counterpoise::{
    Channel, Convention, CorrectionQuestion, Covariance, DegreesOfFreedom, Detectability, Estimate,
    Estimator, InfluenceFit, InfluenceMatrix, Mass, Repeats, Run, Scatter, Simulated, Speed, SpeedWindow,
    UnbalanceVector, Uncertainty, Vibration, Weight,
};
use num_complex::Complex64;

use crate::case::{Case, check_unbalances, largest, readings, stated_radius, unbalance, unbalances};
use crate::checks::Checks;
use crate::node::{Node, Polar, Problem};
use crate::textbook::{check_influence, largest_coefficient};

/// As many draws as the file's own simulation.
const DRAWS: usize = 1_000_000;

/// Of the draws: any seed would do.
const SEED: u64 = 20_261_125;

/// The confidence of all regions of the file.
const CONFIDENCE: f64 = 0.95;

/// The tolerances of a case.
struct Tolerances {
    first_order: f64,
    radius: f64,
    simulated: f64,
}

impl Tolerances {
    fn of(case: &Case<'_>) -> Result<Self, Problem> {
        let given = |key: &str| case.tolerance.get(key)?.number();
        Ok(Self {
            first_order: given("first_order_rel")?,
            radius: given("radius_rel")?,
            simulated: given("monte_carlo_rel")?,
        })
    }
}

/// Compares a number in its own size.
fn relative(checks: &mut Checks, want: &Node<'_>, got: f64, relative: f64) -> Result<(), Problem> {
    checks.number(want, got, relative * want.number()?.abs())
}

/// Compares a covariance in the scale of its largest variance, as the note of the tolerance says.
fn check_covariance(
    checks: &mut Checks,
    want: &Node<'_>,
    got: &dyn Fn(usize, usize) -> Option<f64>,
    relative: f64,
) -> Result<(), Problem> {
    let rows = want.items()?.iter().map(Node::items).collect::<Result<Vec<_>, Problem>>()?;
    let mut scale = 0.0_f64;
    for (at, row) in rows.iter().enumerate() {
        scale = scale.max(row.get(at).ok_or_else(|| format!("{} is not square", want.path()))?.number()?);
    }
    for (i, row) in rows.iter().enumerate() {
        for (j, entry) in row.iter().enumerate() {
            let got = got(i, j).ok_or_else(|| format!("there is nothing for {}", entry.path()))?;
            checks.number(entry, got, relative * scale)?;
        }
    }
    Ok(())
}

fn check_2x2(checks: &mut Checks, want: &Node<'_>, got: [[f64; 2]; 2], relative: f64) -> Result<(), Problem> {
    check_covariance(checks, want, &|i, j| got.get(i)?.get(j).copied(), relative)
}

/// `B(z) C B(z)ᵀ`: the covariance of z times what has the covariance C.
fn turned(z: Complex64, covariance: [[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let rows = [[z.re, -z.im], [z.im, z.re]];
    let entry = |a: [f64; 2], b: [f64; 2]| {
        let [[rr, ri], [ir, ii]] = covariance;
        a[0] * (rr * b[0] + ri * b[1]) + a[1] * (ir * b[0] + ii * b[1])
    };
    rows.map(|a| rows.map(|b| entry(a, b)))
}

/// The standard deviations of the size, and of the angle in degrees, of a vector, to first order: of the components along
/// and across it.
fn polar_deviations(value: Complex64, covariance: [[f64; 2]; 2]) -> (f64, f64) {
    // Divided by itself the vector is 1: its errors are then those along and across, over its size.
    let [[along, _], [_, across]] = turned(value.inv(), covariance);
    (along.sqrt() * value.norm(), across.sqrt().to_degrees())
}

/// Means and products about a centre near the mean, of so many components at once.
struct Moments {
    centre: Vec<f64>,
    count: f64,
    sums: Vec<f64>,
    products: Vec<f64>,
}

impl Moments {
    fn about(centre: &[Complex64]) -> Self {
        let centre: Vec<f64> = centre.iter().flat_map(|z| [z.re, z.im]).collect();
        let size = centre.len();
        Self { centre, count: 0.0, sums: vec![0.0; size], products: vec![0.0; size * size] }
    }

    fn add(&mut self, drawn: &[Complex64]) {
        self.count += 1.0;
        let components = drawn.iter().flat_map(|z| [z.re, z.im]);
        let apart: Vec<f64> = components.zip(&self.centre).map(|(drawn, centre)| drawn - centre).collect();
        for ((sum, row), a) in self.sums.iter_mut().zip(self.products.chunks_mut(apart.len())).zip(&apart) {
            *sum += a;
            for (product, b) in row.iter_mut().zip(&apart) {
                *product += a * b;
            }
        }
    }

    fn covariance(&self, i: usize, j: usize) -> Option<f64> {
        let product = self.products.get(i * self.sums.len() + j)?;
        let off = self.sums.get(i)? * self.sums.get(j)? / self.count;
        Some((product - off) / (self.count - 1.0))
    }
}

/// Groups `1plane`, `1plane_trial_uncertain` and `first_order_fails`.
pub(crate) fn one_plane(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let tolerances = Tolerances::of(case)?;
    let job = OnePlane::of(case)?;
    job.check_means(case, checks, &tolerances)?;
    job.check_first_order(case, checks, &tolerances)?;
    job.check_response(case, checks, &tolerances)?;
    job.check_draws(case, checks, &tolerances)
}

/// One plane, one channel, two runs of repeated readings.
struct OnePlane {
    convention: Convention,
    channel: Channel,
    as_found: Repeats,
    with_trial: Repeats,
    trial: Weight,
    /// Standard deviations of the trial weight: of its mass in g, of its angle in degrees.
    trial_deviations: [f64; 2],
    installed: UnbalanceVector,
    /// From the scatter of the readings alone.
    of_readings: Uncertainty,
    /// With that of the trial weight.
    uncertainty: Uncertainty,
}

/// The mean with its covariance, which the file counts as known.
fn known_scatter(repeats: &Repeats) -> Result<Scatter, Problem> {
    let covariance = repeats.covariance_of_mean().ok_or("a state was read only once")?;
    Ok(Scatter::from_covariance(covariance, DegreesOfFreedom::Known)?)
}

impl OnePlane {
    fn of(case: &Case<'_>) -> Result<Self, Problem> {
        let (inputs, convention) = (&case.inputs, case.convention()?);
        // No speed is stated.
        let window = SpeedWindow::around_percent(Speed::from_rpm(1000.0)?, 1.0)?;
        let channel = Channel::new(0, case.vibration_unit()?, convention.phase, window);
        let repeats = |key: &str| -> Result<Repeats, Problem> {
            let mut vibrations = Vec::new();
            for item in inputs.get(key)?.items()? {
                let Polar { amount, degrees } = item.polar("amp", "deg")?;
                vibrations.push(channel.reading(amount, degrees)?.vibration());
            }
            Ok(Repeats::of(&vibrations)?)
        };
        let (as_found, with_trial) = (repeats("as_found_readings")?, repeats("trial_readings")?);
        let Polar { amount, degrees } = inputs.get("trial")?.polar("mass_g", "deg")?;
        let trial = convention.weight(Mass::from_grams(amount)?, stated_radius()?, degrees)?;
        let deviations = inputs.get("trial_sd")?.polar("mass_g", "deg")?;
        let trial_deviations = [deviations.amount, deviations.degrees];

        let mut estimator = Estimator::with_known_variances(&[channel], 1)?;
        let read = |repeats: &Repeats| -> Result<_, Problem> {
            Ok(channel.reading_of(repeats.mean()).with_scatter(known_scatter(repeats)?))
        };
        estimator.add(Run::new("as found").reading(read(&as_found)?))?;
        estimator.add(Run::new("trial").mounted(0, trial).reading(read(&with_trial)?))?;
        let of_readings = Uncertainty::of(&estimator.fit()?)?;
        let [mass, angle] = trial_deviations;
        let uncertainty = if trial_deviations == [0.0; 2] {
            of_readings.clone()
        } else {
            of_readings.clone().with_weight_scatter(0, &[1], trial, Mass::from_grams(mass)?, angle)?
        };
        let installed = unbalance(&inputs.get("installed")?, convention)?;
        Ok(Self {
            convention,
            channel,
            as_found,
            with_trial,
            trial,
            trial_deviations,
            installed,
            of_readings,
            uncertainty,
        })
    }

    /// Means of both runs, their covariances and regions.
    fn check_means(
        &self,
        case: &Case<'_>,
        checks: &mut Checks,
        tolerances: &Tolerances,
    ) -> Result<(), Problem> {
        let means = case.tolerance.get("means_rel")?.number()?;
        for (name, repeats) in [("as_found", &self.as_found), ("trial", &self.with_trial)] {
            let expected = |kind: &str| case.expected.get(&format!("{kind}_{name}"));
            let (mean, tolerance) = (repeats.mean(), means * repeats.mean().amplitude());
            let want = expected("mean")?;
            checks.complex(&want.get("canonical")?, mean.complex(), tolerance)?;
            let polar = self.channel.polar(mean);
            let (amount, phase) = (polar.amplitude, polar.phase);
            let got = Polar { amount, degrees: phase.degrees() };
            checks.polar(&want.get("display")?, ("amp", "deg"), got, tolerance)?;

            let of_reading = repeats.covariance_of_reading().ok_or("no covariance of one reading")?;
            check_2x2(checks, &expected("sample_cov")?, of_reading, tolerances.first_order)?;
            let of_mean = repeats.covariance_of_mean().ok_or("no covariance of the mean")?;
            check_2x2(checks, &expected("cov_mean")?, of_mean, tolerances.first_order)?;

            let region = expected("mean_region")?;
            let axes = repeats.scatter_of_mean().ok_or("no scatter of the mean")?.semi_axes(CONFIDENCE);
            let want = region.get("hotelling_semi_axes_95")?;
            for (want, got) in want.items()?.iter().zip(axes) {
                relative(checks, want, got, tolerances.first_order)?;
            }
            let pooled = Repeats::pooled(core::slice::from_ref(repeats)).ok_or("no pooled scatter")?;
            let [radius, _] = pooled.of_mean(repeats.count()).semi_axes(CONFIDENCE);
            let want = region.get("circular_pooled_radius_95")?;
            relative(checks, &want, radius, tolerances.first_order)?;
        }
        Ok(())
    }

    fn correction(&self) -> Result<(Estimate<UnbalanceVector>, Covariance), Problem> {
        let correction = self.uncertainty.correction(&[])?;
        let total = correction.total().first().copied().ok_or("there is no plane")?;
        Ok((total, correction.covariance().clone()))
    }

    fn next(&self, mounted: UnbalanceVector) -> Result<Estimate<Vibration>, Problem> {
        Ok(self.uncertainty.vibration_with(&[mounted])?.first().copied().ok_or("there is no channel")?)
    }

    /// Coefficient, correction, residuals, and their uncertainties to first order.
    fn check_first_order(
        &self,
        case: &Case<'_>,
        checks: &mut Checks,
        tolerances: &Tolerances,
    ) -> Result<(), Problem> {
        let (expected, means) = (&case.expected, case.tolerance.get("means_rel")?.number()?);
        let want = expected.get("first_order")?;
        let within = tolerances.first_order;

        let influence = self.uncertainty.influence(0, 0)?;
        let h = influence.value().complex();
        checks.complex(&expected.get("influence")?, h, means * h.norm())?;
        check_2x2(checks, &want.get("cov_influence")?, influence.covariance(), within)?;
        let (size, angle) = polar_deviations(h, influence.covariance());
        relative(checks, &want.get("sd_influence_mag")?, size, within)?;
        relative(checks, &want.get("sd_influence_arg_deg")?, angle, within)?;

        let (total, covariance) = self.correction()?;
        let w = total.value().complex();
        let got = crate::case::printed(total.value(), self.convention.rotor)?;
        checks.polar(&expected.get("weight")?, ("mass_g", "deg"), got, means * w.norm())?;
        checks.complex(&expected.get("weight_canonical")?, w, means * w.norm())?;
        check_covariance(checks, &want.get("cov_weight")?, &|i, j| covariance.get(i, j), within)?;
        check_2x2(checks, &want.get("cov_weight")?, total.covariance(), within)?;
        let (size, angle) = polar_deviations(w, total.covariance());
        relative(checks, &want.get("sd_weight_mass")?, size, within)?;
        relative(checks, &want.get("sd_weight_angle_deg")?, angle, within)?;

        let installed = self.next(self.installed)?;
        let residual = expected.get("predicted_residual_installed")?;
        checks.complex(&residual, installed.value().complex(), means * self.as_found.mean().amplitude())?;
        check_2x2(checks, &want.get("cov_residual_installed")?, installed.covariance(), within)?;
        let radius = installed.radius(CONFIDENCE);
        relative(checks, &want.get("radius95_about_prediction_installed")?, radius, tolerances.radius)?;
        let magnitude = installed.magnitude(CONFIDENCE);
        relative(checks, &want.get("magnitude95_residual_installed")?, magnitude, tolerances.radius)?;

        // What the computed weight truly leaves is H dW. To first order that is what is not known of the vibration with
        // that weight on, with the other sign.
        let exact = self.next(total.value())?;
        let field = want.get("cov_residual_exact_weight")?;
        checks.by("the vibration with the computed weight");
        check_2x2(checks, &field, exact.covariance(), within)?;
        checks.by("the covariance of the weight");
        check_2x2(checks, &field, turned(h, total.covariance()), within)?;
        checks.by("");
        let radius = exact.radius(CONFIDENCE);
        relative(checks, &want.get("radius95_residual_exact_weight")?, radius, tolerances.radius)
    }

    /// Whether the trial weight was seen: a question to the readings, whatever the scatter of the weight.
    fn check_response(
        &self,
        case: &Case<'_>,
        checks: &mut Checks,
        tolerances: &Tolerances,
    ) -> Result<(), Problem> {
        for (route, uncertainty) in
            [("the readings alone", &self.of_readings), ("readings and weight", &self.uncertainty)]
        {
            checks.by(route);
            let response = uncertainty.trial_response(0, 0)?;
            let within = tolerances.first_order;
            let want = case.expected.get("trial_response_mahalanobis2")?;
            relative(checks, &want, response.distance_squared(), within)?;
            // p = e^(−d²/2): the relative error of p is the absolute one of d²/2.
            let spread = within * (1.0 + 0.5 * want.number()?);
            let want = case.expected.get("trial_response_p_value_no_response")?;
            relative(checks, &want, response.chance_without_response(), spread)?;
            let got = match response.detectability() {
                Detectability::NotDetectable => "not_detectable",
                Detectability::Weak => "weak",
                Detectability::Clear => "clear",
                _ => "of another class",
            };
            let want = case.expected.get("trial_response_class")?;
            checks.demand(&want, got == want.text()?, &got, &want.text()?);
        }
        checks.by("");
        Ok(())
    }

    /// Draws of vibration as found and coefficient, with what is made of them.
    ///
    /// Where the trial weight scatters it is drawn too, rather than taken to first order: mass and angle stand as the two
    /// components of one channel more.
    fn draw(&self, mut function: impl FnMut(Complex64, Complex64) -> f64) -> Result<Simulated, Problem> {
        let value = |of: Option<Complex64>| of.unwrap_or(Complex64::new(f64::NAN, f64::NAN));
        let [mass, angle] = self.trial_deviations;
        if self.trial_deviations == [0.0; 2] {
            let drawn = self.of_readings.simulated(SEED, DRAWS, |as_found, influence| {
                function(
                    value(as_found.first().map(|v| v.complex())),
                    value(influence.first().map(|h| h.complex())),
                )
            })?;
            return Ok(drawn);
        }
        let second = Channel::new(
            1,
            self.channel.unit(),
            self.channel.phase_sense(),
            SpeedWindow::around_percent(Speed::from_rpm(1000.0)?, 1.0)?,
        );
        let degrees = self.trial.angle.in_sense(self.convention.rotor).degrees();
        let weight = Vibration::from_components(self.trial.mass.grams(), degrees)?;
        let scatter =
            Scatter::from_covariance([[mass * mass, 0.0], [0.0, angle * angle]], DegreesOfFreedom::Known)?;
        let of_weight = second.reading_of(weight).with_scatter(scatter);
        let mut estimator = Estimator::with_known_variances(&[self.channel, second], 1)?;
        for (label, repeats) in [("as found", &self.as_found), ("trial", &self.with_trial)] {
            let reading = self.channel.reading_of(repeats.mean()).with_scatter(known_scatter(repeats)?);
            let mut run = Run::new(label).reading(reading).reading(of_weight);
            if label == "trial" {
                run = run.mounted(0, self.trial);
            }
            estimator.add(run)?;
        }
        let stated = self.trial.unbalance().complex();
        let sign = match self.convention.rotor {
            counterpoise::RotorSense::WithRotation => 1.0,
            counterpoise::RotorSense::AgainstRotation => -1.0,
        };
        Ok(Uncertainty::of(&estimator.fit()?)?.simulated(SEED, DRAWS, |as_found, influence| {
            let drawn = value(as_found.get(1).map(|weight| weight.complex()));
            let real = Complex64::from_polar(drawn.re, sign * drawn.im.to_radians());
            // H = (V1 − V0)/T with the weight that was really on.
            function(
                value(as_found.first().map(|v| v.complex())),
                value(influence.first().map(|h| h.complex())) * stated / real,
            )
        })?)
    }

    /// The distributions behind it, drawn.
    fn check_draws(
        &self,
        case: &Case<'_>,
        checks: &mut Checks,
        tolerances: &Tolerances,
    ) -> Result<(), Problem> {
        let (want, within) = (case.expected.get("monte_carlo")?, tolerances.simulated);
        // The file's seed belongs to its own generator: nothing to compare.
        checks.index(&want.get("samples")?, DRAWS)?;

        let (total, _) = self.correction()?;
        let (w, h) = (total.value().complex(), self.uncertainty.influence(0, 0)?.value().complex());
        let v0 = self.as_found.mean().complex();
        let on = self.installed.complex();

        let mut left = Moments::about(&[Complex64::default()]);
        let drawn = self.draw(|v, of_plane| {
            let residual = v0 - h * v / of_plane;
            left.add(&[residual]);
            residual.norm()
        })?;
        let (median, upper) = (drawn.quantile(0.5), drawn.quantile(CONFIDENCE));
        relative(checks, &want.get("residual_magnitude_q50_exact_weight")?, median, within)?;
        relative(checks, &want.get("residual_magnitude_q95_exact_weight")?, upper, within)?;
        let first_order = self.next(total.value())?;
        let ratio = median / first_order.radius(0.5);
        relative(checks, &case.expected.get("mc_over_first_order_radius50")?, ratio, within)?;
        let ratio = upper / first_order.radius(CONFIDENCE);
        relative(checks, &case.expected.get("mc_over_first_order_radius95")?, ratio, within)?;

        let mut weights = Moments::about(&[w]);
        let drawn = self.draw(|v, of_plane| {
            weights.add(&[-v / of_plane]);
            (v / of_plane).norm()
        })?;
        check_quantiles(checks, &want.get("weight_mass_quantiles_5_50_95")?, &drawn, within)?;

        let mut coefficients = Moments::about(&[h]);
        let drawn = self.draw(|_, of_plane| {
            coefficients.add(&[of_plane]);
            of_plane.norm()
        })?;
        check_quantiles(checks, &want.get("influence_magnitude_quantiles_5_50_95")?, &drawn, within)?;

        let mut next = Moments::about(&[v0 + h * on]);
        let drawn = self.draw(|v, of_plane| {
            let residual = v + of_plane * on;
            next.add(&[residual]);
            residual.norm()
        })?;
        let field = want.get("residual_installed_magnitude_q95")?;
        relative(checks, &field, drawn.quantile(CONFIDENCE), within)?;

        // A ratio of normals has no finite variance: the file gives these only where the trial was seen clearly.
        for (field, moments) in [
            ("cov_influence", &coefficients),
            ("cov_weight", &weights),
            ("cov_residual_installed", &next),
            ("cov_residual_exact_weight", &left),
        ] {
            let Some(want) = want.find(field) else { continue };
            check_covariance(checks, &want, &|i, j| moments.covariance(i, j), within)?;
        }
        Ok(())
    }
}

fn check_quantiles(
    checks: &mut Checks,
    want: &Node<'_>,
    drawn: &Simulated,
    within: f64,
) -> Result<(), Problem> {
    let shares = [0.05, 0.5, 0.95];
    checks.count(want, want.items()?.len(), shares.len());
    for (want, share) in want.items()?.iter().zip(shares) {
        relative(checks, want, drawn.quantile(share), within)?;
    }
    Ok(())
}

/// One channel per row of the first run: all sensors at the first speed, then at the next. How many sensors there are is not
/// stated, but that each was read at every speed.
fn channels_of(case: &Case<'_>) -> Result<Vec<Channel>, Problem> {
    let runs = case.inputs.get("runs")?.items()?;
    let rows = runs.first().ok_or("there is no run")?.get("readings")?.items()?.len();
    let speeds = case.inputs.get("rpm")?.numbers()?;
    let sensors = rows.checked_div(speeds.len()).ok_or("inputs.rpm is empty")?;
    let mut channels = Vec::new();
    for rpm in speeds {
        let window = SpeedWindow::around_percent(Speed::from_rpm(rpm)?, 1.0)?;
        for sensor in 0..sensors {
            let sensor = u16::try_from(sensor)?;
            channels.push(Channel::new(sensor, case.vibration_unit()?, case.phase_sense()?, window));
        }
    }
    Ok(channels)
}

/// The fit of runs whose readings state a covariance each, with what was mounted in them.
fn fit_of_runs(case: &Case<'_>, channels: &[Channel]) -> Result<InfluenceFit, Problem> {
    let convention = case.convention()?;
    let planes = case.inputs.get("planes")?.items()?.len();
    let mut estimator = Estimator::with_known_variances(channels, planes)?;
    let trials = case.inputs.get("trials")?.items()?;
    if case.inputs.get("trial_policy")?.text()? != "removed" {
        return Err("only trials that are removed again are known here".into());
    }
    for node in case.inputs.get("runs")?.items()? {
        let label = node.get("label")?.text()?;
        let mut run = Run::new(label);
        if let Some(plane) = label.strip_prefix("trial_plane_") {
            let plane: usize = plane.parse()?;
            let trial = trials.get(plane).ok_or_else(|| format!("{label} has no trial weight"))?;
            run = run.mounted(plane, unbalance(trial, convention)?);
        }
        let scatters = node.get("cov_of_mean_re_im")?.items()?;
        for (reading, scatter) in readings(&node.get("readings")?, channels)?.into_iter().zip(&scatters) {
            let mut covariance = [[0.0; 2]; 2];
            for (row, entries) in covariance.iter_mut().zip(scatter.items()?) {
                for (entry, node) in row.iter_mut().zip(entries.items()?) {
                    *entry = node.number()?;
                }
            }
            let scatter = Scatter::from_covariance(covariance, DegreesOfFreedom::Known)?;
            run = run.reading(reading.with_scatter(scatter));
        }
        estimator.add(run)?;
    }
    Ok(estimator.fit()?)
}

/// Groups `2x2` and `least_squares`.
pub(crate) fn planes(case: &Case<'_>, checks: &mut Checks) -> Result<(), Problem> {
    let (expected, convention, tolerances) = (&case.expected, case.convention()?, Tolerances::of(case)?);
    let channels = channels_of(case)?;
    let fit = fit_of_runs(case, &channels)?;
    let uncertainty = Uncertainty::of(&fit)?;
    let installed = unbalances(&case.inputs.get("installed")?, fit.influence().planes(), convention)?;
    let weights = case.inputs.given("channel_weights").map(|node| node.numbers()).transpose()?;

    // No tolerance is stated for the values themselves: that of what follows from them.
    let within = tolerances.first_order;
    let want_influence = expected.get("influence")?;
    let coefficient = |channel, plane| Some(uncertainty.influence(channel, plane).ok()?.value().complex());
    let tolerance = within * largest_coefficient(&want_influence)?;
    checks.count(&want_influence, want_influence.items()?.len(), channels.len());
    check_influence(checks, &want_influence, &coefficient, tolerance)?;

    let correction = uncertainty.correction(weights.as_deref().unwrap_or_default())?;
    let total: Vec<UnbalanceVector> = correction.total().iter().map(Estimate::value).collect();
    let canonical: Vec<Complex64> = total.iter().map(|unbalance| unbalance.complex()).collect();
    let tolerance = within * largest(canonical.iter().copied());
    check_unbalances(checks, &expected.get("weights")?, &total, convention.rotor, tolerance)?;
    checks.complexes(&expected.get("weights_canonical")?, &canonical, tolerance)?;

    let want = expected.get("first_order")?;
    let field = want.get("cov_weights_re_im_by_plane")?;
    let of_weights = |i: usize, j: usize| correction.covariance().get(i, j);
    check_covariance(checks, &field, &of_weights, within)?;
    for (plane, total) in correction.total().iter().enumerate() {
        for (i, row) in total.covariance().iter().enumerate() {
            for (j, &entry) in row.iter().enumerate() {
                let met = of_weights(2 * plane + i, 2 * plane + j) == Some(entry);
                checks.demand_also("the block of a plane", met, &entry, &"the entry of the whole");
            }
        }
    }
    let next = uncertainty.vibration_with(&installed)?;
    let scale = largest(fit.as_found().iter().map(|v| v.complex()));
    let predicted: Vec<Complex64> = next.iter().map(|next| next.value().complex()).collect();
    checks.complexes(&want.get("predicted_residual_installed")?, &predicted, within * scale)?;
    let covariances = want.get("cov_residual_installed_by_channel")?;
    let radii = want.get("radius95_about_prediction_by_channel")?;
    checks.count(&covariances, covariances.items()?.len(), next.len());
    checks.count(&radii, radii.items()?.len(), next.len());
    for ((covariance, radius), got) in covariances.items()?.iter().zip(&radii.items()?).zip(&next) {
        check_2x2(checks, covariance, got.covariance(), within)?;
        relative(checks, radius, got.radius(CONFIDENCE), tolerances.radius)?;
    }
    let draws = Draws { uncertainty: &uncertainty, weights: weights.as_deref(), installed: &installed };
    draws.check(checks, &expected.get("monte_carlo")?, &channels, &correction, &tolerances)
}

/// What is drawn in the groups with several planes or channels.
struct Draws<'a> {
    uncertainty: &'a Uncertainty,
    weights: Option<&'a [f64]>,
    installed: &'a [UnbalanceVector],
}

impl Draws<'_> {
    fn check(
        &self,
        checks: &mut Checks,
        want: &Node<'_>,
        channels: &[Channel],
        correction: &counterpoise::CorrectionEstimate,
        tolerances: &Tolerances,
    ) -> Result<(), Problem> {
        checks.index(&want.get("samples")?, DRAWS)?;
        let centre: Vec<Complex64> = correction.total().iter().map(|total| total.value().complex()).collect();
        let next = self.uncertainty.vibration_with(self.installed)?;
        let predicted: Vec<Complex64> = next.iter().map(|next| next.value().complex()).collect();
        let (mut of_weights, mut of_next) = (Moments::about(&centre), Moments::about(&predicted));
        let mut trouble = None;
        self.uncertainty.simulated(SEED, DRAWS, |as_found, influence| {
            let drawn = || -> Result<(Vec<Complex64>, Vec<Complex64>), Problem> {
                let matrix = InfluenceMatrix::new(channels, centre.len(), influence)?;
                let mut question = CorrectionQuestion::new(&matrix, as_found)?;
                if let Some(weights) = self.weights {
                    question = question.channel_weights(weights);
                }
                let weights = question.solve()?.total().iter().map(|w| w.complex()).collect();
                let effect = matrix.effect_of(self.installed)?;
                let next = as_found.iter().zip(&effect).map(|(&v, &effect)| (v + effect).complex()).collect();
                Ok((weights, next))
            };
            match drawn() {
                Ok((weights, next)) => {
                    of_weights.add(&weights);
                    of_next.add(&next);
                }
                Err(problem) => trouble = Some(problem),
            }
            0.0
        })?;
        if let Some(problem) = trouble {
            return Err(problem);
        }
        let within = tolerances.simulated;
        let field = want.get("cov_weights_re_im_by_plane")?;
        check_covariance(checks, &field, &|i, j| of_weights.covariance(i, j), within)?;
        let field = want.get("cov_residual_installed_by_channel")?;
        for (channel, want) in field.items()?.iter().enumerate() {
            let got = |i: usize, j: usize| of_next.covariance(2 * channel + i, 2 * channel + j);
            check_covariance(checks, want, &got, within)?;
        }
        // How far the draws are from first order: sampling error both here and there, so compared as a covariance is.
        let size = 2 * centre.len();
        let first_order = |i: usize, j: usize| correction.covariance().get(i, j).unwrap_or(f64::NAN);
        let scale = (0..size).map(|i| first_order(i, i)).fold(0.0, f64::max);
        let mut apart = 0.0_f64;
        for i in 0..size {
            for j in 0..size {
                let drawn = of_weights.covariance(i, j).ok_or("nothing was drawn")?;
                apart = apart.max((drawn - first_order(i, j)).abs() / scale);
            }
        }
        checks.number(&want.get("max_difference_from_first_order_rel_to_largest_diagonal")?, apart, within)
    }
}
