//! Rules to a network of states joined by words and by silent steps.

use super::jsgf::Expansion;
use super::lexicon::{Lexicon, SEPARATOR, WordId};
use super::op::Op;
use super::rules::{RuleId, Rules};

/// A step of the network: a word, or silent.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub word: Option<WordId>,
    pub op: Option<Op>,
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

/// Lays rules out as a network, one copy for each place a rule is used.
pub(super) struct Builder<'a> {
    rules: &'a Rules,
    lexicon: &'a mut Lexicon,
    network: Network,
    /// The rules being laid out, with the state each began at: where right recursion leads back to.
    open: Vec<(RuleId, usize)>,
}

impl<'a> Builder<'a> {
    pub(super) fn new(rules: &'a Rules, lexicon: &'a mut Lexicon) -> Builder<'a> {
        Builder {
            rules,
            lexicon,
            network: Network {
                steps: vec![Vec::new(), Vec::new()],
            },
            open: Vec::new(),
        }
    }

    /// Everything the rule can say, from start to end.
    pub(super) fn rule(mut self, id: RuleId) -> Network {
        self.reference(id, START, END);
        self.network
    }

    /// Adds a phrase that belongs to no file, with what it means.
    pub(super) fn phrase(&mut self, body: &Expansion, meaning: Op) {
        let from = self.state();
        let to = self.state();
        self.silent(START, None, 0, from);
        self.expansion(body, from, to);
        self.silent(to, Some(meaning), 0, END);
    }

    pub(super) fn finish(self) -> Network {
        self.network
    }

    fn state(&mut self) -> usize {
        self.network.steps.push(Vec::new());
        self.network.steps.len() - 1
    }

    fn silent(&mut self, from: usize, op: Option<Op>, cost: u32, to: usize) {
        let word = None;
        self.network.steps[from].push(Step { word, op, cost, to });
    }

    fn word(&mut self, from: usize, text: &str, op: Option<Op>, to: usize) {
        let word = Some(self.lexicon.intern(text));
        let cost = 0;
        self.network.steps[from].push(Step { word, op, cost, to });
    }

    fn separator(&mut self, from: usize, to: usize) {
        self.network.steps[from].push(Step {
            word: Some(SEPARATOR),
            op: Some(Op::Also),
            cost: 0,
            to,
        });
    }

    fn reference(&mut self, id: RuleId, from: usize, to: usize) {
        if let Some((_, start)) = self.open.iter().find(|(open, _)| *open == id) {
            let start = *start;
            self.silent(from, None, 0, start);
            return;
        }
        let start = self.state();
        self.silent(from, None, 0, start);
        self.open.push((id, start));
        let rules = self.rules;
        self.expansion(&rules.rule(id).body, start, to);
        self.open.pop();
    }

    fn expansion(&mut self, body: &Expansion, from: usize, to: usize) {
        match body {
            Expansion::Null => self.silent(from, None, 0, to),
            Expansion::Void => {}
            Expansion::Word(text) => self.word(from, text, None, to),
            Expansion::Tag(Op::Also) => self.separator(from, to),
            Expansion::Tag(op) => self.silent(from, Some(*op), 0, to),
            Expansion::Rule { name, .. } => {
                let target = match self.open.last() {
                    Some((rule, _)) => self.rules.resolve(*rule, name),
                    None => self.rules.resolve_phrase(name),
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
