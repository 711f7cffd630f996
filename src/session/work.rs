//! What is said at a step while nothing else is asked.

use super::choose;
use super::commands;
use super::hear::{self, Spoken};
use super::hold;
use super::parts::Decline;
use super::read;
use super::state::KeptVerdict;
use super::turn::Turn;
use super::watch;
use crate::language::{Meaning, SpokenReading};
use crate::procedure::{Release, StepKind};

pub(super) fn work(turn: &mut Turn, spoken: &Spoken) {
    match &spoken.best.meaning {
        Meaning::Command { command, readings } => {
            commands::command(turn, spoken, *command, readings);
        }
        Meaning::Readings(readings) => values(turn, spoken, readings),
        Meaning::Choice(id) => choose::choice(turn, id),
        Meaning::Spelling(_) => turn.decline(Decline::NotHere),
        Meaning::Nothing { why } => hear::not_understood(turn, why),
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
            if turn.state.verdict == Some(KeptVerdict::Undetermined) =>
        {
            watch::more(turn, spoken, readings, of);
        }
        _ => turn.decline(Decline::NoValueHere),
    }
}
