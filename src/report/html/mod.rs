//! The report as one HTML file that needs nothing else: it is read in a mail, on a screen and on
//! paper, asks nothing of any network, and plays the clips it carries.

mod gauge;
mod sections;
mod tables;

use std::collections::BTreeMap;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};
use sha2::{Digest, Sha256};

use super::model::Report;
use super::present::{self, Fact};
use super::reasons;
use super::wording::moment;

/// WAV files by their name in the record: those that go inside.
pub type Clips = BTreeMap<String, Vec<u8>>;

/// Without scripts, with no style but its own, and with nothing from elsewhere, whatever a text of
/// the report says (W3C Content Security Policy Level 3: a style is allowed by its hash).
fn policy() -> String {
    let style = STANDARD.encode(Sha256::digest(STYLE));
    format!("default-src 'none'; style-src 'sha256-{style}'; img-src data:; media-src data:")
}

/// Letters of a fact that has a line of its own.
const LONG: usize = 52;

const STYLE: &str = include_str!("report.css");

/// The whole report as one HTML document, with the clips that are given inside it.
pub fn html(report: &Report, clips: &Clips) -> String {
    let report = report.presentable();
    let title = match &report.job.reference {
        Some(reference) => format!("{}, {reference}", report.procedure.title),
        None => report.procedure.title.clone(),
    };
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy());
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Service report: " (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    (standing(&report))
                    (head(&report))
                    (sections::job(&report, clips))
                    (sections::unresolved(&report))
                    (sections::findings(&report))
                    (tables::readings(&report, clips))
                    (sections::after_work(&report))
                    (tables::holds(&report))
                    (tables::cautions(&report))
                    (tables::steps(&report))
                    (sections::notes(&report, clips))
                    (sections::reviews(&report))
                    (sections::record(&report))
                }
            }
        }
    };
    page.into_string()
}

fn head(report: &Report) -> Markup {
    let outcome = &report.outcome;
    markup! {
        header {
            p.kind {
                span { "Service report" }
                span { (moment(&report.time.began)) }
            }
            h1 { (report.procedure.title) }
            p.conclusion { (present::conclusion(outcome)) }
            @if let Some(now) = reasons::now(report) { p.conclusion { (now) } }
            @if !outcome.parts.is_empty() || outcome.contact.is_some() {
                ul.next {
                    @for part in &outcome.parts {
                        li { span.label { "Part" } (part) }
                    }
                    @if let Some(contact) = &outcome.contact {
                        li { span.label { "To be called" } (contact) }
                    }
                }
            }
        }
    }
}

/// Whether the record may be relied on, before anything that rests on it.
fn standing(report: &Report) -> Markup {
    let record = &report.record;
    markup! {
        div.standing.broken[!record.verified] {
            p { (present::record_in_words(record)) }
            @if !record.faults.is_empty() {
                ul { @for fault in &record.faults { li { (fault) } } }
            }
        }
    }
}

fn facts(facts: &[Fact], clips: &Clips) -> Markup {
    markup! {
        dl.facts {
            @for fact in facts {
                div.wide[fact.clip.is_some() || fact.value.chars().count() > LONG] {
                    dt { (fact.name) }
                    dd {
                        (fact.value)
                        @if fact.clip.is_some() { " " (clip(fact.clip.as_deref(), clips)) }
                    }
                }
            }
        }
    }
}

/// A player for a clip that is inside the file; its name otherwise.
fn clip(name: Option<&str>, clips: &Clips) -> Markup {
    let Some(name) = name else { return markup! {} };
    markup! {
        @match clips.get(name) {
            Some(wav) => audio controls preload="none"
                src=(format!("data:audio/wav;base64,{}", STANDARD.encode(wav))) {},
            None => span.clip { (name) },
        }
    }
}
