//! A spoken value as a reading of the quantity that was asked for.

use super::guide::Guide;
use super::parts::{Decline, Position};
use super::state::State;
use crate::diagnosis::Judged;
use crate::language::{Meaning, SpokenReading};
use crate::procedure::QuantityDefinition;
use crate::quantity::{Prefix, Reading, Unit};

/// The reading a spoken value stands for: in its own unit where one was said, otherwise in the
/// quantity's.
pub(super) fn reading_of(
    spoken: &SpokenReading,
    definition: &QuantityDefinition,
) -> Result<Reading, Decline> {
    let asked = definition.unit;
    let unit = match (spoken.unit, spoken.prefix) {
        (None, Prefix::None) => asked,
        (None, prefix) => Unit {
            prefix,
            base: asked.base,
        },
        (Some(base), prefix) => Unit { prefix, base },
    };
    let reading = Reading {
        amount: spoken.amount,
        unit,
    };
    let wrong = |_| Decline::WrongUnit {
        found: unit.to_string(),
        expected: asked.to_string(),
    };
    reading.convert(asked).map_err(wrong)?;
    Ok(reading)
}

/// What an utterance may have been instead, where that is one value: best first, each once.
pub(super) fn others_of<'a>(
    meanings: impl IntoIterator<Item = &'a Meaning>,
    best: &Reading,
    definition: &QuantityDefinition,
) -> Vec<Reading> {
    let mut others: Vec<Reading> = Vec::new();
    for meaning in meanings {
        let spoken = match meaning {
            Meaning::Readings(readings) | Meaning::Command { readings, .. } => readings.as_slice(),
            _ => continue,
        };
        let [one] = spoken else { continue };
        let Ok(reading) = reading_of(one, definition) else {
            continue;
        };
        if reading != *best && !others.contains(&reading) {
            others.push(reading);
        }
    }
    others
}

/// The reading in the quantity's unit, with the limits of the unit's variant.
pub(super) fn judged(
    guide: &Guide,
    state: &State,
    definition: &QuantityDefinition,
    reading: &Reading,
) -> Option<Judged> {
    let converted = reading.convert(definition.unit).ok()?;
    Some(Judged {
        amount: converted.amount,
        limits: guide.limits(state, definition),
    })
}

/// The last reading that counts of a step, judged by its limits.
pub(super) fn judged_step(guide: &Guide, state: &State, step: &Position) -> Option<Judged> {
    let series = state.series(step);
    let kept = series.last()?;
    let definition = guide.quantity(step, &kept.quantity)?;
    judged(guide, state, definition, &kept.reading)
}
