//! What the technician says where the session stands.

use readback::language::{Command, Meaning};
use readback::procedure::{QuantityDefinition, Release, StepKind};
use readback::quantity::{Amount, Decimal, Range};
use readback::session::{
    Asking, EntryQuestion, Guide, KeptVerdict, Phase, Position, ReadingId, Rest, State, Supply,
    expectation,
};

use super::channel::Rng;
use super::truth::Truth;

/// What is said next.
pub enum Says {
    Plain(Meaning),
    /// A true value, alone or after a command.
    Value {
        command: Option<Command>,
        amount: Amount,
        resolution: Option<Decimal>,
    },
    /// A true value by the keyboard.
    Typed(Amount),
    /// Nothing, until the next time that is due or for so many milliseconds.
    Waits(u64),
}

pub struct Technician<'a> {
    pub guide: &'a Guide,
    pub truth: Truth,
    /// How many values of the current watch were called out.
    pub called_out: u64,
}

fn say(command: Command) -> Says {
    Says::Plain(Meaning::Command {
        command,
        readings: Vec::new(),
    })
}

fn choice(id: &str) -> Says {
    Says::Plain(Meaning::Choice(id.to_owned()))
}

fn free_words() -> Says {
    Says::Plain(Meaning::nothing("free words"))
}

impl Technician<'_> {
    /// At a watch, the values are called out from the first.
    pub fn arrive(&mut self, state: &State) {
        let step = state
            .position
            .as_ref()
            .and_then(|here| self.guide.step(here));
        if matches!(step.map(|s| &s.kind), Some(StepKind::Watch { .. })) {
            self.called_out = 0;
        }
    }

    /// `truth_of` is what was truly said for a kept reading.
    pub fn says(
        &mut self,
        state: &State,
        rng: &mut Rng,
        truth_of: impl Fn(ReadingId) -> Option<Amount>,
    ) -> Says {
        if state.rest != Rest::Listening {
            return say(Command::Continue);
        }
        match (&state.asking, &state.phase) {
            (Some(Asking::Confirmation(id)), _) => self.answer(state, *id, truth_of(*id), rng),
            (Some(Asking::OverrideFinding), _) => choice("finding_1"),
            (Some(_), _) => free_words(),
            (None, Phase::Entry(question)) => self.entry(state, question, rng),
            (None, _) => self.work(state, rng),
        }
    }

    fn answer(
        &mut self,
        state: &State,
        id: ReadingId,
        truth: Option<Amount>,
        rng: &mut Rng,
    ) -> Says {
        let kept = state.reading(id).expect("what is asked about was given");
        let Some(truth) = truth else {
            return say(Command::Negative);
        };
        if kept.reading.amount == truth {
            return say(Command::Affirm);
        }
        let definition = self.guide.quantity(&kept.step, &kept.quantity);
        let correct = |command| Says::Value {
            command,
            amount: truth,
            resolution: definition.and_then(|d| d.resolution),
        };
        match rng.below(4) {
            0 | 1 => say(Command::Negative),
            2 => correct(Some(Command::Correction)),
            _ => correct(None),
        }
    }

    fn entry(&mut self, state: &State, question: &EntryQuestion, rng: &mut Rng) -> Says {
        let main = self.guide.library.main();
        let variant = main.variants.get(&self.guide.variant(state));
        let middle = |range: Option<Range>| {
            let middle = range.and_then(|r| r.middle()).unwrap_or_default();
            Amount::Exact(middle.round_dp(0))
        };
        let supply = |what| match what {
            Supply::Voltage => middle(variant.and_then(|v| v.supply_voltage)),
            Supply::Frequency => middle(variant.and_then(|v| v.supply_frequency)),
        };
        match question {
            EntryQuestion::StandingCaution => say(Command::Next),
            EntryQuestion::Variant => {
                let ids: Vec<_> = main.variants.keys().collect();
                choice(rng.pick(&ids).expect("a variant").as_str())
            }
            EntryQuestion::Serial => Says::Plain(Meaning::Spelling("A1".to_owned())),
            EntryQuestion::Supply(what) => Says::Value {
                command: None,
                amount: supply(*what),
                resolution: None,
            },
            EntryQuestion::SupplyConfirmation(what) => {
                let kept = match what {
                    Supply::Voltage => &state.job.voltage,
                    Supply::Frequency => &state.job.frequency,
                };
                let said = kept
                    .as_ref()
                    .is_some_and(|k| k.reading.amount == supply(*what));
                say(if said {
                    Command::Affirm
                } else {
                    Command::Negative
                })
            }
            EntryQuestion::Own(_) if expectation(self.guide, state).spelling => {
                Says::Plain(Meaning::Spelling("B2".to_owned()))
            }
            _ => say(Command::Affirm),
        }
    }

    fn work(&mut self, state: &State, rng: &mut Rng) -> Says {
        let Some(here) = state.position.clone() else {
            return say(Command::Next);
        };
        let Some(step) = self.guide.step(&here) else {
            return say(Command::Next);
        };
        let often = state.denied(&here) >= 4;
        match &step.kind {
            StepKind::Hold { release, .. } => match release {
                Release::Words(_) => choice(&expectation(self.guide, state).choices[0].id),
                Release::Proof(points) => {
                    let point = &points[state.proof.len()];
                    let definition = self.definition(&here, &point.quantity);
                    let amount = self.truth.proof(point.within, definition, rng);
                    value(amount, definition, often)
                }
            },
            StepKind::Choose { options, .. } => {
                let option = rng.pick(options).expect("an option");
                choice(option.id.as_str())
            }
            StepKind::Wait { missed, .. } => match &state.timer {
                Some(timer) if !timer.ended && missed.is_none() => Says::Waits(600_000),
                _ => say(Command::Next),
            },
            StepKind::Read { quantity, .. } => {
                let kept = !state.series(&here).is_empty();
                if kept && rng.chance(500) {
                    return say(Command::Next);
                }
                let definition = self.definition(&here, quantity);
                let amount = self.truth.read(self.guide, state, &here);
                value(amount.expect("a read step"), definition, often)
            }
            StepKind::Watch { .. } => self.watch(state, &here, rng),
            StepKind::Diagnose { of, .. } => self.diagnose(state, &here, of, rng),
            StepKind::Compute { .. } => say(Command::Back),
            _ => say(Command::Next),
        }
    }

    fn watch(&mut self, state: &State, step: &Position, rng: &mut Rng) -> Says {
        let enough = state.timer.as_ref().is_some_and(|t| t.sufficed);
        if enough && rng.chance(300) {
            return say(Command::Next);
        }
        if rng.chance(400) {
            return Says::Waits(4_000);
        }
        self.call_out(state, step)
    }

    fn call_out(&mut self, state: &State, step: &Position) -> Says {
        self.called_out += 1;
        let amount = self.truth.watched(self.guide, state, step, self.called_out);
        let Some(StepKind::Watch { quantity, .. }) = self.guide.step(step).map(|s| &s.kind) else {
            return say(Command::Back);
        };
        let definition = self.definition(step, quantity);
        value(amount.expect("a watch"), definition, false)
    }

    fn diagnose(
        &mut self,
        state: &State,
        here: &Position,
        of: &readback::procedure::StepId,
        rng: &mut Rng,
    ) -> Says {
        match &state.verdict {
            Some(KeptVerdict::Finding(_)) => say(Command::Next),
            Some(KeptVerdict::Equal(_)) => choice("finding_1"),
            _ if rng.chance(150) => say(Command::Back),
            _ => {
                let of = Position {
                    procedure: here.procedure.clone(),
                    step: of.clone(),
                };
                self.call_out(state, &of)
            }
        }
    }

    fn definition(
        &self,
        step: &Position,
        quantity: &readback::procedure::QuantityId,
    ) -> &QuantityDefinition {
        let definition = self.guide.quantity(step, quantity);
        definition.expect("a quantity of the procedure")
    }
}

fn value(amount: Amount, definition: &QuantityDefinition, typed: bool) -> Says {
    match typed {
        true => Says::Typed(amount),
        false => Says::Value {
            command: None,
            amount,
            resolution: definition.resolution,
        },
    }
}
