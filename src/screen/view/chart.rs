//! A series as it grows, against the bands of the findings that rest on it.
//!
//! Everything is in shares of the picture, from the lower left corner, so that a page can draw it
//! at any size.

use indexmap::IndexMap;
use rust_decimal::prelude::ToPrimitive;
use serde::Serialize;

use super::{seconds, written};
use crate::diagnosis::plot::{Frame, bands, tick, ticks};
use crate::diagnosis::{Series, Table, condition};
use crate::procedure::{FindingRow, Procedure, QuantityId, StepId, StepKind};
use crate::quantity::{Bound, Range, Reading};
use crate::session::{Guide, KeptReading, Ms, Position, State};

/// A picture of a watch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chart {
    /// "load count, count"
    pub name: String,
    pub unit: String,
    pub bands: Vec<Band>,
    /// The limits for the unit, as shares of the height.
    pub limits: Option<[f64; 2]>,
    pub points: Vec<Dot>,
    pub x_ticks: Vec<Tick>,
    pub y_ticks: Vec<Tick>,
    /// When the picture begins, on the session's clock, and what it covers in milliseconds.
    pub from_ms: Ms,
    pub span_ms: Ms,
}

/// Where the level of a finding lies.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Band {
    pub label: String,
    pub low: f64,
    pub high: f64,
}

/// A reading; without a number it has no height.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dot {
    pub x: f64,
    /// Both ends of what it covers; the same twice for most.
    pub y: Option<[f64; 2]>,
    /// As it is written.
    pub text: String,
    pub withdrawn: bool,
    /// Nothing is concluded from it yet.
    pub open: bool,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tick {
    pub at: f64,
    pub text: String,
}

/// The watch that is worked on, or that the diagnosis being worked on rests on.
pub(super) fn chart(guide: &Guide, state: &State) -> Option<Chart> {
    let position = watched(guide, state)?;
    let procedure = guide.library.get(&position.procedure)?;
    let step = guide.step(&position)?;
    let StepKind::Watch {
        quantity,
        seconds: length,
        ..
    } = &step.kind
    else {
        return None;
    };
    Drawing::new(guide, state, procedure, &position, quantity, *length)?.chart()
}

fn watched(guide: &Guide, state: &State) -> Option<Position> {
    let here = state.position.as_ref()?;
    let step = match &guide.step(here)?.kind {
        StepKind::Watch { .. } => here.step.clone(),
        StepKind::Diagnose { of, .. } => of.clone(),
        _ => return None,
    };
    Some(Position {
        step,
        ..here.clone()
    })
}

/// What a picture is drawn from.
struct Drawing<'a> {
    guide: &'a Guide,
    state: &'a State,
    definition: &'a crate::procedure::QuantityDefinition,
    findings: &'a [FindingRow],
    readings: Vec<&'a KeptReading>,
    from_ms: Ms,
    /// Seconds.
    length: f64,
}

impl<'a> Drawing<'a> {
    fn new(
        guide: &'a Guide,
        state: &'a State,
        procedure: &'a Procedure,
        position: &Position,
        quantity: &QuantityId,
        length: u32,
    ) -> Option<Drawing<'a>> {
        let readings = of_last_visit(state, position);
        let timer = state.timer.as_ref().filter(|timer| timer.step == *position);
        let first = readings.iter().map(|kept| kept.at).min();
        let from_ms = match (timer.map(|timer| timer.started), first) {
            (Some(started), Some(first)) => started.min(first),
            (started, first) => started.or(first)?,
        };
        let last = readings.iter().map(|kept| kept.at).max();
        let covered = seconds(from_ms, last.unwrap_or(from_ms));
        Some(Drawing {
            guide,
            state,
            definition: procedure.quantities.get(quantity)?,
            findings: findings(procedure, &position.step),
            readings,
            from_ms,
            length: f64::from(length).max(covered),
        })
    }

    fn chart(&self) -> Option<Chart> {
        let variant = self.guide.variant(self.state);
        let others = IndexMap::new();
        let table = Table {
            quantity: self.definition,
            findings: self.findings,
            variant: &variant,
            others: &others,
        };
        let limits = self.guide.limits(self.state, self.definition);
        let frame = self.frame(&table, limits);
        let share = |value: f64| ((value - frame.low) / (frame.high - frame.low)).clamp(0.0, 1.0);
        let ends = |range: &Range| {
            [
                share(end(range.low(), frame.low)),
                share(end(range.high(), frame.high)),
            ]
        };
        let band = |(row, range): (&FindingRow, Range)| {
            let [low, high] = ends(&range);
            Band {
                label: row.id.as_str().replace('-', " "),
                low,
                high,
            }
        };
        Some(Chart {
            name: self.definition.name.clone(),
            unit: self.definition.unit.sign(),
            bands: bands(&table).map(band).filter(|b| b.low < b.high).collect(),
            limits: limits.as_ref().map(ends),
            points: self.readings.iter().map(|k| self.dot(k, share)).collect(),
            x_ticks: ticks_of(0.0, self.length, |at| at / self.length),
            y_ticks: ticks_of(frame.low, frame.high, share),
            from_ms: self.from_ms,
            span_ms: (self.length * 1000.0) as Ms,
        })
    }

    /// Everything that is drawn in it; the limits where they are not far beyond.
    fn frame(&self, table: &Table, limits: Option<Range>) -> Frame {
        let mut series = Series::new(self.definition.unit);
        for kept in &self.readings {
            let at = kept.at.saturating_sub(self.from_ms);
            // A reading too large to be drawn is marked at the top.
            let _ = self.in_unit(kept).map(|reading| series.give(at, reading));
        }
        let mut frame = Frame::around(&series, table);
        let plausible = end(self.definition.plausible.high(), frame.high);
        let highest = limits.map(|limits| end(limits.high(), frame.high));
        let nothing_read = self.readings.is_empty();
        for high in highest.into_iter().chain(nothing_read.then_some(plausible)) {
            frame.high = frame.high.max(high * 1.08);
        }
        frame
    }

    fn in_unit(&self, kept: &KeptReading) -> Option<Reading> {
        kept.reading.convert(self.definition.unit).ok()
    }

    fn dot(&self, kept: &KeptReading, share: impl Fn(f64) -> f64) -> Dot {
        let ends = self
            .in_unit(kept)
            .and_then(|reading| condition::ends(reading.amount));
        let (number, unit) = written::reading(&kept.reading);
        Dot {
            x: seconds(self.from_ms, kept.at) / self.length,
            y: ends.map(|(low, high)| {
                [low, high].map(|value| share(value.to_f64().unwrap_or_default()))
            }),
            text: format!("{number} {unit}").trim().to_owned(),
            withdrawn: kept.withdrawn(),
            open: !kept.withdrawn() && !kept.counts(),
        }
    }
}

/// The readings of the step's last visit, withdrawn ones too.
fn of_last_visit<'a>(state: &'a State, position: &Position) -> Vec<&'a KeptReading> {
    let here = state.position.as_ref() == Some(position);
    let of_step = || state.readings.iter().filter(|kept| kept.step == *position);
    let visit = match here {
        true => Some(state.visit),
        false => of_step().map(|kept| kept.visit).max(),
    };
    let mut readings: Vec<&KeptReading> =
        of_step().filter(|kept| Some(kept.visit) == visit).collect();
    readings.sort_by_key(|kept| (kept.at, kept.id));
    readings
}

/// The table of the diagnosis that rests on a step.
fn findings<'a>(procedure: &'a Procedure, step: &StepId) -> &'a [FindingRow] {
    let tables = procedure.steps.iter().filter_map(|s| match &s.kind {
        StepKind::Diagnose { of, findings } if of == step => Some(findings.as_slice()),
        _ => None,
    });
    tables.into_iter().next().unwrap_or_default()
}

fn end(bound: Bound, open: f64) -> f64 {
    bound.value().and_then(|v| v.to_f64()).unwrap_or(open)
}

fn ticks_of(low: f64, high: f64, share: impl Fn(f64) -> f64) -> Vec<Tick> {
    let tick = |value: f64| Tick {
        at: share(value),
        text: tick(value, high - low),
    };
    ticks(low, high).map(tick).collect()
}
