//! What was put right after the session, beside what the session came to.

use super::gather::Seen;
use super::model::{Again, Corrected, Finding, Hold, Judged, Note, Reading, Report, Review};
use super::readings;
use super::wording;
use crate::diagnosis::Verdict;
use crate::session::{self, Amendment, Event, Examined, Guide, Position, State};

/// An amendment as a sentence, `None` for any other event. `heard` are the words of every utterance
/// before it.
pub(super) fn row(seen: &Seen, heard: &[String]) -> Option<Review> {
    let Event::Amended { who, why, what } = seen.event() else {
        return None;
    };
    Some(Review {
        at: seen.at(),
        who: who.clone(),
        why: Some(why.clone()).filter(|why| !why.is_empty()),
        says: says(seen.state, heard, what),
        signs: matches!(what, Amendment::SignedOff { .. }),
    })
}

fn says(state: &State, heard: &[String], what: &Amendment) -> String {
    match what {
        Amendment::Reading { id, to } => {
            let kept = state.readings.iter().find(|kept| kept.id == *id);
            let recorded = kept.map_or_else(String::new, |kept| {
                format!(", recorded as {}", wording::reading(&kept.reading))
            });
            format!("Reading {} was {}{recorded}.", id.0, wording::reading(to))
        }
        Amendment::Words { utterance, text } => {
            let words = index_of(*utterance).and_then(|index| heard.get(index));
            let words = words.filter(|words| !words.is_empty());
            let words = words.map_or("without words".to_owned(), |words| {
                format!("as \"{words}\"")
            });
            format!("Utterance {utterance}, heard {words}, says: {text}")
        }
        Amendment::Note { note, text } => format!("Note {note} says: {text}"),
        Amendment::Job { line, text } => format!("The {} of the job: {text}", line.name()),
        Amendment::Remark { text } => format!("Remark: {text}"),
        Amendment::SignedOff { statement } => format!("Signed off: {statement}"),
        Amendment::Reopened => "The sign-off was taken back by what follows.".to_owned(),
    }
}

/// Where what is counted from 1 stands.
pub(super) fn index_of(number: u32) -> Option<usize> {
    usize::try_from(number).ok()?.checked_sub(1)
}

/// The notes, each with the text that was written for it last.
pub(super) fn written(state: &State, mut notes: Vec<Note>) -> Vec<Note> {
    for amendment in &state.amendments {
        if let Amendment::Note { note, text } = amendment {
            let row = index_of(*note).and_then(|index| notes.get_mut(index));
            if let Some(row) = row {
                row.written = Some(text.trim().to_owned());
            }
        }
    }
    notes
}

/// Which of the utterances that meant nothing were not given their words since.
pub(super) fn unclear(state: &State, nothing: &[u32]) -> Vec<u32> {
    let given = session::words_put_right(&state.amendments);
    let unclear = nothing.iter().filter(|n| !given.contains_key(n));
    unclear.copied().collect()
}

/// Which of the others were given other words since.
pub(super) fn put_right(state: &State, heard: &[String], nothing: &[u32]) -> Vec<u32> {
    let given = session::words_put_right(&state.amendments).into_iter();
    let others = given.filter(|(number, words)| {
        let heard = index_of(*number).and_then(|index| heard.get(index));
        !nothing.contains(number) && heard.is_none_or(|heard| heard != words)
    });
    others.map(|(number, _)| number).collect()
}

/// Puts every corrected value beside the recorded one, and judges again what stands.
pub(super) fn beside(
    guide: &Guide,
    state: &State,
    readings: &mut [Reading],
    findings: &mut [Finding],
) {
    let Some(corrected) = session::corrected(guide, state) else {
        return;
    };
    for (row, kept) in readings.iter_mut().zip(&corrected.readings) {
        let recorded = state
            .readings
            .iter()
            .find(|recorded| recorded.id == kept.id);
        if recorded.is_some_and(|recorded| recorded == kept) {
            continue;
        }
        row.corrected = Some(Corrected {
            value: match kept.counts() {
                true => wording::reading(&kept.reading),
                false => "no longer to be worked out".to_owned(),
            },
            number: kept.counts().then(|| number(&kept.reading)).flatten(),
            unit: kept.reading.unit.to_string(),
            judged: match kept.counts() {
                true => readings::judged_now(guide, &corrected, kept),
                false => Judged::NoValue,
            },
        });
    }
    for row in findings.iter_mut().filter(|row| row.stands) {
        let step = Position {
            procedure: row.procedure.as_str().into(),
            step: row.step.as_str().into(),
        };
        let now = session::examined(guide, &corrected, &step);
        if now != session::examined(guide, state, &step) {
            row.again = Some(again(guide, &corrected, &step, now));
        }
    }
}

fn number(reading: &crate::quantity::Reading) -> Option<String> {
    reading.amount.value().map(|value| value.to_string())
}

/// Puts what was corrected beside the points that it proved.
pub(super) fn at_points(readings: &[Reading], holds: &mut [Hold]) {
    for point in holds.iter_mut().flat_map(|hold| &mut hold.points) {
        let row = readings.iter().find(|row| row.number == point.reading);
        point.corrected = row.and_then(|row| row.corrected.clone());
    }
}

fn again(guide: &Guide, state: &State, step: &Position, now: Option<Examined>) -> Again {
    let Some(now) = now else {
        return Again {
            findings: Vec::new(),
            why: Vec::new(),
            missing: None,
        };
    };
    let ids = match &now.judgement.verdict {
        Verdict::Finding(found) => vec![found.id.clone()],
        Verdict::Equal(ids) => ids.clone(),
        Verdict::Undetermined(_) => Vec::new(),
    };
    let named = ids
        .iter()
        .map(|id| super::findings::named(guide, state, step, id));
    Again {
        findings: named.collect(),
        why: now.why,
        missing: now.ask,
    }
}

/// What was put right after the session: when, by whom and why.
pub(super) fn lines(report: &Report) -> Vec<String> {
    let mut lines: Vec<String> = report.reviews.iter().map(line).collect();
    if !lines.is_empty() {
        let signed = match report.signed_off {
            true => "The record is signed off.",
            false => "The record is not signed off.",
        };
        lines.push(signed.to_owned());
    }
    lines
}

fn line(review: &Review) -> String {
    let why = review.why.as_ref().map(|why| format!(" Reason: {why}"));
    let at = wording::moment(&review.at);
    format!(
        "{at}, {}: {}{}",
        review.who,
        review.says,
        why.unwrap_or_default()
    )
}
