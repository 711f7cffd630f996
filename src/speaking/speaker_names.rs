//! Choosing one of the many voices of a speech service by its name.

use super::voice::VoiceError;

/// So many names are told where none was right.
const TOLD: usize = 12;

/// Where the voice of that name stands among names with their languages: the whole name before a
/// part of it, in any case.
///
/// # Errors
///
/// There is none; the names of the locale's language are told, or all where it has none.
pub fn find(wanted: &str, names: &[(String, String)], locale: &str) -> Result<usize, VoiceError> {
    let wanted_name = wanted.to_lowercase();
    let at = |is: &dyn Fn(&str) -> bool| names.iter().position(|(n, _)| is(&n.to_lowercase()));
    at(&|name| name == wanted_name)
        .or_else(|| at(&|name| name.contains(&wanted_name)))
        .ok_or_else(|| {
            VoiceError::new(
                format!("the speech service has no voice `{wanted}`"),
                format!("choose one of these: {}", listed(names, locale)),
            )
        })
}

fn listed(names: &[(String, String)], locale: &str) -> String {
    let language = |tag: &str| tag.split(['-', '_']).next().unwrap_or(tag).to_lowercase();
    let same = |(_, tag): &&(String, String)| language(tag) == language(locale);
    let mut told: Vec<&str> = names.iter().filter(same).map(|(n, _)| n.as_str()).collect();
    if told.is_empty() {
        told = names.iter().map(|(name, _)| name.as_str()).collect();
    }
    let more = told.len().saturating_sub(TOLD);
    told.truncate(TOLD);
    let told = format!("`{}`", told.join("`, `"));
    match more {
        0 => told,
        more => format!("{told}, and {more} more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> Vec<(String, String)> {
        let names = [
            ("English (America)+Adam", "en-US"),
            ("English (America)", "en-US"),
            ("Korean", "ko"),
        ];
        names.map(|(name, tag)| (name.into(), tag.into())).into()
    }

    #[test]
    fn the_whole_name_goes_before_a_part_of_it() {
        for (wanted, found) in [("english (america)", 1), ("adam", 0), ("kor", 2)] {
            assert_eq!(find(wanted, &names(), "en-US"), Ok(found), "{wanted}");
        }
    }

    #[test]
    fn where_there_is_none_those_of_the_language_are_told() {
        let told = |locale| find("Eve", &names(), locale).unwrap_err().to_string();
        assert_eq!(
            told("ko-KR"),
            "the speech service has no voice `Eve`; choose one of these: `Korean`"
        );
        assert!(told("de-DE").ends_with("`English (America)+Adam`, `English (America)`, `Korean`"));
    }

    #[test]
    fn not_more_are_told_than_can_be_read() {
        let many: Vec<_> = (0..30)
            .map(|n| (format!("v{n}"), "en".to_owned()))
            .collect();
        let told = find("Eve", &many, "en-US").unwrap_err().to_string();
        assert!(told.ends_with("`v11`, and 18 more"), "{told}");
    }
}
