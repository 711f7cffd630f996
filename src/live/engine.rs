//! The engine of a live session: on a thread of its own, with the newest grammar there is.

use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use tokio::sync::mpsc::Sender;
use tokio::sync::watch;

use super::{Condition, Input};
use crate::clock::SystemClock;
use crate::hearing::ear::Ear;
use crate::hearing::endpoint::Utterance;
use crate::hearing::level::Level;
use crate::hearing::listening::{Listening, Sound};
use crate::hearing::microphone::MicrophoneError;
use crate::language::Automaton;

/// Utterances that may wait for the engine.
const WAITING: usize = 16;
/// How soon a new grammar is given to an engine that has nothing to hear.
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// A microphone and the engine that hears what comes from it.
pub struct Ears {
    pub(super) listening: Listening,
    grammar: Arc<Mutex<Option<Automaton>>>,
    level: watch::Receiver<Level>,
}

impl Ears {
    /// Opens the microphone of that name, or the default one, and gives what is heard to `inputs`.
    ///
    /// # Errors
    ///
    /// The microphone cannot be opened.
    pub fn open(
        microphone: Option<String>,
        ear: Ear,
        clock: Arc<SystemClock>,
        inputs: &Sender<Input>,
    ) -> Result<Ears, MicrophoneError> {
        let (utterances, waiting) = sync_channel(WAITING);
        let grammar = Arc::<Mutex<Option<Automaton>>>::default();
        let (newest, heard) = (Arc::clone(&grammar), inputs.clone());
        let thread = thread::Builder::new().name("ear".to_owned());
        thread
            .spawn(move || hear(ear, &waiting, &newest, &heard))
            .map_err(|e| MicrophoneError {
                what: format!("no thread for the engine: {e}"),
                remedy: "close other programs and try again",
            })?;
        let told = inputs.clone();
        let (show, level) = watch::channel(Level::default());
        let deliver = move |sound| deliver(sound, &utterances, &told, &show);
        let listening = Listening::start(microphone, clock, deliver)?;
        Ok(Ears {
            listening,
            grammar,
            level,
        })
    }

    /// How loud it is at the microphone, ten times a second: for whoever shows it.
    pub fn level(&self) -> watch::Receiver<Level> {
        self.level.clone()
    }

    /// What to listen for from the next utterance on. Before a session and after it nothing is, and
    /// engines take no grammar without words.
    pub(super) fn set_grammar(&self, grammar: &Automaton) {
        if grammar.words().is_empty() {
            return;
        }
        let mut newest = self.grammar.lock().unwrap_or_else(PoisonError::into_inner);
        *newest = Some(grammar.clone());
    }
}

/// Runs on the microphone's thread. An input that nobody takes any more needs no answer.
fn deliver(
    sound: Sound,
    utterances: &SyncSender<Utterance>,
    inputs: &Sender<Input>,
    level: &watch::Sender<Level>,
) {
    let condition = match sound {
        Sound::Utterance(utterance) => match utterances.try_send(utterance) {
            Ok(()) | Err(TrySendError::Disconnected(_)) => return,
            // The engine is far behind: waiting fills the ring, which counts what it drops.
            Err(TrySendError::Full(utterance)) => {
                let _ = utterances.send(utterance);
                return;
            }
        },
        Sound::Level(now) => {
            level.send_replace(now);
            return;
        }
        Sound::Warning(warning) => Condition::Level(warning),
        Sound::Overrun(ms) => Condition::Overrun(ms),
        Sound::Lost(why) => Condition::Lost(why),
        Sound::Back(name) => Condition::Back(name),
    };
    let _ = inputs.blocking_send(Input::Microphone(condition));
}

/// The thread's whole life: it ends with the microphone's.
fn hear(
    mut ear: Ear,
    utterances: &Receiver<Utterance>,
    grammar: &Mutex<Option<Automaton>>,
    inputs: &Sender<Input>,
) {
    loop {
        let utterance = utterances.recv_timeout(LOOK_EVERY);
        let newest = grammar
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take();
        let set = newest.map_or(Ok(Vec::new()), |grammar| ear.set_grammar(&grammar));
        let heard = match (utterance, set) {
            (Ok(utterance), Ok(_)) => ear.hear(utterance),
            (Err(RecvTimeoutError::Timeout), Ok(_)) => continue,
            (Err(RecvTimeoutError::Disconnected), _) => return,
            (_, Err(why)) => Err(why),
        };
        if inputs.blocking_send(Input::Heard(heard)).is_err() {
            return;
        }
    }
}
