//! A grammar file as it was written.

use crate::language::op::Op;
use crate::language::problem::Place;

/// One grammar file.
#[derive(Debug, Clone)]
pub(in crate::language) struct RuleFile {
    /// The file it was read from, for messages.
    pub file: String,
    /// The name other files import it by.
    pub name: String,
    pub imports: Vec<Import>,
    pub rules: Vec<Rule>,
}

/// `import <numbers.number>;` or `import <numbers.*>;`
#[derive(Debug, Clone)]
pub(in crate::language) struct Import {
    pub grammar: String,
    /// `None` for `*`.
    pub rule: Option<String>,
    pub place: Place,
}

/// One rule; only public rules can be imported.
#[derive(Debug, Clone)]
pub(in crate::language) struct Rule {
    pub name: String,
    pub public: bool,
    pub place: Place,
    pub body: Expansion,
}

/// The right-hand side of a rule.
#[derive(Debug, Clone)]
pub(in crate::language) enum Expansion {
    /// Nothing said; always matches.
    Null,
    /// Never matches.
    Void,
    Word(String),
    Tag(Op),
    Rule {
        name: String,
        place: Place,
    },
    Sequence(Vec<Expansion>),
    Alternatives(Vec<Alternative>),
    Optional(Box<Expansion>),
    Repeat {
        body: Box<Expansion>,
        /// `+` rather than `*`.
        at_least_once: bool,
    },
}

/// One of several ways, with its price in hundredths of a nat: 0 for the heaviest.
#[derive(Debug, Clone)]
pub(in crate::language) struct Alternative {
    pub cost: u32,
    pub body: Expansion,
}
