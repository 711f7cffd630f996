//! The engine of a live session: on a thread of its own, with the newest grammar there is.

use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use tokio::sync::mpsc::Sender;
use tokio::sync::watch;

use super::{Condition, Input};
use crate::clock::SystemClock;
use crate::hearing::ear::Ear;
use crate::hearing::endpoint::Utterance;
use crate::hearing::level::Level;
use crate::hearing::listening::{Listening, Sound};
use crate::hearing::look::Look;
use crate::hearing::microphone::MicrophoneError;
use crate::hearing::pause::Pause;
use crate::language::Automaton;

/// Tasks that may wait for the engine.
const WAITING: usize = 16;

enum Task {
    /// There is a new grammar.
    Listen,
    Look(Look),
    Hear(Utterance),
}

/// A microphone and the engine that hears what comes from it.
pub struct Ears {
    pub(super) listening: Listening,
    grammar: Arc<Mutex<Option<Automaton>>>,
    level: watch::Receiver<Level>,
    tasks: SyncSender<Task>,
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
        let (tasks, waiting) = sync_channel(WAITING);
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
        let given = tasks.clone();
        let deliver = move |sound| deliver(sound, &given, &told, &show);
        let listening = Listening::start(microphone, clock, deliver)?;
        Ok(Ears {
            listening,
            grammar,
            level,
            tasks,
        })
    }

    /// How loud it is at the microphone, ten times a second: for whoever shows it.
    pub fn level(&self) -> watch::Receiver<Level> {
        self.level.clone()
    }

    /// What to listen for from the next utterance on; the engine compiles it at once, so that
    /// nobody waits for that when something is said. Before a session and after it nothing is, and
    /// engines take no grammar without words.
    pub(super) fn set_grammar(&self, grammar: &Automaton) {
        if grammar.words().is_empty() {
            return;
        }
        let mut newest = self.grammar.lock().unwrap_or_else(PoisonError::into_inner);
        *newest = Some(grammar.clone());
        // An engine with tasks in hand finds it before the next of them.
        let _ = self.tasks.try_send(Task::Listen);
    }
}

/// Runs on the microphone's thread. An input that nobody takes any more needs no answer.
fn deliver(
    sound: Sound,
    tasks: &SyncSender<Task>,
    inputs: &Sender<Input>,
    level: &watch::Sender<Level>,
) {
    let condition = match sound {
        Sound::Look(look) => {
            if let Err(TrySendError::Full(Task::Look(look))) = tasks.try_send(Task::Look(look)) {
                look.settle(Pause::Open);
            }
            return;
        }
        Sound::Level(now) => {
            level.send_replace(now);
            return;
        }
        Sound::Utterance(utterance) => {
            // An engine that is far behind: waiting fills the ring, which counts what it drops.
            let _ = tasks.send(Task::Hear(utterance));
            return;
        }
        Sound::Warning(warning) => Condition::Level(warning),
        Sound::Overrun(ms) => Condition::Overrun(ms),
        Sound::Lost(why) => Condition::Lost(why),
        Sound::Back(name) => Condition::Back(name),
    };
    let _ = inputs.blocking_send(Input::Microphone(condition));
}

/// The thread's whole life: it ends with the microphone's and the session's.
fn hear(
    mut ear: Ear,
    tasks: &Receiver<Task>,
    grammar: &Mutex<Option<Automaton>>,
    inputs: &Sender<Input>,
) {
    for task in tasks {
        let newest = grammar
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take();
        let set = newest.map_or(Ok(Vec::new()), |grammar| ear.set_grammar(&grammar));
        let heard = match (task, set) {
            (_, Err(why)) => Err(why),
            (Task::Hear(utterance), Ok(_)) => ear.hear(utterance),
            (Task::Look(look), Ok(_)) if look.is_wanted() => {
                // What the engine failed at is tried again when the utterance is over.
                let pause = ear.look(&look.so_far).unwrap_or(Pause::Open);
                look.settle(pause);
                continue;
            }
            (Task::Listen | Task::Look(_), Ok(_)) => continue,
        };
        if inputs.blocking_send(Input::Heard(heard)).is_err() {
            return;
        }
    }
}
