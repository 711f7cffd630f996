//! The ways through an automaton, joined ahead of time: one look-up a word.
//!
//! Words without a pause between them lead from the start to a set of states, one state for each
//! way to read the words. There are few such sets, so they are all known when the automaton is
//! made, with the arcs between them. Following words then takes one look-up each, whatever the
//! number of ways, and the arcs of a way are read off backward from its end.
//!
//! A short cut and no more: where a set is not known the answer is "unknown", and the search in
//! `search.rs`, which also knows pauses, finds the same ways in the same order.

use std::collections::HashMap;

use smallvec::SmallVec;

use super::automaton::Automaton;
use super::lexicon::WordId;
use super::search::KEPT_PER_STATE;

/// Sets known at most for each state of the automaton, so that no grammar makes too many.
const SETS_PER_STATE: usize = 4;

/// The states that the words so far lead to, in the order in which a search finds them.
type States = SmallVec<[u32; 4]>;

/// All sets of states that rows of words lead to. Set 0 holds the start alone.
#[derive(Debug, Clone, Default)]
pub(super) struct Ways {
    sets: Vec<States>,
    /// Words that have a column in `table`.
    columns: usize,
    /// For each set and word the number of its move; 0 where it is not known.
    table: Vec<u16>,
    moves: Vec<Move>,
    /// For each state of the set a move leads to: which state before, and by which arc.
    steps: Vec<Step>,
}

/// From one set of states to another by a word.
#[derive(Debug, Clone, Copy, Default)]
struct Move {
    to: u32,
    first_step: u32,
}

#[derive(Debug, Clone, Copy)]
struct Step {
    before: u32,
    arc: u32,
}

/// Words of one utterance at most; longer ones are left to the search.
const LONGEST: usize = 24;

/// Where words led; filled in place, because it is large.
#[derive(Debug, Default)]
pub(super) struct Path {
    /// For each word the first step of its move.
    first_steps: [u32; LONGEST],
    length: usize,
    set: u32,
}

/// The arcs of one way, first word first; filled in place, because it is large.
#[derive(Debug, Default)]
pub(super) struct Way {
    arcs: [u32; LONGEST],
    length: usize,
}

impl Way {
    pub(super) fn arcs(&self) -> &[u32] {
        &self.arcs[..self.length]
    }
}

impl Ways {
    /// The ways through an automaton whose words are numbered below `columns`.
    pub(super) fn through(automaton: &Automaton, columns: usize) -> Ways {
        let start = States::from_slice(&[0]);
        let mut numbers = HashMap::from([(start.clone(), 0)]);
        let mut ways = Ways {
            sets: vec![start],
            columns,
            table: Vec::new(),
            moves: vec![Move::default()],
            steps: Vec::new(),
        };
        let most = SETS_PER_STATE * automaton.state_count() as usize;
        let mut leaving: Vec<(WordId, Step)> = Vec::new();
        let mut from = 0;
        while from < ways.sets.len() {
            leaving.clear();
            for (before, state) in (0..).zip(&ways.sets[from]) {
                let arcs = automaton.word_range(*state);
                leaving.extend(arcs.map(|at| {
                    let arc = at as u32;
                    (automaton.arc_word(at), Step { before, arc })
                }));
            }
            // Stable: ways of one word stay in the order in which a search finds them.
            leaving.sort_by_key(|(word, _)| *word);
            ways.table.resize((from + 1) * columns, 0);
            for steps in leaving.chunk_by(|a, b| a.0 == b.0) {
                let (Ok(number), false) = (
                    u16::try_from(ways.moves.len()),
                    steps.len() > KEPT_PER_STATE,
                ) else {
                    continue;
                };
                let target: States = steps
                    .iter()
                    .map(|(_, step)| automaton.arc(step.arc as usize).to)
                    .collect();
                let to = match numbers.get(&target) {
                    Some(to) => *to,
                    None if ways.sets.len() >= most => continue,
                    None => {
                        let to = ways.sets.len() as u32;
                        numbers.insert(target.clone(), to);
                        ways.sets.push(target);
                        to
                    }
                };
                ways.table[from * columns + usize::from(steps[0].0)] = number;
                ways.moves.push(Move {
                    to,
                    first_step: ways.steps.len() as u32,
                });
                ways.steps.extend(steps.iter().map(|(_, step)| *step));
            }
            from += 1;
        }
        ways
    }

    /// Follows words from the start. Whether every word has a known move.
    #[inline]
    pub(super) fn follow(&self, words: impl Iterator<Item = WordId>, path: &mut Path) -> bool {
        let (mut set, mut length) = (0, 0);
        for word in words {
            let column = usize::from(word);
            if column >= self.columns || length == LONGEST {
                return false;
            }
            let number = self.table[set as usize * self.columns + column];
            if number == 0 {
                return false;
            }
            let taken = self.moves[usize::from(number)];
            path.first_steps[length] = taken.first_step;
            length += 1;
            set = taken.to;
        }
        (path.set, path.length) = (set, length);
        true
    }

    /// The states at the end of a path, one for each way.
    #[inline]
    pub(super) fn ends(&self, path: &Path) -> &[u32] {
        &self.sets[path.set as usize]
    }

    /// Finds the way to one of the path's ends.
    #[inline]
    pub(super) fn way_to(&self, path: &Path, end: usize, way: &mut Way) {
        let mut at = end;
        for word in (0..path.length).rev() {
            let step = self.steps[path.first_steps[word] as usize + at];
            way.arcs[word] = step.arc;
            at = step.before as usize;
        }
        way.length = path.length;
    }
}

#[cfg(test)]
mod tests {
    use std::iter::repeat;
    use std::sync::LazyLock;

    use proptest::prelude::*;

    use super::*;
    use crate::language::text::{Given, plain_words};
    use crate::language::{Expectation, ExpectedReading, Language, Parse};

    /// What can be said at all, and where a value in ohms between 0 and 100 is expected.
    static AUTOMATA: LazyLock<[Automaton; 2]> = LazyLock::new(|| {
        let language = Language::bundled("en-US").unwrap();
        let reading = ExpectedReading {
            unit: "ohm".parse().ok(),
            plausible: "0..100".parse().ok(),
        };
        let everything = Expectation::everything();
        let step = Expectation {
            reading: Some(reading),
            ..everything.clone()
        };
        [&everything, &step].map(|expected| language.compile(expected).unwrap())
    });

    /// The answers of the short way, where it has one, and of the search.
    fn both(automaton: &Automaton, text: &str) -> (Option<Parse>, Parse) {
        let (mut short, mut full) = (Parse::default(), Parse::default());
        let words = plain_words(&automaton.lexicon, text);
        let known = automaton.parse_followed(words, repeat((0, 0)), &mut short);
        automaton.parse_searched(Given::Text(text), &mut full);
        (known.then_some(short), full)
    }

    fn utterance(automaton: &Automaton, turns: &[u16]) -> String {
        let (mut state, mut words) = (0, Vec::new());
        for turn in turns {
            let arcs: Vec<_> = automaton.arcs(state).collect();
            let Some(arc) = arcs.get(usize::from(*turn) % arcs.len().max(1)) else {
                break;
            };
            words.push(arc.word);
            state = arc.to;
        }
        words.join(" ")
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

        #[test]
        fn the_short_way_and_the_search_agree(
            turns in prop::collection::vec(any::<u16>(), 1..10),
            which in 0_usize..2,
        ) {
            let automaton = &AUTOMATA[which];
            let text = utterance(automaton, &turns);
            if let (Some(short), full) = both(automaton, &text) {
                prop_assert_eq!(short, full, "{}", text);
            }
        }
    }

    #[test]
    fn usual_utterances_take_the_short_way() {
        for text in [
            "two hundred and forty five ohms",
            "five point seven",
            "seventeen fifty",
            "next",
            "correction two four five",
            "alpha one two",
        ] {
            let (short, full) = both(&AUTOMATA[0], text);
            assert_eq!(short, Some(full), "{text}");
        }
    }

    #[test]
    fn pauses_foreign_words_and_implausible_values_are_left_to_the_search() {
        for text in [
            "",
            "five, six",
            "five gasket",
            "two hundred and forty five ohms",
        ] {
            assert_eq!(both(&AUTOMATA[1], text).0, None, "{text}");
        }
    }
}
