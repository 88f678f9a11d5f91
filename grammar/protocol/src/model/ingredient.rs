//! Substances that are limited wherever they come from, their values judged.

use gutta_notation::ast::LimitMeasure;
use gutta_notation::{Fact, Span, Stanza};
use gutta_quantity::Exact;
use smol_str::SmolStr;

use super::drug::{equals, tied};
use super::limit::{LimitBound, Side, lower_never, lower_usual};
use super::lower::Lowering;
use super::problem::{Problem, ProblemKind};
use super::reference::name_of;
use super::size::DrugKind;
use crate::chemistry::substance;

/// How much of a substance may reach a patient, whatever brings it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ingredient {
    /// The substance, as `contains` lines name it.
    pub name: SmolStr,
    /// Its limits: upper bounds of dose, total or strength, each on its own.
    pub limits: Vec<LimitBound>,
    /// The same amount of it, counted in several ways: pairs of a counting and
    /// the value in its base units.
    pub equals: Vec<Vec<(DrugKind, Exact)>>,
    /// What stands in the way of its meaning.
    pub problems: Vec<Problem>,
    /// Whether every line was read and judged.
    pub whole: bool,
}

/// A substance's limits, from its stanza.
#[must_use]
pub fn ingredient(stanza: &Stanza) -> Ingredient {
    let mut lowering = Lowering::default();
    let mut ingredient = Ingredient {
        name: name_of(stanza),
        ..Ingredient::default()
    };
    for line in &stanza.lines {
        let span = line.span;
        let bounds = match &line.fact {
            Fact::Usual(usual) => lower_usual(&mut lowering, usual, span),
            Fact::Never(never) => match lower_never(&mut lowering, never, span) {
                Some(Err(_)) => {
                    not_of_substance(
                        &mut lowering,
                        span,
                        "a ban on a route, an area or a way of giving",
                    );
                    None
                }
                bounds => bounds.and_then(Result::ok),
            },
            Fact::Equals(written) => {
                ingredient.equals.push(equals(&mut lowering, written));
                continue;
            }
            _ => continue,
        };
        for bound in bounds.into_iter().flatten() {
            match misplaced(&bound) {
                Some(what) => not_of_substance(&mut lowering, span, what),
                None => ingredient.limits.push(bound),
            }
        }
    }
    ingredient.whole = stanza.is_whole() && lowering.problems.is_empty();
    ingredient.problems = lowering.problems;
    ingredient
}

fn not_of_substance(lowering: &mut Lowering, span: Span, what: &'static str) {
    lowering.problem(span, ProblemKind::NotOfSubstance { what });
}

/// What a substance cannot be held to: others may bring more of it, and it is
/// nothing that is given by itself.
const fn misplaced(bound: &LimitBound) -> Option<&'static str> {
    use LimitMeasure as M;
    Some(match (bound.measure, bound.side) {
        (M::Dose | M::Total | M::Strength, Side::High) => return None,
        (M::Dose | M::Total | M::Strength, Side::Low) => "a minimum",
        (M::Flow, _) => "a flow",
        (M::SingleDose, _) => "a single dose",
        (M::Interval, _) => "an interval",
        (M::Osmolarity, _) => "an osmolarity",
        (M::Bolus | M::BolusRate | M::BolusTime, _) => "a bolus",
        (M::Time, _) => "a time",
    })
}

impl Ingredient {
    /// What of a substance can be limited.
    pub const MEASURES: [LimitMeasure; 3] = [
        LimitMeasure::Dose,
        LimitMeasure::Strength,
        LimitMeasure::Total,
    ];

    /// A base unit of `from` in base units of `to`: by its `equals`, else by
    /// the molar mass and charge of what its name names; the most that it may
    /// be, since what was weighed may have been weighed with water or without.
    /// `None`: nothing ties the two.
    #[must_use]
    pub fn factor(&self, from: DrugKind, to: DrugKind) -> Option<Exact> {
        if let Some(factor) = tied(&self.equals, from, to) {
            return Some(factor);
        }
        let known = substance(&self.name)?;
        let (_, most) = known.millimoles(from)?;
        let (least, _) = known.millimoles(to)?;
        most.checked_div(&least)
    }
}

#[cfg(test)]
mod tests {
    use gutta_notation::{Style, read_stanza};
    use gutta_quantity::Exact;

    use super::{Ingredient, ingredient};
    use crate::model::problem::ProblemKind;
    use crate::model::size::DrugKind::{Activity, Amount, Equivalents, Mass};

    fn of(lines: &str) -> Ingredient {
        ingredient(&read_stanza(lines, Style::USUAL))
    }

    #[test]
    fn upper_bounds_alone_are_of_a_substance() {
        let found = of(
            "ingredient potassium\n  usual dose 1 to 10 mmol/h\n  never flow above 10 mL/h\n  never by epidural\n  never single dose above 40 mmol\n  never total above 3 mmol/kg per day\n  never strength above 40 mmol/L\n",
        );
        let told: Vec<_> = found
            .problems
            .iter()
            .filter_map(|problem| match &problem.kind {
                ProblemKind::NotOfSubstance { what } => Some(*what),
                _ => None,
            })
            .collect();
        assert_eq!(
            told,
            [
                "a minimum",
                "a flow",
                "a ban on a route, an area or a way of giving",
                "a single dose"
            ]
        );
        assert_eq!(found.limits.len(), 3);
        assert!(!found.whole);
    }

    /// 39.098 mg are 1 mmol of potassium and 1 mEq; glucose weighs 180.156 or,
    /// with its water, 198.171: by hand.
    #[test]
    fn countings_are_tied_by_equals_or_by_the_molar_mass() {
        let potassium = of("ingredient potassium\n");
        let ratio = |over, under| Exact::ratio(over, under);
        assert_eq!(potassium.factor(Amount, Mass), ratio(39_098, 1_000));
        assert_eq!(potassium.factor(Equivalents, Amount), ratio(1, 1));
        assert_eq!(potassium.factor(Activity, Amount), None);
        let glucose = of("ingredient glucose\n");
        assert_eq!(glucose.factor(Mass, Amount), ratio(1_000, 180_156));
        assert_eq!(glucose.factor(Amount, Mass), ratio(198_171, 1_000));
        let own = of("ingredient heparin\n  equals 1 mg, 100 units\n");
        assert_eq!(own.factor(Activity, Mass), ratio(1, 100));
        assert_eq!(own.factor(Activity, Amount), None);
        assert_eq!(own.factor(Mass, Mass), ratio(1, 1));
    }
}
