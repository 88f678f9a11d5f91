#![doc = include_str!("title_differs.md")]

use gutta_notation::{Fact, Span, StanzaKind, read_text};
use gutta_protocol::derive::View;
use gutta_quantity::{Atom, Dimension, Exact, Quantity};

use crate::words::all_of;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.title-differs",
    severity: Severity::Information,
    locked: false,
    page: include_str!("title_differs.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let stanza = context.stanza();
    let Some(title) = &stanza.title else { return };
    if stanza.kind == StanzaKind::Specimen || !stanza.is_whole() {
        return;
    }
    let style = context.workspace.house.style;
    let text = context.text(title.span);
    let all = read_text(text, style).quantities;
    let said = all.iter().filter(|(_, quantity)| is_of_the_drug(quantity));
    let said: Vec<_> = said.cloned().collect();
    if said.is_empty() {
        return;
    }
    let held = held(context);
    let mut seen: Vec<Dimension> = Vec::new();
    let mut differ = Vec::new();
    let mut lines = Vec::new();
    for (_, quantity) in &said {
        let dimension = quantity.dimension();
        if seen.contains(&dimension) {
            continue;
        }
        seen.push(dimension);
        let alike: Vec<_> = held
            .iter()
            .filter(|held| held.dimension() == dimension)
            .collect();
        let mut of_title = said
            .iter()
            .filter(|(_, said)| said.dimension() == dimension);
        // Of several numbers any one that is the order's is enough.
        let met = of_title.clone().any(|(_, said)| {
            alike.iter().any(|held| same(said, held)) || is_strength(said, &all, &held)
        });
        if met || alike.is_empty() {
            continue;
        }
        differ.extend(
            of_title
                .next()
                .map(|(at, _)| format!("`{}`", at.text(text))),
        );
        lines.extend(
            alike
                .first()
                .map(|held| style.quantity_shown(held).to_string()),
        );
    }
    if differ.is_empty() {
        return;
    }
    let message = format!(
        "The title says {}; the order says {}.",
        all_of(&differ),
        all_of(&lines)
    );
    findings.push(context.finding(&RULE, title.span, message).note(
        "Find out which is right: the title is read first, but the lines are what is given.",
    ));
}

/// Drug, drug or fluid per time, or drug per volume: not plain volumes (of a line,
/// a bag, a drop), weights, ages, times or shares.
fn is_of_the_drug(quantity: &Quantity) -> bool {
    let dimension = quantity.dimension();
    let top = quantity.unit.top;
    let percent = top == Some(Atom::Percent);
    let weight = top == Some(Atom::Kg) && quantity.unit.per == [None, None];
    let none = [
        Dimension::VOLUME,
        Dimension::DROPS,
        Dimension::TIME,
        Dimension::SURFACE,
        Dimension::OSMOLES,
    ];
    let of_blood = quantity.unit.per[0] == Some(Atom::L);
    !percent && !weight && !of_blood && !none.contains(&dimension)
}

/// What the lines of the order say, and what plainly follows from them.
fn held(context: &OrderContext<'_>) -> Vec<Quantity> {
    let stanza = context.stanza();
    let style = context.workspace.house.style;
    let lines = stanza.lines.iter().filter(|line| {
        !matches!(
            line.fact,
            Fact::Words { .. } | Fact::Waive(_) | Fact::Patient { .. } | Fact::Phase { .. }
        )
    });
    let mut held: Vec<_> = lines
        .flat_map(|line| read_text(context.text(line.span), style).quantities)
        .map(|(_, quantity)| quantity)
        .collect();
    if let Ok(values) = &context.analysis.values {
        held.extend(values.views.iter().flat_map(derived));
    }
    if let Some(drug) = &context.analysis.order.drug
        && let Some(supply) = &drug.value.supplied
        && let Some(top) = gutta_protocol::measures::amount_unit(supply.kind).top
    {
        let unit = gutta_quantity::Unit::over(top, Atom::ML);
        held.push(Quantity::from_base(supply.strength.clone(), unit));
    }
    held
}

/// Strengths, amounts, flows and doses that are one number for all patients.
fn derived(view: &View) -> Vec<Quantity> {
    use gutta_protocol::measures::amount_unit;
    use gutta_quantity::{Unit, units};
    let mut held = Vec::new();
    for phase in &view.phases {
        if let Some(drug) = &phase.bag.drug
            && let Some(top) = amount_unit(drug.kind).top
        {
            let strength = Unit::over(top, Atom::ML);
            let all = [(&drug.strength, strength), (&drug.amount, Unit::new(top))];
            for (curve, unit) in all {
                let value = curve.is_constant().cloned();
                held.extend(value.map(|value| Quantity::from_base(value, unit)));
            }
            for dose in phase.runs.iter().filter_map(|run| run.dose.as_ref()) {
                let value = dose.is_constant().cloned();
                let unit = Unit::over(top, Atom::H);
                held.extend(value.map(|value| Quantity::from_base(value, unit)));
            }
        }
        for run in &phase.runs {
            for (curve, unit) in [(&run.flow, units::ML_PER_H), (&run.volume, units::ML)] {
                let value = curve.is_constant().cloned();
                held.extend(value.map(|value| Quantity::from_base(value, unit)));
            }
        }
        let volume = phase.bag.volume.is_constant().cloned();
        held.extend(volume.map(|value| Quantity::from_base(value, units::ML)));
    }
    held
}

/// Whether an amount and a volume of the title together are a strength that the
/// order or the ampoule has: `4 mg/4 mL`, `80 micrograms per 1 mL`.
fn is_strength(amount: &Quantity, all: &[(Span, Quantity)], held: &[Quantity]) -> bool {
    let volumes = all.iter().map(|(_, quantity)| quantity);
    let mut volumes = volumes.filter(|quantity| quantity.dimension() == Dimension::VOLUME);
    let dimension = amount.dimension().minus(Dimension::VOLUME);
    volumes.any(|volume| {
        let strength = amount.base().checked_div(&volume.base());
        strength.is_some_and(|strength| {
            let of_kind = held.iter().filter(|held| held.dimension() == dimension);
            of_kind
                .map(Quantity::base)
                .any(|held| near(&strength, &held))
        })
    })
}

/// The same, as far as a title is rounded: to a hundredth.
fn same(one: &Quantity, other: &Quantity) -> bool {
    near(&one.base(), &other.base())
}

fn near(one: &Exact, other: &Exact) -> bool {
    (one - other).abs() <= &other.abs() * &Exact::ten_to(-2)
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    fn said(title: &str, lines: &str) -> Vec<String> {
        let text = format!("use \"tarnwick.gtt\"\n\norder a \"{title}\"\n{lines}");
        let found = findings(&text).into_iter();
        let found = found.filter(|finding| finding.rule.name == "text.title-differs");
        found.map(|finding| finding.message).collect()
    }

    const NORADRENALINE: &str = "  drug noradrenaline\n  area adult-icu\n  route central vein\n  \
        mix 8 mg made up to 50 mL with glucose-5\n  run all at 0.05 mcg/kg/min\n  then renew\n";
    const HEPARIN: &str = "  drug heparin\n  area adult-icu\n  route central vein\n  \
        mix 20,000 units made up to 50 mL with saline\n  run all at 2.5 mL/h\n  then renew\n";

    #[test]
    fn another_amount_or_dose() {
        assert_eq!(
            said(
                "Noradrenaline 4 mg in 50 mL, start 0.5 mcg/kg/min",
                NORADRENALINE
            ),
            [
                "The title says `4 mg` and `0.5 mcg/kg/min`; the order says 8 mg and 0.05 mcg/kg/min."
            ]
        );
        assert_eq!(
            said("Heparin 2,000 units/50 mL", HEPARIN),
            ["The title says `2,000 units`; the order says 20,000 units."]
        );
        assert_eq!(
            said("Heparin 40 units/mL", HEPARIN),
            ["The title says `40 units/mL`; the order says 400 units/mL."]
        );
    }

    #[test]
    fn the_same_or_nothing_of_the_kind() {
        for title in [
            "Noradrenaline",
            "Noradrenaline, single strength, adults 40 to 150 kg",
            "Noradrenaline 8 mg in 50 mL (160 mcg/mL), from 0.05 mcg/kg/min",
            "Noradrenaline 4 or 8 mg in 50 mL",
            "Noradrenaline 4 mg/4 mL, double strength",
            "Noradrenaline 8,000 mcg over 24 h",
        ] {
            assert_eq!(said(title, NORADRENALINE), [""; 0], "{title}");
        }
        for title in ["Heparin 1,000 units/h", "Heparin 1000 units/mL, 2.5 mL/h"] {
            assert_eq!(said(title, HEPARIN), [""; 0], "{title}");
        }
    }
}
