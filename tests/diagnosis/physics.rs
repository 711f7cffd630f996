//! Series from physics: first- and second-order responses, pump and system curves, leaks, relay
//! control. What a series is follows from how the machine was set up (time constants against the
//! length of the watch), not from how the numbers look.

use readback::procedure::BehaviorKind;

use super::random::Random;
use super::readout::{Case, DISPLAYS, Display, call_out, times};

type Source = fn(&mut Random, f64, &[f64]) -> Vec<f64>;

/// Every machine: its behavior, its name, whether it settles after a peak, and its values for a
/// level and times.
const MACHINES: [(BehaviorKind, &str, bool, Source); 17] = [
    (BehaviorKind::NearZero, "dead sensor", false, dead_sensor),
    (BehaviorKind::Steady, "white noise", false, equilibrium),
    (BehaviorKind::Steady, "slow noise", false, slow_noise),
    (BehaviorKind::Settles, "first order", false, first_order),
    (BehaviorKind::Settles, "second order", true, second_order),
    (BehaviorKind::Settles, "inrush", true, inrush),
    (BehaviorKind::Settles, "loop filling", false, loop_filling),
    (
        BehaviorKind::Unsteady,
        "relay control",
        false,
        relay_control,
    ),
    (BehaviorKind::Unsteady, "cavitation", false, cavitation),
    (BehaviorKind::Unsteady, "no damping", false, no_damping),
    (BehaviorKind::Unsteady, "air in the pump", false, air),
    (BehaviorKind::Falling, "leak", false, leak),
    (BehaviorKind::Falling, "tank emptying", false, orifice),
    (BehaviorKind::Falling, "strainer clogging", false, clogging),
    (BehaviorKind::Falling, "losing fluid", false, losing_fluid),
    (BehaviorKind::Rising, "slow heating", false, slow_heating),
    (BehaviorKind::Rising, "tank filling", false, tank_filling),
];

const KINDS: [BehaviorKind; 6] = [
    BehaviorKind::NearZero,
    BehaviorKind::Steady,
    BehaviorKind::Settles,
    BehaviorKind::Unsteady,
    BehaviorKind::Falling,
    BehaviorKind::Rising,
];

/// One series; every behavior equally often.
pub fn case(random: &mut Random) -> Case {
    let kind = KINDS[random.below(KINDS.len())];
    let machines: Vec<_> = MACHINES.iter().filter(|m| m.0 == kind).collect();
    let &&(behavior, made_by, peak, source) = &machines[random.below(machines.len())];
    let display = DISPLAYS[random.below(DISPLAYS.len())];
    let count = 5 + random.below(26);
    let length = random.between(20.0, 240.0);
    let at = times(random, count, length);
    let level = random.between(0.08, 0.6) * display.full_scale;
    let noise = random.between(0.001, 0.006);
    let values: Vec<f64> = source(random, level, &at)
        .into_iter()
        .map(|value| value * (1.0 + noise * random.normal()))
        .collect();
    let values = if behavior == BehaviorKind::NearZero {
        dead_values(random, display, count)
    } else {
        values
    };
    let hunting = if behavior == BehaviorKind::Unsteady {
        0.1
    } else {
        0.0
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

/// The length of the watch.
fn end(times: &[f64]) -> f64 {
    times[times.len() - 1]
}

fn at_each(times: &[f64], value: impl FnMut(f64) -> f64) -> Vec<f64> {
    times.iter().copied().map(value).collect()
}

fn dead_sensor(_: &mut Random, _: f64, times: &[f64]) -> Vec<f64> {
    vec![0.0; times.len()]
}

/// A sensor with nothing on it: a small offset and its noise, in parts of full scale.
fn dead_values(random: &mut Random, display: Display, count: usize) -> Vec<f64> {
    let offset = random.between(0.0, 0.004);
    (0..count)
        .map(|_| (offset + 0.001 * random.normal()) * display.full_scale)
        .collect()
}

/// Equilibrium with white noise.
fn equilibrium(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let sigma = random.between(0.001, 0.007);
    at_each(times, |_| level * (1.0 + sigma * random.normal()))
}

/// Equilibrium with noise that remembers its last value (first-order autoregressive).
fn slow_noise(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let sigma = random.between(0.001, 0.006);
    let memory = random.between(0.2, 0.5);
    let mut state = 0.0;
    at_each(times, |_| {
        state = memory * state + sigma * (1.0 - memory * memory).sqrt() * random.normal();
        level * (1.0 + state)
    })
}

/// A first-order response watched for five to ten time constants, up or down.
fn first_order(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let constant = end(times) / random.between(5.0, 10.0);
    let start = level * [0.0, 0.2, 0.5, 1.5][random.below(4)];
    at_each(times, |t| level + (start - level) * (-t / constant).exp())
}

/// An underdamped second-order response that has died out by the middle of the watch.
fn second_order(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let damping = random.between(0.3, 0.6);
    let settled = end(times) * random.between(0.3, 0.6);
    let natural = 4.0 / (damping * settled);
    let damped = natural * (1.0_f64 - damping * damping).sqrt();
    at_each(times, |t| {
        let sway = (damped * t).cos() + damping * natural / damped * (damped * t).sin();
        level * (1.0 - (-damping * natural * t).exp() * sway)
    })
}

/// A motor's starting current: up at once, then down to its running level.
fn inrush(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let decay = end(times) / random.between(8.0, 14.0);
    let rise = decay / 6.0;
    let excess = random.between(0.6, 2.0);
    at_each(times, |t| {
        level * (1.0 + excess * (-t / decay).exp()) * (1.0 - (-t / rise).exp())
    })
}

/// Flow of a pump that fills a loop against a growing static head (pump curve H = H0 - a Q^2), and
/// then circulates at a constant flow.
fn loop_filling(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let full = end(times) * random.between(0.2, 0.45);
    let excess = random.between(0.6, 2.5);
    at_each(times, |t| {
        let missing = (1.0 - t / full).max(0.0);
        level * (1.0 + excess * missing).sqrt()
    })
}

/// A relay with a dead band on a first-order plant: rises toward one level, falls toward another.
fn relay_control(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    visible(random, times, |random| {
        let half_band = random.between(0.06, 0.25);
        let constant = end(times) / random.between(3.0, 8.0);
        let (mut on, mut state, mut now) = (random.chance(0.5), 0.0, 0.0);
        let step = end(times) / 3000.0;
        at_each(times, |t| {
            while now < t {
                let toward = if on {
                    2.0 * half_band
                } else {
                    -2.0 * half_band
                };
                state += (toward - state) * step / constant;
                on = if on {
                    state < half_band
                } else {
                    state < -half_band
                };
                now += step;
            }
            level * (1.0 + state)
        })
    })
}

/// Flow breaks down and comes back at random (a telegraph signal).
fn cavitation(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    visible(random, times, |random| {
        let depth = random.between(0.2, 0.6);
        let mut broken = false;
        at_each(times, |_| {
            broken ^= random.chance(0.5);
            level * if broken { 1.0 - depth } else { 1.0 }
        })
    })
}

/// A second-order system without damping, at least three cycles long.
fn no_damping(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    visible(random, times, |random| {
        let amplitude = random.between(0.06, 0.35);
        let cycles = random.between(3.0, 9.0);
        let phase = random.between(0.0, std::f64::consts::TAU);
        let turn = std::f64::consts::TAU * cycles / end(times);
        at_each(times, |t| {
            level * (1.0 + amplitude * (turn * t + phase).sin())
        })
    })
}

/// Air in the pump: large noise without order.
fn air(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    visible(random, times, |random| {
        let sigma = random.between(0.08, 0.2);
        at_each(times, |_| level * (1.0 + sigma * random.normal()).max(0.05))
    })
}

/// Draws until the swing can be seen at the times of the readings: the values cross the middle of
/// their range at least three times, or twice where there are only five or six of them.
fn visible(
    random: &mut Random,
    times: &[f64],
    mut draw: impl FnMut(&mut Random) -> Vec<f64>,
) -> Vec<f64> {
    let wanted = if times.len() < 7 { 2 } else { 3 };
    loop {
        let values = draw(random);
        let high = values.iter().copied().fold(f64::MIN, f64::max);
        let low = values.iter().copied().fold(f64::MAX, f64::min);
        let middle = (high + low) / 2.0;
        let crossings = values
            .windows(2)
            .filter(|w| (w[0] > middle) != (w[1] > middle))
            .count();
        if crossings >= wanted && high - low > 0.1 * middle {
            return values;
        }
    }
}

/// Pressure leaking off through a small passage: exponential, watched for less than one constant.
fn leak(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let constant = end(times) / random.between(0.2, 0.8);
    at_each(times, |t| 1.4 * level * (-t / constant).exp())
}

/// A tank emptying through an orifice (Torricelli): the square root of the level falls evenly.
fn orifice(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let empty = end(times) / random.between(0.2, 0.6);
    at_each(times, |t| 1.4 * level * (1.0 - t / empty).powi(2))
}

/// Flow against a strainer whose resistance grows evenly.
fn clogging(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let growth = random.between(0.6, 4.0) / end(times);
    at_each(times, |t| 1.4 * level / (1.0 + growth * t).sqrt())
}

/// A pump that starts, is normal at first, and then loses fluid evenly.
fn losing_fluid(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let rise = end(times) / random.between(40.0, 90.0);
    let loss = random.between(0.25, 0.7) / end(times);
    at_each(times, |t| {
        1.4 * level * (1.0 - (-t / rise).exp()) * (1.0 - loss * t)
    })
}

/// A first-order response of which less than its time constant is seen.
fn slow_heating(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let constant = end(times) / random.between(0.2, 0.8);
    let start = random.between(0.1, 0.5);
    at_each(times, |t| level * (start + (1.0 - (-t / constant).exp())))
}

/// A level that rises evenly, or a little faster as the vessel narrows.
fn tank_filling(random: &mut Random, level: f64, times: &[f64]) -> Vec<f64> {
    let power = random.between(1.0, 1.5);
    let start = random.between(0.1, 0.8);
    let rise = random.between(0.2, 0.8);
    at_each(times, |t| {
        level * (start + rise * (t / end(times)).powf(power))
    })
}
