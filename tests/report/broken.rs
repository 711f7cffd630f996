//! Records that are not whole: the report says so before anything else, and says what there is.

use std::fs;
use std::path::Path;

use readback::report::{self, Clips, Report};

use crate::{played, strict};

fn after(harm: impl Fn(&Path)) -> Report {
    let folder = tempfile::tempdir().expect("a folder");
    let session = folder.path().join("session");
    let script = played::root().join("tests/shipped/cold-benches-dry.script");
    played::play(&script, played::order(), &session);
    harm(&session);
    played::report(&session)
}

/// The report begins with what is wrong.
#[track_caller]
fn says(report: &Report, what: &str) {
    assert!(!report.record.verified);
    let text = report::text(report);
    let top: Vec<&str> = text.lines().take(8).collect();
    let top = top.join(" ").replace("  ", " ");
    assert!(top.contains("THE RECORD DOES NOT VERIFY"), "{text}");
    assert!(top.contains(what), "{text}");
    let page = strict::read(&report::html(report, &Clips::new()));
    let place = page
        .find("THE RECORD DOES NOT VERIFY")
        .expect("on the page");
    assert!(place < page.find("Complaint").expect("the job"), "{page}");
    assert!(page.contains(what), "{page}");
}

#[test]
fn an_altered_reading_is_told_and_what_stands_before_it_is_reported() {
    let report = after(|session| {
        let file = session.join("session.jsonl");
        let text = fs::read_to_string(&file).expect("a record");
        let altered = text.replacen("\"event\":\"reading_given\"", "\"event\":\"read_back\"", 1);
        assert_ne!(text, altered);
        fs::write(&file, altered).expect("an altered record");
    });
    says(&report, "does not match its hash");
    assert!(report.readings.is_empty());
    assert_eq!(report.job.serial.as_deref(), Some("CB231"));
}

#[test]
fn a_cut_off_end_is_told() {
    let report = after(|session| {
        let file = session.join("session.jsonl");
        let text = fs::read_to_string(&file).expect("a record");
        fs::write(&file, &text[..text.len() - 200]).expect("a cut record");
    });
    says(&report, "the last write was cut off");
    assert!(!report.readings.is_empty());
}

#[test]
fn a_changed_procedure_is_told() {
    let report = after(|session| {
        let file = session.join("procedure/cold-benches.yaml");
        let text = fs::read_to_string(&file).expect("a procedure");
        fs::write(&file, text.replace("62..84", "2..84")).expect("a changed procedure");
    });
    says(&report, "was changed");
}
