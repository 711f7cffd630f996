//! YAML text to the source types, and what the YAML reader complains of in our own form.

use serde::de::DeserializeOwned;
use serde_saphyr::DuplicateKeyPolicy;

use super::place::{At, Place};
use super::problem::Findings;
use super::schema::schema_value;
use super::shape::check_shape;
use super::source::ProcedureSource;
use super::tree::Tree;

/// Reads the text as YAML and holds it against the schema. `None` when it cannot be read; what is
/// wrong is noted either way.
pub(super) fn read_source(text: &str, findings: &mut Findings) -> Option<ProcedureSource> {
    let tree: At<Tree> = read(text, findings)?;
    if !check_shape(&tree, &schema_value(), findings) {
        return None;
    }
    read(text, findings)
}

fn read<T: DeserializeOwned>(text: &str, findings: &mut Findings) -> Option<T> {
    let options = serde_saphyr::options! {
        with_snippet: false,
        strict_booleans: true,
        duplicate_keys: DuplicateKeyPolicy::PassThrough,
    };
    match serde_saphyr::from_str_with_options(text, options) {
        Ok(value) => Some(value),
        Err(error) => {
            let place = error.location().map_or(START, Place::from);
            findings.error(
                "yaml",
                place,
                format!("what is not YAML: {}", plain_message(&error)),
                "a procedure in YAML",
                "see `procedures/README.md` for the form, and quote texts with `: `, `#`, `{` or `>` in them",
            );
            None
        }
    }
}

/// The reader's own message on one line, without the place, which is told apart.
pub fn plain_message(error: &serde_saphyr::Error) -> String {
    if matches!(
        error.without_snippet(),
        serde_saphyr::Error::MultipleDocuments { .. }
    ) {
        return "a second document begins here".to_owned();
    }
    let text = error.without_snippet().to_string();
    let line = text.lines().next().unwrap_or_default();
    let end = line.find(" at line ").unwrap_or(line.len());
    line[..end].trim_end_matches(['.', ':', ',']).to_owned()
}

const START: Place = Place { line: 1, column: 1 };
