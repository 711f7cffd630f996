//! The procedure a session works through, with those it calls.

use indexmap::IndexMap;

use super::model::{Procedure, Step};
use super::names::{ProcedureId, StepId};

/// A procedure and every procedure it calls, directly or through another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Library {
    main: ProcedureId,
    procedures: IndexMap<ProcedureId, Procedure>,
}

impl Library {
    /// The main procedure first. A second procedure of the same id replaces the first.
    pub fn new(main: Procedure, called: impl IntoIterator<Item = Procedure>) -> Library {
        let id = main.id.clone();
        let procedures = called
            .into_iter()
            .chain([main])
            .map(|p| (p.id.clone(), p))
            .collect();
        Library {
            main: id,
            procedures,
        }
    }

    /// The procedure a session starts with.
    pub fn main(&self) -> &Procedure {
        &self.procedures[&self.main]
    }

    pub fn get(&self, id: &ProcedureId) -> Option<&Procedure> {
        self.procedures.get(id)
    }

    pub fn procedures(&self) -> impl Iterator<Item = &Procedure> {
        self.procedures.values()
    }

    pub fn step(&self, procedure: &ProcedureId, step: &StepId) -> Option<&Step> {
        self.get(procedure)?.steps.iter().find(|s| s.id == *step)
    }
}
