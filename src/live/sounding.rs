//! What of the assistant's own voice can have come into the microphone.
//!
//! While it sounds, the engine gets the words of the prompt beside "stop" and "stand by": an echo is
//! then explained by the words it really has, which mean nothing, and not by the two that are left.

use std::collections::BTreeSet;

use crate::hearing::ear::Heard;
use crate::language::{Automaton, Meaning};
use crate::session::Ms;

/// How long a room and the sound system still give back what has ended.
const ECHO_MS: Ms = 150;

/// So many sentences can be in the newest of what is heard.
const SENTENCES: usize = 2;

/// Follows what sounds from the loudspeaker.
#[derive(Debug, Default)]
pub struct Sounding {
    /// The sentence that sounds, with its first moment.
    now: Option<(Ms, String)>,
    /// The last silence began then.
    ended: Ms,
    /// The newest sentences since the last silence, the newest last.
    said: Vec<String>,
    /// The end of the words that came through last.
    through: Ms,
}

impl Sounding {
    /// A sentence begins to sound.
    pub fn began(&mut self, at: Ms, text: &str) {
        if self.now.is_none() && at > self.ended + ECHO_MS {
            self.said.clear();
        }
        let since = self.now.take().map_or(at, |(since, _)| since);
        self.said.push(words_of(text));
        let surplus = self.said.len().saturating_sub(SENTENCES);
        self.said.drain(..surplus);
        self.now = Some((since, text.to_owned()));
    }

    pub fn ended(&mut self, at: Ms) {
        if self.now.take().is_some() {
            self.ended = at;
        }
    }

    pub fn sounds(&self) -> bool {
        self.now.is_some()
    }

    /// The words that sound or have just sounded, each once: for the engine, as words that mean
    /// nothing.
    pub fn words(&self) -> Vec<String> {
        let words = self.said.iter().flat_map(|said| said.split_whitespace());
        let words: BTreeSet<&str> = words.collect();
        words.into_iter().map(str::to_owned).collect()
    }

    /// Whether the voice sounded when an utterance began, or began during it.
    pub fn is_in(&self, start_ms: Ms, end_ms: Ms) -> bool {
        match &self.now {
            Some((since, _)) => end_ms >= *since,
            None => self.ended > 0 && start_ms + ECHO_MS < self.ended,
        }
    }

    /// Whether a window holds "stop" or "stand by", and not the one of the window before, with
    /// which it overlaps.
    pub fn overhears(&mut self, heard: &Heard, narrow: &Automaton) -> bool {
        let words = heard.hypotheses.first().map(|best| &best.words);
        let ends = words.and_then(|words| Some((words.first()?.start_ms, words.last()?.end_ms)));
        match ends {
            Some((start_ms, end_ms)) if start_ms >= self.through => {
                let through = self.lets_through(heard, narrow);
                self.through = if through { end_ms } else { self.through };
                through
            }
            _ => false,
        }
    }

    /// Whether a thing heard while the voice sounded is "stop" or "stand by", and not the voice
    /// itself.
    pub fn lets_through(&self, heard: &Heard, narrow: &Automaton) -> bool {
        let Some(best) = heard.hypotheses.first() else {
            return false;
        };
        let understood = !matches!(narrow.parse(&best.words).meaning(), Meaning::Nothing { .. });
        let words = words_of(&best.text());
        // Also as the beginning of a word: the engine takes "stopped" for "stop".
        let own = self.said.iter().any(|said| said.contains(words.trim_end()));
        heard.rejected.is_none() && understood && !own
    }
}

/// The words between single blanks, a blank at each end.
fn words_of(text: &str) -> String {
    let words = text.split(|c: char| !c.is_alphanumeric() && c != '\'');
    let words = words.filter(|word| !word.is_empty()).map(str::to_lowercase);
    words.fold(" ".to_owned(), |all, word| all + &word + " ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hearing::endpoint::Utterance;
    use crate::language::{Command, Expectation, Hypothesis, Language, Word};

    fn heard(text: &str, rejected: Option<&str>) -> Heard {
        let words = text.split(' ').map(|text| Word {
            text: text.to_owned(),
            start_ms: 0,
            end_ms: 0,
            confidence: None,
        });
        Heard {
            hypotheses: vec![Hypothesis {
                words: words.collect(),
                score: None,
                acoustic: None,
            }],
            rejected: rejected.map(str::to_owned),
            utterance: Utterance {
                start_ms: 0,
                end_ms: 0,
                samples: Vec::new(),
                cut: false,
            },
        }
    }

    #[test]
    fn only_stop_and_stand_by_come_through_and_not_the_prompt_itself() {
        let language = Language::bundled("en-US").unwrap();
        let narrow = language
            .compile(&Expectation {
                commands: [Command::Stop, Command::Pause].into(),
                ..Expectation::default()
            })
            .unwrap();
        let mut sounding = Sounding::default();
        sounding.began(1_000, "Open the cover. You may say: stand by.");
        for (text, rejected, expected) in [
            ("stop", None, true),
            ("stop", Some("other talk"), false),
            ("stand by", None, false),
            ("next", None, false),
            ("two four five", None, false),
        ] {
            let found = sounding.lets_through(&heard(text, rejected), &narrow);
            assert_eq!(found, expected, "{text}");
        }
    }

    #[test]
    fn a_word_of_the_prompt_that_begins_like_stop_is_not_stop() {
        let language = Language::bundled("en-US").unwrap();
        let everything = language.compile(&Expectation::everything()).unwrap();
        let mut sounding = Sounding::default();
        sounding.began(1_000, "Stopped. Only continue goes on.");
        assert!(!sounding.lets_through(&heard("stop", None), &everything));
        assert!(sounding.lets_through(&heard("stand by", None), &everything));
    }

    #[test]
    fn an_utterance_after_the_voice_is_not_in_it() {
        let mut sounding = Sounding::default();
        assert!(!sounding.is_in(0, 500));
        sounding.began(1_000, "One.");
        assert!(sounding.is_in(900, 1_200));
        assert!(!sounding.is_in(200, 900));
        sounding.began(2_000, "Two.");
        sounding.ended(3_000);
        assert!(sounding.is_in(2_500, 4_000));
        assert!(!sounding.is_in(2_950, 4_000));
    }

    #[test]
    fn what_was_said_is_forgotten_after_a_silence() {
        let mut sounding = Sounding::default();
        sounding.began(1_000, "Say stop.");
        sounding.ended(2_000);
        sounding.began(9_000, "Go on.");
        assert_eq!(sounding.said, [" go on "]);
    }
}
