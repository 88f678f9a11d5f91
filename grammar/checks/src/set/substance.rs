#![doc = include_str!("substance.md")]

use gutta_protocol::StanzaId;
use gutta_protocol::derive::{At, Values, equivalence};
use gutta_protocol::limits::{holds, judges_substance};
use gutta_protocol::measures::{Measures, amount_unit};
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::limit::{LimitBound, LimitForm, Side};
use gutta_protocol::model::set::{Load, LoadOf};
use gutta_protocol::model::size::{DrugKind, Extent, Form, Stuff};
use gutta_protocol::sets::{Derived, Member, SetBound, Together};
use gutta_quantity::{Quantity, Unit};
use smol_str::SmolStr;

use super::{load, together};
use crate::limit::substance::given_for;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.substance",
    severity: Severity::Error,
    locked: true,
    page: include_str!("substance.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    let derived = set.derived();
    let mut seen: Vec<(SmolStr, DrugKind)> = Vec::new();
    for (name, kind) in set.members.iter().enumerate().flat_map(|(place, member)| {
        let values = derived.of(place);
        values.map_or_else(Vec::new, |values| brought(member, values))
    }) {
        if seen.contains(&(name.clone(), kind)) {
            continue;
        }
        seen.push((name.clone(), kind));
        let file = context.stanza.file;
        for (id, drug) in given_for(context.workspace, context.library, file, &name) {
            let judged = Judged {
                set: &set,
                derived: &derived,
                drug: &drug,
                id,
                name: &name,
                kind,
            };
            findings.extend(judged.worst(context));
        }
    }
}

/// What a member brings besides water.
fn brought(member: &Member, values: &Values) -> Vec<(SmolStr, DrugKind)> {
    let order = &member.order;
    let view = values.views.first();
    view.map_or_else(Vec::new, |view| Measures { order, view }.substances())
}

/// A substance of a set, and a drug that is given for it.
struct Judged<'a> {
    set: &'a Together,
    derived: &'a Derived,
    drug: &'a Drug,
    id: StanzaId,
    name: &'a SmolStr,
    kind: DrugKind,
}

impl Judged<'_> {
    /// The bound that is passed furthest, where it takes more than one order to
    /// pass it: of one alone the order's own finding tells.
    fn worst(&self, context: &StanzaContext<'_>) -> Option<Finding> {
        let mut worst: Option<(SetBound, &LimitBound, load::Load)> = None;
        for bound in self
            .drug
            .limits
            .iter()
            .filter(|bound| judges_substance(bound))
        {
            if !self.holds(bound) {
                continue;
            }
            let Some(of_set) = self.of_set(bound) else {
                continue;
            };
            let beyond = load::beyond(self.set, self.derived, &of_set, Side::High);
            let Some(found) = beyond.ok().flatten() else {
                continue;
            };
            let share = |load: &load::Load| load.beyond.value.checked_div(&load.beyond.bound);
            let is_worse = worst
                .as_ref()
                .is_none_or(|(_, _, known)| share(&found) > share(known));
            if is_worse {
                worst = Some((of_set, bound, found));
            }
        }
        let (of_set, bound, found) = worst?;
        let segment = found.segments.get(found.beyond.view)?;
        let parts = segment.shares.iter().filter(|(_, share)| {
            let value = share.at(&found.beyond.x);
            value.is_some_and(|value| value.is_positive())
        });
        if parts.count() < 2 {
            return None;
        }
        let unit = of_set.load.unit;
        let most = Quantity::from_base(found.beyond.bound.clone(), unit).to_string();
        let step = match found.at {
            At::Start => "",
            At::Low | At::High => ", each at its highest step,",
        };
        let subject = format!("the {} of all orders together{step}", self.name);
        let message = found
            .beyond
            .told_never(&found.values(), &subject, &most, unit);
        let place = context.workspace.place(self.id, bound.span);
        let finding = context
            .finding(&RULE, context.stanza().header, message)
            .related(place, format!("the limit of {}", self.drug.name));
        let finding = load::with_parts(context, self.set, &found, unit, finding);
        Some(finding.note("Decide which order gives way."))
    }

    /// Whether a bound holds in any order of the set.
    fn holds(&self, bound: &LimitBound) -> bool {
        self.set.members.iter().enumerate().any(|(place, member)| {
            let order = &member.order;
            let views = self.derived.of(place).map(|values| &values.views);
            views.into_iter().flatten().any(|view| {
                let mut phases = order.phases.iter();
                phases.any(|phase| {
                    let (when, except) = (&bound.when, &bound.except);
                    let holds = holds(order, phase, &view.patients, false, when, except);
                    !holds.over.is_empty()
                })
            })
        })
    }

    /// The bound, as one of a set, counted as the substance is.
    fn of_set(&self, bound: &LimitBound) -> Option<SetBound> {
        let LimitForm::Size(form) = bound.form else {
            return None;
        };
        // A total has its own time: a set's sums are by the moment, or the day.
        if !form.rate {
            return None;
        }
        let factor = equivalence(Some(self.drug), form.drug()?, self.kind)?;
        Some(SetBound {
            load: Load {
                of: LoadOf::Substance(self.name.clone()),
                extent: Extent {
                    low: None,
                    high: Some(&bound.bound * &factor),
                    high_excluded: false,
                    span: bound.bound_span,
                },
                form: Form {
                    stuff: Stuff::Drug(self.kind),
                    ..form
                },
                unit: Unit {
                    per: bound.unit.per,
                    ..amount_unit(self.kind)
                },
                span: bound.span,
            },
            area: Some(self.id),
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    /// 8 mmol/h of the drug and 200 mL/h of 40 mmol/L are 16 mmol/h, by hand.
    #[test]
    fn what_a_fluid_and_a_drug_bring_together() {
        let text = |flow: &str| {
            format!(
                r#"
use "tarnwick.gtt"

solution saline-kalium "Sodium chloride 0.9 % with potassium 40 mmol/L"
  contains   sodium 0.154 mmol/mL
  contains   potassium 0.04 mmol/mL
  contains   chloride 0.194 mmol/mL

drug kalium "Potassium chloride, invented"
  dosed in   mmol/h
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
  contains   chloride 2 mmol/mL
  with       saline
  never dose above 10 mmol/h
  high-alert

order kalium-dose "Potassium chloride"
  drug       kalium
  patient    weight 40 to 100 kg
  route      central vein
  pump       volumetric
  mix        40 mmol made up to 100 mL with saline
  run        all at 8 mmol/h
  then       stop

order maintenance "Maintenance"
  patient    weight 40 to 100 kg
  route      peripheral vein
  pump       volumetric
  hang       1 L of saline-kalium
  run        all at {flow} mL/h
  then       stop
"#
            )
        };
        assert_findings(&format!(
            r#"{}
set both "Both"
^^^^^^^^^^^^^^^ set.substance: The potassium of all orders together is 16 mmol/h; never above 10 mmol/h.
  include    kalium-dose, maintenance
"#,
            text("200")
        ));
        assert_findings(&format!(
            r#"{}
set both "Both"
  include    kalium-dose, maintenance
"#,
            text("50")
        ));
    }
}
