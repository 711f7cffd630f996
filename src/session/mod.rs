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

mod answer;
mod apply;
mod back;
mod choose;
mod commands;
mod compute;
mod confirm;
mod confusions;
mod correct;
mod decide;
mod diagnose;
mod entry;
mod event;
mod expectation;
mod flow;
mod guide;
mod hear;
mod hold;
mod input;
mod parts;
mod phrases;
mod read;
mod speech;
mod state;
mod supply;
mod timer;
mod turn;
mod values;
mod watch;
mod work;

pub use apply::apply;
pub use confusions::{Confusions, ConfusionsError};
pub use decide::decide;
pub use event::Event;
pub use expectation::expectation;
pub use guide::{Guide, GuideError};
pub use input::{Input, Opening, Utterance};
pub use parts::*;
pub use phrases::{Phrase, Phrases, PhrasesError};
pub use speech::{Sentence, speech};
pub use state::*;
pub use timer::next_due;
