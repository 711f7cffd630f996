//! A session that is read: its folder, or its pack unpacked for as long as that takes.

use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::Failure;
use crate::record;

/// Where the files of a session are to be read.
pub struct Opened {
    name: String,
    folder: PathBuf,
    /// Removed with everything in it when this goes.
    _unpacked: Option<TempDir>,
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
            folder: session.to_owned(),
            _unpacked: None,
        });
    }
    let room = |error: std::io::Error| Failure::file("unpack", session, &error);
    let unpacked = TempDir::with_prefix("readback-").map_err(room)?;
    record::unpack(session, unpacked.path())?;
    let name = full.file_stem().unwrap_or(full.as_os_str());
    Ok(Opened {
        name: name.to_string_lossy().into_owned(),
        folder: unpacked.path().to_owned(),
        _unpacked: Some(unpacked),
    })
}

impl Opened {
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The name of the folder or, without its ending, of the pack.
    pub fn name(&self) -> &str {
        &self.name
    }
}
