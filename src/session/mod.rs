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

mod apply;
mod event;
mod guide;
mod input;
mod parts;
mod state;

pub use apply::apply;
pub use event::Event;
pub use guide::Guide;
pub use input::{Input, Opening, Utterance};
pub use parts::*;
pub use state::*;
