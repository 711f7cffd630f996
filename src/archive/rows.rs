//! What of a session's report goes into the index.

use rusqlite::{Transaction, params};
use serde::Serialize;

use crate::quantity::Quantity;
use crate::report::model::{Corrected, Reading, Standing};
use crate::report::{self, Report};

/// A session as it is kept in the index.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    pub report: Report,
    /// What was heard and meant nothing at its place.
    pub meant_nothing: Vec<String>,
}

pub(super) fn insert(
    index: &Transaction,
    folder: &str,
    stamp: &str,
    kept: &Kept,
) -> Result<(), rusqlite::Error> {
    let Kept { report, .. } = kept;
    let (job, procedure) = (&report.job, &report.procedure);
    index
        .prepare_cached(
            "INSERT INTO session (folder, stamp, procedure, title, revision, unit, variant,
             serial, reference, site, complaint, technician, began, worked_ms, ended, conclusion,
             words)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17)",
        )?
        .execute(params![
            folder,
            stamp,
            procedure.id,
            procedure.title,
            procedure.revision,
            job.unit,
            job.variant,
            job.serial,
            job.reference,
            job.site,
            job.complaint,
            job.technician,
            report.time.began,
            i64::try_from(report.time.worked_ms).unwrap_or(i64::MAX),
            name(&report.outcome.ended),
            conclusion(report),
            words(report),
        ])?;
    let session = index.last_insert_rowid();
    findings(index, session, report)?;
    steps(index, session, report)?;
    readings(index, session, report)?;
    misheard(index, session, kept)
}

/// What the session came to, and what it comes to with the values corrected since.
fn conclusion(report: &Report) -> Option<String> {
    let parts = [report.outcome.conclusion.clone(), report::now(report)];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join(" "))
}

/// Everything of a session that is looked through for words.
fn words(report: &Report) -> String {
    let job = &report.job;
    let about = [
        &job.unit,
        &job.variant_name,
        &job.serial,
        &job.reference,
        &job.site,
        &job.complaint,
        &job.technician,
        &report.outcome.conclusion,
    ];
    let about = about.into_iter().flatten();
    let findings = report.findings.iter().flat_map(|finding| &finding.findings);
    let notes = report.notes.iter().map(|note| &note.note.words);
    let all = about
        .chain([&report.procedure.title])
        .chain(findings.map(|finding| &finding.says))
        .chain(notes)
        .chain(report.reviews.iter().map(|review| &review.says));
    let all: Vec<String> = all.map(|text| text.to_lowercase()).collect();
    all.join("\n")
}

fn findings(index: &Transaction, session: i64, report: &Report) -> Result<(), rusqlite::Error> {
    let mut insert = index.prepare_cached("INSERT INTO finding VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?;
    for row in report.findings.iter().filter(|row| row.stands) {
        let verdict = name(&row.verdict);
        // As the readings, by what was corrected after the session.
        let judged_again = row.again.as_ref().map(|again| &again.findings);
        for found in judged_again.unwrap_or(&row.findings) {
            insert.execute(params![
                session,
                row.procedure,
                row.step,
                found.id,
                found.says,
                verdict
            ])?;
        }
    }
    Ok(())
}

fn steps(index: &Transaction, session: i64, report: &Report) -> Result<(), rusqlite::Error> {
    let mut insert = index.prepare_cached("INSERT INTO step VALUES (?1, ?2, ?3, ?4)")?;
    for row in report.steps.iter().filter(|row| row.step.is_some()) {
        let took = i64::try_from(row.took_ms).unwrap_or(i64::MAX);
        insert.execute(params![session, row.procedure, row.step, took])?;
    }
    Ok(())
}

fn readings(index: &Transaction, session: i64, report: &Report) -> Result<(), rusqlite::Error> {
    let mut insert =
        index.prepare_cached("INSERT INTO reading VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)")?;
    for row in report.readings.iter().filter(|row| row.standing.counts()) {
        let (value, judged) = match &row.corrected {
            Some(corrected) => (Some(new_value(corrected, &row.unit)), corrected.judged),
            None => (value(row), row.judged),
        };
        insert.execute(params![
            session,
            row.number,
            row.procedure,
            row.step,
            quantity(row),
            value,
            row.unit,
            row.limits,
            name(&judged)
        ])?;
    }
    Ok(())
}

/// As [`value`], in the unit that was read back, so that both stand on one line.
fn new_value(corrected: &Corrected, unit: &str) -> String {
    let Some(number) = &corrected.number else {
        return corrected.value.clone();
    };
    let given = format!("{number} {}", corrected.unit);
    let converted = given.parse::<Quantity>().ok().zip(unit.parse().ok());
    let converted = converted.and_then(|(given, unit)| given.convert(unit).ok());
    match converted {
        Some(converted) => format!("{} {unit}", converted.value.normalize()),
        None => given,
    }
}

/// Each point of a hold's proof has limits of its own.
fn quantity(row: &Reading) -> String {
    match &row.point {
        Some(point) => format!("{}: {point}", row.quantity),
        None => row.quantity.clone(),
    }
}

/// A value with its unit, as it was read back.
fn value(row: &Reading) -> Option<String> {
    let value = match (&row.value, &row.low, &row.high) {
        (Some(value), ..) => value.clone(),
        (None, Some(low), Some(high)) => format!("{low} to {high}"),
        _ => return row.special.clone(),
    };
    Some(format!("{value} {}", row.unit).trim_end().to_owned())
}

fn misheard(index: &Transaction, session: i64, kept: &Kept) -> Result<(), rusqlite::Error> {
    let mut insert = index.prepare_cached("INSERT INTO misheard VALUES (?1, ?2, ?3)")?;
    let withdrawn = kept
        .report
        .readings
        .iter()
        .filter(|row| row.standing == Standing::WithdrawnMisheard)
        .filter_map(|row| row.heard.as_ref())
        .map(|heard| (&heard.words, true));
    let nothing = kept.meant_nothing.iter().map(|words| (words, false));
    for (words, withdrawn) in withdrawn.chain(nothing) {
        insert.execute(params![session, words, withdrawn])?;
    }
    Ok(())
}

/// The name of a variant, as the report's JSON has it.
fn name(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(name)) => name,
        _ => String::new(),
    }
}
