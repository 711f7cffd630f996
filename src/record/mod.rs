//! Events to durable lines and back.
//!
//! # The session folder
//!
//! | file | what it is |
//! |---|---|
//! | `session.jsonl` | one event a line, each bound to the line before by its hash |
//! | `clips/000001.wav` | what was heard: one file an utterance, one channel, 16 bit |
//! | `procedure/...` | the procedure's files as they were when the session began |
//! | `session.jsonl.torn-1` | the unfinished end of a write that was cut off, set aside by `resume` |
//! | `signed/...` | signatures over the end of the record; see `signed.rs` |
//! | `manifest.json` | in a folder that was unpacked: what the pack held, and where its record ended |
//! | `lock` | locked while a process has the session open; holds that process's number |
//!
//! # A line
//!
//! A JSON object in the canonical form of RFC 8785 (no blanks, members sorted), ended by a newline:
//!
//! | member | what it is |
//! |---|---|
//! | `at` | wall time with offset, RFC 3339, milliseconds |
//! | `clip` | `{"file", "sha256"}`: the clip this line came from, and the SHA-256 of that file |
//! | `event` | the event itself; its form is the session's |
//! | `mark` | in place of an event, what the record says about itself: `opened` (always line 1, with the format, how the record was made, and the procedure's files with their SHA-256), `resumed` (with what was set aside), `clips_cleared` (with the clips that were removed), `closed` |
//! | `more` | `true` where the next line belongs to the same decision: neither counts without the other |
//! | `ms` | milliseconds since the session began, never running backward |
//! | `n` | the line's number, from 1 |
//! | `sha256` | see below; 64 lower-case hexadecimal digits |
//!
//! `clip`, `event`, `mark` and `more` are left out where they do not apply. Whole numbers beyond
//! 2^53 cannot stand in such a line (RFC 8785, section 3.2.2.3); measured values are text.
//!
//! # Recomputing the hashes
//!
//! Start with 64 zeros (`0`) as the previous hash. For each line: take the object without its member
//! `sha256`, write it as canonical JSON (RFC 8785) in UTF-8, put the 64 digits of the previous hash
//! directly before it, and take the SHA-256 of the whole. The result, as lower-case hexadecimal
//! digits, must be the line's `sha256`, and is the previous hash of the next line. Since `sha256`
//! sorts last and the line is canonical, the text to be hashed is also the line itself with
//! `,"sha256":"..."` taken out before the closing brace. `tests/record/recompute.py` does it with
//! other libraries.
//!
//! # What it guarantees, and what it cannot
//!
//! - When `append` returns, the events and their clip are on disk (synced, and so is the folder
//!   after a file was made).
//! - Events appended together are all there or not at all.
//! - An altered, removed, added or moved line, a changed or missing clip and a changed procedure
//!   file are found by [`verify`], which names the first bad line.
//! - A cut in the middle of a line, between the lines of one decision, or of a closed record is
//!   found. The chain alone cannot show that lines were cut off the end and a new closing line was
//!   written, nor that the whole record was written anew: it has no secret. Whoever wants to know
//!   keeps the head hash and the number of lines elsewhere, as they are printed at the end of a
//!   session and by `verify`, and gives the hash to [`verify`] later, or signs it with [`sign`].

mod append;
mod chain;
mod clear;
mod clip;
mod events_file;
mod folder;
mod line;
mod manifest;
mod pack;
mod read;
mod signed;
mod trouble;
mod verify;

pub use append::{Opening, Record};
pub use clear::clear_clips;
pub use clip::Clip;
pub use folder::must_be_writable;
pub use line::{BoundFile, Hash, Mark};
pub use manifest::Manifest;
pub use pack::{pack, unpack};
pub use read::{
    Entry, Recorded, Resumed, clip, procedure_as_it_is, procedure_as_it_was, read, read_up_to_fault,
};
pub use signed::{Key, PublicKey, Signed, sign};
pub use trouble::RecordError;
pub use verify::{Fault, Verification, verify};
