//! From the lines of one phase to what they mean.

use gutta_notation::ast::{self, Bag, BagInto, Repeat, Then, Way, What};
use gutta_notation::lines::Reach;
use gutta_notation::{Fact, Line, Span, Spanned};
use smol_str::SmolStr;

use super::limit::strength;
use super::lower::{Lowering, is_amount, is_dose, is_flow, is_volume};
use super::lower_adjust::adjust;
use super::named::Named;
use super::order::{
    Answer, BagSpec, BolusSpec, BolusWay, EverySpec, Phase, Preparation, RunSpec, ThenSpec,
    WaySpec, WhatSpec,
};
use super::problem::ProblemKind;
use super::reference::{GivingSet, Pump};
use super::resolve::Resolver;
use super::size::{Form, Per, Size};

/// The pump and giving set that hold where the order names none.
#[derive(Clone, Debug, Default)]
pub(crate) struct Equipment {
    pub(crate) pump: Option<Named<Pump>>,
    pub(crate) giving_set: Option<Named<GivingSet>>,
}

/// The lines of a phase: its own, and those above the first phase that hold
/// for all.
pub(crate) struct PhaseLines<'a> {
    pub(crate) name: Option<SmolStr>,
    pub(crate) span: Span,
    pub(crate) shared: &'a [Line],
    pub(crate) own: &'a [Line],
    pub(crate) first: bool,
    pub(crate) last: bool,
}

impl PhaseLines<'_> {
    pub(crate) fn lower(
        self,
        lowering: &mut Lowering,
        resolver: &Resolver<'_>,
        equipment: &Equipment,
    ) -> Phase {
        let mut phase = Phase {
            name: self.name.clone(),
            span: self.span,
            bag: None,
            prime: None,
            boluses: Vec::new(),
            runs: Vec::new(),
            adjust: None,
            flushes: Vec::new(),
            ceiling: None,
            bolus_ceiling: None,
            then: None,
            change_bag: None,
            route: Answer::Unanswered,
            pump: equipment.pump.clone(),
            giving_set: equipment.giving_set.clone(),
            purpose: None,
        };
        for line in self.shared {
            // A phase's own line of a kind takes the place of the shared ones.
            // Later phases go on with what is left of the first one's bag.
            let same = std::mem::discriminant(&line.fact);
            let replaced = self
                .own
                .iter()
                .any(|own| std::mem::discriminant(&own.fact) == same);
            let reach = line.fact.kind().map(|kind| kind.row().reach);
            let elsewhere = match reach {
                Some(Reach::FirstPhase) => !self.first,
                Some(Reach::LastPhase) => !self.last,
                Some(Reach::EachPhase | Reach::Stanza) | None => false,
            };
            if !(replaced || elsewhere) {
                apply(&mut phase, lowering, resolver, line);
            }
        }
        for line in self.own {
            apply(&mut phase, lowering, resolver, line);
        }
        phase
    }
}

fn apply(phase: &mut Phase, lowering: &mut Lowering, resolver: &Resolver<'_>, line: &Line) {
    match &line.fact {
        Fact::Bag(bag) => phase.bag = self::bag(lowering, resolver, bag, line.span),
        Fact::Prime(written) => phase.prime = lowering.volume(written),
        Fact::Bolus(bolus) => phase
            .boluses
            .extend(self::bolus(lowering, bolus, line.span)),
        Fact::Run(run) => phase.runs.extend(self::run(lowering, run, line.span)),
        Fact::Adjust(adjust) => phase.adjust = self::adjust(lowering, adjust, line.span),
        Fact::Flush { volume, solution } => {
            let volume = lowering.volume(volume);
            let solution = resolver.named(lowering, solution);
            phase
                .flushes
                .extend(volume.map(|volume| (volume, solution)));
        }
        Fact::Ceiling(written) => {
            phase.ceiling = lowering.size(written, "a flow or a dose", |form| {
                is_flow(form) || is_dose(form)
            });
        }
        Fact::BolusCeiling(written) => {
            phase.bolus_ceiling = lowering.size(written, "a flow or a dose", |form| {
                is_flow(form) || is_dose(form)
            });
        }
        Fact::Then(then) => {
            phase.then = self::then(lowering, resolver, then).map(|then| (then, line.span));
        }
        Fact::ChangeBag(written) => phase.change_bag = lowering.time(written),
        Fact::Route(route) => {
            phase.route = match route.value {
                None => Answer::Any(route.span),
                Some(value) => Answer::Is(Spanned::new(value, route.span)),
            };
        }
        Fact::Pump(name) => phase.pump = resolver.named(lowering, name),
        Fact::GivingSet(name) => phase.giving_set = resolver.named(lowering, name),
        Fact::Purpose(name) => phase.purpose = Some(name.clone()),
        _ => {}
    }
}

fn is_whole_amount(form: &Form) -> bool {
    is_amount(form) && form.per == Per::Patient
}

fn is_amount_or_volume(form: &Form) -> bool {
    is_amount(form) || is_volume(form)
}

fn bag(lowering: &mut Lowering, resolver: &Resolver<'_>, bag: &Bag, span: Span) -> Option<BagSpec> {
    let (how, solution) = match bag {
        Bag::Mix { drug, into } => {
            let amount = lowering.size(
                &drug.amount,
                "an amount of drug, or a volume of it",
                is_amount_or_volume,
            );
            let cap = cap(lowering, drug.lid.as_ref(), is_amount_or_volume)?;
            match into {
                BagInto::MadeUpTo { volume, solution } => {
                    let volume = lowering.volume(volume);
                    let solution = resolver.named(lowering, solution);
                    (
                        Preparation::MadeUpTo {
                            drug: amount?,
                            cap,
                            volume: volume?,
                        },
                        solution,
                    )
                }
                BagInto::AddedTo {
                    volume,
                    solution,
                    counted_as,
                } => {
                    let volume = lowering.volume(volume);
                    let solution = resolver.named(lowering, solution);
                    let counted_as = match counted_as {
                        Some(written) => Some(lowering.volume(written)?),
                        None => None,
                    };
                    (
                        Preparation::AddedTo {
                            drug: amount?,
                            cap,
                            volume: volume?,
                            counted_as,
                        },
                        solution,
                    )
                }
            }
        }
        Bag::Premixed {
            amount,
            volume,
            solution,
        } => {
            let volume = lowering.volume(volume);
            let solution = solution
                .as_ref()
                .and_then(|solution| resolver.named(lowering, solution));
            let by_strength = amount
                .quantity()
                .is_some_and(|quantity| quantity.dimension().is_strength());
            let how = if by_strength {
                let (strength, kind) = strength(lowering, amount)?;
                Preparation::PremixedStrength {
                    strength,
                    kind,
                    volume: volume?,
                }
            } else {
                let amount = lowering.size(amount, "an amount of drug", is_whole_amount);
                Preparation::Premixed {
                    amount: amount?,
                    volume: volume?,
                }
            };
            (how, solution)
        }
        Bag::Hang { volume, solution } => {
            let volume = lowering.volume(volume);
            let solution = resolver.named(lowering, solution);
            (Preparation::Fluid { volume: volume? }, solution)
        }
        Bag::Undiluted { volume } => (
            Preparation::Undiluted {
                volume: lowering.volume(volume)?,
            },
            None,
        ),
    };
    Some(BagSpec {
        span,
        how,
        solution,
    })
}

/// A cap: `Some(None)` where none is stated, `None` where one is stated and
/// cannot be taken.
fn cap(
    lowering: &mut Lowering,
    written: Option<&ast::Written>,
    fits: fn(&Form) -> bool,
) -> Option<Option<Size>> {
    match written {
        None => Some(None),
        Some(written) => lowering
            .size(written, "an amount of the same kind", fits)
            .map(Some),
    }
}

fn bolus(lowering: &mut Lowering, bolus: &ast::Bolus, span: Span) -> Option<BolusSpec> {
    let size = lowering.size(
        &bolus.dose.amount,
        "an amount of drug or a volume",
        is_amount_or_volume,
    );
    let cap = cap(lowering, bolus.dose.lid.as_ref(), is_amount_or_volume);
    let way = match &bolus.way {
        Way::Over(time) => lowering.time(time).map(BolusWay::Over),
        Way::At(rate) => lowering
            .size(rate, "a flow or drug per time", is_rate)
            .map(BolusWay::At),
    };
    Some(BolusSpec {
        span,
        size: size?,
        cap: cap?,
        way: way?,
        each_time: bolus.each_time,
    })
}

fn is_rate(form: &Form) -> bool {
    is_flow(form) || is_dose(form)
}

fn run(lowering: &mut Lowering, run: &ast::Run, span: Span) -> Option<RunSpec> {
    let what = match &run.what {
        None => None,
        Some(What::All(span)) => Some(WhatSpec::All(*span)),
        Some(What::Amount(dose)) => {
            let size = lowering.size(
                &dose.amount,
                "a volume or an amount of drug",
                is_amount_or_volume,
            );
            let cap = cap(lowering, dose.lid.as_ref(), is_amount_or_volume);
            Some(WhatSpec::Size(size?, cap?))
        }
    };
    let mut ways = Vec::with_capacity(run.ways.len());
    for way in &run.ways {
        ways.push(match way {
            Way::Over(time) => WaySpec::Over(lowering.time(time)?),
            Way::At(rate) => {
                let any = |form: &Form| form.rate;
                WaySpec::At(lowering.size(rate, "a flow, a dose or a drip rate", any)?)
            }
        });
    }
    if ways.is_empty() {
        lowering.problem(
            span,
            ProblemKind::Missing {
                what: "how the run is set (`at` or `over`)",
            },
        );
        return None;
    }
    let dose_cap = match &run.dose_lid {
        None => None,
        Some(written) => Some(lowering.size(written, "a dose or a flow", |form| form.rate)?),
    };
    let every = match &run.every {
        None => None,
        Some(every) => {
            let interval = lowering.time(&every.interval)?;
            let count = match &every.repeat {
                None => None,
                Some(Repeat::Doses(count)) => Some(count.value?),
                Some(Repeat::For(time)) => {
                    let course = lowering.time(time)?;
                    let count = course.value.checked_div(&interval.value)?.ceil().to_i64()?;
                    Some(u32::try_from(count.max(1)).ok()?)
                }
            };
            Some(EverySpec {
                interval,
                count,
                span: every.span,
            })
        }
    };
    Some(RunSpec {
        span,
        what,
        ways,
        dose_cap,
        every,
    })
}

fn then(lowering: &mut Lowering, resolver: &Resolver<'_>, then: &Then) -> Option<ThenSpec> {
    Some(match then {
        Then::Stop => ThenSpec::Stop,
        Then::Renew { lasting: None } => ThenSpec::Renew(None),
        Then::Renew {
            lasting: Some(time),
        } => ThenSpec::Renew(Some(lowering.time(time)?)),
        Then::KeepOpen { flow, solution } => {
            let rate = lowering.size(flow, "a flow or a dose", is_rate);
            let solution = solution
                .as_ref()
                .map(|solution| resolver.named(lowering, solution));
            ThenSpec::KeepOpen {
                rate: rate?,
                solution: solution.flatten(),
            }
        }
    })
}
