//! Whether a frame of sound is somebody's voice who speaks to us: it must sound like a voice, and
//! stand out from what is heard all the time.
//!
//! A voice detector takes people who talk elsewhere for what they are, voices. They are told apart
//! by level: how far a voice must stand out follows from how much the noise itself goes up and
//! down, little beside a pump and much among people.

use std::collections::VecDeque;

use earshot::Detector;

use super::level::level_db;
use super::recognizer::SAMPLE_RATE;

/// Samples judged at once: 16 ms.
pub const FRAME: usize = 256;

/// The level is the mean of so many frames.
const SMOOTHED: usize = 4;
/// How fast the floor of the noise may rise, in decibels a second. It falls at once.
const RISE_DB: f32 = 2.0;
/// How fast the mean level of the noise is followed, in seconds: while nobody speaks, and while
/// somebody does, or seems to.
const FOLLOW_S: f32 = 0.5;
const FOLLOW_SPEECH_S: f32 = 5.0;
/// A voice stands above the floor by so many decibels at least, by twice as much as the noise's mean
/// does, and never needs more than the most. Tuned on the training voices of the corpus.
const LEAST_DB: f32 = 2.0;
const OF_MEAN: f32 = 2.0;
const MOST_DB: f32 = 14.0;

/// What is so many decibels softer than the loudest just heard is the last of a sound dying away: a
/// detector goes on taking it for voice for a tenth of a second. No sound of speech is so much softer than the
/// vowels beside it (common practice, no source).
const DIES_AWAY_DB: f32 = 45.0;
/// How fast the loudest is forgotten, in decibels a second: a blow is no measure of the next voice.
const FORGET_DB: f32 = 10.0;

/// Seconds of a frame.
const FRAME_S: f32 = FRAME as f32 / SAMPLE_RATE as f32;

/// Judges the frames of a stream of 16 kHz samples in their order.
#[derive(Default)]
pub struct VoiceDetector {
    detector: Box<Detector>,
    /// Of the newest frames, in decibels.
    levels: VecDeque<f32>,
    noise: Option<Noise>,
    /// The level of the loudest frame just heard, in decibels.
    loudest: Option<f32>,
}

/// What is heard all the time, in decibels.
#[derive(Debug, Clone, Copy)]
struct Noise {
    floor: f32,
    mean: f32,
}

impl VoiceDetector {
    /// From 0 to 1 how sure it is that the frame is a voice, 0 where none stands out. `speaking`:
    /// whether somebody was speaking in the frame before.
    pub fn judge(&mut self, samples: &[i16; FRAME], speaking: bool) -> f32 {
        let voice = self.detector.predict_i16(samples);
        let level = level_db(samples);
        self.levels.truncate(SMOOTHED - 1);
        self.levels.push_front(level);
        let smoothed = self.levels.iter().sum::<f32>() / self.levels.len() as f32;
        let noise = Noise::followed(self.noise, smoothed, speaking);
        self.noise = Some(noise);
        let loudest = self
            .loudest
            .map_or(level, |db| level.max(db - FORGET_DB * FRAME_S));
        self.loudest = Some(loudest);
        let stands_out = level >= noise.floor + noise.stands_out_by();
        match stands_out && level >= loudest - DIES_AWAY_DB {
            true => voice,
            false => 0.0,
        }
    }

    /// Ready for another stretch of the stream. What is heard all the time stays known.
    pub fn reset(&mut self) {
        self.detector.reset();
    }
}

impl Noise {
    fn followed(before: Option<Noise>, level: f32, speaking: bool) -> Noise {
        let Some(Noise { floor, mean }) = before else {
            return Noise {
                floor: level,
                mean: level,
            };
        };
        let follow_s = match speaking {
            true => FOLLOW_SPEECH_S,
            false => FOLLOW_S,
        };
        Noise {
            floor: level.min(floor + RISE_DB * FRAME_S),
            mean: mean + (level - mean) * FRAME_S / follow_s,
        }
    }

    /// How far above the floor a voice must be, in decibels.
    fn stands_out_by(self) -> f32 {
        let swing = (self.mean - self.floor).max(0.0);
        (LEAST_DB + OF_MEAN * swing).min(MOST_DB)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise_after(levels: &[f32]) -> Noise {
        let follow = |noise, level: &f32| Some(Noise::followed(noise, *level, false));
        levels.iter().fold(None, follow).unwrap()
    }

    #[test]
    fn beside_a_steady_noise_a_voice_need_not_stand_out_much() {
        let noise = noise_after(&[-40.0; 200]);
        assert_eq!(noise.floor, -40.0);
        assert_eq!(noise.stands_out_by(), LEAST_DB);
    }

    #[test]
    fn among_people_it_must_stand_out_as_much_as_they_go_up_and_down() {
        let talk: Vec<f32> = (0..400).map(|n| [-50.0, -40.0][n / 10 % 2]).collect();
        let noise = noise_after(&talk);
        assert!(noise.floor <= -49.0, "{noise:?}");
        assert!(
            (10.0..=MOST_DB).contains(&noise.stands_out_by()),
            "{noise:?}"
        );
    }

    #[test]
    fn a_machine_that_starts_is_soon_noise() {
        let levels = [vec![-60.0; 100], vec![-50.0; 400]].concat();
        let noise = noise_after(&levels);
        assert_eq!(noise.floor, -50.0);
        assert!(noise.stands_out_by() < LEAST_DB + 0.1, "{noise:?}");
    }

    #[test]
    fn a_sound_that_dies_away_is_over_before_it_is_gone() {
        let recording = include_bytes!("../../audio-fixtures/hearing/en-rms-stop.wav");
        let samples: Vec<i16> = recording[44..]
            .as_chunks()
            .0
            .iter()
            .map(|bytes| i16::from_le_bytes(*bytes))
            .collect();
        let mut detector = VoiceDetector::default();
        let frames = samples.as_chunks::<FRAME>().0;
        let voiced: Vec<bool> = frames
            .iter()
            .map(|f| detector.judge(f, true) >= 0.5)
            .collect();
        // Its level is 45 dB below the loudest at 848 ms, and 60 dB below at 944 ms.
        let last = voiced.iter().rposition(|voiced| *voiced).unwrap();
        assert!((848..=896).contains(&((last + 1) * 16)), "{last}");
    }

    #[test]
    fn a_blow_is_soon_forgotten() {
        let mut detector = VoiceDetector {
            loudest: Some(0.0),
            ..VoiceDetector::default()
        };
        for _ in 0..125 {
            detector.judge(&[0; FRAME], false);
        }
        assert!(detector.loudest.unwrap() < -18.0);
    }

    #[test]
    fn silence_before_speech_lets_the_softest_voice_through() {
        let mut detector = VoiceDetector::default();
        for _ in 0..50 {
            assert!(detector.judge(&[0; FRAME], false) < 0.5);
        }
        let noise = detector.noise.unwrap();
        assert!(noise.floor + noise.stands_out_by() < -90.0);
    }
}
