//! `readback diagnose`: the finding for a series, without a session.

use std::fs;
use std::path::PathBuf;

use indexmap::IndexMap;

use super::{Answer, Failure, Output, procedure_files, readings_file};
use crate::diagnosis::{self, Judged, Judgement, Numbers, Report, Series, Table};
use crate::procedure::{
    FindingRow, Procedure, QuantityDefinition, Step, StepId, StepKind, VariantId,
};
use crate::quantity::Reading;

/// Says what readings point to by the table of a diagnose step, and why.
///
/// The answer is "no" (exit code 1) where there is no single finding; then it says what is missing.
///
/// Examples:
///
///   readback diagnose procedures/cold-benches.yaml --step circulator --variant hs-2 --readings counts.csv
///   printf 't_s,value\n0,176\n' | readback diagnose procedures/cold-benches.yaml --step circulator --variant hs-2 --readings -
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub struct Arguments {
    /// The procedure's file
    procedure: PathBuf,
    /// The diagnose step
    #[arg(long, value_name = "ID")]
    step: String,
    /// A table with the columns t_s,value, or - for stdin
    #[arg(long, value_name = "FILE.csv")]
    readings: PathBuf,
    /// The variant of the unit; may be left out where there is only one
    #[arg(long, value_name = "ID")]
    variant: Option<String>,
    /// What another step read, such as winding=over_range; may be given several times
    #[arg(long, value_name = "STEP=VALUE")]
    reading: Vec<String>,
    /// Draw the readings against the levels of the findings
    #[arg(long, value_name = "FILE.svg")]
    plot: Option<PathBuf>,
}

pub fn run(arguments: &Arguments, output: &mut Output) -> Result<Answer, Failure> {
    let files = procedure_files::open_sound(&arguments.procedure)?;
    let procedure = files.library.main();
    let variant = variant(procedure, arguments.variant.as_deref())?;
    let (step, of, findings) = diagnose_step(procedure, &arguments.step)?;
    let (quantity, watched) = source(procedure, of)?;
    let series = readings_file::open(&arguments.readings, quantity.unit)?;
    let series = match watched {
        true => series,
        false => last_only(&series),
    };
    let mut others = others(procedure, &variant, &arguments.reading)?;
    if let (false, Some(sample)) = (watched, series.samples().last()) {
        let (amount, limits) = (sample.amount, *quantity.limits.get(&variant));
        others.insert(of.clone(), Judged { amount, limits });
    }
    let table = Table {
        quantity,
        findings,
        variant: &variant,
        others: &others,
    };
    let judgement = diagnosis::judge(&series, &table);
    if let Some(path) = &arguments.plot {
        let picture = diagnosis::plot(&series, &table, &judgement);
        fs::write(path, picture).map_err(|error| Failure::file("write", path, &error))?;
    }
    let numbers = Numbers::from_one(&series);
    match output.is_json() {
        true => output.json(&Report::new(
            &procedure.id,
            &step.id,
            &table,
            &judgement,
            &numbers,
        ))?,
        false => output.text(text(&judgement, &table, &numbers))?,
    }
    Ok(Answer::yes_if(judgement.finding().is_some()))
}

fn text(judgement: &Judgement, table: &Table, numbers: &Numbers) -> String {
    let mut text = match judgement.finding() {
        Some(finding) => {
            let row = table.findings.iter().find(|row| row.id == finding.id);
            let say = row.map(|row| row.say.get(table.variant).written.as_str());
            format!("{}: {}\n", finding.id, say.unwrap_or_default())
        }
        None => format!(
            "no finding: {}\n",
            judgement.ask(numbers).unwrap_or_default()
        ),
    };
    for line in judgement.why(table, numbers) {
        text += &format!("  {line}\n");
    }
    text
}

fn variant(procedure: &Procedure, asked: Option<&str>) -> Result<VariantId, Failure> {
    let known: Vec<&VariantId> = procedure.variants.keys().collect();
    let found = match (asked, known.as_slice()) {
        (None, [only]) => Some(*only),
        (None, _) => {
            let names = listed(known.iter());
            return Err(Failure::input(format_args!(
                "which variant is it? give `--variant` with one of {names}"
            )));
        }
        (Some(name), known) => known.iter().copied().find(|id| id.as_str() == name),
    };
    found.cloned().ok_or_else(|| {
        let (name, names) = (asked.unwrap_or_default(), listed(known.iter()));
        Failure::input(format_args!(
            "found the variant `{name}`, expected one of {names}"
        ))
    })
}

fn diagnose_step<'a>(
    procedure: &'a Procedure,
    name: &str,
) -> Result<(&'a Step, &'a StepId, &'a [FindingRow]), Failure> {
    let steps = || {
        procedure.steps.iter().filter_map(|step| match &step.kind {
            StepKind::Diagnose { of, findings } => Some((step, of, findings.as_slice())),
            _ => None,
        })
    };
    steps()
        .find(|(step, ..)| step.id.as_str() == name)
        .ok_or_else(|| {
            let names = listed(steps().map(|(step, ..)| &step.id));
            Failure::input(format_args!(
                "found the step `{name}`, expected a diagnose step of `{}`: {names}",
                procedure.id
            ))
        })
}

/// The quantity that a step gives, and whether it is watched over time.
fn source<'a>(
    procedure: &'a Procedure,
    of: &StepId,
) -> Result<(&'a QuantityDefinition, bool), Failure> {
    let step = procedure.steps.iter().find(|step| step.id == *of);
    let (id, watched) = match step.map(|step| &step.kind) {
        Some(StepKind::Watch { quantity, .. }) => (quantity, true),
        Some(StepKind::Read { quantity, .. } | StepKind::Compute { quantity, .. }) => {
            (quantity, false)
        }
        _ => return Err(no_value(of)),
    };
    let quantity = procedure.quantities.get(id);
    quantity
        .map(|quantity| (quantity, watched))
        .ok_or_else(|| no_value(of))
}

fn no_value(step: &StepId) -> Failure {
    Failure::input(format_args!(
        "the step `{step}` gives no value, expected a watch, read or compute step"
    ))
}

/// The last reading of a table, for a step that reads one value.
fn last_only(series: &Series) -> Series {
    match series.samples().last() {
        Some(sample) => Series::once(Reading {
            amount: sample.amount,
            unit: series.unit(),
        }),
        None => series.clone(),
    }
}

/// The readings given with `--reading`, each with its limits for the variant.
fn others(
    procedure: &Procedure,
    variant: &VariantId,
    given: &[String],
) -> Result<IndexMap<StepId, Judged>, Failure> {
    let mut others = IndexMap::new();
    for pair in given {
        let (step, value) = pair.split_once('=').ok_or_else(|| {
            Failure::input(format_args!(
                "found `--reading {pair}`, expected a step and its value, such as `winding=6.2`"
            ))
        })?;
        let step = StepId::from(step);
        let (quantity, _) = source(procedure, &step)?;
        let amount = readings_file::amount(value, quantity.unit)
            .map_err(|why| Failure::input(format_args!("`--reading {pair}`: {why}")))?;
        let limits = *quantity.limits.get(variant);
        others.insert(step, Judged { amount, limits });
    }
    Ok(others)
}

fn listed<T: std::fmt::Display>(names: impl Iterator<Item = T>) -> String {
    let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
    names.join(", ")
}
