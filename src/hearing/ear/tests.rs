//! Ears of engines that always hear the same.

use super::*;
use crate::hearing::recognizer::Recognizer;
use crate::language::{Expectation, Language, Word};

/// What [`Fixed`] has to hear so that it fails.
const FAILS: &str = "!";

/// An engine of that name that hears one word, perhaps so many percent likely, at one score; or no word; or fails.
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
        match self.1 {
            "" => return Ok(Vec::new()),
            FAILS => {
                return Err(HearingError::Engine {
                    engine: self.0,
                    why: "asked to".into(),
                });
            }
            _ => {}
        }
        let (text, percent) = self.1.split_once(' ').unwrap_or((self.1, ""));
        Ok(vec![Hypothesis {
            words: vec![Word {
                text: text.into(),
                start_ms: 100,
                end_ms: 400,
                confidence: percent.parse().ok().map(|p: f32| p / 100.0),
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
    assert!(!rejected("back", -1.1) && rejected("back", -1.3));
    assert!(!rejected("next", -0.9) && rejected("next", -1.1));
    assert!(!rejected("stop", -1.9) && rejected("stop", -2.1));
}

#[test]
fn a_value_that_may_well_be_another_is_asked_for_again() {
    let rejected = |word| heard_by("network", word, -0.5).rejected;
    assert_eq!(
        rejected("seven 59").as_deref(),
        Some("may have been another value: 59 % likely, expected 60 or more")
    );
    assert_eq!(rejected("seven 61").or(rejected("next 30")), None);
}

/// What an ear makes of a short utterance that its engines hear so.
fn heard_by_two(best: Fixed, quick: Fixed) -> String {
    let language = Language::bundled("en-US").unwrap();
    let grammar = language.compile(&Expectation::everything()).unwrap();
    let mut ear = Ear::new(Box::new(best)).with_quick(Some(Box::new(quick)));
    ear.set_grammar(&grammar).unwrap();
    let heard = match ear.decode(vec![0; 9_600]) {
        Ok(heard) => heard,
        Err(error) => return error.to_string(),
    };
    match heard.rejected {
        None if heard.hypotheses.is_empty() => "nothing".into(),
        None => heard.hypotheses[0].text(),
        Some(_) => "rejected".into(),
    }
}

#[test]
fn a_stop_that_fits_no_better_than_common_words_is_not_sure() {
    let sure = |margin| {
        Judge::of("pocketsphinx").is_sure(&Hypothesis {
            acoustic: Some(-45.0),
            margin: Some(margin),
            ..Hypothesis::exact("stop", 0)
        })
    };
    assert_eq!([2.0, 0.1, 0.0].map(sure), [true, true, false]);
}

#[test]
fn the_quick_engine_is_heard_for_stop_and_where_both_agree() {
    let network = |word, score| Fixed("network", word, score);
    let quick = |word, score| Fixed("quick", word, score);
    for (best, beside, heard) in [
        (network("next", -0.5), quick("stop", -40.0), "stop"),
        (network("next", -0.5), quick("stop", -66.0), "next"),
        (network("next", -9.0), quick("stop", -66.0), "rejected"),
        (network("stop", -1.9), quick("stop", -66.0), "stop"),
        (network("stop", -2.1), quick("stop", -40.0), "stop"),
        (network("next", -9.0), quick("stop", -84.0), "rejected"),
        (network("", 0.0), quick("stop", -66.0), "nothing"),
        (network("", 0.0), quick("stop", -40.0), "stop"),
        (network("next", -0.5), quick("back", -40.0), "next"),
        (network("next", -9.0), quick("back", -40.0), "rejected"),
        (network("stop", -0.5), quick("back", -40.0), "stop"),
        (network("stop", -2.5), quick("stop", -66.0), "rejected"),
        (network("back", -2.5), quick("back", -40.0), "back"),
        (network("back", -2.5), quick("next", -40.0), "rejected"),
        (network("back", -2.5), quick("back", -66.0), "rejected"),
        (network("back", -3.5), quick("back", -40.0), "rejected"),
    ] {
        assert_eq!(heard_by_two(best, beside), heard);
    }
}

#[test]
fn where_one_of_two_engines_fails_the_other_is_heard() {
    let network = |word, score| Fixed("network", word, score);
    let quick = |word, score| Fixed("quick", word, score);
    for (best, beside, heard) in [
        (network("next", -0.5), quick(FAILS, 0.0), "next"),
        (network(FAILS, 0.0), quick("stop", -40.0), "stop"),
        (network(FAILS, 0.0), quick("stop", -66.0), "stop"),
        (network(FAILS, 0.0), quick("stop", -84.0), FAILED),
        (network(FAILS, 0.0), quick("next", -40.0), FAILED),
    ] {
        assert_eq!(heard_by_two(best, beside), heard);
    }
}

/// Nobody but the best engine is trusted with anything but "stop".
const FAILED: &str = "network failed: asked to";
