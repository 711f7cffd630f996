//! What is put right or said after a session by whoever reads its record.
//!
//! Nothing is edited, and nothing the session came to changes: an amendment stands beside it, with
//! who and why. [`corrected`] is the session as it would be with the corrected values, for judging
//! them again.

use std::collections::BTreeMap;

use super::event::Event;
use super::guide::Guide;
use super::parts::{Amendment, JobLine, ReadingId, Withdrawal};
use super::state::{Standing, State};
use super::steps::compute;
use crate::quantity::{ConversionError, Reading};

/// Who puts something right, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reviewer<'a> {
    pub who: &'a str,
    pub why: &'a str,
}

/// Why something cannot be put right.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AmendError {
    #[error("the {0} is empty, expected words")]
    Empty(&'static str),
    #[error("the {0} holds a line end or another control character, expected one line of words")]
    Control(&'static str),
    #[error("found reading {found}, expected {}", numbers(*last))]
    NoReading { found: u32, last: usize },
    #[error("reading {0} does not count; say what is to be known of it in a remark")]
    CountsNot(u32),
    #[error("reading {0} was worked out; correct a reading it was worked out from")]
    Computed(u32),
    #[error("reading {0} says the same already")]
    Same(u32),
    #[error("the {0} says the same already")]
    SameLine(&'static str),
    #[error("{0} {1} says the same already")]
    SameText(&'static str, u32),
    #[error("found utterance {found}, expected {}", numbers(*last as usize))]
    NoUtterance { found: u32, last: u32 },
    #[error("found note {found}, expected {}", numbers(*last as usize))]
    NoNote { found: u32, last: u32 },
    #[error("reading {reading} is of another kind: {cause}")]
    Unit {
        reading: u32,
        cause: ConversionError,
    },
}

/// What could have been named, of things counted from 1.
fn numbers(last: usize) -> String {
    match last {
        0 => "none: the session has no such thing".to_owned(),
        1 => "1, the only one".to_owned(),
        _ => format!("one of 1 to {last}"),
    }
}

/// The events of one amendment, to be recorded together. One that follows a sign-off takes the
/// sign-off back.
///
/// # Errors
///
/// Why it cannot be made: nothing is to be recorded then.
pub fn amend(state: &State, by: Reviewer, what: Amendment) -> Result<Vec<Event>, AmendError> {
    worded("name", by.who)?;
    if by.who.chars().any(char::is_control) {
        return Err(AmendError::Control("name"));
    }
    match &what {
        Amendment::Reading { id, to } => {
            worded("reason", by.why)?;
            fits(state, *id, to)?;
        }
        Amendment::Words { utterance, text } => {
            worded("text", text)?;
            let (found, last) = (*utterance, state.utterances);
            if !(1..=last).contains(&found) {
                return Err(AmendError::NoUtterance { found, last });
            }
            let written = newest(state, |earlier| match earlier {
                Amendment::Words { utterance, text } if *utterance == found => Some(text),
                _ => None,
            });
            differs("utterance", found, text, written)?;
        }
        Amendment::Note { note, text } => {
            worded("text", text)?;
            let (found, last) = (*note, state.notes);
            if !(1..=last).contains(&found) {
                return Err(AmendError::NoNote { found, last });
            }
            let written = newest(state, |earlier| match earlier {
                Amendment::Note { note, text } if *note == found => Some(text),
                _ => None,
            });
            differs("note", found, text, written)?;
        }
        Amendment::Job { line, text } => {
            worded("text", text)?;
            let says = job_line_written(state, *line).or_else(|| state.job.line(*line));
            if says == Some(text.trim()) {
                return Err(AmendError::SameLine(line.name()));
            }
        }
        Amendment::Remark { text } => worded("remark", text)?,
        Amendment::SignedOff { statement } => worded("statement", statement)?,
        Amendment::Reopened => {}
    }
    let event = |what| Event::Amended {
        who: by.who.trim().to_owned(),
        why: by.why.trim().to_owned(),
        what,
    };
    let reopened = signed_off(state) && !matches!(what, Amendment::SignedOff { .. });
    let reopened = reopened.then_some(Amendment::Reopened);
    Ok(reopened.into_iter().chain([what]).map(event).collect())
}

/// Whether the record was signed off, and nothing was put right since.
pub fn signed_off(state: &State) -> bool {
    matches!(state.amendments.last(), Some(Amendment::SignedOff { .. }))
}

/// What was written last for a line of the job after the session, without blanks around it.
pub fn job_line_written(state: &State, line: JobLine) -> Option<&str> {
    newest(state, |amendment| match amendment {
        Amendment::Job { line: of, text } if *of == line => Some(text.trim()),
        _ => None,
    })
}

/// The words of utterances as they were put right last, by the number of the utterance.
pub fn words_put_right<'a>(
    amendments: impl IntoIterator<Item = &'a Amendment>,
) -> BTreeMap<u32, &'a str> {
    let words = amendments.into_iter().filter_map(|what| match what {
        Amendment::Words { utterance, text } => Some((*utterance, text.trim())),
        _ => None,
    });
    words.collect()
}

/// What the newest amendment says that `of` has something of.
fn newest<'a, T: ?Sized>(
    state: &'a State,
    of: impl Fn(&'a Amendment) -> Option<&'a T>,
) -> Option<&'a T> {
    state.amendments.iter().rev().find_map(of)
}

fn differs(
    what: &'static str,
    number: u32,
    text: &str,
    written: Option<&String>,
) -> Result<(), AmendError> {
    match written.is_some_and(|written| written.trim() == text.trim()) {
        true => Err(AmendError::SameText(what, number)),
        false => Ok(()),
    }
}

fn worded(name: &'static str, text: &str) -> Result<(), AmendError> {
    match text.trim().is_empty() {
        true => Err(AmendError::Empty(name)),
        false => Ok(()),
    }
}

fn fits(state: &State, id: ReadingId, to: &Reading) -> Result<(), AmendError> {
    let (found, last) = (id.0, state.readings.len());
    let kept = state.readings.iter().find(|kept| kept.id == id);
    let kept = kept.ok_or(AmendError::NoReading { found, last })?;
    if kept.computed {
        return Err(AmendError::Computed(found));
    }
    if !kept.counts() {
        return Err(AmendError::CountsNot(found));
    }
    to.convert(kept.reading.unit)
        .map_err(|cause| AmendError::Unit {
            reading: found,
            cause,
        })?;
    let earlier = newest(state, |earlier| match earlier {
        Amendment::Reading { id: of, to } if *of == id => Some(to),
        _ => None,
    });
    match earlier.unwrap_or(&kept.reading) == to {
        true => Err(AmendError::Same(found)),
        false => Ok(()),
    }
}

/// The state with every corrected value in the place of the earlier one, and what was worked out
/// from it worked out again. `None` where no value was corrected.
pub fn corrected(guide: &Guide, state: &State) -> Option<State> {
    let mut corrected = state.clone();
    let mut any = false;
    for amendment in &state.amendments {
        if let Amendment::Reading { id, to } = amendment {
            let kept = corrected.readings.iter_mut().find(|kept| kept.id == *id);
            any |= kept.map(|kept| kept.reading = *to).is_some();
        }
    }
    if !any {
        return None;
    }
    for index in 0..corrected.readings.len() {
        let kept = &corrected.readings[index];
        if !kept.computed || !kept.counts() {
            continue;
        }
        let again = compute::worked_out(guide, &corrected, &kept.step);
        let kept = &mut corrected.readings[index];
        match again {
            Ok((reading, _)) => kept.reading = reading,
            Err(_) => kept.standing = Standing::Withdrawn(Withdrawal::Corrected),
        }
    }
    Some(corrected)
}
