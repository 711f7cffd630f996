//! The heart of every loop, live or replayed: one thing comes in, its events are on disk, and what
//! is to be said comes out.
//!
//! A loop owns the ears, the voice and the clock; what they give it goes through
//! [`Conversation::take`] one after the other, and nothing else changes a session.

use crate::clock::Now;
use crate::language::{Automaton, Command, Expectation, GrammarProblem, Hypothesis, Meaning};
use crate::record::{Clip, Record, RecordError};
use crate::session::{self, Event, Guide, Input, Ms, Opening, Phrase, Sentence, State, Utterance};

/// Samples a second of the clips that come in.
const CLIP_RATE: u32 = 16_000;

/// Everything that can come into a conversation.
#[derive(Debug, Clone)]
pub enum Incoming {
    /// A new session begins: the first thing of all.
    Begin(Opening),
    /// A recorded session is taken up again: the first thing of all.
    Resume,
    Heard(Heard),
    /// A line typed, or a button pressed that stands for its words: heard exactly as it stands.
    Typed(String),
    /// The time of [`Conversation::next_due`] has come.
    Tick,
    /// Everything given out up to this point has been spoken to its end.
    Spoken {
        through: u64,
    },
}

/// One utterance, as an engine took it.
#[derive(Debug, Clone)]
pub struct Heard {
    /// Best first; word times are of the session's clock.
    pub hypotheses: Vec<Hypothesis>,
    /// Why the ear takes it for other people's talk.
    pub rejected: Option<String>,
    /// The audio, 16 kHz mono, for the record; empty where there was none.
    pub samples: Vec<i16>,
    /// On the session's clock.
    pub start_ms: Ms,
    pub end_ms: Ms,
}

impl Heard {
    fn typed(words: &str, now: Ms) -> Heard {
        Heard {
            hypotheses: vec![Hypothesis::exact(words, now)],
            rejected: None,
            samples: Vec::new(),
            start_ms: now,
            end_ms: now,
        }
    }
}

/// What came of one thing that came in.
#[derive(Debug, Default)]
pub struct Reply {
    /// In order; all of them are on disk.
    pub events: Vec<Event>,
    /// To be spoken in order.
    pub sentences: Vec<Sentence>,
    /// How much of what is being spoken falls away for the sentences, if there are any.
    pub cut: Cut,
    /// Whether the grammar is another one than before.
    pub listen_anew: bool,
    /// To be given back with [`Incoming::Spoken`] when the sentences have been spoken.
    pub through: u64,
    /// The record cannot be written just now; what happened is kept in memory.
    pub trouble: Option<RecordError>,
}

/// How much of what is being spoken falls away because of something heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Cut {
    #[default]
    Nothing,
    /// What may be cut short.
    Cuttable,
    Everything,
}

impl Cut {
    /// Only a valid phrase of the technician cuts anything, and only "stop" cuts everything.
    fn by(heard: bool, events: &[Event]) -> Cut {
        let any = |is: fn(&Event) -> bool| events.iter().any(is);
        let stopped = any(|e| matches!(e, Event::Stopped { .. }));
        let understood = heard && !any(|e| matches!(e, Event::NotUnderstood { .. }));
        match (understood, stopped) {
            (_, true) => Cut::Everything,
            (true, false) => Cut::Cuttable,
            (false, false) => Cut::Nothing,
        }
    }
}

/// A session with its procedures and its record.
pub struct Conversation {
    guide: Guide,
    state: State,
    record: Option<Record<Event>>,
    /// What may be said now, and compiled.
    expected: Expectation,
    grammar: Automaton,
    /// The word that what is said must begin with, and what may be said with it.
    called: Option<(String, Automaton)>,
}

impl Conversation {
    /// A session before its first event, or `state` as its record left it. Without a record
    /// nothing is kept.
    ///
    /// # Errors
    ///
    /// What is wrong with a phrase of the procedure or with the language's grammar.
    pub fn new(
        guide: Guide,
        state: State,
        record: Option<Record<Event>>,
    ) -> Result<Conversation, GrammarProblem> {
        let expected = session::expectation(&guide, &state);
        let grammar = guide.language.compile(&expected)?;
        Ok(Conversation {
            guide,
            state,
            record,
            expected,
            grammar,
            called: None,
        })
    }

    /// The same where everything said but "stop" must begin with this word. What is typed need not.
    ///
    /// # Errors
    ///
    /// As [`Conversation::new`].
    pub fn called_by(mut self, word: Option<String>) -> Result<Conversation, GrammarProblem> {
        self.called = match word {
            Some(word) => Some((word.clone(), self.compile(&self.expected, Some(word))?)),
            None => None,
        };
        Ok(self)
    }

    fn compile(
        &self,
        expected: &Expectation,
        attention: Option<String>,
    ) -> Result<Automaton, GrammarProblem> {
        self.guide.language.compile(&Expectation {
            attention,
            ..expected.clone()
        })
    }

    fn attention(&self) -> Option<String> {
        self.called.as_ref().map(|(word, _)| word.clone())
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    pub fn record_mut(&mut self) -> Option<&mut Record<Event>> {
        self.record.as_mut()
    }

    /// What may be said now: for the engine, before the next utterance.
    pub fn grammar(&self) -> &Automaton {
        let called = self.called.as_ref().map(|(_, grammar)| grammar);
        called.unwrap_or(&self.grammar)
    }

    /// What may be said while a loudspeaker sounds into the microphone: "stop" and "stand by".
    ///
    /// # Errors
    ///
    /// As [`Conversation::new`].
    pub fn grammar_while_sounding(&self) -> Result<Automaton, GrammarProblem> {
        let narrow = Expectation {
            commands: [Command::Stop, Command::Pause].into(),
            ..Expectation::default()
        };
        self.compile(&narrow, self.attention())
    }

    /// One of the assistant's own phrases, in the language of the session.
    pub fn phrase(&self, phrase: Phrase) -> Sentence {
        Sentence {
            text: self.guide.phrases.text(phrase).to_owned(),
            may_be_cut: true,
        }
    }

    /// When [`Incoming::Tick`] is due, on the session's clock.
    pub fn next_due(&self) -> Option<Ms> {
        session::next_due(&self.state)
    }

    /// Takes one thing in. Its events are on disk when this returns, before anything is said
    /// because of them.
    ///
    /// # Errors
    ///
    /// [`TakeError::Record`] if an event cannot be written at all; a disk that does not take it
    /// just now is told in [`Reply::trouble`] and ends nothing.
    pub fn take(&mut self, incoming: Incoming, now: &Now) -> Result<Reply, TakeError> {
        let heard = matches!(incoming, Incoming::Heard(_) | Incoming::Typed(_));
        let (input, clip) = self.input(incoming, now.ms);
        let events = session::decide(&self.guide, &self.state, input, now.ms);
        let trouble = self.keep(now, &events, clip.as_ref())?;
        let mut sentences = Vec::new();
        for event in &events {
            sentences.extend(session::speech(&self.guide, &self.state, event));
            self.state = session::apply(std::mem::take(&mut self.state), event);
        }
        Ok(Reply {
            cut: Cut::by(heard, &events),
            listen_anew: self.listen_anew()?,
            events,
            sentences,
            through: self.state.count,
            trouble,
        })
    }

    /// Log first: everything else that follows from the events comes after this.
    fn keep(
        &mut self,
        now: &Now,
        events: &[Event],
        clip: Option<&Clip>,
    ) -> Result<Option<RecordError>, TakeError> {
        let Some(record) = &mut self.record else {
            return Ok(None);
        };
        match record.append(now, events.to_vec(), clip) {
            Ok(()) => Ok(None),
            Err(trouble @ RecordError::NotRecording { .. }) => Ok(Some(trouble)),
            Err(error) => Err(error.into()),
        }
    }

    fn input(&self, incoming: Incoming, now: Ms) -> (Input, Option<Clip>) {
        match incoming {
            Incoming::Begin(opening) => (Input::Begin(opening), None),
            Incoming::Resume => (Input::Resume, None),
            Incoming::Tick => (Input::Tick, None),
            Incoming::Spoken { through } => (Input::Spoken { through }, None),
            Incoming::Heard(heard) => {
                let (utterance, clip) = self.heard(heard, self.grammar());
                (Input::Heard(utterance), clip)
            }
            Incoming::Typed(text) => (Input::Heard(self.typed(&text, now)), None),
        }
    }

    /// A key is not misheard: the words are exactly these, and free words stay as they were typed.
    fn typed(&self, text: &str, now: Ms) -> Utterance {
        let heard = Heard::typed(&self.as_said(text), now);
        let (mut utterance, _) = self.heard(heard, &self.grammar);
        utterance.typed = true;
        for understanding in &mut utterance.understandings {
            if matches!(understanding.meaning, Meaning::Nothing { .. }) {
                text.trim().clone_into(&mut understanding.words);
            }
        }
        utterance
    }

    /// What was typed, in the words in which it means something here: values and units said out, a
    /// serial number spelled where that is asked for. What means nothing stays as it stands, as a
    /// note does.
    fn as_said(&self, text: &str) -> String {
        let say = &self.guide.say;
        let spelled = self.expected.spelling.then(|| say.spelled(text.trim()));
        let ways = [Some(say.typed(text)), spelled];
        let means_something = |words: &String| {
            let meaning = self.grammar.parse_text(words).meaning();
            !matches!(meaning, Meaning::Nothing { .. })
        };
        let meant = ways.into_iter().flatten().find(means_something);
        meant.unwrap_or_else(|| text.to_owned())
    }

    fn heard(&self, heard: Heard, grammar: &Automaton) -> (Utterance, Option<Clip>) {
        let clip = self.clip(heard.samples);
        let (start_ms, end_ms) = (heard.start_ms, heard.end_ms);
        let mut utterance = Utterance::understood(
            grammar,
            &heard.hypotheses,
            clip.as_ref().map(|clip| clip.file.clone()),
            start_ms,
            end_ms,
        );
        if let Some(why) = heard.rejected {
            utterance.understandings.truncate(1);
            for understanding in &mut utterance.understandings {
                understanding.meaning = Meaning::nothing(why.as_str());
            }
        }
        (utterance, clip)
    }

    fn clip(&self, samples: Vec<i16>) -> Option<Clip> {
        let record = self.record.as_ref()?;
        (!samples.is_empty()).then(|| Clip {
            file: record.next_clip(),
            samples,
            rate: CLIP_RATE,
        })
    }

    fn listen_anew(&mut self) -> Result<bool, GrammarProblem> {
        let expected = session::expectation(&self.guide, &self.state);
        let anew = expected != self.expected;
        if anew {
            self.grammar = self.guide.language.compile(&expected)?;
            if let Some(word) = self.attention() {
                self.called = Some((word.clone(), self.compile(&expected, Some(word))?));
            }
            self.expected = expected;
        }
        Ok(anew)
    }
}

/// Why a conversation cannot go on.
#[derive(Debug, thiserror::Error)]
pub enum TakeError {
    #[error(transparent)]
    Record(#[from] RecordError),
    #[error(transparent)]
    Grammar(#[from] GrammarProblem),
}
