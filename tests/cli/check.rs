//! `readback check`.

use std::fs;

use crate::support::{Folder, readback};

#[test]
fn every_shipped_procedure_is_sound() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures");
    let entries = fs::read_dir(folder).expect("the shipped procedures");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    let yaml = paths.filter(|path| path.extension().is_some_and(|e| e == "yaml"));
    let names: Vec<_> = yaml
        .filter_map(|path| Some(path.file_name()?.to_owned()))
        .collect();
    assert!(names.len() >= 10, "found {names:?}");
    for name in names {
        let procedure = format!("procedures/{}", name.to_string_lossy());
        let run = readback(["check", &procedure]).exits(0).stderr("");
        let text = run.read_stdout();
        assert!(
            text.ends_with(&format!("{procedure}: nothing found\n")),
            "{run}"
        );
    }
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
        .stderr("error: cannot read `a.yaml`: there is no such file or folder\n");
}
