//! From a session's record to its report.

use super::findings::Findings;
use super::holds::{Cautions, Holds};
use super::job::{self, JobLines};
use super::model::*;
use super::readings::Readings;
use super::record;
use super::review;
use super::steps::Steps;
use super::unresolved;
use crate::language::Meaning;
use crate::procedure::{FindingRow, StepKind};
use crate::record::{Entry, Recorded, Verification};
use crate::session::{self, Event, Guide, Phrase, Position, Said, State};

/// What a report is made from.
#[derive(Debug, Clone, Copy)]
pub struct Material<'a> {
    /// The name of the session's folder.
    pub session: &'a str,
    pub guide: &'a Guide,
    pub recorded: &'a Recorded<Event>,
    pub verification: &'a Verification,
}

/// One recorded event, with the state after it.
#[derive(Clone, Copy)]
pub(super) struct Seen<'a> {
    pub guide: &'a Guide,
    pub state: &'a State,
    pub entry: &'a Entry<Event>,
    /// The milliseconds of the event before.
    pub before_ms: u64,
}

impl<'a> Seen<'a> {
    pub fn event(&self) -> &'a Event {
        &self.entry.event
    }

    pub fn ms(&self) -> u64 {
        self.entry.now.ms
    }

    pub fn at(&self) -> String {
        self.entry.now.wall.to_string()
    }

    pub fn section(&self, position: &Position) -> Option<String> {
        self.guide.step(position)?.section.clone()
    }
}

impl Report {
    /// The report of a record: everything in it follows from the recorded events and the
    /// procedure, and is the same wherever and whenever it is made by this version.
    pub fn of(material: &Material) -> Report {
        let guide = material.guide;
        let mut state = State::default();
        let mut gathered = Gathered::default();
        let mut before_ms = 0;
        for entry in &material.recorded.entries {
            state = session::apply(state, &entry.event);
            gathered.see(&Seen {
                guide,
                state: &state,
                entry,
                before_ms,
            });
            before_ms = entry.now.ms;
        }
        let mut report = gathered.into_report(material, &state);
        report.unresolved = unresolved::list(&report, &state);
        report
    }
}

#[derive(Default)]
struct Gathered {
    steps: Steps,
    readings: Readings,
    holds: Holds,
    cautions: Cautions,
    findings: Findings,
    job: JobLines,
    notes: Vec<Note>,
    reviews: Vec<Review>,
    heard: Counts,
}

#[derive(Default)]
struct Counts {
    words: Vec<String>,
    /// The numbers of the utterances that meant nothing.
    nothing: Vec<u32>,
    last_meant_nothing: bool,
    asked: usize,
    withdrawn: usize,
}

impl Gathered {
    fn see(&mut self, seen: &Seen) {
        if let Some(review) = review::row(seen, &self.heard.words) {
            self.reviews.push(review);
            return;
        }
        self.steps.see(seen);
        self.readings.see(seen);
        self.holds.see(seen);
        self.cautions.see(seen);
        self.findings.see(seen);
        self.job.see(seen);
        self.count(seen.event());
        if let Event::NoteTaken { step, note } = seen.event() {
            self.notes.push(Note {
                at: seen.at(),
                ms: seen.ms(),
                step: step.as_ref().map(|step| step.step.to_string()),
                note: spoken(note),
                written: None,
            });
        }
    }

    fn count(&mut self, event: &Event) {
        if event.takes_free_words() && self.heard.last_meant_nothing {
            self.heard.nothing.pop();
        }
        match event {
            Event::Heard { words, meaning, .. } => {
                self.heard.words.push(words.clone());
                let nothing = matches!(meaning, Meaning::Nothing { .. });
                if nothing {
                    self.heard.nothing.push(number(self.heard.words.len()));
                }
                self.heard.last_meant_nothing = nothing;
                return;
            }
            Event::ConfirmationAsked { .. } => self.heard.asked += 1,
            Event::ReadingWithdrawn { .. } => self.heard.withdrawn += 1,
            _ => {}
        }
        self.heard.last_meant_nothing = false;
    }

    fn into_report(self, material: &Material, state: &State) -> Report {
        let (steps, time) = self.steps.end(material.recorded);
        let mut readings = self.readings.end(material.guide, state);
        let mut findings = self.findings.end();
        review::beside(material.guide, state, &mut readings, &mut findings);
        let mut holds = self.holds.end();
        review::at_points(&readings, &mut holds);
        let notes = review::written(state, self.notes);
        let unclear = review::unclear(state, &self.heard.nothing);
        let put_right = review::put_right(state, &self.heard.words, &self.heard.nothing);
        Report {
            version: 1,
            record: record::record(material),
            procedure: procedure(material.guide, state),
            job: job::job(material.guide, state, self.job),
            time,
            outcome: outcome(material.guide, state),
            after_work: after_work(material.guide, &readings, &steps),
            findings,
            readings,
            holds,
            cautions: self.cautions.end(),
            steps,
            notes,
            signed_off: session::signed_off(state),
            reviews: self.reviews,
            unresolved: Vec::new(),
            hearing: Hearing {
                engine: state.job.engine.clone(),
                model: state.job.model.clone(),
                utterances: self.heard.words.len(),
                not_understood: self.heard.nothing.len(),
                unclear,
                put_right,
                asked: self.heard.asked,
                withdrawn: self.heard.withdrawn,
            },
        }
    }
}

/// The number of the last of so many.
fn number(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

pub(super) fn spoken(said: &Said) -> Spoken {
    Spoken {
        words: said.words.clone(),
        clip: said.clip.clone(),
    }
}

fn procedure(guide: &Guide, state: &State) -> Procedure {
    let main = guide.library.main();
    let recorded = |text: &str, now: &str| match text.is_empty() {
        true => now.to_owned(),
        false => text.to_owned(),
    };
    Procedure {
        id: main.id.to_string(),
        title: recorded(&state.job.title, &main.title),
        revision: recorded(&state.job.revision, &main.revision),
        locale: main.locale.clone(),
    }
}

fn outcome(guide: &Guide, state: &State) -> Outcome {
    let finished = state.finished.clone().unwrap_or_default();
    let mut parts: Vec<String> = finished.part.into_iter().collect();
    let mut contact = finished.contact;
    for row in standing_rows(guide, state) {
        parts.extend(row.part.clone());
        contact = contact.or_else(|| row.contact.clone());
    }
    let mut seen = std::collections::BTreeSet::new();
    parts.retain(|part| seen.insert(part.clone()));
    let refused = match &state.phase {
        session::Phase::Refused(why) => Some(refusal(guide, state, why)),
        _ => None,
    };
    Outcome {
        ended: state.ended(),
        conclusion: finished.conclusion,
        refused,
        parts,
        contact,
    }
}

fn refusal(guide: &Guide, state: &State, why: &session::Refusal) -> String {
    let refused = Event::Refused { why: why.clone() };
    let said = session::speech(guide, state, &refused);
    let said: Vec<String> = said.into_iter().map(|sentence| sentence.text).collect();
    said.join(" ")
}

/// The findings that were acted on last at their step.
fn standing_rows<'a>(guide: &'a Guide, state: &'a State) -> impl Iterator<Item = &'a FindingRow> {
    let last = |kept: &&session::KeptFinding| {
        let later = state.findings.iter().rev().find(|f| f.step == kept.step);
        later == Some(*kept)
    };
    state.findings.iter().filter(last).filter_map(|kept| {
        let StepKind::Diagnose { findings, .. } = &guide.step(&kept.step)?.kind else {
            return None;
        };
        findings.iter().find(|row| row.id == kept.finding)
    })
}

fn after_work(guide: &Guide, readings: &[Reading], steps: &[Step]) -> AfterWork {
    let main = guide.library.main();
    let proving = |step: &Step| {
        let id = step.step.as_deref();
        let here = step.procedure == main.id.as_str();
        here && main
            .steps
            .iter()
            .any(|s| s.after_work && Some(s.id.as_str()) == id)
    };
    let counted = readings
        .iter()
        .filter(|r| r.after_work && r.standing.counts());
    AfterWork {
        asked: main.steps.iter().any(|step| step.after_work),
        reached: steps.iter().any(proving),
        readings: counted.map(|r| r.number).collect(),
    }
}

/// The words before every session.
pub(super) fn standing_caution(guide: &Guide) -> String {
    guide.phrases.text(Phrase::StandingCaution).to_owned()
}
