//! `readback replay`: a session from recorded audio or from words.

use std::path::PathBuf;

use super::cues;
use super::dialogue::Dialogue;
use super::procedure_files;
use super::session_answer;
use super::session_folder::{self, Kept};
use super::voices::VoiceChoice;
use super::{Answer, Failure, Output};
use crate::clock::{Clock, SystemClock, VirtualClock};
use crate::conversation::{Conversation, Incoming};
use crate::hearing::ear::Ear;
use crate::hearing::engines;
use crate::hearing::models::{Engine, Places};
use crate::replay::Replay;
use crate::replay::cue::{Cue, Said};
use crate::session::{Guide, Opening};

/// Works through a procedure with recorded audio or words in place of a technician.
///
/// Time passes as fast as it is worked through; the times shown and recorded are those it would
/// have taken. The session is recorded like a live one.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// The procedure's file; those it calls are read from the same folder
    #[arg(value_name = "PROCEDURE")]
    procedure: PathBuf,
    #[command(flatten)]
    technician: Technician,
    #[command(flatten)]
    job: Job,
    #[command(flatten)]
    ears: Ears,
    /// The folder to record the session in [default: a new one below `sessions`]
    #[arg(long, value_name = "FOLDER", conflicts_with = "resume")]
    record: Option<PathBuf>,
    /// Go on with the session recorded in this folder
    #[arg(long, value_name = "FOLDER")]
    resume: Option<PathBuf>,
    /// How the assistant speaks: text, system, wav:FILE or none
    #[arg(long, value_name = "VOICE", default_value = "text")]
    voice: VoiceChoice,
}

/// What stands in for the technician.
#[derive(Debug, clap::Args)]
#[group(required = true, multiple = false)]
struct Technician {
    /// A recording, or a folder of them with a manifest.json
    #[arg(long, value_name = "FILE|FOLDER")]
    audio: Option<PathBuf>,
    /// A text file with one utterance a line; a time in seconds may stand before the words
    #[arg(long, value_name = "FILE")]
    script: Option<PathBuf>,
}

/// What is known of the job before it begins, and is not asked then.
#[derive(Debug, clap::Args)]
struct Job {
    /// The variant of the unit
    #[arg(long, value_name = "ID")]
    variant: Option<String>,
    /// The serial number of the unit
    #[arg(long, value_name = "NUMBER")]
    serial: Option<String>,
    /// Who does the work, for the record
    #[arg(long = "technician", value_name = "NAME")]
    name: Option<String>,
}

/// What listens.
#[derive(Debug, clap::Args)]
struct Ears {
    /// The speech engine [default: the best that is ready]
    #[arg(long, value_name = "ENGINE", value_parser = engine)]
    engine: Option<Engine>,
    /// The folder of the engine's model
    #[arg(long, value_name = "FOLDER")]
    model: Option<PathBuf>,
}

fn engine(name: &str) -> Result<Engine, String> {
    let names: Vec<&str> = Engine::ALL.iter().map(|engine| engine.name()).collect();
    Engine::named(name).ok_or_else(|| format!("expected {}", names.join(" or ")))
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let cues = arguments.technician.cues()?;
    let resumed = arguments.resume.as_deref().map(session_folder::resume);
    let resumed = resumed.transpose()?;
    let procedure = match &resumed {
        Some(resumed) => resumed.procedure.clone(),
        None => procedure_files::open_sound(&arguments.procedure)?,
    };
    let locale = procedure.library.main().locale.clone();
    let ear = arguments.ears.open(&cues, &locale)?;
    let opening = arguments.job.opening(ear.as_ref());
    let guide = Guide::bundled(procedure.library.clone()).map_err(Failure::input)?;
    arguments.job.check(&guide)?;
    let voice = arguments.voice.open(&locale);
    let begun = SystemClock::start().now();
    let (kept, first) = match resumed {
        Some(resumed) => (resumed.kept, Incoming::Resume),
        None => {
            let folder = session_folder::choose(arguments.record.as_deref(), &procedure, &begun);
            let kept = session_folder::create(&folder, &procedure, &opening, &begun)?;
            (kept, Incoming::Begin(opening))
        }
    };
    let Kept {
        record,
        state,
        began,
        ms,
    } = kept;
    let folder = record.folder().to_owned();
    let conversation = Conversation::new(guide, state, Some(record)).map_err(Failure::input)?;
    let mut clock = VirtualClock::starting_at(began);
    clock.advance_to(ms);
    let mut dialogue = Dialogue::new(arguments.voice.shows_text(), voice, output);
    let mut replay = Replay::new(conversation, clock, cues, ear, &mut dialogue);
    replay.run(first).map_err(Failure::from)?;
    let conversation = replay.end().map_err(Failure::input)?;
    let happened = dialogue.end()?;
    session_answer::write(&folder, conversation.state(), &happened, output)?;
    Ok(Answer::Done)
}

impl Technician {
    fn cues(&self) -> Result<Vec<Cue>, Failure> {
        match (&self.audio, &self.script) {
            (Some(audio), _) => cues::from_audio(audio),
            (None, Some(script)) => cues::from_script(script),
            // The argument group asks for one of the two.
            (None, None) => Ok(Vec::new()),
        }
    }
}

impl Job {
    fn opening(&self, ear: Option<&Ear>) -> Opening {
        let name = ear.map(Ear::name);
        Opening {
            technician: self.name.clone(),
            engine: name.as_ref().map(|name| name.engine.clone()),
            model: name.map(|name| name.model),
            variant: self.variant.as_deref().map(Into::into),
            serial: self.serial.clone(),
            ..Opening::default()
        }
    }

    fn check(&self, guide: &Guide) -> Result<(), Failure> {
        let Some(found) = &self.variant else {
            return Ok(());
        };
        let variants = &guide.library.main().variants;
        let known: Vec<String> = variants.keys().map(|id| format!("`{id}`")).collect();
        match variants.keys().any(|id| id.as_str() == found) {
            true => Ok(()),
            false => Err(Failure::input(format_args!(
                "found the variant `{found}`, expected one of {}; name it with `--variant`",
                known.join(", ")
            ))),
        }
    }
}

impl Ears {
    /// `None` where nothing is to be heard.
    fn open(&self, cues: &[Cue], locale: &str) -> Result<Option<Ear>, Failure> {
        let audio = cues.iter().any(|cue| matches!(cue.said, Said::Audio(_)));
        if !audio {
            return Ok(None);
        }
        let places = Places::of_this_machine(self.model.clone());
        let recognizer = engines::open(self.engine, locale, &places)?;
        Ok(Some(Ear::new(recognizer)))
    }
}
