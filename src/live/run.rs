//! The task that takes one input after the other.

use std::sync::Arc;
use std::time::Duration;

use tokio::sync::mpsc::Receiver;
use tokio::time::sleep;

use super::engine::Ears;
use super::gate::Gate;
use super::signals::Signals;
use super::sounding::{ECHO_MS, Sounding};
use super::{Condition, Input, as_incoming, told_of_unheard};
use crate::clock::{Clock, SystemClock};
use crate::conversation::{Conversation, Cut, Incoming, Reply, TakeError};
use crate::hearing::ear;
use crate::language::{Automaton, GrammarProblem};
use crate::record::RecordError;
use crate::replay::Listener;
use crate::session::{Event, Ms, Phrase};
use crate::speaking::earcon::{Earcon, Earcons};
use crate::speaking::mouth::{GiveWay, Mouth, Spoke};

/// How long a timer waits for an utterance that is going on, whose values belong before it.
const LATEST_TICK_MS: Ms = 3_000;
/// Between two looks at whether that utterance is over.
const LOOK_EVERY: Duration = Duration::from_millis(30);
/// Between two tries to write what the disk did not take.
const RETRY_EVERY_MS: Ms = 2_000;
/// Tries at the end of a session, and the time between them.
const LAST_TRIES: usize = 3;
const LAST_TRY_AFTER: Duration = Duration::from_millis(500);

/// Whether the microphone hears the voice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    /// It does not: everything is listened for at all times, and a valid phrase cuts a prompt.
    Headset,
    /// It does: while something is said only "stop" and "stand by" are listened for.
    Loudspeaker,
}

/// Why a live session ends before its time. Its record can be taken up again.
#[derive(Debug, thiserror::Error)]
pub enum LiveError {
    #[error(transparent)]
    Conversation(#[from] TakeError),
    #[error(transparent)]
    Grammar(#[from] GrammarProblem),
    #[error("cannot listen for signals: {0}")]
    Signals(#[from] std::io::Error),
}

/// A session at the machine.
pub struct Live<'a> {
    conversation: Conversation,
    clock: Arc<SystemClock>,
    ears: Ears,
    mouth: Mouth,
    earcons: Option<Earcons>,
    mode: Mode,
    narrow: Automaton,
    sounding: Sounding,
    gate: Gate,
    /// What is wrong with the level of somebody's speech, until something is heard.
    bad_level: Option<Phrase>,
    listener: &'a mut dyn Listener,
    complain: fn(&str),
    /// When to try to write again what the disk did not take.
    retry_at: Option<Ms>,
    shut_down: bool,
    /// What the voice is to tell the end of.
    awaited: Option<u64>,
}

impl<'a> Live<'a> {
    /// A session that has not begun. `complain` tells what is no part of the dialogue.
    ///
    /// # Errors
    ///
    /// What is wrong with the language's grammar.
    pub fn new(
        conversation: Conversation,
        clock: Arc<SystemClock>,
        ears: Ears,
        mouth: Mouth,
        mode: Mode,
        listener: &'a mut dyn Listener,
        complain: fn(&str),
    ) -> Result<Live<'a>, LiveError> {
        let narrow = conversation.grammar_while_sounding()?;
        Ok(Live {
            conversation,
            clock,
            ears,
            mouth,
            earcons: None,
            mode,
            narrow,
            sounding: Sounding::default(),
            gate: Gate::default(),
            bad_level: None,
            listener,
            complain,
            retry_at: None,
            shut_down: false,
            awaited: None,
        })
    }

    /// Marks with tones what becomes of an utterance.
    pub fn with_earcons(mut self, earcons: Option<Earcons>) -> Live<'a> {
        self.earcons = earcons;
        self
    }

    /// Takes only what this lets in.
    pub fn with_gate(mut self, gate: Gate) -> Live<'a> {
        self.gate = gate;
        self
    }

    /// Goes on until the session is closed, or a signal (SIGINT, SIGTERM, SIGHUP) ends it.
    ///
    /// # Errors
    ///
    /// A record that cannot be written at all, or a grammar that cannot be used.
    pub async fn run(
        &mut self,
        first: Incoming,
        inputs: &mut Receiver<Input>,
    ) -> Result<(), LiveError> {
        let mut signals = Signals::new()?;
        self.take(first)?;
        self.ears.set_grammar(self.conversation.grammar());
        while !self.is_over() {
            let input = self.next(inputs, &mut signals).await;
            self.on(input)?;
            self.retry();
        }
        Ok(())
    }

    /// Falls silent and closes the record. A session that has not come to its end can still be
    /// taken up again.
    ///
    /// # Errors
    ///
    /// The disk does not take it, also after some tries.
    pub async fn end(mut self) -> Result<Conversation, RecordError> {
        self.mouth.hush();
        let now = self.clock.now();
        if let Some(record) = self.conversation.record_mut() {
            for _ in 0..LAST_TRIES {
                if record.kept_lines() == 0 || record.retry().is_ok() {
                    break;
                }
                sleep(LAST_TRY_AFTER).await;
            }
            record.close(&now)?;
        }
        Ok(self.conversation)
    }

    fn is_over(&self) -> bool {
        self.shut_down || (self.conversation.state().closed() && self.awaited.is_none())
    }

    async fn next(&self, inputs: &mut Receiver<Input>, signals: &mut Signals) -> Input {
        loop {
            let wait = self.until_due();
            tokio::select! {
                biased;
                () = signals.any() => return Input::Shutdown,
                input = inputs.recv() => return input.unwrap_or(Input::Shutdown),
                () = sleep(wait.unwrap_or(Duration::MAX)), if wait.is_some() => {
                    if self.may_tick() {
                        return Input::Tick;
                    }
                    sleep(LOOK_EVERY).await;
                }
            }
        }
    }

    /// How long until something is due; nothing where nothing is.
    fn until_due(&self) -> Option<Duration> {
        let due = [self.conversation.next_due(), self.retry_at];
        let due = due.into_iter().flatten().min()?;
        Some(Duration::from_millis(
            due.saturating_sub(self.clock.now().ms),
        ))
    }

    /// Not while somebody speaks: what is said then belongs to the time before.
    fn may_tick(&self) -> bool {
        let due = self.conversation.next_due().unwrap_or(Ms::MAX);
        let late = self.clock.now().ms.saturating_sub(due) >= LATEST_TICK_MS;
        late || !self.ears.listening.is_busy()
    }

    fn on(&mut self, input: Input) -> Result<(), LiveError> {
        match input {
            Input::Heard(heard) => self.on_heard(heard),
            Input::Overheard(heard) => self.on_overheard(heard),
            Input::NotHeard(why) => {
                (self.complain)(&why.to_string());
                self.say(Phrase::EngineFailed);
                self.ears.listening.done();
                Ok(())
            }
            Input::Unheard(words) => {
                (self.complain)(&told_of_unheard(&words));
                Ok(())
            }
            Input::Typed(words) => self.take(Incoming::Typed(words)),
            Input::Key => {
                if self.gate.pressed(self.clock.now().ms) {
                    self.play(Earcon::Listening);
                }
                Ok(())
            }
            Input::NoMoreKeys => {
                if self.gate.keys_end() {
                    (self.complain)("stdin is closed and no key can come; the ear stays open");
                }
                Ok(())
            }
            Input::Microphone(condition) => {
                self.on_microphone(&condition);
                Ok(())
            }
            Input::Spoken(spoke) => self.on_spoken(spoke),
            Input::Tick => self.take(Incoming::Tick),
            Input::Shutdown => {
                self.shut_down = true;
                Ok(())
            }
        }
    }

    fn on_heard(&mut self, heard: ear::Heard) -> Result<(), LiveError> {
        let utterance = &heard.utterance;
        let for_us = match self.sounding.is_in(utterance.start_ms, utterance.end_ms) {
            true => self.sounding.lets_through(&heard, &self.narrow),
            false => !heard.hypotheses.is_empty(),
        };
        let grammar = self.conversation.grammar();
        let taken = match for_us && self.gate.lets_in(&heard, grammar) {
            true => self.take(Incoming::Heard(as_incoming(heard))),
            false => Ok(()),
        };
        self.ears.listening.done();
        taken
    }

    fn on_overheard(&mut self, heard: ear::Heard) -> Result<(), LiveError> {
        let meant = self.gate.lets_in(&heard, &self.narrow);
        match meant && self.sounding.overhears(&heard, &self.narrow) {
            true => self.take(Incoming::Heard(as_incoming(heard))),
            false => Ok(()),
        }
    }

    fn on_microphone(&mut self, condition: &Condition) {
        match condition {
            Condition::Lost(why) => (self.complain)(&why.to_string()),
            Condition::Overrun(ms) => (self.complain)(&format!(
                "{ms} ms of sound were dropped; the engine is busy"
            )),
            // What is understood all the same is no trouble.
            Condition::Level(_) => {
                self.bad_level = Some(condition.phrase());
                return;
            }
            Condition::Back(_) => {}
        }
        self.say(condition.phrase());
    }

    fn on_spoken(&mut self, spoke: Spoke) -> Result<(), LiveError> {
        let now = self.clock.now().ms;
        match spoke {
            Spoke::Began(sentence) => {
                self.listener.said(now, &sentence);
                if self.mode == Mode::Loudspeaker && self.mouth.is_audible() {
                    self.sounding.began(now, &sentence.text);
                    let decoys = self.sounding.sentences();
                    self.ears.overhear(&self.narrow, decoys);
                    self.ears.listening.set_sounding_until(Ms::MAX);
                }
            }
            Spoke::Hushed => self.listener.hushed(),
            Spoke::Lost(why) => {
                self.mouth.silence();
                self.open_ear(now);
                (self.complain)(&format!("no voice, going on in text: {why}"));
            }
            Spoke::Silent { through } => {
                self.awaited = self.awaited.filter(|awaited| *awaited != through);
                self.open_ear(now);
                return self.take(Incoming::Spoken { through });
            }
        }
        Ok(())
    }

    /// The voice has ended: what is heard from here on was said by somebody else.
    fn open_ear(&mut self, now: Ms) {
        if !self.sounding.sounds() {
            return;
        }
        self.sounding.ended(now);
        let last_echo = now + ECHO_MS;
        self.ears.listening.set_sounding_until(last_echo);
        self.play(Earcon::Listening);
    }

    fn take(&mut self, incoming: Incoming) -> Result<(), LiveError> {
        let now = self.clock.now();
        let reply = self.conversation.take(incoming, &now)?;
        if let Some(trouble) = &reply.trouble {
            self.not_recording(now.ms, trouble);
        }
        self.listener.happened(now.ms, &reply.events);
        let bad_level = self.mark(&reply.events);
        if reply.listen_anew {
            self.ears.set_grammar(self.conversation.grammar());
        }
        self.answer(reply);
        if let Some(phrase) = bad_level {
            self.say(phrase);
        }
        Ok(())
    }

    fn answer(&mut self, reply: Reply) {
        if reply.sentences.is_empty() {
            return;
        }
        let give_way = match reply.cut {
            Cut::Nothing => GiveWay::None,
            Cut::Cuttable => GiveWay::Cuttable,
            Cut::Everything => GiveWay::All,
        };
        self.awaited = Some(reply.through);
        self.mouth.say(give_way, reply.sentences, reply.through);
    }

    /// Something that is no event of the session.
    fn say(&mut self, phrase: Phrase) {
        let sentence = self.conversation.phrase(phrase);
        let through = self.conversation.state().count;
        self.awaited = Some(through);
        self.mouth.say(GiveWay::None, vec![sentence], through);
    }

    /// A tone for what became of an utterance, and what to say of the level of one that was not
    /// understood.
    fn mark(&mut self, events: &[Event]) -> Option<Phrase> {
        let any = |is: fn(&Event) -> bool| events.iter().any(is);
        if any(|event| matches!(event, Event::NotUnderstood { .. })) {
            self.play(Earcon::NotUnderstood);
            return self.bad_level.take();
        }
        if any(|event| matches!(event, Event::Heard { .. })) {
            self.play(Earcon::Heard);
            self.bad_level = None;
        }
        None
    }

    fn play(&self, earcon: Earcon) {
        if let Some(earcons) = &self.earcons {
            earcons.play(earcon);
        }
    }

    fn not_recording(&mut self, now: Ms, trouble: &RecordError) {
        if self.retry_at.is_none() {
            self.listener.trouble(trouble);
            self.say(Phrase::NotRecording);
        }
        self.retry_at = Some(now + RETRY_EVERY_MS);
    }

    /// Tries to write what the disk did not take, once it is time to.
    fn retry(&mut self) {
        let now = self.clock.now().ms;
        let (Some(due), Some(record)) = (self.retry_at, self.conversation.record_mut()) else {
            return;
        };
        if record.kept_lines() == 0 || (due <= now && record.retry().is_ok()) {
            self.retry_at = None;
            self.say(Phrase::RecordingAgain);
        } else if due <= now {
            self.retry_at = Some(now + RETRY_EVERY_MS);
        }
    }
}
