//! One flow with its limits, ready to be drawn: points as decimals, and words
//! for whoever does not see the drawing.

use gutta_checks::telling::whom;
use gutta_protocol::Workspace;
use gutta_protocol::curve::{Curve, Dot};
use gutta_protocol::measures::staying;
use gutta_protocol::model::limit::Side;
use gutta_protocol::model::order::Order;
use gutta_protocol::plot::{Axes, Axis, Bound, BoundOf, FLOW, Plot, SMOOTH, axis};
use gutta_quantity::print::between;
use gutta_quantity::{Exact, Printed, Quantity, Style, Unit, machine};
use serde::Serialize;

/// The decimals of a number whose decimal form does not end.
const DECIMALS: u32 = 12;

/// The most places of a flow that are told.
const MOST_TOLD: usize = 6;

/// The flow of one run, with what it must keep to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Drawing {
    /// The run as written: `run all at 0.06 mcg/kg/min`.
    pub run: String,
    /// The other of weight and surface, where the order ranges over both.
    pub with: Option<String>,
    /// Patients.
    pub across: DrawnAxis,
    /// Flows.
    pub up: DrawnAxis,
    /// The flow first, then what it may be adjusted to, then the bounds.
    pub lines: Vec<DrawnLine>,
    /// Limits that hold for this flow, and could not be drawn.
    pub undrawn: Vec<String>,
    /// The same in sentences.
    pub summary: Vec<String>,
}

/// An axis.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DrawnAxis {
    /// `weight`, `flow`.
    pub word: String,
    /// `kg`, `mL/h`.
    pub unit: String,
    /// Where it begins, a decimal.
    pub from: String,
    /// Where it ends, a decimal.
    pub to: String,
    /// The numbers beside it.
    pub marks: Vec<Tick>,
}

/// A number beside an axis.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Tick {
    /// Where, a decimal.
    pub at: String,
    /// What is written there.
    pub text: String,
}

/// A line of the drawing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DrawnLine {
    /// What it is.
    pub kind: LineKind,
    /// What it is called: `flow`, `never dose above 2 mcg/kg/min`.
    pub name: String,
    /// Between what it lies: `1.8 to 6.75 mL/h`.
    pub reach: String,
    /// Whether some of it lies on the drawing; what does not is named beside.
    pub shown: bool,
    /// Its unbroken strokes.
    pub strokes: Vec<Vec<Point>>,
}

/// What a line of a drawing is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LineKind {
    /// The flow as it starts.
    Flow,
    /// The flow at an end of what it may be adjusted to.
    Adjusted,
    /// What must never be passed: a `never`, a ceiling, a maximum.
    Bound,
    /// What is usual.
    Usual,
    /// What the pump can run.
    Pump,
}

/// A point: patient and flow, as decimals of at most twelve places.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Point {
    /// In the unit of the axis across.
    pub x: String,
    /// In mL/h.
    pub y: String,
}

impl Drawing {
    pub(crate) fn of(workspace: &Workspace, order: &Order, plot: &Plot<'_>, style: Style) -> Self {
        let axes = plot.axes();
        let (word, unit) = axis(plot.view).unwrap_or(("patient", FLOW));
        let run = workspace.written(workspace.place(order.id, plot.span));
        let own = |kind, name: &str, curve: &Curve| DrawnLine {
            kind,
            name: name.to_owned(),
            reach: reach([curve].into_iter(), style),
            shown: true,
            strokes: strokes([curve].into_iter()),
        };
        let mut lines = vec![own(LineKind::Flow, "flow", &plot.flow)];
        if let Some((low, high)) = &plot.adjusted {
            lines.push(own(LineKind::Adjusted, "lowest setting", low));
            lines.push(own(LineKind::Adjusted, "highest setting", high));
        }
        let bounds = plot.bounds.iter();
        lines.extend(bounds.map(|bound| drawn(workspace, order, &axes, bound, style)));
        Self {
            run,
            with: staying(plot.view, style)
                .filter(|_| !plot.in_every_view)
                .map(|with| with.to_string()),
            across: drawn_axis(word, unit, &axes.across, style),
            up: drawn_axis("flow", FLOW, &axes.up, style),
            lines,
            undrawn: undrawn(workspace, order, plot),
            summary: summary(workspace, order, plot, style),
        }
    }
}

fn drawn(
    workspace: &Workspace,
    order: &Order,
    axes: &Axes,
    bound: &Bound,
    style: Style,
) -> DrawnLine {
    let kind = match &bound.of {
        BoundOf::Pump(_) => LineKind::Pump,
        _ if bound.forbids() => LineKind::Bound,
        _ => LineKind::Usual,
    };
    DrawnLine {
        kind,
        name: named(&bound.of, workspace, order, Some(bound.side)),
        reach: reach(bound.over.iter(), style),
        shown: axes.show(bound),
        strokes: strokes(bound.over.iter()),
    }
}

/// `never dose above 2 mcg/kg/min (noradrenaline)`, `slowest of pump syringe`.
fn named(of: &BoundOf, workspace: &Workspace, order: &Order, side: Option<Side>) -> String {
    let told = of.told(workspace, order);
    let told = match (of, side) {
        (BoundOf::Pump(_), Some(Side::Low)) => format!("slowest of {told}"),
        (BoundOf::Pump(_), _) => format!("fastest of {told}"),
        (BoundOf::Limit(_, bound), Some(Side::Low)) if bound.usual => {
            format!("minimum of {told}")
        }
        (BoundOf::Limit(_, bound), Some(Side::High)) if bound.usual => {
            format!("maximum of {told}")
        }
        _ => told,
    };
    match of.whose(workspace) {
        Some(whose) => format!("{told} ({whose})"),
        None => told,
    }
}

fn drawn_axis(word: &str, unit: Unit, axis: &Axis, style: Style) -> DrawnAxis {
    DrawnAxis {
        word: word.to_owned(),
        unit: style.unit(unit),
        from: decimal(&axis.from),
        to: decimal(&axis.to),
        marks: axis
            .marks
            .iter()
            .map(|mark| Tick {
                at: decimal(mark),
                text: style.shown(mark, unit),
            })
            .collect(),
    }
}

fn decimal(value: &Exact) -> String {
    machine::decimal(value, DECIMALS)
}

fn strokes<'c>(curves: impl Iterator<Item = &'c Curve>) -> Vec<Vec<Point>> {
    let point = |(x, flow): &Dot| Point {
        x: decimal(x),
        y: decimal(flow),
    };
    let strokes = curves.flat_map(|curve| curve.strokes(SMOOTH));
    strokes
        .map(|stroke| stroke.iter().map(point).collect())
        .collect()
}

fn told(flow: &Exact, style: Style) -> Printed {
    style.quantity(&Quantity::new(flow.clone(), FLOW))
}

fn reach<'c>(curves: impl Iterator<Item = &'c Curve> + Clone, style: Style) -> String {
    let least = curves
        .clone()
        .filter_map(Curve::min_value)
        .min_by_key(|end| end.value.clone());
    let most = curves
        .filter_map(Curve::max_value)
        .max_by_key(|end| end.value.clone());
    match (least, most) {
        (Some(least), Some(most)) => {
            between(&told(&least.value, style), &told(&most.value, style)).to_string()
        }
        _ => String::new(),
    }
}

/// What could not be drawn; a `usual` once, though it has two ends.
fn undrawn(workspace: &Workspace, order: &Order, plot: &Plot<'_>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for of in &plot.undrawn {
        let name = named(of, workspace, order, None);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// What the drawing shows, in sentences.
fn summary(workspace: &Workspace, order: &Order, plot: &Plot<'_>, style: Style) -> Vec<String> {
    let mut said = Vec::new();
    let unit = axis(plot.view).map_or(FLOW, |(_, unit)| unit);
    let places = plot.flow.breaks();
    let spots: Vec<_> = places
        .iter()
        .take(MOST_TOLD)
        .filter_map(|x| {
            let patient = style.quantity(&Quantity::new(x.clone(), unit));
            Some(format!("{} at {patient}", told(&plot.flow.at(x)?, style)))
        })
        .collect();
    said.push(format!(
        "The flow is {}.",
        gutta_checks::words::all_of(&spots)
    ));
    if let Some((low, high)) = &plot.adjusted {
        said.push(format!(
            "It may be adjusted: {} at the lowest setting, {} at the highest.",
            reach([low].into_iter(), style),
            reach([high].into_iter(), style),
        ));
    }
    for bound in &plot.bounds {
        let name = named(&bound.of, workspace, order, Some(bound.side));
        let lies = reach(bound.over.iter(), style);
        let verdict = verdict(plot, bound, style);
        said.push(format!("{verdict}: {name}, {lies}."));
    }
    let undrawn = undrawn(workspace, order, plot).into_iter();
    said.extend(undrawn.map(|name| format!("Could not be drawn: {name}.")));
    said
}

/// Whether the flow keeps to a bound, and if not, for whom.
fn verdict(plot: &Plot<'_>, bound: &Bound, style: Style) -> String {
    if let BoundOf::Limit(_, limit) = &bound.of
        && limit.when.after_first.is_some()
    {
        return "Checked in the findings only, because it applies from a later time".to_owned();
    }
    let adjusted = plot.adjusted.iter().flat_map(|(low, high)| {
        [
            (low, " at the lowest setting"),
            (high, " at the highest setting"),
        ]
    });
    for (flow, when) in [(&plot.flow, "")].into_iter().chain(adjusted) {
        let beyond = bound.over.iter().flat_map(|line| {
            let part = flow.restrict(line.span());
            let part = part.and_then(|part| match bound.side {
                Side::High => part.where_above(line),
                Side::Low => part.where_below(line),
            });
            let mut regions = part.unwrap_or_default();
            // The end of a band may be the next band's alone.
            regions.retain(|region| region.from.x < region.to.x || line.span().is_point());
            regions
        });
        let regions: Vec<_> = beyond.collect();
        if regions.is_empty() {
            continue;
        }
        let whom = whom(plot.view, &regions, style);
        let whom = whom.map_or_else(String::new, |whom| format!(" {whom}"));
        return format!("Not kept{whom}{when}");
    }
    "Kept".to_owned()
}
