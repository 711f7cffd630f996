//! Findings tables held against the plane of what can be read.
//!
//! Each table of `tests/coverage/broken/` has planted faults and `NAME.expected` beside it holds what
//! `check` must say; of the tables in `tests/coverage/sound/` it must say nothing.
//! `UPDATE=1 cargo test --test coverage` writes the expected files anew.

use std::path::{Path, PathBuf};

use readback::procedure::{Library, Problem, Severity, SourceFile, check, load, planes};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/coverage")
        .join(name)
}

fn tables(name: &str) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder(name)).expect("the folder of tables");
    let mut tables: Vec<PathBuf> = entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    tables.sort();
    tables
}

fn checked(path: &Path) -> Vec<Problem> {
    check(&library(path))
}

fn library(path: &Path) -> Library {
    let file = SourceFile {
        name: path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned(),
        text: std::fs::read_to_string(path).expect("a readable file"),
    };
    match load(&file, |_| None) {
        Ok(library) => library,
        Err(problems) => panic!("{}", lines(&problems)),
    }
}

fn lines(problems: &[Problem]) -> String {
    problems.iter().map(|p| format!("{p}\n")).collect()
}

#[test]
fn every_planted_fault_is_found() {
    let broken = tables("broken");
    let mut wrong = Vec::new();
    for path in &broken {
        let expected_path = path.with_extension("expected");
        let given = lines(&checked(path));
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&expected_path, &given).expect("a writable folder");
        }
        let expected = std::fs::read_to_string(&expected_path).unwrap_or_default();
        if given != expected || given.is_empty() {
            wrong.push(format!(
                "{}\n  given:\n{given}  expected:\n{expected}",
                path.display()
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(broken.len() >= 40, "only {} broken tables", broken.len());
}

#[test]
fn each_broken_table_shows_the_fault_it_is_named_after() {
    for path in tables("broken") {
        let name = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        let rule = name.split("--").next().expect("a rule").to_owned();
        let problems = checked(&path);
        let found = problems
            .iter()
            .any(|p| p.rule == rule && p.severity == Severity::Doubt);
        assert!(found, "{name}: no `{rule}` in\n{}", lines(&problems));
    }
}

#[test]
fn nothing_is_found_in_sound_tables() {
    let sound = tables("sound");
    assert!(sound.len() >= 6, "only {} sound tables", sound.len());
    for path in sound {
        let problems = checked(&path);
        assert!(
            problems.is_empty(),
            "{}\n{}",
            path.display(),
            lines(&problems)
        );
    }
}

/// Common practice, no source: the table for a small circulating pump as the trade states it.
#[test]
fn the_faults_of_the_trades_own_table_are_found() {
    let problems = checked(&folder("trade-pump.yaml"));
    let text = lines(&problems);
    let found = |rule: &str, part: &str| {
        let hit = problems
            .iter()
            .any(|p| p.rule == rule && p.found.contains(part));
        assert!(hit, "no `{rule}` with `{part}` in\n{text}");
    };
    // 200 to 220 belongs to nobody, and steady at 10 to 200 and at 270 to 500 neither.
    found("hole", "`unsteady` at `(200..270)` count");
    found("hole", "`steady` at `(9..220)` count");
    found("hole", "`settles` at `[0..220)` count");
    found("hole", "`steady` or `settles` at `(270..500]` count");
    found("hole", "`rising` at `0..1200` count");
    // The lowest allowed values lie in or below that hole.
    for lowest in [210, 200, 195] {
        let limits =
            format!("limits {lowest}..270 of `running-value` that allow `[{lowest}..220)`");
        found("limit-in-hole", &limits);
    }
}

#[test]
fn the_plane_of_a_table_is_shown() {
    let library = library(&folder("trade-pump.yaml"));
    let tables = planes(&library);
    let text: String = tables.iter().map(ToString::to_string).collect();
    let expected_path = folder("trade-pump.plane");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&expected_path, &text).expect("a writable folder");
    }
    assert_eq!(
        text,
        std::fs::read_to_string(expected_path).unwrap_or_default()
    );
}

/// The plane against brute force: at every half step of the level, each cell names exactly the
/// findings whose ranges hold that level.
#[test]
fn every_level_has_the_findings_that_hold_it() {
    use proptest::prelude::*;
    use readback::quantity::{Decimal, Range};

    let frame = std::fs::read_to_string(folder("sound/single-reading.yaml")).expect("a table");
    let (head, rest) = frame
        .split_once("      findings:\n")
        .expect("a table of findings");
    let tail: Vec<&str> = rest
        .lines()
        .filter(|line| line.starts_with("  - finish"))
        .collect();
    let range = (0_i64..1000, 0_i64..200, 0_usize..4).prop_map(|(low, width, ends)| {
        let high = low + width + 1;
        let (open, close) = [("[", "]"), ("(", "]"), ("[", ")"), ("(", ")")][ends];
        format!("{open}{low}..{high}{close}")
    });
    let config = ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(60)
    };
    proptest!(config, |(levels in prop::collection::vec(range, 1..6))| {
        let rows: String = levels
            .iter()
            .enumerate()
            .map(|(at, level)| format!("        - {{ id: f{at}, say: found, level: \"{level}\" }}\n"))
            .collect();
        let text = format!("{head}      findings:\n{rows}{}\n", tail.join("\n"));
        let file = SourceFile { name: "random.yaml".to_owned(), text };
        let library = load(&file, |_| None).expect("a procedure that loads");
        let table = &planes(&library)[0];
        let ranges: Vec<Range> = levels.iter().map(|l| l.parse().expect("a range")).collect();
        for half in 0..=2000 {
            let level = Decimal::new(half * 5, 1);
            let bands: Vec<_> = table.rows.iter().filter(|row| row.level.contains(level)).collect();
            prop_assert_eq!(bands.len(), 1, "{} lies in {} bands", level, bands.len());
            let cell = bands[0].cells[0].as_ref().expect("a cell");
            let holding: Vec<String> = (0..ranges.len())
                .filter(|at| ranges[*at].contains(level))
                .map(|at| format!("f{at}"))
                .collect();
            let named: Vec<String> = cell.findings.iter().map(ToString::to_string).collect();
            prop_assert_eq!(&named, &holding, "at {}", level);
            prop_assert_eq!(cell.hole, holding.is_empty());
            prop_assert_eq!(cell.overlap, holding.len() > 1);
        }
    });
}
