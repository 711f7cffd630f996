//! What may be heard now.
//!
//! Wrong use is heard too, where saying why it is wrong helps: "next" at a hold point, "skip" at a
//! caution. Help offers only what goes on.

use std::collections::BTreeSet;

use super::decide::{retake, supply};
use super::guide::Guide;
use super::parts::*;
use super::phrases::Phrase;
use super::state::{Asking, KeptVerdict, Phase, Rest, State};
use super::steps::diagnose;
use super::steps::hold;
use crate::language::{Choice, Command, Expectation, ExpectedReading};
use crate::procedure::{EntryAnswer, QuantityId, Release, StepKind, Variant};

/// Heard wherever anything is.
const ALWAYS: [Command; 6] = [
    Command::Stop,
    Command::Pause,
    Command::Help,
    Command::Status,
    Command::Repeat,
    Command::ReadBack,
];

/// Everything that may be said now. Nothing, before a session begins and when it is closed.
pub fn expectation(guide: &Guide, state: &State) -> Expectation {
    match state.rest {
        _ if state.closed() || state.phase == Phase::New => Expectation::default(),
        Rest::StandingBy => only(&[Command::Stop, Command::Continue]),
        Rest::Stopped => only(&[
            Command::Stop,
            Command::Continue,
            Command::Help,
            Command::Status,
            Command::Repeat,
            Command::ReadBack,
        ]),
        Rest::Listening => match (&state.asking, &state.phase) {
            (Some(asking), _) => for_answer(guide, state, asking),
            (None, Phase::Entry(question)) => for_entry(guide, state, question),
            (None, _) => for_step(guide, state),
        },
    }
}

fn only(commands: &[Command]) -> Expectation {
    Expectation {
        commands: commands.iter().copied().collect(),
        ..Expectation::default()
    }
}

fn always_and(commands: &[Command]) -> Expectation {
    let commands: BTreeSet<Command> = ALWAYS.iter().chain(commands).copied().collect();
    Expectation {
        commands,
        ..Expectation::default()
    }
}

fn for_answer(guide: &Guide, state: &State, asking: &Asking) -> Expectation {
    match asking {
        Asking::Confirmation(id) => {
            let mut expected = always_and(&[
                Command::Affirm,
                Command::Negative,
                Command::Correction,
                Command::Disregard,
                Command::Back,
                Command::Next,
            ]);
            let kept = state.reading(*id);
            expected.reading = kept.and_then(|k| value_of(guide, &k.step, &k.quantity));
            expected
        }
        Asking::Note | Asking::OverrideReason(_) => beside_free_words(guide, state, Vec::new()),
        Asking::SkipReason => beside_free_words(guide, state, skip_reasons(guide)),
        Asking::OverrideFinding => Expectation {
            choices: finding_choices(guide, state),
            ..always_and(&[Command::Negative])
        },
    }
}

/// Beside free words everything that means something at the step is heard, so that a command or a
/// value is never taken for a reason.
fn beside_free_words(guide: &Guide, state: &State, choices: Vec<Choice>) -> Expectation {
    let mut expected = for_step(guide, state);
    expected.commands = Command::ALL.into_iter().collect();
    expected.choices = choices;
    expected
}

fn for_entry(guide: &Guide, state: &State, question: &EntryQuestion) -> Expectation {
    let main = guide.library.main();
    let answer = always_and(&[Command::Next]);
    let affirmed = || always_and(&[Command::Next, Command::Affirm, Command::Negative]);
    let mut expected = match question {
        EntryQuestion::StandingCaution => {
            return always_and(&[Command::Next, Command::Affirm, Command::Skip]);
        }
        EntryQuestion::Variant => Expectation {
            choices: variants(guide),
            ..answer
        },
        EntryQuestion::VariantConfirmation => Expectation {
            choices: variants(guide),
            ..affirmed()
        },
        EntryQuestion::Serial => Expectation {
            spelling: true,
            ..answer
        },
        EntryQuestion::SerialConfirmation => Expectation {
            spelling: true,
            ..affirmed()
        },
        EntryQuestion::Supply(what) => Expectation {
            reading: Some(supply_value(*what)),
            ..answer
        },
        EntryQuestion::SupplyConfirmation(what) => Expectation {
            reading: Some(supply_value(*what)),
            ..affirmed()
        },
        EntryQuestion::LastVisit | EntryQuestion::Qualification | EntryQuestion::Tools => {
            affirmed()
        }
        // Whatever is a command anywhere is never taken for what the job says.
        EntryQuestion::Job(_) => only(&Command::ALL),
        EntryQuestion::Own(id) => {
            let own = main.entry.iter().find(|q| q.id == *id);
            match own.map(|q| q.answer) {
                Some(EntryAnswer::Spelling) => Expectation {
                    spelling: true,
                    ..answer
                },
                _ => affirmed(),
            }
        }
    };
    let denying = Command::ALL.into_iter().filter(|c| retake::denies(*c));
    if retake::is_about_itself(question) {
        expected.commands.extend(denying);
    } else if let Some(last) = state.job.answered.last() {
        expected
            .commands
            .extend(denying.filter(|c| retake::means_it(*c, question)));
        if let EntryQuestion::Supply(what) = last {
            expected.correction = Some(supply_value(*what));
        }
    }
    expected
}

fn variants(guide: &Guide) -> Vec<Choice> {
    let variants = guide.library.main().variants.values();
    let choice = |variant: &Variant| Choice {
        id: variant.id.to_string(),
        phrases: vec![plain_words(&variant.name.spoken)],
    };
    variants.map(choice).collect()
}

fn supply_value(what: Supply) -> ExpectedReading {
    ExpectedReading {
        unit: Some(supply::unit(what)),
        plausible: None,
    }
}

/// A name as words: without the marks of writing.
pub(super) fn plain_words(name: &str) -> String {
    let words = name.split(|c: char| !c.is_alphanumeric() && c != '\'');
    let words: Vec<String> = words
        .filter(|w| !w.is_empty())
        .map(str::to_lowercase)
        .collect();
    words.join(" ")
}

fn for_step(guide: &Guide, state: &State) -> Expectation {
    let mut expected = always_and(&[
        Command::Next,
        Command::Back,
        Command::Skip,
        Command::Note,
        Command::Affirm,
    ]);
    if let Some(last) = state.last_reading() {
        expected
            .commands
            .extend([Command::Correction, Command::Disregard, Command::Negative]);
        expected.correction = value_of(guide, &last.step, &last.quantity);
    }
    let Some(position) = &state.position else {
        return expected;
    };
    let Some(step) = guide.step(position) else {
        return expected;
    };
    match &step.kind {
        StepKind::Hold { release, .. } => match release {
            Release::Words(words) => expected.choices.push(Choice {
                id: hold::RELEASE_WORDS.to_owned(),
                phrases: vec![words.clone()],
            }),
            Release::Proof(points) => {
                let point = points.get(state.proof.len());
                expected.reading = point.and_then(|p| value_of(guide, position, &p.quantity));
            }
        },
        StepKind::Choose { options, .. } => {
            expected.choices = options
                .iter()
                .map(|option| Choice {
                    id: option.id.to_string(),
                    phrases: option.phrases.clone(),
                })
                .collect();
        }
        StepKind::Read { quantity, .. } | StepKind::Watch { quantity, .. } => {
            expected.reading = value_of(guide, position, quantity);
        }
        StepKind::Diagnose { of, .. } => for_diagnose(guide, state, &mut expected, of),
        _ => {}
    }
    expected
}

fn for_diagnose(
    guide: &Guide,
    state: &State,
    expected: &mut Expectation,
    of: &crate::procedure::StepId,
) {
    expected.commands.insert(Command::Negative);
    expected.choices.push(Choice {
        id: diagnose::OVERRIDE.to_owned(),
        phrases: guide.phrases.list(Phrase::HearOverride),
    });
    if matches!(state.verdict, Some(KeptVerdict::Equal(_))) {
        expected.choices.extend(finding_choices(guide, state));
    }
    if matches!(state.verdict, Some(KeptVerdict::Undetermined(_)))
        && let Some(position) = &state.position
    {
        let of = Position {
            procedure: position.procedure.clone(),
            step: of.clone(),
        };
        if let Some(StepKind::Watch { quantity, .. } | StepKind::Read { quantity, .. }) =
            guide.step(&of).map(|s| &s.kind)
        {
            expected.reading = value_of(guide, &of, quantity);
        }
    }
}

/// The findings on offer, each by its number.
fn finding_choices(guide: &Guide, state: &State) -> Vec<Choice> {
    let step = state.position.as_ref().and_then(|p| guide.step(p));
    let Some(StepKind::Diagnose { findings, .. }) = step.map(|s| &s.kind) else {
        return Vec::new();
    };
    let count = diagnose::offered(guide, state, findings).len();
    let phrases = guide.phrases.list(Phrase::HearFinding);
    let numbered = (1..=count).zip(phrases);
    numbered
        .map(|(number, phrase)| Choice {
            id: diagnose::finding_choice(number),
            phrases: vec![phrase],
        })
        .collect()
}

/// The reasons for skipping that are prepared, by their key.
pub(super) const SKIP_REASONS: [Phrase; 3] = [
    Phrase::ReasonNotFitted,
    Phrase::ReasonNoAccess,
    Phrase::ReasonAlreadyDone,
];

fn skip_reasons(guide: &Guide) -> Vec<Choice> {
    SKIP_REASONS
        .iter()
        .map(|reason| Choice {
            id: reason.key().to_owned(),
            phrases: guide.phrases.list(*reason),
        })
        .collect()
}

fn value_of(guide: &Guide, step: &Position, id: &QuantityId) -> Option<ExpectedReading> {
    let definition = guide.quantity(step, id)?;
    Some(ExpectedReading {
        unit: Some(definition.unit),
        plausible: Some(definition.plausible),
    })
}
