//! Where a session stands: what its events add up to.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::parts::*;
use crate::procedure::{EntryId, FindingId, ProcedureId, QuantityId, VariantId};
use crate::quantity::Reading;

/// The state of a session. [`State::default`] is before its first event; only
/// [`apply`](super::apply) makes another of it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct State {
    /// How many events were applied.
    pub count: u64,
    pub phase: Phase,
    pub rest: Rest,
    pub job: Job,
    /// The step being worked on; `None` during the entry.
    pub position: Option<Position>,
    /// How often a step was entered, begun again or gone back to.
    pub visit: u32,
    /// The event by which the current step was entered, or its prompt said again from the start.
    pub entered: u64,
    /// What was said because of the events up to this one has been heard to its end.
    pub heard_through: u64,
    /// Open calls, outermost first.
    pub calls: Vec<Call>,
    /// The way to the current step, which is its last entry.
    pub trail: Vec<TrailEntry>,
    pub done: BTreeSet<Position>,
    pub skipped: BTreeSet<Position>,
    /// What the assistant asked on top of the step.
    pub asking: Option<Asking>,
    /// Every reading ever given, in the order given, withdrawn ones too.
    pub readings: Vec<KeptReading>,
    /// The proved points of the hold point being worked on.
    pub proof: Vec<ReadingId>,
    pub timer: Option<Timer>,
    /// What the diagnose step being worked on came to.
    pub verdict: Option<KeptVerdict>,
    /// Every finding that was acted on, in order.
    pub findings: Vec<KeptFinding>,
    /// How many utterances were heard.
    pub utterances: u32,
    /// How many notes were taken.
    pub notes: u32,
    /// What was put right or said after the session.
    pub amendments: Vec<Amendment>,
    /// Utterances in a row that meant nothing here.
    pub not_understood: u32,
    /// How many values in a row were not right, and at which step.
    pub denied: Option<(Position, u32)>,
    pub finished: Option<Conclusion>,
}

#[derive(Debug, Clone, PartialEq, Default)]
pub enum Phase {
    /// No event yet.
    #[default]
    New,
    Entry(EntryQuestion),
    Working,
    Refused(Refusal),
    Closed,
}

/// Whether the session listens to everything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Rest {
    #[default]
    Listening,
    /// "stand by"
    StandingBy,
    Stopped,
}

/// What is known of the job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Job {
    pub procedure: Option<ProcedureId>,
    pub title: String,
    pub revision: String,
    pub technician: Option<String>,
    pub engine: Option<String>,
    pub model: Option<String>,
    pub order: Order,
    /// Lines of the job that are asked for, in this order.
    pub asks: Vec<JobLine>,
    /// What came of those that were: free words, or `None` where they were left open.
    pub lines: BTreeMap<JobLine, Option<Said>>,
    pub caution_acknowledged: bool,
    pub variant: Option<VariantId>,
    pub variant_name: String,
    /// What else the variant may have been, where that was not asked yet.
    pub variant_others: Vec<VariantId>,
    pub serial: Option<String>,
    pub serial_confirmed: bool,
    /// The last session at the unit with this serial number.
    pub last_visit: Option<Visit>,
    /// It was told, or not wanted.
    pub last_visit_answered: bool,
    pub voltage: Option<KeptSupply>,
    pub frequency: Option<KeptSupply>,
    pub qualified: bool,
    pub tools: bool,
    /// Answers to the procedure's own questions: what was spelled, or `None` for "affirm".
    pub answers: BTreeMap<EntryId, Option<String>>,
    /// The questions answered by voice, in order: what "back" takes back.
    pub answered: Vec<EntryQuestion>,
}

impl Job {
    /// A line of the job as it was given or typed: what was only spoken is in its clip.
    pub fn line(&self, line: JobLine) -> Option<&str> {
        let given = match line {
            JobLine::Complaint => &self.order.complaint,
            JobLine::Unit => &self.order.unit,
            JobLine::Site => &self.order.site,
            JobLine::Reference => &self.order.reference,
            JobLine::Technician => &self.technician,
        };
        let typed = self.lines.get(&line).and_then(Option::as_ref);
        let typed = typed.filter(|said| said.clip.is_none());
        given
            .as_deref()
            .or_else(|| typed.map(|said| said.words.as_str()))
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct KeptSupply {
    pub reading: Reading,
    pub fits: bool,
    pub confirmed: bool,
}

/// One step on the way here.
#[derive(Debug, Clone, PartialEq)]
pub struct TrailEntry {
    pub position: Position,
    pub calls: Vec<Call>,
    /// A hold point that has been released since it was entered.
    pub released: bool,
}

/// What the assistant waits for on top of the step.
#[derive(Debug, Clone, PartialEq)]
pub enum Asking {
    /// "affirm" or a correction.
    Confirmation(ReadingId),
    SkipReason,
    Note,
    /// Which finding instead.
    OverrideFinding,
    OverrideReason(FindingId),
}

#[derive(Debug, Clone, PartialEq)]
pub struct KeptReading {
    pub id: ReadingId,
    pub step: Position,
    pub visit: u32,
    pub quantity: QuantityId,
    pub reading: Reading,
    pub at: Ms,
    pub others: Vec<Reading>,
    pub replaces: Option<ReadingId>,
    pub proof: Option<usize>,
    pub typed: bool,
    pub standing: Standing,
    /// Worked out from other readings, not given.
    pub computed: bool,
}

/// How sure a reading is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    Given,
    /// Read back and not objected to.
    ReadBack,
    /// Waits for "affirm".
    Asked,
    Confirmed,
    Withdrawn(Withdrawal),
}

impl KeptReading {
    /// Whether anything may be concluded from it: it was read back, and where that was asked,
    /// affirmed; and it was not taken back.
    pub fn counts(&self) -> bool {
        matches!(self.standing, Standing::ReadBack | Standing::Confirmed)
    }

    pub fn withdrawn(&self) -> bool {
        matches!(self.standing, Standing::Withdrawn(_))
    }
}

/// The timer of a wait or a watch.
#[derive(Debug, Clone, PartialEq)]
pub struct Timer {
    pub step: Position,
    pub started: Ms,
    pub ends: Ms,
    /// Seconds before the end at which the time left is still to be said, largest first.
    pub warn_at: Vec<u32>,
    pub deadline: bool,
    /// Milliseconds of silence after which a value is asked for.
    pub every: Option<Ms>,
    /// When a value was last given or asked for.
    pub last_value: Ms,
    pub ended: bool,
    /// It was said that the watch may end.
    pub sufficed: bool,
    /// What was said that the watch, its time up, still needs.
    pub fell_short: Option<Missing>,
}

/// What a diagnose step came to.
#[derive(Debug, Clone, PartialEq)]
pub enum KeptVerdict {
    Finding(FindingId),
    Equal(Vec<FindingId>),
    Undetermined(Missing),
}

/// A finding that was reached, and whether the technician put another in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptFinding {
    pub step: Position,
    pub finding: FindingId,
    /// `None` for a finding that the technician chose.
    pub why: Option<Evidence>,
    pub overridden: Option<Said>,
}

#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conclusion {
    pub step: Option<Position>,
    pub conclusion: Option<String>,
    pub part: Option<String>,
    pub contact: Option<String>,
}

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Ended {
    /// The procedure came to its end.
    Finished,
    /// "stop" was said last, or the session was refused.
    Stopped,
    /// Nobody said any more.
    Incomplete,
}

impl State {
    pub fn ended(&self) -> Ended {
        match self {
            _ if self.finished.is_some() => Ended::Finished,
            _ if self.rest == Rest::Stopped || self.closed() => Ended::Stopped,
            _ => Ended::Incomplete,
        }
    }

    /// Nothing more will be heard or said.
    pub fn closed(&self) -> bool {
        matches!(self.phase, Phase::Closed | Phase::Refused(_))
    }

    pub fn reading(&self, id: ReadingId) -> Option<&KeptReading> {
        // Ids count from 1 in the order of the list.
        let index = usize::try_from(id.0).ok()?.checked_sub(1)?;
        self.readings.get(index)
    }

    /// How many values of a step in a row were not right.
    pub fn denied(&self, step: &Position) -> u32 {
        let of_step = |(denied, _): &&(Position, u32)| denied == step;
        self.denied.as_ref().filter(of_step).map_or(0, |(_, n)| *n)
    }

    /// The last given reading that was not withdrawn: what "correction" and "disregard" take back.
    pub fn last_reading(&self) -> Option<&KeptReading> {
        self.readings
            .iter()
            .rev()
            .find(|r| !r.withdrawn() && !r.computed)
    }

    /// The readings of the latest visit of a step that has any that count, in the order spoken.
    pub fn series(&self, step: &Position) -> Vec<&KeptReading> {
        let since = self.since(&step.procedure);
        let of_step = || {
            self.readings
                .iter()
                .filter(|r| r.step == *step && r.visit >= since && r.counts())
        };
        let Some(visit) = of_step().map(|r| r.visit).max() else {
            return Vec::new();
        };
        let mut series: Vec<&KeptReading> = of_step().filter(|r| r.visit == visit).collect();
        series.sort_by_key(|r| (r.at, r.id));
        series
    }

    /// The first visit whose readings count in the open call of a procedure; 0 for the main one.
    fn since(&self, procedure: &ProcedureId) -> u32 {
        let called_after = self.calls.iter().zip(
            self.calls
                .iter()
                .skip(1)
                .map(|c| &c.from)
                .chain(&self.position),
        );
        called_after
            .filter(|(_, inside)| inside.procedure == *procedure)
            .map(|(call, _)| call.since)
            .last()
            .unwrap_or(0)
    }
}
