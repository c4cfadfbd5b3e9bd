//! Compiles the C programs of `tests/c` with every compiler at hand, every warning an error, against both kinds of the
//! library, runs them, and compares the numbers they print with those of Rust bit for bit.
//!
//! A tool that is missing is said; where `CI` is set it is a failure.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

mod expected;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;
use std::{env, fs};

/// What Rust computes for the numbers that a program prints, by name.
type Expected = fn() -> Vec<(String, f64)>;

/// The programs: one of `tests/c` each, with what its numbers must be.
const PROGRAMS: &[(&str, Expected)] = &[
    ("foundation", expected::nothing),
    ("quantity", expected::quantity::numbers),
    ("convention", expected::convention::numbers),
    ("vibration_unit", expected::vibration_unit::numbers),
    ("view", expected::view::numbers),
    ("closed", expected::closed::numbers),
    ("tolerance", expected::tolerance::numbers),
    ("channel", expected::channel::numbers),
    ("influence", expected::influence::numbers),
    ("correction", expected::correction::numbers),
    ("synchronous", expected::synchronous::numbers),
    ("placement", expected::placement::numbers),
    ("first_weight", expected::first_weight::numbers),
    ("record", expected::record::numbers),
    ("advice", expected::advice::numbers),
    ("readiness", expected::readiness::numbers),
    ("without_phase", expected::without_phase::numbers),
    ("store", expected::store::numbers),
    ("threads", expected::nothing),
];

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Where the libraries lie. Cargo builds none for a test that no Rust program could link, so they are built here, with
/// the features that this test has.
fn libraries() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let program = env::current_exe().unwrap();
        let built = program.parent().unwrap().parent().unwrap();
        let mut build = Command::new(env!("CARGO"));
        build.args(["build", "-q", "-p", "counterpoise-ffi", "--target-dir"]).arg(built.parent().unwrap());
        let optimised = built.file_name().is_some_and(|name| name == "release");
        // As the tests themselves are built, so that nothing is compiled twice.
        build.args(["--profile", if optimised { "bench" } else { "test" }]);
        succeeded(build.current_dir(folder()));
        built.to_path_buf()
    })
}

fn has(tool: &str) -> bool {
    Command::new(tool).arg("--version").output().is_ok_and(|output| output.status.success())
}

/// Whether a tool is there; where CI says it is CI, it has to be.
fn found(tool: &str) -> bool {
    let found = has(tool);
    if !found {
        println!("NOT TESTED with {tool}: it is not to be had here");
        let ci = env::var("CI").is_ok_and(|value| !value.is_empty());
        assert!(!ci, "{tool} is missing");
    }
    found
}

fn succeeded(command: &mut Command) -> Output {
    let output = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    assert!(
        output.status.success(),
        "{command:?}: {}\n{}{}",
        output.status,
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    output
}

/// The compilers, each with a standard.
fn compilers() -> Vec<(String, Vec<&'static str>)> {
    let mut all = Vec::new();
    let gcc = env::var("CC").unwrap_or_else(|_| if has("gcc") { "gcc".into() } else { "cc".into() });
    assert!(has(&gcc), "a C compiler is needed");
    all.push((gcc.clone(), vec!["-std=c99"]));
    all.push((gcc, vec!["-std=c17"]));
    let clang = ["clang", "clang-22", "clang-19", "clang-14"].into_iter().find(|clang| has(clang));
    if found(clang.unwrap_or("clang")) {
        all.push((clang.unwrap().to_owned(), vec!["-std=c99"]));
    }
    if found("g++") {
        all.push(("g++".to_owned(), vec!["-x", "c++", "-std=c++17"]));
    }
    all
}

const WARNINGS: &[&str] = &["-Wall", "-Wextra", "-Werror", "-pedantic", "-Wshadow", "-Wconversion"];

/// What the static library needs of the system.
const SYSTEM: &[&str] = &["-lgcc_s", "-lutil", "-lrt", "-lpthread", "-lm", "-ldl", "-lc"];

/// Builds one program in every way and runs it; returns what the first prints, which all must print.
fn printed_by_all(name: &str, compilers: &[(String, Vec<&str>)]) -> (String, PathBuf) {
    let libraries = libraries();
    let build = libraries.join("c-tests");
    fs::create_dir_all(&build).unwrap();
    let source = folder().join("tests/c").join(name).with_extension("c");
    let mut first: Option<(String, PathBuf)> = None;
    for (index, (compiler, options)) in compilers.iter().enumerate() {
        let object = build.join(format!("{name}-{index}.o"));
        succeeded(
            Command::new(compiler)
                .args(options)
                .args(WARNINGS)
                .args(["-g", "-O1", "-c", "-I"])
                .arg(folder().join("../include"))
                .arg("-I")
                .arg(folder().join("tests/c"))
                .arg(&source)
                .arg("-o")
                .arg(&object),
        );
        for shared in [false, true] {
            let program = build.join(format!("{name}-{index}-{}", if shared { "shared" } else { "static" }));
            let mut link = Command::new(compiler);
            link.arg(&object).arg("-o").arg(&program).arg("-pthread");
            if shared {
                // The program looks for the library by its SONAME.
                let soname = soname(libraries);
                let copy = build.join(&soname);
                if !same_file(&copy, &libraries.join("libcounterpoise.so")) {
                    fs::copy(libraries.join("libcounterpoise.so"), &copy).unwrap();
                }
                link.arg(&copy).arg(format!("-Wl,-rpath,{}", build.display())).arg("-lm");
            } else {
                link.arg(libraries.join("libcounterpoise.a")).args(SYSTEM);
            }
            succeeded(&mut link);
            let printed = String::from_utf8(succeeded(&mut Command::new(&program)).stdout).unwrap();
            match &first {
                None => first = Some((printed, program)),
                Some((before, _)) => assert_eq!(*before, printed, "{name} with {compiler} {options:?}"),
            }
        }
    }
    first.unwrap()
}

fn same_file(copy: &Path, original: &Path) -> bool {
    let bytes = |path: &Path| fs::read(path).ok();
    bytes(copy).is_some_and(|copy| Some(copy) == bytes(original))
}

fn soname(libraries: &Path) -> String {
    let dump = succeeded(Command::new("readelf").arg("-d").arg(libraries.join("libcounterpoise.so")));
    let text = String::from_utf8(dump.stdout).unwrap();
    let line = text.lines().find(|line| line.contains("SONAME")).expect("the shared library has a SONAME");
    line.split(['[', ']']).nth(1).unwrap().to_owned()
}

#[test]
fn programs_in_c_and_cpp_compute_what_rust_computes() {
    let compilers = compilers();
    let valgrind = found("valgrind");
    for (name, expected) in PROGRAMS {
        let (printed, program) = printed_by_all(name, &compilers);
        let numbers = |lines: Vec<(String, u64)>| {
            let count = lines.len();
            let map: BTreeMap<String, u64> = lines.into_iter().collect();
            assert_eq!(map.len(), count, "{name}: a name stands twice");
            map
        };
        let in_c = numbers(
            printed
                .lines()
                .map(|line| line.rsplit_once(' ').unwrap())
                .map(|(name, bits)| (name.to_owned(), u64::from_str_radix(bits, 16).unwrap()))
                .collect(),
        );
        let in_rust = numbers(expected().into_iter().map(|(name, value)| (name, value.to_bits())).collect());
        assert_eq!(in_c, in_rust, "{name}: the bits differ");
        if valgrind {
            succeeded(
                Command::new("valgrind")
                    .args(["-q", "--leak-check=full", "--errors-for-leak-kinds=all", "--error-exitcode=9"])
                    .arg(program),
            );
        }
    }
}

/// The calls that the header declares: name, what it returns, parameters without their names' last word.
fn declared_calls(header: &str) -> Vec<(String, String, Vec<String>)> {
    let mut plain = String::new();
    let mut rest = header;
    while let Some((before, after)) = rest.split_once("/*") {
        plain += before;
        rest = after.split_once("*/").map_or("", |(_, after)| after);
    }
    plain += rest;
    let plain: Vec<&str> = plain.lines().filter(|line| !line.starts_with('#')).collect();
    let mut calls = Vec::new();
    for statement in plain.join(" ").split([';', '}']) {
        let Some((before, parameters)) = statement.split_once('(') else { continue };
        let (returned, name) = before.trim().rsplit_once([' ', '*']).unwrap();
        let parameters = parameters.trim_end().trim_end_matches(')');
        let parameters = parameters.split(',').map(|parameter| parameter.trim().to_owned()).collect();
        calls.push((name.to_owned(), returned.trim().to_owned(), parameters));
    }
    calls
}

/// Calls everything with NULL: with nothing but NULL, and with each pointer NULL in turn while the others lead to zeros
/// (handles stay NULL, as zeros are none). A program is written for it from the header, so that no call is forgotten.
#[test]
fn null_is_refused_by_every_call() {
    let header = fs::read_to_string(folder().join("../include/counterpoise.h")).unwrap();
    let opaque = |parameter: &str| {
        let kind = parameter.trim_start_matches("const ").trim_start_matches("struct ");
        let kind = kind.split([' ', '*']).next().unwrap();
        kind.starts_with("cpoise_") && header.contains(&format!("typedef struct {kind} {kind};"))
    };
    let mut body = String::new();
    let mut calls = 0;
    for (name, returned, parameters) in declared_calls(&header) {
        let pointers: Vec<bool> = parameters.iter().map(|parameter| parameter.contains('*')).collect();
        let last = parameters.last().unwrap();
        if !returned.contains("cpoise_status") {
            // Look-ups, and what frees nothing.
            if pointers == [true] {
                writeln!(body, "    {name}(NULL);").unwrap();
            }
            continue;
        }
        assert!(last.contains("cpoise_detail *detail"), "{name} takes no detail");
        let count = parameters.len() - 1;
        let call = |null: &dyn Fn(usize) -> bool| {
            let given: Vec<String> = (0..count)
                .map(|index| match &parameters[index] {
                    number if !pointers[index] && number.starts_with("cpoise_") => {
                        panic!("{name}: {number} by value")
                    }
                    _ if !pointers[index] => "0".to_owned(),
                    _ if null(index) => "NULL".to_owned(),
                    pointer => {
                        let kind = pointer.rsplit_once('*').unwrap().0;
                        format!("({kind} *)block({index})")
                    }
                })
                .collect();
            format!("{name}({}, &detail)", given.join(", "))
        };
        calls += 1;
        let required = (0..count).any(|index| pointers[index]);
        if required {
            writeln!(body, "    STATUS(CPOISE_NULL_POINTER, {});", call(&|_| true)).unwrap();
        }
        for one in (0..count).filter(|index| pointers[*index]) {
            let null = |index: usize| {
                index == one || opaque(&parameters[index]) && !parameters[index].contains("**")
            };
            writeln!(body, "    zeros(); status = {};", call(&null)).unwrap();
            writeln!(body, "    CHECK(status == detail.status);").unwrap();
            for other in (0..count).filter(|index| pointers[*index] && !null(*index)) {
                if !parameters[other].starts_with("const ") && !parameters[other].contains("size_t *") {
                    writeln!(body, "    CHECK(status == CPOISE_OK || is_zero({other}));").unwrap();
                }
            }
        }
    }
    assert!(calls > 10);
    let build = libraries().join("c-tests");
    fs::create_dir_all(&build).unwrap();
    let (source, program) = (build.join("nulls.c"), build.join("nulls"));
    let start = "#include \"check.h\"\n\n#define BYTES 16384\nstatic double memory[24][BYTES / 8];\n\n\
        static void *block(int index)\n{\n    return memory[index];\n}\n\n\
        static int is_zero(int index)\n{\n    size_t i;\n    for (i = 0; i < BYTES; i++) {\n        \
        if (((const char *)memory[index])[i] != 0) {\n            return 0;\n        }\n    }\n    return 1;\n}\n\n\
        static void zeros(void)\n{\n    memset(memory, 0, sizeof memory);\n}\n\n\
        int main(void)\n{\n    cpoise_detail detail;\n    cpoise_status status;\n";
    fs::write(&source, format!("{start}{body}    return done();\n}}\n")).unwrap();
    let include = folder().join("../include");
    let mut compile = Command::new("gcc");
    compile.args(["-std=c99", "-Wall", "-Wextra", "-Werror", "-g", "-I"]).arg(include).arg("-I");
    compile.arg(folder().join("tests/c")).arg(&source).arg("-o").arg(&program);
    succeeded(compile.arg(libraries().join("libcounterpoise.a")).args(SYSTEM));
    succeeded(&mut Command::new(&program));
}

/// The examples compile without warnings, and say what they should.
#[test]
fn examples_run() {
    let build = libraries().join("c-tests");
    fs::create_dir_all(&build).unwrap();
    let examples = [
        ("gcc", "-std=c99", "one_plane.c", "take the trial off; add "),
        ("g++", "-std=c++17", "handles.cpp", "plane 0: add "),
    ];
    for (compiler, standard, source, says) in examples {
        if !found(compiler) {
            continue;
        }
        let program = build.join(source.replace('.', "-"));
        let mut compile = Command::new(compiler);
        compile.arg(standard).args(["-Wall", "-Wextra", "-Werror", "-pedantic", "-I"]);
        compile.arg(folder().join("../include")).arg(folder().join("../examples/c").join(source));
        succeeded(compile.arg("-o").arg(&program).arg(libraries().join("libcounterpoise.a")).args(SYSTEM));
        let printed = String::from_utf8(succeeded(&mut Command::new(&program)).stdout).unwrap();
        assert!(printed.starts_with(says), "{source} prints {printed}");
    }
}

#[test]
fn every_program_is_run() {
    for entry in fs::read_dir(folder().join("tests/c")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "c") {
            let name = path.file_stem().unwrap().to_str().unwrap();
            assert!(PROGRAMS.iter().any(|(program, _)| *program == name), "{name}.c is run by nothing");
        }
    }
}

#[test]
fn what_is_exported_is_what_the_header_declares() {
    if !found("nm") {
        return;
    }
    let header = fs::read_to_string(folder().join("../include/counterpoise.h")).unwrap();
    let mut declared: Vec<&str> = header
        .lines()
        .filter(|line| !line.starts_with([' ', '/', '#', '*']))
        .filter_map(|line| line.split_once('(').map(|(before, _)| before))
        .filter_map(|before| before.split([' ', '*']).next_back())
        .filter(|name| name.starts_with("cpoise_"))
        .collect();
    declared.sort_unstable();
    let shared = libraries().join("libcounterpoise.so");
    let symbols = succeeded(Command::new("nm").args(["-D", "--defined-only"]).arg(shared));
    let symbols = String::from_utf8(symbols.stdout).unwrap();
    let mut exported: Vec<&str> = symbols.lines().filter_map(|line| line.split(' ').nth(2)).collect();
    exported.sort_unstable();
    assert_eq!(exported, declared);
    assert!(declared.len() > 10);
}
