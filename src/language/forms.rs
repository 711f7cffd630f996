//! The phrase list: the automaton's form for an engine that takes phrases.

use super::automaton::Automaton;
use super::graph::Graph;
use super::lexicon::SEPARATOR;

/// Whole phrases given at most for one rule; beyond, its words stand alone.
const PHRASES: usize = 400;
/// Words of a phrase at most.
const LONGEST: usize = 8;

/// The whole phrases of small graphs: commands and choices.
pub(super) fn phrases_of(graphs: &[&Graph], automaton: &Automaton) -> Vec<String> {
    let mut phrases = Vec::new();
    for graph in graphs {
        let mut open = vec![(0_usize, Vec::<&str>::new())];
        while let Some((at, words)) = open.pop() {
            let Some(state) = graph.states.get(at) else {
                continue;
            };
            if !state.finals.is_empty() {
                phrases.push(words.join(" "));
            }
            if words.len() == LONGEST || phrases.len() >= PHRASES {
                continue;
            }
            for (label, to) in state.arcs.iter().filter(|(l, _)| l.word != SEPARATOR) {
                let mut longer = words.clone();
                longer.push(automaton.lexicon.word(label.word));
                open.push((*to as usize, longer));
            }
        }
    }
    phrases.sort_unstable();
    phrases.dedup();
    phrases
}

impl Automaton {
    /// The list for an engine that takes phrases: the whole phrases of commands and choices, and
    /// every word alone. No phrase is empty or holds a quote.
    pub fn phrases(&self) -> Vec<String> {
        let mut phrases = self.phrases.clone();
        phrases.extend(self.words().into_iter().map(str::to_owned));
        phrases.sort_unstable();
        phrases.dedup();
        phrases.retain(|phrase| !phrase.is_empty() && !phrase.contains(['"', '\\']));
        phrases
    }
}
