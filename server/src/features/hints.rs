//! What follows from a line, behind it.

use gutta_notation::ast::ExpectMeasure;
use gutta_notation::{Fact, Line, Span, StanzaKind};
use gutta_protocol::StanzaId;
use gutta_protocol::measures::{Group, Measure, ends as between_ends};
use gutta_protocol::model::order::Phase;
use gutta_protocol::model::size::Size;
use gutta_quantity::print::between;
use gutta_quantity::{Quantity, units};

use super::derived::{Shown, Whom};
use super::{TOO_LONG, TOO_LONG_SHORT, examples, limits, worked};
use crate::state::{AnswerPart, Site};

/// A word behind a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Hint {
    /// The line's first byte in its file: with it the hint is found again.
    pub(crate) line: u32,
    /// Where it stands.
    pub(crate) offset: u32,
    pub(crate) label: String,
}

/// The hints behind the lines of a stretch.
pub(crate) fn hints(site: Site<'_>, span: Span) -> Vec<Hint> {
    let mut hints = Vec::new();
    if !site.settings.hints.enabled {
        return hints;
    }
    for id in site.stanzas_in(span) {
        let start = site.start_of(id);
        let touched = |line: &&Line| {
            let line = line.span.shifted(start);
            line.start <= span.end && line.end >= span.start
        };
        let lines = site.workspace.stanza(id).lines.iter().filter(touched);
        let hint = |line: &Line, label| Hint {
            line: line.span.start + start,
            offset: line.span.end + start,
            label,
        };
        let first = lines.clone().next();
        let told = site.refused.within(id, AnswerPart::Hints, || {
            let mut labels = Labels::new(site, id);
            let told = lines.filter_map(|line| Some(hint(line, labels.of(line)?)));
            told.collect::<Vec<_>>()
        });
        match told {
            Ok(told) => hints.extend(told),
            Err(_) => hints.extend(first.map(|line| hint(line, TOO_LONG_SHORT.to_owned()))),
        }
    }
    hints
}

/// How a hint comes about, in Markdown; nothing where it is no longer what it
/// was.
pub(crate) fn tooltip(site: Site<'_>, line: u32, label: &str) -> Option<String> {
    let (id, _, line) = site.line_at(line)?;
    let told = site
        .refused
        .within(id, AnswerPart::Line(line.span.start), || {
            let held = Labels::new(site, id).of(line)?;
            (held == label).then(|| worked::line(site, id, line))?
        });
    told.unwrap_or_else(|_| Some(TOO_LONG.to_owned()))
}

/// Labels of one stanza's lines; what they need is derived once, and only
/// where a line asks for it.
struct Labels<'a> {
    site: Site<'a>,
    id: StanzaId,
    kind: StanzaKind,
    shown: Option<Shown<'a>>,
}

impl<'a> Labels<'a> {
    fn new(site: Site<'a>, id: StanzaId) -> Self {
        let kind = site.workspace.stanza(id).kind;
        Self {
            site,
            id,
            kind,
            shown: None,
        }
    }

    fn of(&mut self, line: &Line) -> Option<String> {
        match self.kind {
            StanzaKind::Order | StanzaKind::Specimen => {
                let wanted = matches!(
                    line.fact,
                    Fact::Bag(_)
                        | Fact::Run(_)
                        | Fact::Bolus(_)
                        | Fact::Adjust(_)
                        | Fact::ChangeBag(_)
                        | Fact::Expect(_)
                );
                if !wanted {
                    return None;
                }
                let (site, id) = (self.site, self.id);
                let shown = self.shown.get_or_insert_with(|| Shown::of(site, id));
                of_order(shown, line)
            }
            StanzaKind::Drug | StanzaKind::Ingredient => limits::label(self.site, self.id, line),
            _ => None,
        }
    }
}

fn of_order(shown: &Shown<'_>, line: &Line) -> Option<String> {
    shown.values()?;
    if let (Whom::NotCovered(weight), Fact::Run(_)) = (&shown.whom, &line.fact) {
        let weight = shown.patient(weight, units::KG);
        return Some(format!("{weight} is not covered ({})", shown.patients()));
    }
    if matches!(shown.whom, Whom::NotCovered(_)) && !matches!(line.fact, Fact::Expect(_)) {
        return None;
    }
    let parts = match &line.fact {
        Fact::Bag(_) => bag(shown, line),
        Fact::Run(_) => run(shown, line),
        Fact::Bolus(_) => bolus(shown, line),
        Fact::Adjust(_) => adjust(shown, line),
        Fact::ChangeBag(_) => change_bag(shown, line),
        Fact::Expect(_) => {
            let mut expects = shown.analysis.order.expects.iter();
            let expectation = expects.find(|expectation| expectation.span == line.span)?;
            examples::label(shown, expectation).into_iter().collect()
        }
        _ => Vec::new(),
    };
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// Parts of a label: for whom the values are is said once, at the first that
/// varies.
#[derive(Default)]
struct Parts {
    parts: Vec<String>,
    said: bool,
}

impl Parts {
    fn add(&mut self, shown: &Shown<'_>, group: &Group<'_>, words: impl Fn(&str) -> String) {
        let Some(told) = shown.told(group) else {
            return;
        };
        let mut part = words(&told.text);
        if !self.said {
            let over = shown.over(&told);
            self.said = !over.is_empty();
            part.push_str(&over);
        }
        self.parts.push(part);
    }

    /// The flow as the pump runs it, where the exact one has its ends.
    fn pump(&mut self, shown: &Shown<'_>, flow: &Group<'_>, pump: &Group<'_>, written: bool) {
        let Some(told) = pumped(shown, flow, pump) else {
            return;
        };
        match (written, self.parts.last_mut()) {
            (false, Some(last)) => last.push_str(&format!(" ({})", told.text)),
            _ if told.exact => {}
            _ => self.parts.push(told.text),
        }
    }
}

struct Pumped {
    text: String,
    /// Whether the pump runs just the exact flow at both ends.
    exact: bool,
}

fn pumped(shown: &Shown<'_>, flow: &Group<'_>, pump: &Group<'_>) -> Option<Pumped> {
    let told = shown.told(flow)?;
    let ends = [&told.reach.from, &told.reach.to].map(|spot| {
        let mut views = pump.over.iter();
        let own = views.find(|(view, _)| std::ptr::eq(*view, spot.view));
        let number = own.and_then(|(_, value)| value.at(&spot.x));
        (number, spot)
    });
    let value = pump.value()?;
    let exact = ends.iter().all(|(number, spot)| *number == spot.number);
    let flow = flow.value()?;
    let mut missed: Vec<_> = ends
        .iter()
        .filter(|(number, _)| number.is_none())
        .filter_map(|(_, spot)| Some(shown.number(flow, spot)?.to_string()))
        .collect();
    missed.dedup();
    let text = match ends {
        [(Some(from), _), (Some(to), _)] => {
            let told = |number| value.told(number, shown.style());
            // Its unit stands before it, behind the exact flow.
            format!("pump {}", between(&told(&from), &told(&to)).number)
        }
        [(None, _), (None, _)] => "the pump cannot run this".to_owned(),
        _ => format!("the pump cannot run {}", missed.concat()),
    };
    Some(Pumped { text, exact })
}

/// The one of the groups that has a measure.
fn one<'g, 'v>(groups: &'g [Group<'v>], measure: ExpectMeasure) -> Option<&'g Group<'v>> {
    let measure = Measure::Expect(measure);
    groups.iter().find(|group| group.is(&measure))
}

/// The groups of several measures that follow from the line.
fn ask<'s>(shown: &'s Shown<'_>, line: &Line, measures: &[ExpectMeasure]) -> Vec<Group<'s>> {
    let groups = measures
        .iter()
        .flat_map(|measure| shown.ask(measure.clone(), None))
        .collect();
    Shown::of_line(groups, line)
}

fn bag(shown: &Shown<'_>, line: &Line) -> Vec<String> {
    use ExpectMeasure as M;
    let groups = ask(shown, line, &[M::Strength, M::TrueStrength, M::Draw]);
    let mut parts = Parts::default();
    if let Some(strength) = one(&groups, M::Strength)
        && !strength.is_written(&line.fact)
    {
        parts.add(shown, strength, str::to_owned);
    }
    let phases = shown.analysis.order.phases.iter();
    let counted = shown.values().is_some_and(|values| {
        phases.enumerate().any(|(index, phase)| {
            let here = phase.bag.as_ref().is_some_and(|bag| bag.span == line.span);
            let mut views = values.views.iter();
            let counts = |phase: &gutta_protocol::derive::Phase| phase.bag.is_counted;
            here && views.any(|view| view.phases.get(index).is_some_and(counts))
        })
    });
    if let Some(truly) = one(&groups, M::TrueStrength).filter(|_| counted) {
        // Where both read alike, the digits that tell them apart.
        let text = |group| shown.told(group).map(|told| told.text);
        let by_name = one(&groups, M::Strength).and_then(text);
        let faithful = shown.told(truly).zip(truly.value()).map(|(told, value)| {
            let [from, to] = [&told.reach.from, &told.reach.to].map(|spot| {
                let quantity = Quantity::from_base(spot.number.clone()?, value.unit);
                Some(shown.style().quantity(&quantity))
            });
            between_ends(from, to)
        });
        parts.add(shown, truly, |told| {
            let alike = by_name.as_deref() == Some(told);
            let apart = faithful.as_deref().filter(|_| alike);
            format!("true strength {}", apart.unwrap_or(told))
        });
    }
    if let Some(draw) = one(&groups, M::Draw)
        && !draw.is_written(&line.fact)
    {
        parts.add(shown, draw, |told| format!("draw up {told}"));
    }
    if one(&groups, M::Strength).is_none() {
        for group in worked::brought(shown, line) {
            let name = group.value().map(|value| value.measure.clone());
            let name = name.as_ref().map_or("", Measure::name);
            parts.add(shown, &group, |told| format!("{name} {told}"));
        }
    }
    parts.parts
}

fn run(shown: &Shown<'_>, line: &Line) -> Vec<String> {
    use ExpectMeasure as M;
    let groups = ask(shown, line, &[M::Flow, M::PumpFlow, M::Time, M::Drops]);
    let Some(flow) = one(&groups, M::Flow) else {
        return Vec::new();
    };
    let mut parts = Parts::default();
    let written = flow.is_written(&line.fact);
    if !written {
        parts.add(shown, flow, str::to_owned);
    }
    let pump = one(&groups, M::PumpFlow);
    if let Some(pump) = pump {
        parts.pump(shown, flow, pump, written);
    }
    for measure in [M::Time, M::Drops] {
        // A pump counts no drops.
        if pump.is_some() && measure == M::Drops {
            continue;
        }
        if let Some(group) = one(&groups, measure)
            && !group.is_written(&line.fact)
        {
            parts.add(shown, group, str::to_owned);
        }
    }
    parts.parts
}

fn bolus(shown: &Shown<'_>, line: &Line) -> Vec<String> {
    use ExpectMeasure as M;
    let groups = ask(shown, line, &[M::Bolus, M::BolusTime]);
    let mut parts = Parts::default();
    for group in groups.iter().filter(|group| !group.is_written(&line.fact)) {
        parts.add(shown, group, str::to_owned);
    }
    parts.parts
}

/// The phase of which something stands on the line.
fn phase_of(shown: &Shown<'_>, has: impl Fn(&Phase) -> Option<Span>, line: &Line) -> Option<usize> {
    let mut phases = shown.analysis.order.phases.iter();
    phases.position(|phase| {
        has(phase).is_some_and(|span| span.start >= line.span.start && span.end <= line.span.end)
    })
}

fn adjust(shown: &Shown<'_>, line: &Line) -> Vec<String> {
    let on = |phase: &Phase| phase.adjust.as_ref().map(|adjust| adjust.span);
    let Some(index) = phase_of(shown, on, line) else {
        return Vec::new();
    };
    let phase = shown.analysis.order.phases.get(index);
    let steps = phase.and_then(|phase| phase.adjust.as_ref());
    let Some(steps) = steps.map(|adjust| &adjust.steps) else {
        return Vec::new();
    };
    let mut parts = Parts::default();
    for (word, setting) in [("lowest", steps.low()), ("highest", steps.high())] {
        let Some(setting) = setting else { continue };
        let (flow, pump) = at_setting(shown, index, setting);
        // Steps of a flow are written.
        let Some(flow) = flow.filter(|flow| !flow.is_written(&line.fact)) else {
            continue;
        };
        parts.add(shown, &flow, |told| format!("{word} {told}"));
        if let Some(pump) = pump {
            parts.pump(shown, &flow, &pump, false);
        }
    }
    parts.parts
}

/// The flow of a phase's first run at a setting, exact and as the pump runs it.
fn at_setting<'s>(
    shown: &'s Shown<'_>,
    phase: usize,
    setting: &'s Size,
) -> (Option<Group<'s>>, Option<Group<'s>>) {
    let [flow, pump] = [ExpectMeasure::Flow, ExpectMeasure::PumpFlow].map(|measure| {
        let here = |group: &Group<'_>| {
            group
                .value()
                .is_some_and(|value| value.phase == Some(phase))
        };
        shown.ask(measure, Some(setting)).into_iter().find(here)
    });
    (flow, pump)
}

fn change_bag(shown: &Shown<'_>, line: &Line) -> Vec<String> {
    let on = |phase: &Phase| phase.change_bag.as_ref().map(|change| change.span);
    let index = phase_of(shown, on, line);
    let groups = shown.all();
    let mut parts = Parts::default();
    for measure in [Measure::Bags, Measure::RunsDry] {
        let own = groups.iter().find(|group| {
            group.is(&measure) && group.value().is_some_and(|value| value.phase == index)
        });
        if let Some(group) = own.filter(|_| index.is_some()) {
            parts.add(shown, group, |told| match measure {
                Measure::Bags if told == "1" => "1 bag a day".to_owned(),
                Measure::Bags => format!("{told} bags a day"),
                _ => format!("runs dry after {told}"),
            });
        }
    }
    parts.parts
}

#[cfg(test)]
mod tests;
