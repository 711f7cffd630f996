//! Readback: a voice-driven, hands-free procedure assistant for field service technicians.
//!
//! # The map
//!
//! Rooms in reading order. Each may import only rooms above it; the edges at the end import core
//! types and never one another.
//!
//! | room | what it is for |
//! |---|---|
//! | [`quantity`] | exact decimal value, unit, SI prefix, range, reading |
//! | [`measure`] | the trade's formulas: winding temperature, insulation, Pt100, thermocouple |
//! | [`language`] | words to meaning and back: grammar files, numbers, units, commands, spelling |
//! | [`procedure`] | text to a checked procedure, and everything doubtful about it |
//! | [`diagnosis`] | a series of readings to its behavior, to a finding with its reasons |
//! | [`session`] | events, the state they add up to, and what happens next |
//! | [`record`] | events to durable lines and back |
//! | [`report`] | a recorded session to its service report: text, HTML, CSV, JSON |
//! | [`archive`] | many sessions: found, compared and counted by an index that can be deleted |
//! | [`sound`] | the operating system's sound devices, as hearing and speaking find them |
//! | [`hearing`] | edge: audio in, hypotheses out |
//! | [`speaking`] | edge: words aloud |
//! | [`screen`] | edge: the page that shows a session at a glance, and its keys |
//! | [`clock`] | the only place that reads a clock |
//! | [`conversation`] | what every loop shares: one thing in, its events on disk, what to say out |
//! | [`live`] | the loop at the machine, on the machine's clock |
//! | [`replay`] | the loop over recorded audio on a virtual clock |
//! | [`cli`] | one file a subcommand; the only place that reads flags and opens user files |
//!
//! # Invariants
//!
//! - **Log first, then speak.** An event is durable before anything is said or shown because of it.
//! - **Live equals replayed.** The state after a session is what its recorded events add up to.
//! - **One automaton decides.** What may be said at a step is compiled once; every engine's own
//!   grammar and the final parse come from that one automaton.
//! - **Nothing unread is acted on.** A value counts only after it was read back; silence never
//!   confirms; what does not parse is nothing, never a guess.
//! - **Decimals end to end.** A reading is never a binary float between the word and the record.
//! - **Nothing is edited.** A correction is a new event; withdrawn readings stay in the record.
//!
//! # Absences
//!
//! - The pure rooms (`quantity`, `measure`, `language`, `procedure`, `diagnosis`, `session`) hold
//!   no file, network, environment, thread or clock access and print nothing.
//! - Nothing here reaches a network beyond the loopback interface.
//! - Nothing here commands a machine: the tool hears, keeps the place and advises.

pub mod archive;
pub mod cli;
pub mod clock;
pub mod conversation;
pub mod diagnosis;
pub mod hearing;
pub mod language;
pub mod live;
pub mod measure;
pub mod procedure;
pub mod quantity;
pub mod record;
pub mod replay;
pub mod report;
pub mod screen;
pub mod session;
pub mod sound;
pub mod speaking;
