//! One call of `decide`: a working copy of the state, and the events so far.

use crate::procedure::{Step, StepKind, VariantId};
use crate::session::apply::apply;
use crate::session::event::Event;
use crate::session::guide::Guide;
use crate::session::parts::*;
use crate::session::state::State;

/// The state as it will be when the events so far are applied.
pub(in crate::session) struct Turn<'a> {
    pub guide: &'a Guide,
    pub state: State,
    pub now: Ms,
    events: Vec<Event>,
    /// Steps passed through in this turn without anything to do there: a circle among them has
    /// no end.
    pub passed: Vec<(Position, usize)>,
}

impl<'a> Turn<'a> {
    pub fn new(guide: &'a Guide, state: &State, now: Ms) -> Turn<'a> {
        Turn {
            guide,
            state: state.clone(),
            now,
            events: Vec::new(),
            passed: Vec::new(),
        }
    }

    pub fn record(&mut self, event: Event) {
        self.state = apply(std::mem::take(&mut self.state), &event);
        self.events.push(event);
    }

    pub fn decline(&mut self, why: Decline) {
        self.record(Event::Declined { why });
    }

    pub fn into_events(self) -> Vec<Event> {
        self.events
    }

    /// The step being worked on.
    pub fn step(&self) -> Option<&'a Step> {
        self.guide.step(self.state.position.as_ref()?)
    }

    /// The position and the kind of the step being worked on.
    pub fn here(&self) -> Option<(Position, &'a StepKind)> {
        Some((self.state.position.clone()?, &self.step()?.kind))
    }

    pub fn variant(&self) -> VariantId {
        self.guide.variant(&self.state)
    }
}
