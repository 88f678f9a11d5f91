//! Judging the kind of each written quantity.

use gutta_notation::ast::{Name, Range};
use gutta_notation::{Span, Written};
use gutta_quantity::{Dimension, Exact, Unit};
use smol_str::SmolStr;

use super::problem::{Problem, ProblemKind};
use super::size::{Extent, Form, Scalar, Size};

/// Collects the problems met while a stanza's facts are given their kinds.
#[derive(Debug, Default)]
pub(crate) struct Lowering {
    pub(crate) problems: Vec<Problem>,
}

impl Lowering {
    pub(crate) fn problem(&mut self, span: Span, kind: ProblemKind) {
        self.problems.push(Problem { span, kind });
    }

    fn wrong_kind(&mut self, written: &Written, wanted: &'static str) {
        if let Some(quantity) = written.quantity() {
            let found = quantity.dimension().name();
            self.problem(written.span, ProblemKind::WrongKind { found, wanted });
        }
    }

    /// A size whose form `fits`; else a problem that names what was wanted.
    /// What was not read at all is the reader's finding, not another here.
    pub(crate) fn size(
        &mut self,
        written: &Written,
        wanted: &'static str,
        fits: fn(&Form) -> bool,
    ) -> Option<Size> {
        match Size::read(written) {
            Some(size) if fits(&size.form) => Some(size),
            _ => {
                self.wrong_kind(written, wanted);
                None
            }
        }
    }

    /// A value of exactly this dimension.
    pub(crate) fn scalar(
        &mut self,
        written: &Written,
        dimension: Dimension,
        wanted: &'static str,
    ) -> Option<Scalar> {
        let scalar = Scalar::read(written, dimension);
        if scalar.is_none() {
            self.wrong_kind(written, wanted);
        }
        scalar
    }

    pub(crate) fn time(&mut self, written: &Written) -> Option<Scalar> {
        self.scalar(written, Dimension::TIME, "a time")
    }

    pub(crate) fn volume(&mut self, written: &Written) -> Option<Size> {
        self.size(written, "a volume", is_volume)
    }

    /// A range whose ends are each turned into a base value by `read`.
    pub(crate) fn range(
        &mut self,
        range: &Range,
        wanted: &'static str,
        read: fn(&Written) -> Option<Exact>,
    ) -> Option<Extent> {
        let mut failed = false;
        let mut end = |written: &Option<Written>| {
            let written = written.as_ref()?;
            let value = read(written);
            if value.is_none() {
                failed = true;
                self.wrong_kind(written, wanted);
            }
            value
        };
        let (low, high) = (end(&range.low), end(&range.high));
        (!failed).then_some(Extent {
            low,
            high,
            high_excluded: range.high_excluded,
            units: units_written(range),
            span: range.span,
        })
    }

    pub(crate) fn weights(&mut self, range: &Range) -> Option<Extent> {
        self.range(range, "a body weight", |written| {
            Scalar::read_weight(written).map(|weight| weight.value)
        })
    }

    pub(crate) fn surfaces(&mut self, range: &Range) -> Option<Extent> {
        self.range(range, "a body surface area", |written| {
            Scalar::read(written, Dimension::SURFACE).map(|surface| surface.value)
        })
    }

    pub(crate) fn times(&mut self, range: &Range) -> Option<Extent> {
        self.range(range, "a time", |written| {
            Scalar::read(written, Dimension::TIME).map(|time| time.value)
        })
    }
}

/// The units in which the ends of a range are written.
pub(crate) fn units_written(range: &Range) -> (Option<Unit>, Option<Unit>) {
    let unit = |end: &Option<Written>| Some(end.as_ref()?.quantity()?.unit);
    (unit(&range.low), unit(&range.high))
}

/// A volume, also per kg or m2.
pub(crate) fn is_volume(form: &Form) -> bool {
    form.stuff == super::size::Stuff::Volume && !form.rate
}

/// A volume per time, also per kg or m2.
pub(crate) fn is_flow(form: &Form) -> bool {
    form.stuff == super::size::Stuff::Volume && form.rate
}

/// An amount of drug, also per kg or m2.
pub(crate) fn is_amount(form: &Form) -> bool {
    form.drug().is_some() && !form.rate
}

/// Drug per time, also per kg or m2.
pub(crate) fn is_dose(form: &Form) -> bool {
    form.drug().is_some() && form.rate
}

/// Names without their places.
pub(crate) fn plain(names: &[Name]) -> Vec<SmolStr> {
    names.iter().map(|name| name.value.clone()).collect()
}
