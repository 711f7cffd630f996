//! A session that is shown on a page beside being written.

use crate::record::RecordError;
use crate::replay::Listener;
use crate::screen::{Glance, Screen};
use crate::session::{Event, Ms, Sentence};

/// Shows all it is told, after it has told another.
pub struct Shown<'a> {
    glance: Glance,
    screen: Screen,
    listener: &'a mut dyn Listener,
}

impl<'a> Shown<'a> {
    pub fn new(glance: Glance, screen: Screen, listener: &'a mut dyn Listener) -> Shown<'a> {
        Shown {
            glance,
            screen,
            listener,
        }
    }

    fn show(&self) {
        self.screen.show(&self.glance.view());
    }
}

impl Listener for Shown<'_> {
    fn said(&mut self, at: Ms, sentence: &Sentence) {
        self.listener.said(at, sentence);
        self.glance.said(sentence);
        self.show();
    }

    fn hushed(&mut self) {
        self.listener.hushed();
    }

    fn happened(&mut self, at: Ms, events: &[Event]) {
        self.listener.happened(at, events);
        if !events.is_empty() {
            self.glance.happened(events);
            self.show();
        }
    }

    fn trouble(&mut self, trouble: &RecordError) {
        self.listener.trouble(trouble);
    }
}
