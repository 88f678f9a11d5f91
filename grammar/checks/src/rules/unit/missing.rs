#![doc = include_str!("missing.md")]

use gutta_notation::{Edit, Fact, MarkKind, StanzaKind};
use gutta_protocol::Resolved;
use gutta_quantity::Unit;

use crate::words::{any_of, quoted};
use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "unit.missing",
    severity: Severity::Error,
    locked: false,
    page: include_str!("missing.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::MissingUnit { fits } = &context.mark.kind else {
        return None;
    };
    let number = context.marked();
    let mut choices: Vec<_> = fits.iter().copied().zip(&context.mark.fixes).collect();
    match drug(context) {
        Drug::None => fluid_first(&mut choices),
        Drug::DosedIn(unit) => dosed_first(&mut choices, unit),
        Drug::Unknown => {}
    }
    if !has_drops(context) {
        choices.retain(|(unit, _)| !unit.dimension().is_drip());
    }
    let style = context.style();
    let units = choices.iter().map(|(unit, _)| style.unit(*unit));
    let units: Vec<_> = units.collect();
    let fitting = if units.is_empty() {
        String::new()
    } else {
        format!(" Here {} would fit.", any_of(&quoted(&units)))
    };
    let mut finding = context
        .report(&RULE, format!("`{number}` has no unit.{fitting}"))
        .note("Each reader supplies the unit that they are used to. Take the unit from the source: one that fits may still be wrong.");
    finding.fixes = choices
        .iter()
        .map(|(unit, fix)| context.replace(fix.span, format!(" {}", style.unit(*unit))))
        .collect();
    Some(finding)
}

/// Whether the order may be given in drops: they say nothing without a giving
/// set.
fn has_drops(context: &MarkContext<'_>) -> bool {
    let stanza = context.stanza();
    let of_order = matches!(stanza.kind, StanzaKind::Order | StanzaKind::Specimen);
    let mut lines = stanza.lines.iter();
    !of_order || lines.any(|line| matches!(line.fact, Fact::GivingSet(_) | Fact::Unreadable))
}

/// What the stanza gives.
enum Drug {
    /// A plain fluid.
    None,
    /// A drug whose doses are given in this unit.
    DosedIn(Unit),
    /// A drug of which no more is known; or it is no order.
    Unknown,
}

fn drug(context: &MarkContext<'_>) -> Drug {
    let stanza = context.stanza();
    if !matches!(stanza.kind, StanzaKind::Order | StanzaKind::Specimen) {
        return Drug::Unknown;
    }
    let named = stanza.lines.iter().find_map(|line| match &line.fact {
        Fact::Drug(name) => Some(&name.value),
        _ => None,
    });
    let Some(name) = named else {
        // An unread line may be the drug's.
        return if stanza
            .lines
            .iter()
            .any(|line| line.fact == Fact::Unreadable)
        {
            Drug::Unknown
        } else {
            Drug::None
        };
    };
    let workspace = context.workspace;
    let Resolved::One(id) = workspace.resolve(context.stanza.file, StanzaKind::Drug, name) else {
        return Drug::Unknown;
    };
    let lines = &workspace.stanza(id).lines;
    let dosed = lines.iter().find_map(|line| match &line.fact {
        Fact::DosedIn(unit) => unit.value.known(),
        _ => None,
    });
    dosed
        .filter(|unit| unit.dimension().is_dose())
        .map_or(Drug::Unknown, Drug::DosedIn)
}

/// Where a fluid may be counted as well as a drug, and there is no drug: as a
/// fluid alone.
fn fluid_first(choices: &mut Vec<(Unit, &Edit)>) {
    let fluid = |unit: &Unit| {
        let dimension = unit.dimension();
        dimension.is_volume() || dimension.is_flow() || dimension.is_drip()
    };
    if choices.iter().any(|(unit, _)| fluid(unit)) {
        choices.retain(|(unit, _)| fluid(unit));
    }
}

/// Where a dose may stand, the drug's own unit before all others.
fn dosed_first(choices: &mut Vec<(Unit, &Edit)>, unit: Unit) {
    let dose = |unit: &Unit| unit.dimension().is_dose();
    // Where one unit alone fits, it is the one that the line already has.
    let Some((_, fix)) = choices.iter().find(|(unit, _)| dose(unit)) else {
        return;
    };
    if choices.len() > 1 {
        let own = (unit, *fix);
        choices.retain(|(other, _)| *other != unit);
        choices.insert(0, own);
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

    #[test]
    fn a_number_alone() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-litre "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all at 125
                    ^^^ unit.missing: Here `mL/h` would fit.
  then       stop

order saline-part "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        500 over 4 h
             ^^^ unit.missing: Here `mL` would fit.
  then       stop
"#,
        );
    }

    #[test]
    fn the_drugs_own_unit_comes_first() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug"
  dosed in   mg/kg/h
  supplied   40 mg in 4 mL
  with       saline

drug solvamine "A drug without a unit of its own"
  supplied   40 mg in 4 mL
  with       saline

order a "A"
  drug       limitamine
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at 2
                    ^ unit.missing: Here `mg/kg/h`, `mL/h`, `mcg/kg/min`, `mg/h` or `units/h` would fit.
  then       renew

order b "B"
  drug       solvamine
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at 2
                    ^ unit.missing: Here `mL/h`, `mcg/kg/min`, `mg/h` or `units/h` would fit.
  then       renew
"#,
        );
    }

    #[test]
    fn a_fluid_is_offered_no_dose() {
        let text = "use \"tarnwick.gtt\"\n\norder a \"A\"\n  route peripheral vein\n  hang 1 L of saline\n  run all at 125\n  then stop\n";
        let found = findings(text)
            .into_iter()
            .find(|finding| finding.rule.name == "unit.missing");
        let fixes = found.unwrap().fixes;
        let titles =
            |fixes: Vec<crate::Fix>| -> Vec<_> { fixes.into_iter().map(|fix| fix.title).collect() };
        assert_eq!(titles(fixes), ["insert `mL/h`"]);
        // Drops need a giving set.
        let text = text.replace("  hang", "  giving-set macro\n  hang");
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "unit.missing");
        let fixes = found.unwrap().fixes;
        assert_eq!(titles(fixes), ["insert `mL/h`", "insert `drops/min`"]);
    }
}
