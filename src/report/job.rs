//! The job: who did what to which unit, where and why; from the record, and in words.
//!
//! What was only spoken is in its clip until somebody writes it down after the session.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::gather::Seen;
use super::model::{Report, Time};
use super::present::{Fact, NOT_GIVEN, fact, given};
use super::wording::{self, moment, took};
use crate::session::{self, EntryQuestion, Event, Guide, JobLine, State};

/// Who did what to which unit, where and why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Job {
    pub reference: Option<String>,
    pub site: Option<String>,
    pub complaint: Option<String>,
    /// The unit by its name at the site.
    pub unit: Option<String>,
    pub variant: Option<String>,
    pub variant_name: Option<String>,
    pub serial: Option<String>,
    pub technician: Option<String>,
    /// What the technician confirmed to be.
    pub qualification: Option<String>,
    pub tools: Vec<String>,
    pub supply_voltage: Option<String>,
    pub supply_frequency: Option<String>,
    /// The procedure's own questions and what was answered.
    pub answers: Vec<Answer>,
    /// Where the lines come from that did not simply come with the job.
    #[serde(default)]
    pub told: Vec<JobLineTold>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Answer {
    pub question: String,
    pub answer: String,
}

/// A line of the job that was spoken, or written after the session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct JobLineTold {
    pub line: JobLine,
    /// When it was spoken.
    pub ms: Option<u64>,
    /// What was said: an engine that is held to a grammar has no words for it.
    pub clip: Option<String>,
    /// What it was before the session ended, where that was text.
    pub recorded: Option<String>,
    /// What was written after the session; `None` where that is still to be done.
    pub written: Option<String>,
}

/// When the lines were spoken, as the record is read.
#[derive(Default)]
pub(super) struct JobLines {
    spoken: BTreeMap<JobLine, u64>,
}

impl JobLines {
    pub fn see(&mut self, seen: &Seen) {
        match seen.event() {
            Event::JobLineSpoken { line, .. } => {
                self.spoken.insert(*line, seen.ms());
            }
            Event::EntryWithdrawn {
                question: EntryQuestion::Job(line),
            } => {
                self.spoken.remove(line);
            }
            _ => {}
        }
    }
}

pub(super) fn job(guide: &Guide, state: &State, lines: JobLines) -> Job {
    let job = &state.job;
    let main = guide.library.main();
    let supply = |kept: &Option<session::KeptSupply>| {
        kept.as_ref().map(|kept| wording::reading(&kept.reading))
    };
    let answers = main.entry.iter().filter_map(|asked| {
        let answer = job.answers.get(&asked.id)?;
        Some(Answer {
            question: guide.text(state, &asked.ask).written.clone(),
            answer: answer.clone().unwrap_or_else(|| "affirmed".to_owned()),
        })
    });
    let line = |line| {
        let says = session::job_line_written(state, line).or_else(|| job.line(line));
        says.map(str::to_owned)
    };
    Job {
        reference: line(JobLine::Reference),
        site: line(JobLine::Site),
        complaint: line(JobLine::Complaint),
        unit: line(JobLine::Unit),
        variant: job.variant.as_ref().map(ToString::to_string),
        variant_name: job.variant.as_ref().map(|_| job.variant_name.clone()),
        serial: job.serial.clone().filter(|_| job.serial_confirmed),
        technician: line(JobLine::Technician),
        qualification: job.qualified.then(|| main.qualification.clone()),
        tools: match job.tools {
            true => main.tools.clone(),
            false => Vec::new(),
        },
        supply_voltage: supply(&job.voltage),
        supply_frequency: supply(&job.frequency),
        answers: answers.collect(),
        told: JobLine::ALL
            .into_iter()
            .filter_map(|line| told(state, &lines, line))
            .collect(),
    }
}

fn told(state: &State, lines: &JobLines, line: JobLine) -> Option<JobLineTold> {
    let spoken = state.job.lines.get(&line).and_then(Option::as_ref);
    let written = session::job_line_written(state, line).map(str::to_owned);
    (spoken.is_some() || written.is_some()).then(|| JobLineTold {
        line,
        ms: lines.spoken.get(&line).copied(),
        clip: spoken.and_then(|said| said.clip.clone()),
        recorded: state.job.line(line).map(str::to_owned),
        written,
    })
}

impl Job {
    /// The lines that are only in their clips.
    pub(super) fn only_spoken(&self) -> impl Iterator<Item = JobLine> {
        let open = self.told.iter().filter(|told| {
            let text = told.written.as_ref().or(told.recorded.as_ref());
            text.is_none()
        });
        open.map(|told| told.line)
    }

    fn told(&self, line: JobLine) -> Option<&JobLineTold> {
        self.told.iter().find(|told| told.line == line)
    }
}

/// The job as facts, each line with where it comes from.
pub(super) fn facts(report: &Report) -> Vec<Fact> {
    let job = &report.job;
    let variant = job.variant_name.as_deref();
    let mut unit = line("Unit", JobLine::Unit, job, &job.unit);
    match (variant, unit.value == NOT_GIVEN) {
        (Some(variant), true) => unit.value = variant.to_owned(),
        (Some(variant), false) => unit.value.push_str(&format!(", {variant}")),
        (None, _) => {}
    }
    let mut facts = vec![
        line("Complaint", JobLine::Complaint, job, &job.complaint),
        unit,
        given("Serial number", &job.serial),
        line("Site", JobLine::Site, job, &job.site),
        line("Reference", JobLine::Reference, job, &job.reference),
        line("Technician", JobLine::Technician, job, &job.technician),
        given("Qualification", &job.qualification),
        fact("Began", moment(&report.time.began)),
        fact("Ended", moment(&report.time.ended)),
        fact("Time worked", time_worked(&report.time)),
    ];
    let supply = [&job.supply_voltage, &job.supply_frequency];
    let supply: Vec<&str> = supply.into_iter().flatten().map(String::as_str).collect();
    if !supply.is_empty() {
        facts.push(fact("Supply", supply.join(", ")));
    }
    if !job.tools.is_empty() {
        facts.push(fact("Tools", job.tools.join(", ")));
    }
    let procedure = &report.procedure;
    let name = format!("{}, revision {}", procedure.title, procedure.revision);
    facts.push(fact("Procedure", name));
    let answers = job.answers.iter();
    facts.extend(answers.map(|a| fact("Asked", format!("{} {}", a.question, a.answer))));
    facts
}

fn line(name: &'static str, line: JobLine, job: &Job, now: &Option<String>) -> Fact {
    let Some(told) = job.told(line) else {
        return given(name, now);
    };
    let written = told.written.as_deref();
    let value = match (written, &told.recorded, &told.clip) {
        (Some(text), Some(before), _) => {
            format!("{text} (written after the session, recorded as: {before})")
        }
        (Some(text), None, Some(_)) => format!("{text} (spoken, written after the session)"),
        (Some(text), None, None) => format!("{text} (written after the session)"),
        (None, Some(text), _) => text.clone(),
        (None, None, _) => "spoken, not typed yet".to_owned(),
    };
    Fact {
        name,
        value,
        clip: told.clip.clone(),
    }
}

fn time_worked(time: &Time) -> String {
    match time.away_ms {
        0 => took(time.worked_ms),
        away => format!(
            "{}, and {} between sessions",
            took(time.worked_ms),
            took(away)
        ),
    }
}
