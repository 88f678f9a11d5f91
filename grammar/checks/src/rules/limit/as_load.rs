#![doc = include_str!("as_load.md")]

use gutta_notation::Style;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::derive::Values;
use gutta_protocol::limits::{Stretch, Unjudged};

use crate::lines::insert_below;
use crate::words::all_of;
use crate::{Check, Finding, OrderContext, Rule, Severity, telling};

pub(crate) static RULE: Rule = Rule {
    name: "limit.as-load",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("as_load.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    let as_loads = &context.analysis.judgement().as_loads;
    for (place, run) in as_loads.iter().enumerate() {
        let known = as_loads.iter().take(place);
        if !known.into_iter().any(|known| known.at == run.at) {
            findings.extend(report(context, values, run));
        }
    }
}

fn report(context: &OrderContext<'_>, values: &Values, run: &Unjudged) -> Option<Finding> {
    let order = &context.analysis.order;
    let drug = order.drug.as_ref()?;
    let name = &drug.value.name;
    let phase = order.phases.get(run.phase)?;
    let whom =
        whom(values, run, context.style()).map_or_else(String::new, |whom| format!("{whom} "));
    let says = match &phase.purpose {
        None => "is not marked as one".to_owned(),
        Some(purpose) => format!("is given as {}", purpose.value),
    };
    let message = telling::sentence(&format!(
        "{whom}the only limits of {name} for this run are for loading doses, and the run {says}."
    ));
    let place = context
        .workspace
        .place(drug.id, context.workspace.stanza(drug.id).header);
    let mut finding = context
        .finding(&RULE, run.at, message)
        .severity(if order.high_alert {
            Severity::Error
        } else {
            Severity::Warning
        })
        .related(place, format!("states only {}", stated(context)?))
        .note("It was still checked against every `never` for loading doses. If it is a loading dose, write `purpose loading`; if not, state a `dose`, `single dose`, `time` or `total` in the drug's stanza.");
    if phase.purpose.is_none() {
        finding = finding.fix(insert_below(context, phase.span, "purpose    loading"));
    }
    Some(finding)
}

/// For whom, where some limit judges the run for others.
fn whom(values: &Values, run: &Unjudged, style: Style) -> Option<String> {
    let view = values.views.get(run.view)?;
    let whole = &view.patients.interval;
    let all = run
        .over
        .iter()
        .any(|stretch| stretch.lo <= *whole.lo() && stretch.hi >= *whole.hi());
    let regions: Vec<_> = run.over.iter().map(Stretch::region).collect();
    telling::stretches(view, &regions, style).filter(|_| !all)
}

/// The measures of loads that the drug states.
fn stated(context: &OrderContext<'_>) -> Option<String> {
    let limits = &context.analysis.order.drug.as_ref()?.value.limits;
    let stated = |measure| limits.iter().any(|bound| bound.measure == measure);
    let loads = [
        (LimitMeasure::Bolus, "`bolus`"),
        (LimitMeasure::BolusRate, "`bolus rate`"),
        (LimitMeasure::BolusTime, "`bolus time`"),
    ];
    let mut told: Vec<_> = loads
        .into_iter()
        .filter(|(measure, _)| stated(*measure))
        .map(|(_, word)| word)
        .collect();
    if told.is_empty() {
        told.push("limits `as loading`");
    }
    Some(all_of(&told))
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    /// A drug with these lines, and an order of it with these.
    fn checked(limits: &str, order: &str) {
        assert_findings(&format!(
            r#"
use "tarnwick.gtt"

drug loadamine "A drug that is given as a load"
  supplied   250 mg in 5 mL
  with       saline
  only by    central vein, peripheral vein
{limits}  high-alert

order loadamine-run "Loadamine"
  drug       loadamine
  patient    weight 40 to 100 kg
  route      peripheral vein
  pump       volumetric
{order}  then       stop
"#
        ));
    }

    const LOADS: &str = "  usual bolus      10 to 20 mg/kg
  never bolus      above 2 g
  never bolus rate above 50 mg/min
  never bolus rate above 1 mg/kg/min
";

    #[test]
    fn a_purpose_left_out_switches_no_limit_off() {
        checked(
            LOADS,
            "  mix        20 mg/kg added to 250 mL of saline
  run        all over 20 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.as-load: The only limits of loadamine for this run are for loading doses, and the run is not marked as one.
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: the rate of the bolus of loadamine is more than 50 mg/min
",
        );
        checked(
            LOADS,
            "  mix        200 mg/kg made up to 500 mL with saline
             ^^^^^^^^^ limit.slip: by `20 mg/kg`
  run        all over 300 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.as-load
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: the bolus of loadamine is more than 2 g
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: the rate of the bolus of loadamine is more than 50 mg/min
",
        );
    }

    #[test]
    fn within_them_it_is_said_all_the_same() {
        checked(
            LOADS,
            "  mix        15 mg/kg added to 250 mL of saline
  run        all over 60 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.as-load: It was still checked against every `never` for loading doses. If it is a loading dose, write `purpose loading`; if not, state a `dose`, `single dose`, `time` or `total` in the drug's stanza.
",
        );
        checked(
            LOADS,
            "  purpose    loading
  mix        15 mg/kg added to 250 mL of saline
  run        all over 60 min
",
        );
    }

    #[test]
    fn another_purpose_is_no_way_out() {
        checked(
            LOADS,
            "  purpose    seizure
  mix        30 mg/kg added to 250 mL of saline
  run        all over 90 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.as-load: the run is given as seizure
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: the bolus of loadamine is more than 2 g
",
        );
    }

    #[test]
    fn a_limit_as_loading_is_one_of_loads() {
        checked(
            "  never dose above 50 mg/min as loading\n",
            "  mix        20 mg/kg added to 250 mL of saline
  run        all over 20 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.as-load: The only limits of loadamine for this run are for loading doses, and the run is not marked as one.
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: more than 50 mg/min
",
        );
    }

    #[test]
    fn a_limit_of_runs_takes_them_over() {
        checked(
            "  usual dose 1 to 10 mg/min\n  never bolus above 10 mg\n  never bolus rate above 5 mg/min\n",
            "  mix        250 mg added to 250 mL of saline
  run        all over 30 min
",
        );
    }

    #[test]
    fn a_limit_for_some_weights_takes_over_those() {
        checked(
            "  usual dose 1 to 10 mg/min for 40 to 60 kg\n  never bolus rate above 5 mg/min\n",
            "  mix        250 mg added to 250 mL of saline
  run        all over 30 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.as-load: From 60 kg on the only limits of loadamine for this run are for loading doses, and the run is not marked as one.
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: From 60 kg on the rate of the bolus of loadamine is more than 5 mg/min
",
        );
    }

    #[test]
    fn a_single_dose_says_nothing_of_how_fast() {
        // Nor need a smaller dose take as long as a load.
        checked(
            "  usual single dose 5 to 10 mg/kg\n  never bolus above 600 mg\n  never bolus rate above 50 mg/min\n  never bolus time below 30 min\n",
            "  mix        10 mg/kg added to 250 mL of saline
  run        all over 18 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: Above 90 kg the rate of the bolus of loadamine is more than 50 mg/min
",
        );
    }
}
