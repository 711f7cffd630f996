//! Values read back, asked about, taken back.

use super::{Sentence, plain, prompt, uncut};
use crate::diagnosis;
use crate::procedure::{BranchWhen, StepKind};
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::phrases::Phrase;
use crate::session::state::{KeptReading, State};
use crate::session::values;

pub(super) fn of_reading(guide: &Guide, state: &State, event: &Event) -> Vec<Sentence> {
    match event {
        Event::ReadBack { id } => kept(state, *id)
            .map(|kept| read_back(guide, state, kept))
            .unwrap_or_default(),
        Event::Computed { id, .. } => kept(state, *id)
            .map(|kept| vec![worked_out(guide, kept)])
            .unwrap_or_default(),
        Event::ConfirmationAsked { id, why } => kept(state, *id)
            .map(|kept| asked(guide, state, kept, why))
            .unwrap_or_default(),
        Event::ReadingConfirmed { .. } => vec![plain(guide, Phrase::Confirmed, &[])],
        Event::ReadingWithdrawn { id, .. } => kept(state, *id)
            .map(|kept| {
                let value = guide.say(&kept.reading);
                vec![plain(guide, Phrase::Withdrawn, &[("value", &value)])]
            })
            .unwrap_or_default(),
        Event::ValueAsked { why, .. } => ask(guide, state, *why),
        Event::HoldProofPoint { id, proves, .. } => proof(guide, state, *id, *proves),
        _ => Vec::new(),
    }
}

fn kept(state: &State, id: ReadingId) -> Option<&KeptReading> {
    state.reading(id)
}

/// With its unit, and with the side of the limits it is on where that is not inside.
fn read_back(guide: &Guide, state: &State, kept: &KeptReading) -> Vec<Sentence> {
    let value = guide.say(&kept.reading);
    let in_series = matches!(
        guide.step(&kept.step).map(|s| &s.kind),
        Some(StepKind::Watch { .. })
    );
    let phrase = match side(guide, state, kept) {
        _ if in_series => Phrase::ReadBack,
        Some(BranchWhen::BelowLimits) => Phrase::ReadBackBelow,
        Some(BranchWhen::AboveLimits) => Phrase::ReadBackAbove,
        _ => Phrase::ReadBack,
    };
    vec![plain(guide, phrase, &[("value", &value)])]
}

fn worked_out(guide: &Guide, kept: &KeptReading) -> Sentence {
    let definition = guide.quantity(&kept.step, &kept.quantity);
    let name = definition.map_or("", |d| d.name.as_str());
    let value = guide.say(&kept.reading);
    let slots = [("quantity", name), ("value", value.as_str())];
    plain(guide, Phrase::Computed, &slots)
}

fn side(guide: &Guide, state: &State, kept: &KeptReading) -> Option<BranchWhen> {
    let definition = guide.quantity(&kept.step, &kept.quantity)?;
    let judged = values::judged(guide, state, definition, &kept.reading)?;
    judged.limits?;
    [BranchWhen::BelowLimits, BranchWhen::AboveLimits]
        .into_iter()
        .find(|side| diagnosis::holds(*side, &judged))
}

/// The question, and before it what it is about, where that is not the value just given.
fn asked(guide: &Guide, state: &State, kept: &KeptReading, why: &Consequence) -> Vec<Sentence> {
    let is_here = state.position.as_ref() == Some(&kept.step);
    let definition = guide.quantity(&kept.step, &kept.quantity);
    let named = definition.filter(|_| !is_here).map(|definition| {
        let slots = [("quantity", definition.name.as_str())];
        uncut(guide, Phrase::AskEarlier, &slots)
    });
    let question = question(guide, kept, why);
    named.into_iter().chain([question]).collect()
}

fn question(guide: &Guide, kept: &KeptReading, why: &Consequence) -> Sentence {
    let value = guide.say(&kept.reading);
    let slots = [("value", value.as_str())];
    match why {
        Consequence::HoldProof | Consequence::NoNumber => uncut(guide, Phrase::AskProof, &slots),
        Consequence::Implausible => uncut(guide, Phrase::AskImplausible, &slots),
        Consequence::Offered => uncut(guide, Phrase::AskOffered, &slots),
        Consequence::Branch { other }
        | Consequence::Limit { other }
        | Consequence::Finding { other, .. } => {
            let other = guide.say(other);
            let slots = [("value", value.as_str()), ("other", other.as_str())];
            uncut(guide, Phrase::AskConsequence, &slots)
        }
    }
}

/// The open question once more, without what it might have been instead.
pub(super) fn question_again(guide: &Guide, state: &State, id: ReadingId) -> Vec<Sentence> {
    let again = |kept| asked(guide, state, kept, &Consequence::HoldProof);
    kept(state, id).map(again).unwrap_or_default()
}

fn ask(guide: &Guide, state: &State, why: AskReason) -> Vec<Sentence> {
    let phrase = match why {
        AskReason::Silence | AskReason::Withdrawn => Phrase::AskValue,
        AskReason::Denied => Phrase::AskValueAgain,
        AskReason::DeniedOften => Phrase::AskValueByDigits,
        AskReason::DeniedByDigits => Phrase::AskValueTyped,
    };
    let name = quantity_asked(guide, state);
    name.map(|name| plain(guide, phrase, &[("quantity", &name)]))
        .into_iter()
        .collect()
}

fn quantity_asked(guide: &Guide, state: &State) -> Option<String> {
    let position = state.position.as_ref()?;
    let quantity = match &guide.step(position)?.kind {
        StepKind::Read { quantity, .. } | StepKind::Watch { quantity, .. } => quantity,
        StepKind::Hold {
            release: crate::procedure::Release::Proof(points),
            ..
        } => &points.get(state.proof.len())?.quantity,
        _ => return None,
    };
    Some(guide.quantity(position, quantity)?.name.clone())
}

fn proof(guide: &Guide, state: &State, id: ReadingId, proves: bool) -> Vec<Sentence> {
    let mut sentences = Vec::new();
    if !proves && let Some(kept) = kept(state, id) {
        let value = guide.say(&kept.reading);
        sentences.push(uncut(guide, Phrase::NotProved, &[("value", &value)]));
    }
    let step = state.position.as_ref().and_then(|p| guide.step(p));
    if let Some(StepKind::Hold { release, .. }) = step.map(|s| &s.kind) {
        sentences.extend(prompt::release_wanted(guide, state, release));
    }
    sentences
}

/// The last value that was read here before and that "next" keeps.
pub(super) fn kept_value(guide: &Guide, state: &State, step: &Position) -> Option<Sentence> {
    let series = state.series(step);
    let value = guide.say(&series.last()?.reading);
    Some(plain(guide, Phrase::KeptValue, &[("value", &value)]))
}
