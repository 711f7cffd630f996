//! What two engines made of one utterance, to one opinion.
//!
//! One engine says how likely each meaning is; the other names one meaning. By Bayes' rule the odds
//! of that one grow by how much more often the other names what was said than any one thing that was
//! not. So neither decides alone: what both hear is sure, and what the other hears helps a meaning that
//! was almost as likely as the best.

use crate::language::{Automaton, Hypothesis, Meaning};

/// How much more often PocketSphinx names the meaning that was said than any other one that the network
/// takes for possible, where it is believed.
const FAVOR: f32 = 20.0;

/// Gives the meaning that the other engine named its due; likeliest first.
pub fn favor(hypotheses: &mut [Hypothesis], grammar: &Automaton, named: &Meaning) {
    let is_named = |hypothesis: &Hypothesis| {
        let meaning = grammar.parse(&hypothesis.words).meaning();
        meaning.same_as(named)
    };
    let Some(place) = hypotheses.iter().position(is_named) else {
        return;
    };
    let all = 1.0 + share(&hypotheses[place]) * (FAVOR - 1.0);
    for (other, hypothesis) in hypotheses.iter_mut().enumerate() {
        let times = if other == place { FAVOR } else { 1.0 } / all;
        for word in &mut hypothesis.words {
            word.confidence = word.confidence.map(|share| share * times);
        }
    }
    hypotheses[..=place].sort_by(|a, b| share(b).total_cmp(&share(a)));
}

/// How likely it is, of all that may have been said; the same for each of its words.
pub fn share(hypothesis: &Hypothesis) -> f32 {
    let first = hypothesis.words.first();
    first.and_then(|word| word.confidence).unwrap_or(0.0)
}
