//! Answers to "status", "help" and "read back", and how a session is opened and ends.

use super::{Sentence, in_entry, offered, plain, uncut};
use crate::language::Command;
use crate::procedure::StepKind;
use crate::session::decide::retake;
use crate::session::event::Event;
use crate::session::expectation::expectation;
use crate::session::guide::Guide;
use crate::session::parts::{EntryQuestion, Refusal};
use crate::session::phrases::Phrase;
use crate::session::state::{Asking, Phase, State};

pub(super) fn of_entry(guide: &Guide, state: &State, event: &Event) -> Vec<Sentence> {
    match event {
        // What is asked about next says it too.
        Event::VariantGiven { others, .. } if !others.is_empty() => Vec::new(),
        Event::VariantGiven { variant, .. } => {
            let name = guide.variant_spoken(variant);
            vec![plain(guide, Phrase::GivenVariant, &[("variant", name)])]
        }
        Event::EntryWithdrawn { .. } => vec![plain(guide, Phrase::Back, &[])],
        Event::VariantConfirmed { .. } | Event::SerialConfirmed { .. } => {
            vec![plain(guide, Phrase::Confirmed, &[])]
        }
        Event::EntryAnswered {
            spelled: Some(spelled),
            ..
        } => {
            let value = guide.spell(spelled);
            vec![plain(guide, Phrase::ReadBack, &[("value", &value)])]
        }
        Event::SupplyConfirmed { what } => {
            let kept = match what {
                crate::session::parts::Supply::Voltage => &state.job.voltage,
                crate::session::parts::Supply::Frequency => &state.job.frequency,
            };
            let value = kept.as_ref().map(|kept| guide.say(&kept.reading));
            let value = value.unwrap_or_default();
            vec![plain(guide, Phrase::ReadBack, &[("value", &value)])]
        }
        Event::LastVisitAnswered { wanted: true } => last_visit(guide, state).into_iter().collect(),
        Event::Refused { why } => vec![refused(guide, why)],
        _ => Vec::new(),
    }
}

/// What the last visit at this unit came to.
fn last_visit(guide: &Guide, state: &State) -> Option<Sentence> {
    let visit = state.job.last_visit.as_ref()?;
    Some(match &visit.conclusion {
        Some(conclusion) => Sentence::new(conclusion),
        None => plain(guide, Phrase::LastVisitOpen, &[]),
    })
}

pub(super) fn refused(guide: &Guide, why: &Refusal) -> Sentence {
    match why {
        Refusal::UnknownVariant { found, expected } => {
            let expected = offered(guide, expected);
            let slots = [("found", found.as_str()), ("expected", expected.as_str())];
            uncut(guide, Phrase::RefusedVariant, &slots)
        }
        Refusal::SupplyOutside { reading, .. } => {
            let value = guide.say(reading);
            uncut(guide, Phrase::RefusedSupply, &[("value", &value)])
        }
        Refusal::NotQualified { qualification } => {
            let slots = [("qualification", qualification.as_str())];
            uncut(guide, Phrase::RefusedQualification, &slots)
        }
        Refusal::ToolsMissing => uncut(guide, Phrase::RefusedTools, &[]),
        Refusal::Denied { .. } => uncut(guide, Phrase::RefusedAnswer, &[]),
    }
}

/// Where the session stands.
pub(super) fn status(guide: &Guide, state: &State) -> Vec<Sentence> {
    let procedure = guide.procedure(state);
    if in_entry(state) {
        let slots = [("title", procedure.title.as_str())];
        return vec![plain(guide, Phrase::StatusEntry, &slots)];
    }
    let Some(position) = &state.position else {
        return Vec::new();
    };
    let index = procedure.steps.iter().position(|s| s.id == position.step);
    let number = guide.count(index.map_or(0, |i| i + 1));
    let count = guide.count(procedure.steps.len());
    let slots = [
        ("title", procedure.title.as_str()),
        ("number", number.as_str()),
        ("count", count.as_str()),
    ];
    let mut sentences = vec![plain(guide, Phrase::Status, &slots)];
    if let Some(section) = guide.step(position).and_then(|s| s.section.as_deref()) {
        sentences.push(plain(guide, Phrase::StatusSection, &[("section", section)]));
    }
    sentences
}

/// What may be said now and goes on: commands that would be declined are not offered.
pub(super) fn help(guide: &Guide, state: &State) -> Vec<Sentence> {
    let expected = expectation(guide, state);
    let first = |phrase| guide.phrases.list(phrase).into_iter().next();
    let mut offers: Vec<String> = Vec::new();
    let choices = expected.choices.iter();
    offers.extend(choices.filter_map(|c| c.phrases.first().cloned()));
    if expected.reading.is_some() {
        offers.extend(first(Phrase::HearValue));
    }
    if expected.spelling {
        offers.extend(first(Phrase::HearSpelling));
    }
    let commands = commands_that_go_on(guide, state).into_iter();
    offers.extend(commands.filter_map(|c| first(command_phrase(c))));
    let phrases = offered(guide, &offers);
    vec![plain(guide, Phrase::Help, &[("phrases", &phrases)])]
}

/// The commands that are heard here and not declined, whatever came before.
pub(super) fn commands_that_go_on(guide: &Guide, state: &State) -> Vec<Command> {
    let heard = expectation(guide, state).commands.into_iter();
    heard
        .filter(|command| !declined_here(guide, state, *command))
        .collect()
}

fn declined_here(guide: &Guide, state: &State, command: Command) -> bool {
    if let Phase::Entry(question) = &state.phase {
        if matches!(question, EntryQuestion::Job(_)) {
            let takes_back = retake::denies(command) && state.job.answered.is_empty();
            let skip = matches!(command, Command::Skip | Command::Negative);
            return !skip && (declined_for_free_words(command) || takes_back);
        }
        let caution = *question == EntryQuestion::StandingCaution;
        return command == Command::Skip || (command == Command::Next && !caution);
    }
    match &state.asking {
        Some(Asking::SkipReason | Asking::Note | Asking::OverrideReason(_)) => {
            return declined_for_free_words(command);
        }
        Some(_) => return command == Command::Next,
        None => {}
    }
    let step = state.position.as_ref().and_then(|p| guide.step(p));
    let Some(kind) = step.map(|s| &s.kind) else {
        return false;
    };
    let judged = matches!(kind, StepKind::Diagnose { .. });
    let caution = matches!(kind, StepKind::Caution { .. });
    match command {
        Command::Next => {
            matches!(kind, StepKind::Hold { .. } | StepKind::Choose { .. })
                || matches!(kind, StepKind::Wait { missed: None, .. })
        }
        Command::Skip => {
            let never = matches!(kind, StepKind::Hold { .. } | StepKind::Finish { .. });
            caution || never || kind.decides_the_way()
        }
        Command::Affirm => !(judged || caution),
        _ => false,
    }
}

/// What is heard beside a reason or a note only to be declined.
fn declined_for_free_words(command: Command) -> bool {
    matches!(
        command,
        Command::Next
            | Command::Continue
            | Command::Skip
            | Command::Note
            | Command::Affirm
            | Command::Correction
    )
}

pub(super) fn command_phrase(command: Command) -> Phrase {
    match command {
        Command::Next => Phrase::HearNext,
        Command::Repeat => Phrase::HearRepeat,
        Command::Back => Phrase::HearBack,
        Command::Stop => Phrase::HearStop,
        Command::Pause => Phrase::HearPause,
        Command::Continue => Phrase::HearContinue,
        Command::Help => Phrase::HearHelp,
        Command::Status => Phrase::HearStatus,
        Command::Skip => Phrase::HearSkip,
        Command::Note => Phrase::HearNote,
        Command::Affirm => Phrase::HearAffirm,
        Command::Negative => Phrase::HearNegative,
        Command::Correction => Phrase::HearCorrection,
        Command::Disregard => Phrase::HearDisregard,
        Command::ReadBack => Phrase::HearReadBack,
    }
}

/// That a value could not be worked out.
pub(super) fn not_computed(guide: &Guide, state: &State) -> Option<Sentence> {
    let position = state.position.as_ref()?;
    let StepKind::Compute { quantity, .. } = &guide.step(position)?.kind else {
        return None;
    };
    let name = guide.quantity(position, quantity)?.name.as_str();
    Some(plain(guide, Phrase::NotComputed, &[("quantity", name)]))
}

/// The readings that count, in the order given.
pub(super) fn readings(guide: &Guide, state: &State) -> Vec<Sentence> {
    let counted = state.readings.iter().filter(|r| r.counts());
    let lines: Vec<Sentence> = counted
        .map(|kept| {
            let definition = guide.quantity(&kept.step, &kept.quantity);
            let name = definition.map_or("", |d| d.name.as_str());
            let value = guide.say(&kept.reading);
            let slots = [("quantity", name), ("value", value.as_str())];
            plain(guide, Phrase::OneReading, &slots)
        })
        .collect();
    match lines.is_empty() {
        true => vec![plain(guide, Phrase::NoReadings, &[])],
        false => lines,
    }
}

/// What is to be replaced and who is to be called.
pub(super) fn part_and_contact(
    guide: &Guide,
    part: Option<&str>,
    contact: Option<&str>,
) -> Vec<Sentence> {
    let part = part.map(|part| plain(guide, Phrase::Part, &[("part", part)]));
    let contact = contact.map(|contact| plain(guide, Phrase::Contact, &[("contact", contact)]));
    part.into_iter().chain(contact).collect()
}

/// What the procedure came to.
pub(super) fn finished(guide: &Guide, state: &State, event: &Event) -> Vec<Sentence> {
    let Event::Finished {
        conclusion,
        part,
        contact,
        ..
    } = event
    else {
        return Vec::new();
    };
    let mut sentences = vec![match conclusion {
        Some(conclusion) => plain(guide, Phrase::Finished, &[("conclusion", conclusion)]),
        None => plain(guide, Phrase::FinishedBare, &[]),
    }];
    let also = part_and_contact(guide, part.as_deref(), contact.as_deref());
    sentences.extend(also);
    if state.finished.is_some() {
        sentences.push(plain(guide, Phrase::AskClose, &[]));
    }
    sentences
}
