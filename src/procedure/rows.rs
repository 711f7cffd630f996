//! The findings table of a diagnose step as written to the checked table.

use indexmap::IndexMap;

use super::findings::{FindingRow, LeadsTo, ReadingCondition};
use super::model::StepKind;
use super::names::{FindingId, ProcedureId, StepId};
use super::place::At;
use super::scope::Scope;
use super::source::{ConditionSource, DiagnoseSource, FindingSource};
use super::source_step::Gives;

impl Scope<'_> {
    pub fn diagnose(&mut self, step: &DiagnoseSource) -> Option<StepKind> {
        let of = self.judged(&step.of);
        let mut ids = IndexMap::new();
        let mut whole = true;
        let mut findings = Vec::new();
        for source in &step.findings {
            whole &= self.unique("finding", &source.id, &mut ids);
            match self.row(source) {
                Some(row) => findings.push(row),
                None => whole = false,
            }
        }
        if step.findings.is_empty() {
            self.findings.error(
                "no-findings",
                step.id.place,
                format!("diagnose step `{}` without findings", step.id.value),
                "one or more",
                "write the table under `findings`",
            );
            return None;
        }
        whole.then_some(StepKind::Diagnose { of: of?, findings })
    }

    fn judged(&mut self, name: &At<String>) -> Option<StepId> {
        let step = self.step(name)?;
        if !matches!(self.steps.get(step.as_str()), Some(Gives::Nothing) | None) {
            return Some(step);
        }
        self.findings.error(
            "gives-no-value",
            name.place,
            format!("step `{step}`, which gives no value"),
            "a read, watch or compute step",
            "name the step that is judged",
        );
        None
    }

    fn row(&mut self, source: &FindingSource) -> Option<FindingRow> {
        let only = self.only(&source.only);
        let say = self.text(&source.say);
        let level = self.optional_ranges(&source.level);
        let first_peak = self.optional_ranges(&source.first_peak);
        let readings: Vec<_> = source.readings.iter().map(|c| self.condition(c)).collect();
        let leads_to = self.leads_to(source);
        let part = self.optional_plain(&source.part);
        let contact = self.optional_plain(&source.contact);
        Some(FindingRow {
            id: FindingId(source.id.value.clone()),
            place: source.id.place,
            say: say?,
            behaviors: source.behavior.iter().map(|b| b.value).collect(),
            level: level?,
            first_peak: first_peak?,
            readings: readings.into_iter().collect::<Option<_>>()?,
            only: only?,
            leads_to: leads_to?,
            part: part?,
            contact: contact?,
        })
    }

    fn condition(&mut self, source: &ConditionSource) -> Option<ReadingCondition> {
        let step = self.value_step(&source.step);
        let when = self.when(&source.when);
        Some(ReadingCondition {
            step: step?,
            when: when?,
        })
    }

    fn leads_to(&mut self, source: &FindingSource) -> Option<LeadsTo> {
        match (&source.go_to, &source.call, &source.finish) {
            (None, None, None) => Some(LeadsTo::Next),
            (Some(step), None, None) => self.step(step).map(LeadsTo::GoTo),
            (None, Some(id), None) => self.plain(id).map(|id| LeadsTo::Call(ProcedureId(id))),
            (None, None, Some(text)) => self.text(text).map(LeadsTo::Finish),
            _ => {
                self.findings.error(
                    "leads-to",
                    source.id.place,
                    format!("finding `{}` that leads to several places", source.id.value),
                    "at most one of `go_to`, `call` and `finish`",
                    "keep the one that is meant",
                );
                None
            }
        }
    }
}
