//! What may be said at a step of a procedure, when it is entered.

use crate::language::Expectation;
use crate::procedure::StepId;
use crate::session::{Guide, Phase, Position, State, expectation};

/// What may be said at a step of the main procedure.
pub fn expected_at(guide: &Guide, step: &StepId) -> Expectation {
    let state = State {
        phase: Phase::Working,
        position: Some(Position {
            procedure: guide.library.main().id.clone(),
            step: step.clone(),
        }),
        ..State::default()
    };
    expectation(guide, &state)
}
