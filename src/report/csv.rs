//! The readings as a table of comma-separated values (RFC 4180).

use super::model::{Corrected, Reading, Report};

const COLUMNS: [&str; 27] = [
    "number",
    "at",
    "ms",
    "procedure",
    "step",
    "section",
    "quantity",
    "value",
    "low",
    "high",
    "special",
    "unit",
    "limits",
    "limits_unit",
    "judged",
    "standing",
    "replaces",
    "words",
    "confidence",
    "clip",
    "typed",
    "corrected",
    "corrected_unit",
    "corrected_judged",
    "point",
    "serial",
    "session",
];

/// Every reading in a line, withdrawn ones too, under a line of column names.
///
/// A text that a spreadsheet would take for a formula begins with `'`, as is common practice (no
/// source); numbers stand as they were given.
pub fn csv(report: &Report) -> String {
    let mut table = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    // Writing to memory cannot fail, and every record has as many fields as there are columns.
    let _ = table.write_record(COLUMNS);
    for reading in &report.readings {
        let _ = table.write_record(fields(report, reading));
    }
    let bytes = table.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

fn fields(report: &Report, reading: &Reading) -> [String; COLUMNS.len()] {
    let text = |text: &Option<String>| harmless(text.as_deref().unwrap_or_default());
    let number = |number: &Option<String>| number.clone().unwrap_or_default();
    let heard = reading.heard.as_ref();
    let corrected = reading.corrected.as_ref();
    [
        reading.number.to_string(),
        reading.at.clone(),
        reading.ms.to_string(),
        harmless(&reading.procedure),
        harmless(&reading.step),
        text(&reading.section),
        harmless(&reading.quantity),
        number(&reading.value),
        number(&reading.low),
        number(&reading.high),
        text(&reading.special),
        harmless(&reading.unit),
        text(&reading.limits),
        text(&reading.limits_unit),
        named(&reading.judged),
        named(&reading.standing),
        reading.replaces.map(|n| n.to_string()).unwrap_or_default(),
        heard
            .map(|heard| harmless(&heard.words))
            .unwrap_or_default(),
        heard
            .and_then(|heard| heard.confidence)
            .map(|c| c.to_string())
            .unwrap_or_default(),
        text(&heard.and_then(|heard| heard.clip.clone())),
        reading.typed.to_string(),
        corrected.map(new_value).unwrap_or_default(),
        corrected
            .map(|corrected| harmless(&corrected.unit))
            .unwrap_or_default(),
        corrected
            .map(|corrected| named(&corrected.judged))
            .unwrap_or_default(),
        text(&reading.point),
        text(&report.job.serial),
        harmless(&report.record.session),
    ]
}

/// The number as it was given; what is no single value in words.
fn new_value(corrected: &Corrected) -> String {
    let words = || harmless(&corrected.value);
    corrected.number.clone().unwrap_or_else(words)
}

/// The name a value has in the JSON form.
fn named(value: &impl serde::Serialize) -> String {
    let value = serde_json::to_value(value).unwrap_or_default();
    value.as_str().unwrap_or_default().to_owned()
}

fn harmless(text: &str) -> String {
    let text = text.replace('\0', "\u{2400}");
    match text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        true => format!("'{text}"),
        false => text,
    }
}
