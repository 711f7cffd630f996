//! The statistics against scipy and pymannkendall (`scripts/reference/series_statistics.py`), and
//! against published worked examples.

use readback::diagnosis::statistics::{location, mann_kendall, movement, theil_sen};

const REFERENCE: &str = include_str!("../reference/series_statistics.csv");

struct Row<'a> {
    name: &'a str,
    times: Vec<f64>,
    values: Vec<f64>,
    /// median, mad, sen, low, high, s, var, z, p, vnr
    figures: Vec<f64>,
}

fn rows() -> impl Iterator<Item = Row<'static>> {
    let numbers = |text: &str| -> Vec<f64> {
        let parts = text.split([' ', ',']);
        parts.map(|part| part.parse().expect("a number")).collect()
    };
    REFERENCE.lines().skip(1).map(move |line| {
        let mut parts = line.splitn(4, ',');
        let mut next = || parts.next().expect("four parts");
        Row {
            name: next(),
            times: numbers(next()),
            values: numbers(next()),
            figures: numbers(next()),
        }
    })
}

fn row(name: &str) -> Row<'static> {
    rows()
        .find(|row| row.name == name)
        .expect("a row of the file")
}

#[track_caller]
fn near(name: &str, what: &str, found: f64, expected: f64) {
    let close = (found - expected).abs() <= 1e-9 * expected.abs().max(1.0);
    assert!(close, "{name}: {what} is {found}, expected {expected}");
}

#[test]
fn every_series_agrees_with_the_reference_libraries() {
    let mut scratch = Vec::new();
    let mut count = 0;
    for Row {
        name,
        times,
        values,
        figures,
    } in rows()
    {
        let middle = location::median(&mut values.clone()).unwrap();
        near(name, "median", middle, figures[0]);
        let mad = location::median_absolute_deviation(&values, middle, &mut scratch);
        near(name, "median absolute deviation", mad.unwrap(), figures[1]);
        let test = mann_kendall::mann_kendall(&values, &mut scratch).unwrap();
        near(name, "S", f64::from(test.s), figures[5]);
        near(name, "variance", test.variance, figures[6]);
        near(name, "Z", test.z, figures[7]);
        near(name, "p", test.p, figures[8]);
        let sen = theil_sen::slope(&times, &values, &mut scratch).unwrap();
        near(name, "slope", sen, figures[2]);
        let (low, high) = theil_sen::interval(&mut scratch, test.variance).unwrap();
        near(name, "low slope", low, figures[3]);
        near(name, "high slope", high, figures[4]);
        let ratio = movement::von_neumann_ratio(&values).unwrap();
        near(name, "von Neumann ratio", ratio, figures[9]);
        count += 1;
    }
    assert_eq!(count, 29);
}

/// Worked by hand: "Mann-Kendall test", lecture notes at mathcs.holycross.edu (Little).
#[test]
fn mann_kendall_hand_example() {
    let Row { values, .. } = row("hand-example-14");
    let test = mann_kendall::mann_kendall(&values, &mut Vec::new()).unwrap();
    assert_eq!(test.s, 54);
    assert_eq!(format!("{:.4}", test.z), "2.9058");
    assert_eq!(format!("{:.4}", test.p / 2.0), "0.0018");
}

/// The smallest two-sided probability is 2 / n!, so four readings never reach 0.05. Why the exact
/// distribution is used up to ten: R. O. Gilbert, "Statistical Methods for Environmental Pollution
/// Monitoring", 1987.
#[test]
fn the_strictest_order_has_two_over_n_factorial() {
    for (count, expected) in [(4, 2.0 / 24.0), (5, 2.0 / 120.0), (6, 2.0 / 720.0)] {
        let values: Vec<f64> = (0..count).map(f64::from).collect();
        let test = mann_kendall::mann_kendall(&values, &mut Vec::new()).unwrap();
        near("strict order", "p", test.p, expected);
    }
}

/// One wild value of seven moves the Theil-Sen line by nothing; least squares gives 1.929 here.
#[test]
fn theil_sen_line_through_a_wild_value() {
    let Row { times, values, .. } = row("one-wild-of-7");
    let line = theil_sen::line(&times, &values, &mut Vec::new()).unwrap();
    assert_eq!((line.slope, line.intercept), (1.0, 10.0));
}

/// B. Iglewicz and D. Hoaglin, "How to Detect and Handle Outliers", 1993 (from memory): 3.5 and
/// more is an outlier.
#[test]
fn modified_z_of_a_wild_value() {
    let Row { values, .. } = row("one-wild-of-6");
    let middle = location::median(&mut values.clone()).unwrap();
    let mad = location::median_absolute_deviation(&values, middle, &mut Vec::new()).unwrap();
    let z = location::modified_z(14.8, middle, mad, 0.0);
    assert_eq!(format!("{middle:.2} {mad:.1} {z:.2}"), "10.05 0.1 32.04");
}

#[test]
fn a_spread_of_zero_gives_no_infinite_score_with_a_floor() {
    let values = [43.0, 43.0, 43.0, 43.0, 43.1];
    let mad = location::median_absolute_deviation(&values, 43.0, &mut Vec::new()).unwrap();
    assert_eq!(mad, 0.0);
    assert_eq!(location::modified_z(43.0, 43.0, mad, 0.0), 0.0);
    assert!(location::modified_z(43.1, 43.0, mad, 0.1) < 1.0);
    assert!(location::modified_z(43.1, 43.0, mad, 0.0).is_infinite());
}

/// First order: 3.00 time constants to 5 %, 3.91 to 2 %. Second order with a damping of one half:
/// 5.29 s to 5 % and 8.08 s to 2 %, overshoot 16.3 % (last exit from the band; computed from the
/// closed forms in any control textbook, from memory).
#[test]
fn settling_times_of_first_and_second_order() {
    let step = 0.001;
    let settling = |response: fn(f64) -> f64, band: f64| {
        let values: Vec<f64> = (0..20_000).map(|i| response(f64::from(i) * step)).collect();
        movement::settled_from(&values, 1.0, band).unwrap() as f64 * step
    };
    let first = |t: f64| 1.0 - (-t).exp();
    let second = |t: f64| {
        let damped = 0.75_f64.sqrt();
        1.0 - (-0.5 * t).exp() * ((damped * t).cos() + 0.5 / damped * (damped * t).sin())
    };
    let found = [
        settling(first, 0.05),
        settling(first, 0.02),
        settling(second, 0.05),
        settling(second, 0.02),
    ];
    assert_eq!(
        found.map(|t| format!("{t:.2}")),
        ["3.00", "3.91", "5.29", "8.08"]
    );
    let highest = (0..20_000)
        .map(|i| second(f64::from(i) * step))
        .fold(0.0, f64::max);
    assert_eq!(format!("{:.1}", 100.0 * (highest - 1.0)), "16.3");
}

#[test]
fn reversals_and_turning_points() {
    let count = |name: &str| movement::reversals(&row(name).values, 0.0);
    let names = [
        "settled",
        "unsteady",
        "drift-down",
        "drift-up",
        "peak-settle",
        "flat-zero",
    ];
    assert_eq!(names.map(count), [3, 6, 0, 0, 3, 5]);
    let mut turns = Vec::new();
    movement::turning_points(&row("peak-settle").values, 1.0, &mut turns);
    assert_eq!(turns, [0, 1, 5]);
    movement::turning_points(&row("flat-zero").values, 1.0, &mut turns);
    assert!(turns.is_empty());
}

#[test]
fn nothing_comes_of_nothing() {
    let mut scratch = Vec::new();
    assert_eq!(location::median(&mut []), None);
    assert_eq!(mann_kendall::mann_kendall(&[1.0], &mut scratch), None);
    assert_eq!(
        theil_sen::line(&[3.0, 3.0], &[1.0, 2.0], &mut scratch),
        None
    );
    assert_eq!(theil_sen::interval(&mut [], 0.0), None);
    assert_eq!(movement::von_neumann_ratio(&[5.0, 5.0]), None);
    assert_eq!(movement::settled_from(&[], 1.0, 1.0), None);
    assert_eq!(movement::settled_from(&[1.0, 9.0], 1.0, 1.0), None);
    assert_eq!(movement::reversals(&[], 0.0), 0);
}
