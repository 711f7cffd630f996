//! The file of trained weights: named arrays of half-precision numbers, as CTranslate2 writes them.
//!
//! Little-endian throughout: version, name of the kind, revision, how many arrays; then each
//! array's name, shape, type and bytes. Read whole, not mapped: a mapped file that somebody
//! shortens meanwhile would end the process.

use std::collections::HashMap;

/// The type number of half-precision arrays; the file's other arrays are settings.
const HALF: u8 = 4;

/// Arrays by name.
#[derive(Debug, Default)]
pub struct Weights {
    arrays: HashMap<String, Array>,
}

/// An array of half-precision numbers in row-major order.
#[derive(Debug, Clone, PartialEq)]
pub struct Array {
    pub shape: Vec<usize>,
    /// IEEE 754 binary16.
    pub bits: Vec<u16>,
}

/// What is wrong with a file of weights.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WeightsError {
    #[error("it ends after {found} bytes, in the middle of {within}")]
    Short { found: usize, within: &'static str },
    #[error("array `{name}` has {found} bytes, expected {expected} for its shape")]
    Size {
        name: String,
        found: usize,
        expected: usize,
    },
    #[error("array `{name}` is missing")]
    Missing { name: String },
    #[error("array `{name}` has the shape {found:?}, expected {expected:?}")]
    Shape {
        name: String,
        found: Vec<usize>,
        expected: Vec<usize>,
    },
}

impl Weights {
    /// Reads the file's bytes. What follows the arrays is other names of theirs and not needed.
    ///
    /// # Errors
    ///
    /// `Short` and `Size`.
    pub fn parse(bytes: &[u8]) -> Result<Weights, WeightsError> {
        let mut reader = Reader {
            all: bytes.len(),
            rest: bytes,
        };
        reader.number::<4>("the version")?;
        reader.text("the name of its kind")?;
        reader.number::<4>("the revision")?;
        let count = reader.number::<4>("the number of arrays")?;
        let mut weights = Weights::default();
        for _ in 0..count {
            if let Some((name, array)) = reader.array()? {
                weights.arrays.insert(name, array);
            }
        }
        Ok(weights)
    }

    /// Takes an array out, which must have this shape.
    ///
    /// # Errors
    ///
    /// `Missing` and `Shape`.
    pub fn take(&mut self, name: &str, shape: &[usize]) -> Result<Array, WeightsError> {
        let array = self.arrays.remove(name).ok_or_else(|| missing(name))?;
        array.expect_shape(name, shape)?;
        Ok(array)
    }

    /// The names of all arrays, in no order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.arrays.keys().map(String::as_str)
    }

    /// # Errors
    ///
    /// `Missing`.
    pub fn get(&self, name: &str) -> Result<&Array, WeightsError> {
        self.arrays.get(name).ok_or_else(|| missing(name))
    }

    /// # Errors
    ///
    /// `Missing`.
    pub fn get_mut(&mut self, name: &str) -> Result<&mut Array, WeightsError> {
        self.arrays.get_mut(name).ok_or_else(|| missing(name))
    }

    #[cfg(test)]
    pub fn put(&mut self, name: &str, array: Array) {
        self.arrays.insert(name.into(), array);
    }

    pub fn has(&self, name: &str) -> bool {
        self.arrays.contains_key(name)
    }

    /// The shape of an array; empty where there is none.
    pub fn shape(&self, name: &str) -> &[usize] {
        self.arrays.get(name).map_or(&[], |array| &array.shape)
    }
}

fn missing(name: &str) -> WeightsError {
    WeightsError::Missing { name: name.into() }
}

impl Array {
    /// # Errors
    ///
    /// `Shape`, with this name, when it has another.
    pub fn expect_shape(&self, name: &str, expected: &[usize]) -> Result<(), WeightsError> {
        match self.shape == expected {
            true => Ok(()),
            false => Err(WeightsError::Shape {
                name: name.into(),
                found: self.shape.clone(),
                expected: expected.to_vec(),
            }),
        }
    }

    pub fn to_floats(&self) -> Vec<f32> {
        self.bits.iter().map(|bits| to_float(*bits)).collect()
    }
}

/// The exact value of a half-precision number; infinities and NaN become large numbers.
pub fn to_float(half: u16) -> f32 {
    from_half_scaled(half) * HALF_SCALE
}

/// What [`from_half_scaled`] leaves to be multiplied: two to the power of 112.
pub const HALF_SCALE: f32 = 5_192_296_858_534_827_628_530_496_329_220_096.0;

/// A half-precision number divided by [`HALF_SCALE`], exactly: its bits moved to their places in a
/// single, whose exponent counts from 127 and not from 15.
#[inline(always)]
pub fn from_half_scaled(half: u16) -> f32 {
    let spread = i32::from(half as i16) << 13;
    f32::from_bits(spread as u32 & 0x8fff_e000)
}

/// The half-precision number nearest to a number, which half precision must reach: below 65,520.
pub fn from_float(value: f32) -> u16 {
    let sign = (value.to_bits() >> 16) as u16 & 0x8000;
    // Scaled so that the exponent is that of a half; ties go to the even one.
    let bits = (value.abs() / HALF_SCALE).to_bits();
    let even = (bits >> 13) & 1;
    sign | ((bits + 0x0fff + even) >> 13) as u16
}

struct Reader<'a> {
    all: usize,
    rest: &'a [u8],
}

impl<'a> Reader<'a> {
    fn take(&mut self, count: usize, within: &'static str) -> Result<&'a [u8], WeightsError> {
        let found = self.all;
        let (taken, rest) = self
            .rest
            .split_at_checked(count)
            .ok_or(WeightsError::Short { found, within })?;
        self.rest = rest;
        Ok(taken)
    }

    /// An unsigned number of so many bytes.
    fn number<const BYTES: usize>(&mut self, within: &'static str) -> Result<usize, WeightsError> {
        let bytes = self.take(BYTES, within)?;
        Ok(bytes
            .iter()
            .rev()
            .fold(0, |number, byte| number << 8 | usize::from(*byte)))
    }

    /// Its length counts the zero byte at its end.
    fn text(&mut self, within: &'static str) -> Result<String, WeightsError> {
        let length = self.number::<2>(within)?;
        let bytes = self.take(length, within)?;
        let text = bytes.strip_suffix(&[0]).unwrap_or(bytes);
        Ok(String::from_utf8_lossy(text).into_owned())
    }

    /// `None` for an array that is a setting.
    fn array(&mut self) -> Result<Option<(String, Array)>, WeightsError> {
        let name = self.text("the name of an array")?;
        let rank = self.number::<1>("the shape of an array")?;
        let shape = (0..rank).map(|_| self.number::<4>("the shape of an array"));
        let shape: Vec<usize> = shape.collect::<Result<_, _>>()?;
        let kind = self.number::<1>("the type of an array")?;
        let size = self.number::<4>("the size of an array")?;
        let bytes = self.take(size, "an array")?;
        if kind != usize::from(HALF) {
            return Ok(None);
        }
        let expected = shape
            .iter()
            .fold(2_usize, |size, n| size.saturating_mul(*n));
        if size != expected {
            return Err(WeightsError::Size {
                name,
                found: size,
                expected,
            });
        }
        let (pairs, _) = bytes.as_chunks::<2>();
        let bits = pairs.iter().map(|pair| u16::from_le_bytes(*pair)).collect();
        Ok(Some((name, Array { shape, bits })))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_precision_is_exact() {
        for (bits, value) in [
            (0x0000, 0.0),
            (0x3c00, 1.0),
            (0xc000, -2.0),
            (0x3555, 0.333_251_95),
            (0x7bff, 65_504.0),
            (0x0001, 5.960_464_5e-8),
            (0x8400, -6.103_515_6e-5),
        ] {
            assert_eq!(to_float(bits), value, "{bits:#x}");
        }
        for bits in (0..0x7c00).chain(0x8000..0xfc00) {
            assert_eq!(from_float(to_float(bits)), bits, "{bits:#x}");
        }
        assert_eq!(from_float(1.0 + 0.000_4), 0x3c00, "below the middle");
        assert_eq!(from_float(1.0 + 0.000_6), 0x3c01, "above it");
    }

    /// A file with one array of two numbers.
    fn file() -> Vec<u8> {
        let mut bytes = vec![6, 0, 0, 0, 2, 0, b'k', 0, 3, 0, 0, 0, 1, 0, 0, 0];
        bytes.extend([2, 0, b'w', 0, 1, 2, 0, 0, 0, HALF, 4, 0, 0, 0]);
        bytes.extend([0x00, 0x3c, 0x00, 0xc0]);
        bytes
    }

    #[test]
    fn an_array_is_found_by_its_name() {
        let mut weights = Weights::parse(&file()).unwrap();
        assert_eq!(weights.shape("w"), [2]);
        assert_eq!(weights.take("w", &[2]).unwrap().to_floats(), [1.0, -2.0]);
        assert_eq!(
            weights.take("w", &[2]).unwrap_err().to_string(),
            "array `w` is missing"
        );
    }

    #[test]
    fn a_file_that_was_cut_says_where() {
        let file = file();
        for length in 0..file.len() {
            let found = Weights::parse(&file[..length]).unwrap_err();
            assert!(matches!(found, WeightsError::Short { .. }), "{found}");
        }
    }

    #[test]
    fn a_wrong_shape_is_told() {
        let mut weights = Weights::parse(&file()).unwrap();
        assert_eq!(
            weights.take("w", &[3]).unwrap_err().to_string(),
            "array `w` has the shape [2], expected [3]"
        );
        let mut wrong = file();
        let at = wrong.len() - 13;
        wrong[at] = 3;
        assert_eq!(
            Weights::parse(&wrong).unwrap_err().to_string(),
            "array `w` has 4 bytes, expected 6 for its shape"
        );
    }
}
