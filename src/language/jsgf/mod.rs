//! Reads JSGF, the Java Speech Grammar Format (a W3C note of 2000), as far as grammars here need it.
//!
//! Rules, alternatives with weights, optionals, groups, `*` and `+`, tags, `<NULL>`, `<VOID>`,
//! comments and imports between our own files. Tags hold meaning in the vocabulary of
//! [`Op`](super::op::Op); an unknown tag is an error with its place.

mod lexer;
mod reader;
mod syntax;

pub(super) use reader::{read_file, read_phrase};
pub(super) use syntax::{Expansion, Rule, RuleFile};
