//! Holds a file against the schema: keys, types and fixed words, everything wrong at once.
//!
//! The schema is the published one, so a file that an editor accepts is accepted here. Only the
//! parts of JSON Schema that the source types produce are understood.

use serde_json::Value;

use super::place::{At, Place};
use super::problem::{Findings, listed, nearest};
use super::tree::Tree;

/// Holds the tree against the schema and notes what is wrong. Gives whether the file can still be
/// read: unknown keys alone do not prevent that.
pub(super) fn check_shape(tree: &At<Tree>, schema: &Value, findings: &mut Findings) -> bool {
    let mut shape = Shape {
        root: schema,
        findings,
        readable: true,
    };
    shape.value("the procedure", tree, schema);
    shape.readable
}

struct Shape<'a, 'f> {
    root: &'a Value,
    findings: &'a mut Findings<'f>,
    readable: bool,
}

impl<'a> Shape<'a, '_> {
    /// Follows a reference into the schema's definitions.
    fn resolve(&self, schema: &'a Value) -> &'a Value {
        let name = schema["$ref"]
            .as_str()
            .and_then(|r| r.strip_prefix("#/$defs/"));
        name.map_or(schema, |name| &self.root["$defs"][name])
    }

    fn value(&mut self, what: &str, tree: &At<Tree>, schema: &'a Value) {
        let schema = self.resolve(schema);
        if let Some(choices) = schema["anyOf"].as_array() {
            let fitting = choices
                .iter()
                .map(|choice| self.resolve(choice))
                .find(|choice| self.fits(&tree.value, choice));
            return match fitting {
                Some(choice) => self.value(what, tree, choice),
                None => self.wrong_type(what, tree, schema),
            };
        }
        if let Some(words) = fixed_words(schema) {
            return self.fixed(what, tree, &words);
        }
        if !self.fits(&tree.value, schema) {
            return self.wrong_type(what, tree, schema);
        }
        match &tree.value {
            Tree::List(items) => {
                for item in items {
                    self.value(&format!("an item of {what}"), item, &schema["items"]);
                }
            }
            Tree::Map(entries) => match schema["oneOf"].as_array() {
                Some(kinds) => self.tagged(what, tree.place, entries, kinds),
                None => self.map(what, tree.place, entries, schema),
            },
            Tree::Integer(number) => self.within(what, tree.place, *number, schema),
            _ => {}
        }
    }

    /// Whether the value is of a type the schema allows.
    fn fits(&self, tree: &Tree, schema: &'a Value) -> bool {
        let own = tree.json_type();
        let types = self.types(schema);
        types.contains(&own) || own == "integer" && types.contains(&"number")
    }

    /// The types the schema allows, by their JSON Schema names.
    fn types(&self, schema: &'a Value) -> Vec<&'a str> {
        let schema = self.resolve(schema);
        match schema["anyOf"].as_array() {
            Some(choices) => choices
                .iter()
                .flat_map(|choice| self.types(choice))
                .collect(),
            None => allowed_types(schema),
        }
    }

    fn wrong_type(&mut self, what: &str, tree: &At<Tree>, schema: &'a Value) {
        let types = self.types(schema);
        let mut names: Vec<&str> = types.into_iter().filter_map(type_name).collect();
        names.dedup();
        let found = match &tree.value {
            Tree::Text(text) => format!("the text `{text}` as {what}"),
            Tree::Nothing => format!("nothing as {what}"),
            other => format!(
                "{} as {what}",
                type_name(other.json_type()).unwrap_or("nothing")
            ),
        };
        let remedy = match &tree.value {
            Tree::Nothing => "write the value after the colon",
            Tree::Flag | Tree::Integer(_) | Tree::Fraction => "put a text in quotes",
            _ => "see the form in `procedures/README.md`",
        };
        self.problem("type", tree.place, found, names.join(" or "), remedy);
    }

    fn fixed(&mut self, what: &str, tree: &At<Tree>, words: &[&str]) {
        let Tree::Text(text) = &tree.value else {
            let found = format!(
                "{} as {what}",
                type_name(tree.value.json_type()).unwrap_or("nothing")
            );
            return self.problem(
                "type",
                tree.place,
                found,
                format!("one of {}", listed(words.iter().copied())),
                "write one of these words",
            );
        };
        if words.contains(&text.as_str()) {
            return;
        }
        let remedy = match nearest(text, words.iter().copied()) {
            Some(near) => format!("write `{near}`"),
            None => "write one of these words".to_owned(),
        };
        self.problem(
            "word",
            tree.place,
            format!("`{text}` as {what}"),
            format!("one of {}", listed(words.iter().copied())),
            remedy,
        );
    }

    /// A map with one key that says what kind of thing it is.
    fn tagged(
        &mut self,
        what: &str,
        place: Place,
        entries: &[(At<String>, At<Tree>)],
        kinds: &'a [Value],
    ) {
        let names: Vec<&str> = kinds
            .iter()
            .filter_map(|kind| kind["required"][0].as_str())
            .collect();
        let [(key, value)] = entries else {
            let keys = entries.iter().map(|(key, _)| key.value.as_str());
            return self.problem(
                "step-kind",
                place,
                format!("{what} with the keys {}", listed(keys)),
                format!("one key, the kind: one of {}", listed(names)),
                "begin the item with its kind and indent the rest under it",
            );
        };
        match names.iter().position(|name| *name == key.value) {
            Some(at) => {
                let name = names[at];
                self.value(&format!("`{name}`"), value, &kinds[at]["properties"][name]);
            }
            None => {
                let remedy = match nearest(&key.value, names.iter().copied()) {
                    Some(near) => format!("write `{near}`"),
                    None => "begin the item with its kind".to_owned(),
                };
                self.problem(
                    "step-kind",
                    key.place,
                    format!("`{}` as the kind of a step", key.value),
                    format!("one of {}", listed(names)),
                    remedy,
                );
            }
        }
    }

    fn map(
        &mut self,
        what: &str,
        place: Place,
        entries: &[(At<String>, At<Tree>)],
        schema: &'a Value,
    ) {
        let known = schema["properties"].as_object();
        let names: Vec<&str> = known
            .map(|known| known.keys().map(String::as_str).collect())
            .unwrap_or_default();
        for (index, (key, value)) in entries.iter().enumerate() {
            if let Some((first, _)) = entries[..index].iter().find(|(k, _)| k.value == key.value) {
                self.problem(
                    "duplicate-key",
                    key.place,
                    format!(
                        "key `{}` again, first on line {}",
                        key.value, first.place.line
                    ),
                    "each key once",
                    "take one of the two out",
                );
                continue;
            }
            match known.and_then(|known| known.get(&key.value)) {
                Some(schema) => self.value(&format!("`{}`", key.value), value, schema),
                None if schema["additionalProperties"].is_object() => {
                    let name = format!("`{}`", key.value);
                    self.value(&name, value, &schema["additionalProperties"]);
                }
                None => self.unknown_key(what, key, &names),
            }
        }
        for needed in schema["required"].as_array().into_iter().flatten() {
            let needed = needed.as_str().unwrap_or_default();
            if !entries.iter().any(|(key, _)| key.value == needed) && needed != "default" {
                self.problem(
                    "missing-key",
                    place,
                    format!("{what} without `{needed}`"),
                    format!("a key `{needed}`"),
                    format!("add `{needed}:`"),
                );
            }
        }
    }

    fn unknown_key(&mut self, what: &str, key: &At<String>, names: &[&str]) {
        let remedy = match nearest(&key.value, names.iter().copied()) {
            Some(near) => format!("write `{near}`"),
            None => "take it out".to_owned(),
        };
        self.findings.error(
            "unknown-key",
            key.place,
            format!("key `{}` in {what}", key.value),
            format!("one of {}", listed(names.iter().copied())),
            remedy,
        );
    }

    fn within(&mut self, what: &str, place: Place, number: i128, schema: &Value) {
        let bound = |key: &str| schema[key].as_f64();
        let low = bound("minimum").unwrap_or(f64::MIN);
        let high = bound("maximum").unwrap_or(f64::from(u32::MAX));
        let number_f = number as f64;
        if number_f < low || number_f > high {
            self.problem(
                "number",
                place,
                format!("`{number}` as {what}"),
                format!("{low} to {high}"),
                "write a number within these",
            );
        }
    }

    /// Notes what keeps the file from being read.
    fn problem(
        &mut self,
        rule: &'static str,
        place: Place,
        found: String,
        expected: impl Into<String>,
        remedy: impl AsRef<str>,
    ) {
        self.readable = false;
        self.findings
            .error(rule, place, found, expected, remedy.as_ref());
    }
}

/// The words of a schema that allows nothing else.
fn fixed_words(schema: &Value) -> Option<Vec<&str>> {
    let is_list =
        |schema: &Value| schema["enum"].as_array().is_some() || schema["const"].is_string();
    match schema["oneOf"].as_array() {
        Some(kinds) if kinds.iter().all(is_list) => Some(kinds.iter().flat_map(words_of).collect()),
        Some(_) => None,
        None if is_list(schema) => Some(words_of(schema)),
        None => None,
    }
}

fn words_of(schema: &Value) -> Vec<&str> {
    let several = schema["enum"].as_array().into_iter().flatten();
    several
        .chain(Some(&schema["const"]))
        .filter_map(Value::as_str)
        .collect()
}

fn allowed_types(schema: &Value) -> Vec<&str> {
    if schema["oneOf"].is_array() {
        return vec!["object"];
    }
    match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    }
}

/// A JSON type in plain words; `None` for null, which is never asked for.
fn type_name(json_type: &str) -> Option<&'static str> {
    Some(match json_type {
        "boolean" => "yes or no",
        "integer" => "a whole number",
        "number" => "a number",
        "string" => "a text",
        "array" => "a list",
        "object" => "a map of keys and values",
        _ => return None,
    })
}
