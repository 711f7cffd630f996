//! A decimal value with its unit.

use std::fmt;

use rust_decimal::Decimal;

use super::unit::Unit;

/// A decimal value with its unit. The scale of `value` is its resolution and is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Quantity {
    pub value: Decimal,
    pub unit: Unit,
}

/// A conversion that has no exact meaning or does not fit a decimal.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ConversionError {
    #[error("cannot convert `{from}` to `{to}`: they measure different things")]
    Dimension { from: Unit, to: Unit },
    #[error("`{value}` in `{from}` is too large to express in `{to}`")]
    Overflow {
        value: Decimal,
        from: Unit,
        to: Unit,
    },
}

impl Quantity {
    pub fn new(value: Decimal, unit: impl Into<Unit>) -> Quantity {
        Quantity {
            value,
            unit: unit.into(),
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}
