//! One case of a file, and what all groups read from it: conventions, tolerances, channels, runs.

use std::path::Path;

use counterpoise::{
    Channel, Convention, Detector, Mass, PhaseSense, Radius, Reading, RotorSense, Run, Speed, SpeedWindow,
    UnbalanceVector, VibrationScale, VibrationUnit, Weight,
};
use num_complex::Complex64;
use serde_json::Value;

use crate::checks::Checks;
use crate::node::{Node, Polar, Problem};

/// A case: its conventions, its inputs, what is expected, and how closely.
#[derive(Debug)]
pub(crate) struct Case<'a> {
    pub(crate) group: &'a str,
    /// The folder of the file: records beside it are named from there.
    pub(crate) folder: &'a Path,
    pub(crate) inputs: Node<'a>,
    pub(crate) expected: Node<'a>,
    pub(crate) tolerance: Node<'a>,
    conventions: Option<Node<'a>>,
}

impl<'a> Case<'a> {
    pub(crate) fn new(value: &'a Value, folder: &'a Path) -> Result<Self, Problem> {
        let case = Node::root("case", value);
        let part = |key: &str| {
            let value = value.get(key).ok_or_else(|| format!("case has no member {key}"))?;
            Ok::<_, Problem>(Node::root(key, value))
        };
        Ok(Self {
            group: case.get("group")?.text()?,
            folder,
            inputs: part("inputs")?,
            expected: part("expected")?,
            tolerance: part("tolerance")?,
            conventions: part("conventions").ok(),
        })
    }

    fn convention_of(&self, key: &str) -> Result<&'a str, Problem> {
        self.conventions.as_ref().ok_or("case has no member conventions")?.get(key)?.text()
    }

    pub(crate) fn phase_sense(&self) -> Result<PhaseSense, Problem> {
        match self.convention_of("phase")? {
            "lag_deg_pulse_to_next_positive_peak" => Ok(PhaseSense::Lag),
            "argument_of_complex_amplitude_deg" => Ok(PhaseSense::Lead),
            other => Err(format!("conventions.phase {other} is not known").into()),
        }
    }

    pub(crate) fn rotor_sense(&self) -> Result<RotorSense, Problem> {
        match self.convention_of("rotor_angle_direction")? {
            "with_rotation" => Ok(RotorSense::WithRotation),
            "against_rotation" => Ok(RotorSense::AgainstRotation),
            other => Err(format!("conventions.rotor_angle_direction {other} is not known").into()),
        }
    }

    /// Whether the case says in which sense its rotor angles are counted. Amplitudes alone give the same printed answer
    /// in either, and some such cases do not say.
    pub(crate) fn says_rotor_sense(&self) -> bool {
        self.convention_of("rotor_angle_direction").is_ok()
    }

    pub(crate) fn convention(&self) -> Result<Convention, Problem> {
        Ok(Convention { phase: self.phase_sense()?, rotor: self.rotor_sense()? })
    }

    pub(crate) fn vibration_unit(&self) -> Result<VibrationUnit, Problem> {
        vibration_unit(self.convention_of("vibration_unit")?)
    }

    /// A number of the tolerance, 0 where it is not given.
    pub(crate) fn tolerance_of(&self, key: &str) -> Result<f64, Problem> {
        self.tolerance.given(key).map_or(Ok(0.0), |node| node.number())
    }
}

/// A unit such as `in/s_pk`, `um_pk-pk` or `g_rms`: scale, underscore, detector.
pub(crate) fn vibration_unit(name: &str) -> Result<VibrationUnit, Problem> {
    let unknown = || format!("vibration unit {name} is not known");
    let (scale, detector) = name.rsplit_once('_').ok_or_else(unknown)?;
    let detector = match detector {
        "pk" => Detector::Peak,
        "pk-pk" => Detector::PeakToPeak,
        "rms" => Detector::Rms,
        _ => return Err(unknown().into()),
    };
    // The files write g for the unit of gravity.
    let symbol = if scale == "g" { "g_n" } else { scale };
    let scale = VibrationScale::ALL.iter().find(|scale| scale.symbol() == symbol).ok_or_else(unknown)?;
    Ok(VibrationUnit::new(*scale, detector))
}

/// The stated radius as the unit of length: the files work per gram at the radius of the plane, so a weight of m g makes
/// m g mm at 1 mm, influence coefficients per gram are per g mm, and masses come back as they went in.
pub(crate) fn stated_radius() -> Result<Radius, Problem> {
    Ok(Radius::from_millimetres(1.0)?)
}

/// The unbalance of `{"mass_g", "deg"}`, at the stated radius.
pub(crate) fn unbalance(node: &Node<'_>, convention: Convention) -> Result<UnbalanceVector, Problem> {
    let Polar { amount, degrees } = node.polar("mass_g", "deg")?;
    Ok(convention.weight(Mass::from_grams(amount)?, stated_radius()?, degrees)?.unbalance())
}

/// The sum, plane by plane, of a list of `{"plane", "mass_g", "deg"}`.
pub(crate) fn unbalances(
    list: &Node<'_>,
    planes: usize,
    convention: Convention,
) -> Result<Vec<UnbalanceVector>, Problem> {
    let mut sums = vec![UnbalanceVector::ZERO; planes];
    for node in list.items()? {
        let plane = node.get("plane")?.index()?;
        let sum = sums.get_mut(plane).ok_or_else(|| format!("{} names a plane too many", node.path()))?;
        *sum = *sum + unbalance(&node, convention)?;
    }
    Ok(sums)
}

/// Mass in grams and angle in the case's own sense of an unbalance at the stated radius.
pub(crate) fn printed(unbalance: UnbalanceVector, rotor: RotorSense) -> Result<Polar, Problem> {
    let Weight { mass, angle, .. } = unbalance.weight_at(stated_radius()?);
    Ok(Polar { amount: mass.grams(), degrees: angle.in_sense(rotor).degrees() })
}

/// Compares unbalances, one per plane, with a list of `{"plane", "mass_g", "deg"}`: as vectors, in the printed sense.
/// A plane that the list leaves out carries nothing, one that it names more often carries the sum.
pub(crate) fn check_unbalances(
    checks: &mut Checks,
    list: &Node<'_>,
    got: &[UnbalanceVector],
    rotor: RotorSense,
    tolerance: f64,
) -> Result<(), Problem> {
    let items = list.items()?;
    let named: Vec<usize> =
        items.iter().map(|item| item.get("plane")?.index()).collect::<Result<_, Problem>>()?;
    checks.demand(list, named.iter().all(|plane| *plane < got.len()), &got.len(), &"planes enough");
    for (plane, unbalance) in got.iter().enumerate() {
        let of_plane: Vec<&Node<'_>> =
            items.iter().zip(&named).filter(|(_, named)| **named == plane).map(|(item, _)| item).collect();
        let got = printed(*unbalance, rotor)?;
        for item in &of_plane {
            checks.index(&item.get("plane")?, plane)?;
        }
        if let [item] = of_plane.as_slice() {
            checks.polar(item, ("mass_g", "deg"), got, tolerance)?;
            continue;
        }
        let mut rest = got.vector();
        for item in &of_plane {
            rest -= item.polar("mass_g", "deg")?.vector();
        }
        for field in of_plane.iter().flat_map(|item| [item.get("mass_g"), item.get("deg")]) {
            checks.demand(&field?, rest.norm() <= tolerance, &got, &"the sum of the entries of the plane");
        }
        let field = format!("{}, plane {plane}", list.path());
        checks.demand_also(&field, rest.norm() <= tolerance, &got, &"the sum of its entries");
    }
    Ok(())
}

/// The channels of a case: one per row, with its sensor, speed and unit.
pub(crate) fn channels(case: &Case<'_>) -> Result<Vec<Channel>, Problem> {
    let (phase, unit) = (case.phase_sense()?, case.vibration_unit()?);
    let channel = |sensor: usize, rpm: f64, unit: VibrationUnit| -> Result<Channel, Problem> {
        let window = SpeedWindow::around_percent(Speed::from_rpm(rpm)?, 1.0)?;
        Ok(Channel::new(u16::try_from(sensor)?, unit, phase, window))
    };
    if let Some(rows) = case.inputs.given("channels") {
        let sensors = case.inputs.get("sensors")?.items()?;
        let of_row = |row: &Node<'_>| {
            let number = row.get("sensor")?.index()?;
            let unit = match sensors.get(number).and_then(|sensor| sensor.given("unit")) {
                Some(unit) => vibration_unit(unit.text()?)?,
                None => unit,
            };
            channel(number, row.get("rpm")?.number()?, unit)
        };
        return rows.items()?.iter().map(of_row).collect();
    }
    // Rows are speed-major: all sensors at the first speed, then at the next.
    let speeds = case.inputs.get("rpm")?.numbers()?;
    let rows = case.inputs.get("n_channels")?.index()?;
    let sensors = rows.checked_div(speeds.len()).ok_or("inputs.rpm is empty")?;
    if sensors * speeds.len() != rows {
        return Err(
            format!("{rows} channels are no whole number of sensors at {} speeds", speeds.len()).into()
        );
    }
    let of_speed = |&rpm: &f64| (0..sensors).map(move |sensor| channel(sensor, rpm, unit));
    speeds.iter().flat_map(of_speed).collect()
}

/// The readings of a list of `{"amp", "deg"}`, one per channel.
pub(crate) fn readings(list: &Node<'_>, channels: &[Channel]) -> Result<Vec<Reading>, Problem> {
    let items = list.items()?;
    if items.len() != channels.len() {
        return Err(
            format!("{} has {} readings of {} channels", list.path(), items.len(), channels.len()).into()
        );
    }
    let reading = |(item, channel): (&Node<'_>, &Channel)| {
        let Polar { amount, degrees } = item.polar("amp", "deg")?;
        Ok(channel.reading(amount, degrees)?)
    };
    items.iter().zip(channels).map(reading).collect()
}

/// A run with what was mounted and what was read, its readings with a weight in the fit.
pub(crate) fn run(
    node: &Node<'_>,
    channels: &[Channel],
    convention: Convention,
    weight: f64,
) -> Result<Run, Problem> {
    let mut run = Run::new(node.get("label")?.text()?);
    for mounted in node.get("weights_on_rotor")?.items()? {
        run = run.mounted(mounted.get("plane")?.index()?, unbalance(&mounted, convention)?);
    }
    for reading in readings(&node.get("readings")?, channels)? {
        run = run.reading(reading.with_weight(weight)?);
    }
    Ok(run)
}

/// The largest length among vectors; 0 for none.
pub(crate) fn largest(vectors: impl IntoIterator<Item = Complex64>) -> f64 {
    vectors.into_iter().map(Complex64::norm).fold(0.0, f64::max)
}
