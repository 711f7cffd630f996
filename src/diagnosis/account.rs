//! A judgement in plain sentences: why it is so, and what is asked for where it is not.
//!
//! Readings bear the numbers by which whoever reads it knows them.

use rust_decimal::Decimal;

use super::behavior::{Behavior, Pattern, SetAside};
use super::condition::ends;
use super::judge::Table;
use super::series::{Sample, Series};
use super::verdict::{Ask, Judgement, Nearest, Verdict};
use crate::procedure::{BehaviorKind, BranchWhen, FindingId, FindingRow};

/// The numbers of a series' readings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Numbers {
    /// In the order of time, with whether it counts as a figure.
    of: Vec<(u32, bool)>,
}

impl Numbers {
    /// From 1 on.
    pub fn from_one(series: &Series) -> Numbers {
        Numbers::given(series, 1..)
    }

    /// Of each in the order of time.
    pub fn given(series: &Series, numbers: impl IntoIterator<Item = u32>) -> Numbers {
        let figure = |sample: &Sample| !sample.withdrawn && ends(sample.amount).is_some();
        let samples = series.samples().iter().map(figure);
        Numbers {
            of: numbers.into_iter().zip(samples).collect(),
        }
    }

    /// Of the figures from one to another: `2 to 6`, or `1 and 3 to 6` where others lie between.
    fn span(&self, found: &Behavior) -> String {
        let (first, last) = found.deciding;
        let mut runs: Vec<(u32, u32)> = Vec::new();
        let left_out = |index| found.set_aside.iter().any(|odd| odd.reading == index);
        let among = (first..=last).filter(|index| !left_out(*index));
        let numbers = among.filter_map(|index| self.of.get(index));
        for number in numbers.filter(|(_, figure)| *figure).map(|(n, _)| *n) {
            match runs.last_mut() {
                Some((_, end)) if *end + 1 == number => *end = number,
                _ => runs.push((number, number)),
            }
        }
        let runs: Vec<String> = runs
            .into_iter()
            .map(|(from, to)| match from == to {
                true => from.to_string(),
                false => format!("{from} to {to}"),
            })
            .collect();
        match runs.split_last() {
            Some((last, [])) => last.clone(),
            Some((last, others)) => format!("{} and {last}", others.join(", ")),
            None => String::new(),
        }
    }

    fn of(&self, index: usize) -> usize {
        let number = self.of.get(index);
        let number = number.and_then(|(number, _)| usize::try_from(*number).ok());
        number.unwrap_or(index + 1)
    }
}

impl Judgement {
    /// The reasons in plain sentences: what the series does, how the table's conditions are met,
    /// what was left out, and the nearest other finding. The table must be the one it was judged
    /// against.
    pub fn why(&self, table: &Table, numbers: &Numbers) -> Vec<String> {
        let mut why = self.behavior_lines(numbers);
        let ids: &[FindingId] = match &self.verdict {
            Verdict::Finding(finding) => std::slice::from_ref(&finding.id),
            Verdict::Equal(ids) => ids,
            Verdict::Undetermined(_) => &[],
        };
        for id in ids {
            if let Some(row) = table.findings.iter().find(|row| row.id == *id) {
                why.extend(self.row_lines(row, table));
            }
        }
        if let Verdict::Finding(finding) = &self.verdict {
            why.push(match &finding.runner_up {
                Some(nearest) => format!(
                    "nearest other finding: `{}`, {} {} away",
                    nearest.id, nearest.margin, self.unit
                ),
                None => "no other finding is near".to_owned(),
            });
        }
        why
    }

    /// What is asked for; `None` where there is a finding.
    pub fn ask(&self, numbers: &Numbers) -> Option<String> {
        match &self.verdict {
            Verdict::Finding(_) => None,
            Verdict::Equal(ids) => {
                let names: Vec<String> = ids.iter().map(|id| format!("`{id}`")).collect();
                Some(format!(
                    "{} rank equal: choose between them",
                    names.join(" and ")
                ))
            }
            Verdict::Undetermined(ask) => Some(self.ask_line(ask, numbers)),
        }
    }

    fn ask_line(&self, ask: &Ask, numbers: &Numbers) -> String {
        let unit = self.unit;
        match ask {
            Ask::MoreReadings { more: 1 } => "one more reading is needed".to_owned(),
            Ask::MoreReadings { more } => format!("{more} more readings are needed"),
            Ask::Confirm(odd) => format!(
                "reading {} was {} {unit}, the others are near {}: was it heard right?",
                numbers.of(odd.reading),
                odd.value,
                odd.expected
            ),
            Ask::Reading { step } => format!("the reading of step `{step}` is needed"),
            Ask::FirstPeak { id, read } => format!(
                "the first peak read was {read} {unit}, less than `{id}` asks for: run it again \
                 and call out the highest value at the start"
            ),
            Ask::Numbers { over_range, blank } => format!(
                "{over_range} readings were over range and {blank} showed no number: \
                 choose another meter range or look at the connection"
            ),
            Ask::NoFinding { nearest } => self.hole(nearest.as_ref()),
        }
    }

    /// What a series that no finding covers shows.
    fn hole(&self, nearest: Option<&Nearest>) -> String {
        let behavior = self.behavior.name();
        let level = match self.behavior.level {
            Some(level) => format!("`{behavior}` at {level} {}", self.unit),
            None => format!("`{behavior}`"),
        };
        let nearest = match nearest {
            Some(near) => format!(
                "the nearest is `{}`, {} {} away",
                near.id, near.margin, self.unit
            ),
            None => "none is near".to_owned(),
        };
        format!("the table has no finding for {level}; {nearest}: decide and give the reason")
    }

    fn behavior_lines(&self, numbers: &Numbers) -> Vec<String> {
        let found = &self.behavior;
        let mut lines = vec![self.main_line(numbers)];
        if let (Some(peak), Some(BehaviorKind::Settles)) = (found.peak, found.kind()) {
            lines.push(format!(
                "it had a first peak of {} {} at {}",
                peak.value,
                self.unit,
                seconds(peak.at_ms)
            ));
        }
        let left_out = found.set_aside.iter();
        lines.extend(left_out.map(|odd| self.set_aside_line(odd, numbers)));
        lines
    }

    fn main_line(&self, numbers: &Numbers) -> String {
        let found = &self.behavior;
        let unit = self.unit;
        let level = text(found.level);
        let spread = text(found.spread);
        let deciding = numbers.span(found);
        match found.pattern {
            Pattern::TooFew { have, need } => {
                format!("{have} readings with a number, {need} are needed")
            }
            Pattern::Once { over_range: true } => "the one reading is over range".to_owned(),
            Pattern::Once { .. } => match found.level {
                Some(level) => format!("the one reading is {level} {unit}"),
                None => "the one reading has no number".to_owned(),
            },
            Pattern::Undetermined { .. } => {
                format!("{} readings show no clear behavior", found.readings)
            }
            Pattern::Known(BehaviorKind::NearZero) => {
                format!("readings {deciding} stay near zero, {level} {unit} in the middle")
            }
            Pattern::Known(BehaviorKind::Steady) => {
                format!("readings {deciding} lie within {spread} {unit} of {level} {unit}")
            }
            Pattern::Known(BehaviorKind::Settles) => format!(
                "it settled at {level} {unit} by {}: readings {deciding} lie within {spread} \
                 {unit} of it",
                seconds(found.settled_at_ms.unwrap_or(0))
            ),
            Pattern::Known(BehaviorKind::Unsteady) => self.hunting_line(found),
            Pattern::Known(BehaviorKind::Falling) => self.trend_line(found, "fall", numbers),
            Pattern::Known(BehaviorKind::Rising) => self.trend_line(found, "rise", numbers),
        }
    }

    fn hunting_line(&self, found: &Behavior) -> String {
        let (low, high) = found.between.unwrap_or_default();
        format!(
            "it hunts between {low} and {high} {}, around {}, and turned {} times in {} readings",
            self.unit,
            text(found.level),
            found.turns,
            found.readings
        )
    }

    fn trend_line(&self, found: &Behavior, word: &str, numbers: &Numbers) -> String {
        let deciding = numbers.span(found);
        format!(
            "readings {deciding} {word} by {} {} to {}, {} {} per minute",
            text(found.spread),
            self.unit,
            text(found.level),
            text(found.slope_per_min),
            self.unit
        )
    }

    fn set_aside_line(&self, odd: &SetAside, numbers: &Numbers) -> String {
        format!(
            "reading {} ({} {}) does not fit and was left out, probably {} was meant",
            numbers.of(odd.reading),
            odd.value,
            self.unit,
            odd.expected
        )
    }

    /// How the conditions of a finding that fits are met.
    fn row_lines(&self, row: &FindingRow, table: &Table) -> Vec<String> {
        let mut lines = Vec::new();
        if let (Some(range), Some(level)) = (row.level.get(table.variant), self.behavior.level) {
            lines.push(format!(
                "`{}` asks for a level of {range} {}: {level} lies inside",
                row.id, self.unit
            ));
        }
        if let (Some(range), Some(peak)) = (row.first_peak.get(table.variant), self.behavior.peak) {
            lines.push(format!(
                "`{}` asks for a first peak of {range} {}: {} lies inside",
                row.id, self.unit, peak.value
            ));
        }
        for condition in &row.readings {
            let words = condition_words(condition.when);
            lines.push(format!(
                "`{}` asks that step `{}` reads {words}: it does",
                row.id, condition.step
            ));
        }
        lines
    }
}

impl Behavior {
    /// One word, as `--json` writes it.
    pub fn name(&self) -> &'static str {
        match self.pattern {
            Pattern::TooFew { .. } => "too_few",
            Pattern::Once { .. } => "once",
            Pattern::Undetermined { .. } => "undetermined",
            Pattern::Known(BehaviorKind::NearZero) => "near_zero",
            Pattern::Known(BehaviorKind::Steady) => "steady",
            Pattern::Known(BehaviorKind::Settles) => "settles",
            Pattern::Known(BehaviorKind::Unsteady) => "unsteady",
            Pattern::Known(BehaviorKind::Falling) => "falling",
            Pattern::Known(BehaviorKind::Rising) => "rising",
        }
    }
}

fn condition_words(when: BranchWhen) -> String {
    match when {
        BranchWhen::Inside => "inside its limits".to_owned(),
        BranchWhen::BelowLimits => "below its limits".to_owned(),
        BranchWhen::AboveLimits => "above its limits".to_owned(),
        BranchWhen::OutsideLimits => "outside its limits".to_owned(),
        BranchWhen::OverRange => "over range".to_owned(),
        BranchWhen::Short => "short".to_owned(),
        BranchWhen::NoReading => "nothing".to_owned(),
        BranchWhen::Within(range) => format!("within {range}"),
    }
}

fn text(value: Option<Decimal>) -> String {
    value.map_or_else(|| "?".to_owned(), |value| value.to_string())
}

/// Milliseconds as seconds with one decimal.
fn seconds(ms: u64) -> String {
    format!("{}.{} s", ms / 1000, ms % 1000 / 100)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Amount, Base, Reading};

    fn named(numbers: &[u32]) -> String {
        let mut series = Series::new(Base::Volt.into());
        for (at, _) in numbers.iter().enumerate() {
            let reading = Reading {
                amount: Amount::Exact(Decimal::ONE),
                unit: Base::Volt.into(),
            };
            series.give(at as u64, reading).unwrap();
        }
        let found = Behavior {
            deciding: (0, numbers.len() - 1),
            ..Behavior::unknown(Pattern::Known(BehaviorKind::Steady), numbers.len())
        };
        Numbers::given(&series, numbers.iter().copied()).span(&found)
    }

    #[test]
    fn readings_are_named_by_their_numbers() {
        assert_eq!(named(&[3]), "3");
        assert_eq!(named(&[2, 3, 4]), "2 to 4");
        assert_eq!(named(&[1, 3, 4, 5, 6]), "1 and 3 to 6");
        assert_eq!(named(&[1, 3, 4, 8]), "1, 3 to 4 and 8");
    }
}
