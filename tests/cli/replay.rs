//! `readback replay`.

use readback::clock::{Clock, SystemClock};
use readback::record::Record;
use readback::session::Event;
use serde_json::Value;

use crate::support::{Folder, Run, readback};

const PROCEDURE: &str = include_str!("../../procedures/cold-benches.yaml");
const CALLED: &str = include_str!("../../procedures/winding-check.yaml");

fn folder(script: &str) -> Folder {
    Folder::new()
        .file("cold-benches.yaml", PROCEDURE)
        .file("winding-check.yaml", CALLED)
        .file("script.txt", script)
}

fn json(run: &Run) -> Value {
    serde_json::from_str(&run.read_stdout()).unwrap_or_else(|error| panic!("{error} in {run}"))
}

/// Everything before the first step, for a small skid.
const ENTRY: &str = "next\nsmall skid\nhotel sierra two four\naffirm\none two one volts\n\
    six zero hertz\naffirm\naffirm\n";

#[test]
fn a_session_that_only_begins_is_incomplete_and_can_go_on() {
    let folder = folder("next\n").file("more.txt", "small skid\nstop\n");
    let begun = folder
        .run(replay("script.txt", &["--record", "s"]))
        .exits(0);
    let begun = json(&begun);
    assert_eq!(begun["session"], "s");
    assert_eq!(begun["ended"], "incomplete");
    assert_eq!(begun["conclusion"], Value::Null);

    let went_on = folder.run(replay("more.txt", &["--resume", "s"])).exits(0);
    assert_eq!(json(&went_on)["ended"], "stopped");
    let verified = folder.run(["verify", "s"]).exits(0);
    assert!(verified.read_stdout().starts_with("whole and unchanged"));
}

#[test]
fn a_session_is_resumed_with_nothing_but_its_own_procedure() {
    let folder = folder("next\n").file("more.txt", "small skid\n");
    folder
        .run(replay("script.txt", &["--record", "s"]))
        .exits(0);
    let other = [
        "replay",
        concat!(env!("CARGO_MANIFEST_DIR"), "/procedures/winding-check.yaml"),
        "--script",
        "more.txt",
        "--resume",
        "s",
    ];
    let refused = folder.run(other).exits(2);
    assert!(
        refused.to_string().contains(
            "is the procedure `winding-check`, and `s` is a session of `cold-benches`; name that \
             procedure, or begin a new session"
        ),
        "{refused}"
    );
    let variant = ["--resume", "s", "--variant", "hs-2"];
    folder.run(replay("more.txt", &variant)).exits(2);
}

#[test]
fn a_session_that_another_process_has_open_is_not_gone_on_with() {
    let folder = folder("next\n").file("more.txt", "small skid\n");
    folder
        .run(replay("script.txt", &["--record", "s"]))
        .exits(0);
    let session = folder.path().join("s");
    let before = std::fs::read(session.join("session.jsonl")).unwrap();
    let ours = Record::<Event>::resume(&session, SystemClock::start().now().wall).unwrap();
    let refused = folder.run(replay("more.txt", &["--resume", "s"])).exits(2);
    let holder = format!("open in another process (number {})", std::process::id());
    assert!(refused.to_string().contains(&holder), "{refused}");
    drop(ours);
    let after = std::fs::read(session.join("session.jsonl")).unwrap();
    assert!(after.starts_with(&before));
    folder.run(replay("more.txt", &["--resume", "s"])).exits(0);
}

#[test]
fn readings_are_answered_as_spoken_and_the_minute_takes_no_minute() {
    let script = format!(
        "{ENTRY}next\nnext\ngreen lamp\nnext\n+93 seven two\n+8 seven three\n+8 seven one\n\
         +8 seven two\n+8 seven three\n+20 next\nfive one point five degrees celsius\naffirm\nnext\n"
    );
    let began = std::time::Instant::now();
    let run = folder(&script)
        .run(replay("script.txt", &["--record", "s"]))
        .exits(0)
        .stderr("");
    assert!(began.elapsed().as_secs() < 30, "{run}");
    let answer = json(&run);
    assert_eq!(answer["ended"], "finished", "{run}");
    assert_eq!(
        answer["conclusion"],
        "Circulator and tank are sound. The bench valves were closed."
    );
    let readings = answer["readings"].as_array().expect("a list");
    let given: Vec<_> = readings
        .iter()
        .map(|r| (r["step"].as_str(), r["value"].as_str(), r["unit"].as_str()))
        .collect();
    let count = |value| (Some("load-count"), Some(value), Some("count"));
    assert_eq!(
        given,
        [
            count("72"),
            count("73"),
            count("71"),
            count("72"),
            count("73"),
            (Some("tank-temperature"), Some("51.5"), Some("degC")),
        ]
    );
}

#[test]
fn what_is_known_of_the_job_is_not_asked() {
    let job = ["--variant", "hs-6", "--serial", "HS6100", "--record", "s"];
    let run = folder("next\n").run(text("script.txt", &job)).exits(0);
    let dialogue = run.read_stdout();
    assert!(dialogue.contains("What is the supply voltage?"), "{run}");
    assert!(!dialogue.contains("Which unit is it"), "{run}");
    assert!(!dialogue.contains("serial number"), "{run}");
}

#[test]
fn a_variant_the_procedure_does_not_have_is_bad_input() {
    folder("next\n")
        .run(text("script.txt", &["--variant", "hs-9"]))
        .exits(2)
        .stdout("")
        .stderr(
            "error: found the variant `hs-9`, expected one of `hs-2`, `hs-6`; name it with \
             `--variant`\n",
        );
}

#[test]
fn nobody_to_speak_is_a_usage_error() {
    let run = readback(["replay", "procedures/cold-benches.yaml"]).exits(2);
    let message = "<--audio <FILE|FOLDER>|--script <FILE>>";
    assert!(run.to_string().contains(message), "{run}");
}

#[test]
fn a_serial_number_that_no_plate_shows_is_refused() {
    let long = "9".repeat(65);
    for serial in ["", "  ", "A\nB", &long] {
        let run = folder("next\n").run(text("script.txt", &["--serial", serial]));
        let run = run.exits(2).stdout("");
        let message = "expected 1 to 64 letters, digits or marks as on the plate";
        assert!(run.to_string().contains(message), "{run}");
    }
}

#[test]
fn a_script_that_cannot_be_spoken_is_named_with_its_line() {
    folder("next\n240\n")
        .run(text("script.txt", &[]))
        .exits(2)
        .stdout("")
        .stderr("error: script.txt:2: has no words, expected some after the time\n");
}

#[test]
fn a_folder_that_holds_something_is_not_recorded_in() {
    folder("next\n")
        .file("s/notes.txt", "mine")
        .run(text("script.txt", &["--record", "s"]))
        .exits(2)
        .stdout("")
        .stderr(
            "error: `s` already holds something; resume the session in it or choose another \
             folder\n",
        );
}

#[test]
fn a_recording_that_is_none_is_bad_input() {
    folder("")
        .file("a.wav", "ID3 and more bytes")
        .run(["replay", "cold-benches.yaml", "--audio", "a.wav"])
        .exits(2)
        .stdout("")
        .stderr(
            "error: `a.wav` is not a WAV file: it starts with `ID3 and more`, expected `RIFF` and \
             `WAVE`; convert it to WAV\n",
        );
}

#[test]
fn an_engine_without_its_model_is_missing() {
    let recording = include_bytes!("../../audio-fixtures/cold-benches/001.wav");
    let run = folder("")
        .file("a.wav", recording)
        .run([
            "replay",
            "cold-benches.yaml",
            "--audio",
            "a.wav",
            "--model",
            "gone",
        ])
        .exits(3)
        .stdout("");
    let named = run.to_string().contains("`gone` does not exist");
    let left_out = !cfg!(any(feature = "vosk", feature = "pocketsphinx"));
    assert!(named || left_out, "{run}");
}

fn text<'a>(script: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let arguments = ["replay", "cold-benches.yaml", "--script", script];
    [&arguments[..], more].concat()
}

fn replay<'a>(script: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["--json"][..], &text(script, more)].concat()
}

/// Every recording is heard as it was said, so that the session comes to its end; where the weights
/// are not there, the test says so and passes.
#[cfg(feature = "network")]
#[test]
fn the_recorded_technician_is_heard_through_by_the_network() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let weights = root.join("vendor/models/network-en");
    if !weights.is_dir() {
        eprintln!(
            "skipped: no weights in `{}`; run `scripts/setup`",
            weights.display()
        );
        return;
    }
    let recordings = root.join("audio-fixtures/cold-benches");
    let recordings = recordings.to_str().expect("a path in UTF-8");
    let run = folder("").run([
        "replay",
        "cold-benches.yaml",
        "--audio",
        recordings,
        "--engine",
        "network",
        "--record",
        "s",
        "--json",
    ]);
    let document = json(&run.exits(0));
    assert_eq!(document["ended"], "finished");
    let conclusion = document["conclusion"].to_string();
    assert!(
        conclusion.contains("rotor of the circulator"),
        "{conclusion}"
    );
}
