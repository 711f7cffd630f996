//! The scripted engine: hears the words that a text file says are spoken. For dialogue tests and
//! for replaying a session from words.
//!
//! A script has one utterance a line: optionally when it starts, in seconds, then the words. A time
//! with `+` counts from the utterance before it. A word `...` is a pause of one second. Empty lines
//! and what follows `#` are skipped.
//!
//! ```text
//! 2.5   next
//! 6     two forty ... two thirty eight
//! affirm            # right after the utterance before it
//! +15   two forty
//! ```
//!
//! Where somebody answers, as in a replay, "right after" and `+` count from the end of the answer.

use std::collections::VecDeque;

use super::recognizer::{EngineName, HearingError, Recognizer};
use crate::language::{Automaton, Hypothesis, Word};

/// The engine's name in records, options and messages.
pub const ENGINE: &str = "script";

/// How long a word takes to say, and the pause that `...` stands for.
const WORD_MS: u64 = 300;
const PAUSE_MS: u64 = 1_000;

/// Between an utterance without a time and the one before it.
const GAP_MS: u64 = 2_000;

/// One utterance of a script.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    pub start_ms: u64,
    pub end_ms: u64,
    /// What the script says about its start.
    pub start: Start,
    /// Words with their start, in milliseconds from the utterance's own.
    words: Vec<(String, u64)>,
}

/// When an utterance starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// Right after the one before it.
    Next,
    /// So many milliseconds after the one before it.
    After(u64),
    /// At this time, in milliseconds.
    At(u64),
}

/// The utterances of a session, in the order of their times.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Script {
    lines: Vec<Line>,
}

/// A line of a script that cannot be spoken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: {why}")]
pub struct ScriptError {
    pub file: String,
    pub line: usize,
    pub why: String,
}

impl Script {
    /// Reads a script.
    ///
    /// # Errors
    ///
    /// The first line with a time but no words, with a time that is not one, or that starts before
    /// the line above it is over.
    pub fn parse(file: &str, text: &str) -> Result<Script, ScriptError> {
        let mut lines: Vec<Line> = Vec::new();
        // Some editors mark the start of a file.
        let text = text.trim_start_matches('\u{feff}');
        for (number, line) in text.lines().enumerate() {
            let line = line.split('#').next().unwrap_or_default();
            if line.trim().is_empty() {
                continue;
            }
            let over = lines.last().map_or(0, |last| last.end_ms);
            lines.push(read_line(line, over).map_err(|why| ScriptError {
                file: file.to_owned(),
                line: number + 1,
                why,
            })?);
        }
        Ok(Script { lines })
    }

    pub fn lines(&self) -> &[Line] {
        &self.lines
    }
}

impl Line {
    /// The utterance as an engine would give it, with word times from its first sample.
    pub fn hypothesis(&self) -> Hypothesis {
        let words = self.words.iter().map(|(text, start_ms)| Word {
            text: text.clone(),
            start_ms: *start_ms,
            end_ms: start_ms + WORD_MS,
            confidence: Some(1.0),
        });
        Hypothesis {
            words: words.collect(),
            score: None,
            acoustic: None,
            margin: None,
        }
    }
}

fn read_line(line: &str, over: u64) -> Result<Line, String> {
    let mut words = line.split_whitespace().peekable();
    let first = words.peek().copied().unwrap_or_default();
    let start = match first.strip_prefix('+') {
        Some(pause) => Start::After(seconds(pause)?),
        None if counts(first) => Start::At(seconds(first)?),
        None => Start::Next,
    };
    let start_ms = match start {
        Start::At(time) => time,
        Start::After(pause) => over + pause,
        Start::Next if over == 0 => 0,
        Start::Next => over + GAP_MS,
    };
    if start != Start::Next {
        words.next();
    }
    if start_ms < over {
        return Err(format!(
            "starts at {start_ms} ms, expected {over} ms or later: the line above is not over"
        ));
    }
    let mut at = 0;
    let mut spoken = Vec::new();
    for word in words {
        if word == "..." {
            at += PAUSE_MS;
        } else {
            spoken.push((word.to_owned(), at));
            at += WORD_MS;
        }
    }
    if spoken.is_empty() {
        return Err("has no words, expected some after the time".into());
    }
    Ok(Line {
        start_ms,
        end_ms: start_ms + at,
        start,
        words: spoken,
    })
}

/// Whether a word is written as a number, a right time or not.
fn counts(word: &str) -> bool {
    let unsigned = word.trim_start_matches(['-', '.', ',']);
    unsigned.starts_with(|c: char| c.is_ascii_digit())
}

/// A time in whole or decimal seconds, to the millisecond.
fn seconds(text: &str) -> Result<u64, String> {
    let wrong = || {
        format!("found `{text}`, expected a time in seconds such as `2.5`; write numbers as words")
    };
    let (whole, fraction) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    let held = whole.len() <= 9 && (1..=3).contains(&fraction.len());
    if !held || !digits(whole) || !digits(fraction) {
        return Err(wrong());
    }
    let whole: u64 = whole.parse().map_err(|_| wrong())?;
    let thousandths: u64 = format!("{fraction:0<3}").parse().map_err(|_| wrong())?;
    Ok(whole * 1_000 + thousandths)
}

/// Gives one line of a script for each utterance, whatever its samples.
#[derive(Debug)]
pub struct Scripted {
    name: String,
    lines: VecDeque<Line>,
}

impl Scripted {
    /// `name` is what records call the script.
    pub fn new(name: &str, script: Script) -> Scripted {
        Scripted {
            name: name.to_owned(),
            lines: script.lines.into(),
        }
    }
}

impl Recognizer for Scripted {
    fn name(&self) -> EngineName {
        EngineName {
            engine: ENGINE.into(),
            model: self.name.clone(),
        }
    }

    fn set_grammar(&mut self, _grammar: &Automaton) -> Result<Vec<String>, HearingError> {
        Ok(Vec::new())
    }

    fn accept(&mut self, _samples: &[i16]) -> Result<(), HearingError> {
        Ok(())
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
        Ok(self
            .lines
            .pop_front()
            .map(|line| line.hypothesis())
            .into_iter()
            .collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_follow_one_another_where_they_have_no_time() {
        let text = "2.5 next # go\n\n6 two forty ... two thirty eight\naffirm\n+15 stop\n";
        let script = Script::parse("x.txt", text).unwrap();
        let times: Vec<(u64, u64)> = script
            .lines()
            .iter()
            .map(|l| (l.start_ms, l.end_ms))
            .collect();
        assert_eq!(
            times,
            [
                (2_500, 2_800),
                (6_000, 8_500),
                (10_500, 10_800),
                (25_800, 26_100)
            ]
        );
        let heard = script.lines()[1].hypothesis();
        assert_eq!(heard.text(), "two forty two thirty eight");
        assert_eq!(heard.words[2].start_ms - heard.words[1].end_ms, 1_000);
    }

    #[test]
    fn what_cannot_be_spoken_is_named_with_its_line() {
        let message = |text: &str| Script::parse("x.txt", text).unwrap_err().to_string();
        assert_eq!(
            message("next\n240 \n"),
            "x.txt:2: has no words, expected some after the time"
        );
        assert_eq!(
            message("2,5 next"),
            "x.txt:1: found `2,5`, expected a time in seconds such as `2.5`; write numbers as words"
        );
        assert_eq!(
            message("-5 next"),
            "x.txt:1: found `-5`, expected a time in seconds such as `2.5`; write numbers as words"
        );
        assert_eq!(
            message("5 next\n5.1 stop"),
            "x.txt:2: starts at 5100 ms, expected 5300 ms or later: the line above is not over"
        );
    }

    #[test]
    fn each_utterance_gets_the_next_line() {
        let script = Script::parse("x.txt", "\u{feff}next\r\nstop\r\n").unwrap();
        let mut engine = Scripted::new("x.txt", script);
        engine.accept(&[0; 160]).unwrap();
        assert_eq!(engine.finish().unwrap()[0].text(), "next");
        assert_eq!(engine.finish().unwrap()[0].text(), "stop");
        assert_eq!(engine.finish().unwrap(), []);
    }
}
