//! Several hypotheses to ranked meanings.

use super::automaton::Automaton;
use super::heard::Hypothesis;
use super::meaning::Meaning;
use super::parse::{Ranked, Rankings, insert};

/// What each place down an engine's list costs, in hundredths of a nat. Common practice, no
/// source: engines' own scores cannot be compared, their order can.
const LOWER_PLACE: u32 = 100;

/// What an utterance may have meant, over all its hypotheses: distinct meanings, cheapest first.
///
/// Hypotheses that mean nothing add nothing. If none means anything, the only entry is
/// [`Meaning::Nothing`] with the best hypothesis's reason. Never empty.
pub fn understand(automaton: &Automaton, hypotheses: &[Hypothesis]) -> Rankings {
    let mut ranked = Rankings::new();
    let mut nothing = None;
    for (place, hypothesis) in hypotheses.iter().enumerate() {
        let parse = automaton.parse(&hypothesis.words);
        if parse.ranked.is_empty() {
            nothing.get_or_insert_with(|| parse.meaning());
        }
        for mut meaning in parse.ranked {
            meaning.cost += LOWER_PLACE * place as u32;
            insert(&mut ranked, meaning);
        }
    }
    if ranked.is_empty() {
        let meaning = nothing.unwrap_or_else(|| Meaning::nothing("nothing was heard"));
        ranked.push(Ranked { meaning, cost: 0 });
    }
    ranked
}
