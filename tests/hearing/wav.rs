//! WAV files of every kind come out the same; what is not audio is told exactly.

use std::f64::consts::TAU;
use std::io::Cursor;

use hound::{SampleFormat, WavSpec, WavWriter};
use readback::hearing::wav::WavSource;

/// A quarter of a second of a tone at 500 Hz, half of full scale.
fn tone(rate: u32) -> Vec<f64> {
    let count = rate / 4;
    (0..count)
        .map(|n| 0.5 * (f64::from(n) / f64::from(rate) * 500.0 * TAU).sin())
        .collect()
}

/// The tone as a WAV file of the given kind.
fn wav(rate: u32, channels: u16, bits: u16, sample_format: SampleFormat) -> Vec<u8> {
    let spec = WavSpec {
        channels,
        sample_rate: rate,
        bits_per_sample: bits,
        sample_format,
    };
    let mut file = Cursor::new(Vec::new());
    let mut writer = WavWriter::new(&mut file, spec).unwrap();
    for sample in tone(rate) {
        for _ in 0..channels {
            match sample_format {
                SampleFormat::Float => writer.write_sample(sample as f32).unwrap(),
                SampleFormat::Int => {
                    let full = f64::from(2_u32).powi(i32::from(bits) - 1);
                    writer.write_sample((sample * full) as i32).unwrap();
                }
            }
        }
    }
    writer.finalize().unwrap();
    file.into_inner()
}

fn read(bytes: &[u8]) -> Vec<i16> {
    WavSource::new("x.wav", bytes).unwrap().read_all().unwrap()
}

fn refused(bytes: &[u8]) -> String {
    let read = WavSource::new("x.wav", bytes).and_then(|mut source| source.read_all());
    read.err().unwrap().to_string()
}

#[test]
fn every_kind_of_file_gives_the_same_samples() {
    let expected: Vec<f64> = tone(16_000).iter().map(|s| s * 32_768.0).collect();
    let kinds = [
        (8, SampleFormat::Int, 300.0),
        (16, SampleFormat::Int, 50.0),
        (24, SampleFormat::Int, 50.0),
        (32, SampleFormat::Int, 50.0),
        (32, SampleFormat::Float, 50.0),
    ];
    for (bits, format, allowed) in kinds {
        for rate in [8_000, 16_000, 32_000, 48_000] {
            for channels in [1, 2, 6] {
                let heard = read(&wav(rate, channels, bits, format));
                assert_eq!(heard.len(), 4_000);
                for n in 400..3_600 {
                    let off = (f64::from(heard[n]) - expected[n]).abs();
                    assert!(
                        off <= allowed,
                        "{bits} bits, {rate} Hz, {channels} channels: sample {n} is off by {off}"
                    );
                }
            }
        }
    }
}

#[test]
fn the_length_is_known_before_reading() {
    let file = wav(44_100, 2, 16, SampleFormat::Int);
    let source = WavSource::new("x.wav", file.as_slice()).unwrap();
    assert_eq!(source.duration_ms(), 250);
}

#[test]
fn sixteen_bit_samples_at_16_khz_are_not_touched() {
    let file = wav(16_000, 1, 16, SampleFormat::Int);
    let stored: Vec<i16> = hound::WavReader::new(file.as_slice())
        .unwrap()
        .samples::<i16>()
        .map(Result::unwrap)
        .collect();
    assert_eq!(read(&file), stored);
}

#[test]
fn what_is_not_audio_is_told() {
    assert_eq!(refused(b""), "`x.wav` is empty; record it again");
    assert_eq!(
        refused(b"next step, please"),
        "`x.wav` is not a WAV file: it starts with `next step, p`, expected `RIFF` and `WAVE`; \
         convert it to WAV"
    );
    assert_eq!(
        refused(b"\xff\xfb\x90\x44\0\0\0\0\0\0\0\0\0\0"),
        "`x.wav` is not a WAV file: it starts with the bytes `ff fb 90 44 00 00 00 00 00 00 00 \
         00`, expected `RIFF` and `WAVE`; convert it to WAV"
    );
    assert_eq!(
        refused(b"RIFF\x24\0\0\0AVI LIST"),
        "`x.wav` is not a WAV file: it starts with the bytes `52 49 46 46 24 00 00 00 41 56 49 \
         20`, expected `RIFF` and `WAVE`; convert it to WAV"
    );
}

#[test]
fn a_file_cut_short_is_told_wherever_it_was_cut() {
    let file = wav(16_000, 1, 16, SampleFormat::Int);
    for length in 1..44 {
        assert_eq!(
            refused(&file[..length]),
            "`x.wav` ends inside its header; record or copy it again",
            "cut to {length} bytes"
        );
    }
    assert_eq!(
        refused(&file[..44 + 2 * 1_000 + 1]),
        "`x.wav` ends after 1000 of the 4000 samples its header promises; record or copy it again"
    );
}

#[test]
fn a_file_without_samples_is_told() {
    let mut file = wav(16_000, 1, 16, SampleFormat::Int);
    file.truncate(44);
    file[40..44].fill(0);
    assert_eq!(refused(&file), "`x.wav` holds no samples; record it again");
}

#[test]
fn kinds_of_wav_that_are_not_read_are_told() {
    let good = wav(16_000, 1, 16, SampleFormat::Int);
    let a_law = {
        let mut file = good.clone();
        file[20] = 6;
        file
    };
    assert_eq!(
        refused(&a_law),
        "`x.wav` is WAV of a kind that is not supported, expected 8, 16, 24 or 32-bit PCM or \
         32-bit float; convert it"
    );
    let slow = wav(500, 1, 16, SampleFormat::Int);
    assert_eq!(
        refused(&slow),
        "`x.wav`: sample rate is 500 Hz, expected 1000 to 768000 Hz; convert it"
    );
    let no_channels = {
        let mut file = good;
        file[22] = 0;
        file
    };
    assert_eq!(
        refused(&no_channels),
        "`x.wav` has a WAV header that makes no sense: file contains zero channels; convert it to \
         WAV again"
    );
}

proptest::proptest! {
    /// Whatever the bytes, the answer is samples or a message.
    #[test]
    fn damaged_files_never_panic(
        place in 0_usize..64,
        byte: u8,
        length in 0_usize..400,
    ) {
        let mut file = wav(8_000, 1, 16, SampleFormat::Int);
        file.truncate(400.max(length));
        file[place] = byte;
        let read = WavSource::new("x.wav", &file[..length]).and_then(|mut s| s.read_all());
        if let Err(why) = read {
            proptest::prop_assert!(why.to_string().contains("`x.wav`"));
        }
    }
}
