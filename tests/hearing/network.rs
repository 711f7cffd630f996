//! The real network with its real weights.

use readback::hearing::models::Engine;
use readback::language::{Automaton, Language, Meaning};

use crate::support::{ear, everything, hear_file, hear_samples, recordings};

/// The meaning of words, whatever their times.
fn meaning(grammar: &Automaton, words: &str) -> Meaning {
    grammar.parse_text(words).meaning()
}

/// The network writes numbers its own way, so meanings are compared, not words. Of 28 it takes
/// "milliamps" for "million" twice and loses a "point two" and an "ohms".
#[test]
fn commands_and_readings_are_heard_and_other_talk_is_rejected() {
    let language = Language::bundled("en-US").unwrap();
    let grammar = everything(&language);
    let mut ear = ear(Engine::Network, "en-US");
    assert_eq!(ear.set_grammar(&grammar).unwrap(), [""; 0]);
    let mut wrong = Vec::new();
    for recording in recordings("en-US") {
        let heard = hear_file(&mut ear, &recording.path);
        let accepted = heard.iter().filter(|heard| heard.rejected.is_none());
        let texts = accepted.filter_map(|heard| Some(heard.hypotheses.first()?.text()));
        let texts: Vec<String> = texts.collect();
        let Some(words) = &recording.words else {
            assert_eq!(texts, [""; 0], "{}", recording.path.display());
            continue;
        };
        let expected = meaning(&grammar, words);
        if texts.len() != 1 || meaning(&grammar, &texts[0]) != expected {
            wrong.push(format!("`{words}` as {texts:?}"));
        }
    }
    assert!(wrong.len() <= 4, "{wrong:?}");
}

#[test]
fn silence_says_nothing() {
    let language = Language::bundled("en-US").unwrap();
    let mut ear = ear(Engine::Network, "en-US");
    ear.set_grammar(&everything(&language)).unwrap();
    assert!(hear_samples(&mut ear, &[0; 48_000]).is_empty());
}
