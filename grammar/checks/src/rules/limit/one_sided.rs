#![doc = include_str!("one_sided.md")]

use gutta_notation::ast::LimitMeasure;
use gutta_notation::{Span, StanzaKind};
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::limit::{LimitBound, Side};

use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "limit.one-sided",
    severity: Severity::Information,
    locked: false,
    page: include_str!("one_sided.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    if context.stanza().kind != StanzaKind::Drug {
        return;
    }
    let Some(drug) = context.library.drug(context.stanza) else {
        return;
    };
    // What could not be read is told already.
    if !drug.whole || drug.limits.is_empty() {
        return;
    }
    let usual: Vec<_> = drug
        .limits
        .iter()
        .filter(|bound| bound.usual && is_amount(bound.measure))
        .collect();
    if usual.is_empty() {
        let message = format!(
            "No usual dose of {} is stated: a dose ten times too small is within every limit.",
            drug.name
        );
        findings.push(
            context
                .finding(&RULE, context.stanza().header, message)
                .note("State a `usual dose`, `usual single dose` or `usual bolus` with both ends."),
        );
    }
    for (span, lacking) in one_sided(drug, &usual) {
        let line = context.text(span);
        let (end, slip) = match lacking {
            Side::Low => ("minimum", "too small"),
            Side::High => ("maximum", "too large"),
        };
        let message = format!("`{line}` has no {end}: a dose ten times {slip} is not noticed.");
        findings.push(
            context
                .finding(&RULE, span, message)
                .note("Write both, `A to B UNIT`, once a source gives them."),
        );
    }
}

const fn is_amount(measure: LimitMeasure) -> bool {
    matches!(
        measure,
        LimitMeasure::Dose | LimitMeasure::SingleDose | LimitMeasure::Bolus
    )
}

/// Each line with one end alone, and the end that it lacks. An upper end may
/// stand in a `never` of the same measure.
fn one_sided(drug: &Drug, usual: &[&LimitBound]) -> Vec<(Span, Side)> {
    let mut lines: Vec<(Span, Side)> = Vec::new();
    for bound in usual {
        let both = usual
            .iter()
            .any(|other| other.span == bound.span && other.side != bound.side);
        if both {
            continue;
        }
        let lacking = match bound.side {
            Side::Low => Side::High,
            Side::High => Side::Low,
        };
        let never = drug
            .limits
            .iter()
            .any(|other| !other.usual && other.measure == bound.measure && other.side == lacking);
        if !never {
            lines.push((bound.span, lacking));
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_never_closes_the_other_end() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug closed "Closed by a never"
  usual dose 5 mg/h or more
  never dose above 20 mg/h

drug open "Open below"
  usual dose up to 5 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.one-sided: `usual dose up to 5 mg/h` has no minimum: a dose ten times too small is not noticed.
  never dose above 20 mg/h

drug unusual "Says what is never, and not what is usual"
^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.one-sided: No usual dose of unusual is stated: a dose ten times too small is within every limit.
  never dose above 20 mg/h
"#,
        );
    }
}
