//! Exact decimal values with their units: the leaf room everything else stands on.
//!
//! A [`Quantity`] keeps the resolution it was spoken with: "five point seven zero" is `5.70`, not
//! `5.7`. Units convert by exact factors, and a temperature difference is never a temperature.

mod decimal_text;
mod factor;
mod interval;
mod range;
mod ratio;
mod reading;
mod symbol;
mod unit;
mod value;

pub use range::{Bound, Range, RangeError};
pub use reading::{Amount, Reading};
pub use rust_decimal::Decimal;
pub use unit::{Base, Dimension, Prefix, Unit, UnitError};
pub use value::{ConversionError, Quantity, QuantityError};
