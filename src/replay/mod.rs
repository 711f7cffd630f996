//! The loop over recorded audio or words on a virtual clock: an hour passes as fast as it is worked
//! through.
//!
//! [`Replay`] takes a conversation, what the technician says and when ([`cue`]), and an ear where
//! that is audio. A [`Listener`] follows what is said, heard and recorded.

pub mod cue;
pub mod manifest;
mod run;
mod speaking;
mod transcript;

pub use run::{Replay, ReplayError};
pub use transcript::{Line, Listener, Speaker};
