//! What is installed: languages, engines with their models, a folder for the records, a program
//! that speaks into files.

use std::path::Path;

use super::{Check, missing, speed, works};
use crate::cli::Failure;
use crate::hearing::engines::{self, Candidate, Status};
use crate::hearing::models::{Engine, Places};
use crate::language::Language;
use crate::record;
use crate::speaking::synthesizer::Synthesizer;

pub fn language(locale: &str) -> Check {
    match Language::bundled(locale) {
        Ok(_) => works("language", locale),
        Err(e) => missing(
            "language",
            e.to_string(),
            "choose another with `--language`",
        ),
    }
}

/// Those of the language, the preferred one first: whether each can be opened, and how fast it is,
/// unless that may take no time.
pub fn engines(locale: &str, places: &Places, quick: bool) -> Vec<(Engine, Check)> {
    let engines = engines::engines(locale, places);
    let check = |candidate: &Candidate| (candidate.engine, engine(candidate, locale, quick));
    engines.iter().map(check).collect()
}

fn engine(candidate: &Candidate, locale: &str, quick: bool) -> Check {
    let what = format!("engine {}", candidate.engine.name());
    let model = match (&candidate.path, &candidate.model) {
        (Some(path), _) => format!("model `{}`", path.display()),
        (None, Some(name)) => format!("model `{name}`"),
        (None, None) => "no model".to_owned(),
    };
    let found = match candidate.status {
        Status::Ready => {
            let path = candidate.path.as_deref().unwrap_or(Path::new(""));
            let opened = match quick {
                true => speed::opened(candidate.engine, path, locale)
                    .map(|_| model.clone())
                    .map_err(Failure::from),
                false => speed::of(candidate.engine, path, locale)
                    .map(|speed| format!("{model}, {speed}")),
            };
            return match opened {
                Ok(found) => works(what, found),
                Err(why) => missing(what, format!("{model}: {why}"), "run `scripts/setup`"),
            };
        }
        Status::NoModel if candidate.path.is_some() => format!("{model} is not there"),
        Status::NoModel => "no model for the language was found".to_owned(),
        Status::NotAModel => format!("{model} is not a model of this engine"),
        Status::NotBuilt => "this program was built without it".to_owned(),
    };
    let remedy = candidate.remedy.clone().unwrap_or_default();
    missing(what, found, remedy)
}

pub fn record_folder(folder: &Path) -> Check {
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

pub fn speech_program(locale: &str) -> Check {
    let scratch = std::env::temp_dir().join(format!("readback-{}.wav", std::process::id()));
    match Synthesizer::find(locale, &scratch) {
        Ok(found) => works("speech into files", format!("`{}`", found.name())),
        Err(e) => missing("speech into files", e.what, e.remedy),
    }
}
