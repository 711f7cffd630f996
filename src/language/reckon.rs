//! Tags to values: what a path through the automaton adds up to.

use super::meaning::{Command, Meaning, SpokenReading};
use super::op::{Op, Special};
use super::text::Span;
use crate::quantity::{Amount, Base, Decimal, Prefix};

/// A number under construction.
#[derive(Debug, Clone, Copy, Default)]
struct Figure {
    minus: bool,
    /// Closed groups: "two thousand" in "two thousand and forty".
    total: u64,
    /// The open group's hundreds.
    group: u64,
    /// Digits since the last scale word or point, and how many.
    digits: u64,
    places: u32,
    /// The whole number in front of a point or a fraction.
    whole: u64,
    behind_point: bool,
    /// Powers of ten said behind a decimal: "two point five million".
    shift: u32,
    /// The next digit fills the units of these tens.
    open_tens: bool,
    repeat: u8,
    overflow: bool,
}

impl Figure {
    /// Whether no number was said.
    fn is_empty(&self) -> bool {
        self.places == 0 && self.total == 0 && self.group == 0 && !self.behind_point
    }

    /// Takes a digit.
    #[inline]
    fn push(&mut self, digit: u8) {
        self.append(u64::from(digit), 1, 10);
    }

    /// Takes two digits at once.
    #[inline]
    fn push_two(&mut self, pair: u8) {
        self.append(u64::from(pair), 2, 100);
    }

    #[inline]
    fn append(&mut self, value: u64, places: u32, power: u64) {
        let grown = self.digits.checked_mul(power);
        let grown = grown.and_then(|digits| digits.checked_add(value));
        self.digits = self.checked(grown);
        self.places += places;
        self.open_tens = false;
    }

    fn checked(&mut self, value: Option<u64>) -> u64 {
        self.overflow |= value.is_none();
        value.unwrap_or(0)
    }

    #[inline]
    fn digit(&mut self, digit: u8) {
        if self.open_tens && digit != 0 {
            self.digits += u64::from(digit);
            self.open_tens = false;
            return;
        }
        self.push(digit);
        while self.repeat > 1 {
            self.push(digit);
            self.repeat -= 1;
        }
    }

    fn scale(&mut self, by: u32) {
        let times = if self.places == 0 { 1 } else { self.digits };
        let grown = times
            .checked_mul(u64::from(by))
            .and_then(|part| self.group.checked_add(part));
        self.group = self.checked(grown);
        self.clear_digits();
    }

    fn close_group(&mut self, by: u32) {
        if self.behind_point {
            self.shift += by.ilog10();
            return;
        }
        let times = match self.group.checked_add(self.digits) {
            Some(0) if self.places == 0 => Some(1),
            times => times,
        };
        let grown = times
            .and_then(|times| times.checked_mul(u64::from(by)))
            .and_then(|part| self.total.checked_add(part));
        self.total = self.checked(grown);
        self.group = 0;
        self.clear_digits();
    }

    fn clear_digits(&mut self) {
        self.digits = 0;
        self.places = 0;
        self.open_tens = false;
    }

    fn integer(&mut self) -> u64 {
        let sum = self.total.checked_add(self.group);
        let sum = sum.and_then(|sum| sum.checked_add(self.digits));
        self.checked(sum)
    }

    /// What was said so far is the whole part.
    fn close_whole(&mut self) {
        self.whole = self.integer();
        self.total = 0;
        self.group = 0;
        self.clear_digits();
    }

    /// The digits are a numerator: exact, because denominators hold only twos and fives.
    fn over(&mut self, denominator: u16) {
        let numerator = if self.places == 0 { 1 } else { self.digits };
        let common = greatest_common_divisor(numerator, u64::from(denominator));
        let (numerator, denominator) = (numerator / common, u64::from(denominator) / common);
        let places = (0..).find(|k| 10_u64.pow(*k).is_multiple_of(denominator));
        self.places = places.unwrap_or(0);
        let digits = numerator.checked_mul(10_u64.pow(self.places) / denominator);
        self.digits = self.checked(digits);
        self.behind_point = true;
    }

    /// The number; `None` where a decimal cannot hold it.
    fn value(&mut self) -> Option<Decimal> {
        if !self.behind_point {
            self.close_whole();
        }
        let value = self.short_decimal().or_else(|| self.long_decimal());
        value.filter(|_| !self.overflow)
    }

    /// The usual case, without 128-bit arithmetic: digits that fit 64 bits, nothing shifted.
    fn short_decimal(&self) -> Option<Decimal> {
        let whole = self.whole.checked_mul(10_u64.checked_pow(self.places)?)?;
        let digits = whole.checked_add(self.digits)?;
        let (low, high) = (digits as u32, (digits >> 32) as u32);
        let value = || Decimal::from_parts(low, high, 0, self.minus, self.places);
        (self.shift == 0).then(value)
    }

    fn long_decimal(&self) -> Option<Decimal> {
        let whole = i128::from(self.whole).checked_mul(10_i128.checked_pow(self.places)?)?;
        let digits = whole.checked_add(i128::from(self.digits))?;
        let up = self.shift.saturating_sub(self.places);
        let digits = digits.checked_mul(10_i128.checked_pow(up)?)?;
        let digits = if self.minus { -digits } else { digits };
        Decimal::try_from_i128_with_scale(digits, self.places.saturating_sub(self.shift)).ok()
    }
}

fn greatest_common_divisor(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// A reading under construction.
#[derive(Debug, Default)]
struct Open {
    figure: Figure,
    special: Option<Special>,
    about: bool,
    /// "between" was said; then its first value.
    between: bool,
    low: Option<Decimal>,
    prefix: Prefix,
    unit: Option<Base>,
    /// Where the reading began and its last word ended.
    span: Option<Span>,
}

impl Open {
    /// Whether nothing was said that makes a reading.
    fn is_empty(&self) -> bool {
        self.span.is_none() || (self.special.is_none() && self.figure.is_empty())
    }

    /// What was read; `None` when a number has more digits than a value can hold.
    #[inline]
    fn amount(&mut self) -> Option<Amount> {
        match self.special {
            Some(Special::OverRange) => return Some(Amount::OverRange),
            Some(Special::Short) => return Some(Amount::Short),
            Some(Special::None) => return Some(Amount::None),
            None => {}
        }
        let value = self.figure.value()?;
        Some(match self.low {
            Some(low) if self.between => Amount::between(low, value),
            _ if self.about => Amount::About(value),
            _ => Amount::Exact(value),
        })
    }
}

/// One utterance's meaning under construction.
#[derive(Debug, Default)]
pub(super) struct Reckoner {
    command: Option<Command>,
    choice: Option<u16>,
    spelling: bool,
    spelled: String,
    readings: Vec<SpokenReading>,
    open: Open,
    too_long: bool,
}

impl Reckoner {
    /// Takes the tags of one word.
    #[inline]
    pub(super) fn word(&mut self, ops: &[Op], span: Span) {
        for op in ops {
            self.op(*op);
        }
        if !matches!(ops.last(), Some(Op::Command(_))) {
            let start = self.open.span.map_or(span.0, |(start, _)| start);
            self.open.span = Some((start, span.1));
        }
    }

    /// Takes the tags between two values.
    pub(super) fn separator(&mut self, ops: &[Op]) {
        for op in ops {
            self.op(*op);
        }
        self.close();
    }

    #[inline]
    fn op(&mut self, op: Op) {
        let figure = &mut self.open.figure;
        match op {
            Op::Digit(digit) if self.spelling => {
                for _ in 0..figure.repeat.max(1) {
                    self.spelled.push(char::from(b'0' + digit));
                }
                figure.repeat = 0;
            }
            Op::Digit(digit) => figure.digit(digit),
            Op::Teen(teen) => figure.push_two(teen),
            Op::Tens(tens) => {
                figure.push_two(tens);
                figure.open_tens = true;
            }
            Op::Scale(by) => figure.scale(by),
            Op::Group(by) => figure.close_group(by),
            Op::Times(times) => figure.repeat = times,
            Op::Split => figure.open_tens = false,
            Op::Point => {
                figure.close_whole();
                figure.behind_point = true;
            }
            Op::And => figure.close_whole(),
            Op::Minus => figure.minus = true,
            Op::Over(denominator) => figure.over(denominator),
            Op::About => self.open.about = true,
            Op::Between => self.open.between = true,
            Op::To => {
                self.open.low = figure.value();
                self.too_long |= self.open.low.is_none();
                *figure = Figure::default();
            }
            Op::Special(special) => self.open.special = Some(special),
            Op::Unit(unit) => {
                self.open.unit = Some(unit.base);
                if unit.prefix != Prefix::None {
                    self.open.prefix = unit.prefix;
                }
            }
            Op::Prefix(prefix) => self.open.prefix = prefix,
            Op::Spell => self.spelling = true,
            Op::Letter(letter) => self.spelled.push(letter),
            Op::Command(command) => {
                self.command = Some(command);
                self.open.span = None;
            }
            Op::Choice(choice) => self.choice = Some(choice),
            Op::Of(_) | Op::WithValue | Op::Also | Op::Link => {}
        }
    }

    /// Ends the open reading.
    #[inline]
    fn close(&mut self) {
        if !self.open.is_empty() {
            match self.open.amount() {
                None => self.too_long = true,
                Some(amount) => self.keep(amount),
            }
        }
        self.open = Open::default();
    }

    fn keep(&mut self, amount: Amount) {
        let (start_ms, end_ms) = self.open.span.unwrap_or_default();
        if self.readings.capacity() == 0 {
            self.readings = Vec::with_capacity(1);
        }
        self.readings.push(SpokenReading {
            amount,
            prefix: self.open.prefix,
            unit: self.open.unit,
            start_ms,
            end_ms,
        });
    }

    /// The meaning of the whole utterance; `ops` are the tags of its end. `None` when a number
    /// has more digits than a value can hold.
    #[inline]
    pub(super) fn finish(&mut self, ops: &[Op], choices: &[String]) -> Option<Meaning> {
        for op in ops {
            self.op(*op);
        }
        if let Some(choice) = self.choice {
            return choices
                .get(usize::from(choice))
                .cloned()
                .map(Meaning::Choice);
        }
        if self.spelling {
            return Some(Meaning::Spelling(std::mem::take(&mut self.spelled)));
        }
        self.close();
        let readings = std::mem::take(&mut self.readings);
        match self.command {
            _ if self.too_long => None,
            Some(command) => Some(Meaning::Command { command, readings }),
            None => Some(Meaning::Readings(readings)),
        }
    }
}
