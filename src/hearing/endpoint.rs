//! Where speech starts and ends: a stream of samples in, utterances out.

use std::collections::VecDeque;

use earshot::Detector;

use super::recognizer::SAMPLE_RATE;

/// Samples the voice detector judges at once: 16 ms.
const FRAME: usize = 256;

/// When speech counts as started and as over. Times are rounded to 16 ms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Endpointing {
    /// From 0 to 1: how sure the detector must be that a frame is voice.
    pub voice: f32,
    /// Voice shorter than this is a click or a knock, not an utterance.
    pub shortest_ms: u64,
    /// Kept from before the first voice: soft beginnings are not cut.
    pub before_ms: u64,
    /// Silence that ends an utterance. Longer than the pause between two readings of one breath.
    pub silence_ms: u64,
    /// Kept from after the last voice.
    pub after_ms: u64,
    /// An utterance that goes on is cut here, in its softest recent frame.
    pub longest_ms: u64,
}

impl Default for Endpointing {
    /// Common practice, no source; checked against the recordings of the tests.
    fn default() -> Endpointing {
        Endpointing {
            voice: 0.5,
            shortest_ms: 128,
            before_ms: 320,
            silence_ms: 640,
            after_ms: 320,
            longest_ms: 20_000,
        }
    }
}

/// One stretch of speech with a little silence around it.
#[derive(Clone, PartialEq, Eq)]
pub struct Utterance {
    /// Milliseconds from the start of the source to the first sample.
    pub start_ms: u64,
    /// To the end of the last sample.
    pub end_ms: u64,
    pub samples: Vec<i16>,
    /// Whether speech went on and the utterance was cut at its longest.
    pub cut: bool,
}

/// Without the samples, which would bury everything else.
impl std::fmt::Debug for Utterance {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Utterance")
            .field("start_ms", &self.start_ms)
            .field("end_ms", &self.end_ms)
            .field("cut", &self.cut)
            .finish_non_exhaustive()
    }
}

/// Finds utterances in a stream of 16 kHz samples.
pub struct Endpointer {
    detector: Box<Detector>,
    settings: Endpointing,
    /// Samples not yet judged: less than a frame.
    waiting: Vec<i16>,
    /// Frames judged so far.
    frames: u64,
    /// The frames that may belong to the next utterance, the newest last.
    kept: VecDeque<Frame>,
    speech: Option<Speech>,
}

struct Frame {
    samples: [i16; FRAME],
    voice: f32,
}

/// What is known of the speech going on, in frames of `kept`.
struct Speech {
    voiced: u64,
    /// Frames since the last voiced one.
    silent: u64,
}

impl Default for Endpointer {
    fn default() -> Endpointer {
        Endpointer::new(Endpointing::default())
    }
}

impl Endpointer {
    pub fn new(settings: Endpointing) -> Endpointer {
        Endpointer {
            detector: Box::default(),
            settings,
            waiting: Vec::new(),
            frames: 0,
            kept: VecDeque::new(),
            speech: None,
        }
    }

    /// Takes the next samples of the stream and gives the utterances that ended in them.
    pub fn push(&mut self, samples: &[i16]) -> Vec<Utterance> {
        self.waiting.extend_from_slice(samples);
        let waiting = std::mem::take(&mut self.waiting);
        let (frames, rest) = waiting.as_chunks::<FRAME>();
        let ended = frames
            .iter()
            .filter_map(|frame| self.judge(frame))
            .collect();
        self.waiting = rest.to_vec();
        ended
    }

    /// Ends the stream and gives what was still going on. Ready for another stream afterwards.
    pub fn finish(&mut self) -> Vec<Utterance> {
        let missing = (FRAME - self.waiting.len()) % FRAME;
        let mut ended = self.push(&vec![0; missing]);
        let last = self.speech.take().and_then(|speech| self.close(&speech));
        ended.extend(last);
        self.kept.clear();
        self.frames = 0;
        self.detector.reset();
        ended
    }

    /// Whether somebody is speaking now, as far as heard.
    pub fn hears_speech(&self) -> bool {
        self.speech.is_some()
    }

    fn judge(&mut self, samples: &[i16; FRAME]) -> Option<Utterance> {
        let voice = self.detector.predict_i16(samples);
        self.frames += 1;
        self.kept.push_back(Frame {
            samples: *samples,
            voice,
        });
        let voiced = voice >= self.settings.voice;
        match self.speech.take() {
            Some(speech) => self.go_on(speech, voiced),
            None => {
                if voiced {
                    self.speech = Some(Speech {
                        voiced: 1,
                        silent: 0,
                    });
                } else {
                    self.keep_newest(frames(self.settings.before_ms));
                }
                None
            }
        }
    }

    fn go_on(&mut self, mut speech: Speech, voiced: bool) -> Option<Utterance> {
        if voiced {
            speech.voiced += 1;
            speech.silent = 0;
        } else {
            speech.silent += 1;
        }
        if speech.silent >= frames(self.settings.silence_ms) {
            return self.close(&speech);
        }
        if self.kept.len() as u64 >= frames(self.settings.longest_ms).max(2) {
            return Some(self.cut());
        }
        self.speech = Some(speech);
        None
    }

    /// The utterance over; too little voice is none. Its last silence stays as the start of what
    /// comes next.
    fn close(&mut self, speech: &Speech) -> Option<Utterance> {
        let after = speech.silent.min(frames(self.settings.after_ms));
        let length = self.kept.len() as u64 - speech.silent + after;
        let enough = speech.voiced >= frames(self.settings.shortest_ms);
        let utterance = enough.then(|| self.utterance(length, false));
        self.keep_newest(frames(self.settings.before_ms).min(speech.silent - after));
        utterance
    }

    /// Cuts an utterance that does not end where it is softest in its second half.
    fn cut(&mut self) -> Utterance {
        let half = self.kept.len() / 2;
        let softest = (half..self.kept.len())
            .min_by(|a, b| self.kept[*a].voice.total_cmp(&self.kept[*b].voice))
            .unwrap_or(half);
        let utterance = self.utterance(softest as u64 + 1, true);
        self.kept.drain(..=softest);
        let voiced = |frame: &&Frame| frame.voice >= self.settings.voice;
        self.speech = Some(Speech {
            voiced: self.kept.iter().filter(voiced).count() as u64,
            silent: self.kept.iter().rev().take_while(|f| !voiced(f)).count() as u64,
        });
        utterance
    }

    /// The first `length` kept frames as an utterance.
    fn utterance(&self, length: u64, cut: bool) -> Utterance {
        let first = self.frames - self.kept.len() as u64;
        let frames = self.kept.iter().take(length as usize);
        Utterance {
            start_ms: milliseconds(first),
            end_ms: milliseconds(first + length),
            samples: frames.flat_map(|frame| frame.samples).collect(),
            cut,
        }
    }

    fn keep_newest(&mut self, count: u64) {
        let surplus = (self.kept.len() as u64).saturating_sub(count);
        self.kept.drain(..surplus as usize);
    }
}

fn frames(milliseconds: u64) -> u64 {
    milliseconds * u64::from(SAMPLE_RATE) / 1000 / FRAME as u64
}

fn milliseconds(frames: u64) -> u64 {
    frames * FRAME as u64 * 1000 / u64::from(SAMPLE_RATE)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A voice-like sound: a buzz at 120 Hz through the formants of an open vowel, in syllables.
    fn babble(milliseconds: u64) -> Vec<i16> {
        let count = milliseconds * u64::from(SAMPLE_RATE) / 1000;
        let at = |n: u64, hertz: f64| {
            (n as f64 / f64::from(SAMPLE_RATE) * hertz * std::f64::consts::TAU).sin()
        };
        let formant = |hertz: f64| 1.0 / (1.0 + ((hertz - 700.0) / 200.0).powi(2));
        (0..count)
            .map(|n| {
                let buzz: f64 = (1..30)
                    .map(|k| f64::from(k) * (120.0 + 10.0 * at(n, 3.0)))
                    .map(|hertz| (formant(hertz) + 0.3 * formant(hertz - 500.0)) * at(n, hertz))
                    .sum();
                (buzz * 4_000.0 * (0.6 + 0.4 * at(n, 5.0))) as i16
            })
            .collect()
    }

    fn silence(milliseconds: u64) -> Vec<i16> {
        vec![0; (milliseconds * u64::from(SAMPLE_RATE) / 1000) as usize]
    }

    /// A spanner on a pipe: 80 ms of dying noise.
    fn knock() -> Vec<i16> {
        let mut noise = 1_u32;
        (0..1_280)
            .map(|n| {
                noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let level = 20_000.0 * (-f64::from(n) / 200.0).exp();
                (level * (f64::from(noise >> 16) / 32_768.0 - 1.0)) as i16
            })
            .collect()
    }

    fn utterances(samples: &[i16], block: usize, settings: Endpointing) -> Vec<Utterance> {
        let mut endpointer = Endpointer::new(settings);
        let mut all: Vec<Utterance> = Vec::new();
        for block in samples.chunks(block) {
            all.extend(endpointer.push(block));
        }
        all.extend(endpointer.finish());
        all
    }

    #[test]
    fn two_stretches_of_voice_are_two_utterances_with_their_times() {
        let samples = [
            silence(1_000),
            babble(700),
            silence(1_500),
            babble(700),
            silence(900),
        ];
        let heard = utterances(&samples.concat(), 1_600, Endpointing::default());
        assert_eq!(heard.len(), 2);
        for (utterance, voice_from) in heard.iter().zip([1_000, 3_200]) {
            let (from, to) = (utterance.start_ms, utterance.end_ms);
            assert!(
                (voice_from - 340..=voice_from).contains(&from),
                "voice starts at {voice_from} ms, the utterance at {from} ms"
            );
            assert!(
                (voice_from + 700..=voice_from + 1_200).contains(&to),
                "voice ends at {} ms, the utterance at {to} ms",
                voice_from + 700
            );
            assert_eq!(utterance.samples.len() as u64, (to - from) * 16);
            assert!(!utterance.cut);
        }
    }

    #[test]
    fn a_short_pause_does_not_split() {
        let samples = [
            silence(500),
            babble(600),
            silence(400),
            babble(600),
            silence(900),
        ];
        let heard = utterances(&samples.concat(), 777, Endpointing::default());
        assert_eq!(heard.len(), 1);
    }

    #[test]
    fn silence_and_a_knock_are_no_utterance() {
        assert_eq!(
            utterances(&silence(3_000), 1_600, Endpointing::default()),
            []
        );
        let knock = [silence(500), knock(), silence(1_000), knock(), silence(500)].concat();
        assert_eq!(utterances(&knock, 1_600, Endpointing::default()), []);
    }

    #[test]
    fn speech_without_end_is_cut_and_nothing_is_lost() {
        let settings = Endpointing {
            longest_ms: 2_000,
            ..Endpointing::default()
        };
        let heard = utterances(&babble(7_000), 1_600, settings);
        assert!(heard.len() >= 4);
        let (last, others) = heard.split_last().unwrap();
        assert!(others.iter().all(|u| u.cut) && !last.cut);
        for pair in heard.windows(2) {
            assert!(pair[0].end_ms - pair[0].start_ms <= 2_000);
            assert_eq!(pair[0].end_ms, pair[1].start_ms);
        }
    }

    #[test]
    fn the_size_of_blocks_does_not_matter() {
        let samples = [silence(400), babble(800), silence(700), babble(500)].concat();
        let whole = utterances(&samples, samples.len(), Endpointing::default());
        assert_eq!(whole.len(), 2);
        for block in [1, 255, 256, 4_000] {
            assert_eq!(utterances(&samples, block, Endpointing::default()), whole);
        }
    }
}
