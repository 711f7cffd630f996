//! `readback check`.

use std::fs;
use std::path::Path;

use crate::support::{Folder, readback};

#[test]
fn every_shipped_procedure_is_sound() {
    let names: Vec<String> = ["procedures", "procedures/ko-KR"]
        .into_iter()
        .flat_map(procedures_in)
        .collect();
    assert!(names.len() >= 11, "found {names:?}");
    for procedure in names {
        let run = readback(["check", &procedure]).exits(0).stderr("");
        let text = run.read_stdout();
        assert!(
            text.ends_with(&format!("{procedure}: nothing found\n")),
            "{run}"
        );
    }
}

fn procedures_in(folder: &str) -> Vec<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = fs::read_dir(path).expect("the shipped procedures");
    let names = entries.map(|entry| entry.expect("an entry").file_name());
    names
        .map(|name| format!("{folder}/{}", name.to_string_lossy()))
        .filter(|name| name.ends_with(".yaml"))
        .collect()
}

#[test]
fn what_is_not_a_procedure_is_shown_with_its_place() {
    let folder = Folder::new().file("a.yaml", "id: [a\n");
    let run = folder.run(["check", "a.yaml"]).exits(1).stderr("");
    let text = run.read_stdout();
    assert!(text.starts_with("a.yaml:"), "{run}");
    assert!(text.ends_with("a.yaml: 1 problem\n"), "{run}");
}

#[test]
fn a_file_that_is_not_there_is_bad_input() {
    Folder::new()
        .run(["check", "a.yaml"])
        .exits(2)
        .stdout("")
        .stderr("error: cannot read `a.yaml`: there is no such file or folder; check its name and folder\n");
}

#[test]
fn a_file_not_named_after_its_procedure_is_doubted() {
    let run = readback(["check", "tests/procedures/plain.yaml"])
        .exits(1)
        .stderr("");
    let text = run.read_stdout();
    let first = "tests/procedures/plain.yaml:1:1: found procedure `check-circulator` in `plain.yaml`, \
                 expected it in `check-circulator.yaml`, where a call looks for it; rename the file or \
                 the procedure\n";
    assert!(text.starts_with(first), "{run}");
    assert!(
        text.ends_with("tests/procedures/plain.yaml: 1 problem\n"),
        "{run}"
    );
}

/// Needs the pronouncing dictionary that `scripts/setup` fetches.
#[test]
fn answers_that_sound_alike_are_doubted_and_a_better_wording_is_named() {
    let procedure = |thin: &str| {
        format!(
            "id: plate\ntitle: look at the plate\nrevision: \"1\"\nlocale: en-US\n\
             qualification: electrically qualified person\n\
             applies_to:\n  - {{ id: gs-2, name: two kilowatt skid }}\n\
             make_safe: switch off at the isolator\nsteps:\n  \
             - choose:\n      id: look\n      ask: what is it\n      options:\n        \
             - {{ id: fin, phrases: [fin] }}\n        - {{ id: thin, phrases: [{thin}] }}\n  \
             - finish: {{ id: done, say: all is well, conclusion: no fault found }}\n"
        )
    };
    let check = |thin| {
        Folder::new()
            .file("plate.yaml", procedure(thin))
            .run(["check", "plate.yaml"])
    };
    for (phrases, remedy) in [
        (
            "thin",
            "use another word for `thin`, or put one before it that the other has not",
        ),
        (
            "thin, narrow sheet",
            "leave `thin` out and keep `narrow sheet`",
        ),
    ] {
        let run = check(phrases).exits(1).stderr("");
        let found = "found `thin`, which sounds like `fin`, which answers `fin`, expected phrases that \
                     can be told apart beside a machine; ";
        let text = run.read_stdout();
        assert!(text.contains(&format!("{found}{remedy}\n")), "{run}");
        assert!(text.ends_with("plate.yaml: 1 problem\n"), "{run}");
    }
    check("narrow sheet").exits(0).stderr("");
    // What is in no dictionary is no better wording, and alone it cannot be heard.
    check("xzqflug, narrow sheet").exits(0).stderr("");
    let run = check("thin, xzqflug").exits(1);
    assert!(
        run.read_stdout().contains("use another word for `thin`"),
        "{run}"
    );
    let run = check("xzqflug").exits(1).stderr("");
    let found = "plate.yaml:11:11: found the answer `thin`, which pocketsphinx cannot hear: `xzqflug` is not in its \
                 dictionary, expected for every answer a phrase of words that it knows; list a phrase of \
                 common words beside it, such as the part's color or place\n";
    assert!(run.read_stdout().contains(found), "{run}");
}

#[test]
fn the_schema_is_the_one_beside_the_procedures() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures/procedure.schema.json");
    let committed = fs::read_to_string(path).expect("the schema");
    readback(["check", "--schema"]).exits(0).stdout(&committed);
}
