//! Times, values and limits as a report writes them.

use crate::quantity::{Amount, Bound, Range, Reading, Unit};

/// Time since the session began: `3:22`, or `1:03:22` from an hour on.
pub(super) fn elapsed(ms: u64) -> String {
    let seconds = ms / 1000;
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    match hours {
        0 => format!("{minutes}:{seconds:02}"),
        _ => format!("{hours}:{minutes:02}:{seconds:02}"),
    }
}

/// A length of time: `48 s`, `3 min 22 s`, `1 h 3 min`.
pub(super) fn took(ms: u64) -> String {
    let seconds = (ms + 500) / 1000;
    match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, 0) => format!("{m} min"),
        (0, m, s) => format!("{m} min {s} s"),
        (h, 0, _) => format!("{h} h"),
        (h, m, _) => format!("{h} h {m} min"),
    }
}

/// A moment in RFC 3339 as people read it: `2026-03-04 17:05 (UTC+01:00)`.
pub(super) fn moment(wall: &str) -> String {
    let parts = (wall.get(..10), wall.get(11..16), wall.get(23..));
    match parts {
        (Some(day), Some(time), Some(offset)) => format!("{day} {time} (UTC{offset})"),
        _ => wall.to_owned(),
    }
}

/// A unit by its usual sign: `Ω`, `kΩ`, `°C`. What is no unit stays as it is.
pub(super) fn unit(symbol: &str) -> String {
    symbol
        .parse()
        .map_or_else(|_| symbol.to_owned(), Unit::sign)
}

/// A reading with its unit, as a table shows it.
pub(super) fn reading(reading: &Reading) -> String {
    let unit = reading.unit.sign();
    let text = match reading.amount {
        Amount::Exact(value) => format!("{value} {unit}"),
        Amount::About(value) => format!("about {value} {unit}"),
        Amount::Between(low, high) => format!("hunting {low} to {high} {unit}"),
        Amount::OverRange => "over range".to_owned(),
        Amount::Short => "short".to_owned(),
        Amount::None => "no reading".to_owned(),
    };
    text.trim_end().to_owned()
}

/// A range in words: `18 to 24`, `over 150 to 250`, `at most 1`.
pub(super) fn range(range: &Range) -> String {
    let low = match range.low() {
        Bound::Closed(low) => Some(format!("{low}")),
        Bound::Open(low) => Some(format!("over {low}")),
        Bound::Unbounded => None,
    };
    let high = match range.high() {
        Bound::Closed(high) => Some(format!("{high}")),
        Bound::Open(high) => Some(format!("under {high}")),
        Bound::Unbounded => None,
    };
    match (low, high, range.low(), range.high()) {
        (Some(low), Some(high), ..) => format!("{low} to {high}"),
        (Some(low), None, Bound::Closed(_), _) => format!("at least {low}"),
        (None, Some(high), _, Bound::Closed(_)) => format!("at most {high}"),
        (Some(one), None, ..) | (None, Some(one), ..) => one,
        (None, None, ..) => "any value".to_owned(),
    }
}

/// A count with its noun: `1 reading`, `5 readings`.
pub(super) fn counted(count: impl TryInto<u64>, what: &str) -> String {
    match count.try_into().unwrap_or(u64::MAX) {
        1 => format!("1 {what}"),
        n => format!("{n} {what}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_said_in_words() {
        let said = |text: &str| range(&text.parse().expect("a range"));
        assert_eq!(said("18..24"), "18 to 24");
        assert_eq!(said("(150..250]"), "over 150 to 250");
        assert_eq!(said("[0..62)"), "0 to under 62");
        assert_eq!(said("<10"), "under 10");
        assert_eq!(said("..10"), "at most 10");
        assert_eq!(said(">=200"), "at least 200");
        assert_eq!(said(">200"), "over 200");
        assert_eq!(said(".."), "any value");
    }

    #[test]
    fn times_are_short() {
        assert_eq!(elapsed(202_999), "3:22");
        assert_eq!(elapsed(3_802_000), "1:03:22");
        assert_eq!(took(1_400), "1 s");
        assert_eq!(took(120_000), "2 min");
        assert_eq!(took(202_000), "3 min 22 s");
        assert_eq!(took(3_780_000), "1 h 3 min");
        let wall = "2026-03-04T17:05:09.120+01:00";
        assert_eq!(moment(wall), "2026-03-04 17:05 (UTC+01:00)");
        assert_eq!(moment("odd"), "odd");
    }
}
