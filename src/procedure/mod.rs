//! Text to a checked [`Procedure`].
//!
//! `source` mirrors the YAML as written and knows places; `model` is what the rest of the program
//! uses and can rely on: every reference resolved, every text present for every variant.

mod library;
pub mod model;

pub use library::Library;
pub use model::*;
