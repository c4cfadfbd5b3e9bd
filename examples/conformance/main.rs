//! Runs files of reference cases against the library: `cargo run --release --example conformance -- FILE...`
//!
//! A file holds cases of the reference vectors (told by its members `file` and `cases`), or instances of the placement
//! problem (told by its member `instances`). For every case a line
//!
//! ```text
//! pass|fail id worst-error/tolerance [what is wrong]
//! ```
//!
//! where the last number is the largest share of its tolerance that any expected field took. A field that is expected
//! and that the runner does not know makes the case fail. The last line alone counts: `N passed, N failed, N skipped`.
//! The exit status is 1 on any failure, and where a file cannot be read or holds no case.
//!
//! | file | holds |
//! | --- | --- |
//! | `node` | a place in the JSON file |
//! | `case` | a case, and what all groups read from it |
//! | `checks` | what was compared, and the verdict |
//! | `groups` | which function runs which group |
//! | the others | the groups |

// The runner's own arithmetic (polar to rectangular, lengths) is to be independent of the library's.
#![allow(clippy::disallowed_methods)]

mod amplitudes;
mod case;
mod checks;
mod coverage;
mod groups;
mod history;
mod holes;
mod mistakes;
mod moves;
mod node;
mod nonphase;
mod optimum;
mod placement;
mod signal;
mod singular;
mod textbook;
mod tolerance;
mod uncertainty;
mod units;

use std::path::Path;
use std::process::ExitCode;

use serde_json::Value;

use case::Case;
use checks::{Checks, Verdict};
use node::{Node, Problem};

/// How many cases came out how.
#[derive(Debug, Default)]
struct Tally {
    passed: usize,
    failed: usize,
}

impl Tally {
    /// Prints the line of a case, and counts it.
    fn add(&mut self, id: &str, verdict: &Verdict) {
        match verdict {
            Verdict::Pass(ratio) => {
                self.passed += 1;
                println!("pass {id} {ratio:.1e}");
            }
            Verdict::Fail(ratio, what) => {
                self.failed += 1;
                println!("fail {id} {ratio:.1e} {what}");
            }
        }
    }
}

fn run_case(file: &str, folder: &Path, value: &Value) -> Result<Verdict, Problem> {
    let case = Case::new(value, folder)?;
    let Some(group) = groups::of(file, case.group) else {
        return Err(format!("group {} of file {file} is not known", case.group).into());
    };
    let mut checks = Checks::default();
    group(&case, &mut checks)?;
    Ok(checks.verdict(&case.expected))
}

/// Runs every case of a file, and says how many there were.
fn run_file(path: &str, tally: &mut Tally) -> Result<usize, Problem> {
    let document: Value = serde_json::from_slice(&std::fs::read(path)?)?;
    let root = Node::root("document", &document);
    if let Some(instances) = root.find("instances") {
        let instances = instances.items()?;
        for instance in &instances {
            let verdict = placement::instance(instance)
                .unwrap_or_else(|problem| Verdict::Fail(f64::INFINITY, problem.to_string()));
            tally.add(instance.get("name")?.text()?, &verdict);
        }
        return Ok(instances.len());
    }
    let folder = Path::new(path).parent().unwrap_or_else(|| Path::new("."));
    let file = root.get("file")?.text()?;
    let cases = document.get("cases").and_then(Value::as_array).ok_or("document has no list cases")?;
    for (at, case) in cases.iter().enumerate() {
        let id =
            case.get("id").and_then(Value::as_str).map_or_else(|| format!("{file}[{at}]"), str::to_owned);
        // No input makes the library panic; if one did, it would be the failure of that case.
        let outcome = std::panic::catch_unwind(|| run_case(file, folder, case));
        let verdict = outcome
            .unwrap_or_else(|_| Err("the library panicked".into()))
            .unwrap_or_else(|problem| Verdict::Fail(f64::INFINITY, problem.to_string()));
        tally.add(&id, &verdict);
    }
    Ok(cases.len())
}

fn main() -> ExitCode {
    let mut tally = Tally::default();
    let mut unread = 0;
    let paths: Vec<String> = std::env::args().skip(1).collect();
    if paths.is_empty() {
        eprintln!("usage: conformance FILE...");
        unread += 1;
    }
    for path in &paths {
        let trouble = match run_file(path, &mut tally) {
            Ok(0) => "no case in it".to_owned(),
            Ok(_) => continue,
            Err(problem) => problem.to_string(),
        };
        eprintln!("{path}: {trouble}");
        unread += 1;
    }
    // There is no group that is left out.
    println!("{} passed, {} failed, 0 skipped", tally.passed, tally.failed);
    if tally.failed + unread == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
