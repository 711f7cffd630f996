//! Something that may differ by variant of the unit: in the source and when checked.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

use indexmap::IndexMap;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer};

use super::names::VariantId;
use super::place::At;

/// Something that may differ by variant: a value for all, with exceptions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ByVariant<T> {
    pub default: T,
    pub exceptions: IndexMap<VariantId, T>,
}

impl<T> ByVariant<T> {
    pub fn same(value: T) -> ByVariant<T> {
        ByVariant {
            default: value,
            exceptions: IndexMap::new(),
        }
    }

    pub fn get(&self, variant: &VariantId) -> &T {
        self.exceptions.get(variant).unwrap_or(&self.default)
    }

    /// Every value, the default first.
    pub fn values(&self) -> impl Iterator<Item = &T> {
        std::iter::once(&self.default).chain(self.exceptions.values())
    }
}

/// The written form: one text for all variants, or a map of `default` and variant ids.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Varied {
    Same(String),
    /// In the order written.
    Each(Vec<(At<String>, At<String>)>),
}

impl<'de> Deserialize<'de> for Varied {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(VariedVisitor(PhantomData))
    }
}

struct VariedVisitor<'de>(PhantomData<&'de ()>);

impl<'de> Visitor<'de> for VariedVisitor<'de> {
    type Value = Varied;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a text, or a map of `default` and variant ids to texts")
    }

    fn visit_str<E>(self, text: &str) -> Result<Varied, E> {
        Ok(Varied::Same(text.to_owned()))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Varied, E> {
        Ok(Varied::Same(number.to_string()))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Varied, E> {
        Ok(Varied::Same(number.to_string()))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Varied, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry::<At<String>, At<String>>()? {
            entries.push(entry);
        }
        Ok(Varied::Each(entries))
    }
}

impl JsonSchema for Varied {
    fn inline_schema() -> bool {
        false
    }

    fn schema_name() -> Cow<'static, str> {
        "Varied".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "one text for every variant, or `default` and exceptions by variant id",
            "anyOf": [
                { "type": ["string", "number"] },
                {
                    "type": "object",
                    "properties": { "default": { "type": ["string", "number"] } },
                    "required": ["default"],
                    "additionalProperties": { "type": ["string", "number"] }
                }
            ]
        })
    }
}
