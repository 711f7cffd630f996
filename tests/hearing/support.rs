//! Recordings, and one way from a recording to what was heard.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use readback::hearing::ear::{Ear, Heard};
use readback::hearing::endpoint::Endpointer;
use readback::hearing::wav::WavSource;

/// Where this repository keeps recordings for these tests.
pub fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("audio-fixtures/hearing")
        .join(name)
}

/// Hears every utterance of a WAV file.
pub fn hear_file(ear: &mut Ear, path: &Path) -> Vec<Heard> {
    let file = File::open(path).unwrap_or_else(|why| panic!("{}: {why}", path.display()));
    let mut source = WavSource::new(&path.display().to_string(), BufReader::new(file)).unwrap();
    hear_samples(ear, &source.read_all().unwrap())
}

/// Hears every utterance of 16 kHz samples.
pub fn hear_samples(ear: &mut Ear, samples: &[i16]) -> Vec<Heard> {
    let mut endpointer = Endpointer::default();
    let mut utterances = endpointer.push(samples);
    utterances.extend(endpointer.finish());
    utterances
        .into_iter()
        .map(|utterance| ear.hear(utterance).unwrap())
        .collect()
}
