#![doc = include_str!("not_checked.md")]

use gutta_notation::{Span, StanzaKind};
use gutta_protocol::StanzaId;
use gutta_protocol::limits::{NotComparable, Unchecked};
use gutta_protocol::model::drug::equivalence;
use gutta_protocol::model::limit::LimitForm;
use gutta_protocol::model::order::Order;
use gutta_protocol::model::problem::{Problem, ProblemKind};

use crate::words::all_of;
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.not-checked",
    severity: Severity::Error,
    locked: true,
    page: include_str!("not_checked.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    match &context.analysis.values {
        Err(incomplete) => findings.extend(incomplete_order(context, &incomplete.problems)),
        Ok(_) => {
            unchecked(context, findings);
            unweighed(context, findings);
        }
    }
}

/// An incomplete order has no values, so none of its limits was checked. What
/// another rule says of the same place is not said again; but an order whose
/// limits were skipped says so, once, at its head.
fn incomplete_order(context: &OrderContext<'_>, problems: &[Problem]) -> Vec<Finding> {
    let order = &context.analysis.order;
    let mut findings: Vec<Finding> = Vec::new();
    for finding in problems
        .iter()
        .filter_map(|problem| own(context, problem, problems))
    {
        // What is missing is told together, whatever number of lines miss it.
        if !findings
            .iter()
            .any(|known| known.message == finding.message)
        {
            findings.push(finding);
        }
    }
    if findings.is_empty() && has_limits(order, problems) {
        let mut reasons: Vec<_> = problems
            .iter()
            .map(|problem| reason(context, problem))
            .collect();
        reasons.dedup();
        let shown = reasons.len().min(3);
        let more = if reasons.len() > shown {
            " and more"
        } else {
            ""
        };
        let message = format!(
            "No limit of this order was checked, and nothing is calculated from it: {}{more}.",
            all_of(&reasons[..shown])
        );
        findings.push(
            context
                .finding(&RULE, order.header, message)
                .note("Do not use this order. Correct these lines; then it is checked."),
        );
    }
    findings
}

/// Whether there was any limit to check: the drug's or an area's, or a name
/// that may stand for a drug with limits.
fn has_limits(order: &Order, problems: &[Problem]) -> bool {
    let of_drug = order.drug.as_ref().is_some_and(|drug| {
        let drug = &drug.value;
        !drug.whole
            || !drug.limits.is_empty()
            || !drug.prohibitions.is_empty()
            || drug.only_by.is_some()
    });
    let unknown_drug = problems.iter().any(|problem| match &problem.kind {
        ProblemKind::Unresolved { kind, .. } | ProblemKind::LeansOn { kind, .. } => {
            *kind == "drug" || *kind == "area"
        }
        _ => false,
    });
    let of_area = gutta_protocol::limits::areas_in_force(order)
        .into_iter()
        .any(|area| {
            area.value.ceiling.is_some()
                || area.value.bolus_ceiling.is_some()
                || area.value.fluid.is_some()
        });
    of_drug || unknown_drug || of_area
}

/// A problem that no other rule speaks of.
fn own(context: &OrderContext<'_>, problem: &Problem, problems: &[Problem]) -> Option<Finding> {
    let message = match &problem.kind {
        ProblemKind::Missing { .. } => {
            let missing: Vec<_> = problems
                .iter()
                .filter_map(|problem| match problem.kind {
                    ProblemKind::Missing { what } => Some(what),
                    _ => None,
                })
                .collect();
            format!(
                "Nothing is calculated from this order; missing: {}.",
                all_of(&missing)
            )
        }
        ProblemKind::NotComputable { what } => {
            format!("{} cannot be calculated from these lines.", sentence(what))
        }
        ProblemKind::LeansOn { kind, name } => {
            format!(
                "The {kind} `{name}` has a line that could not be used; nothing is calculated from this order."
            )
        }
        _ => return None,
    };
    Some(
        context
            .finding(&RULE, problem.span, message)
            .note("Until then, no limit of this order is checked."),
    )
}

fn sentence(what: &str) -> String {
    crate::telling::sentence(what)
}

fn reason(context: &OrderContext<'_>, problem: &Problem) -> String {
    problem.kind.told(context.line_number(problem.span))
}

/// Limits of a complete order that could not be compared.
fn unchecked(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    // A limit is told once, with every line that it was not checked for.
    let mut told: Vec<(StanzaId, Span)> = Vec::new();
    let all: Vec<_> = context.judgements().flat_map(|of| &of.unchecked).collect();
    for unchecked in &all {
        let limit = (unchecked.drug, unchecked.span);
        if told.contains(&limit) {
            continue;
        }
        told.push(limit);
        let why = match unchecked.why {
            NotComparable::Weight => "it is per kg, and the order states no patient weight".to_owned(),
            NotComparable::Surface => "it is per m2, and the order states no body surface area".to_owned(),
            NotComparable::Equivalence if is_ingredient(context, unchecked) => {
                "what contains it is stated in another kind of unit than the limit, and neither an `equals` of the ingredient nor a molar mass converts between the two".to_owned()
            }
            NotComparable::Share => {
                "it is not stated how much of it is in the bag (what is its drug `supplied` as?)".to_owned()
            }
            NotComparable::Equivalence => {
                let (bag, limit) = countings(context, unchecked).unwrap_or(("one kind", "another"));
                format!(
                    "the drug in the bag is stated by {bag} and the limit by {limit}, and no `equals` of the drug converts between the two"
                )
            }
            NotComparable::Osmolarity => {
                "the osmolarity of the drug or of the diluent is not stated, and their contents do not show whether the limit is kept".to_owned()
            }
            NotComparable::NotComputable => "the value cannot be calculated".to_owned(),
        };
        let place = context.workspace.place(unchecked.drug, unchecked.span);
        let line = context.workspace.written(place);
        let drug = context.workspace.stanza(unchecked.drug).name.as_ref();
        let message = format!(
            "`{}` of {} was not checked: {why}.",
            line,
            drug.map_or("the drug", |name| name.value.as_str())
        );
        let mut finding = context
            .finding(&RULE, unchecked.at, message)
            .related(place, "the limit that was not checked");
        let mut lines = vec![unchecked.at];
        let others = all.iter().filter(|other| (other.drug, other.span) == limit);
        for other in others.map(|other| other.at) {
            if !lines.contains(&other) {
                finding = finding.related(context.place(other), "not checked for this either");
                lines.push(other);
            }
        }
        findings.push(
            finding.note("Add what is missing; a limit that is not checked protects nobody."),
        );
    }
}

/// Whether the limit is of a substance that the order brings.
fn is_ingredient(context: &OrderContext<'_>, unchecked: &Unchecked) -> bool {
    context.workspace.stanza(unchecked.drug).kind == StanzaKind::Ingredient
}

/// In what a bag of the order and the limit count the drug, where nothing ties
/// the two.
fn countings(
    context: &OrderContext<'_>,
    unchecked: &Unchecked,
) -> Option<(&'static str, &'static str)> {
    let drug = &context.analysis.order.drug.as_ref()?.value;
    let bound = drug
        .limits
        .iter()
        .find(|bound| bound.span == unchecked.span)?;
    let limit = match bound.form {
        LimitForm::Size(form) => form.drug()?,
        LimitForm::Strength(kind) => kind,
        LimitForm::Time | LimitForm::Osmolarity => return None,
    };
    let view = context.analysis.values.as_ref().ok()?.views.first()?;
    let mut bags = view
        .phases
        .iter()
        .filter_map(|phase| phase.bag.drug.as_ref());
    let bag = bags.find(|bag| equivalence(Some(drug), bag.kind, limit).is_none())?;
    Some((bag.kind.word(), limit.word()))
}

/// Limits for a band of weights or surfaces, and none stated.
fn unweighed(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    use gutta_protocol::limits::OpenCondition;
    let unanswered = context.unanswered();
    for (asked, word) in [
        (OpenCondition::Weight, "weight"),
        (OpenCondition::Surface, "body surface area"),
    ] {
        let mut concerned = unanswered
            .iter()
            .filter(|unanswered| unanswered.asked == asked)
            .peekable();
        if concerned.peek().is_none() {
            continue;
        }
        let message = format!(
            "The order states no patient {word}, and a limit of what it gives depends on that."
        );
        let mut finding = context.finding(&RULE, context.analysis.order.header, message);
        for unanswered in concerned {
            finding = finding.related(
                context.workspace.place(unanswered.drug, unanswered.span),
                "a limit that depends on it",
            );
        }
        findings.push(finding.note(format!(
            "Add a `patient {word}` line.",
            word = word.trim_start_matches("body ").trim_end_matches(" area")
        )));
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

    #[test]
    fn a_limit_is_told_once_with_every_line() {
        let text = r#"
use "tarnwick.gtt"

drug ketamine "Ketamine"
  supplied   200 mg in 20 mL
  never dose above 0.5 mg/kg/h

order ketamine-steady "Ketamine"
  drug       ketamine
  route      central vein
  pump       syringe
  mix        200 mg made up to 50 mL with saline
  run        20 mL at 10 mg/h
  run        all at 5 mg/h
  then       stop
"#;
        let found = findings(text);
        let unchecked: Vec<_> = found
            .iter()
            .filter(|finding| finding.rule.name == "limit.not-checked")
            .collect();
        let [finding] = unchecked[..] else {
            panic!("{unchecked:?}");
        };
        let related: Vec<_> = finding
            .related
            .iter()
            .map(|related| related.message.as_str())
            .collect();
        assert_eq!(
            related,
            [
                "the limit that was not checked",
                "not checked for this either"
            ]
        );
    }

    #[test]
    fn a_limit_in_another_kind_is_named() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  with       saline
  never single dose above 40 mmol

order a "A"
  drug       limitamine
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all over 1 h every 6 h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-checked: `never single dose above 40 mmol` of limitamine was not checked: the drug in the bag is stated by mass and the limit by amount of substance, and no `equals` of the drug converts between the two.
"#,
        );
    }

    #[test]
    fn what_is_said_twice_was_read() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order noradrenaline-steady "Noradrenaline"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.not-checked: line 8 repeats a line that is allowed only once.
  drug       noradrenaline
  area       adult-icu
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  mix        8 mg made up to 50 mL with glucose-5
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ text.twice: `mix` is stated a second time, but is allowed only once.
  run        all at 0.1 mcg/kg/min
  then       renew
"#,
        );
    }
}
