//! What was judged, why, and what the technician put in its place.

use rust_decimal::Decimal;

use super::gather::{Seen, spoken};
use super::model::{Evidence, Finding, Named, Verdict};
use super::wording;
use crate::diagnosis;
use crate::procedure::{FindingId, StepKind};
use crate::session::{self, Event, Examined, Guide, Missing, Position, State};

#[derive(Default)]
pub(super) struct Findings {
    rows: Vec<Finding>,
}

impl Findings {
    pub fn see(&mut self, seen: &Seen) {
        match seen.event() {
            Event::FindingReached {
                step,
                finding,
                say,
                why,
                margin,
                runner_up,
            } => {
                let mut row = self.judged(
                    seen,
                    step,
                    Verdict::Finding,
                    std::slice::from_ref(finding),
                    why,
                );
                if let Some(named) = row.findings.first_mut() {
                    named.says.clone_from(say);
                }
                let unit = why.unit.sign();
                row.margin = margin.map(|margin| format!("{margin} {unit}").trim_end().to_owned());
                row.runner_up = runner_up
                    .as_ref()
                    .map(|id| named(seen.guide, seen.state, step, id));
                self.rows.push(row);
            }
            Event::FindingsEqual {
                step,
                findings,
                why,
            } => {
                let row = self.judged(seen, step, Verdict::Equal, findings, why);
                self.rows.push(row);
            }
            Event::Undetermined { step, why, missing } => {
                let mut row = self.judged(seen, step, Verdict::Undetermined, &[], why);
                let wanted = row.missing.take();
                row.missing = Some(wanted.unwrap_or_else(|| still_missing(seen, step, missing)));
                self.rows.push(row);
            }
            Event::Overridden {
                step, to, reason, ..
            } => {
                self.superseded(step);
                let mut row = empty(seen, step, Verdict::Overridden);
                row.findings.push(named(seen.guide, seen.state, step, to));
                row.reason = Some(spoken(reason));
                self.rows.push(row);
            }
            _ => {}
        }
    }

    pub fn end(self) -> Vec<Finding> {
        self.rows
    }

    /// A judgement with its reasons, if this version of the program still comes to the same one.
    fn judged(
        &mut self,
        seen: &Seen,
        step: &Position,
        verdict: Verdict,
        findings: &[FindingId],
        why: &session::Evidence,
    ) -> Finding {
        self.superseded(step);
        let mut row = empty(seen, step, verdict);
        row.findings = findings
            .iter()
            .map(|id| named(seen.guide, seen.state, step, id))
            .collect();
        row.evidence = Some(evidence(why));
        let again = session::examined(seen.guide, seen.state, step);
        if let Some(again) = again.filter(|again| agrees(again, verdict, findings)) {
            row.why = again.why;
            row.missing = again.ask;
            row.chart = again.chart;
        }
        row
    }

    fn superseded(&mut self, step: &Position) {
        let same = |row: &&mut Finding| {
            row.step == step.step.as_str() && row.procedure == step.procedure.as_str()
        };
        for row in self.rows.iter_mut().filter(same) {
            row.stands = false;
        }
    }
}

fn empty(seen: &Seen, step: &Position, verdict: Verdict) -> Finding {
    Finding {
        at: seen.at(),
        ms: seen.ms(),
        procedure: step.procedure.to_string(),
        step: step.step.to_string(),
        verdict,
        stands: true,
        findings: Vec::new(),
        evidence: None,
        why: Vec::new(),
        missing: None,
        runner_up: None,
        margin: None,
        reason: None,
        again: None,
        chart: None,
    }
}

fn agrees(again: &Examined, verdict: Verdict, findings: &[FindingId]) -> bool {
    match (&again.judgement.verdict, verdict) {
        (diagnosis::Verdict::Finding(found), Verdict::Finding) => findings == [found.id.clone()],
        (diagnosis::Verdict::Equal(ids), Verdict::Equal) => findings == ids.as_slice(),
        (diagnosis::Verdict::Undetermined(_), Verdict::Undetermined) => true,
        _ => false,
    }
}

/// A finding with what it says, as written for the unit's variant.
pub(super) fn named(guide: &Guide, state: &State, step: &Position, id: &FindingId) -> Named {
    let rows = match guide.step(step).map(|step| &step.kind) {
        Some(StepKind::Diagnose { findings, .. }) => findings.as_slice(),
        _ => &[],
    };
    let row = rows.iter().find(|row| row.id == *id);
    let says = row.map(|row| guide.text(state, &row.say).written.clone());
    Named {
        id: id.to_string(),
        says: says.unwrap_or_else(|| id.to_string()),
    }
}

fn evidence(why: &session::Evidence) -> Evidence {
    let text = |value: Option<Decimal>| value.map(|value| value.to_string());
    Evidence {
        unit: why.unit.to_string(),
        behavior: why.behavior,
        readings: why.readings,
        level: text(why.level),
        first_peak: text(why.first_peak),
        slope_per_min: text(why.slope_per_min),
        between: why
            .between
            .map(|(low, high)| (low.to_string(), high.to_string())),
        set_aside: text(why.set_aside),
    }
}

fn still_missing(seen: &Seen, step: &Position, missing: &Missing) -> String {
    match missing {
        Missing::Readings { more } => {
            format!("{} needed", wording::counted(*more, "more reading"))
        }
        Missing::Step { step } => format!("the reading of step `{step}` is needed"),
        Missing::Numbers => "too many readings show no number".to_owned(),
        Missing::Kept => {
            "nothing was called out on this visit, and the values of an earlier one were not taken"
                .to_owned()
        }
        Missing::All => "nothing was called out".to_owned(),
        Missing::Finding { nearest: None } => "no finding covers what was read".to_owned(),
        Missing::Finding {
            nearest: Some(nearest),
        } => {
            let nearest = named(seen.guide, seen.state, step, nearest).says;
            format!("no finding covers what was read; the nearest is: {nearest}")
        }
    }
}
