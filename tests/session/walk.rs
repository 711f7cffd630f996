//! Every state of a procedure that can be reached by what it listens for.
//!
//! States are told apart by where they stand, not by when or by what was read: step, open calls,
//! question, rest, points proved. From each, everything that may be heard is said.

use std::collections::{BTreeSet, HashSet, VecDeque};

use readback::language::{Command, Meaning, SpokenReading};
use readback::procedure::{
    Library, Procedure, QuantityDefinition, Release, StepId, StepKind, VariantId,
};
use readback::quantity::{Amount, Bound, Decimal, Prefix, Range, Reading};
use readback::session::{
    Asking, Event, Guide, Input, Ms, Opening, Phase, Position, State, Understanding, Utterance,
    apply, expectation, next_due,
};

/// More than any procedure has; a walk that comes here does not end.
const MOST_STATES: usize = 40_000;

/// What happens because of an input: the session's own [`decide`], or one with a fault.
pub type Decide = fn(&Guide, &State, Input, Ms) -> Vec<Event>;

#[derive(Default)]
pub struct Walked {
    pub holds_passed: usize,
    /// Hold points that were left forward without their release.
    pub bypassed: BTreeSet<Position>,
    /// Hold points that count as released although a value that proved them was taken back.
    pub unproved: BTreeSet<Position>,
    /// Values that proved a hold point and were taken back after its release.
    pub proofs_taken_back: usize,
    /// Where "stop" is not heard.
    pub deaf: BTreeSet<String>,
    entered: BTreeSet<Position>,
    /// Steps of the main procedure that no way led to, where that is not known to be right.
    pub never_reached: Vec<String>,
}

pub fn has_hold(library: &Library) -> bool {
    let mut steps = library.procedures().flat_map(|p| &p.steps);
    steps.any(|s| matches!(s.kind, StepKind::Hold { .. }))
}

/// Walks every variant of the main procedure by what is decided at each input.
pub fn everywhere(guide: &Guide, decide: Decide) -> Walked {
    let mut walked = Walked::default();
    for variant in guide.library.main().variants.values() {
        let supply = |range: Option<Range>, base| {
            let value = range.and_then(some_value)?;
            Some(Reading {
                amount: Amount::Exact(value),
                unit: readback::quantity::Unit::from(base),
            })
        };
        let opening = Opening {
            variant: Some(variant.id.clone()),
            serial: Some("A1".to_owned()),
            supply_voltage: supply(variant.supply_voltage, readback::quantity::Base::Volt),
            supply_frequency: supply(variant.supply_frequency, readback::quantity::Base::Hertz),
            qualified: true,
            tools_at_hand: true,
            ..Opening::default()
        };
        walk(guide, decide, opening, &mut walked);
    }
    let main = guide.library.main();
    let entered = |id: &StepId| {
        let of_main = |p: &&Position| p.procedure == main.id && p.step == *id;
        walked.entered.iter().any(|p| of_main(&p))
    };
    walked.never_reached = main
        .steps
        .iter()
        // A finding needs a series that fits it, and a computation values that fit together; the
        // walk looks for neither.
        .filter(|step| !entered(&step.id) && !after_several_values(main, &step.id))
        .map(|step| step.id.to_string())
        .collect();
    walked
}

fn after_several_values(procedure: &Procedure, id: &StepId) -> bool {
    let several =
        |kind: &StepKind| matches!(kind, StepKind::Diagnose { .. } | StepKind::Compute { .. });
    let judged = procedure
        .steps
        .iter()
        .position(|s| several(&s.kind) && s.kind.decides_the_way());
    let at = procedure.steps.iter().position(|s| s.id == *id);
    judged.zip(at).is_some_and(|(judged, at)| at > judged)
}

fn walk(guide: &Guide, decide: Decide, opening: Opening, walked: &mut Walked) {
    let begun = decide(guide, &State::default(), Input::Begin(opening), 0);
    let start = begun.iter().fold(State::default(), apply);
    let mut seen: HashSet<String> = [place(&start)].into();
    let mut waiting = VecDeque::from([start]);
    while let Some(state) = waiting.pop_front() {
        assert!(seen.len() < MOST_STATES, "the walk does not end");
        let expected = expectation(guide, &state);
        if !expected.commands.contains(&Command::Stop) && !state.closed() {
            walked.deaf.insert(place(&state));
        }
        for input in inputs(guide, &state) {
            let next = step(guide, decide, &state, input, walked);
            if seen.insert(place(&next)) {
                waiting.push_back(next);
            }
        }
    }
}

/// Where a state stands.
fn place(state: &State) -> String {
    let timer = state.timer.as_ref().map(|t| t.ended);
    let asking = match &state.asking {
        Some(Asking::Confirmation(id)) => format!("{:?}", state.reading(*id).map(|r| r.reading)),
        asking => format!("{asking:?}"),
    };
    let heard = state.heard_through >= state.entered;
    let calls: Vec<_> = state.calls.iter().map(|c| &c.from).collect();
    let verdict = state.verdict.as_ref();
    let phase = match &state.phase {
        Phase::Working => String::new(),
        phase => format!("{phase:?}"),
    };
    let any = state
        .position
        .as_ref()
        .is_some_and(|p| !state.series(p).is_empty());
    format!(
        "{phase} {:?} {calls:?} {asking} {:?} {} {timer:?} {heard} {verdict:?} {any} {}",
        state.position,
        state.rest,
        state.proof.len(),
        state.finished.is_some(),
    )
}

/// Everything that may be heard, the end of the prompt, and the next time that is due.
fn inputs(guide: &Guide, state: &State) -> Vec<Input> {
    let expected = expectation(guide, state);
    let mut meanings: Vec<Meaning> = Vec::new();
    for command in &expected.commands {
        meanings.push(Meaning::Command {
            command: *command,
            readings: Vec::new(),
        });
    }
    let proved = state
        .last_reading()
        .is_some_and(|kept| kept.proof.is_some());
    if proved && expected.commands.contains(&Command::Correction) {
        let values = values(guide, state);
        meanings.extend(corrections(&values, state));
    }
    for choice in &expected.choices {
        meanings.push(Meaning::Choice(choice.id.clone()));
    }
    if expected.reading.is_some() {
        for value in values(guide, state) {
            meanings.push(Meaning::Readings(vec![value]));
        }
    }
    if expected.spelling {
        meanings.push(Meaning::Spelling("A1".to_owned()));
    }
    meanings.push(Meaning::nothing("found `mumble`"));
    let mut inputs: Vec<Input> = meanings.into_iter().map(heard).collect();
    inputs.push(Input::Spoken {
        through: state.count,
    });
    inputs.push(Input::Tick);
    inputs.push(Input::Resume);
    inputs
}

fn heard(meaning: Meaning) -> Input {
    Input::Heard(Utterance {
        understandings: vec![Understanding {
            words: String::new(),
            confidence: None,
            meaning,
        }],
        typed: false,
        clip: None,
        start_ms: 0,
        end_ms: 0,
    })
}

fn spoken(amount: Amount) -> SpokenReading {
    SpokenReading {
        amount,
        prefix: Prefix::None,
        unit: None,
        start_ms: 0,
        end_ms: 0,
    }
}

/// A value of each kind that decides something here: in every range that is named, outside all of
/// them, and none at all.
fn values(guide: &Guide, state: &State) -> Vec<SpokenReading> {
    let mut ranges: Vec<Range> = Vec::new();
    for definition in guide.procedure(state).quantities.values() {
        ranges.extend(ranges_of(definition, state.job.variant.as_ref()));
    }
    for step in &guide.procedure(state).steps {
        if let StepKind::Hold {
            release: Release::Proof(points),
            ..
        } = &step.kind
        {
            ranges.extend(points.iter().map(|p| p.within));
        }
    }
    let mut values: BTreeSet<Decimal> = ranges.into_iter().filter_map(some_value).collect();
    values.insert(Decimal::from(100_000));
    let mut spoken_values: Vec<SpokenReading> = values
        .into_iter()
        .map(|v| spoken(Amount::Exact(v)))
        .collect();
    spoken_values.extend([spoken(Amount::OverRange), spoken(Amount::None)]);
    spoken_values
}

fn ranges_of(definition: &QuantityDefinition, variant: Option<&VariantId>) -> Vec<Range> {
    let limits = variant.and_then(|v| *definition.limits.get(v));
    let mut ranges = vec![definition.plausible];
    if let Some(limits) = limits {
        ranges.push(limits);
        let below = limits
            .low()
            .value()
            .and_then(|low| Range::new(Bound::Unbounded, Bound::Open(low)).ok());
        let above = limits
            .high()
            .value()
            .and_then(|high| Range::new(Bound::Open(high), Bound::Unbounded).ok());
        ranges.extend(below.into_iter().chain(above));
    }
    ranges
}

fn some_value(range: Range) -> Option<Decimal> {
    let one = Decimal::ONE;
    let candidates = match (range.low().value(), range.high().value()) {
        (Some(low), Some(high)) => vec![(low + high) / Decimal::TWO, low, high],
        (Some(low), None) => vec![low + one, low],
        (None, Some(high)) => vec![high - one, high],
        (None, None) => vec![one],
    };
    candidates.into_iter().find(|v| range.contains(*v))
}

/// The last value, which was to prove a hold point, corrected to the smallest and the largest one, and to itself.
fn corrections(values: &[SpokenReading], state: &State) -> Vec<Meaning> {
    let itself = state.last_reading().map(|kept| spoken(kept.reading.amount));
    let mut numbers = values
        .iter()
        .filter(|v| matches!(v.amount, Amount::Exact(_)));
    let ends = numbers
        .clone()
        .next()
        .into_iter()
        .chain(numbers.next_back());
    let all = ends.cloned().chain(itself);
    let correction = |value| Meaning::Command {
        command: Command::Correction,
        readings: vec![value],
    };
    all.map(correction).collect()
}

/// Where on the way a hold point stands, released in this state, that a withdrawn value had proved.
fn proof_taken_back(state: &State, event: &Event) -> Option<usize> {
    let Event::ReadingWithdrawn { id, .. } = event else {
        return None;
    };
    let kept = state.reading(*id).filter(|kept| kept.proof.is_some())?;
    let last = state.trail.iter().rposition(|e| e.position == kept.step)?;
    state.trail[last].released.then_some(last)
}

/// One input, with every event looked at.
fn step(guide: &Guide, decide: Decide, state: &State, input: Input, walked: &mut Walked) -> State {
    let now = match input {
        Input::Tick => next_due(state).unwrap_or_default(),
        _ => state.timer.as_ref().map_or(0, |t| t.started),
    };
    let events = decide(guide, state, input, now);
    let mut released: Option<Position> = None;
    let mut taken_back: Vec<usize> = Vec::new();
    let mut next = state.clone();
    for event in &events {
        let left = match event {
            Event::StepDone { step } | Event::Skipped { step, .. } => Some(step.clone()),
            // Also where nothing says that the step before was done.
            Event::StepEntered { .. } | Event::Finished { .. } => next.position.clone(),
            _ => None,
        };
        match event {
            Event::StepEntered { to, .. } => {
                walked.entered.insert(to.clone());
            }
            Event::HoldReleased { step, .. } => {
                released = Some(step.clone());
                walked.holds_passed += 1;
            }
            _ => {}
        }
        let held = left.filter(|left| is_hold(guide, left) && released.as_ref() != Some(left));
        walked.bypassed.extend(held);
        taken_back.extend(proof_taken_back(&next, event));
        next = apply(next, event);
    }
    walked.proofs_taken_back += taken_back.len();
    // Gone back to, or further back still, it does not lie behind the step any more.
    let behind = &next.trail[..next.trail.len().saturating_sub(1)];
    let behind = taken_back.into_iter().filter_map(|at| behind.get(at));
    let unproved = behind.filter(|entry| entry.released && is_hold(guide, &entry.position));
    walked.unproved.extend(unproved.map(|e| e.position.clone()));
    next
}

fn is_hold(guide: &Guide, step: &Position) -> bool {
    matches!(
        guide.step(step).map(|s| &s.kind),
        Some(StepKind::Hold { .. })
    )
}
