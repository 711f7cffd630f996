//! The checked procedure: what every other room reads.
//!
//! A value of these types has passed the loader: ids are unique, references lead somewhere, units
//! fit their quantities. Nothing here can be built from unchecked text except through
//! `procedure::load`.

use indexmap::IndexMap;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::quantity::{Range, Unit};

/// Where something stands in its file, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub struct Place {
    pub line: u32,
    pub column: u32,
}

macro_rules! id_type {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
        )]
        #[serde(transparent)]
        pub struct $name(pub String);

        impl $name {
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self(text.to_owned())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

id_type!(
    /// A step's name within its procedure.
    StepId
);
id_type!(
    /// A variant of the unit, as the maker names it.
    VariantId
);
id_type!(
    /// A quantity the procedure reads.
    QuantityId
);
id_type!(
    /// A finding of a diagnose step.
    FindingId
);
id_type!(
    /// A procedure's own name, also used to call it from another.
    ProcedureId
);
id_type!(
    /// One of the answers of a choose step.
    OptionId
);

/// Something that may differ by variant: a value for all, with exceptions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ByVariant<T> {
    pub default: T,
    pub exceptions: IndexMap<VariantId, T>,
}

impl<T> ByVariant<T> {
    pub fn same(value: T) -> ByVariant<T> {
        ByVariant {
            default: value,
            exceptions: IndexMap::new(),
        }
    }

    pub fn get(&self, variant: &VariantId) -> &T {
        self.exceptions.get(variant).unwrap_or(&self.default)
    }
}

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
    pub title: String,
    pub revision: String,
    /// The language it is spoken in, as in `grammars/<locale>`.
    pub locale: String,
    pub qualification: String,
    pub variants: IndexMap<VariantId, Variant>,
    pub tools: Vec<String>,
    pub quantities: IndexMap<QuantityId, QuantityDefinition>,
    /// Said when "stop" is heard where no section has a text of its own.
    pub make_safe: Text,
    /// In the order of the file; the first is where a session starts.
    pub steps: Vec<Step>,
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

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuantityDefinition {
    pub id: QuantityId,
    /// What it is called aloud: "load count".
    pub name: String,
    pub unit: Unit,
    /// In `unit`. A value outside is asked about, never refused.
    pub plausible: Range,
    /// The smallest step the meter or display shows, in `unit`.
    pub resolution: Option<Decimal>,
    /// In `unit`; `None` for a variant that has no limit.
    pub limits: ByVariant<Option<Range>>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub id: StepId,
    pub place: Place,
    /// The section's title, for "status" and the report.
    pub section: Option<String>,
    /// Said when "stop" is heard in this step; the procedure's own where absent.
    pub make_safe: Option<Text>,
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

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Release {
    /// These exact words, e.g. "lock is on".
    Words(String),
    /// Every point must be read and lie inside, in this order.
    Proof(Vec<ProofPoint>),
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

/// How a series behaves. The words of a findings table.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum BehaviorKind {
    /// Every value within the zero band.
    NearZero,
    /// The same level from first to last.
    Steady,
    /// Comes to a level and stays there, with or without a first peak.
    Settles,
    /// Up and down without coming to rest.
    Unsteady,
    Falling,
    Rising,
}

/// One row of a diagnose step's table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FindingRow {
    pub id: FindingId,
    pub place: Place,
    /// As said: "the circulator is healthy".
    pub say: Text,
    /// Any of these; empty: any behavior.
    pub behaviors: Vec<BehaviorKind>,
    /// Where the level must lie; `None` for any level. `Some(None)` cannot occur: a variant without
    /// the row is left out by `only`.
    pub level: ByVariant<Option<Range>>,
    /// Where the first peak must lie, for a series that has one.
    pub first_peak: ByVariant<Option<Range>>,
    /// Conditions on other readings: all must hold.
    pub readings: Vec<ReadingCondition>,
    pub only: Option<Vec<VariantId>>,
    pub leads_to: LeadsTo,
}

/// "Winding open", "supply below its limits": a condition on an earlier step's reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingCondition {
    pub step: StepId,
    pub when: BranchWhen,
}

/// What a finding leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LeadsTo {
    Next,
    GoTo(StepId),
    Call(ProcedureId),
}
