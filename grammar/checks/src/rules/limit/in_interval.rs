#![doc = include_str!("in_interval.md")]

use gutta_protocol::derive::At;
use gutta_protocol::limits::Breach;
use gutta_protocol::model::limit::TotalOver;

use super::breach::worst_of;
use crate::beyond::Beyond;
use crate::{Check, Finding, OrderContext, Rule, Severity, telling};

pub(crate) static RULE: Rule = Rule {
    name: "limit.in-interval",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("in_interval.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let breaches = &context.analysis.judgement().in_interval;
    for breach in worst_of(breaches, |_| true) {
        findings.extend(report(context, breach));
    }
}

fn report(context: &OrderContext<'_>, breach: &Breach) -> Option<Finding> {
    let values = context.analysis.values.as_ref().ok()?;
    let drug = &context.analysis.order.drug.as_ref()?.value.name;
    let TotalOver::Any(interval) = &breach.bound.over else {
        return None;
    };
    let style = context.style();
    let interval = telling::clock(interval, style);
    let step = match breach.reading.at {
        At::High => "at the highest step of `adjust` ",
        At::Start | At::Low => "",
    };
    let subject = format!("{step}the {drug} given in every {interval}, with no end stated,");
    let single = telling::bound_told(&breach.bound, style);
    let limit = format!(
        "the single dose of {single}, which may be given no more often than every {interval}"
    );
    let message = Beyond::of_breach(breach, values.views.len())?.told(
        values,
        &subject,
        &limit,
        breach.bound.unit,
        style,
    );
    let place = context.workspace.place(breach.drug, breach.bound.span);
    Some(
        context
            .finding(&RULE, breach.reading.span, message)
            .related(place, format!("the single dose of {drug}"))
            .note(format!("No `total` of {drug} limits this run. Give the doses with `every`, or state a `never total` per day in the drug's stanza, with its source.")),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    const DRUGS: &str = r#"
use "tarnwick.gtt"

drug mycin "Mycin, invented"
  dosed in   mg/min
  supplied   500 mg in 10 mL
  with       saline
  usual dose       up to 10 mg/min
  never dose       above 15 mg/min
  never single dose above 2 g
  never interval   below 6 h
  TOTAL

"#;

    fn assert(total: &str, order: &str) {
        assert_findings(&format!("{}{order}", DRUGS.replace("TOTAL", total)));
    }

    /// 1 g in 2 h is 3 g in 6 h, by hand.
    #[test]
    fn a_bag_that_is_renewed_in_the_place_of_doses() {
        let order = |found: &str| {
            format!(
                r#"
order mycin-renewed "Mycin"
  drug       mycin
  area       ward
  patient    weight 60 to 80 kg
  route      central vein
  pump       volumetric
  mix        1 g made up to 200 mL with saline
  run        all over 2 h
{found}  then       renew
"#
            )
        };
        let told = "  ^^^^^^^^^^^^^^^^^^^^^^^ limit.in-interval: The mycin given in every 6 h, with no end stated, is 3 g, more than the single dose of 2 g, which may be given no more often than every 6 h.\n";
        assert("# no total", &order(told));
        assert("never total above 12 g per day", &order(""));
    }

    /// 300 mg/h is 1.8 g in 6 h; 420 mg/h is 2.52 g, by hand.
    #[test]
    fn slowly_without_end_it_is_in_peace() {
        assert(
            "# no total",
            r#"
order mycin-slow "Mycin"
  drug       mycin
  area       ward
  patient    weight 60 to 80 kg
  route      central vein
  pump       volumetric
  mix        2400 mg made up to 240 mL with saline
  run        all at 5 mg/min
  adjust     4 to 7 mg/min by 1 mg/min every 2 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.in-interval: At the highest step of `adjust` the mycin given in every 6 h, with no end stated, is 2.52 g
  then       renew
"#,
        );
    }
}
