#![doc = include_str!("contradict.md")]

use gutta_notation::{Span, StanzaKind};
use gutta_protocol::chemistry::{Composition, substance};
use gutta_protocol::derive::osmoles::{of_contents, own_osmoles};
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::reference::ContainedSubstance;
use gutta_protocol::model::size::DrugKind;
use gutta_quantity::print::between;
use gutta_quantity::{Exact, Printed, Quantity, Rounding, Style, units};

use super::claims::{self, Claim, equals_lines, factor};
use crate::telling::told;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "mix.contradict",
    severity: Severity::Error,
    locked: false,
    page: include_str!("contradict.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let tolerance = &context.workspace.house.reference_tolerance;
    let stanza = context.stanza();
    // Of what could not be read, nobody knows what it would have said.
    if !stanza.is_whole() {
        return;
    }
    let mut spoiled = false;
    let (claims, contents, stated, own) = match stanza.kind {
        StanzaKind::Drug => {
            let Some(drug) = context.library.drug(context.stanza) else {
                return;
            };
            let told = equals(context, drug, tolerance);
            spoiled = !told.is_empty();
            findings.extend(told);
            let mut claims = claims::of_supply(drug, stanza);
            claims.extend(claims::of_contents(&drug.contains));
            claims.extend(claims::of_title(stanza));
            let stated = drug.osmolarity.as_ref().map(|(stated, _)| stated);
            let own = own_osmoles(drug);
            (claims, &drug.contains, stated, own)
        }
        StanzaKind::Solution => {
            let Some(solution) = context.library.solution(context.stanza) else {
                return;
            };
            charges(context, &solution.contains, findings);
            let mut claims = claims::of_contents(&solution.contains);
            claims.extend(claims::of_title(stanza));
            let stated = solution.osmolarity.as_ref().map(|(stated, _)| stated);
            (claims, &solution.contains, stated, None)
        }
        _ => return,
    };
    // What one `equals` spoils is told once.
    if !spoiled {
        findings.extend(amounts(context, &claims, tolerance));
    }
    if let Some(stated) = stated {
        findings.extend(osmolarity(context, contents, own, stated, tolerance));
    }
}

/// Of every two sayings about one substance those that lie furthest apart.
fn amounts(context: &StanzaContext<'_>, claims: &[Claim], tolerance: &Exact) -> Option<Finding> {
    let pairs = claims.iter().enumerate().flat_map(|(index, one)| {
        let later = claims.iter().skip(index + 1);
        later.filter_map(move |other| {
            let same = one.substance == other.substance && one.span != other.span;
            let apart = same.then(|| factor(&one.range, &other.range, tolerance))??;
            Some((one, other, apart))
        })
    });
    let (one, other, apart) = pairs.reduce(|most, next| match next.2 > most.2 {
        true => next,
        false => most,
    })?;
    let (first, last) = match one.span.start <= other.span.start {
        true => (one, other),
        false => (other, one),
    };
    let by = |claim: &Claim| {
        let line = context.workspace.written(context.place(claim.span));
        let by = claim.by.as_ref().map(|by| format!(" ({by})"));
        format!(
            "{} by `{line}`{}",
            millimoles(&claim.range, context.style()),
            by.unwrap_or_default()
        )
    };
    let message = format!(
        "The statements about {} contradict each other: {}, and {}.",
        one.substance,
        by(first),
        by(last)
    );
    Some(finding(context, last.span, first.span, message, &apart))
}

/// Millimoles in a millilitre, at one number where both ends are nearly that.
fn millimoles(range: &(Exact, Exact), style: Style) -> Printed {
    let shown = |value: &Exact| {
        let value = Quantity::new(value.clone(), units::MMOL_PER_ML);
        style.quantity_significant(&value, 3, Rounding::HalfUp)
    };
    between(&shown(&range.0), &shown(&range.1))
}

fn finding(
    context: &StanzaContext<'_>,
    at: Span,
    other: Span,
    message: String,
    apart: &Exact,
) -> Finding {
    let severity = match *apart >= Exact::int(2) {
        true => Severity::Error,
        false => Severity::Warning,
    };
    let mut finding = context.finding(&RULE, at, message).severity(severity);
    if other != at {
        finding = finding.related(context.place(other), "the line that it contradicts");
    }
    finding.note("Every order that depends on it is calculated with one of the two. Check on the product's label which is right.")
}

/// Ways of an `equals`, held against one another and against the molar mass.
fn equals(context: &StanzaContext<'_>, drug: &Drug, tolerance: &Exact) -> Vec<Finding> {
    let mut findings = Vec::new();
    let stanza = context.stanza();
    let lines: Vec<_> = equals_lines(drug, stanza).collect();
    for (index, (ways, span)) in lines.iter().enumerate() {
        if let Some((message, apart)) = within(drug, ways, tolerance, context.style()) {
            findings.push(finding(context, *span, *span, message, &apart));
            continue;
        }
        for (earlier, before) in lines.iter().take(index) {
            let Some(apart) = against(ways, earlier, tolerance) else {
                continue;
            };
            let message = format!(
                "Two `equals` lines of {} contradict each other by a factor of {}.",
                drug.name,
                context
                    .style()
                    .decimal_significant(&apart, 2, Rounding::HalfUp)
            );
            findings.push(finding(context, *span, *before, message, &apart));
        }
    }
    findings
}

/// What is wrong with one `equals`, and how far.
fn within(
    drug: &Drug,
    ways: &[(DrugKind, Exact)],
    tolerance: &Exact,
    style: Style,
) -> Option<(String, Exact)> {
    let of = |kind: DrugKind| ways.iter().find(|(own, _)| *own == kind);
    if let (Some((_, moles)), Some((_, charges))) =
        (of(DrugKind::Amount), of(DrugKind::Equivalents))
    {
        // No ion of a drug has more than four charges, nor less than one.
        let moles = (moles.clone(), moles * &Exact::int(4));
        let charges = (charges.clone(), charges.clone());
        if let Some(apart) = factor(&moles, &charges, tolerance) {
            let message = format!(
                "1 mmol of {} cannot be so many milliequivalents: an ion has one to four charges.",
                drug.name
            );
            return Some((message, apart));
        }
    }
    let made = drug.made?;
    let (_, mass) = of(DrugKind::Mass)?;
    let (_, moles) = of(DrugKind::Amount)?;
    let (per, name) = match made {
        Composition::Salt(salt) => (salt.millimoles(DrugKind::Mass)?, salt.names),
        Composition::Substance(own) => (own.millimoles(DrugKind::Mass)?, own.names),
    };
    let by_mass = (mass * &per.0, mass * &per.1);
    let apart = factor(&by_mass, &(moles.clone(), moles.clone()), tolerance)?;
    let shown = |value: &Exact| told(value, units::MMOL, style);
    let message = format!(
        "By its molar mass {} of {} is {}, but {} is written.",
        told(mass, units::MG, style),
        name.first().copied().unwrap_or_default().replace('-', " "),
        between(&shown(&by_mass.0), &shown(&by_mass.1)),
        shown(moles)
    );
    Some((message, apart))
}

/// How far two `equals` lines that tie the same two ways are apart.
fn against(
    one: &[(DrugKind, Exact)],
    other: &[(DrugKind, Exact)],
    tolerance: &Exact,
) -> Option<Exact> {
    let ratio = |ways: &[(DrugKind, Exact)], from: DrugKind, to: DrugKind| {
        let of = |kind| {
            ways.iter()
                .find(|(own, _)| *own == kind)
                .map(|(_, base)| base)
        };
        of(to)?.checked_div(of(from)?)
    };
    let kinds: Vec<_> = one.iter().map(|(kind, _)| *kind).collect();
    let pairs = kinds
        .iter()
        .flat_map(|from| kinds.iter().map(move |to| (*from, *to)));
    let apart = pairs.filter_map(|(from, to)| {
        let (one, other) = (ratio(one, from, to)?, ratio(other, from, to)?);
        factor(&(one.clone(), one), &(other.clone(), other), tolerance)
    });
    apart.max()
}

/// Positive and negative ions that are both listed, and not as many.
fn charges(
    context: &StanzaContext<'_>,
    contents: &[ContainedSubstance],
    findings: &mut Vec<Finding>,
) {
    let mut positive = (Exact::ZERO, Exact::ZERO, None);
    let mut negative = (Exact::ZERO, Exact::ZERO, None);
    for claim in claims::of_contents(contents) {
        let known = substance(&claim.substance).and_then(|substance| substance.charge());
        let Some((least, most, is_positive)) = known else {
            continue;
        };
        let side = match is_positive {
            true => &mut positive,
            false => &mut negative,
        };
        side.0 = &side.0 + &(&claim.range.0 * &Exact::int(least));
        side.1 = &side.1 + &(&claim.range.1 * &Exact::int(most));
        side.2 = Some(claim.span);
    }
    let (Some(_), Some(at)) = (positive.2, negative.2) else {
        return;
    };
    // Not every ion need be listed: half of them are.
    let Some(apart) = factor(
        &(positive.0, positive.1),
        &(negative.0, negative.1),
        &Exact::ONE,
    ) else {
        return;
    };
    let message = format!(
        "Positive and negative ions are both listed, and one kind is {} times the other: in a solution they must balance.",
        context
            .style()
            .decimal_significant(&apart, 2, Rounding::HalfUp)
    );
    findings.push(finding(context, at, at, message, &apart));
}

/// A stated osmolarity against the least that the contents make, and against
/// four times that.
fn osmolarity(
    context: &StanzaContext<'_>,
    contents: &[ContainedSubstance],
    own: Option<Exact>,
    stated: &Exact,
    tolerance: &Exact,
) -> Option<Finding> {
    let reckoned = of_contents(contents);
    // What a drug makes itself, and what else is in its vial, is not always known.
    let is_all = context.stanza().kind == StanzaKind::Solution;
    let least = own.map_or_else(
        || reckoned.least.clone(),
        |own| own.max(reckoned.least.clone()),
    );
    let range = |value: &Exact| (value.clone(), value.clone());
    let shown = |value: &Exact| told(value, units::MOSM_PER_L, context.style());
    let at = claims::osmolarity_line(context.stanza())?;
    let (message, apart) = if least > *stated {
        let apart = factor(&range(&least), &range(stated), tolerance)?;
        let message = format!(
            "The contents by themselves give at least {}, but {} is stated.",
            shown(&least),
            shown(stated)
        );
        (message, apart)
    } else {
        let most = reckoned.most.filter(|_| is_all)?;
        let apart = factor(&range(&most), &range(stated), &Exact::int(3))?;
        let message = format!(
            "The contents give about {}, but {} is stated.",
            shown(&most),
            shown(stated)
        );
        (message, apart)
    };
    Some(finding(context, at, at, message, &apart))
}

#[cfg(test)]
mod tests;
