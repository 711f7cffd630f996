//! What the events of the entry add to the state.

use crate::session::event::Event;
use crate::session::parts::{EntryQuestion, JobLine, Said, Source, Supply};
use crate::session::state::{Job, KeptSupply, Phase, State};

pub(super) fn apply_entry(state: &mut State, event: &Event) {
    let job = &mut state.job;
    match event {
        Event::SessionStarted {
            procedure,
            title,
            revision,
            technician,
            engine,
            model,
            order,
            asks,
            ..
        } => {
            job.procedure = Some(procedure.clone());
            job.title.clone_from(title);
            job.revision.clone_from(revision);
            job.technician.clone_from(technician);
            job.engine.clone_from(engine);
            job.model.clone_from(model);
            job.order.clone_from(order);
            job.asks.clone_from(asks);
        }
        Event::EntryAsked { question } => {
            state.phase = Phase::Entry(question.clone());
            state.entered = state.count;
        }
        Event::StandingCautionAcknowledged { .. } => job.caution_acknowledged = true,
        Event::VariantGiven {
            variant,
            name,
            source,
            others,
        } => {
            job.variant = Some(variant.clone());
            job.variant_name.clone_from(name);
            job.variant_others.clone_from(others);
            answered(job, *source, EntryQuestion::Variant);
        }
        Event::VariantConfirmed { .. } => job.variant_others.clear(),
        Event::SerialGiven { serial, source } => {
            job.serial = Some(serial.clone());
            job.serial_confirmed = *source != Source::Spoken;
        }
        Event::SerialConfirmed { .. } => {
            job.serial_confirmed = true;
            job.answered.push(EntryQuestion::Serial);
        }
        Event::SerialWithdrawn { .. } => job.serial = None,
        Event::LastVisitFound { visit } => {
            job.last_visit = Some(visit.clone());
            job.last_visit_answered = false;
        }
        Event::LastVisitAnswered { .. } => job.last_visit_answered = true,
        Event::JobLineSpoken { line, said } => line_answered(job, *line, Some(said.clone())),
        Event::JobLineLeftOpen { line } => line_answered(job, *line, None),
        Event::SupplyGiven {
            what,
            reading,
            fits,
            source,
        } => {
            *supply(job, *what) = Some(KeptSupply {
                reading: *reading,
                fits: *fits,
                confirmed: *source != Source::Spoken,
            });
        }
        Event::SupplyConfirmed { what } => {
            if let Some(kept) = supply(job, *what) {
                kept.confirmed = true;
            }
            job.answered.push(EntryQuestion::Supply(*what));
        }
        Event::SupplyWithdrawn { what } => *supply(job, *what) = None,
        Event::QualificationConfirmed { source, .. } => {
            job.qualified = true;
            answered(job, *source, EntryQuestion::Qualification);
        }
        Event::ToolsConfirmed { source, .. } => {
            job.tools = true;
            answered(job, *source, EntryQuestion::Tools);
        }
        Event::EntryAnswered { question, spelled } => {
            job.answers.insert(question.clone(), spelled.clone());
            job.answered.push(EntryQuestion::Own(question.clone()));
        }
        Event::EntryWithdrawn { question } => {
            withdraw(job, question);
            leave_first_step(state);
        }
        Event::Refused { why } => state.phase = Phase::Refused(why.clone()),
        _ => {}
    }
}

fn answered(job: &mut Job, source: Source, question: EntryQuestion) {
    if source == Source::Spoken {
        job.answered.push(question);
    }
}

fn line_answered(job: &mut Job, line: JobLine, said: Option<Said>) {
    job.lines.insert(line, said);
    job.answered.push(EntryQuestion::Job(line));
}

fn withdraw(job: &mut Job, question: &EntryQuestion) {
    job.answered.retain(|answered| answered != question);
    match question {
        EntryQuestion::Variant => {
            job.variant = None;
            job.variant_name.clear();
            job.variant_others.clear();
        }
        EntryQuestion::Serial => {
            job.serial = None;
            job.serial_confirmed = false;
            job.last_visit = None;
        }
        EntryQuestion::Job(line) => {
            job.lines.remove(line);
        }
        EntryQuestion::Supply(what) => *supply(job, *what) = None,
        EntryQuestion::Qualification => job.qualified = false,
        EntryQuestion::Tools => job.tools = false,
        EntryQuestion::Own(id) => {
            job.answers.remove(id);
        }
        EntryQuestion::StandingCaution
        | EntryQuestion::VariantConfirmation
        | EntryQuestion::SerialConfirmation
        | EntryQuestion::LastVisit
        | EntryQuestion::SupplyConfirmation(_) => {}
    }
}

/// The first step, if it was begun, begins anew after the entry.
fn leave_first_step(state: &mut State) {
    state.position = None;
    state.calls.clear();
    state.trail.clear();
    state.asking = None;
    state.proof.clear();
    state.timer = None;
    state.verdict = None;
    state.finished = None;
}

fn supply(job: &mut Job, what: Supply) -> &mut Option<KeptSupply> {
    match what {
        Supply::Voltage => &mut job.voltage,
        Supply::Frequency => &mut job.frequency,
    }
}
