//! `readback hear --score`: a corpus to shares with intervals.

use serde_json::Value;

use crate::support::{Folder, readback};

/// The part of the corpus that is kept for the tests: voices that nothing is tuned on.
const KEPT: &str = "audio-fixtures/corpus/held-out.json";

#[test]
fn the_kept_part_is_heard_no_worse_than_when_it_was_measured() {
    let run = readback([
        "hear",
        "--json",
        "--engine",
        "pocketsphinx",
        "--score",
        KEPT,
    ])
    .exits(0);
    let scores: Value = serde_json::from_str(&run.read_stdout()).expect("JSON");
    let all = &scores["all"][0];
    let share = |name: &str| all[name]["share"].as_f64().expect("a share");
    let end = |share: &Value, name: &str| share[name].as_f64().expect("an end");
    assert_eq!(all["said"], 31);
    // When it was measured 22 were right (all 15 clean, 7 of 16 at 10 dB) and 2 wrong. Here a share may be as far from that as the
    // interval goes.
    assert!(share("right") >= 0.534, "{all}");
    assert!(share("wrong") <= 0.207, "{all}");
    assert!(end(&all["right"], "low") < share("right"));
    assert!(end(&all["right"], "high") > share("right"));
    let sum = share("right") + share("wrong") + share("rejected");
    assert!((sum - 1.0).abs() < 1e-9, "{all}");
    // Of 9 recordings of talk none was taken for anything.
    let talk = &scores["false_accepts"]["talk"]["share"];
    assert!(talk.as_f64().expect("a share") <= 0.299, "{talk}");
    let utterances = scores["utterances"].as_array().expect("a list");
    assert_eq!(utterances.len(), 40);
}

#[test]
fn a_table_and_a_picture_say_the_same() {
    let recording = include_bytes!("../../audio-fixtures/hearing/en-rms-stop.wav");
    let manifest = r#"{"split": "training", "utterances": [{"file": "stop.wav", "words": "stop",
        "kind": "command", "form": "command", "voice": "rms", "noise": "none", "level_db": null,
        "speech_end_ms": 900}]}"#;
    let folder = Folder::new()
        .file("stop.wav", recording)
        .file("corpus.json", manifest);
    let score = ["hear", "--engine", "pocketsphinx", "--score", "corpus.json"];
    let run = folder
        .run(score.iter().chain(&["--chart", "levels.svg"]))
        .exits(0);
    let table = run.read_stdout();
    let row = "  commands                   1  100.0 (20.7 to 100.0) 0.0 (0.0 to 79.3)     \
               0.0 (0.0 to 79.3)\n";
    assert!(table.contains(row), "{table}");
    let picture = std::fs::read_to_string(folder.path().join("levels.svg")).expect("a picture");
    assert!(picture.contains(">clean</text>"), "{picture}");
    assert_eq!(picture.matches("<path").count(), 1);
}

#[test]
fn what_is_no_manifest_is_told() {
    let folder = Folder::new().file("corpus.json", "{}");
    folder
        .run(["hear", "--engine", "pocketsphinx", "--score", "corpus.json"])
        .exits(2)
        .stdout("")
        .stderr(
            "error: `corpus.json` is no manifest of a corpus: missing field `split` at line 1 \
             column 2; make one with `scripts/make-corpus`\n",
        );
    folder
        .run(["hear", "--engine", "pocketsphinx", "--score", "gone.json"])
        .exits(2)
        .stderr("error: cannot read `gone.json`: there is no such file or folder\n");
}
