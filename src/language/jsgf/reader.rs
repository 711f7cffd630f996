//! Tokens to rules.

use super::lexer::{Token, tokens};
use super::syntax::{Alternative, Expansion, Import, Rule, RuleFile};
use crate::language::op::Op;
use crate::language::problem::{GrammarProblem, Place};

/// Reads one grammar file.
pub(in crate::language) fn read_file(file: &str, text: &str) -> Result<RuleFile, GrammarProblem> {
    let (header, body) = text.split_once('\n').unwrap_or((text, ""));
    check_header(file, header)?;
    let mut reader = Reader::new(file, body, Place { line: 2, column: 1 })?;
    let name = reader.grammar_name()?;
    let mut imports = Vec::new();
    let mut rules: Vec<Rule> = Vec::new();
    loop {
        let place = reader.place();
        match reader.peek() {
            Token::End => break,
            Token::Word(word) if word == "import" => imports.push(reader.import()?),
            _ => {
                let rule = reader.rule()?;
                if rules.iter().any(|known| known.name == rule.name) {
                    return Err(GrammarProblem::new(
                        file,
                        place,
                        format!("a second rule `<{}>`", rule.name),
                        "each rule once",
                        "join both with `|` or rename one",
                    ));
                }
                rules.push(rule);
            }
        }
    }
    Ok(RuleFile {
        file: file.to_owned(),
        name,
        imports,
        rules,
    })
}

/// Reads the right-hand side of a rule on its own: a phrase that a procedure listens for.
pub(in crate::language) fn read_phrase(
    file: &str,
    text: &str,
) -> Result<Expansion, GrammarProblem> {
    let mut reader = Reader::new(file, text, Place { line: 1, column: 1 })?;
    let body = reader.alternatives()?;
    match reader.peek() {
        Token::End => Ok(body),
        _ => Err(reader.unexpected("the end of the phrase", "close or remove it")),
    }
}

fn check_header(file: &str, header: &str) -> Result<(), GrammarProblem> {
    let words: Vec<&str> = header
        .trim_start_matches('\u{feff}')
        .trim_end()
        .trim_end_matches(';')
        .split_whitespace()
        .collect();
    let good = words.starts_with(&["#JSGF", "V1.0"])
        && words.get(2).is_none_or(|e| e.eq_ignore_ascii_case("utf-8"))
        && header.trim_end().ends_with(';');
    match good {
        true => Ok(()),
        false => Err(GrammarProblem::new(
            file,
            Place { line: 1, column: 1 },
            format!("`{}`", header.trim_end()),
            "the header `#JSGF V1.0 UTF-8 en;`",
            "start the file with the header line",
        )),
    }
}

/// Walks over the tokens of one text.
struct Reader<'a> {
    file: &'a str,
    tokens: Vec<(Token, Place)>,
    at: usize,
}

impl<'a> Reader<'a> {
    fn new(file: &'a str, text: &str, start: Place) -> Result<Reader<'a>, GrammarProblem> {
        Ok(Reader {
            file,
            tokens: tokens(file, text, start)?,
            at: 0,
        })
    }

    fn peek(&self) -> &Token {
        &self.tokens[self.at].0
    }

    fn place(&self) -> Place {
        self.tokens[self.at].1
    }

    /// Moves on; stays on [`Token::End`].
    fn take(&mut self) -> Token {
        let token = self.tokens[self.at].0.clone();
        self.at = (self.at + 1).min(self.tokens.len() - 1);
        token
    }

    fn unexpected(&self, expected: &str, remedy: &str) -> GrammarProblem {
        GrammarProblem::new(
            self.file,
            self.place(),
            self.peek().quoted(),
            expected,
            remedy,
        )
    }

    fn symbol(&mut self, symbol: char, remedy: &str) -> Result<(), GrammarProblem> {
        if *self.peek() != Token::Symbol(symbol) {
            return Err(self.unexpected(&format!("`{symbol}`"), remedy));
        }
        self.take();
        Ok(())
    }

    fn grammar_name(&mut self) -> Result<String, GrammarProblem> {
        let remedy = "name the grammar after the header: `grammar numbers;`";
        if *self.peek() != Token::Word("grammar".to_owned()) {
            return Err(self.unexpected("`grammar`", remedy));
        }
        self.take();
        let Token::Word(name) = self.peek().clone() else {
            return Err(self.unexpected("the grammar's name", remedy));
        };
        self.take();
        self.symbol(';', "end the grammar's name with `;`")?;
        Ok(name)
    }

    fn import(&mut self) -> Result<Import, GrammarProblem> {
        self.take();
        let place = self.place();
        let remedy = "write `import <numbers.number>;` or `import <numbers.*>;`";
        let name = match self.peek() {
            Token::RuleName(name) => name.clone(),
            _ => return Err(self.unexpected("`<grammar.rule>`", remedy)),
        };
        let Some((grammar, rule)) = name.rsplit_once('.') else {
            return Err(self.unexpected("`<grammar.rule>`", remedy));
        };
        self.take();
        self.symbol(';', "end the import with `;`")?;
        Ok(Import {
            grammar: grammar.to_owned(),
            rule: (rule != "*").then(|| rule.to_owned()),
            place,
        })
    }

    fn rule(&mut self) -> Result<Rule, GrammarProblem> {
        let public = *self.peek() == Token::Word("public".to_owned());
        if public {
            self.take();
        }
        let place = self.place();
        let remedy = "begin a rule with `<name> =` or `public <name> =`";
        let name = match self.peek() {
            Token::RuleName(name) => name.clone(),
            _ => return Err(self.unexpected("a rule name", remedy)),
        };
        if name.is_empty() || name.contains(|c: char| c == '.' || c.is_whitespace()) {
            let remedy = "name the rule with letters, digits and `_`";
            return Err(self.unexpected("a plain rule name", remedy));
        }
        if name == "NULL" || name == "VOID" {
            let remedy = "choose another name: this one is JSGF's own";
            return Err(self.unexpected("a name of our own", remedy));
        }
        self.take();
        self.symbol('=', "write `=` between the rule's name and what it says")?;
        let body = self.alternatives()?;
        self.symbol(';', "end the rule with `;`")?;
        Ok(Rule {
            name,
            public,
            place,
            body,
        })
    }

    fn alternatives(&mut self) -> Result<Expansion, GrammarProblem> {
        let mut found = vec![self.weighted()?];
        while *self.peek() == Token::Symbol('|') {
            self.take();
            found.push(self.weighted()?);
        }
        if found.len() == 1 && found[0].0 == 1.0 {
            return Ok(found.remove(0).1);
        }
        let heaviest = found.iter().fold(1.0_f32, |most, (w, _)| most.max(*w));
        let priced = |(weight, body): (f32, Expansion)| Alternative {
            cost: (-100.0 * (weight / heaviest).ln()).round() as u32,
            body,
        };
        Ok(Expansion::Alternatives(
            found.into_iter().map(priced).collect(),
        ))
    }

    fn weighted(&mut self) -> Result<(f32, Expansion), GrammarProblem> {
        let weight = match self.peek() {
            Token::Weight(text) => match text.parse::<f32>() {
                Ok(weight) if weight > 0.0 && weight <= 1e6 => weight,
                _ => {
                    let remedy = "write a weight such as `/0.5/`";
                    return Err(self.unexpected("a number above 0 up to 1000000", remedy));
                }
            },
            _ => return Ok((1.0, self.sequence()?)),
        };
        self.take();
        Ok((weight, self.sequence()?))
    }

    fn sequence(&mut self) -> Result<Expansion, GrammarProblem> {
        let mut items = Vec::new();
        while let Some(item) = self.item()? {
            items.push(self.repeated(item));
        }
        match items.len() {
            0 => Err(self.unexpected(
                "a word, a rule, a group or `<NULL>`",
                "say what is heard here, or write `<NULL>` for nothing",
            )),
            1 => Ok(items.remove(0)),
            _ => Ok(Expansion::Sequence(items)),
        }
    }

    fn item(&mut self) -> Result<Option<Expansion>, GrammarProblem> {
        let place = self.place();
        let item = match self.peek().clone() {
            Token::Word(word) => Expansion::Word(word.to_lowercase()),
            Token::Tag(text) => Expansion::Tag(self.tag(&text)?),
            Token::RuleName(name) => match name.as_str() {
                "NULL" => Expansion::Null,
                "VOID" => Expansion::Void,
                _ => Expansion::Rule { name, place },
            },
            Token::Symbol('(') => return self.group(')').map(Some),
            Token::Symbol('[') => {
                let body = self.group(']')?;
                return Ok(Some(Expansion::Optional(Box::new(body))));
            }
            Token::Symbol('*' | '+') => {
                let remedy = "put `*` and `+` behind a word, a rule or a group";
                return Err(self.unexpected("something to repeat", remedy));
            }
            Token::Weight(_) => {
                let remedy = "put a weight at the start of an alternative";
                return Err(self.unexpected("a word, a rule or a group", remedy));
            }
            Token::Symbol(_) | Token::End => return Ok(None),
        };
        self.take();
        Ok(Some(item))
    }

    fn group(&mut self, close: char) -> Result<Expansion, GrammarProblem> {
        self.take();
        let body = self.alternatives()?;
        self.symbol(close, &format!("close the group with `{close}`"))?;
        Ok(body)
    }

    fn repeated(&mut self, body: Expansion) -> Expansion {
        let at_least_once = match self.peek() {
            Token::Symbol('+') => true,
            Token::Symbol('*') => false,
            _ => return body,
        };
        self.take();
        Expansion::Repeat {
            body: Box::new(body),
            at_least_once,
        }
    }

    fn tag(&self, text: &str) -> Result<Op, GrammarProblem> {
        text.parse().map_err(|expected: String| {
            self.unexpected(&expected, "see the tags in DEVELOPERS.md, or correct it")
        })
    }
}
