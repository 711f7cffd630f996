//! `readback doctor`: microphone, voice, engines, models and record folder: what works, and what to
//! do about what does not.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::{Answer, Failure, Output};
use crate::hearing::engines::{self, Candidate, Status};
use crate::hearing::microphone::{self, Microphone};
use crate::hearing::models::Places;
use crate::language::Language;
use crate::record;
use crate::speaking::synthesizer::Synthesizer;
use crate::speaking::system::SystemVoice;
use crate::speaking::voice::{Delivery, Voice, VoiceError};

/// Shows what works on this machine and, for what does not, the command that would mend it.
///
/// Ends with 0 when a session can at least be replayed from recorded audio: the language is there,
/// one engine has a model for it, and the record folder can be written. Ends with 3 otherwise. A
/// live session needs a microphone too; without a voice it goes on in text.
///
/// Examples:
///
///   readback doctor
///   readback doctor --language ko-KR
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The language that is to be spoken and heard
    #[arg(long, default_value = "en-US")]
    language: String,
    /// A model folder to look at before all others
    #[arg(long, value_name = "FOLDER")]
    model: Option<PathBuf>,
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
    checks: Vec<Check>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let locale = &arguments.language;
    let language = check_language(locale);
    let places = Places::of_this_machine(arguments.model.clone());
    let engines: Vec<Check> = engines::engines(locale, &places)
        .iter()
        .map(check_engine)
        .collect();
    let folder = check_folder(&arguments.sessions);
    let microphone = check_microphone();
    let voices = [check_system_voice(), check_speech_program(locale)];
    let can_replay = language.works && folder.works && engines.iter().any(|e| e.works);
    let document = Document {
        language: locale,
        can_replay,
        can_run_live: can_replay && microphone.works,
        checks: [vec![language], engines, vec![folder, microphone]]
            .into_iter()
            .flatten()
            .chain(voices)
            .collect(),
    };
    match output.is_json() {
        true => output.json(&document)?,
        false => output.text(text(&document))?,
    }
    match can_replay {
        true => Ok(Answer::Done),
        false => Err(Failure::missing(
            "no session can be run or replayed here; do what stands behind the arrows",
        )),
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

fn check_language(locale: &str) -> Check {
    match Language::bundled(locale) {
        Ok(_) => works("language", locale),
        Err(e) => missing(
            "language",
            e.to_string(),
            "choose another with `--language`",
        ),
    }
}

fn check_engine(candidate: &Candidate) -> Check {
    let what = format!("engine {}", candidate.engine.name());
    let model = match (&candidate.path, &candidate.model) {
        (Some(path), _) => format!("model `{}`", path.display()),
        (None, Some(name)) => format!("model `{name}`"),
        (None, None) => "no model".to_owned(),
    };
    let found = match candidate.status {
        Status::Ready => return works(what, model),
        Status::NoModel if candidate.path.is_some() => format!("{model} is not there"),
        Status::NoModel => "no model for the language was found".to_owned(),
        Status::NotAModel => format!("{model} is not a model of this engine"),
        Status::NotBuilt => "this program was built without it".to_owned(),
    };
    let remedy = candidate.remedy.clone().unwrap_or_default();
    missing(what, found, remedy)
}

fn check_folder(folder: &Path) -> Check {
    let what = "record folder";
    match record::must_be_writable(folder) {
        Ok(()) => works(what, format!("`{}` can be written", folder.display())),
        Err(e) => {
            let error = e.to_string();
            let found = error
                .split_once(';')
                .map_or(error.as_str(), |(found, _)| found);
            missing(what, found, "choose another with `--sessions`")
        }
    }
}

fn check_microphone() -> Check {
    match microphone::microphones() {
        Ok(found) => {
            let names: Vec<String> = found.iter().map(describe).collect();
            works("microphone", names.join(", "))
        }
        Err(e) => missing("microphone", e.what, e.remedy),
    }
}

fn describe(microphone: &Microphone) -> String {
    format!(
        "{} ({} Hz, {} channels)",
        microphone.name, microphone.rate, microphone.channels
    )
}

/// Has it say a word: a service that answers may still be silent.
fn check_system_voice() -> Check {
    let said = SystemVoice::open(&Delivery::default()).and_then(|mut voice| {
        voice.say("Ready.")?;
        voice.finish()
    });
    match said {
        Ok(()) => works("system voice", "said a word and ended it"),
        Err(e) => no_voice("system voice", e),
    }
}

fn check_speech_program(locale: &str) -> Check {
    let scratch = std::env::temp_dir().join(format!("readback-{}.wav", std::process::id()));
    match Synthesizer::find(locale, &scratch) {
        Ok(found) => works("speech into files", format!("`{}`", found.name())),
        Err(e) => no_voice("speech into files", e),
    }
}

fn no_voice(what: &str, error: VoiceError) -> Check {
    missing(what, error.what, error.remedy)
}
