//! Where speech starts and ends: a stream of samples in, utterances out.
//!
//! How long a silence must be to end an utterance depends on what was said. So a silence already
//! gives somebody who can hear words a look at the utterance so far; what they make of it is a
//! [`Pause`]. A quick look comes so soon that a soft last sound may still be missing, as of "hertz";
//! only a lone command counts then. The utterance that ends is, sample for sample, the one that was
//! looked at.

use std::collections::VecDeque;

use super::pause::{Pause, Pauses};
use super::recognizer::SAMPLE_RATE;
use super::voice::{FRAME, VoiceDetector};

/// Of a long utterance so much must be silence before it is looked at.
const LOOK_AFTER_ONE_IN: u64 = 16;

/// When speech counts as started and as over. Times are rounded to 16 ms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Endpointing {
    /// From 0 to 1: how sure the detector must be that a frame is voice.
    pub voice: f32,
    /// Voice shorter than this is a click or a knock, not an utterance.
    pub shortest_ms: u64,
    /// Kept from before the first voice: soft beginnings are not cut.
    pub before_ms: u64,
    /// The silence after which a short utterance is looked at for the first time.
    pub quick_ms: u64,
    /// An utterance longer than this gets no quick look: it is no command.
    pub short_ms: u64,
    /// Kept from after the last voice, and the silence after which the utterance is looked at in
    /// earnest; for a long one it is a sixteenth of its length, as looking takes time in proportion.
    pub after_ms: u64,
    /// Silence that ends an utterance.
    pub pauses: Pauses,
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
            quick_ms: 128,
            short_ms: 2_560,
            after_ms: 320,
            pauses: Pauses::default(),
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
    detector: VoiceDetector,
    settings: Endpointing,
    /// Samples not yet judged: less than a frame.
    waiting: Vec<i16>,
    /// Frames judged so far.
    frames: u64,
    /// The frames that may belong to the next utterance, the newest last.
    kept: VecDeque<Frame>,
    speech: Option<Speech>,
    looks: u64,
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
    /// The looks in this silence, by their numbers.
    quick: Option<u64>,
    full: Option<u64>,
    /// What was made of them, and the frames of silence that were looked at.
    pause: Option<(Pause, u64)>,
}

impl Speech {
    fn new(voiced: u64, silent: u64) -> Speech {
        Speech {
            voiced,
            silent,
            quick: None,
            full: None,
            pause: None,
        }
    }
}

impl Default for Endpointer {
    fn default() -> Endpointer {
        Endpointer::new(Endpointing::default())
    }
}

impl Endpointer {
    pub fn new(settings: Endpointing) -> Endpointer {
        Endpointer {
            detector: VoiceDetector::default(),
            settings,
            waiting: Vec::new(),
            frames: 0,
            kept: VecDeque::new(),
            speech: None,
            looks: 0,
        }
    }

    /// Takes the next samples of the stream and gives the utterances that ended in them. `look`
    /// gets an utterance that may be over; where it cannot say at once, it says how long to wait at
    /// most, and [`Endpointer::settle`] is told later.
    pub fn push(
        &mut self,
        samples: &[i16],
        mut look: impl FnMut(&Utterance) -> Pause,
    ) -> Vec<Utterance> {
        self.waiting.extend_from_slice(samples);
        let waiting = std::mem::take(&mut self.waiting);
        let (frames, rest) = waiting.as_chunks::<FRAME>();
        let ended = frames
            .iter()
            .filter_map(|frame| self.judge(frame, &mut look))
            .collect();
        self.waiting = rest.to_vec();
        ended
    }

    /// The first utterance that ends in the samples, if one does; what follows it is not taken.
    pub fn push_until_end(
        &mut self,
        samples: &[i16],
        mut look: impl FnMut(&Utterance) -> Pause,
    ) -> Option<Utterance> {
        let (frames, _) = samples.as_chunks::<FRAME>();
        frames.iter().find_map(|frame| self.judge(frame, &mut look))
    }

    /// The silence that is kept after an utterance, in samples.
    pub fn after(&self) -> usize {
        frames(self.settings.after_ms) as usize * FRAME
    }

    /// How often an utterance so far was given to be looked at.
    pub fn looks(&self) -> u64 {
        self.looks
    }

    /// The number of the newest look in the silence that goes on, counted from 1.
    pub fn looked(&self) -> Option<u64> {
        let speech = self.speech.as_ref()?;
        speech.full.or(speech.quick)
    }

    /// What was made of the look with that number. Gives the utterance if it is over by that; has
    /// no effect if somebody spoke on meanwhile.
    pub fn settle(&mut self, look: u64, pause: Pause) -> Option<Utterance> {
        let mut speech = self.speech.take()?;
        if speech.quick == Some(look) {
            self.settle_quick(&mut speech, pause);
        } else if speech.full == Some(look) {
            speech.pause = Some((pause, frames(self.settings.after_ms)));
        }
        self.close_or_keep(speech)
    }

    /// Ends the stream and gives what was still going on. Ready for another stream afterwards.
    pub fn finish(&mut self) -> Vec<Utterance> {
        let missing = (FRAME - self.waiting.len()) % FRAME;
        let mut ended = self.push(&vec![0; missing], |_| Pause::Open);
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

    fn judge(
        &mut self,
        samples: &[i16; FRAME],
        look: &mut impl FnMut(&Utterance) -> Pause,
    ) -> Option<Utterance> {
        let voice = self.detector.judge(samples, self.speech.is_some());
        self.frames += 1;
        self.kept.push_back(Frame {
            samples: *samples,
            voice,
        });
        let voiced = voice >= self.settings.voice;
        match self.speech.take() {
            Some(speech) => self.go_on(speech, voiced, look),
            None if voiced => {
                self.speech = Some(Speech::new(1, 0));
                None
            }
            None => {
                self.keep_newest(frames(self.settings.before_ms));
                None
            }
        }
    }

    fn go_on(
        &mut self,
        mut speech: Speech,
        voiced: bool,
        look: &mut impl FnMut(&Utterance) -> Pause,
    ) -> Option<Utterance> {
        if voiced {
            speech = Speech::new(speech.voiced + 1, 0);
        } else {
            speech.silent += 1;
            self.look(&mut speech, look);
        }
        if self.kept.len() as u64 >= frames(self.settings.longest_ms).max(2) {
            return Some(self.cut());
        }
        self.close_or_keep(speech)
    }

    /// Lets an utterance that may be over be looked at, if it is time for that.
    fn look(&mut self, speech: &mut Speech, look: &mut impl FnMut(&Utterance) -> Pause) {
        let (quick, after) = (self.settings.quick_ms, self.settings.after_ms);
        let length = self.kept.len() as u64;
        let is_sure = speech.pause.is_some();
        if !self.is_enough(speech) {
        } else if speech.full.is_none()
            && !is_sure
            && speech.silent >= frames(after).max(length / LOOK_AFTER_ONE_IN)
        {
            self.looks += 1;
            speech.full = Some(self.looks);
            let pause = look(&self.utterance(self.length(speech, frames(after)), false));
            speech.pause = Some((pause, frames(after)));
        } else if speech.full.or(speech.quick).is_none()
            && speech.silent >= frames(quick)
            && length <= frames(self.settings.short_ms)
        {
            self.looks += 1;
            speech.quick = Some(self.looks);
            let pause = look(&self.utterance(self.length(speech, frames(quick)), false));
            self.settle_quick(speech, pause);
        }
    }

    fn settle_quick(&self, speech: &mut Speech, pause: Pause) {
        if pause.is_sure() {
            speech.pause = Some((pause, frames(self.settings.quick_ms)));
        }
    }

    fn is_enough(&self, speech: &Speech) -> bool {
        speech.voiced >= frames(self.settings.shortest_ms)
    }

    /// The kept frames that belong to an utterance which ended with the last voice and so many
    /// frames of silence.
    fn length(&self, speech: &Speech, after: u64) -> u64 {
        self.kept.len() as u64 - speech.silent + speech.silent.min(after)
    }

    fn close_or_keep(&mut self, speech: Speech) -> Option<Utterance> {
        let pause = speech.pause.map_or(Pause::Open, |(pause, _)| pause);
        if speech.silent >= frames(self.settings.pauses.ms(pause)) {
            return self.close(&speech);
        }
        self.speech = Some(speech);
        None
    }

    /// The utterance over; too little voice is none. Its last silence stays as the start of what
    /// comes next.
    fn close(&mut self, speech: &Speech) -> Option<Utterance> {
        let after = frames(self.settings.after_ms);
        let length = self.length(speech, speech.pause.map_or(after, |(_, looked)| looked));
        let utterance = self
            .is_enough(speech)
            .then(|| self.utterance(length, false));
        let rest = self.kept.len() as u64 - length;
        self.keep_newest(frames(self.settings.before_ms).min(rest));
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
        let voices = self.kept.iter().filter(voiced).count() as u64;
        let silent = self.kept.iter().rev().take_while(|f| !voiced(f)).count() as u64;
        self.speech = Some(Speech::new(voices, silent));
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
