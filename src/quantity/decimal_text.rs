//! How decimals are written in procedures, records and JSON.

use rust_decimal::Decimal;

const LIMIT: Decimal = Decimal::from_parts(2_764_472_320, 232_830, 0, false, 0);

/// Reads `5`, `-12.50` or `+0.3`: digits, at most one point with digits on both sides, no exponent
/// and no separators. Keeps trailing zeros. `None` for anything else, when it does not fit, and from
/// 10^15 up: no meter shows that, and below it sums and differences of readings never overflow.
pub(super) fn read(text: &str) -> Option<Decimal> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
    let all_digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if !all_digits(whole) || !all_digits(fraction) {
        return None;
    }
    let value = Decimal::from_str_exact(text).ok()?;
    (value.abs() < LIMIT).then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_plain_decimals_only() {
        let kept = |text: &str| read(text).map(|value| value.to_string());
        assert_eq!(kept("5.70").as_deref(), Some("5.70"));
        assert_eq!(kept("-40").as_deref(), Some("-40"));
        assert_eq!(kept("+0.3").as_deref(), Some("0.3"));
        for wrong in ["", ".", "5.", ".5", "1e3", "1_000", "--5", "5.5.5", "½"] {
            assert_eq!(kept(wrong), None, "{wrong}");
        }
        assert_eq!(kept(&"9".repeat(15)), Some("9".repeat(15)));
        assert_eq!(kept("1000000000000000"), None);
        assert_eq!(kept(&"9".repeat(40)), None);
    }
}
