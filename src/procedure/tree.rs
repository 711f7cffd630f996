//! A YAML file as a tree of values with their places, before anything is known of its form.

use std::fmt;

use serde::de::{MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};

use super::place::At;

/// Any YAML value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Tree {
    Nothing,
    Flag,
    Integer(i128),
    Fraction,
    Text(String),
    List(Vec<At<Tree>>),
    /// In the order written, with keys that are written twice.
    Map(Vec<(At<String>, At<Tree>)>),
}

impl Tree {
    /// The type by its JSON Schema name.
    pub fn json_type(&self) -> &'static str {
        match self {
            Tree::Nothing => "null",
            Tree::Flag => "boolean",
            Tree::Integer(_) => "integer",
            Tree::Fraction => "number",
            Tree::Text(_) => "string",
            Tree::List(_) => "array",
            Tree::Map(_) => "object",
        }
    }
}

impl<'de> Deserialize<'de> for Tree {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Tree, D::Error> {
        deserializer.deserialize_any(TreeVisitor)
    }
}

struct TreeVisitor;

impl<'de> Visitor<'de> for TreeVisitor {
    type Value = Tree;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_unit<E>(self) -> Result<Tree, E> {
        Ok(Tree::Nothing)
    }

    fn visit_none<E>(self) -> Result<Tree, E> {
        Ok(Tree::Nothing)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<Tree, D::Error> {
        Tree::deserialize(deserializer)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Tree, E> {
        Ok(Tree::Flag)
    }

    fn visit_i64<E>(self, number: i64) -> Result<Tree, E> {
        Ok(Tree::Integer(number.into()))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Tree, E> {
        Ok(Tree::Integer(number.into()))
    }

    fn visit_i128<E>(self, number: i128) -> Result<Tree, E> {
        Ok(Tree::Integer(number))
    }

    fn visit_f64<E>(self, _: f64) -> Result<Tree, E> {
        Ok(Tree::Fraction)
    }

    fn visit_str<E>(self, text: &str) -> Result<Tree, E> {
        Ok(Tree::Text(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Tree, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = list.next_element()? {
            items.push(item);
        }
        Ok(Tree::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Tree, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
        }
        Ok(Tree::Map(entries))
    }
}
