//! Is a record whole and unchanged.

use std::collections::HashSet;
use std::fmt;
use std::path::Path;

use serde::Serialize;
use serde::de::IgnoredAny;

use super::chain::{self, Break, BreakKind};
use super::folder::{self, EVENTS, Lock};
use super::line::{BoundFile, Hash, Line, Mark};
use super::manifest::{MANIFEST, Manifest};
use super::read::Recorded;
use super::signed::{self, PublicKey, SIGNED, Signed};
use super::trouble::RecordError;

/// What a check of a record came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Verification {
    /// Nothing was found to be wrong.
    pub verified: bool,
    /// Lines that hold together from the first on.
    pub lines: u64,
    /// How many of them are events.
    pub events: u64,
    /// How many clips they name.
    pub clips: u64,
    /// How many of these were removed later, or left out of a pack.
    pub clips_gone: u64,
    /// How many of the clips that are gone were cleared, as the record says.
    pub clips_cleared: u64,
    /// The hash of the last of them. Kept elsewhere, it shows later whether the end was cut off.
    pub head: Hash,
    /// A process has the session open and may still add to it.
    pub open: bool,
    /// The signatures that are right.
    pub signed: Vec<Signed>,
    pub first_bad_line: Option<u64>,
    /// The first line whose bytes are not those that were written, although it says the same: an
    /// editor spaced it otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rewritten: Option<u64>,
    /// The lines at which the session was taken up again although it had not been ended: it was
    /// killed there, or lines were cut off.
    pub broken_off: Vec<u64>,
    /// How many clips without a line were found there.
    pub unnamed_clips: u64,
    /// The first bad line first, then files.
    pub faults: Vec<Fault>,
}

/// One thing that is wrong with a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Relative to the session folder.
    pub file: String,
    pub line: Option<u64>,
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "`{}` line {line} {}", self.file, self.what),
            None => write!(f, "`{}` {}", self.file, self.what),
        }
    }
}

/// Checks every line, every clip and every procedure file of a record. Changes nothing.
///
/// `kept_head` is a hash of this record that was kept elsewhere, if there is one; without it a
/// record that was cut off and closed again by someone who knows the layout, or written anew from
/// its start, cannot be told from an honest one.
///
/// # Errors
///
/// [`RecordError::NoRecord`] or [`RecordError::Storage`] if there is nothing to check.
pub fn verify(session: &Path, kept_head: Option<&str>) -> Result<Verification, RecordError> {
    // Asked first: a session that ends meanwhile has its closing line then.
    let open = Lock::is_held(session);
    let bytes = folder::read_events(session)?;
    let chain = chain::follow::<IgnoredAny>(&bytes);
    let lines = &chain.lines;
    let mut faults = Vec::new();
    match &chain.end {
        Some(end) if open && matches!(end.kind, BreakKind::Torn { .. }) => {}
        Some(end) => faults.push(broken(end)),
        None => faults.extend(wrong_end(lines, open)),
    }
    let first_bad_line = faults.first().and_then(|f| f.line);
    faults.extend(kept_head.and_then(|kept| not_in_chain(kept, lines)));
    let manifest = Manifest::of(session);
    let left_out = manifest.as_ref().ok().and_then(Option::as_ref);
    let left_out = left_out.map(Manifest::left_out).unwrap_or_default();
    let cleared = cleared_clips(lines);
    let may_be_gone = |bound: &&BoundFile| {
        let name = bound.file.as_str();
        let gone = folder::inside(session, name).is_some_and(|path| !path.exists());
        gone && (cleared.contains(name) || left_out.contains(name))
    };
    let (gone, there): (Vec<_>, Vec<_>) = bound_files(lines).partition(may_be_gone);
    let of_events: HashSet<&str> = lines
        .iter()
        .filter_map(|line| Some(line.clip.as_ref()?.file.as_str()))
        .collect();
    let gone: HashSet<&str> = gone.iter().map(|bound| bound.file.as_str()).collect();
    let clips_gone: HashSet<&str> = of_events.intersection(&gone).copied().collect();
    faults.extend(
        there
            .into_iter()
            .filter_map(|bound| changed(session, bound)),
    );
    faults.extend(unlike_manifest(session, &manifest, lines));
    let hash_of = |n: u64| {
        lines
            .get(usize::try_from(n.checked_sub(1)?).ok()?)?
            .sha256
            .clone()
    };
    let mut signed = Vec::new();
    for (name, checked) in signed::check(session, hash_of)? {
        match checked {
            Ok(right) => signed.push(right),
            Err(what) => faults.push(in_file(&name, &what)),
        }
    }
    if chain.end.is_none() && !open {
        faults.extend(clips_without_line(session, lines)?);
    }
    Ok(Verification {
        verified: faults.is_empty(),
        lines: lines.len() as u64,
        events: lines.iter().filter(|l| l.event.is_some()).count() as u64,
        clips: lines.iter().filter(|l| l.clip.is_some()).count() as u64,
        clips_gone: clips_gone.len() as u64,
        clips_cleared: clips_gone.intersection(&cleared).count() as u64,
        head: chain.head,
        open,
        signed,
        first_bad_line,
        rewritten: chain.rewritten,
        broken_off: broken_off(lines),
        unnamed_clips: unnamed_clips(lines),
        faults,
    })
}

impl Verification {
    /// What the lines of a record alone say, which were followed when it was read: no other file
    /// was looked at.
    pub fn of_lines<E>(recorded: &Recorded<E>) -> Verification {
        let clips = recorded.entries.iter().filter(|entry| entry.clip.is_some());
        Verification {
            verified: !recorded.torn,
            lines: recorded.lines,
            events: recorded.entries.len() as u64,
            clips: clips.count() as u64,
            clips_gone: 0,
            clips_cleared: 0,
            head: recorded.head.clone(),
            open: !recorded.closed,
            signed: Vec::new(),
            rewritten: None,
            first_bad_line: None,
            broken_off: Vec::new(),
            unnamed_clips: recorded.unnamed_clips.len() as u64,
            faults: Vec::new(),
        }
    }

    /// Adds a fault where a pack does not say what it held.
    pub fn must_have_manifest(&mut self, session: &Path) {
        if session.join(MANIFEST).exists() {
            return;
        }
        let what = "is missing: it was taken out, or this was not made by `readback pack`";
        self.faults.push(in_file(MANIFEST, what));
        self.verified = false;
    }

    /// Adds a fault where no right signature is by this key.
    pub fn must_be_signed_by(&mut self, key: &PublicKey) {
        let key = key.fingerprint();
        if self.signed.iter().any(|signed| signed.key == key) {
            return;
        }
        let what = match self.signed.is_empty() && !self.faults.iter().any(in_signed) {
            true => {
                format!("is empty: nobody signed the record, expected a signature by the key {key}")
            }
            false => format!("has no right signature by the key {key}"),
        };
        self.faults.push(in_file(SIGNED, &what));
        self.verified = false;
    }
}

fn in_signed(fault: &Fault) -> bool {
    fault.file.starts_with(SIGNED)
}

fn in_line(line: u64, what: String) -> Fault {
    Fault {
        file: EVENTS.to_owned(),
        line: Some(line),
        what,
    }
}

fn in_file(file: &str, what: &str) -> Fault {
    Fault {
        file: file.to_owned(),
        line: None,
        what: what.to_owned(),
    }
}

fn broken(end: &Break) -> Fault {
    match &end.kind {
        BreakKind::Bad { what } => in_line(end.line, what.clone()),
        BreakKind::Torn { what } => in_line(
            end.line,
            format!("{what}; resuming the session sets it aside"),
        ),
    }
}

fn closed(line: &Line<IgnoredAny>) -> bool {
    matches!(line.mark, Some(Mark::Closed))
}

fn resumed(line: &Line<IgnoredAny>) -> bool {
    matches!(line.mark, Some(Mark::Resumed { .. }))
}

fn broken_off(lines: &[Line<IgnoredAny>]) -> Vec<u64> {
    let pairs = lines.windows(2);
    let broken_off = pairs.filter(|pair| !closed(&pair[0]) && resumed(&pair[1]));
    broken_off.map(|pair| pair[1].n).collect()
}

fn unnamed_clips(lines: &[Line<IgnoredAny>]) -> u64 {
    let marks = lines.iter().map(|line| match &line.mark {
        Some(Mark::Resumed { unnamed_clips, .. }) => unnamed_clips.len() as u64,
        _ => 0,
    });
    marks.sum()
}

/// A closing mark ends the record, and only a resumed session goes on behind one.
fn wrong_end(lines: &[Line<IgnoredAny>], open: bool) -> Option<Fault> {
    let after_end = lines
        .windows(2)
        .find(|pair| closed(&pair[0]) && !resumed(&pair[1]));
    if let Some(pair) = after_end {
        let what = "stands behind the closing line although the session was not resumed";
        return Some(in_line(pair[1].n, what.to_owned()));
    }
    match lines.last() {
        Some(last) if closed(last) || open => None,
        _ => Some(in_line(
            lines.len() as u64 + 1,
            "is missing: no closing line, the end was cut off, or the session was killed and not \
             resumed"
                .to_owned(),
        )),
    }
}

fn not_in_chain(kept: &str, lines: &[Line<IgnoredAny>]) -> Option<Fault> {
    let is_kept =
        |line: &Line<IgnoredAny>| line.sha256.as_ref().is_some_and(|h| h.as_str() == kept);
    match lines.iter().any(is_kept) {
        true => None,
        false => Some(in_file(
            EVENTS,
            &format!("has no line with the kept hash `{kept}`: its end was cut off or replaced"),
        )),
    }
}

/// What the manifest of a pack says otherwise than the folder that was made from it.
fn unlike_manifest(
    session: &Path,
    manifest: &Result<Option<Manifest>, RecordError>,
    lines: &[Line<IgnoredAny>],
) -> Vec<Fault> {
    let manifest = match manifest {
        Ok(Some(manifest)) => manifest,
        Ok(None) => return Vec::new(),
        Err(RecordError::BadFile { what, .. }) => return vec![in_file(MANIFEST, what)],
        Err(error) => return vec![in_file(MANIFEST, &error.to_string())],
    };
    let index = usize::try_from(manifest.lines.saturating_sub(1)).unwrap_or(usize::MAX);
    let last = lines.get(index).and_then(|line| line.sha256.as_ref());
    let mut faults = Vec::new();
    if last != Some(&manifest.head) && manifest.lines > 0 {
        let what = format!(
            "has no line {} with the hash that `{MANIFEST}` names: its end was cut off or replaced \
             after it was packed",
            manifest.lines
        );
        faults.push(in_file(EVENTS, &what));
    }
    // What the record itself binds was checked by its lines.
    let bound: HashSet<&str> = bound_files(lines)
        .map(|bound| bound.file.as_str())
        .collect();
    let others = manifest.files.iter().filter(|file| file.file != EVENTS);
    let others = others.filter(|file| !bound.contains(file.file.as_str()));
    faults.extend(others.filter_map(|file| changed(session, file)));
    faults
}

/// The clips that the record says were removed.
pub(crate) fn cleared_clips<E>(lines: &[Line<E>]) -> HashSet<&str> {
    let marks = lines.iter().filter_map(|line| match &line.mark {
        Some(Mark::ClipsCleared { clips, .. }) => Some(clips),
        _ => None,
    });
    marks.flatten().map(|clip| clip.file.as_str()).collect()
}

/// All files that the lines bind by their hash.
pub(crate) fn bound_files(lines: &[Line<IgnoredAny>]) -> impl Iterator<Item = &BoundFile> {
    lines.iter().flat_map(|line| {
        let marked: Vec<&BoundFile> = match &line.mark {
            Some(Mark::Opened { procedure, .. }) => procedure.iter().collect(),
            Some(Mark::Resumed {
                torn,
                unnamed_clips,
            }) => torn.iter().chain(unnamed_clips).collect(),
            Some(Mark::ClipsCleared { .. } | Mark::Closed) | None => Vec::new(),
        };
        line.clip.iter().chain(marked)
    })
}

fn changed(session: &Path, bound: &BoundFile) -> Option<Fault> {
    let Some(path) = folder::inside(session, &bound.file) else {
        return Some(in_file(&bound.file, "lies outside the session folder"));
    };
    match Hash::of_file(&path) {
        Ok(found) if found == bound.sha256 => None,
        Ok(_) => Some(in_file(
            &bound.file,
            "was changed: it does not match its hash",
        )),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            Some(in_file(&bound.file, "is missing"))
        }
        Err(e) => Some(in_file(
            &bound.file,
            &RecordError::storage("read", &path)(e).to_string(),
        )),
    }
}

/// The clips that lines name, those found without a line at a resumption among them.
pub(crate) fn named_clips<E>(lines: &[Line<E>]) -> HashSet<&str> {
    let mut names = HashSet::new();
    for line in lines {
        names.extend(line.clip.iter().map(|c| c.file.as_str()));
        if let Some(Mark::Resumed { unnamed_clips, .. }) = &line.mark {
            names.extend(unnamed_clips.iter().map(|c| c.file.as_str()));
        }
    }
    names
}

fn clips_without_line(
    session: &Path,
    lines: &[Line<IgnoredAny>],
) -> Result<Vec<Fault>, RecordError> {
    let named = named_clips(lines);
    let clips = folder::clips_on_disk(session)?;
    let what = "is named by no line: it was added, or the lines that named it are gone";
    Ok(clips
        .iter()
        .filter(|clip| !named.contains(clip.as_str()))
        .map(|clip| in_file(clip, what))
        .collect())
}
