//! The ways in which a number goes wrong.

use gutta_protocol::measures::amount_unit;
use gutta_protocol::model::limit::{LimitBound, LimitForm};
use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::{Form, Per, Stuff};
use gutta_quantity::print::significant;
use gutta_quantity::{Atom, Exact, Printed, Quantity, Rounding, Style, Unit, units};

use crate::slots::Slot;

/// One number set right.
#[derive(Clone, Debug)]
pub(super) struct Candidate {
    /// What happened.
    pub(super) slip: String,
    /// The right number.
    pub(super) number: Exact,
    /// The right unit.
    pub(super) unit: Unit,
    /// As it would be written.
    pub(super) told: Printed,
    /// How far from the most likely slips: less is likelier.
    pub(super) rank: u8,
}

/// Grams in a pound, avoirdupois, over grams in a kilogram. UCUM `[lb_av]`.
fn pound() -> Option<Exact> {
    Exact::ratio(45_359_237, 100_000_000)
}

impl Candidate {
    /// The order with the number of the slot set right; `None` where the new
    /// unit is of no use there.
    pub(super) fn corrected(&self, order: &Order, slot: &Slot) -> Option<Order> {
        slot.written(order, &self.number, self.unit)
    }
}

/// The well-known slips that may have led to this number, the likeliest first.
pub(super) fn candidates(
    order: &Order,
    slot: &Slot,
    bound: &LimitBound,
    style: Style,
) -> Vec<Candidate> {
    let drug = order.drug.as_ref();
    let dosed_in = drug.and_then(|drug| Some(drug.value.dosed_in?.0));
    let mut adjusts = order
        .phases
        .iter()
        .filter_map(|phase| phase.adjust.as_ref());
    let adjusts = adjusts.any(|adjust| adjust.span == slot.line);
    let mut ways = Ways {
        slot,
        usual: [dosed_in, Some(bound.unit)],
        written_in: dosed_in.filter(|_| !adjusts),
        found: Vec::new(),
        style,
    };
    ways.points();
    ways.units();
    if let Some(form) = slot.form {
        ways.patient(order, form);
        if let Some(other) = other_field(order, form) {
            ways.unit(other);
        }
        let by_weight = matches!(bound.form, LimitForm::Size(form) if form.per == Per::Weight);
        if by_weight || form.per == Per::Weight {
            ways.pounds(form);
        }
        let mut runs = order.phases.iter().flat_map(|phase| &phase.runs);
        if runs.any(|run| run.every.is_some()) {
            ways.days(form);
        }
    }
    ways.swapped();
    let mut found = ways.found;
    found.sort_by_key(|candidate| candidate.rank);
    found
}

struct Ways<'a> {
    slot: &'a Slot,
    /// The units that the drug is dosed and limited in: what an author means.
    usual: [Option<Unit>; 2],
    /// The unit that a dose is to be written in; an `adjust` has one of its own.
    written_in: Option<Unit>,
    found: Vec<Candidate>,
    style: Style,
}

impl Ways<'_> {
    /// Another number in the same unit.
    fn number(&mut self, rank: u8, number: Exact, slip: impl Into<String>) {
        let right = Quantity::new(number, self.slot.unit);
        if let Some(told) = self.style.quantity_exact(&right) {
            self.push(rank, right, told, slip.into());
        }
    }

    /// The same number in another unit; one that the drug is dosed in is the
    /// likeliest.
    fn unit(&mut self, unit: Unit) {
        let rank = if self.usual.contains(&Some(unit)) {
            1
        } else {
            2
        };
        let [new, old] = [unit, self.slot.unit].map(|unit| self.style.unit(unit));
        let slip = format!("{new} for {old}");
        // In the unit that the drug is dosed in, where it is as exact.
        let dosed = |dosed: Unit| {
            let scale = unit.factor().checked_div(&dosed.factor())?;
            Some(Quantity::new(&self.slot.number * &scale, dosed))
        };
        let same_form = |dosed: &Unit| dosed.commensurable(unit);
        let in_doses = self.written_in.filter(same_form).and_then(dosed);
        let as_it_is = Quantity::new(self.slot.number.clone(), unit);
        let told = in_doses.into_iter().chain([as_it_is]).find_map(|right| {
            let told = self.style.quantity_exact(&right)?;
            Some((right, told))
        });
        if let Some((right, told)) = told {
            self.push(rank, right, told, slip);
        }
    }

    fn push(&mut self, rank: u8, right: Quantity, told: Printed, slip: String) {
        // One and the same correction, reached in two ways, is the likelier.
        let known = self
            .found
            .iter_mut()
            .find(|known| known.told.reads_as(&told));
        match known {
            Some(known) if known.rank <= rank => {}
            Some(known) => (known.slip, known.rank) = (slip, rank),
            None => self.found.push(Candidate {
                slip,
                number: right.value,
                unit: right.unit,
                told,
                rank,
            }),
        }
    }

    fn points(&mut self) {
        for (rank, power, slip) in [
            (0, -1, "the point one place to the left"),
            (0, 1, "the point one place to the right"),
            (3, -2, "the point two places to the left"),
            (3, 2, "the point two places to the right"),
        ] {
            let number = &self.slot.number * &Exact::ten_to(power);
            self.number(rank, number, slip);
        }
    }

    /// Two neighbouring digits in the wrong order.
    fn swapped(&mut self) {
        let scale = Exact::ten_to(i32::from(self.slot.decimals));
        let Some(whole) = (&self.slot.number * &scale).to_i64() else {
            return;
        };
        let digits = whole.to_string();
        let digits = format!(
            "{digits:0>width$}",
            width = usize::from(self.slot.decimals) + 1
        );
        for at in 1..digits.len() {
            let mut other = digits.clone().into_bytes();
            if other[at - 1] == other[at] {
                continue;
            }
            other.swap(at - 1, at);
            let other = String::from_utf8(other)
                .ok()
                .and_then(|text| text.parse().ok());
            let other = other.and_then(|other: i64| Exact::from(other).checked_div(&scale));
            let Some(other) = other else { continue };
            if other.is_positive() {
                self.number(2, other, "two digits swapped");
            }
        }
    }

    /// Masses a thousandfold apart, and other everyday times.
    fn units(&mut self) {
        let unit = self.slot.unit;
        for atom in neighbours(unit.top) {
            let top = Some(atom);
            self.unit(Unit { top, ..unit });
        }
        for (place, below) in unit.per.into_iter().enumerate() {
            for atom in other_times(below) {
                let mut per = unit.per;
                per[place] = Some(atom);
                self.unit(Unit { per, ..unit });
            }
        }
        if self.slot.form.is_none() {
            for atom in other_times(unit.top) {
                let top = Some(atom);
                self.unit(Unit { top, ..unit });
            }
        }
    }

    /// Per kg or m2, left out or written where the whole patient's was meant.
    fn patient(&mut self, order: &Order, form: Form) {
        let unit = self.slot.unit;
        match unit.per {
            [Some(Atom::Kg | Atom::M2), second] => {
                let per = [second, None];
                self.unit(Unit { per, ..unit });
            }
            [first, None] if form.per == Per::Patient && first != Some(Atom::ML) => {
                let stated = [
                    (order.weight.is_some(), Atom::Kg),
                    (order.surface.is_some(), Atom::M2),
                ];
                for (_, atom) in stated.into_iter().filter(|(stated, _)| *stated) {
                    let per = [Some(atom), first];
                    self.unit(Unit { per, ..unit });
                }
            }
            _ => {}
        }
    }

    /// A weight in pounds taken for kilograms, or the reverse, in the number.
    fn pounds(&mut self, form: Form) {
        let Some(pound) = pound().filter(|_| form.drug().is_some()) else {
            return;
        };
        let kilogram = pound.recip();
        let ways = [
            (Some(pound), "calculated with pounds for kilograms"),
            (kilogram, "calculated with kilograms for pounds"),
        ];
        for (factor, slip) in ways {
            let Some(factor) = factor else { continue };
            let number = significant(&(&self.slot.number * &factor), 2, Rounding::HalfUp);
            self.number(3, number, slip);
        }
    }

    /// A day's dose (or a week's), given at each time.
    fn days(&mut self, form: Form) {
        if form.drug().is_none() || form.rate {
            return;
        }
        for parts in [2, 3, 4, 6, 7, 24] {
            let count = Exact::from(parts);
            // As often as the run is given a day, it is the likeliest of all.
            let rank = match &self.slot.a_day {
                Some(a_day) if *a_day == count => 0,
                _ => 4,
            };
            let slip = match parts {
                7 => "the dose for a week in place of one day's".to_owned(),
                _ => format!("the dose for a day in place of one of {parts}"),
            };
            if let Some(number) = self.slot.number.checked_div(&count) {
                self.number(rank, number, slip);
            }
        }
    }
}

/// The unit of the field beside this one: the flow's number may stand in the
/// dose's place, or the dose's in the flow's.
fn other_field(order: &Order, form: Form) -> Option<Unit> {
    if !form.rate {
        return None;
    }
    match form.stuff {
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

/// The other everyday times.
fn other_times(time: Option<Atom>) -> Vec<Atom> {
    let times = [Atom::Min, Atom::H, Atom::Days];
    match time {
        Some(time) if times.contains(&time) => {
            times.into_iter().filter(|other| *other != time).collect()
        }
        _ => Vec::new(),
    }
}
