//! A recorded session as it is read afterwards: with its procedure, and checked.

use std::collections::{BTreeMap, HashMap};
use std::path::Path;
use std::rc::Rc;

use super::opened::{self, Opened};
use super::{Failure, session_folder};
use crate::quantity::Quantity;
use crate::record::{self, BoundFile, Recorded, Verification};
use crate::report::{Material, Report};
use crate::session::{self, Event, Guide, State};

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
    let read = |opened: &Opened| {
        let verification = opened.verify(None)?;
        let recorded = record::read_up_to_fault::<Event>(opened.folder())?;
        let guide = guide(opened.folder(), &recorded, &mut Guides::default())?;
        Ok((recorded, verification, guide))
    };
    let (recorded, verification, guide) = read(&opened).map_err(|why| opened.as_named(why))?;
    Ok(RecordedSession {
        opened,
        recorded,
        verification,
        guide,
    })
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
    let guide = guide(opened.folder(), &recorded, guides)?;
    Ok(RecordedSession {
        opened,
        recorded,
        verification,
        guide,
    })
}

fn guide(
    folder: &Path,
    recorded: &Recorded<Event>,
    guides: &mut Guides,
) -> Result<Rc<Guide>, Failure> {
    // A changed procedure is one of the faults that the report begins with.
    let files = record::procedure_as_it_is(folder, &recorded.procedure)?;
    guides.of(files)
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

    /// The clips of the record by their names.
    pub fn clips(&self) -> BTreeMap<String, BoundFile> {
        let clips = self.recorded.entries.iter().filter_map(|e| e.clip.clone());
        clips.map(|clip| (clip.file.clone(), clip)).collect()
    }

    /// What is usual for a reading, if a value that it was put right to is not.
    pub fn implausible(&self, number: u32, value: &str) -> Option<String> {
        let events = self.recorded.entries.iter().map(|entry| &entry.event);
        let state = events.fold(State::default(), session::apply);
        let kept = state.readings.iter().find(|kept| kept.id.0 == number)?;
        let usual = self.guide.quantity(&kept.step, &kept.quantity)?;
        let value: Quantity = value.parse().ok()?;
        let value = value.convert(usual.unit).ok()?.value;
        let odd = !usual.plausible.contains(value);
        odd.then(|| format!("{} {}", usual.plausible, usual.unit))
    }

    /// Whether a file of the record is there, and nothing was found to be wrong with it.
    pub fn is_as_recorded(&self, name: &str) -> bool {
        let wrong = self.verification.faults.iter().any(|f| f.file == name);
        !wrong && self.folder().join(name).is_file()
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
