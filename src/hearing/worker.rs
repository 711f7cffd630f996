//! An engine on a thread of its own: for engines that must stay on one thread, and to keep
//! decoding off the threads that must answer at once.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use super::recognizer::{EngineName, HearingError, Recognizer};
use crate::language::{Automaton, Hypothesis};

enum Task {
    SetGrammar(
        Box<Automaton>,
        Vec<String>,
        Sender<Result<Vec<String>, HearingError>>,
    ),
    Accept(Vec<i16>),
    Finish(Sender<Result<Vec<Hypothesis>, HearingError>>),
}

/// A recognizer whose engine lives on its own thread and ends with it.
pub struct Worker {
    name: EngineName,
    engine: &'static str,
    tasks: Sender<Task>,
}

impl Worker {
    /// Opens an engine on a new thread and waits until it is loaded. `engine` is its name in
    /// messages.
    ///
    /// # Errors
    ///
    /// What `open` gives, or that no thread could be had.
    pub fn spawn<R, F>(engine: &'static str, open: F) -> Result<Worker, HearingError>
    where
        R: Recognizer,
        F: FnOnce() -> Result<R, HearingError> + Send + 'static,
    {
        let (tasks, received) = channel();
        let (opened, outcome) = channel();
        let run = move || match open() {
            Ok(recognizer) => {
                // The receiver waits for exactly this; it can only be gone with the whole worker.
                let _ = opened.send(Ok(recognizer.name()));
                serve(recognizer, &received);
            }
            Err(why) => {
                let _ = opened.send(Err(why));
            }
        };
        let thread = thread::Builder::new().name(format!("{engine} engine"));
        thread.spawn(run).map_err(|why| HearingError::Engine {
            engine,
            why: format!("no thread for it: {why}"),
        })?;
        let name = outcome.recv().map_err(|_| gone(engine))??;
        Ok(Worker {
            name,
            engine,
            tasks,
        })
    }

    /// Hands over a task and waits for its answer.
    fn ask<T>(
        &self,
        task: impl FnOnce(Sender<Result<T, HearingError>>) -> Task,
    ) -> Result<T, HearingError> {
        let (answer, answered) = channel();
        let sent = self.tasks.send(task(answer));
        sent.map_err(|_| gone(self.engine))?;
        answered.recv().map_err(|_| gone(self.engine))?
    }
}

impl Recognizer for Worker {
    fn name(&self) -> EngineName {
        self.name.clone()
    }

    fn set_grammar(&mut self, grammar: &Automaton) -> Result<Vec<String>, HearingError> {
        self.set_grammar_among(grammar, &[])
    }

    fn set_grammar_among(
        &mut self,
        grammar: &Automaton,
        decoys: &[String],
    ) -> Result<Vec<String>, HearingError> {
        let grammar = Box::new(grammar.clone());
        self.ask(|answer| Task::SetGrammar(grammar, decoys.to_vec(), answer))
    }

    /// Returns at once. What goes wrong with the samples is told by `finish`.
    fn accept(&mut self, samples: &[i16]) -> Result<(), HearingError> {
        let sent = self.tasks.send(Task::Accept(samples.to_vec()));
        sent.map_err(|_| gone(self.engine))
    }

    fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
        self.ask(Task::Finish)
    }
}

fn serve(mut recognizer: impl Recognizer, tasks: &Receiver<Task>) {
    let mut failed = None;
    for task in tasks {
        // An answer nobody waits for any more is no reason to stop.
        match task {
            Task::SetGrammar(grammar, decoys, answer) => {
                let set = match decoys.is_empty() {
                    true => recognizer.set_grammar(&grammar),
                    false => recognizer.set_grammar_among(&grammar, &decoys),
                };
                let _ = answer.send(set);
            }
            Task::Accept(samples) => {
                if failed.is_none() {
                    failed = recognizer.accept(&samples).err();
                }
            }
            Task::Finish(answer) => {
                let heard = recognizer.finish();
                let _ = answer.send(match failed.take() {
                    Some(why) => Err(why),
                    None => heard,
                });
            }
        }
    }
}

fn gone(engine: &'static str) -> HearingError {
    HearingError::Engine {
        engine,
        why: "its thread ended".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counts samples; refuses loud ones.
    struct Counter(usize);

    impl Recognizer for Counter {
        fn name(&self) -> EngineName {
            EngineName {
                engine: "counter".into(),
                model: "none".into(),
            }
        }

        fn set_grammar(&mut self, _: &Automaton) -> Result<Vec<String>, HearingError> {
            Ok(Vec::new())
        }

        fn accept(&mut self, samples: &[i16]) -> Result<(), HearingError> {
            if samples.contains(&i16::MAX) {
                return Err(HearingError::Engine {
                    engine: "counter",
                    why: "too loud".into(),
                });
            }
            self.0 += samples.len();
            Ok(())
        }

        fn finish(&mut self) -> Result<Vec<Hypothesis>, HearingError> {
            let heard = Hypothesis {
                score: Some(self.0 as f32),
                ..Hypothesis::default()
            };
            self.0 = 0;
            Ok(vec![heard])
        }
    }

    #[test]
    fn samples_reach_the_engine_in_order_and_a_failure_costs_one_utterance() {
        let mut worker = Worker::spawn("counter", || Ok(Counter(0))).unwrap();
        assert_eq!(worker.name().engine, "counter");
        worker.set_grammar(&Automaton::default()).unwrap();
        worker.accept(&[0; 100]).unwrap();
        worker.accept(&[0; 60]).unwrap();
        assert_eq!(worker.finish().unwrap()[0].score, Some(160.0));
        worker.accept(&[i16::MAX]).unwrap();
        assert_eq!(
            worker.finish().unwrap_err().to_string(),
            "counter failed: too loud"
        );
        worker.accept(&[0; 5]).unwrap();
        assert_eq!(worker.finish().unwrap()[0].score, Some(5.0));
    }

    #[test]
    fn an_engine_that_does_not_open_says_why() {
        let opened = Worker::spawn("counter", || {
            Err::<Counter, _>(HearingError::Missing {
                what: "model is missing".into(),
                remedy: "get one".into(),
            })
        });
        assert_eq!(
            opened.err().unwrap().to_string(),
            "model is missing; get one"
        );
    }
}
