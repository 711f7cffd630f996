//! Words aloud. An edge room.
//!
//! | voice | what it does |
//! |---|---|
//! | [`text`] | writes each sentence to a given place; needs nothing |
//! | [`system`] | the operating system's speech service, on a thread of its own |
//! | [`wav`] | one WAV file, by `espeak-ng` or `flite` as a child process |
//!
//! [`speaker`] puts text and a voice together: a voice that is missing or fails is mentioned once,
//! and everything goes on in text. A live session gives its sentences to a [`mouth`], and marks
//! what it hears with [`earcon`]s.

pub mod duration;
pub mod earcon;
pub mod mouth;
pub mod sentences;
pub mod speaker;
pub mod speaker_names;
pub mod synthesizer;
#[cfg_attr(not(feature = "system-voice"), path = "system_off.rs")]
pub mod system;
pub mod text;
pub mod voice;
pub mod wav;
