//! Text to a checked [`Procedure`].
//!
//! `source` mirrors the YAML as written and knows places; `model` is what the rest of the program
//! uses and can rely on: every reference resolved, every text present for every variant.

pub mod model;

pub use model::*;
