//! What a meter or display showed, as given by the technician.

use std::fmt;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::unit::Unit;
use super::value::{ConversionError, Quantity};

/// The number part of a reading, or what the meter said instead of a number.
///
/// In JSON `{"exact":"5.70"}`, `{"about":"5.7"}`, `{"between":["220","240"]}`, `"over_range"`,
/// `"short"` or `"none"`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Amount {
    Exact(Decimal),
    /// "about": the value is approximate by the technician's own word.
    About(Decimal),
    /// "hunting between": the shown value moved between these two, low first.
    Between(Decimal, Decimal),
    /// The meter shows over limit, O L, or an open line.
    OverRange,
    /// The meter shows or beeps a short.
    Short,
    /// "no reading": the display is blank or shows dashes.
    None,
}

/// An amount with the unit it was given in. Over range, short and none carry the unit of the
/// quantity that was asked for.
///
/// In JSON `{"amount":{"exact":"5.70"},"unit":"ohm"}`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Reading {
    pub amount: Amount,
    pub unit: Unit,
}

impl Amount {
    /// [`Amount::Between`] with the two in order.
    pub fn between(one: Decimal, other: Decimal) -> Amount {
        Amount::Between(one.min(other), one.max(other))
    }

    /// The one value, exact or about; `None` for two values or none.
    pub fn value(self) -> Option<Decimal> {
        match self {
            Amount::Exact(value) | Amount::About(value) => Some(value),
            Amount::Between(..) | Amount::OverRange | Amount::Short | Amount::None => None,
        }
    }

    /// The lowest and highest value shown, the same for a single one; `None` without a number.
    pub fn span(self) -> Option<(Decimal, Decimal)> {
        match self {
            Amount::Exact(value) | Amount::About(value) => Some((value, value)),
            Amount::Between(low, high) => Some((low, high)),
            Amount::OverRange | Amount::Short | Amount::None => None,
        }
    }

    /// In one word what makes it other than a plain value: `about`, `over_range`, `short` or `none`.
    pub fn special(self) -> Option<&'static str> {
        match self {
            Amount::OverRange => Some("over_range"),
            Amount::Short => Some("short"),
            Amount::None => Some("none"),
            Amount::About(_) => Some("about"),
            Amount::Exact(_) | Amount::Between(..) => None,
        }
    }

    /// The same kind of amount with its numbers changed.
    ///
    /// # Errors
    /// The first error of `change`.
    pub fn try_map<E>(self, change: impl Fn(Decimal) -> Result<Decimal, E>) -> Result<Amount, E> {
        Ok(match self {
            Amount::Exact(value) => Amount::Exact(change(value)?),
            Amount::About(value) => Amount::About(change(value)?),
            Amount::Between(low, high) => Amount::between(change(low)?, change(high)?),
            Amount::OverRange | Amount::Short | Amount::None => self,
        })
    }
}

impl Reading {
    /// A plain value.
    pub fn exact(value: Decimal, unit: impl Into<Unit>) -> Reading {
        Reading {
            amount: Amount::Exact(value),
            unit: unit.into(),
        }
    }

    /// The one value with its unit; `None` for two values or none.
    pub fn quantity(self) -> Option<Quantity> {
        let value = self.amount.value()?;
        Some(Quantity::new(value, self.unit))
    }

    /// The one value in another unit; `Ok(None)` for two values or none.
    ///
    /// # Errors
    /// As [`Quantity::convert`].
    pub fn value_in(self, unit: impl Into<Unit>) -> Result<Option<Decimal>, ConversionError> {
        self.convert(unit).map(|reading| reading.amount.value())
    }

    /// The same reading in another unit; over range, short and none only change their unit.
    ///
    /// # Errors
    /// As [`Quantity::convert`], also for readings without a number.
    pub fn convert(self, unit: impl Into<Unit>) -> Result<Reading, ConversionError> {
        let unit = unit.into();
        if self.unit.base.dimension() != unit.base.dimension() {
            let from = self.unit;
            return Err(ConversionError::Dimension { from, to: unit });
        }
        let in_unit = |value| Quantity::new(value, self.unit).value_in(unit);
        let amount = self.amount.try_map(in_unit)?;
        Ok(Reading { amount, unit })
    }
}

impl From<Quantity> for Reading {
    fn from(quantity: Quantity) -> Reading {
        Reading::exact(quantity.value, quantity.unit)
    }
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = self.unit;
        match self.amount {
            Amount::Exact(value) => write!(f, "{value} {unit}"),
            Amount::About(value) => write!(f, "about {value} {unit}"),
            Amount::Between(low, high) => write!(f, "between {low} and {high} {unit}"),
            Amount::OverRange => write!(f, "over range ({unit})"),
            Amount::Short => write!(f, "short ({unit})"),
            Amount::None => write!(f, "no reading ({unit})"),
        }
    }
}
