//! The ways in which a number goes wrong, and the numbers of an order that
//! may have gone wrong.

use gutta_notation::Span;
use gutta_protocol::measures::amount_unit;
use gutta_protocol::model::order::{
    BolusWay, Order, Phase, Preparation, StepsSpec, WaySpec, WhatSpec,
};
use gutta_protocol::model::size::{Form, Size, Stuff};
use gutta_quantity::{Atom, Exact, Unit, units};

/// A number of an order.
#[derive(Clone, Debug)]
pub(super) struct Slot {
    /// The size as written.
    pub(super) size: Size,
    /// The line that holds it.
    pub(super) line: Span,
    /// Whether it belongs to the bag, so that any breach may come from it.
    pub(super) of_bag: bool,
}

/// One number set right: its value times `factor`, in `unit`.
#[derive(Clone, Debug)]
pub(super) struct Candidate {
    /// What happened.
    pub(super) slip: String,
    /// The written number times this is the right one.
    pub(super) factor: Exact,
    /// The right unit.
    pub(super) unit: Unit,
}

/// The numbers of runs, boluses, adjustments and bags.
pub(super) fn slots(order: &Order) -> Vec<Slot> {
    let mut order = order.clone();
    let mut slots = Vec::new();
    each(&mut order, &mut |size, line, of_bag| {
        slots.push(Slot {
            size: size.clone(),
            line,
            of_bag,
        })
    });
    slots
}

/// Visits every number that may have gone wrong.
fn each(order: &mut Order, visit: &mut dyn FnMut(&mut Size, Span, bool)) {
    for phase in &mut order.phases {
        if let Some(bag) = &mut phase.bag {
            let line = bag.span;
            match &mut bag.how {
                Preparation::MadeUpTo { drug, volume, .. }
                | Preparation::AddedTo { drug, volume, .. } => {
                    visit(drug, line, true);
                    visit(volume, line, true);
                }
                Preparation::Premixed { amount, volume } => {
                    visit(amount, line, true);
                    visit(volume, line, true);
                }
                Preparation::PremixedStrength { volume, .. }
                | Preparation::Fluid { volume }
                | Preparation::Undiluted { volume } => visit(volume, line, true),
            }
        }
        for bolus in &mut phase.boluses {
            visit(&mut bolus.size, bolus.span, false);
            if let BolusWay::At(rate) = &mut bolus.way {
                visit(rate, bolus.span, false);
            }
        }
        for run in &mut phase.runs {
            if let Some(WhatSpec::Size(size, _)) = &mut run.what {
                visit(size, run.span, false);
            }
            for way in &mut run.ways {
                if let WaySpec::At(rate) = way {
                    visit(rate, run.span, false);
                }
            }
        }
        if let Some(adjust) = &mut phase.adjust {
            let line = adjust.span;
            match &mut adjust.steps {
                StepsSpec::By { low, high, .. } => {
                    visit(low, line, false);
                    visit(high, line, false);
                }
                StepsSpec::List(list) => list.iter_mut().for_each(|step| visit(step, line, false)),
            }
        }
    }
}

impl Slot {
    /// The order with this number set right; `None` where the new unit is of
    /// no use here.
    pub(super) fn corrected(&self, order: &Order, candidate: &Candidate) -> Option<Order> {
        let form = Form::of(candidate.unit.dimension())?;
        let written = self.size.value.checked_div(&self.size.unit.factor())?;
        let value = &(&written * &candidate.factor) * &candidate.unit.factor();
        let mut right = order.clone();
        each(&mut right, &mut |size, _, _| {
            if size.span == self.size.span {
                size.value = value.clone();
                size.form = form;
                size.unit = candidate.unit;
            }
        });
        right.phases.iter().all(rises).then_some(right)
    }
}

/// Whether an adjust still goes from low to high.
fn rises(phase: &Phase) -> bool {
    match phase.adjust.as_ref().map(|adjust| &adjust.steps) {
        Some(StepsSpec::By { low, high, .. }) => low.value < high.value,
        Some(StepsSpec::List(list)) => list.is_sorted_by(|one, other| one.value < other.value),
        None => true,
    }
}

/// The well-known slips that may have led to this number.
pub(super) fn candidates(order: &Order, slot: &Slot) -> Vec<Candidate> {
    let unit = slot.size.unit;
    let mut candidates = Vec::new();
    for (factor, slip) in [
        (Exact::ten_to(-1), "the point one place to the left"),
        (Exact::int(10), "the point one place to the right"),
        (Exact::ten_to(-2), "the point two places to the left"),
        (Exact::int(100), "the point two places to the right"),
    ] {
        candidates.push(Candidate {
            slip: slip.to_owned(),
            factor,
            unit,
        });
    }
    let mut in_unit = |other: Unit| {
        let slip = format!("{other} for {unit}");
        candidates.push(Candidate {
            slip,
            factor: Exact::ONE,
            unit: other,
        });
    };
    if let Some(other) = other_field(order, slot) {
        in_unit(other);
    }
    for atom in neighbours(unit.top) {
        in_unit(Unit {
            top: Some(atom),
            ..unit
        });
    }
    for (place, below) in unit.per.into_iter().enumerate() {
        for atom in times(below) {
            let mut per = unit.per;
            per[place] = Some(atom);
            in_unit(Unit { per, ..unit });
        }
    }
    if let [Some(Atom::Kg), second] = unit.per {
        in_unit(Unit {
            per: [second, None],
            ..unit
        });
    }
    if let [first @ Some(Atom::Min | Atom::H | Atom::Days), None] = unit.per {
        in_unit(Unit {
            per: [Some(Atom::Kg), first],
            ..unit
        });
    }
    for parts in [2, 3, 4, 6] {
        if let Some(factor) = Exact::ratio(1, parts)
            .filter(|_| slot.size.form.drug().is_some() && !slot.size.form.rate)
        {
            let slip = format!("the day's dose, for one of {parts}");
            candidates.push(Candidate { slip, factor, unit });
        }
    }
    candidates
}

/// The unit of the field beside this one: the flow's number may stand in the
/// dose's place, or the dose's in the flow's.
fn other_field(order: &Order, slot: &Slot) -> Option<Unit> {
    if !slot.size.form.rate {
        return None;
    }
    match slot.size.form.stuff {
        Stuff::Drug(_) => Some(units::ML_PER_H),
        Stuff::Volume => {
            let drug = &order.drug.as_ref()?.value;
            let dosed_in = drug.dosed_in.map(|(unit, _)| unit);
            dosed_in.or_else(|| amount_unit(drug.supplied.as_ref()?.kind).per(Atom::H))
        }
        Stuff::Drops => None,
    }
}

/// The masses a thousandfold apart; micro- and whole units likewise.
fn neighbours(top: Option<Atom>) -> Vec<Atom> {
    match top {
        Some(Atom::G) => vec![Atom::Mg],
        Some(Atom::Mg) => vec![Atom::Mcg, Atom::G],
        Some(Atom::Mcg) => vec![Atom::Ng, Atom::Mg],
        Some(Atom::Ng) => vec![Atom::Mcg],
        Some(Atom::Units) => vec![Atom::Milliunits],
        Some(Atom::Milliunits) => vec![Atom::Units],
        Some(Atom::Mmol) => vec![Atom::Micromol],
        Some(Atom::Micromol) => vec![Atom::Mmol],
        Some(Atom::L) => vec![Atom::ML],
        Some(Atom::ML) => vec![Atom::L],
        _ => Vec::new(),
    }
}

/// The other everyday times below the line.
fn times(below: Option<Atom>) -> Vec<Atom> {
    match below {
        Some(Atom::Min) => vec![Atom::H],
        Some(Atom::H) => vec![Atom::Min, Atom::Days],
        Some(Atom::Days) => vec![Atom::H],
        _ => Vec::new(),
    }
}
