//! A language's grammar files, and the automaton for what a step can accept.

use super::automaton::Automaton;
use super::expectation::{Expectation, ExpectedReading};
use super::graph::{Graph, Label, OpLists, OpsId, State};
use super::jsgf::{read_file, read_phrase};
use super::lexicon::Lexicon;
use super::meaning::Command;
use super::network::Layout;
use super::op::Op;
use super::problem::{GrammarProblem, Place};
use super::rules::Rules;
use crate::quantity::{Base, Dimension};

/// The rules every language has: commands, values, spelled characters.
const COMMAND: &str = "commands.command";
const READINGS: &str = "readings.readings";
const SPELLING: &str = "spelling.spelling";

/// One language: its grammar files, checked and laid out once.
#[derive(Debug, Clone)]
pub struct Language {
    locale: String,
    rules: Rules,
    lexicon: Lexicon,
    lists: OpLists,
    commands: Graph,
    readings: Graph,
    spelling: Graph,
}

impl Language {
    /// Reads a language from its grammar files, given as pairs of name and text.
    ///
    /// # Errors
    ///
    /// Everything wrong with the files, each with its place.
    pub fn load(locale: &str, files: &[(&str, &str)]) -> Result<Language, Vec<GrammarProblem>> {
        let mut read = Vec::new();
        let mut problems = Vec::new();
        for (name, text) in files {
            match read_file(name, text) {
                Ok(file) => read.push(file),
                Err(problem) => problems.push(problem),
            }
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let rules = Rules::link(read)?;
        let mut layout = Layout::new(&rules, Lexicon::default(), OpLists::new());
        let commands = lay_out(&mut layout, &rules, COMMAND).map_err(|p| vec![p])?;
        let readings = lay_out(&mut layout, &rules, READINGS).map_err(|p| vec![p])?;
        let spelling = lay_out(&mut layout, &rules, SPELLING).map_err(|p| vec![p])?;
        let Layout { lexicon, lists, .. } = layout;
        Ok(Language {
            locale: locale.to_owned(),
            lexicon,
            lists,
            commands,
            readings,
            spelling,
            rules,
        })
    }

    /// The name it was loaded by, such as `en-US`.
    pub fn locale(&self) -> &str {
        &self.locale
    }

    /// The automaton for what a step can accept.
    ///
    /// # Errors
    ///
    /// A choice phrase that is not JSGF, names a rule that does not exist, or says nothing.
    pub fn compile(&self, expectation: &Expectation) -> Result<Automaton, GrammarProblem> {
        let mut layout = Layout::new(&self.rules, self.lexicon.clone(), self.lists.clone());
        let choices = self.choices(expectation, &mut layout)?;
        let Layout {
            mut lexicon,
            mut lists,
            ..
        } = layout;
        let commands = self.commands(|command| expectation.commands.contains(&command));
        let expected = expectation
            .reading
            .as_ref()
            .or(expectation.correction.as_ref());
        let readings = expected.map(|expected| {
            let wanted = |ops: OpsId| self.lists.get(ops).iter().all(|op| fits(*op, expected));
            self.readings.filtered(wanted)
        });
        let mut union = Union::new();
        let reading_start = readings.as_ref().map(|readings| union.add(readings));
        let command_start = union.add(&commands);
        let choice_start = union.add(&choices);
        if let Some(start) = reading_start {
            union.chain(command_start, commands.states.len(), start, &mut lists);
        }
        union.begin_with(command_start);
        union.begin_with(choice_start);
        if let (Some(start), Some(_)) = (reading_start, &expectation.reading) {
            union.begin_with(start);
        }
        if expectation.spelling {
            let start = union.add(&self.spelling);
            union.begin_with(start);
        }
        if let Some(word) = &expectation.attention {
            let label = Label {
                word: lexicon.intern(word),
                ops: lists.intern(&[]),
                cost: 0,
            };
            union.call(label);
            let stop = union.add(&self.commands(|command| command == Command::Stop));
            union.begin_with(stop);
        }
        let graph = union.graph.trimmed();
        let mut automaton = Automaton::from_graph(&graph, &lists, lexicon);
        automaton.choices = expectation.choices.iter().map(|c| c.id.clone()).collect();
        automaton.expected = expected.cloned();
        automaton.phrases = super::forms::phrases_of(&[&commands, &choices], &automaton);
        Ok(automaton)
    }

    /// The words of some of the commands.
    fn commands(&self, wanted: impl Fn(Command) -> bool) -> Graph {
        self.commands.filtered(|ops| {
            self.lists.get(ops).iter().all(|op| match op {
                Op::Command(command) => wanted(*command),
                _ => true,
            })
        })
    }

    fn choices(
        &self,
        expectation: &Expectation,
        layout: &mut Layout<'_>,
    ) -> Result<Graph, GrammarProblem> {
        let mut phrases = Vec::new();
        for (number, choice) in expectation.choices.iter().enumerate() {
            for phrase in &choice.phrases {
                let source = format!("choice `{}`", choice.id);
                let body = read_phrase(&source, phrase)?;
                match self.rules.check_phrase(&source, &body) {
                    Some(problem) => return Err(problem),
                    None => phrases.push((body, Op::Choice(number as u16))),
                }
            }
        }
        let graph = layout.phrases(phrases.iter().map(|(body, op)| (body, *op)));
        match graph.states.first().is_some_and(|s| !s.finals.is_empty()) {
            false => Ok(graph),
            true => Err(GrammarProblem::new(
                "choices",
                Place { line: 1, column: 1 },
                "a phrase that accepts silence",
                "a phrase of at least one word",
                "make at least one word of it required",
            )),
        }
    }
}

/// One of the rules every language has, which must say something and never nothing.
fn lay_out(layout: &mut Layout<'_>, rules: &Rules, name: &str) -> Result<Graph, GrammarProblem> {
    let id = rules.public(name).ok_or_else(|| rules.missing(name))?;
    let graph = layout.rule(id);
    let problem = |found: &str, remedy: &str| {
        let (file, place) = (rules.file_of(id), rules.rule(id).place);
        GrammarProblem::new(file, place, found, "a phrase of at least one word", remedy)
    };
    if graph.states[0].arcs.is_empty() {
        let found = format!("`<{name}>`, which accepts nothing");
        return Err(problem(&found, "give it words that can be said"));
    }
    if !graph.states[0].finals.is_empty() {
        let found = format!("`<{name}>`, which accepts silence");
        return Err(problem(&found, "make at least one word of it required"));
    }
    Ok(graph)
}

/// Whether a meaning can belong to the expected value.
fn fits(op: Op, expected: &ExpectedReading) -> bool {
    let Some(unit) = expected.unit else {
        return true;
    };
    let wanted = unit.base.dimension();
    match op {
        Op::Unit(unit) => same_kind(unit.base.dimension(), wanted),
        Op::Of(dimension) => same_kind(dimension, wanted),
        Op::Prefix(_) => Base::ALL
            .into_iter()
            .any(|base| base.dimension() == wanted && base.takes_prefix()),
        _ => true,
    }
}

/// A difference of temperatures is given in the words of a temperature.
fn same_kind(spoken: Dimension, wanted: Dimension) -> bool {
    spoken == wanted
        || (spoken == Dimension::Temperature && wanted == Dimension::TemperatureDifference)
}

/// Several graphs side by side behind one start.
struct Union {
    graph: Graph,
}

impl Union {
    fn new() -> Union {
        Union {
            graph: Graph {
                states: vec![State::default()],
            },
        }
    }

    /// Adds a graph; says where its start now is.
    fn add(&mut self, graph: &Graph) -> usize {
        let shift = self.graph.states.len();
        let moved = graph.states.iter().map(|state| State {
            arcs: state
                .arcs
                .iter()
                .map(|(l, to)| (*l, to + shift as u32))
                .collect(),
            finals: state.finals.clone(),
        });
        self.graph.states.extend(moved);
        shift
    }

    fn begin_with(&mut self, start: usize) {
        if let Some(state) = self.graph.states.get(start) {
            let arcs = state.arcs.clone();
            self.graph.states[0].arcs.extend(arcs);
        }
    }

    /// Puts a word before everything.
    fn call(&mut self, word: Label) {
        let behind = self.graph.states.len() as u32;
        let all = std::mem::replace(
            &mut self.graph.states[0],
            State {
                arcs: vec![(word, behind)],
                ..State::default()
            },
        );
        self.graph.states.push(all);
    }

    /// Lets a value follow every command that may bring one.
    fn chain(&mut self, commands: usize, count: usize, readings: usize, lists: &mut OpLists) {
        let values = self.graph.states[readings].arcs.clone();
        for state in &mut self.graph.states[commands..commands + count] {
            for (ops, cost) in state.finals.clone() {
                if !lists.get(ops).contains(&Op::WithValue) {
                    continue;
                }
                for (label, to) in &values {
                    let before = lists.get(ops).iter().filter(|op| **op != Op::WithValue);
                    let joined: Vec<Op> = before
                        .chain([&Op::Link])
                        .chain(lists.get(label.ops))
                        .copied()
                        .collect();
                    let label = Label {
                        word: label.word,
                        ops: lists.intern(&joined),
                        cost: label.cost + cost,
                    };
                    state.arcs.push((label, *to));
                }
            }
        }
    }
}
