//! How long a silence must be to end an utterance, by what was said before it.
//!
//! A lone command needs less silence than a number that could go on, and an unfinished phrase
//! more. An end too early loses a reading or makes another one of it; one too late costs half a
//! second. So whatever is not certain waits.

use super::ear::Heard;
use crate::language::{Automaton, Command, Meaning, Parse};

/// What the words before a silence leave open, in the order of the silence they need.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pause {
    /// "Stop": nothing that follows could change what is to be done now.
    Stop,
    /// A lone command; nothing that follows could give it another meaning.
    Command,
    /// A whole answer that nothing could follow.
    Whole,
    /// More could follow, as after a value, or nobody knows.
    Open,
    /// More must follow.
    Unfinished,
}

/// The silence each needs, in milliseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pauses {
    /// Longer than the closed lips between "stop" and the next word of a sentence.
    pub stop_ms: u64,
    pub command_ms: u64,
    pub whole_ms: u64,
    /// Longer than the pause between two readings of one breath.
    pub open_ms: u64,
    pub unfinished_ms: u64,
}

impl Default for Pauses {
    /// Common practice, no source; checked against the recordings of the tests, none of which is
    /// cut in two. That of "stop" was chosen by talk of the training voices that begins with it.
    fn default() -> Pauses {
        Pauses {
            stop_ms: 224,
            command_ms: 288,
            whole_ms: 384,
            open_ms: 640,
            unfinished_ms: 1_008,
        }
    }
}

impl Pauses {
    pub fn ms(&self, pause: Pause) -> u64 {
        match pause {
            Pause::Stop => self.stop_ms,
            Pause::Command => self.command_ms,
            Pause::Whole => self.whole_ms,
            Pause::Open => self.open_ms,
            Pause::Unfinished => self.unfinished_ms,
        }
    }
}

impl Pause {
    /// Whether a quick look is enough for it.
    pub fn is_sure(self) -> bool {
        self <= Pause::Command
    }

    /// The pause that what was heard so far needs.
    pub fn after(heard: &Heard, grammar: &Automaton) -> Pause {
        match heard.hypotheses.first() {
            Some(best) if heard.rejected.is_none() => Pause::of(&grammar.parse(&best.words)),
            _ => Pause::Open,
        }
    }

    fn of(parse: &Parse) -> Pause {
        match parse.ranked.first().map(|best| &best.meaning) {
            None if parse.could_continue => Pause::Unfinished,
            None => Pause::Open,
            Some(Meaning::Command { command, readings }) if readings.is_empty() => match command {
                Command::Stop => Pause::Stop,
                // A value may follow that belongs to them.
                Command::Negative | Command::Correction if parse.could_continue => Pause::Open,
                // Only further words of the same command: "next", "next step".
                _ => Pause::Command,
            },
            Some(_) if parse.could_continue => Pause::Open,
            Some(_) => Pause::Whole,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{Choice, Expectation, Language};

    #[test]
    fn what_could_go_on_needs_a_longer_pause() {
        let language = Language::bundled("en-US").unwrap();
        let expected = Expectation {
            choices: vec![
                Choice {
                    id: "open".into(),
                    phrases: vec!["it is open".into()],
                },
                Choice {
                    id: "pump".into(),
                    phrases: vec!["pump [running]".into()],
                },
            ],
            ..Expectation::everything()
        };
        let grammar = language.compile(&expected).unwrap();
        for (words, pause) in [
            ("stop", Pause::Stop),
            ("next", Pause::Command),
            ("next step", Pause::Command),
            ("stand by", Pause::Command),
            ("it is open", Pause::Whole),
            ("pump", Pause::Open),
            ("negative", Pause::Open),
            ("two four five", Pause::Open),
            ("two hundred volts", Pause::Open),
            ("correction two", Pause::Open),
            ("two hundred and", Pause::Unfinished),
            ("say", Pause::Unfinished),
            ("next volts", Pause::Open),
        ] {
            assert_eq!(Pause::of(&grammar.parse_text(words)), pause, "`{words}`");
        }
    }

    #[test]
    fn a_denial_that_no_value_can_follow_is_whole() {
        let language = Language::bundled("en-US").unwrap();
        let yes_or_no = Expectation {
            commands: [Command::Affirm, Command::Negative].into(),
            ..Expectation::default()
        };
        let grammar = language.compile(&yes_or_no).unwrap();
        let pause = |words| Pause::of(&grammar.parse_text(words));
        assert_eq!(pause("negative"), Pause::Command);
        assert_eq!(pause("affirm"), Pause::Command);
    }

    #[test]
    fn pauses_are_in_the_order_of_what_they_leave_open() {
        let pauses = Pauses::default();
        let kinds = [
            Pause::Stop,
            Pause::Command,
            Pause::Whole,
            Pause::Open,
            Pause::Unfinished,
        ];
        assert!(kinds.is_sorted_by_key(|kind| pauses.ms(*kind)));
    }
}
