//! The loop: cues, timers and prompts in the order of a clock that nobody waits for.

use std::collections::VecDeque;

use super::cue::{Cue, Said, When, duration_ms};
use super::speaking::Speaking;
use super::transcript::Listener;
use crate::clock::{Clock, VirtualClock};
use crate::conversation::{Conversation, Heard, Incoming, Reply, TakeError};
use crate::hearing::ear::Ear;
use crate::hearing::endpoint::Utterance;
use crate::hearing::recognizer::HearingError;
use crate::language::Hypothesis;
use crate::record::RecordError;
use crate::session::Ms;

/// Without a cue left, a timer so far away is not waited for.
const LAST_WAIT_MS: Ms = 3_600_000;

/// Why a replay ends before its time.
#[derive(Debug, thiserror::Error)]
pub enum ReplayError {
    #[error(transparent)]
    Conversation(#[from] TakeError),
    #[error(transparent)]
    Hearing(#[from] HearingError),
    #[error("there is audio to hear and no engine to hear it; name one with `--engine`")]
    NoEngine,
}

/// A conversation on a virtual clock.
pub struct Replay<'a> {
    conversation: Conversation,
    clock: VirtualClock,
    ear: Option<Ear>,
    listener: &'a mut dyn Listener,
    cues: VecDeque<Cue>,
    speaking: Speaking,
    /// The end of the last utterance.
    last_heard: Ms,
    /// When the next utterance is to begin, once that is known.
    due: Option<Ms>,
}

/// What comes next, and when.
enum Next {
    Sentence(Ms),
    SpeechEnds(Ms),
    Cue(Ms),
    Timer(Ms),
}

impl<'a> Replay<'a> {
    /// A replay that has not begun. The ear is needed where a cue is audio.
    pub fn new(
        conversation: Conversation,
        clock: VirtualClock,
        cues: Vec<Cue>,
        ear: Option<Ear>,
        listener: &'a mut dyn Listener,
    ) -> Replay<'a> {
        let began = clock.now().ms;
        Replay {
            conversation,
            clock,
            ear,
            listener,
            cues: cues.into(),
            speaking: Speaking::default(),
            last_heard: began,
            due: None,
        }
    }

    /// Plays everything to its end: until the session is closed, or nobody will say any more and
    /// no timer is left to wait for.
    ///
    /// # Errors
    ///
    /// A record that cannot be written, an engine that fails, a grammar it cannot use.
    pub fn run(&mut self, first: Incoming) -> Result<(), ReplayError> {
        self.take(first)?;
        loop {
            self.fix_due();
            let Some(next) = self.next() else {
                return Ok(());
            };
            match next {
                Next::Sentence(at) => self.begin_sentence(at),
                Next::SpeechEnds(at) => self.speech_ends(at)?,
                Next::Cue(at) => self.speak_cue(at)?,
                Next::Timer(at) => {
                    self.clock.advance_to(at);
                    self.take(Incoming::Tick)?;
                }
            }
        }
    }

    /// Closes the record. A session that has not come to its end can still be taken up again.
    ///
    /// # Errors
    ///
    /// The disk does not take it.
    pub fn end(mut self) -> Result<Conversation, RecordError> {
        let now = self.clock.now();
        if let Some(record) = self.conversation.record_mut() {
            record.close(&now)?;
        }
        Ok(self.conversation)
    }

    /// The earliest of what can happen; of things at one moment, in this order.
    fn next(&self) -> Option<Next> {
        let speaking = &self.speaking;
        let sentence = speaking.next_sentence().map(Next::Sentence);
        let speech = speaking.end_awaited().map(Next::SpeechEnds);
        let said = [sentence, speech].into_iter().flatten();
        if self.conversation.state().closed() {
            return said.min_by_key(Next::at);
        }
        let cue = self.cue_starts().map(Next::Cue);
        let timer = self.timer_due().map(Next::Timer);
        said.chain([cue, timer].into_iter().flatten())
            .min_by_key(Next::at)
    }

    fn timer_due(&self) -> Option<Ms> {
        let last = self.clock.now().ms + LAST_WAIT_MS;
        let due = self.conversation.next_due();
        due.filter(|due| !self.cues.is_empty() || *due <= last)
    }

    /// When the next utterance begins; `None` before that is known, and while somebody who does
    /// not interrupt still listens.
    fn cue_starts(&self) -> Option<Ms> {
        let due = self.due?;
        let answers = matches!(self.cues.front()?.when, When::AfterPrompt { .. });
        match self.speaking.end_awaited() {
            Some(end) if answers && end > due => None,
            _ if answers => Some(due.max(self.speaking.ends())),
            _ => Some(due),
        }
    }

    /// The pause before an utterance counts from the first silence: what timers say in it does not
    /// put it off, but is heard to its end.
    fn fix_due(&mut self) {
        let Some(cue) = self.cues.front().filter(|_| self.due.is_none()) else {
            return;
        };
        let silent = self.speaking.end_awaited().is_none();
        self.due = match cue.when {
            When::At(at) => Some(at),
            When::Follows { gap_ms } => Some(self.last_heard + gap_ms),
            When::AfterPrompt { pause_ms } => {
                silent.then(|| self.speaking.ends().max(self.last_heard) + pause_ms)
            }
        };
    }

    fn begin_sentence(&mut self, at: Ms) {
        self.clock.advance_to(at);
        if let Some((at, sentence)) = self.speaking.begin() {
            self.listener.said(at, &sentence);
        }
    }

    fn speech_ends(&mut self, at: Ms) -> Result<(), ReplayError> {
        self.clock.advance_to(at);
        match self.speaking.finish() {
            Some(through) => self.take(Incoming::Spoken { through }),
            None => Ok(()),
        }
    }

    fn speak_cue(&mut self, at: Ms) -> Result<(), ReplayError> {
        let Some(cue) = self.cues.pop_front() else {
            return Ok(());
        };
        self.due = None;
        self.clock.advance_to(at);
        let heard = match cue.said {
            Said::Words(hypothesis) => self.hear_words(hypothesis),
            Said::Audio(samples) => self.hear_audio(samples)?,
        };
        self.last_heard = heard.end_ms;
        self.take(Incoming::Heard(heard))
    }

    /// Words of a script, as if an engine had heard them.
    fn hear_words(&mut self, mut hypothesis: Hypothesis) -> Heard {
        let start_ms = self.clock.now().ms;
        self.clock
            .advance(hypothesis.words.last().map_or(0, |word| word.end_ms));
        for word in &mut hypothesis.words {
            word.start_ms += start_ms;
            word.end_ms += start_ms;
        }
        Heard {
            hypotheses: vec![hypothesis],
            rejected: None,
            samples: Vec::new(),
            start_ms,
            end_ms: self.clock.now().ms,
        }
    }

    /// The first utterance in a stretch of speech; the rest follows on its heels, as live. That the
    /// engine takes time, live, changes nothing: who speaks on meanwhile is waited for.
    fn hear_audio(&mut self, mut stretch: Vec<i16>) -> Result<Heard, ReplayError> {
        let ear = self.ear.as_mut().ok_or(ReplayError::NoEngine)?;
        ear.set_grammar(self.conversation.grammar())?;
        let rest = stretch.split_off(ear.first_of(&stretch));
        let start_ms = self.clock.now().ms;
        self.clock.advance(duration_ms(&stretch));
        let end_ms = self.clock.now().ms;
        if !rest.is_empty() {
            self.cues.push_front(Cue {
                when: When::At(end_ms),
                said: Said::Audio(rest),
            });
        }
        let heard = ear.hear(Utterance {
            start_ms,
            end_ms,
            samples: stretch,
            cut: false,
        })?;
        Ok(Heard {
            hypotheses: heard.hypotheses,
            rejected: heard.rejected,
            samples: heard.utterance.samples,
            start_ms,
            end_ms,
        })
    }

    fn take(&mut self, incoming: Incoming) -> Result<(), ReplayError> {
        let now = self.clock.now();
        let reply = self.conversation.take(incoming, &now)?;
        if let Some(trouble) = &reply.trouble {
            self.listener.trouble(trouble);
        }
        self.listener.happened(now.ms, &reply.events);
        self.say(now.ms, reply);
        Ok(())
    }

    fn say(&mut self, now: Ms, reply: Reply) {
        if !reply.sentences.is_empty() && self.speaking.cut(now, reply.cut) {
            self.listener.hushed();
        }
        for sentence in reply.sentences {
            self.speaking.add(now, sentence);
            self.speaking.through = Some(reply.through);
        }
    }
}

impl Next {
    fn at(&self) -> Ms {
        match self {
            Next::Sentence(at) | Next::SpeechEnds(at) | Next::Cue(at) | Next::Timer(at) => *at,
        }
    }
}
