//! Regions of a plane in plain words.

use super::cells::Cell;
use super::plane::{Column, Condition};
use crate::procedure::BehaviorKind;
use crate::quantity::Range;

/// The behavior as the table writes it.
pub(super) fn column_name(column: Column) -> &'static str {
    match column {
        Column::Single => "a value",
        Column::Behavior(kind) => behavior_name(kind),
    }
}

pub(super) fn behavior_name(kind: BehaviorKind) -> &'static str {
    match kind {
        BehaviorKind::NearZero => "`near_zero`",
        BehaviorKind::Steady => "`steady`",
        BehaviorKind::Settles => "`settles`",
        BehaviorKind::Unsteady => "`unsteady`",
        BehaviorKind::Falling => "`falling`",
        BehaviorKind::Rising => "`rising`",
    }
}

/// "at `200..220`".
pub(super) fn level_text(level: &Range) -> String {
    format!("at `{level}`")
}

/// "`winding` shows `5..8`".
pub(super) fn condition_text(condition: &Condition) -> String {
    let what = match &condition.step {
        Some(step) => format!("`{step}`"),
        None => "the first peak".to_owned(),
    };
    match condition.shows {
        None => "there is no first peak".to_owned(),
        Some(Cell::Values(range)) => format!("{what} is `{range}`"),
        Some(Cell::OverRange) => format!("{what} is over range"),
        Some(Cell::Short) => format!("{what} is short"),
    }
}
