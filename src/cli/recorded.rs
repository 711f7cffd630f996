//! A recorded session as it is read afterwards: with its procedure, and checked.

use std::path::Path;

use super::{Failure, session_folder};
use crate::record::{self, Recorded, Verification};
use crate::report::{Material, Report};
use crate::session::{Event, Guide};

/// A session's record with everything that is needed to tell what happened in it.
pub struct RecordedSession {
    /// The name of its folder.
    name: String,
    pub recorded: Recorded<Event>,
    pub verification: Verification,
    pub guide: Guide,
}

/// Reads a session's record as far as it holds together, and checks it. Changes nothing.
///
/// # Errors
///
/// It is no session, not even its first line holds, or its procedure is gone or none.
pub fn open(folder: &Path) -> Result<RecordedSession, Failure> {
    let verification = record::verify(folder, None)?;
    let recorded = record::read_up_to_fault::<Event>(folder)?;
    // A changed procedure is one of the faults that the report begins with.
    let files = record::procedure_as_it_is(folder, &recorded.procedure)?;
    let procedure = session_folder::procedure_of(files)?;
    let guide = Guide::bundled(procedure.library).map_err(Failure::input)?;
    let full = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let name = full.file_name().unwrap_or(full.as_os_str());
    Ok(RecordedSession {
        name: name.to_string_lossy().into_owned(),
        recorded,
        verification,
        guide,
    })
}

impl RecordedSession {
    pub fn report(&self) -> Report {
        Report::of(&Material {
            session: &self.name,
            guide: &self.guide,
            recorded: &self.recorded,
            verification: &self.verification,
        })
    }
}
