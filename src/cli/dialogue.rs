//! A replay as a dialogue on stdout, spoken aloud where there is a voice.

use super::voices::complain;
use super::{Failure, Output, meter};
use crate::language::Meaning;
use crate::record::RecordError;
use crate::replay::{Line, Listener, Speaker as Who};
use crate::session::{self, Event, Ms, Sentence};
use crate::speaking::speaker::Speaker;

/// Writes each line as it is said, unless the answer is JSON, and keeps what happened.
pub struct Dialogue<'a> {
    shown: bool,
    /// Goes before each line.
    before: &'static str,
    voice: Option<Speaker>,
    output: &'a mut Output,
    happened: Vec<Happened>,
    failure: Option<Failure>,
}

/// One event with its moment.
#[derive(Debug, serde::Serialize)]
pub struct Happened {
    pub ms: Ms,
    #[serde(flatten)]
    pub event: Event,
}

impl<'a> Dialogue<'a> {
    pub fn new(shown: bool, voice: Option<Speaker>, output: &'a mut Output) -> Dialogue<'a> {
        Dialogue {
            shown: shown && !output.is_json(),
            before: "",
            voice,
            output,
            happened: Vec::new(),
            failure: None,
        }
    }

    /// Writes each line where a meter is shown.
    pub fn over_a_meter(&mut self) {
        self.before = meter::CLEAR;
    }

    /// Waits for the voice and gives all that happened.
    ///
    /// # Errors
    ///
    /// What kept the dialogue from being written.
    pub fn end(mut self) -> Result<Vec<Happened>, Failure> {
        if let Some(Err(why)) = self.voice.as_mut().map(Speaker::finish) {
            complain(&why);
        }
        match self.failure {
            Some(failure) => Err(failure),
            None => Ok(self.happened),
        }
    }

    fn write(&mut self, line: &Line) {
        if !self.shown || self.failure.is_some() {
            return;
        }
        self.failure = self
            .output
            .line(format_args!("{}{line}", self.before))
            .err();
    }
}

/// What the technician said: the words that were acted on.
fn answer((event, free_words): (&Event, bool)) -> Option<Line> {
    let Event::Heard {
        words,
        meaning,
        start_ms,
        ..
    } = event
    else {
        return None;
    };
    Some(Line {
        at: *start_ms,
        speaker: Who::Technician,
        words: match meaning {
            Meaning::Nothing { .. } if free_words => "(free words)".to_owned(),
            Meaning::Nothing { .. } => "(something that means nothing here)".to_owned(),
            _ => words.clone(),
        },
    })
}

impl Listener for Dialogue<'_> {
    fn said(&mut self, at: Ms, sentence: &Sentence) {
        self.write(&Line {
            at,
            speaker: Who::Readback,
            words: sentence.text.clone(),
        });
        let said = self.voice.as_mut().map(|voice| voice.say(&sentence.text));
        if let Some(Err(why)) = said {
            complain(&why);
            self.voice = None;
        }
    }

    fn hushed(&mut self) {
        if let Some(voice) = &mut self.voice {
            voice.stop();
        }
    }

    fn happened(&mut self, at: Ms, events: &[Event]) {
        for line in session::heard(events.iter()).filter_map(answer) {
            self.write(&line);
        }
        let happened = events.iter().cloned();
        self.happened
            .extend(happened.map(|event| Happened { ms: at, event }));
    }

    fn trouble(&mut self, trouble: &RecordError) {
        eprintln!("warning: {trouble}");
    }
}
