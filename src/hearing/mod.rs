//! Audio in, hypotheses out. An edge room: engines run off the async threads and know nothing of
//! sessions; what they return is parsed again by the automaton that gave them their grammar.
//!
//! A recording is a [`wav`] source, which [`resample`]s; the [`endpoint`]er cuts its samples into
//! utterances, where a [`voice`] is and by the [`pause`] that what was said needs; an [`ear`] gives each to a [`recognizer`]
//! and says when what came back is [`other_talk`], by the [`trust`] that it earns or where the words of the
//! [`background`] fit better; two engines are heard [`together`], and who is [`speaking_up`] over
//! the assistant's own voice is heard alone. A [`microphone`] is one that is
//! [`listening`] to what [`capture`] brings, with a [`level`] to warn about; on its thread a
//! [`look`] asks the engine, on another, whether an utterance is over. [`engines`] finds out which
//! recognizers this machine has. How alike [`phones`] make phrases sound is for who writes procedures.

pub mod background;
pub mod capture;
pub mod ear;
pub mod endpoint;
pub mod engines;
pub mod level;
pub mod lexicon;
pub mod listening;
pub mod look;
pub mod microphone;
pub mod models;
#[cfg(feature = "network")]
pub mod network;
#[cfg(not(feature = "network"))]
#[path = "network/absent.rs"]
pub mod network;
pub mod other_talk;
pub mod pause;
pub mod phones;
#[cfg(feature = "pocketsphinx")]
pub mod pocketsphinx;
#[cfg(not(feature = "pocketsphinx"))]
#[path = "pocketsphinx/absent.rs"]
pub mod pocketsphinx;
pub mod ranking;
pub mod recognizer;
pub mod resample;
pub mod scripted;
pub mod speaking_up;
pub mod together;
pub mod trust;
pub mod voice;
#[cfg(feature = "vosk")]
pub mod vosk;
#[cfg(not(feature = "vosk"))]
#[path = "vosk/absent.rs"]
pub mod vosk;
pub mod wav;
pub mod windows;
pub mod worker;
