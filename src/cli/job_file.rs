//! A job file: what is known of a job before a technician leaves for it.

use std::path::Path;

use serde::Deserialize;

use super::{Failure, text_file};
use crate::procedure::plain_message;

/// Every line may be left out; what is missing is asked then.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobFile {
    /// The customer's number for the job.
    pub reference: Option<String>,
    pub site: Option<String>,
    /// The unit by its name at the site.
    pub unit: Option<String>,
    pub variant: Option<String>,
    pub serial: Option<String>,
    /// What is wrong, in the customer's words.
    pub complaint: Option<String>,
    pub technician: Option<String>,
}

/// Reads a job file.
///
/// # Errors
///
/// It cannot be read, is too large, or is not a job in YAML: with the place and what is expected.
pub fn read(path: &Path) -> Result<JobFile, Failure> {
    let text = text_file::read(path, text_file::BY_HAND)?;
    parse(&path.display().to_string(), &text)
}

fn parse(name: &str, text: &str) -> Result<JobFile, Failure> {
    let options = serde_saphyr::options! { with_snippet: false };
    let read = serde_saphyr::from_str_with_options(text, options);
    let job: JobFile = read.map_err(|error| wrong(name, &error))?;
    let given = |line: &str, value: Option<String>| {
        given(value).map_err(|why| Failure::input(format_args!("{name}: `{line}` {why}")))
    };
    Ok(JobFile {
        reference: given("reference", job.reference)?,
        site: given("site", job.site)?,
        unit: given("unit", job.unit)?,
        variant: given("variant", job.variant)?,
        serial: given("serial", job.serial)?,
        complaint: given("complaint", job.complaint)?,
        technician: given("technician", job.technician)?,
    })
}

/// Blanks around a value are none of it, and a blank one is not given. The ends of lines are blanks.
fn given(value: Option<String>) -> Result<Option<String>, &'static str> {
    let Some(value) = value else { return Ok(None) };
    let value = value.lines().map(str::trim).collect::<Vec<_>>().join(" ");
    let value = value.trim();
    match value.contains(char::is_control) {
        true => Err("holds a control character, expected words"),
        false => Ok((!value.is_empty()).then(|| value.to_owned())),
    }
}

fn wrong(name: &str, error: &serde_saphyr::Error) -> Failure {
    let place = error
        .location()
        .map_or_else(String::new, |at| format!(":{}:{}", at.line(), at.column()));
    let what = found(error.without_snippet());
    Failure::input(format_args!(
        "{name}{place}: {what}; expected a job in YAML with any of `reference`, `site`, `unit`, \
         `variant`, `serial`, `complaint` and `technician`, each once and with a text"
    ))
}

/// What stands there instead, without the place, which is told apart.
fn found(error: &serde_saphyr::Error) -> String {
    use serde_saphyr::Error;
    match error {
        Error::DuplicateMappingKey { key: Some(key), .. } => format!("`{key}` stands twice"),
        Error::DuplicateMappingKey { .. } => "a line stands twice".to_owned(),
        Error::MultipleDocuments { .. } => "a second document begins".to_owned(),
        Error::SerdeUnknownField { field, .. } => format!("found `{field}`"),
        Error::Unexpected { expected, .. } if expected.contains("string") => {
            "found a list or a group of lines where a text belongs".to_owned()
        }
        error => plain_message(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_may_be_left_out() {
        assert_eq!(parse("j", "").expect("an empty job"), JobFile::default());
        let job = parse("j", "serial: 0412\ncomplaint: ' '\n").expect("a job");
        assert_eq!(job.serial.as_deref(), Some("0412"));
        assert_eq!(job.complaint, None);
    }

    #[test]
    fn a_line_that_is_none_of_a_job_is_told_with_its_place() {
        let wrong = parse("j.yaml", "serial: X1\nsereal: X2\n").expect_err("no such line");
        let message = wrong.to_string();
        assert!(message.starts_with("j.yaml:2:1: "), "{message}");
        assert!(message.contains("found `sereal`; expected"), "{message}");
        assert!(message.contains("`serial`, `complaint`"), "{message}");
        let odd = parse("j.yaml", "complaint: \"a\\eb\"\n").expect_err("a control character");
        assert!(
            odd.to_string().starts_with("j.yaml: `complaint` holds"),
            "{odd}"
        );
        let twice = parse("j.yaml", "serial: X1\nserial: X2\n").expect_err("one of them");
        let twice = twice.to_string();
        assert!(
            twice.starts_with("j.yaml:2:1: `serial` stands twice; "),
            "{twice}"
        );
        let list = parse("j.yaml", "serial: [X1]\n").expect_err("a list");
        assert!(list.to_string().contains("found a list"), "{list}");
    }
}
