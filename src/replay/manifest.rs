//! The manifest of a folder of recordings: in which order they are spoken, and when.

use serde::Deserialize;

use super::cue::{PAUSE_MS, When};
use crate::session::Ms;

/// What a replay needs to know of a folder of recordings. A manifest may say more, for people and
/// for whoever makes the recordings.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Manifest {
    pub utterances: Vec<Recording>,
}

/// One recording.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Recording {
    /// The file, in the manifest's folder.
    pub file: String,
    /// What is spoken in it.
    pub words: String,
    /// How long after the last prompt it is spoken, in milliseconds.
    pause_ms: Option<Ms>,
    /// At what moment of the session it is spoken instead, in milliseconds.
    at_ms: Option<Ms>,
}

impl Manifest {
    /// Reads the JSON of a manifest; `name` is what errors call it.
    ///
    /// # Errors
    ///
    /// Names the place and what is wrong there.
    pub fn parse(name: &str, text: &str) -> Result<Manifest, String> {
        let manifest: Manifest = serde_json::from_str(text)
            .map_err(|error| format!("cannot read the manifest `{name}`: {error}"))?;
        match manifest.utterances.is_empty() {
            true => Err(format!(
                "the manifest `{name}` has no utterances, expected at least one"
            )),
            false => Ok(manifest),
        }
    }
}

impl Recording {
    pub fn when(&self) -> When {
        match self.at_ms {
            Some(at) => When::At(at),
            None => When::AfterPrompt {
                pause_ms: self.pause_ms.unwrap_or(PAUSE_MS),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn recordings_are_spoken_after_the_prompt_or_at_their_time() {
        let text = r#"{"voice": "any", "utterances": [
            {"file": "1.wav", "words": "next"},
            {"file": "2.wav", "words": "next", "pause_ms": 5000},
            {"file": "3.wav", "words": "stop", "at_ms": 9000}
        ]}"#;
        let manifest = Manifest::parse("m", text).unwrap();
        let when: Vec<When> = manifest.utterances.iter().map(Recording::when).collect();
        let pause_ms = PAUSE_MS;
        assert_eq!(
            when,
            [
                When::AfterPrompt { pause_ms },
                When::AfterPrompt { pause_ms: 5000 },
                When::At(9000)
            ]
        );
    }

    #[test]
    fn a_manifest_without_utterances_is_refused() {
        let error = Manifest::parse("m.json", r#"{"utterances": []}"#).unwrap_err();
        assert_eq!(
            error,
            "the manifest `m.json` has no utterances, expected at least one"
        );
    }
}
