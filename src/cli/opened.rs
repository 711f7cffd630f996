//! A session that is read: its folder, or its pack unpacked for as long as that takes.

use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::Failure;
use crate::record::{self, Verification};

/// Where the files of a session are to be read.
pub struct Opened {
    name: String,
    /// As it was named.
    given: PathBuf,
    folder: PathBuf,
    /// Removed with everything in it when this goes.
    unpacked: Option<TempDir>,
}

/// Opens a session's folder, or its pack.
///
/// # Errors
///
/// There is none, or the pack holds what no pack of this program does.
pub fn open(session: &Path) -> Result<Opened, Failure> {
    let full = session
        .canonicalize()
        .unwrap_or_else(|_| session.to_owned());
    if !full.is_file() {
        let name = full.file_name().unwrap_or(full.as_os_str());
        return Ok(Opened {
            name: name.to_string_lossy().into_owned(),
            given: session.to_owned(),
            folder: session.to_owned(),
            unpacked: None,
        });
    }
    let room = |error: std::io::Error| Failure::file("unpack", session, &error);
    let unpacked = TempDir::with_prefix("readback-").map_err(room)?;
    record::unpack(session, unpacked.path())?;
    let name = full.file_stem().unwrap_or(full.as_os_str());
    Ok(Opened {
        name: name.to_string_lossy().into_owned(),
        given: session.to_owned(),
        folder: unpacked.path().to_owned(),
        unpacked: Some(unpacked),
    })
}

impl Opened {
    /// Checks the record; of a pack also that it says what it held.
    ///
    /// # Errors
    ///
    /// There is none to check.
    pub fn verify(&self, kept_head: Option<&str>) -> Result<Verification, Failure> {
        let found = record::verify(&self.folder, kept_head);
        let mut found = found.map_err(|error| self.as_named(error.into()))?;
        if self.unpacked.is_some() {
            found.must_have_manifest(&self.folder);
        }
        for fault in &mut found.faults {
            fault.what = self.with_its_name(&fault.what);
        }
        Ok(found)
    }

    /// The same with the name that was given in place of the folder into which a pack was unpacked,
    /// which nobody knows.
    pub fn as_named(&self, failure: Failure) -> Failure {
        match failure {
            Failure::Input(told) => Failure::Input(self.with_its_name(&told)),
            failure => failure,
        }
    }

    fn with_its_name(&self, text: &str) -> String {
        match &self.unpacked {
            Some(_) => text.replace(
                self.folder.to_string_lossy().as_ref(),
                &self.given.to_string_lossy(),
            ),
            None => text.to_owned(),
        }
    }

    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The name of the folder or, without its ending, of the pack.
    pub fn name(&self) -> &str {
        &self.name
    }
}
