//! How a line's values come about, in Markdown: the steps for one patient,
//! and a table over the patients.

use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Fact, Line};
use gutta_protocol::StanzaId;
use gutta_protocol::derive::{Incomplete, Variable, View};
use gutta_protocol::measures::{Measure, Measures, amount_unit};
use gutta_protocol::model::size::DrugKind;
use gutta_protocol::working::Working;
use gutta_quantity::{Atom, Exact, Unit, units};

use super::derived::{Group, NOTHING, Shown, Whom};
use super::{CAUTION, examples};
use crate::state::Site;

/// The most rows of a table.
const MOST_ROWS: usize = 12;

/// The most round numbers between the ends of a range.
const MOST_ROUND: usize = 5;

/// Of a line of an order, or of a drug's limit; `None` where nothing follows
/// from it. Of an incomplete order what is missing, and no number.
pub(super) fn line(site: Site<'_>, id: StanzaId, line: &Line) -> Option<String> {
    use gutta_notation::StanzaKind as Kind;
    match site.workspace.stanza(id).kind {
        Kind::Order | Kind::Specimen => {}
        Kind::Drug => {
            let other = super::hints::limits::label(site, site.library().drug(id)?, line)?;
            let own = site.workspace.text_at(site.workspace.place(id, line.span));
            return Some(ended(format!("`{own}`\n\nis the same as **{other}**")));
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
    if let Err(incomplete) = shown.values() {
        return Some(missing(&shown, incomplete));
    }
    if let Fact::Expect(_) = &line.fact {
        return examples::worked(&shown, line);
    }
    let groups = of_line(&shown, line);
    let text = groups_text(&shown, &groups, true)?;
    Some(ended(text))
}

/// What keeps an order from having values.
pub(super) fn missing(shown: &Shown<'_>, incomplete: &Incomplete) -> String {
    let mut text = "The order is not complete, so nothing is derived from it:\n".to_owned();
    for obstacle in shown.obstacles(incomplete) {
        text.push_str("\n- ");
        text.push_str(&obstacle);
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
    let views = groups.first()?.over.iter().map(|(view, _)| *view);
    let views: Vec<&View> = views.collect();
    let constant = |group: &&Group<'_>| {
        let mut over = group.over.iter();
        over.all(|(view, value)| value.is_constant() || view.patients.variable == Variable::Nothing)
    };
    let same: Vec<_> = groups.iter().filter(constant).collect();
    let varying: Vec<_> = groups.iter().filter(|group| !constant(group)).collect();
    let mut text = String::new();
    for group in &same {
        let told = shown.told(group)?;
        text.push_str(&format!("- {} **{}**\n", name(shown, group), told.text));
    }
    let rows = rows(view, &varying);
    if !varying.is_empty() {
        for view in &views {
            text.push_str(&table(shown, view, &varying, &rows));
        }
    }
    if with_steps {
        let x = chosen(shown, view, &rows);
        text.push_str(&steps(shown, view, groups, &x));
    }
    (!text.is_empty()).then_some(text)
}

/// The name of a group's value: `flow`, `flow at 0.5 mcg/kg/min`.
fn name(shown: &Shown<'_>, group: &Group<'_>) -> String {
    let Some(value) = group.value() else {
        return String::new();
    };
    let mut name = value.measure.name().to_owned();
    let dimension = value.unit.dimension();
    if dimension.without_patient() != dimension && value.phase.is_none() {
        name.push_str(if dimension.weight == 0 {
            " per m2"
        } else {
            " per kg"
        });
    }
    if value.per_day {
        name.push_str(" per day");
    }
    if let Some(setting) = group.setting {
        name.push_str(" at ");
        name.push_str(&shown.digits().quantity(&setting.quantity()));
    }
    name
}

/// The patients of a table: the ends of the range, where a value turns, and
/// round numbers between.
fn rows(view: &View, groups: &[&Group<'_>]) -> Vec<Exact> {
    let interval = &view.patients.interval;
    let mut rows = vec![interval.lo().clone(), interval.hi().clone()];
    for group in groups {
        for (_, value) in &group.over {
            rows.extend(value.turns(view));
        }
    }
    rows.retain(|x| interval.contains(x));
    rows.sort();
    rows.dedup();
    rows.truncate(MOST_ROWS);
    let room = MOST_ROWS.saturating_sub(rows.len());
    let round = round_between(interval.lo(), interval.hi());
    rows.extend(round.into_iter().take(room));
    rows.sort();
    rows.dedup();
    rows
}

/// A few round numbers between two: multiples of 1, 2 or 5 times a power of
/// ten.
fn round_between(low: &Exact, high: &Exact) -> Vec<Exact> {
    let width = high - low;
    if !width.is_positive() {
        return Vec::new();
    }
    let steps = (-3..=3)
        .flat_map(|power| [1, 2, 5].map(|digit| &Exact::int(digit) * &Exact::ten_to(power)));
    for step in steps {
        let Some(count) = width.checked_div(&step) else {
            continue;
        };
        if count > Exact::int(1 + MOST_ROUND as i64) {
            continue;
        }
        let Some(first) = low.checked_div(&step) else {
            continue;
        };
        let mut at = &(&first.floor() + &Exact::ONE) * &step;
        let mut round = Vec::new();
        while at < *high && round.len() < MOST_ROUND {
            round.push(at.clone());
            at = &at + &step;
        }
        return round;
    }
    Vec::new()
}

/// The patient for whom the steps are shown: the weight that is set, else one
/// amid the table.
fn chosen(shown: &Shown<'_>, view: &View, rows: &[Exact]) -> Exact {
    let interval = &view.patients.interval;
    let set = match &shown.whom {
        Whom::One(weight) => Some(weight),
        Whom::All | Whom::NotCovered(_) => None,
    };
    let middle = rows.get(rows.len() / 2);
    let wanted = [set, middle].into_iter().flatten();
    let mut inside = wanted.filter(|x| interval.contains(x));
    inside.next().unwrap_or(interval.lo()).clone()
}

fn axis(view: &View) -> Option<(&'static str, Unit)> {
    match view.patients.variable {
        Variable::Weight => Some(("weight", units::KG)),
        Variable::Surface => Some(("surface", units::M2)),
        Variable::Nothing => None,
    }
}

/// ` with 1.8 m2`: the side that stays, where the order ranges over both.
fn staying(shown: &Shown<'_>, view: &View) -> String {
    let (curve, unit) = match view.patients.variable {
        Variable::Weight => (view.patients.surface.as_ref(), units::M2),
        Variable::Surface => (view.patients.weight.as_ref(), units::KG),
        Variable::Nothing => (None, units::KG),
    };
    let stays = curve.and_then(|curve| curve.is_constant());
    stays.map_or_else(String::new, |stays| {
        format!(" with {}", shown.patient(stays, unit))
    })
}

fn table(shown: &Shown<'_>, view: &View, groups: &[&Group<'_>], rows: &[Exact]) -> String {
    let Some((word, unit)) = axis(view) else {
        return String::new();
    };
    let mut text = format!("\n| {word}{} |", staying(shown, view));
    for group in groups {
        text.push_str(&format!(" {} |", name(shown, group)));
    }
    text.push_str("\n|");
    text.push_str(&" --- |".repeat(groups.len() + 1));
    let mut gap = false;
    for x in rows {
        text.push_str(&format!("\n| {} |", shown.patient(x, unit)));
        for group in groups {
            let mut over = group.over.iter();
            let own = over.find(|(other, _)| std::ptr::eq(*other, view));
            let told = own.and_then(|(_, value)| {
                let number = value.at(x)?;
                Some(value.told(&number, shown.digits()))
            });
            gap |= told.is_none();
            text.push_str(&format!(" {} |", told.as_deref().unwrap_or(NOTHING)));
        }
    }
    text.push('\n');
    if gap {
        text.push_str(&format!(
            "\n{NOTHING} no value: the pump cannot run this flow, or the bag does not run dry.\n"
        ));
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
        let Some((view, value)) = group
            .over
            .iter()
            .find(|(other, _)| std::ptr::eq(*other, view))
        else {
            continue;
        };
        let working = Working {
            order,
            view,
            x,
            dose: group.setting,
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
        format!(" for {}{}", shown.patient(x, unit), staying(shown, view))
    });
    format!("\nWorking{whom}:\n\n{text}")
}
