//! Every public item says what it is, and shows it in an example that runs with the documentation tests; and the list of
//! public items is the committed one, `tests/public_api.txt`, so that it changes only on purpose (`BLESS=1` rewrites it).

#![allow(clippy::unwrap_used, clippy::format_push_string)] // a source that cannot be read fails the test

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

/// The declaration that starts on a line, up to its body: brackets are closed and white space is folded.
fn declaration(lines: &[&str]) -> String {
    let mut text = String::new();
    for line in lines {
        text.push_str(line.trim());
        text.push(' ');
        if line.contains('{') || line.trim_end().ends_with(';') {
            break;
        }
    }
    text.split(" {")
        .next()
        .unwrap_or(&text)
        .trim()
        .trim_end_matches(';')
        .replace("( ", "(")
        .replace(", )", ")")
}

#[test]
fn the_public_items_are_the_committed_ones() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    sources(&root.join("src"), &mut files);
    files.sort();
    let mut found = String::new();
    for file in files {
        let name = file.strip_prefix(root.join("src")).unwrap().to_str().unwrap().to_owned();
        if PRIVATE.iter().any(|private| format!("src/{name}").starts_with(private)) {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        for (number, line) in lines.iter().enumerate() {
            if declares(line) || line.starts_with("pub use ") || line.starts_with("impl ") {
                found.push_str(&format!("{name}: {}\n", declaration(&lines[number..])));
            }
        }
    }
    let committed = root.join("tests/public_api.txt");
    if std::env::var_os("BLESS").is_some() {
        fs::write(&committed, &found).unwrap();
    }
    let wanted = fs::read_to_string(&committed).unwrap();
    let new: Vec<&str> = found.lines().filter(|line| !wanted.lines().any(|other| other == *line)).collect();
    let gone: Vec<&str> = wanted.lines().filter(|line| !found.lines().any(|other| other == *line)).collect();
    assert!(
        new.is_empty() && gone.is_empty(),
        "the public items changed; with BLESS=1 the list is rewritten\nnew:\n{}\ngone:\n{}",
        new.join("\n"),
        gone.join("\n")
    );
}
