//! Values put right after the session: the earlier ones stay, and findings are judged again.

use std::path::Path;

use readback::clock::WallTime;
use readback::quantity::Reading;
use readback::record::{self, Record, Resumed};
use readback::report;
use readback::session::{self, AmendError, Amendment, Event, ReadingId, Reviewer, State};

use crate::played;

pub fn amend(folder: &Path, what: Amendment) -> Result<(), AmendError> {
    let wall = WallTime::parse("2026-03-05T08:00:00.000+01:00").expect("a time");
    let resumed = Record::<Event>::resume(folder, wall).expect("a record");
    let Resumed {
        mut record,
        recorded,
        now,
        ..
    } = resumed;
    let events = recorded.entries.iter().map(|entry| &entry.event);
    let state = events.fold(State::default(), session::apply);
    let by = Reviewer {
        who: "M. Lind",
        why: "heard again",
    };
    let events = session::amend(&state, by, what);
    let added = events.map(|events| record.append(&now, events, None).expect("a disk"));
    record.close(&now).expect("a disk");
    added
}

fn value(id: u32, text: &str) -> Amendment {
    let quantity: readback::quantity::Quantity = text.parse().expect("a value");
    Amendment::Reading {
        id: ReadingId(id),
        to: Reading {
            amount: readback::quantity::Amount::Exact(quantity.value),
            unit: quantity.unit,
        },
    }
}

fn stalled() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let case = played::root().join("tests/report/cold-benches-stalled");
    let session = folder.path().join("session");
    played::play(&played::script(&case), played::order(), &session);
    folder
}

#[test]
fn the_earlier_value_stays_and_the_finding_is_judged_again_beside_the_original() {
    let folder = stalled();
    let session = folder.path().join("session");
    let before = played::report(&session);
    for (id, text) in [
        (1, "70 count"),
        (2, "71 count"),
        (3, "70 count"),
        (4, "71 count"),
    ] {
        amend(&session, value(id, text)).expect("an amendment");
    }
    amend(&session, value(5, "70 count")).expect("an amendment");
    let after = played::report(&session);
    assert!(after.record.verified, "{:?}", after.record.faults);
    assert_eq!(after.time, before.time);
    assert_eq!(after.outcome, before.outcome);
    for (after, before) in after.readings.iter().zip(&before.readings) {
        assert_eq!(after.value, before.value);
        assert_eq!(after.corrected.is_some(), after.number <= 5);
    }
    let finding = &after.findings[0];
    assert_eq!(finding.findings, before.findings[0].findings);
    assert_eq!(finding.findings[0].id, "stalled");
    let again = finding.again.as_ref().expect("a second judgement");
    assert_eq!(again.findings[0].id, "healthy");
    // Where lines end is for the kept reports to say.
    let text = report::text(&after);
    let text: Vec<&str> = text.split_whitespace().collect();
    let text = text.join(" ");
    for told in [
        "corrected after the session to 70 count, inside",
        "judged again with the corrected values: ",
        "2026-03-05 08:00 (UTC+01:00), M. Lind: Reading 1 was 70 count, recorded as",
        "with the values corrected after the session the finding is another",
        "The record is not signed off.",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    let verified = record::verify(&session, Some(&before.record.head)).expect("a record");
    assert!(verified.verified, "the earlier head is still in the chain");
}

#[test]
fn an_amendment_after_the_sign_off_takes_it_back() {
    let folder = stalled();
    let session = folder.path().join("session");
    let sign = Amendment::SignedOff {
        statement: "Read and found right.".to_owned(),
    };
    amend(&session, sign).expect("an amendment");
    assert!(played::report(&session).signed_off);
    let remark = Amendment::Remark {
        text: "The key was hung up again.".to_owned(),
    };
    amend(&session, remark).expect("an amendment");
    let report = played::report(&session);
    assert!(!report.signed_off);
    let says: Vec<&str> = report.reviews.iter().map(|r| r.says.as_str()).collect();
    assert_eq!(
        says,
        [
            "Signed off: Read and found right.",
            "The sign-off was taken back by what follows.",
            "Remark: The key was hung up again.",
        ]
    );
}

#[test]
fn what_cannot_be_put_right_is_told() {
    let folder = stalled();
    let session = folder.path().join("session");
    let refused = |what| amend(&session, what).expect_err("a refusal").to_string();
    assert_eq!(
        refused(value(99, "1 count")),
        "found reading 99, expected one of 1 to 13"
    );
    assert_eq!(
        refused(value(1, "210 count")),
        "reading 1 says the same already"
    );
    assert!(refused(value(1, "210 ohm")).contains("ohm"));
    let note = Amendment::Note {
        note: 1,
        text: "a text".to_owned(),
    };
    assert_eq!(
        refused(note),
        "found note 1, expected none: the session has no such thing"
    );
    let words = |utterance| Amendment::Words {
        utterance,
        text: "two one one".to_owned(),
    };
    assert!(refused(words(0)).starts_with("found utterance 0, expected one of 1 to "));
    amend(&session, words(1)).expect("an amendment");
    let says = &played::report(&session).reviews[0].says;
    assert_eq!(says, "Utterance 1, heard as \"next\", says: two one one");
    let empty = Amendment::Remark {
        text: " ".to_owned(),
    };
    assert_eq!(refused(empty), "the remark is empty, expected words");
}

#[test]
fn a_proof_that_was_corrected_out_of_its_limits_is_left_open() {
    let folder = stalled();
    let session = folder.path().join("session");
    let before = played::report(&session);
    let inside = |row: &&report::model::Reading| row.judged == report::model::Judged::Inside;
    let row = before.readings.iter().find(inside).expect("a reading");
    let to = format!("500 {}", row.unit);
    amend(&session, value(row.number, &to)).expect("an amendment");
    let after = played::report(&session);
    let told = format!(
        "Reading {}, \"{}\", was corrected to {to}",
        row.number, row.step
    );
    let open = after.unresolved.iter().find(|open| open.starts_with(&told));
    let open = open.unwrap_or_else(|| panic!("{told}: {:?}", after.unresolved));
    assert!(open.contains("above its limits"), "{open}");
    let table = report::csv(&after);
    let to = to.replace(' ', ",");
    assert!(table.contains(&format!(",{to},above,")), "{table}");
    let text = report::text(&after);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("it is NOT PROVED"), "{text}");
    assert!(text.contains("which does NOT prove it"), "{text}");
    let hold = after.holds.iter().find(|hold| hold.step == row.step);
    let points = &hold.expect("a hold point").points;
    let point = points.iter().find(|point| point.reading == row.number);
    let now = point.and_then(|point| point.corrected.as_ref());
    assert_eq!(
        now.map(|now| now.judged),
        Some(report::model::Judged::Above)
    );
}
