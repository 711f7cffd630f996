//! An ear at the loudspeaker that nobody hears: whether something sounds there.

use std::io::Read;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use super::card::{Card, NOT_INSTALLED};

/// Louder than what the sound system itself adds, of 32,768.
const LOUD: u16 = 60;
/// Between two sentences there are shorter silences, also on a busy machine.
const SILENCE: Duration = Duration::from_millis(1_500);
/// Who hears nothing for so long need not wait for its end.
const NOTHING: Duration = Duration::from_secs(5);
/// A prompt has begun and ended in this time.
const PATIENCE: Duration = Duration::from_secs(45);

/// Records the loudspeaker until it is dropped.
pub struct Listener {
    recorder: Child,
    last_loud: Arc<Mutex<Option<Instant>>>,
}

impl Listener {
    pub fn start(card: &Card) -> Listener {
        let mut recorder = Command::new("parec");
        recorder
            .args(["--device=speaker.monitor", "--format=s16ne"])
            .args(["--rate=16000", "--channels=1", "--latency-msec=50"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null());
        card.at_home(&mut recorder);
        let mut recorder = recorder.spawn().expect(NOT_INSTALLED);
        let mut sound = recorder.stdout.take().expect("its stdout");
        let last_loud = Arc::<Mutex<Option<Instant>>>::default();
        let last = Arc::clone(&last_loud);
        thread::spawn(move || {
            let mut block = [0; 640];
            while sound.read_exact(&mut block).is_ok() {
                let samples = block.chunks_exact(2);
                let mut samples = samples.map(|s| i16::from_ne_bytes([s[0], s[1]]));
                if samples.any(|sample| sample.unsigned_abs() > LOUD) {
                    *last.lock().unwrap() = Some(Instant::now());
                }
            }
        });
        Listener {
            recorder,
            last_loud,
        }
    }

    /// Waits until what is being said has sounded and ended.
    pub fn wait_for_silence(&self) {
        let begun = Instant::now();
        loop {
            let last = *self.last_loud.lock().unwrap();
            let sounded = last.is_some_and(|last| last > begun);
            let silent = last.is_none_or(|last| last.elapsed() > SILENCE);
            if silent && (sounded || begun.elapsed() > NOTHING) {
                return;
            }
            assert!(begun.elapsed() < PATIENCE, "the voice does not end");
            thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        // It ends with the sound system, too.
        let _ = self.recorder.kill();
        let _ = self.recorder.wait();
    }
}
