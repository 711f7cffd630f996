//! The state of a session from its record on disk, as a resumed session or a report needs it:
//! reading, checking every hash, and applying every event.

use std::path::Path;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use readback::clock::{Clock, VirtualClock, WallTime};
use readback::language::{Meaning, SpokenReading};
use readback::quantity::{Amount, Base, Prefix, Reading, Unit};
use readback::record::{self, Opening, Record};
use readback::session::{Event, Position, ReadingId, State, Understanding, apply};

const EVENTS: u32 = 10_000;

/// Five events a round, as a watch leaves them: a value heard with a runner-up, given, read back,
/// its prompt ended, the next value asked for.
fn round(number: u32, at: u64) -> Vec<Event> {
    let amount = Amount::Exact(rust_decimal::Decimal::new(2400 + i64::from(number % 90), 1));
    let ohm = Unit::from(Base::Ohm);
    let understood = |words: &str| Understanding {
        words: words.to_owned(),
        confidence: Some(0.93),
        meaning: Meaning::Readings(vec![SpokenReading {
            amount,
            prefix: Prefix::None,
            unit: Some(Base::Ohm),
            start_ms: at,
            end_ms: at + 900,
        }]),
    };
    let best = understood("two four five decimal zero ohms");
    let id = ReadingId(number + 1);
    vec![
        Event::Heard {
            words: best.words,
            confidence: best.confidence,
            meaning: best.meaning,
            others: vec![understood("two four nine decimal zero ohms")],
            clip: Some(format!("clips/{number:06}.wav")),
            typed: false,
            start_ms: at,
            end_ms: at + 900,
        },
        Event::ReadingGiven {
            id,
            step: Position {
                procedure: "circulator".into(),
                step: "watch-load".into(),
            },
            visit: 1,
            quantity: "load".into(),
            reading: Reading { amount, unit: ohm },
            at,
            others: Vec::new(),
            replaces: None,
            proof: None,
            typed: false,
        },
        Event::ReadBack { id },
        Event::PromptEnded {
            at: at + 1_800,
            through: u64::from(number),
        },
        Event::ReadingConfirmed { id },
    ]
}

fn write(folder: &Path) {
    let wall = WallTime::parse("2026-03-04T17:05:09.120+01:00").expect("a time");
    let mut clock = VirtualClock::starting_at(wall);
    let mut record =
        Record::create(folder, &Opening::default(), &clock.now()).expect("a session folder");
    for number in 0..EVENTS / 5 {
        clock.advance(3_000);
        let now = clock.now();
        record
            .append(&now, round(number, now.ms), None)
            .expect("appended events");
    }
    record.close(&clock.now()).expect("a closed record");
}

fn state(folder: &Path) -> State {
    let recorded = record::read::<Event>(folder).expect("a record");
    let events = recorded.entries.iter().map(|entry| &entry.event);
    events.fold(State::default(), apply)
}

fn resume(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path().join("session");
    write(&folder);
    assert_eq!(state(&folder).count, u64::from(EVENTS));
    let mut group = criterion.benchmark_group("record");
    group.throughput(Throughput::Elements(u64::from(EVENTS)));
    group.bench_function("state of 10,000 events", |b| b.iter(|| state(&folder)));
    group.bench_function("read 10,000 events", |b| {
        b.iter(|| record::read::<Event>(&folder).expect("a record"));
    });
    group.bench_function("verify 10,000 events", |b| {
        b.iter(|| record::verify(&folder, None).expect("a record"));
    });
    group.finish();
}

criterion_group!(benches, resume);
criterion_main!(benches);
