//! Behind the lines of a drug or an ingredient.

use gutta_notation::ast::{Bound, NeverWhat, Written};
use gutta_notation::{Fact, Line};
use gutta_protocol::StanzaId;
use gutta_protocol::equivalents::{equivalents, usual_equivalent};
use gutta_protocol::measures::amount_unit;
use gutta_quantity::print::between;
use gutta_quantity::{Atom, Quantity, Unit};

use crate::state::Site;

/// Behind a limit, the same in the other usual unit; behind `supplied`, the
/// strength.
pub(super) fn label(site: Site<'_>, id: StanzaId, line: &Line) -> Option<String> {
    let ties = site.library().equals(id)?;
    let style = site.workspace.house.style;
    let limit = match &line.fact {
        Fact::Usual(usual) => &usual.limit,
        Fact::Never(never) => match &never.what {
            NeverWhat::Limit(limit) => limit,
            _ => return None,
        },
        Fact::Supplied(_) => {
            let supply = site.library().drug(id)?.supplied.as_ref()?;
            let unit = Unit::over(amount_unit(supply.kind).top?, Atom::ML);
            let strength = Quantity::from_base(supply.strength.clone(), unit);
            let unit = unit.readable(&strength.value);
            let strength = strength.convert(unit)?;
            let mut written = line.fact.quantities().into_iter();
            let stated = written.any(|written| written.quantity().as_ref() == Some(&strength));
            return (!stated).then(|| style.quantity(&strength).to_string());
        }
        _ => return None,
    };
    let ends: Vec<&Written> = match &limit.bound {
        Bound::Within(range) => range.low.iter().chain(&range.high).collect(),
        Bound::NotAbove(written) | Bound::NotBelow(written) => vec![written],
    };
    let ends: Option<Vec<_>> = ends.into_iter().map(Written::quantity).collect();
    let ends = ends?;
    let other = usual_equivalent(ends.last()?, ties)?;
    let told = |quantity: &Quantity| {
        let same = quantity.convert(other.unit);
        // Another counting of the drug.
        let same = same.or_else(|| {
            let all = equivalents(quantity, ties);
            let mut all = all.into_iter();
            all.find_map(|counted| counted.convert(other.unit))
        });
        same.map(|same| style.quantity(&same))
    };
    let told: Option<Vec<_>> = ends.iter().map(told).collect();
    let told = told?;
    let text = between(told.first()?, told.last()?);
    Some(match (&limit.bound, ends.as_slice()) {
        (Bound::Within(range), [_]) if range.low.is_none() => format!("up to {text}"),
        (Bound::Within(_), [_]) => format!("{text} or more"),
        _ => text.to_string(),
    })
}
