//! Where the session is in its procedure.

use serde::Serialize;

use crate::procedure::{Procedure, Step};
use crate::session::{Guide, Phase, Position, State};

/// The way through a procedure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The step from 1; 0 before the first.
    pub number: usize,
    pub of: usize,
    /// The section's title; empty where it has none.
    pub section: String,
    /// The procedure this one was called from, innermost last.
    pub within: Vec<String>,
    pub sections: Vec<Section>,
}

/// Steps in a row with one title.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Section {
    pub title: String,
    pub steps: Vec<Mark>,
}

/// What became of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    Done,
    Skipped,
    Now,
    Ahead,
    /// It is for other variants.
    NotApplicable,
}

pub(super) fn place(guide: &Guide, state: &State) -> Place {
    let procedure = guide.procedure(state);
    let current = state.position.as_ref().filter(|_| works(state));
    let index = current.and_then(|now| procedure.steps.iter().position(|s| s.id == now.step));
    let section = index.and_then(|index| procedure.steps[index].section.clone());
    let title = |call: &crate::session::Call| {
        let caller = guide.library.get(&call.from.procedure);
        caller.map(|caller| caller.title.clone())
    };
    Place {
        number: index.map_or(0, |index| index + 1),
        of: procedure.steps.len(),
        section: section.unwrap_or_default(),
        within: state.calls.iter().filter_map(title).collect(),
        sections: sections(guide, state, procedure),
    }
}

fn works(state: &State) -> bool {
    !matches!(state.phase, Phase::New | Phase::Entry(_))
}

fn sections(guide: &Guide, state: &State, procedure: &Procedure) -> Vec<Section> {
    let mut sections: Vec<Section> = Vec::new();
    for step in &procedure.steps {
        let title = step.section.clone().unwrap_or_default();
        let mark = mark(guide, state, procedure, step);
        match sections.last_mut().filter(|last| last.title == title) {
            Some(last) => last.steps.push(mark),
            None => sections.push(Section {
                title,
                steps: vec![mark],
            }),
        }
    }
    sections
}

fn mark(guide: &Guide, state: &State, procedure: &Procedure, step: &Step) -> Mark {
    let position = Position {
        procedure: procedure.id.clone(),
        step: step.id.clone(),
    };
    let variant = guide.variant(state);
    let applies = |only: &Vec<_>| only.contains(&variant);
    if works(state) && state.position.as_ref() == Some(&position) {
        return Mark::Now;
    }
    match step.only.as_ref().is_none_or(applies) {
        _ if state.skipped.contains(&position) => Mark::Skipped,
        _ if state.done.contains(&position) => Mark::Done,
        true => Mark::Ahead,
        false => Mark::NotApplicable,
    }
}
