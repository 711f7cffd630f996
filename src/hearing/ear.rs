//! One utterance to what was heard, with times of the source and a judgment on whether it was
//! meant for us at all.
//!
//! An ear may have a second engine, a quick one, beside the one that hears best. The quick one alone
//! hears what comes in while the assistant's own voice sounds, and it is asked first whether an
//! utterance is "stop": where it is sure, nobody waits for the other who must stop something. Else both
//! are heard [`together`].

use super::endpoint::{Endpointer, Utterance};
use super::other_talk::Judge;
use super::pause::Pause;
use super::recognizer::{AnyRecognizer, EngineName, HearingError, milliseconds_of, samples_in};
use super::speaking_up;
use super::together;
use crate::language::{Automaton, Command, Hypothesis, Meaning};

/// An utterance and what the engine made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// Best first, word times in milliseconds of the source. Empty: nothing was heard.
    pub hypotheses: Vec<Hypothesis>,
    /// Why this does not count as speech to us; `None` when it may be parsed. The hypotheses stay,
    /// for the record.
    pub rejected: Option<String>,
    /// It stands out from the assistant's own voice, which sounded at the same time.
    pub louder: bool,
    pub utterance: Utterance,
}

/// A recognizer that listens to utterances.
pub struct Ear {
    recognizer: AnyRecognizer,
    quick: Option<AnyRecognizer>,
    /// Sentences whose words are listened for, too, and mean nothing: the assistant's own. They are
    /// for the quick one.
    own: Vec<String>,
    grammar: Automaton,
    /// The newest utterance that was looked at, heard with this grammar; times from its start.
    looked: Option<Heard>,
}

impl Ear {
    pub fn new(recognizer: AnyRecognizer) -> Ear {
        Ear {
            recognizer,
            quick: None,
            own: Vec::new(),
            grammar: Automaton::default(),
            looked: None,
        }
    }

    /// The same with a quick engine beside it.
    #[must_use]
    pub fn with_quick(self, quick: Option<AnyRecognizer>) -> Ear {
        Ear { quick, ..self }
    }

    /// The engine, and its model with that of the quick one.
    pub fn name(&self) -> EngineName {
        let mut name = self.recognizer.name();
        if let Some(quick) = self.quick.as_ref().map(|quick| quick.name()) {
            name.model = format!("{} beside {} {}", name.model, quick.engine, quick.model);
        }
        name
    }

    /// What to listen for from the next utterance on. Gives the words that this engine can never
    /// hear.
    ///
    /// # Errors
    ///
    /// As [`Recognizer::set_grammar`](super::recognizer::Recognizer::set_grammar).
    pub fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError> {
        self.set_grammar_among(grammar, &[])
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
        self.own = decoys.to_vec();
        match &mut self.quick {
            Some(quick) if !decoys.is_empty() => quick.set_grammar_among(grammar, decoys),
            Some(quick) => {
                quick.set_grammar(grammar)?;
                self.recognizer.set_grammar(grammar)
            }
            None => self.recognizer.set_grammar_among(grammar, decoys),
        }
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
            stretch.end_ms = stretch.start_ms + milliseconds_of(first);
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
        ended.map_or(stretch.len(), |first| samples_in(first.end_ms))
    }

    /// Times from the first sample.
    fn decode(&mut self, samples: Vec<i16>) -> Result<Heard, HearingError> {
        if !self.own.is_empty() {
            return self.decode_over_own(samples);
        }
        let Some(quick) = &mut self.quick else {
            return listen(&mut self.recognizer, &self.grammar, samples, None);
        };
        let judge = Judge::of(&quick.name().engine);
        let heard = listen(quick, &self.grammar, samples.clone(), None);
        // Where the quick one fails, there is still the other.
        let believed = heard.ok().filter(|heard| heard.rejected.is_none());
        let named = believed.and_then(|heard| Some((self.best_meaning(&heard)?, heard)));
        let Some((named, beside)) = named else {
            return listen(&mut self.recognizer, &self.grammar, samples, None);
        };
        let stops = matches!(&named, Meaning::Command { command, .. } if *command == Command::Stop);
        if stops && judge.is_sure(&beside.hypotheses[0]) {
            return Ok(beside);
        }
        let heard = listen(&mut self.recognizer, &self.grammar, samples, Some(&named));
        // A "stop" that the quick one is not sure of may be the plant's noise, so the other decides;
        // where that one fails, it counts.
        match stops {
            true => heard.or(Ok(beside)),
            false => heard,
        }
    }

    /// Where somebody speaks up over the assistant's own voice, that; else all of it.
    fn decode_over_own(&mut self, samples: Vec<i16>) -> Result<Heard, HearingError> {
        let engine = self.quick.as_mut().unwrap_or(&mut self.recognizer);
        if let Some(stretch) = speaking_up::stretch(&samples) {
            engine.set_grammar(&self.grammar)?;
            let start_ms = milliseconds_of(stretch.start);
            let louder = samples[stretch].to_vec();
            let heard = listen(engine, &self.grammar, louder, None);
            engine.set_grammar_among(&self.grammar, &self.own)?;
            let mut heard = heard?;
            let judge = Judge::of(&engine.name().engine);
            if heard
                .hypotheses
                .first()
                .is_some_and(|best| judge.speaks_up(best))
            {
                for word in heard.hypotheses.iter_mut().flat_map(|h| &mut h.words) {
                    word.start_ms += start_ms;
                    word.end_ms += start_ms;
                }
                heard.rejected = None;
                heard.louder = true;
                heard.utterance.samples = samples;
                return Ok(heard);
            }
        }
        listen(engine, &self.grammar, samples, None)
    }

    fn best_meaning(&self, heard: &Heard) -> Option<Meaning> {
        let best = heard.hypotheses.first()?;
        Some(self.grammar.parse(&best.words).meaning())
    }
}

/// What an engine hears, beside another that named a meaning, and whether that was said to us.
fn listen(
    recognizer: &mut AnyRecognizer,
    grammar: &Automaton,
    samples: Vec<i16>,
    named: Option<&Meaning>,
) -> Result<Heard, HearingError> {
    let accepted = recognizer.accept(&samples);
    let mut hypotheses = recognizer.finish()?;
    accepted?;
    let judge = Judge::of(&recognizer.name().engine);
    if let Some(named) = named {
        together::favor(&mut hypotheses, grammar, named);
    }
    judge.keep_doubtful(&mut hypotheses);
    let rejected = hypotheses.first().and_then(|best| {
        let meaning = grammar.parse(&best.words).meaning();
        let both = named.is_some_and(|named| named.same_as(&meaning));
        judge
            .rejects(best, &meaning)
            .filter(|_| !(both && judge.is_possible(best, &meaning)))
    });
    Ok(Heard {
        hypotheses,
        rejected,
        louder: false,
        utterance: Utterance {
            start_ms: 0,
            end_ms: 0,
            samples,
            cut: false,
        },
    })
}

#[cfg(test)]
mod tests;
