//! What happened, in the past tense.
//!
//! Nothing is ever edited: a correction is a new event. Every event carries what
//! [`apply`](super::apply) needs, so the state of a session can be rebuilt from its record alone,
//! without the procedure. The names and fields here are the record's format: stable, additions only.
//!
//! All times are milliseconds of the session's own monotonic clock, which goes on counting when a
//! session is resumed.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::parts::*;
use crate::procedure::{EntryId, FindingId, OptionId, ProcedureId, QuantityId, VariantId};
use crate::quantity::Reading;

/// One fact of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub enum Event {
    SessionStarted {
        at: Ms,
        procedure: ProcedureId,
        title: String,
        revision: String,
        locale: String,
        technician: Option<String>,
        /// Which recognizer listens, and with which model.
        engine: Option<String>,
        model: Option<String>,
        #[serde(default, skip_serializing_if = "Order::is_empty")]
        order: Order,
        /// What the job does not say and is asked for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        asks: Vec<JobLine>,
    },
    /// The record was opened again after the program ended; timers that ran then are void.
    SessionResumed {
        at: Ms,
    },
    /// Everything said because of the events up to this number has been heard to its end.
    PromptEnded {
        at: Ms,
        through: u64,
    },

    EntryAsked {
        question: EntryQuestion,
    },
    StandingCautionAcknowledged {
        at: Ms,
    },
    VariantGiven {
        variant: VariantId,
        name: String,
        source: Source,
        /// What else may have been said, best first: then it waits for "affirm".
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        others: Vec<VariantId>,
    },
    VariantConfirmed {
        variant: VariantId,
    },
    SerialGiven {
        serial: String,
        source: Source,
    },
    SerialConfirmed {
        serial: String,
    },
    SerialWithdrawn {
        serial: String,
    },
    /// There was a session at this unit before.
    LastVisitFound {
        visit: Visit,
    },
    LastVisitAnswered {
        /// Whether it was to be told.
        wanted: bool,
    },
    /// Free words for a line of the job.
    JobLineSpoken {
        line: JobLine,
        said: Said,
    },
    /// "skip" to the question for it.
    JobLineLeftOpen {
        line: JobLine,
    },
    SupplyGiven {
        what: Supply,
        reading: Reading,
        /// Whether it is inside what the variant is made for.
        fits: bool,
        source: Source,
    },
    SupplyConfirmed {
        what: Supply,
    },
    SupplyWithdrawn {
        what: Supply,
    },
    QualificationConfirmed {
        qualification: String,
        source: Source,
    },
    ToolsConfirmed {
        tools: Vec<String>,
        source: Source,
    },
    /// An answer to one of the procedure's own questions; `None` for "affirm".
    EntryAnswered {
        question: EntryId,
        spelled: Option<String>,
    },
    /// The last answer was taken back; it is asked for again.
    EntryWithdrawn {
        question: EntryQuestion,
    },
    /// The procedure does not apply here, or nobody may do it: the session is closed.
    Refused {
        why: Refusal,
    },

    Heard {
        /// As recognized, whatever it was taken to mean.
        words: String,
        confidence: Option<f32>,
        meaning: crate::language::Meaning,
        /// What else it may have been, best first.
        others: Vec<Understanding>,
        /// The audio of the utterance, by its name in the record.
        clip: Option<String>,
        /// Typed, not spoken.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        typed: bool,
        start_ms: Ms,
        end_ms: Ms,
    },
    /// The words mean nothing that may be said now.
    NotUnderstood {
        why: String,
        /// How many in a row, this one counted.
        in_a_row: u32,
    },
    /// Understood, and not done.
    Declined {
        why: Decline,
    },

    StepEntered {
        at: Ms,
        to: Position,
    },
    /// Left forward, with its work done.
    StepDone {
        step: Position,
    },
    SteppedBack {
        at: Ms,
        to: Position,
        /// The calls that are open there.
        calls: Vec<Call>,
        /// How many entries of the trail stay, the one gone back to not counted.
        trail: usize,
        why: BackReason,
    },
    Called {
        from: Position,
        procedure: ProcedureId,
    },
    Returned {
        to: Position,
    },

    ReadingGiven {
        id: ReadingId,
        step: Position,
        /// The visit of the step it belongs to: a watch that is begun again is a new series.
        visit: u32,
        quantity: QuantityId,
        reading: Reading,
        /// When it was said.
        at: Ms,
        /// What else it may have been, best first: offered on "negative".
        others: Vec<Reading>,
        /// The withdrawn reading it stands in for.
        replaces: Option<ReadingId>,
        /// Which point of a hold's proof it is, from 0.
        proof: Option<usize>,
        /// Typed, not spoken.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        typed: bool,
    },
    /// Read back; it counts, and "correction" or "disregard" still take it back.
    ReadBack {
        id: ReadingId,
    },
    /// Read back, and nothing goes on before "affirm" or a correction.
    ConfirmationAsked {
        id: ReadingId,
        why: Consequence,
    },
    ReadingConfirmed {
        id: ReadingId,
    },
    ReadingWithdrawn {
        id: ReadingId,
        why: Withdrawal,
    },
    /// A value was asked for: nothing was said for a while, or the last one was not right.
    ValueAsked {
        at: Ms,
        why: AskReason,
    },

    /// A value was worked out from earlier readings.
    Computed {
        id: ReadingId,
        /// Where the formula is published.
        source: String,
        /// What to know before relying on it.
        remark: Option<String>,
    },
    /// It could not be, and why.
    NotComputed {
        step: Position,
        why: String,
    },

    CautionAcknowledged {
        step: Position,
    },
    HoldProofPoint {
        step: Position,
        /// From 0, in the order of the procedure.
        point: usize,
        id: ReadingId,
        /// Whether it lies inside. Outside, the proof begins again.
        proves: bool,
    },
    HoldReleased {
        step: Position,
        by: ReleasedBy,
    },

    TimerStarted {
        at: Ms,
        step: Position,
        seconds: u32,
        warn_at: Vec<u32>,
        /// A deadline is for doing something; without one the time only has to pass.
        deadline: bool,
        /// A value is asked for after this much silence, seconds.
        every: Option<u32>,
    },
    TimerWarned {
        left: u32,
    },
    /// Ended at its time, or before it by the technician's word.
    TimerEnded {
        at: Ms,
        early: bool,
    },
    DeadlineMissed {
        step: Position,
    },
    /// No finding that rests on the watch would still change: it may end.
    WatchSufficed {
        at: Ms,
        step: Position,
        findings: Vec<FindingId>,
    },
    /// The time of the watch is up, and its values are not enough for a finding.
    WatchFellShort {
        step: Position,
        missing: Missing,
    },

    Chosen {
        step: Position,
        option: OptionId,
    },
    FindingReached {
        step: Position,
        finding: FindingId,
        say: String,
        why: Evidence,
        /// How far the readings would have to differ for the runner-up, in the series' unit.
        margin: Option<Decimal>,
        runner_up: Option<FindingId>,
    },
    /// Several findings fit equally well; the technician says which.
    FindingsEqual {
        step: Position,
        findings: Vec<FindingId>,
        why: Evidence,
    },
    Undetermined {
        step: Position,
        why: Evidence,
        missing: Missing,
    },
    OverrideAsked {},
    OverrideChosen {
        finding: FindingId,
    },
    Overridden {
        step: Position,
        from: Option<FindingId>,
        to: FindingId,
        reason: Said,
    },

    SkipAsked {
        step: Position,
    },
    Skipped {
        step: Position,
        reason: Said,
    },
    NoteAsked {},
    NoteTaken {
        step: Option<Position>,
        note: Said,
    },
    /// A question of the assistant was taken back with "negative".
    AskingDropped {},

    Stopped {
        at: Ms,
        why: StopReason,
    },
    Paused {
        at: Ms,
    },
    /// From a stop or a pause.
    Continued {
        at: Ms,
    },
    RepeatAsked {},
    StatusAsked {},
    HelpAsked {},
    ReadingsAsked {},

    /// The procedure came to its end. The session stays open for corrections until it is closed.
    Finished {
        step: Option<Position>,
        conclusion: Option<String>,
        part: Option<String>,
        contact: Option<String>,
    },
    Closed {
        at: Ms,
    },

    /// After the session, by whoever read its record. What the session came to stays.
    Amended {
        who: String,
        why: String,
        what: Amendment,
    },
}

impl Event {
    /// Whether what was heard just before was taken as free words: it means nothing else, and is
    /// just what was asked for.
    pub fn takes_free_words(&self) -> bool {
        matches!(
            self,
            Event::NoteTaken { .. }
                | Event::Skipped { .. }
                | Event::Overridden { .. }
                | Event::JobLineSpoken { .. }
        )
    }

    /// What was put right or said after the session, if this is that.
    pub fn amendment(&self) -> Option<&Amendment> {
        match self {
            Event::Amended { what, .. } => Some(what),
            _ => None,
        }
    }
}

/// What was heard among events in their order, and whether it was taken as free words.
pub fn heard<'a>(
    events: impl Iterator<Item = &'a Event> + Clone,
) -> impl Iterator<Item = (&'a Event, bool)> {
    let next = events.clone().skip(1);
    let free = next.map(Event::takes_free_words).chain([false]);
    let heard = |(event, _): &(&Event, bool)| matches!(event, Event::Heard { .. });
    events.zip(free).filter(heard)
}
