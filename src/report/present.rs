//! The sentences and small facts that every shown form of a report has in common.

use super::model::*;
use super::reasons;
use super::steps::signal_word;
use super::wording::{self, counted};
use crate::session::Ended;

/// A name with its value.
pub(super) struct Fact {
    pub name: &'static str,
    pub value: String,
    /// The clip that says it.
    pub clip: Option<String>,
}

pub(super) const NOT_GIVEN: &str = "not given";

pub(super) fn fact(name: &'static str, value: impl Into<String>) -> Fact {
    Fact {
        name,
        value: value.into(),
        clip: None,
    }
}

pub(super) fn given(name: &'static str, value: &Option<String>) -> Fact {
    fact(name, value.as_deref().unwrap_or(NOT_GIVEN))
}

/// Whether the record may be relied on, in a sentence or two.
pub fn record_in_words(record: &Record) -> String {
    let mut words = verified_in_words(record);
    for line in &record.broken_off {
        words += &format!(
            " The session was taken up again at line {line} without having been ended: it was \
             killed there, or lines were cut off."
        );
    }
    match record.unnamed_clips {
        0 => {}
        1 => words += " One clip that no line names was found when it was taken up again.",
        count => {
            words +=
                &format!(" {count} clips that no line names were found when it was taken up again.")
        }
    }
    words
}

fn verified_in_words(record: &Record) -> String {
    match (record.verified, record.open) {
        (true, false) if !record.broken_off.is_empty() || record.unnamed_clips > 0 => {
            "The record is unchanged.".to_owned()
        }
        (true, false) => "The record is whole and unchanged.".to_owned(),
        (true, true) => {
            "The record is whole and unchanged so far; the session was still open when this report \
             was made."
                .to_owned()
        }
        (false, _) => {
            "THE RECORD DOES NOT VERIFY. What follows is what it says as far as it holds together; \
             do not rely on it."
                .to_owned()
        }
    }
}

pub(super) fn result(report: &Report) -> Vec<Fact> {
    let outcome = &report.outcome;
    let mut facts = vec![fact("Conclusion", conclusion(outcome))];
    facts.extend(reasons::now(report).map(|now| fact("Judged again", now)));
    facts.extend(outcome.parts.iter().map(|part| fact("Part", part)));
    facts.extend(
        outcome
            .contact
            .iter()
            .map(|contact| fact("To be called", contact)),
    );
    facts
}

/// What the session came to, in one or two sentences.
pub(super) fn conclusion(outcome: &Outcome) -> String {
    let known = outcome.conclusion.as_ref().or(outcome.refused.as_ref());
    match (known, outcome.ended) {
        (Some(known), _) => known.clone(),
        (None, Ended::Finished) => "Finished, without a conclusion.".to_owned(),
        (None, Ended::Stopped) => "Stopped before a conclusion.".to_owned(),
        (None, Ended::Incomplete) => "Not finished.".to_owned(),
    }
}

fn signed_by(record: &Record, by: &Signature) -> Fact {
    let rest = match by.line < record.lines {
        true => format!(" of {}; what follows is not signed", record.lines),
        false => String::new(),
    };
    fact(
        "Signed",
        format!("by the key {}, up to line {}{rest}", by.key, by.line),
    )
}

/// What it came to, each with a name.
pub fn result_in_words(report: &Report) -> Vec<(&'static str, String)> {
    let facts = result(report).into_iter();
    facts.map(|fact| (fact.name, fact.value)).collect()
}

pub(super) fn record(report: &Report) -> Vec<Fact> {
    let record = &report.record;
    let size = [
        (record.lines, "line"),
        (record.events, "event"),
        (record.clips, "clip"),
    ];
    let mut size = size.map(|(count, what)| counted(count, what)).join(", ");
    if record.clips_gone > 0 {
        size += &format!(", {}", clips_gone(record.clips_gone, record.clips_cleared));
    }
    let mut facts = vec![
        fact("Session", &record.session),
        fact("Holds", size),
        fact("Head", &record.head),
        given("Engine", &report.hearing.engine),
        given("Model", &report.hearing.model),
    ];
    let program = record.about.get("program");
    facts.extend(program.map(|program| fact("Program", program)));
    let heard_from = record.about.get("heard_from");
    facts.extend(heard_from.map(|from| fact("Begun with", from)));
    let signed = record.signed.iter();
    facts.extend(signed.map(|by| signed_by(record, by)));
    facts.push(fact("Heard", heard(&report.hearing)));
    facts
}

/// Of so many clips that are gone, how many were cleared and how many are not in this copy.
pub fn clips_gone(gone: u64, cleared: u64) -> String {
    match (cleared, gone.saturating_sub(cleared)) {
        (0, left_out) => format!("{left_out} of them not in this copy"),
        (cleared, 0) => format!("{cleared} of them cleared"),
        (cleared, left_out) => {
            format!("{cleared} of them cleared, {left_out} not in this copy")
        }
    }
}

fn heard(hearing: &Hearing) -> String {
    let put_right = match hearing.not_understood.saturating_sub(hearing.unclear.len()) {
        0 => String::new(),
        count => format!(" ({count} put right since)"),
    };
    format!(
        "{}; {} meant nothing{}, {} asked about, {} taken back",
        counted(hearing.utterances as u64, "utterance"),
        hearing.not_understood,
        put_right,
        hearing.asked,
        hearing.withdrawn
    )
}

/// Free words, where the clip is shown apart.
pub(super) fn spoken(spoken: &Spoken) -> String {
    match spoken.words.trim() {
        "" => "spoken, without text".to_owned(),
        words => words.to_owned(),
    }
}

/// Free words, or that they are only in the clip.
pub(super) fn words(spoken: &Spoken) -> String {
    match (spoken.words.trim(), &spoken.clip) {
        ("", Some(clip)) => format!("spoken, without text ({clip})"),
        ("", None) => "without words".to_owned(),
        (words, Some(clip)) => format!("{words} ({clip})"),
        (words, None) => words.to_owned(),
    }
}

/// A value with its unit by its sign.
pub fn value(reading: &Reading) -> String {
    let unit = wording::unit(&reading.unit);
    let text = match (reading.special.as_deref(), &reading.value) {
        (Some("about"), Some(value)) => format!("about {value} {unit}"),
        (_, Some(value)) => format!("{value} {unit}"),
        (Some("over_range"), _) => "over range".to_owned(),
        (Some("short"), _) => "short".to_owned(),
        (Some(_), _) => "no reading".to_owned(),
        (None, None) => {
            let end = |end: &Option<String>| end.clone().unwrap_or_default();
            format!("{} to {} {unit}", end(&reading.low), end(&reading.high))
        }
    };
    text.trim_end().to_owned()
}

/// The limits in words with the side the reading is on; empty without limits.
pub(super) fn against_limits(reading: &Reading) -> String {
    let limits = limits(reading);
    match judged(reading.judged) {
        "" => String::new(),
        judged => format!("{judged} ({limits})"),
    }
}

/// The limits in words; empty without limits.
pub fn limits(reading: &Reading) -> String {
    let range = reading
        .limits
        .as_deref()
        .and_then(|limits| limits.parse().ok());
    let unit = wording::unit(reading.limits_unit.as_deref().unwrap_or_default());
    let text = range.map(|range| format!("{} {unit}", wording::range(&range)));
    text.unwrap_or_default().trim_end().to_owned()
}

pub(super) fn judged(judged: Judged) -> &'static str {
    match judged {
        Judged::NoLimits => "",
        Judged::Inside => "inside",
        Judged::Below => "below",
        Judged::Above => "above",
        Judged::NoValue => "no value",
    }
}

/// What makes a reading more than a value that was read back.
pub(super) fn remarks(reading: &Reading) -> Vec<String> {
    let mut remarks = Vec::new();
    let standing = match reading.standing {
        Standing::ReadBack => None,
        Standing::Confirmed => Some("affirmed"),
        Standing::Unanswered => Some("not answered, does not count"),
        Standing::WithdrawnCorrected => Some("withdrawn: corrected"),
        Standing::WithdrawnDisregarded => Some("withdrawn: disregarded"),
        Standing::WithdrawnMisheard => Some("withdrawn: misheard"),
    };
    remarks.extend(standing.map(str::to_owned));
    remarks.extend(reading.typed.then(|| "typed".to_owned()));
    remarks.extend(reading.replaces.map(|n| format!("in place of reading {n}")));
    remarks.extend(
        reading
            .asked
            .as_ref()
            .map(|why| format!("asked about: {why}")),
    );
    remarks.extend(
        reading
            .computed
            .as_ref()
            .map(|how| format!("worked out: {how}")),
    );
    remarks.extend(corrected(reading));
    remarks
}

fn corrected(reading: &Reading) -> Option<String> {
    reading.corrected.as_ref().map(|corrected| {
        let side = judged(corrected.judged);
        let side = if side.is_empty() {
            String::new()
        } else {
            format!(", {side}")
        };
        format!("corrected after the session to {}{side}", corrected.value)
    })
}

pub(super) fn signal(caution: &Caution) -> String {
    let signal = caution
        .signal
        .map(|signal| format!("{}. ", signal_word(signal)));
    signal.unwrap_or_default()
}

pub(super) fn step_result(step: &Step) -> String {
    match (step.done, &step.result) {
        (Done::Skipped, Some(reason)) => format!("skipped: {reason}"),
        (Done::Skipped, None) => "skipped".to_owned(),
        (_, Some(result)) => result.clone(),
        (Done::Left, None) => "left".to_owned(),
        (Done::Done, None) => String::new(),
    }
}

pub(super) fn notes(report: &Report) -> Vec<String> {
    let notes = report.notes.iter().map(|note| {
        let (at, recorded) = (wording::elapsed(note.ms), words(&note.note));
        match &note.written {
            Some(text) => {
                format!("{at}: {text} (written after the session; recorded as: {recorded})")
            }
            None => format!("{at}: {recorded}"),
        }
    });
    notes.collect()
}

/// What shows that the work helped, or that nothing does.
pub(super) fn after_work(report: &Report) -> Vec<String> {
    let after = &report.after_work;
    if !after.reached {
        let nothing = match after.asked {
            true => "That part of the procedure was not reached.",
            false => "The procedure has no proof after the work.",
        };
        return vec![nothing.to_owned()];
    }
    let readings = report
        .readings
        .iter()
        .filter(|r| after.readings.contains(&r.number));
    let lines = readings.map(|reading| {
        let limits = against_limits(reading);
        let line = format!("{}: {} {limits}", reading.quantity, value(reading));
        let now = corrected(reading).map(|now| format!("; {now}"));
        line.trim_end().to_owned() + &now.unwrap_or_default()
    });
    lines.collect()
}
