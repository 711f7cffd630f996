//! Which steps can follow which: the ways through a procedure for one variant.

use crate::procedure::{Branch, LeadsTo, Procedure, Step, StepId, StepKind, VariantId};

/// The ways through a procedure for one variant, by the position of the steps.
pub(super) struct Flow<'a> {
    steps: &'a [Step],
    successors: Vec<Vec<usize>>,
    /// Steps after which the procedure may be over.
    ends: Vec<bool>,
    applies: Vec<bool>,
}

impl<'a> Flow<'a> {
    pub fn new(procedure: &'a Procedure, variant: &VariantId) -> Flow<'a> {
        let steps = &procedure.steps;
        let applies = steps
            .iter()
            .map(|step| step.only.as_ref().is_none_or(|only| only.contains(variant)));
        let mut flow = Flow {
            steps,
            successors: Vec::new(),
            ends: Vec::new(),
            applies: applies.collect(),
        };
        for index in 0..steps.len() {
            let (followers, ends) = flow.followers(index, variant);
            flow.successors.push(followers);
            flow.ends.push(ends);
        }
        flow
    }

    pub fn applies(&self, index: usize) -> bool {
        self.applies[index]
    }

    pub fn position(&self, id: &StepId) -> Option<usize> {
        self.steps.iter().position(|step| step.id == *id)
    }

    fn followers(&self, index: usize, variant: &VariantId) -> (Vec<usize>, bool) {
        let mut targets: Vec<Option<usize>> = Vec::new();
        let next = Some(index + 1);
        let go_to = |id: &StepId| self.position(id);
        match &self.steps[index].kind {
            _ if !self.applies[index] => targets.push(next),
            StepKind::Finish { .. } => return (Vec::new(), true),
            StepKind::GoTo { step } => targets.push(go_to(step)),
            StepKind::Choose { options, .. } => targets.extend(
                options
                    .iter()
                    .map(|option| option.go_to.as_ref().map_or(next, go_to)),
            ),
            StepKind::Read { branches, .. } | StepKind::Compute { branches, .. } => {
                targets.push(next);
                targets.extend(branches.iter().map(|branch| go_to(&branch.go_to)));
            }
            StepKind::Diagnose { findings, .. } => {
                let rows = findings
                    .iter()
                    .filter(|row| row.only.as_ref().is_none_or(|only| only.contains(variant)));
                for row in rows {
                    match &row.leads_to {
                        LeadsTo::Next | LeadsTo::Call(_) => targets.push(next),
                        LeadsTo::GoTo(step) => targets.push(go_to(step)),
                        LeadsTo::Finish(_) => targets.push(None),
                    }
                }
            }
            _ => targets.push(next),
        }
        let inside = |target: &Option<usize>| target.filter(|at| *at < self.steps.len());
        let ends = targets.iter().any(|target| inside(target).is_none());
        (targets.iter().filter_map(inside).collect(), ends)
    }

    /// Every step that can be reached from `start`, itself included, without passing `barrier`.
    pub fn reached(&self, start: usize, barrier: Option<usize>) -> Vec<bool> {
        let mut reached = vec![false; self.steps.len()];
        let mut open = vec![start];
        while let Some(at) = open.pop() {
            if reached.get(at) != Some(&false) || Some(at) == barrier {
                continue;
            }
            reached[at] = true;
            open.extend(&self.successors[at]);
        }
        reached
    }

    /// The steps of `among` from which the end cannot be reached.
    pub fn caught(&self, among: &[bool]) -> Vec<usize> {
        let leads_out = |start: usize| {
            let reached = self.reached(start, None);
            (0..self.steps.len()).any(|at| reached[at] && self.ends[at])
        };
        (0..self.steps.len())
            .filter(|at| among[*at] && !leads_out(*at))
            .collect()
    }

    /// Whether a branch taken at `from` can still lead to `to` with the value read at `from`.
    pub fn branch_leads_to(&self, branch: &Branch, from: usize, to: usize) -> bool {
        self.position(&branch.go_to)
            .is_some_and(|start| self.reached(start, Some(from))[to])
    }
}
