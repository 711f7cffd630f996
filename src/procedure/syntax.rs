//! YAML text to the source types, and what the YAML reader complains of in our own form.

use super::place::Place;
use super::problem::Findings;
use super::source::ProcedureSource;

/// Reads the text as YAML of the right shape.
pub(super) fn read_source(text: &str, findings: &mut Findings) -> Option<ProcedureSource> {
    let options = serde_saphyr::options! { with_snippet: false };
    match serde_saphyr::from_str_with_options::<ProcedureSource>(text, options) {
        Ok(source) => Some(source),
        Err(error) => {
            let place = error.location().map_or(START, Place::from);
            findings.error(
                "yaml",
                place,
                format!("`{error}`"),
                "a procedure in YAML",
                "see `procedures/README.md` for the form",
            );
            None
        }
    }
}

const START: Place = Place { line: 1, column: 1 };
