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
    let from = &json["record"]["about"]["heard_from"];
    assert_eq!(from, "words that were written before");
    assert_eq!(json["outcome"]["ended"], "stopped");
    let to = ["report", "s", "--format", "html", "--out", "r.html"];
    folder.run(to).exits(0).stdout("").stderr("");
    let page = fs::read_to_string(folder.path().join("r.html")).expect("a page");
    assert!(page.contains("A-1043"));
    let csv = folder.run(["report", "s", "--format", "csv"]).exits(0);
    assert!(csv.read_stdout().starts_with("number,at,ms,"));
}

#[test]
fn what_a_job_leaves_out_is_asked_for_and_may_be_written_later() {
    let folder = stopped().file(
        "asked.txt",
        "next\nthe nursery on the hill\nnot me\nskip\nstop\n",
    );
    let replay = ["replay", "cold-benches.yaml", "--script", "asked.txt"];
    let job = ["--job", "job.yaml", "--voice", "none", "--record", "t"];
    folder.run(replay.into_iter().chain(job)).exits(0);
    let text = folder.run(["report", "t"]).exits(0).read_stdout();
    for told in [
        "Complaint      It is cold.\n",
        "Unit           the nursery on the hill, small skid\n",
        "Site           not me\n",
        "Technician     not given\n",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    let amend = ["amend", "t", "--by", "M. Lind", "--job", "technician"];
    folder.run(amend).exits(2).stdout("");
    let text = ["--text", "R. Amsel"];
    folder.run(amend.into_iter().chain(text)).exits(0);
    let run = folder.run(amend.into_iter().chain(text)).exits(2);
    run.stderr("error: the technician says the same already\n");
    let other = [
        "amend", "t", "--by", "M. Lind", "--job", "color", "--text", "x",
    ];
    let run = folder.run(other).exits(2).to_string();
    let known = "expected one of complaint, unit, site, reference, technician";
    assert!(run.contains(known), "{run}");
    let text = folder.run(["report", "t"]).exits(0).read_stdout();
    let told = "Technician     R. Amsel (written after the session)\n";
    assert!(text.contains(told), "{text}");
    folder.run(["verify", "t"]).exits(0);
}

#[test]
fn nobody_is_asked_for_the_job_who_does_not_want_it() {
    let folder = stopped().file("words.txt", "next\nstop\n");
    let run = |more: &[&str], record| {
        let replay = ["replay", "cold-benches.yaml", "--script", "words.txt"];
        let unit = ["--variant", "hs-2", "--serial", "HS24", "--record", record];
        let all = replay.iter().chain(&unit).chain(more);
        folder.run(all).exits(0).read_stdout()
    };
    let complaint = "What is the complaint?";
    assert!(!run(&[], "a").contains(complaint));
    assert!(run(&["--ask-job"], "b").contains(complaint));
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
fn a_session_that_goes_on_takes_its_sign_off_back() {
    let folder = stopped();
    let signed_off = || {
        let json = folder.run(["--json", "report", "s"]).exits(0).read_stdout();
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        json["signed_off"].as_bool().expect("yes or no")
    };
    let sign = ["amend", "s", "--by", "M. Lind", "--sign", "Read."];
    folder.run(sign).exits(0);
    assert!(signed_off());
    let replay = ["replay", "cold-benches.yaml", "--script", "script.txt"];
    let resume = ["--resume", "s", "--voice", "none"];
    folder.run(replay.into_iter().chain(resume)).exits(0);
    assert!(!signed_off());
}

#[test]
fn a_report_goes_into_a_new_file_outside_the_session() {
    let folder = stopped().file("old.txt", "an older report");
    for other in [
        ["pack", "s", "--out", "s/s.zip"].as_slice(),
        &["key", "s/k.pem"],
    ] {
        let run = folder.run(other).exits(2);
        assert!(
            run.to_string().contains("lies in a session's folder"),
            "{run}"
        );
    }
    let record = || fs::read(folder.path().join("s/session.jsonl")).expect("a record");
    let before = record();
    for inside in ["s/session.jsonl", "s/report.html", "s/procedure/new.txt"] {
        let run = folder.run(["report", "s", "--out", inside]).exits(2);
        assert!(
            run.to_string().contains("lies in a session's folder"),
            "{run}"
        );
    }
    assert_eq!(record(), before);
    assert!(!folder.path().join("s/report.html").exists());
    folder
        .run(["report", "s", "--out", "old.txt"])
        .exits(2)
        .stdout("")
        .stderr(
            "error: cannot make `old.txt`: it is there already; choose another name, or move it \
             away\n",
        );
    let old = fs::read_to_string(folder.path().join("old.txt"));
    assert_eq!(old.expect("the older report"), "an older report");
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
        run.to_string()
            .contains("error: job.yaml: found the variant `hs-9`"),
        "{run}"
    );
}
