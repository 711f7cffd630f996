//! What a session is guided by.

use super::parts::Position;
use super::state::State;
use crate::procedure::{
    Library, Procedure, QuantityDefinition, QuantityId, Step, VariantId, Wording, Text,
};
use crate::quantity::Range;

/// The procedures of a session and the words of the assistant in their language.
#[derive(Debug, Clone)]
pub struct Guide {
    pub library: Library,
}

impl Guide {
    pub fn new(library: Library) -> Guide {
        Guide { library }
    }

    /// The procedure being worked on: the main one during the entry.
    pub fn procedure(&self, state: &State) -> &Procedure {
        let current = state.position.as_ref();
        current
            .and_then(|p| self.library.get(&p.procedure))
            .unwrap_or_else(|| self.library.main())
    }

    pub fn step(&self, position: &Position) -> Option<&Step> {
        self.library.step(&position.procedure, &position.step)
    }

    /// The unit's variant; empty before it is known, for which every text is the default one.
    pub fn variant(&self, state: &State) -> VariantId {
        state.job.variant.clone().unwrap_or(VariantId(String::new()))
    }

    pub fn quantity(&self, position: &Position, id: &QuantityId) -> Option<&QuantityDefinition> {
        self.library.get(&position.procedure)?.quantities.get(id)
    }

    /// The limits of a quantity for the unit's variant, in the quantity's unit.
    pub fn limits(&self, state: &State, definition: &QuantityDefinition) -> Option<Range> {
        *definition.limits.get(&self.variant(state))
    }

    pub fn text<'a>(&self, state: &State, text: &'a Text) -> &'a Wording {
        text.get(&self.variant(state))
    }
}
