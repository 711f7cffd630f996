//! What the assistant asks for where the session stands.

use super::{Sentence, answers, finding, offered, plain, uncut, value};
use crate::procedure::{Release, SignalWord, StepKind, Text};
use crate::session::decide::entry;
use crate::session::expectation::SKIP_REASONS;
use crate::session::guide::Guide;
use crate::session::parts::{EntryQuestion, JobLine, Position, Supply};
use crate::session::phrases::Phrase;
use crate::session::state::{Asking, Phase, State};

/// The question that is open, or the step's own words.
pub(super) fn prompt(guide: &Guide, state: &State) -> Vec<Sentence> {
    match (&state.asking, &state.phase, &state.position) {
        (Some(asking), _, _) => asked(guide, state, asking),
        (None, Phase::Entry(question), _) => entry_question(guide, state, question),
        (None, _, Some(position)) => step(guide, state, position),
        (None, _, None) => Vec::new(),
    }
}

/// The prompt for a session that stands still: where nothing could be worked out, that too.
pub(super) fn again(guide: &Guide, state: &State) -> Vec<Sentence> {
    let said = prompt(guide, state);
    match said.is_empty() {
        true => answers::not_computed(guide, state).into_iter().collect(),
        false => said,
    }
}

fn asked(guide: &Guide, state: &State, asking: &Asking) -> Vec<Sentence> {
    match asking {
        Asking::Confirmation(id) => value::question_again(guide, state, *id),
        Asking::SkipReason => {
            let first = |reason| guide.phrases.list(reason).into_iter().next();
            let reasons: Vec<String> = SKIP_REASONS.into_iter().filter_map(first).collect();
            let reasons = reasons.join(", ");
            vec![plain(
                guide,
                Phrase::AskSkipReason,
                &[("reasons", &reasons)],
            )]
        }
        Asking::Note => vec![plain(guide, Phrase::AskNote, &[])],
        Asking::OverrideFinding => finding::ask_other(guide, state),
        Asking::OverrideReason(to) => finding::ask_reason(guide, state, to),
    }
}

fn entry_question(guide: &Guide, state: &State, question: &EntryQuestion) -> Vec<Sentence> {
    let main = guide.library.main();
    let ask = |phrase, slots: &[(&str, &str)]| vec![plain(guide, phrase, slots)];
    let own = |id: &str| main.entry.iter().find(|q| q.id.as_str() == id);
    match question {
        EntryQuestion::StandingCaution => vec![
            uncut(guide, Phrase::StandingCaution, &[]),
            uncut(guide, Phrase::AskAcknowledgement, &[]),
        ],
        EntryQuestion::Variant => {
            let names = main.variants.values().map(|v| v.name.spoken.clone());
            let options = offered(guide, &names.collect::<Vec<_>>());
            ask(Phrase::AskVariant, &[("options", &options)])
        }
        EntryQuestion::VariantConfirmation => {
            let other = state.job.variant_others.first();
            let other = other.map_or("", |other| guide.variant_spoken(other));
            let variant = guide.variant(state);
            let slots = [("value", guide.variant_spoken(&variant)), ("other", other)];
            vec![uncut(guide, Phrase::AskConsequence, &slots)]
        }
        EntryQuestion::Serial => match own(entry::SERIAL) {
            Some(own) => vec![words(guide, state, &own.ask)],
            None => ask(Phrase::AskSerial, &[]),
        },
        EntryQuestion::SerialConfirmation => {
            let serial = state.job.serial.as_deref().unwrap_or_default();
            let serial = guide.spell(serial);
            vec![uncut(
                guide,
                Phrase::AskSerialConfirmation,
                &[("serial", &serial)],
            )]
        }
        EntryQuestion::LastVisit => {
            let visit = state.job.last_visit.as_ref();
            let day = visit.map_or_else(String::new, |visit| guide.day(&visit.day));
            ask(Phrase::AskLastVisit, &[("day", &day)])
        }
        EntryQuestion::Job(line) => ask(job_line(*line), &[]),
        EntryQuestion::Supply(Supply::Voltage) => ask(Phrase::AskVoltage, &[]),
        EntryQuestion::Supply(Supply::Frequency) => ask(Phrase::AskFrequency, &[]),
        EntryQuestion::SupplyConfirmation(what) => supply_question(guide, state, *what),
        EntryQuestion::Qualification => ask(
            Phrase::AskQualification,
            &[("qualification", &main.qualification)],
        ),
        EntryQuestion::Tools => ask(Phrase::AskTools, &[("tools", &main.tools.join(", "))]),
        EntryQuestion::Own(id) => own(id.as_str())
            .map(|own| vec![words(guide, state, &own.ask)])
            .unwrap_or_default(),
    }
}

fn job_line(line: JobLine) -> Phrase {
    match line {
        JobLine::Complaint => Phrase::AskComplaint,
        JobLine::Unit => Phrase::AskUnit,
        JobLine::Site => Phrase::AskSite,
        JobLine::Reference => Phrase::AskReference,
        JobLine::Technician => Phrase::AskTechnician,
    }
}

fn supply_question(guide: &Guide, state: &State, what: Supply) -> Vec<Sentence> {
    let kept = match what {
        Supply::Voltage => &state.job.voltage,
        Supply::Frequency => &state.job.frequency,
    };
    let Some(kept) = kept else { return Vec::new() };
    let value = guide.say(&kept.reading);
    let phrase = match kept.fits {
        true => Phrase::AskSupplyConfirmation,
        false => Phrase::AskSupplyOutside,
    };
    vec![uncut(guide, phrase, &[("value", &value)])]
}

fn words(guide: &Guide, state: &State, text: &Text) -> Sentence {
    Sentence::new(guide.text(state, text).spoken.clone())
}

fn step(guide: &Guide, state: &State, position: &Position) -> Vec<Sentence> {
    let Some(step) = guide.step(position) else {
        return Vec::new();
    };
    match &step.kind {
        StepKind::Action { say } => vec![words(guide, state, say)],
        StepKind::Caution {
            signal,
            hazard,
            consequence,
            avoid,
            ..
        } => caution(guide, state, *signal, [hazard, consequence, avoid]),
        StepKind::Hold { say, release } => {
            let mut sentences = vec![words(guide, state, say)];
            sentences.extend(release_wanted(guide, state, release));
            sentences
        }
        StepKind::Wait { say, .. } => vec![words(guide, state, say)],
        StepKind::Watch { say, .. } => {
            let mut sentences = vec![words(guide, state, say)];
            sentences.extend(value::kept_value(guide, state, position));
            sentences
        }
        StepKind::Choose { ask, options } => {
            let first = options.iter().filter_map(|o| o.phrases.first().cloned());
            let options = offered(guide, &first.collect::<Vec<_>>());
            vec![
                words(guide, state, ask),
                Sentence::new(format!("{options}.")),
            ]
        }
        StepKind::Read { say, .. } => {
            let mut sentences = vec![words(guide, state, say)];
            sentences.extend(value::kept_value(guide, state, position));
            sentences
        }
        StepKind::Diagnose { .. } => finding::again(guide, state),
        StepKind::Finish { say, .. } => vec![words(guide, state, say)],
        StepKind::Compute { .. } | StepKind::GoTo { .. } | StepKind::Call { .. } => Vec::new(),
    }
}

fn caution(guide: &Guide, state: &State, signal: SignalWord, texts: [&Text; 3]) -> Vec<Sentence> {
    let signal = match signal {
        SignalWord::Danger => Phrase::SignalDanger,
        SignalWord::Warning => Phrase::SignalWarning,
        SignalWord::Caution => Phrase::SignalCaution,
        SignalWord::Notice => Phrase::SignalNotice,
    };
    let mut sentences = vec![uncut(guide, signal, &[])];
    let text = |text: &Text| Sentence::uncut(guide.text(state, text).spoken.clone());
    sentences.extend(texts.map(text));
    sentences.push(uncut(guide, Phrase::AskAcknowledgement, &[]));
    sentences
}

/// What the hold point waits for now.
pub(super) fn release_wanted(guide: &Guide, state: &State, release: &Release) -> Option<Sentence> {
    match release {
        Release::Words(words) => Some(plain(guide, Phrase::AskReleaseWords, &[("words", words)])),
        Release::Proof(points) => {
            let point = points.get(state.proof.len())?;
            Some(words(guide, state, &point.say))
        }
    }
}
