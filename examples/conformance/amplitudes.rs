//! The one place where group file `nonphase` meets the library: readings in, and the answer in the terms of the file.

use counterpoise::without_phase::{self, Outcome, Solution};
use counterpoise::{Angle, Mass, RotorSense, Weight};

use crate::case::{printed, stated_radius};
use crate::node::{Polar, Problem};

/// A trial run: its weight, alone on the rotor, and the amplitude it gave.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Trial {
    pub(crate) grams: f64,
    pub(crate) degrees: f64,
    pub(crate) amplitude: f64,
}

/// A linear rotor that shows the amplitudes, exactly or as nearly as one can.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    /// In grams and in degrees of the sense of the trial angles.
    pub(crate) correction: Polar,
    /// A0, as fitted.
    pub(crate) as_found: f64,
    /// |H|.
    pub(crate) effect_per_gram: f64,
    /// arg H − arg v0.
    pub(crate) delta_degrees: f64,
    /// Measured less model: as found, then the trials.
    pub(crate) residuals: Vec<f64>,
    pub(crate) sum_squares: f64,
    pub(crate) rms: f64,
}

/// The solution of the squared amplitudes, which is linear.
#[derive(Debug, Clone)]
pub(crate) struct ClosedForm {
    pub(crate) a_per_gram_squared: f64,
    pub(crate) effect_per_gram_from_a: Option<f64>,
    pub(crate) effect_per_gram_from_pq: f64,
    pub(crate) inconsistency_ratio: Option<f64>,
    pub(crate) delta_degrees: f64,
    pub(crate) correction: Option<Polar>,
}

/// What amplitudes alone can say.
#[derive(Debug, Clone)]
pub(crate) enum Answer {
    Found {
        /// All rotors that fit alike.
        fits: Vec<Fit>,
        unique: bool,
        /// Why there is more than one.
        reason: Option<String>,
        closed_form: Option<ClosedForm>,
        /// Sums of squares of other local minima that are rotors,
        next_minima: Vec<f64>,
        /// and of those that are none, with a negative amplitude as found.
        mirages: Vec<f64>,
    },
    /// Nothing is determined: a continuum of rotors fits, or none on which the weights act.
    Undetermined,
    /// No linear rotor shows such readings.
    Impossible { closed_form: Option<ClosedForm> },
}

/// Asks the library.
pub(crate) fn ask(as_found: f64, trials: &[Trial], rotor: RotorSense) -> Result<Answer, Problem> {
    let radius = stated_radius()?;
    let mut mounted = Vec::new();
    for trial in trials {
        let weight = Weight::new(Mass::from_grams(trial.grams)?, radius, rotor.degrees(trial.degrees)?);
        mounted.push(without_phase::Trial { unbalance: weight.unbalance(), amplitude: trial.amplitude });
    }
    let closed =
        |closed: Option<without_phase::ClosedForm>| closed.map(|form| closed_form(&form, rotor)).transpose();
    Ok(match without_phase::solve(&[as_found], &mounted)? {
        Outcome::Unique { solution, next_best, spurious_minima, closed_form } => Answer::Found {
            fits: vec![fit(&solution, rotor)?],
            unique: true,
            reason: None,
            closed_form: closed(closed_form)?,
            next_minima: next_best.iter().map(|next| next.sum_of_squares).collect(),
            mirages: spurious_minima,
        },
        Outcome::Ambiguous { reason, solutions, .. } => Answer::Found {
            fits: solutions.iter().map(|solution| fit(solution, rotor)).collect::<Result<_, _>>()?,
            unique: false,
            reason: Some(reason.to_string()),
            closed_form: None,
            next_minima: Vec::new(),
            mirages: Vec::new(),
        },
        Outcome::Impossible { closed_form, .. } => Answer::Impossible { closed_form: closed(closed_form)? },
        _ => Answer::Undetermined,
    })
}

fn fit(solution: &Solution, rotor: RotorSense) -> Result<Fit, Problem> {
    Ok(Fit {
        correction: printed(solution.correction, rotor)?,
        as_found: solution.as_found_amplitude,
        effect_per_gram: solution.influence_per_gram_millimetre,
        delta_degrees: in_own_sense(solution.response_lead, rotor),
        residuals: solution.residuals.clone(),
        sum_squares: solution.sum_of_squares,
        rms: solution.rms_residual,
    })
}

fn closed_form(form: &without_phase::ClosedForm, rotor: RotorSense) -> Result<ClosedForm, Problem> {
    Ok(ClosedForm {
        a_per_gram_squared: form.squared_influence,
        effect_per_gram_from_a: form.influence_from_mean,
        effect_per_gram_from_pq: form.influence_from_places,
        inconsistency_ratio: form.inconsistency_ratio,
        delta_degrees: in_own_sense(form.response_lead, rotor),
        correction: form.correction.map(|correction| printed(correction, rotor)).transpose()?,
    })
}

/// δ counted in the sense of the trial angles: without phase, counting them the other way round mirrors it.
fn in_own_sense(lead: Angle, rotor: RotorSense) -> f64 {
    match rotor {
        RotorSense::WithRotation => lead.degrees(),
        RotorSense::AgainstRotation => (-lead).degrees(),
    }
}
