//! Everything of a procedure but its steps: identity, variants, tools, questions, quantities.

use indexmap::IndexMap;
use rust_decimal::Decimal;

use super::by_variant::ByVariant;
use super::model::{EntryQuestion, Procedure, QuantityDefinition, Variant};
use super::names::{EntryId, ProcedureId, QuantityId, VariantId};
use super::place::At;
use super::scope::Scope;
use super::source::{EntrySource, ProcedureSource, QuantitySource, VariantSource};
use crate::quantity::{Range, Unit};

impl Scope<'_> {
    /// The whole procedure, or `None` when anything in it was noted as wrong.
    pub fn procedure(&mut self, source: &ProcedureSource) -> Option<Procedure> {
        self.unique_ids(source);
        self.every_quantity_read(source);
        let id = self.identifier(&source.id);
        let title = self.plain(&source.title);
        let revision = self.plain(&source.revision);
        let locale = self.plain(&source.locale);
        let qualification = self.plain(&source.qualification);
        let variants = self.variants(&source.applies_to);
        let tools = self.each(&source.tools, |scope, tool| scope.plain(tool));
        let entry = self.each(&source.entry, Scope::entry);
        let quantities = self.each(&source.quantities, Scope::definition);
        let make_safe = self.text(&source.make_safe);
        let steps = self.all_steps(&source.steps);
        Some(Procedure {
            id: ProcedureId(id?),
            file: self.findings.file().to_owned(),
            title: title?,
            revision: revision?,
            locale: locale?,
            qualification: qualification?,
            variants: variants?,
            tools: tools?,
            entry: entry?,
            quantities: quantities?.into_iter().map(|q| (q.id.clone(), q)).collect(),
            make_safe: make_safe?,
            steps: steps?,
            texts: std::mem::take(&mut self.texts),
        })
        .filter(|_| self.findings.problems.is_empty())
    }

    /// Converts every item, also after one that is wrong.
    fn each<S, T>(
        &mut self,
        sources: &[S],
        convert: impl Fn(&mut Self, &S) -> Option<T>,
    ) -> Option<Vec<T>> {
        let converted: Vec<_> = sources.iter().map(|source| convert(self, source)).collect();
        converted.into_iter().collect()
    }

    fn unique_ids(&mut self, source: &ProcedureSource) {
        let groups: [(&str, Vec<&At<String>>); 4] = [
            ("variant", source.applies_to.iter().map(|v| &v.id).collect()),
            ("entry", source.entry.iter().map(|e| &e.id).collect()),
            (
                "quantity",
                source.quantities.iter().map(|q| &q.id).collect(),
            ),
            ("step", source.steps.iter().filter_map(|s| s.id()).collect()),
        ];
        for (kind, ids) in groups {
            let mut seen = IndexMap::new();
            for id in ids {
                self.unique(kind, id, &mut seen);
                self.identifier(id);
            }
        }
        if source.steps.iter().all(|s| s.id().is_none()) {
            self.findings.error(
                "no-steps",
                source.make_safe.place,
                "no step",
                "one or more",
                "write the work under `steps`",
            );
        }
    }

    /// A name of lower-case letters, digits and dashes.
    fn identifier(&mut self, id: &At<String>) -> Option<String> {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        if !id.value.is_empty() && id.value.chars().all(plain) && id.value != "default" {
            return Some(id.value.clone());
        }
        let (found, remedy) = match id.value.as_str() {
            "default" => (
                "`default`, which stands for every variant".to_owned(),
                "rename it",
            ),
            "" => ("an empty name".to_owned(), "give it a name"),
            other => (
                format!("`{other}`"),
                "write it with lower-case letters, digits and dashes",
            ),
        };
        self.findings.error(
            "identifier",
            id.place,
            found,
            "a name such as `heater-bank-2`",
            remedy,
        );
        None
    }

    fn variants(&mut self, sources: &[VariantSource]) -> Option<IndexMap<VariantId, Variant>> {
        let variants = self.each(sources, Scope::one_variant)?;
        Some(variants.into_iter().map(|v| (v.id.clone(), v)).collect())
    }

    fn one_variant(&mut self, source: &VariantSource) -> Option<Variant> {
        let name = self.wording(source.name.place, &source.name.value);
        let supply = source.supply.as_ref();
        let voltage = self.supply_range(supply.and_then(|s| s.voltage.as_ref()));
        let frequency = self.supply_range(supply.and_then(|s| s.frequency.as_ref()));
        Some(Variant {
            id: VariantId(source.id.value.clone()),
            name: name?,
            supply_voltage: voltage?,
            supply_frequency: frequency?,
        })
    }

    fn supply_range(&mut self, range: Option<&At<String>>) -> Option<Option<Range>> {
        match range {
            None => Some(None),
            Some(range) => self.range(range.place, &range.value).map(Some),
        }
    }

    fn entry(&mut self, source: &EntrySource) -> Option<EntryQuestion> {
        Some(EntryQuestion {
            id: EntryId(source.id.value.clone()),
            place: source.id.place,
            ask: self.text(&source.ask)?,
            answer: source.answer.value,
        })
    }

    fn definition(&mut self, source: &QuantitySource) -> Option<QuantityDefinition> {
        let name = self.plain(&source.name);
        let unit = self.unit(&source.unit);
        let plausible = self.range(source.plausible.place, &source.plausible.value);
        let resolution = self.positive(&source.resolution);
        let zero_band = self.positive(&source.zero_band);
        let limits = self.optional_ranges(&source.limits);
        let limits = limits
            .zip(plausible)
            .filter(|(limits, plausible)| self.limits_plausible(source, limits, *plausible));
        Some(QuantityDefinition {
            id: QuantityId(source.id.value.clone()),
            place: source.id.place,
            name: name?,
            unit: unit?,
            plausible: plausible?,
            resolution: resolution?,
            zero_band: zero_band?,
            limits: limits?.0,
        })
    }

    /// Limits beyond what is plausible would never be judged by: what is not plausible is asked about.
    fn limits_plausible(
        &mut self,
        source: &QuantitySource,
        limits: &ByVariant<Option<Range>>,
        plausible: Range,
    ) -> bool {
        let beyond = |range: &&Range| {
            let mut of_limits = ends(**range).into_iter().flatten();
            of_limits.any(|end| !plausible.contains(end) && !ends(plausible).contains(&Some(end)))
        };
        let beyond = limits.values().flatten().find(beyond);
        if let Some(range) = beyond {
            self.findings.error(
                "limits-not-plausible",
                source
                    .limits
                    .as_ref()
                    .map_or(source.id.place, |limits| limits.place),
                format!("limits `{range}` of `{}`", source.id.value),
                format!("limits inside what is plausible, `{plausible}`"),
                "widen `plausible`, or correct the limits",
            );
        }
        beyond.is_none()
    }

    /// A quantity that no step reads is a leftover or a misspelled reference.
    fn every_quantity_read(&mut self, source: &ProcedureSource) {
        let read: Vec<&str> = source
            .steps
            .iter()
            .flat_map(|step| step.quantities())
            .collect();
        for quantity in &source.quantities {
            if !read.contains(&quantity.id.value.as_str()) {
                self.findings.error(
                    "quantity-never-read",
                    quantity.id.place,
                    format!("quantity `{}` that no step reads", quantity.id.value),
                    "a read, watch, compute or proof of it",
                    "read it or take it out",
                );
            }
        }
    }

    fn unit(&mut self, symbol: &At<String>) -> Option<Unit> {
        let unit = symbol.value.trim().parse::<Unit>().ok();
        if unit.is_none() {
            self.findings.error(
                "unit",
                symbol.place,
                format!("unit `{}`", symbol.value),
                "a unit symbol such as `ohm`, `mA`, `kPa` or `degC`",
                "write the symbol of the unit the meter shows",
            );
        }
        unit
    }
}

fn ends(range: Range) -> [Option<Decimal>; 2] {
    [range.low().value(), range.high().value()]
}
