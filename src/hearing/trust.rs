//! Whether the best way to hear an utterance is to be believed, by one score: how likely it is
//! that just these words were said to us.
//!
//! The score is a logistic function of what the engine gives: how well the words fit the sound, and
//! by how much better than common words do. Weights and the least score of each kind of meaning come
//! from a file that a script fits on the training voices of the corpus. What a wrong belief costs
//! differs: a "next" too many loses the place, a "stop" too many costs a moment.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::language::{Command, Hypothesis, Meaning};

/// By the name of the engine.
static FITTED: LazyLock<BTreeMap<String, Trust>> =
    LazyLock::new(|| serde_json::from_str(include_str!("trust.json")).unwrap_or_default());

/// The weights of one engine and the scores from which on it is believed.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Trust {
    /// Which recordings they were fitted on.
    pub fitted_on: String,
    weights: Weights,
    least: Least,
}

#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
struct Weights {
    constant: f32,
    acoustic: f32,
    margin: f32,
}

/// From 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
struct Least {
    stop: f32,
    /// "Stand by".
    pause: f32,
    /// What leaves a step: "next", "skip", "back".
    step: f32,
    /// Any other command: what it does is heard at once.
    command: f32,
    /// Values and answers.
    other: f32,
}

impl Trust {
    /// That of an engine, where it was fitted.
    pub fn of(engine: &str) -> Option<&'static Trust> {
        FITTED.get(engine)
    }

    /// Why the best way to hear an utterance, with this meaning, is not to be believed; `None` where
    /// it is, or where the engine did not compare it with common words.
    pub fn doubt(&self, best: &Hypothesis, meaning: &Meaning) -> Option<String> {
        let score = self.score(best)?;
        let least = self.least.of(meaning);
        (score < least).then(|| {
            format!("sounds like other talk: trusted at {score:.2}, expected {least:.2} or more")
        })
    }

    /// How likely it is that just these words were said to us.
    fn score(&self, best: &Hypothesis) -> Option<f32> {
        let weights = self.weights;
        let sum =
            weights.constant + weights.acoustic * best.acoustic? + weights.margin * best.margin?;
        Some(1.0 / (1.0 + (-sum).exp()))
    }
}

impl Least {
    fn of(&self, meaning: &Meaning) -> f32 {
        match meaning {
            Meaning::Command { command, readings } if readings.is_empty() => match command {
                Command::Stop => self.stop,
                Command::Pause => self.pause,
                Command::Next | Command::Skip | Command::Back => self.step,
                _ => self.command,
            },
            _ => self.other,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{Expectation, Language};

    fn meaning(words: &str) -> Meaning {
        let language = Language::bundled("en-US").unwrap();
        let grammar = language.compile(&Expectation::everything()).unwrap();
        grammar.parse_text(words).meaning()
    }

    /// Why `words` that fit by so much are doubted by the classical engine.
    fn doubt(words: &str, acoustic: f32, margin: f32) -> Option<String> {
        let meaning = meaning(words);
        let best = Hypothesis {
            acoustic: Some(acoustic),
            margin: Some(margin),
            ..Hypothesis::exact(words, 0)
        };
        Trust::of("pocketsphinx").unwrap().doubt(&best, &meaning)
    }

    #[test]
    fn what_fits_well_and_better_than_common_words_is_believed() {
        assert_eq!(doubt("two four five", -45.0, 12.0), None);
        let doubted = doubt("two four five", -70.0, -5.0).unwrap();
        assert!(
            doubted.starts_with("sounds like other talk: trusted at 0.0"),
            "{doubted}"
        );
    }

    #[test]
    fn what_leaves_a_step_needs_more_and_a_stop_less() {
        let believed = |words| doubt(words, -50.0, 7.0).is_none();
        assert_eq!(
            ["next", "repeat", "stop"].map(believed),
            [false, true, true]
        );
        let believed = |words| doubt(words, -60.0, 0.0).is_none();
        assert_eq!(
            ["next", "repeat", "stop"].map(believed),
            [false, false, true]
        );
    }

    #[test]
    fn without_a_comparison_nothing_is_said() {
        let (best, meaning) = (Hypothesis::exact("next", 0), meaning("next"));
        let trust = Trust::of("pocketsphinx").unwrap();
        assert_eq!(trust.doubt(&best, &meaning), None);
        assert_eq!(Trust::of("none"), None);
    }
}
