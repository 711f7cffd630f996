//! Dialogues as data: what is said to a session at which time, and exactly what it answers.
//!
//! `tests/dialogues/*.txt`. Lines:
//!
//! - `procedure FILE...` of `tests/dialogues/procedures/`, the main one first;
//! - `job KEY=VALUE, ...`: what is known before the session begins;
//! - `visit SERIAL DAY CONCLUSION`: the last session at a unit;
//! - `12.0 > words`: said when everything before was heard to its end; ` ~ ` parts hypotheses,
//!   `...` is a pause;
//! - `12.0 >> words`: said into the prompt;
//! - `12.0 .`: nothing is said until then;
//! - `12.0 resume`: the program had ended and the record was opened again;
//! - `< words`: what the session answers; `*` the events it recorded. These are what is tested.
//!
//! `READBACK_UPDATE=1` writes what is answered now into the files instead.

#[path = "dialogues/dialogue.rs"]
mod dialogue;

use std::fs;
use std::path::{Path, PathBuf};

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/dialogues");
    let entries = fs::read_dir(folder).expect("the folder of dialogues");
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "txt"))
        .collect();
    files.sort();
    files
}

#[test]
fn every_dialogue_goes_as_written() {
    let update = std::env::var_os("READBACK_UPDATE").is_some();
    let mut wrong = Vec::new();
    let files = files();
    assert!(!files.is_empty(), "found no dialogues");
    for file in files {
        let written = fs::read_to_string(&file).expect("a dialogue");
        let name = file.file_name().unwrap_or_default().to_string_lossy();
        let held = dialogue::hold(&written).unwrap_or_else(|why| panic!("{name}: {why}"));
        if update {
            fs::write(&file, held).expect("the dialogue is written");
        } else if held != written {
            wrong.push(format!("{name}:\n{}", difference(&written, &held)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The first line that differs, with what stands around it.
fn difference(written: &str, held: &str) -> String {
    let pairs = written.lines().zip(held.lines());
    let same = pairs.take_while(|(a, b)| a == b).count();
    let around = |text: &str| {
        let lines = text.lines().skip(same.saturating_sub(2)).take(6);
        lines.collect::<Vec<_>>().join("\n    ")
    };
    format!(
        "  line {}\n  expected\n    {}\n  found\n    {}",
        same + 1,
        around(written),
        around(held)
    )
}
