//! Every reading ever given, against its limits, and how it was heard.

use std::collections::BTreeMap;

use super::gather::Seen;
use super::model::{Heard, Judged, Reading, Standing};
use super::wording;
use crate::diagnosis;
use crate::procedure::{BranchWhen, ProofPoint, Release, StepKind};
use crate::quantity::{Amount, Range, Unit};
use crate::session::{
    self, Consequence, Event, Guide, KeptReading, Position, ReadingId, State, Withdrawal,
};

/// What the events say of readings beyond what the state keeps.
#[derive(Default)]
pub(super) struct Readings {
    heard: Option<Heard>,
    rows: BTreeMap<ReadingId, Extra>,
}

#[derive(Default)]
struct Extra {
    at: String,
    heard: Option<Heard>,
    asked: Option<String>,
    computed: Option<String>,
}

impl Readings {
    pub fn see(&mut self, seen: &Seen) {
        match seen.event() {
            Event::Heard {
                words,
                confidence,
                clip,
                ..
            } => {
                self.heard = Some(Heard {
                    words: words.clone(),
                    confidence: *confidence,
                    clip: clip.clone(),
                });
            }
            Event::ReadingGiven { id, .. } => {
                let row = self.rows.entry(*id).or_default();
                row.at = seen.at();
                row.heard.clone_from(&self.heard);
            }
            Event::ConfirmationAsked { id, why } => {
                self.rows.entry(*id).or_default().asked = Some(why_asked(why));
            }
            Event::Computed { id, source, remark } => {
                let row = self.rows.entry(*id).or_default();
                row.heard = None;
                let remark = remark.as_ref().map(|remark| format!("; {remark}"));
                row.computed = Some(format!("{source}{}", remark.unwrap_or_default()));
            }
            _ => {}
        }
    }

    pub fn end(mut self, guide: &Guide, state: &State) -> Vec<Reading> {
        let readings = state.readings.iter();
        readings
            .map(|kept| {
                row(
                    guide,
                    state,
                    kept,
                    self.rows.remove(&kept.id).unwrap_or_default(),
                )
            })
            .collect()
    }
}

fn row(guide: &Guide, state: &State, kept: &KeptReading, extra: Extra) -> Reading {
    let step = guide.step(&kept.step);
    let definition = guide.quantity(&kept.step, &kept.quantity);
    let (limits, limits_unit) = limits(guide, state, kept).unzip();
    let amount = kept.reading.amount;
    let (low, high) = match amount {
        Amount::Between(low, high) => (Some(low), Some(high)),
        _ => (None, None),
    };
    Reading {
        number: kept.id.0,
        at: extra.at,
        ms: kept.at,
        procedure: kept.step.procedure.to_string(),
        step: kept.step.step.to_string(),
        section: step.and_then(|step| step.section.clone()),
        quantity: definition.map_or_else(|| kept.quantity.to_string(), |d| d.name.clone()),
        value: amount.value().map(|value| value.to_string()),
        low: low.map(|low| low.to_string()),
        high: high.map(|high| high.to_string()),
        special: amount.special().map(str::to_owned),
        unit: kept.reading.unit.to_string(),
        judged: judged(kept, limits, limits_unit),
        limits: limits.map(|limits| limits.to_string()),
        limits_unit: limits_unit.map(|unit| unit.to_string()),
        standing: standing(kept),
        replaces: kept.replaces.map(|id| id.0),
        asked: extra.asked,
        proof: kept.proof.is_some(),
        point: point(guide, state, kept),
        after_work: step.is_some_and(|step| step.after_work),
        computed: extra.computed,
        typed: kept.typed,
        corrected: None,
        heard: extra.heard,
    }
}

fn point(guide: &Guide, state: &State, kept: &KeptReading) -> Option<String> {
    let point = proof_points(guide, &kept.step)?.get(kept.proof?)?;
    Some(guide.text(state, &point.say).written.clone())
}

/// What a step asks for to release it by measurement.
pub(super) fn proof_points<'a>(guide: &'a Guide, step: &Position) -> Option<&'a [ProofPoint]> {
    match &guide.step(step)?.kind {
        StepKind::Hold {
            release: Release::Proof(points),
            ..
        } => Some(points),
        _ => None,
    }
}

/// What a reading must lie within here, and in which unit: for a point of a hold's proof what
/// proves it, otherwise the quantity's limits.
fn limits(guide: &Guide, state: &State, kept: &KeptReading) -> Option<(Range, Unit)> {
    let definition = guide.quantity(&kept.step, &kept.quantity)?;
    let range = match (kept.proof, proof_points(guide, &kept.step)) {
        (Some(point), Some(points)) => points.get(point)?.within,
        _ => guide.limits(state, definition)?,
    };
    Some((range, definition.unit))
}

/// The side of its limits a reading is on.
pub(super) fn judged_now(guide: &Guide, state: &State, kept: &KeptReading) -> Judged {
    let (limits, unit) = limits(guide, state, kept).unzip();
    judged(kept, limits, unit)
}

fn judged(kept: &KeptReading, limits: Option<Range>, unit: Option<Unit>) -> Judged {
    let converted = unit.and_then(|unit| kept.reading.convert(unit).ok());
    let (Some(converted), Some(_)) = (converted, limits) else {
        return Judged::NoLimits;
    };
    let reading = diagnosis::Judged {
        amount: converted.amount,
        limits,
    };
    let sides = [
        (BranchWhen::Inside, Judged::Inside),
        (BranchWhen::BelowLimits, Judged::Below),
        (BranchWhen::AboveLimits, Judged::Above),
    ];
    let side = sides
        .iter()
        .find(|(side, _)| diagnosis::holds(*side, &reading));
    side.map_or(Judged::NoValue, |(_, judged)| *judged)
}

fn standing(kept: &KeptReading) -> Standing {
    match kept.standing {
        session::Standing::ReadBack => Standing::ReadBack,
        session::Standing::Confirmed => Standing::Confirmed,
        session::Standing::Given | session::Standing::Asked => Standing::Unanswered,
        session::Standing::Withdrawn(Withdrawal::Corrected) => Standing::WithdrawnCorrected,
        session::Standing::Withdrawn(Withdrawal::Disregarded) => Standing::WithdrawnDisregarded,
        session::Standing::Withdrawn(Withdrawal::Denied) => Standing::WithdrawnMisheard,
    }
}

fn why_asked(why: &Consequence) -> String {
    match why {
        Consequence::HoldProof => "it proves a hold point".to_owned(),
        Consequence::NoNumber => "it shows no number, and the way on follows from that".to_owned(),
        Consequence::Implausible => "it is not usual here".to_owned(),
        Consequence::Offered => "it was offered after the value before was not right".to_owned(),
        Consequence::Branch { other } => {
            format!("{} would lead to another step", wording::reading(other))
        }
        Consequence::Limit { other } => {
            format!(
                "{} would be on the other side of a limit",
                wording::reading(other)
            )
        }
        Consequence::Finding { other, finding } => {
            let other = wording::reading(other);
            match finding {
                Some(finding) => format!("{other} would lead to the finding `{finding}`"),
                None => format!("{other} would lead to another finding"),
            }
        }
    }
}
