//! The network engine: pretrained, and held to the grammar.
//!
//! The crate `readback-network` says how likely each next piece of text is, with weights that were
//! adapted to noise. `written` is how the words of a grammar may be written, in the `ways` of a
//! language, `masks` which pieces that allows, `beam` the search for the likeliest texts among them,
//! and `meant` makes hypotheses of these.

mod beam;
mod masks;
mod meant;
mod ways;
mod written;

use std::collections::VecDeque;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;

use masks::Masks;
use ways::Ways;
use written::Speech;

use super::recognizer::{AnyRecognizer, EngineName, HearingError, Recognizer, milliseconds_of};
use super::worker::Worker;
use crate::language::{Automaton, Hypothesis};

/// The engine's name in records, options and messages.
pub const ENGINE: &str = "network";

/// Changes to the weights that `scripts/setup` fetches, fitted to speech in noise by
/// `scripts/make-adaptation`: see `benches/hearing.md`.
const ADAPTATION: &[u8] = include_bytes!("adaptation.bin");

/// How many grammars are kept with what is known of them.
const KEPT_GRAMMARS: usize = 64;

/// Opens a model, for a locale, on a thread of its own behind the common trait.
///
/// # Errors
///
/// As [`Network::open`].
pub fn load(model: &Path, locale: &str) -> Result<AnyRecognizer, HearingError> {
    let (model, locale) = (model.to_owned(), locale.to_owned());
    let worker = Worker::spawn(ENGINE, move || Network::open(&model, &locale))?;
    Ok(Box::new(worker))
}

/// A loaded network and the grammars that it was held to.
pub struct Network {
    network: readback_network::Network,
    name: String,
    ways: Ways,
    /// The one in use last.
    grammars: VecDeque<Grammar>,
    utterance: Vec<i16>,
}

struct Grammar {
    mark: u64,
    automaton: Automaton,
    masks: Masks,
}

impl Network {
    /// Loads the model in a folder.
    ///
    /// # Errors
    ///
    /// `Missing` when the folder is not a model of this kind, `Grammar` when the language's ways
    /// of writing are no such file.
    pub fn open(folder: &Path, locale: &str) -> Result<Network, HearingError> {
        let network = readback_network::Network::open(folder, ADAPTATION);
        let network = network.map_err(|why| HearingError::Missing {
            what: format!("`{}` is not a model for {ENGINE}: {why}", folder.display()),
            remedy: "run `scripts/setup`, or name another with `--model`".into(),
        })?;
        let ways = Ways::bundled(locale).map_err(|why| HearingError::Grammar {
            engine: ENGINE,
            why: why.to_string(),
        })?;
        let name = folder.file_name().unwrap_or(folder.as_os_str());
        let name = name.to_string_lossy();
        let name = match network.is_adapted() {
            true => format!("{name} adapted"),
            false => name.into_owned(),
        };
        Ok(Network {
            network,
            name,
            ways,
            grammars: VecDeque::new(),
            utterance: Vec::new(),
        })
    }

    fn decode(&mut self, samples: &[i16]) -> Result<Vec<Hypothesis>, HearingError> {
        let Some(grammar) = self.grammars.back_mut() else {
            return Err(HearingError::Engine {
                engine: ENGINE,
                why: "no grammar was set before the first utterance".into(),
            });
        };
        let sound = self.network.listen(samples);
        let found = beam::search(&self.network, &mut grammar.masks, &sound);
        let length_ms = milliseconds_of(samples.len());
        let pieces = self.network.pieces();
        let speech = &grammar.masks.speech;
        let hypotheses = meant::hypotheses(&found, pieces, &grammar.automaton, speech, length_ms);
        Ok(hypotheses)
    }
}

impl Recognizer for Network {
    fn name(&self) -> EngineName {
        EngineName {
            engine: ENGINE.into(),
            model: self.name.clone(),
        }
    }

    /// What was worked out for a grammar heard before is kept.
    fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError> {
        let mark = mark_of(grammar);
        let known = self.grammars.iter().position(|known| known.mark == mark);
        let grammar = match known.and_then(|place| self.grammars.remove(place)) {
            Some(known) => known,
            None => {
                let mut masks = Masks::new(Speech::of(grammar, &self.ways));
                masks.mask(Masks::START, self.network.pieces());
                Grammar {
                    mark,
                    automaton: grammar.clone(),
                    masks,
                }
            }
        };
        self.grammars.push_back(grammar);
        if self.grammars.len() > KEPT_GRAMMARS {
            self.grammars.pop_front();
        }
        Ok(Vec::new())
    }

    fn accept(&mut self, samples: &[i16]) -> Result<(), HearingError> {
        self.utterance.extend_from_slice(samples);
        Ok(())
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
        let samples = std::mem::take(&mut self.utterance);
        match samples.is_empty() {
            true => Ok(Vec::new()),
            false => self.decode(&samples),
        }
    }
}

/// A number that the same automaton always gets.
fn mark_of(grammar: &Automaton) -> u64 {
    let mut hasher = DefaultHasher::new();
    for state in 0..grammar.state_count() {
        (state, grammar.is_final(state)).hash(&mut hasher);
        for arc in grammar.arcs(state) {
            (arc.word, arc.to).hash(&mut hasher);
        }
    }
    hasher.finish()
}
