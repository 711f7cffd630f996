//! `readback sessions`: an index that is made, kept up to date and thrown away.

use std::fs;
use std::path::Path;

use crate::support::Folder;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// Two sessions of one unit and one of another, each with its winding read.
fn three() -> Folder {
    let folder = Folder::new();
    for (name, serial) in [("a", "HS24"), ("b", "HS24"), ("c", "HS7")] {
        play(&folder, name, serial);
    }
    folder
}

pub fn play(folder: &Folder, name: &str, serial: &str) {
    let procedure = format!("{ROOT}/procedures/cold-benches.yaml");
    let script = format!("{ROOT}/tests/shipped/cold-benches-dry.script");
    let to = format!("sessions/{name}");
    let replay = ["replay", &procedure, "--script", &script, "--voice", "none"];
    let job = ["--variant", "hs-2", "--serial", serial, "--record", &to];
    folder.run(replay.into_iter().chain(job)).exits(0);
}

fn json(folder: &Folder, arguments: &[&str]) -> serde_json::Value {
    let before = ["--json", "sessions", "sessions"];
    let run = folder
        .run(before.iter().chain(arguments))
        .exits(0)
        .stderr("");
    serde_json::from_str(&run.read_stdout()).expect("JSON")
}

fn folders(document: &serde_json::Value) -> Vec<&str> {
    let rows = document["sessions"].as_array().expect("sessions");
    rows.iter()
        .filter_map(|row| row["folder"].as_str())
        .collect()
}

#[test]
fn sessions_are_listed_found_and_forgotten() {
    let folder = three();
    assert_eq!(folders(&json(&folder, &[])), ["c", "b", "a"]);
    assert_eq!(folders(&json(&folder, &["--serial", "hs24"])), ["b", "a"]);
    assert_eq!(folders(&json(&folder, &["--find", "hs7 benches"])), ["c"]);
    assert_eq!(
        folders(&json(&folder, &["--find", "no such words"])),
        [""; 0]
    );
    assert_eq!(folders(&json(&folder, &["--since", "2999-01-01"])), [""; 0]);
    fs::remove_dir_all(folder.path().join("sessions/a")).expect("a session goes");
    play(&folder, "d", "HS9");
    assert_eq!(folders(&json(&folder, &[])), ["d", "c", "b"]);
    let text = folder.run(["sessions", "sessions"]).exits(0).read_stdout();
    assert!(
        text.contains("HS9") && text.ends_with("3 sessions\n"),
        "{text}"
    );
}

#[test]
fn the_index_can_be_deleted_or_spoiled() {
    let folder = three();
    let index = folder.path().join("sessions/.readback-index.sqlite");
    let before = json(&folder, &["--show", "tally"]);
    fs::remove_file(&index).expect("an index");
    assert_eq!(json(&folder, &["--show", "tally"]), before);
    fs::write(&index, "no index").expect("another file");
    assert_eq!(json(&folder, &["--show", "tally"]), before);
    assert!(index.metadata().expect("an index").len() > 1_000);
}

#[test]
fn one_unit_is_compared_over_time_and_one_step_over_units() {
    let folder = three();
    let unit = json(&folder, &["--serial", "HS24", "--show", "readings"]);
    let rows = unit["readings"].as_array().expect("readings");
    assert!(!rows.is_empty());
    assert!(rows.iter().all(|row| row["serial"] == "HS24"));
    let step = rows[0]["step"].as_str().expect("a step");
    let over_units = json(&folder, &["--step", step, "--show", "readings"]);
    let rows = over_units["readings"].as_array().expect("readings");
    assert!(rows.iter().all(|row| row["step"] == step));
    let of = |folder: &str| rows.iter().filter(|row| row["folder"] == folder).count();
    assert!(of("a") > 0 && of("a") == of("c"));
    let arguments = ["sessions", "sessions", "--show", "readings", "--step", step];
    let text = folder.run(arguments).exits(0).read_stdout();
    assert!(text.contains('\u{25cf}'), "{text}");
    folder
        .run(["sessions", "sessions", "--step", step])
        .exits(2);
}

#[test]
fn the_last_visit_at_a_unit_is_offered() {
    let folder = three().file("words.txt", "next\naffirm\nstop\n");
    let procedure = format!("{ROOT}/procedures/cold-benches.yaml");
    let again = |serial: &str, to: &str| {
        let replay = [
            "replay",
            &procedure,
            "--script",
            "words.txt",
            "--variant",
            "hs-2",
        ];
        let job = ["--serial", serial, "--visits", "sessions", "--record", to];
        let run = folder.run(replay.into_iter().chain(job)).exits(0);
        run.read_stdout()
    };
    let listed = json(&folder, &["--serial", "HS24"]);
    let conclusion = listed["sessions"][0]["conclusion"].as_str();
    let conclusion = conclusion.expect("a conclusion");
    let said = again("HS24", "x");
    assert!(said.contains("This unit was last visited on "), "{said}");
    let told = format!("Readback    {conclusion}");
    let first = conclusion.split('.').next().expect("a sentence");
    assert!(said.contains(&told) || said.contains(first), "{said}");
    let said = again("HS8", "y");
    assert!(!said.contains("last visited"), "{said}");
}

#[test]
fn findings_and_times_are_counted() {
    let folder = three();
    let tally = &json(&folder, &["--show", "tally"])["tally"];
    assert_eq!(tally["sessions"], 3);
    assert_eq!(tally["findings"][0]["sessions"], 3);
    let steps = tally["steps"].as_array().expect("steps");
    for step in steps {
        assert!(step["median_ms"].as_i64() <= step["longest_ms"].as_i64());
        assert_eq!(step["sessions"], 3);
    }
    assert!(!steps.is_empty());
}

#[test]
fn a_session_that_cannot_be_read_is_named_and_the_others_are_not_lost() {
    let folder = three();
    let record = folder.path().join("sessions/b/session.jsonl");
    let text = fs::read_to_string(&record).expect("a record");
    fs::write(&record, text.replacen("HS24", "HS25", 1)).expect("an altered record");
    let run = folder.run(["sessions", "sessions"]).exits(1);
    assert!(
        run.to_string()
            .contains("warning: `sessions/b` was left out: "),
        "{run}"
    );
    assert!(run.read_stdout().ends_with("2 sessions\n"), "{run}");
    folder.run(["sessions", "nowhere"]).exits(2).stdout("");
}

#[test]
fn an_index_is_not_made_where_nothing_may_be_written() {
    // Whoever may write everywhere writes here too: the answer is the same.
    let folder = three();
    let sessions = folder.path().join("sessions");
    let writable = |yes: bool, path: &Path| {
        let mut permissions = path.metadata().expect("a folder").permissions();
        permissions.set_readonly(!yes);
        fs::set_permissions(path, permissions).expect("other permissions");
    };
    writable(false, &sessions);
    let listed = json(&folder, &[]);
    writable(true, &sessions);
    assert_eq!(folders(&listed), ["c", "b", "a"]);
}

#[test]
fn a_finding_judged_again_is_counted_as_it_is_now() {
    let folder = three();
    for number in ["1", "2", "3", "4", "5"] {
        let by = ["amend", "sessions/a", "--by", "M. Lind", "--why", "misread"];
        let reading = ["--reading", number, "--value", "175 count"];
        folder.run(by.iter().chain(&reading)).exits(0);
    }
    let with = |finding| json(&folder, &["--finding", finding]);
    assert_eq!(folders(&with("stalled")), ["a"]);
    assert_eq!(folders(&with("dry")).len(), 2);
}
