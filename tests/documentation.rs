//! Every public item says what it is, and shows it in an example that runs with the documentation tests.

#![allow(clippy::unwrap_used)] // a source that cannot be read fails the test

use std::fs;
use std::path::{Path, PathBuf};

/// The private kernels, whose items no user can name.
const PRIVATE: [&str; 4] = ["src/dense", "src/correction/convex", "src/without_phase/kernel", "src/math.rs"];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Whether a line declares an item that a user of the crate can name: a type, a function, a constant.
fn declares(line: &str) -> bool {
    let Some(rest) = line.trim_start().strip_prefix("pub ") else { return false };
    let rest = rest.strip_prefix("const ").filter(|rest| rest.starts_with("fn ")).unwrap_or(rest);
    // A name that a macro puts in is documented where the macro is called.
    let items = ["fn ", "struct ", "enum ", "trait ", "const ", "type "];
    items.iter().any(|item| rest.strip_prefix(item).is_some_and(|name| !name.starts_with("$Name")))
}

/// The documentation above a line, past its attributes, which may be broken over lines.
fn documentation(lines: &[&str]) -> Vec<String> {
    let mut above = Vec::new();
    let mut in_attribute = false;
    for line in lines.iter().rev().map(|line| line.trim_start()) {
        if in_attribute || line == ")]" {
            in_attribute = !line.starts_with("#[");
        } else if line.starts_with("///") || line.starts_with("#[") {
            above.push(line.to_owned());
        } else {
            break;
        }
    }
    above
}

#[test]
fn every_public_item_has_an_example() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    sources(&root.join("src"), &mut files);
    let mut items = 0;
    let mut bare = Vec::new();
    for file in files {
        let name = file.strip_prefix(root).unwrap().to_str().unwrap().to_owned();
        if PRIVATE.iter().any(|private| name.starts_with(private)) {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        for (number, line) in lines.iter().enumerate().filter(|(_, line)| declares(line)) {
            items += 1;
            if !documentation(&lines[..number]).iter().any(|line| line.starts_with("/// ```")) {
                bare.push(format!("{name}:{}: {}", number + 1, line.trim()));
            }
        }
    }
    assert!(items > 200, "only {items} public items were found: is the search still right?");
    assert!(bare.is_empty(), "without an example:\n{}", bare.join("\n"));
}
