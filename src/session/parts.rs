//! The small words from which events and state are made.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::language::Meaning;
use crate::procedure::{BehaviorKind, EntryId, FindingId, ProcedureId, StepId};
use crate::quantity::{Reading, Unit};

/// Milliseconds of the session's monotonic clock.
pub type Ms = u64;

/// A step of a procedure.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Position {
    pub procedure: ProcedureId,
    pub step: StepId,
}

/// An open call: where to return to.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Call {
    /// The step that called; work goes on after it.
    pub from: Position,
    /// The first visit of this call: readings of the called procedure from before it are of an
    /// earlier call and do not count in this one.
    pub since: u32,
}

/// A reading's number within its session, from 1.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct ReadingId(pub u32);

/// One way an utterance may be understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Understanding {
    pub words: String,
    /// 0 to 1, where the engine gives one.
    pub confidence: Option<f32>,
    pub meaning: Meaning,
}

/// Free words of the technician: a reason or a note. The clip is what counts; the words are what a
/// recognizer held to a grammar made of it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Said {
    pub words: String,
    /// The prepared reason that was chosen, by its id.
    pub choice: Option<String>,
    pub clip: Option<String>,
}

/// What the customer's order says of the job. Nothing of it steers the session; it is for whoever
/// reads the record.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Order {
    /// The customer's number for the job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    /// The unit by its name at the site.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// What is wrong, in the customer's words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub complaint: Option<String>,
}

impl Order {
    pub fn is_empty(&self) -> bool {
        *self == Order::default()
    }
}

/// What whoever reads the record wants to know of the job, and free words say.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum JobLine {
    Complaint,
    Unit,
    Site,
    Reference,
    Technician,
}

impl JobLine {
    /// In the order in which they are asked.
    pub const ALL: [JobLine; 5] = [
        JobLine::Complaint,
        JobLine::Unit,
        JobLine::Site,
        JobLine::Reference,
        JobLine::Technician,
    ];

    /// Its name in a job file.
    pub fn name(self) -> &'static str {
        match self {
            JobLine::Complaint => "complaint",
            JobLine::Unit => "unit",
            JobLine::Site => "site",
            JobLine::Reference => "reference",
            JobLine::Technician => "technician",
        }
    }
}

/// One thing put right after the session, or said of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "amendment", rename_all = "snake_case")]
pub enum Amendment {
    /// A reading was another value.
    Reading {
        id: ReadingId,
        to: Reading,
    },
    /// What was said in an utterance, counted from 1.
    Words {
        utterance: u32,
        text: String,
    },
    /// The text of a spoken note, counted from 1.
    Note {
        note: u32,
        text: String,
    },
    /// What a line of the job says.
    Job {
        line: JobLine,
        text: String,
    },
    Remark {
        text: String,
    },
    /// Whoever signs stands for the record as it is.
    SignedOff {
        statement: String,
    },
    /// The sign-off was taken back, because something was put right after it.
    Reopened,
}

/// Who gave a value of the entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// By voice, during the entry.
    Spoken,
    /// With the job, before the session began.
    Job,
    /// There was only one possibility.
    OnlyOne,
}

/// What is checked of the supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Supply {
    Voltage,
    Frequency,
}

/// What an earlier session at a unit came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Visit {
    /// The name of its folder.
    pub session: String,
    /// The day it began: `2026-03-04`.
    pub day: String,
    /// `None` where it came to none.
    pub conclusion: Option<String>,
}

/// What is asked before the first step, in this order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EntryQuestion {
    StandingCaution,
    Variant,
    VariantConfirmation,
    Serial,
    SerialConfirmation,
    /// Whether to hear what the last visit at this unit came to.
    LastVisit,
    /// What the job does not say.
    Job(JobLine),
    Supply(Supply),
    SupplyConfirmation(Supply),
    Qualification,
    Tools,
    /// One of the procedure's own questions.
    Own(EntryId),
}

/// Why a session was refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Refusal {
    /// The job names a variant the procedure does not know.
    UnknownVariant {
        found: String,
        expected: Vec<String>,
    },
    SupplyOutside {
        what: Supply,
        reading: Reading,
    },
    NotQualified {
        qualification: String,
    },
    ToolsMissing,
    /// "negative" to one of the procedure's own questions.
    Denied {
        question: EntryId,
    },
}

/// Why something understood was not done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Decline {
    /// "next" at a hold point.
    HoldNotReleased,
    /// "skip" at a hold point.
    HoldNeverSkipped,
    /// "skip" at a caution.
    CautionNeverSkipped,
    /// "skip" where the way on follows from the answer: what came next would be a conclusion that
    /// nothing supports.
    DecidingNeverSkipped,
    /// The caution has not been spoken to its end.
    CautionNotHeard,
    ValueNeeded,
    /// Several values in one breath where one is asked for.
    OneValueOnly,
    /// "next" before the time of a wait is up.
    TimeNotUp,
    ChoiceNeeded,
    FindingNeeded,
    NothingToWithdraw,
    NothingBefore,
    /// A value where none is asked for.
    NoValueHere,
    /// A value in a unit that does not measure this quantity.
    WrongUnit {
        found: String,
        expected: String,
    },
    /// Nothing but "continue" goes on.
    Stopped,
    /// An answer is waited for.
    AnswerFirst,
    NotHere,
}

/// Why the session went to an earlier step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BackReason {
    /// "back".
    Asked,
    /// "back" over a hold point that had been released: the one before it is to be proved again.
    HoldRearmed,
    /// A correction changed where an earlier step leads.
    Correction,
    /// The reading an earlier step rests on was withdrawn.
    Withdrawn,
    /// The reading was given in a procedure that was called and left: it is worked from its start,
    /// and the reading is taken there again.
    CalledAgain,
}

/// What a mistaken reading would change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Consequence {
    /// It proves a hold point.
    HoldProof,
    /// It lies outside what is plausible.
    Implausible,
    /// With this value another step would follow.
    Branch { other: Reading },
    /// With this value it would be on the other side of a limit.
    Limit { other: Reading },
    /// With this value another finding would be reached.
    Finding {
        other: Reading,
        finding: Option<FindingId>,
    },
    /// It shows no number, and the way on or a finding follows from that.
    NoNumber,
    /// It was offered after "negative".
    Offered,
}

/// Why a reading no longer counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Withdrawal {
    Corrected,
    Disregarded,
    /// "negative" when it was read back.
    Denied,
}

/// Why a value was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AskReason {
    /// None was said for a while.
    Silence,
    /// The last one was taken back.
    Withdrawn,
    /// The last one was not right.
    Denied,
    /// The third one was not right: digit by digit, please.
    DeniedOften,
    /// Nor was it digit by digit: it may be typed.
    DeniedByDigits,
}

/// What released a hold point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReleasedBy {
    Words(String),
    Proof(Vec<ReadingId>),
}

/// Why everything stands still until "continue".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StopReason {
    Said,
    /// The procedure leads in a circle without anything to do.
    Circle,
}

/// The plain figures a verdict rests on, in `unit`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Evidence {
    pub unit: Unit,
    /// `None`: too few readings, or none that is clear.
    pub behavior: Option<BehaviorKind>,
    /// How many readings with a number were counted.
    pub readings: usize,
    pub level: Option<Decimal>,
    pub first_peak: Option<Decimal>,
    pub slope_per_min: Option<Decimal>,
    /// Between what and what it hunts.
    pub between: Option<(Decimal, Decimal)>,
    /// A value that does not fit the rest and was left out.
    pub set_aside: Option<Decimal>,
}

/// What is missing before there can be a finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    /// At least this many more readings.
    Readings { more: usize },
    /// The reading of another step.
    Step { step: StepId },
    /// Too many readings show no number.
    Numbers,
    /// Nothing was called out this time; the values of an earlier one are kept until "next" or new
    /// ones.
    Kept,
    /// Nothing was called out at all.
    All,
    /// The table has no finding for what was read.
    Finding { nearest: Option<FindingId> },
}
