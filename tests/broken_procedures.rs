//! Broken procedures, each with the exact messages it must give.
//!
//! `tests/procedures/err/NAME.yaml` is loaded and `NAME.expected` beside it holds every problem, one
//! a line. `UPDATE=1 cargo test --test broken_procedures` writes the expected files anew.

use std::path::{Path, PathBuf};

use readback::procedure::{SourceFile, load};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/procedures/err")
}

fn cases() -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder()).expect("the folder of broken procedures");
    let mut cases: Vec<PathBuf> = entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    cases.sort();
    cases
}

fn source_file(path: &Path) -> Option<SourceFile> {
    Some(SourceFile {
        name: path.file_name()?.to_str()?.to_owned(),
        text: std::fs::read_to_string(path).ok()?,
    })
}

/// Called procedures stand in `called/`.
fn messages(path: &Path) -> String {
    let main = source_file(path).expect("a readable file");
    let called = folder().join("called");
    let loaded = load(&main, |id| source_file(&called.join(format!("{id}.yaml"))));
    match loaded {
        Ok(_) => "no problem\n".to_owned(),
        Err(problems) => problems.iter().map(|p| format!("{p}\n")).collect(),
    }
}

#[test]
fn every_broken_procedure_gives_its_message() {
    let mut wrong = Vec::new();
    for case in cases() {
        let expected_path = case.with_extension("expected");
        let given = messages(&case);
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&expected_path, &given).expect("a writable folder");
        }
        let expected = std::fs::read_to_string(&expected_path).unwrap_or_default();
        if given != expected || given == "no problem\n" {
            wrong.push(format!(
                "{}\n  given:    {given}  expected: {expected}",
                case.display()
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        cases().len() >= 40,
        "only {} broken procedures",
        cases().len()
    );
}

#[test]
fn a_message_shows_the_line_it_is_about() {
    let text = "id: a\ntitel: b\n";
    let file = SourceFile {
        name: "p.yaml".to_owned(),
        text: text.to_owned(),
    };
    let problems = load(&file, |_| None).expect_err("a broken procedure");
    let unknown = problems
        .iter()
        .find(|p| p.rule == "unknown-key")
        .expect("an unknown key");
    let shown = unknown.with_snippet(text);
    let tail: Vec<&str> = shown.lines().skip(1).collect();
    assert_eq!(tail, ["   |", " 2 | titel: b", "   | ^^^^^"]);
    assert!(
        shown.starts_with("p.yaml:2:1: found key `titel` in the procedure"),
        "{shown}"
    );
}

#[test]
fn any_text_gives_problems_and_no_panic() {
    use proptest::prelude::*;
    let base = std::fs::read_to_string(folder().join("../every-kind.yaml")).expect("a file");
    let chars: Vec<char> = base.chars().collect();
    let config = ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(100)
    };
    let spoil = prop::sample::select(vec![
        "", ":", "- ", "{", "}", "\"", "\n", "\t", "[", "é", "0..", "&a", "*a", "!x",
    ]);
    proptest!(config, |(at in 0..chars.len(), take in 0_usize..40, put in spoil)| {
        let mut text: String = chars[..at].iter().collect();
        text.push_str(put);
        text.extend(chars[(at + take).min(chars.len())..].iter());
        let file = SourceFile { name: "p.yaml".to_owned(), text: text.clone() };
        if let Err(problems) = load(&file, |_| None) {
            prop_assert!(!problems.is_empty());
            for problem in problems {
                problem.with_snippet(&text);
            }
        }
    });
}
