//! The level at the microphone as a bar below the dialogue, on a terminal.

use std::io::{self, Write};

use tokio::sync::watch;

use crate::hearing::level::Level;

/// Goes to the beginning of a terminal's line and empties it (ECMA-48).
pub const CLEAR: &str = "\r\u{1b}[K";

/// What an empty bar stands for, and a full one: in dBFS.
const SOFTEST_DB: f32 = -60.0;
const WIDTH: usize = 30;

/// Draws every level until none comes any more.
pub async fn show(mut levels: watch::Receiver<Level>) {
    while levels.changed().await.is_ok() {
        let bar = bar(*levels.borrow_and_update());
        let mut stdout = io::stdout().lock();
        // A terminal that does not take it shows no meter.
        let _ = write!(stdout, "{CLEAR}{bar}").and_then(|()| stdout.flush());
    }
}

/// The loudest as hashes, the noise around as dots below it.
fn bar(level: Level) -> String {
    let (loudest, noise) = (columns(level.loudest_db), columns(level.noise_db));
    let column = |at| match at {
        at if at < noise.min(loudest) => '.',
        at if at < loudest => '#',
        _ => ' ',
    };
    let bar: String = (0..WIDTH).map(column).collect();
    format!("  [{bar}] {:>3.0} dBFS", level.loudest_db)
}

fn columns(db: f32) -> usize {
    let share = (1.0 - db / SOFTEST_DB).clamp(0.0, 1.0);
    (share * WIDTH as f32).round() as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_shows_speech_above_the_noise() {
        for (loudest_db, noise_db, expected) in [
            (-96.0, -96.0, "  [                              ] -96 dBFS"),
            (-20.0, -40.0, "  [..........##########          ] -20 dBFS"),
            (-50.0, -40.0, "  [.....                         ] -50 dBFS"),
            (0.0, -60.0, "  [##############################]  -0 dBFS"),
        ] {
            let level = Level {
                loudest_db,
                noise_db,
                speech: false,
            };
            assert_eq!(bar(level).replace("  0 dBFS", " -0 dBFS"), expected);
        }
    }
}
