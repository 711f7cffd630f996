//! One utterance to what was heard, with times of the source and a judgment on whether it was
//! meant for us at all.

use super::endpoint::{Endpointer, Utterance};
use super::network;
use super::pause::Pause;
use super::recognizer::{AnyRecognizer, EngineName, HearingError, SAMPLE_RATE};
use super::trust::Trust;
use crate::language::{Automaton, Command, Hypothesis, Meaning};

/// The lowest mean acoustic score per frame of words at which speech still fits the grammar, in
/// the units of PocketSphinx, the engine that gives one.
///
/// From the recordings of the tests: of 40 phrases in the grammar 39 score -27 to -52, of other
/// talk forced into the grammar all score below -56. There is no sharp line between the two: a
/// phrase below this one is asked for again, which costs a second; a remark to a colleague above it
/// is still read back before it counts.
pub const LOWEST_ACOUSTIC: f32 = -55.0;

/// The same for "stop" and "stand by", which get the benefit of the doubt: a stop too many costs a
/// moment, one that is not heard may cost a hand. A recording of "stop" that scores above -55 as a file scored
/// -56 to -66 through a microphone at 48 kHz; the talk of the tests scores -84 to -107.
pub const LOWEST_ACOUSTIC_OF_STOP: f32 = -75.0;

/// The same of the network: the worse of the mean logarithm of how likely a piece of the text is, and
/// minus half of what a text without the grammar is likelier by.
///
/// From the recordings of the tests and 46 utterances of a corpus's training voices, clean and at
/// 10 dB: of 49 understood right 48 score -1.5 or more; other talk and noise score -1.9 or less.
/// Few, so this is a beginning.
pub const LOWEST_OF_NETWORK: f32 = -1.8;

/// The same for "stop".
pub const LOWEST_OF_NETWORK_OF_STOP: f32 = -3.0;

/// An utterance and what the engine made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// Best first, word times in milliseconds of the source. Empty: nothing was heard.
    pub hypotheses: Vec<Hypothesis>,
    /// Why this does not count as speech to us; `None` when it may be parsed. The hypotheses stay,
    /// for the record.
    pub rejected: Option<String>,
    pub utterance: Utterance,
}

/// A recognizer that listens to utterances.
pub struct Ear {
    recognizer: AnyRecognizer,
    /// How its words are judged, where that was fitted.
    trust: Option<&'static Trust>,
    grammar: Automaton,
    /// The newest utterance that was looked at, heard with this grammar; times from its start.
    looked: Option<Heard>,
}

impl Ear {
    pub fn new(recognizer: AnyRecognizer) -> Ear {
        Ear {
            trust: Trust::of(&recognizer.name().engine),
            recognizer,
            grammar: Automaton::default(),
            looked: None,
        }
    }

    pub fn name(&self) -> EngineName {
        self.recognizer.name()
    }

    /// What to listen for from the next utterance on. Gives the words that this engine can never
    /// hear.
    ///
    /// # Errors
    ///
    /// As [`Recognizer::set_grammar`](super::recognizer::Recognizer::set_grammar).
    pub fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError> {
        self.looked = None;
        self.grammar = grammar.clone();
        self.recognizer.set_grammar(grammar)
    }

    /// The same, with words around it that mean nothing.
    ///
    /// # Errors
    ///
    /// As [`Ear::set_grammar`].
    pub fn set_grammar_among(
        &mut self,
        grammar: &Automaton,
        decoys: &[String],
    ) -> Result<Vec<String>, HearingError> {
        self.looked = None;
        self.grammar = grammar.clone();
        self.recognizer.set_grammar_among(grammar, decoys)
    }

    /// Hears one utterance: at once where it was looked at just before.
    ///
    /// # Errors
    ///
    /// `Engine`: the utterance is lost, the next can be heard.
    pub fn hear(&mut self, utterance: Utterance) -> Result<Heard, HearingError> {
        let same = |looked: &mut Heard| looked.utterance.samples == utterance.samples;
        let mut heard = match self.looked.take_if(same) {
            Some(looked) => looked,
            None => self.decode(utterance.samples)?,
        };
        for word in heard.hypotheses.iter_mut().flat_map(|h| &mut h.words) {
            word.start_ms += utterance.start_ms;
            word.end_ms += utterance.start_ms;
        }
        heard.utterance = Utterance {
            samples: heard.utterance.samples,
            ..utterance
        };
        Ok(heard)
    }

    /// Hears an utterance that may be over: how long a silence would end it.
    ///
    /// # Errors
    ///
    /// As [`Ear::hear`].
    pub fn look(&mut self, so_far: &Utterance) -> Result<Pause, HearingError> {
        let heard = self.decode(so_far.samples.clone())?;
        let pause = Pause::after(&heard, &self.grammar);
        self.looked = Some(heard);
        Ok(pause)
    }

    /// Hears a stretch of speech whose silences are shorter than the longest pause: its utterances,
    /// in order.
    ///
    /// # Errors
    ///
    /// As [`Ear::hear`].
    pub fn hear_stretch(&mut self, mut stretch: Utterance) -> Result<Vec<Heard>, HearingError> {
        let mut heard = Vec::new();
        while !stretch.samples.is_empty() {
            let first = self.first_of(&stretch.samples);
            let rest = stretch.samples.split_off(first);
            let end_ms = stretch.end_ms;
            stretch.end_ms = stretch.start_ms + milliseconds(first);
            let next = Utterance {
                start_ms: stretch.end_ms,
                end_ms,
                samples: rest,
                cut: stretch.cut,
            };
            heard.push(self.hear(std::mem::replace(&mut stretch, next))?);
        }
        Ok(heard)
    }

    /// How many of the samples of a stretch of speech, which ends in silence, are its first
    /// utterance: less than all where a lone command stands before a short pause in it.
    pub fn first_of(&mut self, stretch: &[i16]) -> usize {
        let mut endpointer = Endpointer::default();
        let last = stretch.len() - endpointer.after().min(stretch.len());
        let look = |so_far: &Utterance| self.look(so_far).unwrap_or(Pause::Open);
        let ended = endpointer.push_until_end(&stretch[..last], look);
        ended.map_or(stretch.len(), |first| {
            first.end_ms as usize * SAMPLE_RATE as usize / 1000
        })
    }

    /// Times from the first sample.
    fn decode(&mut self, samples: Vec<i16>) -> Result<Heard, HearingError> {
        let accepted = self.recognizer.accept(&samples);
        let hypotheses = self.recognizer.finish()?;
        accepted?;
        Ok(Heard {
            rejected: hypotheses.first().and_then(|best| self.other_talk(best)),
            hypotheses,
            utterance: Utterance {
                start_ms: 0,
                end_ms: 0,
                samples,
                cut: false,
            },
        })
    }

    /// Why the best hypothesis must be other talk forced into the grammar.
    fn other_talk(&self, best: &Hypothesis) -> Option<String> {
        if let Some(trust) = self.trust
            && best.margin.is_some()
        {
            return trust.doubt(best, &self.grammar);
        }
        let (lowest, lowest_of_stop) = match self.name().engine == network::ENGINE {
            true => (LOWEST_OF_NETWORK, LOWEST_OF_NETWORK_OF_STOP),
            false => (LOWEST_ACOUSTIC, LOWEST_ACOUSTIC_OF_STOP),
        };
        let acoustic = best.acoustic.filter(|score| *score < lowest)?;
        let lowest = match self.stops(best) {
            true => lowest_of_stop,
            false => lowest,
        };
        (acoustic < lowest).then(|| {
            format!(
                "sounds like other talk: acoustic score {acoustic:.1}, expected {lowest:.1} or more"
            )
        })
    }

    fn stops(&self, hypothesis: &Hypothesis) -> bool {
        let meaning = self.grammar.parse(&hypothesis.words).meaning();
        matches!(
            meaning,
            Meaning::Command {
                command: Command::Stop | Command::Pause,
                ..
            }
        )
    }
}

fn milliseconds(samples: usize) -> u64 {
    samples as u64 * 1000 / u64::from(SAMPLE_RATE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hearing::recognizer::Recognizer;
    use crate::language::{Expectation, Language, Word};

    /// An engine of that name that hears one word, at one score.
    struct Fixed(&'static str, &'static str, f32);

    impl Recognizer for Fixed {
        fn name(&self) -> EngineName {
            EngineName {
                engine: self.0.into(),
                model: "none".into(),
            }
        }

        fn set_grammar(&mut self, _: &Automaton) -> Result<Vec<String>, HearingError> {
            Ok(Vec::new())
        }

        fn accept(&mut self, _: &[i16]) -> Result<(), HearingError> {
            Ok(())
        }

        fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
            Ok(vec![Hypothesis {
                words: vec![Word {
                    text: self.1.into(),
                    start_ms: 100,
                    end_ms: 400,
                    confidence: None,
                }],
                score: None,
                acoustic: Some(self.2),
                margin: None,
            }])
        }
    }

    fn heard(word: &'static str, acoustic: f32) -> Heard {
        heard_by("fixed", word, acoustic)
    }

    fn heard_by(engine: &'static str, word: &'static str, acoustic: f32) -> Heard {
        let utterance = Utterance {
            start_ms: 5_000,
            end_ms: 5_600,
            samples: vec![0; 9_600],
            cut: false,
        };
        let language = Language::bundled("en-US").unwrap();
        let grammar = language.compile(&Expectation::everything()).unwrap();
        let mut ear = Ear::new(Box::new(Fixed(engine, word, acoustic)));
        ear.set_grammar(&grammar).unwrap();
        ear.hear(utterance).unwrap()
    }

    #[test]
    fn word_times_become_times_of_the_source() {
        let heard = heard("next", -30.0);
        let word = &heard.hypotheses[0].words[0];
        assert_eq!((word.start_ms, word.end_ms), (5_100, 5_400));
        assert_eq!(heard.rejected, None);
    }

    #[test]
    fn what_fits_too_badly_is_other_talk() {
        assert_eq!(
            heard("next", -80.4).rejected.as_deref(),
            Some("sounds like other talk: acoustic score -80.4, expected -55.0 or more")
        );
    }

    #[test]
    fn stop_gets_the_benefit_of_the_doubt() {
        assert!(heard("next", -66.0).rejected.is_some());
        assert_eq!(heard("stop", -66.0).rejected, None);
        assert!(heard("stop", -84.0).rejected.is_some());
    }
    #[test]
    fn the_network_has_scores_of_its_own() {
        let rejected = |word, acoustic| heard_by("network", word, acoustic).rejected.is_some();
        assert!(!rejected("next", -1.7) && rejected("next", -1.9));
        assert!(!rejected("stop", -2.9) && rejected("stop", -3.1));
    }
}
