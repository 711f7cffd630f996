//! Who said what and when, as a dialogue to read.

use std::fmt;

use crate::record::RecordError;
use crate::session::{Event, Ms, Sentence};

/// Somebody who follows a replay while it goes on.
pub trait Listener {
    /// A sentence of the assistant begins.
    fn said(&mut self, at: Ms, sentence: &Sentence);

    /// What was being said is cut short.
    fn hushed(&mut self);

    /// Events were recorded; what was said because of them has not begun.
    fn happened(&mut self, at: Ms, events: &[Event]);

    /// The record cannot be written just now.
    fn trouble(&mut self, trouble: &RecordError);
}

/// One line of a dialogue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    pub at: Ms,
    pub speaker: Speaker,
    pub words: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Speaker {
    Readback,
    Technician,
}

/// `  2:05  Technician  one eight six`.
impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let seconds = self.at / 1000;
        let (minutes, seconds) = (seconds / 60, seconds % 60);
        let who = match self.speaker {
            Speaker::Readback => "Readback",
            Speaker::Technician => "Technician",
        };
        write!(f, "{minutes:>3}:{seconds:02}  {who:<10}  {}", self.words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_stand_under_each_other() {
        let line = |at, speaker, words: &str| Line {
            at,
            speaker,
            words: words.to_owned(),
        };
        let told = line(0, Speaker::Readback, "Say the load count.");
        let answered = line(605_900, Speaker::Technician, "one eight six");
        assert_eq!(told.to_string(), "  0:00  Readback    Say the load count.");
        assert_eq!(answered.to_string(), " 10:05  Technician  one eight six");
    }
}
