//! The checked procedure: what every other room reads.
//!
//! A value of these types has passed the loader: ids are unique, references lead somewhere, units
//! fit their quantities. Nothing here can be built from unchecked text except through
//! `procedure::load`.

use indexmap::IndexMap;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::by_variant::ByVariant;
use super::findings::FindingRow;
use super::names::{EntryId, OptionId, ProcedureId, QuantityId, StepId, VariantId};
use super::place::Place;
use crate::quantity::{Bound, Dimension, Quantity, Range, Unit};

/// A text as the procedure writes it, and as it is said so that the thing can be found:
/// `terminal {D5}` is written "terminal D5" and said "terminal delta five".
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wording {
    pub written: String,
    pub spoken: String,
}

/// A text that may differ by variant.
pub type Text = ByVariant<Wording>;

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Procedure {
    pub id: ProcedureId,
    /// The name of the file it was read from.
    pub file: String,
    pub title: String,
    pub revision: String,
    /// The language it is spoken in, as in `grammars/<locale>`.
    pub locale: String,
    pub qualification: String,
    pub variants: IndexMap<VariantId, Variant>,
    pub tools: Vec<String>,
    /// Asked before the first step, in this order.
    pub entry: Vec<EntryQuestion>,
    pub quantities: IndexMap<QuantityId, QuantityDefinition>,
    /// Said when "stop" is heard where no section has a text of its own.
    pub make_safe: Text,
    /// In the order of the file; the first is where a session starts.
    pub steps: Vec<Step>,
    /// Every text as written, for the checks of wording.
    pub(super) texts: Vec<WrittenText>,
}

/// A text as written, braces and all, with what is said of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct WrittenText {
    pub place: Place,
    pub source: String,
    pub spoken: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variant {
    pub id: VariantId,
    /// As said and shown: "two kilowatt skid, 120 volt".
    pub name: Wording,
    /// Volts; `None` where the unit has no supply of its own.
    pub supply_voltage: Option<Range>,
    /// Hertz.
    pub supply_frequency: Option<Range>,
}

/// A question asked before the first step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryQuestion {
    pub id: EntryId,
    pub place: Place,
    pub ask: Text,
    pub answer: EntryAnswer,
}

/// How an entry question is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum EntryAnswer {
    /// "affirm", or the session does not begin.
    Affirm,
    /// Letters and digits by the spelling alphabet, such as a serial number.
    Spelling,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuantityDefinition {
    pub id: QuantityId,
    pub place: Place,
    /// What it is called aloud: "load count".
    pub name: String,
    pub unit: Unit,
    /// In `unit`. A value outside is asked about, never refused.
    pub plausible: Range,
    /// The smallest step the meter or display shows, in `unit`.
    pub resolution: Option<Decimal>,
    /// Values up to this far from zero count as zero, in `unit`.
    pub zero_band: Option<Decimal>,
    /// In `unit`; `None` for a variant that has no limit.
    pub limits: ByVariant<Option<Range>>,
}

impl QuantityDefinition {
    /// Values up to this far from zero count as nothing, in the quantity's unit: the zero band it
    /// states, or else a hundredth of the largest plausible value or three display steps, whichever
    /// is more. `None` for a temperature that states none: its zero is a point like any other.
    pub fn counts_as_zero(&self) -> Option<Decimal> {
        if self.zero_band.is_some() || self.unit.base.dimension() == Dimension::Temperature {
            return self.zero_band;
        }
        let size = |bound: Bound| bound.value().unwrap_or_default().abs();
        let largest = size(self.plausible.low()).max(size(self.plausible.high()));
        let steps = self.resolution.unwrap_or_default() * Decimal::from(3);
        Some((largest / Decimal::from(100)).max(steps))
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub id: StepId,
    pub place: Place,
    /// The section's title, for "status" and the report.
    pub section: Option<String>,
    /// Said when "stop" is heard in this step; the procedure's own where absent.
    pub make_safe: Option<Text>,
    /// Its section shows that the work helped.
    pub after_work: bool,
    /// `None`: all variants. A step for other variants is passed over as not applicable.
    pub only: Option<Vec<VariantId>>,
    pub kind: StepKind,
}

/// The signal words of ANSI Z535 and ISO 3864, most severe first.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum SignalWord {
    /// Will kill or seriously injure if not avoided.
    Danger,
    /// Could kill or seriously injure.
    Warning,
    /// Could cause minor or moderate injury.
    Caution,
    /// Not about injury.
    Notice,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StepKind {
    /// Do something, then say "next".
    Action {
        say: Text,
    },
    /// Spoken before the step it protects; cannot be skipped; wants its acknowledgement.
    Caution {
        signal: SignalWord,
        hazard: Text,
        consequence: Text,
        avoid: Text,
        /// The step it must be spoken before.
        protects: StepId,
    },
    /// Nothing passes without its own words or its own measured proof.
    Hold {
        say: Text,
        release: Release,
    },
    /// A timed action.
    Wait {
        say: Text,
        seconds: u32,
        /// Seconds before the end at which the time left is said; largest first.
        warn_at: Vec<u32>,
        /// What to do when the end was missed.
        missed: Option<Text>,
    },
    /// A question with spoken answers.
    Choose {
        ask: Text,
        options: Vec<ChoiceOption>,
    },
    /// One value.
    Read {
        say: Text,
        quantity: QuantityId,
        branches: Vec<Branch>,
    },
    /// A value called out over time.
    Watch {
        say: Text,
        quantity: QuantityId,
        /// Whole length of the watch, seconds.
        seconds: u32,
        /// Ask for a value when none was heard for this long, seconds.
        every: u32,
    },
    /// A value worked out from earlier readings; kept and judged as if it had been read.
    Compute {
        /// The name of the computation in [`crate::measure`].
        measure: String,
        /// By the input's name in the computation.
        inputs: IndexMap<String, ComputeInput>,
        quantity: QuantityId,
        branches: Vec<Branch>,
    },
    /// Judges what an earlier step read or watched.
    Diagnose {
        of: StepId,
        findings: Vec<FindingRow>,
    },
    GoTo {
        step: StepId,
    },
    /// Works through another procedure and comes back to the step after this one.
    Call {
        procedure: ProcedureId,
    },
    /// The end, with what it came to.
    Finish {
        say: Text,
        conclusion: Text,
        part: Option<String>,
        contact: Option<String>,
    },
}

impl StepKind {
    /// Whether the way on follows from what is answered, read or judged here: what stands next in
    /// the file is only one of several ways.
    pub fn decides_the_way(&self) -> bool {
        match self {
            StepKind::Read { branches, .. } | StepKind::Compute { branches, .. } => {
                !branches.is_empty()
            }
            StepKind::Choose { options, .. } => options.iter().any(|o| o.go_to.is_some()),
            StepKind::Diagnose { .. } => true,
            _ => false,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Release {
    /// These exact words, e.g. "lock is on".
    Words(String),
    /// Every point must be read and lie inside, in this order.
    Proof(Vec<ProofPoint>),
}

/// Where an input of a computation comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ComputeInput {
    /// What an earlier read, compute or proof step gave.
    Reading(StepId),
    Fixed(ByVariant<Quantity>),
    /// A named choice, such as the metal of a winding.
    Choice(ByVariant<String>),
}

/// One measurement of a hold point's proof.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProofPoint {
    pub say: Text,
    pub quantity: QuantityId,
    pub within: Range,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChoiceOption {
    pub id: OptionId,
    /// Any of these is the answer; the first is the one offered aloud.
    pub phrases: Vec<String>,
    /// `None`: the next step.
    pub go_to: Option<StepId>,
}

/// Where a single reading leads. The first that holds is taken; none: the next step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Branch {
    pub when: BranchWhen,
    pub go_to: StepId,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BranchWhen {
    Inside,
    BelowLimits,
    AboveLimits,
    /// Below or above.
    OutsideLimits,
    OverRange,
    Short,
    NoReading,
    Within(Range),
}
