//! Words as engines and people write them, to the words of the automaton.

use smallvec::SmallVec;

use super::heard::Word;
use super::lexicon::{Key, Lexicon, UNKNOWN, WordId};

/// A gap between words from this long on separates values. Common practice, no source: inside a
/// number, people pause less.
pub const PAUSE_MS: u64 = 350;

/// One word of the automaton as it was heard.
#[derive(Debug, Clone, Copy)]
pub(super) struct Token {
    pub id: WordId,
    /// There was a pause before it.
    pub pause: bool,
    /// Which of the given words it is or is part of.
    pub source: u32,
}

/// What was given: words with times, or plain text.
#[derive(Debug, Clone, Copy)]
pub(super) enum Given<'a> {
    Words(&'a [Word]),
    Text(&'a str),
}

impl Given<'_> {
    /// Adds the words of the automaton.
    pub(super) fn tokens(&self, lexicon: &Lexicon, tokens: &mut Tokens) {
        match self {
            Given::Words(words) => tokens_of_words(lexicon, words, tokens),
            Given::Text(text) => tokens_of_text(lexicon, text, tokens),
        }
    }

    /// One of the given words, counted from 0.
    pub(super) fn word(&self, at: usize) -> Option<&str> {
        match self {
            Given::Words(words) => words.get(at).map(|word| word.text.as_str()),
            Given::Text(text) => text.split_ascii_whitespace().nth(at),
        }
    }

    /// Its time; 0 in plain text.
    pub(super) fn span(&self, at: u32) -> Span {
        match self {
            Given::Words(words) => words
                .get(at as usize)
                .map_or((0, 0), |word| (word.start_ms, word.end_ms)),
            Given::Text(_) => (0, 0),
        }
    }
}

/// Time of a word, milliseconds.
pub(super) type Span = (u64, u64);

/// The words of one utterance; most are short enough to need no memory of their own.
pub(super) type Tokens = SmallVec<[Token; 16]>;

/// Words with times. A pause is a gap of at least [`PAUSE_MS`].
fn tokens_of_words(lexicon: &Lexicon, words: &[Word], tokens: &mut Tokens) {
    let mut end = None;
    for (at, word) in words.iter().enumerate() {
        let pause = end.is_some_and(|end| word.start_ms.saturating_sub(end) >= PAUSE_MS);
        add(lexicon, &word.text, at as u32, pause, tokens);
        end = Some(word.end_ms);
    }
}

/// Plain text. `,`, `;` and `...` stand for a pause; words have no times.
fn tokens_of_text(lexicon: &Lexicon, text: &str, tokens: &mut Tokens) {
    let mut pause = false;
    for (source, word) in (0..).zip(text.split_ascii_whitespace()) {
        pause = add_marked(lexicon, word, source, pause, tokens);
    }
}

/// The words of plain text as they stand between blanks; [`UNKNOWN`] where one must be looked at
/// closely.
pub(super) fn plain_words(lexicon: &Lexicon, text: &str) -> impl Iterator<Item = WordId> {
    let mut from = 0;
    std::iter::from_fn(move || {
        if from >= text.len() {
            return None;
        }
        let Some((key, length)) = Key::before_blank(text.as_bytes(), from) else {
            from = text.len();
            return Some(UNKNOWN);
        };
        from += length + 1;
        Some(lexicon.id_by_key(key))
    })
}

/// Heard words as they stand; [`UNKNOWN`] where one must be looked at closely or follows a pause.
pub(super) fn unbroken_words(lexicon: &Lexicon, words: &[Word]) -> impl Iterator<Item = WordId> {
    let mut end = u64::MAX;
    words.iter().map(move |word| {
        let pause = word.start_ms.saturating_sub(end) >= PAUSE_MS;
        end = word.end_ms;
        match pause {
            true => UNKNOWN,
            false => lexicon.id(&word.text),
        }
    })
}

/// Adds a word that may hold pause marks. Whether a pause follows it.
fn add_marked(
    lexicon: &Lexicon,
    word: &str,
    source: u32,
    mut pause: bool,
    tokens: &mut Tokens,
) -> bool {
    for (piece, pause_behind) in pieces(word) {
        if !piece.is_empty() {
            add(lexicon, piece, source, pause, tokens);
            pause = false;
        }
        pause |= pause_behind;
    }
    pause
}

/// A word cut at its pause marks, each piece with whether a pause follows it. A `,` or `.` inside
/// a written number is part of it.
fn pieces(word: &str) -> Vec<(&str, bool)> {
    let mut found = Vec::new();
    let mut rest = word;
    while let Some(at) = rest
        .find([',', ';', '…'])
        .into_iter()
        .chain(rest.find("..."))
        .min()
    {
        let mark = match rest[at..].starts_with("...") {
            true => 3,
            false => rest[at..].chars().next().map_or(1, char::len_utf8),
        };
        found.push((&rest[..at], true));
        rest = &rest[at + mark..];
    }
    found.push((rest.trim_end_matches(['.', '!', '?']), false));
    found
}

/// Adds one word: as it is, in lower case, cut at hyphens, as a written number, or, in scripts
/// that write words together, cut into the fewest known words.
fn add(lexicon: &Lexicon, word: &str, source: u32, pause: bool, tokens: &mut Tokens) {
    let mut first = true;
    let mut push = |id: WordId| {
        let pause = pause && first;
        first = false;
        tokens.push(Token { id, pause, source });
    };
    let id = lexicon.id(word);
    if id != UNKNOWN {
        return push(id);
    }
    let lower = word.to_lowercase();
    for part in lower.split('-').filter(|part| !part.is_empty()) {
        let id = lexicon.id(part);
        match joined(lexicon, part) {
            Some(ids) if id == UNKNOWN => ids.into_iter().for_each(&mut push),
            _ => push(id),
        }
    }
}

/// The fewest known words that written together give `text`; only outside ASCII, where writing
/// numbers together is the custom.
fn joined(lexicon: &Lexicon, text: &str) -> Option<Vec<WordId>> {
    if text.is_ascii() {
        return None;
    }
    let ends: Vec<usize> = text
        .char_indices()
        .map(|(at, _)| at)
        .chain([text.len()])
        .collect();
    let mut best: Vec<Option<(usize, usize, WordId)>> = vec![None; ends.len()];
    best[0] = Some((0, 0, UNKNOWN));
    for to in 1..ends.len() {
        for from in 0..to {
            let Some((count, ..)) = best[from] else {
                continue;
            };
            let id = lexicon.id(&text[ends[from]..ends[to]]);
            if id != UNKNOWN && best[to].is_none_or(|(known, ..)| count + 1 < known) {
                best[to] = Some((count + 1, from, id));
            }
        }
    }
    let mut ids = Vec::new();
    let mut at = ends.len() - 1;
    while at > 0 {
        let (_, from, id) = best[at]?;
        ids.push(id);
        at = from;
    }
    ids.reverse();
    Some(ids)
}
