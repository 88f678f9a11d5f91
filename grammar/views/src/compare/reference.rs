//! What drugs, areas, pumps, giving sets, solutions, ingredients and sets state. Every part
//! is taken apart by name, so that a new one cannot be passed over.

use gutta_protocol::measures::amount_unit;
use gutta_protocol::model::drug::{Drug, Supply, Ties};
use gutta_protocol::model::ingredient::Ingredient;
use gutta_protocol::model::reference::{
    Area, ContainedSubstance, GivingSet, Pump, PumpRange, Solution,
};
use gutta_protocol::model::set::{Load, LoadOf, Set};
use gutta_protocol::model::size::DrugKind;
use gutta_quantity::{Atom, Exact, Style, Unit, units};
use smol_str::SmolStr;

use super::limits::{of_bound, of_prohibition};
use super::order::patients;
use super::statement::{Bearing, Statement, StatementValue};

pub(super) fn drug(drug: &Drug, style: Style) -> Vec<Statement> {
    let Drug {
        name: _,
        also,
        classes,
        made: _,
        dosed_in,
        supplied,
        with,
        not_with,
        not_with_span: _,
        only_by,
        limits,
        prohibitions,
        equals,
        contains,
        osmolarity,
        hang_time,
        high_alert,
        problems: _,
        whole: _,
    } = drug;
    let mut all = Vec::new();
    if !also.is_empty() {
        all.push(Statement::new("also", names(also), Bearing::TELLS));
    }
    if !classes.is_empty() {
        all.push(Statement::new("class", names(classes), Bearing::LEAST));
    }
    if let Some((unit, _)) = dosed_in {
        all.push(Statement::words(
            "dosed in",
            style.unit(*unit),
            Bearing::ACTS,
        ));
    }
    if let Some(Supply {
        strength,
        kind,
        container,
        span: _,
    }) = supplied
    {
        let said = StatementValue::Number(strength.clone(), strength_unit(*kind));
        all.push(Statement::new("supplied strength", said, Bearing::ACTS));
        let volume = container.as_ref();
        all.extend(volume.map(|volume| in_ml("container", volume, Bearing::ACTS)));
    }
    if let Some((with, _)) = with {
        all.push(Statement::new("with", names(with), Bearing::MOST));
    }
    if !not_with.is_empty() {
        all.push(Statement::new("not with", names(not_with), Bearing::LEAST));
    }
    if let Some((routes, _)) = only_by {
        let routes = routes.iter().map(|route| route.phrase().to_owned());
        let said = StatementValue::Set(routes.collect());
        all.push(Statement::new("only by", said, Bearing::MOST));
    }
    all.extend(limits.iter().map(|bound| of_bound(bound, style)));
    all.extend(
        prohibitions
            .iter()
            .map(|prohibition| of_prohibition(prohibition, style)),
    );
    ties(&mut all, equals);
    brings(
        &mut all,
        contains,
        osmolarity.as_ref().map(|(value, _)| value),
    );
    if let Some((time, _)) = hang_time {
        all.push(Statement::time("hang time", time, Bearing::MOST));
    }
    if *high_alert {
        all.push(Statement::new(
            "high-alert",
            StatementValue::So,
            Bearing::GUARDS,
        ));
    }
    all
}

pub(super) fn ingredient(ingredient: &Ingredient, style: Style) -> Vec<Statement> {
    let Ingredient {
        name: _,
        limits,
        equals,
        problems: _,
        whole: _,
    } = ingredient;
    let mut all: Vec<_> = limits.iter().map(|bound| of_bound(bound, style)).collect();
    ties(&mut all, equals);
    all
}

/// What is said to be the same amount.
fn ties(all: &mut Vec<Statement>, equals: &Ties) {
    for ways in equals {
        let mut ways = ways.clone();
        ways.sort_by_key(|(kind, _)| *kind);
        let ways = ways
            .into_iter()
            .map(|(kind, base)| (base, amount_unit(kind)));
        let said = StatementValue::Numbers(ways.collect());
        all.push(Statement::new("equals", said, Bearing::ACTS));
    }
}

pub(super) fn area(area: &Area) -> Vec<Statement> {
    let Area {
        name: _,
        weight,
        surface,
        age,
        pump,
        giving_set,
        ceiling,
        bolus_ceiling,
        fluid,
        problems: _,
        whole: _,
    } = area;
    let mut all = Vec::new();
    patients(&mut all, weight.as_ref(), "weight", units::KG);
    patients(&mut all, surface.as_ref(), "surface", units::M2);
    patients(&mut all, age.as_ref(), "age", units::DAYS);
    let named = [("pump", pump), ("giving set", giving_set)];
    for (what, name) in named {
        let name = name.as_ref();
        all.extend(name.map(|name| Statement::words(what, name.as_str(), Bearing::ACTS)));
    }
    let bounds = [("ceiling", ceiling), ("bolus ceiling", bolus_ceiling)];
    for (what, bound) in bounds {
        let bound = bound.as_ref();
        all.extend(bound.map(|bound| Statement::size(what, bound, Bearing::MOST)));
    }
    if let Some((extent, form)) = fluid {
        let unit = gutta_protocol::model::set::fluid_unit(*form);
        ends(&mut all, "fluid", [&extent.low, &extent.high], unit);
    }
    all
}

pub(super) fn pump(pump: &Pump) -> Vec<Statement> {
    let Pump {
        name: _,
        flows,
        volume,
        bolus,
        problems: _,
        whole: _,
    } = pump;
    let mut all = Vec::new();
    for (index, range) in flows.iter().enumerate() {
        let PumpRange {
            low,
            high,
            step,
            unit,
            span: _,
        } = range;
        let of = match flows.len() {
            1 => "flow".to_owned(),
            _ => format!("flow, range {}", index + 1),
        };
        ends(
            &mut all,
            &of,
            [&Some(low.clone()), &Some(high.clone())],
            *unit,
        );
        all.push(match step {
            Some(step) => {
                let said = StatementValue::Number(step.clone(), *unit);
                Statement::new(format!("{of}, in steps of"), said, Bearing::ACTS)
            }
            None => Statement::new(
                format!("{of}, without steps"),
                StatementValue::So,
                Bearing::ACTS,
            ),
        });
    }
    let volume = volume.as_ref();
    all.extend(volume.map(|(most, _)| in_ml("volume up to", most, Bearing::MOST)));
    if let Some((most, _)) = bolus {
        let said = StatementValue::Number(most.clone(), units::ML_PER_H);
        all.push(Statement::new("bolus up to", said, Bearing::MOST));
    }
    all
}

pub(super) fn giving_set(set: &GivingSet) -> Vec<Statement> {
    let GivingSet {
        name: _,
        drops,
        priming,
        problems: _,
        whole: _,
    } = set;
    let mut all = Vec::new();
    if let Some((drops, _)) = drops {
        let said = StatementValue::Number(drops.clone(), Unit::over(Atom::Drops, Atom::ML));
        all.push(Statement::new("drops", said, Bearing::ACTS));
    }
    let priming = priming.as_ref();
    all.extend(priming.map(|(volume, _)| in_ml("priming", volume, Bearing::ACTS)));
    all
}

pub(super) fn solution(solution: &Solution) -> Vec<Statement> {
    let Solution {
        name: _,
        contains,
        osmolarity,
        problems: _,
        whole: _,
    } = solution;
    let mut all = Vec::new();
    brings(
        &mut all,
        contains,
        osmolarity.as_ref().map(|(value, _)| value),
    );
    all
}

pub(super) fn set(set: &Set) -> Vec<Statement> {
    let Set {
        name: _,
        area,
        weight,
        surface,
        age,
        include,
        lines,
        loads,
        problems: _,
        whole: _,
    } = set;
    let mut all = Vec::new();
    let area = area.as_ref();
    all.extend(area.map(|area| Statement::words("area", area.value.as_str(), Bearing::ACTS)));
    patients(&mut all, weight.as_ref(), "weight", units::KG);
    patients(&mut all, surface.as_ref(), "surface", units::M2);
    patients(&mut all, age.as_ref(), "age", units::DAYS);
    for order in include {
        all.push(Statement::new(
            format!("includes {}", order.value),
            StatementValue::So,
            Bearing::ACTS,
        ));
    }
    for (line, members) in lines {
        let members = members.iter().map(|member| member.value.to_string());
        let said = StatementValue::Set(members.collect());
        all.push(Statement::new(
            format!("line {}", line.value),
            said,
            Bearing::ACTS,
        ));
    }
    for load in loads {
        let Load {
            of,
            extent,
            form: _,
            unit,
            span: _,
        } = load;
        let of = match of {
            LoadOf::Fluid => "fluid",
            LoadOf::Substance(name) => name.as_str(),
        };
        ends(&mut all, of, [&extent.low, &extent.high], *unit);
    }
    all
}

fn names(names: &[SmolStr]) -> StatementValue {
    StatementValue::Set(names.iter().map(ToString::to_string).collect())
}

/// Both ends of what is allowed.
fn ends(all: &mut Vec<Statement>, of: &str, [low, high]: [&Option<Exact>; 2], unit: Unit) {
    let sides = [
        (low, "from", Bearing::LEAST),
        (high, "up to", Bearing::MOST),
    ];
    for (end, word, bearing) in sides {
        all.extend(end.as_ref().map(|end| {
            Statement::new(
                format!("{of} {word}"),
                StatementValue::Number(end.clone(), unit),
                bearing,
            )
        }));
    }
}

fn brings(all: &mut Vec<Statement>, contains: &[ContainedSubstance], osmolarity: Option<&Exact>) {
    for content in contains {
        let ContainedSubstance {
            substance,
            strength,
            kind,
            span: _,
        } = content;
        let said = StatementValue::Number(strength.clone(), strength_unit(*kind));
        all.push(Statement::new(
            format!("contains {substance}"),
            said,
            Bearing::ACTS,
        ));
    }
    all.extend(osmolarity.map(|osmolarity| {
        let said = StatementValue::Number(osmolarity.clone(), Unit::over(Atom::MOsm, Atom::L));
        Statement::new("osmolarity", said, Bearing::ACTS)
    }));
}

fn in_ml(what: &str, volume: &Exact, bearing: Bearing) -> Statement {
    Statement::new(
        what,
        StatementValue::Number(volume.clone(), units::ML),
        bearing,
    )
}

fn strength_unit(kind: DrugKind) -> Unit {
    match kind {
        DrugKind::Mass => units::MG_PER_ML,
        DrugKind::Amount => units::MMOL_PER_ML,
        DrugKind::Equivalents => units::MEQ_PER_ML,
        DrugKind::Activity => units::UNITS_PER_ML,
    }
}
