//! The PocketSphinx engine: small, English, its model comes with its source.
//!
//! An utterance is decoded whole when it ends: from a cold start the decoder invents a first word,
//! and normalizing over the whole utterance makes a result depend on nothing heard before it.

mod decoder;
mod parameters;
mod paths;

use std::collections::{BTreeSet, HashSet, VecDeque};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path as FilePath;

use decoder::{Decoder, Path};
use parameters::Parameters;

use super::background;
use super::lexicon::Lexicon;
use super::recognizer::{AnyRecognizer, EngineName, HearingError, Recognizer};
use super::worker::Worker;
use crate::language::state_grammar::loop_of;
use crate::language::{Automaton, Hypothesis};

/// The engine's name in records, options and messages.
pub const ENGINE: &str = "pocketsphinx";

/// Opens a model, with the lexicon of a locale, on a thread of its own behind the common trait.
///
/// # Errors
///
/// As [`PocketSphinx::open`], and `Grammar` when the lexicon has a line that is no entry.
pub fn load(model: &FilePath, locale: &str) -> Result<AnyRecognizer, HearingError> {
    let lexicon = Lexicon::bundled(locale).map_err(|why| defect(why.to_string()))?;
    let model = model.to_owned();
    let background = background::words(locale);
    let open = move || PocketSphinx::open(&model, &lexicon, background);
    let worker = Worker::spawn(ENGINE, open)?;
    Ok(Box::new(worker))
}

/// How many grammars are kept compiled. A procedure has about as many different steps.
const KEPT_GRAMMARS: usize = 64;

/// How many paths of the lattice are looked at for other ways to hear an utterance.
const ALTERNATIVE_PATHS: usize = 60;

/// Above this length the lattice takes longer to search than the utterance is worth: five seconds.
const LONGEST_WITH_ALTERNATIVES: usize = 5 * super::recognizer::SAMPLE_RATE as usize;

/// What measured best on constrained grammars: no search of the whole lattice for one best path
/// (it cuts words short), a word insertion penalty that keeps short digits from multiplying, and
/// every acoustic state scored in every frame.
const SETTINGS: [(&str, &str); 4] = [
    ("bestpath", "no"),
    ("wip", "0.05"),
    ("compallsen", "yes"),
    ("loglevel", "FATAL"),
];

/// A loaded model with the grammars compiled so far. Stays on the thread that opened it.
pub struct PocketSphinx {
    decoder: Decoder,
    model: String,
    /// Names of the compiled grammars, the one used longest ago first.
    grammars: VecDeque<String>,
    /// The words around the grammar in use that mean nothing, in their order.
    decoys: Vec<String>,
    /// Common words that it can pronounce.
    background: Vec<&'static str>,
    utterance: Vec<i16>,
}

impl PocketSphinx {
    /// Opens the model in a folder laid out as PocketSphinx's own: an acoustic model `en-us/` and
    /// a dictionary `cmudict-en-us.dict`.
    ///
    /// # Errors
    ///
    /// `Missing` when the library cannot load the folder; `Grammar` when the lexicon has phones
    /// that are not the model's.
    pub fn open(
        model: &FilePath,
        lexicon: &Lexicon,
        mut background: Vec<&'static str>,
    ) -> Result<PocketSphinx, HearingError> {
        let unusable = || HearingError::Missing {
            what: format!("`{}` is not a model PocketSphinx can load", model.display()),
            remedy: "run `scripts/setup`, or name another with `--model`".into(),
        };
        let acoustic = model.join("en-us");
        let parameters = Parameters::of(&acoustic).map_err(|_| unusable())?;
        let text = |path: &FilePath| path.display().to_string();
        let files = [
            ("hmm", text(&acoustic)),
            ("featparams", text(parameters.path())),
            ("dict", text(&model.join("cmudict-en-us.dict"))),
        ];
        let files = files.iter().map(|(name, path)| (*name, path.as_str()));
        let settings: Vec<(&str, &str)> = files.chain(SETTINGS).collect();
        let mut decoder = Decoder::open(&settings).ok_or_else(unusable)?;
        add_lexicon(&mut decoder, lexicon)?;
        background.retain(|word| decoder.knows(word));
        Ok(PocketSphinx {
            decoder,
            model: model_name(model),
            grammars: VecDeque::new(),
            decoys: Vec::new(),
            background,
            utterance: Vec::new(),
        })
    }

    fn compile(
        &mut self,
        name: &str,
        grammar: &Automaton,
        unknown: &[&str],
    ) -> Result<(), HearingError> {
        let text = match self.decoys.is_empty() {
            true => grammar.state_grammar("heard", unknown),
            false => grammar.state_grammar_among("heard", unknown, &self.decoys),
        };
        if text.is_empty() && !unknown.is_empty() {
            return Err(defect(format!(
                "it has no pronunciation for `{}`, and nothing else may be said",
                unknown.join("`, `")
            )));
        }
        if !self.decoder.add_grammar(name, &text) {
            return Err(defect("the decoder does not accept its states".into()));
        }
        let others = self.other_words(grammar);
        let text = loop_of(&others, "background");
        if !others.is_empty() && !self.decoder.add_grammar(&background_name(name), &text) {
            return Err(defect(
                "the decoder does not accept the words beside it".into(),
            ));
        }
        Ok(())
    }

    /// The common words that sound like none of a grammar's.
    fn other_words(&self, grammar: &Automaton) -> Vec<&'static str> {
        let said = grammar.words().into_iter();
        let said: HashSet<String> = said
            .flat_map(|word| self.decoder.pronunciations(word))
            .collect();
        let differs = |word: &&&str| {
            let ways = self.decoder.pronunciations(word);
            ways.iter().all(|phones| !said.contains(phones))
        };
        self.background.iter().filter(differs).copied().collect()
    }

    fn forget_oldest(&mut self) {
        if self.grammars.len() > KEPT_GRAMMARS
            && let Some(oldest) = self.grammars.pop_front()
        {
            self.decoder.remove_grammar(&oldest);
            self.decoder.remove_grammar(&background_name(&oldest));
        }
    }

    /// By how much more a path fits than any run of common words.
    fn margin(&mut self, samples: &[i16], best: &Path) -> Result<Option<f32>, &'static str> {
        let Some(grammar) = self.grammars.back() else {
            return Ok(None);
        };
        if !self.decoder.activate(&background_name(grammar)) {
            return Ok(None);
        }
        let other = self.decoder.decode_again(samples);
        if !self.decoder.activate(grammar) {
            return Err("its grammar cannot be used again");
        }
        Ok(paths::margin(best, other?.as_ref()))
    }

    fn decode(&mut self, samples: &[i16]) -> Result<Vec<Hypothesis>, HearingError> {
        let failed = |why: &str| HearingError::Engine {
            engine: ENGINE,
            why: why.into(),
        };
        if self.grammars.is_empty() {
            return Err(failed("no grammar was set before the first utterance"));
        }
        if samples.is_empty() {
            return Ok(Vec::new());
        }
        if !self.decoys.is_empty() {
            return self.decode_among(samples).map_err(failed);
        }
        let Some(best) = self.decoder.decode(samples).map_err(failed)? else {
            return Ok(Vec::new());
        };
        let others = if samples.len() <= LONGEST_WITH_ALTERNATIVES {
            self.decoder.alternatives(ALTERNATIVE_PATHS)
        } else {
            Vec::new()
        };
        let margin = self.margin(samples, &best).map_err(failed)?;
        let mut hypotheses = paths::hypotheses(best, others, &BTreeSet::new());
        if let Some(first) = hypotheses.first_mut() {
            first.margin = margin;
        }
        Ok(hypotheses)
    }

    /// Only the best way to hear it: others differ in words that mean nothing, and a voice that
    /// sounds at the same time has words of its own, which common words are no measure of.
    fn decode_among(&mut self, samples: &[i16]) -> Result<Vec<Hypothesis>, &'static str> {
        let best = self.decoder.decode_once(samples)?;
        let decoys = self.decoys.iter().map(String::as_str).collect();
        Ok(best.map_or_else(Vec::new, |best| {
            paths::hypotheses(best, Vec::new(), &decoys)
        }))
    }
}

impl Recognizer for PocketSphinx {
    fn name(&self) -> EngineName {
        EngineName {
            engine: ENGINE.into(),
            model: self.model.clone(),
        }
    }

    /// A grammar heard before is not compiled again. The words that neither the dictionary nor the
    /// lexicon has are never heard, nor what they are in; where nothing else may be said, that is the
    /// error `Grammar`.
    fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError> {
        self.set_grammar_among(grammar, &[])
    }

    fn set_grammar_among(
        &mut self,
        grammar: &Automaton,
        decoys: &[String],
    ) -> Result<Vec<String>, HearingError> {
        let said = grammar.words();
        let mut unknown = said.clone();
        unknown.retain(|word| !self.decoder.knows(word));
        let known = |word: &&str| !said.contains(word) && self.decoder.knows(word);
        let words = decoys
            .iter()
            .flat_map(|sentence| sentence.split_whitespace());
        self.decoys = words.filter(known).map(str::to_owned).collect();
        let name = grammar_name(grammar, &self.decoys);
        match self.grammars.iter().position(|known| *known == name) {
            Some(place) => {
                self.grammars.remove(place);
            }
            None => self.compile(&name, grammar, &unknown)?,
        }
        if !self.decoder.activate(&name) {
            return Err(defect("it was compiled but cannot be used".into()));
        }
        self.grammars.push_back(name);
        self.forget_oldest();
        Ok(unknown.into_iter().map(str::to_owned).collect())
    }

    fn accept(&mut self, samples: &[i16]) -> Result<(), HearingError> {
        self.utterance.extend_from_slice(samples);
        Ok(())
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
        let samples = std::mem::take(&mut self.utterance);
        self.decode(&samples)
    }
}

fn add_lexicon(decoder: &mut Decoder, lexicon: &Lexicon) -> Result<(), HearingError> {
    for (word, phones) in lexicon.entries() {
        if !decoder.knows(word) && !decoder.add_word(word, phones) {
            return Err(defect(format!(
                "lexicon entry `{word} {phones}` has a phone that is not the model's"
            )));
        }
    }
    Ok(())
}

fn defect(why: String) -> HearingError {
    HearingError::Grammar {
        engine: ENGINE,
        why,
    }
}

fn model_name(folder: &FilePath) -> String {
    let name = folder.file_name().unwrap_or(folder.as_os_str());
    name.to_string_lossy().into_owned()
}

/// The name of the common words that mean nothing in a grammar.
fn background_name(grammar: &str) -> String {
    format!("{grammar}-background")
}

/// A name that the same automaton always gets, so that it is compiled once. Much quicker to make
/// than the text that is compiled.
fn grammar_name(grammar: &Automaton, decoys: &[String]) -> String {
    let mut hasher = DefaultHasher::new();
    decoys.hash(&mut hasher);
    for state in 0..grammar.state_count() {
        (state, grammar.is_final(state)).hash(&mut hasher);
        for arc in grammar.arcs(state) {
            (arc.word, arc.to).hash(&mut hasher);
        }
    }
    format!("grammar-{:016x}", hasher.finish())
}
