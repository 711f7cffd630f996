//! The grammar files that come inside the program.

use include_dir::{Dir, include_dir};

use super::compile::Language;

static GRAMMARS: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/grammars");

/// A language that is not there or whose files are wrong.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LanguageError {
    #[error("found the language `{found}`, expected one of: {known}")]
    Unknown { found: String, known: String },
    #[error("{}", join(.0))]
    Grammar(Vec<super::GrammarProblem>),
}

fn join(problems: &[super::GrammarProblem]) -> String {
    let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

/// The languages inside the program, such as `en-US`.
pub fn locales() -> Vec<&'static str> {
    GRAMMARS
        .dirs()
        .filter_map(|dir| dir.path().to_str())
        .collect()
}

/// The name and text of a file that comes with a language, where there is one.
pub(crate) fn bundled_file(locale: &str, name: &str) -> Option<(&'static str, &'static str)> {
    let file = GRAMMARS.get_file(format!("{locale}/{name}"))?;
    Some((file.path().to_str()?, file.contents_utf8()?))
}

/// The same, where there must be one.
///
/// # Errors
///
/// When there is no such language or it has no such file.
pub(super) fn bundled_text(
    locale: &str,
    name: &str,
) -> Result<(&'static str, &'static str), LanguageError> {
    bundled_file(locale, name).ok_or_else(|| LanguageError::Unknown {
        found: locale.to_owned(),
        known: locales().join(", "),
    })
}

impl Language {
    /// A language that comes with the program.
    ///
    /// # Errors
    ///
    /// When there is no such language.
    pub fn bundled(locale: &str) -> Result<Language, LanguageError> {
        let unknown = || LanguageError::Unknown {
            found: locale.to_owned(),
            known: locales().join(", "),
        };
        let dir = GRAMMARS.get_dir(locale).ok_or_else(unknown)?;
        let files: Vec<(&str, &str)> = dir
            .files()
            .filter(|file| file.path().extension().is_some_and(|e| e == "jsgf"))
            .filter_map(|file| Some((file.path().to_str()?, file.contents_utf8()?)))
            .collect();
        Language::load(locale, &files).map_err(LanguageError::Grammar)
    }
}
