//! A microphone that is listened to on a thread of its own: opened again when it is lost, its sound
//! resampled and cut into utterances on the session's clock.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, AtomicU64, Ordering};
use std::thread;
use std::time::Duration;

use super::capture::{Capture, Trouble};
use super::endpoint::{Endpointer, Utterance};
use super::level::{self, Level, Meter, Warning, Warnings};
use super::look::{Look, Looks};
use super::microphone::MicrophoneError;
use super::pause::Pause;
use super::recognizer::{SAMPLE_RATE, milliseconds_of, samples_in};
use super::resample::Resampler;
use super::windows::Windows;
use crate::clock::{Clock, Deadline, SystemClock};

/// Between two looks at the ring where the microphone gives nothing.
const LOOK_EVERY: Duration = Duration::from_millis(100);
/// Between two tries to open a microphone that is gone.
const TRY_EVERY: Duration = Duration::from_secs(1);
/// A microphone that gives nothing for so long is gone, whatever the sound system says.
const SILENT_FOR: Duration = Duration::from_secs(3);
/// Samples in which somebody speaks or nobody does.
const PIECE: usize = SAMPLE_RATE as usize / 50;
/// The level is told once for so many samples.
const LEVEL_EVERY: usize = SAMPLE_RATE as usize / 10;

/// What comes from a microphone.
#[derive(Debug)]
pub enum Sound {
    /// An utterance that may be over.
    Look(Look),
    /// Its times are of the session's clock.
    Utterance(Utterance),
    /// A piece of what is heard while a voice sounds, that overlaps with the one before. Its times
    /// are of the session's clock.
    Window(Utterance),
    /// How loud it is, ten times a second.
    Level(Level),
    /// Somebody's speech is at a bad level.
    Warning(Warning),
    /// So many milliseconds of sound were dropped because nobody took them in time.
    Overrun(u64),
    /// The microphone is gone; it is being waited for.
    Lost(MicrophoneError),
    /// A microphone is there again, by its name.
    Back(String),
}

/// A microphone being listened to. Dropping it ends the listening.
pub struct Listening {
    shared: Arc<Shared>,
    /// As the sound system calls it.
    pub name: String,
}

#[derive(Default)]
struct Shared {
    closed: AtomicBool,
    /// The session's time until which a voice sounds in the microphone.
    sounds_until: AtomicU64,
    looks: Looks,
    hears_speech: AtomicBool,
    /// Utterances given and not yet done with.
    given: AtomicU32,
}

impl Listening {
    /// Opens the microphone and gives what comes from it to `deliver`, in order, on another
    /// thread. `deliver` may wait: the ring holds ten seconds.
    ///
    /// # Errors
    ///
    /// It cannot be opened now; one that is lost later is waited for.
    pub fn start(
        wanted: Option<String>,
        clock: Arc<SystemClock>,
        deliver: impl FnMut(Sound) + Send + 'static,
    ) -> Result<Listening, MicrophoneError> {
        let shared = Arc::<Shared>::default();
        let theirs = Arc::clone(&shared);
        // A stream of some sound systems must stay on the thread that made it.
        let (opened, outcome) = std::sync::mpsc::channel();
        let run = move || match Capture::open(wanted.as_deref()) {
            Ok(capture) => {
                // The receiver waits for exactly this.
                let _ = opened.send(Ok(capture.name.clone()));
                let mut ear = Ear::new(theirs, clock, deliver);
                ear.listen(capture, wanted.as_deref());
            }
            Err(why) => {
                let _ = opened.send(Err(why));
            }
        };
        let thread = thread::Builder::new().name("microphone".to_owned());
        let spawned = thread.spawn(run).map_err(no_thread)?;
        shared.looks.are_taken_by(spawned.thread());
        let name = outcome.recv().map_err(no_thread)??;
        Ok(Listening { shared, name })
    }

    /// Whether somebody is speaking, or has just spoken and was not [`done`](Listening::done) with.
    pub fn is_busy(&self) -> bool {
        self.shared.hears_speech.load(Ordering::Relaxed)
            || self.shared.given.load(Ordering::Relaxed) > 0
    }

    /// One utterance that was delivered has been answered.
    pub fn done(&self) {
        let one_less = |n: u32| Some(n.saturating_sub(1));
        let given = &self.shared.given;
        // The closure never refuses.
        let _ = given.fetch_update(Ordering::Relaxed, Ordering::Relaxed, one_less);
    }

    /// A voice sounds in the microphone from here on until that time of the session. While it does,
    /// windows come instead of utterances; what is going on ends here. What was captured before that
    /// time belongs to the voice, however late it is looked at.
    pub fn set_sounding_until(&self, ms: u64) {
        self.shared.sounds_until.store(ms, Ordering::Relaxed);
        self.shared.looks.wake();
    }
}

impl Drop for Listening {
    fn drop(&mut self) {
        self.shared.closed.store(true, Ordering::Relaxed);
        self.shared.looks.wake();
    }
}

fn no_thread(why: impl std::fmt::Display) -> MicrophoneError {
    MicrophoneError {
        what: format!("no thread for the microphone: {why}"),
        remedy: "close other programs and try again",
    }
}

/// What the thread keeps.
struct Ear<D> {
    shared: Arc<Shared>,
    clock: Arc<SystemClock>,
    deliver: D,
    endpointer: Endpointer,
    /// While a voice sounds.
    windows: Option<Windows>,
    meter: Meter,
    /// Samples since the level was last told.
    untold: usize,
    /// Samples the endpointer or the windows took since they were last emptied.
    taken: usize,
    /// The session's time of the newest of them.
    newest_at: u64,
    warnings: Warnings,
}

impl<D: FnMut(Sound)> Ear<D> {
    fn new(shared: Arc<Shared>, clock: Arc<SystemClock>, deliver: D) -> Ear<D> {
        Ear {
            shared,
            clock,
            deliver,
            endpointer: Endpointer::default(),
            windows: None,
            meter: Meter::default(),
            untold: 0,
            taken: 0,
            newest_at: 0,
            warnings: Warnings::default(),
        }
    }

    fn is_closed(&self) -> bool {
        self.shared.closed.load(Ordering::Relaxed)
    }

    /// The thread's whole life.
    fn listen(&mut self, mut capture: Capture, wanted: Option<&str>) {
        while let Some(why) = self.until_lost(&mut capture) {
            self.part(false);
            (self.deliver)(Sound::Lost(why));
            capture.leave();
            match self.wait_for(wanted) {
                Some(found) => capture = found,
                None => return,
            }
            (self.deliver)(Sound::Back(capture.name.clone()));
        }
    }

    /// `None` once nobody listens any more.
    fn wait_for(&self, wanted: Option<&str>) -> Option<Capture> {
        loop {
            thread::sleep(TRY_EVERY);
            if self.is_closed() {
                return None;
            }
            if let Ok(capture) = Capture::open(wanted) {
                return Some(capture);
            }
        }
    }

    /// Takes what the microphone gives until it is lost, and says why; nothing once nobody listens
    /// any more.
    fn until_lost(&mut self, capture: &mut Capture) -> Option<MicrophoneError> {
        let mut resampler = match Resampler::new(capture.rate) {
            Ok(resampler) => resampler,
            Err(why) => return Some(unusable(&why)),
        };
        let mut samples = Vec::new();
        let mut patience = Deadline::after(SILENT_FOR);
        while !self.is_closed() {
            thread::park_timeout(LOOK_EVERY);
            if let Some(Trouble::Lost(why)) = capture.take_trouble() {
                return Some(why);
            }
            let dropped = capture.take_dropped_ms();
            if dropped > 0 {
                (self.deliver)(Sound::Overrun(dropped));
            }
            self.settle();
            samples.clear();
            capture.read(&mut samples);
            if !samples.is_empty() {
                patience = Deadline::after(SILENT_FOR);
                self.hear(&resampler.push(&samples));
            } else if patience.has_passed() {
                return Some(unusable(&"it gives no sound any more"));
            }
        }
        None
    }

    /// Takes what was captured until now.
    fn hear(&mut self, samples: &[i16]) {
        let now = self.clock.now().ms;
        let until = self.shared.sounds_until.load(Ordering::Relaxed);
        let silent = samples_in(now.saturating_sub(until)).min(samples.len());
        let (sounding, silent) = samples.split_at(samples.len() - silent);
        let parts = [(sounding, true, now.min(until)), (silent, false, now)];
        for (samples, sounding, at) in parts {
            if !samples.is_empty() {
                self.hear_until(at, samples, sounding);
            }
        }
    }

    /// Takes samples of which the newest is of that time, all with a voice in them or all without.
    fn hear_until(&mut self, at: u64, samples: &[i16], sounding: bool) {
        if sounding != self.windows.is_some() {
            self.part(sounding);
        }
        self.newest_at = at;
        self.taken += samples.len();
        let speech = match sounding {
            true => self.overhear(samples),
            false => self.listen_to_pieces(samples),
        };
        self.untold += samples.len();
        if self.untold >= LEVEL_EVERY {
            self.untold = 0;
            let level = self.meter.take();
            (self.deliver)(Sound::Level(level));
        }
        self.shared.hears_speech.store(speech, Ordering::Relaxed);
    }

    /// Takes samples in which a voice sounds, and says that nobody else is known to speak in them.
    fn overhear(&mut self, samples: &[i16]) -> bool {
        let complete = self.windows.as_mut().and_then(|w| w.push(samples));
        self.give_window(complete);
        self.meter.push(samples, true);
        false
    }

    /// The same as [`Ear::listen_to`] however long the samples have waited: a word that came and
    /// ended within them is no noise.
    fn listen_to_pieces(&mut self, samples: &[i16]) -> bool {
        let mut speech = false;
        for piece in samples.chunks(PIECE) {
            speech = self.listen_to(piece);
            self.meter.push(piece, speech);
        }
        speech
    }

    /// Takes samples, and says whether somebody speaks.
    fn listen_to(&mut self, samples: &[i16]) -> bool {
        let (deliver, looks) = (&mut self.deliver, &self.shared.looks);
        let mut number = self.endpointer.looks();
        let look = |so_far: &Utterance| {
            number += 1;
            deliver(Sound::Look(looks.ask(number, so_far.clone())));
            Pause::Unfinished
        };
        let ended = self.endpointer.push(samples, look);
        self.shared.looks.want(self.endpointer.looked());
        self.give(ended);
        self.endpointer.hears_speech()
    }

    /// Ends an utterance that is over by what was heard in it.
    fn settle(&mut self) {
        let settled = self.shared.looks.take_settled();
        let ended = settled.and_then(|(look, pause)| self.endpointer.settle(look, pause));
        if ended.is_some() {
            self.shared.looks.want(None);
            self.give(ended);
            let speech = self.endpointer.hears_speech();
            self.shared.hears_speech.store(speech, Ordering::Relaxed);
        }
    }

    /// Ends what is going on; a voice sounds in what comes or does not.
    fn part(&mut self, sounding: bool) {
        let ended = self.endpointer.finish();
        self.give(ended);
        let last = self.windows.take().and_then(|mut windows| windows.finish());
        self.give_window(last);
        self.taken = 0;
        self.windows = sounding.then(Windows::default);
        self.shared.hears_speech.store(false, Ordering::Relaxed);
    }

    fn give(&mut self, utterances: impl IntoIterator<Item = Utterance>) {
        for utterance in utterances {
            let (utterance, now) = self.on_clock(utterance);
            let warning = self.meter.judge(&utterance);
            self.shared.given.fetch_add(1, Ordering::Relaxed);
            (self.deliver)(Sound::Utterance(utterance));
            let warning = warning.filter(|warning| self.warnings.are_due(*warning, now));
            if let Some(warning) = warning {
                (self.deliver)(Sound::Warning(warning));
            }
        }
    }

    /// Nobody waits for windows, and their level is the voice's. Engines hear words in silence.
    fn give_window(&mut self, window: Option<Utterance>) {
        if let Some(window) = window.filter(|window| !level::is_silent(&window.samples)) {
            let (window, _) = self.on_clock(window);
            (self.deliver)(Sound::Window(window));
        }
    }

    /// The same at times of the session's clock, and the newest of them.
    fn on_clock(&self, utterance: Utterance) -> (Utterance, u64) {
        let now = self.newest_at;
        let taken = milliseconds_of(self.taken);
        let on_clock = |ms: u64| (now + ms).saturating_sub(taken);
        let placed = Utterance {
            start_ms: on_clock(utterance.start_ms),
            end_ms: on_clock(utterance.end_ms),
            ..utterance
        };
        (placed, now)
    }
}

fn unusable(why: &dyn std::fmt::Display) -> MicrophoneError {
    MicrophoneError {
        what: format!("the microphone cannot be used: {why}"),
        remedy: "check its plug, or choose another one with `--device`",
    }
}

#[cfg(test)]
mod tests;
