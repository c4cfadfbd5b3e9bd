//! What was compared in a case: the worst deviation, and which expected fields were looked at.

use std::collections::BTreeSet;
use std::fmt::Display;

use num_complex::Complex64;

use crate::node::{Node, Polar, Problem};

/// Expected fields that say how the case was made rather than what the answer is.
fn may_go_unchecked(path: &str) -> bool {
    path.split(['.', '[']).any(|part| {
        part.starts_with("plant")
            || part.starts_with("monte_carlo")
            || part.starts_with("mc_")
            || matches!(
                part,
                // What other estimators make of a record, and the bound for the best.
                "naive_fft_bin"
                    | "reference_estimates"
                    | "cramer_rao"
                    | "digits25"
                    | "derivation"
                    | "second_route"
                    | "true_solution"
                    | "realisations_drawn_again"
            )
    })
}

/// The comparison that comes off worst.
#[derive(Debug)]
struct Deviation {
    ratio: f64,
    field: String,
    got: String,
    want: String,
}

/// All comparisons of one case.
#[derive(Debug, Default)]
pub(crate) struct Checks {
    route: &'static str,
    checked: BTreeSet<String>,
    worst: Option<Deviation>,
}

/// The verdict on a case.
#[derive(Debug)]
pub(crate) enum Verdict {
    /// Every expected field was met; the largest share of its tolerance that any of them took.
    Pass(f64),
    /// What is wrong, with the share of the tolerance.
    Fail(f64, String),
}

impl Checks {
    /// Names the way by which the answers that follow were found, for the message of a failure.
    pub(crate) fn by(&mut self, route: &'static str) {
        self.route = route;
    }

    fn compare(&mut self, field: &str, error: f64, tolerance: f64, got: &dyn Display, want: &dyn Display) {
        // An answer that is met exactly is met at any tolerance; what is not a number never is.
        let share = if error == 0.0 { 0.0 } else { error / tolerance };
        let ratio = if share >= 0.0 { share } else { f64::INFINITY };
        if self.worst.as_ref().is_none_or(|worst| ratio > worst.ratio) {
            let field = match self.route {
                "" => field.to_owned(),
                route => format!("{field} by {route}"),
            };
            self.worst = Some(Deviation { ratio, field, got: got.to_string(), want: want.to_string() });
        }
    }

    fn tick(&mut self, node: &Node<'_>) {
        self.checked.insert(node.path().to_owned());
    }

    /// A demand that is met or not, without a tolerance.
    pub(crate) fn demand(&mut self, want: &Node<'_>, met: bool, got: &dyn Display, wanted: &dyn Display) {
        self.tick(want);
        self.compare(want.path(), if met { 0.0 } else { f64::INFINITY }, 1.0, got, wanted);
    }

    /// A demand of the group that stands in no single field.
    pub(crate) fn demand_also(&mut self, what: &str, met: bool, got: &dyn Display, wanted: &dyn Display) {
        self.compare(what, if met { 0.0 } else { f64::INFINITY }, 1.0, got, wanted);
    }

    pub(crate) fn number(&mut self, want: &Node<'_>, got: f64, tolerance: f64) -> Result<(), Problem> {
        let wanted = want.number()?;
        self.tick(want);
        self.compare(
            want.path(),
            (got - wanted).abs(),
            tolerance,
            &format!("{got:?}"),
            &format!("{wanted:?}"),
        );
        Ok(())
    }

    /// A number, or `null` where there must be none.
    pub(crate) fn optional(
        &mut self,
        want: &Node<'_>,
        got: Option<f64>,
        tolerance: f64,
    ) -> Result<(), Problem> {
        match got {
            Some(got) if !want.is_null() => self.number(want, got, tolerance)?,
            _ => self.demand(want, want.is_null() == got.is_none(), &format!("{got:?}"), &described(want)),
        }
        Ok(())
    }

    /// An angle in degrees: a whole turn is no difference.
    pub(crate) fn angle(&mut self, want: &Node<'_>, got: f64, tolerance: f64) -> Result<(), Problem> {
        let wanted = want.number()?;
        let apart = (got - wanted).rem_euclid(360.0);
        self.tick(want);
        let error = apart.min(360.0 - apart);
        self.compare(want.path(), error, tolerance, &format!("{got:?}"), &format!("{wanted:?}"));
        Ok(())
    }

    /// `{"re", "im"}` as a vector, and its length where that stands beside them as `amp`.
    pub(crate) fn complex(&mut self, want: &Node<'_>, got: Complex64, tolerance: f64) -> Result<(), Problem> {
        let wanted = want.complex()?;
        self.tick(&want.get("re")?);
        self.tick(&want.get("im")?);
        self.compare(want.path(), (got - wanted).norm(), tolerance, &got, &wanted);
        if let Some(length) = want.find("amp") {
            self.number(&length, got.norm(), tolerance)?;
        }
        Ok(())
    }

    /// A list of complex numbers, one for one.
    pub(crate) fn complexes(
        &mut self,
        want: &Node<'_>,
        got: &[Complex64],
        tolerance: f64,
    ) -> Result<(), Problem> {
        let items = want.items()?;
        self.count(want, items.len(), got.len());
        for (item, value) in items.iter().zip(got) {
            self.complex(item, *value, tolerance)?;
        }
        Ok(())
    }

    /// A list of numbers, one for one.
    pub(crate) fn numbers(&mut self, want: &Node<'_>, got: &[f64], tolerance: f64) -> Result<(), Problem> {
        let items = want.items()?;
        self.count(want, items.len(), got.len());
        for (item, value) in items.iter().zip(got) {
            self.number(item, *value, tolerance)?;
        }
        Ok(())
    }

    /// An amount and an angle under the names given, compared as vectors.
    pub(crate) fn polar(
        &mut self,
        want: &Node<'_>,
        (amount, degrees): (&str, &str),
        got: Polar,
        tolerance: f64,
    ) -> Result<(), Problem> {
        let wanted = want.polar(amount, degrees)?;
        self.tick(&want.get(amount)?);
        self.tick(&want.get(degrees)?);
        let reduced = (0.0..360.0).contains(&got.degrees);
        let error = if reduced { (got.vector() - wanted.vector()).norm() } else { f64::INFINITY };
        self.compare(want.path(), error, tolerance, &got, &wanted);
        Ok(())
    }

    pub(crate) fn flag(&mut self, want: &Node<'_>, got: bool) -> Result<(), Problem> {
        let wanted = want.flag()?;
        self.demand(want, got == wanted, &got, &wanted);
        Ok(())
    }

    pub(crate) fn index(&mut self, want: &Node<'_>, got: usize) -> Result<(), Problem> {
        let wanted = want.index()?;
        self.demand(want, got == wanted, &got, &wanted);
        Ok(())
    }

    /// A list of indices, one for one.
    pub(crate) fn indices(&mut self, want: &Node<'_>, got: &[usize]) -> Result<(), Problem> {
        let items = want.items()?;
        self.count(want, items.len(), got.len());
        for (item, value) in items.iter().zip(got) {
            self.index(item, *value)?;
        }
        Ok(())
    }

    /// The length of a list; an empty list is thereby checked.
    pub(crate) fn count(&mut self, want: &Node<'_>, wanted: usize, got: usize) {
        self.demand(want, wanted == got, &format_args!("{got} entries"), &format_args!("{wanted} entries"));
    }

    /// Whether everything expected was looked at and met.
    pub(crate) fn verdict(self, expected: &Node<'_>) -> Verdict {
        let mut leaves = Vec::new();
        expected.leaves(&mut leaves);
        leaves.retain(|leaf| !may_go_unchecked(leaf) && !self.checked.contains(leaf));
        if !leaves.is_empty() {
            return Verdict::Fail(f64::INFINITY, format!("expected but not checked: {}", leaves.join(", ")));
        }
        match self.worst {
            None => Verdict::Fail(f64::INFINITY, "nothing was checked".to_owned()),
            Some(Deviation { ratio, field, got, want }) if ratio > 1.0 => {
                Verdict::Fail(ratio, format!("{field}: got {got}, want {want}"))
            }
            Some(Deviation { ratio, .. }) => Verdict::Pass(ratio),
        }
    }
}

fn described(want: &Node<'_>) -> &'static str {
    if want.is_null() { "null" } else { "a number" }
}
