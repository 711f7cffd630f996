//! The shipped procedures as the program itself talks a technician through them, word for word.
//!
//! `tests/shipped/NAME.script` is what the technician says; its first line holds the procedure and
//! what is known of the job. `NAME.dialogue` beside it is everything the program prints.
//! `READBACK_UPDATE=1` writes the dialogues anew.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &str, extension: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(root().join(folder)).expect("a folder of the project");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    let mut files: Vec<PathBuf> = paths
        .filter(|path| path.extension().is_some_and(|e| e == extension))
        .collect();
    files.sort();
    files
}

/// The procedure and the options on the first line of a script.
fn first_line(script: &Path) -> (String, Vec<String>) {
    let text = fs::read_to_string(script).expect("a script");
    let line = text.lines().next().and_then(|line| line.strip_prefix("# "));
    let mut words = line.expect("a first line").split(' ').map(str::to_owned);
    (words.next().expect("a procedure"), words.collect())
}

/// Everything the program prints; the record's own folder reads `FOLDER`.
fn held(script: &Path) -> String {
    let (procedure, job) = first_line(script);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let record = folder.path().join("session");
    let output = Command::new(env!("CARGO_BIN_EXE_readback"))
        .current_dir(root())
        .args(["replay", &format!("procedures/{procedure}.yaml")])
        .args(job)
        .arg("--script")
        .arg(script)
        .arg("--record")
        .arg(&record)
        .output()
        .expect("the program starts");
    let errors = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{script:?}: {errors}");
    assert_eq!(errors, "", "{script:?}");
    let verified = Command::new(env!("CARGO_BIN_EXE_readback"))
        .arg("verify")
        .arg(&record)
        .output()
        .expect("the program starts");
    assert_eq!(verified.status.code(), Some(0), "{script:?} is verified");
    String::from_utf8_lossy(&output.stdout).replace(&*record.to_string_lossy(), "FOLDER")
}

#[test]
fn every_dialogue_goes_as_written() {
    let update = std::env::var_os("READBACK_UPDATE").is_some();
    let scripts = files("tests/shipped", "script");
    assert!(!scripts.is_empty(), "found no scripts");
    let mut wrong = Vec::new();
    for script in &scripts {
        let found = held(script);
        let dialogue = script.with_extension("dialogue");
        if update {
            fs::write(&dialogue, &found).expect("the dialogue is written");
        }
        let written = fs::read_to_string(&dialogue).unwrap_or_default();
        if found != written {
            wrong.push(format!(
                "{}:\n{}",
                script.display(),
                differs(&written, &found)
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn differs(written: &str, found: &str) -> String {
    let same = written
        .lines()
        .zip(found.lines())
        .take_while(|(a, b)| a == b)
        .count();
    let line = |text: &str| text.lines().nth(same).unwrap_or("(the end)").to_owned();
    let (written, found) = (line(written), line(found));
    format!(
        "  line {}\n  expected {written}\n  found    {found}",
        same + 1
    )
}

/// A procedure that others call is held with them.
#[test]
fn every_shipped_procedure_is_held_in_a_dialogue() {
    let scripts = files("tests/shipped", "script");
    let mut held: BTreeSet<String> = scripts.iter().map(|script| first_line(script).0).collect();
    for procedure in held.clone() {
        let text = fs::read_to_string(root().join(format!("procedures/{procedure}.yaml")));
        let text = text.expect("a procedure");
        let called = text.lines().filter_map(|line| {
            let line = line.trim();
            let name = line
                .strip_prefix("procedure: ")
                .or(line.strip_prefix("call: "));
            name.map(str::to_owned)
        });
        held.extend(called);
    }
    let shipped = files("procedures", "yaml");
    let names = shipped.iter().filter_map(|path| path.file_stem());
    let missing: Vec<_> = names
        .map(|name| name.to_string_lossy().into_owned())
        .filter(|name| !held.contains(name))
        .collect();
    assert_eq!(missing, Vec::<String>::new());
}
