//! What a job does not say is asked for at the start: spoken, it is in its clip until it is written.

use std::fs;
use std::path::Path;

use readback::cli::procedure_files;
use readback::clock::{Clock, VirtualClock, WallTime};
use readback::conversation::{Conversation, Heard, Incoming};
use readback::language::Hypothesis;
use readback::record::{self, Record};
use readback::report::{self, Clips};
use readback::session::{Amendment, Guide, JobLine, Opening, Order};

use crate::amended::amend;
use crate::{played, strict};

/// A session that asks for its job: the complaint is spoken, the unit left open, the site typed.
fn asked(folder: &Path) {
    let path = played::root().join("procedures/cold-benches.yaml");
    let files = procedure_files::open_sound(&path).expect("a procedure");
    let kept = files.files.iter().map(|file| {
        let name = Path::new(&file.name).file_name().unwrap_or_default();
        (name.to_string_lossy().into_owned(), file.text.clone())
    });
    let opening = record::Opening {
        procedure: kept.collect(),
        ..record::Opening::default()
    };
    let began = WallTime::parse("2026-03-04T17:05:09.120+01:00").expect("a time");
    let now = VirtualClock::starting_at(began).now();
    let record = Record::create(folder, &opening, &now).expect("a record");
    let guide = Guide::bundled(files.library.clone()).expect("a guide");
    let mut talk = Conversation::new(guide, Default::default(), Some(record)).expect("a talk");
    let opening = Opening {
        ask_job: true,
        order: Box::new(Order {
            reference: Some("A-1043".to_owned()),
            ..Order::default()
        }),
        technician: Some("R. Amsel".to_owned()),
        variant: Some("hs-2".into()),
        serial: Some("HS24".to_owned()),
        ..Opening::default()
    };
    let through = talk.take(Incoming::Begin(opening), &now).expect("a start");
    let through = through.through;
    let said = |words: &str, samples: Vec<i16>| {
        Incoming::Heard(Heard {
            hypotheses: vec![Hypothesis::exact(words, 0)],
            rejected: None,
            samples,
            start_ms: now.ms,
            end_ms: now.ms,
        })
    };
    let comes = [
        Incoming::Spoken { through },
        said("next", vec![0; 800]),
        // A held ear makes words of anything.
        said("one eight", vec![40; 16_000]),
        said("skip", vec![0; 800]),
        Incoming::Typed("House 3".to_owned()),
        said("stop", vec![0; 800]),
    ];
    for one in comes {
        talk.take(one, &now).expect("a turn");
    }
    let record = talk.record_mut().expect("a record");
    record.close(&now).expect("an end");
}

#[test]
fn what_was_only_spoken_is_played_and_written_after_the_session() {
    let folder = tempfile::tempdir().expect("a folder");
    let session = folder.path().join("session");
    asked(&session);
    let spoken = played::report(&session);
    assert!(spoken.record.verified, "{:?}", spoken.record.faults);
    assert_eq!(spoken.job.complaint, None);
    assert_eq!(spoken.job.site.as_deref(), Some("House 3"));
    assert_eq!(spoken.job.unit, None);
    assert_eq!(spoken.hearing.not_understood, 0);
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = flat(report::text(&spoken));
    for told in [
        "Complaint spoken, not typed yet (clips/000002.wav) Unit small skid Serial",
        "Site House 3 Reference A-1043 Technician R. Amsel",
        "The complaint of the job was spoken and is not typed yet: listen to the clip.",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    let wav = fs::read(session.join("clips/000002.wav")).expect("a clip");
    let clips = Clips::from([("clips/000002.wav".to_owned(), wav)]);
    let page = report::html(&spoken, &clips);
    strict::read(&page);
    assert_eq!(page.matches("<audio").count(), 1, "{page}");

    let complaint = |text: &str| Amendment::Job {
        line: JobLine::Complaint,
        text: text.to_owned(),
    };
    amend(&session, complaint("The benches stay cold.")).expect("an amendment");
    let site = Amendment::Job {
        line: JobLine::Site,
        text: "House 4".to_owned(),
    };
    amend(&session, site).expect("an amendment");
    let again = amend(&session, complaint(" The benches stay cold. "));
    let same = again.expect_err("a refusal").to_string();
    assert_eq!(same, "the complaint says the same already");
    let written = played::report(&session);
    assert_eq!(
        written.job.complaint.as_deref(),
        Some("The benches stay cold.")
    );
    let text = flat(report::text(&written));
    for told in [
        "The benches stay cold. (spoken, written after the session) (clips/000002.wav)",
        "House 4 (written after the session, recorded as: House 3)",
        "M. Lind: The complaint of the job: The benches stay cold. Reason: heard again",
    ] {
        assert!(text.contains(told), "{told}: {text}");
    }
    assert!(!text.contains("not typed yet"), "{text}");
}
