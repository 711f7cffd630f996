//! Statistics that stand up to few readings, uneven times, ties and one wrong value.
//!
//! Everything here works on plain figures (`f64`), allocates nothing, and never panics on finite
//! input; where a figure has no meaning (too few values, all times equal) the answer is `None`.

pub mod location;
pub mod mann_kendall;
pub mod movement;
pub mod theil_sen;
