//! Which of what is heard is meant for the assistant at all, where there is talk and noise around.
//!
//! "Stop" always is. Everything else must begin with the attention word, where there is one, and be
//! said while the key of push-to-talk was pressed or soon after it, where there is one.

use crate::hearing::ear::Heard;
use crate::language::{Automaton, Command, Meaning};
use crate::session::Ms;

/// How long an utterance may wait after the key. A key that is held comes again and again.
const OPEN_MS: Ms = 4_000;

/// Lets through what is meant for the assistant; everything, unless it is told otherwise.
#[derive(Debug, Default)]
pub struct Gate {
    attention: Option<String>,
    key: Key,
}

/// Of push-to-talk.
#[derive(Debug, Default)]
enum Key {
    #[default]
    NotNeeded,
    NeverPressed,
    Pressed {
        from: Ms,
        until: Ms,
    },
}

impl Gate {
    /// The word that what is said must begin with, in lower case, and whether a key must be pressed.
    pub fn new(attention: Option<String>, push_to_talk: bool) -> Gate {
        let key = match push_to_talk {
            true => Key::NeverPressed,
            false => Key::NotNeeded,
        };
        Gate { attention, key }
    }

    /// The key comes. Whether the gate was closed until now.
    pub fn pressed(&mut self, at: Ms) -> bool {
        let (from, opened) = match self.key {
            Key::NotNeeded => return false,
            Key::Pressed { from, until } if at <= until => (from, false),
            Key::Pressed { .. } | Key::NeverPressed => (at, true),
        };
        self.key = Key::Pressed {
            from,
            until: at + OPEN_MS,
        };
        opened
    }

    /// No key will come any more: the gate stays open. Whether one was needed.
    pub fn keys_end(&mut self) -> bool {
        !matches!(std::mem::take(&mut self.key), Key::NotNeeded)
    }

    /// Whether something heard is meant for the assistant; the grammar is the one it was heard with.
    pub fn lets_in(&self, heard: &Heard, grammar: &Automaton) -> bool {
        (self.is_called(heard) && self.is_open(heard)) || stops(heard, grammar)
    }

    fn is_called(&self, heard: &Heard) -> bool {
        let Some(word) = &self.attention else {
            return true;
        };
        let best = heard.hypotheses.first();
        let first = best.and_then(|best| best.words.first());
        heard.rejected.is_none() && first.is_some_and(|first| first.text == *word)
    }

    fn is_open(&self, heard: &Heard) -> bool {
        let utterance = &heard.utterance;
        match self.key {
            Key::NotNeeded => true,
            Key::NeverPressed => false,
            Key::Pressed { from, until } => utterance.start_ms <= until && from <= utterance.end_ms,
        }
    }
}

fn stops(heard: &Heard, grammar: &Automaton) -> bool {
    let best = heard.hypotheses.first();
    let meaning = best.map(|best| grammar.parse(&best.words).meaning());
    heard.rejected.is_none()
        && matches!(
            meaning,
            Some(Meaning::Command {
                command: Command::Stop,
                ..
            })
        )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hearing::endpoint::Utterance;
    use crate::language::{Expectation, Hypothesis, Language};

    fn grammar() -> Automaton {
        let language = Language::bundled("en-US").unwrap();
        let expected = Expectation {
            attention: Some("computer".to_owned()),
            ..Expectation::everything()
        };
        language.compile(&expected).unwrap()
    }

    /// Said from one second to two.
    fn heard(words: &str) -> Heard {
        Heard {
            hypotheses: vec![Hypothesis::exact(words, 1_000)],
            rejected: None,
            louder: false,
            utterance: Utterance {
                start_ms: 1_000,
                end_ms: 2_000,
                samples: Vec::new(),
                cut: false,
            },
        }
    }

    #[test]
    fn what_begins_with_the_word_is_meant_and_stop_without_it() {
        let gate = Gate::new(Some("computer".to_owned()), false);
        for (words, meant) in [
            ("computer next", true),
            ("computer two four five", true),
            ("next", false),
            ("stop", true),
            ("stop stop", true),
            ("computer stop", true),
        ] {
            assert_eq!(gate.lets_in(&heard(words), &grammar()), meant, "{words}");
        }
        let talk = Heard {
            rejected: Some("other talk".to_owned()),
            ..heard("computer next")
        };
        assert!(!gate.lets_in(&talk, &grammar()));
    }

    #[test]
    fn what_is_said_with_the_key_or_soon_after_it_is_meant() {
        for (pressed, meant) in [
            (None, false),
            (Some(500), true),
            (Some(1_900), true),
            (Some(2_100), false),
        ] {
            let mut gate = Gate::new(None, true);
            let opened = pressed.map(|at| gate.pressed(at));
            assert_ne!(opened, Some(false));
            assert_eq!(
                gate.lets_in(&heard("next"), &grammar()),
                meant,
                "{pressed:?}"
            );
            assert!(gate.lets_in(&heard("stop"), &grammar()));
        }
        let mut long_ago = Gate::new(None, true);
        let mut late = heard("next");
        late.utterance.start_ms = 10_000;
        late.utterance.end_ms = 11_000;
        long_ago.pressed(100);
        assert!(!long_ago.lets_in(&late, &grammar()));
        // Held, it comes again and again.
        for at in (100..9_000).step_by(1_000) {
            long_ago.pressed(at);
        }
        assert!(long_ago.lets_in(&late, &grammar()));
    }

    #[test]
    fn without_keys_to_come_nothing_waits_for_one() {
        let mut gate = Gate::new(None, true);
        assert!(gate.keys_end());
        assert!(gate.lets_in(&heard("next"), &grammar()));
        assert!(!gate.keys_end());
    }
}
