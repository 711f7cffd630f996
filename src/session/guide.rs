//! What a session is guided by.

use std::collections::BTreeMap;

use super::confirm::confusions::{Confusions, ConfusionsError};
use super::parts::{Position, Visit};
use super::phrases::{Phrase, Phrases, PhrasesError};
use super::state::State;
use crate::language::{Language, LanguageError, Say, bundled_file};
use crate::procedure::{
    Library, Procedure, QuantityDefinition, QuantityId, Step, Text, VariantId, Wording,
};
use crate::quantity::{Amount, Base, Range, Reading, Unit};

const PHRASES: &str = "phrases.txt";
const CONFUSIONS: &str = "confusions.txt";

/// The procedures of a session, and the words of the assistant in their language.
#[derive(Debug, Clone)]
pub struct Guide {
    pub library: Library,
    pub language: Language,
    pub say: Say,
    pub phrases: Phrases,
    pub confusions: Confusions,
    /// The last session at each unit, by its serial number, as far as any is known.
    pub visits: BTreeMap<String, Visit>,
}

/// A language without the assistant's own words, or with wrong ones.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GuideError {
    #[error(transparent)]
    Language(#[from] LanguageError),
    #[error(transparent)]
    Phrases(#[from] PhrasesError),
    #[error(transparent)]
    Confusions(#[from] ConfusionsError),
    #[error("the language `{locale}` has no `{file}`; add it to its grammar files")]
    NoFile { locale: String, file: &'static str },
}

impl Guide {
    /// A library with the language its main procedure is spoken in, from inside the program.
    ///
    /// # Errors
    ///
    /// When there is no such language.
    pub fn bundled(library: Library) -> Result<Guide, GuideError> {
        let locale = library.main().locale.clone();
        let language = Language::bundled(&locale)?;
        let confusions = bundled_text(&locale, CONFUSIONS)?;
        Ok(Guide {
            phrases: Phrases::bundled(&locale)?,
            confusions: Confusions::load(&format!("{locale}/{CONFUSIONS}"), confusions)?,
            say: Say::bundled(&locale)?,
            library,
            language,
            visits: BTreeMap::new(),
        })
    }

    /// The procedure being worked on: the main one during the entry.
    pub fn procedure(&self, state: &State) -> &Procedure {
        let current = state.position.as_ref();
        current
            .and_then(|p| self.library.get(&p.procedure))
            .unwrap_or_else(|| self.library.main())
    }

    pub fn step(&self, position: &Position) -> Option<&Step> {
        self.library.step(&position.procedure, &position.step)
    }

    /// The unit's variant; empty before it is known, for which every text is the default one.
    pub fn variant(&self, state: &State) -> VariantId {
        let known = state.job.variant.clone();
        known.unwrap_or(VariantId(String::new()))
    }

    /// A variant's name as it is said.
    pub fn variant_spoken(&self, id: &VariantId) -> &str {
        let known = self.library.main().variants.get(id);
        known.map_or("", |variant| &variant.name.spoken)
    }

    pub fn quantity(&self, position: &Position, id: &QuantityId) -> Option<&QuantityDefinition> {
        self.library.get(&position.procedure)?.quantities.get(id)
    }

    /// The limits of a quantity for the unit's variant, in the quantity's unit.
    pub fn limits(&self, state: &State, definition: &QuantityDefinition) -> Option<Range> {
        *definition.limits.get(&self.variant(state))
    }

    /// A value as it is said, with its unit. A ratio is a plain number, and a difference is said
    /// in the degrees it is counted in: that it is one, the quantity's name says.
    pub fn say(&self, reading: &Reading) -> String {
        let degrees = match (reading.amount, reading.unit.base) {
            (Amount::Exact(value), Base::Ratio) => return self.say.number(value),
            (_, Base::CelsiusDifference) => Base::DegreeCelsius,
            (_, Base::FahrenheitDifference) => Base::DegreeFahrenheit,
            (_, Base::KelvinDifference) => Base::Kelvin,
            (_, base) => base,
        };
        let unit = Unit {
            base: degrees,
            ..reading.unit
        };
        self.say.reading(&Reading { unit, ..*reading })
    }

    /// A whole number as it is counted.
    pub fn count(&self, number: usize) -> String {
        self.say.count(u32::try_from(number).unwrap_or(u32::MAX))
    }

    /// A length of time.
    pub fn duration(&self, seconds: u32) -> String {
        self.say.duration(seconds)
    }

    /// A day such as `2026-03-04` as it is said; what is no day stays as it is.
    pub fn day(&self, written: &str) -> String {
        let parts: Vec<&str> = written.split('-').collect();
        let [year, month, day] = parts.as_slice() else {
            return written.to_owned();
        };
        let months = self.phrases.list(Phrase::Months);
        let number = month.parse::<usize>().unwrap_or_default();
        let Some(month) = number.checked_sub(1).and_then(|index| months.get(index)) else {
            return written.to_owned();
        };
        let day = day.trim_start_matches('0');
        let slots = [("day", day), ("month", month), ("year", year)];
        self.phrases.fill(Phrase::Day, &slots)
    }

    /// Letters and digits by the spelling alphabet.
    pub fn spell(&self, text: &str) -> String {
        self.say.spelled(text)
    }

    pub fn text<'a>(&self, state: &State, text: &'a Text) -> &'a Wording {
        text.get(&self.variant(state))
    }
}

impl Phrases {
    /// Those of a language, from inside the program.
    ///
    /// # Errors
    ///
    /// When there is no such language.
    pub fn bundled(locale: &str) -> Result<Phrases, GuideError> {
        let text = bundled_text(locale, PHRASES)?;
        Ok(Phrases::load(&format!("{locale}/{PHRASES}"), text)?)
    }
}

fn bundled_text(locale: &str, file: &'static str) -> Result<&'static str, GuideError> {
    let found = bundled_file(locale, file).map(|(_, text)| text);
    found.ok_or_else(|| GuideError::NoFile {
        locale: locale.to_owned(),
        file,
    })
}
