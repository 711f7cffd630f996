//! A series against the levels its table asks for, as an SVG picture.

use std::fmt::Write;

use rust_decimal::prelude::ToPrimitive;

use super::condition::ends;
use super::judge::Table;
use super::series::Series;
use super::verdict::Judgement;
use crate::procedure::FindingRow;
use crate::quantity::{Bound, Range};

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 400.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 150.0;
const TOP: f64 = 40.0;
const BOTTOM: f64 = 50.0;

/// Band colors, told apart also without red and green.
const COLORS: [&str; 6] = [
    "#3b76af", "#c46a1f", "#6b57a5", "#2b8a83", "#a34a6f", "#7a7a2e",
];

/// What a picture of a series covers: its time from zero, and its values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Seconds.
    pub end_s: f64,
    pub low: f64,
    pub high: f64,
}

/// Draws every reading at its time, the bands of the findings for the variant, and the level that
/// was found. Withdrawn readings are hollow; readings without a number are marked at the top.
///
/// The text is a complete SVG document, 720 by 400, that needs nothing else to be shown.
pub fn plot(series: &Series, table: &Table, judgement: &Judgement) -> String {
    let frame = Frame::around(series, table);
    let mut svg = String::new();
    // Writing to a string cannot fail.
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" \
         font-family=\"sans-serif\" font-size=\"12\">\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#ffffff\"/>\n"
    );
    let quantity = format!("{}, {}", table.quantity.name, series.unit());
    text(&mut svg, LEFT, 24.0, "start", "#1c1c1c", &quantity);
    draw_bands(&mut svg, &frame, table);
    draw_axes(&mut svg, &frame);
    draw_readings(&mut svg, &frame, series);
    draw_level(&mut svg, &frame, judgement);
    svg.push_str("</svg>\n");
    svg
}

impl Frame {
    /// All readings and every end of a band that is not far beyond them, from zero up.
    pub fn around(series: &Series, table: &Table) -> Frame {
        let mut low = 0.0_f64;
        let mut high = 0.0_f64;
        let mut end_s = 1.0_f64;
        for sample in series.samples() {
            end_s = end_s.max(sample.at_ms as f64 / 1000.0);
            for value in ends(sample.amount).into_iter().flat_map(|(a, b)| [a, b]) {
                let value = value.to_f64().unwrap_or(0.0);
                low = low.min(value);
                high = high.max(value);
            }
        }
        for (_, range) in bands(table) {
            for end in [range.low(), range.high()]
                .into_iter()
                .filter_map(Bound::value)
            {
                let end = end.to_f64().unwrap_or(0.0);
                if end <= 2.0 * high {
                    high = high.max(end);
                }
            }
        }
        let span = (high - low).max(f64::EPSILON);
        Frame {
            end_s,
            low,
            high: high + 0.08 * span,
        }
    }

    fn x(&self, seconds: f64) -> f64 {
        LEFT + (WIDTH - LEFT - RIGHT) * seconds / self.end_s
    }

    fn y(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share
    }
}

/// The findings of the variant that ask for a level.
pub fn bands<'a>(table: &'a Table) -> impl Iterator<Item = (&'a FindingRow, Range)> {
    table.findings.iter().filter_map(|row| {
        let only = row.only.as_ref();
        let applies = only.is_none_or(|only| only.contains(table.variant));
        let range = (*row.level.get(table.variant))?;
        applies.then_some((row, range))
    })
}

fn draw_bands(svg: &mut String, frame: &Frame, table: &Table) {
    let edge = |bound: Bound, open: f64| bound.value().and_then(|v| v.to_f64()).unwrap_or(open);
    for (i, (row, range)) in bands(table).enumerate() {
        let top = frame.y(edge(range.high(), frame.high));
        let bottom = frame.y(edge(range.low(), frame.low));
        let color = COLORS[i % COLORS.len()];
        let (left, width) = (LEFT, WIDTH - LEFT - RIGHT);
        let _ = writeln!(
            svg,
            "<rect x=\"{left}\" y=\"{top:.1}\" width=\"{width}\" height=\"{:.1}\" \
             fill=\"{color}\" fill-opacity=\"0.14\" stroke=\"{color}\" stroke-width=\"0.5\"/>",
            bottom - top
        );
        let middle = (top + bottom) / 2.0 + 4.0;
        let label = WIDTH - RIGHT + 8.0;
        text(svg, label, middle, "start", color, row.id.as_str());
    }
}

fn draw_axes(svg: &mut String, frame: &Frame) {
    let bottom = HEIGHT - BOTTOM;
    let right = WIDTH - RIGHT;
    let _ = writeln!(
        svg,
        "<path d=\"M{LEFT} {TOP}V{bottom}H{right}\" fill=\"none\" stroke=\"#1c1c1c\"/>"
    );
    for value in ticks(frame.low, frame.high) {
        let (x, y) = (LEFT - 8.0, frame.y(value) + 4.0);
        let label = tick(value, frame.high - frame.low);
        text(svg, x, y, "end", "#1c1c1c", &label);
    }
    for seconds in ticks(0.0, frame.end_s) {
        let (x, y) = (frame.x(seconds), bottom + 18.0);
        let label = tick(seconds, frame.end_s);
        text(svg, x, y, "middle", "#1c1c1c", &label);
    }
    let middle = (LEFT + right) / 2.0;
    text(svg, middle, HEIGHT - 12.0, "middle", "#1c1c1c", "time, s");
}

/// Round numbers from `low` to `high`, five to ten of them.
pub fn ticks(low: f64, high: f64) -> impl Iterator<Item = f64> {
    let rough = (high - low) / 5.0;
    let power = 10_f64.powf(rough.log10().floor());
    let steps = [5.0, 2.0, 1.0].map(|step| step * power);
    let step = steps
        .into_iter()
        .find(|step| *step <= rough)
        .unwrap_or(rough);
    let first = (low / step).ceil();
    let count = ((high / step).floor() - first).max(0.0) as u32;
    (0..=count.min(20)).map(move |k| (first + f64::from(k)) * step)
}

/// A number with as many decimals as the span needs.
pub fn tick(value: f64, span: f64) -> String {
    match span {
        span if span >= 20.0 => format!("{value:.0}"),
        span if span >= 2.0 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}

fn draw_readings(svg: &mut String, frame: &Frame, series: &Series) {
    let mut line = String::new();
    let mut marks = String::new();
    for sample in series.samples() {
        let x = frame.x(sample.at_ms as f64 / 1000.0);
        let Some((low, high)) = ends(sample.amount) else {
            text(&mut marks, x, TOP - 4.0, "middle", "#1c1c1c", "no number");
            continue;
        };
        let low = frame.y(low.to_f64().unwrap_or(0.0));
        let high = frame.y(high.to_f64().unwrap_or(0.0));
        let y = (low + high) / 2.0;
        let fill = if sample.withdrawn { "none" } else { "#1c1c1c" };
        let _ = writeln!(
            marks,
            "<path d=\"M{x:.1} {low:.1}V{high:.1}\" stroke=\"#1c1c1c\" stroke-width=\"2\"/>\n\
             <circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"{fill}\" stroke=\"#1c1c1c\"/>"
        );
        if !sample.withdrawn {
            let verb = if line.is_empty() { "M" } else { "L" };
            let _ = write!(line, "{verb}{x:.1} {y:.1}");
        }
    }
    let _ = writeln!(
        svg,
        "<path d=\"{line}\" fill=\"none\" stroke=\"#1c1c1c\" stroke-opacity=\"0.5\"/>"
    );
    svg.push_str(&marks);
}

fn draw_level(svg: &mut String, frame: &Frame, judgement: &Judgement) {
    let Some(level) = judgement.behavior.level else {
        return;
    };
    let y = frame.y(level.to_f64().unwrap_or(0.0));
    let right = WIDTH - RIGHT;
    let _ = writeln!(
        svg,
        "<path d=\"M{LEFT} {y:.1}H{right}\" stroke=\"#1c1c1c\" stroke-dasharray=\"6 4\"/>"
    );
    let label = format!("level {level}");
    text(svg, LEFT + 6.0, y - 5.0, "start", "#1c1c1c", &label);
}

fn text(svg: &mut String, x: f64, y: f64, anchor: &str, color: &str, content: &str) {
    let content = content
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    let _ = writeln!(
        svg,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" fill=\"{color}\">{content}</text>"
    );
}
