//! Values, marks and texts to the words the assistant says: the inverse of the parse.
//!
//! Values are said digit by digit, whole hundreds and thousands apart, as in ICAO radiotelephony, so
//! that fifteen and fifty cannot be taken for one another. The words come from `say.txt` and
//! `abbreviations.txt` beside a language's grammar files.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::bundled::{LanguageError, bundled_text};
use super::problem::{GrammarProblem, Place};
use crate::quantity::{Amount, Base, Prefix, Quantity, Reading, Unit};

/// The words of the assistant in one language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Say {
    words: BTreeMap<String, String>,
    abbreviations: BTreeMap<String, String>,
}

/// Keys without which nothing can be said; units and letters may be missing.
const NEEDED: [&str; 17] = [
    "digit 0",
    "digit 1",
    "digit 2",
    "digit 3",
    "digit 4",
    "digit 5",
    "digit 6",
    "digit 7",
    "digit 8",
    "digit 9",
    "minus",
    "point",
    "about",
    "between",
    "over range",
    "short",
    "no reading",
];

impl Say {
    /// The words of a language that comes with the program.
    ///
    /// # Errors
    ///
    /// When there is no such language.
    pub fn bundled(locale: &str) -> Result<Say, LanguageError> {
        let say = bundled_text(locale, "say.txt")?;
        let abbreviations = bundled_text(locale, "abbreviations.txt")?;
        Say::load(say, abbreviations).map_err(LanguageError::Grammar)
    }

    /// The words of the two files: `key = words` on each line, `#` begins a remark.
    ///
    /// # Errors
    ///
    /// Every line that is not of that form, and every needed key that is missing.
    pub fn load(
        say: (&str, &str),
        abbreviations: (&str, &str),
    ) -> Result<Say, Vec<GrammarProblem>> {
        let mut problems = Vec::new();
        let loaded = Say {
            words: read_table(say, &mut problems),
            abbreviations: read_table(abbreviations, &mut problems),
        };
        let missing = NEEDED
            .iter()
            .filter(|key| !loaded.words.contains_key(**key));
        problems.extend(missing.map(|key| {
            GrammarProblem::new(
                say.0,
                Place { line: 1, column: 1 },
                format!("no `{key}`"),
                format!("a line `{key} = ...`"),
                "add the words",
            )
        }));
        match problems.is_empty() {
            true => Ok(loaded),
            false => Err(problems),
        }
    }

    fn word(&self, key: &str) -> &str {
        self.words.get(key).map_or("", String::as_str)
    }

    /// The words listed under a key, such as `order words`; none where the language does not list
    /// them.
    pub fn list(&self, key: &str) -> Vec<&str> {
        let words = self.words.get(key);
        words.map_or_else(Vec::new, |words| words.split('|').map(str::trim).collect())
    }

    /// A reading with its unit: "two four zero volts", "hunting between two and five ohms". What a
    /// meter says instead of a number has no unit.
    pub fn reading(&self, reading: &Reading) -> String {
        let plural = |number: String| self.with_unit(&number, reading.unit, false);
        match reading.amount {
            Amount::Exact(value) => self.quantity(&Quantity::new(value, reading.unit)),
            Amount::About(value) => self
                .word("about")
                .replace("{}", &self.quantity(&Quantity::new(value, reading.unit))),
            Amount::Between(low, high) => plural(
                self.word("between")
                    .replace("{low}", &self.number(low))
                    .replace("{high}", &self.number(high)),
            ),
            Amount::OverRange => self.word("over range").to_owned(),
            Amount::Short => self.word("short").to_owned(),
            Amount::None => self.word("no reading").to_owned(),
        }
    }

    /// A value with its unit: "five point seven zero ohms".
    pub fn quantity(&self, quantity: &Quantity) -> String {
        let one = quantity.value == Decimal::ONE && quantity.value.scale() == 0;
        self.with_unit(&self.number(quantity.value), quantity.unit, one)
    }

    /// A number digit by digit with every decimal it was given with: "minus one point five zero".
    /// Whole hundreds and thousands are said so.
    pub fn number(&self, value: Decimal) -> String {
        let mut words = Vec::new();
        if value.is_sign_negative() && !value.is_zero() {
            words.push(self.word("minus").to_owned());
        }
        let digits = value.abs().to_string();
        match self.round_number(&digits) {
            Some(round) => words.push(round),
            None => words.extend(digits.chars().map(|c| self.digit(c).to_owned())),
        }
        words.join(" ")
    }

    /// "two hundred", "five thousand": one digit and two or three zeros, where the language has
    /// words for it.
    fn round_number(&self, digits: &str) -> Option<String> {
        let scale = match digits.get(1..)? {
            "00" => "hundred",
            "000" => "thousand",
            _ => return None,
        };
        let scale = self.words.get(scale)?;
        Some(format!("{} {scale}", self.digit(digits.chars().next()?)))
    }

    /// A whole number as it is counted: "ninety", "two hundred"; digit by digit where the language
    /// has no word for it.
    pub fn count(&self, number: u32) -> String {
        let digits = number.to_string();
        let below_hundred = self.number_below_hundred(&digits);
        below_hundred.unwrap_or_else(|| self.number(number.into()))
    }

    /// A length of time: "ninety seconds", "ten minutes", "two minutes five seconds".
    pub fn duration(&self, seconds: u32) -> String {
        let part = |number: u32, base: Base| {
            let unit = self.unit(base.into(), number == 1);
            format!("{} {unit}", self.count(number))
        };
        match (seconds / 60, seconds % 60) {
            (minutes, 0) if minutes > 0 => part(minutes, Base::Minute),
            _ if seconds < 100 => part(seconds, Base::Second),
            (minutes, rest) => format!(
                "{} {}",
                part(minutes, Base::Minute),
                part(rest, Base::Second)
            ),
        }
    }

    fn digit(&self, c: char) -> &str {
        match c {
            '.' => self.word("point"),
            digit => self
                .words
                .get(&format!("digit {digit}"))
                .map_or("", String::as_str),
        }
    }

    fn with_unit(&self, number: &str, unit: Unit, one: bool) -> String {
        let name = self.unit(unit, one);
        match name.contains("{}") {
            true => name.replace("{}", number),
            false => format!("{number} {name}"),
        }
    }

    /// The unit's name for one or for any other value, its symbol where the language has no name.
    pub fn unit(&self, unit: Unit, one: bool) -> String {
        let number = |names: &str| {
            let mut forms = names.split('|').map(str::trim);
            let singular = forms.next().unwrap_or_default();
            match one {
                true => singular.to_owned(),
                false => forms.next().unwrap_or(singular).to_owned(),
            }
        };
        if let Some(names) = self.words.get(&format!("unit {unit}")) {
            return number(names);
        }
        let base = self.words.get(&format!("unit {}", unit.base.symbol()));
        let prefix = self.words.get(&format!("prefix {}", unit.prefix.symbol()));
        match (prefix, base) {
            (Some(prefix), Some(base)) if unit.prefix != Prefix::None => {
                format!("{prefix} {}", number(base))
            }
            _ => unit.to_string(),
        }
    }

    /// Letters by the spelling alphabet and digits one by one: "delta five".
    pub fn spelled(&self, mark: &str) -> String {
        let spoken = mark.chars().map(|c| {
            let key = match c.is_ascii_digit() {
                true => format!("digit {c}"),
                false => format!("letter {}", c.to_ascii_uppercase()),
            };
            self.words
                .get(&key)
                .cloned()
                .unwrap_or_else(|| c.to_string())
        });
        spoken.collect::<Vec<_>>().join(" ")
    }

    /// A reference said so that the thing can be found: whole numbers up to ninety-nine as numbers,
    /// marks with capitals or digits spelled, words as they are. `sheet 2, item 19` is "sheet two,
    /// item nineteen"; `D5` is "delta five".
    pub fn reference(&self, reference: &str) -> String {
        let spoken = reference.split_whitespace().map(|token| {
            let mark = token.trim_end_matches([',', ';', ':']);
            let tail = &token[mark.len()..];
            let is_mark = mark.contains(|c: char| c.is_ascii_digit() || c.is_ascii_uppercase());
            let words = match (self.number_below_hundred(mark), is_mark) {
                (Some(number), _) => number,
                (None, true) => self.spelled(mark),
                (None, false) => mark.to_owned(),
            };
            words + tail
        });
        spoken.collect::<Vec<_>>().join(" ")
    }

    fn number_below_hundred(&self, digits: &str) -> Option<String> {
        if digits.starts_with('0') && digits.len() > 1 {
            return None;
        }
        let number: u8 = digits.parse().ok()?;
        let named = |n: u8| self.words.get(&format!("number {n}")).cloned();
        match number {
            0..=9 => self.words.get(&format!("digit {number}")).cloned(),
            10..=99 => named(number).or_else(|| {
                let units = self.words.get(&format!("digit {}", number % 10))?;
                Some(format!("{} {units}", named(number - number % 10)?))
            }),
            _ => None,
        }
    }

    /// The spoken form of an abbreviation.
    pub fn abbreviation(&self, short: &str) -> Option<&str> {
        self.abbreviations.get(short).map(String::as_str)
    }

    /// A text with its abbreviations spoken out: "set 5 kPa" is said "set 5 kilopascals". Single
    /// letters are units, and so count only after a number.
    pub fn spoken_text(&self, text: &str) -> String {
        let mut after_number = false;
        let spoken = text.split(' ').map(|token| {
            let said = self.spoken_token(token, after_number);
            after_number = token.ends_with(|c: char| c.is_ascii_digit());
            said
        });
        spoken.collect::<Vec<_>>().join(" ")
    }

    fn spoken_token(&self, token: &str, after_number: bool) -> String {
        let core = token.trim_end_matches([',', ';', ':', '.', '?', '!']);
        let tail = &token[core.len()..];
        let digits = core
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(core.len());
        let (number, short) = core.split_at(digits);
        let counts = after_number || !number.is_empty() || short.chars().count() > 1;
        match self.abbreviation(short).filter(|_| counts) {
            Some(words) if number.is_empty() => format!("{words}{tail}"),
            Some(words) => format!("{number} {words}{tail}"),
            None => token.to_owned(),
        }
    }
}

/// `key = words` lines; what is not of that form is noted.
fn read_table(
    (file, text): (&str, &str),
    problems: &mut Vec<GrammarProblem>,
) -> BTreeMap<String, String> {
    let mut table = BTreeMap::new();
    for (index, line) in text.lines().enumerate() {
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let place = Place {
            line: u32::try_from(index + 1).unwrap_or(u32::MAX),
            column: 1,
        };
        let entry = line
            .split_once(" = ")
            .map(|(key, words)| (key.trim(), words.trim()));
        let Some((key, words)) = entry.filter(|(key, words)| !key.is_empty() && !words.is_empty())
        else {
            problems.push(GrammarProblem::new(
                file,
                place,
                format!("`{line}`"),
                "`key = words`",
                "write one key and its words on a line",
            ));
            continue;
        };
        if table.insert(key.to_owned(), words.to_owned()).is_some() {
            problems.push(GrammarProblem::new(
                file,
                place,
                format!("`{key}` again"),
                "each key once",
                "take one of the two lines out",
            ));
        }
    }
    table
}
