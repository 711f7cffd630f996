//! Rules to networks of states joined by words and by silent steps, and those to graphs.

use std::collections::HashMap;

use super::graph::{Graph, OpLists, OpsId};
use super::jsgf::Expansion;
use super::lexicon::{Lexicon, SEPARATOR, WordId};
use super::op::Op;
use super::rules::{RuleId, Rules};

/// A step of the network: a word, or silent.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub word: Option<WordId>,
    pub ops: OpsId,
    pub cost: u32,
    pub to: usize,
}

/// States numbered from 0; state 0 is the start, state 1 the end.
#[derive(Debug, Clone)]
pub(super) struct Network {
    pub steps: Vec<Vec<Step>>,
}

pub(super) const START: usize = 0;
pub(super) const END: usize = 1;

/// Turns rules into graphs, each rule once, and gathers their words and meanings on the way.
#[derive(Debug)]
pub(super) struct Layout<'a> {
    rules: &'a Rules,
    pub lexicon: Lexicon,
    pub lists: OpLists,
    graphs: HashMap<RuleId, Graph>,
}

impl<'a> Layout<'a> {
    pub(super) fn new(rules: &'a Rules, lexicon: Lexicon, lists: OpLists) -> Layout<'a> {
        Layout {
            rules,
            lexicon,
            lists,
            graphs: HashMap::new(),
        }
    }

    /// Everything a rule can say.
    pub(super) fn rule(&mut self, id: RuleId) -> Graph {
        if let Some(known) = self.graphs.get(&id) {
            return known.clone();
        }
        let mut builder = Builder::new(self);
        builder.open.push((id, START));
        let rules = builder.layout.rules;
        builder.expansion(&rules.rule(id).body, START, END);
        let network = builder.network;
        let graph = Graph::from_network(&network, &mut self.lists);
        self.graphs.insert(id, graph.clone());
        graph
    }

    /// Phrases that belong to no file, each with what it means.
    pub(super) fn phrases<'p>(
        &mut self,
        phrases: impl Iterator<Item = (&'p Expansion, Op)>,
    ) -> Graph {
        let mut builder = Builder::new(self);
        for (body, meaning) in phrases {
            let (from, to) = (builder.state(), builder.state());
            builder.silent(START, None, 0, from);
            builder.expansion(body, from, to);
            builder.silent(to, Some(meaning), 0, END);
        }
        let network = builder.network;
        Graph::from_network(&network, &mut self.lists)
    }
}

/// Lays one rule out as a network. Other rules come in as their graphs; only rules that lead back
/// to themselves are laid out in place.
struct Builder<'a, 'r> {
    layout: &'a mut Layout<'r>,
    network: Network,
    /// The rules being laid out, with the state each began at: where right recursion leads back to.
    open: Vec<(RuleId, usize)>,
}

impl<'a, 'r> Builder<'a, 'r> {
    fn new(layout: &'a mut Layout<'r>) -> Builder<'a, 'r> {
        Builder {
            layout,
            network: Network {
                steps: vec![Vec::new(), Vec::new()],
            },
            open: Vec::new(),
        }
    }

    fn state(&mut self) -> usize {
        self.network.steps.push(Vec::new());
        self.network.steps.len() - 1
    }

    fn step(&mut self, from: usize, word: Option<WordId>, op: Option<Op>, cost: u32, to: usize) {
        let ops = self.layout.lists.intern(op.as_slice());
        self.network.steps[from].push(Step {
            word,
            ops,
            cost,
            to,
        });
    }

    fn silent(&mut self, from: usize, op: Option<Op>, cost: u32, to: usize) {
        self.step(from, None, op, cost, to);
    }

    fn word(&mut self, from: usize, text: &str, op: Option<Op>, to: usize) {
        let word = Some(self.layout.lexicon.intern(text));
        self.step(from, word, op, 0, to);
    }

    fn reference(&mut self, id: RuleId, from: usize, to: usize) {
        if let Some((_, start)) = self.open.iter().find(|(open, _)| *open == id) {
            let start = *start;
            return self.silent(from, None, 0, start);
        }
        if !self.layout.rules.leads_back(id) {
            let graph = self.layout.rule(id);
            return self.embed(&graph, from, to);
        }
        let start = self.state();
        self.silent(from, None, 0, start);
        self.open.push((id, start));
        let rules = self.layout.rules;
        self.expansion(&rules.rule(id).body, start, to);
        self.open.pop();
    }

    fn embed(&mut self, graph: &Graph, from: usize, to: usize) {
        let shift = self.network.steps.len();
        for state in &graph.states {
            let words = state.arcs.iter().map(|(label, target)| Step {
                word: Some(label.word),
                ops: label.ops,
                cost: label.cost,
                to: shift + *target as usize,
            });
            let ends = state.finals.iter().map(|(ops, cost)| Step {
                word: None,
                ops: *ops,
                cost: *cost,
                to,
            });
            self.network.steps.push(words.chain(ends).collect());
        }
        self.silent(from, None, 0, shift);
    }

    fn expansion(&mut self, body: &Expansion, from: usize, to: usize) {
        match body {
            Expansion::Null => self.silent(from, None, 0, to),
            Expansion::Void => {}
            Expansion::Word(text) => self.word(from, text, None, to),
            Expansion::Tag(Op::Also) => self.step(from, Some(SEPARATOR), Some(Op::Also), 0, to),
            Expansion::Tag(op) => self.silent(from, Some(*op), 0, to),
            Expansion::Rule { name, .. } => {
                let target = match self.open.last() {
                    Some((rule, _)) => self.layout.rules.resolve(*rule, name),
                    None => self.layout.rules.resolve_phrase(name),
                };
                if let Some(target) = target {
                    self.reference(target, from, to);
                }
            }
            Expansion::Sequence(items) => self.sequence(items, from, to),
            Expansion::Alternatives(ways) => {
                for way in ways {
                    let start = self.state();
                    self.silent(from, None, way.cost, start);
                    self.expansion(&way.body, start, to);
                }
            }
            Expansion::Optional(body) => {
                self.silent(from, None, 0, to);
                self.expansion(body, from, to);
            }
            Expansion::Repeat {
                body,
                at_least_once,
            } => {
                let (before, after) = (self.state(), self.state());
                self.silent(from, None, 0, before);
                self.expansion(body, before, after);
                self.silent(after, None, 0, before);
                self.silent(after, None, 0, to);
                if !at_least_once {
                    self.silent(from, None, 0, to);
                }
            }
        }
    }

    /// Words and the tag right behind them become one step, so that equal words stay equal.
    fn sequence(&mut self, items: &[Expansion], from: usize, to: usize) {
        let mut here = from;
        let mut rest = items;
        while let [first, tail @ ..] = rest {
            let (op, tail) = match tail {
                [Expansion::Tag(op), tail @ ..] if *op != Op::Also && ends_in_words(first) => {
                    (Some(*op), tail)
                }
                _ => (None, tail),
            };
            let next = match tail.is_empty() {
                true => to,
                false => self.state(),
            };
            match op {
                Some(op) => self.tagged(first, op, here, next),
                None => self.expansion(first, here, next),
            }
            here = next;
            rest = tail;
        }
    }

    /// Lays out what [`ends_in_words`], with the tag on each last word.
    fn tagged(&mut self, body: &Expansion, op: Op, from: usize, to: usize) {
        match body {
            Expansion::Word(text) => self.word(from, text, Some(op), to),
            Expansion::Alternatives(ways) => {
                for way in ways {
                    let start = self.state();
                    self.silent(from, None, way.cost, start);
                    self.tagged(&way.body, op, start, to);
                }
            }
            Expansion::Sequence(items) => {
                if let [before @ .., last] = items.as_slice() {
                    let middle = self.state();
                    self.sequence(before, from, middle);
                    self.tagged(last, op, middle, to);
                }
            }
            _ => self.expansion(body, from, to),
        }
    }
}

/// Whether every way through ends in a word, so that a tag behind can go onto that word.
fn ends_in_words(body: &Expansion) -> bool {
    match body {
        Expansion::Word(_) => true,
        Expansion::Sequence(items) => items.last().is_some_and(ends_in_words),
        Expansion::Alternatives(ways) => ways.iter().all(|way| ends_in_words(&way.body)),
        _ => false,
    }
}
