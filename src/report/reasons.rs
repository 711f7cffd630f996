//! Findings in sentences: what was found, why, and what it comes to with corrected values.

use rust_decimal::Decimal;

use super::model::{Again, Evidence, Finding, Report, Verdict};
use super::present::words;
use super::wording::{self, counted};
use crate::procedure::BehaviorKind;
use crate::quantity::Range;

/// What the findings came to with the values that were corrected after the session, where that is
/// something else.
pub fn now(report: &Report) -> Option<String> {
    let standing = report.findings.iter().filter(|finding| finding.stands);
    let other: Vec<String> = standing
        .filter_map(|finding| {
            let again = finding.again.as_ref()?;
            (again.findings != finding.findings).then(|| judged_now(again))
        })
        .collect();
    (!other.is_empty()).then(|| format!("With the corrected values: {}", other.join(" / ")))
}

pub(super) fn verdict(finding: &Finding) -> String {
    let says: Vec<&str> = finding.findings.iter().map(|f| f.says.as_str()).collect();
    match finding.verdict {
        Verdict::Finding => says.join(" "),
        Verdict::Equal => format!("Rank equal: {}", says.join(" / ")),
        Verdict::Undetermined => "No finding.".to_owned(),
        Verdict::Overridden => format!("Decided by the technician: {}", says.join(" ")),
    }
}

/// The figures a finding rests on, and its reasons.
pub fn reasons(finding: &Finding) -> Vec<String> {
    let why = finding.why.iter().map(|why| plainly(why, finding));
    let mut reasons: Vec<String> = finding
        .evidence
        .iter()
        .filter(|evidence| evidence.behavior.is_some() || finding.why.is_empty())
        .map(figures)
        .chain(why)
        .collect();
    if let (Some(margin), Some(other)) = (&finding.margin, &finding.runner_up) {
        // The reasons end with the nearest other finding by its id; here it is said in full.
        reasons.retain(|reason| !reason.starts_with("nearest other finding"));
        reasons.push(format!("next nearest, {margin} away: {}", other.says));
    }
    let missing = finding
        .missing
        .iter()
        .map(|missing| plainly(missing, finding));
    reasons.extend(missing.map(|missing| format!("missing: {missing}")));
    reasons.extend(
        finding
            .reason
            .as_ref()
            .map(|reason| format!("reason: {}", words(reason))),
    );
    reasons.extend(
        finding
            .again
            .as_ref()
            .map(|again| judged_again(again, finding)),
    );
    reasons
}

fn judged_now(again: &Again) -> String {
    let says: Vec<&str> = again.findings.iter().map(|f| f.says.as_str()).collect();
    match says.is_empty() {
        true => "no finding.".to_owned(),
        false => says.join(" / "),
    }
}

fn judged_again(again: &Again, finding: &Finding) -> String {
    let says = judged_now(again);
    let why = again.why.iter().chain(&again.missing);
    let why: Vec<String> = why.map(|why| plainly(why, finding)).collect();
    let why = match why.is_empty() {
        true => String::new(),
        false => format!(" ({})", why.join("; ")),
    };
    format!("judged again with the corrected values: {says}{why}")
}

/// A reason of the diagnosis with ranges in words and units by their signs.
fn plainly(reason: &str, finding: &Finding) -> String {
    let symbol = finding
        .evidence
        .as_ref()
        .map(|evidence| evidence.unit.as_str());
    let words = reason.split(' ').map(|word| {
        let bare = word.trim_end_matches([':', ',', ';']);
        let end = &word[bare.len()..];
        let plain = match bare.parse::<Range>() {
            _ if symbol == Some(bare) => wording::unit(bare),
            Ok(range) if bare.contains(['.', '<', '>']) && bare.parse::<Decimal>().is_err() => {
                wording::range(&range)
            }
            _ => bare.replace('`', "\""),
        };
        format!("{plain}{end}")
    });
    words.collect::<Vec<_>>().join(" ").replace("  ", " ")
}

fn figures(evidence: &Evidence) -> String {
    let behavior = evidence.behavior.map(|kind| match kind {
        BehaviorKind::NearZero => "near zero",
        BehaviorKind::Steady => "steady",
        BehaviorKind::Settles => "settles",
        BehaviorKind::Unsteady => "unsteady",
        BehaviorKind::Falling => "falling",
        BehaviorKind::Rising => "rising",
    });
    let unit = wording::unit(&evidence.unit);
    let level = evidence
        .level
        .as_ref()
        .map(|level| format!(" at {level} {unit}"));
    format!(
        "{}{}, over {}",
        behavior.unwrap_or("no clear behavior"),
        level.unwrap_or_default(),
        counted(evidence.readings as u64, "reading")
    )
}
