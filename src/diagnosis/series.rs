//! Readings of one quantity with the times they were given at.
//!
//! A series keeps everything that was said, in the order of time. A withdrawn reading stays but
//! does not count; a reading without a number ("over range", "no reading") stays and is counted by
//! its kind. "Hunting between 220 and 240" is one reading that covers a range.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::condition::ends;
use crate::quantity::{Amount, Reading, Unit};

/// One reading of a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    /// Milliseconds since the watch began.
    pub at_ms: u64,
    pub amount: Amount,
    /// Taken back by the technician: kept, never counted.
    pub withdrawn: bool,
}

/// Readings of one quantity, in one unit, in the order of time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Series {
    unit: Unit,
    samples: Vec<Sample>,
    once: bool,
}

/// Why a reading does not belong to a series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SeriesError {
    #[error("found a reading in `{found}`, expected `{expected}`: convert it first")]
    Unit { found: Unit, expected: Unit },
    #[error("found the value `{found}`, expected less than {}", Series::LARGEST)]
    TooLarge { found: Decimal },
}

/// The readings that have a number, as plain figures for the statistics.
///
/// Times are seconds since the watch began. The buffers are kept between uses, so that judging
/// many series allocates nothing.
#[derive(Debug, Default)]
pub(super) struct Figures {
    /// Index of each figure's reading in [`Series::samples`].
    pub index: Vec<usize>,
    /// Seconds.
    pub time: Vec<f64>,
    /// The value; the middle of a reading that covers a range.
    pub value: Vec<f64>,
    /// Half the width of a reading that covers a range, otherwise 0.
    pub half_width: Vec<f64>,
    /// The most decimals of any counted value.
    pub decimals: u32,
}

impl Series {
    /// No display shows a value this far from zero; what is worked out from smaller ones fits.
    pub const LARGEST: Decimal = Decimal::from_parts(2_764_472_320, 232_830, 0, false, 0);

    /// An empty series whose readings are in `unit`.
    pub fn new(unit: Unit) -> Series {
        Series {
            unit,
            samples: Vec::new(),
            once: false,
        }
    }

    /// The one value of a read step, which has a level and no behavior over time. A later one
    /// takes the place of an earlier one that was withdrawn.
    pub fn once(reading: Reading) -> Series {
        Series {
            unit: reading.unit,
            samples: vec![Sample {
                at_ms: 0,
                amount: reading.amount,
                withdrawn: false,
            }],
            once: true,
        }
    }

    /// Whether this is the one value of a read step.
    pub fn is_once(&self) -> bool {
        self.once
    }

    /// The unit of every reading.
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// Every reading, withdrawn ones too, in the order of time.
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// Adds a reading given `at_ms` milliseconds after the watch began. A reading that arrives late
    /// is put where its time belongs; of two with the same time the later given comes second.
    ///
    /// # Errors
    ///
    /// The reading must be in the unit of the series, and its value within [`Series::LARGEST`] of
    /// zero.
    pub fn give(&mut self, at_ms: u64, reading: Reading) -> Result<(), SeriesError> {
        if reading.unit != self.unit {
            return Err(SeriesError::Unit {
                found: reading.unit,
                expected: self.unit,
            });
        }
        let mut values = ends(reading.amount).into_iter().flat_map(|(a, b)| [a, b]);
        if let Some(found) = values.find(|value| value.abs() >= Series::LARGEST) {
            return Err(SeriesError::TooLarge { found });
        }
        let place = self.samples.partition_point(|s| s.at_ms <= at_ms);
        let sample = Sample {
            at_ms,
            amount: reading.amount,
            withdrawn: false,
        };
        self.samples.insert(place, sample);
        Ok(())
    }

    /// Takes a reading back. It stays in the series and no longer counts. An index that does not
    /// exist changes nothing.
    pub fn withdraw(&mut self, index: usize) {
        if let Some(sample) = self.samples.get_mut(index) {
            sample.withdrawn = true;
        }
    }

    /// The readings that count, with their indices.
    pub fn counted(&self) -> impl Iterator<Item = (usize, &Sample)> {
        self.samples
            .iter()
            .enumerate()
            .filter(|(_, sample)| !sample.withdrawn)
    }

    /// Writes the readings that count into `figures`, replacing what was there.
    pub(super) fn figures(&self, figures: &mut Figures) {
        figures.clear();
        for (index, sample) in self.counted() {
            figures.add(index, sample);
        }
    }
}

impl Figures {
    /// How many counted readings have a number.
    pub fn len(&self) -> usize {
        self.value.len()
    }

    /// The first `count` of others, replacing what was here.
    pub(super) fn copy_first(&mut self, others: &Figures, count: usize) {
        self.clear();
        self.index.extend_from_slice(&others.index[..count]);
        self.time.extend_from_slice(&others.time[..count]);
        self.value.extend_from_slice(&others.value[..count]);
        self.half_width
            .extend_from_slice(&others.half_width[..count]);
        self.decimals = others.decimals;
    }

    fn clear(&mut self) {
        self.index.clear();
        self.time.clear();
        self.value.clear();
        self.half_width.clear();
        self.decimals = 0;
    }

    fn add(&mut self, index: usize, sample: &Sample) {
        match sample.amount {
            Amount::Exact(value) | Amount::About(value) => {
                self.push(index, sample.at_ms, value, value)
            }
            Amount::Between(low, high) => self.push(index, sample.at_ms, low, high),
            Amount::OverRange | Amount::Short | Amount::None => {}
        }
    }

    fn push(&mut self, index: usize, at_ms: u64, low: Decimal, high: Decimal) {
        let (Some(from), Some(to)) = (low.to_f64(), high.to_f64()) else {
            return;
        };
        self.index.push(index);
        self.time.push(at_ms as f64 / 1000.0);
        self.value.push((from + to) / 2.0);
        self.half_width.push((to - from).abs() / 2.0);
        self.decimals = self.decimals.max(low.scale()).max(high.scale());
    }
}
