//! A waiver of a finding, for its reason to be written in.

use gutta_checks::{Check, Finding, Fix, Severity};
use gutta_notation::lines::{LINES, LineKind};
use gutta_notation::{Stanza, StanzaKind};
use gutta_protocol::StanzaId;
use gutta_quantity::{Printed, Quantity, Rounding, Style};

use super::{Action, ActionKind, line};
use crate::state::Site;

/// So many figures of a bound are written where its decimals do not end.
const FIGURES: u32 = 4;

/// A waiver of the finding. Its reason is left empty, so that it silences
/// nothing until one is written. None for what cannot be waived, nor for what
/// is spelt right more easily, nor for what is unusual where among `all` that
/// was found the same line breaks a `never`.
pub(super) fn waiver(
    site: &Site<'_>,
    id: StanzaId,
    finding: &Finding,
    all: &[Finding],
) -> Option<Action> {
    let rule = finding.rule;
    let stanza = site.workspace.stanza(id);
    let by_runner = matches!(rule.check, Check::Last);
    let spelt = finding.fixes.iter().any(|fix| fix.spelling);
    let refused = rule.locked || finding.locked || by_runner || spelt;
    let slight = finding.severity < Severity::Information;
    let never = rule.needs_bound()
        && all
            .iter()
            .any(|other| other.locked && other.extent.is_some() && other.place == finding.place);
    if refused || slight || never || !can_hold(stanza.kind) {
        return None;
    }
    let bounds = if rule.needs_bound() {
        bounds(finding, site.workspace.house.style)
    } else {
        vec![String::new()]
    };
    let lines: Vec<_> = bounds
        .iter()
        .map(|bound| line("waive", &format!("{}{bound} because \"\"", rule.name)))
        .collect();
    let mut edits = lines
        .iter()
        .map(|line| Fix::insert_below(site.workspace, id, last(stanza), line).edits);
    // Several are written at one place, so as one edit.
    let mut edit = edits.next()?.pop()?;
    for other in edits.flatten() {
        edit.text.push_str(&other.text);
    }
    let title = format!(
        "Waive `{}`{}, once its reason is written",
        rule.name,
        bounds.join(" and")
    );
    Some(Action {
        mends: Some(finding.clone()),
        ..Action::new(ActionKind::Mend, title, vec![edit])
    })
}

fn last(stanza: &Stanza) -> gutta_notation::Span {
    stanza.lines.last().map_or(stanza.header, |line| line.span)
}

fn can_hold(kind: StanzaKind) -> bool {
    let mut lines = LINES.iter();
    lines.any(|line| line.kind == LineKind::Waive && line.homes.has(kind))
}

/// ` of dose up to 3 mcg/kg/min`: as far as the finding goes, and no further.
fn bounds(finding: &Finding, style: Style) -> Vec<String> {
    let Some(extent) = &finding.extent else {
        return Vec::new();
    };
    let measure = extent.measure.phrase();
    let ends = [
        (&extent.high, "up to", Rounding::Up),
        (&extent.low, "down to", Rounding::Down),
    ];
    let told = ends.into_iter().filter_map(|(end, way, rounding)| {
        // Nothing at all cannot be written as a bound: it would not be read.
        let end = end.as_ref().filter(|end| end.value.is_positive())?;
        let bound = written(end, rounding, style);
        Some(format!(" of {measure} {way} {bound}"))
    });
    told.collect()
}

/// The quantity, rounded so that it still holds the finding.
fn written(quantity: &Quantity, rounding: Rounding, style: Style) -> Printed {
    let exact = style.quantity_exact(quantity);
    let exact = exact.filter(|exact| exact.number.len() <= 8);
    exact.unwrap_or_else(|| style.quantity_significant(quantity, FIGURES, rounding))
}
