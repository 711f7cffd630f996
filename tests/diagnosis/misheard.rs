//! How a spoken number goes wrong on its way: the teens heard as tens and back, a digit dropped,
//! the point dropped, five heard as nine and back.

use super::random::Random;

/// The number another ear would hear, in steps of the resolution. `text` is as the display shows
/// it, such as `215` or `21.5`. The answer is never the number itself.
pub fn misheard(random: &mut Random, text: &str) -> String {
    let models: [fn(&mut Random, &str) -> Option<String>; 4] =
        [teen_or_ten, digit_dropped, point_dropped, five_or_nine];
    let first = random.below(models.len());
    (0..models.len())
        .filter_map(|i| models[(first + i) % models.len()](random, text))
        .find(|heard| heard != text)
        .unwrap_or_else(|| format!("{text}0"))
}

/// 215 "two fifteen" heard as 250, and 250 as 215; the whole part's last two digits.
fn teen_or_ten(_: &mut Random, text: &str) -> Option<String> {
    let (whole, rest) = split(text);
    let start = whole.len().checked_sub(2)?;
    let (head, pair) = whole.split_at(start);
    let pair: Vec<char> = pair.chars().collect();
    let swapped = match (pair[0], pair[1]) {
        ('1', unit @ '3'..='9') => format!("{unit}0"),
        (ten @ '3'..='9', '0') => format!("1{ten}"),
        _ => return None,
    };
    Some(format!("{head}{swapped}{rest}"))
}

/// One digit of the whole part is not heard.
fn digit_dropped(random: &mut Random, text: &str) -> Option<String> {
    let (whole, rest) = split(text);
    if whole.len() < 2 {
        return None;
    }
    let mut kept = whole.to_owned();
    kept.remove(random.below(whole.len()));
    Some(format!("{kept}{rest}"))
}

/// "twenty one point five" heard as 215.
fn point_dropped(_: &mut Random, text: &str) -> Option<String> {
    let (whole, rest) = split(text);
    (!rest.is_empty()).then(|| {
        let digits = format!("{whole}{}", &rest[1..]);
        let trimmed = digits.trim_start_matches('0');
        if trimmed.is_empty() { "0" } else { trimmed }.to_owned()
    })
}

/// One five is heard as nine, or one nine as five.
fn five_or_nine(random: &mut Random, text: &str) -> Option<String> {
    let places: Vec<usize> = text.match_indices(['5', '9']).map(|(at, _)| at).collect();
    if places.is_empty() {
        return None;
    }
    let place = places[random.below(places.len())];
    let swapped = if text[place..].starts_with('5') {
        "9"
    } else {
        "5"
    };
    let mut heard = text.to_owned();
    heard.replace_range(place..place + 1, swapped);
    Some(heard)
}

/// The whole part, and the point with what follows.
fn split(text: &str) -> (&str, &str) {
    match text.find('.') {
        Some(at) => text.split_at(at),
        None => (text, ""),
    }
}
