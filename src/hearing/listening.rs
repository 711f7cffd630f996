//! A microphone that is listened to on a thread of its own: opened again when it is lost, its sound
//! resampled and cut into utterances on the session's clock.

use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::thread;
use std::time::Duration;

use super::capture::{Capture, Trouble};
use super::endpoint::{Endpointer, Utterance};
use super::level::{Level, Meter, Warning};
use super::look::{Look, Looks};
use super::microphone::MicrophoneError;
use super::pause::Pause;
use super::recognizer::SAMPLE_RATE;
use super::resample::Resampler;
use crate::clock::{Clock, Deadline, SystemClock};

/// Between two looks at the ring where the microphone gives nothing.
const LOOK_EVERY: Duration = Duration::from_millis(100);
/// Between two tries to open a microphone that is gone.
const TRY_EVERY: Duration = Duration::from_secs(1);
/// A microphone that gives nothing for so long is gone, whatever the sound system says.
const SILENT_FOR: Duration = Duration::from_secs(3);
/// The level is told once for so many samples.
const LEVEL_EVERY: usize = SAMPLE_RATE as usize / 10;
/// The same warning is not given again before this time has passed, in milliseconds.
const WARN_AGAIN_MS: u64 = 60_000;

/// What comes from a microphone.
#[derive(Debug)]
pub enum Sound {
    /// An utterance that may be over.
    Look(Look),
    /// Its times are of the session's clock.
    Utterance(Utterance),
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
    part: AtomicBool,
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

    /// Ends the utterance that is going on here; what follows belongs to the next one.
    pub fn part(&self) {
        self.shared.part.store(true, Ordering::Relaxed);
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
    meter: Meter,
    /// Samples since the level was last told.
    untold: usize,
    /// Samples the endpointer took since it was last emptied.
    taken: u64,
    warned: HashMap<Warning, u64>,
}

impl<D: FnMut(Sound)> Ear<D> {
    fn new(shared: Arc<Shared>, clock: Arc<SystemClock>, deliver: D) -> Ear<D> {
        Ear {
            shared,
            clock,
            deliver,
            endpointer: Endpointer::default(),
            meter: Meter::default(),
            untold: 0,
            taken: 0,
            warned: HashMap::new(),
        }
    }

    fn is_closed(&self) -> bool {
        self.shared.closed.load(Ordering::Relaxed)
    }

    /// The thread's whole life.
    fn listen(&mut self, mut capture: Capture, wanted: Option<&str>) {
        while let Some(why) = self.until_lost(&mut capture) {
            self.part();
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

    fn hear(&mut self, samples: &[i16]) {
        self.taken += samples.len() as u64;
        let (deliver, looks) = (&mut self.deliver, &self.shared.looks);
        let mut number = self.endpointer.looks();
        let look = |so_far: &Utterance| {
            number += 1;
            deliver(Sound::Look(looks.ask(number, so_far.clone())));
            Pause::Unfinished
        };
        let ended = self.endpointer.push(samples, look);
        self.shared.looks.want(self.endpointer.looked());
        let speech = self.endpointer.hears_speech();
        self.meter.push(samples, speech);
        self.untold += samples.len();
        if self.untold >= LEVEL_EVERY {
            self.untold = 0;
            let level = self.meter.take();
            (self.deliver)(Sound::Level(level));
        }
        self.give(ended);
        self.shared.hears_speech.store(speech, Ordering::Relaxed);
        if self.shared.part.swap(false, Ordering::Relaxed) {
            self.part();
        }
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

    /// Ends what is going on.
    fn part(&mut self) {
        let ended = self.endpointer.finish();
        self.give(ended);
        self.taken = 0;
        self.shared.hears_speech.store(false, Ordering::Relaxed);
    }

    fn give(&mut self, utterances: impl IntoIterator<Item = Utterance>) {
        for mut utterance in utterances {
            // The newest sample is of now.
            let now = self.clock.now().ms;
            let taken = self.taken * 1000 / u64::from(SAMPLE_RATE);
            let on_clock = |ms: u64| (now + ms).saturating_sub(taken);
            utterance.start_ms = on_clock(utterance.start_ms);
            utterance.end_ms = on_clock(utterance.end_ms);
            let warning = self.meter.judge(&utterance);
            self.shared.given.fetch_add(1, Ordering::Relaxed);
            (self.deliver)(Sound::Utterance(utterance));
            if let Some(warning) = warning {
                self.warn(warning, now);
            }
        }
    }

    fn warn(&mut self, warning: Warning, now: u64) {
        let last = self.warned.get(&warning);
        if last.is_none_or(|last| now - last >= WARN_AGAIN_MS) {
            self.warned.insert(warning, now);
            (self.deliver)(Sound::Warning(warning));
        }
    }
}

fn unusable(why: &dyn std::fmt::Display) -> MicrophoneError {
    MicrophoneError {
        what: format!("the microphone cannot be used: {why}"),
        remedy: "check its plug, or choose another one with `--device`",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    fn samples(file: &str) -> Vec<i16> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/audio-fixtures/hearing");
        let mut wav = hound::WavReader::open(format!("{folder}/{file}")).unwrap();
        assert_eq!(wav.spec().sample_rate, SAMPLE_RATE);
        wav.samples::<i16>().map(Result::unwrap).collect()
    }

    fn heard(
        play: impl FnOnce(&mut Ear<Box<dyn FnMut(Sound)>>),
        shared: &Arc<Shared>,
    ) -> Vec<Sound> {
        let sounds = Arc::<Mutex<Vec<Sound>>>::default();
        let kept = Arc::clone(&sounds);
        let deliver: Box<dyn FnMut(Sound)> = Box::new(move |sound| match sound {
            Sound::Level(_) => {}
            other => kept.lock().unwrap().push(other),
        });
        // So far into the session that no time comes before its beginning.
        let clock = Arc::new(SystemClock::starting_at(100_000));
        play(&mut Ear::new(Arc::clone(shared), clock, deliver));
        let mut sounds = std::mem::take(&mut *sounds.lock().unwrap());
        sounds.retain(|sound| !matches!(sound, Sound::Look(_)));
        sounds
    }

    #[test]
    fn an_utterance_has_the_time_of_the_clock_and_is_waited_for() {
        let shared = Arc::<Shared>::default();
        let sounds = heard(
            |ear| {
                ear.hear(&samples("en-rms-next.wav"));
                ear.hear(&[0; 16_000]);
            },
            &shared,
        );
        let [Sound::Utterance(utterance)] = sounds.as_slice() else {
            panic!("found {sounds:?}, expected one utterance");
        };
        assert!(
            (95_000..101_000).contains(&utterance.start_ms),
            "{utterance:?}"
        );
        assert_eq!(
            utterance.end_ms - utterance.start_ms,
            utterance.samples.len() as u64 / 16
        );
        let listening = Listening {
            shared,
            name: String::new(),
        };
        assert!(listening.is_busy());
        listening.done();
        assert!(!listening.is_busy());
        listening.done();
        assert!(!listening.is_busy());
    }

    #[test]
    fn an_utterance_can_be_parted() {
        let shared = Arc::<Shared>::default();
        let speech = samples("en-rms-two_hundred_and_forty_five_volts.wav");
        let sounds = heard(
            |ear| {
                let half = speech.len() / 2;
                ear.hear(&speech[..half]);
                ear.shared.part.store(true, Ordering::Relaxed);
                ear.hear(&[]);
                ear.hear(&speech[half..]);
                ear.hear(&[0; 16_000]);
            },
            &shared,
        );
        assert_eq!(sounds.len(), 2, "{sounds:?}");
    }

    #[test]
    fn the_same_warning_is_not_given_twice_in_a_minute() {
        let shared = Arc::<Shared>::default();
        let sounds = heard(
            |ear| {
                for now in [0, 1_000, 59_999, 60_000] {
                    ear.warn(Warning::Clipped, now);
                }
            },
            &shared,
        );
        assert_eq!(sounds.len(), 2);
    }
}
