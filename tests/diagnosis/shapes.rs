//! Series drawn as shapes: straight pieces with noise, as a trainer would sketch them on a board.

use readback::procedure::BehaviorKind;

use super::random::Random;
use super::readout::{Case, DISPLAYS, Display, call_out, times};

/// One series; every behavior equally often.
pub fn case(random: &mut Random) -> Case {
    let display = DISPLAYS[random.below(DISPLAYS.len())];
    let count = 5 + random.below(26);
    let length = random.between(20.0, 240.0);
    let at = times(random, count, length);
    let level = random.between(0.06, 0.65) * display.full_scale;
    let noise = random.between(0.0, 0.006) * level;
    let (behavior, made_by, peak, values) = draw(random, display, level, &at);
    let hunting = match behavior {
        BehaviorKind::Unsteady => 0.1,
        _ => 0.0,
    };
    let values: Vec<f64> = match behavior {
        BehaviorKind::NearZero => values,
        _ => values.iter().map(|v| v + noise * random.normal()).collect(),
    };
    let series = call_out(random, display, &at, &values, hunting);
    Case {
        behavior,
        made_by,
        peak,
        quantity: display.quantity(),
        series,
    }
}

type Drawn = (BehaviorKind, &'static str, bool, Vec<f64>);

fn draw(random: &mut Random, display: Display, level: f64, at: &[f64]) -> Drawn {
    match random.below(6) {
        0 => (
            BehaviorKind::NearZero,
            "nothing",
            false,
            nothing(random, display, at.len()),
        ),
        1 => (BehaviorKind::Steady, "flat", false, vec![level; at.len()]),
        2 => settles(random, level, at),
        3 => (
            BehaviorKind::Unsteady,
            "up and down",
            false,
            up_and_down(random, level, at),
        ),
        4 => falls(random, level, at),
        _ => (
            BehaviorKind::Rising,
            "straight up",
            false,
            straight(random, level, at),
        ),
    }
}

/// Nothing, with a flicker of the last digit or two.
fn nothing(random: &mut Random, display: Display, count: usize) -> Vec<f64> {
    (0..count)
        .map(|_| random.below(3) as f64 * display.resolution)
        .collect()
}

/// Straight to the level, or up to a peak and down to it, then flat for at least half the watch.
fn settles(random: &mut Random, level: f64, at: &[f64]) -> Drawn {
    let end = at[at.len() - 1];
    let arrival = end * random.between(0.25, 0.5);
    let start = level * random.between(0.0, 0.6);
    let peak = random.chance(0.4);
    let top_at = arrival * random.between(0.3, 0.6);
    let top = level * random.between(1.3, 3.0);
    let line = |t: f64, (t0, x0): (f64, f64), (t1, x1): (f64, f64)| {
        x0 + (x1 - x0) * ((t - t0) / (t1 - t0)).clamp(0.0, 1.0)
    };
    let value = |t: f64| match (peak, t < top_at) {
        (false, _) => line(t, (0.0, start), (arrival, level)),
        (true, true) => line(t, (0.0, start), (top_at, top)),
        (true, false) => line(t, (top_at, top), (arrival, level)),
    };
    let name = if peak {
        "over a peak"
    } else {
        "ramp, then flat"
    };
    let values = at.iter().copied().map(value).collect();
    (BehaviorKind::Settles, name, peak, values)
}

/// Every value somewhere in a wide band, most of them on the other side of the one before.
fn up_and_down(random: &mut Random, level: f64, at: &[f64]) -> Vec<f64> {
    let half = level * random.between(0.06, 0.4);
    let mut side = if random.chance(0.5) { 1.0 } else { -1.0 };
    at.iter()
        .map(|_| {
            if random.chance(0.8) {
                side = -side;
            }
            level + side * half * random.between(0.4, 1.0)
        })
        .collect()
}

/// Straight down, from the first reading or after a short climb.
fn falls(random: &mut Random, level: f64, at: &[f64]) -> Drawn {
    let end = at[at.len() - 1];
    let drop = random.between(0.15, 0.8);
    let climb = if random.chance(0.3) { at[0] * 1.5 } else { 0.0 };
    let values = at
        .iter()
        .map(|t| match *t < climb {
            true => 1.3 * level * t / climb,
            false => 1.3 * level * (1.0 - drop * (t - climb) / (end - climb)),
        })
        .collect();
    let name = if climb > 0.0 {
        "climb, then down"
    } else {
        "straight down"
    };
    (BehaviorKind::Falling, name, false, values)
}

/// From one level straight to a higher one.
fn straight(random: &mut Random, level: f64, at: &[f64]) -> Vec<f64> {
    let end = at[at.len() - 1];
    let rise = random.between(0.15, 0.9);
    at.iter()
        .map(|t| level * (1.0 - rise + rise * t / end))
        .collect()
}
