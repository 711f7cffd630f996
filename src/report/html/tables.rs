//! The parts of the page that are looked up: readings, hold points, cautions, steps.

use maud::{Markup, html as markup};

use super::{Clips, clip, gauge};
use crate::report::holds;
use crate::report::model::{Done, Hold, Judged, Reading, Report, Step};
use crate::report::present;
use crate::report::wording::{elapsed, took};

pub(super) fn readings(report: &Report, clips: &Clips) -> Markup {
    markup! {
        @if !report.readings.is_empty() {
            section {
                h2 { "Readings" }
                table.readings {
                    thead {
                        tr {
                            th scope="col" { "Time" }
                            th.number scope="col" { "No." }
                            th scope="col" { "Quantity" }
                            th.number scope="col" { "Reading" }
                            th scope="col" { "Limits" }
                            th scope="col" { "Remarks" }
                        }
                    }
                    tbody { @for one in &report.readings { (reading(one, clips)) } }
                }
            }
        }
    }
}

fn reading(reading: &Reading, clips: &Clips) -> Markup {
    let outside = matches!(
        reading.judged,
        Judged::Below | Judged::Above | Judged::NoValue
    );
    let heard = reading.heard.as_ref();
    markup! {
        tr.withdrawn[!reading.standing.counts()].outside[outside] {
            td { (elapsed(reading.ms)) }
            td.number { (reading.number) }
            td {
                (reading.quantity)
                @if let Some(section) = other_section(reading) { " " span.small { (section) } }
            }
            td.number { (present::value(reading)) }
            td.limits {
                @if reading.judged != Judged::NoLimits {
                    (gauge::gauge(reading))
                    span { (present::against_limits(reading)) }
                }
            }
            td {
                @for remark in present::remarks(reading) { span.remark { (remark) } " " }
                @if let Some(heard) = heard {
                    @if !reading.standing.counts() {
                        span.remark { "heard: \u{201c}" (heard.words) "\u{201d}" } " "
                    }
                    @if !clips.is_empty() { (clip(heard.clip.as_deref(), clips)) }
                }
            }
        }
    }
}

/// The section of a reading, unless it is called as the quantity is.
fn other_section(reading: &Reading) -> Option<&str> {
    let section = reading.section.as_deref()?;
    (section.to_lowercase() != reading.quantity.to_lowercase()).then_some(section)
}

pub(super) fn holds(report: &Report) -> Markup {
    markup! {
        @if !report.holds.is_empty() {
            section {
                h2 { "Isolation and other hold points" }
                @for one in &report.holds { (hold(one)) }
            }
        }
    }
}

fn hold(hold: &Hold) -> Markup {
    markup! {
        article.hold.open[hold.released_at.is_none()] {
            h3 { span.clock { (elapsed(hold.ms)) } " " (hold.says) }
            p { (holds::released(hold)) }
            @if !hold.points.is_empty() {
                table {
                    thead {
                        tr {
                            th scope="col" { "Measured" }
                            th.number scope="col" { "Reading" }
                            th scope="col" { "Proves it within" }
                        }
                    }
                    tbody {
                        @for point in &hold.points {
                            tr.outside[holds::proves(point).is_some()] {
                                td { (point.says) " " span.small { "reading " (point.reading) } }
                                td.number { (point.value) }
                                td {
                                    (point.within)
                                    @if let Some(proves) = holds::proves(point) { " " span.remark { (proves) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn cautions(report: &Report) -> Markup {
    markup! {
        section {
            h2 { "Cautions" }
            table {
                thead {
                    tr { th scope="col" { "Acknowledged" } th scope="col" { "Caution" } }
                }
                tbody {
                    @for caution in &report.cautions {
                        tr.outside[caution.acknowledged_ms.is_none()] {
                            td { (caution.acknowledged_ms.map_or_else(|| "not".to_owned(), elapsed)) }
                            td { b { (present::signal(caution)) } (caution.text) }
                        }
                    }
                }
            }
        }
    }
}

pub(super) fn steps(report: &Report) -> Markup {
    let mut groups: Vec<(Option<&str>, Vec<&Step>)> = Vec::new();
    for step in &report.steps {
        let section = step.section.as_deref();
        match groups.last_mut() {
            Some((same, steps)) if *same == section => steps.push(step),
            _ => groups.push((section, vec![step])),
        }
    }
    markup! {
        section {
            h2 { "Work, step by step" }
            table.steps {
                thead {
                    tr {
                        th scope="col" { "Time" }
                        th scope="col" { "Step" }
                        th scope="col" { "Result" }
                        th.number scope="col" { "Took" }
                    }
                }
                @for (section, steps) in groups {
                    tbody {
                        tr.group {
                            th colspan="3" scope="rowgroup" {
                                (section.unwrap_or(&report.procedure.title))
                            }
                            th.number { (took(steps.iter().map(|s| s.took_ms).sum())) }
                        }
                        @for one in steps { (step(one)) }
                    }
                }
            }
        }
    }
}

fn step(step: &Step) -> Markup {
    markup! {
        tr.outside[step.done == Done::Skipped] {
            td { (elapsed(step.ms)) }
            td { (step.says) }
            td { (present::step_result(step)) }
            td.number { (took(step.took_ms)) }
        }
    }
}
