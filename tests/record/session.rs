//! A small session to record, and its folder to break.

use std::fs;
use std::path::PathBuf;

use readback::clock::{Clock, Now, VirtualClock, WallTime};
use readback::record::{self, Clip, Opening, Record};
use serde::{Deserialize, Serialize};
use tempfile::TempDir;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Event {
    StepEntered { step: String },
    Heard { words: String, clip: Option<String> },
    ReadingGiven { value: String, unit: String },
}

pub fn entered(step: &str) -> Event {
    Event::StepEntered {
        step: step.to_owned(),
    }
}

pub fn opening() -> Opening {
    Opening {
        about: [("engine".to_owned(), "scripted".to_owned())].into(),
        procedure: vec![
            ("skid.yaml".to_owned(), "id: skid\n".to_owned()),
            ("called/tank.yaml".to_owned(), "id: tank\n".to_owned()),
        ],
    }
}

pub fn virtual_clock() -> VirtualClock {
    VirtualClock::starting_at(WallTime::parse("2026-03-04T17:05:09.120+01:00").unwrap())
}

pub struct Session {
    _home: TempDir,
    pub folder: PathBuf,
    pub clock: VirtualClock,
}

impl Session {
    pub fn new() -> (Session, Record<Event>) {
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

    pub fn later(&mut self) -> Now {
        self.clock.advance(1_500);
        self.clock.now()
    }

    /// Eight lines: opened, heard with clip, given (one decision), three steps, heard with clip,
    /// closed.
    pub fn whole() -> Session {
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

    pub fn clip(&self, record: &Record<Event>, level: i16) -> Clip {
        Clip {
            file: record.next_clip(),
            samples: vec![level; 160],
            rate: 16_000,
        }
    }

    pub fn hear(&mut self, record: &mut Record<Event>, words: &str) {
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

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    pub fn lines(&self) -> Vec<String> {
        let text = fs::read_to_string(self.path("session.jsonl")).unwrap();
        text.lines().map(str::to_owned).collect()
    }

    pub fn rewrite(&self, lines: &[String]) {
        let text: String = lines.iter().map(|l| format!("{l}\n")).collect();
        fs::write(self.path("session.jsonl"), text).unwrap();
    }

    /// The faults, as they are shown.
    pub fn faults(&self) -> Vec<String> {
        let found = record::verify(&self.folder, None).unwrap();
        assert_eq!(found.verified, found.faults.is_empty());
        found.faults.iter().map(ToString::to_string).collect()
    }

    pub fn first_bad_line(&self) -> Option<u64> {
        record::verify(&self.folder, None).unwrap().first_bad_line
    }
}

pub fn wall() -> WallTime {
    WallTime::parse("2026-03-04T18:00:00.000+01:00").unwrap()
}
