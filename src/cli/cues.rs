//! What the technician of a replay says, from the files that were named.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use super::{Failure, text_file};
use crate::hearing::endpoint::{Endpointer, Utterance};
use crate::hearing::pause::Pause;
use crate::hearing::scripted::{Script, Start};
use crate::hearing::wav::WavSource;
use crate::replay::cue::{Cue, PAUSE_MS, Said, When};
use crate::replay::manifest::Manifest;

const MANIFEST: &str = "manifest.json";

/// The lines of a script.
pub fn from_script(path: &Path) -> Result<Vec<Cue>, Failure> {
    let text = text_file::read(path, text_file::BY_PROGRAM)?;
    let script = Script::parse(&path.display().to_string(), &text).map_err(Failure::input)?;
    let cues = script.lines().iter().map(|line| Cue {
        when: match line.start {
            Start::Next => When::AfterPrompt { pause_ms: PAUSE_MS },
            Start::After(pause_ms) => When::AfterPrompt { pause_ms },
            Start::At(time) => When::At(time),
        },
        said: Said::Words(line.hypothesis()),
    });
    Ok(cues.collect())
}

/// A recording of a whole session, or a folder of recordings with a manifest.
pub fn from_audio(path: &Path) -> Result<Vec<Cue>, Failure> {
    match path.is_dir() {
        true => from_folder(path),
        false => Ok(from_recording(path)?
            .into_iter()
            .map(|utterance| Cue {
                when: When::At(utterance.start_ms),
                said: Said::Audio(utterance.samples),
            })
            .collect()),
    }
}

fn from_folder(folder: &Path) -> Result<Vec<Cue>, Failure> {
    let path = folder.join(MANIFEST);
    let text = text_file::read(&path, text_file::BY_PROGRAM)?;
    let manifest = Manifest::parse(&path.display().to_string(), &text).map_err(Failure::input)?;
    let mut cues = Vec::new();
    for recording in &manifest.utterances {
        let utterances = from_recording(&folder.join(&recording.file))?;
        let mut end = None;
        for utterance in utterances {
            let when = match end {
                None => recording.when(),
                Some(end) => When::Follows {
                    gap_ms: utterance.start_ms.saturating_sub(end),
                },
            };
            end = Some(utterance.end_ms);
            cues.push(Cue {
                when,
                said: Said::Audio(utterance.samples),
            });
        }
    }
    Ok(cues)
}

/// The stretches of speech of one recording. Where one is several utterances shows when it is
/// heard: nobody knows yet what may be said then.
pub fn from_recording(path: &Path) -> Result<Vec<Utterance>, Failure> {
    let file = File::open(path).map_err(|error| Failure::file("read", path, &error))?;
    let name = path.display().to_string();
    let mut source = WavSource::new(&name, BufReader::new(file)).map_err(Failure::input)?;
    let samples = source.read_all().map_err(Failure::input)?;
    let mut endpointer = Endpointer::default();
    let mut utterances = endpointer.push(&samples, |_| Pause::Unfinished);
    utterances.extend(endpointer.finish());
    Ok(utterances)
}
