//! Everything doubtful about a procedure that loads.
//!
//! `flow` follows the ways through the steps, `coverage` holds each findings table against the
//! plane of what can be read, `prose` reads the texts, `times` looks at how long things take.

mod cells;
mod coverage;
mod flow;
mod plane;
mod prose;
mod table;
mod times;
mod ways;
mod wording_of;

use flow::Flow;
pub use table::{PlaneCell, PlaneRow, PlaneTable, planes};

use super::library::Library;
use super::model::{Procedure, StepKind};
use super::place::Place;
use super::problem::{Findings, Problem};

/// Everything doubtful about the procedures of a library, in the order of their files' lines, the
/// main procedure first.
pub fn check(library: &Library) -> Vec<Problem> {
    let main = library.main();
    let called = library.procedures().filter(|p| p.id != main.id);
    std::iter::once(main)
        .chain(called)
        .flat_map(check_one)
        .collect()
}

/// A file not named after its procedure: a call would not find it there.
pub fn misnamed(library: &Library) -> Option<Problem> {
    let main = library.main();
    let name = main.file.rsplit(['/', '\\']).next()?;
    let mut findings = Findings::new(&main.file);
    if name != format!("{}.yaml", main.id) {
        findings.doubt(
            "other-file-name",
            Place { line: 1, column: 1 },
            format!("procedure `{}` in `{name}`", main.id),
            format!("it in `{}.yaml`, where a call looks for it", main.id),
            "rename the file or the procedure",
        );
    }
    findings.problems.pop()
}

fn check_one(procedure: &Procedure) -> Vec<Problem> {
    let mut all: Vec<(Problem, Vec<String>)> = Vec::new();
    for variant in procedure.variants.keys() {
        let mut findings = Findings::new(&procedure.file);
        let flow = Flow::new(procedure, variant);
        ways::check_ways(procedure, &flow, &mut findings);
        for (index, step) in procedure.steps.iter().enumerate() {
            if flow.applies(index) && matches!(step.kind, StepKind::Diagnose { .. }) {
                coverage::check_table(procedure, &flow, step, variant, &mut findings);
            }
        }
        for problem in findings.problems {
            match all.iter_mut().find(|(known, _)| *known == problem) {
                Some((_, variants)) if variants.contains(&variant.0) => {}
                Some((_, variants)) => variants.push(variant.to_string()),
                None => all.push((problem, vec![variant.to_string()])),
            }
        }
    }
    let mut problems = name_variants(all, procedure.variants.len());
    let mut findings = Findings::new(&procedure.file);
    prose::check_texts(procedure, &mut findings);
    times::check_times(procedure, &mut findings);
    problems.append(&mut findings.problems);
    problems.sort_by_key(|p| p.place);
    problems
}

/// What is found for some variants only says for which.
fn name_variants(all: Vec<(Problem, Vec<String>)>, count: usize) -> Vec<Problem> {
    all.into_iter()
        .map(|(mut problem, variants)| {
            if variants.len() < count {
                let names = super::problem::listed(variants.iter().map(String::as_str));
                problem.found.push_str(&format!(" (variant {names})"));
            }
            problem
        })
        .collect()
}
