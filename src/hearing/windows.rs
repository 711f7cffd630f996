//! A stream heard piece by piece while a voice sounds in it that leaves no pauses: the newest two
//! seconds, again and again, so that each word lies whole in one of them.

use super::endpoint::Utterance;
use super::recognizer::{milliseconds_of, samples_in};

/// Length of a window. A "stop" takes half a second.
const LONG_MS: u64 = 2_000;
/// From the start of a window to the start of the next one.
const STEP_MS: u64 = 750;

/// Cuts a stream of 16 kHz samples into windows that overlap.
#[derive(Debug, Default)]
pub struct Windows {
    /// The newest samples, at most a window.
    newest: Vec<i16>,
    /// Samples since the last window ended.
    fresh: usize,
    /// Samples of the stream so far.
    taken: usize,
}

impl Windows {
    /// Takes the next samples and gives the window that has become complete by them, the newest
    /// where it is several. Its times count from the start of the stream.
    pub fn push(&mut self, samples: &[i16]) -> Option<Utterance> {
        self.newest.extend_from_slice(samples);
        self.fresh += samples.len();
        self.taken += samples.len();
        let surplus = self.newest.len().saturating_sub(samples_in(LONG_MS));
        self.newest.drain(..surplus);
        (self.fresh >= samples_in(STEP_MS)).then(|| self.window())
    }

    /// What has come since the last window, with what stood before it.
    pub fn finish(&mut self) -> Option<Utterance> {
        let last = (self.fresh > 0).then(|| self.window());
        *self = Windows::default();
        last
    }

    fn window(&mut self) -> Utterance {
        self.fresh = 0;
        let start = self.taken - self.newest.len();
        Utterance {
            start_ms: milliseconds_of(start),
            end_ms: milliseconds_of(self.taken),
            samples: self.newest.clone(),
            cut: false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_second_lies_whole_in_a_window_wherever_it_stands() {
        let mut windows = Windows::default();
        let mut found = Vec::new();
        for _ in 0..100 {
            found.extend(windows.push(&[0; 1_600]));
        }
        found.extend(windows.finish());
        assert_eq!(found.last().map(|w| w.end_ms), Some(10_000));
        for start in (0..9_500).step_by(10) {
            let whole = |w: &Utterance| w.start_ms <= start && start + 500 <= w.end_ms;
            assert!(found.iter().any(whole), "{start}");
        }
        assert_eq!(windows.finish(), None);
    }

    #[test]
    fn a_window_has_its_samples() {
        let mut windows = Windows::default();
        let samples: Vec<i16> = (0..16_000).map(|n| (n % 1000) as i16).collect();
        let mut whole = samples.clone();
        whole.extend(&samples);
        whole.extend(&samples);
        for block in whole.chunks(800) {
            if let Some(window) = windows.push(block) {
                let from = window.start_ms as usize * 16;
                assert_eq!(window.samples, whole[from..from + window.samples.len()]);
                assert!(window.samples.len() <= 32_000);
            }
        }
    }
}
