//! Clips are removed when they have been kept long enough, and the record says so.

use std::collections::HashSet;
use std::path::Path;

use serde_json::Value;

use super::append::Record;
use super::folder;
use super::line::{BoundFile, Mark};
use super::read::Resumed;
use super::trouble::RecordError;
use crate::clock::{Day, WallTime};

/// Removes the clips of everything heard before the day `before`, after a line of the record has
/// said which. How many there were. A clip that no line names is as old as the last line written
/// before it was found.
///
/// What the record says was heard stays; the sound is gone for good.
///
/// # Errors
///
/// As [`Record::resume`] and [`Record::append`]; [`RecordError::Storage`] if a clip cannot be
/// removed, which a second call does then.
pub fn clear_clips(session: &Path, before: Day, now: WallTime) -> Result<usize, RecordError> {
    let recorded = super::read::read::<Value>(session)?;
    let last = recorded.last.wall;
    let entries = recorded.entries.into_iter();
    let named = entries.filter_map(|entry| Some((entry.now.wall, entry.clip?)));
    let mut clips: Vec<(WallTime, BoundFile)> = named.chain(recorded.unnamed_clips).collect();
    let known: HashSet<String> = clips.iter().map(|(_, clip)| clip.file.clone()).collect();
    for name in folder::clips_on_disk(session)? {
        if !known.contains(&name) {
            clips.push((last, folder::bind(session, &name)?));
        }
    }
    let old: Vec<BoundFile> = clips
        .into_iter()
        .filter(|(at, _)| at.day() < before)
        .map(|(_, clip)| clip)
        .filter(|clip| folder::inside(session, &clip.file).is_some_and(|path| path.exists()))
        .collect();
    if old.is_empty() {
        return Ok(0);
    }
    let Resumed {
        mut record, now, ..
    } = Record::<Value>::resume(session, now)?;
    let mark = Mark::ClipsCleared {
        before: before.to_string(),
        clips: old.clone(),
    };
    record.append_mark(mark, &now)?;
    record.close(&now)?;
    for clip in &old {
        let path = session.join(&clip.file);
        std::fs::remove_file(&path).map_err(RecordError::storage("remove", &path))?;
    }
    folder::sync_folder(&session.join(folder::CLIPS))?;
    Ok(old.len())
}
