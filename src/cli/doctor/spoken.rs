//! A spoken "next", from the microphone or a recording, through the engine that a session would
//! take.

use std::path::Path;
use std::time::Duration;

use serde::Serialize;

use super::microphone::Booth;
use super::{Check, missing, voice, works};
use crate::cli::cues;
use crate::cli::job::Ears;
use crate::clock::{Clock, Deadline, SystemClock};
use crate::hearing::ear::{Ear, Heard};
use crate::hearing::listening::Sound;
use crate::hearing::pause::Pause;
use crate::language::{Automaton, Command, Expectation, Language, Meaning};

/// How long it waits for somebody to speak.
const PATIENCE: Duration = Duration::from_secs(8);

const RECOGNITION: &str = "recognition";

/// What was heard, and how soon.
#[derive(Serialize)]
pub struct Answered {
    words: String,
    /// Whether it was "next".
    pub(super) understood: bool,
    engine: String,
    model: String,
    /// From the end of the words, or of a recording, to the answer of the engine.
    after_ms: u64,
}

/// An engine with the grammar of everything that can be said.
struct Bench {
    ear: Ear,
    grammar: Automaton,
}

/// Asks for it, and waits for it.
///
/// # Errors
///
/// There is no engine, or nobody spoke: the check that says so.
pub fn from(booth: &Booth, ears: &Ears, locale: &str) -> Result<Answered, Check> {
    let mut bench = Bench::open(ears, locale)?;
    booth.forget();
    eprintln!("now you: {}", voice::prompt(locale));
    let deadline = Deadline::after(PATIENCE);
    let mut answered = None;
    while let Some(sound) = booth.next(deadline) {
        match sound {
            Sound::Look(look) => {
                let pause = bench.ear.look(&look.so_far).unwrap_or(Pause::Open);
                look.settle(pause);
            }
            Sound::Utterance(utterance) => {
                let heard = bench.ear.hear(utterance);
                let heard = heard.map_err(|e| missing(RECOGNITION, e.to_string(), "try again"))?;
                let words = heard.hypotheses.first().and_then(|best| best.words.last());
                let end = words.map_or(heard.utterance.end_ms, |last| last.end_ms);
                let found = bench.answered(&heard, booth.now().saturating_sub(end));
                if found.understood {
                    return Ok(found);
                }
                answered = Some(found);
            }
            _ => {}
        }
    }
    answered.ok_or_else(|| {
        missing(
            RECOGNITION,
            "nobody spoke within eight seconds, or not loud enough",
            "say \"next\" when you are asked to, or give a recording of it with `--fixture FILE`",
        )
    })
}

/// The first utterance of a recording.
///
/// # Errors
///
/// There is no engine, no such file, or nobody speaks in it: the check that says so.
pub fn from_file(file: &Path, ears: &Ears, locale: &str) -> Result<Answered, Check> {
    let another = "give another recording with `--fixture`";
    let mut bench = Bench::open(ears, locale)?;
    let utterances = cues::from_recording(file);
    let utterances = utterances.map_err(|e| missing(RECOGNITION, e.to_string(), another))?;
    let first = utterances.into_iter().next();
    let nobody = || {
        let found = format!("nobody speaks in `{}`", file.display());
        missing(RECOGNITION, found, another)
    };
    let clock = SystemClock::starting_at(0);
    let heard = bench.ear.hear(first.ok_or_else(nobody)?);
    let heard = heard.map_err(|e| missing(RECOGNITION, e.to_string(), another))?;
    Ok(bench.answered(&heard, clock.now().ms))
}

impl Bench {
    fn open(ears: &Ears, locale: &str) -> Result<Bench, Check> {
        let unusable = |why: String| missing(RECOGNITION, why, "see the engines above");
        let language = Language::bundled(locale).map_err(|e| unusable(e.to_string()))?;
        let grammar = language.compile(&Expectation::everything());
        let grammar = grammar.map_err(|e| unusable(e.to_string()))?;
        let mut ear = ears.open(locale).map_err(|e| unusable(e.to_string()))?;
        let set = ear.set_grammar(&grammar);
        set.map_err(|e| unusable(e.to_string()))?;
        Ok(Bench { ear, grammar })
    }

    fn answered(&self, heard: &Heard, after_ms: u64) -> Answered {
        let best = heard.hypotheses.first();
        let meaning = best.map(|best| self.grammar.parse(&best.words).meaning());
        let next = matches!(
            meaning,
            Some(Meaning::Command {
                command: Command::Next,
                ..
            })
        );
        let name = self.ear.name();
        Answered {
            words: best.map(|best| best.text()).unwrap_or_default(),
            understood: next && heard.rejected.is_none(),
            engine: name.engine,
            model: name.model,
            after_ms,
        }
    }
}

impl Answered {
    pub fn check(&self) -> Check {
        let Answered {
            words,
            engine,
            model,
            after_ms,
            ..
        } = self;
        let found = format!("heard `{words}` by {engine}, {model}, {after_ms} ms after its end");
        match self.understood {
            true => works(RECOGNITION, found),
            false => missing(
                RECOGNITION,
                format!("{found}, expected \"next\""),
                "speak from a hand's breadth away, or choose another microphone with `--device`, or \
                 another engine with `--engine`",
            ),
        }
    }
}
