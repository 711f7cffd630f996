//! Records left, torn, locked and unplugged, and taken up again.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use readback::clock::Clock;
use readback::record::{self, Record, RecordError};

use crate::session::{Event, Session, entered, opening, wall};

#[test]
fn a_session_goes_on_after_it_was_left() {
    let (mut session, mut record) = Session::new();
    session.hear(&mut record, "one oh five");
    drop(record);
    assert!(session.faults()[0].contains("line 4 is missing"));
    let resumed = Record::<Event>::resume(&session.folder, wall()).unwrap();
    assert_eq!(resumed.recorded.entries.len(), 2);
    assert_eq!(resumed.torn, None);
    // 17:05:09.120 plus the 1.5 s of the session, to 18:00:00.
    assert_eq!(resumed.now.ms, 54 * 60_000 + 50_880);
    let mut record = resumed.record;
    assert_eq!(record.next_clip(), "clips/000002.wav");
    record
        .append(&resumed.now, vec![entered("b")], None)
        .unwrap();
    record.close(&resumed.now).unwrap();
    let (head, count) = record.head();
    assert_eq!(count, 6);
    assert_eq!(record::read::<Event>(&session.folder).unwrap().head, *head);
    assert!(matches!(
        record.append(&resumed.now, vec![entered("c")], None),
        Err(RecordError::Unwritable { .. })
    ));
    assert_eq!(session.faults(), Vec::<String>::new());
}

#[test]
fn a_torn_end_is_set_aside_wherever_the_write_was_cut() {
    let (mut session, mut record) = Session::new();
    record
        .append(&session.later(), vec![entered("a")], None)
        .unwrap();
    let before = fs::read(session.path("session.jsonl")).unwrap();
    session.hear(&mut record, "one oh five");
    drop(record);
    let after = fs::read(session.path("session.jsonl")).unwrap();
    let zeros = [&before[..], &[0; 40], b"\n"].concat();
    let cuts = (before.len() + 1..after.len() - 1).step_by(7);
    for bytes in cuts.map(|length| after[..length].to_vec()).chain([zeros]) {
        fs::write(session.path("session.jsonl"), &bytes).unwrap();
        let recorded = record::read::<Event>(&session.folder).unwrap();
        assert!(recorded.torn && recorded.entries.len() == 1);
        let mut resumed = Record::<Event>::resume(&session.folder, wall()).unwrap();
        let torn = resumed.torn.take().unwrap();
        assert_eq!(
            fs::read(session.path(&torn)).unwrap(),
            bytes[before.len()..]
        );
        resumed.record.close(&resumed.now).unwrap();
        drop(resumed);
        assert_eq!(session.faults(), Vec::<String>::new());
        fs::remove_file(session.path(&torn)).unwrap();
        assert_eq!(session.faults(), [format!("`{torn}` is missing")]);
    }
}

#[test]
fn one_session_has_one_writer() {
    let (session, record) = Session::new();
    assert!(record::verify(&session.folder, None).unwrap().open);
    assert_eq!(session.faults(), Vec::<String>::new());
    let message = Record::<Event>::resume(&session.folder, wall())
        .unwrap_err()
        .to_string();
    assert!(message.contains("is open in another process"), "{message}");
    drop(record);
    Record::<Event>::resume(&session.folder, wall()).unwrap();
}

#[test]
fn what_is_no_session_is_said() {
    let (session, _record) = Session::new();
    let taken = Record::<Event>::create(&session.folder, &opening(), &session.clock.now());
    assert!(matches!(taken, Err(RecordError::Taken { .. })));
    let home = tempfile::tempdir().unwrap();
    assert!(matches!(
        record::verify(home.path(), None),
        Err(RecordError::NoRecord { .. })
    ));
    let gone = record::read::<Event>(Path::new("no/such/session")).unwrap_err();
    assert!(
        gone.to_string().contains("found no `no/such/session`"),
        "{gone}"
    );
    let file = home.path().join("file");
    fs::write(&file, "").unwrap();
    let below = Record::<Event>::create(&file.join("s"), &opening(), &session.clock.now());
    let message = below.unwrap_err().to_string();
    assert!(message.contains("is a file, not a folder"), "{message}");
}

#[test]
fn events_wait_in_memory_while_the_folder_is_gone() {
    let (mut session, mut record) = Session::new();
    session.hear(&mut record, "one");
    let elsewhere = session.folder.with_extension("unplugged");
    fs::rename(&session.folder, &elsewhere).unwrap();
    let now = session.later();
    let first = record.append(&now, vec![entered("a")], None).unwrap_err();
    assert!(matches!(first, RecordError::NotRecording { kept: 1, .. }));
    let clip = session.clip(&record, 5);
    let now = session.later();
    let second = record
        .append(&now, vec![entered("b"), entered("c")], Some(&clip))
        .unwrap_err();
    assert!(
        second
            .to_string()
            .starts_with("not recording, 3 lines are kept in memory: cannot write"),
        "{second}"
    );
    assert!(record.retry().is_err());
    fs::rename(&elsewhere, &session.folder).unwrap();
    record.retry().unwrap();
    assert_eq!(record.kept_lines(), 0);
    record.close(&session.later()).unwrap();
    assert_eq!(session.faults(), Vec::<String>::new());
    let recorded = record::read::<Event>(&session.folder).unwrap();
    let steps: Vec<Event> = recorded.entries[2..]
        .iter()
        .map(|e| e.event.clone())
        .collect();
    assert_eq!(steps, [entered("a"), entered("b"), entered("c")]);
}

#[test]
fn what_the_disk_never_took_is_set_aside_and_can_be_put_behind_the_record() {
    let (mut session, mut record) = Session::new();
    session.hear(&mut record, "one");
    let elsewhere = session.folder.with_extension("unplugged");
    fs::rename(&session.folder, &elsewhere).unwrap();
    let clip = session.clip(&record, 5);
    let now = session.later();
    record
        .append(&now, vec![entered("a")], Some(&clip))
        .unwrap_err();
    let ended = record.close(&session.later()).unwrap_err();
    let RecordError::SetAside {
        kept, aside, after, ..
    } = &ended
    else {
        panic!("{ended}");
    };
    assert_eq!((*kept, *after), (2, 3), "{ended}");
    fs::rename(&elsewhere, &session.folder).unwrap();
    let events = session.path("session.jsonl");
    let mut whole = fs::read(&events).unwrap();
    whole.extend(fs::read(aside).unwrap());
    fs::write(&events, whole).unwrap();
    let clip = aside.with_file_name(&clip.file);
    fs::copy(&clip, session.path("clips/000002.wav")).unwrap();
    assert_eq!(session.faults(), Vec::<String>::new());
    fs::remove_dir_all(aside.parent().unwrap()).unwrap();
}

#[test]
fn a_record_put_in_the_place_of_the_one_written_is_left_alone() {
    let (mut session, mut record) = Session::new();
    session.hear(&mut record, "one");
    let other = Session::whole();
    fs::copy(other.path("session.jsonl"), session.path("new")).unwrap();
    fs::rename(session.path("new"), session.path("session.jsonl")).unwrap();
    let now = session.later();
    record.append(&now, vec![entered("a")], None).unwrap_err();
    let message = record.retry().unwrap_err().to_string();
    assert!(
        message.contains("not the file that was written"),
        "{message}"
    );
    assert_eq!(session.lines(), other.lines());
}

/// Between `fork` and `exec` a child has every file of its parent.
#[test]
fn a_record_that_was_let_go_is_free_while_programs_are_started() {
    let (session, record) = Session::new();
    drop(record);
    let over = Arc::new(AtomicBool::new(false));
    let seen = Arc::clone(&over);
    let starting = thread::spawn(move || {
        while !seen.load(Ordering::Relaxed) {
            Command::new("true").status().unwrap();
        }
    });
    for _ in 0..200 {
        let resumed = Record::<Event>::resume(&session.folder, wall());
        assert!(resumed.is_ok(), "{:?}", resumed.err());
    }
    over.store(true, Ordering::Relaxed);
    starting.join().unwrap();
}
