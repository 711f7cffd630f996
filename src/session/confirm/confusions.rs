//! The classic ways in which a spoken number is misheard: a table by language.

use std::str::FromStr;

use rust_decimal::Decimal;

use crate::quantity::Amount;

/// Which mistakes are looked for.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Confusions {
    /// Digits that sound alike, such as five and nine.
    digits: Vec<(char, char)>,
    /// Thirteen and thirty, to nineteen and ninety.
    teens: bool,
    /// A decimal point that was not heard.
    point: bool,
    /// A first or last digit that was not heard.
    dropped_digit: bool,
}

/// A line of a confusions file that says nothing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{file}:{line}: found `{found}`, expected `digits A B`, `teens`, `point` or `dropped digit`; \
     correct or remove the line"
)]
pub struct ConfusionsError {
    pub file: String,
    pub line: usize,
    pub found: String,
}

impl Confusions {
    /// Reads the text of a confusions file: one kind of mistake a line, `#` for remarks.
    pub fn load(file: &str, text: &str) -> Result<Confusions, ConfusionsError> {
        let mut confusions = Confusions::default();
        for (index, line) in text.lines().enumerate() {
            let words: Vec<&str> = line
                .split('#')
                .next()
                .unwrap_or("")
                .split_whitespace()
                .collect();
            match words.as_slice() {
                [] => {}
                ["teens"] => confusions.teens = true,
                ["point"] => confusions.point = true,
                ["dropped", "digit"] => confusions.dropped_digit = true,
                ["digits", a, b] if digit(a).is_some() && digit(b).is_some() => {
                    confusions.digits.extend(digit(a).zip(digit(b)));
                }
                _ => {
                    return Err(ConfusionsError {
                        file: file.to_owned(),
                        line: index + 1,
                        found: line.trim().to_owned(),
                    });
                }
            }
        }
        Ok(confusions)
    }

    /// What an amount may have been instead with as many digits, whatever is plausible.
    /// `resolution` is the smallest step the display shows, where known: it says how many decimals
    /// a lost point may have parted.
    pub fn of(&self, amount: Amount, resolution: Option<Decimal>) -> Vec<Amount> {
        each(amount, |value| self.of_value(value, resolution))
    }

    /// What an amount may have been where one of its digits was not heard. None is missing at the
    /// end of a value with all the decimals that the display shows.
    pub fn with_lost_digit(&self, amount: Amount, resolution: Option<Decimal>) -> Vec<Amount> {
        match self.dropped_digit {
            true => each(amount, |value| {
                values(value, longer(&value.abs().to_string(), resolution))
            }),
            false => Vec::new(),
        }
    }

    fn of_value(&self, value: Decimal, resolution: Option<Decimal>) -> Vec<Decimal> {
        let text = value.abs().to_string();
        let mut texts = self.other_digits(&text);
        if self.teens {
            texts.extend(teens_and_tens(&text));
        }
        if self.point {
            texts.extend(other_points(&text, resolution));
        }
        values(value, texts)
    }

    /// Each digit in turn replaced by the one it sounds like.
    fn other_digits(&self, text: &str) -> Vec<String> {
        let mut texts = Vec::new();
        for (index, found) in text.char_indices() {
            for (a, b) in &self.digits {
                let other = match found {
                    c if c == *a => b,
                    c if c == *b => a,
                    _ => continue,
                };
                texts.push(replaced(text, index, 1, &other.to_string()));
            }
        }
        texts
    }
}

/// An amount with each of its numbers in turn replaced by the others it may have been.
fn each(amount: Amount, others: impl Fn(Decimal) -> Vec<Decimal>) -> Vec<Amount> {
    match amount {
        Amount::Exact(value) => others(value).into_iter().map(Amount::Exact).collect(),
        Amount::About(value) => others(value).into_iter().map(Amount::About).collect(),
        Amount::Between(low, high) => {
            let lows = others(low).into_iter().map(|l| (l, high));
            let highs = others(high).into_iter().map(|h| (low, h));
            let ends = lows.chain(highs).filter(|(l, h)| l <= h);
            ends.map(|(l, h)| Amount::Between(l, h)).collect()
        }
        Amount::OverRange | Amount::Short | Amount::None => Vec::new(),
    }
}

/// Texts of digits as values of the same sign, each once, without the value itself.
fn values(value: Decimal, texts: Vec<String>) -> Vec<Decimal> {
    let mut values: Vec<Decimal> = Vec::new();
    for mut other in texts.iter().filter_map(|t| Decimal::from_str(t).ok()) {
        other.set_sign_negative(value.is_sign_negative());
        if other != value && !values.contains(&other) {
            values.push(other);
        }
    }
    values
}

fn digit(word: &str) -> Option<char> {
    let mut chars = word.chars();
    chars
        .next()
        .filter(|c| c.is_ascii_digit() && chars.next().is_none())
}

fn replaced(text: &str, at: usize, length: usize, with: &str) -> String {
    format!("{}{with}{}", &text[..at], &text[at + length..])
}

/// 13 to 19 for 30 to 90 and the other way, in each pair of digits that can be said as one word:
/// "one fifteen" for "one fifty", "fifteen hundred" for "fifty hundred".
fn teens_and_tens(text: &str) -> Vec<String> {
    let whole = text.split('.').next().unwrap_or("").len();
    let mut texts = Vec::new();
    for at in 0..whole.saturating_sub(1) {
        let (first, second) = (&text[at..=at], &text[at + 1..at + 2]);
        if first == "1" && ("3"..="9").contains(&second) {
            texts.push(replaced(text, at, 2, &format!("{second}0")));
        }
        if second == "0" && ("3"..="9").contains(&first) {
            texts.push(replaced(text, at, 2, &format!("1{first}")));
        }
    }
    texts
}

/// The same digits without the point; or, where the display shows decimals and none were said,
/// with the point where it may have been lost.
fn other_points(text: &str, resolution: Option<Decimal>) -> Vec<String> {
    if text.contains('.') {
        return vec![text.replace('.', "")];
    }
    let decimals = resolution.map_or(0, |r| r.normalize().scale()) as usize;
    (1..=decimals.min(text.len()))
        .map(|decimals| {
            let at = text.len() - decimals;
            format!("{}.{}", &text[..at], &text[at..])
        })
        .collect()
}

/// One digit more at either end: the smallest and the largest of each, between which all others
/// lie. Nothing was said after a lone zero.
fn longer(text: &str, resolution: Option<Decimal>) -> Vec<String> {
    let decimals = text.split('.').nth(1).map_or(0, str::len);
    let shown = resolution.map(|r| r.normalize().scale() as usize);
    let complete = decimals > 0 && shown.is_some_and(|shown| decimals >= shown);
    let lasts = if complete || text == "0" {
        &[][..]
    } else {
        &["0", "9"]
    };
    let last = lasts.iter().map(|last| format!("{text}{last}"));
    let first = ["1", "9"].iter().map(|first| format!("{first}{text}"));
    last.chain(first).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Confusions {
        Confusions::load(
            "confusions.txt",
            "digits 5 9\nteens\npoint\ndropped digit # last or first\n",
        )
        .expect("every line says something")
    }

    fn others(value: &str, resolution: Option<&str>) -> Vec<String> {
        let resolution = resolution.map(|r| r.parse().expect("a decimal"));
        table()
            .of_value(value.parse().expect("a decimal"), resolution)
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn teens_and_tens_are_confused_both_ways() {
        assert!(others("15", None).contains(&"50".to_owned()));
        assert!(others("50", None).contains(&"15".to_owned()));
        assert!(others("115", None).contains(&"150".to_owned()));
        assert!(others("1500", None).contains(&"5000".to_owned()));
        assert!(!others("12", None).contains(&"20".to_owned()));
        assert!(!others("0.15", None).contains(&"0.50".to_owned()));
    }

    #[test]
    fn five_and_nine_are_confused_one_at_a_time() {
        let others = others("259", None);
        assert!(others.contains(&"299".to_owned()) && others.contains(&"255".to_owned()));
        assert!(!others.contains(&"295".to_owned()));
    }

    #[test]
    fn a_point_is_lost_or_was_never_there() {
        assert!(others("5.70", None).contains(&"570".to_owned()));
        assert!(others("570", Some("0.01")).contains(&"5.70".to_owned()));
        assert!(others("570", Some("0.01")).contains(&"57.0".to_owned()));
        assert!(!others("570", Some("1")).contains(&"57.0".to_owned()));
    }

    #[test]
    fn a_dropped_digit_is_bracketed() {
        let others = longer("24", None);
        for expected in ["240", "249", "124", "924"] {
            assert!(
                others.contains(&expected.to_owned()),
                "{expected}: {others:?}"
            );
        }
    }

    #[test]
    fn a_value_with_all_decimals_lost_none_of_them() {
        let tenth = Some("0.1".parse().expect("a decimal"));
        assert_eq!(longer("20.5", tenth), ["120.5", "920.5"]);
        assert!(longer("20", tenth).contains(&"209".to_owned()));
    }

    #[test]
    fn a_lost_digit_is_not_among_the_likely_confusions() {
        assert!(!others("24", None).contains(&"240".to_owned()));
        let table = table();
        let lost = table.with_lost_digit(Amount::Exact(Decimal::from(24)), None);
        assert!(lost.contains(&Amount::Exact(Decimal::from(240))));
    }

    #[test]
    fn nothing_is_confused_with_itself() {
        assert!(!others("-5.0", None).contains(&"-5.0".to_owned()));
        assert!(others("-5", None).contains(&"-9".to_owned()));
    }

    #[test]
    fn a_line_that_says_nothing_is_named() {
        let error = Confusions::load("confusions.txt", "teens\ndigits five nine\n").unwrap_err();
        assert_eq!(
            error.to_string(),
            "confusions.txt:2: found `digits five nine`, expected `digits A B`, `teens`, `point` \
             or `dropped digit`; correct or remove the line"
        );
    }
}
