//! What a file declares, so that every reference in it can be looked up; and the problems found.

use std::cell::OnceCell;

use indexmap::IndexMap;
use rust_decimal::Decimal;

use super::by_variant::{ByVariant, Varied};
use super::model::{Text, Wording, WrittenText};
use super::names::VariantId;
use super::place::{At, Place};
use super::problem::{Findings, listed, nearest};
use super::source::ProcedureSource;
use super::source_step::{Gives, gives};
use super::wording::{BraceError, wording};
use crate::language::{Automaton, Command, Expectation, Language, Meaning, Say};
use crate::quantity::{Range, Unit};

/// The declared names of one file. Converting a value notes what is wrong with it in `findings`
/// and gives `None`, so that everything wrong is found in one go.
pub(super) struct Scope<'a> {
    say: Say,
    locale: String,
    /// What every command is heard by, once a phrase asks for it.
    commands: OnceCell<Option<Automaton>>,
    pub texts: Vec<WrittenText>,
    pub findings: Findings<'a>,
    pub variants: Vec<String>,
    pub quantities: IndexMap<String, Option<Unit>>,
    pub steps: IndexMap<String, Gives>,
}

impl<'a> Scope<'a> {
    pub fn new(source: &ProcedureSource, say: Say, findings: Findings<'a>) -> Scope<'a> {
        let quantities = source.quantities.iter();
        Scope {
            say,
            locale: source.locale.value.trim().to_owned(),
            commands: OnceCell::new(),
            texts: Vec::new(),
            findings,
            variants: source
                .applies_to
                .iter()
                .map(|v| v.id.value.clone())
                .collect(),
            quantities: quantities
                .map(|q| (q.id.value.clone(), q.unit.value.parse().ok()))
                .collect(),
            steps: source
                .steps
                .iter()
                .filter_map(|step| Some((step.id()?.value.clone(), gives(step))))
                .collect(),
        }
    }

    /// The value when the name is one of the declared ones.
    pub fn known(
        &mut self,
        rule: &'static str,
        kind: &str,
        name: &At<String>,
        declared: &[String],
    ) -> Option<String> {
        if declared.contains(&name.value) {
            return Some(name.value.clone());
        }
        let names = || declared.iter().map(String::as_str);
        let remedy = match nearest(&name.value, names()) {
            Some(near) => format!("write `{near}`"),
            None => format!("declare the {kind} or name another"),
        };
        self.findings.error(
            rule,
            name.place,
            format!("{kind} `{}`", name.value),
            format!("one of {}", listed(names())),
            remedy,
        );
        None
    }

    pub fn step(&mut self, name: &At<String>) -> Option<super::StepId> {
        let declared: Vec<String> = self.steps.keys().cloned().collect();
        self.known("unknown-step", "step", name, &declared)
            .map(super::StepId)
    }

    pub fn quantity(&mut self, name: &At<String>) -> Option<super::QuantityId> {
        let declared: Vec<String> = self.quantities.keys().cloned().collect();
        self.known("unknown-quantity", "quantity", name, &declared)
            .map(super::QuantityId)
    }

    pub fn variant(&mut self, name: &At<String>) -> Option<VariantId> {
        let declared = self.variants.clone();
        self.known("unknown-variant", "variant", name, &declared)
            .map(VariantId)
    }

    pub fn only(&mut self, only: &Option<Vec<At<String>>>) -> Option<Option<Vec<VariantId>>> {
        let Some(names) = only else {
            return Some(None);
        };
        let ids: Vec<_> = names.iter().map(|name| self.variant(name)).collect();
        ids.into_iter().collect::<Option<Vec<_>>>().map(Some)
    }

    /// A text that is not empty.
    pub fn plain(&mut self, text: &At<String>) -> Option<String> {
        self.not_empty(text.place, &text.value)
            .map(|t| t.to_owned())
    }

    /// Words that someone says: letters, blanks and apostrophes, so that every engine can listen for
    /// them.
    pub fn phrase(&mut self, text: &At<String>) -> Option<String> {
        let phrase = self.plain(text)?;
        let sayable = |c: char| c.is_alphabetic() || matches!(c, ' ' | '\'');
        let Some(odd) = phrase.chars().find(|c| !sayable(*c)) else {
            return self.not_a_command(text.place, phrase);
        };
        self.findings.error(
            "phrase",
            text.place,
            format!("`{odd}` in the phrase `{phrase}`"),
            "words as they are spoken",
            "write numbers and signs as words",
        );
        None
    }

    /// A phrase that is not heard as a command already: `stop` must never mean anything else.
    fn not_a_command(&mut self, place: Place, phrase: String) -> Option<String> {
        let heard = self.commands.get_or_init(|| {
            let language = Language::bundled(&self.locale).ok()?;
            let expected = Expectation {
                commands: Command::ALL.into_iter().collect(),
                ..Expectation::default()
            };
            language.compile(&expected).ok()
        });
        let meaning = heard
            .as_ref()
            .map(|heard| heard.parse_text(&phrase.to_lowercase()).meaning());
        let Some(Meaning::Command { command, .. }) = meaning else {
            return Some(phrase);
        };
        self.findings.error(
            "phrase-is-command",
            place,
            format!(
                "the phrase `{phrase}`, which is the command `{}`",
                command.name()
            ),
            "words that are no command",
            "say it another way",
        );
        None
    }

    pub fn optional_plain(&mut self, text: &Option<At<String>>) -> Option<Option<String>> {
        match text {
            None => Some(None),
            Some(text) => self.plain(text).map(Some),
        }
    }

    pub fn not_empty<'t>(&mut self, place: Place, text: &'t str) -> Option<&'t str> {
        let text = text.trim();
        if !text.is_empty() {
            return Some(text);
        }
        self.findings.error(
            "empty-text",
            place,
            "an empty text",
            "words",
            "write what is to be said, or leave the key out",
        );
        None
    }

    pub fn wording(&mut self, place: Place, text: &str) -> Option<Wording> {
        let text = self.not_empty(place, text)?;
        let error = match wording(text, &self.say) {
            Ok(wording) => {
                self.texts.push(WrittenText {
                    place,
                    source: text.to_owned(),
                    spoken: wording.spoken.clone(),
                });
                return Some(wording);
            }
            Err(error) => error,
        };
        let (found, remedy) = match error {
            BraceError::NotClosed => ("`{` without its `}`", "close the brace"),
            BraceError::NotOpened => ("`}` without its `{`", "open the brace"),
            BraceError::Empty => ("`{}` with nothing inside", "write what to find inside"),
        };
        self.findings.error(
            "brace",
            place,
            found,
            "a reference such as `terminal {D5}`",
            remedy,
        );
        None
    }

    pub fn text(&mut self, text: &At<Varied>) -> Option<Text> {
        self.by_variant(text, |scope, place, text| scope.wording(place, text))
    }

    pub fn optional_text(&mut self, text: &Option<At<Varied>>) -> Option<Option<Text>> {
        match text {
            None => Some(None),
            Some(text) => self.text(text).map(Some),
        }
    }

    /// Converts each text of a value that may differ by variant.
    pub fn by_variant<T>(
        &mut self,
        varied: &At<Varied>,
        mut each: impl FnMut(&mut Self, Place, &str) -> Option<T>,
    ) -> Option<ByVariant<T>> {
        let entries = match &varied.value {
            Varied::Same(text) => return each(self, varied.place, text).map(ByVariant::same),
            Varied::Each(entries) => entries,
        };
        let mut default = None;
        let mut exceptions = IndexMap::new();
        let mut whole = true;
        for (key, text) in entries {
            let value = each(self, text.place, &text.value);
            whole &= value.is_some();
            if key.value == "default" {
                default = value;
                continue;
            }
            let variant = self.variant(key);
            whole &= variant.is_some();
            if let (Some(variant), Some(value)) = (variant, value) {
                exceptions.insert(variant, value);
            }
        }
        if !entries.iter().any(|(key, _)| key.value == "default") {
            self.findings.error(
                "no-default",
                varied.place,
                format!(
                    "only {}",
                    listed(entries.iter().map(|(k, _)| k.value.as_str()))
                ),
                "a `default` for the other variants",
                "add `default:`",
            );
            return None;
        }
        default.filter(|_| whole).map(|default| ByVariant {
            default,
            exceptions,
        })
    }

    pub fn range(&mut self, place: Place, text: &str) -> Option<Range> {
        let error = match text.parse::<Range>() {
            Ok(range) => return Some(range),
            Err(error) => error,
        };
        let expected = "a range such as `5..8`, `>=200`, `<10` or `(0..5]`";
        let (found, expected, remedy) = match error {
            crate::quantity::RangeError::Empty { .. } => (
                format!("the empty range `{text}`"),
                "the low end below the high end",
                "swap the ends",
            ),
            crate::quantity::RangeError::Syntax { .. } => (
                format!("`{text}`"),
                expected,
                "write both ends in the quantity's unit, without the unit",
            ),
        };
        self.findings.error("range", place, found, expected, remedy);
        None
    }

    /// A range, or `none`.
    pub fn range_or_none(&mut self, place: Place, text: &str) -> Option<Option<Range>> {
        match text.trim() {
            "none" => Some(None),
            text => self.range(place, text).map(Some),
        }
    }

    pub fn optional_ranges(
        &mut self,
        varied: &Option<At<Varied>>,
    ) -> Option<ByVariant<Option<Range>>> {
        match varied {
            None => Some(ByVariant::same(None)),
            Some(varied) => self.by_variant(varied, |s, place, text| s.range_or_none(place, text)),
        }
    }

    /// A decimal above zero.
    pub fn positive(&mut self, text: &Option<At<String>>) -> Option<Option<Decimal>> {
        let Some(text) = text else { return Some(None) };
        match text.value.trim().parse::<Decimal>() {
            Ok(number) if number > Decimal::ZERO => Some(Some(number)),
            _ => {
                self.findings.error(
                    "number",
                    text.place,
                    format!("`{}`", text.value),
                    "a number above zero",
                    "write it in the quantity's unit, without the unit",
                );
                None
            }
        }
    }
}
