//! What an utterance means, as a JSON document: the same shape wherever a meaning is answered.

use serde::Serialize;

use crate::language::{Meaning, Parse, Ranked, SpokenReading};
use crate::quantity::{Amount, Base, Decimal, Quantity, Unit};

/// What words mean, with what else they may have meant.
#[derive(Debug, Serialize)]
pub struct MeaningDocument {
    input: String,
    #[serde(flatten)]
    best: MeaningParts,
    /// The words are a whole utterance as they stand.
    complete: bool,
    alternatives: Vec<MeaningParts>,
    /// Why the words mean nothing.
    error: Option<String>,
}

/// One meaning taken apart.
#[derive(Debug, Default, Serialize)]
pub struct MeaningParts {
    command: Option<&'static str>,
    readings: Vec<ReadingDocument>,
    spelled: Option<String>,
    choice: Option<String>,
}

/// One spoken value.
#[derive(Debug, Serialize)]
struct ReadingDocument {
    /// As spoken, every digit kept.
    value: Option<String>,
    /// With its SI prefix; the prefix alone where no unit was said.
    unit: Option<String>,
    /// The value without the SI prefix of its unit.
    value_base: Option<String>,
    special: Option<&'static str>,
    /// The ends of what a value was hunting between.
    low: Option<String>,
    high: Option<String>,
    about: bool,
}

impl MeaningDocument {
    pub fn new(input: &str, parse: &Parse) -> MeaningDocument {
        let mut ranked = parse.ranked.iter().map(|Ranked { meaning, .. }| meaning);
        let error = parse.stopped.as_ref().map(|stop| stop.why());
        MeaningDocument {
            input: input.to_owned(),
            best: ranked.next().map(MeaningParts::new).unwrap_or_default(),
            complete: parse.complete,
            alternatives: ranked.map(MeaningParts::new).collect(),
            error,
        }
    }

    /// Whether the words mean something.
    pub fn understood(&self) -> bool {
        self.error.is_none()
    }

    pub fn error(&self) -> Option<&str> {
        self.error.as_deref()
    }
}

impl MeaningParts {
    pub fn new(meaning: &Meaning) -> MeaningParts {
        let documents = |readings: &[SpokenReading]| readings.iter().map(reading).collect();
        let mut parts = MeaningParts::default();
        match meaning {
            Meaning::Command { command, readings } => {
                parts.command = Some(command.name());
                parts.readings = documents(readings);
            }
            Meaning::Readings(readings) => parts.readings = documents(readings),
            Meaning::Choice(id) => parts.choice = Some(id.clone()),
            Meaning::Spelling(text) => parts.spelled = Some(text.clone()),
            Meaning::Nothing { .. } => (),
        }
        parts
    }
}

fn reading(spoken: &SpokenReading) -> ReadingDocument {
    let unit = Unit {
        prefix: spoken.prefix,
        // A prefix scales the same whatever it stands before.
        base: spoken.unit.unwrap_or(Base::Ohm),
    };
    let scaled = |value: Decimal| Quantity::new(value, unit).value_base().ok();
    let (low, high) = match spoken.amount {
        Amount::Between(low, high) => (Some(low.to_string()), Some(high.to_string())),
        _ => (None, None),
    };
    let value = match spoken.amount {
        Amount::Exact(value) | Amount::About(value) => Some(value),
        _ => None,
    };
    ReadingDocument {
        value: value.map(|value| value.to_string()),
        unit: symbol(spoken),
        value_base: value.and_then(scaled).map(|value| value.to_string()),
        special: special(spoken.amount),
        low,
        high,
        about: matches!(spoken.amount, Amount::About(_)),
    }
}

fn symbol(spoken: &SpokenReading) -> Option<String> {
    let prefix = spoken.prefix.symbol();
    let base = spoken.unit.map_or("", Base::symbol);
    let symbol = format!("{prefix}{base}");
    (!symbol.is_empty()).then_some(symbol)
}

fn special(amount: Amount) -> Option<&'static str> {
    match amount {
        Amount::OverRange => Some("over_range"),
        Amount::Short => Some("short"),
        Amount::None => Some("none"),
        Amount::Exact(_) | Amount::About(_) | Amount::Between(..) => None,
    }
}

/// As a person reads it: `reading 4.7 kohm (4700 ohm)`.
impl std::fmt::Display for MeaningParts {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let command = self.command.map(|name| format!("command {name}"));
        let choice = self.choice.as_ref().map(|id| format!("choice {id}"));
        let spelled = self.spelled.as_ref().map(|text| format!("spelled {text}"));
        let readings = self.readings.iter().map(|r| format!("reading {r}"));
        let parts = [command, choice, spelled].into_iter().flatten();
        f.write_str(&parts.chain(readings).collect::<Vec<_>>().join(", "))
    }
}

impl std::fmt::Display for MeaningDocument {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.error {
            Some(error) => write!(f, "nothing: {error}"),
            None => write!(f, "{}", self.best),
        }
    }
}

impl std::fmt::Display for ReadingDocument {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let amount = match (&self.value, &self.low, &self.high, self.special) {
            (Some(value), ..) if self.about => format!("about {value}"),
            (Some(value), ..) => value.clone(),
            (_, Some(low), Some(high), _) => format!("between {low} and {high}"),
            (.., Some(special)) => special.replace('_', " "),
            _ => String::new(),
        };
        write!(f, "{amount}")?;
        match &self.unit {
            Some(unit) => write!(f, " {unit}"),
            None => Ok(()),
        }
    }
}
