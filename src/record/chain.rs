//! Follows the lines of a record one by one, and says at which the chain breaks.

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::line::{self, Hash, Line, Mark};

/// The lines of a record up to the first that is bad, or to its end.
#[derive(Debug)]
pub(crate) struct Chain<E> {
    /// Whole decisions only: the lines of an unfinished one at the end are left out.
    pub lines: Vec<Line<E>>,
    /// The hash of the last of `lines`.
    pub head: Hash,
    /// How many bytes `lines` take up in the file.
    pub length: usize,
    /// Why the chain ends there, if not because the file does.
    pub end: Option<Break>,
    /// The first line that says what was written with other bytes: spaced or ordered otherwise.
    pub rewritten: Option<u64>,
}

/// Where and how the chain ends early.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Break {
    /// Counted from 1.
    pub line: u64,
    pub kind: BreakKind,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum BreakKind {
    /// The last write did not reach the disk as a whole.
    Torn { what: String },
    /// The line was changed, moved, or is of a kind unknown here.
    Bad { what: String },
}

/// Reads as many lines as hold together.
pub(crate) fn follow<E: DeserializeOwned>(bytes: &[u8]) -> Chain<E> {
    let mut chain = Chain {
        lines: Vec::new(),
        head: Hash::start(),
        length: 0,
        end: None,
        rewritten: None,
    };
    let mut reader = Reader {
        bytes,
        at: 0,
        head: Hash::start(),
        rewritten: None,
    };
    // How many lines belong to decisions whose last line has come.
    let mut whole = 0;
    loop {
        let number = chain.lines.len() as u64 + 1;
        match reader.next_line(number) {
            Step::Line(line) => {
                let last_of_decision = !line.more;
                chain.lines.push(line);
                if last_of_decision {
                    whole = chain.lines.len();
                    chain.head = reader.head.clone();
                    chain.length = reader.at;
                }
                continue;
            }
            Step::End if whole == chain.lines.len() => {}
            Step::End => chain.end = Some(unfinished_decision(number)),
            Step::Break(kind) => chain.end = Some(Break { line: number, kind }),
        }
        chain.lines.truncate(whole);
        chain.rewritten = reader.rewritten;
        return chain;
    }
}

fn unfinished_decision(line: u64) -> Break {
    let what = "is missing: the line before says that it belongs to one decision with it";
    Break {
        line,
        kind: BreakKind::Torn {
            what: what.to_owned(),
        },
    }
}

enum Step<E> {
    Line(Line<E>),
    End,
    Break(BreakKind),
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
    head: Hash,
    rewritten: Option<u64>,
}

impl Reader<'_> {
    fn next_line<E: DeserializeOwned>(&mut self, number: u64) -> Step<E> {
        let rest = &self.bytes[self.at..];
        if rest.is_empty() {
            return Step::End;
        }
        let Some(length) = rest.iter().position(|b| *b == b'\n') else {
            return self.unended_line(number);
        };
        let text = &rest[..length];
        let last = length + 1 == rest.len();
        let line = match line::follows(text, &self.head) {
            Some(hash) => decode(text, hash, number),
            None => self.look_closer(text, number, last),
        };
        match line {
            Ok((line, hash)) => {
                self.at += length + 1;
                self.head = hash;
                Step::Line(line)
            }
            Err(kind) => Step::Break(kind),
        }
    }

    /// A last line that lost only its newline is still whole: its hash says so.
    fn unended_line<E: DeserializeOwned>(&mut self, number: u64) -> Step<E> {
        let text = &self.bytes[self.at..];
        let Some(hash) = line::follows(text, &self.head) else {
            return torn("ends in the middle: the last write was cut off");
        };
        self.at = self.bytes.len();
        match decode(text, hash, number) {
            Ok((line, hash)) => {
                self.head = hash;
                Step::Line(line)
            }
            Err(kind) => Step::Break(kind),
        }
    }

    /// The bytes are not those that were written: a difference in spacing only is passed over,
    /// anything else is named.
    fn look_closer<E: DeserializeOwned>(
        &mut self,
        text: &[u8],
        number: u64,
        last: bool,
    ) -> Result<(Line<E>, Hash), BreakKind> {
        let Ok(value) = serde_json::from_slice::<Value>(text) else {
            let what = "is not JSON".to_owned();
            return Err(match last {
                true => BreakKind::Torn { what },
                false => BreakKind::Bad { what },
            });
        };
        match line::says_the_same(&value, &self.head) {
            Some(hash) => {
                self.rewritten.get_or_insert(number);
                decode(text, hash, number)
            }
            None => Err(BreakKind::Bad {
                what: self.suspect(&value, number),
            }),
        }
    }

    /// The likeliest story of a line whose hash does not fit.
    fn suspect(&self, value: &Value, number: u64) -> String {
        match value.get("n").and_then(Value::as_u64) {
            None => "has no number `n`: it was altered".to_owned(),
            Some(n) if n == number => {
                "does not match its hash: it, or the hash of the line before, was altered"
                    .to_owned()
            }
            Some(n) if n < number => {
                format!("has number {n}, expected {number}: it stands twice or was moved here")
            }
            Some(n) => match self.find_later(number) {
                Some(place) => format!(
                    "has number {n}, expected {number}: the order was changed, number {number} \
                     stands in line {place}"
                ),
                None => format!(
                    "has number {n}, expected {number}: {} removed before it",
                    removed(number, n)
                ),
            },
        }
    }

    /// The line in which number `wanted` stands further down.
    fn find_later(&self, wanted: u64) -> Option<u64> {
        let mut place = wanted;
        for text in self.bytes[self.at..].split(|b| *b == b'\n').skip(1) {
            place += 1;
            let value: Option<Value> = serde_json::from_slice(text).ok();
            if value.and_then(|v| v.get("n").and_then(Value::as_u64)) == Some(wanted) {
                return Some(place);
            }
        }
        None
    }
}

fn torn<E>(what: &str) -> Step<E> {
    Step::Break(BreakKind::Torn {
        what: what.to_owned(),
    })
}

fn removed(from: u64, until: u64) -> String {
    match until - from {
        1 => "a line was".to_owned(),
        count => format!("{count} lines were"),
    }
}

/// The line's content, once its hash is known to fit.
fn decode<E: DeserializeOwned>(
    text: &[u8],
    hash: Hash,
    number: u64,
) -> Result<(Line<E>, Hash), BreakKind> {
    let bad = |what| Err(BreakKind::Bad { what });
    let line: Line<E> = match serde_json::from_slice(text) {
        Ok(line) => line,
        Err(e) => return bad(format!("holds what this version does not know: {e}")),
    };
    if line.n != number {
        return bad(format!("has number {}, expected {number}", line.n));
    }
    if (number == 1) != matches!(line.mark, Some(Mark::Opened { .. })) {
        return bad("has the opening mark in the wrong place: only line 1 has it".to_owned());
    }
    if let Some(Mark::Opened { format, .. }) = &line.mark
        && *format != Mark::FORMAT
    {
        return bad(format!(
            "has format {format}, expected {}: it was written by another version",
            Mark::FORMAT
        ));
    }
    Ok((line, hash))
}
