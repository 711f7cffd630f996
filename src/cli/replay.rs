//! `readback replay`: a session from recorded audio or from words.

use std::path::{Path, PathBuf};

use super::cues;
use super::dialogue::Dialogue;
use super::job::{self, Ears, Job};
use super::procedure_files;
use super::session_answer;
use super::session_folder::{self, Kept};
use super::voices::VoiceChoice;
use super::{Answer, Failure, Output};
use crate::clock::{Clock, SystemClock, VirtualClock};
use crate::conversation::{Conversation, Incoming};
use crate::replay::Replay;
use crate::replay::cue::{Cue, Said};
use crate::session::Guide;
use crate::speaking::speaker::Speaker;

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

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let cues = arguments.technician.cues()?;
    let resume = |folder: &Path| session_folder::resume(folder, &arguments.procedure);
    let resumed = arguments.resume.as_deref().map(resume).transpose()?;
    let procedure = match &resumed {
        Some(resumed) => resumed.procedure.clone(),
        None => procedure_files::open_sound(&arguments.procedure)?,
    };
    let opening = arguments.job.opening(&procedure.library)?;
    let locale = procedure.library.main().locale.clone();
    let audio = cues.iter().any(|cue| matches!(cue.said, Said::Audio(_)));
    let ear = audio.then(|| arguments.ears.open(&locale)).transpose()?;
    let opening = job::heard_by(opening, ear.as_ref());
    let guide = Guide::bundled(procedure.library.clone()).map_err(Failure::input)?;
    let voice = arguments.voice.open(&locale).map(Speaker::silent);
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
