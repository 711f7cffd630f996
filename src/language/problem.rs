//! What is wrong with a grammar file, and where.

/// Where something stands in its file, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Place {
    pub line: u32,
    pub column: u32,
}

/// One thing wrong with a grammar file: place, what was found, what was expected, what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}:{column}: found {found}, expected {expected}; {remedy}")]
pub struct GrammarProblem {
    pub file: String,
    pub line: u32,
    pub column: u32,
    pub found: String,
    pub expected: String,
    pub remedy: String,
}

impl GrammarProblem {
    pub(super) fn new(
        file: &str,
        place: Place,
        found: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) -> GrammarProblem {
        GrammarProblem {
            file: file.to_owned(),
            line: place.line,
            column: place.column,
            found: found.into(),
            expected: expected.into(),
            remedy: remedy.into(),
        }
    }
}
