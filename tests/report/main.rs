//! Reports of played sessions in every form, exactly as they are kept, and what hostile content,
//! broken records and other programs make of them.
//!
//! `tests/report/CASE/` holds `report.txt`, `.html`, `.csv` and `.json` of the session that
//! `script.txt` in it, or the shipped script of the case's name, plays. The head of the record reads
//! `HEAD` in them. `READBACK_UPDATE=1` writes them anew.

mod amended;
mod asked;
mod broken;
mod hostile;
mod played;
mod strict;

use std::fs;
use std::path::{Path, PathBuf};

use readback::report::{self, Clips, Report};

fn cases() -> Vec<PathBuf> {
    let entries = fs::read_dir(played::root().join("tests/report")).expect("the cases");
    let paths = entries.map(|entry| entry.expect("an entry").path());
    let mut cases: Vec<PathBuf> = paths.filter(|path| path.is_dir()).collect();
    cases.sort();
    assert!(cases.len() >= 4, "found {cases:?}");
    cases
}

/// Every form by the ending of its file.
fn forms(report: &Report) -> [(&'static str, String); 4] {
    let json = serde_json::to_string_pretty(report).expect("JSON") + "\n";
    let forms = [
        ("txt", report::text(report)),
        ("html", report::html(report, &Clips::new())),
        ("csv", report::csv(report)),
        ("json", json),
    ];
    forms.map(|(form, text)| (form, text.replace(&report.record.head, "HEAD")))
}

#[test]
fn every_form_of_every_case_is_as_kept() {
    let update = std::env::var_os("READBACK_UPDATE").is_some();
    let mut wrong = Vec::new();
    for case in cases() {
        let folder = tempfile::tempdir().expect("a folder");
        let session = folder.path().join("session");
        played::play(&played::script(&case), played::order(), &session);
        let report = played::report(&session);
        assert!(
            report.record.verified,
            "{}: {:?}",
            case.display(),
            report.record
        );
        for (form, text) in forms(&report) {
            let file = case.join("report").with_extension(form);
            if update {
                fs::write(&file, &text).expect("the report is written");
            }
            let kept = fs::read_to_string(&file).unwrap_or_default();
            if kept != text {
                wrong.push(format!("{}: {}", file.display(), difference(&kept, &text)));
            }
            if form == "html" {
                strict::read(&text);
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The first line that differs.
fn difference(kept: &str, found: &str) -> String {
    let same = kept
        .lines()
        .zip(found.lines())
        .take_while(|(a, b)| a == b)
        .count();
    let line = |text: &str| text.lines().nth(same).unwrap_or("(nothing)").to_owned();
    let (number, kept, found) = (same + 1, line(kept), line(found));
    format!("line {number}\n  kept  {kept}\n  found {found}")
}

#[test]
fn a_report_reads_back_from_its_json() {
    let folder = tempfile::tempdir().expect("a folder");
    let session = folder.path().join("session");
    let case = Path::new("tests/report/cold-benches-withdrawn");
    played::play(
        &played::script(&played::root().join(case)),
        played::order(),
        &session,
    );
    let report = played::report(&session);
    let json = serde_json::to_string(&report).expect("JSON");
    let mut read: Report = serde_json::from_str(&json).expect("a report");
    for (read, made) in read.findings.iter_mut().zip(&report.findings) {
        read.chart.clone_from(&made.chart);
    }
    assert_eq!(read, report);
}

/// `UPDATE=1 cargo test --test report` writes the schema anew.
#[test]
fn the_schema_is_up_to_date() {
    let path = played::root().join("procedures/report.schema.json");
    let made = report::schema();
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, &made).expect("the schema is written");
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        made == kept,
        "the schema is out of date: run `UPDATE=1 cargo test --test report`"
    );
}
