//! The header is what the sources say; every exported body is guarded; every status of the mathematics has its name.
//!
//! `BLESS=1 cargo test -p counterpoise-ffi --test header` writes the header.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// What a section needs of the build.
#[derive(PartialEq, Clone, Copy)]
enum Needs {
    Nothing,
    Heap,
    Json,
}

/// The sections of the header, in its order: one file of `ffi/src` each.
const SECTIONS: &[(&str, Needs)] = &[
    ("version", Needs::Nothing),
    ("status", Needs::Nothing),
    ("detail", Needs::Nothing),
    ("quantity", Needs::Nothing),
    ("convention", Needs::Nothing),
    ("vibration_unit", Needs::Nothing),
    ("view", Needs::Nothing),
    ("closed", Needs::Nothing),
    ("provenance", Needs::Nothing),
    ("tolerance", Needs::Nothing),
    ("severity", Needs::Nothing),
    ("readiness", Needs::Nothing),
    ("channel", Needs::Nothing),
    ("synchronous", Needs::Nothing),
    ("extraction", Needs::Heap),
    ("first_weight", Needs::Nothing),
    ("repeats", Needs::Heap),
    ("caution", Needs::Heap),
    ("influence", Needs::Heap),
    ("correction", Needs::Heap),
    ("rings", Needs::Heap),
    ("placement", Needs::Heap),
    ("placement_answer", Needs::Heap),
    ("record", Needs::Heap),
    ("record_text", Needs::Json),
    ("advice", Needs::Heap),
    ("without_phase", Needs::Heap),
    ("store", Needs::Json),
];

/// The files of `ffi/src` that are no section.
const INSIDE: &[&str] = &["allocator", "argument", "constant", "failure", "guard", "lib"];

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn source(name: &str) -> String {
    fs::read_to_string(folder().join("src").join(name).with_extension("rs")).unwrap()
}

/// The lines of a `///` or `//!` comment as one of C.
fn comment(lines: &[String], indent: &str) -> String {
    match lines {
        [] => String::new(),
        [one] => format!("{indent}/** {one} */\n"),
        many => {
            let mut text = format!("{indent}/**\n");
            for line in many {
                writeln!(text, "{}", format!("{indent} * {line}").trim_end()).unwrap();
            }
            text + indent + " */\n"
        }
    }
}

/// What stands in the macros `constants!` and `statuses!`, as `#define`s.
fn constants(source: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    let mut about: Vec<String> = Vec::new();
    for line in source.lines() {
        let code = line.trim();
        if line.starts_with("constants! {") || line.starts_with("statuses! {") {
            inside = true;
        } else if line.starts_with('}') {
            inside = false;
        } else if !inside {
        } else if let Some(doc) = code.strip_prefix("///") {
            about.push(doc.strip_prefix(' ').unwrap_or(doc).to_owned());
        } else if code.starts_with("CPOISE_") {
            let (name, rest) = code.split_once(" = ").expect("NAME = number");
            let number = rest.split([' ', ',']).next().unwrap();
            assert!(number.parse::<i32>().is_ok(), "{line}");
            if let Some(words) = rest.split('"').nth(1) {
                about.push(words.to_owned());
            }
            text += &comment(&about, "");
            writeln!(text, "#define {name} {number}\n").unwrap();
            about.clear();
        } else if code.ends_with('{') {
            writeln!(text, "/* {} */\n", about.join(" ")).unwrap();
            about.clear();
        }
    }
    text
}

/// Structs whose first member is `size_t size`: the macro that declares one with everything else zero.
fn init_macros(section: &str) -> String {
    let mut text = String::new();
    for part in section.split("typedef struct ").skip(1) {
        let Some((name, rest)) = part.split_once(" {\n") else { continue };
        let body = &rest[..rest.find("\n}").unwrap()];
        let members: Vec<&str> = body
            .lines()
            .map(str::trim)
            .filter(|line| line.ends_with(';') && !line.starts_with('*'))
            .collect();
        if members.first() != Some(&"size_t size;") {
            continue;
        }
        let mut values = vec![format!("sizeof({name})")];
        for member in &members[1..] {
            assert!(!member.contains('['), "{name}: an option struct has no arrays: {member}");
            let number = [
                "double ",
                "float ",
                "int32_t ",
                "uint32_t ",
                "uint64_t ",
                "uint16_t ",
                "uint8_t ",
                "size_t ",
            ];
            values.push(match member {
                pointer if pointer.contains('*') => "NULL".to_owned(),
                plain if number.iter().any(|kind| plain.starts_with(kind)) => "0".to_owned(),
                nested => panic!("{name}: an option struct has numbers and pointers only: {nested}"),
            });
        }
        let upper = name.to_uppercase();
        writeln!(text, "/** Declares a {name} with the default of everything. */").unwrap();
        writeln!(text, "#define {upper}_INIT {{ {} }}\n", values.join(", ")).unwrap();
    }
    text
}

/// The structs of a section in their order, that no call of the section may have.
fn structs(source: &str) -> Vec<String> {
    source
        .split("#[repr(C)]")
        .skip(1)
        // The first struct after it, where that is a public one.
        .filter_map(|part| part.split_once("struct ").filter(|(before, _)| before.ends_with("pub ")))
        .map(|(_, part)| part.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap().to_owned())
        .collect()
}

fn generated(path: &Path, source: &str) -> String {
    let config = cbindgen::Config {
        export: cbindgen::ExportConfig { include: structs(source), ..Default::default() },
        language: cbindgen::Language::C,
        no_includes: true,
        usize_is_size_t: true,
        documentation_style: cbindgen::DocumentationStyle::Doxy,
        style: cbindgen::Style::Both,
        line_length: 120,
        ..Default::default()
    };
    let mut bytes = Vec::new();
    cbindgen::Builder::new().with_config(config).with_src(path).generate().unwrap().write(&mut bytes);
    String::from_utf8(bytes).unwrap().trim().to_owned()
}

fn header() -> String {
    let mut text = fs::read_to_string(folder().join("tests/header_top.txt")).unwrap();
    text +=
        "\n#ifndef COUNTERPOISE_H\n#define COUNTERPOISE_H\n\n#include <stddef.h>\n#include <stdint.h>\n\n";
    text += "#ifdef __cplusplus\nextern \"C\" {\n#endif\n\n";
    let version = env!("CARGO_PKG_VERSION");
    let parts: Vec<&str> = version.split('.').collect();
    for (name, value) in ["MAJOR", "MINOR", "PATCH"].iter().zip(&parts) {
        writeln!(text, "#define CPOISE_VERSION_{name} {value}").unwrap();
    }
    text +=
        "/** The version of this header: major * 1000000 + minor * 1000 + patch. */\n#define CPOISE_VERSION ";
    text += "(CPOISE_VERSION_MAJOR * 1000000u + CPOISE_VERSION_MINOR * 1000u + CPOISE_VERSION_PATCH)\n";
    writeln!(text, "#define CPOISE_VERSION_TEXT \"{version}\"\n").unwrap();
    for (name, needs) in SECTIONS {
        let code = source(name);
        let about: Vec<String> = code
            .lines()
            .map_while(|line| line.strip_prefix("//!"))
            .map(|line| line.strip_prefix(' ').unwrap_or(line).to_owned())
            .collect();
        let guard = match needs {
            Needs::Nothing => None,
            Needs::Heap => Some("CPOISE_NO_HEAP"),
            Needs::Json => Some("CPOISE_NO_JSON"),
        };
        if let Some(guard) = guard {
            writeln!(text, "#ifndef {guard}\n").unwrap();
        }
        writeln!(text, "/* {} */\n", "=".repeat(114)).unwrap();
        text += &comment(&about, "").replacen("/**", "/*", 1);
        text.push('\n');
        text += &constants(&code);
        let generated = generated(&folder().join("src").join(name).with_extension("rs"), &code);
        // What is declared first is what later lines use; the macros stand between structs and calls only in C's eyes.
        text += &generated;
        text += "\n\n";
        text += &init_macros(&generated);
        if let Some(guard) = guard {
            writeln!(text, "#endif /* {guard} */\n").unwrap();
        }
    }
    text + "#ifdef __cplusplus\n}\n#endif\n\n#endif /* COUNTERPOISE_H */\n"
}

#[test]
fn the_header_is_what_the_sources_say() {
    let path = folder().join("../include/counterpoise.h");
    let now = header();
    if std::env::var_os("BLESS").is_some() {
        fs::write(&path, now).unwrap();
        return;
    }
    let committed = fs::read_to_string(&path).unwrap_or_default();
    if committed != now {
        let line = committed.lines().zip(now.lines()).position(|(a, b)| a != b);
        panic!(
            "include/counterpoise.h is stale (first at line {:?}): BLESS=1 cargo test -p counterpoise-ffi --test header",
            line.map(|line| line + 1)
        );
    }
}

#[test]
fn every_source_is_a_section_or_inside() {
    for entry in fs::read_dir(folder().join("src")).unwrap() {
        let name = entry.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned();
        let section = SECTIONS.iter().any(|(section, _)| *section == name);
        assert!(section || INSIDE.contains(&name.as_str()), "{name}.rs is no section of the header");
    }
}

/// The bodies of what a source exports: name, first line of the body.
fn exports(source: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for part in source.split("#[unsafe(no_mangle)]").skip(1) {
        let name = part.split("fn ").nth(1).unwrap().split('(').next().unwrap().to_owned();
        // The parameters of an exported function have no braces.
        let body = part[part.find('{').unwrap() + 1..].trim_start();
        found.push((name, body.lines().next().unwrap().to_owned()));
    }
    found
}

#[test]
fn every_exported_body_is_guarded() {
    let mut calls = 0;
    for entry in fs::read_dir(folder().join("src")).unwrap() {
        let path = entry.unwrap().path();
        let text = fs::read_to_string(&path).unwrap();
        assert!(!text.contains("export_name"), "{path:?} exports in a way that this test does not see");
        for (name, body) in exports(&text) {
            calls += 1;
            assert!(name.starts_with("cpoise_"), "{name} lacks the prefix");
            let guarded = body.starts_with("guarded!(") || body.starts_with("guarded_value!(");
            assert!(guarded, "{name} is not guarded: {body}");
            // Nothing may stand beside the guard: the function ends where the guard ends.
            let whole = text.split(&format!("fn {name}(")).nth(1).unwrap();
            let inner = &whole[whole.find("{\n").unwrap() + 2..whole.find("\n}\n").unwrap()];
            let after = inner.lines().skip(1).find(|line| !line.starts_with("        ") && !line.is_empty());
            assert!(
                after.is_none_or(|line| line == "    })"),
                "{name} has something beside its guard: {after:?}"
            );
        }
    }
    assert!(calls > 10, "only {calls} calls were found");
}

/// `TooFewMarks` as `TOO_FEW_MARKS`.
fn upper(name: &str) -> String {
    let mut text = String::new();
    for (index, letter) in name.chars().enumerate() {
        if letter.is_uppercase() && index > 0 {
            text.push('_');
        }
        text.extend(letter.to_uppercase());
    }
    text
}

#[test]
fn every_error_of_the_mathematics_is_a_status() {
    let statuses = source("status");
    let mut found = 0;
    for entry in fs::read_dir(folder().join("../src/error")).unwrap() {
        let text = fs::read_to_string(entry.unwrap().path()).unwrap();
        for part in text.split("pub enum ").skip(1) {
            let stage = part.split(|c: char| !c.is_alphanumeric()).next().unwrap();
            let Some(stage) = stage.strip_suffix("Error") else { continue };
            for line in part.lines().map(str::trim).filter(|line| line.starts_with("Self::")) {
                let Some((pattern, code)) = line.split_once(" => ") else { continue };
                let Ok(code) = code.trim_end_matches(',').parse::<i32>() else { continue };
                let variant = pattern.trim_start_matches("Self::").split([' ', '(']).next().unwrap();
                let wanted = format!("CPOISE_{}_{} = {code},", upper(stage), upper(variant));
                found += 1;
                assert!(statuses.contains(&wanted), "ffi/src/status.rs lacks {wanted} \"...\";");
            }
        }
    }
    assert!(found > 150, "only {found} codes were found");
}

#[test]
fn statuses_rise_and_are_used_once() {
    let mut before = -1;
    for line in source("status").lines().filter(|line| line.starts_with("    CPOISE_")) {
        let number: i32 = line.split_once(" = ").unwrap().1.split(',').next().unwrap().parse().unwrap();
        assert!(number > before, "{line}");
        before = number;
    }
    assert!(before > 1000);
}
