//! Everything that may be said at a step, compiled to one word automaton.

/// States, words, weights and meaning tags.
#[derive(Debug, Clone, Default)]
pub struct Automaton {}
