//! The texts of a procedure as they will be heard: one order at a time, short sentences, numbers
//! with units, nothing that cannot be spoken.

use crate::language::Say;
use crate::procedure::model::WrittenText;
use crate::procedure::problem::Findings;
use crate::procedure::{Procedure, StepKind};

/// A sentence of more words is forgotten before it ends. Common practice, no source.
const MOST_WORDS: usize = 25;

pub(super) fn check_texts(procedure: &Procedure, findings: &mut Findings) {
    let Ok(say) = Say::bundled(&procedure.locale) else {
        return;
    };
    for text in &procedure.texts {
        long_sentences(text, findings);
        let tokens = tokens(&text.source);
        bare_numbers(text, &tokens, &say, findings);
        abbreviations(text, &tokens, &say, findings);
    }
    for step in &procedure.steps {
        let StepKind::Action { say: texts } = &step.kind else {
            continue;
        };
        for text in texts.values() {
            if let Some((first, second)) = two_orders(&text.written, &say) {
                findings.doubt(
                    "two-orders",
                    step.place,
                    format!("`{first}` and `{second}` in one order of `{}`", step.id),
                    "one order in one action",
                    "make it two steps",
                );
            }
        }
    }
}

fn long_sentences(text: &WrittenText, findings: &mut Findings) {
    for sentence in text.spoken.split_inclusive(['.', ';', '!', '?']) {
        let words = sentence.split_whitespace().count();
        if words > MOST_WORDS {
            findings.doubt(
                "long-sentence",
                text.place,
                format!("a sentence of {words} words"),
                format!("at most {MOST_WORDS}"),
                "say it in shorter sentences or in two steps",
            );
        }
    }
}

/// A word of the text outside braces, without the punctuation after it.
struct Token<'t> {
    word: &'t str,
    /// Punctuation follows, or a reference in braces, or the end.
    closes: bool,
}

fn tokens(source: &str) -> Vec<Token<'_>> {
    let mut found = Vec::new();
    let mut rest = source;
    loop {
        let open = rest.find('{').unwrap_or(rest.len());
        for raw in rest[..open].split_whitespace() {
            let word = raw.trim_end_matches([',', ';', ':', '.', '?', '!', ')']);
            found.push(Token {
                word: word.trim_start_matches('('),
                closes: word.len() < raw.len(),
            });
        }
        if let Some(last) = found.last_mut() {
            last.closes = true;
        }
        let Some(close) = rest[open..].find('}') else {
            return found;
        };
        rest = &rest[open + close + 1..];
    }
}

fn is_number(word: &str) -> bool {
    let digits = word.trim_start_matches(['-', '+']);
    digits.starts_with(|c: char| c.is_ascii_digit())
        && digits
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-'))
}

fn is_letter(word: &str) -> bool {
    word.len() == 1 && word.starts_with(|c: char| c.is_ascii_uppercase())
}

fn bare_numbers(text: &WrittenText, tokens: &[Token], say: &Say, findings: &mut Findings) {
    let ends_it = say.list("words after a bare number");
    for (index, token) in tokens.iter().enumerate() {
        // "part C P 3": a mark that is already spelled out.
        let spelled = index > 0 && is_letter(tokens[index - 1].word);
        if !is_number(token.word) || spelled {
            continue;
        }
        let next = tokens.get(index + 1).filter(|_| !token.closes);
        let bare = match next {
            None => true,
            Some(next) if !ends_it.contains(&next.word) => false,
            // "between 5 and 8 ohms": the unit stands after the second number.
            Some(_) => tokens
                .get(index + 2)
                .is_none_or(|then| !is_number(then.word)),
        };
        if bare {
            findings.doubt(
                "no-unit",
                text.place,
                format!("the number `{}` with no unit", token.word),
                "a unit or what is counted after it",
                "write the unit, or put a place such as `{sheet 2}` in braces",
            );
        }
    }
}

fn abbreviations(text: &WrittenText, tokens: &[Token], say: &Say, findings: &mut Findings) {
    for token in tokens {
        let word = token.word;
        let value = word.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        let known = say.abbreviation(word).is_some()
            || value.len() < word.len() && say.abbreviation(value).is_some();
        let capitals = word.chars().filter(|c| c.is_ascii_uppercase()).count();
        let mixed = word.contains(|c: char| c.is_ascii_digit())
            && word.contains(|c: char| c.is_ascii_alphabetic());
        let symbol = word.chars().count() > 1 && (capitals > 1 || mixed || inner_capital(word));
        if symbol && !known {
            findings.doubt(
                "abbreviation",
                text.place,
                format!("`{word}`, which has no spoken form"),
                "words, or an abbreviation that has one",
                "write it out, put a mark such as `{D5}` in braces, or add it to `abbreviations.txt`",
            );
        }
    }
}

/// A capital behind a small letter, as in a unit symbol.
fn inner_capital(word: &str) -> bool {
    let mut pairs = word.chars().zip(word.chars().skip(1));
    pairs.any(|(a, b)| a.is_ascii_lowercase() && b.is_ascii_uppercase())
}

/// The first two orders that one text gives: a verb at its start, and another after a joining word
/// or a stop.
fn two_orders<'t>(text: &'t str, say: &Say) -> Option<(&'t str, &'t str)> {
    let verbs = say.list("order words");
    let joins = say.list("joining words");
    let mut orders = Vec::new();
    let mut may_begin = true;
    for raw in text.split_whitespace() {
        let word = raw.trim_end_matches([',', ';', ':', '.', '?', '!']);
        let is_verb = verbs.iter().any(|verb| verb.eq_ignore_ascii_case(word));
        let is_join = joins.iter().any(|join| join.eq_ignore_ascii_case(word));
        if may_begin && is_verb {
            orders.push(word);
        }
        may_begin = is_join || word.len() < raw.len();
    }
    match orders.as_slice() {
        [first, second, ..] => Some((first, second)),
        _ => None,
    }
}
