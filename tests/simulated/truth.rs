//! The unit that is worked on: what its meters truly show.

use readback::procedure::{Branch, BranchWhen, QuantityDefinition, StepKind};
use readback::quantity::{Amount, Bound, Decimal, Range};
use readback::session::{Guide, Position, State};

use super::channel::Rng;

/// A value that does not depend on when it is asked for: the same step of the same session always
/// has the same one.
pub struct Truth {
    seed: u64,
}

impl Truth {
    pub fn new(seed: u64) -> Truth {
        Truth { seed }
    }

    fn rng(&self, what: &str) -> Rng {
        let hash = |seed: u64, byte: u8| (seed ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        Rng::new(what.bytes().fold(self.seed ^ 0xcbf2_9ce4_8422_2325, hash))
    }

    /// The value of a read step.
    pub fn read(&self, guide: &Guide, state: &State, step: &Position) -> Option<Amount> {
        let StepKind::Read {
            quantity, branches, ..
        } = &guide.step(step)?.kind
        else {
            return None;
        };
        let definition = guide.quantity(step, quantity)?;
        let mut rng = self.rng(step.step.as_str());
        if rng.chance(60) {
            let special = branches.iter().find_map(without_number);
            if let Some(amount) = special {
                return Some(amount);
            }
        }
        let range = match rng.below(10) {
            0 => branches
                .get(rng.below(branches.len() as u64) as usize)
                .and_then(within),
            1 => Some(definition.plausible),
            _ => None,
        };
        let value = match range {
            Some(range) => somewhere(&mut rng, range, definition),
            None => {
                let base = self.base(guide, state, step, definition);
                let spread = if rng.chance(150) { 80 } else { 6 };
                let off = Decimal::new(rng.below(2 * spread + 1) as i64 - spread as i64, 3);
                base * (Decimal::ONE + off)
            }
        };
        Some(Amount::Exact(shown(value, definition)))
    }

    /// The value of a watch at its `count`th call, by one behavior a session that stays the same
    /// however many are called out.
    pub fn watched(
        &self,
        guide: &Guide,
        state: &State,
        step: &Position,
        count: u64,
    ) -> Option<Amount> {
        let StepKind::Watch { quantity, .. } = &guide.step(step)?.kind else {
            return None;
        };
        let definition = guide.quantity(step, quantity)?;
        let mut rng = self.rng(step.step.as_str());
        let behavior = rng.below(6);
        let base = match rng.below(3) {
            0 => self.base(guide, state, step, definition),
            _ => self.level(guide, &mut rng, step, definition),
        };
        let jitter =
            Decimal::from(self.rng(&format!("{}{count}", step.step)).below(3)) - Decimal::ONE;
        let jitter = jitter * definition.resolution.unwrap_or(Decimal::ONE);
        let part = |thousandths: i64| base * Decimal::new(thousandths, 3);
        let count = count.min(40) as i64;
        let value = match behavior {
            0 => Decimal::ZERO,
            1 if count % 2 == 0 => part(1250),
            1 => part(750),
            2 => part(1000 - 24 * count),
            3 => part(400 + 50 * count),
            _ => base + jitter,
        };
        Some(Amount::Exact(shown(value, definition)))
    }

    /// The value a point of a hold's proof shows: now and then one that proves nothing.
    pub fn proof(&self, within: Range, definition: &QuantityDefinition, rng: &mut Rng) -> Amount {
        let range = if rng.chance(950) {
            within
        } else {
            definition.plausible
        };
        Amount::Exact(shown(somewhere(rng, range, definition), definition))
    }

    /// What a quantity is at in this session, so that readings that belong together agree.
    fn base(
        &self,
        guide: &Guide,
        state: &State,
        step: &Position,
        definition: &QuantityDefinition,
    ) -> Decimal {
        let mut rng = self.rng(definition.id.as_str());
        let quantities = guide
            .library
            .get(&step.procedure)
            .map(|p| p.quantities.values());
        let mut alike = quantities
            .into_iter()
            .flatten()
            .filter(|q| q.unit == definition.unit);
        let limits = guide.limits(state, definition);
        let limits = limits.or_else(|| alike.find_map(|q| guide.limits(state, q)));
        match limits {
            Some(limits) => {
                let range = if rng.chance(700) {
                    limits
                } else {
                    around(limits, definition)
                };
                somewhere(&mut rng, range, definition)
            }
            None => somewhere(&mut rng, definition.plausible, definition),
        }
    }

    /// A level that one of the findings over a watch names.
    fn level(
        &self,
        guide: &Guide,
        rng: &mut Rng,
        step: &Position,
        definition: &QuantityDefinition,
    ) -> Decimal {
        let steps = guide
            .library
            .get(&step.procedure)
            .map(|p| p.steps.as_slice());
        let mut levels: Vec<Range> = Vec::new();
        for kind in steps.unwrap_or_default().iter().map(|s| &s.kind) {
            if let StepKind::Diagnose { of, findings } = kind
                && *of == step.step
            {
                let named = findings.iter().flat_map(|row| row.level.values());
                levels.extend(named.flatten().copied());
            }
        }
        let range = rng.pick(&levels).copied().unwrap_or(definition.plausible);
        somewhere(rng, range, definition)
    }
}

fn without_number(branch: &Branch) -> Option<Amount> {
    match branch.when {
        BranchWhen::OverRange => Some(Amount::OverRange),
        BranchWhen::NoReading => Some(Amount::None),
        BranchWhen::Short => Some(Amount::Short),
        _ => None,
    }
}

fn within(branch: &Branch) -> Option<Range> {
    match branch.when {
        BranchWhen::Within(range) => Some(range),
        _ => None,
    }
}

/// Limits and a little beyond them.
fn around(limits: Range, definition: &QuantityDefinition) -> Range {
    let (low, high) = ends(limits, definition);
    let more = (high - low) / Decimal::from(10);
    Range::closed(low - more, high + more).unwrap_or(limits)
}

fn ends(range: Range, definition: &QuantityDefinition) -> (Decimal, Decimal) {
    let end = |bound: Bound, plausible: Bound| bound.value().or(plausible.value());
    let low = end(range.low(), definition.plausible.low()).unwrap_or_default();
    let high = end(range.high(), definition.plausible.high()).unwrap_or(low + Decimal::TEN);
    (low, high.max(low))
}

fn somewhere(rng: &mut Rng, range: Range, definition: &QuantityDefinition) -> Decimal {
    let (low, high) = ends(range, definition);
    let part = Decimal::new(rng.below(1001) as i64, 3);
    low + (high - low) * part
}

/// As the display shows it.
fn shown(value: Decimal, definition: &QuantityDefinition) -> Decimal {
    let step = definition.resolution.unwrap_or(Decimal::ONE);
    let (low, high) = ends(definition.plausible, definition);
    let steps = (value.clamp(low, high) / step).round();
    let mut value = steps * step;
    value.rescale(step.normalize().scale());
    value
}
