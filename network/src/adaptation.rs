//! Small changes to trained weights, fitted to other sounds than those they were trained on.
//!
//! A file like that of the weights. Of a matrix it has two narrow ones, `NAME/down` and `NAME/up`,
//! whose product is added to `NAME`; of a list of numbers `NAME/change`, which is added. An array
//! `made for/NAME` must be the same as that of the weights, or the changes are for other ones.

use crate::weights::{Array, Weights, WeightsError, from_float};

const DOWN: &str = "/down";
const UP: &str = "/up";
const CHANGE: &str = "/change";
const MADE_FOR: &str = "made for/";

/// Whether the changes were made for these weights.
pub fn is_for(changes: &Weights, weights: &Weights) -> bool {
    let marked = |mark| Some((mark, str::strip_prefix(mark, MADE_FOR)?));
    let made_for: Vec<_> = changes.names().filter_map(marked).collect();
    let is_same = |(mark, name): &(&str, &str)| changes.get(mark).ok() == weights.get(name).ok();
    !made_for.is_empty() && made_for.iter().all(is_same)
}

/// Adds all changes.
///
/// # Errors
///
/// `Missing` when the weights lack what is to be changed or a narrow matrix its partner, `Shape`
/// when one does not fit.
pub fn apply(changes: &Weights, weights: &mut Weights) -> Result<(), WeightsError> {
    for name in changes.names() {
        if let Some(of) = name.strip_suffix(CHANGE) {
            let change = changes.get(name)?;
            let array = weights.get_mut(of)?;
            change.expect_shape(name, &array.shape)?;
            add(array, &change.to_floats());
        } else if let Some(of) = name.strip_suffix(DOWN) {
            let down = changes.get(name)?;
            let up_name = format!("{of}{UP}");
            let up = changes.get(&up_name)?;
            let array = weights.get_mut(of)?;
            let outputs = array.shape.first().copied().unwrap_or(0);
            let inputs = array.bits.len() / outputs.max(1);
            let rank = down.shape.first().copied().unwrap_or(0);
            down.expect_shape(name, &[rank, inputs])?;
            up.expect_shape(&up_name, &[outputs, rank])?;
            let change = product(&up.to_floats(), &down.to_floats(), rank, inputs);
            add(array, &change);
        }
    }
    Ok(())
}

fn product(up: &[f32], down: &[f32], rank: usize, inputs: usize) -> Vec<f32> {
    let mut out = Vec::with_capacity(up.len() / rank.max(1) * inputs);
    for up in up.chunks_exact(rank.max(1)) {
        let mut row = vec![0.0; inputs];
        for (factor, down) in up.iter().zip(down.chunks_exact(inputs)) {
            for (sum, down) in row.iter_mut().zip(down) {
                *sum += factor * down;
            }
        }
        out.extend(row);
    }
    out
}

fn add(array: &mut Array, changes: &[f32]) {
    let sums = array.to_floats().into_iter().zip(changes);
    array.bits = sums.map(|(was, change)| from_float(was + change)).collect();
}

#[cfg(test)]
mod tests {
    use super::*;

    fn array(shape: &[usize], values: &[f32]) -> Array {
        Array {
            shape: shape.to_vec(),
            bits: values.iter().map(|value| from_float(*value)).collect(),
        }
    }

    fn weights(arrays: &[(&str, Array)]) -> Weights {
        let mut weights = Weights::default();
        for (name, array) in arrays {
            weights.put(name, array.clone());
        }
        weights
    }

    #[test]
    fn narrow_matrices_and_changes_are_added() {
        let mut trained = weights(&[
            ("m", array(&[2, 3], &[1.0, 2.0, 3.0, 4.0, 5.0, 6.0])),
            ("b", array(&[2], &[1.0, -1.0])),
        ]);
        let changes = weights(&[
            ("m/down", array(&[1, 3], &[1.0, 0.0, -2.0])),
            ("m/up", array(&[2, 1], &[0.5, 3.0])),
            ("b/change", array(&[2], &[0.25, 0.5])),
        ]);
        apply(&changes, &mut trained).unwrap();
        let values = |name| trained.get(name).unwrap().to_floats();
        assert_eq!(values("m"), [1.5, 2.0, 2.0, 7.0, 5.0, 0.0]);
        assert_eq!(values("b"), [1.25, -0.5]);
    }

    #[test]
    fn what_does_not_fit_is_told() {
        let changes = weights(&[
            ("m/down", array(&[1, 2], &[1.0, 0.0])),
            ("m/up", array(&[2, 1], &[0.5, 3.0])),
        ]);
        let found = |shape: &[usize]| {
            let count = shape.iter().product();
            let mut trained = weights(&[("m", array(shape, &vec![1.0; count]))]);
            apply(&changes, &mut trained).unwrap_err().to_string()
        };
        let wrong = "array `m/down` has the shape [1, 2], expected [1, 3]";
        assert_eq!(found(&[2, 3]), wrong);
        let wrong = "array `m/up` has the shape [2, 1], expected [3, 1]";
        assert_eq!(found(&[3, 2]), wrong);
        let alone = weights(&[("m/down", array(&[1, 2], &[1.0, 0.0]))]);
        let wrong = apply(&alone, &mut weights(&[])).unwrap_err().to_string();
        assert_eq!(wrong, "array `m/up` is missing");
        let wrong = apply(&changes, &mut weights(&[])).unwrap_err().to_string();
        assert_eq!(wrong, "array `m` is missing");
    }

    #[test]
    fn changes_are_for_the_weights_they_were_made_for() {
        let trained = weights(&[("gamma", array(&[2], &[1.0, 2.0]))]);
        let made_for = |values: &[f32]| weights(&[("made for/gamma", array(&[2], values))]);
        assert!(is_for(&made_for(&[1.0, 2.0]), &trained));
        assert!(!is_for(&made_for(&[1.0, 2.5]), &trained));
        assert!(!is_for(&weights(&[]), &trained));
    }
}
