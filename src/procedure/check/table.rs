//! The plane of a diagnose step as a table: behaviors beside each other, levels upward.

use std::collections::BTreeSet;
use std::fmt;

use serde::Serialize;

use super::cells::partition;
use super::flow::Flow;
use super::plane::{Plane, Region};
use super::wording_of::column_name;
use crate::procedure::{
    FindingId, Library, Procedure, ProcedureId, QuantityId, Step, StepId, StepKind, VariantId,
};
use crate::quantity::{Range, Unit};

/// Which finding a diagnose step reaches at each behavior and level, for some variants.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlaneTable {
    pub procedure: ProcedureId,
    pub step: StepId,
    /// The variants for which the table is this one.
    pub variants: Vec<VariantId>,
    pub quantity: QuantityId,
    pub unit: Unit,
    /// The behaviors, or `a value` where a single reading is judged.
    pub columns: Vec<String>,
    /// Highest level first.
    pub rows: Vec<PlaneRow>,
}

/// One band of levels.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlaneRow {
    pub level: Range,
    /// One for each column; `None` where the behavior cannot have this level.
    pub cells: Vec<Option<PlaneCell>>,
}

/// What is found at one behavior and band of levels.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlaneCell {
    /// In the order of the table; more than one where other readings or the first peak decide, or
    /// where findings overlap.
    pub findings: Vec<FindingId>,
    /// Two of them hold at once somewhere.
    pub overlap: bool,
    /// Somewhere none holds.
    pub hole: bool,
}

/// The tables of every diagnose step of a library, one for all variants that share it. A step with
/// more conditions than can be checked together has none.
pub fn planes(library: &Library) -> Vec<PlaneTable> {
    let mut tables: Vec<PlaneTable> = Vec::new();
    for procedure in library.procedures() {
        for variant in procedure.variants.keys() {
            let flow = Flow::new(procedure, variant);
            for (index, step) in procedure.steps.iter().enumerate() {
                let diagnoses = matches!(step.kind, StepKind::Diagnose { .. });
                if !diagnoses || !flow.applies(index) {
                    continue;
                }
                let Some(table) = table(procedure, &flow, step, variant) else {
                    continue;
                };
                match tables
                    .iter_mut()
                    .find(|known| known.same_but_variants(&table))
                {
                    Some(known) => known.variants.extend(table.variants),
                    None => tables.push(table),
                }
            }
        }
    }
    tables
}

fn table(
    procedure: &Procedure,
    flow: &Flow,
    step: &Step,
    variant: &VariantId,
) -> Option<PlaneTable> {
    let plane = Plane::new(procedure, flow, step, variant)?;
    let regions = plane.regions();
    let mut columns = plane.columns();
    columns.retain(|column| !plane.domain(*column).is_empty());
    let bands: Vec<Range> = regions.iter().map(|region| region.level).collect();
    let mut levels = partition(&[plane.quantity.plausible], &bands);
    levels.reverse();
    let rows = levels.into_iter().map(|level| {
        let here = |region: &&Region| region.level.overlaps(&level);
        let cells = columns.iter().map(|column| {
            let regions = regions.iter().filter(|r| r.column == *column).filter(here);
            cell(&plane, regions.collect())
        });
        PlaneRow {
            level,
            cells: cells.collect(),
        }
    });
    Some(PlaneTable {
        procedure: procedure.id.clone(),
        step: step.id.clone(),
        variants: vec![variant.clone()],
        quantity: plane.quantity.id.clone(),
        unit: plane.quantity.unit,
        columns: columns
            .iter()
            .map(|column| column_name(*column).trim_matches('`').to_owned())
            .collect(),
        rows: rows.collect(),
    })
}

fn cell(plane: &Plane, regions: Vec<&Region>) -> Option<PlaneCell> {
    if regions.is_empty() {
        return None;
    }
    let rows: BTreeSet<usize> = regions
        .iter()
        .flat_map(|region| &region.rows)
        .copied()
        .collect();
    Some(PlaneCell {
        findings: rows
            .into_iter()
            .map(|row| plane.rows[row].id.clone())
            .collect(),
        overlap: regions.iter().any(|region| region.rows.len() > 1),
        hole: regions.iter().any(|region| region.rows.is_empty()),
    })
}

impl PlaneTable {
    fn same_but_variants(&self, other: &PlaneTable) -> bool {
        let without = |table: &PlaneTable| PlaneTable {
            variants: Vec::new(),
            ..table.clone()
        };
        without(self) == without(other)
    }
}

impl fmt::Display for PlaneCell {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let joint = if self.overlap { " + " } else { " / " };
        let mut names: Vec<&str> = self.findings.iter().map(|id| id.as_str()).collect();
        if self.hole {
            names.push("NOTHING");
        }
        f.write_str(&names.join(joint))
    }
}

impl fmt::Display for PlaneTable {
    /// `/` stands between findings that other readings or the first peak tell apart, `+` between
    /// those that overlap, `NOTHING` for a hole, and `-` where the behavior has no such level.
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let variants: Vec<&str> = self.variants.iter().map(VariantId::as_str).collect();
        writeln!(
            f,
            "{} / {} ({}), {} in {}",
            self.procedure,
            self.step,
            variants.join(", "),
            self.quantity,
            self.unit
        )?;
        let mut lines = vec![
            std::iter::once("level".to_owned())
                .chain(self.columns.iter().cloned())
                .collect::<Vec<String>>(),
        ];
        for row in &self.rows {
            let cells = row.cells.iter().map(|cell| match cell {
                None => "-".to_owned(),
                Some(cell) => cell.to_string(),
            });
            lines.push(
                std::iter::once(row.level.to_string())
                    .chain(cells)
                    .collect(),
            );
        }
        let width = |column: usize| lines.iter().map(|line| line[column].chars().count()).max();
        let widths: Vec<usize> = (0..=self.columns.len()).filter_map(width).collect();
        for line in &lines {
            let padded = line
                .iter()
                .zip(&widths)
                .map(|(text, width)| format!("{text:width$}"));
            let padded: Vec<String> = padded.collect();
            writeln!(f, "  {}", padded.join("  ").trim_end())?;
        }
        Ok(())
    }
}
