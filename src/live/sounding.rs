//! What of the assistant's own voice can have come into the microphone.
//!
//! While it sounds, the engine gets the words of the prompt beside "stop" and "stand by": an echo is
//! then explained by the words it really has, which mean nothing, and not by the two that are left.

use crate::hearing::ear::Heard;
use crate::language::{Automaton, Command, Meaning};
use crate::session::Ms;

/// How long a room and the sound system still give back what has ended.
pub(super) const ECHO_MS: Ms = 150;

/// How long a sentence that has ended may still be in the newest of what is heard: a window, and
/// what the sound system holds back.
const STILL_HEARD_MS: Ms = 3_000;

/// A word that begins with its window may be the end of a longer one.
const HALF_A_WORD_MS: Ms = 30;

/// A word that ends with its window may be the beginning of a longer one.
const CUT_SHORT_MS: Ms = 60;

/// Follows what sounds from the loudspeaker.
#[derive(Debug, Default)]
pub struct Sounding {
    /// Since when there has been no silence.
    since: Option<Ms>,
    /// The last silence began then.
    ended: Ms,
    /// The newest sentences, the newest last.
    said: Vec<Said>,
    /// The end of the words that came through last.
    through: Ms,
    /// What was heard last in one window only, from and to.
    once: Option<(Ms, Ms)>,
}

/// A sentence, a blank at each end and between its words.
#[derive(Debug)]
struct Said {
    words: String,
    ended: Option<Ms>,
}

impl Sounding {
    /// A sentence begins to sound.
    pub fn began(&mut self, at: Ms, text: &str) {
        self.end_last(at);
        self.said
            .retain(|said| said.ended.is_none_or(|end| at < end + STILL_HEARD_MS));
        self.said.push(Said {
            words: words_of(text),
            ended: None,
        });
        self.since.get_or_insert(at);
    }

    pub fn ended(&mut self, at: Ms) {
        self.end_last(at);
        if self.since.take().is_some() {
            self.ended = at;
        }
    }

    fn end_last(&mut self, at: Ms) {
        if let Some(last) = self.said.last_mut() {
            last.ended.get_or_insert(at);
        }
    }

    pub fn sounds(&self) -> bool {
        self.since.is_some()
    }

    /// The sentences that sound or have just sounded: for the engine, as words that mean nothing.
    pub fn sentences(&self) -> Vec<String> {
        let said = self.said.iter();
        said.map(|said| said.words.trim().to_owned()).collect()
    }

    /// Whether the voice sounded when an utterance began, or began during it.
    pub fn is_in(&self, start_ms: Ms, end_ms: Ms) -> bool {
        match self.since {
            Some(since) => end_ms >= since,
            None => self.ended > 0 && start_ms + ECHO_MS < self.ended,
        }
    }

    /// Whether a window holds "stop" or "stand by", and not the one of the window before, with
    /// which it overlaps.
    ///
    /// "Stand by" that is no louder than the voice, and what ends with its window, counts only when two
    /// windows have it at the same place; any other "stop" gets the benefit of the doubt.
    pub fn overhears(&mut self, heard: &Heard, narrow: &Automaton) -> bool {
        let Some((start_ms, end_ms)) = place(heard) else {
            return false;
        };
        let whole = start_ms >= heard.utterance.start_ms + HALF_A_WORD_MS;
        if !whole || start_ms < self.through || !self.lets_through(heard, narrow) {
            return false;
        }
        let again = |(start, end)| start < end_ms && start_ms < end;
        let as_loud = pauses(heard, narrow) && !heard.louder;
        let doubtful = as_loud || end_ms + CUT_SHORT_MS > heard.utterance.end_ms;
        if !doubtful || self.once.is_some_and(again) {
            self.through = end_ms;
            return true;
        }
        self.once = Some((start_ms, end_ms));
        false
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
        let own = |said: &Said| said.words.contains(words.trim_end());
        let own = self.said.iter().any(own);
        heard.rejected.is_none() && understood && !own
    }
}

/// From where to where the words stand.
fn place(heard: &Heard) -> Option<(Ms, Ms)> {
    let words = &heard.hypotheses.first()?.words;
    Some((words.first()?.start_ms, words.last()?.end_ms))
}

fn pauses(heard: &Heard, narrow: &Automaton) -> bool {
    let best = heard.hypotheses.first();
    best.is_some_and(|best| match narrow.parse(&best.words).meaning() {
        Meaning::Command { command, .. } => command == Command::Pause,
        _ => false,
    })
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
    use crate::language::{Expectation, Hypothesis, Language, Word};

    fn heard(text: &str, rejected: Option<&str>) -> Heard {
        Heard {
            rejected: rejected.map(str::to_owned),
            ..heard_at(text, 0, 0)
        }
    }

    /// Half a second of words in a window of two seconds.
    fn heard_at(text: &str, window_ms: Ms, start_ms: Ms) -> Heard {
        let words = text.split(' ').map(|text| Word {
            text: text.to_owned(),
            start_ms,
            end_ms: start_ms + 500,
            confidence: None,
        });
        Heard {
            hypotheses: vec![Hypothesis {
                words: words.collect(),
                score: None,
                acoustic: None,
                margin: None,
            }],
            rejected: None,
            louder: false,
            utterance: Utterance {
                start_ms: window_ms,
                end_ms: window_ms + 2_000,
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
    fn a_sentence_is_remembered_as_long_as_it_is_in_a_window() {
        let mut sounding = Sounding::default();
        sounding.began(1_000, "Say stop.");
        sounding.began(2_000, "Two.");
        sounding.began(4_900, "Three.");
        assert_eq!(sounding.sentences(), ["say stop", "two", "three"]);
        sounding.began(5_000, "Four.");
        assert_eq!(sounding.sentences(), ["two", "three", "four"]);
        sounding.ended(6_000);
        sounding.began(9_000, "Go on.");
        assert_eq!(sounding.sentences(), ["go on"]);
    }

    #[test]
    fn stop_comes_through_once_and_stand_by_when_two_windows_have_it() {
        let language = Language::bundled("en-US").unwrap();
        let everything = language.compile(&Expectation::everything()).unwrap();
        let mut sounding = Sounding::default();
        sounding.began(1, "Open the cover.");
        let mut through = |text, window, start_ms| {
            sounding.overhears(&heard_at(text, window, start_ms), &everything)
        };
        assert!(!through("stop", 1_000, 1_010), "half a word");
        assert!(through("stop", 1_000, 1_500));
        assert!(!through("stop", 1_750, 1_510), "the same again");
        assert!(through("stop", 3_000, 3_500));
        assert!(!through("stop", 3_750, 5_210), "half a word");
        assert!(through("stop", 4_500, 5_200), "all of it");
        assert!(!through("stand by", 5_000, 6_000));
        assert!(through("stand by", 5_750, 6_050));
        assert!(!through("stand by", 6_500, 8_000));
        assert!(!through("stand by", 8_000, 9_500), "elsewhere");
        let louder = Heard {
            louder: true,
            ..heard_at("stand by", 10_000, 11_000)
        };
        assert!(sounding.overhears(&louder, &everything));
    }
}
