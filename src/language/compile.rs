//! A language's grammar files, and the automaton for what a step can accept.

use super::automaton::Automaton;
use super::expectation::{Expectation, ExpectedReading};
use super::graph::{Graph, Label, OpLists, OpsId, State};
use super::jsgf::{read_file, read_phrase};
use super::lexicon::Lexicon;
use super::network::Builder;
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
        let mut language = Language {
            locale: locale.to_owned(),
            rules: Rules::link(read)?,
            lexicon: Lexicon::default(),
            lists: OpLists::new(),
            commands: Graph::default(),
            readings: Graph::default(),
            spelling: Graph::default(),
        };
        language.commands = language.lay_out(COMMAND).map_err(|p| vec![p])?;
        language.readings = language.lay_out(READINGS).map_err(|p| vec![p])?;
        language.spelling = language.lay_out(SPELLING).map_err(|p| vec![p])?;
        Ok(language)
    }

    /// The name it was loaded by, such as `en-US`.
    pub fn locale(&self) -> &str {
        &self.locale
    }

    fn lay_out(&mut self, name: &str) -> Result<Graph, GrammarProblem> {
        let Some(id) = self.rules.public(name) else {
            return Err(self.rules.missing(name));
        };
        let network = Builder::new(&self.rules, &mut self.lexicon).rule(id);
        let graph = Graph::from_network(&network, &mut self.lists);
        let place = self.rules.rule(id).place;
        let problem = |found: &str, remedy: &str| {
            let file = self.rules.file_of(id);
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

    /// The automaton for what a step can accept.
    ///
    /// # Errors
    ///
    /// A choice phrase that is not JSGF, names a rule that does not exist, or says nothing.
    pub fn compile(&self, expectation: &Expectation) -> Result<Automaton, GrammarProblem> {
        let mut lexicon = self.lexicon.clone();
        let mut lists = self.lists.clone();
        let choices = self.choices(expectation, &mut lexicon, &mut lists)?;
        let commands = self.commands.filtered(|ops| {
            self.lists.get(ops).iter().all(|op| match op {
                Op::Command(command) => expectation.commands.contains(command),
                _ => true,
            })
        });
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
        let graph = union.graph.trimmed();
        let mut automaton = Automaton::from_graph(&graph, &lists, lexicon);
        automaton.choices = expectation.choices.iter().map(|c| c.id.clone()).collect();
        automaton.expected = expected.cloned();
        automaton.phrases = super::forms::phrases_of(&[&commands, &choices], &automaton);
        Ok(automaton)
    }

    fn choices(
        &self,
        expectation: &Expectation,
        lexicon: &mut Lexicon,
        lists: &mut OpLists,
    ) -> Result<Graph, GrammarProblem> {
        let mut builder = Builder::new(&self.rules, lexicon);
        for (number, choice) in expectation.choices.iter().enumerate() {
            for phrase in &choice.phrases {
                let source = format!("choice `{}`", choice.id);
                let body = read_phrase(&source, phrase)?;
                match self.rules.check_phrase(&source, &body) {
                    Some(problem) => return Err(problem),
                    None => builder.phrase(&body, Op::Choice(number as u16)),
                }
            }
        }
        let graph = Graph::from_network(&builder.finish(), lists);
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
