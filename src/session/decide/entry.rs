//! Before the first step: the standing caution, which unit it is, what feeds it, and who may do it.
//!
//! What came with the job is not asked again; the standing caution always is. Where the procedure
//! does not apply, the session is refused and closed.

use indexmap::IndexSet;

use super::answer;
use super::commands;
use super::flow;
use super::hear::Spoken;
use super::retake;
use super::supply;
use super::turn::Turn;
use crate::language::{Command, Meaning};
use crate::procedure::{EntryAnswer, EntryId, EntryQuestion as Own, Variant, VariantId};
use crate::session::event::Event;
use crate::session::input::Opening;
use crate::session::parts::*;

/// The id of a procedure's own wording of the question for the serial number.
pub(in crate::session) const SERIAL: &str = "serial";

/// A session begins.
pub(in crate::session) fn begin(turn: &mut Turn, opening: Opening) {
    let main = turn.guide.library.main();
    turn.record(Event::SessionStarted {
        at: turn.now,
        procedure: main.id.clone(),
        title: main.title.clone(),
        revision: main.revision.clone(),
        locale: main.locale.clone(),
        technician: opening.technician.clone(),
        engine: opening.engine.clone(),
        model: opening.model.clone(),
        order: (*opening.order).clone(),
        asks: missing(&opening),
    });
    if with_the_job(turn, opening) {
        ask_next(turn);
    }
}

/// The lines of the job that are to be asked for.
fn missing(opening: &Opening) -> Vec<JobLine> {
    let order = &opening.order;
    let given = |line: &JobLine| match line {
        JobLine::Complaint => order.complaint.is_some(),
        JobLine::Unit => order.unit.is_some(),
        JobLine::Site => order.site.is_some(),
        JobLine::Reference => order.reference.is_some(),
        JobLine::Technician => opening.technician.is_some(),
    };
    let open = JobLine::ALL.into_iter().filter(|line| !given(line));
    open.filter(|_| opening.ask_job).collect()
}

/// Takes what came with the job; `false` where it does not fit the procedure.
fn with_the_job(turn: &mut Turn, opening: Opening) -> bool {
    let main = turn.guide.library.main();
    if let Some(id) = opening.variant {
        let Some(variant) = main.variants.get(&id) else {
            refuse(turn, unknown_variant(turn, &id));
            return false;
        };
        give_variant(turn, variant, Source::Job, Vec::new());
    } else if let [(_, only)] = main.variants.iter().collect::<Vec<_>>().as_slice() {
        give_variant(turn, only, Source::OnlyOne, Vec::new());
    }
    if let Some(serial) = opening.serial {
        let source = Source::Job;
        turn.record(Event::SerialGiven { serial, source });
    }
    let supplies = [
        (Supply::Voltage, opening.supply_voltage),
        (Supply::Frequency, opening.supply_frequency),
    ];
    for (what, reading) in supplies {
        if let Some(reading) = reading {
            supply::with_the_job(turn, what, reading);
        }
    }
    if opening.qualified {
        let qualification = main.qualification.clone();
        let source = Source::Job;
        turn.record(Event::QualificationConfirmed {
            qualification,
            source,
        });
    }
    if opening.tools_at_hand {
        let tools = main.tools.clone();
        let source = Source::Job;
        turn.record(Event::ToolsConfirmed { tools, source });
    }
    true
}

fn unknown_variant(turn: &Turn, id: &VariantId) -> Refusal {
    let known = turn.guide.library.main().variants.keys();
    Refusal::UnknownVariant {
        found: id.to_string(),
        expected: known.map(ToString::to_string).collect(),
    }
}

fn give_variant(turn: &mut Turn, variant: &Variant, source: Source, others: Vec<VariantId>) {
    turn.record(Event::VariantGiven {
        variant: variant.id.clone(),
        name: variant.name.written.clone(),
        source,
        others,
    });
}

pub(in crate::session) fn refuse(turn: &mut Turn, why: Refusal) {
    turn.record(Event::Refused { why });
}

/// Asks the next open question; where none is open, enters the first step.
pub(in crate::session) fn ask_next(turn: &mut Turn) {
    find_last_visit(turn);
    let sure = turn.state.job.variant_others.is_empty();
    if let Some(why) = supply::outside(turn).filter(|_| sure) {
        return refuse(turn, why);
    }
    if let Some(question) = next_question(turn) {
        return turn.record(Event::EntryAsked { question });
    }
    let main = turn.guide.library.main();
    if let Some(first) = main.steps.first() {
        let to = Position {
            procedure: main.id.clone(),
            step: first.id.clone(),
        };
        flow::enter(turn, to);
    }
}

/// Where the unit is known, whether it was visited before.
fn find_last_visit(turn: &mut Turn) {
    let job = &turn.state.job;
    let serial = job.serial.as_ref().filter(|_| job.serial_confirmed);
    let visit = serial.and_then(|serial| turn.guide.visits.get(serial));
    if let Some(visit) = visit.filter(|_| job.last_visit.is_none()) {
        let visit = visit.clone();
        turn.record(Event::LastVisitFound { visit });
    }
}

fn next_question(turn: &Turn) -> Option<EntryQuestion> {
    let job = &turn.state.job;
    let main = turn.guide.library.main();
    let open = [
        (!job.caution_acknowledged, EntryQuestion::StandingCaution),
        (job.variant.is_none(), EntryQuestion::Variant),
        (
            !job.variant_others.is_empty(),
            EntryQuestion::VariantConfirmation,
        ),
        (job.serial.is_none(), EntryQuestion::Serial),
        (!job.serial_confirmed, EntryQuestion::SerialConfirmation),
        (
            job.last_visit.is_some() && !job.last_visit_answered,
            EntryQuestion::LastVisit,
        ),
    ];
    let first = open.into_iter().find(|(open, _)| *open).map(|(_, q)| q);
    let line = job.asks.iter().find(|line| !job.lines.contains_key(line));
    let first = first.or_else(|| line.copied().map(EntryQuestion::Job));
    first.or_else(|| supply::next_question(turn)).or_else(|| {
        let last = [
            (!job.qualified, EntryQuestion::Qualification),
            (!job.tools && !main.tools.is_empty(), EntryQuestion::Tools),
        ];
        let last = last.into_iter().find(|(open, _)| *open).map(|(_, q)| q);
        last.or_else(|| own_question(turn))
    })
}

/// The next open question of the procedure's own. Its question for the serial number only words
/// the one that is always asked.
fn own_question(turn: &Turn) -> Option<EntryQuestion> {
    let answered = &turn.state.job.answers;
    let open = |q: &&Own| q.id.as_str() != SERIAL && !answered.contains_key(&q.id);
    let own = turn.guide.library.main().entry.iter().find(open)?;
    Some(EntryQuestion::Own(own.id.clone()))
}

/// An answer to a question of the entry.
pub(in crate::session) fn answer(turn: &mut Turn, spoken: &Spoken, question: EntryQuestion) {
    if let Some(command) = spoken.command() {
        if commands::general(turn, command) {
            return;
        }
        if retake::means_it(command, &question) {
            return retake::last_answer(turn, spoken);
        }
    }
    match question {
        EntryQuestion::StandingCaution => standing_caution(turn, spoken),
        EntryQuestion::Variant => variant(turn, spoken),
        EntryQuestion::VariantConfirmation => confirm_variant(turn, spoken),
        EntryQuestion::Serial => serial(turn, spoken),
        EntryQuestion::SerialConfirmation => confirm_serial(turn, spoken),
        EntryQuestion::LastVisit => last_visit(turn, spoken),
        EntryQuestion::Job(line) => job_line(turn, spoken, line),
        EntryQuestion::Supply(what) => supply::given(turn, spoken, what),
        EntryQuestion::SupplyConfirmation(what) => supply::confirm(turn, spoken, what),
        EntryQuestion::Qualification => qualification(turn, spoken),
        EntryQuestion::Tools => tools(turn, spoken),
        EntryQuestion::Own(id) => own(turn, spoken, id),
    }
}

fn standing_caution(turn: &mut Turn, spoken: &Spoken) {
    match spoken.command() {
        Some(Command::Next | Command::Affirm) if !commands::prompt_heard(turn) => {
            turn.decline(Decline::CautionNotHeard);
        }
        Some(Command::Next | Command::Affirm) => {
            turn.record(Event::StandingCautionAcknowledged { at: turn.now });
            ask_next(turn);
        }
        Some(Command::Skip) => turn.decline(Decline::CautionNeverSkipped),
        _ => commands::not_here(turn, spoken),
    }
}

fn variant(turn: &mut Turn, spoken: &Spoken) {
    let main = turn.guide.library.main();
    let chosen = |meaning: &Meaning| match meaning {
        Meaning::Choice(id) => main.variants.get(&VariantId(id.clone())),
        _ => None,
    };
    let Some(variant) = chosen(&spoken.best.meaning) else {
        return commands::not_here(turn, spoken);
    };
    let heard = spoken.others.iter().filter_map(|o| chosen(&o.meaning));
    let others: Vec<&Variant> = match supply::suits(turn, variant) {
        true => heard.collect(),
        false => heard.chain(main.variants.values()).collect(),
    };
    let others: IndexSet<&VariantId> = others.iter().map(|other| &other.id).collect();
    let others = others.into_iter().filter(|other| **other != variant.id);
    give_variant(turn, variant, Source::Spoken, others.cloned().collect());
    ask_next(turn);
}

/// Limits and texts follow from the variant, so one that may have been another, or that the supply
/// does not suit, is asked about.
fn confirm_variant(turn: &mut Turn, spoken: &Spoken) {
    let question = EntryQuestion::Variant;
    match (&spoken.best.meaning, spoken.command()) {
        (_, Some(Command::Affirm)) => {
            let variant = turn.variant();
            turn.record(Event::VariantConfirmed { variant });
            ask_next(turn);
        }
        (Meaning::Choice(_), _) => {
            turn.record(Event::EntryWithdrawn { question });
            variant(turn, spoken);
        }
        (_, Some(command)) if retake::denies(command) => retake::again(turn, question),
        _ => commands::not_here(turn, spoken),
    }
}

fn serial(turn: &mut Turn, spoken: &Spoken) {
    match &spoken.best.meaning {
        Meaning::Spelling(serial) => {
            turn.record(Event::SerialGiven {
                serial: serial.clone(),
                source: Source::Spoken,
            });
            ask_next(turn);
        }
        _ => commands::not_here(turn, spoken),
    }
}

fn confirm_serial(turn: &mut Turn, spoken: &Spoken) {
    let serial = turn.state.job.serial.clone().unwrap_or_default();
    match (&spoken.best.meaning, spoken.command()) {
        (_, Some(Command::Affirm)) => {
            turn.record(Event::SerialConfirmed { serial });
            ask_next(turn);
        }
        (Meaning::Spelling(other), _) => {
            let other = other.clone();
            turn.record(Event::SerialWithdrawn { serial });
            turn.record(Event::SerialGiven {
                serial: other,
                source: Source::Spoken,
            });
            ask_next(turn);
        }
        (_, Some(command)) if retake::denies(command) => {
            turn.record(Event::SerialWithdrawn { serial });
            ask_next(turn);
        }
        _ => commands::not_here(turn, spoken),
    }
}

fn last_visit(turn: &mut Turn, spoken: &Spoken) {
    let wanted = match spoken.command() {
        Some(Command::Affirm) => true,
        Some(Command::Negative) => false,
        _ => return commands::not_here(turn, spoken),
    };
    turn.record(Event::LastVisitAnswered { wanted });
    ask_next(turn);
}

/// Free words, as a note is taken. Nobody is kept from the work by a question for the office: "skip"
/// and "negative" leave it open.
fn job_line(turn: &mut Turn, spoken: &Spoken, line: JobLine) {
    match (spoken.command(), &spoken.best.meaning) {
        (Some(Command::Skip | Command::Negative), _) => {
            turn.record(Event::JobLineLeftOpen { line });
        }
        (None, Meaning::Nothing { .. }) => {
            let said = answer::said(spoken);
            turn.record(Event::JobLineSpoken { line, said });
        }
        _ => return turn.decline(Decline::AnswerFirst),
    }
    ask_next(turn);
}

fn qualification(turn: &mut Turn, spoken: &Spoken) {
    let qualification = turn.guide.library.main().qualification.clone();
    match spoken.command() {
        Some(Command::Affirm) => {
            turn.record(Event::QualificationConfirmed {
                qualification,
                source: Source::Spoken,
            });
            ask_next(turn);
        }
        Some(Command::Negative) => refuse(turn, Refusal::NotQualified { qualification }),
        _ => commands::not_here(turn, spoken),
    }
}

fn tools(turn: &mut Turn, spoken: &Spoken) {
    match spoken.command() {
        Some(Command::Affirm) => {
            turn.record(Event::ToolsConfirmed {
                tools: turn.guide.library.main().tools.clone(),
                source: Source::Spoken,
            });
            ask_next(turn);
        }
        Some(Command::Negative) => refuse(turn, Refusal::ToolsMissing),
        _ => commands::not_here(turn, spoken),
    }
}

fn own(turn: &mut Turn, spoken: &Spoken, question: EntryId) {
    let main = turn.guide.library.main();
    let Some(asked) = main.entry.iter().find(|q| q.id == question) else {
        return;
    };
    let spelled = match (asked.answer, &spoken.best.meaning, spoken.command()) {
        (EntryAnswer::Affirm, _, Some(Command::Affirm)) => None,
        (EntryAnswer::Spelling, Meaning::Spelling(spelled), _) => Some(spelled.clone()),
        (EntryAnswer::Affirm, _, Some(Command::Negative)) => {
            return refuse(turn, Refusal::Denied { question });
        }
        _ => return commands::not_here(turn, spoken),
    };
    turn.record(Event::EntryAnswered { question, spelled });
    ask_next(turn);
}
