//! `readback hear --score`: a corpus to shares with intervals.

use serde_json::Value;
use sha2::{Digest, Sha256};

use crate::support::{Folder, readback};

/// The part of the corpus that is kept for the tests: voices that nothing is tuned on.
const KEPT: &str = "audio-fixtures/corpus/held-out.json";

#[test]
fn the_kept_part_is_heard_no_worse_than_when_it_was_measured() {
    // 24 were right (all 15 clean, 9 of 16 at 10 dB) and 2 wrong.
    heard_no_worse("pocketsphinx", 0.602, 0.207);
}

/// Where the weights are not there, the test says so and passes.
#[cfg(feature = "network")]
#[test]
fn the_kept_part_is_heard_by_the_network_no_worse_than_when_it_was_measured() {
    let weights = concat!(env!("CARGO_MANIFEST_DIR"), "/vendor/models/network-en");
    if !std::path::Path::new(weights).is_dir() {
        eprintln!("skipped: no weights in `{weights}`; run `scripts/setup`");
        return;
    }
    // All 31 were right.
    heard_no_worse("network", 0.889, 0.111);
    // What adapts the network to noise is for the weights that are there.
    let recording = "audio-fixtures/hearing/en-rms-next.wav";
    let run = readback(["hear", "--json", "--engine", "network", recording]).exits(0);
    let heard = run.read_stdout();
    assert!(heard.contains("network-en adapted"), "{heard}");
}

/// A share may be as far from what was measured as the interval goes.
fn heard_no_worse(engine: &str, right: f64, wrong: f64) {
    let run = readback(["hear", "--json", "--engine", engine, "--score", KEPT]).exits(0);
    let scores: Value = serde_json::from_str(&run.read_stdout()).expect("JSON");
    let all = &scores["all"][0];
    let share = |name: &str| all[name]["share"].as_f64().expect("a share");
    let end = |share: &Value, name: &str| share[name].as_f64().expect("an end");
    assert_eq!(all["said"], 31);
    assert!(share("right") >= right, "{all}");
    assert!(share("wrong") <= wrong, "{all}");
    assert!(end(&all["right"], "low") < share("right"));
    // Above the share, unless that is all there is.
    assert!(end(&all["right"], "high") > share("right").min(0.999));
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

/// A manifest of one recording with these words, of this kind and hash.
fn manifest_of(file: &str, words: &str, kind: &str, sha256: &str) -> String {
    format!(
        r#"{{"split": "training", "utterances": [{{"file": "{file}", "words": "{words}",
        "kind": "{kind}", "form": "command", "voice": "rms", "noise": "none", "level_db": null,
        "speech_end_ms": 900, "sha256": "{sha256}"}}]}}"#
    )
}

#[test]
fn recordings_are_looked_at_before_the_first_is_heard() {
    let recording = include_bytes!("../../audio-fixtures/hearing/en-rms-stop.wav");
    let sum = "0".repeat(64);
    let found_sum = format!("{:x}", Sha256::digest(recording));
    for (manifest, error) in [
        (
            manifest_of("gone.wav", "stop", "command", &sum),
            "`gone.wav`: there is no such file or folder; make the corpus again".to_owned(),
        ),
        (
            manifest_of("stop.wav", "stop", "command", &sum),
            format!(
                "`stop.wav`: found a file with the SHA-256 {found_sum}, expected {sum}, as when the \
                 manifest was made; make the corpus again"
            ),
        ),
        (
            manifest_of("stop.wav", "flibber", "command", &found_sum),
            "`stop.wav`: found `flibber`, which means nothing, expected words that do, or the kind \
             `talk`"
                .to_owned(),
        ),
    ] {
        let good = manifest_of("stop.wav", "stop", "command", &found_sum);
        let folder = Folder::new()
            .file("stop.wav", recording)
            .file("good.json", good)
            .file("bad.json", manifest);
        let score = ["hear", "--engine", "pocketsphinx", "--score"];
        folder
            .run(score.iter().chain(&["good.json", "bad.json"]))
            .exits(2)
            .stdout("")
            .stderr(&format!("error: `bad.json`, recording 1, {error}\n"));
        folder.run(score.iter().chain(&["good.json"])).exits(0);
    }
    let run = readback(["hear", "--first", "1", KEPT]).exits(2);
    assert!(run.to_string().contains("--score"), "{run}");
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
        .stderr("error: cannot read `gone.json`: there is no such file or folder; check its name and folder\n");
}
