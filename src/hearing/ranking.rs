//! The ways an utterance may have gone, best first, each once.

use crate::language::Hypothesis;

/// How many ways to hear an utterance are handed on.
const MOST_HYPOTHESES: usize = 8;

/// The engine's best way first, then the others in their order. A way whose words are already
/// there is dropped, after lending its score to the best way if that had none. Ways without words
/// are dropped.
pub fn ranked(best: Hypothesis, others: impl IntoIterator<Item = Hypothesis>) -> Vec<Hypothesis> {
    let mut found = vec![best];
    for other in others {
        match found.iter().position(|known| known.text() == other.text()) {
            Some(place) => found[place].score = found[place].score.or(other.score),
            None => found.push(other),
        }
    }
    found.retain(|hypothesis| !hypothesis.words.is_empty());
    found.truncate(MOST_HYPOTHESES);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::Word;

    fn way(text: &str, score: Option<f32>) -> Hypothesis {
        let words = text.split_whitespace().map(|word| Word {
            text: word.into(),
            start_ms: 0,
            end_ms: 100,
            confidence: None,
        });
        Hypothesis {
            words: words.collect(),
            score,
            acoustic: None,
            margin: None,
        }
    }

    #[test]
    fn each_way_comes_once_and_the_best_leads() {
        let others = [
            way("nine", Some(3.0)),
            way("five", Some(2.0)),
            way("nine", Some(1.0)),
            way("", Some(0.5)),
        ];
        let heard = ranked(way("five", None), others);
        assert_eq!(heard, [way("five", Some(2.0)), way("nine", Some(3.0))]);
    }

    #[test]
    fn silence_is_no_hypothesis() {
        assert_eq!(ranked(way("", None), []), []);
    }

    #[test]
    fn the_list_is_short() {
        let others = (0..100).map(|n| way(&format!("way {n}"), None));
        assert_eq!(ranked(way("five", None), others).len(), MOST_HYPOTHESES);
    }
}
