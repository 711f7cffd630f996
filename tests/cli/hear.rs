//! `readback hear`: recordings to meanings, and what is said of files, steps and models that are
//! not there.

use crate::support::{Folder, readback};

#[test]
fn what_is_no_recording_is_told() {
    let folder = Folder::new()
        .file("words.wav", "next step, please")
        .file("empty.wav", "")
        .file("cut.wav", "RIFF");
    let cases = [
        (
            "gone.wav",
            "cannot read `gone.wav`: there is no such file or folder; check its name and folder",
        ),
        ("empty.wav", "`empty.wav` is empty; record it again"),
        (
            "words.wav",
            "`words.wav` is not a WAV file: it starts with `next step, p`, expected `RIFF` and \
             `WAVE`; convert it to WAV",
        ),
        (
            "cut.wav",
            "`cut.wav` ends inside its header; record or copy it again",
        ),
    ];
    for (file, message) in cases {
        folder
            .run(["hear", file])
            .exits(2)
            .stdout("")
            .stderr(&format!("error: {message}\n"));
    }
}

#[test]
fn what_cannot_be_read_keeps_nobody_from_hearing_the_rest() {
    let stop = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/audio-fixtures/hearing/en-rms-stop.wav"
    );
    Folder::new()
        .file("empty.wav", "")
        .run([
            "hear",
            "--engine",
            "pocketsphinx",
            "gone.wav",
            stop,
            "empty.wav",
        ])
        .exits(2)
        .stdout(&format!(
            "{stop}\n     0.1 to 1.2 s  \"stop\"  command stop\n"
        ))
        .stderr(
            "error: cannot read `gone.wav`: there is no such file or folder; check its name and \
             folder\nerror: `empty.wav` is empty; record it again\n",
        );
}

#[test]
fn a_model_that_is_not_there_ends_with_3() {
    Folder::new()
        .run(["hear", "--engine", "vosk", "--model", "none", "a.wav"])
        .exits(3)
        .stdout("")
        .stderr("error: `none` does not exist; name the folder that holds `am/final.mdl`\n");
}

#[test]
fn a_step_that_is_not_there_is_told_with_those_that_are() {
    let arguments = [
        "hear",
        "--procedure",
        "procedures/winding-check.yaml",
        "--step",
        "x",
        "a.wav",
    ];
    readback(arguments).exits(2).stdout("").stderr(
        "error: `procedures/winding-check.yaml` has no step `x`, expected one of: \
         `live-terminals`, `isolate`, `locked`, `proved-dead`, `unplug`, `resistance`, `shorted`, \
         `open`, `sound`\n",
    );
}

#[test]
fn recordings_are_heard_and_other_talk_is_nothing() {
    readback([
        "hear",
        "--engine",
        "pocketsphinx",
        "audio-fixtures/hearing/en-rms-stop.wav",
        "audio-fixtures/hearing/en-rms-correction_two_four_five.wav",
        "audio-fixtures/hearing/en-rms-talk_1.wav",
    ])
    .exits(0)
    .stderr("")
    .stdout(
        "audio-fixtures/hearing/en-rms-stop.wav\n     \
         0.1 to 1.2 s  \"stop\"  command stop\n\
         audio-fixtures/hearing/en-rms-correction_two_four_five.wav\n     \
         0.2 to 2.4 s  \"correction two four five\"  command correction, reading 245\n\
         audio-fixtures/hearing/en-rms-talk_1.wav\n     \
         0.2 to 3.3 s  \"continue\"  nothing: sounds like other talk: trusted at 0.00, \
         expected 0.40 or more\n",
    );
}

#[test]
fn the_document_has_the_shape_scripts_rely_on() {
    let file = "audio-fixtures/hearing/en-slt-five_milliamps.wav";
    let run = readback(["hear", "--json", "--engine", "pocketsphinx", file])
        .exits(0)
        .stderr("");
    let document: serde_json::Value = serde_json::from_str(&run.read_stdout()).expect("JSON");
    assert_eq!(document["engine"], "pocketsphinx");
    assert_eq!(document["model"], "en-us");
    assert_eq!(document["files"][0]["file"], file);
    let utterance = &document["files"][0]["utterances"][0];
    assert_eq!(utterance["words"], "five milliamps");
    assert!(utterance["start_ms"].as_u64() < utterance["end_ms"].as_u64());
    assert_eq!(utterance["meaning"]["command"], serde_json::Value::Null);
    assert_eq!(utterance["meaning"]["readings"][0]["value"], "5");
    assert_eq!(utterance["meaning"]["readings"][0]["value_base"], "0.005");
}

#[test]
fn at_a_step_only_what_it_takes_is_heard() {
    let at = |step: &str| {
        let file = "audio-fixtures/hearing/en-rms-sixteen_point_four_ohms.wav";
        let procedure = "procedures/winding-check.yaml";
        let arguments = [
            "hear",
            "--json",
            "--engine",
            "pocketsphinx",
            "--procedure",
            procedure,
        ];
        let run = readback(arguments.iter().chain(&["--step", step, file])).exits(0);
        let document: serde_json::Value = serde_json::from_str(&run.read_stdout()).expect("JSON");
        document["files"][0]["utterances"][0]["meaning"].clone()
    };
    assert_eq!(at("resistance")["readings"][0]["unit"], "ohm");
    assert_eq!(at("unplug"), serde_json::Value::Null);
}
