//! The numbers of an order that may have gone wrong.

use gutta_notation::Span;
use gutta_protocol::model::order::{
    BolusWay, Order, Phase, Preparation, StepsSpec, ThenSpec, WaySpec, WhatSpec,
};
use gutta_protocol::model::size::{Form, Scalar, Size};
use gutta_quantity::{Exact, Unit};

/// A number of an order.
#[derive(Clone, Debug)]
pub(crate) struct Slot {
    /// In its unit, as written.
    pub(crate) number: Exact,
    /// The unit.
    pub(crate) unit: Unit,
    /// Decimals as written.
    pub(crate) decimals: u8,
    /// What it measures; `None`: a time.
    pub(crate) form: Option<Form>,
    /// Where it stands.
    pub(crate) span: Span,
    /// The line that holds it.
    pub(crate) line: Span,
    /// What of its line it is.
    pub(crate) of: SlotOf,
    /// How often a day the run on its line is given, where it repeats.
    pub(crate) a_day: Option<Exact>,
}

/// What a number is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SlotOf {
    /// The bag, so that any breach may come from it.
    Bag,
    /// What a line gives, or how fast.
    Line,
    /// How often it is given again.
    Interval,
    /// The most that it may come to.
    Cap,
}

/// A number, to be read or set right.
enum NumberMut<'a> {
    Size(&'a mut Size),
    Time(&'a mut Scalar),
}

/// The numbers of runs, boluses, adjustments and bags, with their caps and how
/// often they are given again.
pub(crate) fn slots(order: &Order) -> Vec<Slot> {
    let mut slots = Vec::new();
    each(&mut order.clone(), &mut |part, line, of, a_day| {
        let (value, unit, decimals, form, span) = match part {
            NumberMut::Size(size) => (
                &size.value,
                size.unit,
                size.decimals,
                Some(size.form),
                size.span,
            ),
            NumberMut::Time(time) => (&time.value, time.unit, time.decimals, None, time.span),
        };
        if let Some(number) = value.checked_div(&unit.factor()) {
            slots.push(Slot {
                number,
                unit,
                decimals,
                form,
                span,
                line,
                of,
                a_day: a_day.cloned(),
            });
        }
    });
    slots
}

type Visit<'a> = dyn FnMut(NumberMut<'_>, Span, SlotOf, Option<&Exact>) + 'a;

/// Visits every number that may have gone wrong.
fn each(order: &mut Order, visit: &mut Visit<'_>) {
    for phase in &mut order.phases {
        if let Some(bag) = &mut phase.bag {
            let line = bag.span;
            let mut size = |size: &mut Size, of| visit(NumberMut::Size(size), line, of, None);
            match &mut bag.how {
                Preparation::MadeUpTo { drug, cap, volume }
                | Preparation::AddedTo {
                    drug, cap, volume, ..
                } => {
                    size(drug, SlotOf::Bag);
                    if let Some(cap) = cap {
                        size(cap, SlotOf::Cap);
                    }
                    size(volume, SlotOf::Bag);
                }
                Preparation::Premixed { amount, volume } => {
                    size(amount, SlotOf::Bag);
                    size(volume, SlotOf::Bag);
                }
                Preparation::PremixedStrength { volume, .. }
                | Preparation::Fluid { volume }
                | Preparation::Undiluted { volume } => size(volume, SlotOf::Bag),
            }
        }
        for bolus in &mut phase.boluses {
            let line = bolus.span;
            visit(NumberMut::Size(&mut bolus.size), line, SlotOf::Line, None);
            if let Some(cap) = &mut bolus.cap {
                visit(NumberMut::Size(cap), line, SlotOf::Cap, None);
            }
            let way = match &mut bolus.way {
                BolusWay::At(rate) => NumberMut::Size(rate),
                BolusWay::Over(time) => NumberMut::Time(time),
            };
            visit(way, line, SlotOf::Line, None);
        }
        for run in &mut phase.runs {
            let line = run.span;
            let every = run.every.as_ref().map(|every| &every.interval.value);
            let a_day = every.and_then(|every| gutta_protocol::derive::day().checked_div(every));
            if let Some(WhatSpec::Size(size, cap)) = &mut run.what {
                visit(NumberMut::Size(size), line, SlotOf::Line, a_day.as_ref());
                if let Some(cap) = cap {
                    visit(NumberMut::Size(cap), line, SlotOf::Cap, None);
                }
            }
            for way in &mut run.ways {
                let way = match way {
                    WaySpec::At(rate) => NumberMut::Size(rate),
                    WaySpec::Over(time) => NumberMut::Time(time),
                };
                visit(way, line, SlotOf::Line, None);
            }
            if let Some(cap) = &mut run.dose_cap {
                visit(NumberMut::Size(cap), line, SlotOf::Cap, None);
            }
            if let Some(every) = &mut run.every {
                let interval = NumberMut::Time(&mut every.interval);
                visit(interval, line, SlotOf::Interval, None);
            }
        }
        if let Some((ThenSpec::KeepOpen { rate, .. }, line)) = &mut phase.then {
            visit(NumberMut::Size(rate), *line, SlotOf::Line, None);
        }
        if let Some(adjust) = &mut phase.adjust {
            let line = adjust.span;
            let mut size = |size: &mut Size| visit(NumberMut::Size(size), line, SlotOf::Line, None);
            match &mut adjust.steps {
                StepsSpec::By { low, high, .. } => {
                    size(low);
                    size(high);
                }
                // Limits are kept or not at the ends of a list: what is wrong
                // between them cannot be what broke one.
                StepsSpec::List(list) => match list.as_mut_slice() {
                    [] => {}
                    [only] => size(only),
                    [first, .., last] => {
                        size(first);
                        size(last);
                    }
                },
            }
        }
    }
}

impl Slot {
    /// The order with this number so many times as large.
    pub(crate) fn scaled(&self, order: &Order, factor: &Exact) -> Option<Order> {
        self.written(order, &(&self.number * factor), self.unit)
    }

    /// The order with another number in this one's place; `None` where the new
    /// unit is of no use here.
    pub(crate) fn written(&self, order: &Order, number: &Exact, unit: Unit) -> Option<Order> {
        let value = number * &unit.factor();
        let form = match self.form {
            Some(_) => Some(Form::of(unit.dimension())?),
            None => None,
        };
        let mut right = order.clone();
        each(&mut right, &mut |part, _, _, _| match (part, form) {
            (NumberMut::Size(size), Some(form)) if size.span == self.span => {
                size.value = value.clone();
                size.form = form;
                size.unit = unit;
            }
            (NumberMut::Time(time), None) if time.span == self.span => {
                time.value = value.clone();
                time.unit = unit;
            }
            _ => {}
        });
        if unit != self.unit {
            self.share_unit(&mut right, unit)?;
        }
        let kept = order.phases.iter().zip(&right.phases);
        let agree = |(old, new): (&Phase, &Phase)| !adjusts_its_run(old) || adjusts_its_run(new);
        (kept.into_iter().all(agree) && right.phases.iter().all(rises)).then_some(right)
    }

    /// In an adjust, one unit may be written for several numbers, and whoever
    /// mistook it mistook it for all: those that had this one get the new one.
    fn share_unit(&self, right: &mut Order, unit: Unit) -> Option<()> {
        let scale = unit.factor().checked_div(&self.unit.factor())?;
        let form = Form::of(unit.dimension())?;
        for size in adjusted(right, self.line) {
            if size.unit == self.unit {
                size.value = &size.value * &scale;
                (size.unit, size.form) = (unit, form);
            }
        }
        Some(())
    }

    /// Where else the slot's unit stands, if it is one of an adjust.
    pub(crate) fn sharing(&self, order: &Order) -> Vec<Span> {
        let mut order = order.clone();
        let sizes = adjusted(&mut order, self.line).into_iter();
        let sharing = sizes.filter(|size| size.unit == self.unit);
        sharing.map(|size| size.span).collect()
    }
}

/// The numbers of the adjust on this line.
fn adjusted(order: &mut Order, line: Span) -> Vec<&mut Size> {
    let adjusts = order
        .phases
        .iter_mut()
        .filter_map(|phase| phase.adjust.as_mut());
    adjusts
        .filter(|adjust| adjust.span == line)
        .flat_map(|adjust| match &mut adjust.steps {
            StepsSpec::By { low, high, step } => vec![low, high, step],
            StepsSpec::List(list) => list.iter_mut().collect(),
        })
        .collect()
}

/// Whether all numbers of the adjust are of one form, that of the runs.
fn adjusts_its_run(phase: &Phase) -> bool {
    let Some(adjust) = &phase.adjust else {
        return true;
    };
    let mut forms: Vec<Form> = match &adjust.steps {
        StepsSpec::By { low, high, step } => vec![low.form, high.form, step.form],
        StepsSpec::List(list) => list.iter().map(|size| size.form).collect(),
    };
    let ways = phase.runs.iter().flat_map(|run| &run.ways);
    forms.extend(ways.filter_map(|way| match way {
        WaySpec::At(rate) => Some(rate.form),
        WaySpec::Over(_) => None,
    }));
    forms.windows(2).all(|pair| pair[0] == pair[1])
}

/// Whether an adjust still goes from low to high, in whole steps.
fn rises(phase: &Phase) -> bool {
    match phase.adjust.as_ref().map(|adjust| &adjust.steps) {
        Some(StepsSpec::By { low, high, step }) => {
            let count = (&high.value - &low.value).checked_div(&step.value);
            low.value < high.value && count.is_none_or(|count| count.is_whole())
        }
        Some(StepsSpec::List(list)) => list.is_sorted_by(|one, other| one.value < other.value),
        None => true,
    }
}
