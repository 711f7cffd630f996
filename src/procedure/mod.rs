//! Text to a checked [`Procedure`].
//!
//! `source` mirrors the YAML as written and knows places; `model` is what the rest of the program
//! uses and can rely on: every reference resolved, every text present for every variant. [`load`]
//! goes from one to the other and reports everything that is wrong at once.

mod by_variant;
mod check;
mod computation;
mod computes;
mod findings;
mod header;
mod library;
mod load;
pub mod model;
mod names;
mod place;
mod problem;
mod rows;
mod schema;
mod scope;
mod shape;
mod source;
mod source_step;
mod steps;
mod syntax;
mod tree;
mod wording;

pub use by_variant::ByVariant;
pub use check::{PlaneCell, PlaneRow, PlaneTable, check, misnamed, planes};
pub use findings::{BehaviorKind, FindingRow, LeadsTo, ReadingCondition};
pub use library::Library;
pub use load::{SourceFile, load, load_files};
pub use model::*;
pub use names::*;
pub use place::Place;
pub use problem::{Problem, Severity};
pub use schema::schema;
pub use syntax::plain_message;
