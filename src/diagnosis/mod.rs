//! What the readings mean: a series to its behavior, to a finding with its reasons.
//!
//! [`Series`] holds what was read, [`judge`] turns it and a findings table into a [`Judgement`].

mod behavior;
pub mod classify;
mod cleaning;
pub mod condition;
mod examine;
mod judge;
mod mishearing;
mod series;
pub mod statistics;
mod verdict;

pub use behavior::{Behavior, Pattern, Peak, SetAside};
pub use condition::{Judged, holds};
pub use judge::{Table, judge, judge_with};
pub use series::{Figures, Sample, Series, SeriesError};
pub use verdict::{Ask, Finding, Judgement, Nearest, Verdict};
