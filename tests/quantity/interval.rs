//! Interval algebra against membership, point by point.

use proptest::prelude::*;
use readback::quantity::{Decimal, Range};

use crate::{any_decimal, decimal, small_range};

/// Every quarter from -8 to 8: on, beside and between all ends that [`small_range`] makes.
fn points() -> impl Iterator<Item = Decimal> {
    (-32i64..=32).map(|quarters| Decimal::new(quarters * 25, 2))
}

fn range(text: &str) -> Range {
    text.parse().expect("a range")
}

fn written(pieces: &[Range]) -> String {
    let pieces: Vec<String> = pieces.iter().map(Range::to_string).collect();
    pieces.join(" ")
}

#[test]
fn ends_are_exact() {
    let left = |a, b| written(&range(a).subtract(&range(b)));
    assert_eq!(left("5..8", "5..6"), "(6..8]");
    assert_eq!(left("5..8", "(5..8)"), "5..5 8..8");
    assert_eq!(left("..", "0..10"), "<0 >10");
    assert_eq!(left(">=10", "<50"), ">=50");
    assert_eq!(left("5..8", ".."), "");
    let table = ["<10", "10..200", "[220..270)", "[270..500)", ">500"].map(range);
    assert_eq!(
        written(&range("0..800").gaps(&table)),
        "(200..220) 500..500"
    );
    assert_eq!(written(&range("0..800").gaps(&[])), "0..800");
}

#[test]
fn examples_lie_inside_at_the_resolution() {
    let example = |text, step| range(text).example(decimal(step)).expect("one").to_string();
    assert_eq!(example("(200..220)", "1"), "210");
    assert_eq!(example("5..8", "0.01"), "6.50");
    assert_eq!(example("(5..6)", "1"), "5.5");
    assert_eq!(example("500..500", "1"), "500");
    assert_eq!(example(">500", "1"), "501");
    assert_eq!(example("<10", "0.5"), "9.5");
    assert_eq!(example("..", "1"), "0");
    assert_eq!(example("7.25..7.25", "1"), "7.25");
}

#[test]
fn margins_count_to_the_nearest_end() {
    let margin = |text, value| range(text).margin(decimal(value)).map(|m| m.to_string());
    assert_eq!(margin("5..8", "5.2").as_deref(), Some("0.2"));
    assert_eq!(margin("5..8", "9").as_deref(), Some("-1"));
    assert_eq!(margin("5..8", "4.9").as_deref(), Some("-0.1"));
    assert_eq!(margin(">=200", "220").as_deref(), Some("20"));
    assert_eq!(margin("..", "220"), None);
}

proptest! {
    #[test]
    fn intersection_is_membership_in_both(a in small_range(), b in small_range()) {
        let both = a.intersect(&b);
        for point in points() {
            let inside = both.is_some_and(|range| range.contains(point));
            prop_assert_eq!(inside, a.contains(point) && b.contains(point), "{} at {}", a, point);
        }
        prop_assert_eq!(a.overlaps(&b), both.is_some());
        prop_assert_eq!(a.intersect(&b), b.intersect(&a));
    }

    #[test]
    fn covering_is_that_nothing_is_left(a in small_range(), b in small_range()) {
        prop_assert_eq!(a.covers(&b), b.subtract(&a).is_empty());
    }

    #[test]
    fn gaps_are_what_nothing_covers(
        whole in small_range(), others in prop::collection::vec(small_range(), 0..5)
    ) {
        let gaps = whole.gaps(&others);
        for point in points() {
            let expected = whole.contains(point) && !others.iter().any(|r| r.contains(point));
            let found = gaps.iter().filter(|gap| gap.contains(point)).count();
            prop_assert_eq!(found, usize::from(expected), "{} in {}", point, written(&gaps));
        }
        for pair in gaps.windows(2) {
            prop_assert!(pair[0].high().value() <= pair[1].low().value());
        }
    }

    #[test]
    fn the_complement_is_the_rest(a in small_range()) {
        let rest = a.complement();
        for point in points() {
            let outside = rest.iter().filter(|piece| piece.contains(point)).count();
            prop_assert_eq!(outside, usize::from(!a.contains(point)));
        }
    }

    #[test]
    fn examples_and_margins_agree_with_membership(a in small_range()) {
        let example = a.example(Decimal::ONE).expect("small numbers fit");
        prop_assert!(a.contains(example), "{} not in {}", example, a);
        for point in points() {
            let margin = a.margin(point);
            let inside = margin.is_none_or(|m| m > Decimal::ZERO);
            let on_an_end = margin == Some(Decimal::ZERO);
            prop_assert!(on_an_end || inside == a.contains(point), "{} at {}", a, point);
        }
    }

    #[test]
    fn distance_is_how_far_the_margin_is_missed(a in small_range()) {
        for point in points() {
            let missed = a.margin(point).map_or(Decimal::ZERO, |margin| -margin);
            prop_assert_eq!(a.distance(point), missed.max(Decimal::ZERO), "{} at {}", a, point);
        }
    }

    #[test]
    fn no_decimal_makes_it_panic(
        a in any_decimal(), b in any_decimal(), c in any_decimal(), step in any_decimal()
    ) {
        let Ok(range) = Range::closed(a.min(b), a.max(b)) else {
            return Ok(());
        };
        let _ = range.example(step);
        let _ = range.margin(c);
        let _ = range.middle();
        let _ = range.distance(c);
        let _ = range.subtract(&Range::closed(c, c).expect("one value"));
    }
}
