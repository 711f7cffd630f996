//! A judgement as the one JSON document that scripts read.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Serialize, Serializer};

use super::account::Numbers;
use super::judge::Table;
use super::verdict::{Ask, Judgement, Verdict};
use crate::procedure::{FindingId, ProcedureId, StepId, VariantId};

/// What `diagnose --json` prints. Values are in the unit of the step's quantity.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    pub procedure: ProcedureId,
    pub step: StepId,
    pub variant: VariantId,
    /// `near_zero`, `steady`, `settles`, `unsteady`, `falling`, `rising`, `once`, `too_few` or
    /// `undetermined`.
    pub behavior: &'static str,
    #[serde(serialize_with = "number")]
    pub level: Option<Decimal>,
    #[serde(serialize_with = "number")]
    pub peak: Option<Decimal>,
    #[serde(serialize_with = "number")]
    pub slope_per_min: Option<Decimal>,
    /// `None` where there is no finding or several rank equal.
    pub finding: Option<FindingId>,
    /// The findings that rank equal, where there are several.
    pub equal: Vec<FindingId>,
    /// The nearest other finding; without a finding the nearest of all.
    pub runner_up: Option<FindingId>,
    /// How far the readings are from the runner-up.
    #[serde(serialize_with = "number")]
    pub margin: Option<Decimal>,
    pub why: Vec<String>,
    pub ask: Option<String>,
}

impl Report {
    /// The report of a judgement and the table it was judged against.
    pub fn new(
        procedure: &ProcedureId,
        step: &StepId,
        table: &Table,
        judgement: &Judgement,
        numbers: &Numbers,
    ) -> Report {
        let behavior = &judgement.behavior;
        let (equal, nearest) = match &judgement.verdict {
            Verdict::Finding(finding) => (Vec::new(), finding.runner_up.clone()),
            Verdict::Equal(ids) => (ids.clone(), None),
            Verdict::Undetermined(Ask::NoFinding { nearest }) => (Vec::new(), nearest.clone()),
            Verdict::Undetermined(_) => (Vec::new(), None),
        };
        let (runner_up, margin) = nearest.map(|near| (near.id, near.margin)).unzip();
        Report {
            procedure: procedure.clone(),
            step: step.clone(),
            variant: table.variant.clone(),
            behavior: behavior.name(),
            level: behavior.level,
            peak: behavior.peak.map(|peak| peak.value),
            slope_per_min: behavior.slope_per_min,
            finding: judgement.finding().map(|finding| finding.id.clone()),
            equal,
            runner_up,
            margin,
            why: judgement.why(table, numbers),
            ask: judgement.ask(numbers),
        }
    }
}

/// A JSON number: whole where the value is, otherwise with its decimals.
fn number<S: Serializer>(value: &Option<Decimal>, serializer: S) -> Result<S::Ok, S::Error> {
    let Some(value) = value else {
        return serializer.serialize_none();
    };
    match value.normalize() {
        whole if whole.scale() == 0 && whole.to_i64().is_some() => {
            serializer.serialize_i64(whole.to_i64().unwrap_or_default())
        }
        value => serializer.serialize_f64(value.to_f64().unwrap_or_default()),
    }
}
