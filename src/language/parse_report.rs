//! What words mean, in the shape that scripts read.

use serde::Serialize;

use super::meaning::{Meaning, SpokenReading};
use super::parse::Parse;
use crate::quantity::{Amount, Decimal, Prefix, Unit};

/// One parse as one JSON object. Numbers are text, so that no digit is lost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ParseReport {
    pub input: String,
    #[serde(flatten)]
    pub meaning: MeaningReport,
    /// The words as they stand are a whole utterance.
    pub complete: bool,
    /// Other things the words may mean, likeliest first.
    pub alternatives: Vec<Alternative>,
    /// Why the words mean nothing here.
    pub error: Option<String>,
}

/// What was said.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct MeaningReport {
    pub command: Option<&'static str>,
    pub readings: Vec<ReadingReport>,
    pub spelled: Option<String>,
    /// The step's own choice; left out where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub choice: Option<String>,
}

/// Another meaning, and how much less likely it is than the best: hundredths of a nat.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Alternative {
    #[serde(flatten)]
    pub meaning: MeaningReport,
    pub cost: u32,
}

/// One value.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct ReadingReport {
    /// As spoken, in `unit`; null for a special value or a value between two.
    pub value: Option<String>,
    /// The unit's symbol with its prefix; null where no unit was said.
    pub unit: Option<String>,
    /// The value without SI prefix: "four point seven k ohms" is `4700`.
    pub value_base: Option<String>,
    /// `over_range`, `short`, `none`, or null for a number.
    pub special: Option<&'static str>,
    /// The ends of a value that moves between two, in `unit`.
    pub low: Option<String>,
    pub high: Option<String>,
}

impl ParseReport {
    pub fn new(input: &str, parse: &Parse) -> ParseReport {
        let best_cost = parse.ranked.first().map_or(0, |best| best.cost);
        let alternatives = parse.ranked.iter().skip(1).map(|ranked| Alternative {
            meaning: MeaningReport::from(&ranked.meaning),
            cost: ranked.cost - best_cost,
        });
        ParseReport {
            input: input.to_owned(),
            meaning: MeaningReport::from(&parse.meaning()),
            complete: parse.complete,
            alternatives: alternatives.collect(),
            error: parse.stopped.as_ref().map(|stop| stop.why()),
        }
    }
}

impl From<&Meaning> for MeaningReport {
    fn from(meaning: &Meaning) -> MeaningReport {
        let list = |readings: &[SpokenReading]| readings.iter().map(ReadingReport::from).collect();
        let mut report = MeaningReport::default();
        match meaning {
            Meaning::Command { command, readings } => {
                report.command = Some(command.name());
                report.readings = list(readings);
            }
            Meaning::Readings(readings) => report.readings = list(readings),
            Meaning::Choice(id) => report.choice = Some(id.clone()),
            Meaning::Spelling(text) => report.spelled = Some(text.clone()),
            Meaning::Nothing { .. } => {}
        }
        report
    }
}

impl From<&SpokenReading> for ReadingReport {
    fn from(reading: &SpokenReading) -> ReadingReport {
        let prefix = reading.prefix;
        let unit = reading.unit.map(|base| Unit { prefix, base }.to_string());
        let mut report = ReadingReport {
            unit,
            ..ReadingReport::default()
        };
        match reading.amount {
            Amount::Exact(value) | Amount::About(value) => {
                report.value = Some(value.to_string());
                report.value_base = without_prefix(value, prefix).map(|base| base.to_string());
            }
            Amount::Between(low, high) => {
                report.low = Some(low.to_string());
                report.high = Some(high.to_string());
            }
            Amount::OverRange => report.special = Some("over_range"),
            Amount::Short => report.special = Some("short"),
            Amount::None => report.special = Some("none"),
        }
        report
    }
}

/// Moves the decimal point; `None` where the result does not fit a decimal.
fn without_prefix(value: Decimal, prefix: Prefix) -> Option<Decimal> {
    let scale = i64::from(value.scale()) - i64::from(prefix.exponent());
    let up = u32::try_from(-scale).unwrap_or(0);
    let digits = value.mantissa().checked_mul(10_i128.checked_pow(up)?)?;
    Decimal::try_from_i128_with_scale(digits, u32::try_from(scale).unwrap_or(0)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{Expectation, Language};

    fn report(words: &str) -> serde_json::Value {
        let language = Language::bundled("en-US").unwrap();
        let automaton = language.compile(&Expectation::everything()).unwrap();
        serde_json::to_value(ParseReport::new(words, &automaton.parse_text(words))).unwrap()
    }

    #[test]
    fn a_reading_has_exactly_the_stable_fields() {
        let expected = serde_json::json!({
            "input": "four point seven k ohms",
            "command": null,
            "readings": [{
                "value": "4.7", "unit": "kohm", "value_base": "4700",
                "special": null, "low": null, "high": null,
            }],
            "spelled": null,
            "complete": true,
            "alternatives": [],
            "error": null,
        });
        assert_eq!(report("four point seven k ohms"), expected);
    }

    #[test]
    fn a_correction_brings_its_reading() {
        let report = report("correction two four five");
        assert_eq!(report["command"], "correction");
        assert_eq!(report["readings"][0]["value"], "245");
    }

    #[test]
    fn nonsense_has_an_error_and_no_reading() {
        let report = report("point point");
        assert_eq!(report["readings"], serde_json::json!([]));
        assert_eq!(report["complete"], false);
        let error = report["error"].as_str().unwrap();
        assert!(
            error.starts_with("found `point` as word 2, expected"),
            "{error}"
        );
    }
}
