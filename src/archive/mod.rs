//! Many sessions: found, counted and compared.
//!
//! The session folders are the truth. Beside them lies an index, which holds what is asked for most
//! and is made from them; it may be deleted at any time, and what changed since is read again
//! before anything is answered.
//!
//! | module | what it holds |
//! |---|---|
//! | `index` | the index file: made, brought up to date, thrown away when it is of no use |
//! | `rows` | what of a session's report goes into the index |
//! | `find` | which sessions there are |
//! | `compare` | the same unit over time, the same step over units |
//! | `tally` | how often each finding, how long each step, what was misheard, what was repeated |

mod compare;
mod find;
mod index;
mod rows;
mod tally;

pub use compare::Compared;
pub use find::{Listed, Wanted};
pub use index::{Archive, ArchiveError, Refreshed, Unreadable};
pub use rows::Kept;
pub use tally::{FindingCount, Misheard, StepTime, Tally};
