//! Steps from one unit to another: each factor is shown, since it is what a
//! second person checks.

use gutta_quantity::{Atom, Dimension, Exact, Quantity, Style, Unit, units};

use super::StyledQuantity;

/// The quantity in another unit of its kind, by a step that shows the factors:
/// `2.4 mcg/min × 60 min/h = 144 mcg/h`. No step where the unit is the same.
pub(super) fn brought(from: StyledQuantity, to: Unit, steps: &mut Vec<String>) -> StyledQuantity {
    if from.unit == to {
        return from;
    }
    let result = StyledQuantity::of(Quantity::from_base(from.base(), to), from.style);
    let step = format!("{from}{} = {result}", factors(from.unit, to, from.style));
    if !steps.contains(&step) {
        steps.push(step);
    }
    result
}

/// ` × 1,000 mcg/mg × 60 min/h`: what a number in one unit is multiplied or
/// divided by for another.
pub(super) fn factors(from: Unit, to: Unit, style: Style) -> String {
    let mut text = String::new();
    if let (Some(old), Some(new)) = (from.top, to.top) {
        text.push_str(&factor((old.factor(), old), (new.factor(), new), style));
    }
    let time = |unit: Unit| {
        unit.below()
            .find(|atom| atom.dimension() == Dimension::TIME)
    };
    if let (Some(old), Some(new)) = (time(from), time(to)) {
        // Below the line it is the other way round.
        text.push_str(&factor((new.factor(), new), (old.factor(), old), style));
    }
    text
}

/// From the unit `old` to `new`; each with its size.
fn factor((old_size, old): (Exact, Atom), (new_size, new): (Exact, Atom), style: Style) -> String {
    if old == new {
        return String::new();
    }
    let (sign, ratio, unit) = if old_size >= new_size {
        ("×", old_size.checked_div(&new_size), Unit::over(new, old))
    } else {
        ("÷", new_size.checked_div(&old_size), Unit::over(old, new))
    };
    // No unit's factor is zero.
    let ratio = ratio.unwrap_or(Exact::ONE);
    format!(" {sign} {}", style.quantity(&Quantity::new(ratio, unit)))
}

/// A time in base units: in hours where they are few digits, else in minutes.
pub(super) fn time(base: Exact, style: Style) -> StyledQuantity {
    let hours = Quantity::from_base(base.clone(), units::H);
    let short = hours.value.decimals().is_some_and(|decimals| decimals <= 2);
    let time = if short && hours.value >= Exact::ONE {
        hours
    } else {
        Quantity::from_base(base, units::MIN)
    };
    StyledQuantity::of(time, style)
}
