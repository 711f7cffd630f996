//! Steps that no way leads to, loops that none leads out of, cautions that come too late.

use super::flow::Flow;
use crate::procedure::problem::Findings;
use crate::procedure::{Procedure, Release, StepKind};

pub(super) fn check_ways(procedure: &Procedure, flow: &Flow, findings: &mut Findings) {
    let reached = flow.reached(0, None);
    for (index, step) in procedure.steps.iter().enumerate() {
        if flow.applies(index) && !reached[index] {
            findings.doubt(
                "unreachable",
                step.place,
                format!("step `{}` that no way leads to", step.id),
                "a step before it, or a `go_to` that leads to it",
                "lead to it or take it out",
            );
        }
        late_caution(procedure, flow, index, findings);
        impossible_proof(procedure, index, findings);
    }
    let caught = flow.caught(&reached);
    if let Some(first) = caught.first() {
        let step = &procedure.steps[*first];
        findings.doubt(
            "endless",
            step.place,
            format!("step `{}` from which no way leads to an end", step.id),
            "a way to a `finish`",
            "let one of the branches lead out",
        );
    }
}

fn late_caution(procedure: &Procedure, flow: &Flow, index: usize, findings: &mut Findings) {
    let step = &procedure.steps[index];
    let StepKind::Caution { protects, .. } = &step.kind else {
        return;
    };
    let Some(protected) = flow.position(protects) else {
        return;
    };
    // The protected step must not be reached on any way around the caution.
    if flow.applies(protected) && flow.applies(index) && flow.reached(0, Some(index))[protected] {
        let found = match protected < index {
            true => format!(
                "caution `{}` after step `{protects}`, which it protects",
                step.id
            ),
            false => format!(
                "step `{protects}`, reached without its caution `{}`",
                step.id
            ),
        };
        findings.doubt(
            "late-caution",
            step.place,
            found,
            "the caution before the step on every way to it",
            "put the caution right before the step and let every `go_to` lead to the caution",
        );
    }
}

/// A proof that asks for what cannot be read lets nobody pass.
fn impossible_proof(procedure: &Procedure, index: usize, findings: &mut Findings) {
    let step = &procedure.steps[index];
    let StepKind::Hold {
        release: Release::Proof(points),
        ..
    } = &step.kind
    else {
        return;
    };
    for point in points {
        let Some(quantity) = procedure.quantities.get(&point.quantity) else {
            continue;
        };
        if !quantity.plausible.overlaps(&point.within) {
            findings.doubt(
                "impossible-proof",
                step.place,
                format!("a proof of `{}` within {}", step.id, point.within),
                format!(
                    "what is plausible for `{}`: {}",
                    quantity.id, quantity.plausible
                ),
                "correct the proof or what is plausible",
            );
        }
    }
}
