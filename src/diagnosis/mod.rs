//! What the readings mean: a series to its behavior, to a finding with its reasons.
//!
//! [`Series`] holds what was read, [`judge`] turns it and a findings table into a [`Judgement`],
//! [`progress`] says during a watch whether it may end. What the words for a behavior mean stands
//! in [`classify`], what a condition on a single reading means in [`condition`].

mod account;
mod behavior;
pub mod classify;
mod cleaning;
pub mod condition;
mod enough;
mod examine;
mod fit;
mod judge;
mod mishearing;
pub mod plot;
mod report;
mod series;
pub mod statistics;
mod verdict;

pub use account::Numbers;
pub use behavior::{Behavior, Pattern, Peak, SetAside};
pub use condition::{Judged, holds};
pub use enough::{Progress, progress};
pub use judge::{Table, judge, judge_with};
pub use plot::plot;
pub use report::Report;
pub use series::{Sample, Series, SeriesError};
pub use verdict::{Ask, Finding, Judgement, Nearest, Verdict};
