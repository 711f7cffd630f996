//! Many sessions as tables and charts for a terminal.

use std::fmt::Write;

use super::verify::counted;
use crate::archive::{Compared, Listed, Tally};
use crate::report::fit;

/// Columns of a chart.
const CHART: usize = 24;

pub fn list(sessions: &[Listed]) -> String {
    let mut text = String::new();
    for session in sessions {
        let Listed {
            folder,
            began,
            title,
            ended,
            ..
        } = session;
        let unit = session.serial.as_ref().or(session.unit.as_ref());
        let unit = fit(unit.map_or("-", String::as_str));
        let minutes = (session.worked_ms + 30_000) / 60_000;
        let (began, folder, title) = (moment(began), fit(folder), fit(title));
        let _ = writeln!(
            text,
            "{began}  {unit:<12}  {title:<28}  {minutes:>4} min  {ended:<10}  {folder}"
        );
        if let Some(conclusion) = &session.conclusion {
            let _ = writeln!(text, "                    {}", fit(conclusion));
        }
    }
    text + &counted(sessions.len() as u64, "session") + "\n"
}

pub fn readings(readings: &[Compared]) -> String {
    let same = |a: &Compared, b: &Compared| {
        (&a.procedure, &a.step, &a.quantity) == (&b.procedure, &b.step, &b.quantity)
    };
    let mut text = String::new();
    for rows in readings.chunk_by(same) {
        let first = &rows[0];
        let limits = first.limits.as_ref();
        let limits = limits.map_or_else(String::new, |limits| format!(", limits {}", fit(limits)));
        let (procedure, step) = (fit(&first.procedure), fit(&first.step));
        let _ = writeln!(
            text,
            "{procedure} / {step}: {}{limits}",
            fit(&first.quantity)
        );
        let chart = Chart::of(rows);
        for row in rows {
            let value = row.value.as_deref().unwrap_or("-").replace('_', " ");
            let judged = match row.judged.as_str() {
                "no_limits" | "no_value" => "",
                side => side,
            };
            let serial = fit(row.serial.as_deref().unwrap_or("-"));
            let (began, value, chart) = (moment(&row.began), fit(&value), chart.line(row));
            let line = format!("  {began}  {serial:<12}  {value:>14}  {judged:<6}  {chart}");
            let _ = writeln!(text, "{}", line.trim_end());
        }
    }
    match text.is_empty() {
        true => "no readings\n".to_owned(),
        false => text,
    }
}

/// Values of one unit on a line from the smallest to the largest.
struct Chart<'a> {
    unit: &'a str,
    low: f64,
    high: f64,
}

impl<'a> Chart<'a> {
    fn of(rows: &'a [Compared]) -> Chart<'a> {
        let numbers: Vec<(f64, &str)> = rows.iter().filter_map(number).collect();
        let unit = numbers.first().map_or("", |(_, unit)| *unit);
        let of_unit = || {
            numbers
                .iter()
                .filter(|(_, of)| *of == unit)
                .map(|(value, _)| *value)
        };
        Chart {
            unit,
            low: of_unit().fold(f64::INFINITY, f64::min),
            high: of_unit().fold(f64::NEG_INFINITY, f64::max),
        }
    }

    fn line(&self, row: &Compared) -> String {
        let Some((value, _)) = number(row).filter(|(_, unit)| *unit == self.unit) else {
            return String::new();
        };
        let span = self.high - self.low;
        let share = match span > 0.0 {
            true => (value - self.low) / span,
            false => 0.5,
        };
        let at = (0..CHART)
            .find(|column| share * (CHART - 1) as f64 <= *column as f64 + 0.5)
            .unwrap_or(CHART - 1);
        let side = |columns: usize| "\u{b7}".repeat(columns);
        format!("{}\u{25cf}{}", side(at), side(CHART - 1 - at))
    }
}

fn number(row: &Compared) -> Option<(f64, &str)> {
    let value = row.value.as_deref()?;
    let (value, unit) = value.split_once(' ').unwrap_or((value, ""));
    Some((value.parse().ok()?, unit))
}

pub fn tally(tally: &Tally) -> String {
    let mut text = counted(tally.sessions as u64, "session");
    text += "\n\nFindings, by how many sessions they stand in\n";
    for row in &tally.findings {
        let (procedure, step, finding) = (fit(&row.procedure), fit(&row.step), fit(&row.finding));
        let _ = writeln!(
            text,
            "  {:>6}  {procedure} / {step}: {finding}: {}",
            row.sessions,
            fit(&row.says)
        );
    }
    text += none(tally.findings.is_empty());
    text += "\nSteps: median time, longest, sessions, of them repeated in\n";
    for row in &tally.steps {
        let _ = writeln!(
            text,
            "  {:>8}  {:>8}  {:>6}  {:>6}  {} / {}",
            seconds(row.median_ms),
            seconds(row.longest_ms),
            row.sessions,
            row.repeated,
            fit(&row.procedure),
            fit(&row.step)
        );
    }
    text += none(tally.steps.is_empty());
    text += "\nMisheard: as heard, answered with \"negative\", meant nothing there\n";
    for row in &tally.misheard {
        let words = fit(&row.words);
        let _ = writeln!(
            text,
            "  {:>6}  {:>6}  {words}",
            row.withdrawn, row.meant_nothing
        );
    }
    text + none(tally.misheard.is_empty())
}

fn none(empty: bool) -> &'static str {
    if empty { "  none\n" } else { "" }
}

fn seconds(ms: i64) -> String {
    format!("{} s", (ms + 500) / 1000)
}

/// The day and the minute of a moment in RFC 3339.
fn moment(wall: &str) -> String {
    match (wall.get(..10), wall.get(11..16)) {
        (Some(day), Some(time)) => format!("{day} {time}"),
        _ => fit(wall),
    }
}
