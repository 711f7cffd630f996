//! What the assistant of a replay is saying, on the clock of the replay.

use std::collections::VecDeque;

use crate::conversation::Cut;
use crate::session::{Ms, Sentence};
use crate::speaking::duration;

/// What is being spoken, and will be.
#[derive(Debug, Default)]
pub(super) struct Speaking {
    /// Sentences not yet spoken to their end, in order. The first one may have begun.
    said: VecDeque<Planned>,
    /// When everything will have been spoken; it may be in the past.
    ends: Ms,
    /// To be told then.
    pub through: Option<u64>,
}

#[derive(Debug)]
struct Planned {
    starts: Ms,
    begun: bool,
    sentence: Sentence,
}

impl Speaking {
    pub fn ends(&self) -> Ms {
        self.ends
    }

    /// When the next sentence begins.
    pub fn next_sentence(&self) -> Option<Ms> {
        let next = self.said.iter().find(|planned| !planned.begun);
        next.map(|planned| planned.starts)
    }

    /// When everything will have been spoken, where somebody waits to be told.
    pub fn end_awaited(&self) -> Option<Ms> {
        self.through.map(|_| self.ends)
    }

    /// Begins the next sentence.
    pub fn begin(&mut self) -> Option<(Ms, Sentence)> {
        let next = self.said.iter_mut().find(|planned| !planned.begun)?;
        next.begun = true;
        Some((next.starts, next.sentence.clone()))
    }

    /// Everything has been spoken.
    pub fn finish(&mut self) -> Option<u64> {
        self.said.clear();
        self.through.take()
    }

    /// Says a sentence after the others.
    pub fn add(&mut self, now: Ms, sentence: Sentence) {
        let starts = self.ends.max(now);
        self.ends = starts + duration::estimate(&sentence.text).as_millis() as Ms;
        self.said.push_back(Planned {
            starts,
            begun: false,
            sentence,
        });
    }

    /// Drops what falls away; whether a sentence was cut short that had begun.
    pub fn cut(&mut self, now: Ms, cut: Cut) -> bool {
        if cut == Cut::Nothing || self.ends <= now {
            return false;
        }
        let falls = |planned: &Planned| cut == Cut::Everything || planned.sentence.may_be_cut;
        let hushed = self.current(now).is_some_and(falls);
        let ends = match self.current(now) {
            Some(current) if !falls(current) => current.ends(),
            _ => now,
        };
        let waiting = std::mem::take(&mut self.said);
        self.ends = ends;
        for planned in waiting {
            if !planned.begun && !falls(&planned) {
                self.add(now, planned.sentence);
            }
        }
        hushed
    }

    /// The sentence that is being spoken.
    fn current(&self, now: Ms) -> Option<&Planned> {
        let begun = self.said.iter().rfind(|planned| planned.begun);
        begun.filter(|planned| planned.ends() > now)
    }
}

impl Planned {
    fn ends(&self) -> Ms {
        self.starts + duration::estimate(&self.sentence.text).as_millis() as Ms
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sentence(text: &str, may_be_cut: bool) -> Sentence {
        Sentence {
            text: text.to_owned(),
            may_be_cut,
        }
    }

    fn begun(sentences: &[(&str, bool)]) -> Speaking {
        let mut speaking = Speaking::default();
        for (text, may_be_cut) in sentences {
            speaking.add(1_000, sentence(text, *may_be_cut));
        }
        speaking.begin();
        speaking
    }

    fn waiting(speaking: &mut Speaking) -> Vec<String> {
        std::iter::from_fn(|| speaking.begin())
            .map(|(_, sentence)| sentence.text)
            .collect()
    }

    #[test]
    fn sentences_follow_each_other() {
        let mut speaking = begun(&[("Open the valve.", true), ("Then say next.", true)]);
        let first = duration::estimate("Open the valve.").as_millis() as Ms;
        assert_eq!(speaking.next_sentence(), Some(1_000 + first));
        assert_eq!(waiting(&mut speaking), ["Then say next."]);
        assert_eq!(speaking.next_sentence(), None);
    }

    #[test]
    fn another_phrase_cuts_only_what_may_be_cut() {
        let mut speaking = begun(&[("One.", true), ("Danger.", false), ("Two.", true)]);
        assert!(speaking.cut(1_100, Cut::Cuttable));
        assert_eq!(waiting(&mut speaking), ["Danger."]);
    }

    #[test]
    fn a_caution_is_heard_to_its_end_before_the_answer() {
        let mut speaking = begun(&[("Danger of death.", false), ("Two.", true)]);
        let end = speaking.said[0].ends();
        assert!(!speaking.cut(1_100, Cut::Cuttable));
        speaking.add(1_100, sentence("Answer.", true));
        assert_eq!(speaking.next_sentence(), Some(end));
    }

    #[test]
    fn stop_cuts_everything() {
        let mut speaking = begun(&[("Danger of death.", false), ("Two.", true)]);
        assert!(speaking.cut(1_100, Cut::Everything));
        assert_eq!(speaking.ends(), 1_100);
        assert_eq!(waiting(&mut speaking), Vec::<String>::new());
    }

    #[test]
    fn timers_cut_nothing() {
        let mut speaking = begun(&[("One.", true), ("Two.", true)]);
        assert!(!speaking.cut(1_100, Cut::Nothing));
        assert_eq!(waiting(&mut speaking), ["Two."]);
    }
}
