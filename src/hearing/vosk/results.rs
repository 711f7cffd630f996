//! From what the two recognizers gave to hypotheses.
//!
//! The library may end a stretch of speech in the middle of an utterance. Each recognizer then
//! gives its result in parts, one after the other; word times run on through them.

use crate::hearing::ranking::ranked;
use crate::language::{Hypothesis, Word};

/// Ways to hear one stretch of speech, each with its score, best first.
pub type Ways = Vec<(f32, Vec<Word>)>;

/// What one recognizer said of one stretch of speech.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// Its words with confidences.
    Best(Vec<Word>),
    Ways(Ways),
}

/// A word from the library's times in seconds.
pub fn word(text: &str, start: f32, end: f32, confidence: Option<f32>) -> Word {
    Word {
        text: text.to_owned(),
        start_ms: milliseconds(start),
        end_ms: milliseconds(end),
        confidence,
    }
}

fn milliseconds(seconds: f32) -> u64 {
    (f64::from(seconds) * 1000.0).round().max(0.0) as u64
}

/// The words with confidences first, then each way that differs from them in one stretch of
/// speech, best first.
pub fn hypotheses(parts: Vec<Part>) -> Vec<Hypothesis> {
    let mut best = Vec::new();
    let mut stretches = Vec::new();
    for part in parts {
        match part {
            Part::Best(words) => best.extend(words),
            Part::Ways(ways) => stretches.push(ways),
        }
    }
    let mut others = spliced(&stretches);
    others.sort_by(|a, b| {
        b.score
            .unwrap_or(f32::MIN)
            .total_cmp(&a.score.unwrap_or(f32::MIN))
    });
    let best = Hypothesis {
        words: best,
        score: None,
        acoustic: None,
        margin: None,
    };
    ranked(best, others)
}

/// The best way through all stretches, and every way that leaves it in exactly one.
fn spliced(stretches: &[Ways]) -> Vec<Hypothesis> {
    let best = vec![0; stretches.len()];
    let mut choices = vec![best.clone()];
    for (stretch, ways) in stretches.iter().enumerate() {
        for way in 1..ways.len() {
            let mut choice = best.clone();
            choice[stretch] = way;
            choices.push(choice);
        }
    }
    choices
        .iter()
        .map(|choice| along(stretches, choice))
        .collect()
}

fn along(stretches: &[Ways], choice: &[usize]) -> Hypothesis {
    let chosen: Vec<&(f32, Vec<Word>)> = stretches
        .iter()
        .zip(choice)
        .filter_map(|(ways, way)| ways.get(*way))
        .collect();
    Hypothesis {
        words: chosen.iter().flat_map(|(_, words)| words.clone()).collect(),
        score: Some(chosen.iter().map(|(score, _)| score).sum()),
        acoustic: None,
        margin: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str, confidence: Option<f32>) -> Vec<Word> {
        text.split_whitespace()
            .map(|w| word(w, 0.1, 0.25, confidence))
            .collect()
    }

    fn way(score: f32, text: &str) -> (f32, Vec<Word>) {
        (score, words(text, None))
    }

    #[test]
    fn words_with_confidence_lead_and_take_their_score_from_the_alternatives() {
        let heard = hypotheses(vec![
            Part::Best(words("two five", Some(0.9))),
            Part::Ways(vec![way(210.0, "two five"), way(190.5, "two nine")]),
        ]);
        assert_eq!(heard.len(), 2);
        assert_eq!(heard[0].words[0].confidence, Some(0.9));
        assert_eq!(heard[0].words[0].start_ms, 100);
        assert_eq!(heard[0].score, Some(210.0));
        assert_eq!(
            (heard[1].text(), heard[1].score),
            ("two nine".to_owned(), Some(190.5))
        );
    }

    #[test]
    fn alternatives_of_one_stretch_keep_the_other_stretches() {
        let heard = hypotheses(vec![
            Part::Best(words("two", Some(1.0))),
            Part::Ways(vec![way(10.0, "two"), way(8.0, "three")]),
            Part::Best(words("five", Some(0.5))),
            Part::Ways(vec![way(20.0, "five"), way(19.0, "nine")]),
        ]);
        let texts: Vec<String> = heard.iter().map(Hypothesis::text).collect();
        assert_eq!(texts, ["two five", "two nine", "three five"]);
    }

    #[test]
    fn silence_is_no_hypothesis() {
        let silence = vec![Part::Best(Vec::new()), Part::Ways(vec![way(0.0, "")])];
        assert_eq!(hypotheses(silence), Vec::new());
        assert_eq!(hypotheses(Vec::new()), Vec::new());
    }
}
