//! What a meter or display showed, as given by the technician.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::unit::Unit;

/// The number part of a reading, or what the meter said instead of a number.
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Reading {
    pub amount: Amount,
    pub unit: Unit,
}
