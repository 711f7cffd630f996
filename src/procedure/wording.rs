//! A written text to the words that are said.

use super::model::Wording;
use crate::language::Say;

/// What is wrong with the braces of a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum BraceError {
    NotClosed,
    NotOpened,
    Empty,
}

/// Takes the braces off what is written, and spells out references and abbreviations in what is
/// said.
pub(super) fn wording(text: &str, say: &Say) -> Result<Wording, BraceError> {
    let mut written = String::new();
    let mut spoken = String::new();
    let mut rest = text;
    while let Some(open) = rest.find(['{', '}']) {
        let (plain, tail) = rest.split_at(open);
        if tail.starts_with('}') {
            return Err(BraceError::NotOpened);
        }
        let close = tail.find('}').ok_or(BraceError::NotClosed)?;
        let reference = tail[1..close].trim();
        if reference.contains('{') {
            return Err(BraceError::NotClosed);
        }
        if reference.is_empty() {
            return Err(BraceError::Empty);
        }
        written.push_str(plain);
        spoken.push_str(&say.spoken_text(plain));
        written.push_str(reference);
        spoken.push_str(&say.reference(reference));
        rest = &tail[close + 1..];
    }
    written.push_str(rest);
    spoken.push_str(&say.spoken_text(rest));
    Ok(Wording { written, spoken })
}
