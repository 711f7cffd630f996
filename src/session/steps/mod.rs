//! What each kind of step does of its own, and what is said at a step while nothing else is asked.

pub(in crate::session) mod choose;
pub(in crate::session) mod compute;
pub(in crate::session) mod diagnose;
pub(in crate::session) mod enough;
pub(in crate::session) mod examined;
pub(in crate::session) mod hold;
pub(in crate::session) mod read;
pub(in crate::session) mod timer;
pub(in crate::session) mod watch;

use crate::language::{Meaning, SpokenReading};
use crate::procedure::{Release, StepKind};
use crate::session::decide::commands;
use crate::session::decide::hear::{self, Spoken};
use crate::session::decide::turn::Turn;
use crate::session::parts::Decline;
use crate::session::state::KeptVerdict;

pub(in crate::session) fn work(turn: &mut Turn, spoken: &Spoken) {
    match &spoken.best.meaning {
        Meaning::Command { command, readings } => {
            commands::command(turn, spoken, *command, readings);
        }
        Meaning::Readings(readings) => values(turn, spoken, readings),
        Meaning::Choice(id) => choose::choice(turn, id),
        Meaning::Spelling(_) => turn.decline(Decline::NotHere),
        Meaning::Nothing { why, run_together } => hear::meant_nothing(turn, why, *run_together),
    }
}

fn values(turn: &mut Turn, spoken: &Spoken, readings: &[SpokenReading]) {
    match turn.here().map(|(_, kind)| kind) {
        Some(StepKind::Read { .. }) => read::given(turn, spoken, readings),
        Some(StepKind::Watch { .. }) => watch::given(turn, spoken, readings),
        Some(StepKind::Hold {
            release: Release::Proof(points),
            ..
        }) => hold::measured(turn, spoken, readings, points),
        Some(StepKind::Diagnose { of, .. })
            if matches!(turn.state.verdict, Some(KeptVerdict::Undetermined(_))) =>
        {
            watch::more(turn, spoken, readings, of);
        }
        _ => turn.decline(Decline::NoValueHere),
    }
}
