//! Hold points: nothing passes without its own words or its own measured proof.

use super::read::{self, Fresh};
use crate::language::SpokenReading;
use crate::procedure::{ProofPoint, Release, StepKind};
use crate::session::decide::flow;
use crate::session::decide::hear::Spoken;
use crate::session::decide::turn::Turn;
use crate::session::event::Event;
use crate::session::parts::*;

/// The id under which a hold point's own words are listened for.
pub(in crate::session) const RELEASE_WORDS: &str = "hold_released";

/// The hold point's own words.
pub(in crate::session) fn words_said(turn: &mut Turn) {
    let Some((step, StepKind::Hold { release, .. })) = turn.here() else {
        return turn.decline(Decline::NotHere);
    };
    match release {
        Release::Words(words) => {
            turn.record(Event::HoldReleased {
                step,
                by: ReleasedBy::Words(words.clone()),
            });
            flow::leave(turn);
        }
        Release::Proof(_) => turn.decline(Decline::HoldNotReleased),
    }
}

/// A value at a hold point: it is always asked about before it proves anything.
pub(in crate::session) fn measured(
    turn: &mut Turn,
    spoken: &Spoken,
    readings: &[SpokenReading],
    points: &[ProofPoint],
) {
    let next = turn.state.proof.len();
    let (Some((step, _)), Some(point)) = (turn.here(), points.get(next)) else {
        return;
    };
    let value = read::one_value(turn, spoken, readings, &step, &point.quantity);
    let Some((reading, others, at)) = value else {
        return;
    };
    let fresh = Fresh {
        visit: turn.state.visit,
        quantity: point.quantity.clone(),
        replaces: None,
        proof: Some(next),
        typed: spoken.typed,
        step,
        reading,
        at,
        others,
    };
    ask(turn, fresh);
}

/// Keeps a value that is to prove the hold point, and asks about it.
pub(in crate::session) fn ask(turn: &mut Turn, fresh: Fresh) {
    let id = read::give(turn, fresh);
    let why = Consequence::HoldProof;
    turn.record(Event::ConfirmationAsked { id, why });
}

/// A confirmed value: the next point, the release, or, where it proves nothing, the proof again
/// from its first point.
pub(in crate::session) fn confirmed(turn: &mut Turn, id: ReadingId) {
    let Some((
        step,
        StepKind::Hold {
            release: Release::Proof(points),
            ..
        },
    )) = turn.here()
    else {
        return;
    };
    let point = turn.state.proof.len();
    let Some(wanted) = points.get(point) else {
        return;
    };
    turn.record(Event::HoldProofPoint {
        step: step.clone(),
        point,
        id,
        proves: proves(turn, &step, wanted, id),
    });
    if turn.state.proof.len() == points.len() {
        turn.record(Event::HoldReleased {
            step,
            by: ReleasedBy::Proof(turn.state.proof.clone()),
        });
        flow::leave(turn);
    }
}

fn proves(turn: &Turn, step: &Position, wanted: &ProofPoint, id: ReadingId) -> bool {
    let proved = || {
        let kept = turn.state.reading(id)?;
        let definition = turn.guide.quantity(step, &wanted.quantity)?;
        let (low, high) =
            crate::diagnosis::condition::ends(kept.reading.convert(definition.unit).ok()?.amount)?;
        Some(kept.counts() && wanted.within.contains(low) && wanted.within.contains(high))
    };
    proved().unwrap_or(false)
}
