#![doc = include_str!("cap_above_never.md")]

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{Values, View};
use gutta_protocol::limits::{holds, states_loads};
use gutta_protocol::model::drug::equivalence;
use gutta_protocol::model::limit::{LimitBound, LimitForm, Side, TotalOver};
use gutta_protocol::model::order::{Order, ThenSpec};
use gutta_protocol::model::size::{Form, Per, Stuff};
use gutta_quantity::Quantity;

use super::caps::{Cap, CapOf, caps};
use crate::telling::bound_told;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "run.cap-above-never",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("cap_above_never.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let order = &context.analysis.order;
    let Some(drug) = &order.drug else { return };
    for cap in caps(order) {
        // Of several that it lies above, the one that allows the least.
        let passed = drug.value.limits.iter();
        let passed = passed.filter(|bound| lies_above(order, values, &cap, bound));
        let by_patient = |bound: &LimitBound| match bound.form {
            LimitForm::Size(form) => form.per != Per::Patient,
            _ => true,
        };
        let least = passed.min_by_key(|bound| (by_patient(bound), bound.bound.clone()));
        let Some(bound) = least else { continue };
        let style = context.style();
        let told = style.quantity(&Quantity::from_base(cap.cap.value.clone(), cap.cap.unit));
        let message = format!(
            "The maximum of {told} is above the {} that must never be exceeded: it protects nobody.",
            bound_told(bound, style)
        );
        findings.push(
            context
                .finding(&RULE, cap.cap.span, message)
                .related(
                    context.workspace.place(drug.id, bound.span),
                    "the absolute limit (`never`)",
                )
                .note("Check the number and the unit of the maximum. It is meant to take effect before the limit is reached."),
        );
    }
}

/// Whether a cap lies above a `never above` of what it is on, for every
/// patient, and wherever the limit holds at all.
fn lies_above(order: &Order, values: &Values, cap: &Cap<'_>, bound: &LimitBound) -> bool {
    if bound.usual || bound.side == Side::Low || !judges(order, cap, bound) {
        return false;
    }
    let LimitForm::Size(form) = bound.form else {
        return false;
    };
    if form.rate != cap.cap.form.rate {
        return false;
    }
    let Some(phase) = order.phases.get(cap.phase) else {
        return false;
    };
    let load = phase.is_loading() || cap.of == CapOf::Bolus;
    values.views.iter().all(|view| {
        let (when, except) = (&bound.when, &bound.except);
        let held = holds(order, phase, &view.patients, load, when, except);
        let (lo, hi) = (view.patients.interval.lo(), view.patients.interval.hi());
        let everywhere = held
            .over
            .iter()
            .any(|over| over.lo <= *lo && over.hi >= *hi);
        // Both for the whole patient: at every weight the cap is beyond.
        let apart = || {
            let most = view.patients.factor(form)?.scale(&bound.bound);
            counted(order, view, cap, form)?.sub(&most)?.min_value()
        };
        everywhere && apart().is_some_and(|least| least.value.is_positive())
    })
}

/// Whether a limit judges what the cap is on.
fn judges(order: &Order, cap: &Cap<'_>, bound: &LimitBound) -> bool {
    use LimitMeasure as M;
    let loading = order
        .phases
        .get(cap.phase)
        .is_some_and(gutta_protocol::model::order::Phase::is_loading);
    let of_loads = order
        .drug
        .as_ref()
        .is_some_and(|drug| states_loads(&drug.value.limits));
    let named = bound
        .when
        .purposes
        .iter()
        .any(|purpose| purpose == "loading");
    let last = order.phases.last().and_then(|phase| phase.then.as_ref());
    let stops = !matches!(last, Some((ThenSpec::Renew(_), _)));
    let whole = bound.measure == M::Total && bound.over == TotalOver::Order;
    match (cap.of, loading) {
        (CapOf::Bolus, _) => bound.measure == M::Bolus || whole,
        (CapOf::Bag | CapOf::Amount { .. }, true) => bound.measure == M::Bolus || whole,
        (CapOf::Bag, false) => stops && (bound.measure == M::SingleDose || whole),
        (CapOf::Amount { repeats }, false) => {
            (bound.measure == M::SingleDose && (stops || repeats)) || whole
        }
        (CapOf::Rate, true) => {
            bound.measure == M::BolusRate
                || (matches!(bound.measure, M::Dose | M::Flow) && (named || !of_loads))
        }
        (CapOf::Rate, false) => matches!(bound.measure, M::Dose | M::Flow),
    }
}

/// The cap as the limit counts it.
fn counted(order: &Order, view: &View, cap: &Cap<'_>, form: Form) -> Option<Curve> {
    let value = view.patients.whole(cap.cap)?;
    let drug = view.phases.get(cap.phase)?.bag.drug.as_ref()?;
    let named = order.drug.as_ref().map(|drug| &*drug.value);
    match (cap.cap.form.stuff, form.stuff) {
        (Stuff::Drug(own), Stuff::Drug(other)) => {
            Some(value.scale(&equivalence(named, own, other)?))
        }
        (Stuff::Volume, Stuff::Volume) => Some(value),
        (Stuff::Volume, Stuff::Drug(other)) => {
            let factor = equivalence(named, drug.kind, other)?;
            Some(value.mul(&drug.true_strength)?.scale(&factor))
        }
        (Stuff::Drug(_), Stuff::Volume) => view.volume_of(order, cap.phase, cap.cap),
        (Stuff::Drops, _) | (_, Stuff::Drops) => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn lids_of_each_kind() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug tranexamic-acid "Tranexamic acid"
  supplied   500 mg in 5 mL
  with       saline
  never dose       above 250 mg/h
  never bolus      above 2 g
  never single dose above 4 g

order tranexamic-steady "Tranexamic acid"
  drug       tranexamic-acid
  patient    weight 40 to 100 kg
  route      central vein
  mix        1 g added to 100 mL of saline
  bolus      1 mg/kg over 10 min, at most 20 g
                                          ^^^^ run.cap-above-never: The maximum of 20 g is above the 2 g that must never be exceeded: it protects nobody.
  run        all at 1 mg/kg/h, at most 1.25 g/h
                                       ^^^^^^^^ run.cap-above-never: The maximum of 1.25 g/h is above the 250 mg/h that must never be exceeded: it protects nobody.
  then       stop

order tranexamic-volume "Tranexamic acid, its lid a volume"
  drug       tranexamic-acid
  patient    weight 40 to 100 kg
  route      central vein
  mix        1 g made up to 100 mL with saline
  bolus      1 mg/kg over 10 min, at most 300 mL
                                          ^^^^^^ run.cap-above-never: The maximum of 300 mL is above the 2 g that must never be exceeded: it protects nobody.
  run        all at 1 mg/kg/h, at most 250 mg/h
  then       stop

order tranexamic-dose "Tranexamic acid, a dose by weight"
  drug       tranexamic-acid
  patient    weight 40 to 100 kg
  route      central vein
  mix        15 mg/kg, at most 15 g, added to 100 mL of saline
                               ^^^^ run.cap-above-never: The maximum of 15 g is above the 4 g that must never be exceeded: it protects nobody.
  run        all over 8 h
  then       stop

order tranexamic-right "Tranexamic acid, its lids those of the drug"
  drug       tranexamic-acid
  patient    weight 40 to 100 kg
  route      central vein
  mix        15 mg/kg, at most 4 g, added to 100 mL of saline
  bolus      1 mg/kg over 10 min, at most 2 g
  run        all at 1 mg/kg/h, at most 250 mg/h
  then       stop
"#,
        );
    }

    /// 2 mg/kg/h are 10 to 40 mg/h, by hand.
    #[test]
    fn by_weight_and_in_a_bag_that_is_given_again() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   100 mg in 5 mL
  with       saline
  never dose above 2 mg/kg/h
  never single dose above 1 g

order by-weight "By weight"
  drug       limitamine
  patient    weight 5 to 20 kg
  route      central vein
  mix        100 mg made up to 100 mL with saline
  run        all at 1 mg/kg/h, at most 50 mg/h
                                       ^^^^^^^ run.cap-above-never: The maximum of 50 mg/h is above the 2 mg/kg/h that must never be exceeded: it protects nobody.
  then       renew

order of-its-own "The lid by weight, too"
  drug       limitamine
  patient    weight 5 to 20 kg
  route      central vein
  mix        100 mg made up to 100 mL with saline
  run        all at 1 mg/kg/h, at most 3 mg/kg/h
                                       ^^^^^^^^^ run.cap-above-never: The maximum of 3 mg/kg/h is above the 2 mg/kg/h that must never be exceeded: it protects nobody.
  then       renew

order again "Each time"
  drug       limitamine
  patient    weight 5 to 20 kg
  route      central vein
  mix        10 mg/kg, at most 10 g, made up to 50 mL with saline
                               ^^^^ run.cap-above-never: The maximum of 10 g is above the 1 g that must never be exceeded: it protects nobody.
  run        all over 15 h every 24 h
"#,
        );
    }

    #[test]
    fn a_limit_that_does_not_hold_here_is_not_passed() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   100 mg in 5 mL
  with       saline
  never dose above 20 mg/h by peripheral vein
  never dose above 100 mg/h
  never dose above 2 mg/kg/h

order a "A"
  drug       limitamine
  patient    weight 5 to 40 kg
  route      central vein
  mix        100 mg made up to 100 mL with saline
  run        all at 1 mg/kg/h, at most 60 mg/h
  then       renew

order b "B"
  drug       limitamine
  patient    weight 5 to 19 kg
  route      peripheral vein
  mix        100 mg made up to 100 mL with saline
  run        all at 1 mg/kg/h, at most 60 mg/h
                                       ^^^^^^^ run.cap-above-never: The maximum of 60 mg/h is above the 20 mg/h that must never be exceeded: it protects nobody.
  then       renew
"#,
        );
    }
}
