//! Asking, across threads, whether an utterance is over: the thread of the microphone goes on
//! listening while an engine hears what was said so far.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::thread::Thread;

use super::endpoint::Utterance;
use super::pause::Pause;

/// An utterance so far, after a short silence. Until it is settled, the longest pause is waited.
#[derive(Debug)]
pub struct Look {
    number: u64,
    desk: Arc<Desk>,
    /// Its times count from when the microphone was opened.
    pub so_far: Utterance,
}

impl Look {
    /// Whether nobody has spoken on since, and no look before it was enough.
    pub fn is_wanted(&self) -> bool {
        let settled = self
            .desk
            .settled()
            .is_some_and(|(_, pause)| pause.is_sure());
        !settled && self.desk.wanted.load(Ordering::Relaxed) == self.number
    }

    /// What pause the utterance needs; in effect at once, unless somebody has spoken on.
    pub fn settle(self, pause: Pause) {
        *self.desk.settled() = Some((self.number, pause));
        self.desk.wake();
    }
}

/// The looks of one microphone.
#[derive(Debug, Default)]
pub(super) struct Looks(Arc<Desk>);

#[derive(Debug, Default)]
struct Desk {
    /// Waits for what is settled.
    asker: OnceLock<Thread>,
    /// The number of the look in the silence that goes on, 0 for none.
    wanted: AtomicU64,
    settled: Mutex<Option<(u64, Pause)>>,
}

impl Desk {
    fn settled(&self) -> std::sync::MutexGuard<'_, Option<(u64, Pause)>> {
        // It is whole whatever happened to who wrote it.
        self.settled.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn wake(&self) {
        if let Some(asker) = self.asker.get() {
            asker.unpark();
        }
    }
}

impl Looks {
    /// The thread that asks, and parks meanwhile.
    pub fn are_taken_by(&self, asker: &Thread) {
        self.0.asker.get_or_init(|| asker.clone());
    }

    /// Wakes the thread that asks.
    pub fn wake(&self) {
        self.0.wake();
    }

    /// The look with that number, which counts from 1.
    pub fn ask(&self, number: u64, so_far: Utterance) -> Look {
        self.want(Some(number));
        Look {
            number,
            desk: Arc::clone(&self.0),
            so_far,
        }
    }

    /// Which look is still wanted.
    pub fn want(&self, number: Option<u64>) {
        self.0.wanted.store(number.unwrap_or(0), Ordering::Relaxed);
    }

    /// What was settled since the last call.
    pub fn take_settled(&self) -> Option<(u64, Pause)> {
        self.0.settled().take()
    }
}
