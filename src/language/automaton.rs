//! Everything that may be said at a step, compiled to one word automaton.
//!
//! Engines get their own form of it, and what they return is parsed by it again: see
//! [`Automaton::parse`].

use super::expectation::ExpectedReading;
use super::graph::{Graph, OpLists};
use super::lexicon::{Lexicon, SEPARATOR, WordId};
use super::op::Op;
use super::ways::Ways;

/// States, words, weights and meaning tags. State 0 is the start.
#[derive(Debug, Clone, Default)]
pub struct Automaton {
    pub(super) lexicon: Lexicon,
    /// Where each state's arcs begin; one more entry than states.
    first_arc: Vec<u32>,
    /// The arcs' words apart, for a fast search: sorted within a state.
    arc_words: Vec<WordId>,
    arcs: Vec<Arc>,
    /// See [`Automaton::index`].
    run_at: Vec<u32>,
    runs: Vec<(u32, u32)>,
    columns: usize,
    pub(super) ways: Ways,
    first_final: Vec<u32>,
    finals: Vec<Final>,
    ops: Vec<Op>,
    pub(super) choices: Vec<String>,
    pub(super) expected: Option<ExpectedReading>,
    pub(super) phrases: Vec<String>,
}

/// One word from one state to another.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub to: u32,
    pub cost: u32,
    ops: (u32, u32),
    /// A pause before this word means nothing.
    pub link: bool,
}

/// One way an utterance may end.
#[derive(Debug, Clone, Copy)]
pub(super) struct Final {
    pub cost: u32,
    ops: (u32, u32),
}

/// One word of an automaton as engines see it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WordArc<'a> {
    pub word: &'a str,
    /// The state it leads to.
    pub to: u32,
    /// What taking it costs, in hundredths of a nat; 0 for the usual way.
    pub cost: u32,
}

impl Automaton {
    pub(super) fn from_graph(graph: &Graph, lists: &OpLists, lexicon: Lexicon) -> Automaton {
        let mut automaton = Automaton {
            lexicon,
            ..Automaton::default()
        };
        let mut places = vec![None; lists.len()];
        let mut place = |ops: &mut Vec<Op>, id: u32| {
            *places[id as usize].get_or_insert_with(|| {
                let from = ops.len() as u32;
                ops.extend(lists.get(id).iter().filter(|op| op.adds_up()));
                (from, ops.len() as u32)
            })
        };
        for state in &graph.states {
            automaton.first_arc.push(automaton.arcs.len() as u32);
            automaton.first_final.push(automaton.finals.len() as u32);
            let mut arcs = state.arcs.clone();
            arcs.sort_by_key(|(label, to)| (label.word, label.cost, label.ops, *to));
            for (label, to) in arcs {
                let list = lists.get(label.ops);
                automaton.arc_words.push(label.word);
                automaton.arcs.push(Arc {
                    to,
                    cost: label.cost,
                    ops: place(&mut automaton.ops, label.ops),
                    link: list.contains(&Op::Link),
                });
            }
            for (ops, cost) in &state.finals {
                automaton.finals.push(Final {
                    cost: *cost,
                    ops: place(&mut automaton.ops, *ops),
                });
            }
        }
        automaton.first_arc.push(automaton.arcs.len() as u32);
        automaton.first_final.push(automaton.finals.len() as u32);
        automaton.index();
        automaton.ways = Ways::through(&automaton, automaton.lexicon.len());
        automaton
    }

    /// How many states there are; they are numbered from 0, the start.
    pub fn state_count(&self) -> u32 {
        self.first_arc.len().saturating_sub(1) as u32
    }

    /// The words that may follow in a state, also those of a further value. A word may appear more
    /// than once: where it means different things.
    ///
    /// A state that does not exist has none.
    pub fn arcs(&self, state: u32) -> impl Iterator<Item = WordArc<'_>> {
        self.arcs_on(state).map(|at| WordArc {
            word: self.lexicon.word(self.arc_words[at]),
            to: self.arcs[at].to,
            cost: self.arcs[at].cost,
        })
    }

    /// The arcs with words that leave a state, directly or behind a separator.
    pub(super) fn arcs_on(&self, state: u32) -> impl Iterator<Item = usize> {
        let behind = self
            .arcs_of(state, SEPARATOR)
            .flat_map(|at| self.word_range(self.arcs[at].to));
        self.word_range(state).chain(behind)
    }

    /// The arcs with words that leave a state directly; separators sort behind all words.
    pub(super) fn word_range(&self, state: u32) -> std::ops::Range<usize> {
        let range = self.arc_range(state);
        let words = &self.arc_words[range.clone()];
        range.start..range.start + words.partition_point(|word| *word < SEPARATOR)
    }

    /// Whether an utterance may end in a state.
    pub fn is_final(&self, state: u32) -> bool {
        !self.finals(state).is_empty()
    }

    /// Every word that may be heard, each once, sorted.
    pub fn words(&self) -> Vec<&str> {
        let mut ids = self.arc_words.clone();
        ids.retain(|id| *id != SEPARATOR);
        ids.sort_unstable();
        ids.dedup();
        let mut words: Vec<&str> = ids.iter().map(|id| self.lexicon.word(*id)).collect();
        words.sort_unstable();
        words
    }

    pub(super) fn arc_range(&self, state: u32) -> std::ops::Range<usize> {
        let state = state as usize;
        match (self.first_arc.get(state), self.first_arc.get(state + 1)) {
            (Some(from), Some(to)) => *from as usize..*to as usize,
            _ => 0..0,
        }
    }

    /// The arcs of one word in a state, cheapest first.
    #[inline]
    pub(super) fn arcs_of(&self, state: u32, word: WordId) -> std::ops::Range<usize> {
        let column = match word {
            SEPARATOR => self.columns.wrapping_sub(1),
            _ => usize::from(word),
        };
        if column >= self.columns {
            return 0..0;
        }
        let run = self.run_at.get(state as usize * self.columns + column);
        let (from, to) = run.map_or((0, 0), |run| self.runs[*run as usize]);
        from as usize..to as usize
    }

    /// Fills the table behind [`Automaton::arcs_of`]: for each state and word where the word's arcs
    /// lie. The last column is the separator's; run 0 is empty.
    fn index(&mut self) {
        self.columns = self.lexicon.len() + 1;
        self.run_at = vec![0; self.state_count() as usize * self.columns];
        self.runs = vec![(0, 0)];
        for state in 0..self.state_count() {
            let range = self.arc_range(state);
            let mut from = range.start;
            for run in self.arc_words[range].chunk_by(|a, b| a == b) {
                let column = match run[0] {
                    SEPARATOR => self.columns - 1,
                    word => usize::from(word),
                };
                let to = from + run.len();
                self.run_at[state as usize * self.columns + column] = self.runs.len() as u32;
                self.runs.push((from as u32, to as u32));
                from = to;
            }
        }
    }

    pub(super) fn arc(&self, at: usize) -> &Arc {
        &self.arcs[at]
    }

    pub(super) fn arc_word(&self, at: usize) -> WordId {
        self.arc_words[at]
    }

    pub(super) fn finals(&self, state: u32) -> &[Final] {
        let state = state as usize;
        match (self.first_final.get(state), self.first_final.get(state + 1)) {
            (Some(from), Some(to)) => &self.finals[*from as usize..*to as usize],
            _ => &[],
        }
    }

    pub(super) fn arc_ops(&self, at: usize) -> &[Op] {
        let (from, to) = self.arcs[at].ops;
        &self.ops[from as usize..to as usize]
    }

    pub(super) fn final_ops(&self, end: &Final) -> &[Op] {
        &self.ops[end.ops.0 as usize..end.ops.1 as usize]
    }
}
