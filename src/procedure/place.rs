//! Values that know where they stand in their file.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Deserialize, Deserializer, Serialize};

/// Where something stands in its file, counted from 1.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
pub struct Place {
    pub line: u32,
    pub column: u32,
}

impl From<serde_saphyr::Location> for Place {
    fn from(location: serde_saphyr::Location) -> Place {
        let small = |n: u64| u32::try_from(n).unwrap_or(u32::MAX);
        Place {
            line: small(location.line()),
            column: small(location.column()),
        }
    }
}

/// A value of the source text with the place where it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct At<T> {
    pub value: T,
    pub place: Place,
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for At<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let spanned = serde_saphyr::Spanned::<T>::deserialize(deserializer)?;
        Ok(At {
            value: spanned.value,
            place: spanned.referenced.into(),
        })
    }
}

impl<T: JsonSchema> JsonSchema for At<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }

    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }

    fn schema_id() -> Cow<'static, str> {
        T::schema_id()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}
