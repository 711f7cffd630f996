//! Names that a procedure gives to its things: each its own type, so that none is taken for another.

use serde::{Deserialize, Serialize};

macro_rules! id_type {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
        )]
        #[serde(transparent)]
        pub struct $name(pub String);

        impl $name {
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self(text.to_owned())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }
    };
}

id_type!(
    /// A step's name within its procedure.
    StepId
);
id_type!(
    /// A variant of the unit, as the maker names it.
    VariantId
);
id_type!(
    /// A quantity the procedure reads.
    QuantityId
);
id_type!(
    /// A finding of a diagnose step.
    FindingId
);
id_type!(
    /// A procedure's own name, also used to call it from another.
    ProcedureId
);
id_type!(
    /// One of the answers of a choose step.
    OptionId
);
id_type!(
    /// A question asked before the first step.
    EntryId
);
