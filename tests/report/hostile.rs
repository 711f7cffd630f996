//! Names, notes and words that would do harm: nothing of them is acted on, and nothing is lost.

use readback::report::{self, Clips, Report};
use readback::session::Order;

use crate::{played, strict};

const MARKUP: &str = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'&amp;</style>";

fn report_of(order: Order) -> Report {
    let folder = tempfile::tempdir().expect("a folder");
    let session = folder.path().join("session");
    let script = played::root().join("tests/shipped/refrigerant-circuit-not-certified.script");
    played::play(&script, order, &session);
    played::report(&session)
}

fn complaint(text: &str) -> Report {
    report_of(Order {
        complaint: Some(text.to_owned()),
        ..Order::default()
    })
}

#[test]
fn markup_is_shown_as_written() {
    let report = report_of(Order {
        reference: Some(MARKUP.to_owned()),
        unit: Some(MARKUP.to_owned()),
        site: Some(MARKUP.to_owned()),
        complaint: Some(MARKUP.to_owned()),
    });
    let page = report::html(&report, &Clips::new());
    assert!(!page.contains("<script"), "a script got in");
    assert!(!page.contains("<img"), "an image got in");
    let text = strict::read(&page);
    assert!(text.matches(MARKUP).count() >= 4, "{text}");
}

#[test]
fn control_characters_reach_no_terminal_and_no_page() {
    let report = complaint("a\u{0}b\u{1b}[2J\u{7}\u{9b}31m c\r\nd\u{202e}e\u{2066}f");
    let shown = "a\u{2400}b\u{241b}[2J\u{2407}[U+009B]31m c  d[U+202E]e[U+2066]f";
    let text = report::text(&report);
    let lines: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let expected: String = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(lines.contains(&expected), "{text:?}");
    assert!(!text.contains(|c: char| c.is_control() && c != '\n'));
    let page = report::html(&report, &Clips::new());
    assert!(strict::read(&page).contains(shown));
    let kept = report.job.complaint.expect("the complaint");
    assert!(
        kept.contains('\u{202e}'),
        "the JSON form keeps every letter"
    );
}

#[test]
fn endless_words_do_not_flood_the_page() {
    let report = complaint(&"word".repeat(250_000));
    let page = report::html(&report, &Clips::new());
    assert!(page.len() < 100_000, "{} bytes", page.len());
    assert!(page.contains("(1000000 letters in all)"));
    let json = serde_json::to_string(&report).expect("JSON");
    assert!(json.len() > 1_000_000);
}

#[test]
fn a_formula_in_a_cell_is_text() {
    let folder = tempfile::tempdir().expect("a folder");
    let session = folder.path().join("session");
    let script = played::root().join("tests/shipped/cold-benches-dry.script");
    played::play(&script, Order::default(), &session);
    let mut report = played::report(&session);
    let reading = report.readings.first_mut().expect("a reading");
    reading.quantity = "=HYPERLINK(\"x\")".to_owned();
    reading.value = Some("-5.20".to_owned());
    let table = report::csv(&report);
    assert!(
        table.contains("\"'=HYPERLINK(\"\"x\"\")\",-5.20,"),
        "{table}"
    );
}
