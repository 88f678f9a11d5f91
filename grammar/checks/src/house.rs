//! What is wrong with a house's settings, seen with the rules and the names
//! that the workspace holds.

use gutta_notation::StanzaKind;
use gutta_protocol::house::HouseFault;
use gutta_protocol::{Space, Workspace, nearest};

use crate::words::{any_of, kind, quoted};
use crate::{rule, rules};

/// Faults of `gutta.toml` that only the rules and the files can tell: a
/// severity of a rule that does not exist or is locked, a default pump, area
/// or giving set that nothing declares. Such settings hold for nothing, so
/// whoever reads the file must say so.
#[must_use]
pub fn house_faults(workspace: &Workspace) -> Vec<HouseFault> {
    let house = &workspace.house;
    let mut faults = Vec::new();
    for setting in &house.severity {
        let message = match rule(&setting.rule) {
            None => no_rule(&setting.rule),
            Some(rule) if rule.locked => {
                format!("`{}` is locked: its severity cannot be set", rule.name)
            }
            Some(_) => continue,
        };
        faults.push(HouseFault {
            message,
            line: setting.line,
            column: setting.column,
        });
    }
    let defaults = [
        (StanzaKind::Pump, "pump", &house.pump),
        (StanzaKind::Area, "area", &house.area),
        (StanzaKind::GivingSet, "giving-set", &house.giving_set),
    ];
    for (stanza, key, name) in defaults {
        let Some(name) = name else { continue };
        let space = Space::Stanza(stanza);
        let wrong = match workspace.declared_anywhere(space, name).len() {
            0 => "no",
            1 => continue,
            _ => "more than one",
        };
        let (line, column) = house.position(key);
        faults.push(HouseFault {
            message: format!(
                "{wrong} {} called `{name}` is defined in the workspace",
                kind(stanza)
            ),
            line,
            column,
        });
    }
    faults.sort_by_key(|fault| (fault.line, fault.column));
    faults
}

/// That a name is the name of no rule, with the nearest that are.
#[must_use]
pub fn no_rule(name: &str) -> String {
    let near = nearest(name, rules().iter().map(|rule| rule.name));
    let meant = if near.is_empty() {
        String::new()
    } else {
        format!(": was {} meant?", any_of(&quoted(&near)))
    };
    format!("no rule is called `{name}`{meant}")
}

#[cfg(test)]
mod schema;

#[cfg(test)]
mod tests {
    use gutta_protocol::{House, Workspace};

    use super::house_faults;

    #[test]
    fn severities_are_of_rules_that_are_not_locked() {
        let text = r#"
[default]
pump = "syringe"

[severity]
"text.trailing-zero" = "warning"
"text.unreadable" = "hint"
"text.trailing-nought" = "warning"
"text.trailing-zeros" = "warning"
"#;
        let workspace = Workspace::new(Vec::<(&str, &str)>::new(), House::from_toml(text).unwrap());
        let faults: Vec<_> = house_faults(&workspace)
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            faults,
            [
                "line 3, column 1: no pump called `syringe` is defined in the workspace",
                "line 7, column 1: `text.unreadable` is locked: its severity cannot be set",
                "line 8, column 1: no rule is called `text.trailing-nought`",
                "line 9, column 1: no rule is called `text.trailing-zeros`: was `text.trailing-zero` meant?",
            ]
        );
    }
}
