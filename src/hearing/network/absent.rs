//! Stands in for the network in programs built without it.

use std::path::Path;

use crate::hearing::recognizer::{AnyRecognizer, HearingError};

/// The engine's name in records, options and messages.
pub const ENGINE: &str = "network";

/// # Errors
///
/// Always `Missing`: the engine is not part of this program.
pub fn load(_model: &Path, _locale: &str) -> Result<AnyRecognizer, HearingError> {
    Err(HearingError::Missing {
        what: "this program was built without network".into(),
        remedy: "build with `--features network`".into(),
    })
}
