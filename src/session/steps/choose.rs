//! Spoken options, and every other phrase that only one step listens for.

use super::diagnose;
use super::hold;
use crate::procedure::StepKind;
use crate::session::decide::flow;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::parts::Decline;

/// One of the phrases registered for this step was said.
pub(in crate::session) fn choice(turn: &mut Turn, id: &str) {
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
