//! Recordings, and one way from a recording to what was heard.

use std::fs::{self, File};
use std::io::BufReader;
use std::path::{Path, PathBuf};

use readback::hearing::ear::{Ear, Heard};
use readback::hearing::endpoint::{Endpointer, Utterance};
use readback::hearing::engines;
use readback::hearing::models::{Engine, Places};
use readback::hearing::pause::Pause;
use readback::hearing::recognizer::{AnyRecognizer, HearingError};
use readback::hearing::wav::WavSource;
use readback::language::{Automaton, Command, Expectation, ExpectedReading, Language};

/// A line of the manifest.
pub struct Recording {
    pub path: PathBuf,
    /// The words that must be heard, `None` for talk that must be rejected.
    pub words: Option<String>,
}

/// The recordings of a locale.
pub fn recordings(locale: &str) -> Vec<Recording> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("audio-fixtures/hearing");
    let manifest = fs::read_to_string(folder.join("manifest.tsv")).unwrap();
    let lines = manifest.lines().filter(|line| !line.starts_with('#'));
    lines
        .map(|line| line.split('\t').collect::<Vec<_>>())
        .filter(|fields| fields[1] == locale)
        .map(|fields| Recording {
            path: folder.join(fields[0]),
            words: (fields[5] != "-").then(|| fields[5].to_owned()),
        })
        .collect()
}

/// All commands and all readings.
pub fn everything(language: &Language) -> Automaton {
    let expectation = Expectation {
        commands: Command::ALL.into_iter().collect(),
        reading: Some(ExpectedReading {
            unit: None,
            plausible: None,
        }),
        ..Expectation::default()
    };
    language.compile(&expectation).unwrap()
}

/// An ear with the engine below.
#[cfg(any(feature = "pocketsphinx", feature = "vosk"))]
pub fn ear(name: Engine, locale: &str) -> Ear {
    find_ear(name, locale).unwrap()
}

/// The engine with the models of this checkout, whatever else the machine has.
#[cfg(feature = "pocketsphinx")]
pub fn engine(name: Engine, locale: &str) -> AnyRecognizer {
    find_engine(name, locale).unwrap()
}

/// An ear with it where its model is there.
pub fn find_ear(name: Engine, locale: &str) -> Result<Ear, HearingError> {
    find_engine(name, locale).map(Ear::new)
}

fn find_engine(name: Engine, locale: &str) -> Result<AnyRecognizer, HearingError> {
    let vendor = Path::new(env!("CARGO_MANIFEST_DIR")).join("vendor");
    let places = Places {
        folders: vec![vendor.join("models"), vendor.join("pocketsphinx/model")],
        ..Places::default()
    };
    engines::open(Some(name), locale, &places)
}

/// Hears every utterance of a WAV file.
pub fn hear_file(ear: &mut Ear, path: &Path) -> Vec<Heard> {
    hear_samples(ear, &samples(path))
}

/// A WAV file at 16 kHz.
pub fn samples(path: &Path) -> Vec<i16> {
    let file = File::open(path).unwrap_or_else(|why| panic!("{}: {why}", path.display()));
    let mut source = WavSource::new(&path.display().to_string(), BufReader::new(file)).unwrap();
    source.read_all().unwrap()
}

/// A human recording of Debian's `pocketsphinx-testdata`, WAV or bare samples.
#[cfg(feature = "pocketsphinx")]
pub fn person(name: &str) -> Vec<i16> {
    let path = Path::new("/usr/share/pocketsphinx/test/data").join(name);
    if path.extension().is_some_and(|ending| ending == "wav") {
        return samples(&path);
    }
    let bytes = fs::read(&path)
        .unwrap_or_else(|why| panic!("{}: {why}; install pocketsphinx-testdata", path.display()));
    let (samples, _) = bytes.as_chunks::<2>();
    samples.iter().map(|s| i16::from_le_bytes(*s)).collect()
}

/// Hears every utterance of 16 kHz samples as from a file.
pub fn hear_samples(ear: &mut Ear, samples: &[i16]) -> Vec<Heard> {
    let stretches = utterances(samples, |_| Pause::Unfinished).into_iter();
    stretches
        .flat_map(|stretch| ear.hear_stretch(stretch).unwrap())
        .collect()
}

/// Hears every utterance of 16 kHz samples as from a microphone, by an engine that takes no time.
#[cfg(any(feature = "pocketsphinx", feature = "vosk"))]
pub fn hear_live(ear: &mut Ear, samples: &[i16]) -> Vec<Heard> {
    let ended = utterances(samples, |so_far| ear.look(so_far).unwrap()).into_iter();
    ended
        .map(|utterance| ear.hear(utterance).unwrap())
        .collect()
}

/// Utterances by the pauses that looks at them say.
pub fn utterances(samples: &[i16], look: impl FnMut(&Utterance) -> Pause) -> Vec<Utterance> {
    let mut endpointer = Endpointer::default();
    let mut ended = endpointer.push(samples, look);
    ended.extend(endpointer.finish());
    ended
}

/// The words of the utterances that count, in brackets those of rejected ones.
#[cfg(any(feature = "pocketsphinx", feature = "vosk"))]
pub fn texts(heard: &[Heard]) -> Vec<String> {
    heard
        .iter()
        .map(|heard| {
            let text = heard.hypotheses.first().map(|best| best.text());
            let text = text.unwrap_or_default();
            match heard.rejected {
                Some(_) => format!("[{text}]"),
                None => text,
            }
        })
        .collect()
}

/// Every recording of a locale that was not heard as the manifest has it.
#[cfg(any(feature = "pocketsphinx", feature = "vosk"))]
pub fn misheard(ear: &mut Ear, locale: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    for recording in recordings(locale) {
        let heard = texts(&hear_file(ear, &recording.path));
        let right = match &recording.words {
            Some(words) => heard == [words.as_str()],
            None => heard
                .iter()
                .all(|text| text.is_empty() || text.starts_with('[')),
        };
        if !right {
            let name = recording.path.file_name().unwrap().display();
            wrong.push(format!(
                "{name}: heard {heard:?}, expected {:?}",
                recording.words
            ));
        }
    }
    wrong
}
