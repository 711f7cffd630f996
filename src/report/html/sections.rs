//! The parts of the page that are read rather than looked up.

use maud::{Markup, PreEscaped, html as markup};

use super::{Clips, clip, facts};
use crate::report::job;
use crate::report::model::{Finding, Report};
use crate::report::present;
use crate::report::reasons;
use crate::report::review;
use crate::report::wording::elapsed;

pub(super) fn job(report: &Report, clips: &Clips) -> Markup {
    markup! {
        section {
            h2 { "Job" }
            (facts(&job::facts(report), clips))
        }
    }
}

pub(super) fn unresolved(report: &Report) -> Markup {
    markup! {
        section.unresolved {
            h2 { "Unresolved" }
            @if report.unresolved.is_empty() {
                p { "Nothing was left open." }
            } @else {
                ul { @for open in &report.unresolved { li { (open) } } }
            }
        }
    }
}

pub(super) fn findings(report: &Report) -> Markup {
    markup! {
        @if !report.findings.is_empty() {
            section {
                h2 { "Findings" }
                @for found in &report.findings { (finding(found)) }
            }
        }
    }
}

fn finding(finding: &Finding) -> Markup {
    markup! {
        article.finding.replaced[!finding.stands] {
            h3 {
                span.clock { (elapsed(finding.ms)) }
                " " (reasons::verdict(finding))
                @if !finding.stands { " " span.label { "replaced later" } }
            }
            ul { @for reason in reasons::reasons(finding) { li { (reason) } } }
            @if let Some(chart) = finding.chart.as_ref().filter(|_| finding.stands) {
                figure {
                    (PreEscaped(chart))
                    figcaption {
                        "The readings against the levels of the findings. Hollow: withdrawn."
                    }
                }
            }
        }
    }
}

pub(super) fn after_work(report: &Report) -> Markup {
    markup! {
        section {
            h2 { "After the work" }
            ul { @for line in present::after_work(report) { li { (line) } } }
        }
    }
}

pub(super) fn notes(report: &Report, clips: &Clips) -> Markup {
    markup! {
        @if !report.notes.is_empty() {
            section {
                h2 { "Notes" }
                ul {
                    @for note in &report.notes {
                        li {
                            span.clock { (elapsed(note.ms)) } " "
                            @match (&note.written, note.note.words.trim()) {
                                (Some(text), _) => (text),
                                (None, "") => em { "spoken, without text" },
                                (None, words) => (words),
                            }
                            @if note.written.is_some() {
                                " (written after the session; recorded as: "
                                (present::spoken(&note.note)) ")"
                            }
                            " " (clip(note.note.clip.as_deref(), clips))
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn reviews(report: &Report) -> Markup {
    markup! {
        @if !report.reviews.is_empty() {
            section {
                h2 { "After the session" }
                ul { @for line in review::lines(report) { li { (line) } } }
            }
        }
    }
}

pub(super) fn record(report: &Report) -> Markup {
    markup! {
        section.record {
            h2 { "Record" }
            (facts(&present::record(report), &Clips::new()))
            p.small {
                "The record is a chain of lines, each bound to the line before by its SHA-256. The "
                "head is the hash of the last line: kept elsewhere, it shows later whether the end "
                "was cut off."
            }
        }
    }
}
