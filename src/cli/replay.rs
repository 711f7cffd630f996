//! `readback replay`: a session from recorded audio or from words.

use std::path::PathBuf;

use super::cues;
use super::dialogue::Dialogue;
use super::job::{self, Ears, Job};
use super::session_answer;
use super::session_folder::{Kept, Place};
use super::visits::Visits;
use super::voices::{Manner, VoiceChoice};
use super::{Answer, Failure, Output};
use crate::clock::{Clock, SystemClock, VirtualClock};
use crate::conversation::Conversation;
use crate::replay::Replay;
use crate::replay::cue::{Cue, Said};
use crate::session::Guide;
use crate::speaking::speaker::Speaker;

/// Works through a procedure with recorded audio or words in place of a technician.
///
/// Time passes as fast as it is worked through; the times shown and recorded are those it would
/// have taken. The session is recorded like a live one.
///
/// Examples:
///
///   readback replay procedures/cold-benches.yaml --script words.txt --record sessions/words
///   readback replay procedures/cold-benches.yaml --audio audio-fixtures/cold-benches --voice none
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The procedure's file; those it calls are read from the same folder
    #[arg(value_name = "PROCEDURE")]
    procedure: PathBuf,
    #[command(flatten)]
    technician: Technician,
    #[command(flatten)]
    job: Job,
    #[command(flatten)]
    visits: Visits,
    #[command(flatten)]
    ears: Ears,
    #[command(flatten)]
    place: Place,
    /// How the assistant speaks: text, system, wav:FILE or none
    #[arg(long, value_name = "VOICE", default_value = "text")]
    voice: VoiceChoice,
    #[command(flatten)]
    manner: Manner,
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
    let work = arguments.place.open(&arguments.procedure)?;
    let library = work.procedure.library.clone();
    let opening = arguments.job.opening(&library)?;
    let locale = library.main().locale.clone();
    let audio = cues.iter().any(|cue| matches!(cue.said, Said::Audio(_)));
    let ear = audio.then(|| arguments.ears.open(&locale)).transpose()?;
    let opening = job::heard_by(opening, ear.as_ref());
    let mut guide = Guide::bundled(library).map_err(Failure::input)?;
    guide.visits = arguments.visits.read(None);
    let voice = arguments.voice.open(&arguments.manner, &locale);
    let voice = voice.map(Speaker::silent);
    let begun = SystemClock::start().now();
    let heard_from = match audio {
        true => "recordings that were played",
        false => "words that were written before",
    };
    let (kept, first) = arguments.place.begin(work, opening, heard_from, &begun)?;
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
