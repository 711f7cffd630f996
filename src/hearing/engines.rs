//! Which engines can hear a language here, and opening one of them.

use std::path::{Path, PathBuf};

use super::ear::Ear;
use super::models::{Engine, Places};
use super::recognizer::{AnyRecognizer, HearingError};

/// One engine as it stands on this machine for one language: what `doctor` shows.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Candidate {
    pub engine: Engine,
    /// The model folder's name, where there is one.
    pub model: Option<String>,
    pub path: Option<PathBuf>,
    pub status: Status,
    /// What to do about it; `None` when it is ready.
    pub remedy: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    Ready,
    /// No model of the language was found, or the one named is not there.
    NoModel,
    /// The folder named is not a model of this engine.
    NotAModel,
    /// This program was built without the engine.
    NotBuilt,
}

/// Every engine for a locale, the preferred one first. Models are looked for, not loaded.
pub fn engines(locale: &str, places: &Places) -> Vec<Candidate> {
    Engine::ALL
        .into_iter()
        .map(|engine| candidate(engine, locale, places))
        .collect()
}

/// Opens the engine asked for, or the preferred one of those that are ready.
///
/// # Errors
///
/// `Missing` when there is none, saying what to install and where to put it, and what the engine
/// itself gives when its model cannot be loaded.
pub fn open(
    engine: Option<Engine>,
    locale: &str,
    places: &Places,
) -> Result<AnyRecognizer, HearingError> {
    load(chosen(engine, locale, places)?, locale)
}

/// Loads what was [`chosen`].
fn load((engine, model): (Engine, PathBuf), locale: &str) -> Result<AnyRecognizer, HearingError> {
    match engine {
        Engine::Vosk => super::vosk::load(&model),
        Engine::PocketSphinx => super::pocketsphinx::load(&model, locale),
        Engine::Network => super::network::load(&model, locale),
    }
}

/// The engine asked for, or the preferred one of those that are ready, and its model. Whoever named a
/// model by a variable wants it, so that no other one stands in where it is none.
fn chosen(
    engine: Option<Engine>,
    locale: &str,
    places: &Places,
) -> Result<(Engine, PathBuf), HearingError> {
    let wanted = wanted(engine, locale, places);
    for candidate in &wanted {
        match (candidate.status, &candidate.path) {
            (Status::Ready, Some(path)) => return Ok((candidate.engine, path.clone())),
            (Status::NotBuilt, _) => {}
            _ if places.named.is_none() && places.by_variable_of(candidate.engine).is_some() => {
                return Err(none_ready(locale, std::slice::from_ref(candidate)));
            }
            _ => {}
        }
    }
    Err(none_ready(locale, &wanted))
}

/// Candidates for what was asked for, the preferred one first.
fn wanted(engine: Option<Engine>, locale: &str, places: &Places) -> Vec<Candidate> {
    let mut candidates = engines(locale, places);
    candidates.retain(|candidate| engine.is_none_or(|wanted| candidate.engine == wanted));
    candidates
}

/// An ear with the engine that [`open`] opens. The network takes its time, so PocketSphinx is beside
/// it where that is ready, too.
///
/// # Errors
///
/// As [`open`].
pub fn ear(engine: Option<Engine>, locale: &str, places: &Places) -> Result<Ear, HearingError> {
    let found = Places {
        named: None,
        ..places.clone()
    };
    let chosen = chosen(engine, locale, places)?;
    let takes_its_time = chosen.0 == Engine::Network;
    // Both load at the same time: somebody waits.
    let (best, quick) = std::thread::scope(|scope| {
        let quick = || open(Some(Engine::PocketSphinx), locale, &found).ok();
        let quick = takes_its_time.then(|| scope.spawn(quick));
        let best = load(chosen, locale);
        (best, quick.and_then(|quick| quick.join().ok().flatten()))
    });
    Ok(Ear::new(best?).with_quick(quick))
}

fn candidate(engine: Engine, locale: &str, places: &Places) -> Candidate {
    let path = places.model(engine, locale);
    let (status, remedy) = match &path {
        _ if !is_built(engine) => (
            Status::NotBuilt,
            Some(format!("build with `--features {}`", engine.name())),
        ),
        None => (Status::NoModel, Some(how_to_get(engine, locale, places))),
        Some(path) if engine.is_model(path) => (Status::Ready, None),
        Some(path) => {
            let status = if path.exists() {
                Status::NotAModel
            } else {
                Status::NoModel
            };
            (
                status,
                Some(format!("name the folder that holds {}", contents(engine))),
            )
        }
    };
    Candidate {
        engine,
        model: path
            .as_deref()
            .and_then(Path::file_name)
            .map(|n| n.to_string_lossy().into_owned()),
        path,
        status,
        remedy,
    }
}

/// What is in the folder of a model.
fn contents(engine: Engine) -> &'static str {
    match engine {
        Engine::Vosk => "`am/final.mdl`",
        Engine::PocketSphinx => "`en-us/mdef` and `cmudict-en-us.dict`",
        Engine::Network => "`model.bin` and `vocabulary.txt`",
    }
}

fn how_to_get(engine: Engine, locale: &str, places: &Places) -> String {
    let language = locale.split('-').next().unwrap_or(locale);
    let folder = places.user.as_ref().map_or_else(
        || "`readback/models` in your data folder".to_owned(),
        |user| format!("`{}`", user.display()),
    );
    match engine {
        Engine::Vosk => format!(
            "put a Vosk model for `{language}` into {folder}, or name it with `--model` or {}",
            engine.variable()
        ),
        Engine::PocketSphinx if language == "en" => {
            "run `scripts/setup`, or install Debian's `pocketsphinx-en-us`".into()
        }
        Engine::Network if language == "en" => {
            "fetch the network's model with `scripts/setup`".into()
        }
        Engine::PocketSphinx | Engine::Network => {
            "use `vosk`: this engine speaks English only".into()
        }
    }
}

fn none_ready(locale: &str, candidates: &[Candidate]) -> HearingError {
    let why = candidates
        .iter()
        .map(|candidate| why_not(locale, candidate));
    let remedies = candidates.iter().filter_map(|c| c.remedy.clone());
    HearingError::Missing {
        what: each_once(why).join(", "),
        remedy: each_once(remedies).join("; or "),
    }
}

fn why_not(locale: &str, candidate: &Candidate) -> String {
    let engine = candidate.engine.name();
    match (&candidate.status, &candidate.path) {
        (Status::NotBuilt, _) => format!("this program was built without {engine}"),
        (Status::NotAModel, Some(path)) => {
            format!("`{}` is not a model for {engine}", path.display())
        }
        (_, Some(path)) => format!("`{}` does not exist", path.display()),
        (_, None) => format!("no {engine} model for `{locale}` was found"),
    }
}

fn each_once(texts: impl Iterator<Item = String>) -> Vec<String> {
    let mut once: Vec<String> = Vec::new();
    for text in texts {
        if !once.contains(&text) {
            once.push(text);
        }
    }
    once
}

fn is_built(engine: Engine) -> bool {
    match engine {
        Engine::Vosk => cfg!(feature = "vosk"),
        Engine::PocketSphinx => cfg!(feature = "pocketsphinx"),
        Engine::Network => cfg!(feature = "network"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nowhere() -> Places {
        Places {
            user: Some("/data/readback/models".into()),
            ..Places::default()
        }
    }

    fn refused(engine: Option<Engine>, locale: &str, places: &Places) -> String {
        open(engine, locale, places).err().unwrap().to_string()
    }

    #[cfg(all(feature = "vosk", feature = "network", feature = "pocketsphinx"))]
    #[test]
    fn without_any_model_it_says_how_to_get_one() {
        assert_eq!(
            refused(None, "en-US", &nowhere()),
            "no vosk model for `en-US` was found, no network model for `en-US` was found, no \
             pocketsphinx model for `en-US` was found; put a Vosk model for `en` into \
             `/data/readback/models`, or name it with `--model` or READBACK_VOSK_MODEL; or fetch \
             the network's model with `scripts/setup`; or run `scripts/setup`, or install Debian's \
             `pocketsphinx-en-us`"
        );
        assert_eq!(
            refused(Some(Engine::PocketSphinx), "ko-KR", &nowhere()),
            "no pocketsphinx model for `ko-KR` was found; use `vosk`: this engine speaks English \
             only"
        );
    }

    #[cfg(feature = "vosk")]
    #[test]
    fn a_named_model_that_is_none_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let named = |path: &Path| Places {
            named: Some(path.to_owned()),
            ..nowhere()
        };
        let path = folder.path();
        assert_eq!(
            refused(Some(Engine::Vosk), "en-US", &named(path)),
            format!(
                "`{}` is not a model for vosk; name the folder that holds `am/final.mdl`",
                path.display()
            )
        );
        let missing = path.join("gone");
        assert_eq!(
            refused(Some(Engine::Vosk), "en-US", &named(&missing)),
            format!(
                "`{}` does not exist; name the folder that holds `am/final.mdl`",
                missing.display()
            )
        );
    }

    #[cfg(all(feature = "vosk", feature = "pocketsphinx"))]
    #[test]
    fn nothing_stands_in_for_what_a_variable_names() {
        let gone = Places {
            by_variable: vec![(Engine::Vosk, "/gone".into())],
            folders: vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("vendor/pocketsphinx/model")],
            ..nowhere()
        };
        assert_eq!(
            refused(None, "en-US", &gone),
            "`/gone` does not exist; name the folder that holds `am/final.mdl`"
        );
        let other = open(Some(Engine::PocketSphinx), "en-US", &gone);
        assert_eq!(other.unwrap().name().engine, "pocketsphinx");
    }

    #[cfg(not(feature = "vosk"))]
    #[test]
    fn an_engine_that_was_left_out_is_told() {
        assert_eq!(
            refused(Some(Engine::Vosk), "en-US", &nowhere()),
            "this program was built without vosk; build with `--features vosk`"
        );
    }
}
