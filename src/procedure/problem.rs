//! What is wrong or doubtful about a procedure, where, and what to do about it.

use std::fmt;

use serde::Serialize;

use super::place::Place;

/// How much a problem matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// The procedure cannot be used.
    Error,
    /// It can be used, but someone should look at this before relying on it.
    Doubt,
}

/// One thing that is wrong or doubtful, with its place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problem {
    pub severity: Severity,
    /// The kind of problem, for scripts: `unknown-key`, `hole`.
    pub rule: &'static str,
    /// The file's name as it was given.
    pub file: String,
    #[serde(flatten)]
    pub place: Place,
    pub found: String,
    pub expected: String,
    /// What to do about it.
    pub remedy: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(
            f,
            "{}:{}:{}: found {}, expected {}; {}",
            self.file, self.place.line, self.place.column, self.found, self.expected, self.remedy
        )
    }
}

impl Problem {
    /// The message with the line it is about and a mark under the place, for a terminal.
    ///
    /// `text` is the whole text of the file. A place outside the text shows the message alone.
    pub fn with_snippet(&self, text: &str) -> String {
        let index = self.place.line.saturating_sub(1) as usize;
        let Some(line) = text.lines().nth(index) else {
            return self.to_string();
        };
        let number = self.place.line.to_string();
        let margin = " ".repeat(number.len());
        let column = self.place.column.saturating_sub(1) as usize;
        let indent: String = line
            .chars()
            .take(column)
            .map(|c| if c == '\t' { '\t' } else { ' ' })
            .collect();
        let width = marked_width(line, column);
        format!(
            "{self}\n {margin} |\n {number} | {line}\n {margin} | {indent}{}",
            "^".repeat(width)
        )
    }
}

/// How many characters the mark covers: the word or quoted text that starts at the column.
fn marked_width(line: &str, column: usize) -> usize {
    let rest: Vec<char> = line.chars().skip(column).collect();
    let end = match rest.first() {
        Some(quote @ ('"' | '\'')) => rest[1..]
            .iter()
            .position(|c| c == quote)
            .map_or(rest.len(), |at| at + 2),
        _ => rest
            .iter()
            .position(|c| matches!(c, ':' | ',' | '#' | ']' | '}'))
            .unwrap_or(rest.len()),
    };
    let shown: String = rest[..end].iter().collect();
    shown.trim_end().chars().count().max(1)
}

/// Collects problems of one file.
#[derive(Debug)]
pub(super) struct Findings<'a> {
    file: &'a str,
    pub problems: Vec<Problem>,
}

impl<'a> Findings<'a> {
    pub fn new(file: &'a str) -> Findings<'a> {
        Findings {
            file,
            problems: Vec::new(),
        }
    }

    pub fn file(&self) -> &str {
        self.file
    }

    /// Notes something doubtful.
    pub fn doubt(
        &mut self,
        rule: &'static str,
        place: Place,
        found: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.error(rule, place, found, expected, remedy);
        if let Some(problem) = self.problems.last_mut() {
            problem.severity = Severity::Doubt;
        }
    }

    /// Notes an error.
    pub fn error(
        &mut self,
        rule: &'static str,
        place: Place,
        found: impl Into<String>,
        expected: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.problems.push(Problem {
            severity: Severity::Error,
            rule,
            file: self.file.to_owned(),
            place,
            found: found.into(),
            expected: expected.into(),
            remedy: remedy.into(),
        });
    }
}

/// Names in backticks, separated by commas: what could have been written.
pub(super) fn listed<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = names.into_iter().map(|n| format!("`{n}`")).collect();
    match quoted.is_empty() {
        true => "nothing".to_owned(),
        false => quoted.join(", "),
    }
}

/// The known name nearest to a misspelled one, when it is near enough to be meant.
pub(super) fn nearest<'a>(
    wrong: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let limit = 1 + wrong.chars().count() / 4;
    known
        .into_iter()
        .map(|name| (edit_distance(wrong, name), name))
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// Levenshtein distance in characters.
fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let substituted = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = substituted.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}
