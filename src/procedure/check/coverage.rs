//! What a findings table leaves open, covers twice, or can never reach.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use super::flow::Flow;
use super::plane::{Column, Condition, Plane, Region, touches};
use super::wording_of::{column_name, condition_text, level_text};
use crate::procedure::problem::{Findings, listed};
use crate::procedure::{BehaviorKind, FindingRow, Procedure, Step, VariantId};
use crate::quantity::Range;

/// Regions of one kind that stand in neighboring columns at the same levels, as one.
struct Patch {
    columns: Vec<Column>,
    level: Range,
    whens: BTreeSet<usize>,
    rows: Vec<usize>,
    when: Vec<Condition>,
    always: bool,
}

/// Checks one diagnose step for one variant. The same problem for another variant is noted once:
/// the caller drops what it has already.
pub(super) fn check_table(
    procedure: &Procedure,
    flow: &Flow,
    step: &Step,
    variant: &VariantId,
    findings: &mut Findings,
) {
    let Some(plane) = Plane::new(procedure, flow, step, variant) else {
        findings.doubt(
            "too-many-conditions",
            step.place,
            format!(
                "more conditions in `{}` than can be checked together",
                step.id
            ),
            "findings with few conditions on other readings",
            "judge the other readings in steps of their own",
        );
        return;
    };
    let regions = plane.regions();
    for patch in patches(&regions, |region| region.rows.is_empty()) {
        hole(&plane, step, &patch, findings);
    }
    for patch in patches(&regions, |region| region.rows.len() > 1) {
        overlap(&plane, &patch, findings);
    }
    for (index, row) in plane.rows.iter().enumerate() {
        never_alone(&plane, index, row, &regions, findings);
    }
    limits(&plane, step, variant, &regions, findings);
}

/// The regions that are wanted, with neighbors of the same rows and conditions joined.
fn patches(regions: &[Region], wanted: impl Fn(&Region) -> bool) -> Vec<Patch> {
    let mut whens: Vec<&[Condition]> = Vec::new();
    let mut pieces: Vec<Patch> = Vec::new();
    for region in regions {
        let when = number_of(&mut whens, &region.when);
        if !wanted(region) {
            continue;
        }
        let same = pieces.iter_mut().find(|piece| {
            piece.columns == [region.column]
                && piece.level == region.level
                && piece.rows == region.rows
        });
        match same {
            Some(piece) => drop(piece.whens.insert(when)),
            None => pieces.push(Patch {
                columns: vec![region.column],
                level: region.level,
                whens: [when].into(),
                rows: region.rows.clone(),
                when: region.when.clone(),
                always: false,
            }),
        }
    }
    for piece in &mut pieces {
        let here = regions
            .iter()
            .filter(|r| piece.columns == [r.column] && r.level == piece.level);
        piece.always = here.count() == piece.whens.len();
    }
    join_columns(join_levels(pieces))
}

fn number_of<'a>(known: &mut Vec<&'a [Condition]>, when: &'a [Condition]) -> usize {
    let at = known.iter().position(|k| *k == when);
    at.unwrap_or_else(|| {
        known.push(when);
        known.len() - 1
    })
}

fn join_levels(pieces: Vec<Patch>) -> Vec<Patch> {
    let mut joined: Vec<Patch> = Vec::new();
    for piece in pieces {
        let below = joined.iter_mut().find(|below| {
            below.columns == piece.columns
                && below.whens == piece.whens
                && below.rows == piece.rows
                && touches(&below.level, &piece.level)
        });
        let both = below
            .as_ref()
            .and_then(|below| Range::new(below.level.low(), piece.level.high()).ok());
        match (below, both) {
            (Some(below), Some(both)) => below.level = both,
            _ => joined.push(piece),
        }
    }
    joined
}

fn join_columns(pieces: Vec<Patch>) -> Vec<Patch> {
    let mut joined: Vec<Patch> = Vec::new();
    for piece in pieces {
        let beside = joined.iter_mut().find(|beside| {
            beside.level == piece.level
                && beside.rows == piece.rows
                && (beside.always && piece.always || beside.whens == piece.whens)
        });
        match beside {
            Some(beside) => beside.columns.extend(piece.columns),
            None => joined.push(piece),
        }
    }
    joined
}

impl Patch {
    /// "`steady` or `settles` at 200 to 220 count, such as 210".
    fn described(&self, plane: &Plane) -> String {
        let names: Vec<&str> = self.columns.iter().map(|c| column_name(*c)).collect();
        let unit = plane.quantity.unit;
        let mut text = format!("{} {} {unit}", names.join(" or "), level_text(&self.level));
        if let Some(example) = self.example(plane) {
            text.push_str(&format!(", such as {example}"));
        }
        if !self.always {
            let conditions: Vec<String> = self.when.iter().map(condition_text).collect();
            text.push_str(&format!(", when {}", conditions.join(" and ")));
            match self.whens.len() {
                0 | 1 => {}
                2 => text.push_str(" and in one more case"),
                several => text.push_str(&format!(" and in {} more cases", several - 1)),
            }
        }
        text
    }

    fn example(&self, plane: &Plane) -> Option<Decimal> {
        self.level
            .example(plane.quantity.resolution.unwrap_or(Decimal::ONE))
            .map(|example| example.normalize())
    }
}

fn hole(plane: &Plane, step: &Step, patch: &Patch, findings: &mut Findings) {
    let neighbors: BTreeSet<&str> = plane
        .rows
        .iter()
        .filter(|row| {
            patch.columns.iter().any(|column| {
                let spans = plane.spans(row, *column);
                spans
                    .iter()
                    .any(|span| touches(span, &patch.level) || touches(&patch.level, span))
            })
        })
        .map(|row| row.id.as_str())
        .collect();
    let remedy = match neighbors.is_empty() {
        true => "add a finding for it".to_owned(),
        false => format!("add a finding for it or widen {}", listed(neighbors)),
    };
    findings.doubt(
        "hole",
        step.place,
        format!(
            "{}, which no finding of `{}` covers",
            patch.described(plane),
            step.id
        ),
        "one finding for it",
        remedy,
    );
}

fn overlap(plane: &Plane, patch: &Patch, findings: &mut Findings) {
    let ids = patch.rows.iter().map(|row| plane.rows[*row].id.as_str());
    let last = patch.rows.last().map_or(0, |row| *row);
    findings.doubt(
        "overlap",
        plane.rows[last].place,
        format!("{}, which {} cover", patch.described(plane), listed(ids)),
        "one finding for it",
        "narrow all but one of them, or tell them apart by another reading",
    );
}

/// Notes a row that holds nowhere, or only where others hold too.
fn never_alone(
    plane: &Plane,
    index: usize,
    row: &FindingRow,
    regions: &[Region],
    findings: &mut Findings,
) {
    let held: Vec<&Region> = regions.iter().filter(|r| r.rows.contains(&index)).collect();
    if held.is_empty() {
        let (found, expected, remedy) = why_never(plane, row);
        return findings.doubt(
            "never-reached",
            row.place,
            format!("finding `{}` that can never be reached: {found}", row.id),
            expected,
            remedy,
        );
    }
    if held.iter().all(|region| region.rows.len() > 1) {
        let others: BTreeSet<&str> = held
            .iter()
            .flat_map(|region| &region.rows)
            .filter(|other| **other != index)
            .map(|other| plane.rows[*other].id.as_str())
            .collect();
        findings.doubt(
            "shadowed",
            row.place,
            format!(
                "finding `{}`, which never holds without {}",
                row.id,
                listed(others)
            ),
            "a region of its own",
            "narrow the others or take it out",
        );
    }
}

/// Why a row holds nowhere: found, expected, remedy.
fn why_never(plane: &Plane, row: &FindingRow) -> (String, String, &'static str) {
    let columns = plane.columns();
    let taken: Vec<Column> = columns
        .into_iter()
        .filter(|column| !plane.spans(row, *column).is_empty())
        .collect();
    let unit = plane.quantity.unit;
    if taken.is_empty() {
        return (
            "its behavior and conditions exclude one another".to_owned(),
            "conditions that can hold together".to_owned(),
            "correct the behavior or the conditions",
        );
    }
    let reachable = |column: &Column| {
        let spans = plane.spans(row, *column);
        let domain = plane.domain(*column);
        spans
            .iter()
            .any(|span| domain.iter().any(|part| part.overlaps(span)))
    };
    if taken.iter().any(reachable) {
        return (
            "its conditions exclude one another".to_owned(),
            "conditions that can hold together".to_owned(),
            "correct the conditions",
        );
    }
    let only_zero = taken == [Column::Behavior(BehaviorKind::NearZero)];
    match only_zero {
        true => (
            "its level lies outside what counts as zero".to_owned(),
            match plane.quantity.counts_as_zero() {
                Some(band) => format!("a level within {} {unit} of zero", band.normalize()),
                None => "a quantity that states its zero band".to_owned(),
            },
            "correct the level, the behavior or the zero band",
        ),
        false => (
            "its level lies outside what is plausible".to_owned(),
            format!("a level within {} {unit}", plane.quantity.plausible),
            "correct the level or what is plausible",
        ),
    }
}

/// Holds the quantity's limits against the table: a limit inside a finding's level, and levels
/// inside the limits that no finding covers.
fn limits(
    plane: &Plane,
    step: &Step,
    variant: &VariantId,
    regions: &[Region],
    findings: &mut Findings,
) {
    let Some(limits) = *plane.quantity.limits.get(variant) else {
        return;
    };
    for row in &plane.rows {
        let at_rest = row.behaviors.is_empty()
            || row.behaviors.contains(&BehaviorKind::Steady)
            || row.behaviors.contains(&BehaviorKind::Settles);
        let Some(level) = row.level.get(variant).filter(|_| at_rest) else {
            continue;
        };
        if limits.overlaps(&level) && !limits.covers(&level) {
            findings.doubt(
                "limit-inside-finding",
                row.place,
                format!(
                    "finding `{}` {}, partly outside the limits {limits} of `{}`",
                    row.id,
                    level_text(&level),
                    plane.quantity.id
                ),
                "a level inside the limits or outside them",
                "set the level or the limits to the same value",
            );
        }
    }
    let at_rest = |column| {
        matches!(
            column,
            Column::Single | Column::Behavior(BehaviorKind::Steady | BehaviorKind::Settles)
        )
    };
    let open = patches(regions, |r| r.rows.is_empty() && at_rest(r.column));
    let open = open.iter().filter(|hole| hole.always);
    for level in open.filter_map(|hole| hole.level.intersect(&limits)) {
        findings.doubt(
            "limit-in-hole",
            plane.quantity.place,
            format!(
                "limits {limits} of `{}` that allow {} {}, which no finding of `{}` covers",
                plane.quantity.id,
                level_text(&level).trim_start_matches("at "),
                plane.quantity.unit,
                step.id
            ),
            "a finding for every level that the limits allow",
            "raise the limit or widen a finding",
        );
    }
}
