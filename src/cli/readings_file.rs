//! Readings from a table of times and values, and single readings from the command line.
//!
//! A table has the columns `t_s,value`: seconds since the watch began, and what the display showed
//! in the unit of the quantity. A value is a number, `220..240` ("hunting between"), `about 240`,
//! `over_range`, `short` or `no_reading`; an empty value is `no_reading`.

use std::path::Path;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::{Failure, text_file};
use crate::diagnosis::Series;
use crate::quantity::{Amount, Reading, Unit};

/// The first line of a table of readings.
const HEADER: &str = "t_s,value";

/// Reads a table of readings from a file, or from stdin for `-`.
///
/// # Errors
///
/// Names the file and the line, what was found and what was expected.
pub fn open(path: &Path, unit: Unit) -> Result<Series, Failure> {
    let (name, text) = if path == Path::new("-") {
        ("stdin".to_owned(), text_file::read_stdin()?)
    } else {
        let text = text_file::read(path, text_file::BY_PROGRAM)?;
        (format!("`{}`", path.display()), text)
    };
    parse(&text, unit).map_err(|problem| match problem {
        Problem::Line(number, why) => Failure::input(format_args!("{name}, line {number}: {why}")),
        Problem::Empty => Failure::input(format_args!(
            "{name} has no readings, expected `{HEADER}` and one reading a line"
        )),
    })
}

enum Problem {
    Line(usize, String),
    Empty,
}

fn parse(text: &str, unit: Unit) -> Result<Series, Problem> {
    let text = text.trim_start_matches('\u{feff}');
    let lines = text.lines().map(str::trim).enumerate();
    let mut lines = lines.filter(|(_, line)| !line.is_empty());
    let (index, header) = lines.next().ok_or(Problem::Empty)?;
    if header.replace(' ', "") != HEADER {
        let why = format!("found `{header}`, expected the columns `{HEADER}`");
        return Err(Problem::Line(index + 1, why));
    }
    let mut series = Series::new(unit);
    for (index, line) in lines {
        let at_line = |why| Problem::Line(index + 1, why);
        let (at_ms, amount) = row(line, unit).map_err(at_line)?;
        let reading = Reading { amount, unit };
        let given = series.give(at_ms, reading);
        given.map_err(|error| at_line(error.to_string()))?;
    }
    match series.samples().is_empty() {
        true => Err(Problem::Empty),
        false => Ok(series),
    }
}

fn row(line: &str, unit: Unit) -> Result<(u64, Amount), String> {
    let (time, value) = line
        .split_once(',')
        .ok_or_else(|| format!("found `{line}`, expected a time and a value such as `12.5,240`"))?;
    let amount = amount(value.trim(), unit)?;
    Ok((milliseconds(time.trim())?, amount))
}

fn milliseconds(time: &str) -> Result<u64, String> {
    time.parse::<Decimal>()
        .ok()
        .and_then(|seconds| seconds.checked_mul(Decimal::ONE_THOUSAND)?.round().to_u64())
        .ok_or_else(|| {
            format!("found the time `{time}`, expected seconds from 0 up, such as `12.5`")
        })
}

/// What a display showed, as a table or a flag writes it.
///
/// # Errors
///
/// Says what was found and every form that is expected.
pub fn amount(value: &str, unit: Unit) -> Result<Amount, String> {
    let number = |text: &str| {
        let number = text.trim().parse::<Decimal>().ok();
        number.filter(|number| number.abs() < Series::LARGEST)
    };
    let amount = match value {
        "over_range" => Some(Amount::OverRange),
        "short" => Some(Amount::Short),
        "no_reading" | "" => Some(Amount::None),
        _ => None,
    };
    let about = || Some(Amount::About(number(value.strip_prefix("about ")?)?));
    let between = || {
        let (low, high) = value.split_once("..")?;
        let (low, high) = (number(low)?, number(high)?);
        (low <= high).then_some(Amount::Between(low, high))
    };
    amount
        .or_else(|| number(value).map(Amount::Exact))
        .or_else(about)
        .or_else(between)
        .ok_or_else(|| {
            format!(
                "found the value `{value}`, expected a number in `{unit}`, a range such as \
                 `220..240`, `about 240`, `over_range`, `short` or `no_reading`"
            )
        })
}
