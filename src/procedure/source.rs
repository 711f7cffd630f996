//! The procedure as written: one struct for each mapping of the YAML, each value with its place.
//!
//! The JSON Schema is made from these types and the shape of a file is checked against that
//! schema, so what is documented, what is checked and what is read cannot drift apart. Doc comments
//! here are what an editor shows to the author of a procedure.

use schemars::JsonSchema;
use serde::Deserialize;

use super::by_variant::Varied;
use super::findings::BehaviorKind;
use super::model::{EntryAnswer, SignalWord};
use super::place::At;
use super::schema::NumberOrText;

/// A service procedure that Readback speaks, listens to and records.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ProcedureSource {
    /// The procedure's own name, by which others call it: lower case, digits and dashes.
    pub id: At<String>,
    /// What it is for, in a few words; said at the start.
    pub title: At<String>,
    /// The revision of the text, said at the start and kept in the record.
    #[schemars(with = "NumberOrText")]
    pub revision: At<String>,
    /// The language it is spoken in, such as `en-US`.
    pub locale: At<String>,
    /// Who may do it; said at the start.
    pub qualification: At<String>,
    /// The variants of the unit that it holds for.
    pub applies_to: Vec<VariantSource>,
    /// What must be at hand; said at the start.
    #[serde(default)]
    pub tools: Vec<At<String>>,
    /// Asked before the first step.
    #[serde(default)]
    pub entry: Vec<EntrySource>,
    /// Everything the procedure reads from a meter or a display.
    #[serde(default)]
    pub quantities: Vec<QuantitySource>,
    /// Said when "stop" is heard where no section has a text of its own.
    pub make_safe: At<Varied>,
    /// In the order of work; the first is where a session starts.
    pub steps: Vec<StepSource>,
}

/// One variant of the unit.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct VariantSource {
    /// By which texts and limits name the variant.
    pub id: At<String>,
    /// As said and shown.
    pub name: At<String>,
    /// What it is fed with, where it has a supply of its own.
    pub supply: Option<SupplySource>,
}

/// An electrical supply.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SupplySource {
    /// Range in volts, such as `114..126`.
    #[schemars(with = "Option<NumberOrText>")]
    pub voltage: Option<At<String>>,
    /// Range in hertz, such as `59.5..60.5`.
    #[schemars(with = "Option<NumberOrText>")]
    pub frequency: Option<At<String>>,
}

/// A question asked before the first step.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct EntrySource {
    pub id: At<String>,
    pub ask: At<Varied>,
    pub answer: At<EntryAnswer>,
}

/// One quantity the procedure reads.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct QuantitySource {
    pub id: At<String>,
    /// What it is called aloud.
    pub name: At<String>,
    /// A unit symbol, such as `ohm`, `mA`, `kPa` or `degC`.
    pub unit: At<String>,
    /// Range in the unit; a value outside is asked about.
    #[schemars(with = "NumberOrText")]
    pub plausible: At<String>,
    /// The smallest step the meter or display shows, in the unit.
    #[schemars(with = "Option<NumberOrText>")]
    pub resolution: Option<At<String>>,
    /// Values up to this far from zero count as zero, in the unit.
    #[schemars(with = "Option<NumberOrText>")]
    pub zero_band: Option<At<String>>,
    /// Range in the unit, or `none`.
    pub limits: Option<At<Varied>>,
}

/// One step of the work, by its kind; or the start of a section.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum StepSource {
    /// The steps from here on belong together.
    Section(SectionSource),
    /// Do something, then say "next".
    Action(ActionSource),
    /// Spoken before the step it protects; cannot be skipped; wants its acknowledgement.
    Caution(CautionSource),
    /// Nothing passes without its own words or its own measured proof.
    Hold(HoldSource),
    /// A timed action.
    Wait(WaitSource),
    /// A question with spoken answers.
    Choose(ChooseSource),
    /// One value.
    Read(ReadSource),
    /// A value called out over time.
    Watch(WatchSource),
    /// A value worked out from earlier readings.
    Compute(ComputeSource),
    /// Judges what an earlier step read or watched.
    Diagnose(DiagnoseSource),
    /// Goes on at another step.
    GoTo(GoToSource),
    /// Works through another procedure and comes back to the step after this one.
    Call(CallSource),
    /// The end, with what it came to.
    Finish(FinishSource),
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct SectionSource {
    /// For "status" and the report.
    pub title: At<String>,
    /// Said when "stop" is heard in this section.
    pub make_safe: Option<At<Varied>>,
    /// Shows that the work helped: the report tells what was measured here as the proof of it.
    #[serde(default)]
    pub after_work: bool,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ActionSource {
    pub id: At<String>,
    /// The variants it is for; all where absent.
    pub only: Option<Vec<At<String>>>,
    /// One short order.
    pub say: At<Varied>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct CautionSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub signal: At<SignalWord>,
    /// What is dangerous.
    pub hazard: At<Varied>,
    /// What it does to you.
    pub consequence: At<Varied>,
    /// How it is avoided.
    pub avoid: At<Varied>,
    /// The step it protects; the next step that is not a caution where absent.
    pub protects: Option<At<String>>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct HoldSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub say: At<Varied>,
    /// The words that release it; or else `proof`.
    pub words: Option<At<String>>,
    /// The measurements that release it, in this order; or else `words`.
    pub proof: Option<Vec<ProofSource>>,
}

/// One measurement of a hold point's proof.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ProofSource {
    pub say: At<Varied>,
    pub quantity: At<String>,
    /// Range in the quantity's unit that the value must lie in.
    #[schemars(with = "NumberOrText")]
    pub within: At<String>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct WaitSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub say: At<Varied>,
    /// How long, in seconds.
    #[schemars(range(min = 1, max = 86400))]
    pub seconds: At<u32>,
    /// Seconds before the end at which the time left is said.
    #[serde(default)]
    pub warn_at: Vec<At<u32>>,
    /// What to do when the end was missed.
    pub missed: Option<At<Varied>>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ChooseSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub ask: At<Varied>,
    pub options: Vec<OptionSource>,
}

/// One answer of a choose step.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct OptionSource {
    pub id: At<String>,
    /// Any of these is the answer; the first is the one offered aloud.
    pub phrases: Vec<At<String>>,
    /// The step it leads to; the next one where absent.
    pub go_to: Option<At<String>>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ReadSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub say: At<Varied>,
    pub quantity: At<String>,
    /// Where the value leads. The first that holds is taken; none: the next step.
    #[serde(default)]
    pub then: Vec<BranchSource>,
}

/// Where a value leads.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct BranchSource {
    /// `inside limits`, `below limits`, `above limits`, `outside limits`, `over range`, `short`,
    /// `no reading`, or a range in the quantity's unit.
    #[schemars(with = "NumberOrText")]
    pub when: At<String>,
    pub go_to: At<String>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct WatchSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub say: At<Varied>,
    pub quantity: At<String>,
    /// Whole length of the watch, in seconds.
    #[schemars(range(min = 1, max = 86400))]
    pub seconds: At<u32>,
    /// Asks for a value when none was heard for this long, in seconds.
    #[schemars(range(min = 1, max = 86400))]
    pub every: At<u32>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ComputeSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    /// The name of the computation.
    pub measure: At<String>,
    /// For each input of the computation: the id of an earlier read step, or a fixed value with its
    /// unit such as `60 Hz`, or a named choice such as `copper`.
    pub inputs: Vec<InputSource>,
    /// What the result is.
    pub quantity: At<String>,
    /// Where the result leads. The first that holds is taken; none: the next step.
    #[serde(default)]
    pub then: Vec<BranchSource>,
}

/// One input of a computation: exactly one of `step`, `value` and `choice`.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct InputSource {
    /// The input's name in the computation.
    pub name: At<String>,
    /// The earlier step that gives it.
    pub step: Option<At<String>>,
    /// A fixed value with its unit, such as `60 Hz`; it may differ by variant.
    pub value: Option<At<Varied>>,
    /// A named choice, such as `copper`; it may differ by variant.
    pub choice: Option<At<Varied>>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct DiagnoseSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    /// The read, watch or compute step that is judged.
    pub of: At<String>,
    pub findings: Vec<FindingSource>,
}

/// One row of a diagnose step's table.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct FindingSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    /// As said.
    pub say: At<Varied>,
    /// Any of these; any behavior where absent.
    #[serde(default)]
    pub behavior: Vec<At<BehaviorKind>>,
    /// Where the level must lie; any level where absent.
    pub level: Option<At<Varied>>,
    /// Where the first peak must lie, for a series that has one.
    pub first_peak: Option<At<Varied>>,
    /// Conditions on earlier readings: all must hold.
    #[serde(default)]
    pub readings: Vec<ConditionSource>,
    /// At most one of `go_to`, `call` and `finish`; none of them: the next step.
    pub go_to: Option<At<String>>,
    /// Another procedure to work through; then the next step.
    pub call: Option<At<String>>,
    /// Ends the procedure with this conclusion.
    pub finish: Option<At<Varied>>,
    /// The part to replace.
    pub part: Option<At<String>>,
    /// Who to call.
    pub contact: Option<At<String>>,
}

/// A condition on an earlier reading.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ConditionSource {
    pub step: At<String>,
    /// As in a read step's `when`.
    #[schemars(with = "NumberOrText")]
    pub when: At<String>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct GoToSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub step: At<String>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct CallSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub procedure: At<String>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct FinishSource {
    pub id: At<String>,
    pub only: Option<Vec<At<String>>>,
    pub say: At<Varied>,
    /// For the record and the report.
    pub conclusion: At<Varied>,
    /// The part to replace.
    pub part: Option<At<String>>,
    /// Who to call.
    pub contact: Option<At<String>>,
}
