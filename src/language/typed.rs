//! What was typed, as it would be said: for a keyboard or a screen in place of a voice.

use rust_decimal::Decimal;

use super::say::Say;
use crate::quantity::Unit;

impl Say {
    /// Typed text in the words of the language: `20.6 kohm`, `20.6kΩ` and `20.6 kilohms` are all
    /// "two zero point six kilohms", with every digit kept. Other words stand in small letters as
    /// they are.
    ///
    /// What follows a number is taken for a unit where it is one, and left alone otherwise.
    pub fn typed(&self, text: &str) -> String {
        let mut words = Vec::new();
        let mut after_number = false;
        for token in text.split_whitespace() {
            let (number, rest) = token.split_at(number_length(token));
            let value = number.parse().ok().map(|value| self.number(value));
            let said = match value {
                Some(value) => [Some(value), self.rest(rest, true)],
                None => [None, self.rest(token, after_number)],
            };
            after_number = rest.is_empty() && !number.is_empty();
            words.extend(said.into_iter().flatten());
        }
        words.join(" ")
    }

    fn rest(&self, rest: &str, after_number: bool) -> Option<String> {
        let unit = rest.parse::<Unit>().ok().filter(|_| after_number);
        match unit {
            _ if rest.is_empty() => None,
            Some(unit) => Some(self.unit(unit, false)),
            None => Some(rest.to_lowercase()),
        }
    }
}

/// How many bytes of it are a number with an optional sign and decimals.
fn number_length(token: &str) -> usize {
    let signed = token.starts_with(['-', '+']);
    let is_part = |c: char| c.is_ascii_digit() || c == '.';
    let unsigned = token.get(usize::from(signed)..).unwrap_or_default();
    let end = unsigned.find(|c| !is_part(c)).unwrap_or(unsigned.len());
    let length = end + usize::from(signed);
    let number = token.get(..length).map(str::parse::<Decimal>);
    match number {
        Some(Ok(_)) => length,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{Expectation, Language, Meaning};

    /// What is typed, and what that is in words; all of it means something.
    const TYPED: [(&str, &str); 9] = [
        ("20.60 ohm", "two zero point six zero ohms"),
        ("4.7kΩ", "four point seven kilohms"),
        ("230V", "two three zero volts"),
        ("-3.5 °C", "minus three point five degrees celsius"),
        ("245", "two four five"),
        ("Correction 245", "correction two four five"),
        ("over limit", "over limit"),
        ("0.42 mA", "zero point four two milliamps"),
        ("Next", "next"),
    ];

    #[test]
    fn what_is_typed_is_understood_as_if_it_had_been_said() {
        let say = Say::bundled("en-US").expect("the language");
        let language = Language::bundled("en-US").expect("the language");
        let everything = language.compile(&Expectation::everything());
        let everything = everything.expect("its grammar");
        for (typed, expected) in TYPED {
            let words = say.typed(typed);
            assert_eq!(words, expected, "`{typed}`");
            let meaning = everything.parse_text(&words).meaning();
            let nothing = matches!(meaning, Meaning::Nothing { .. });
            assert!(!nothing, "`{typed}` as `{words}` is {meaning:?}");
        }
    }

    #[test]
    fn what_is_no_number_stays_as_it_is() {
        let say = Say::bundled("en-US").expect("the language");
        for (typed, expected) in [("v", "v"), ("1.2.3", "1.2.3"), ("-", "-"), ("", "")] {
            assert_eq!(say.typed(typed), expected);
        }
    }
}
