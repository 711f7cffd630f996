//! The report for a terminal: plain text, at most 80 letters a line.

use super::holds;
use super::job;
use super::model::*;
use super::present::{self, Fact};
use super::reasons;
use super::review;
use super::wording::{elapsed, took};

const WIDTH: usize = 80;

/// The whole report as text.
pub fn text(report: &Report) -> String {
    let report = report.presentable();
    let mut page = Page::default();
    page.line(&format!("SERVICE REPORT  {}", report.procedure.title));
    page.paragraph("", &present::record_in_words(&report.record));
    for fault in &report.record.faults {
        page.paragraph("! ", fault);
    }
    page.facts("Result", &present::result(&report));
    page.facts("Job", &job::facts(&report));
    page.list("Unresolved", &report.unresolved);
    findings(&mut page, &report);
    readings(&mut page, &report);
    page.list("After the work", &present::after_work(&report));
    holds(&mut page, &report);
    cautions(&mut page, &report);
    steps(&mut page, &report);
    page.list("Notes", &present::notes(&report));
    page.list("After the session", &review::lines(&report));
    page.facts("Record", &present::record(&report));
    page.text
}

fn findings(page: &mut Page, report: &Report) {
    if report.findings.is_empty() {
        return;
    }
    page.heading("Findings");
    for finding in &report.findings {
        let stands = match finding.stands {
            true => "",
            false => " (replaced later)",
        };
        page.paragraph(
            &format!("{:>7}  ", elapsed(finding.ms)),
            &format!("{}{stands}", reasons::verdict(finding)),
        );
        for reason in reasons::reasons(finding) {
            page.paragraph("         - ", &reason);
        }
    }
}

fn readings(page: &mut Page, report: &Report) {
    if report.readings.is_empty() {
        return;
    }
    page.heading("Readings");
    let widest = |of: fn(&Reading) -> String| {
        let lengths = report.readings.iter().map(|r| of(r).chars().count());
        lengths.max().unwrap_or(0)
    };
    let name = widest(|reading| reading.quantity.clone());
    let value = widest(present::value);
    let number = widest(|reading| reading.number.to_string());
    for reading in &report.readings {
        let remarks = present::remarks(reading);
        page.line(
            format!(
                "{:>7}  {:>number$}.  {:<name$}  {:>value$}  {}",
                elapsed(reading.ms),
                reading.number,
                reading.quantity,
                present::value(reading),
                present::against_limits(reading)
            )
            .trim_end(),
        );
        if !remarks.is_empty() {
            page.paragraph("         - ", &remarks.join("; "));
        }
    }
}

fn holds(page: &mut Page, report: &Report) {
    if report.holds.is_empty() {
        return;
    }
    page.heading("Isolation and other hold points");
    for hold in &report.holds {
        page.paragraph(&format!("{:>7}  ", elapsed(hold.ms)), &hold.says);
        page.paragraph("         - ", &holds::released(hold));
        for point in &hold.points {
            let proves = holds::proves(point).map(|proves| format!(", {proves}"));
            let proves = proves.unwrap_or_default();
            let (says, value, within) = (&point.says, &point.value, &point.within);
            let line = format!(
                "{says} {value} ({within}), reading {}{proves}",
                point.reading
            );
            page.paragraph("         - ", &line);
        }
    }
}

fn cautions(page: &mut Page, report: &Report) {
    page.heading("Cautions");
    for caution in &report.cautions {
        let when = caution
            .acknowledged_ms
            .map_or_else(|| "not".to_owned(), elapsed);
        let signal = present::signal(caution);
        page.paragraph(
            &format!("{when:>7}  "),
            &format!("{signal}{}", caution.text),
        );
    }
}

fn steps(page: &mut Page, report: &Report) {
    page.heading("Work, step by step");
    let mut section = None;
    for step in &report.steps {
        if step.section != section {
            section.clone_from(&step.section);
            page.paragraph("", section.as_deref().unwrap_or(&report.procedure.title));
        }
        let result = present::step_result(step);
        let end = match result.is_empty() {
            true => String::new(),
            false => format!(" [{result}]"),
        };
        let start = format!("{:>7}  {:>11}  ", elapsed(step.ms), took(step.took_ms));
        page.paragraph(&start, &format!("{}{end}", step.says));
    }
}

#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    fn heading(&mut self, heading: &str) {
        self.text.push('\n');
        self.line(heading);
    }

    /// Words broken into lines; `start` stands before the first and leaves its room on the others.
    fn paragraph(&mut self, start: &str, words: &str) {
        let room = start.chars().count();
        let mut line = start.to_owned();
        let mut used = room;
        for word in words.split_whitespace() {
            let length = word.chars().count();
            if used > room && used + 1 + length > WIDTH {
                self.line(line.trim_end());
                line = " ".repeat(room);
                used = room;
            }
            if used > room {
                line.push(' ');
                used += 1;
            }
            line.push_str(word);
            used += length;
        }
        self.line(line.trim_end());
    }

    fn facts(&mut self, heading: &str, facts: &[Fact]) {
        self.heading(heading);
        let widest = facts.iter().map(|fact| fact.name.len()).max().unwrap_or(0);
        for fact in facts {
            let start = format!("  {:<widest$}  ", fact.name);
            let clip = fact.clip.as_ref().map(|clip| format!(" ({clip})"));
            let value = format!("{}{}", fact.value, clip.unwrap_or_default());
            self.paragraph(&start, &value);
        }
    }

    fn list(&mut self, heading: &str, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.heading(heading);
        for item in items {
            self.paragraph("  - ", item);
        }
    }
}
