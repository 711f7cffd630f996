//! A reading beside its limits at a glance: a line, the band of the limits on it, and the value.

use maud::{Markup, html as markup};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::quantity::{Range, Reading as Given, Unit};
use crate::report::model::{Judged, Reading};

const WIDTH: f64 = 96.0;
/// The middle of the line.
const MIDDLE: f64 = 6.0;

/// Empty where there is no single number or no limit to hold it against.
pub(super) fn gauge(reading: &Reading) -> Markup {
    let Some((value, low, high)) = numbers(reading) else {
        return markup! {};
    };
    let ends = [Some(value), low, high];
    let ends = ends.into_iter().flatten();
    let (least, most) = ends.fold((value, value), |(a, b), end| (a.min(end), b.max(end)));
    let span = (most - least).max(value.abs() * 0.1).max(f64::MIN_POSITIVE);
    let (from, to) = (least - 0.2 * span, most + 0.2 * span);
    let x = |value: f64| (WIDTH * (value - from) / (to - from)).clamp(0.0, WIDTH);
    let (left, right) = (low.map_or(0.0, x), high.map_or(WIDTH, x));
    let at = x(value).clamp(4.0, WIDTH - 4.0);
    let place = |x: f64| format!("{x:.1}");
    markup! {
        svg.gauge viewBox="0 0 96 12" width="96" height="12" aria-hidden="true" {
            path d={ "M0 " (MIDDLE) "H" (WIDTH) } {}
            rect x=(place(left)) y="3" width=(place((right - left).max(1.0))) height="6" rx="1" {}
            @if reading.judged == Judged::Inside {
                circle cx=(place(at)) cy=(MIDDLE) r="3.2" {}
            } @else {
                path.mark d={ "M" (place(at)) " 1.6l4 4.4l-4 4.4l-4 -4.4z" } {}
            }
        }
    }
}

/// The value and the ends of its limits, in the unit of the limits.
fn numbers(reading: &Reading) -> Option<(f64, Option<f64>, Option<f64>)> {
    let limits: Range = reading.limits.as_ref()?.parse().ok()?;
    let unit: Unit = reading.limits_unit.as_ref()?.parse().ok()?;
    let given: Unit = reading.unit.parse().ok()?;
    let value: Decimal = reading.value.as_ref()?.parse().ok()?;
    let value = Given::exact(value, given).value_in(unit).ok()??.to_f64()?;
    let end = |end: Option<Decimal>| end.and_then(|end| end.to_f64());
    Some((value, end(limits.low().value()), end(limits.high().value())))
}
