//! What must hold for every series and every table.

use std::sync::LazyLock;

use proptest::prelude::*;
use readback::diagnosis::{
    Ask, Judgement, Numbers, Pattern, Progress, Series, Table, Verdict, condition, judge, plot,
    progress,
};
use readback::procedure::{BehaviorKind, FindingRow};
use readback::quantity::{Amount, Base, Decimal, Reading, Unit};

use super::pump::{Pump, counts};

static PUMP: LazyLock<Pump> = LazyLock::new(Pump::new);

fn amounts() -> impl Strategy<Value = Amount> {
    let number = || (0_i64..1000).prop_map(Decimal::from);
    prop_oneof![
        12 => number().prop_map(Amount::Exact),
        1 => number().prop_map(Amount::About),
        2 => (number(), number()).prop_map(|(a, b)| Amount::Between(a.min(b), a.max(b))),
        1 => Just(Amount::OverRange),
        1 => Just(Amount::None),
    ]
}

/// Anything at all, at any times.
fn wild() -> impl Strategy<Value = Series> {
    prop::collection::vec((0_u64..60_000, amounts()), 0..30).prop_map(series)
}

/// Values around a level, often steady or settling.
fn calm() -> impl Strategy<Value = Series> {
    let values = (
        150_i64..300,
        prop::collection::vec(-6_i64..=6, 6..20),
        any::<bool>(),
    );
    values.prop_map(|(level, noise, climbs)| {
        let mut values: Vec<i64> = noise.iter().map(|n| level + n).collect();
        if climbs {
            values[0] = level / 3;
        }
        counts(&values)
    })
}

fn series(readings: Vec<(u64, Amount)>) -> Series {
    let unit = Unit::from(Base::Count);
    let mut series = Series::new(unit);
    for (at_ms, amount) in readings {
        series.give(at_ms, Reading { amount, unit }).unwrap();
    }
    series
}

fn any_series() -> impl Strategy<Value = Series> {
    prop_oneof![wild(), calm()]
}

/// The table's findings, some of them twice under another name, so that some rank equal.
fn findings(pump: &Pump) -> Vec<FindingRow> {
    let mut findings = pump.findings("judge");
    let mut twin = findings[0].clone();
    twin.id = "a-twin-of-healthy".into();
    findings.push(twin);
    findings
}

proptest! {
    #[test]
    fn the_order_of_findings_changes_nothing(series in any_series(), turn in 0_usize..7) {
        let pump = &*PUMP;
        let written = findings(pump);
        let mut turned = written.clone();
        turned.rotate_left(turn);
        turned.swap(0, 3);
        let one = judge(&series, &pump.table(&written));
        let other = judge(&series, &pump.table(&turned));
        prop_assert_eq!(one, other);
    }

    #[test]
    fn withdrawn_readings_change_nothing(
        series in any_series(),
        extra in prop::collection::vec((0_u64..60_000, amounts()), 1..5),
    ) {
        let pump = &*PUMP;
        let mut with = series.clone();
        for (at_ms, amount) in extra {
            let unit = Unit::from(Base::Count);
            with.give(at_ms, Reading { amount, unit }).unwrap();
            let at = with.samples().partition_point(|s| s.at_ms <= at_ms) - 1;
            with.withdraw(at);
        }
        let (one, other) = (pump.judge(&series), pump.judge(&with));
        prop_assert_eq!(&one.verdict_without_places(), &other.verdict_without_places());
        prop_assert_eq!(one.behavior.level, other.behavior.level);
        prop_assert_eq!(one.behavior.pattern, other.behavior.pattern);
    }

    #[test]
    fn the_settled_level_once_more_changes_no_settled_verdict(
        series in any_series(),
        later_ms in 1_u64..20_000,
    ) {
        let pump = &*PUMP;
        let before = pump.judge(&series);
        let settled = [BehaviorKind::Settles, BehaviorKind::Steady];
        prop_assume!(before.behavior.kind().is_some_and(|kind| settled.contains(&kind)));
        prop_assume!(!matches!(before.verdict, Verdict::Undetermined(Ask::Numbers { .. })));
        let last_ms = series.samples().last().map_or(0, |s| s.at_ms);
        let mut more = series.clone();
        let amount = Amount::Exact(before.behavior.level.unwrap());
        let unit = Unit::from(Base::Count);
        more.give(last_ms + later_ms, Reading { amount, unit }).unwrap();
        let after = pump.judge(&more);
        let id = |found: &Judgement| found.finding().map(|f| f.id.clone());
        prop_assert_eq!(after.behavior.kind(), before.behavior.kind());
        prop_assert_eq!(after.behavior.level, before.behavior.level);
        prop_assert_eq!(id(&after), id(&before));
    }

    #[test]
    fn nothing_makes_it_fail(series in any_series(), now_ms in 0_u64..90_000) {
        let pump = &*PUMP;
        let findings = findings(pump);
        let table = pump.table(&findings);
        let found = judge(&series, &table);
        prop_assert!(!found.why(&table, &Numbers::from_one(&series)).is_empty());
        prop_assert_eq!(found.ask(&Numbers::from_one(&series)).is_none(), found.finding().is_some());
        let many = matches!(found.behavior.pattern, Pattern::Known(_));
        prop_assert!(!many || found.behavior.level.is_some());
        match progress(&series, &table, now_ms, 60_000) {
            Progress::Enough(then) | Progress::GoOn(then) | Progress::Done(then) => {
                prop_assert_eq!(then, found);
            }
            Progress::TimeUp { .. } => prop_assert!(now_ms >= 60_000),
        }
    }
}

/// A judgement without the numbers of its readings, which withdrawn ones shift.
trait WithoutPlaces {
    fn verdict_without_places(&self) -> String;
}

impl WithoutPlaces for Judgement {
    fn verdict_without_places(&self) -> String {
        match &self.verdict {
            Verdict::Undetermined(Ask::Confirm(odd)) => format!("{} {}", odd.value, odd.expected),
            verdict => format!("{verdict:?}"),
        }
    }
}

/// Values as large and as fine as a decimal can be.
fn extreme() -> impl Strategy<Value = Amount> {
    let number = || (any::<i64>(), 0_u32..28).prop_map(|(n, scale)| Decimal::new(n, scale));
    prop_oneof![
        number().prop_map(Amount::Exact),
        Just(Amount::Exact(Decimal::MAX)),
        Just(Amount::Exact(Decimal::MIN)),
        (number(), number()).prop_map(|(a, b)| Amount::Between(a.min(b), a.max(b))),
        Just(Amount::Between(Decimal::MIN, Decimal::MAX)),
    ]
}

proptest! {
    #[test]
    fn extreme_values_are_refused_or_judged(amounts in prop::collection::vec(extreme(), 1..12)) {
        let unit = Unit::from(Base::Count);
        let mut series = Series::new(unit);
        for (at_ms, amount) in (0..).step_by(1000).zip(&amounts) {
            let large = series.give(at_ms, Reading { amount: *amount, unit }).is_err();
            let (low, high) = condition::ends(*amount).unwrap();
            prop_assert_eq!(large, low.abs().max(high.abs()) >= Series::LARGEST);
        }
        let mut coarse = PUMP.quantity("running-value").clone();
        coarse.resolution = None;
        let findings = findings(&PUMP);
        let table = Table { quantity: &coarse, ..PUMP.table(&findings) };
        for series in [series, Series::once(Reading { amount: amounts[0], unit })] {
            let found = judge(&series, &table);
            prop_assert!(!found.why(&table, &Numbers::from_one(&series)).is_empty());
            let picture = plot(&series, &table, &found);
            prop_assert!(!picture.contains("NaN") && !picture.contains("inf"));
        }
    }
}
