//! Times that are more likely a slip of the pen than meant.

use crate::procedure::problem::Findings;
use crate::procedure::{Procedure, StepKind};

/// Nobody calls out a value for longer, or stands by a machine that long. Common practice, no source.
const LONGEST_WATCH: u32 = 30 * 60;
const LONGEST_WAIT: u32 = 4 * 60 * 60;

pub(super) fn check_times(procedure: &Procedure, findings: &mut Findings) {
    for step in &procedure.steps {
        let (kind, seconds, most) = match step.kind {
            StepKind::Watch { seconds, .. } => ("watch", seconds, LONGEST_WATCH),
            StepKind::Wait { seconds, .. } => ("wait", seconds, LONGEST_WAIT),
            _ => continue,
        };
        if seconds > most {
            findings.doubt(
                "long-time",
                step.place,
                format!("a {kind} of {seconds} seconds in `{}`", step.id),
                format!("at most {most}"),
                "look whether it is meant in seconds",
            );
        }
    }
}
