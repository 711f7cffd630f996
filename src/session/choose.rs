//! Spoken options, and every other phrase that only one step listens for.

use super::diagnose;
use super::event::Event;
use super::flow;
use super::hold;
use super::parts::Decline;
use super::turn::Turn;
use crate::procedure::StepKind;

/// One of the phrases registered for this step was said.
pub(super) fn choice(turn: &mut Turn, id: &str) {
    if id == hold::RELEASE_WORDS {
        return hold::words_said(turn);
    }
    match turn.here() {
        Some((step, StepKind::Choose { options, .. })) => {
            let Some(option) = options.iter().find(|o| o.id.as_str() == id) else {
                return turn.decline(Decline::ChoiceNeeded);
            };
            turn.record(Event::Chosen {
                step,
                option: option.id.clone(),
            });
            match &option.go_to {
                Some(to) => flow::leave_to(turn, to),
                None => flow::leave(turn),
            }
        }
        Some((_, StepKind::Diagnose { findings, .. })) => diagnose::choice(turn, id, findings),
        _ => turn.decline(Decline::NotHere),
    }
}
