//! A decimal value with its unit.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::decimal_text;
use super::factor::Factor;
use super::ratio::{MAX_DECIMALS, Ratio};
use super::unit::{Prefix, Unit, UnitError};

/// A decimal value with its unit. The scale of `value` is its resolution and is kept.
///
/// Written `5.70 ohm`; in JSON `{"value":"5.70","unit":"ohm"}`. Two quantities are equal when value
/// and unit are: `1.0 kohm` equals `1.00 kohm`, and is not `1000 ohm` (see [`Quantity::compare`]).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Quantity {
    pub value: Decimal,
    pub unit: Unit,
}

/// A conversion that has no exact meaning or does not fit a decimal.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ConversionError {
    #[error("cannot convert `{from}` to `{to}`: they measure different things")]
    Dimension { from: Unit, to: Unit },
    #[error("`{value}` in `{from}` has too many digits to express in `{to}`")]
    Overflow {
        value: Decimal,
        from: Unit,
        to: Unit,
    },
}

/// A text that is not a quantity.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    #[error("found `{found}`, expected a value, a blank and a unit such as `5.70 ohm`")]
    Syntax { found: String },
    #[error(transparent)]
    Unit(#[from] UnitError),
}

impl Quantity {
    pub fn new(value: Decimal, unit: impl Into<Unit>) -> Quantity {
        Quantity {
            value,
            unit: unit.into(),
        }
    }

    /// The same quantity in another unit of its dimension, by the exact factors.
    ///
    /// The result has the fewest decimals whose last place is not coarser than the last place of
    /// the input: `105 degF` (a step of 5/9 degC) is `40.6 degC`, `4.70 kohm` is `4700 ohm`,
    /// `250 Pa` is `0.00250 bar`. So nothing read is lost: converted back and rounded to the
    /// input's decimals, the input returns (a temperature that a zero point puts exactly between
    /// two steps: within one step). Ties round to the even digit.
    ///
    /// # Errors
    /// Units of different dimensions, also a temperature and a temperature difference; a result
    /// beyond 28 digits.
    pub fn convert(self, to: Unit) -> Result<Quantity, ConversionError> {
        self.same_dimension(to)?;
        let decimals = self.justified_decimals(to).ok_or(self.overflow(to))?;
        self.convert_to(to, decimals)
    }

    /// The same quantity in another unit, rounded to `decimals` (at most 28).
    ///
    /// # Errors
    /// As [`Quantity::convert`].
    pub fn convert_to(self, to: Unit, decimals: u32) -> Result<Quantity, ConversionError> {
        self.same_dimension(to)?;
        let value = self
            .exact_in(to)
            .and_then(|exact| exact.round(decimals.min(MAX_DECIMALS)))
            .ok_or(self.overflow(to))?;
        Ok(Quantity { value, unit: to })
    }

    /// The value in another unit, as [`Quantity::convert`].
    pub fn value_in(self, to: impl Into<Unit>) -> Result<Decimal, ConversionError> {
        Ok(self.convert(to.into())?.value)
    }

    /// The value without the prefix: 4700 for `4.7 kohm`.
    pub fn value_base(self) -> Result<Decimal, ConversionError> {
        self.value_in(self.unit.base)
    }

    /// The value as a binary float for formulas that need roots and logarithms. Never on the way
    /// to a record: only formulas of the trade use it, and round what they return.
    pub fn to_f64_in(self, to: impl Into<Unit>) -> Result<f64, ConversionError> {
        let to = to.into();
        self.same_dimension(to)?;
        let value = self.exact_in(to).map(Ratio::to_f64);
        value.ok_or(self.overflow(to))
    }

    /// Which is larger, exactly, whatever their units; `None` for different dimensions or values
    /// with too many digits to tell.
    pub fn compare(self, other: Quantity) -> Option<Ordering> {
        self.same_dimension(other.unit).ok()?;
        let unit = Unit {
            prefix: Prefix::None,
            base: self.unit.base,
        };
        let difference = self.exact_in(unit)?.minus(other.exact_in(unit)?)?;
        Some(difference.sign())
    }

    /// The smallest step the value was given with: 0.01 for `5.70`.
    pub fn resolution(self) -> Decimal {
        Decimal::new(1, self.value.scale())
    }

    fn same_dimension(self, to: Unit) -> Result<(), ConversionError> {
        match self.unit.base.dimension() == to.base.dimension() {
            true => Ok(()),
            false => Err(ConversionError::Dimension {
                from: self.unit,
                to,
            }),
        }
    }

    fn overflow(self, to: Unit) -> ConversionError {
        ConversionError::Overflow {
            value: self.value,
            from: self.unit,
            to,
        }
    }

    fn exact_in(self, to: Unit) -> Option<Ratio> {
        let (from, to) = (Factor::of(self.unit)?, Factor::of(to)?);
        let value = Ratio::from_decimal(self.value)?.plus(from.zero)?;
        value.times(from.scale.over(to.scale)?)?.minus(to.zero)
    }

    fn justified_decimals(self, to: Unit) -> Option<u32> {
        let factor = Factor::of(self.unit)?.scale.over(Factor::of(to)?.scale)?;
        let decimals = factor.decimals()? + self.value.scale() as i32;
        Some(decimals.clamp(0, MAX_DECIMALS as i32) as u32)
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit)
    }
}

impl FromStr for Quantity {
    type Err = QuantityError;

    /// Reads `5.70 ohm`: a plain decimal, blanks, a unit.
    fn from_str(text: &str) -> Result<Quantity, QuantityError> {
        let syntax = || QuantityError::Syntax {
            found: text.to_owned(),
        };
        let (value, unit) = text.trim().split_once(' ').ok_or_else(syntax)?;
        Ok(Quantity {
            value: decimal_text::read(value).ok_or_else(syntax)?,
            unit: unit.trim_start().parse()?,
        })
    }
}
