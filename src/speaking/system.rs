//! The operating system's own voice.
//!
//! Its service may be silent without saying so: a speech daemon without a sound card takes
//! sentences and never ends them, and a call to it may not return. So it has a thread of its own,
//! every sentence and every call a deadline, and nobody waits for that thread: it is left behind
//! when the service has gone silent.
//!
//! Voice and language are those the service is set to, unless a voice is named: asking a speech
//! daemon for its voices can take a minute where it has thousands.

use std::collections::VecDeque;
use std::mem::ManuallyDrop;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

use tts::{Tts, UtteranceId};

use super::duration;
use super::speaker_names;
use super::voice::{Delivery, Voice, VoiceError};
use crate::clock::Deadline;

/// How long the service may take to open, and with any single call.
const CALL: Duration = Duration::from_secs(5);

/// How long it may take to tell its voices.
const VOICES: Duration = Duration::from_secs(60);

/// Says sentences by the operating system's speech service.
pub struct SystemVoice {
    desk: Arc<Desk>,
}

/// Where the caller and the speaking thread meet.
#[derive(Default)]
struct Desk {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Default)]
struct State {
    /// Not yet begun, in order.
    waiting: VecDeque<String>,
    /// The thread is inside a call to the service, or waits for the end of a sentence, until then.
    busy: Option<Deadline>,
    /// What the service has said the end of since the last sentence began.
    ended: Vec<UtteranceId>,
    stop: bool,
    close: bool,
    /// Set once the voice cannot be used any more.
    lost: Option<VoiceError>,
}

impl Desk {
    fn lock(&self) -> MutexGuard<'_, State> {
        // The state is whole between any two statements that change it.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn change(&self, change: impl FnOnce(&mut State)) {
        change(&mut self.lock());
        self.changed.notify_all();
    }

    /// Waits until `done`, at most until the deadline; says whether it is done.
    fn wait(&self, deadline: Deadline, done: impl Fn(&State) -> bool) -> bool {
        let waiting = self
            .changed
            .wait_timeout_while(self.lock(), deadline.left(), |state| !done(state));
        let (state, _) = waiting.unwrap_or_else(PoisonError::into_inner);
        done(&state)
    }
}

impl State {
    fn is_idle(&self) -> bool {
        self.waiting.is_empty() && self.busy.is_none()
    }

    /// Notices a thread that has not come back from a call.
    fn check(&mut self) -> Result<(), VoiceError> {
        // A call that is a little late is the thread's own affair.
        let late = self.busy.is_some_and(|d| d.has_passed());
        if late && self.lost.is_none() {
            self.lost = Some(silent());
        }
        match &self.lost {
            Some(why) => Err(why.clone()),
            None => Ok(()),
        }
    }

    /// How long everything that is still to be said may take.
    fn allowed(&self) -> Duration {
        let now = self.busy.map_or(Duration::ZERO, Deadline::left);
        let later: Duration = self
            .waiting
            .iter()
            .map(|s| CALL + duration::deadline(s))
            .sum();
        now + later + CALL
    }
}

impl SystemVoice {
    /// Opens the service. Waits at most five seconds, or a minute where a voice is named.
    ///
    /// # Errors
    ///
    /// There is no speech service, it does not answer, or it has no voice of that name.
    pub fn open(delivery: &Delivery) -> Result<SystemVoice, VoiceError> {
        let desk = Arc::new(Desk::default());
        let allowed = delivery.speaker.as_ref().map_or(CALL, |_| VOICES);
        let deadline = Deadline::after(allowed);
        desk.lock().busy = Some(deadline);
        let speaker = delivery.speaker.clone();
        let (theirs, delivery) = (Arc::clone(&desk), delivery.clone());
        thread::Builder::new()
            .name("system voice".to_owned())
            .spawn(move || speak_until_closed(&theirs, &delivery))
            .map_err(|e| VoiceError::new(format!("cannot start a thread: {e}"), "use text"))?;
        let answered = |state: &State| state.busy.is_none() || state.lost.is_some();
        if !desk.wait(deadline, answered) {
            return Err(no_answer(speaker));
        }
        desk.lock().check()?;
        Ok(SystemVoice { desk })
    }
}

impl Voice for SystemVoice {
    fn name(&self) -> String {
        "system voice".to_owned()
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        self.desk.lock().check()?;
        self.desk
            .change(|s| s.waiting.push_back(sentence.to_owned()));
        Ok(())
    }

    fn stop(&mut self) {
        self.desk.change(|state| {
            state.waiting.clear();
            state.stop = state.busy.is_some();
        });
    }

    fn is_speaking(&self) -> bool {
        let mut state = self.desk.lock();
        state.check().is_ok() && !state.is_idle()
    }

    fn finish(&mut self) -> Result<(), VoiceError> {
        let deadline = Deadline::after(self.desk.lock().allowed());
        let idle = self
            .desk
            .wait(deadline, |s| s.is_idle() || s.lost.is_some());
        let mut state = self.desk.lock();
        if !idle && state.lost.is_none() {
            state.lost = Some(silent());
        }
        state.check()
    }
}

impl Drop for SystemVoice {
    /// The thread ends by itself; a service that hangs cannot hold anybody up.
    fn drop(&mut self) {
        self.desk.change(|state| state.close = true);
    }
}

fn no_answer(speaker: Option<String>) -> VoiceError {
    match speaker {
        Some(speaker) => VoiceError::new(
            format!(
                "the speech service did not tell its voices within a minute, `{speaker}` among them or not"
            ),
            "leave `--speaker` out, and set the service's own voice",
        ),
        None => VoiceError::new(
            "the speech service does not answer",
            "restart the speech service",
        ),
    }
}

fn silent() -> VoiceError {
    VoiceError::new(
        "the speech service takes sentences and does not end them",
        "check the sound output, then restart the speech service",
    )
}

/// The thread's whole life.
fn speak_until_closed(desk: &Arc<Desk>, delivery: &Delivery) {
    let ended = open(desk).and_then(|mut tts| {
        deliver(&mut tts, delivery)?;
        desk.change(|state| state.busy = None);
        while let Some(order) = next_order(desk) {
            obey(desk, &mut tts, order)?;
        }
        Ok(())
    });
    if let Err(why) = ended {
        desk.change(|state| {
            state.lost.get_or_insert(why);
        });
    }
}

/// The service stays open until the process ends: closing one that hangs may hang, and the `tts`
/// crate ends the process when the service reports on a sentence after it was closed.
fn open(desk: &Arc<Desk>) -> Result<ManuallyDrop<Tts>, VoiceError> {
    let tts = Tts::default().map_err(|e| {
        VoiceError::new(
            format!("there is no speech service: {e}"),
            "install it with `sudo apt install speech-dispatcher`",
        )
    })?;
    for end in [Tts::on_utterance_end, Tts::on_utterance_stop] {
        let desk = Arc::clone(desk);
        let note = move |id| desk.change(|state| state.ended.push(id));
        end(&tts, Some(Box::new(note))).map_err(refused)?;
    }
    Ok(ManuallyDrop::new(tts))
}

fn deliver(tts: &mut Tts, delivery: &Delivery) -> Result<(), VoiceError> {
    if let Some(wanted) = &delivery.speaker {
        let voices = tts.voices().map_err(refused)?;
        let names = voices.iter().map(|v| (v.name(), v.language().to_string()));
        let names: Vec<_> = names.collect();
        let at = speaker_names::find(wanted, &names, &delivery.locale)?;
        tts.set_voice(&voices[at]).map_err(refused)?;
    }
    if delivery.rate != 0 {
        tts.set_rate(rate_of(tts, delivery.rate)).map_err(refused)?;
    }
    Ok(())
}

/// A rate on the service's own scale.
fn rate_of(tts: &Tts, rate: i8) -> f32 {
    let normal = tts.normal_rate();
    let end = match rate < 0 {
        true => tts.min_rate(),
        false => tts.max_rate(),
    };
    normal + (end - normal) * f32::from(rate.unsigned_abs().min(100)) / 100.0
}

enum Order {
    Say(String),
    Stop,
}

/// Waits for something to do; nothing when the voice was closed.
fn next_order(desk: &Desk) -> Option<Order> {
    let waiting = desk.changed.wait_while(desk.lock(), |state| {
        state.waiting.is_empty() && !state.stop && !state.close
    });
    let mut state = waiting.unwrap_or_else(PoisonError::into_inner);
    if state.close {
        return None;
    }
    if std::mem::take(&mut state.stop) {
        state.busy = Some(Deadline::after(CALL));
        return Some(Order::Stop);
    }
    let sentence = state.waiting.pop_front()?;
    let allowed = CALL + duration::deadline(&sentence);
    state.busy = Some(Deadline::after(allowed));
    state.ended.clear();
    Some(Order::Say(sentence))
}

fn obey(desk: &Desk, tts: &mut Tts, order: Order) -> Result<(), VoiceError> {
    match order {
        Order::Stop => {
            tts.stop().map_err(refused)?;
        }
        Order::Say(sentence) => {
            let id = tts.speak(sentence.as_str(), false).map_err(refused)?;
            let deadline = Deadline::after(duration::deadline(&sentence));
            let has_ended = |state: &State| id.as_ref().is_none_or(|id| state.ended.contains(id));
            let done = desk.wait(deadline, |s| has_ended(s) || s.stop || s.close);
            if !done {
                return Err(silent());
            }
        }
    }
    // A stop that came meanwhile keeps the voice busy until it was obeyed.
    desk.change(|state| state.busy = state.busy.filter(|_| state.stop));
    Ok(())
}

fn refused(error: tts::Error) -> VoiceError {
    VoiceError::new(
        format!("the speech service refused: {error}"),
        "restart the speech service",
    )
}
