//! A session that is worked through by typing, and followed for the page.

use std::path::Path;

use readback::cli::procedure_files;
use readback::clock::{Clock, VirtualClock, WallTime};
use readback::conversation::{Conversation, Incoming};
use readback::quantity::{Amount, Base, Decimal, Reading, Unit};
use readback::screen::Glance;
use readback::session::{Event, Guide, Opening, State};
use serde_json::Value;

pub struct Session {
    conversation: Conversation,
    clock: VirtualClock,
    pub glance: Glance,
    pub happened: Vec<Event>,
}

/// One of the procedures that are shipped.
pub fn guide(name: &str) -> Guide {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let files = procedure_files::open_sound(&folder.join(name));
    Guide::bundled(files.expect("a sound procedure").library).expect("its language")
}

/// The page of a session before its first event.
pub fn glance() -> Glance {
    Glance::new(guide("cold-benches.yaml"), State::default())
}

/// The events from the beginning to the first step, which is a warning.
pub fn until_first_step() -> Vec<Event> {
    let mut session = Session::begun("cold-benches.yaml");
    session.say(&["next"]);
    session.happened
}

impl Session {
    /// A session about a small skid of which everything else is known.
    pub fn begun(procedure: &str) -> Session {
        let began = WallTime::parse("2026-03-04T17:05:09Z").expect("a time");
        let guide = guide(procedure);
        let conversation = Conversation::new(guide.clone(), State::default(), None);
        let mut session = Session {
            conversation: conversation.expect("its grammar"),
            clock: VirtualClock::starting_at(began),
            glance: Glance::new(guide, State::default()),
            happened: Vec::new(),
        };
        let supply = |number: i64, unit: Base| {
            let amount = Amount::Exact(Decimal::from(number));
            let unit = Unit::from(unit);
            Some(Reading { amount, unit })
        };
        session.take(Incoming::Begin(Opening {
            variant: Some("hs-2".into()),
            serial: Some("HS1".to_owned()),
            supply_voltage: supply(120, Base::Volt),
            supply_frequency: supply(60, Base::Hertz),
            qualified: true,
            tools_at_hand: true,
            ..Opening::default()
        }));
        session
    }

    fn take(&mut self, incoming: Incoming) {
        let now = self.clock.now();
        let reply = self.conversation.take(incoming, &now);
        let reply = reply.expect("no record, no trouble");
        self.glance.happened(&reply.events);
        for sentence in &reply.sentences {
            self.glance.said(sentence);
        }
        self.happened.extend(reply.events);
        if !reply.sentences.is_empty() {
            let through = reply.through;
            self.take(Incoming::Spoken { through });
        }
    }

    /// Types these one after the other, two seconds apart, and gives what is shown then.
    pub fn say(&mut self, words: &[&str]) -> Value {
        for words in words {
            self.wait(2_000);
            self.take(Incoming::Typed((*words).to_owned()));
        }
        self.view()
    }

    pub fn wait(&mut self, ms: u64) -> Value {
        let until = self.clock.now().ms + ms;
        while let Some(due) = self.conversation.next_due().filter(|due| *due <= until) {
            self.clock.advance_to(due);
            self.take(Incoming::Tick);
        }
        self.clock.advance_to(until);
        self.view()
    }

    pub fn view(&self) -> Value {
        serde_json::to_value(self.glance.view()).expect("JSON")
    }
}
