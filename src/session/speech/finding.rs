//! Findings with their reasons, and the technician's word over them.

use super::{Sentence, answers, plain};
use crate::procedure::{BehaviorKind, FindingId, FindingRow, LeadsTo, StepKind};
use crate::quantity::{Amount, Decimal, Reading};
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::parts::{Evidence, Missing, Position};
use crate::session::phrases::Phrase;
use crate::session::state::{KeptVerdict, State};
use crate::session::steps::diagnose;

pub(super) fn of_finding(
    guide: &Guide,
    before: &State,
    after: &State,
    event: &Event,
) -> Vec<Sentence> {
    match event {
        Event::FindingReached {
            finding,
            why,
            margin,
            runner_up,
            ..
        } => {
            let reasons = reasons(guide, why);
            let mut sentences = vec![told(guide, after, finding, &reasons)];
            sentences.extend(set_aside(guide, why));
            sentences.extend(replaced(guide, after, finding));
            if let (Some(margin), Some(other)) = (margin, runner_up)
                && matters(guide, after, why, *margin)
            {
                let margin = say_value(guide, why, *margin);
                let other = said(guide, after, other);
                let slots = [("finding", other.as_str()), ("margin", margin.as_str())];
                sentences.push(plain(guide, Phrase::RunnerUp, &slots));
            }
            sentences.push(plain(guide, Phrase::AskFinding, &[]));
            sentences
        }
        Event::FindingsEqual { why, .. } => {
            let mut sentences = vec![Sentence::new(reasons(guide, why))];
            sentences.extend(equal(guide, after));
            sentences
        }
        Event::Undetermined { missing, why, .. } => {
            let mut sentences: Vec<Sentence> = set_aside(guide, why).into_iter().collect();
            sentences.push(still_missing(guide, after, missing));
            sentences
        }
        Event::OverrideAsked {} => ask_other(guide, after),
        Event::OverrideChosen { finding } => ask_reason(guide, after, finding),
        Event::Overridden { to, .. } => {
            let finding = said(guide, before, to);
            let mut sentences = vec![plain(guide, Phrase::Overridden, &[("finding", &finding)])];
            sentences.extend(replaced(guide, before, to));
            sentences
        }
        _ => Vec::new(),
    }
}

/// The part and the contact of a finding that goes on; one that ends says them with its conclusion.
fn replaced(guide: &Guide, state: &State, id: &FindingId) -> Vec<Sentence> {
    let goes_on = |row: &&FindingRow| !matches!(row.leads_to, LeadsTo::Finish(_));
    let row = rows(guide, state).iter().find(|row| row.id == *id);
    row.filter(goes_on).map_or_else(Vec::new, |row| {
        answers::part_and_contact(guide, row.part.as_deref(), row.contact.as_deref())
    })
}

/// Whether a finding is near enough for its distance to mean anything: within half of the level, or
/// within a few steps of the display. Common practice, no source.
fn matters(guide: &Guide, state: &State, why: &Evidence, margin: Decimal) -> bool {
    let Some(level) = why.level else { return true };
    let few = resolution(guide, state).map(|step| step * Decimal::TEN);
    margin * Decimal::TWO <= level.abs() || few.is_some_and(|few| margin <= few)
}

/// What the series under the diagnose step being worked on resolves.
fn resolution(guide: &Guide, state: &State) -> Option<Decimal> {
    let here = state.position.as_ref()?;
    let StepKind::Diagnose { of, .. } = &guide.step(here)?.kind else {
        return None;
    };
    let of = Position {
        procedure: here.procedure.clone(),
        step: of.clone(),
    };
    let series = state.series(&of);
    guide.quantity(&of, &series.first()?.quantity)?.resolution
}

/// The verdict once more.
pub(super) fn again(guide: &Guide, state: &State) -> Vec<Sentence> {
    match &state.verdict {
        Some(KeptVerdict::Finding(finding)) => vec![
            told(guide, state, finding, ""),
            plain(guide, Phrase::AskFinding, &[]),
        ],
        Some(KeptVerdict::Equal(_)) => equal(guide, state),
        Some(KeptVerdict::Undetermined(missing)) => vec![still_missing(guide, state, missing)],
        None => Vec::new(),
    }
}

pub(super) fn ask_other(guide: &Guide, state: &State) -> Vec<Sentence> {
    let mut sentences = vec![plain(guide, Phrase::AskOtherFinding, &[])];
    sentences.extend(numbered(guide, state));
    sentences
}

pub(super) fn ask_reason(guide: &Guide, state: &State, to: &FindingId) -> Vec<Sentence> {
    let finding = said(guide, state, to);
    vec![plain(
        guide,
        Phrase::AskOverrideReason,
        &[("finding", &finding)],
    )]
}

fn equal(guide: &Guide, state: &State) -> Vec<Sentence> {
    let mut sentences = vec![plain(guide, Phrase::EqualFindings, &[])];
    sentences.extend(numbered(guide, state));
    sentences
}

fn told(guide: &Guide, state: &State, finding: &FindingId, why: &str) -> Sentence {
    let finding = said(guide, state, finding);
    let text = guide
        .phrases
        .fill(Phrase::Finding, &[("finding", &finding), ("why", why)]);
    Sentence::new(text.trim())
}

fn rows<'a>(guide: &'a Guide, state: &State) -> &'a [FindingRow] {
    let step = state.position.as_ref().and_then(|p| guide.step(p));
    match step.map(|s| &s.kind) {
        Some(StepKind::Diagnose { findings, .. }) => findings,
        _ => &[],
    }
}

fn said(guide: &Guide, state: &State, id: &FindingId) -> String {
    let row = rows(guide, state).iter().find(|row| row.id == *id);
    row.map(|row| guide.text(state, &row.say).spoken.clone())
        .unwrap_or_default()
}

/// The findings on offer, each with what it is chosen by.
fn numbered(guide: &Guide, state: &State) -> Vec<Sentence> {
    let offered = diagnose::offered(guide, state, rows(guide, state));
    let numbers = guide.phrases.list(Phrase::HearFinding);
    let said = numbers.iter().zip(offered).map(|(number, row)| {
        let finding = guide.text(state, &row.say).spoken.as_str();
        let slots = [("number", number.as_str()), ("finding", finding)];
        plain(guide, Phrase::NumberedFinding, &slots)
    });
    said.collect()
}

fn reasons(guide: &Guide, why: &Evidence) -> String {
    let readings = guide.count(why.readings);
    let Some(behavior) = why.behavior else {
        let level = why.level.map(|level| say_value(guide, why, level));
        return level.map_or_else(String::new, |level| {
            guide.phrases.fill(Phrase::WhyValue, &[("level", &level)])
        });
    };
    let behavior = guide.phrases.text(behavior_phrase(behavior));
    match why.level {
        Some(level) => {
            let level = say_value(guide, why, level);
            let slots = [
                ("behavior", behavior),
                ("level", level.as_str()),
                ("readings", readings.as_str()),
            ];
            guide.phrases.fill(Phrase::WhyAt, &slots)
        }
        None => {
            let slots = [("behavior", behavior), ("readings", readings.as_str())];
            guide.phrases.fill(Phrase::Why, &slots)
        }
    }
}

/// What a behavior is called.
pub fn behavior_phrase(behavior: BehaviorKind) -> Phrase {
    match behavior {
        BehaviorKind::NearZero => Phrase::BehaviorNearZero,
        BehaviorKind::Steady => Phrase::BehaviorSteady,
        BehaviorKind::Settles => Phrase::BehaviorSettles,
        BehaviorKind::Unsteady => Phrase::BehaviorUnsteady,
        BehaviorKind::Falling => Phrase::BehaviorFalling,
        BehaviorKind::Rising => Phrase::BehaviorRising,
    }
}

fn set_aside(guide: &Guide, why: &Evidence) -> Option<Sentence> {
    let value = say_value(guide, why, why.set_aside?);
    Some(plain(guide, Phrase::SetAside, &[("value", &value)]))
}

fn say_value(guide: &Guide, why: &Evidence, value: Decimal) -> String {
    guide.say(&Reading {
        amount: Amount::Exact(value),
        unit: why.unit,
    })
}

/// The name of what is called out here, or was to be before this diagnose step.
fn watched(guide: &Guide, state: &State) -> Option<String> {
    let here = state.position.as_ref()?;
    let watch = match &guide.step(here)?.kind {
        StepKind::Diagnose { of, .. } => Position {
            procedure: here.procedure.clone(),
            step: of.clone(),
        },
        _ => here.clone(),
    };
    let StepKind::Watch { quantity, .. } = &guide.step(&watch)?.kind else {
        return None;
    };
    Some(guide.quantity(&watch, quantity)?.name.clone())
}

pub(super) fn still_missing(guide: &Guide, state: &State, missing: &Missing) -> Sentence {
    match missing {
        Missing::Readings { more: 1 } => plain(guide, Phrase::MissingReading, &[]),
        Missing::Readings { more } => {
            let number = guide.count(*more);
            plain(guide, Phrase::MissingReadings, &[("number", &number)])
        }
        Missing::Step { .. } => plain(guide, Phrase::MissingStep, &[]),
        Missing::Numbers => plain(guide, Phrase::MissingNumbers, &[]),
        Missing::Kept => plain(guide, Phrase::MissingKept, &[]),
        Missing::All => {
            let name = watched(guide, state).unwrap_or_default();
            plain(guide, Phrase::MissingAll, &[("quantity", &name)])
        }
        Missing::Finding { nearest: None } => plain(guide, Phrase::MissingFinding, &[]),
        Missing::Finding {
            nearest: Some(nearest),
        } => {
            let finding = said(guide, state, nearest);
            plain(guide, Phrase::MissingFindingNear, &[("finding", &finding)])
        }
    }
}
