//! `readback doctor`: what it says of this machine and how it ends.
//!
//! Which devices and engines there are differs by machine and build; what is given here is the
//! same everywhere.

use serde_json::Value;

use crate::support::{Folder, Run, readback};

fn checks(run: &Run) -> Value {
    serde_json::from_str(&run.read_stdout()).expect("one JSON document")
}

/// The check of that name.
fn check<'a>(document: &'a Value, what: &str) -> &'a Value {
    let mut checks = document["checks"].as_array().expect("checks").iter();
    let found = checks.find(|check| check["what"] == what);
    found.unwrap_or_else(|| panic!("no check `{what}` in {document}"))
}

#[test]
fn the_exit_code_follows_from_what_a_replay_needs() {
    let folder = Folder::new();
    let run = folder.run(["doctor", "--quick", "--json"]);
    let document = checks(&run);
    let engines = ["engine vosk", "engine pocketsphinx", "engine network"];
    let ready = engines.map(|e| check(&document, e)["works"] == true);
    assert_eq!(document["can_replay"], ready.contains(&true), "{document}");
    let code = if ready.contains(&true) { 0 } else { 3 };
    run.exits(code);
    assert_eq!(check(&document, "language")["works"], true);
    assert_eq!(check(&document, "record folder")["works"], true);
    let left = std::fs::read_dir(folder.path())
        .expect("the folder")
        .count();
    assert_eq!(left, 0, "nothing is left behind");
}

#[test]
fn the_engine_that_is_named_must_be_there() {
    for engine in ["vosk", "pocketsphinx", "network"] {
        let run = Folder::new().run(["doctor", "--quick", "--json", "--engine", engine]);
        let document = checks(&run);
        let ready = &check(&document, &format!("engine {engine}"))["works"];
        assert_eq!(document["can_replay"], *ready, "{document}");
        run.exits(if *ready == true { 0 } else { 3 });
    }
}

#[test]
fn whatever_is_missing_has_a_remedy() {
    let run = Folder::new().run(["doctor", "--quick", "--json"]);
    let document = checks(&run);
    for check in document["checks"].as_array().expect("checks") {
        let remedy = check["remedy"].as_str().unwrap_or_default();
        assert_eq!(check["works"] == true, remedy.is_empty(), "{check}");
    }
}

#[test]
fn the_speech_program_that_setup_installs_works() {
    let document = checks(&Folder::new().run(["doctor", "--quick", "--json"]));
    let found = &check(&document, "speech into files")["found"];
    assert!(*found == "`espeak-ng`" || *found == "`flite`", "{found}");
}

#[test]
fn an_unknown_language_cannot_be_replayed() {
    let run = Folder::new().run(["doctor", "--quick", "--json", "--language", "xx"]);
    let document = checks(&run);
    assert_eq!(document["can_replay"], false);
    assert_eq!(
        check(&document, "language")["found"],
        "found the language `xx`, expected one of: en-US, ko-KR"
    );
    run.exits(3);
}

#[test]
fn a_folder_below_a_file_cannot_be_recorded_in() {
    let folder = Folder::new().file("notes", "");
    let run = folder.run(["doctor", "--quick", "--json", "--sessions", "notes/s"]);
    let document = checks(&run);
    assert_eq!(
        check(&document, "record folder")["found"],
        "cannot write `notes`: part of the path is a file, not a folder"
    );
    run.exits(3);
}

#[test]
fn a_folder_that_is_no_model_is_named() {
    let run = Folder::new().run(["doctor", "--quick", "--json", "--model", "nowhere"]);
    let document = checks(&run);
    for engine in ["engine vosk", "engine pocketsphinx"] {
        let found = check(&document, engine)["found"].as_str().expect("a text");
        let built = !found.contains("built without");
        assert_eq!(built, found == "model `nowhere` is not there", "{found}");
    }
    run.exits(3);
}

#[test]
fn a_damaged_model_does_not_work_however_quick_the_look() {
    let folder = Folder::new()
        .file("model/model.bin", "half a file")
        .file("model/vocabulary.txt", "next\n");
    let arguments = [
        "doctor", "--quick", "--json", "--engine", "network", "--model", "model",
    ];
    let run = folder.run(arguments);
    let document = checks(&run);
    let engine = check(&document, "engine network");
    assert_eq!(engine["works"], false, "{document}");
    let found = engine["found"].as_str().expect("a text");
    assert!(
        found.contains("`model.bin` is no file of weights") || found.contains("built without"),
        "{found}"
    );
    run.exits(3);
}

#[test]
fn the_text_ends_with_a_verdict() {
    let run = Folder::new().run(["doctor", "--quick", "--language", "xx"]);
    let text = run.read_stdout();
    assert!(
        text.starts_with(
            "missing  language: found the language `xx`, expected one of: en-US, ko-KR\n         \
             -> choose another with `--language`\n"
        ),
        "{text}"
    );
    assert!(text.ends_with("\nno session can be run\n"), "{text}");
}

#[test]
fn a_recording_of_next_is_heard_by_the_engine_that_is_ready() {
    let recording = "audio-fixtures/cold-benches/001.wav";
    let run = readback(["doctor", "--quick", "--json", "--fixture", recording]);
    let document = checks(&run);
    let recognition = check(&document, "recognition");
    assert_eq!(recognition["works"], document["can_replay"], "{document}");
    if document["can_replay"] == true {
        let answered = &document["answered"];
        assert_eq!(answered["words"], "next", "{document}");
        assert!(answered["after_ms"].as_u64().is_some(), "{document}");
        run.exits(0);
    }
}

#[test]
fn a_recording_without_next_is_told_with_what_was_heard() {
    let recording = "audio-fixtures/cold-benches/004.wav";
    let run = readback(["doctor", "--quick", "--json", "--fixture", recording]);
    let document = checks(&run);
    if document["can_replay"] == true {
        let recognition = check(&document, "recognition");
        assert_eq!(recognition["works"], false, "{document}");
        let found = recognition["found"].as_str().expect("a text");
        assert!(found.starts_with("heard `affirm` by "), "{found}");
        assert!(found.ends_with("expected \"next\""), "{found}");
        run.exits(1);
    }
}

#[test]
fn a_recording_that_is_not_there_is_told() {
    let run = Folder::new().run(["doctor", "--quick", "--json", "--fixture", "next.wav"]);
    let document = checks(&run);
    if document["can_replay"] == true {
        let found = &check(&document, "recognition")["found"];
        assert_eq!(
            found,
            "cannot read `next.wav`: there is no such file or folder; check its name and folder"
        );
        run.exits(1);
    }
}
