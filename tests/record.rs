//! Records made, broken in every way that is promised to be found, and taken up again.

use std::fs;
use std::path::{Path, PathBuf};

use readback::clock::{Clock, Now, VirtualClock, WallTime};
use readback::record::{self, Clip, Opening, Record, RecordError};
use serde::{Deserialize, Serialize};
use tempfile::TempDir;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
enum Event {
    StepEntered { step: String },
    Heard { words: String, clip: Option<String> },
    ReadingGiven { value: String, unit: String },
}

fn entered(step: &str) -> Event {
    Event::StepEntered {
        step: step.to_owned(),
    }
}

fn opening() -> Opening {
    Opening {
        about: [("engine".to_owned(), "scripted".to_owned())].into(),
        procedure: vec![
            ("skid.yaml".to_owned(), "id: skid\n".to_owned()),
            ("called/tank.yaml".to_owned(), "id: tank\n".to_owned()),
        ],
    }
}

fn virtual_clock() -> VirtualClock {
    VirtualClock::starting_at(WallTime::parse("2026-03-04T17:05:09.120+01:00").unwrap())
}

struct Session {
    _home: TempDir,
    folder: PathBuf,
    clock: VirtualClock,
}

impl Session {
    fn new() -> (Session, Record<Event>) {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("sessions").join("one");
        let clock = virtual_clock();
        let record = Record::create(&folder, &opening(), &clock.now()).unwrap();
        let session = Session {
            _home: home,
            folder,
            clock,
        };
        (session, record)
    }

    fn later(&mut self) -> Now {
        self.clock.advance(1_500);
        self.clock.now()
    }

    /// Eight lines: opened, heard with clip, given (one decision), three steps, heard with clip,
    /// closed.
    fn whole() -> Session {
        let (mut session, mut record) = Session::new();
        session.hear(&mut record, "two four five ohms");
        for step in ["a", "b", "c"] {
            let now = session.later();
            record.append(&now, vec![entered(step)], None).unwrap();
        }
        let now = session.later();
        let clip = session.clip(&record, 7);
        let heard = Event::Heard {
            words: "next".to_owned(),
            clip: Some(clip.file.clone()),
        };
        record.append(&now, vec![heard], Some(&clip)).unwrap();
        record.close(&session.later()).unwrap();
        session
    }

    fn clip(&self, record: &Record<Event>, level: i16) -> Clip {
        Clip {
            file: record.next_clip(),
            samples: vec![level; 160],
            rate: 16_000,
        }
    }

    fn hear(&mut self, record: &mut Record<Event>, words: &str) {
        let now = self.later();
        let clip = self.clip(record, 3);
        let events = vec![
            Event::Heard {
                words: words.to_owned(),
                clip: Some(clip.file.clone()),
            },
            Event::ReadingGiven {
                value: "245".to_owned(),
                unit: "ohm".to_owned(),
            },
        ];
        record.append(&now, events, Some(&clip)).unwrap();
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    fn lines(&self) -> Vec<String> {
        let text = fs::read_to_string(self.path("session.jsonl")).unwrap();
        text.lines().map(str::to_owned).collect()
    }

    fn rewrite(&self, lines: &[String]) {
        let text: String = lines.iter().map(|l| format!("{l}\n")).collect();
        fs::write(self.path("session.jsonl"), text).unwrap();
    }

    /// The faults, as they are shown.
    fn faults(&self) -> Vec<String> {
        let found = record::verify(&self.folder, None).unwrap();
        assert_eq!(found.verified, found.faults.is_empty());
        found.faults.iter().map(ToString::to_string).collect()
    }

    fn first_bad_line(&self) -> Option<u64> {
        record::verify(&self.folder, None).unwrap().first_bad_line
    }
}

fn wall() -> WallTime {
    WallTime::parse("2026-03-04T18:00:00.000+01:00").unwrap()
}

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
    assert!(gone.to_string().contains("it is not there"), "{gone}");
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
