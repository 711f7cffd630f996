//! `readback amend`: something is put right after a session, beside what was recorded.

use std::path::{Path, PathBuf};

use clap::builder::NonEmptyStringValueParser;
use serde::{Deserialize, Serialize};

use super::recorded::{self, Guides, RecordedSession};
use super::verify::counted;
use super::{Answer, Failure, Output};
use crate::clock::{Clock, SystemClock};
use crate::quantity::{Amount, Quantity, Reading};
use crate::record::{self, Fault, Hash, Record, Recorded, Resumed};
use crate::report::Report;
use crate::session::{self, AmendError, Amendment, Event, JobLine, ReadingId, Reviewer, State};

/// Puts something right after a session, or signs its record off.
///
/// Nothing recorded is changed: the amendment is added to the record with who and why, the report
/// shows the earlier value beside the corrected one, and findings that rest on it are judged again
/// beside the original. Readings, utterances and notes bear the numbers that the report and the
/// review name. A record that does not verify is not signed off; anything else is added to it with
/// a warning, as long as its lines hold together and its procedure is as it was.
///
/// Examples:
///
///   readback amend sessions/demo --by "R. Amsel" --why "misheard" --reading 3 --value "174 count"
///   readback amend sessions/demo --by "R. Amsel" --heard 18 --text "the tomatoes look good"
///   readback amend sessions/demo --by "R. Amsel" --note 1 --text "the strainer drips"
///   readback amend sessions/demo --by "R. Amsel" --job complaint --text "The benches stay cold."
///   readback amend sessions/demo --by "R. Amsel" --sign "Read and found right."
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment, group = clap::ArgGroup::new("what").required(true))]
pub struct Arguments {
    /// The session's folder
    session: PathBuf,
    /// Who puts it right
    #[arg(long, value_name = "NAME", value_parser = NonEmptyStringValueParser::new())]
    by: String,
    /// Why; a reading needs it
    #[arg(long, value_name = "REASON", value_parser = NonEmptyStringValueParser::new())]
    why: Option<String>,
    /// The number of the reading that was another value
    #[arg(
        long,
        value_name = "NUMBER",
        group = "what",
        requires_all = ["value", "why"]
    )]
    reading: Option<u32>,
    /// The value it was, with its unit, or `between 170 and 180 count`, `about 174 count`, `over
    /// range`, `short` or `no reading`
    #[arg(
        long,
        requires = "reading",
        conflicts_with_all = ["heard", "note", "job", "remark", "sign"],
        allow_hyphen_values = true
    )]
    value: Option<String>,
    /// The number of the utterance in which other words were said
    #[arg(long, value_name = "NUMBER", group = "what", requires = "text")]
    heard: Option<u32>,
    /// The number of the note to give a text
    #[arg(long, value_name = "NUMBER", group = "what", requires = "text")]
    note: Option<u32>,
    /// The line of the job to give a text: complaint, unit, site, reference or technician. What
    /// serial number and variant were, which limits rest on, belongs in a remark
    #[arg(
        long,
        value_name = "LINE",
        group = "what",
        requires = "text",
        value_parser = job_line
    )]
    job: Option<JobLine>,
    /// The text of the utterance, the note or the line
    #[arg(
        long,
        conflicts_with_all = ["reading", "remark", "sign"],
        value_parser = NonEmptyStringValueParser::new()
    )]
    text: Option<String>,
    /// Something to be known of the session
    #[arg(
        long,
        value_name = "TEXT",
        group = "what",
        value_parser = NonEmptyStringValueParser::new()
    )]
    remark: Option<String>,
    /// Sign the record off with a statement; an amendment after it takes it back
    #[arg(
        long,
        value_name = "STATEMENT",
        group = "what",
        value_parser = NonEmptyStringValueParser::new()
    )]
    sign: Option<String>,
}

#[derive(Serialize)]
struct Document<'a> {
    session: &'a str,
    amendments: &'a [Event],
    lines: u64,
    head: &'a str,
    /// What it changes, in plain sentences.
    told: &'a [String],
}

/// Adds to a record what is asked for, and says what that changes.
///
/// # Errors
///
/// As [`amend`].
pub fn amend_and_tell(folder: &Path, asked: &Asked) -> Result<(Amended, Vec<String>), Failure> {
    // What cannot be told does not stand in the way of adding it. Nothing that is told rests on the
    // files that `amend` checks, and the procedure stays the same.
    let mut guides = Guides::default();
    let mut read = || recorded::open_unchecked(folder, &mut guides).ok();
    let before = read();
    let amended = amend(folder, asked)?;
    let after = read().map(|after| after.report());
    let told = before.zip(after);
    let told = told.map_or_else(Vec::new, |(before, after)| told_of(asked, &before, &after));
    Ok((amended, told))
}

/// What an amendment changes: what is left open by it, a sign-off that it takes back.
fn told_of(asked: &Asked, before: &RecordedSession, after: &Report) -> Vec<String> {
    let earlier = before.report();
    let mut told = Vec::new();
    if let What::Reading { number, value } = &asked.what
        && let Some(plausible) = before.implausible(*number, value)
    {
        told.push(format!(
            "{value} is not usual here, {plausible} is: is it right?"
        ));
    }
    let now_open = after.unresolved.iter();
    let now_open = now_open.filter(|open| !earlier.unresolved.contains(open));
    told.extend(now_open.map(|open| format!("unresolved: {open}")));
    if earlier.signed_off && !after.signed_off {
        told.push("the sign-off is taken back".to_owned());
    }
    let open = after.unresolved.len() as u64;
    if matches!(asked.what, What::Sign { .. }) && open > 0 {
        told.push(format!(
            "signed off with {} unresolved",
            counted(open, "point")
        ));
    }
    told
}

/// What somebody asks to be put right.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Asked {
    pub by: String,
    #[serde(default)]
    pub why: String,
    /// The head of the record that was looked at: what was added since must be looked at first.
    #[serde(default)]
    pub head: Option<String>,
    #[serde(flatten)]
    pub what: What,
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub enum What {
    Reading { number: u32, value: String },
    Words { number: u32, text: String },
    Note { number: u32, text: String },
    Job { line: JobLine, text: String },
    Remark { text: String },
    Sign { statement: String },
}

/// What was added to a record, and how it ends now.
pub struct Amended {
    events: Vec<Event>,
    lines: u64,
    head: Hash,
    /// What was wrong with the record before; it is still.
    fault: Option<Fault>,
}

fn job_line(name: &str) -> Result<JobLine, String> {
    let known = JobLine::ALL.map(JobLine::name);
    let line = JobLine::ALL.into_iter().find(|line| line.name() == name);
    line.ok_or_else(|| format!("expected one of {}", known.join(", ")))
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let folder = &arguments.session;
    let asked = asked(arguments);
    let (amended, told) = amend_and_tell(folder, &asked)?;
    let Amended {
        events,
        lines,
        head,
        fault,
    } = amended;
    if let Some(fault) = fault {
        eprintln!("warning: the record did not verify before this was added to it: {fault}");
    }
    if output.is_json() {
        output.json(&Document {
            session: &folder.to_string_lossy(),
            amendments: &events,
            lines,
            head: head.as_str(),
            told: &told,
        })?;
    } else {
        let told: String = told.iter().map(|told| format!("{told}\n")).collect();
        output.text(format!(
            "added to the record\n{told}head of line {lines}: {head}\n"
        ))?;
    }
    Ok(Answer::Done)
}

fn asked(arguments: &Arguments) -> Asked {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let what = match *arguments {
        Arguments {
            reading: Some(number),
            ..
        } => What::Reading {
            number,
            value: text(&arguments.value),
        },
        Arguments {
            heard: Some(number),
            ..
        } => What::Words {
            number,
            text: text(&arguments.text),
        },
        Arguments {
            note: Some(number), ..
        } => What::Note {
            number,
            text: text(&arguments.text),
        },
        Arguments {
            job: Some(line), ..
        } => What::Job {
            line,
            text: text(&arguments.text),
        },
        Arguments {
            remark: Some(ref remark),
            ..
        } => What::Remark {
            text: remark.clone(),
        },
        _ => What::Sign {
            statement: text(&arguments.sign),
        },
    };
    Asked {
        by: arguments.by.clone(),
        why: text(&arguments.why),
        head: None,
        what,
    }
}

/// Adds to a record what is asked for.
///
/// # Errors
///
/// It cannot be put right so, or a record that does not verify is to be signed off: then nothing is
/// added. Or the record cannot be read or written.
pub fn amend(folder: &Path, asked: &Asked) -> Result<Amended, Failure> {
    // Whether it can be made is known before anything is written.
    let recorded = record::read::<Event>(folder)?;
    let seen = asked.head.as_deref();
    if seen.is_some_and(|seen| seen != recorded.head.as_str()) {
        return Err(Failure::refused(
            "the record was added to since you looked at it, and nothing was added now: look at it again",
        ));
    }
    record::procedure_as_it_was(folder, &recorded.procedure)?;
    made(asked, &recorded)?;
    let fault = record::verify(folder, None)?.faults.into_iter().next();
    if let (What::Sign { .. }, Some(fault)) = (&asked.what, &fault) {
        return Err(Failure::refused(format_args!(
            "the record does not verify and was not signed off: {fault}"
        )));
    }
    let clock = SystemClock::start();
    let Resumed {
        mut record,
        recorded,
        now,
        ..
    } = Record::<Event>::resume(folder, clock.now().wall)?;
    let events = made(asked, &recorded)?;
    record.append(&now, events.clone(), None)?;
    record.close(&now)?;
    let (head, lines) = record.head();
    Ok(Amended {
        events,
        lines,
        head: head.clone(),
        fault,
    })
}

fn made(asked: &Asked, recorded: &Recorded<Event>) -> Result<Vec<Event>, Failure> {
    let events = recorded.entries.iter().map(|entry| &entry.event);
    let state = events.fold(State::default(), session::apply);
    let by = Reviewer {
        who: &asked.by,
        why: &asked.why,
    };
    let what = match asked.what.clone() {
        What::Reading { number, value } => Amendment::Reading {
            id: ReadingId(number),
            to: value_of(&value, number, &state)?,
        },
        What::Words { number, text } => Amendment::Words {
            utterance: number,
            text,
        },
        What::Note { number, text } => Amendment::Note { note: number, text },
        What::Job { line, text } => Amendment::Job { line, text },
        What::Remark { text } => Amendment::Remark { text },
        What::Sign { statement } => Amendment::SignedOff { statement },
    };
    session::amend(&state, by, what).map_err(Failure::input)
}

/// `174 count`, `about 174 count` or `between 170 and 180 count`.
fn measured(written: &str) -> Result<Reading, Failure> {
    let value = |text: &str| text.parse::<Quantity>().map_err(Failure::input);
    let (amount, unit) = if let Some(about) = written.strip_prefix("about ") {
        let about = value(about)?;
        (Amount::About(about.value), about.unit)
    } else if let Some((low, high)) = written
        .strip_prefix("between ")
        .and_then(|ends| ends.split_once(" and "))
    {
        let high = value(high)?;
        let low = value(&format!("{low} {}", high.unit))?;
        if low.value >= high.value {
            return Err(Failure::input(format_args!(
                "found `{written}`, expected the lower value first"
            )));
        }
        (Amount::Between(low.value, high.value), high.unit)
    } else {
        let exact = value(written)?;
        (Amount::Exact(exact.value), exact.unit)
    };
    Ok(Reading { amount, unit })
}

/// A value as it is written; one without a number has the unit of the reading it stands in for.
fn value_of(text: &str, number: u32, state: &State) -> Result<Reading, Failure> {
    let amount = match text.trim() {
        "over range" => Amount::OverRange,
        "short" => Amount::Short,
        "no reading" => Amount::None,
        written => return measured(written),
    };
    let kept = state.readings.iter().find(|kept| kept.id.0 == number);
    let kept = kept.ok_or(AmendError::NoReading {
        found: number,
        last: state.readings.len(),
    });
    let kept = kept.map_err(Failure::input)?;
    Ok(Reading {
        amount,
        unit: kept.reading.unit,
    })
}
