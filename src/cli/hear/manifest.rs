//! What is said in the recordings of a corpus: the manifest that `scripts/make-corpus` writes.

use std::fs;
use std::path::Path;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::cli::failure::reason;
use crate::cli::{Failure, text_file};

/// The recordings of one corpus, in an order drawn by lot.
#[derive(Debug, Deserialize)]
pub struct Manifest {
    /// `training` or `held-out`: nothing is tuned on the voices held out.
    pub split: String,
    pub utterances: Vec<Said>,
}

/// One recording and what is said in it. The paths count from the manifest's folder.
#[derive(Debug, Clone, Deserialize, Serialize)]
pub struct Said {
    pub file: String,
    pub words: String,
    pub kind: Kind,
    /// How the words are made: a number form, an answer's name.
    pub form: String,
    pub voice: String,
    pub noise: String,
    /// How far the speech lies above the noise, in dB (ITU-T P.56); `None` without noise.
    pub level_db: Option<f64>,
    pub speech_end_ms: u64,
    /// The hash of the file, in hexadecimal digits; without one it may be any recording.
    #[serde(skip_serializing)]
    sha256: Option<String>,
}

/// What a recording is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    Command,
    Choice,
    Reading,
    /// Words to somebody else: nothing of it may be accepted.
    Talk,
    /// Nobody speaks.
    Noise,
}

impl Kind {
    /// Whether it is said to us.
    pub fn is_for_us(self) -> bool {
        !matches!(self, Kind::Talk | Kind::Noise)
    }
}

impl Manifest {
    /// # Errors
    ///
    /// The file cannot be read or is no manifest.
    pub fn read(path: &Path) -> Result<Manifest, Failure> {
        let text = text_file::read(path, text_file::BY_PROGRAM)?;
        serde_json::from_str(&text).map_err(|why| {
            Failure::input(format_args!(
                "`{}` is no manifest of a corpus: {why}; make one with `scripts/make-corpus`",
                path.display()
            ))
        })
    }
}

impl Manifest {
    /// Looks at every recording before the first one is heard, which takes hours for a whole corpus.
    ///
    /// # Errors
    ///
    /// The first recording that is not there, is another one than when the manifest was made, or whose
    /// words are to mean something and do not.
    pub fn check(&self, path: &Path, means: impl Fn(&Said) -> bool) -> Result<(), Failure> {
        let folder = folder(path);
        for (number, said) in (1..).zip(&self.utterances) {
            let wrong = |why: String| {
                let manifest = path.display();
                let file = &said.file;
                Failure::input(format_args!(
                    "`{manifest}`, recording {number}, `{file}`: {why}"
                ))
            };
            let bytes = fs::read(folder.join(&said.file)).map_err(|error| {
                let why = reason(&error);
                wrong(format!("{why}; make the corpus again"))
            })?;
            let found = format!("{:x}", Sha256::digest(&bytes));
            if let Some(expected) = said.sha256.as_ref().filter(|sum| **sum != found) {
                return Err(wrong(format!(
                    "found a file with the SHA-256 {found}, expected {expected}, as when the manifest was \
                     made; make the corpus again"
                )));
            }
            if said.kind.is_for_us() && !means(said) {
                let words = &said.words;
                return Err(wrong(format!(
                    "found `{words}`, which means nothing, expected words that do, or the kind `talk`"
                )));
            }
        }
        Ok(())
    }
}

/// Where the paths in a manifest count from.
pub fn folder(manifest: &Path) -> &Path {
    manifest.parent().unwrap_or(Path::new(""))
}

impl Said {
    /// The level as it is shown: `10 dB`, `clean`.
    pub fn level(&self) -> String {
        self.level_db
            .map_or_else(|| "clean".to_owned(), |db| format!("{db:>2} dB"))
    }
}
