//! `readback doctor`: microphone, voice, engines, models and record folder: what works, and what to
//! do about what does not.

mod installed;
mod microphone;
mod speed;
mod spoken;
mod voice;

use std::path::PathBuf;

use serde::Serialize;

use microphone::Booth;
use spoken::Answered;

use super::job::Ears;
use super::{Answer, Failure, Output};
use crate::hearing::level::Level;

/// Shows what works on this machine and, for what does not, the command that would mend it.
///
/// It lists the microphones and listens to one for two seconds, plays two tones, says a sentence, and
/// then waits eight seconds for a spoken "next".
///
/// Ends with 0 when a session can at least be replayed from recorded audio: the language is there,
/// one engine has a model for it, or the one named has, and the record folder can be written. Ends with
/// 3 otherwise, and with 1 when the recording given is not heard as "next". A live session needs a
/// microphone too; without a voice it goes on in text.
///
/// Examples:
///
///   readback doctor
///   readback doctor --device headset --engine pocketsphinx
///   readback doctor --fixture next.wav
///   readback doctor --quick --language ko-KR
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The language that is to be spoken and heard
    #[arg(long, default_value = "en-US")]
    language: String,
    #[command(flatten)]
    ears: Ears,
    /// The microphone, by its name or a part of it [default: the system's]
    #[arg(long, value_name = "NAME")]
    device: Option<String>,
    /// A recording of a spoken "next", heard in place of yours
    #[arg(long, value_name = "FILE")]
    fixture: Option<PathBuf>,
    /// Only looks at what there is and opens it: records nothing, plays nothing, waits for nobody
    #[arg(long)]
    quick: bool,
    /// The folder in which sessions are to be recorded
    #[arg(long, value_name = "FOLDER", default_value = "sessions")]
    sessions: PathBuf,
}

/// One thing that was looked at.
#[derive(Serialize)]
struct Check {
    what: String,
    works: bool,
    /// What was found, or what is wrong.
    found: String,
    /// What would mend it; `None` where it works.
    remedy: Option<String>,
}

#[derive(Serialize)]
struct Document<'a> {
    language: &'a str,
    can_replay: bool,
    can_run_live: bool,
    /// How loud two seconds were, in dBFS; `None` where nothing was recorded.
    level: Option<Level>,
    /// What became of the spoken "next"; `None` where nothing was heard.
    answered: Option<Answered>,
    checks: Vec<Check>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let locale = &arguments.language;
    let language = installed::language(locale);
    let engines = installed::engines(locale, &arguments.ears.places(), arguments.quick);
    let folder = installed::record_folder(&arguments.sessions);
    let named = arguments.ears.named();
    let hears = engines
        .iter()
        .any(|(engine, check)| check.works && named.is_none_or(|named| named == *engine));
    let can_replay = language.works && folder.works && hears;
    let mut checks = vec![language];
    checks.extend(engines.into_iter().map(|(_, check)| check));
    checks.extend([folder, installed::speech_program(locale)]);
    let mut document = Document {
        language: locale,
        can_replay,
        can_run_live: false,
        level: None,
        answered: None,
        checks,
    };
    document.try_out(arguments);
    match output.is_json() {
        true => output.json(&document)?,
        false => output.text(text(&document))?,
    }
    match can_replay {
        true => Ok(Answer::yes_if(
            arguments.fixture.is_none() || document.is_understood(),
        )),
        false => Err(Failure::missing(
            "no session can be run or replayed here; do what stands behind the arrows",
        )),
    }
}

impl Document<'_> {
    fn is_understood(&self) -> bool {
        let answered = self.answered.as_ref();
        answered.is_some_and(|answered| answered.understood)
    }

    /// Adds what is found by trying: microphone, loudspeaker, voice and recognition.
    fn try_out(&mut self, arguments: &Arguments) {
        let (listed, found) = microphone::listed();
        self.checks.push(listed);
        let mut hears = found;
        let mut booth = None;
        if found && !arguments.quick {
            match Booth::open(arguments.device.clone()) {
                Ok(opened) => {
                    let (level, check) = opened.record();
                    self.level = Some(level);
                    hears = check.works;
                    self.checks.push(check);
                    booth = Some(opened);
                }
                Err(check) => {
                    hears = false;
                    self.checks.push(check);
                }
            }
        }
        self.can_run_live = self.can_replay && hears;
        match arguments.quick {
            true => self.checks.push(voice::service()),
            false => self
                .checks
                .extend([voice::tones(), voice::sentence(self.language)]),
        }
        let heard = match (&arguments.fixture, booth) {
            (Some(file), _) => spoken::from_file(file, &arguments.ears, self.language),
            (None, Some(booth)) => spoken::from(&booth, &arguments.ears, self.language),
            (None, None) => return,
        };
        match heard {
            Ok(answered) => {
                self.checks.push(answered.check());
                self.answered = Some(answered);
            }
            Err(check) => self.checks.push(check),
        }
    }
}

fn text(document: &Document<'_>) -> String {
    let mut text = String::new();
    for check in &document.checks {
        let verdict = if check.works { "works  " } else { "missing" };
        text += &format!("{verdict}  {}: {}\n", check.what, check.found);
        if let Some(remedy) = &check.remedy {
            text += &format!("         -> {remedy}\n");
        }
    }
    text += match (document.can_run_live, document.can_replay) {
        (true, _) => "a live session can be run\n",
        (false, true) => "a session can be replayed from audio, a live one needs a microphone\n",
        (false, false) => "no session can be run\n",
    };
    text
}

fn works(what: impl Into<String>, found: impl Into<String>) -> Check {
    Check {
        what: what.into(),
        works: true,
        found: found.into(),
        remedy: None,
    }
}

fn missing(what: impl Into<String>, found: impl Into<String>, remedy: impl Into<String>) -> Check {
    Check {
        what: what.into(),
        works: false,
        found: found.into(),
        remedy: Some(remedy.into()),
    }
}
