//! How loud it is, and whether speech can be understood at that level.

use std::collections::HashMap;

use super::endpoint::Utterance;

/// Samples of one measurement: 16 ms at 16 kHz.
const FRAME: usize = 256;
/// What digital silence counts as.
const FLOOR_DB: f32 = -96.0;

/// Speech softer than this is too quiet. Common practice, no source.
const QUIET_DB: f32 = -45.0;
/// Speech less than this above the noise is drowned. Common practice, no source.
const ABOVE_NOISE_DB: f32 = 8.0;
/// Sound softer than this is silence: nobody speaks in it. Common practice, no source.
const SILENT_DB: f32 = -55.0;
/// From this magnitude on a sample counts as clipped.
const CLIPPED_FROM: u16 = 32_700;
/// One clipped sample in so many is heard. Common practice, no source.
const CLIPPED_ONE_IN: usize = 200;
/// The same warning is not given again before this time has passed.
const WARN_AGAIN_MS: u64 = 60_000;
/// How fast the measured noise follows, a frame.
const FOLLOW: f32 = 0.02;

/// What is wrong with the level of somebody's speech.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Warning {
    TooQuiet,
    Clipped,
    /// The noise around is nearly as loud.
    Drowned,
}

/// Which warnings were given, and when: none of them twice in a minute.
#[derive(Debug, Default)]
pub struct Warnings {
    given: HashMap<Warning, u64>,
}

impl Warnings {
    /// Whether a warning is to be given now, which it then counts as; the time is in milliseconds.
    pub fn are_due(&mut self, warning: Warning, now: u64) -> bool {
        let last = self.given.get(&warning);
        let due = last.is_none_or(|last| now - last >= WARN_AGAIN_MS);
        if due {
            self.given.insert(warning, now);
        }
        due
    }
}

/// How loud it is, in decibels below full scale (dBFS), from -96 to 0 each.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Level {
    /// The loudest 16 ms since the level before.
    pub loudest_db: f32,
    /// The noise around, as far as it is known.
    pub noise_db: f32,
    /// Whether somebody speaks.
    pub speech: bool,
}

impl Default for Level {
    fn default() -> Level {
        Level {
            loudest_db: FLOOR_DB,
            noise_db: FLOOR_DB,
            speech: false,
        }
    }
}

/// Follows the level of a stream of 16 kHz samples.
#[derive(Debug, Clone, Default)]
pub struct Meter {
    level: Level,
    noise_db: Option<f32>,
}

impl Meter {
    /// Takes the next samples; `speech` says whether somebody speaks in them.
    pub fn push(&mut self, samples: &[i16], speech: bool) {
        for frame in samples.chunks(FRAME) {
            let now = level_db(frame);
            self.level.loudest_db = self.level.loudest_db.max(now);
            if !speech {
                let noise = self.noise_db.unwrap_or(now);
                self.noise_db = Some(noise + FOLLOW * (now - noise));
            }
        }
        self.level.speech |= speech;
    }

    /// The level since this was last asked.
    pub fn take(&mut self) -> Level {
        Level {
            noise_db: self.noise_db.unwrap_or(FLOOR_DB),
            ..std::mem::take(&mut self.level)
        }
    }

    /// What is wrong with the level of an utterance; the worst first where it is several things.
    pub fn judge(&self, utterance: &Utterance) -> Option<Warning> {
        let samples = &utterance.samples;
        let speech = speech_db(samples);
        let is_clipped = |s: &&i16| s.unsigned_abs() >= CLIPPED_FROM;
        let clipped = samples.iter().filter(is_clipped).count();
        if clipped * CLIPPED_ONE_IN > samples.len() {
            return Some(Warning::Clipped);
        }
        if self.noise_db.is_some_and(|n| speech - n < ABOVE_NOISE_DB) {
            return Some(Warning::Drowned);
        }
        (speech < QUIET_DB).then_some(Warning::TooQuiet)
    }
}

/// Whether nobody can be speaking in these samples, because they are too soft throughout.
pub fn is_silent(samples: &[i16]) -> bool {
    samples
        .chunks(FRAME)
        .all(|frame| level_db(frame) < SILENT_DB)
}

/// The level that the loudest tenth of the frames reaches: that of the vowels.
fn speech_db(samples: &[i16]) -> f32 {
    let mut levels: Vec<f32> = samples.chunks(FRAME).map(level_db).collect();
    levels.sort_by(f32::total_cmp);
    let at = levels.len() * 9 / 10;
    levels.get(at).copied().unwrap_or(FLOOR_DB)
}

/// The root mean square against full scale.
pub(super) fn level_db(samples: &[i16]) -> f32 {
    let square = |s: &i16| f64::from(*s) * f64::from(*s);
    let mean = samples.iter().map(square).sum::<f64>() / samples.len().max(1) as f64;
    let db = 10.0 * (mean / (32_768.0 * 32_768.0)).log10();
    (db as f32).max(FLOOR_DB)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half a second of a square wave, whose level is its height.
    fn square(height: i16) -> Vec<i16> {
        let wave = [height, -height];
        wave.into_iter().cycle().take(8_000).collect()
    }

    fn utterance(samples: Vec<i16>) -> Utterance {
        Utterance {
            start_ms: 0,
            end_ms: 500,
            samples,
            cut: false,
        }
    }

    #[test]
    fn full_scale_is_zero_and_half_is_six_below() {
        assert!((level_db(&square(16_384)) + 6.02).abs() < 0.01);
        assert_eq!(level_db(&square(0)), FLOOR_DB);
        assert_eq!(level_db(&[]), FLOOR_DB);
    }

    #[test]
    fn levels_are_judged_against_full_scale_and_noise() {
        let cases = [
            (10, 8_000, None),
            (10, 100, Some(Warning::TooQuiet)),
            (10, 32_767, Some(Warning::Clipped)),
            (5_000, 8_000, Some(Warning::Drowned)),
        ];
        for (noise, speech, expected) in cases {
            let mut meter = Meter::default();
            meter.push(&square(noise), false);
            let found = meter.judge(&utterance(square(speech)));
            assert_eq!(found, expected, "noise {noise}, speech {speech}");
        }
    }

    #[test]
    fn speech_is_not_taken_for_noise() {
        let mut meter = Meter::default();
        meter.push(&square(10), false);
        meter.push(&square(8_000), true);
        let level = meter.take();
        assert!(level.loudest_db > -20.0 && level.noise_db < -60.0 && level.speech);
        assert_eq!(meter.take().loudest_db, FLOOR_DB);
        assert_eq!(meter.judge(&utterance(square(8_000))), None);
    }

    #[test]
    fn soft_noise_is_silence_and_a_soft_word_is_not() {
        assert!(is_silent(&[0; 32_000]));
        let mut samples = vec![20; 32_000];
        assert!(is_silent(&samples));
        samples[16_000..20_000].fill(200);
        assert!(!is_silent(&samples));
    }

    #[test]
    fn the_same_warning_is_not_given_twice_in_a_minute() {
        let mut warnings = Warnings::default();
        let mut due = |now| warnings.are_due(Warning::Clipped, now);
        let given: Vec<u64> = [0, 1_000, 59_999, 60_000]
            .into_iter()
            .filter(|now| due(*now))
            .collect();
        assert_eq!(given, [0, 60_000]);
    }
}
