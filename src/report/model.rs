//! What a report says: one model, from which every form of it is written.
//!
//! Times are RFC 3339 with their offset; `ms` counts from the beginning of the session. Values are
//! text with every digit as spoken. Additions only: whoever reads version 1 can go on doing so.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use super::job::{Answer, Job, JobLineTold};
pub use super::record::{Record, Signature};
use crate::procedure::{BehaviorKind, SignalWord};
use crate::session::Ended;

/// The report of one session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Report {
    /// The version of this form: 1.
    pub version: u32,
    pub record: Record,
    pub procedure: Procedure,
    pub job: Job,
    pub time: Time,
    pub outcome: Outcome,
    /// Everything judged, in order.
    pub findings: Vec<Finding>,
    /// Every reading ever given, withdrawn ones too, in the order given.
    pub readings: Vec<Reading>,
    pub holds: Vec<Hold>,
    pub cautions: Vec<Caution>,
    /// The steps as they were worked through.
    pub steps: Vec<Step>,
    pub notes: Vec<Note>,
    /// What was put right or said after the session, in order.
    pub reviews: Vec<Review>,
    /// The record was signed off, and nothing was put right since.
    pub signed_off: bool,
    pub after_work: AfterWork,
    /// What is left to do or to look at, in plain sentences.
    pub unresolved: Vec<String>,
    pub hearing: Hearing,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Procedure {
    pub id: String,
    pub title: String,
    pub revision: String,
    pub locale: String,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Time {
    pub began: String,
    pub ended: String,
    /// From beginning to end, without the time away.
    pub worked_ms: u64,
    /// Between the end of the program and the session's being taken up again.
    pub away_ms: u64,
}

/// What the session came to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Outcome {
    pub ended: Ended,
    pub conclusion: Option<String>,
    /// Why the session did not begin.
    pub refused: Option<String>,
    pub parts: Vec<String>,
    /// Who is to be called.
    pub contact: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Finding {
    pub at: String,
    pub ms: u64,
    pub procedure: String,
    pub step: String,
    pub verdict: Verdict,
    /// Whether it was judged anew later, or another was put in its place.
    pub stands: bool,
    /// The finding, or the several that rank equal; none where it is undetermined.
    pub findings: Vec<Named>,
    pub evidence: Option<Evidence>,
    /// Why, in plain sentences.
    pub why: Vec<String>,
    /// What is missing where there is no single finding.
    pub missing: Option<String>,
    pub runner_up: Option<Named>,
    /// How far the readings would have to differ for the runner-up, with its unit.
    pub margin: Option<String>,
    /// The technician's reason for a finding chosen instead.
    pub reason: Option<Spoken>,
    /// What it comes to with the values that were corrected after the session.
    pub again: Option<Again>,
    /// The readings against the levels of the findings, as an SVG document.
    #[serde(skip)]
    pub chart: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    Finding,
    Equal,
    Undetermined,
    /// The technician put this finding in the place of the one judged.
    Overridden,
}

/// A finding by its id, and what it says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Named {
    pub id: String,
    pub says: String,
}

/// The figures a finding rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Evidence {
    pub unit: String,
    pub behavior: Option<BehaviorKind>,
    pub readings: usize,
    pub level: Option<String>,
    pub first_peak: Option<String>,
    pub slope_per_min: Option<String>,
    pub between: Option<(String, String)>,
    pub set_aside: Option<String>,
}

/// Free words of the technician.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spoken {
    /// What the recognizer made of them; the clip is what counts.
    pub words: String,
    pub clip: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Reading {
    pub number: u32,
    pub at: String,
    pub ms: u64,
    pub procedure: String,
    pub step: String,
    pub section: Option<String>,
    /// The quantity by name.
    pub quantity: String,
    /// `None` for what is no single value.
    pub value: Option<String>,
    pub low: Option<String>,
    pub high: Option<String>,
    /// `about`, `over_range`, `short` or `none`.
    pub special: Option<String>,
    pub unit: String,
    /// In the quantity's unit, which is `limits_unit`: `18..24`.
    pub limits: Option<String>,
    pub limits_unit: Option<String>,
    pub judged: Judged,
    pub standing: Standing,
    /// The withdrawn reading it stands in for.
    pub replaces: Option<u32>,
    /// It was asked about before it counted, and why.
    pub asked: Option<String>,
    /// It proves a hold point.
    pub proof: bool,
    /// What was asked for, where it proves a hold point.
    #[serde(default)]
    pub point: Option<String>,
    /// It was taken to show that the work helped.
    pub after_work: bool,
    /// Where it was worked out: the formula's source, and what to know of it.
    pub computed: Option<String>,
    /// It was typed, not spoken.
    pub typed: bool,
    /// What it was put right to after the session, or comes to by what was put right.
    pub corrected: Option<Corrected>,
    pub heard: Option<Heard>,
}

/// A reading against its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Judged {
    /// The quantity has no limits here.
    NoLimits,
    Inside,
    Below,
    Above,
    /// Short or no reading where a value was expected.
    NoValue,
}

/// Whether a reading counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    ReadBack,
    /// "affirm" was said to it.
    Confirmed,
    /// It was asked about and never answered.
    Unanswered,
    WithdrawnCorrected,
    WithdrawnDisregarded,
    /// It was misheard: "negative" when it was read back.
    WithdrawnMisheard,
}

impl Standing {
    pub fn counts(self) -> bool {
        matches!(self, Standing::ReadBack | Standing::Confirmed)
    }
}

/// What was heard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Heard {
    pub words: String,
    pub confidence: Option<f32>,
    pub clip: Option<String>,
}

/// A hold point, each time it was worked on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Hold {
    pub at: String,
    pub ms: u64,
    pub procedure: String,
    pub step: String,
    pub says: String,
    /// When it was released; `None` where it was not.
    pub released_at: Option<String>,
    /// The words that released it.
    pub words: Option<String>,
    /// What was measured to release it, in the order measured, what did not prove it too.
    pub points: Vec<ProofPoint>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ProofPoint {
    pub says: String,
    pub within: String,
    /// The number of the reading.
    pub reading: u32,
    pub value: String,
    pub proves: bool,
    /// What it was put right to after the session; `judged` says whether that proves it.
    #[serde(default)]
    pub corrected: Option<Corrected>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Caution {
    /// `None` for the standing caution before every session.
    pub signal: Option<SignalWord>,
    pub text: String,
    /// `None` where the session was left before.
    pub acknowledged_at: Option<String>,
    pub acknowledged_ms: Option<u64>,
}

/// One visit of a step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Step {
    pub at: String,
    pub ms: u64,
    /// How long it was worked on.
    pub took_ms: u64,
    pub procedure: String,
    pub step: Option<String>,
    pub section: Option<String>,
    pub kind: String,
    pub says: String,
    pub done: Done,
    /// What came of it: an answer, a value, a reason.
    pub result: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Done {
    Done,
    Skipped,
    /// Left before it was done, or never left.
    Left,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Note {
    pub at: String,
    pub ms: u64,
    pub step: Option<String>,
    pub note: Spoken,
    /// What it says, as it was written after the session.
    #[serde(default)]
    pub written: Option<String>,
}

/// Something put right or said after the session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Review {
    pub at: String,
    pub who: String,
    pub why: Option<String>,
    pub says: String,
    /// It signs the record off.
    pub signs: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Corrected {
    /// With its unit by its sign.
    pub value: String,
    /// `None` for what is no single value.
    #[serde(default)]
    pub number: Option<String>,
    #[serde(default)]
    pub unit: String,
    pub judged: Judged,
}

/// A finding judged again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Again {
    /// None where it is undetermined.
    pub findings: Vec<Named>,
    pub why: Vec<String>,
    pub missing: Option<String>,
}

/// What shows that the work helped.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AfterWork {
    /// The procedure says how to show it.
    pub asked: bool,
    /// That part was reached.
    pub reached: bool,
    /// The numbers of the readings that count there.
    pub readings: Vec<u32>,
}

/// What listened, and how well it went.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Hearing {
    pub engine: Option<String>,
    pub model: Option<String>,
    pub utterances: usize,
    pub not_understood: usize,
    /// The numbers of these whose words nobody put right since.
    #[serde(default)]
    pub unclear: Vec<u32>,
    /// The numbers of those that meant something and were given other words since.
    #[serde(default)]
    pub put_right: Vec<u32>,
    pub asked: usize,
    pub withdrawn: usize,
}
