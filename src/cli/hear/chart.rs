//! The scores of a corpus by level, as an SVG picture.

use std::fmt::Write;

use super::scores::Scores;
use super::tally::{Row, Share};

const WIDTH: f64 = 640.0;
const ROW: f64 = 44.0;
const BAR: f64 = 22.0;
const LEFT: f64 = 80.0;
const RIGHT: f64 = 30.0;
const TOP: f64 = 70.0;

/// Right, wrong, rejected: told apart also without red and green.
const COLORS: [(&str, &str); 3] = [
    ("right", "#2b8a83"),
    ("wrong", "#c46a1f"),
    ("rejected", "#c9ccd1"),
];

/// One bar a level, the loudest noise last; a whisker over the interval of what was right.
///
/// The text is a complete SVG document that needs nothing else to be shown.
pub fn draw(scores: &Scores) -> String {
    let mut rows: Vec<&Row> = scores.by_level.iter().collect();
    rows.sort_by_key(|row| {
        row.name
            .trim()
            .split(' ')
            .next()
            .and_then(|db| db.parse::<i32>().ok())
    });
    // "clean" has no number and so comes first; after it the quietest noise.
    let quiet = rows.iter().take_while(|row| row.name == "clean").count();
    rows[quiet..].reverse();
    let height = TOP + ROW * rows.len() as f64 + 30.0;
    let mut svg = String::new();
    let _ = writeln!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" \
         font-family=\"sans-serif\" font-size=\"12\" fill=\"#1c1c1c\">\n\
         <rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#ffffff\"/>\n\
         <text x=\"{LEFT}\" y=\"24\">What was heard, by level of speech above noise: {}, {} \
         voices</text>",
        scores.engine, scores.split
    );
    for (at, (name, color)) in COLORS.into_iter().enumerate() {
        let x = LEFT + 90.0 * at as f64;
        let _ = writeln!(
            svg,
            "<rect x=\"{x}\" y=\"38\" width=\"12\" height=\"12\" fill=\"{color}\"/>\
             <text x=\"{:.1}\" y=\"48\">{name}</text>",
            x + 18.0
        );
    }
    for (at, row) in rows.iter().enumerate() {
        draw_row(&mut svg, row, TOP + ROW * at as f64);
    }
    for percent in (0..=100).step_by(20) {
        let at = x(f64::from(percent) / 100.0);
        let y = height - 12.0;
        let _ = writeln!(
            svg,
            "<text x=\"{at:.1}\" y=\"{y}\" text-anchor=\"middle\">{percent} %</text>"
        );
    }
    svg.push_str("</svg>\n");
    svg
}

fn draw_row(svg: &mut String, row: &Row, top: f64) {
    let middle = top + BAR / 2.0;
    let _ = writeln!(
        svg,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
        LEFT - 8.0,
        middle + 4.0,
        row.name.trim()
    );
    let shares = [row.right, row.wrong, row.rejected];
    let mut from = 0.0;
    for (Share { share, .. }, (_, color)) in shares.into_iter().zip(COLORS) {
        let _ = writeln!(
            svg,
            "<rect x=\"{:.1}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"{BAR}\" fill=\"{color}\"/>",
            x(from),
            x(share) - LEFT
        );
        from += share;
    }
    let _ = writeln!(
        svg,
        "<path d=\"M{:.1} {middle:.1}H{:.1}\" stroke=\"#1c1c1c\" stroke-width=\"2\"/>",
        x(row.right.low),
        x(row.right.high)
    );
}

fn x(share: f64) -> f64 {
    LEFT + (WIDTH - LEFT - RIGHT) * share
}
