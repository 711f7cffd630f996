//! The steps as they were worked through: each visit, how long it took, and what came of it.

use super::gather::Seen;
use super::model::{Done, Step, Time};
use super::wording;
use crate::procedure::{SignalWord, StepKind};
use crate::record::{Entry, Recorded};
use crate::session::{Event, Position, State};

#[derive(Default)]
pub(super) struct Steps {
    rows: Vec<Step>,
    away_ms: u64,
}

impl Steps {
    pub fn see(&mut self, seen: &Seen) {
        match seen.event() {
            Event::SessionStarted { .. } => self.open(seen, entry_row(seen)),
            Event::SessionResumed { .. } => {
                self.away_ms += away(seen);
            }
            Event::StepEntered { to, .. } => {
                self.first_done();
                self.open(seen, step_row(seen, to));
            }
            Event::SteppedBack { to, .. } => self.open(seen, step_row(seen, to)),
            Event::StepDone { step } => self.ended(step, Done::Done, None),
            Event::Skipped { step, reason } => {
                self.ended(step, Done::Skipped, Some(reason.words.clone()));
            }
            Event::Chosen { step, option } => {
                let answer = chosen(seen, step, option.as_str());
                self.result(step, answer);
            }
            Event::ReadBack { id } | Event::ReadingConfirmed { id } => {
                if let Some(kept) = seen.state.reading(*id).filter(|r| r.proof.is_none()) {
                    self.result(&kept.step.clone(), wording::reading(&kept.reading));
                }
            }
            Event::NotComputed { step, why } => self.result(step, format!("not worked out: {why}")),
            Event::DeadlineMissed { step } => self.result(step, "not in time".to_owned()),
            Event::TimerEnded { early: true, .. } => self.result_here("ended early"),
            Event::FindingReached { say, .. } => self.result_here(say),
            Event::FindingsEqual { .. } => self.result_here("several findings rank equal"),
            Event::Undetermined { .. } => self.result_here("no finding"),
            Event::Finished { .. } | Event::Closed { .. } => self.last_done(seen.state),
            _ => {}
        }
        self.take_time(seen);
    }

    /// The rows, and the times of the whole.
    pub fn end(self, recorded: &Recorded<Event>) -> (Vec<Step>, Time) {
        let first = recorded.entries.first();
        let began = first.map_or(recorded.last.wall, |entry| entry.now.wall);
        let worked = |entry: &&Entry<Event>| !matches!(entry.event, Event::Amended { .. });
        let last = recorded.entries.iter().rfind(worked);
        let ended = last.map_or(recorded.last.wall, |entry| entry.now.wall);
        let whole = last.map_or(0, |entry| entry.now.ms);
        let time = Time {
            began: began.to_string(),
            ended: ended.to_string(),
            worked_ms: whole.saturating_sub(self.away_ms),
            away_ms: self.away_ms,
        };
        // A way on is no work.
        let rows = self.rows.into_iter().filter(|row| !row.says.is_empty());
        (rows.collect(), time)
    }

    fn open(&mut self, seen: &Seen, row: Step) {
        self.take_time(seen);
        self.rows.push(row);
    }

    /// Time goes to the step that is being worked on.
    fn take_time(&mut self, seen: &Seen) {
        if let Some(row) = self.rows.last_mut() {
            let since = row.ms.max(seen.before_ms);
            let passed = seen.ms().saturating_sub(since);
            row.took_ms += passed.saturating_sub(away(seen));
        }
    }

    fn first_done(&mut self) {
        if let [entry] = self.rows.as_mut_slice() {
            entry.done = Done::Done;
        }
    }

    fn last_done(&mut self, state: &State) {
        if state.finished.is_some()
            && let Some(row) = self.rows.last_mut()
            && row.done == Done::Left
        {
            row.done = Done::Done;
        }
    }

    fn ended(&mut self, step: &Position, done: Done, result: Option<String>) {
        if let Some(row) = self.row(step) {
            row.done = done;
            row.result = result.or(row.result.take());
        }
    }

    fn result(&mut self, step: &Position, result: String) {
        if let Some(row) = self.row(step) {
            row.result = Some(result);
        }
    }

    fn result_here(&mut self, result: &str) {
        if let Some(row) = self.rows.last_mut() {
            row.result = Some(result.to_owned());
        }
    }

    /// The last visit of a step.
    fn row(&mut self, step: &Position) -> Option<&mut Step> {
        let id = Some(step.step.as_str());
        let mut rows = self.rows.iter_mut().rev();
        rows.find(|r| r.step.as_deref() == id && r.procedure == step.procedure.as_str())
    }
}

/// How long the program was away before a session was taken up again.
fn away(seen: &Seen) -> u64 {
    match seen.event() {
        Event::SessionResumed { .. } => seen.ms().saturating_sub(seen.before_ms),
        _ => 0,
    }
}

fn entry_row(seen: &Seen) -> Step {
    Step {
        at: seen.at(),
        ms: seen.ms(),
        took_ms: 0,
        procedure: seen.guide.library.main().id.to_string(),
        step: None,
        section: Some("Before the first step".to_owned()),
        kind: "entry".to_owned(),
        says: "Which unit it is, what feeds it, and who may do the work.".to_owned(),
        done: Done::Left,
        result: None,
    }
}

fn step_row(seen: &Seen, to: &Position) -> Step {
    let step = seen.guide.step(to);
    let (kind, says) = step.map_or(("step", String::new()), |s| told(seen, to, &s.kind));
    Step {
        at: seen.at(),
        ms: seen.ms(),
        took_ms: 0,
        procedure: to.procedure.to_string(),
        step: Some(to.step.to_string()),
        section: seen.section(to),
        kind: kind.to_owned(),
        says,
        done: Done::Left,
        result: None,
    }
}

/// A step's kind and what it tells to do, as written.
fn told(seen: &Seen, at: &Position, kind: &StepKind) -> (&'static str, String) {
    let text = |text| seen.guide.text(seen.state, text).written.clone();
    let name = |id| seen.guide.quantity(at, id).map_or("", |q| q.name.as_str());
    match kind {
        StepKind::Action { say } => ("action", text(say)),
        StepKind::Caution { signal, hazard, .. } => (
            "caution",
            format!("{}: {}", signal_word(*signal), text(hazard)),
        ),
        StepKind::Hold { say, .. } => ("hold point", text(say)),
        StepKind::Wait { say, .. } => ("wait", text(say)),
        StepKind::Choose { ask, .. } => ("question", text(ask)),
        StepKind::Read { say, .. } => ("reading", text(say)),
        StepKind::Watch { say, .. } => ("watch", text(say)),
        StepKind::Compute { quantity, .. } => {
            ("calculation", format!("Work out the {}.", name(quantity)))
        }
        StepKind::Diagnose { .. } => ("judgement", "Judge what was read.".to_owned()),
        StepKind::GoTo { .. } => ("way on", String::new()),
        StepKind::Call { procedure } => {
            let called = seen.guide.library.get(procedure);
            ("call", called.map_or_else(String::new, |p| p.title.clone()))
        }
        StepKind::Finish { say, .. } => ("end", text(say)),
    }
}

/// The signal word as it is written over a caution.
pub(super) fn signal_word(signal: SignalWord) -> &'static str {
    match signal {
        SignalWord::Danger => "Danger",
        SignalWord::Warning => "Warning",
        SignalWord::Caution => "Caution",
        SignalWord::Notice => "Notice",
    }
}

fn chosen(seen: &Seen, step: &Position, option: &str) -> String {
    let options = match seen.guide.step(step).map(|s| &s.kind) {
        Some(StepKind::Choose { options, .. }) => options.as_slice(),
        _ => &[],
    };
    let found = options.iter().find(|o| o.id.as_str() == option);
    let phrase = found.and_then(|o| o.phrases.first());
    phrase.cloned().unwrap_or_else(|| option.to_owned())
}
