//! Sets: orders that one patient gets together.

use gutta_notation::ast::{Name, PatientKind, Range};
use gutta_notation::{Fact, Span, Stanza};
use gutta_quantity::{Unit, units};
use smol_str::SmolStr;

use super::lower::{Lowering, units_written};
use super::problem::Problem;
use super::reference::name_of;
use super::size::{Extent, Form, Stuff};

/// A set, its values judged. Its names are not resolved yet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Set {
    /// Its name.
    pub name: SmolStr,
    /// Its area's name, where it states one.
    pub area: Option<Name>,
    /// Body weights in kg, as the set states them.
    pub weight: Option<Extent>,
    /// Body surfaces in m2, likewise.
    pub surface: Option<Extent>,
    /// Ages in base units of time, likewise.
    pub age: Option<Extent>,
    /// Its orders' names, in the order written.
    pub include: Vec<Name>,
    /// Its lines, each with the orders that run through it.
    pub lines: Vec<(Name, Vec<Name>)>,
    /// What all orders together may bring.
    pub loads: Vec<Load>,
    /// What stands in the way of its meaning.
    pub problems: Vec<Problem>,
    /// Whether every line was read and judged.
    pub whole: bool,
}

/// How much of something a whole set may bring, per time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Load {
    /// What is reckoned.
    pub of: LoadOf,
    /// In base units of the form, per base unit of time.
    pub extent: Extent,
    /// Its form; always per time.
    pub form: Form,
    /// As written.
    pub unit: Unit,
    /// The line.
    pub span: Span,
}

/// What a set's line bounds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LoadOf {
    /// All fluid.
    Fluid,
    /// A substance that fluids and drugs contain.
    Substance(SmolStr),
}

impl Load {
    /// Whether it bounds what a day brings; else what flows at any moment.
    #[must_use]
    pub(crate) fn is_per_day(&self) -> bool {
        self.unit
            .per
            .iter()
            .flatten()
            .any(|atom| *atom == gutta_quantity::Atom::Days)
    }
}

/// A set, from its stanza.
#[must_use]
pub fn set(stanza: &Stanza) -> Set {
    let mut lowering = Lowering::default();
    let mut set = Set {
        name: name_of(stanza),
        ..Set::default()
    };
    for line in &stanza.lines {
        match &line.fact {
            Fact::Area(area) => {
                let name = area.value.clone();
                set.area = name.map(|name| Name::new(name, area.span));
            }
            Fact::Patient { kind, range } => match kind {
                PatientKind::Weight => set.weight = lowering.weights(range),
                PatientKind::Surface => set.surface = lowering.surfaces(range),
                PatientKind::Age => set.age = lowering.times(range),
            },
            Fact::Include(names) => set.include.extend(names.iter().cloned()),
            Fact::LineMembers { line, members } => {
                set.lines.push(((**line).clone(), members.to_vec()))
            }
            Fact::Fluid(range) => {
                let load = load(&mut lowering, LoadOf::Fluid, range, line.span);
                set.loads.extend(load);
            }
            Fact::Load { substance, range } => {
                let of = LoadOf::Substance(substance.value.clone());
                set.loads.extend(load(&mut lowering, of, range, line.span));
            }
            _ => {}
        }
    }
    set.whole = stanza.is_whole() && lowering.problems.is_empty();
    set.problems = lowering.problems;
    set
}

fn load(lowering: &mut Lowering, of: LoadOf, range: &Range, span: Span) -> Option<Load> {
    let (wanted, fits): (_, fn(&Form) -> bool) = match of {
        LoadOf::Fluid => ("fluid per day", |form| {
            form.rate && form.stuff == Stuff::Volume
        }),
        LoadOf::Substance(_) => ("an amount of the substance per time", |form| {
            form.rate && form.drug().is_some()
        }),
    };
    let mut found = None;
    let mut end = |written: Option<&gutta_notation::Written>| match written {
        None => Some(None),
        Some(written) => {
            let size = lowering.size(written, wanted, fits)?;
            found = Some((size.form, size.unit));
            Some(Some(size.value))
        }
    };
    let low = end(range.low.as_ref());
    let high = end(range.high.as_ref());
    let (low, high) = (low?, high?);
    let (form, unit) = found?;
    Some(Load {
        of,
        extent: Extent {
            low,
            high,
            high_excluded: range.high_excluded,
            units: units_written(range),
            span: range.span,
        },
        form,
        unit,
        span,
    })
}

/// The unit of a day's fluid in this form.
#[must_use]
pub fn fluid_unit(form: Form) -> Unit {
    use gutta_quantity::Atom;
    match form.per {
        super::size::Per::Patient => units::ML_PER_DAY,
        super::size::Per::Weight => units::ML_PER_KG_PER_DAY,
        super::size::Per::Surface => Unit::over2(Atom::ML, Atom::M2, Atom::Days),
    }
}
