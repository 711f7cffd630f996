//! Text from people and files, made fit to be shown.
//!
//! A name, a note or a word may hold anything. Control characters become visible, so that no
//! terminal or page acts on them; marks that turn the direction of writing are spelled out, so
//! that what is read is what is there; and what is endless is cut with its length told. The JSON
//! form alone keeps every letter.

use serde_json::Value;

use super::model::Report;

/// Letters of a text that are shown.
const LONGEST: usize = 500;

impl Report {
    /// The same report with every text fit to be shown.
    pub(super) fn presentable(&self) -> Report {
        let mut shown = serde_json::to_value(self).unwrap_or_default();
        make_fit(&mut shown);
        let mut shown: Report = serde_json::from_value(shown).unwrap_or_else(|_| self.clone());
        for (shown, finding) in shown.findings.iter_mut().zip(&self.findings) {
            shown.chart = finding.chart.as_deref().map(visible);
        }
        shown
    }
}

fn make_fit(value: &mut Value) {
    match value {
        Value::String(text) => *text = fit(text),
        Value::Array(values) => values.iter_mut().for_each(make_fit),
        Value::Object(members) => {
            let fitted = std::mem::take(members).into_iter().map(|(key, mut value)| {
                make_fit(&mut value);
                (fit(&key), value)
            });
            *members = fitted.collect();
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// One line of visible letters, and not too many.
pub fn fit(text: &str) -> String {
    let line = text.replace(['\n', '\r', '\t'], " ");
    let count = line.chars().count();
    if count <= LONGEST {
        return visible(&line);
    }
    let end = line
        .char_indices()
        .nth(LONGEST)
        .map_or(line.len(), |(at, _)| at);
    format!("{}\u{2026} ({count} letters in all)", visible(&line[..end]))
}

/// Line ends stay, every other sign that shows nothing or turns the writing is spelled out.
fn visible(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\n' => shown.push(letter),
            '\u{0}'..='\u{1f}' => shown.extend(char::from_u32(0x2400 + u32::from(letter))),
            '\u{7f}'..='\u{9f}'
            | '\u{ad}'
            | '\u{61c}'
            | '\u{200b}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{fdd0}'..='\u{fdef}'
            | '\u{feff}'
            | '\u{fff9}'..='\u{ffff}'
            | '\u{e0000}'..='\u{e007f}' => {
                shown.push_str(&format!("[U+{:04X}]", u32::from(letter)));
            }
            _ => shown.push(letter),
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_seen_is_spelled_out() {
        assert_eq!(fit("a\u{1b}[2Jb"), "a\u{241b}[2Jb");
        assert_eq!(fit("a\u{202e}b"), "a[U+202E]b");
        assert_eq!(fit("two\nlines"), "two lines");
        assert_eq!(fit("냉난방 Ω"), "냉난방 Ω");
    }

    #[test]
    fn what_is_endless_is_cut_and_its_length_told() {
        let shown = fit(&"x".repeat(1_000_000));
        assert!(
            shown.ends_with("x\u{2026} (1000000 letters in all)"),
            "{shown}"
        );
        assert!(shown.chars().count() < LONGEST + 40);
    }
}
