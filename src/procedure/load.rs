//! Files to a checked library: the main procedure and every one it calls.

use std::collections::{BTreeSet, VecDeque};

use super::findings::LeadsTo;
use super::library::Library;
use super::model::{Procedure, Step, StepKind};
use super::names::ProcedureId;
use super::place::Place;
use super::problem::{Findings, Problem, listed};
use super::scope::Scope;
use super::syntax::read_source;
use crate::language::{Say, locales};

/// A file's text with the name it is known by in messages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceFile {
    pub name: String,
    pub text: String,
}

/// Reads the main procedure and every procedure it calls, directly or through another.
///
/// `find` gives the file of a called procedure, or `None` where there is none. It is asked once for
/// each id.
///
/// # Errors
///
/// Everything that is wrong in any of the files, in the order of the files and of their lines.
pub fn load(
    main: &SourceFile,
    mut find: impl FnMut(&ProcedureId) -> Option<SourceFile>,
) -> Result<Library, Vec<Problem>> {
    let mut problems = Vec::new();
    let main = load_one(main).unwrap_or_else(|found| {
        problems.extend(found);
        None
    });
    let Some((main, main_name)) = main else {
        return Err(problems);
    };
    let mut asked: BTreeSet<ProcedureId> = [main.id.clone()].into();
    let mut waiting: VecDeque<(Call, String)> = calls(&main, &main_name);
    let mut called: Vec<Procedure> = Vec::new();
    while let Some((call, from)) = waiting.pop_front() {
        if !asked.insert(call.procedure.clone()) {
            continue;
        }
        match find(&call.procedure).map(|file| load_one(&file)) {
            None => problems.push(not_found(&call, &from)),
            Some(Err(found)) => problems.extend(found),
            Some(Ok(None)) => {}
            Some(Ok(Some((procedure, name)))) => {
                problems.extend(misfit(&main, &procedure, &call, &from));
                waiting.extend(calls(&procedure, &name));
                called.push(procedure);
            }
        }
    }
    if problems.is_empty() {
        problems.extend(circles(&main, &called));
    }
    match problems.is_empty() {
        true => Ok(Library::new(main, called)),
        false => Err(problems),
    }
}

/// Like [`load`], with the called procedures among the files: the first file is the main one.
///
/// # Errors
///
/// As [`load`].
pub fn load_files(files: &[SourceFile]) -> Result<Library, Vec<Problem>> {
    let Some((main, others)) = files.split_first() else {
        return Err(Vec::new());
    };
    load(main, |id| {
        others
            .iter()
            .find(|file| declared_id(&file.text).as_ref() == Some(id))
            .cloned()
    })
}

/// The id a file declares, without checking anything else in it.
fn declared_id(text: &str) -> Option<ProcedureId> {
    let mut findings = Findings::new("");
    read_source(text, &mut findings).map(|source| ProcedureId(source.id.value))
}

type Loaded = Option<(Procedure, String)>;

fn load_one(file: &SourceFile) -> Result<Loaded, Vec<Problem>> {
    let mut findings = Findings::new(&file.name);
    let Some(source) = read_source(&file.text, &mut findings) else {
        return Err(sorted(findings.problems));
    };
    let locale = &source.locale;
    let Ok(say) = Say::bundled(locale.value.trim()) else {
        findings.error(
            "locale",
            locale.place,
            format!("locale `{}`", locale.value),
            format!("one of {}", listed(locales())),
            "write the language it is spoken in",
        );
        return Err(findings.problems);
    };
    let mut scope = Scope::new(&source, say, findings);
    let procedure = scope.procedure(&source);
    let problems = sorted(scope.findings.problems);
    match procedure {
        Some(procedure) => Ok(Some((procedure, file.name.clone()))),
        None => Err(problems),
    }
}

fn sorted(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by_key(|p| p.place);
    problems
}

/// A place that works through another procedure.
#[derive(Debug, Clone)]
struct Call {
    procedure: ProcedureId,
    place: Place,
}

fn calls(procedure: &Procedure, file: &str) -> VecDeque<(Call, String)> {
    let found = procedure.steps.iter().flat_map(calls_of_step);
    found.map(|call| (call, file.to_owned())).collect()
}

fn calls_of_step(step: &Step) -> Vec<Call> {
    let call = |procedure: &ProcedureId, place| Call {
        procedure: procedure.clone(),
        place,
    };
    match &step.kind {
        StepKind::Call { procedure } => vec![call(procedure, step.place)],
        StepKind::Diagnose { findings, .. } => findings
            .iter()
            .filter_map(|row| match &row.leads_to {
                LeadsTo::Call(procedure) => Some(call(procedure, row.place)),
                _ => None,
            })
            .collect(),
        _ => Vec::new(),
    }
}

fn not_found(call: &Call, file: &str) -> Problem {
    let mut findings = Findings::new(file);
    findings.error(
        "unknown-procedure",
        call.place,
        format!(
            "a call of procedure `{}`, which is not there",
            call.procedure
        ),
        format!("a file `{}.yaml` beside this one", call.procedure),
        "add the file or name another procedure",
    );
    findings.problems.remove(0)
}

/// Calls that lead back to their caller: none of them could ever return.
fn circles(main: &Procedure, called: &[Procedure]) -> Vec<Problem> {
    let all = || std::iter::once(main).chain(called);
    let called_by = |id: &ProcedureId| {
        let procedure = all().find(|p| p.id == *id);
        procedure.map_or_else(VecDeque::new, |p| calls(p, &p.file))
    };
    let leads_to = |start: &ProcedureId, target: &ProcedureId| {
        let mut seen = BTreeSet::new();
        let mut open = vec![start.clone()];
        while let Some(id) = open.pop() {
            if id == *target {
                return true;
            }
            if seen.insert(id.clone()) {
                open.extend(called_by(&id).into_iter().map(|(call, _)| call.procedure));
            }
        }
        false
    };
    let mut problems = Vec::new();
    for caller in all() {
        let mut findings = Findings::new(&caller.file);
        for (call, _) in called_by(&caller.id) {
            if leads_to(&call.procedure, &caller.id) {
                findings.error(
                    "endless-call",
                    call.place,
                    format!(
                        "a call of `{}`, which leads back to `{}`",
                        call.procedure, caller.id
                    ),
                    "a call that comes to an end and returns",
                    "go to a step of this procedure instead, or end the called one with a finish",
                );
            }
        }
        problems.append(&mut findings.problems);
    }
    problems
}

/// What keeps a called procedure from serving its caller: another id, language or variants.
fn misfit(main: &Procedure, called: &Procedure, call: &Call, file: &str) -> Vec<Problem> {
    let mut findings = Findings::new(file);
    if called.id != call.procedure {
        findings.error(
            "other-id",
            call.place,
            format!(
                "procedure `{}` in the file of `{}`",
                called.id, call.procedure
            ),
            format!("`id: {}` there", call.procedure),
            "rename the file or the procedure",
        );
    }
    if called.locale != main.locale {
        findings.error(
            "other-locale",
            call.place,
            format!("a call of `{}`, spoken in `{}`", called.id, called.locale),
            format!("a procedure spoken in `{}`", main.locale),
            "call one in the same language",
        );
    }
    let missing = main
        .variants
        .keys()
        .filter(|v| !called.variants.contains_key(*v));
    let missing: Vec<&str> = missing.map(|v| v.as_str()).collect();
    if !missing.is_empty() {
        findings.error(
            "other-variants",
            call.place,
            format!(
                "a call of `{}`, which does not apply to {}",
                called.id,
                listed(missing)
            ),
            format!("one that applies to every variant of `{}`", main.id),
            "add the variants to the called procedure's `applies_to`",
        );
    }
    findings.problems
}
