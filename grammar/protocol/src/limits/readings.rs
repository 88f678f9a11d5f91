//! What a limit's measure is in an order: one reading for each run, bolus,
//! bag or total that it judges.

use std::cell::OnceCell;

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_quantity::Exact;
use rustc_hash::FxHashSet;

use super::holds::Stretch;
use crate::curve::Curve;
use crate::delivery::{Counted, Delivery, Giving, Source};
use crate::derive::{At, Besides, Run, View};
use crate::model::drug::equivalence;
use crate::model::limit::{LimitBound, Side};
use crate::model::order::Order;
use crate::model::size::{Form, Per};

/// One value that a limit judges, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// In which phase: what its conditions are asked of.
    pub phase: usize,
    /// The first and the last phase that it is summed over.
    pub phases: (usize, usize),
    /// Whether it is of a load.
    pub load: bool,
    /// The line that it stands for.
    pub span: Span,
    /// At which setting.
    pub at: At,
    /// The run it belongs to, by its place in the phase.
    pub run: Option<usize>,
    /// The value in base units of the limit's form.
    pub value: Reads,
    /// When what is judged ends, from the start of the order; `None`: never.
    pub ends: Option<Curve>,
    /// For whom a more particular limit judges it instead.
    pub given_way: Vec<Stretch>,
}

/// What a reading says.
// Nearly all are values, and few live at a time.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reads {
    /// This.
    Value(Curve),
    /// It grows without end.
    WithoutEnd,
    /// It cannot be said, and why.
    Unknown(NotComparable),
}

/// Why a measure cannot be compared with its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum NotComparable {
    /// Per kg, and the order states no weight.
    Weight,
    /// Per m2, and the order states no surface.
    Surface,
    /// Two countings that no `equals` ties.
    Equivalence,
    /// The osmolarity of a share of the bag is not stated.
    Osmolarity,
    /// It is not stated how much of a substance a bag holds.
    Share,
    /// It cannot be computed.
    NotComputable,
}

/// The flow of a run at one setting.
pub(super) struct SettingFlow {
    pub(super) phase: usize,
    pub(super) run: usize,
    pub(super) at: At,
    /// The line of the setting.
    pub(super) span: Span,
    /// Whether it is of what is left in the bag over a time.
    pub(super) of_bag: bool,
    /// `None` where it cannot be computed.
    pub(super) flow: Option<Curve>,
}

/// Takes the readings of one view.
pub struct Reader<'a> {
    pub(super) order: &'a Order,
    pub(super) view: &'a View,
    /// What is given as it starts, found when first asked for.
    delivery: OnceCell<Option<Delivery<'a>>>,
    /// Its givings, likewise.
    givings: OnceCell<Vec<Giving>>,
    /// The runs that come back, by phase and place there, likewise.
    pub(super) again: OnceCell<FxHashSet<(usize, usize)>>,
    /// The flow of each run at each setting, found when first asked for.
    pub(super) flows: OnceCell<Vec<SettingFlow>>,
}

impl<'a> Reader<'a> {
    /// For one view of an order.
    #[must_use]
    pub const fn new(order: &'a Order, view: &'a View) -> Self {
        Self {
            order,
            view,
            delivery: OnceCell::new(),
            givings: OnceCell::new(),
            again: OnceCell::new(),
            flows: OnceCell::new(),
        }
    }

    /// What is given as it starts; `None` where it cannot be computed.
    pub(super) fn delivery(&self) -> Option<&Delivery<'a>> {
        let delivery = self
            .delivery
            .get_or_init(|| self.view.delivery(self.order, At::Start));
        delivery.as_ref()
    }

    /// The givings of the drug.
    pub(super) fn givings(&self) -> &[Giving] {
        self.givings.get_or_init(|| {
            let delivery = self.delivery();
            delivery.map_or_else(Vec::new, |delivery| delivery.givings(self.apart()))
        })
    }

    /// The shortest time between the starts of two givings that any limit of
    /// the drug names.
    pub(super) fn apart(&self) -> Option<&'a Exact> {
        let limits = self.order.drug.as_ref().map(|drug| &drug.value.limits);
        let of_interval = |bound: &&LimitBound| {
            bound.measure == LimitMeasure::Interval && bound.side == Side::Low
        };
        let lowest = limits.into_iter().flatten().filter(of_interval);
        lowest.map(|bound| &bound.bound).min()
    }
}

impl Reader<'_> {
    /// Every reading that `bound` judges. `loads_too` says that the drug states
    /// no limit of loads of its own, so that a `never dose` or `never flow`
    /// judges loads as well.
    #[must_use]
    pub fn readings(&self, bound: &LimitBound, loads_too: bool) -> Vec<Reading> {
        let mut readings = self.of_measure(bound, loads_too);
        // A phase that runs a plain fluid gives no drug to be judged.
        readings.retain(|reading| {
            let phase = self.view.phases.get(reading.phase);
            let of_all = bound.measure == LimitMeasure::Total;
            of_all || phase.is_some_and(|phase| phase.bag.drug.is_some())
        });
        readings
    }

    fn of_measure(&self, bound: &LimitBound, loads_too: bool) -> Vec<Reading> {
        let loads = loads_too && !bound.usual || is_as_loading(bound);
        match bound.measure {
            LimitMeasure::Dose | LimitMeasure::Flow => {
                let mut readings = self.rates(bound, loads);
                readings.extend(self.keep_open(bound));
                readings.extend(self.pushed(bound));
                readings.extend(self.load_rates(bound, |piece| {
                    matches!(piece.source, Source::Bolus(_)) && (loads || piece.comes_back())
                }));
                readings
            }
            LimitMeasure::SingleDose => self.single_doses(bound),
            LimitMeasure::Interval => self.intervals(),
            LimitMeasure::Strength | LimitMeasure::Osmolarity => self.bags(bound),
            LimitMeasure::Bolus | LimitMeasure::BolusTime => self.loads(bound),
            LimitMeasure::BolusRate => self.load_rates(bound, |piece| piece.is_load(self.order)),
            LimitMeasure::Total => self.totals(bound),
            LimitMeasure::Time => self.times(bound, loads),
        }
    }

    /// Every run, with the places of its phase and of itself there.
    pub(super) fn each_run(&self) -> impl Iterator<Item = (usize, usize, &Run)> {
        let phases = self.view.phases.iter().enumerate();
        phases.flat_map(|(phase, derived)| {
            let runs = derived.runs.iter().enumerate();
            runs.map(move |(run, derived)| (phase, run, derived))
        })
    }

    pub(super) fn is_load(&self, phase: usize) -> bool {
        self.order
            .phases
            .get(phase)
            .is_some_and(crate::model::order::Phase::is_loading)
    }

    /// Whether the solution of a phase's bag brings something of the drug's
    /// substance that cannot be counted as the drug is.
    pub(super) fn is_untied(&self, phase: usize) -> bool {
        self.view.besides(self.order, phase) == Besides::Unknown
    }

    /// Whether any phase's does, or its drug cannot be counted as that of the
    /// others.
    pub(super) fn any_untied(&self) -> bool {
        (0..self.view.phases.len()).any(|phase| self.is_apart(phase))
    }

    /// Whether the drug of a phase's bag, or what else there is of its
    /// substance, cannot be counted as the first bag's is.
    pub(super) fn is_apart(&self, phase: usize) -> bool {
        let drug = self
            .view
            .phases
            .get(phase)
            .and_then(|of| of.bag.drug.as_ref());
        let Some((drug, first)) = drug.zip(self.view.first_kind()) else {
            return false;
        };
        let named = self.order.drug.as_ref().map(|drug| &*drug.value);
        self.is_untied(phase) || equivalence(named, drug.kind, first).is_none()
    }

    /// Drug, brought to the limit's form.
    pub(super) fn drug(&self, phase: usize, drug: Option<Curve>, form: Form) -> Reads {
        let Some(drug) = drug else {
            return Reads::Unknown(NotComparable::NotComputable);
        };
        if let Some(value) = self.view.drug_in_form(self.order, phase, &drug, form) {
            return Reads::Value(value);
        }
        Reads::Unknown(self.unknown(form).unwrap_or(NotComparable::Equivalence))
    }

    pub(super) fn per_patient(&self, curve: Option<Curve>, form: Form) -> Reads {
        if let Some(unknown) = self.unknown(form) {
            return Reads::Unknown(unknown);
        }
        let value = curve.and_then(|curve| curve.div(&self.view.patients.factor(form)?));
        value.map_or(Reads::Unknown(NotComparable::NotComputable), Reads::Value)
    }

    fn unknown(&self, form: Form) -> Option<NotComparable> {
        let patients = &self.view.patients;
        match form.per {
            Per::Weight if patients.weight.is_none() => Some(NotComparable::Weight),
            Per::Surface if patients.surface.is_none() => Some(NotComparable::Surface),
            Per::Patient | Per::Weight | Per::Surface => None,
        }
    }

    /// The first phase whose bag holds the drug: as it counts it, all is.
    pub(super) fn first_bag_of_drug(&self) -> Option<usize> {
        let mut phases = self.view.phases.iter();
        phases.position(|phase| phase.bag.drug.is_some())
    }
}

/// Whether a limit is for loads by name.
pub(super) fn is_as_loading(bound: &LimitBound) -> bool {
    let mut purposes = bound.when.purposes.iter();
    purposes.any(|purpose| purpose == "loading")
}

/// How a limit counts the drug.
pub(super) const fn judged_by(bound: &LimitBound) -> Counted<'static> {
    Counted::Judged {
        side: bound.side,
        usual: bound.usual,
    }
}
