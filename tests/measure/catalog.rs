//! The catalog as a whole: names, and that every computation works from its own description.

use std::collections::BTreeSet;

use proptest::prelude::*;
use readback::measure::{Computation, Measured, Within, catalog, compute, find};
use readback::quantity::{Base, Decimal, Prefix, Quantity, Unit};

/// A value that every formula takes, in the unit it asks for.
fn likely(computation: &Computation, name: &str) -> Decimal {
    let value = match (computation.name, name) {
        (_, "ten_minutes" | "one_minute" | "measured" | "discharge") => "300",
        (_, "resistance") if computation.name.starts_with("ntc") => "9000",
        (_, "at_25") => "10000",
        (_, "beta") => "3950",
        (_, "current") => "12",
        (_, "hot") => "120",
        (_, "pressure") => "400",
        ("saturation_pressure", "temperature") => "20",
        (_, "temperature") => "80",
        (_, "cold_junction") => "20",
        (_, "unbalance" | "poles") => "2",
        (_, "power_factor" | "efficiency" | "rated") => "0.9",
        (_, "at_4_ma") => "0",
        ("thermocouple_temperature", "voltage") => "4",
        _ => "100",
    };
    value.parse().expect("a decimal")
}

fn unit_of(measured: Measured) -> Unit {
    match measured {
        Measured::In(unit) => unit,
        Measured::Alike([]) => Base::Bar.into(),
        Measured::Alike(dimensions) => {
            let fits = |base: &Base| base.dimension() == dimensions[0];
            let base = Base::ALL
                .into_iter()
                .find(fits)
                .expect("a unit of the dimension");
            base.into()
        }
    }
}

fn inputs(computation: &'static Computation) -> Vec<(&'static str, Quantity)> {
    let asked = computation
        .inputs
        .iter()
        .filter(|input| input.default.is_none());
    let given = asked.map(|input| {
        let value = likely(computation, input.name);
        (input.name, Quantity::new(value, unit_of(input.measured)))
    });
    given.collect()
}

/// Every way to choose one option of each choice.
fn choices(computation: &'static Computation) -> Vec<Vec<(&'static str, &'static str)>> {
    computation
        .choices
        .iter()
        .fold(vec![vec![]], |ways, choice| {
            let with = |way: &Vec<_>| {
                let way = way.clone();
                choice.options.iter().map(move |option| {
                    let mut longer = way.clone();
                    longer.push((choice.name, *option));
                    longer
                })
            };
            ways.iter().flat_map(with).collect()
        })
}

#[test]
fn names_are_unique_and_plain() {
    let mut seen = BTreeSet::new();
    for computation in catalog() {
        let plain = |name: &str| {
            name.bytes()
                .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')
        };
        assert!(seen.insert(computation.name), "{} twice", computation.name);
        assert!(plain(computation.name), "{}", computation.name);
        let inputs = computation.inputs.iter().map(|input| input.name);
        let names: Vec<&str> = inputs
            .chain(computation.choices.iter().map(|c| c.name))
            .collect();
        let unique: BTreeSet<&str> = names.iter().copied().collect();
        assert_eq!(unique.len(), names.len(), "{}", computation.name);
        assert!(names.iter().all(|name| plain(name)), "{names:?}");
        assert!(!computation.source.is_empty());
        assert_eq!(
            find(computation.name).expect("itself").name,
            computation.name
        );
    }
    assert!(seen.len() >= 40, "found {}", seen.len());
}

/// A formula that asked for a name it does not declare would get no number here.
#[test]
fn every_computation_works_with_every_choice() {
    for computation in catalog() {
        for chosen in choices(computation) {
            let inputs = inputs(computation);
            let outcome = match compute(computation.name, &inputs, &chosen) {
                Ok(outcome) => outcome,
                Err(refusal) => panic!("{} {inputs:?} {chosen:?}: {refusal}", computation.name),
            };
            assert!(
                outcome.value.value.scale() <= computation.decimals,
                "{outcome:?}"
            );
            if let Measured::In(unit) = computation.result {
                assert_eq!(outcome.value.unit, unit, "{}", computation.name);
            }
        }
    }
}

#[test]
fn every_option_counts() {
    for computation in catalog() {
        let ways = choices(computation);
        let inputs = inputs(computation);
        let results: BTreeSet<String> = ways
            .iter()
            .map(|chosen| format!("{:?}", compute(computation.name, &inputs, chosen)))
            .collect();
        // Classes 130 to 180 share one limit, and refrigerants without glide their two sides.
        let least = if ways.len() > 1 { 2 } else { 1 };
        assert!(results.len() >= least, "{}: {results:?}", computation.name);
    }
}

#[test]
fn bounds_are_in_the_unit_of_the_input() {
    for computation in catalog() {
        for input in computation.inputs {
            if let Within::Between(low, high) = input.within {
                assert!(low < high, "{} {}", computation.name, input.name);
            }
            let default = input.default.unwrap_or(1.0);
            assert!(default.is_finite(), "{} {}", computation.name, input.name);
        }
    }
}

fn any_decimal() -> impl Strategy<Value = Decimal> {
    let limit = Decimal::MAX.mantissa();
    let extreme = prop::sample::select(vec![-limit, -1, 0, 1, limit]);
    let mantissa = prop_oneof![extreme, -limit..=limit, -1_000_000i128..=1_000_000];
    (mantissa, 0u32..=28).prop_map(|(m, scale)| Decimal::from_i128_with_scale(m, scale))
}

proptest! {
    #[test]
    fn no_input_makes_it_panic(
        index in 0usize..60,
        values in prop::collection::vec(any_decimal(), 4),
        prefix in prop::sample::select(Prefix::ALL.to_vec()),
    ) {
        let all: Vec<&'static Computation> = catalog().collect();
        let computation = all[index % all.len()];
        let inputs = computation.inputs.iter().zip(values);
        let inputs: Vec<(&str, Quantity)> = inputs
            .map(|(input, value)| {
                let base = unit_of(input.measured).base;
                let prefix = if base.takes_prefix() { prefix } else { Prefix::None };
                (input.name, Quantity::new(value, Unit { prefix, base }))
            })
            .collect();
        for chosen in choices(computation) {
            if let Err(refusal) = compute(computation.name, &inputs, &chosen) {
                prop_assert!(!refusal.to_string().ends_with('.'));
            }
        }
    }
}
