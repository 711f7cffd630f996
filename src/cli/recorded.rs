//! A recorded session as it is read afterwards: with its procedure, and checked.

use std::collections::HashMap;
use std::path::Path;
use std::rc::Rc;

use super::opened::{self, Opened};
use super::{Failure, session_folder};
use crate::record::{self, Recorded, Verification};
use crate::report::{Material, Report};
use crate::session::{self, Event, Guide};

/// A session's record with everything that is needed to tell what happened in it.
pub struct RecordedSession {
    opened: Opened,
    pub recorded: Recorded<Event>,
    pub verification: Verification,
    guide: Rc<Guide>,
}

/// The guides through procedures that were read already: making one takes far longer than reading
/// a record, and many sessions are of one procedure.
#[derive(Default)]
pub struct Guides {
    by_files: HashMap<Vec<(String, String)>, Rc<Guide>>,
}

/// Reads the record of a session's folder or pack as far as it holds together, and checks it.
/// Changes nothing.
///
/// # Errors
///
/// It is no session, not even its first line holds, or its procedure is gone or none.
pub fn open(session: &Path) -> Result<RecordedSession, Failure> {
    let opened = opened::open(session)?;
    let unpacked = opened.folder().to_string_lossy().into_owned();
    read_up_to_fault(opened).map_err(|failure| match failure {
        // Nobody knows the folder into which a pack was unpacked.
        Failure::Input(told) => Failure::Input(told.replace(&unpacked, &session.to_string_lossy())),
        failure => failure,
    })
}

fn read_up_to_fault(opened: Opened) -> Result<RecordedSession, Failure> {
    let verification = record::verify(opened.folder(), None)?;
    let recorded = record::read_up_to_fault::<Event>(opened.folder())?;
    with_procedure(opened, recorded, verification, &mut Guides::default())
}

/// As [`open`], of a record that holds together by its lines: no clip and no procedure file is
/// looked at, which takes longest.
///
/// # Errors
///
/// As [`open`], and where a line was altered.
pub fn open_unchecked(session: &Path, guides: &mut Guides) -> Result<RecordedSession, Failure> {
    let opened = opened::open(session)?;
    let recorded = record::read::<Event>(opened.folder())?;
    let verification = Verification::of_lines(&recorded);
    with_procedure(opened, recorded, verification, guides)
}

fn with_procedure(
    opened: Opened,
    recorded: Recorded<Event>,
    verification: Verification,
    guides: &mut Guides,
) -> Result<RecordedSession, Failure> {
    let folder = opened.folder();
    // A changed procedure is one of the faults that the report begins with.
    let files = record::procedure_as_it_is(folder, &recorded.procedure)?;
    let guide = guides.of(files)?;
    Ok(RecordedSession {
        opened,
        recorded,
        verification,
        guide,
    })
}

impl Guides {
    fn of(&mut self, files: Vec<(String, String)>) -> Result<Rc<Guide>, Failure> {
        if let Some(guide) = self.by_files.get(&files) {
            return Ok(Rc::clone(guide));
        }
        let procedure = session_folder::procedure_of(files.clone())?;
        let guide = Rc::new(Guide::bundled(procedure.library).map_err(Failure::input)?);
        self.by_files.insert(files, Rc::clone(&guide));
        Ok(guide)
    }
}

impl RecordedSession {
    /// Leaves only where its files are.
    pub fn into_opened(self) -> Opened {
        self.opened
    }

    /// Where its files are.
    pub fn folder(&self) -> &Path {
        self.opened.folder()
    }

    /// What was heard, and whether it was taken as free words.
    pub fn heard(&self) -> impl Iterator<Item = (&Event, bool)> {
        session::heard(self.recorded.entries.iter().map(|entry| &entry.event))
    }

    pub fn report(&self) -> Report {
        Report::of(&Material {
            session: self.opened.name(),
            guide: &self.guide,
            recorded: &self.recorded,
            verification: &self.verification,
        })
    }
}
