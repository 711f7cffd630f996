//! A grammar file's text to its tokens, each with its place.

use crate::language::problem::{GrammarProblem, Place};

/// One piece of a grammar file.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Token {
    Word(String),
    /// What stands between `<` and `>`.
    RuleName(String),
    /// What stands between `{` and `}`, trimmed.
    Tag(String),
    /// What stands between two `/`.
    Weight(String),
    /// One of `; = | * + ( ) [ ]`.
    Symbol(char),
    End,
}

impl Token {
    /// The token as a message quotes it.
    pub(super) fn quoted(&self) -> String {
        match self {
            Token::Word(text) => format!("`{text}`"),
            Token::RuleName(text) => format!("`<{text}>`"),
            Token::Tag(text) => format!("`{{{text}}}`"),
            Token::Weight(text) => format!("`/{text}/`"),
            Token::Symbol(symbol) => format!("`{symbol}`"),
            Token::End => "the end of the file".to_owned(),
        }
    }
}

/// Walks over the text one character at a time.
struct Scanner<'a> {
    file: &'a str,
    rest: std::iter::Peekable<std::str::Chars<'a>>,
    place: Place,
}

/// All tokens of a text that begins at `place`, the last one [`Token::End`].
pub(super) fn tokens(
    file: &str,
    text: &str,
    place: Place,
) -> Result<Vec<(Token, Place)>, GrammarProblem> {
    let mut scanner = Scanner {
        file,
        rest: text.chars().peekable(),
        place,
    };
    let mut found = Vec::new();
    loop {
        let token = scanner.token()?;
        let end = token.0 == Token::End;
        found.push(token);
        if end {
            return Ok(found);
        }
    }
}

impl Scanner<'_> {
    fn next(&mut self) -> Option<char> {
        let next = self.rest.next()?;
        match next {
            '\n' => {
                self.place.line += 1;
                self.place.column = 1;
            }
            _ => self.place.column += 1,
        }
        Some(next)
    }

    fn token(&mut self) -> Result<(Token, Place), GrammarProblem> {
        while self.rest.peek().is_some_and(|c| c.is_whitespace()) {
            self.next();
        }
        let place = self.place;
        let Some(first) = self.next() else {
            return Ok((Token::End, place));
        };
        let token = match first {
            '/' => match self.rest.peek() {
                Some('/') => {
                    while self.rest.peek().is_some_and(|c| *c != '\n') {
                        self.next();
                    }
                    return self.token();
                }
                Some('*') => {
                    self.comment(place)?;
                    return self.token();
                }
                _ => Token::Weight(self.until('/', place, "weight")?),
            },
            '<' => Token::RuleName(self.until('>', place, "rule name")?),
            '{' => Token::Tag(self.until('}', place, "tag")?),
            ';' | '=' | '|' | '*' | '+' | '(' | ')' | '[' | ']' => Token::Symbol(first),
            '>' | '}' | '"' | '\\' | '\'' | '#' => return Err(self.stray(first, place)),
            _ => Token::Word(self.word(first)),
        };
        Ok((token, place))
    }

    fn word(&mut self, first: char) -> String {
        let mut word = String::from(first);
        while let Some(c) = self.rest.peek().copied() {
            if c.is_whitespace() || ";=|*+()[]<>{}/\"\\#".contains(c) {
                break;
            }
            word.push(c);
            self.next();
        }
        word
    }

    /// Everything up to the closing character, which must come before the end of the line.
    fn until(&mut self, close: char, open: Place, what: &str) -> Result<String, GrammarProblem> {
        let mut text = String::new();
        loop {
            match self.next() {
                Some(c) if c == close => return Ok(text.trim().to_owned()),
                Some('\n') | None => {
                    return Err(GrammarProblem::new(
                        self.file,
                        open,
                        format!("a {what} that does not end on its line"),
                        format!("`{close}`"),
                        format!("close the {what} with `{close}`"),
                    ));
                }
                Some(c) => text.push(c),
            }
        }
    }

    fn comment(&mut self, open: Place) -> Result<(), GrammarProblem> {
        self.next();
        let mut last = ' ';
        while let Some(c) = self.next() {
            if last == '*' && c == '/' {
                return Ok(());
            }
            last = c;
        }
        Err(GrammarProblem::new(
            self.file,
            open,
            "a comment that does not end",
            "`*/`",
            "close the comment with `*/`",
        ))
    }

    fn stray(&self, found: char, place: Place) -> GrammarProblem {
        let remedy = match found {
            '"' | '\'' | '\\' => "write words bare, without quotes or escapes",
            '#' => "keep the header on the first line only",
            _ => "remove it or add what it closes",
        };
        GrammarProblem::new(
            self.file,
            place,
            format!("`{found}`"),
            "a word, a rule name, a tag or one of `; = | * + ( ) [ ]`",
            remedy,
        )
    }
}
