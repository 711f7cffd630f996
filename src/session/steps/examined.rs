//! A diagnose step looked at once more, for whoever reads the record.

use super::diagnose;
use crate::diagnosis::{self, Judgement};
use crate::procedure::StepKind;
use crate::session::guide::Guide;
use crate::session::parts::Position;
use crate::session::state::State;

/// What the readings under a diagnose step come to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Examined {
    pub judgement: Judgement,
    /// The reasons in plain sentences, readings by their numbers in the session.
    pub why: Vec<String>,
    /// What is asked for where there is no single finding.
    pub ask: Option<String>,
    /// The readings against the levels of the findings as an SVG document, withdrawn readings
    /// hollow. `None` where a single value was judged.
    pub chart: Option<String>,
}

/// Judges the readings that count now under a diagnose step. `None` where the step is none, or
/// nothing was read.
pub fn examined(guide: &Guide, state: &State, diagnose_step: &Position) -> Option<Examined> {
    let StepKind::Diagnose { of, .. } = &guide.step(diagnose_step)?.kind else {
        return None;
    };
    let of = Position {
        procedure: diagnose_step.procedure.clone(),
        step: of.clone(),
    };
    let counted = state.series(&of);
    let visit = counted.first()?.visit;
    let mut all: Vec<_> = state.readings.iter().collect();
    all.retain(|r| r.step == of && r.visit == visit && (r.counts() || r.withdrawn()));
    all.sort_by_key(|r| (r.at, r.id));
    let look = |series: &diagnosis::Series, table: &diagnosis::Table| {
        let judgement = diagnosis::judge(series, table);
        let ids = counted.iter().map(|kept| kept.id.0);
        let numbers = diagnosis::Numbers::given(series, ids);
        let why = judgement.why(table, &numbers);
        (why, judgement.ask(&numbers), judgement)
    };
    let (why, ask, judgement) = diagnose::with_table(guide, state, diagnose_step, &counted, look)?;
    let drawn = |series: &diagnosis::Series, table: &diagnosis::Table| {
        (!series.is_once()).then(|| diagnosis::plot(series, table, &judgement))
    };
    let chart = diagnose::with_table(guide, state, diagnose_step, &all, drawn).flatten();
    Some(Examined {
        judgement,
        why,
        ask,
        chart,
    })
}
