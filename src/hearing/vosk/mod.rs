//! The Vosk engine: the one to prefer where a model for the language is present.
//!
//! Each utterance gets new recognizers: making one costs a tenth of a millisecond, changing the
//! grammar of one that runs aborts the process, and nothing heard before can color what is heard
//! now. Word confidences and alternatives cannot be had from one recognizer, so two hear the same
//! samples.

mod phrases;
mod results;

use std::path::Path;

use vosk::{CompleteResult, DecodingState, LogLevel, Model};

use super::recognizer::{AnyRecognizer, EngineName, HearingError, Recognizer, SAMPLE_RATE};
use crate::language::{Automaton, Hypothesis};
use results::Part;

/// The engine's name in records, options and messages.
pub const ENGINE: &str = "vosk";

/// Opens a model behind the common trait.
///
/// # Errors
///
/// As [`Vosk::open`].
pub fn load(model: &Path) -> Result<AnyRecognizer, HearingError> {
    Ok(Box::new(Vosk::open(model)?))
}

/// How many ways to hear an utterance are asked for.
const ALTERNATIVES: u16 = 5;

/// A loaded model and the phrases it listens for.
pub struct Vosk {
    model: Model,
    name: String,
    phrases: Vec<String>,
    ears: Option<Ears>,
}

/// The two recognizers of one utterance and what they gave so far.
struct Ears {
    words: vosk::Recognizer,
    alternatives: vosk::Recognizer,
    parts: Vec<Part>,
}

impl Vosk {
    /// Loads the model in a folder, which takes from half a second to several.
    ///
    /// # Errors
    ///
    /// `Missing` when the folder is not a model the library can load.
    pub fn open(folder: &Path) -> Result<Vosk, HearingError> {
        vosk::set_log_level(LogLevel::Error);
        let model =
            Model::new(folder.display().to_string()).ok_or_else(|| HearingError::Missing {
                what: format!("`{}` is not a model Vosk can load", folder.display()),
                remedy: "name the folder that holds `am` and `conf`, or fetch the model again"
                    .into(),
            })?;
        let name = folder.file_name().unwrap_or(folder.as_os_str());
        Ok(Vosk {
            model,
            name: name.to_string_lossy().into_owned(),
            phrases: Vec::new(),
            ears: None,
        })
    }

    /// Listens for these phrases, in any order and number, from the next utterance on. The library
    /// would silently ignore words that the model does not know: phrases with one are left out,
    /// and the words given back.
    ///
    /// # Errors
    ///
    /// `Grammar` when there is no phrase, when one could not be handed over safely, or when the
    /// model knows none of them.
    pub fn listen_for(&mut self, phrases: Vec<String>) -> Result<Vec<String>, HearingError> {
        phrases::check(&phrases).map_err(defect)?;
        let unknown = phrases::unknown_words(&phrases, |word| self.model.find_word(word).is_some());
        self.phrases = phrases::without(phrases, &unknown);
        if self.phrases.is_empty() {
            return Err(defect(format!(
                "the model `{}` does not know any of its words; use a model of the language",
                self.name
            )));
        }
        if self.model.find_word(phrases::OTHER_TALK).is_some() {
            self.phrases.push(phrases::OTHER_TALK.into());
        }
        self.ears = None;
        Ok(unknown)
    }

    fn new_ears(&self) -> Result<Ears, HearingError> {
        if self.phrases.is_empty() {
            return Err(failed("no grammar was set before the first utterance"));
        }
        Ok(Ears {
            words: self.new_recognizer(0)?,
            alternatives: self.new_recognizer(ALTERNATIVES)?,
            parts: Vec::new(),
        })
    }

    fn new_recognizer(&self, alternatives: u16) -> Result<vosk::Recognizer, HearingError> {
        let made =
            vosk::Recognizer::new_with_grammar(&self.model, SAMPLE_RATE as f32, &self.phrases);
        let mut recognizer = made.ok_or_else(|| failed("no recognizer could be made"))?;
        recognizer.set_words(true);
        recognizer.set_max_alternatives(alternatives);
        Ok(recognizer)
    }
}

impl Recognizer for Vosk {
    fn name(&self) -> EngineName {
        EngineName {
            engine: ENGINE.into(),
            model: self.name.clone(),
        }
    }

    fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError> {
        self.listen_for(grammar.phrases())
    }

    fn accept(&mut self, samples: &[i16]) -> Result<(), HearingError> {
        let mut ears = match self.ears.take() {
            Some(ears) => ears,
            None => self.new_ears()?,
        };
        ears.accept(samples)?;
        self.ears = Some(ears);
        Ok(())
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
        let Some(mut ears) = self.ears.take() else {
            return Ok(Vec::new());
        };
        ears.add_words(true);
        ears.add_alternatives(true);
        Ok(results::hypotheses(ears.parts))
    }
}

impl Ears {
    fn accept(&mut self, samples: &[i16]) -> Result<(), HearingError> {
        if hear(&mut self.words, samples)? {
            self.add_words(false);
        }
        if hear(&mut self.alternatives, samples)? {
            self.add_alternatives(false);
        }
        Ok(())
    }

    fn add_words(&mut self, last: bool) {
        if let CompleteResult::Single(result) = result_of(&mut self.words, last) {
            let words = result.result.iter();
            let words = words.map(|w| results::word(w.word, w.start, w.end, Some(w.conf)));
            self.parts.push(Part::Best(words.collect()));
        }
    }

    fn add_alternatives(&mut self, last: bool) {
        if let CompleteResult::Multiple(result) = result_of(&mut self.alternatives, last) {
            let ways = result.alternatives.iter().map(|way| {
                let words = way.result.iter();
                let words = words.map(|w| results::word(w.word, w.start, w.end, None));
                (way.confidence, words.collect())
            });
            self.parts.push(Part::Ways(ways.collect()));
        }
    }
}

/// Feeds one recognizer; `true` when it found the end of a stretch of speech by itself.
fn hear(recognizer: &mut vosk::Recognizer, samples: &[i16]) -> Result<bool, HearingError> {
    match recognizer.accept_waveform(samples) {
        Ok(DecodingState::Finalized) => Ok(true),
        Ok(DecodingState::Running) => Ok(false),
        Ok(DecodingState::Failed) => Err(failed("decoding stopped in the middle of an utterance")),
        Err(why) => Err(failed(&why.to_string())),
    }
}

fn result_of(recognizer: &mut vosk::Recognizer, last: bool) -> CompleteResult<'_> {
    if last {
        recognizer.final_result()
    } else {
        recognizer.result()
    }
}

fn defect(why: String) -> HearingError {
    HearingError::Grammar {
        engine: ENGINE,
        why,
    }
}

fn failed(why: &str) -> HearingError {
    HearingError::Engine {
        engine: ENGINE,
        why: why.into(),
    }
}
