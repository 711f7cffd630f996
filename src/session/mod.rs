//! Events, the state they add up to, and what happens next.
//!
//! The whole of a session is three pure functions: [`decide`] turns an input into events, [`apply`]
//! adds one event to the state, and [`speech`] is what is said because of an event. Around them
//! [`expectation`] says what may be heard now, and [`next_due`] when to look at the clock again.
//!
//! The loop that wires them to a machine does this with each input, and nothing else:
//!
//! 1. `decide(&guide, &state, input, now)`;
//! 2. each event is written down before anything else happens because of it;
//! 3. `speech(&guide, &state, &event)` is queued, then `state = apply(state, &event)`;
//! 4. when the queue has been heard to its end, `Input::Spoken { through: state.count }`;
//! 5. at `next_due(&state)`, `Input::Tick`, but not while an utterance is being heard: its values
//!    belong to the time at which they were spoken.
//!
//! In reading order:
//!
//! | module | what it holds |
//! |---|---|
//! | `event`, `parts` | what happened, in the past tense, and the words the facts are made of |
//! | `state`, `apply` | where a session stands, and how one fact changes that |
//! | `guide`, `phrases` | what a session goes by: the procedure, its language, the assistant's phrases |
//! | `input` | what can come in: an utterance, spoken or typed, a time, the end of a prompt |
//! | `decide` | what happens because of an input: the talk, and the way from step to step |
//! | `steps` | what each kind of step does of its own, and its time |
//! | `confirm` | how much a value must be confirmed: by what a mistake would cost |
//! | `expectation` | what may be heard now |
//! | `speech` | what is said because of an event |
//! | `amend` | what is put right after the session, beside what it came to |
//! | `values` | a spoken value as a reading of the quantity that was asked for |

mod amend;
mod apply;
mod confirm;
mod decide;
mod event;
mod expectation;
mod guide;
mod input;
mod parts;
mod phrases;
mod speech;
mod state;
mod steps;
mod values;

pub use amend::{
    AmendError, Reviewer, amend, corrected, job_line_written, signed_off, words_put_right,
};
pub use apply::apply;
pub use confirm::confusions::{Confusions, ConfusionsError};
pub use decide::decide;
pub use event::{Event, heard};
pub use expectation::expectation;
pub use guide::{Guide, GuideError};
pub use input::{Input, Opening, Utterance};
pub use parts::*;
pub use phrases::{Phrase, Phrases, PhrasesError};
pub use speech::{
    Sentence, behavior_phrase, commands_that_go_on, prompt, refused, speech, words_for,
};
pub use state::*;
pub use steps::examined::{Examined, examined};
pub use steps::timer::next_due;
