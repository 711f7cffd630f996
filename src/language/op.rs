//! The vocabulary of tags: what one grammar tag does to the meaning under construction.
//!
//! A grammar file maps the words of a language onto these; nothing here knows a language.

use std::str::FromStr;

use super::meaning::Command;
use crate::quantity::{Base, Dimension, Prefix, Unit};

/// One step of meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Op {
    /// `{digit 2}`: one digit, joined to the digits before it; after `{tens}` it fills the units.
    Digit(u8),
    /// `{teen 13}`: two digits at once, 10 to 19.
    Teen(u8),
    /// `{tens 40}`: two digits whose last one the next digit may fill.
    Tens(u8),
    /// `{scale 100}`: the digits so far (or one) times this, within a group.
    Scale(u32),
    /// `{group 1000}`: everything so far (or one) times this.
    Group(u32),
    /// `{times 2}`: the next digit twice.
    Times(u8),
    /// `{split}`: the next digit does not fill the tens.
    Split,
    /// `{point}`: what follows is behind the decimal point.
    Point,
    /// `{minus}`
    Minus,
    /// `{and}`: a fraction follows the whole number.
    And,
    /// `{over 8}`: the digits so far (or one) are eighths.
    Over(u16),
    /// `{about}`: the value is approximate.
    About,
    /// `{between}`: the first of two values follows.
    Between,
    /// `{to}`: the second of two values follows.
    To,
    /// `{special over_range}`: what the meter says instead of a number.
    Special(Special),
    /// `{unit ohm}`, with a prefix also `{unit mA}`.
    Unit(Unit),
    /// `{prefix k}`: an SI prefix.
    Prefix(Prefix),
    /// `{of temperature}`: means something only where such a quantity may be given.
    Of(Dimension),
    /// `{spell}`: digits and letters from here on are spelled, not a value.
    Spell,
    /// `{letter A}`: one character of a spelling.
    Letter(char),
    /// `{command next}`
    Command(Command),
    /// `{with_value}` at the end of a command: a value may follow it.
    WithValue,
    /// `{also}`: one value ends here and another begins; a pause is expected.
    Also,
    /// `{link}`: a pause here means nothing.
    Link,
    /// The phrase of one of the step's own choices; not written in grammar files.
    Choice(u16),
}

/// What a meter shows instead of a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Special {
    OverRange,
    Short,
    None,
}

impl Op {
    /// What the word that brings it is called, for messages.
    pub(super) fn kind(self) -> Option<&'static str> {
        match self {
            Op::Command(_) => Some("a command"),
            Op::Choice(_) => Some("an answer"),
            Op::Letter(_) => Some("a spelled letter"),
            Op::Unit(_) | Op::Prefix(_) | Op::Of(_) => Some("a unit"),
            Op::Special(_) => Some("what a meter shows"),
            Op::Digit(_) | Op::Teen(_) | Op::Tens(_) | Op::Scale(_) | Op::Group(_) => {
                Some("a number")
            }
            _ => None,
        }
    }

    /// Whether it adds to a meaning; the others only say how words may follow one another.
    pub(super) fn adds_up(self) -> bool {
        !matches!(self, Op::Of(_) | Op::WithValue | Op::Also | Op::Link)
    }
}

const KNOWN: &str = "a tag of meaning: digit, teen, tens, scale, group, times, split, point, minus, \
     and, over, about, between, to, special, unit, prefix, of, spell, letter, command, with_value, \
     also or link";

impl FromStr for Op {
    /// What was expected instead.
    type Err = String;

    fn from_str(text: &str) -> Result<Op, String> {
        let mut words = text.split_whitespace();
        let name = words.next().unwrap_or("");
        let value = words.next();
        if words.next().is_some() {
            return Err("a tag of one name and at most one value".to_owned());
        }
        match value {
            None => plain(name),
            Some(value) => valued(name, value),
        }
    }
}

fn plain(name: &str) -> Result<Op, String> {
    Ok(match name {
        "split" => Op::Split,
        "point" => Op::Point,
        "minus" => Op::Minus,
        "and" => Op::And,
        "about" => Op::About,
        "between" => Op::Between,
        "to" => Op::To,
        "spell" => Op::Spell,
        "with_value" => Op::WithValue,
        "also" => Op::Also,
        "link" => Op::Link,
        "digit" | "teen" | "tens" | "scale" | "group" | "times" | "over" | "special" | "unit"
        | "prefix" | "of" | "letter" | "command" => {
            return Err(format!("a value behind `{name}`"));
        }
        _ => return Err(KNOWN.to_owned()),
    })
}

fn valued(name: &str, value: &str) -> Result<Op, String> {
    let number = |low: u32, high: u32| match value.parse::<u32>() {
        Ok(number) if (low..=high).contains(&number) => Ok(number),
        _ => Err(format!("a whole number from {low} to {high}")),
    };
    Ok(match name {
        "digit" => Op::Digit(number(0, 9)? as u8),
        "teen" => Op::Teen(number(10, 19)? as u8),
        "tens" => match number(20, 90)? {
            tens if tens % 10 == 0 => Op::Tens(tens as u8),
            _ => return Err("a multiple of 10 from 20 to 90".to_owned()),
        },
        "scale" => Op::Scale(power_of_ten(number(10, 1000)?)?),
        "group" => Op::Group(power_of_ten(number(1000, 1_000_000_000)?)?),
        "times" => Op::Times(number(2, 4)? as u8),
        "over" => match number(2, 1000)? {
            over if is_exact(over) => Op::Over(over as u16),
            _ => return Err("a denominator of twos and fives only, to stay exact".to_owned()),
        },
        "special" => Op::Special(special(value)?),
        "unit" => Op::Unit(value.parse().map_err(|_| "a unit symbol such as `mA`")?),
        "prefix" => Op::Prefix(prefix(value)?),
        "of" => Op::Of(dimension(value)?),
        "letter" => match value.chars().collect::<Vec<_>>()[..] {
            [letter] => Op::Letter(letter),
            _ => return Err("one character".to_owned()),
        },
        "command" => Op::Command(command(value)?),
        _ => return Err(plain(name).map_or_else(|e| e, |_| format!("no value behind `{name}`"))),
    })
}

fn power_of_ten(number: u32) -> Result<u32, String> {
    match 10_u32.checked_pow(number.ilog10()) == Some(number) {
        true => Ok(number),
        false => Err("a power of ten".to_owned()),
    }
}

/// Whether one over this has finitely many decimals.
fn is_exact(mut denominator: u32) -> bool {
    for factor in [2, 5] {
        while denominator.is_multiple_of(factor) {
            denominator /= factor;
        }
    }
    denominator == 1
}

fn special(name: &str) -> Result<Special, String> {
    match name {
        "over_range" => Ok(Special::OverRange),
        "short" => Ok(Special::Short),
        "none" => Ok(Special::None),
        _ => Err("`over_range`, `short` or `none`".to_owned()),
    }
}

fn prefix(symbol: &str) -> Result<Prefix, String> {
    Prefix::ALL
        .into_iter()
        .find(|p| *p != Prefix::None && p.symbol() == symbol)
        .ok_or_else(|| "an SI prefix: `p`, `n`, `u`, `m`, `k`, `M` or `G`".to_owned())
}

/// The dimension named like one of its units' kinds: `temperature`, `pressure`.
fn dimension(name: &str) -> Result<Dimension, String> {
    Base::ALL
        .into_iter()
        .map(Base::dimension)
        .find(|d| format!("{d:?}").eq_ignore_ascii_case(name))
        .ok_or_else(|| "a kind of quantity such as `temperature` or `pressure`".to_owned())
}

fn command(name: &str) -> Result<Command, String> {
    Command::from_name(name).ok_or_else(|| {
        let names: Vec<&str> = Command::ALL.iter().map(|c| c.name()).collect();
        format!("a command: {}", names.join(", "))
    })
}
