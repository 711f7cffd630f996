//! What a session came to: the answer of a replay.

use std::collections::HashMap;
use std::path::Path;

use serde::Serialize;

use super::dialogue::Happened;
use super::{Failure, Output};
use crate::quantity::{Amount, Reading};
use crate::session::{Ended, Event, KeptReading, ReadingId, Standing, State};

#[derive(Serialize)]
struct Document<'a> {
    session: String,
    ended: Ended,
    conclusion: Option<&'a str>,
    part: Option<&'a str>,
    contact: Option<&'a str>,
    readings: Vec<ReadingDocument<'a>>,
    events: &'a [Happened],
}

/// One reading that was not taken back.
#[derive(Serialize)]
struct ReadingDocument<'a> {
    procedure: &'a str,
    step: &'a str,
    quantity: &'a str,
    /// Every digit as spoken; `null` for what is no single value.
    value: Option<String>,
    unit: String,
    special: Option<&'static str>,
    low: Option<String>,
    high: Option<String>,
    /// "affirm" was said to it.
    confirmed: bool,
    clip: Option<&'a str>,
    ms: u64,
}

/// Writes the answer: the whole as JSON, or in text how it ended and where the record is.
pub fn write(
    folder: &Path,
    state: &State,
    happened: &[Happened],
    output: &mut Output,
) -> Result<(), Failure> {
    let finished = state.finished.as_ref();
    let conclusion = finished.and_then(|end| end.conclusion.as_deref());
    if !output.is_json() {
        return output.text(text(folder, state.ended(), conclusion));
    }
    let clips = clips(happened);
    output.json(&Document {
        session: folder.display().to_string(),
        ended: state.ended(),
        conclusion,
        part: finished.and_then(|end| end.part.as_deref()),
        contact: finished.and_then(|end| end.contact.as_deref()),
        readings: state
            .readings
            .iter()
            .filter(|reading| !reading.withdrawn())
            .map(|reading| document(reading, &clips))
            .collect(),
        events: happened,
    })
}

fn text(folder: &Path, ended: Ended, conclusion: Option<&str>) -> String {
    let end = match ended {
        Ended::Finished => "finished",
        Ended::Stopped => "stopped",
        Ended::Incomplete => "not finished; go on with `--resume`",
    };
    let conclusion = conclusion.map(|conclusion| format!("conclusion: {conclusion}\n"));
    format!(
        "\n{}session: {end}\nrecord: {}\n",
        conclusion.unwrap_or_default(),
        folder.display()
    )
}

/// The clip each reading was heard in.
fn clips(happened: &[Happened]) -> HashMap<ReadingId, &str> {
    let mut clips = HashMap::new();
    let mut current = None;
    for Happened { event, .. } in happened {
        match event {
            Event::Heard { clip, .. } => current = clip.as_deref(),
            Event::ReadingGiven { id, .. } => clips.extend(current.map(|clip| (*id, clip))),
            _ => (),
        }
    }
    clips
}

fn document<'a>(kept: &'a KeptReading, clips: &HashMap<ReadingId, &'a str>) -> ReadingDocument<'a> {
    let Reading { amount, unit } = kept.reading;
    let (value, low, high) = match amount {
        Amount::Exact(value) | Amount::About(value) => (Some(value), None, None),
        Amount::Between(low, high) => (None, Some(low), Some(high)),
        Amount::OverRange | Amount::Short | Amount::None => (None, None, None),
    };
    ReadingDocument {
        procedure: kept.step.procedure.as_str(),
        step: kept.step.step.as_str(),
        quantity: kept.quantity.as_str(),
        value: value.map(|value| value.to_string()),
        unit: unit.to_string(),
        special: amount.special(),
        low: low.map(|low| low.to_string()),
        high: high.map(|high| high.to_string()),
        confirmed: kept.standing == Standing::Confirmed,
        clip: clips.get(&kept.id).copied(),
        ms: kept.at,
    }
}
