//! `readback report`.

use std::fs;

use crate::support::Folder;

const PROCEDURE: &str = include_str!("../../procedures/cold-benches.yaml");
const CALLED: &str = include_str!("../../procedures/winding-check.yaml");
const JOB: &str = "reference: A-1043\nvariant: hs-2\nserial: HS24\ncomplaint: It is cold.\n";

/// A session that was stopped before its first step.
fn stopped() -> Folder {
    let folder = Folder::new()
        .file("cold-benches.yaml", PROCEDURE)
        .file("winding-check.yaml", CALLED)
        .file("job.yaml", JOB)
        .file("script.txt", "next\nstop\n");
    let replay = ["replay", "cold-benches.yaml", "--script", "script.txt"];
    let job = ["--job", "job.yaml", "--voice", "none", "--record", "s"];
    folder.run(replay.into_iter().chain(job)).exits(0);
    folder
}

#[test]
fn the_job_is_in_every_form() {
    let folder = stopped();
    let text = folder
        .run(["report", "s"])
        .exits(0)
        .stderr("")
        .read_stdout();
    for told in [
        "A-1043",
        "It is cold.",
        "HS24",
        "small skid",
        "The session was stopped",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    let json = folder.run(["--json", "report", "s"]).exits(0).read_stdout();
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["job"]["reference"], "A-1043");
    assert_eq!(json["outcome"]["ended"], "stopped");
    let to = ["report", "s", "--format", "html", "--out", "r.html"];
    folder.run(to).exits(0).stdout("").stderr("");
    let page = fs::read_to_string(folder.path().join("r.html")).expect("a page");
    assert!(page.contains("A-1043"));
    let csv = folder.run(["report", "s", "--format", "csv"]).exits(0);
    assert!(csv.read_stdout().starts_with("number,at,ms,"));
}

#[test]
fn a_record_that_does_not_verify_is_reported_with_exit_code_1() {
    let folder = stopped();
    let file = folder.path().join("s/session.jsonl");
    let text = fs::read_to_string(&file).expect("a record");
    fs::write(&file, text.replace("It is cold.", "It is hot.")).expect("an altered record");
    let run = folder
        .run(["report", "s"])
        .exits(1)
        .stderr("warning: the record does not verify; the report says so\n");
    assert!(run.read_stdout().contains("THE RECORD DOES NOT VERIFY"));
}

#[test]
fn what_cannot_be_made_is_told() {
    let folder = stopped();
    folder
        .run(["report", "s", "--format", "pdf"])
        .exits(2)
        .stderr("error: a PDF goes into a file; name it with `--out`\n");
    folder
        .run(["report", "s", "--clips"])
        .exits(2)
        .stderr("error: found `--clips`, expected it with `--format html` only\n");
    folder.run(["report", "nowhere"]).exits(2);
    let file = ["--job", "job.yaml", "--voice", "none", "--record", "t"];
    let replay = ["replay", "cold-benches.yaml", "--script", "script.txt"];
    let folder = folder.file("job.yaml", "variant: hs-9\n");
    let run = folder.run(replay.into_iter().chain(file)).exits(2);
    assert!(
        run.to_string().contains("found the variant `hs-9`"),
        "{run}"
    );
}
