//! The plane of a diagnose step for one variant: behaviors beside each other, levels up, and the
//! conditions of the findings as further axes.
//!
//! Exact: every axis is cut at the ends of every range that a finding names, so that within a cell
//! each finding either holds everywhere or nowhere. Not looked at are readings that show nothing
//! ("no reading"), and values that a read step's own branches lead elsewhere.

use super::cells::{Cell, branch_taken, cuts, holds, partition};
use super::flow::Flow;
use crate::procedure::{
    BehaviorKind, Branch, BranchWhen, FindingRow, Procedure, QuantityDefinition, Step, StepId,
    StepKind, VariantId,
};
use crate::quantity::{Bound, Range};

/// What the series does, as far as the plane tells apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Column {
    /// One reading and no series.
    Single,
    Behavior(BehaviorKind),
}

/// All columns of a series, in the order of the table.
pub(super) const BEHAVIORS: [BehaviorKind; 6] = [
    BehaviorKind::NearZero,
    BehaviorKind::Steady,
    BehaviorKind::Settles,
    BehaviorKind::Unsteady,
    BehaviorKind::Falling,
    BehaviorKind::Rising,
];

/// A condition that a cell stands for: which reading, and what it shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Condition {
    /// `None`: the first peak.
    pub step: Option<StepId>,
    /// `None`: there is no first peak.
    pub shows: Option<Cell>,
}

/// One region of a column in which the same findings hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Region {
    pub column: Column,
    pub level: Range,
    /// The conditions under which it is so; empty: under all.
    pub when: Vec<Condition>,
    /// The rows that hold, by position.
    pub rows: Vec<usize>,
}

pub(super) struct Plane<'a> {
    pub quantity: &'a QuantityDefinition,
    pub rows: Vec<&'a FindingRow>,
    variant: &'a VariantId,
    judged: &'a StepId,
    limits: Option<Range>,
    levels: Vec<Range>,
    single: bool,
    axes: Vec<Axis>,
}

/// A condition axis: what a reading may show, cut into cells.
struct Axis {
    step: Option<StepId>,
    cells: Vec<Option<Cell>>,
    limits: Option<Range>,
}

/// Cells of condition axes looked at for one level; beyond, the table is too large to check.
const MOST_COMBINATIONS: usize = 20_000;

impl<'a> Plane<'a> {
    /// The plane of a diagnose step; `None` when it does not judge a value, or has so many
    /// conditions that it cannot be checked.
    pub fn new(
        procedure: &'a Procedure,
        flow: &Flow,
        step: &'a Step,
        variant: &'a VariantId,
    ) -> Option<Plane<'a>> {
        let StepKind::Diagnose { of, findings } = &step.kind else {
            return None;
        };
        let position = flow.position(&step.id)?;
        let read = Reading::of(procedure, flow, of, variant)?;
        let rows: Vec<&FindingRow> = findings
            .iter()
            .filter(|row| row.only.as_ref().is_none_or(|only| only.contains(variant)))
            .collect();
        let cells = read.cells(flow, position, std::iter::empty());
        let levels = cells.into_iter().filter_map(|cell| match cell {
            Cell::Values(range) => Some(range),
            Cell::OverRange | Cell::Short => None,
        });
        let mut plane = Plane {
            quantity: read.quantity,
            variant,
            judged: of,
            limits: read.limits,
            levels: levels.collect(),
            single: read.single,
            axes: Vec::new(),
            rows,
        };
        plane.axes = plane.condition_axes(procedure, flow, position)?;
        Some(plane)
    }

    fn condition_axes(
        &self,
        procedure: &Procedure,
        flow: &Flow,
        position: usize,
    ) -> Option<Vec<Axis>> {
        let mut axes: Vec<Axis> = Vec::new();
        for condition in self.rows.iter().flat_map(|row| &row.readings) {
            let known = axes
                .iter()
                .any(|axis| axis.step.as_ref() == Some(&condition.step));
            if known || condition.step == *self.judged {
                continue;
            }
            let read = Reading::of(procedure, flow, &condition.step, self.variant)?;
            let whens = self.rows.iter().flat_map(|row| &row.readings);
            let whens = whens.filter(|c| c.step == condition.step).map(|c| c.when);
            let cells = read.cells(flow, position, whens);
            axes.push(Axis {
                step: Some(condition.step.clone()),
                cells: cells.into_iter().map(Some).collect(),
                limits: read.limits,
            });
        }
        let peaks: Vec<Range> = self
            .rows
            .iter()
            .filter_map(|row| *row.first_peak.get(self.variant))
            .collect();
        if !peaks.is_empty() {
            let cells = partition(&[self.quantity.plausible], &peaks);
            let cells = cells.into_iter().map(|range| Some(Cell::Values(range)));
            axes.push(Axis {
                step: None,
                cells: std::iter::once(None).chain(cells).collect(),
                limits: None,
            });
        }
        let combinations: usize = axes.iter().map(|axis| axis.cells.len().max(1)).product();
        (combinations <= MOST_COMBINATIONS).then_some(axes)
    }

    /// The columns of the plane.
    pub fn columns(&self) -> Vec<Column> {
        match self.single {
            true => vec![Column::Single],
            false => BEHAVIORS.into_iter().map(Column::Behavior).collect(),
        }
    }

    fn zero(&self) -> Option<Range> {
        let band = self.quantity.counts_as_zero()?;
        Range::closed(-band, band).ok()
    }

    /// The levels a column can have. Near zero is what lies in the zero band, and what is steady
    /// there is near zero.
    pub fn domain(&self, column: Column) -> Vec<Range> {
        let levels = self.levels.iter();
        match (column, self.zero()) {
            (Column::Behavior(BehaviorKind::NearZero), None) => Vec::new(),
            (Column::Behavior(BehaviorKind::NearZero), Some(zero)) => {
                levels.filter_map(|level| level.intersect(&zero)).collect()
            }
            (Column::Behavior(BehaviorKind::Steady), Some(zero)) => {
                levels.flat_map(|level| level.subtract(&zero)).collect()
            }
            _ => self.levels.clone(),
        }
    }

    /// The levels at which a row can hold in a column, whatever its other conditions.
    pub fn spans(&self, row: &FindingRow, column: Column) -> Vec<Range> {
        let mut spans = match self.accepts(row, column) {
            Some(range) => vec![range],
            None => return Vec::new(),
        };
        if let Some(level) = row.level.get(self.variant) {
            spans = within(&spans, &[*level]);
        }
        for condition in row.readings.iter().filter(|c| c.step == *self.judged) {
            spans = within(&spans, &holds(condition.when, self.limits).values);
        }
        spans
    }

    /// The levels at which a row takes the column's behavior.
    fn accepts(&self, row: &FindingRow, column: Column) -> Option<Range> {
        let takes = |kind| row.behaviors.contains(&kind);
        match column {
            _ if row.behaviors.is_empty() => Some(Range::ALL),
            Column::Behavior(kind) => takes(kind).then_some(Range::ALL),
            Column::Single if takes(BehaviorKind::Steady) || takes(BehaviorKind::Settles) => {
                Some(Range::ALL)
            }
            Column::Single if takes(BehaviorKind::NearZero) => self.zero(),
            Column::Single => None,
        }
    }

    /// Every cell of the plane with the rows that hold there; `when` names one cell of each
    /// condition axis.
    pub fn regions(&self) -> Vec<Region> {
        let mut regions = Vec::new();
        for column in self.columns() {
            let spans: Vec<Vec<Range>> = self
                .rows
                .iter()
                .map(|row| self.spans(row, column))
                .collect();
            let levels = partition(&self.domain(column), &spans.concat());
            let combinations = self.combinations(column);
            for level in levels {
                let at_level = |row: &usize| spans[*row].iter().any(|s| s.overlaps(&level));
                let candidates: Vec<usize> = (0..self.rows.len()).filter(at_level).collect();
                for when in &combinations {
                    let rows = candidates.iter().copied();
                    regions.push(Region {
                        column,
                        level,
                        when: when.clone(),
                        rows: rows.filter(|row| self.allows(*row, when)).collect(),
                    });
                }
            }
        }
        regions
    }

    /// One cell of each axis, in every way. A first peak belongs to a series that settles.
    fn combinations(&self, column: Column) -> Vec<Vec<Condition>> {
        let has_peak = column == Column::Behavior(BehaviorKind::Settles);
        let mut combinations = vec![Vec::new()];
        for axis in &self.axes {
            if axis.step.is_none() && !has_peak {
                continue;
            }
            let mut longer = Vec::new();
            for combination in &combinations {
                for cell in &axis.cells {
                    let mut with: Vec<Condition> = combination.clone();
                    with.push(Condition {
                        step: axis.step.clone(),
                        shows: *cell,
                    });
                    longer.push(with);
                }
            }
            combinations = longer;
        }
        combinations
    }

    /// Whether the row's conditions hold where the readings show this.
    fn allows(&self, row: usize, when: &[Condition]) -> bool {
        let row = self.rows[row];
        when.iter()
            .all(|condition| match (&condition.step, condition.shows) {
                (None, None) | (Some(_), None) => true,
                (None, Some(cell)) => row
                    .first_peak
                    .get(self.variant)
                    .is_none_or(|peak| holds(BranchWhen::Within(peak), None).in_cell(cell)),
                (Some(step), Some(cell)) => row
                    .readings
                    .iter()
                    .filter(|c| c.step == *step)
                    .all(|c| holds(c.when, self.axis_limits(step)).in_cell(cell)),
            })
    }

    fn axis_limits(&self, step: &StepId) -> Option<Range> {
        let axis = self
            .axes
            .iter()
            .find(|axis| axis.step.as_ref() == Some(step));
        axis.and_then(|axis| axis.limits)
    }
}

/// A step that gives a value.
struct Reading<'a> {
    quantity: &'a QuantityDefinition,
    limits: Option<Range>,
    branches: &'a [Branch],
    single: bool,
    /// Worked out, and so always a number.
    computed: bool,
    position: usize,
}

impl<'a> Reading<'a> {
    fn of(
        procedure: &'a Procedure,
        flow: &Flow,
        step: &StepId,
        variant: &VariantId,
    ) -> Option<Reading<'a>> {
        let position = flow.position(step)?;
        let (quantity, branches, single) = match &procedure.steps[position].kind {
            StepKind::Read {
                quantity, branches, ..
            }
            | StepKind::Compute {
                quantity, branches, ..
            } => (quantity, branches.as_slice(), true),
            StepKind::Watch { quantity, .. } => (quantity, [].as_slice(), false),
            _ => return None,
        };
        let quantity = procedure.quantities.get(quantity)?;
        Some(Reading {
            quantity,
            limits: *quantity.limits.get(variant),
            branches,
            single,
            computed: matches!(procedure.steps[position].kind, StepKind::Compute { .. }),
            position,
        })
    }

    /// What the reading may show when the step at `position` is reached: cut where the branches and
    /// the conditions change, without what the branches lead elsewhere.
    fn cells(
        &self,
        flow: &Flow,
        position: usize,
        whens: impl Iterator<Item = BranchWhen>,
    ) -> Vec<Cell> {
        let whens = whens.chain(self.branches.iter().map(|branch| branch.when));
        let values = partition(&[self.quantity.plausible], &cuts(whens, self.limits));
        let values = values.into_iter().map(Cell::Values);
        let without_number = match self.computed {
            true => [].as_slice(),
            false => &[Cell::OverRange, Cell::Short],
        };
        let cells = values.chain(without_number.iter().copied());
        let arrives = |cell: &Cell| match branch_taken(self.branches, *cell, self.limits) {
            Some(branch) => flow.branch_leads_to(branch, self.position, position),
            None => true,
        };
        cells.filter(arrives).collect()
    }
}

/// What lies in any of both.
fn within(spans: &[Range], others: &[Range]) -> Vec<Range> {
    let pairs = spans
        .iter()
        .flat_map(|span| others.iter().map(move |other| (span, other)));
    pairs
        .filter_map(|(span, other)| span.intersect(other))
        .collect()
}

/// Whether one range goes on exactly where the other ends.
pub(super) fn touches(low: &Range, high: &Range) -> bool {
    match (low.high(), high.low()) {
        (Bound::Closed(end), Bound::Open(start)) | (Bound::Open(end), Bound::Closed(start)) => {
            end == start
        }
        _ => false,
    }
}
