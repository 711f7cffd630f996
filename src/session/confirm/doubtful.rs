//! What a compute or diagnose step rests on, and whether it would come to something else had one of
//! those values been another.
//!
//! A single value may lead nowhere by itself and decide together with others: three voltages make an
//! unbalance. Such a value can be doubted only when the others are known, so it is asked about
//! before the session goes on by it: with the last of the others where that is possible, because
//! the meter is still at hand then.

use super::{Value, alternatives, other_finding, verdict};
use crate::diagnosis::{self, Judged};
use crate::procedure::{ComputeInput, FindingId, Step, StepId, StepKind};
use crate::quantity::Reading;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::{KeptReading, Standing, State};
use crate::session::steps::compute;
use crate::session::steps::diagnose;
use crate::session::steps::read;
use crate::session::values;

/// A value a step rests on that nobody affirmed, and that decides what the step comes to: with
/// another meaning of it the step would come to something else, or it shows no number. The series
/// of a watch is looked at by [`doubtful_in_series`](super::doubtful_in_series).
pub(in crate::session) fn doubtful(
    guide: &Guide,
    state: &State,
    step: &Position,
) -> Option<(ReadingId, Consequence)> {
    let taken = Outcome::of(guide, state, step)?;
    let open = |kept: &&KeptReading| kept.standing == Standing::ReadBack && !kept.typed;
    let grounds = grounds(guide, state, step);
    let open: Vec<&KeptReading> = grounds.into_iter().filter(open).collect();
    let alone = open.iter().find_map(|kept| {
        if diagnosis::condition::ends(kept.reading.amount).is_none() {
            return Some((kept.id, Consequence::NoNumber));
        }
        let value = Value::of_kept(guide, kept)?;
        let others = alternatives(guide, state, &value);
        others.into_iter().find_map(|other| {
            let instead = with_other(guide, state, kept.id, other);
            let instead = Outcome::of(guide, &instead, step)?;
            let why = taken.difference(guide, step, &instead, other)?;
            Some((kept.id, why))
        })
    });
    alone.or_else(|| doubtful_together(guide, state, step, &taken, &open))
}

/// Two values of which neither changes anything as long as the other stands: both may have been
/// misheard alike. Only what the recognizer heard beside them counts; classic confusions of two
/// values at once are too many to ask about.
fn doubtful_together(
    guide: &Guide,
    state: &State,
    step: &Position,
    taken: &Outcome,
    open: &[&KeptReading],
) -> Option<(ReadingId, Consequence)> {
    let pairs = open.iter().enumerate().flat_map(|(at, first)| {
        let later = open[at + 1..].iter();
        later.map(move |second| (first, second))
    });
    let mut both = pairs.flat_map(|(first, second)| {
        let others = first.others.iter();
        others.flat_map(move |other| second.others.iter().map(move |o| (first, other, second, o)))
    });
    both.find_map(|(first, other, second, another)| {
        let instead = with_other(guide, state, first.id, *other);
        let instead = with_other(guide, &instead, second.id, *another);
        let instead = Outcome::of(guide, &instead, step)?;
        let why = taken.difference(guide, step, &instead, *other)?;
        Some((first.id, why))
    })
}

/// The same for the steps that rest on a read step and on nothing that is still to come.
pub(in crate::session) fn doubtful_after(
    guide: &Guide,
    state: &State,
    read: &Position,
) -> Option<(ReadingId, Consequence)> {
    let procedure = guide.library.get(&read.procedure)?;
    let variant = guide.variant(state);
    let applies = |step: &&Step| step.only.as_ref().is_none_or(|o| o.contains(&variant));
    let rests = |step: &&Step| inputs(&step.kind).contains(&&read.step);
    let after = procedure.steps.iter().filter(applies).filter(rests);
    let mut positions = after.map(|step| Position {
        procedure: read.procedure.clone(),
        step: step.id.clone(),
    });
    positions.find_map(|position| doubtful(guide, state, &position))
}

/// What a step comes to.
enum Outcome {
    Computed {
        leads: Option<StepId>,
        judged: Judged,
    },
    Found(Vec<FindingId>),
}

impl Outcome {
    /// `None` where it comes to nothing yet.
    fn of(guide: &Guide, state: &State, step: &Position) -> Option<Outcome> {
        match &guide.step(step)?.kind {
            StepKind::Compute {
                quantity, branches, ..
            } => {
                let (reading, _) = compute::worked_out(guide, state, step).ok()?;
                let definition = guide.quantity(step, quantity)?;
                Some(Outcome::Computed {
                    leads: read::target(guide, state, step, quantity, branches, &reading),
                    judged: values::judged(guide, state, definition, &reading)?,
                })
            }
            StepKind::Diagnose { of, .. } => {
                let series = state.series(&beside(step, of));
                let found = diagnose::finding_of(guide, state, step, &series)?;
                (!found.is_empty()).then_some(Outcome::Found(found))
            }
            _ => None,
        }
    }

    fn difference(
        &self,
        guide: &Guide,
        step: &Position,
        instead: &Outcome,
        other: Reading,
    ) -> Option<Consequence> {
        match (self, instead) {
            (Outcome::Found(taken), Outcome::Found(found)) => {
                let finding = found.first().cloned();
                (taken != found).then_some(Consequence::Finding { other, finding })
            }
            (
                Outcome::Computed { leads, judged },
                Outcome::Computed {
                    leads: elsewhere,
                    judged: instead,
                },
            ) => {
                if leads != elsewhere {
                    return Some(Consequence::Branch { other });
                }
                if verdict(judged) != verdict(instead) {
                    return Some(Consequence::Limit { other });
                }
                let finding = Some(other_finding(guide, step, judged, instead)?);
                Some(Consequence::Finding { other, finding })
            }
            _ => None,
        }
    }
}

fn beside(step: &Position, other: &StepId) -> Position {
    Position {
        procedure: step.procedure.clone(),
        step: other.clone(),
    }
}

/// The steps whose values a step is made of.
fn inputs(kind: &StepKind) -> Vec<&StepId> {
    match kind {
        StepKind::Compute { inputs, .. } => {
            let read = inputs.values().filter_map(|input| match input {
                ComputeInput::Reading(step) => Some(step),
                _ => None,
            });
            read.collect()
        }
        StepKind::Diagnose { of, findings } => {
            let asked = findings.iter().flat_map(|row| &row.readings);
            std::iter::once(of)
                .chain(asked.map(|condition| &condition.step))
                .collect()
        }
        _ => Vec::new(),
    }
}

/// The given values under a step, in the order in which they were given.
fn grounds<'a>(guide: &Guide, state: &'a State, step: &Position) -> Vec<&'a KeptReading> {
    let Some(kind) = guide.step(step).map(|s| &s.kind) else {
        return Vec::new();
    };
    let mut grounds: Vec<&KeptReading> = Vec::new();
    for input in inputs(kind) {
        let input = beside(step, input);
        let watched = matches!(
            guide.step(&input).map(|s| &s.kind),
            Some(StepKind::Watch { .. })
        );
        match state.series(&input).last() {
            Some(kept) if kept.computed && input != *step => {
                grounds.extend(self::grounds(guide, state, &input));
            }
            Some(kept) if !watched => grounds.push(kept),
            _ => {}
        }
    }
    grounds.sort_by_key(|kept| kept.id);
    grounds.dedup_by_key(|kept| kept.id);
    grounds
}

/// The session as it would stand had a value been another: what was worked out from it is worked
/// out anew.
fn with_other(guide: &Guide, state: &State, id: ReadingId, other: Reading) -> State {
    let mut instead = state.clone();
    set(&mut instead, id, Some(other));
    let later = |kept: &&KeptReading| kept.computed && kept.counts() && kept.id > id;
    let computed = state.readings.iter().filter(later);
    for kept in computed {
        let anew = compute::worked_out(guide, &instead, &kept.step);
        set(&mut instead, kept.id, anew.ok().map(|(reading, _)| reading));
    }
    instead
}

fn set(state: &mut State, id: ReadingId, reading: Option<Reading>) {
    let Some(kept) = state.readings.iter_mut().find(|r| r.id == id) else {
        return;
    };
    match reading {
        Some(reading) => kept.reading = reading,
        None => kept.standing = Standing::Withdrawn(Withdrawal::Disregarded),
    }
}
