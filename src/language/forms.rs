//! The automaton in the forms engines take: a phrase list, and grammar text.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::automaton::Automaton;
use super::graph::{Graph, Label, State};

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
            for (label, to) in &state.arcs {
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

    /// JSGF text for an engine that takes grammars: one right-linear rule for each state of the
    /// smallest automaton that accepts the same words. Empty when nothing may be said.
    pub fn jsgf(&self, name: &str) -> String {
        let graph = self.words_only();
        let mut text = format!("#JSGF V1.0;\ngrammar {name};\npublic <{name}> = <s0>;\n");
        if graph.states.iter().all(|state| state.arcs.is_empty()) {
            return String::new();
        }
        for (number, state) in graph.states.iter().enumerate() {
            if state.arcs.is_empty() {
                continue;
            }
            let mut by_target: BTreeMap<u32, Vec<&str>> = BTreeMap::new();
            for (label, to) in &state.arcs {
                by_target
                    .entry(*to)
                    .or_default()
                    .push(self.lexicon.word(label.word));
            }
            let mut ways: Vec<String> = by_target
                .into_iter()
                .map(|(to, words)| way(&words, to, &graph))
                .collect();
            if !state.finals.is_empty() {
                ways.push("<NULL>".to_owned());
            }
            let _ = writeln!(text, "<s{number}> = {};", ways.join(" | "));
        }
        text
    }

    /// The same words without meanings, as small as can be.
    fn words_only(&self) -> Graph {
        let mut numbers = BTreeMap::new();
        let mut open = vec![vec![0_u32]];
        numbers.insert(open[0].clone(), 0_u32);
        let mut graph = Graph::default();
        while graph.states.len() < open.len() {
            let set = open[graph.states.len()].clone();
            let mut joined: BTreeMap<u16, Vec<u32>> = BTreeMap::new();
            for arc in set.iter().flat_map(|state| self.arc_range(*state)) {
                joined
                    .entry(self.arc_word(arc))
                    .or_default()
                    .push(self.arc(arc).to);
            }
            let mut arcs = Vec::with_capacity(joined.len());
            for (word, mut target) in joined {
                target.sort_unstable();
                target.dedup();
                let fresh = open.len() as u32;
                let to = *numbers.entry(target.clone()).or_insert_with(|| {
                    open.push(target);
                    fresh
                });
                let label = Label {
                    word,
                    ops: 0,
                    cost: 0,
                };
                arcs.push((label, to));
            }
            let ends = set.iter().any(|state| self.is_final(*state));
            let finals = if ends { vec![(0, 0)] } else { Vec::new() };
            graph.states.push(State { arcs, finals });
        }
        graph.merged()
    }
}

/// Words that lead to one state, and what follows there.
fn way(words: &[&str], to: u32, graph: &Graph) -> String {
    let said = match words {
        [word] => (*word).to_owned(),
        _ => format!("( {} )", words.join(" | ")),
    };
    match graph.states[to as usize].arcs.is_empty() {
        true => said,
        false => format!("{said} <s{to}>"),
    }
}
