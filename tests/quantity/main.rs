//! Quantities against published factors, and properties of conversion, text and intervals.

mod conversion;
mod interval;
mod text;

use proptest::prelude::*;
use readback::quantity::{Base, Bound, Decimal, Prefix, Range, Unit};

pub fn decimal(text: &str) -> Decimal {
    text.parse().expect("a decimal")
}

/// Every unit of the trade, with the prefixes it takes.
pub fn any_unit() -> impl Strategy<Value = Unit> {
    let base = prop::sample::select(Base::ALL.to_vec());
    let prefix = prop::sample::select(Prefix::ALL.to_vec());
    (base, prefix).prop_map(|(base, prefix)| Unit {
        prefix: match base.takes_prefix() {
            true => prefix,
            false => Prefix::None,
        },
        base,
    })
}

/// Two units that measure the same thing.
pub fn two_units() -> impl Strategy<Value = (Unit, Unit)> {
    any_unit().prop_flat_map(|from| {
        let mut same = Base::ALL.to_vec();
        same.retain(|base| base.dimension() == from.base.dimension());
        let base = prop::sample::select(same);
        let prefix = prop::sample::select(Prefix::ALL.to_vec());
        (base, prefix).prop_map(move |(base, prefix)| {
            let unprefixed = Unit::from(base);
            let prefixed = Unit { prefix, base };
            let to = if base.takes_prefix() {
                prefixed
            } else {
                unprefixed
            };
            (from, to)
        })
    })
}

/// What a meter can show: up to eight digits and six decimals.
pub fn shown_decimal() -> impl Strategy<Value = Decimal> {
    (-99_999_999i64..=99_999_999, 0u32..=6).prop_map(|(digits, scale)| Decimal::new(digits, scale))
}

/// Everything a decimal can hold, the extremes first.
pub fn any_decimal() -> impl Strategy<Value = Decimal> {
    let limit = Decimal::MAX.mantissa();
    let extreme = prop::sample::select(vec![-limit, -1, 0, 1, limit]);
    let mantissa = prop_oneof![extreme, -limit..=limit];
    (mantissa, 0u32..=28).prop_map(|(m, scale)| Decimal::from_i128_with_scale(m, scale))
}

/// A range between whole numbers from -6 to 6, with every kind of end.
pub fn small_range() -> impl Strategy<Value = Range> {
    let end = || {
        let value = (-6i64..=6).prop_map(Decimal::from);
        prop_oneof![
            4 => value.clone().prop_map(Bound::Closed),
            4 => value.prop_map(Bound::Open),
            1 => Just(Bound::Unbounded),
        ]
    };
    (end(), end()).prop_filter_map("the ends leave nothing", |(low, high)| {
        Range::new(low, high).ok()
    })
}
