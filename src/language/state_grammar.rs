//! The finite state grammar: the automaton's form for an engine that takes states and words.
//!
//! Meanings are left out, so states that differ only in meaning become one. Words that many
//! states share stand once, in a state of their own that those states enter silently: engines
//! build a pronunciation tree for each state with words, and that is most of what a new grammar
//! costs. Grammar text with rules would not do: engines copy a rule for each of its uses.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

use super::automaton::Automaton;
use super::graph::{Graph, Label, State};
use super::lexicon::{SEPARATOR, WordId};

/// A word and the state it leads to.
type Exit = (WordId, u32);

impl Automaton {
    /// The automaton as text in the FSG format of the Sphinx decoders: `TRANSITION from to
    /// probability word`, without a word where nothing is said. Nothing with a word in it that is left
    /// out may be said. Empty when nothing may be said at all.
    pub fn state_grammar(&self, name: &str, left_out: &[&str]) -> String {
        let graph = self.without_meaning(left_out);
        if graph.states.iter().all(|state| state.arcs.is_empty()) {
            return String::new();
        }
        let end = graph.states.len();
        let share = |state: usize| 1.0 / graph.states[state].exits() as f32;
        let mut lines = Vec::new();
        let mut hubs = 0;
        for (states, exits) in shared_exits(&graph) {
            if states.len() == 1 || exits.len() == 1 {
                for from in &states {
                    lines.extend(exits.iter().map(|e| self.line(*from, *e, share(*from))));
                }
                continue;
            }
            hubs += 1;
            let hub = end + hubs;
            let all = exits.len() as f32;
            for from in &states {
                lines.push(format!("{from} {hub} {:.6}", all * share(*from)));
            }
            lines.extend(exits.iter().map(|exit| self.line(hub, *exit, 1.0 / all)));
        }
        for (from, state) in graph.states.iter().enumerate() {
            if !state.finals.is_empty() {
                lines.push(format!("{from} {end} {:.6}", share(from)));
            }
        }
        let count = end + hubs + 1;
        let mut text = format!("FSG_BEGIN {name}\nNUM_STATES {count}\nSTART_STATE 0\n");
        let _ = writeln!(text, "FINAL_STATE {end}");
        for line in lines {
            let _ = writeln!(text, "TRANSITION {line}");
        }
        text.push_str("FSG_END\n");
        text
    }

    /// The same, within words that mean nothing and follow one another: what may be said may come
    /// after any of them, and they go on from any. The same words in another order would explain too
    /// much.
    pub fn state_grammar_among(&self, name: &str, left_out: &[&str], decoys: &[String]) -> String {
        let plain = self.state_grammar(name, left_out);
        let Some(count) = number_after(&plain, "NUM_STATES") else {
            return plain;
        };
        let Some(end) = number_after(&plain, "FINAL_STATE") else {
            return plain;
        };
        let (before, after, over) = (count, count + 1, count + 2);
        let mut free = count + 3;
        let mut lines = vec![
            format!("{before} 0 {MEANT:.6}"),
            format!("{before} {over} {LEFT:.6}"),
            format!("{end} {after} 1.000000"),
            format!("{after} {over} {LEFT:.6}"),
        ];
        let share = (1.0 - LEFT) / decoys.len().max(1) as f32;
        for hub in [before, after] {
            for word in decoys {
                lines.push(format!("{hub} {free} {share:.6}"));
                lines.push(format!("{free} {} {:.6} {word}", free + 1, 1.0 - LEFT));
                free += 1;
                lines.push(format!("{free} {over} {LEFT:.6}"));
                if hub == before {
                    lines.push(format!("{free} 0 {MEANT:.6}"));
                }
            }
            free += 1;
        }
        let mut text = format!(
            "FSG_BEGIN {name}\nNUM_STATES {free}\nSTART_STATE {before}\nFINAL_STATE {over}\n",
        );
        let transitions = plain.lines().filter(|l| l.starts_with("TRANSITION"));
        let more = lines.iter().map(|line| format!("TRANSITION {line}"));
        for line in transitions.map(str::to_owned).chain(more) {
            text += &line;
            text.push('\n');
        }
        text.push_str("FSG_END\n");
        text
    }

    fn line(&self, from: usize, (word, to): Exit, probability: f32) -> String {
        match word {
            SEPARATOR => format!("{from} {to} {probability:.6}"),
            _ => format!("{from} {to} {probability:.6} {}", self.lexicon.word(word)),
        }
    }

    /// The same words but for some, without meanings and costs, in fewer states.
    fn without_meaning(&self, left_out: &[&str]) -> Graph {
        let is_said =
            |(word, _): &Exit| *word == SEPARATOR || !left_out.contains(&self.lexicon.word(*word));
        let state = |number| {
            let exits: BTreeSet<Exit> = self
                .arc_range(number)
                .map(|at| (self.arc_word(at), self.arc(at).to))
                .filter(is_said)
                .collect();
            let arc = |(word, to)| {
                let (ops, cost) = (0, 0);
                (Label { word, ops, cost }, to)
            };
            let finals = match self.is_final(number) {
                true => vec![(0, 0)],
                false => Vec::new(),
            };
            State {
                arcs: exits.into_iter().map(arc).collect(),
                finals,
            }
        };
        let graph = Graph {
            states: (0..self.state_count()).map(state).collect(),
        };
        graph.merged()
    }
}

/// Any number of words in any order, as text in the FSG format.
pub fn loop_of(words: &[&str], name: &str) -> String {
    let share = (1.0 - LEFT) / words.len().max(1) as f32;
    let mut text = format!("FSG_BEGIN {name}\nNUM_STATES 2\nSTART_STATE 0\nFINAL_STATE 1\n");
    for word in words {
        let _ = writeln!(text, "TRANSITION 0 0 {share:.6} {word}");
    }
    let _ = writeln!(text, "TRANSITION 0 1 {LEFT:.6}\nFSG_END");
    text
}

/// How likely it is that decoys end, against one more of them.
const LEFT: f32 = 0.1;

/// How likely what may be said is after a word of the sentences, against the next word of them.
const MEANT: f32 = 0.4;

/// The number behind a keyword of a grammar's head.
fn number_after(text: &str, keyword: &str) -> Option<usize> {
    let line = text.lines().find_map(|line| line.strip_prefix(keyword))?;
    line.trim().parse().ok()
}

impl State {
    /// In how many ways the state can be left; all are equally likely.
    fn exits(&self) -> usize {
        self.arcs.len() + self.finals.len()
    }
}

/// Exits in groups that the same states share: the states, and what they share.
fn shared_exits(graph: &Graph) -> BTreeMap<BTreeSet<usize>, Vec<Exit>> {
    let mut states_of: BTreeMap<Exit, BTreeSet<usize>> = BTreeMap::new();
    for (number, state) in graph.states.iter().enumerate() {
        for (label, to) in &state.arcs {
            states_of
                .entry((label.word, *to))
                .or_default()
                .insert(number);
        }
    }
    let mut groups: BTreeMap<BTreeSet<usize>, Vec<Exit>> = BTreeMap::new();
    for (exit, states) in states_of {
        groups.entry(states).or_default().push(exit);
    }
    groups
}
