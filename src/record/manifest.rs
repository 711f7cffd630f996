//! What a pack says it holds: `manifest.json`, which also stands in a session folder that was made
//! from a pack.

use std::collections::HashSet;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::folder;
use super::line::{BoundFile, Hash};
use super::trouble::RecordError;

pub(crate) const MANIFEST: &str = "manifest.json";

/// The files of a pack, and where its record ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    /// The version of this form: 1.
    pub format: u32,
    /// The name of the session's folder.
    pub session: String,
    /// How many lines held together, and the hash of the last.
    pub lines: u64,
    pub head: Hash,
    pub files: Vec<BoundFile>,
    /// Clips of the record that were not put in.
    pub left_out: Vec<BoundFile>,
}

impl Manifest {
    pub(crate) const FORMAT: u32 = 1;

    /// The manifest of a folder that was made from a pack; `None` in every other one.
    ///
    /// # Errors
    ///
    /// [`RecordError::BadFile`] where there is one that cannot be read.
    pub(crate) fn of(session: &Path) -> Result<Option<Manifest>, RecordError> {
        let path = session.join(MANIFEST);
        if !path.exists() {
            return Ok(None);
        }
        let bad = |what: String| RecordError::BadFile {
            file: path.clone(),
            what,
        };
        let bytes = folder::read_some(&path)?;
        let manifest: Manifest = serde_json::from_slice(&bytes)
            .map_err(|error| bad(format!("is no manifest of a pack: {error}")))?;
        match manifest.format {
            Manifest::FORMAT => Ok(Some(manifest)),
            found => Err(bad(format!(
                "has format {found}, expected {}: it was written by another version",
                Manifest::FORMAT
            ))),
        }
    }

    pub(crate) fn left_out(&self) -> HashSet<&str> {
        self.left_out
            .iter()
            .map(|clip| clip.file.as_str())
            .collect()
    }
}
