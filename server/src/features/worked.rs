//! How a line's values come about, in Markdown.

use gutta_checks::markdown::{code, inline};
use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Fact, Line};
use gutta_protocol::StanzaId;
use gutta_protocol::measures::{Group, Measure, amount_unit};
use gutta_protocol::model::size::DrugKind;
use gutta_quantity::{Atom, Unit, units};

use super::derived::Shown;
use super::examples;
use super::steps::{ended, groups_text};
use crate::state::Site;

/// Of a line of an order, or of a drug's limit; `None` where nothing follows
/// from it. Of an incomplete order what is missing, and no number.
pub(super) fn line(site: Site<'_>, id: StanzaId, line: &Line) -> Option<String> {
    use gutta_notation::StanzaKind as Kind;
    match site.workspace.stanza(id).kind {
        Kind::Order | Kind::Specimen => {}
        Kind::Drug | Kind::Ingredient => {
            let other = super::limits::label(site, id, line)?;
            let own = site.workspace.text_at(site.workspace.place(id, line.span));
            return Some(ended(format!(
                "{}\n\nis the same as **{other}**",
                code(own)
            )));
        }
        _ => return None,
    }
    let wanted = matches!(
        line.fact,
        Fact::Bag(_)
            | Fact::Run(_)
            | Fact::Bolus(_)
            | Fact::Adjust(_)
            | Fact::ChangeBag(_)
            | Fact::Expect(_)
            | Fact::Then(_)
            | Fact::Unreadable
    );
    if !wanted {
        return None;
    }
    let shown = Shown::of(site, id);
    if shown.values().is_none() {
        return Some(missing(&shown));
    }
    if let Fact::Expect(_) = &line.fact {
        return examples::worked(&shown, line);
    }
    let groups = of_line(&shown, line);
    let text = groups_text(&shown, &groups, true)?;
    Some(ended(text))
}

/// What keeps an order from having values.
pub(super) fn missing(shown: &Shown<'_>) -> String {
    let why = if shown.analysis.values.is_err() {
        "The order is not complete"
    } else {
        "The order cannot be made up"
    };
    let mut text = format!("{why}, so nothing is calculated from it:\n");
    for obstacle in shown.obstacles() {
        text.push_str("\n- ");
        text.push_str(&inline(&obstacle));
    }
    text
}

/// What follows from a line.
fn of_line<'s>(shown: &'s Shown<'_>, line: &Line) -> Vec<Group<'s>> {
    let within =
        |span: gutta_notation::Span| span.start >= line.span.start && span.end <= line.span.end;
    let order = &shown.analysis.order;
    let strength = Measure::Expect(ExpectMeasure::Strength);
    match &line.fact {
        Fact::Adjust(_) => {
            let adjust = order.phases.iter().enumerate().find_map(|(at, phase)| {
                let adjust = phase.adjust.as_ref().filter(|adjust| within(adjust.span))?;
                Some((at, adjust))
            });
            let Some((phase, adjust)) = adjust else {
                return Vec::new();
            };
            let settings = [adjust.steps.low(), adjust.steps.high()];
            let measures = [
                ExpectMeasure::Flow,
                ExpectMeasure::PumpFlow,
                ExpectMeasure::Time,
            ];
            let all = settings.into_iter().flatten().flat_map(|setting| {
                let ask = |measure: &ExpectMeasure| shown.ask(measure.clone(), Some(setting));
                measures.iter().flat_map(ask).collect::<Vec<_>>()
            });
            all.filter(|group| {
                group
                    .value()
                    .is_some_and(|value| value.phase == Some(phase))
            })
            .collect()
        }
        Fact::ChangeBag(_) => {
            let mut phases = order.phases.iter();
            let phase = phases.position(|phase| {
                let change = phase.change_bag.as_ref();
                change.is_some_and(|change| within(change.span))
            });
            let of_bags = |group: &Group<'_>| {
                let known =
                    phase.is_some() && group.value().is_some_and(|value| value.phase == phase);
                known && (group.is(&Measure::Bags) || group.is(&Measure::RunsDry))
            };
            shown.all().into_iter().filter(of_bags).collect()
        }
        Fact::Then(_) => totals(shown),
        Fact::Bag(_) => {
            let mut groups = Shown::of_line(shown.all(), line);
            if !groups.iter().any(|group| group.is(&strength)) {
                groups.extend(brought(shown, line));
            }
            groups
        }
        _ => Shown::of_line(shown.all(), line),
    }
}

/// What the fluid of a bag's line brings per volume: electrolytes per litre,
/// as they are usually told.
pub(super) fn brought<'s>(shown: &'s Shown<'_>, line: &Line) -> Vec<Group<'s>> {
    let views = shown.values().map_or(&[][..], |values| &values.views);
    let order = &shown.analysis.order;
    let substances = views.first().map(|view| view.substances(order));
    let groups = substances.into_iter().flatten().flat_map(|(name, kind)| {
        let unit = match kind {
            DrugKind::Mass => units::MG_PER_ML,
            _ => Unit {
                per: [Some(Atom::L), None],
                ..amount_unit(kind)
            },
        };
        shown.ask_in(ExpectMeasure::Substance(name), None, Some(unit))
    });
    Shown::of_line(groups.collect(), line)
}

/// What the whole order gives.
pub(super) fn totals<'s>(shown: &'s Shown<'_>) -> Vec<Group<'s>> {
    let whole = |group: &Group<'_>| group.value().is_some_and(|value| value.phase.is_none());
    shown.all().into_iter().filter(whole).collect()
}
