//! What the events of the entry add to the state.

use crate::session::event::Event;
use crate::session::parts::{Source, Supply};
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
            ..
        } => {
            job.procedure = Some(procedure.clone());
            job.title.clone_from(title);
            job.revision.clone_from(revision);
            job.technician.clone_from(technician);
            job.engine.clone_from(engine);
            job.model.clone_from(model);
        }
        Event::EntryAsked { question } => {
            state.phase = Phase::Entry(question.clone());
            state.entered = state.count;
        }
        Event::StandingCautionAcknowledged { .. } => job.caution_acknowledged = true,
        Event::VariantGiven { variant, name, .. } => {
            job.variant = Some(variant.clone());
            job.variant_name.clone_from(name);
        }
        Event::SerialGiven { serial, source } => {
            job.serial = Some(serial.clone());
            job.serial_confirmed = *source != Source::Spoken;
        }
        Event::SerialConfirmed { .. } => job.serial_confirmed = true,
        Event::SerialWithdrawn { .. } => job.serial = None,
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
        }
        Event::SupplyWithdrawn { what } => *supply(job, *what) = None,
        Event::QualificationConfirmed { .. } => job.qualified = true,
        Event::ToolsConfirmed { .. } => job.tools = true,
        Event::EntryAnswered { question, spelled } => {
            job.answers.insert(question.clone(), spelled.clone());
        }
        Event::Refused { why } => state.phase = Phase::Refused(why.clone()),
        _ => {}
    }
}

fn supply(job: &mut Job, what: Supply) -> &mut Option<KeptSupply> {
    match what {
        Supply::Voltage => &mut job.voltage,
        Supply::Frequency => &mut job.frequency,
    }
}
