//! The table of a diagnose step: what a series may mean.

use serde::{Deserialize, Serialize};

use super::by_variant::ByVariant;
use super::model::{BranchWhen, Text};
use super::names::{FindingId, ProcedureId, StepId, VariantId};
use super::place::Place;
use crate::quantity::Range;

/// How a series behaves. The words of a findings table.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum BehaviorKind {
    /// Every value within the zero band.
    NearZero,
    /// The same level from first to last.
    Steady,
    /// Comes to a level and stays there, with or without a first peak.
    Settles,
    /// Up and down without coming to rest.
    Unsteady,
    /// Goes down from first to last.
    Falling,
    /// Goes up from first to last.
    Rising,
}

/// One row of a diagnose step's table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FindingRow {
    pub id: FindingId,
    pub place: Place,
    /// As said: "the circulator is healthy".
    pub say: Text,
    /// Any of these; empty: any behavior.
    pub behaviors: Vec<BehaviorKind>,
    /// Where the level must lie; `None` for any level. `Some(None)` cannot occur: a variant without
    /// the row is left out by `only`.
    pub level: ByVariant<Option<Range>>,
    /// Where the first peak must lie, for a series that has one.
    pub first_peak: ByVariant<Option<Range>>,
    /// Conditions on other readings: all must hold.
    pub readings: Vec<ReadingCondition>,
    pub only: Option<Vec<VariantId>>,
    pub leads_to: LeadsTo,
    /// The part to replace.
    pub part: Option<String>,
    /// Who to call.
    pub contact: Option<String>,
}

/// "Winding open", "supply below its limits": a condition on an earlier step's reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingCondition {
    pub step: StepId,
    pub when: BranchWhen,
}

/// What a finding leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LeadsTo {
    Next,
    GoTo(StepId),
    Call(ProcedureId),
    /// Ends the procedure with this conclusion.
    Finish(Text),
}
