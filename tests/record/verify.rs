//! Whole records verify; records broken in every way that is promised to be found do not.

use std::fs;
use std::path::Path;
use std::process::Command;

use readback::record::{self, Record};

use crate::session::{Event, Session, entered, opening, wall};

#[test]
fn a_whole_record_verifies_and_reads_back_the_same() {
    let session = Session::whole();
    let found = record::verify(&session.folder, None).unwrap();
    assert_eq!(session.faults(), Vec::<String>::new());
    assert_eq!((found.lines, found.events, found.clips), (8, 6, 2));
    let recorded = record::read::<Event>(&session.folder).unwrap();
    assert!(recorded.closed && !recorded.torn);
    assert_eq!(recorded.head, found.head);
    assert_eq!(recorded.about["engine"], "scripted");
    assert_eq!(recorded.entries[2].event, entered("a"));
    assert_eq!(recorded.entries[2].now.ms, 3_000);
    let clip = recorded.entries[0].clip.as_ref().unwrap();
    assert_eq!(clip.file, "clips/000001.wav");
    let files = record::procedure_as_it_was(&session.folder, &recorded.procedure).unwrap();
    assert_eq!(files, opening().procedure);
}

#[test]
fn an_altered_line_is_named() {
    let session = Session::whole();
    let mut lines = session.lines();
    lines[2] = lines[2].replace("245", "254");
    session.rewrite(&lines);
    assert_eq!(
        session.faults(),
        [
            "`session.jsonl` line 3 does not match its hash: it, or the hash of the line before, was \
          altered"
        ]
    );
    let message = record::read::<Event>(&session.folder).unwrap_err();
    assert!(message.to_string().contains("line 3"), "{message}");
    assert!(Record::<Event>::resume(&session.folder, wall()).is_err());
}

#[test]
fn every_changed_byte_is_found_in_its_line() {
    let session = Session::whole();
    let path = session.path("session.jsonl");
    let good = fs::read(&path).unwrap();
    let mut line = 1;
    for at in 0..good.len() {
        let mut bad = good.clone();
        bad[at] ^= 1;
        fs::write(&path, &bad).unwrap();
        assert_eq!(session.first_bad_line(), Some(line), "byte {at}");
        line += u64::from(good[at] == b'\n');
    }
}

#[test]
fn every_cut_is_found() {
    let session = Session::whole();
    let path = session.path("session.jsonl");
    let good = fs::read(&path).unwrap();
    for length in 0..good.len() - 1 {
        fs::write(&path, &good[..length]).unwrap();
        let whole_lines = good[..length].split(|b| *b == b'\n').count() as u64;
        let bad = session.first_bad_line().expect("a bad line");
        // A line that lost only its newline is whole: the one after it is missing.
        let lost_newline = u64::from(good[length] == b'\n');
        assert_eq!(bad, whole_lines + lost_newline, "cut to {length} bytes");
    }
    fs::write(&path, &good[..good.len() - 1]).unwrap();
    assert_eq!(session.faults(), Vec::<String>::new());
}

#[test]
fn removed_lines_are_named() {
    let session = Session::whole();
    let mut lines = session.lines();
    lines.remove(4);
    session.rewrite(&lines);
    assert_eq!(
        session.faults(),
        ["`session.jsonl` line 5 has number 6, expected 5: a line was removed before it"]
    );
    lines.remove(1);
    lines.remove(1);
    session.rewrite(&lines);
    assert_eq!(
        session.faults(),
        ["`session.jsonl` line 2 has number 4, expected 2: 2 lines were removed before it"]
    );
}

#[test]
fn moved_and_repeated_lines_are_named() {
    let session = Session::whole();
    let mut lines = session.lines();
    lines.swap(3, 5);
    session.rewrite(&lines);
    assert_eq!(
        session.faults(),
        [
            "`session.jsonl` line 4 has number 6, expected 4: the order was changed, number 4 \
          stands in line 6"
        ]
    );
    lines.swap(3, 5);
    lines.insert(5, lines[3].clone());
    session.rewrite(&lines);
    assert_eq!(
        session.faults(),
        ["`session.jsonl` line 6 has number 4, expected 6: it stands twice or was moved here"]
    );
}

#[test]
fn a_line_whose_hash_was_made_to_fit_breaks_the_next() {
    let session = Session::whole();
    let mut lines = session.lines();
    let before = &lines[2][lines[2].len() - 66..lines[2].len() - 2];
    let cut = lines[3].rfind(",\"sha256\"").unwrap();
    let body = format!("{}}}", lines[3][..cut].replace("\"a\"", "\"x\""));
    let hash = record::Hash::of(format!("{before}{body}").as_bytes());
    lines[3] = format!("{},\"sha256\":\"{hash}\"}}", &body[..body.len() - 1]);
    session.rewrite(&lines);
    assert_eq!(session.first_bad_line(), Some(5));
}

#[test]
fn a_line_spaced_otherwise_still_verifies() {
    let session = Session::whole();
    let spaced: Vec<String> = session
        .lines()
        .iter()
        .map(|l| l.replace("\":", "\" : ").replace(",\"", ", \""))
        .collect();
    session.rewrite(&spaced);
    assert_eq!(session.faults(), Vec::<String>::new());
    let resumed = Record::<Event>::resume(&session.folder, wall()).unwrap();
    assert_eq!(resumed.recorded.entries.len(), 6);
}

#[test]
fn changed_missing_and_added_files_are_named() {
    let session = Session::whole();
    fs::write(session.path("procedure/skid.yaml"), "id: other\n").unwrap();
    fs::remove_file(session.path("procedure/called/tank.yaml")).unwrap();
    let one = session.path("clips/000001.wav");
    let two = session.path("clips/000002.wav");
    fs::copy(&two, session.path("clips/000009.wav")).unwrap();
    fs::copy(&two, &one).unwrap();
    fs::remove_file(&two).unwrap();
    assert_eq!(
        session.faults(),
        [
            "`procedure/skid.yaml` was changed: it does not match its hash",
            "`procedure/called/tank.yaml` is missing",
            "`clips/000001.wav` was changed: it does not match its hash",
            "`clips/000002.wav` is missing",
            "`clips/000009.wav` is named by no line: it was added, or the lines that named it are \
             gone",
        ]
    );
    let recorded = record::read::<Event>(&session.folder).unwrap();
    let message = record::procedure_as_it_was(&session.folder, &recorded.procedure).unwrap_err();
    assert!(
        message.to_string().contains("was changed since"),
        "{message}"
    );
}

#[test]
fn a_kept_head_shows_a_tail_that_was_cut_and_closed_again() {
    let session = Session::whole();
    let kept = record::verify(&session.folder, None).unwrap().head;
    let lines = session.lines();
    session.rewrite(&lines[..4]);
    let mut again = Record::<Event>::resume(&session.folder, wall()).unwrap();
    again.record.close(&again.now).unwrap();
    drop(again);
    assert_eq!(session.faults(), Vec::<String>::new());
    let found = record::verify(&session.folder, Some(kept.as_str())).unwrap();
    assert!(!found.verified);
    assert!(
        found.faults[0]
            .to_string()
            .contains("its end was cut off or replaced")
    );
}

/// The hashes of `golden/` were made by `recompute.py`, with Python's hashlib and json.
#[test]
fn a_record_made_by_another_program_verifies() {
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/record/golden");
    let found = record::verify(&golden, None).unwrap();
    assert_eq!(found.faults, []);
    let recorded = record::read::<Event>(&golden).unwrap();
    assert_eq!(
        recorded.entries[2].event,
        entered("\"quoted\" \\ tab\t ü € 😀")
    );
}

#[test]
fn another_program_finds_the_same_hashes() {
    let session = Session::whole();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/record/recompute.py");
    let output = Command::new("python3")
        .arg(script)
        .arg(&session.folder)
        .output();
    let answer = String::from_utf8(output.unwrap().stdout).unwrap();
    let head = record::verify(&session.folder, None).unwrap().head;
    assert_eq!(answer, format!("8 lines, head {head}\n"));
}
