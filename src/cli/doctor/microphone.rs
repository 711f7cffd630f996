//! A microphone that is listened to for a while.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use super::{Check, missing, works};
use crate::clock::{Clock, Deadline, SystemClock};
use crate::hearing::level::Level;
use crate::hearing::listening::{Listening, Sound};
use crate::hearing::microphone::{self, Microphone};

const RECORDED: Duration = Duration::from_secs(2);
/// A microphone that is switched off gives nothing louder. Common practice, no source.
const OFF_DB: f32 = -90.0;
/// From here on the noise drowns a voice at arm's length. Common practice, no source.
const NOISY_DB: f32 = -30.0;

/// Every microphone, and whether there is one at all.
pub fn listed() -> (Check, bool) {
    match microphone::microphones() {
        Ok(found) => {
            let names: Vec<String> = found.iter().map(describe).collect();
            (works("microphone", names.join(", ")), true)
        }
        Err(e) => (missing("microphone", e.what, e.remedy), false),
    }
}

fn describe(microphone: &Microphone) -> String {
    format!(
        "{} ({} Hz, {} channels)",
        microphone.name, microphone.rate, microphone.channels
    )
}

/// An open microphone.
pub struct Booth {
    clock: Arc<SystemClock>,
    sounds: Receiver<Sound>,
    /// Runs as long as it is held.
    _listening: Listening,
}

impl Booth {
    /// # Errors
    ///
    /// It cannot be opened: the check that says so.
    pub fn open(device: Option<String>) -> Result<Booth, Check> {
        let clock = Arc::new(SystemClock::starting_at(0));
        let (tell, sounds) = channel();
        let deliver = move |sound| {
            // Nobody listens any more once the doctor has finished.
            let _ = tell.send(sound);
        };
        match Listening::start(device, Arc::clone(&clock), deliver) {
            Ok(listening) => Ok(Booth {
                clock,
                sounds,
                _listening: listening,
            }),
            Err(e) => Err(missing("level", e.what, e.remedy)),
        }
    }

    /// Now, in the milliseconds in which utterances are placed.
    pub fn now(&self) -> u64 {
        self.clock.now().ms
    }

    /// Forgets what was heard so far.
    pub fn forget(&self) {
        self.sounds.try_iter().for_each(drop);
    }

    /// The next thing heard, until the deadline.
    pub fn next(&self, deadline: Deadline) -> Option<Sound> {
        self.sounds.recv_timeout(deadline.left()).ok()
    }

    /// Two seconds, how loud they were, and what that means.
    pub fn record(&self) -> (Level, Check) {
        eprintln!("listening for two seconds");
        let deadline = Deadline::after(RECORDED);
        let mut level = Level::default();
        while let Some(sound) = self.next(deadline) {
            if let Sound::Level(now) = sound {
                level = Level {
                    loudest_db: level.loudest_db.max(now.loudest_db),
                    speech: level.speech || now.speech,
                    ..now
                };
            }
        }
        (level, judge(level))
    }
}

fn judge(level: Level) -> Check {
    let Level {
        loudest_db,
        noise_db,
        ..
    } = level;
    let found = format!("noise at {noise_db:.0} dBFS, the loudest at {loudest_db:.0}");
    match level {
        _ if loudest_db <= OFF_DB => missing(
            "level",
            "two seconds of silence without any noise: the microphone is switched off",
            "switch it on, such as with `pactl set-source-mute @DEFAULT_SOURCE@ 0`, or choose another \
             with `--device`",
        ),
        _ if noise_db > NOISY_DB => missing(
            "level",
            format!("{found}: too noisy to be understood"),
            "use a headset with its microphone before the mouth, or turn the microphone down, such as \
             with `pactl set-source-volume @DEFAULT_SOURCE@ 50%`",
        ),
        _ => works("level", found),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_is_judged_by_what_to_do_about_it() {
        for (loudest_db, noise_db, good) in [
            (-96.0, -96.0, false),
            (-40.0, -62.0, true),
            (-10.0, -20.0, false),
        ] {
            let check = judge(Level {
                loudest_db,
                noise_db,
                speech: false,
            });
            assert_eq!(check.works, good, "{loudest_db} {noise_db}");
            assert_eq!(check.remedy.is_none(), good);
        }
    }
}
