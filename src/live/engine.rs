//! The engine of a live session: on a thread of its own, with the newest grammar there is.

use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, Ordering};
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
    /// A window of what is heard while the voice sounds, with what is to be listened for in it: an
    /// engine that is behind must not look for other words.
    Overhear(Utterance, Arc<Grammar>),
}

/// What to listen for, with words around it that mean nothing.
struct Grammar {
    automaton: Automaton,
    decoys: Vec<String>,
}

/// What is to be listened for now; nothing before a session.
type Newest = Mutex<Option<Arc<Grammar>>>;

/// A microphone and the engine that hears what comes from it.
pub struct Ears {
    pub(super) listening: Listening,
    grammar: Arc<Newest>,
    /// The same while the voice sounds.
    overheard: Arc<Newest>,
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
        let (grammar, overheard) = (Arc::<Newest>::default(), Arc::<Newest>::default());
        let (newest, heard) = (Arc::clone(&grammar), inputs.clone());
        let window_waits = Arc::<AtomicBool>::default();
        let taken = Arc::clone(&window_waits);
        let thread = thread::Builder::new().name("ear".to_owned());
        thread
            .spawn(move || hear(ear, &waiting, &newest, &taken, &heard))
            .map_err(|e| MicrophoneError {
                what: format!("no thread for the engine: {e}"),
                remedy: "close other programs and try again",
            })?;
        let told = inputs.clone();
        let (show, level) = watch::channel(Level::default());
        let (given, in_windows) = (tasks.clone(), Arc::clone(&overheard));
        let deliver = move |sound| deliver(sound, &given, &in_windows, &window_waits, &told, &show);
        let listening = Listening::start(microphone, clock, deliver)?;
        Ok(Ears {
            listening,
            grammar,
            overheard,
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
        set(&self.grammar, grammar, Vec::new());
        // An engine with tasks in hand finds it before the next of them.
        let _ = self.tasks.try_send(Task::Listen);
    }

    /// What to listen for from here on while the voice sounds, among words that mean nothing: those
    /// of the voice.
    pub(super) fn overhear(&self, grammar: &Automaton, decoys: Vec<String>) {
        set(&self.overheard, grammar, decoys);
    }
}

/// Runs on the microphone's thread. An input that nobody takes any more needs no answer.
fn deliver(
    sound: Sound,
    tasks: &SyncSender<Task>,
    overheard: &Newest,
    window_waits: &AtomicBool,
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
        Sound::Window(window) => {
            // An engine that is behind hears the next one, which has half of this one too: a "stop"
            // in a later window must not wait for all before it.
            if let Some(grammar) = newest(overheard)
                && !window_waits.swap(true, Ordering::Relaxed)
                && tasks.try_send(Task::Overhear(window, grammar)).is_err()
            {
                window_waits.store(false, Ordering::Relaxed);
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

fn set(newest: &Newest, grammar: &Automaton, decoys: Vec<String>) {
    let automaton = grammar.clone();
    let mut newest = newest.lock().unwrap_or_else(PoisonError::into_inner);
    *newest = Some(Arc::new(Grammar { automaton, decoys }));
}

fn newest(grammar: &Newest) -> Option<Arc<Grammar>> {
    let newest = grammar.lock().unwrap_or_else(PoisonError::into_inner);
    newest.clone()
}

/// The thread's whole life: it ends with the microphone's and the session's.
fn hear(
    mut ear: Ear,
    tasks: &Receiver<Task>,
    grammar: &Newest,
    window_waits: &AtomicBool,
    inputs: &Sender<Input>,
) {
    let mut now: Option<Arc<Grammar>> = None;
    let mut told = BTreeSet::new();
    for task in tasks {
        let wanted = match &task {
            Task::Overhear(_, grammar) => {
                window_waits.store(false, Ordering::Relaxed);
                Some(Arc::clone(grammar))
            }
            _ => newest(grammar),
        };
        let is_set =
            |wanted: &Arc<Grammar>| now.as_ref().is_some_and(|now| Arc::ptr_eq(wanted, now));
        let set = match &wanted {
            Some(wanted) if !is_set(wanted) => {
                ear.set_grammar_among(&wanted.automaton, &wanted.decoys)
            }
            _ => Ok(Vec::new()),
        };
        now = wanted;
        if let Ok(unheard) = &set {
            let new = unheard.iter().filter(|word| told.insert((*word).clone()));
            let new: Vec<String> = new.cloned().collect();
            if !new.is_empty() && inputs.blocking_send(Input::Unheard(new)).is_err() {
                return;
            }
        }
        let heard = match (task, set) {
            (_, Err(why)) => Err(why),
            (Task::Hear(utterance), Ok(_)) => ear.hear(utterance).map(Input::Heard),
            (Task::Overhear(window, _), Ok(_)) => ear.hear(window).map(Input::Overheard),
            (Task::Look(look), Ok(_)) if look.is_wanted() => {
                // What the engine failed at is tried again when the utterance is over.
                let pause = ear.look(&look.so_far).unwrap_or(Pause::Open);
                look.settle(pause);
                continue;
            }
            (Task::Listen | Task::Look(_), Ok(_)) => continue,
        };
        let input = heard.unwrap_or_else(Input::NotHeard);
        if inputs.blocking_send(input).is_err() {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hearing::recognizer::{EngineName, HearingError, Recognizer};
    use crate::language::{Command, Expectation, Hypothesis, Language};

    /// Knows no word but "stop".
    struct Dull;

    impl Recognizer for Dull {
        fn name(&self) -> EngineName {
            EngineName {
                engine: "dull".into(),
                model: "none".into(),
            }
        }

        fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError> {
            let words = grammar.words().into_iter();
            Ok(words
                .map(|word| word.to_string())
                .filter(|word| word != "stop")
                .collect())
        }

        fn accept(&mut self, _: &[i16]) -> Result<(), HearingError> {
            Ok(())
        }

        fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
            Ok(Vec::new())
        }
    }

    #[test]
    fn what_the_engine_does_not_know_is_told_once() {
        let language = Language::bundled("en-US").unwrap();
        let grammar = |commands: &[Command]| {
            let expected = Expectation {
                commands: commands.iter().copied().collect(),
                ..Expectation::default()
            };
            language.compile(&expected).unwrap()
        };
        let (tasks, waiting) = sync_channel(WAITING);
        let (inputs, mut heard) = tokio::sync::mpsc::channel(WAITING);
        let newest = Arc::<Newest>::default();
        let now = Arc::clone(&newest);
        let thread = thread::spawn(move || {
            let ear = Ear::new(Box::new(Dull));
            hear(ear, &waiting, &now, &AtomicBool::default(), &inputs);
        });
        let mut told = |commands: &[Command]| {
            set(&newest, &grammar(commands), Vec::new());
            tasks.send(Task::Listen).unwrap();
            let utterance = Utterance {
                start_ms: 0,
                end_ms: 0,
                samples: Vec::new(),
                cut: false,
            };
            tasks.send(Task::Hear(utterance)).unwrap();
            let mut told = Vec::new();
            while let Some(Input::Unheard(words)) = heard.blocking_recv() {
                told.extend(words);
            }
            told
        };
        assert_eq!(told(&[Command::Stop]), [""; 0]);
        let repeat = told(&[Command::Stop, Command::Repeat]);
        assert!(repeat.contains(&"repeat".to_owned()), "{repeat:?}");
        assert_eq!(told(&[Command::Stop, Command::Repeat]), [""; 0]);
        drop(tasks);
        thread.join().unwrap();
    }
}
