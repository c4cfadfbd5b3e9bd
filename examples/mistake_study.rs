//! How often a planted mistake is found, and how often nothing is accused where nothing is wrong.
//!
//! `cargo run --release --example mistake_study [JOBS]`: so many simulated jobs of each kind of mistake, and ten times as
//! many without any. Every job is counted. Whether a mistake can be found at all is computed from the readings without
//! noise, not from the answer: it counts as identifiable where every other explanation, the plain one among them, then
//! misfits by χ² of at least 100 (10 standard deviations), unless it is the same model by another name, and there are at
//! least 4 runs, each with a response of d² of at least 100. All is done twice: with the scatter known, and, with half as many
//! jobs, with one that was estimated with 8 degrees of freedom. The draws are seeded: the tables are the same every time.

// A program rounds as it likes; only the library must give the same bits. Counts here are small.
#![allow(
    clippy::disallowed_methods,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss
)]

use std::error::Error;

use counterpoise::checks::{
    Examination, Explanation, ExplanationKind, Findings, Item, Plane, Resonance, Verdict,
};
use counterpoise::{
    Channel, DegreesOfFreedom, Detector, HoleCircle, Mass, PhaseSense, Radius, Reading, RotorAngle,
    RotorSense, Scatter, Speed, SpeedWindow, Vibration, VibrationScale, VibrationUnit, Weight,
};
use num_complex::Complex64;

/// Odds and chi-square that make a mistake identifiable.
const IDENTIFIABLE_FROM: f64 = 100.0;
const DETECTABLE_FROM: f64 = 100.0;
const RPM: f64 = 2400.0;

const KINDS: [ExplanationKind; 15] = [
    ExplanationKind::NoMistake,
    ExplanationKind::WeightMirrored,
    ExplanationKind::WeightHalfTurn,
    ExplanationKind::WeightOffByHoles,
    ExplanationKind::WeightLeftOn,
    ExplanationKind::WeightNotMounted,
    ExplanationKind::MassUnit,
    ExplanationKind::PlanesExchanged,
    ExplanationKind::ChannelsExchanged,
    ExplanationKind::MarkMoved,
    ExplanationKind::OtherSpeed,
    ExplanationKind::DetectorSlip,
    ExplanationKind::UnitSlip,
    ExplanationKind::Outlier,
    ExplanationKind::SenseWrong,
];

/// The generator `SplitMix64` (G. Steele, D. Lea and C. Flood, 2014; from memory), and normal draws by the polar method.
struct Draws(u64);

impl Draws {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// In [0, 1).
    fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number below a limit.
    fn below(&mut self, limit: usize) -> usize {
        ((self.unit() * limit as f64) as usize).min(limit.saturating_sub(1))
    }

    fn pick<T: Copy>(&mut self, of: &[T]) -> Option<T> {
        of.get(self.below(of.len())).copied()
    }

    /// Both components normal with standard deviation 1.
    fn normal(&mut self) -> Complex64 {
        loop {
            let (x, y) = (self.between(-1.0, 1.0), self.between(-1.0, 1.0));
            let square = x * x + y * y;
            if square > 0.0 && square < 1.0 {
                let factor = (-2.0 * square.ln() / square).sqrt();
                return Complex64::new(x * factor, y * factor);
            }
        }
    }

    fn on_circle(&mut self, radius: f64) -> Complex64 {
        Complex64::from_polar(radius, self.between(0.0, std::f64::consts::TAU))
    }
}

/// A job as it is stated, and the machine behind it.
struct Plan {
    channels: Vec<Channel>,
    planes: Vec<Plane>,
    resonance: Resonance,
    /// Plane and stated weight.
    items: Vec<(usize, Weight)>,
    /// Run by run, the items on, by number.
    runs: Vec<Vec<usize>>,
    as_found: Vec<Complex64>,
    /// Channel by channel, per g mm.
    influence: Vec<Vec<Complex64>>,
    sigma: f64,
}

impl Plan {
    fn draw(draws: &mut Draws) -> Result<Self, Box<dyn Error>> {
        let (planes, channels) = draws.pick(&[(1, 1), (1, 2), (1, 4), (2, 2), (2, 4)]).unwrap_or((1, 1));
        let runs = if planes == 1 { 3 + draws.below(5) } else { 4 + draws.below(5) };
        let phase = draws.pick(&[PhaseSense::Lag, PhaseSense::Lead]).unwrap_or(PhaseSense::Lag);
        let rotor = draws.pick(&[RotorSense::WithRotation, RotorSense::AgainstRotation]);
        let rotor = rotor.unwrap_or(RotorSense::WithRotation);
        let unit = VibrationUnit::new(VibrationScale::InchPerSecond, Detector::Peak);
        let window = SpeedWindow::around_percent(Speed::from_rpm(RPM)?, 1.0)?;
        let channel = |sensor| Channel::new(sensor, unit, phase, window);
        let resonance =
            Resonance::new(Speed::from_rpm(RPM * draws.between(0.75, 1.4))?, draws.between(0.04, 0.1))?;
        let mut rings = Vec::new();
        for _ in 0..planes {
            let holes = draws.pick(&[12, 16, 20, 24]).unwrap_or(12);
            rings.push(HoleCircle::new(holes, RotorAngle::MARK, rotor)?);
        }
        let radius = Radius::from_millimetres(150.0)?;
        // 0.5 in/s as found, 10 g do as much; half as much across planes.
        let as_found = (0..channels).map(|_| {
            let amplitude = draws.between(0.2, 0.8);
            draws.on_circle(amplitude)
        });
        let as_found: Vec<Complex64> = as_found.collect();
        let mut influence = Vec::new();
        for channel in 0..usize::from(channels) {
            let mut row = Vec::new();
            for plane in 0..planes {
                let near = if planes == 1 || channel % 2 == plane { 1.0 } else { draws.between(0.2, 0.6) };
                row.push(draws.on_circle(near * 0.5 / 1500.0));
            }
            influence.push(row);
        }
        let mut plan = Self {
            channels: (0..channels).map(channel).collect(),
            planes: rings.iter().map(|ring| Plane::new().with_holes(*ring).at_radius(radius)).collect(),
            resonance,
            items: Vec::new(),
            runs: vec![Vec::new()],
            as_found,
            influence,
            sigma: draws.between(0.003, 0.02),
        };
        for run in 1..runs {
            // What stays on from the run before, and one or two pieces more.
            let mut on: Vec<usize> = plan.runs.last().cloned().unwrap_or_default();
            on.retain(|_| draws.unit() < 0.5);
            let pieces = if planes == 2 && draws.unit() < 0.4 { 2 } else { 1 };
            for piece in 0..pieces {
                let plane = (run + piece) % planes;
                let ring = rings.get(plane).copied().ok_or("no ring")?;
                let hole = draws.below(usize::from(ring.count()));
                let angle = ring.place(u16::try_from(hole)?).ok_or("no hole")?;
                plan.items
                    .push((plane, Weight::new(Mass::from_grams(draws.between(4.0, 20.0))?, radius, angle)));
                on.push(plan.items.len() - 1);
            }
            plan.runs.push(on);
        }
        Ok(plan)
    }

    /// The job with some readings, the stated weights, and the items by number.
    fn job(
        &self,
        readings: &[Vec<Complex64>],
        scatter: Scatter,
    ) -> Result<(Examination, Vec<Item>), Box<dyn Error>> {
        let mut job = Examination::new(&self.channels, &self.planes)?.with_resonance(self.resonance);
        let mut items = Vec::new();
        for (plane, weight) in &self.items {
            items.push(job.add_item(*plane, *weight)?);
        }
        for (on, row) in self.runs.iter().zip(readings) {
            let on: Vec<Item> = on.iter().filter_map(|number| items.get(*number).copied()).collect();
            let read = |(channel, value): (&Channel, &Complex64)| -> Result<Reading, Box<dyn Error>> {
                let vibration = Vibration::from_components(value.re, value.im)?;
                Ok(channel.reading_of(vibration).with_scatter(scatter))
            };
            let row: Vec<Reading> = self.channels.iter().zip(row).map(read).collect::<Result<_, _>>()?;
            job.add_run(&on, &row)?;
        }
        Ok((job, items))
    }

    /// What is stated where the mistake was made: written down here a second time, beside the library's own model.
    fn readings(&self, mistake: &Mistake) -> Vec<Vec<Complex64>> {
        let mut readings = Vec::new();
        for run in 0..self.runs.len() {
            let mut row = Vec::new();
            for (channel, as_found) in self.as_found.iter().enumerate() {
                let mut value = *as_found;
                for (number, (plane, weight)) in self.items.iter().enumerate() {
                    if let Some((plane, unbalance)) = self.really(mistake, run, number, *plane, *weight) {
                        let h = self.influence.get(channel).and_then(|row| row.get(plane));
                        value += h.copied().unwrap_or_default() * unbalance;
                    }
                }
                row.push(value * self.gain(mistake, run, channel));
            }
            if let Mistake::ChannelsExchanged { run: at, one, other } = *mistake {
                if at == run {
                    row.swap(one, other);
                }
            }
            if let Mistake::Outlier { run: at, channel, by } = *mistake {
                if let (true, Some(value)) = (at == run, row.get_mut(channel)) {
                    *value += by;
                }
            }
            readings.push(row);
        }
        readings
    }

    fn really(
        &self,
        mistake: &Mistake,
        run: usize,
        number: usize,
        plane: usize,
        weight: Weight,
    ) -> Option<(usize, Complex64)> {
        let first = self.runs.iter().position(|on| on.contains(&number))?;
        let mut on = self.runs.get(run).is_some_and(|on| on.contains(&number));
        let unbalance = weight.unbalance().complex();
        let (mut plane, mut really) = (plane, unbalance);
        match *mistake {
            Mistake::Mirrored { item } if item == number => really = unbalance.conj(),
            Mistake::SenseWrong => really = unbalance.conj(),
            Mistake::HalfTurn { item } if item == number => really = -unbalance,
            Mistake::HolesOff { item, holes } if item == number => {
                let ring = self.planes.get(plane).and_then(Plane::holes)?;
                let sign = if ring.sense() == RotorSense::WithRotation { 1.0 } else { -1.0 };
                let turn = sign * f64::from(holes) * std::f64::consts::TAU / f64::from(ring.count());
                really = unbalance * Complex64::from_polar(1.0, turn);
            }
            Mistake::LeftOn { item } if item == number => on |= run >= first,
            Mistake::NotMounted { item } if item == number => on = false,
            Mistake::Ounces { item } if item == number => really = unbalance * 28.349_523_125,
            Mistake::PlanesExchanged { run: at } if at == first => plane = 1 - plane,
            _ => {}
        }
        on.then_some((plane, really))
    }

    fn gain(&self, mistake: &Mistake, run: usize, channel: usize) -> Complex64 {
        let real = |gain: f64| Complex64::new(gain, 0.0);
        match *mistake {
            Mistake::MarkMoved { run: at, degrees } if run >= at => {
                let lag = self.channels.get(channel).is_some_and(|c| c.phase_sense() == PhaseSense::Lag);
                Complex64::from_polar(1.0, if lag { -degrees } else { degrees }.to_radians())
            }
            Mistake::OtherSpeed { run: at, rpm } if run == at => {
                let (nc, zeta) = (self.resonance.critical_speed().rpm(), self.resonance.damping_ratio());
                let rho = |n: f64| real(n * n * n) / Complex64::new(nc * nc - n * n, 2.0 * zeta * nc * n);
                rho(rpm) / rho(RPM)
            }
            Mistake::Slip { run: at, factor } if run == at => real(factor),
            _ => real(1.0),
        }
    }

    /// The largest d² of a response: the change from as found over its scatter, over all channels.
    fn detectability(&self, clean: &[Vec<Complex64>]) -> f64 {
        let d2 = |row: &Vec<Complex64>| {
            row.iter().zip(&self.as_found).map(|(v, v0)| (v - v0).norm_sqr()).sum::<f64>()
                / (2.0 * self.sigma.powi(2))
        };
        clean.iter().skip(1).map(d2).fold(f64::INFINITY, f64::min)
    }

    /// A mistake of a kind; `None` where the job does not allow it.
    fn mistake(&self, kind: ExplanationKind, draws: &mut Draws) -> Option<Mistake> {
        let item = draws.below(self.items.len());
        let run = draws.below(self.runs.len());
        Some(match kind {
            ExplanationKind::NoMistake => Mistake::None,
            ExplanationKind::WeightMirrored => Mistake::Mirrored { item },
            ExplanationKind::WeightHalfTurn => Mistake::HalfTurn { item },
            ExplanationKind::WeightOffByHoles => {
                Mistake::HolesOff { item, holes: draws.pick(&[-3, -2, -1, 1, 2, 3])? }
            }
            ExplanationKind::WeightLeftOn => {
                let last = self.runs.last()?;
                let off: Vec<usize> = (0..self.items.len()).filter(|item| !last.contains(item)).collect();
                Mistake::LeftOn { item: draws.pick(&off)? }
            }
            ExplanationKind::WeightNotMounted => Mistake::NotMounted { item },
            ExplanationKind::MassUnit => Mistake::Ounces { item },
            ExplanationKind::PlanesExchanged if self.planes.len() == 2 => {
                Mistake::PlanesExchanged { run: 1 + draws.below(self.runs.len() - 1) }
            }
            ExplanationKind::ChannelsExchanged if self.channels.len() > 1 => {
                let one = draws.below(self.channels.len());
                let step = 1 + draws.below(self.channels.len() - 1);
                Mistake::ChannelsExchanged { run, one, other: (one + step) % self.channels.len() }
            }
            ExplanationKind::MarkMoved => {
                let size = draws.between(5.0, 120.0) * draws.pick(&[-1.0, 1.0])?;
                Mistake::MarkMoved { run: 1 + draws.below(self.runs.len() - 1), degrees: size }
            }
            ExplanationKind::OtherSpeed => {
                let off = draws.between(0.03, 0.17) * draws.pick(&[-1.0, 1.0])?;
                Mistake::OtherSpeed { run, rpm: RPM * (1.0 + off) }
            }
            ExplanationKind::DetectorSlip => {
                Mistake::Slip { run, factor: draws.pick(&[2.0, std::f64::consts::FRAC_1_SQRT_2])? }
            }
            ExplanationKind::UnitSlip => Mistake::Slip { run, factor: 25.4 },
            ExplanationKind::Outlier => {
                let size = self.sigma * draws.between(15.0, 80.0);
                Mistake::Outlier { run, channel: draws.below(self.channels.len()), by: draws.on_circle(size) }
            }
            ExplanationKind::SenseWrong => Mistake::SenseWrong,
            _ => return None,
        })
    }
}

/// A planted mistake. Items and runs by number.
#[derive(Debug, Clone, Copy)]
enum Mistake {
    None,
    Mirrored { item: usize },
    HalfTurn { item: usize },
    HolesOff { item: usize, holes: i8 },
    LeftOn { item: usize },
    NotMounted { item: usize },
    Ounces { item: usize },
    PlanesExchanged { run: usize },
    ChannelsExchanged { run: usize, one: usize, other: usize },
    MarkMoved { run: usize, degrees: f64 },
    OtherSpeed { run: usize, rpm: f64 },
    Slip { run: usize, factor: f64 },
    Outlier { run: usize, channel: usize, by: Complex64 },
    SenseWrong,
}

impl Mistake {
    /// Whether an explanation names this mistake; continuous parameters are not compared.
    fn is(&self, explanation: &Explanation) -> bool {
        match (*self, *explanation) {
            (Self::None, Explanation::NoMistake) | (Self::SenseWrong, Explanation::SenseWrong) => true,
            (Self::Mirrored { item }, Explanation::WeightMirrored { item: found })
            | (Self::HalfTurn { item }, Explanation::WeightHalfTurn { item: found })
            | (Self::LeftOn { item }, Explanation::WeightLeftOn { item: found, .. })
            | (Self::NotMounted { item }, Explanation::WeightNotMounted { item: found })
            | (Self::Ounces { item }, Explanation::MassUnit { item: found, .. }) => found.number() == item,
            (Self::HolesOff { item, holes }, Explanation::WeightOffByHoles { item: found, holes: by }) => {
                found.number() == item && by == holes
            }
            (Self::PlanesExchanged { run }, Explanation::PlanesExchanged { run: found, .. })
            | (Self::MarkMoved { run, .. }, Explanation::MarkMoved { run: found, .. })
            | (Self::OtherSpeed { run, .. }, Explanation::OtherSpeed { run: found, .. }) => run == found,
            (Self::Slip { run, factor }, Explanation::DetectorSlip { run: found, detector }) => {
                run == found && (factor == 2.0) == (detector == Detector::PeakToPeak) && factor < 3.0
            }
            (Self::Slip { run, factor }, Explanation::UnitSlip { run: found, .. }) => {
                run == found && factor > 3.0
            }
            (
                Self::ChannelsExchanged { run, one, other },
                Explanation::ChannelsExchanged { run: found, channels },
            ) => run == found && channels == [one.min(other), one.max(other)],
            (Self::Outlier { run, channel, .. }, Explanation::Outlier { run: found, channel: at }) => {
                run == found && channel == at
            }
            _ => false,
        }
    }
}

#[derive(Default, Clone, Copy)]
struct Tally {
    jobs: usize,
    found: usize,
    wrong: usize,
    undecided: usize,
    passed_over: usize,
}

impl Tally {
    fn add(&mut self, findings: &Findings, mistake: &Mistake) {
        self.jobs += 1;
        match findings.verdict() {
            Verdict::OneStands(explanation) => {
                // Another name for the same repair is no wrong accusation.
                let named = findings.ranked().iter().find(|ranked| ranked.explanation == explanation);
                let true_one = findings.ranked().iter().find(|ranked| mistake.is(&ranked.explanation));
                let right = named.zip(true_one).is_some_and(|(a, b)| findings.same_consequence(a, b));
                if right {
                    self.found += 1;
                } else {
                    self.wrong += 1;
                }
            }
            Verdict::NothingToAccuse | Verdict::Untested => {
                if matches!(mistake, Mistake::None) {
                    self.found += 1;
                } else {
                    self.passed_over += 1;
                }
            }
            _ => self.undecided += 1,
        }
    }

    fn line(&self, name: &str) {
        let share = |count: usize| 100.0 * count as f64 / self.jobs.max(1) as f64;
        println!(
            "  {name:<20} {:>6} {:>8.1} {:>8.2} {:>10.1} {:>12.1}",
            self.jobs,
            share(self.found),
            share(self.wrong),
            share(self.undecided),
            share(self.passed_over)
        );
    }
}

/// Whether the noise-free readings leave only the true explanation, or others of the same consequence.
fn identifiable(plan: &Plan, clean: &[Vec<Complex64>], mistake: &Mistake) -> Result<bool, Box<dyn Error>> {
    if plan.runs.len() < 4 || plan.detectability(clean) < DETECTABLE_FROM {
        return Ok(false);
    }
    let (job, _) = plan.job(clean, Scatter::known(plan.sigma)?)?;
    let findings = job.examine()?;
    let Some(truth) = findings.ranked().iter().find(|ranked| mistake.is(&ranked.explanation)) else {
        return Ok(false);
    };
    let rivals = findings.ranked().iter().filter(|ranked| ranked.chi_squared < IDENTIFIABLE_FROM);
    let mut rivals = rivals.filter(|ranked| !mistake.is(&ranked.explanation));
    // Without noise, whatever fits exactly gives the same correction. Only with as many parameters is it the same model by
    // another name; a mistake that the plain model explains leaves no trace.
    let same = |rival: &counterpoise::checks::Ranked| {
        rival.explanation != Explanation::NoMistake
            && rival.parameters == truth.parameters
            && findings.same_consequence(rival, truth)
    };
    Ok(truth.degrees_of_freedom > 0 && rivals.all(same))
}

/// What is stated of the scatter: the truth, or what repeats with so many degrees of freedom would say.
#[derive(Clone, Copy)]
enum Stated {
    Known,
    Estimated { pairs: u32 },
}

impl Stated {
    fn scatter(self, sigma: f64, draws: &mut Draws) -> Result<Scatter, Box<dyn Error>> {
        Ok(match self {
            Self::Known => Scatter::known(sigma)?,
            Self::Estimated { pairs } => {
                // σ² χ²/ν, with ν = 2 for each pair of components
                let degrees = 2.0 * f64::from(pairs);
                let squares: f64 = (0..pairs).map(|_| draws.normal().norm_sqr()).sum();
                let variance = sigma * sigma * squares / degrees;
                Scatter::from_covariance(
                    [[variance, 0.0], [0.0, variance]],
                    DegreesOfFreedom::Circular(degrees),
                )?
            }
        })
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let jobs: usize = std::env::args().nth(1).map_or(Ok(1000), |text| text.parse())?;
    println!("One and two planes, 1 to 4 channels, 3 to 8 runs; shares in percent of the jobs of a line.");
    println!("\nThe scatter of the readings is known.");
    study(jobs, Stated::Known)?;
    println!("\nThe scatter was estimated, with 8 degrees of freedom.");
    study(jobs / 2, Stated::Estimated { pairs: 4 })
}

fn study(jobs: usize, stated: Stated) -> Result<(), Box<dyn Error>> {
    let mut draws = Draws(20_261_125);
    let mut tallies = [[Tally::default(); 2]; KINDS.len()];
    for (kind, tallies) in KINDS.iter().zip(&mut tallies) {
        let wanted = if *kind == ExplanationKind::NoMistake { 10 * jobs } else { jobs };
        let mut made = 0;
        while made < wanted {
            let plan = Plan::draw(&mut draws)?;
            let Some(mistake) = plan.mistake(*kind, &mut draws) else { continue };
            made += 1;
            let clean = plan.readings(&mistake);
            let can = *kind == ExplanationKind::NoMistake || identifiable(&plan, &clean, &mistake)?;
            let mut noisy = clean;
            for value in noisy.iter_mut().flatten() {
                *value += draws.normal() * plan.sigma;
            }
            let (job, _) = plan.job(&noisy, stated.scatter(plan.sigma, &mut draws)?)?;
            let [yes, no] = tallies;
            if can { yes } else { no }.add(&job.examine()?, &mistake);
        }
    }
    let heading = "                         jobs    found    wrong  undecided  passed over";
    for (at, title) in ["\nIdentifiable (and jobs without mistake)", "\nNot identifiable"].iter().enumerate()
    {
        println!("{title}\n{heading}");
        let mut all = Tally::default();
        for (kind, tallies) in KINDS.iter().zip(&tallies) {
            let Some(tally) = tallies.get(at) else { continue };
            if *kind == ExplanationKind::NoMistake {
                if at == 0 {
                    tally.line("no mistake");
                }
                continue;
            }
            tally.line(&format!("{kind:?}"));
            all.jobs += tally.jobs;
            all.found += tally.found;
            all.wrong += tally.wrong;
            all.undecided += tally.undecided;
            all.passed_over += tally.passed_over;
        }
        all.line("all mistakes");
    }
    Ok(())
}
