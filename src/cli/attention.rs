//! The word that everything said must begin with, where there is much talk around.

use super::Failure;
use crate::hearing::ear::Ear;
use crate::hearing::recognizer::HearingError;
use crate::language::{Automaton, Command, Expectation, Language};

/// The word in lower case, once it is sure that the engine can hear it and that nothing else is
/// called so.
///
/// # Errors
///
/// It is no single word, is a word of the commands or values, or is not in the engine's dictionary.
pub fn checked(word: &str, locale: &str, ear: &mut Ear) -> Result<String, Failure> {
    let word = word.to_lowercase();
    let wrong = |found: &str, expected: &str| {
        Failure::input(format_args!(
            "the attention word `{word}` {found}, expected {expected}; choose another with `--attention`"
        ))
    };
    let is_part = |c: char| c.is_alphabetic() || c == '\'';
    if word.is_empty() || !word.chars().all(is_part) {
        return Err(wrong(
            "is no single word",
            "letters only, such as `computer`",
        ));
    }
    let language = Language::bundled(locale).map_err(Failure::input)?;
    let compile = |expected: Expectation| language.compile(&expected).map_err(Failure::input);
    let everything = compile(Expectation::everything())?;
    if everything.words().contains(&word.as_str()) {
        return Err(wrong(
            "is a word of the commands and values",
            "one that is said for nothing else",
        ));
    }
    let called = compile(Expectation {
        commands: [Command::Next].into(),
        attention: Some(word.clone()),
        ..Expectation::default()
    })?;
    match can_hear(ear, &called, &word)? {
        true => Ok(word),
        false => {
            let found = format!("is not in the dictionary of {}", ear.name().engine);
            Err(wrong(&found, "a word that is"))
        }
    }
}

fn can_hear(ear: &mut Ear, called: &Automaton, word: &str) -> Result<bool, Failure> {
    match ear.set_grammar(called) {
        Ok(unheard) => Ok(!unheard.iter().any(|unheard| unheard == word)),
        Err(HearingError::Grammar { .. }) => Ok(false),
        Err(error) => Err(error.into()),
    }
}
