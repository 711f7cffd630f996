//! The network against a reference runtime, on recordings of the project.
//!
//! The values are those of CTranslate2 4.8.5 in single precision, behind the spectrum of
//! faster-whisper 1.2.1, both from PyPI: see `scripts/reference/network.py`. Both add up the same
//! numbers in another order, so their results differ in the last places.

use std::path::Path;

use crate::spectrum::BANDS;
use crate::{Network, Row};

const REFERENCE: &str = include_str!("reference.txt");

/// Units of the spectrum, of which one is 40 dB.
const SPECTRUM_TOLERANCE: f32 = 1e-3;
/// The encoder's numbers are from -10 to 10, most of them below 2.
const ENCODER_TOLERANCE: f32 = 5e-3;
/// Nats over a whole text.
const TEXT_TOLERANCE: f32 = 2e-2;

/// Lines of a kind: the recording, and the numbers behind it.
fn lines(kind: &str) -> impl Iterator<Item = (&str, Vec<f32>)> {
    REFERENCE.lines().filter_map(move |line| {
        let mut fields = line.split_whitespace();
        let (found, recording) = (fields.next()?, fields.next()?);
        let numbers = fields.map(|field| field.parse().unwrap());
        (found == kind).then(|| (recording, numbers.collect()))
    })
}

fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap()
}

fn network() -> Network {
    let folder = project().join("vendor/models/network-en");
    Network::open(&folder, &[]).unwrap_or_else(|why| panic!("{why}; run `scripts/setup`"))
}

fn samples(recording: &str) -> Vec<i16> {
    let path = project().join("audio-fixtures/hearing").join(recording);
    let mut file = hound::WavReader::open(path).unwrap();
    assert_eq!(file.spec().sample_rate, 16_000);
    file.samples().map(|sample| sample.unwrap()).collect()
}

/// The numbers of a row from `place * width` on are those expected; gives how many there were.
fn compare(found: &[f32], width: usize, line: &[f32], tolerance: f32, recording: &str) -> usize {
    let (place, expected) = line.split_first().unwrap();
    let row = &found[*place as usize * width..];
    for (number, (found, expected)) in row.iter().zip(expected).enumerate() {
        assert!(
            (found - expected).abs() <= tolerance,
            "{recording}, row {place}, number {number}: found {found}, expected {expected}"
        );
    }
    expected.len()
}

#[test]
fn spectrum_and_encoder_are_those_of_the_reference() {
    let network = network();
    let mut compared = 0;
    for (recording, line) in lines("spectrum") {
        let spectrum = network.spectrum.of(&samples(recording), 1_500);
        compared += compare(&spectrum, BANDS, &line, SPECTRUM_TOLERANCE, recording);
    }
    assert_eq!(compared, 2 * 6 * BANDS);
    let mut compared = 0;
    let rows: Vec<_> = lines("encoder").collect();
    for rows in rows.chunk_by(|a, b| a.0 == b.0) {
        let encoded = network.encode(&samples(rows[0].0));
        let width = network.encoder.width;
        for (recording, line) in rows {
            compared += compare(&encoded, width, line, ENCODER_TOLERANCE, recording);
        }
    }
    assert_eq!(compared, 2 * 5 * 24);
}

/// The likeliest piece each time, until the end.
fn likeliest(network: &Network, samples: &[i16]) -> (f32, Vec<f32>) {
    let marks = network.pieces().marks;
    let sound = network.listen(samples);
    let mut past = Vec::new();
    let mut piece = marks.start;
    let mut forced = vec![marks.no_times];
    let (mut sum, mut pieces) = (0.0, Vec::new());
    loop {
        let mut next = network.step(vec![Row { past, piece }], &sound);
        let next = next.remove(0);
        past = next.past;
        if let Some(mark) = forced.pop() {
            piece = mark;
            continue;
        }
        let all = next.likely.iter().enumerate();
        let (place, likely) = all.max_by(|a, b| a.1.total_cmp(b.1)).unwrap();
        sum += likely;
        piece = place as u32;
        if piece == marks.end {
            return (sum, pieces);
        }
        pieces.push(place as f32);
    }
}

#[test]
fn texts_are_those_of_the_reference() {
    let network = network();
    let mut compared = 0;
    for (recording, line) in lines("text") {
        let (sum, pieces) = likeliest(&network, &samples(recording));
        assert_eq!(pieces, line[1..], "{recording}");
        assert!(
            (sum - line[0]).abs() <= TEXT_TOLERANCE,
            "{recording}: found {sum}, expected {}",
            line[0]
        );
        compared += 1;
    }
    assert_eq!(compared, 20);
}

#[test]
fn any_samples_are_heard() {
    let network = network();
    let long = vec![300; 600 * 16_000];
    let loud: Vec<i16> = (0..32_000)
        .map(|n| [i16::MIN, i16::MAX][n / 7 % 2])
        .collect();
    for samples in [&[][..], &[1], &[0; 16_000], &[20_000; 16_000], &loud, &long] {
        let marks = network.pieces().marks;
        let row = Row {
            past: Vec::new(),
            piece: marks.start,
        };
        let next = network.step(vec![row], &network.listen(samples));
        assert!(next[0].likely.iter().all(|likely| likely.is_finite()));
    }
}
