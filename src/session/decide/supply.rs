//! The supply at the unit against what its variant is made for.

use super::commands;
use super::entry;
use super::hear::Spoken;
use super::retake;
use super::turn::Turn;
use crate::diagnosis::condition;
use crate::language::{Command, SpokenReading};
use crate::procedure::Variant;
use crate::quantity::{Amount, Base, Prefix, Range, Reading, Unit};
use crate::session::event::Event;
use crate::session::parts::*;
use crate::session::state::KeptSupply;
use crate::session::steps::read;

const BOTH: [Supply; 2] = [Supply::Voltage, Supply::Frequency];

/// The unit a supply is asked for in.
pub(in crate::session) fn unit(what: Supply) -> Unit {
    match what {
        Supply::Voltage => Base::Volt.into(),
        Supply::Frequency => Base::Hertz.into(),
    }
}

/// What the variant is made for; `None` where it has no supply of its own.
pub(in crate::session) fn made_for(turn: &Turn, what: Supply) -> Option<Range> {
    range_of(
        turn.guide.library.main().variants.get(&turn.variant())?,
        what,
    )
}

fn range_of(variant: &Variant, what: Supply) -> Option<Range> {
    match what {
        Supply::Voltage => variant.supply_voltage,
        Supply::Frequency => variant.supply_frequency,
    }
}

/// Whether a variant is made for what is known of the supply.
pub(in crate::session) fn suits(turn: &Turn, variant: &Variant) -> bool {
    BOTH.into_iter().all(|what| {
        let (range, kept) = (range_of(variant, what), kept(turn, what));
        range
            .zip(kept)
            .is_none_or(|(range, kept)| fits(range, what, &kept.reading))
    })
}

fn kept<'t>(turn: &'t Turn, what: Supply) -> Option<&'t KeptSupply> {
    match what {
        Supply::Voltage => turn.state.job.voltage.as_ref(),
        Supply::Frequency => turn.state.job.frequency.as_ref(),
    }
}

/// The next open question about the supply.
pub(in crate::session) fn next_question(turn: &Turn) -> Option<EntryQuestion> {
    BOTH.into_iter().find_map(|what| {
        made_for(turn, what)?;
        match kept(turn, what) {
            None => Some(EntryQuestion::Supply(what)),
            Some(kept) if !kept.confirmed => Some(EntryQuestion::SupplyConfirmation(what)),
            Some(_) => None,
        }
    })
}

/// A supply that is known for sure and that the unit is not made for.
pub(in crate::session) fn outside(turn: &Turn) -> Option<Refusal> {
    BOTH.into_iter().find_map(|what| {
        let range = made_for(turn, what)?;
        let kept = kept(turn, what)?;
        let outside = kept.confirmed && !fits(range, what, &kept.reading);
        outside.then_some(Refusal::SupplyOutside {
            what,
            reading: kept.reading,
        })
    })
}

fn fits(range: Range, what: Supply, reading: &Reading) -> bool {
    let Ok(converted) = reading.convert(unit(what)) else {
        return false;
    };
    condition::ends(converted.amount)
        .is_some_and(|(low, high)| range.contains(low) && range.contains(high))
}

/// A supply that came with the job; judged when the variant is known.
pub(in crate::session) fn with_the_job(turn: &mut Turn, what: Supply, reading: Reading) {
    let fits = made_for(turn, what).is_none_or(|range| fits(range, what, &reading));
    turn.record(Event::SupplyGiven {
        what,
        reading,
        fits,
        source: Source::Job,
    });
}

/// A value for the supply. It is read back; where it, or what it may have been instead, is not
/// what the unit is made for, it waits for "affirm".
pub(in crate::session) fn given(turn: &mut Turn, spoken: &Spoken, what: Supply) {
    let readings = read::values_in(&spoken.best.meaning);
    if readings.len() > 1 {
        return turn.decline(Decline::OneValueOnly);
    }
    let (Some(range), [one]) = (made_for(turn, what), readings) else {
        return commands::not_here(turn, spoken);
    };
    let Some(reading) = reading_of(one, what) else {
        return turn.decline(Decline::WrongUnit {
            found: one.unit.map_or_else(String::new, |u| u.symbol().to_owned()),
            expected: unit(what).to_string(),
        });
    };
    let fits_now = fits(range, what, &reading);
    turn.record(Event::SupplyGiven {
        what,
        reading,
        fits: fits_now,
        source: Source::Spoken,
    });
    let others = spoken
        .others
        .iter()
        .flat_map(|o| read::values_in(&o.meaning));
    let heard = others.filter_map(|other| reading_of(other, what));
    let confused = turn.guide.confusions.of(reading.amount, None);
    let confused = confused.into_iter().map(|amount| Reading {
        amount,
        unit: reading.unit,
    });
    let mistaken = heard.chain(confused.filter(|other| imaginable(what, other)));
    let doubtful = !fits_now || mistaken.into_iter().any(|other| !fits(range, what, &other));
    if !doubtful {
        turn.record(Event::SupplyConfirmed { what });
    }
    entry::ask_next(turn);
}

/// Supplies that are met with at all. Common practice, no source.
fn imaginable(what: Supply, reading: &Reading) -> bool {
    let (low, high) = match what {
        Supply::Voltage => (12, 1000),
        Supply::Frequency => (45, 65),
    };
    Range::closed(low.into(), high.into()).is_ok_and(|range| fits(range, what, reading))
}

fn reading_of(spoken: &SpokenReading, what: Supply) -> Option<Reading> {
    let unit = match (spoken.unit, spoken.prefix) {
        (None, Prefix::None) => unit(what),
        (base, prefix) => Unit {
            prefix,
            base: base.unwrap_or(unit(what).base),
        },
    };
    let reading = Reading {
        amount: spoken.amount,
        unit,
    };
    let number = !matches!(
        reading.amount,
        Amount::None | Amount::OverRange | Amount::Short
    );
    (number && reading.convert(self::unit(what)).is_ok()).then_some(reading)
}

/// "affirm" or another value.
pub(in crate::session) fn confirm(turn: &mut Turn, spoken: &Spoken, what: Supply) {
    let another = !read::values_in(&spoken.best.meaning).is_empty();
    match spoken.command() {
        Some(Command::Affirm) => {
            turn.record(Event::SupplyConfirmed { what });
            entry::ask_next(turn);
        }
        _ if read::values_in(&spoken.best.meaning).len() > 1 => {
            turn.decline(Decline::OneValueOnly);
        }
        _ if another => {
            turn.record(Event::SupplyWithdrawn { what });
            given(turn, spoken, what);
        }
        Some(command) if retake::denies(command) => {
            turn.record(Event::SupplyWithdrawn { what });
            entry::ask_next(turn);
        }
        _ => commands::not_here(turn, spoken),
    }
}
