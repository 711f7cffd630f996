//! How far long work is, on a terminal and nowhere else.

use std::io::{self, IsTerminal, Write};

use crate::clock::{Clock, SystemClock};

/// Work that is done sooner is not worth a word.
const LONG_MS: u64 = 1_000;
/// How often it is told.
const EVERY_MS: u64 = 100;

/// A line on stderr, written over again and again, and taken away at the end.
pub struct Progress {
    what: &'static str,
    clock: SystemClock,
    next_ms: u64,
    told: bool,
}

impl Progress {
    pub fn new(what: &'static str) -> Progress {
        Progress {
            what,
            clock: SystemClock::start(),
            next_ms: match io::stderr().is_terminal() {
                true => LONG_MS,
                false => u64::MAX,
            },
            told: false,
        }
    }

    pub fn tell(&mut self, done: usize, of: usize) {
        let now = self.clock.now().ms;
        if now < self.next_ms {
            return;
        }
        self.next_ms = now + EVERY_MS;
        self.told = true;
        show(&format!("{}: {done} of {of}", self.what));
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.told {
            show("");
        }
    }
}

fn show(line: &str) {
    let mut to = io::stderr().lock();
    // Back to the first column, and the rest of the line taken away (ECMA-48). Where it cannot be
    // shown nothing is lost.
    let _ = write!(to, "\r{line}\u{1b}[K").and_then(|()| to.flush());
}
