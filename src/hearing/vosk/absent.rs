//! Stands in for the Vosk engine in programs built without it.

use std::path::Path;

use crate::hearing::recognizer::{AnyRecognizer, HearingError};

/// The engine's name in records, options and messages.
pub const ENGINE: &str = "vosk";

/// # Errors
///
/// Always `Missing`: the engine is not part of this program.
pub fn load(_model: &Path) -> Result<AnyRecognizer, HearingError> {
    Err(HearingError::Missing {
        what: "this program was built without vosk".into(),
        remedy: "build with `--features vosk`".into(),
    })
}
