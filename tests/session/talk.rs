//! Random talk to a session: whatever is said and however time goes, the rules hold.

use proptest::prelude::*;
use proptest::test_runner::TestCaseError;
use readback::language::{Command, Meaning, SpokenReading};
use readback::procedure::StepKind;
use readback::quantity::{Amount, Base, Decimal, Prefix};
use readback::session::{
    Event, Guide, Input, Ms, Opening, Position, State, Understanding, Utterance, apply, decide,
    expectation, next_due, speech,
};

/// Something that happens.
#[derive(Debug, Clone)]
pub enum Talk {
    Said(Vec<Meaning>),
    /// What the step listens for, by number.
    Offered(usize),
    HeardOut,
    Later(Ms),
    Resumed,
}

pub fn utterance() -> impl Strategy<Value = Talk> {
    let meanings = prop::collection::vec(meaning(), 1..4);
    prop_oneof![
        6 => meanings.prop_map(Talk::Said),
        4 => (0usize..16).prop_map(Talk::Offered),
        6 => Just(Talk::HeardOut),
        2 => (0u64..40_000).prop_map(Talk::Later),
        1 => Just(Talk::Resumed),
    ]
}

fn meaning() -> impl Strategy<Value = Meaning> {
    let command = prop::sample::select(Command::ALL.to_vec());
    let bare = command.prop_map(|command| Meaning::Command {
        command,
        readings: Vec::new(),
    });
    let going_on = prop::sample::select(vec![Command::Next, Command::Affirm]);
    let corrected = prop::collection::vec(reading(), 1..3).prop_map(|readings| Meaning::Command {
        command: Command::Correction,
        readings,
    });
    prop_oneof![
        3 => bare,
        4 => going_on.prop_map(|command| Meaning::Command { command, readings: Vec::new() }),
        4 => prop::collection::vec(reading(), 1..4).prop_map(Meaning::Readings),
        1 => corrected,
        1 => "[a-z]{0,3}[0-9]{0,3}".prop_map(Meaning::Spelling),
        1 => Just(Meaning::Choice("unheard-of".to_owned())),
        1 => Just(Meaning::nothing("found `mumble`")),
    ]
}

fn reading() -> impl Strategy<Value = SpokenReading> {
    let value = prop_oneof![
        Just(Decimal::from(120)),
        Just(Decimal::new(2, 1)),
        (0i64..5000, 0u32..3).prop_map(|(n, scale)| Decimal::new(n, scale)),
    ];
    let amount = prop_oneof![
        8 => value.prop_map(Amount::Exact),
        1 => Just(Amount::OverRange),
        1 => Just(Amount::None),
    ];
    let unit = prop::sample::select(vec![None, None, None, Some(Base::Volt), Some(Base::Ampere)]);
    (amount, unit, 0u64..4000).prop_map(|(amount, unit, start)| SpokenReading {
        amount,
        prefix: Prefix::None,
        unit,
        start_ms: start,
        end_ms: start + 500,
    })
}

/// A session on a clock.
struct Session<'a> {
    guide: &'a Guide,
    state: State,
    now: Ms,
    events: Vec<Event>,
}

/// Holds the talk and checks every event against the rules.
pub fn hold(guide: &Guide, opening: Opening, talk: &[Talk]) -> Result<(), TestCaseError> {
    let mut session = Session {
        guide,
        state: State::default(),
        now: 0,
        events: Vec::new(),
    };
    session.input(Input::Begin(opening))?;
    for said in talk {
        session.now += 700;
        match said {
            Talk::Said(meanings) => session.say(meanings.clone())?,
            Talk::Offered(number) => session.say_offered(*number)?,
            Talk::HeardOut => session.input(Input::Spoken {
                through: session.state.count,
            })?,
            Talk::Later(by) => session.wait(*by)?,
            Talk::Resumed => session.input(Input::Resume)?,
        }
    }
    session.check_replay()
}

impl Session<'_> {
    fn say(&mut self, meanings: Vec<Meaning>) -> Result<(), TestCaseError> {
        let understandings = meanings.into_iter().map(|meaning| Understanding {
            words: "words".to_owned(),
            confidence: Some(0.5),
            meaning,
        });
        self.input(Input::Heard(Utterance {
            understandings: understandings.collect(),
            typed: false,
            clip: None,
            start_ms: self.now,
            end_ms: self.now + 500,
        }))
    }

    fn say_offered(&mut self, number: usize) -> Result<(), TestCaseError> {
        let offered = expectation(self.guide, &self.state).choices;
        match offered.get(number % offered.len().max(1)) {
            Some(choice) => self.say(vec![Meaning::Choice(choice.id.clone())]),
            None => Ok(()),
        }
    }

    fn wait(&mut self, by: Ms) -> Result<(), TestCaseError> {
        let until = self.now + by;
        while let Some(due) = next_due(&self.state).filter(|due| *due <= until) {
            self.now = self.now.max(due);
            let before = self.state.count;
            self.input(Input::Tick)?;
            prop_assert!(self.state.count > before, "a due time did nothing");
        }
        self.now = until;
        Ok(())
    }

    fn input(&mut self, input: Input) -> Result<(), TestCaseError> {
        let events = decide(self.guide, &self.state, input, self.now);
        for event in events {
            // Saying it must not fail either, whatever the event.
            speech(self.guide, &self.state, &event);
            check_way(self.guide, &self.state, &event, &self.events)?;
            self.state = apply(std::mem::take(&mut self.state), &event);
            self.events.push(event);
        }
        let stop = expectation(self.guide, &self.state)
            .commands
            .contains(&Command::Stop);
        prop_assert!(stop || self.state.closed(), "stop is not heard");
        Ok(())
    }

    /// Live equals replayed: the events, written and read again, add up to the same state.
    fn check_replay(&self) -> Result<(), TestCaseError> {
        let mut state = State::default();
        for event in &self.events {
            let line = serde_json::to_string(event).expect("an event is JSON");
            let read: Event = serde_json::from_str(&line).expect("an event reads back");
            state = apply(state, &read);
        }
        prop_assert_eq!(&state, &self.state);
        Ok(())
    }
}

/// A hold point is left forward only by its release, with its whole proof affirmed; a caution only
/// by its acknowledgement.
fn check_way(
    guide: &Guide,
    state: &State,
    event: &Event,
    before: &[Event],
) -> Result<(), TestCaseError> {
    let left = match event {
        Event::StepDone { step } | Event::Skipped { step, .. } => step,
        Event::HoldReleased { step, .. } => return check_release(guide, state, step),
        _ => return Ok(()),
    };
    let last = before.last();
    match guide.step(left).map(|s| &s.kind) {
        Some(StepKind::Hold { .. }) => {
            let released = matches!(last, Some(Event::HoldReleased { step, .. }) if step == left);
            prop_assert!(released, "`{}` was left without its release", left.step);
        }
        Some(StepKind::Caution { .. }) => {
            let acknowledged =
                matches!(last, Some(Event::CautionAcknowledged { step }) if step == left);
            prop_assert!(acknowledged, "`{}` was left unheard", left.step);
            prop_assert!(state.heard_through >= state.entered);
        }
        _ => {}
    }
    Ok(())
}

/// Every point was read at this visit, affirmed, and lies inside.
fn check_release(guide: &Guide, state: &State, step: &Position) -> Result<(), TestCaseError> {
    use readback::procedure::Release;
    use readback::session::Standing;
    let Some(StepKind::Hold {
        release: Release::Proof(points),
        ..
    }) = guide.step(step).map(|s| &s.kind)
    else {
        return Ok(());
    };
    prop_assert_eq!(points.len(), state.proof.len());
    for (point, id) in points.iter().zip(&state.proof) {
        let kept = state.reading(*id).expect("a proof is a reading");
        prop_assert_eq!(kept.standing, Standing::Confirmed);
        prop_assert_eq!(kept.visit, state.visit);
        let Amount::Exact(value) = kept.reading.amount else {
            return Err(TestCaseError::fail("a proof without a number"));
        };
        prop_assert!(point.within.contains(value), "{value} proves nothing");
    }
    Ok(())
}
