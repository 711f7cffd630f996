//! Whether what was kept wrong and unasked changed what a session came to: the session again, with
//! the true words in its place.

use std::collections::{BTreeMap, BTreeSet};

use readback::diagnosis::condition::ends;
use readback::language::{Command, Meaning};
use readback::procedure::{FindingId, StepKind};
use readback::quantity::{Amount, Bound};
use readback::session::{
    Asking, EntryQuestion, Guide, Input, KeptReading, Ms, Phase, Position, ReadingId, State,
    Understanding, Utterance, apply, decide, next_due, speech,
};

use super::run::{Run, given};

pub enum Verdict {
    Sound,
    /// By an error that the recognizer's list or the table of confusions hinted at.
    ChangedHinted(String),
    ChangedUnhinted(String),
    /// The session held again is another one.
    NotRepeated(String),
}

pub fn judge(guide: &Guide, run: &Run) -> Verdict {
    let wrong: BTreeSet<ReadingId> = run.wrong().into_iter().collect();
    if wrong.is_empty() {
        return Verdict::Sound;
    }
    let unhinted = |id: &ReadingId| run.truths.get(id).is_some_and(|said| !said.hinted);
    let unhinted: BTreeSet<ReadingId> = wrong.iter().copied().filter(unhinted).collect();
    let with = |wrong: &BTreeSet<ReadingId>| Outcome::of(guide, &again(guide, run, wrong));
    let kept = Outcome::of(guide, &run.state);
    let truly = with(&BTreeSet::new());
    // Held again with the wrong ones it must come to what it came to, or nothing can be told.
    let unlike = with(&wrong) != kept;
    if truly == kept && !unlike {
        return Verdict::Sound;
    }
    let what = describe(run, &kept, &truly);
    if unlike {
        return Verdict::NotRepeated(what);
    }
    // Beside an error that nothing hints at, the others may change nothing any more.
    match with(&unhinted) == kept {
        true => Verdict::ChangedUnhinted(what),
        false => Verdict::ChangedHinted(what),
    }
}

/// What a session came to, as far as values decide it.
#[derive(Debug, PartialEq)]
struct Outcome {
    /// The last finding of each step.
    findings: BTreeMap<Position, FindingId>,
    /// The steps on the way: where branches led.
    way: Vec<Position>,
    /// The last reading of each step: whether it is below and above its limits. A value of a watch is
    /// one of a series: the finding is its verdict.
    sides: BTreeMap<Position, [bool; 2]>,
}

impl Outcome {
    fn of(guide: &Guide, state: &State) -> Outcome {
        let findings = state.findings.iter();
        let counting = state.readings.iter().filter(|kept| kept.counts());
        Outcome {
            findings: findings
                .map(|f| (f.step.clone(), f.finding.clone()))
                .collect(),
            way: state.trail.iter().map(|e| e.position.clone()).collect(),
            sides: counting
                .filter_map(|kept| side(guide, state, kept))
                .collect(),
        }
    }
}

fn side(guide: &Guide, state: &State, kept: &KeptReading) -> Option<(Position, [bool; 2])> {
    if let StepKind::Watch { .. } = guide.step(&kept.step)?.kind {
        return None;
    }
    let definition = guide.quantity(&kept.step, &kept.quantity)?;
    let limits = guide.limits(state, definition)?;
    let (low, high) = ends(kept.reading.convert(definition.unit).ok()?.amount)?;
    let below = match limits.low() {
        Bound::Unbounded => false,
        Bound::Closed(end) => low < end,
        Bound::Open(end) => low <= end,
    };
    let above = match limits.high() {
        Bound::Unbounded => false,
        Bound::Closed(end) => high > end,
        Bound::Open(end) => high >= end,
    };
    Some((kept.step.clone(), [below, above]))
}

/// The same inputs at the same times, with the true value in each but those that gave the `wrong`
/// ones. A question about a value is affirmed, so what was answered or objected is left out, and what
/// stood in for a value that was taken back is given in its place. Left out too is what was said
/// once more where the session has gone on already.
fn again(guide: &Guide, run: &Run, wrong: &BTreeSet<ReadingId>) -> State {
    let mut state = State::default();
    for (index, came) in run.came.iter().enumerate() {
        let Input::Heard(utterance) = &came.input else {
            if let Input::Begin(_) = came.input {
                take(guide, &mut state, came.input.clone(), came.at);
            }
            continue;
        };
        while let Some(due) = next_due(&state).filter(|due| *due <= came.at) {
            take(guide, &mut state, Input::Tick, due);
        }
        affirm_all(guide, &mut state, came.at);
        let here = (&state.phase, &state.position);
        if came.answers || (&came.phase, &came.position) != here {
            continue;
        }
        let gave = run.given_by.iter().find(|(_, by)| **by == index);
        let utterance = match gave.map(|(id, _)| run.in_the_end(*id)) {
            None => match came.said {
                Some(said) => plainly(utterance, said.amount),
                None => utterance.clone(),
            },
            Some(kept) if kept.withdrawn() => continue,
            Some(kept) if wrong.contains(&kept.id) => plainly(utterance, kept.reading.amount),
            Some(kept) => plainly(utterance, run.truths[&kept.id].amount),
        };
        take(guide, &mut state, Input::Heard(utterance), came.at);
    }
    let now = run.came.last().map_or(0, |came| came.at);
    affirm_all(guide, &mut state, now);
    state
}

fn affirm_all(guide: &Guide, state: &mut State, now: Ms) {
    while asked(state) {
        affirm(guide, state, now);
    }
}

/// Whether it was asked if what was heard is right.
pub fn asked(state: &State) -> bool {
    matches!(state.asking, Some(Asking::Confirmation(_)))
        || matches!(
            state.phase,
            Phase::Entry(EntryQuestion::SupplyConfirmation(_))
        )
}

fn affirm(guide: &Guide, state: &mut State, now: Ms) {
    let meaning = Meaning::Command {
        command: Command::Affirm,
        readings: Vec::new(),
    };
    let understandings = vec![Understanding {
        words: "affirm".to_owned(),
        confidence: None,
        meaning,
    }];
    let utterance = Utterance {
        understandings,
        typed: false,
        clip: None,
        start_ms: now,
        end_ms: now,
    };
    take(guide, state, Input::Heard(utterance), now);
}

/// The value, and nothing else it may have been.
fn plainly(utterance: &Utterance, amount: Amount) -> Utterance {
    let best = &utterance.understandings[0];
    Utterance {
        understandings: vec![Understanding {
            meaning: given(None, amount, utterance.start_ms),
            ..best.clone()
        }],
        typed: true,
        ..utterance.clone()
    }
}

fn take(guide: &Guide, state: &mut State, input: Input, now: Ms) {
    let events = decide(guide, state, input, now);
    let mut sounded = false;
    for event in &events {
        sounded |= !speech(guide, state, event).is_empty();
        *state = apply(std::mem::take(state), event);
    }
    if sounded {
        let through = state.count;
        take(guide, state, Input::Spoken { through }, now);
    }
}

fn describe(run: &Run, kept: &Outcome, truly: &Outcome) -> String {
    let values = run.wrong().into_iter().filter_map(|id| {
        let reading = run.state.reading(id)?;
        let others: Vec<String> = reading
            .others
            .iter()
            .map(|o| format!("{:?}", o.amount))
            .collect();
        Some(format!(
            "at `{}` {:?} for {:?} (others {})",
            reading.step.step,
            reading.reading.amount,
            run.truths.get(&id)?.amount,
            others.join(", ")
        ))
    });
    let values: Vec<String> = values.collect();
    let ids = |found: &BTreeMap<Position, FindingId>| -> Vec<String> {
        found.values().map(ToString::to_string).collect()
    };
    let both = kept.way.iter().zip(&truly.way);
    let same = both.take_while(|(a, b)| a == b).count();
    let rest = |way: &[Position]| -> Vec<String> {
        way[same..].iter().map(|p| p.step.to_string()).collect()
    };
    let other_side = |of: &&Position| kept.sides.get(of) != truly.sides.get(of);
    let sides = kept.sides.keys().filter(other_side);
    let sides: Vec<String> = sides.map(|of| of.step.to_string()).collect();
    format!(
        "{}; findings {:?} truly {:?}; then {:?} truly {:?}; sides {sides:?}",
        values.join("; "),
        ids(&kept.findings),
        ids(&truly.findings),
        rest(&kept.way),
        rest(&truly.way),
    )
}
