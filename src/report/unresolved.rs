//! What a session leaves to do or to look at.

use super::model::{Done, Judged, Report, Standing, Verdict};
use super::wording::counted;
use crate::session::{Ended, JobLine, State};

/// Everything open, in plain sentences, the most serious first.
pub(super) fn list(report: &Report, state: &State) -> Vec<String> {
    let mut open = Vec::new();
    open.extend(ending(report, state));
    open.extend(judgements(report));
    open.extend(judged_again(report));
    open.extend(corrected_out(report));
    open.extend(holds(report));
    open.extend(skipped(report));
    open.extend(readings(report));
    open.extend(work(report));
    open.extend(hearing(report));
    open.extend(report.hearing.put_right.iter().map(|number| {
        format!(
            "Utterance {number} was given other words after the session; what came of it stays as it \
             was recorded."
        )
    }));
    open
}

fn ending(report: &Report, state: &State) -> Option<String> {
    let at = state.position.as_ref().map(|at| at.step.to_string());
    let place = at.map_or_else(
        || "before the first step".to_owned(),
        |step| format!("at step \"{step}\""),
    );
    match report.outcome.ended {
        Ended::Finished => None,
        Ended::Stopped if report.outcome.refused.is_some() => {
            Some("The procedure was not begun.".to_owned())
        }
        Ended::Stopped => Some(format!("The session was stopped {place}.")),
        Ended::Incomplete => Some(format!("The session ends {place}, without a conclusion.")),
    }
}

fn judgements(report: &Report) -> Vec<String> {
    let standing = report.findings.iter().filter(|finding| finding.stands);
    standing
        .filter_map(|finding| {
            let missing = finding
                .missing
                .as_deref()
                .unwrap_or("nothing decides between them");
            match finding.verdict {
                Verdict::Undetermined => {
                    Some(format!("\"{}\": no finding; {missing}.", finding.step))
                }
                Verdict::Equal => Some(format!(
                    "\"{}\": several findings rank equal; {missing}.",
                    finding.step
                )),
                Verdict::Finding | Verdict::Overridden => None,
            }
        })
        .collect()
}

/// What was inside its limits and is not by what it was corrected to, be it a proof or a test.
fn corrected_out(report: &Report) -> Vec<String> {
    let counting = report.readings.iter().filter(|row| row.standing.counts());
    counting
        .filter(|row| row.judged == Judged::Inside)
        .filter_map(|row| {
            let corrected = row.corrected.as_ref()?;
            let side = match corrected.judged {
                Judged::Below => "below",
                Judged::Above => "above",
                Judged::NoValue => "which shows no value for",
                Judged::Inside | Judged::NoLimits => return None,
            };
            Some(format!(
                "Reading {}, \"{}\", was corrected to {}, {side} its limits: what was proved or \
                 decided by it no longer is.",
                row.number, row.step, corrected.value
            ))
        })
        .collect()
}

fn judged_again(report: &Report) -> Vec<String> {
    let standing = report.findings.iter().filter(|finding| finding.stands);
    let other = standing.filter(|finding| {
        let again = finding.again.as_ref();
        again.is_some_and(|again| again.findings != finding.findings)
    });
    other
        .map(|finding| {
            format!(
                "\"{}\": with the values corrected after the session the finding is another one.",
                finding.step
            )
        })
        .collect()
}

fn holds(report: &Report) -> Vec<String> {
    let held = report.holds.iter().enumerate().filter(|(index, hold)| {
        let later = &report.holds[index + 1..];
        let again = later
            .iter()
            .any(|h| h.step == hold.step && h.procedure == hold.procedure);
        hold.released_at.is_none() && !again
    });
    held.map(|(_, hold)| format!("The hold point \"{}\" was not released.", hold.step))
        .collect()
}

fn skipped(report: &Report) -> Vec<String> {
    let skipped = report
        .steps
        .iter()
        .filter(|step| step.done == Done::Skipped);
    skipped
        .map(|step| {
            let id = step.step.as_deref().unwrap_or_default();
            let reason = step.result.as_deref().filter(|reason| !reason.is_empty());
            match reason {
                Some(reason) => format!("Step \"{id}\" was skipped: {reason}."),
                None => format!("Step \"{id}\" was skipped; the reason is only in its clip."),
            }
        })
        .collect()
}

fn readings(report: &Report) -> Vec<String> {
    let open = report
        .readings
        .iter()
        .filter(|r| r.standing == Standing::Unanswered);
    open.map(|r| {
        format!(
            "Reading {} ({}) was asked about and never answered.",
            r.number, r.quantity
        )
    })
    .collect()
}

fn work(report: &Report) -> Vec<String> {
    let mut open = Vec::new();
    if !report.outcome.parts.is_empty() && report.after_work.readings.is_empty() {
        open.push("A part is named, and nothing was measured after the work.".to_owned());
    }
    if let Some(contact) = &report.outcome.contact {
        open.push(format!("To be called: {contact}."));
    }
    let unworded = report
        .notes
        .iter()
        .filter(|note| note.written.is_none() && note.note.words.trim().is_empty())
        .count();
    if unworded > 0 {
        open.push(format!(
            "{} without text: listen to the clips.",
            counted(unworded, "note")
        ));
    }
    open.extend(only_spoken(report));
    open
}

fn only_spoken(report: &Report) -> Option<String> {
    let lines: Vec<&str> = report.job.only_spoken().map(JobLine::name).collect();
    match lines.as_slice() {
        [] => None,
        [line] => Some(format!(
            "The {line} of the job was spoken and is not typed yet: listen to the clip."
        )),
        lines => Some(format!(
            "Spoken and not typed yet, of the job: {}. Listen to the clips.",
            lines.join(", ")
        )),
    }
}

fn hearing(report: &Report) -> Option<String> {
    match report.hearing.unclear.as_slice() {
        [] => None,
        [one] => Some(format!("Utterance {one} could not be understood.")),
        many => Some(format!(
            "{} utterances could not be understood: {}.",
            many.len(),
            numbers(many)
        )),
    }
}

/// The first few by their numbers, and how many more there are.
fn numbers(all: &[u32]) -> String {
    const FEW: usize = 12;
    let (few, more) = all.split_at(all.len().min(FEW));
    let few: Vec<String> = few.iter().map(u32::to_string).collect();
    let few = few.join(", ");
    match more.len() {
        0 => few,
        more => format!("{few} and {more} more"),
    }
}
