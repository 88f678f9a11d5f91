//! How a line's values come about, in Markdown: the steps for one patient,
//! and a table over the patients.

use gutta_checks::markdown::{code, inline};
use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Fact, Line};
use gutta_protocol::StanzaId;
use gutta_protocol::derive::View;
use gutta_protocol::measures::{Group, Measure, Measures, NOTHING, amount_unit, staying};
use gutta_protocol::model::size::DrugKind;
use gutta_protocol::plot::axis;
use gutta_protocol::working::Working;
use gutta_quantity::{Atom, Exact, Told, Unit, units};
use gutta_views::table::{ByPatient, Choice, Table};

use super::derived::{Shown, Whom};
use super::{CAUTION, examples};
use crate::state::Site;

/// Of a line of an order, or of a drug's limit; `None` where nothing follows
/// from it. Of an incomplete order what is missing, and no number.
pub(super) fn line(site: Site<'_>, id: StanzaId, line: &Line) -> Option<String> {
    use gutta_notation::StanzaKind as Kind;
    match site.workspace.stanza(id).kind {
        Kind::Order | Kind::Specimen => {}
        Kind::Drug | Kind::Ingredient => {
            let other = super::hints::limits::label(site, id, line)?;
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

/// The text, with the caution below it.
pub(super) fn ended(text: String) -> String {
    let own = text.trim_end();
    if own.ends_with(&format!("*{CAUTION}*")) {
        return own.to_owned();
    }
    format!("{own}\n\n*{CAUTION}*")
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
    let substances = views
        .first()
        .map(|view| Measures { order, view }.substances());
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

/// What does not vary as a list, a table of the rest, and the steps where they
/// are wanted.
pub(super) fn groups_text(
    shown: &Shown<'_>,
    groups: &[Group<'_>],
    with_steps: bool,
) -> Option<String> {
    let (view, _) = groups.first()?.over.first()?;
    let views = &shown.values()?.views;
    let all: Vec<_> = groups.iter().collect();
    let chosen = match &shown.whom {
        Whom::One(weight) => Some(weight),
        Whom::All | Whom::NotCovered(_) => None,
    };
    let values = ByPatient::of(views, &all, Choice::Turns, None, shown.style());
    let mut text = String::new();
    for same in &values.same {
        let value = cell(same.value.as_ref());
        text.push_str(&format!("- {} **{value}**\n", same.measure));
    }
    for of_view in &values.tables {
        text.push_str(&table(of_view));
    }
    if with_steps {
        let interval = &view.patients.interval;
        // The weight that is set, else one amid the table.
        let rows = values.tables.first().map(|table| &table.patients.all);
        let middle = rows.and_then(|rows| rows.get(rows.len() / 2));
        let wanted = [chosen, middle.map(|patient| &patient.at)];
        let mut inside = wanted
            .into_iter()
            .flatten()
            .filter(|x| interval.contains(x));
        let x = inside.next().unwrap_or(interval.lo());
        text.push_str(&steps(shown, view, groups, x));
    }
    (!text.is_empty()).then_some(text)
}

/// ` with 1.8 m2`, where the order ranges over both.
fn with(stays: Option<&Told>) -> String {
    stays.map_or_else(String::new, |stays| format!(" with {stays}"))
}

fn cell(told: Option<&Told>) -> String {
    told.map_or_else(|| NOTHING.to_owned(), Told::to_string)
}

fn table(table: &Table) -> String {
    let Table { patients, measures } = table;
    let mut text = format!("\n| {}{} |", patients.across, with(patients.with.as_ref()));
    for measure in measures {
        text.push_str(&format!(" {} |", measure.name));
    }
    text.push_str("\n|");
    text.push_str(&" --- |".repeat(measures.len() + 1));
    for (at, patient) in patients.all.iter().enumerate() {
        text.push_str(&format!("\n| {} |", patient.told));
        for measure in measures {
            let told = measure.cells.get(at).and_then(Option::as_ref);
            text.push_str(&format!(" {} |", cell(told)));
        }
    }
    text.push('\n');
    if let Some(why) = table.note() {
        text.push_str(&format!("\n{NOTHING} no value: {why}.\n"));
    }
    text
}

/// The steps to each value, one after the other; what stands there already is
/// not said again.
pub(super) fn steps(shown: &Shown<'_>, view: &View, groups: &[Group<'_>], x: &Exact) -> String {
    let order = &shown.analysis.order;
    let mut said: Vec<String> = Vec::new();
    let mut text = String::new();
    for group in groups {
        let Some(value) = group.in_view(view) else {
            continue;
        };
        let working = Working {
            order,
            view,
            x,
            dose: group.setting,
            style: shown.style(),
        };
        let mut own = working.steps(value);
        let Some(result) = own.pop() else { continue };
        for step in own {
            if !said.contains(&step) {
                text.push_str(&format!("1. {step}\n"));
                said.push(step);
            }
        }
        text.push_str(&format!("1. **{result}**\n"));
    }
    if text.is_empty() {
        return text;
    }
    let whom = axis(view).map_or_else(String::new, |(_, unit)| {
        let stays = staying(view, shown.style());
        format!(" for {}{}", shown.patient(x, unit), with(stays.as_ref()))
    });
    format!("\nWorking{whom}:\n\n{text}")
}
