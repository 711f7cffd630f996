//! Every folder of `audio-fixtures/` is replayed through its real engine: what its manifest expects
//! of the session comes out, and the record verifies.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{Folder, readback};

const FIXTURES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/audio-fixtures");

#[test]
fn every_recorded_session_comes_to_what_its_manifest_says() {
    let entries = fs::read_dir(FIXTURES).expect("the recordings");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    let sessions = paths.filter(|path| path.join("manifest.json").is_file());
    let folders: Vec<_> = sessions.collect();
    assert!(folders.len() >= 2, "found {folders:?}");
    for folder in folders {
        replay(&folder);
    }
}

fn replay(folder: &Path) {
    let text = fs::read_to_string(folder.join("manifest.json")).expect("a manifest");
    let manifest: Value = serde_json::from_str(&text).expect("a manifest in JSON");
    let sessions = Folder::new();
    let session = sessions.path().join("session");
    let audio = folder.to_string_lossy();
    let record = session.to_string_lossy();
    let mut arguments = vec!["--json", "replay"];
    arguments.extend(strings(&manifest["replay"]));
    arguments.extend(["--audio", &audio, "--record", &record]);

    let run = readback(arguments).exits(0).stderr("");
    let answer: Value = serde_json::from_str(&run.read_stdout()).expect("an answer in JSON");
    let expect = &manifest["expect"];
    assert_eq!(answer["ended"], expect["ended"], "{run}");
    assert_eq!(answer["conclusion"], expect["conclusion"], "{run}");
    let readings = answer["readings"].as_array().expect("a list");
    let given: Vec<String> = readings
        .iter()
        .map(|reading| format!("{} {}", word(reading, "value"), word(reading, "unit")))
        .collect();
    assert_eq!(given, strings(&expect["readings"]), "{run}");
    for reading in readings {
        let clip = session.join(word(reading, "clip"));
        assert!(clip.is_file(), "{} is missing", clip.display());
    }
    let verified = readback(["verify", &record]).exits(0);
    assert!(
        verified.read_stdout().starts_with("whole and unchanged"),
        "{verified}"
    );
}

fn strings(list: &Value) -> Vec<&str> {
    let list = list.as_array().expect("a list");
    list.iter()
        .map(|text| text.as_str().expect("a text"))
        .collect()
}

fn word<'a>(value: &'a Value, name: &str) -> &'a str {
    value[name].as_str().unwrap_or_default()
}
