//! A session played from a script on a virtual clock, so that its record and report are the same
//! on every machine but for the hashes.

use std::fs;
use std::path::{Path, PathBuf};

use readback::cli::procedure_files;
use readback::clock::{Clock, VirtualClock, WallTime};
use readback::conversation::{Conversation, Incoming};
use readback::hearing::scripted::{Script, Start};
use readback::record::{self, Record, RecordError};
use readback::replay::cue::{Cue, PAUSE_MS, Said, When};
use readback::replay::{Listener, Replay};
use readback::report::{Material, Report};
use readback::session::{Event, Guide, Ms, Opening, Order, Sentence};

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The case's own script, or the shipped one of its name.
pub fn script(case: &Path) -> PathBuf {
    let own = case.join("script.txt");
    let name = case.file_name().unwrap_or_default().to_string_lossy();
    match own.is_file() {
        true => own,
        false => root().join(format!("tests/shipped/{name}.script")),
    }
}

/// What the customer ordered, in every case the same.
pub fn order() -> Order {
    Order {
        reference: Some("A-1043".to_owned()),
        unit: Some("heating skid 2".to_owned()),
        site: Some("nursery on the hill, house 3".to_owned()),
        complaint: Some("The benches stay cold although the skid runs.".to_owned()),
    }
}

/// Plays a script whose first line is `# PROCEDURE --variant ID --serial NUMBER`.
pub fn play(script: &Path, order: Order, folder: &Path) {
    let text = fs::read_to_string(script).expect("a script");
    let first = text.lines().next().and_then(|line| line.strip_prefix("# "));
    let mut words = first.expect("a first line").split(' ');
    let procedure = words.next().expect("a procedure");
    let options: Vec<&str> = words.collect();
    let option = |name: &str| {
        let at = options.iter().position(|option| *option == name)?;
        options.get(at + 1).map(|value| (*value).to_owned())
    };
    let opening = Opening {
        technician: Some("R. Amsel".to_owned()),
        order: Box::new(order),
        variant: option("--variant").as_deref().map(Into::into),
        serial: option("--serial"),
        ..Opening::default()
    };
    let path = root().join(format!("procedures/{procedure}.yaml"));
    let files = procedure_files::open_sound(&path).expect("a procedure");
    let kept = files.files.iter().map(|file| {
        let name = Path::new(&file.name).file_name().unwrap_or_default();
        (name.to_string_lossy().into_owned(), file.text.clone())
    });
    let about = [("program".to_owned(), "readback 0".to_owned())];
    let began = WallTime::parse("2026-03-04T17:05:09.120+01:00").expect("a time");
    let clock = VirtualClock::starting_at(began);
    let record_opening = record::Opening {
        about: about.into(),
        procedure: kept.collect(),
    };
    let record = Record::create(folder, &record_opening, &clock.now()).expect("a record");
    let guide = Guide::bundled(files.library.clone()).expect("a guide");
    let conversation = Conversation::new(guide, Default::default(), Some(record));
    let conversation = conversation.expect("a conversation");
    let script = Script::parse("script", &text).expect("a script");
    let cues = script.lines().iter().map(|line| Cue {
        when: match line.start {
            Start::Next => When::AfterPrompt { pause_ms: PAUSE_MS },
            Start::After(pause_ms) => When::AfterPrompt { pause_ms },
            Start::At(time) => When::At(time),
        },
        said: Said::Words(line.hypothesis()),
    });
    let mut nobody = Nobody;
    let mut replay = Replay::new(conversation, clock, cues.collect(), None, &mut nobody);
    replay.run(Incoming::Begin(opening)).expect("a session");
    replay.end().expect("an end");
}

/// The report of a recorded session.
pub fn report(folder: &Path) -> Report {
    let verification = record::verify(folder, None).expect("a record");
    let recorded = record::read_up_to_fault::<Event>(folder).expect("a record");
    let files = record::procedure_as_it_is(folder, &recorded.procedure).expect("its procedure");
    let files: Vec<_> = files
        .into_iter()
        .map(|(name, text)| readback::procedure::SourceFile { name, text })
        .collect();
    let library = readback::procedure::load_files(&files).expect("a procedure");
    let guide = Guide::bundled(library).expect("a guide");
    Report::of(&Material {
        session: "session",
        guide: &guide,
        recorded: &recorded,
        verification: &verification,
    })
}

struct Nobody;

impl Listener for Nobody {
    fn said(&mut self, _: Ms, _: &Sentence) {}
    fn hushed(&mut self) {}
    fn happened(&mut self, _: Ms, _: &[Event]) {}
    fn trouble(&mut self, trouble: &RecordError) {
        panic!("{trouble}");
    }
}
