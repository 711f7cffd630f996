//! A recording to what was heard in it, and how long that took.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use crate::cli::Failure;
use crate::clock::{Clock, SystemClock};
use crate::hearing::ear::{Ear, Heard};
use crate::hearing::endpoint::{Endpointer, Utterance};
use crate::hearing::pause::Pause;
use crate::hearing::recognizer::{SAMPLE_RATE, milliseconds_of};
use crate::hearing::wav::WavSource;

/// Samples taken at once, as from a microphone: 50 ms.
const BLOCK: usize = SAMPLE_RATE as usize / 20;

/// An utterance that was heard.
pub struct Listened {
    pub heard: Heard,
    /// Milliseconds of the recording that had passed when its end was found.
    pub end_found_ms: u64,
    /// Milliseconds by the clock from there to what was heard.
    pub decoding_ms: u64,
}

/// The recording as a source of samples.
///
/// # Errors
///
/// The file cannot be read or is no WAV file.
pub fn open(path: &Path) -> Result<WavSource<BufReader<File>>, Failure> {
    let file = File::open(path).map_err(|why| Failure::file("read", path, &why))?;
    WavSource::new(&path.display().to_string(), BufReader::new(file)).map_err(Failure::input)
}

/// Hears a recording as a microphone is listened to: its utterances, and its length in seconds.
///
/// # Errors
///
/// The file cannot be read or is no WAV file; the engine fails.
pub fn listen(ear: &mut Ear, path: &Path) -> Result<(Vec<Listened>, f64), Failure> {
    let mut source = open(path)?;
    let mut endpointer = Endpointer::default();
    let mut listened = Vec::new();
    let mut passed = 0;
    while let Some(block) = source.next_block().map_err(Failure::input)? {
        for samples in block.chunks(BLOCK) {
            passed += samples.len();
            // Where a look fails, the utterance itself will fail and tell.
            let look = |so_far: &Utterance| ear.look(so_far).unwrap_or(Pause::Open);
            for utterance in endpointer.push(samples, look) {
                listened.push(hear(ear, utterance, passed)?);
            }
        }
    }
    for utterance in endpointer.finish() {
        listened.push(hear(ear, utterance, passed)?);
    }
    Ok((listened, passed as f64 / f64::from(SAMPLE_RATE)))
}

fn hear(ear: &mut Ear, utterance: Utterance, passed: usize) -> Result<Listened, Failure> {
    let clock = SystemClock::start();
    Ok(Listened {
        heard: ear.hear(utterance)?,
        end_found_ms: milliseconds_of(passed),
        decoding_ms: clock.now().ms,
    })
}
