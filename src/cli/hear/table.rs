//! The scores of a corpus as a table.

use super::scores::Scores;
use super::tally::{Row, Share};

/// Confusions shown; the JSON document has all.
const CONFUSIONS: usize = 20;

pub fn text(scores: &Scores) -> String {
    let said = scores.all.first().map_or(0, |all| all.said);
    let mut text = format!(
        "{} {}: {said} utterances of the {} voices, in percent with intervals of 95 %\n\n",
        scores.engine, scores.model, scores.split
    );
    let title = ["said", "right", "wrong", "rejected"];
    text += &format!(
        "{:24}{:>6}  {:22}{:22}{}\n",
        "", title[0], title[1], title[2], title[3]
    );
    let groups = [
        ("", &scores.all),
        ("by level", &scores.by_level),
        ("by kind and level", &scores.by_kind_and_level),
        ("by noise", &scores.by_noise),
        ("by voice", &scores.by_voice),
        ("by command", &scores.by_command),
        ("by number form", &scores.by_form),
    ];
    for (name, rows) in groups {
        text += &group(name, rows);
    }
    if !scores.confusions.is_empty() {
        text += "\naccepted instead\n";
    }
    for confusion in scores.confusions.iter().take(CONFUSIONS) {
        text += &format!(
            "{:6}  {} as {}\n",
            confusion.times, confusion.said, confusion.heard
        );
    }
    text + &false_accepts(scores) + &latency(scores)
}

fn group(name: &str, rows: &[Row]) -> String {
    let mut text = match name {
        "" => String::new(),
        name => format!("{name}\n"),
    };
    for row in rows {
        text += &format!(
            "  {:22}{:>6}  {:22}{:22}{}\n",
            row.name, row.said, row.right, row.wrong, row.rejected
        );
    }
    text
}

fn false_accepts(scores: &Scores) -> String {
    let found = &scores.false_accepts;
    let share = |name: &str, share: Option<Share>| {
        share.map_or_else(String::new, |s| format!("  of recordings of {name}: {s}\n"))
    };
    format!(
        "\naccepted of {:.2} hours of talk to others and noise: {} commands, {} values; {:.0} an \
         hour\n",
        found.hours, found.commands, found.readings, found.per_hour
    ) + &share("talk", found.talk)
        + &share("noise", found.noise)
}

fn latency(scores: &Scores) -> String {
    let latency = &scores.latency;
    format!(
        "\nfrom the end of speech to its end found: median {} ms, 95 % within {} ms; decoding: \
         median {} ms, 95 % within {} ms\n",
        latency.end_found_median,
        latency.end_found_95,
        latency.decoding_median,
        latency.decoding_95
    )
}
