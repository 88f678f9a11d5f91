//! What is in a bag: volumes, drug, strength, and what to draw up.

use gutta_quantity::Exact;

use super::view::Patients;
use crate::curve::Curve;
use crate::model::drug::{Drug, Supply, equivalence};
use crate::model::limit::Side;
use crate::model::lower::Lowering;
use crate::model::order::{BagSpec, Named, Order, Preparation};
use crate::model::problem::ProblemKind;
use crate::model::size::{DrugKind, Size, Stuff};

/// What is in a bag, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bag {
    /// The phase that hung it.
    pub phase: usize,
    /// The final volume, drug included.
    pub volume: Curve,
    /// The volume that strength and flow are reckoned by: another only where
    /// the author counts one.
    pub counted: Curve,
    /// Whether the author counts another volume.
    pub is_counted: bool,
    /// The drug in it; `None`: a plain fluid.
    pub drug: Option<DrugInBag>,
    /// The diluent, or the fluid itself; `None` where what was supplied is
    /// not known, or nothing is diluted.
    pub diluent: Option<Curve>,
}

/// The drug in a bag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrugInBag {
    /// In what it is counted.
    pub kind: DrugKind,
    /// How much.
    pub amount: Curve,
    /// By the counted volume.
    pub strength: Curve,
    /// By the true volume.
    pub true_strength: Curve,
    /// The volume of drug as supplied: what to draw up. `None` where the drug
    /// does not say how it is supplied, or the bag is bought mixed.
    pub draw: Option<Curve>,
    /// Containers to open, before rounding up.
    pub containers: Option<Curve>,
}

impl DrugInBag {
    /// The strength that a dose is reckoned by: by the counted volume, but for
    /// a flow that follows from the true one.
    #[must_use]
    pub(crate) const fn strength_of(&self, of_bag: bool) -> &Curve {
        if of_bag {
            &self.true_strength
        } else {
            &self.strength
        }
    }

    /// The strength that is worse for a limit on this side, of the counted and
    /// the true one; of a flow that follows from the true volume, the true one
    /// alone.
    #[must_use]
    pub fn worse(&self, side: Side, of_bag: bool) -> Option<Curve> {
        let counted = self.strength_of(of_bag);
        match side {
            Side::High => counted.max(&self.true_strength),
            Side::Low => counted.min(&self.true_strength),
        }
    }
}

/// The drug as supplied, its strength counted in `kind`.
pub(super) fn supplied_in(drug: &Drug, kind: DrugKind) -> Option<(Exact, &Supply)> {
    let supply = drug.supplied.as_ref()?;
    let factor = equivalence(Some(drug), supply.kind, kind)?;
    Some((&supply.strength * &factor, supply))
}

/// Puts the pieces of a bag together.
pub(super) struct Filling<'a> {
    pub(super) order: &'a Order,
    pub(super) patients: &'a Patients,
    pub(super) phase: usize,
    pub(super) spec: &'a BagSpec,
}

impl Filling<'_> {
    fn drug(&self) -> Option<&Named<Drug>> {
        self.order.drug.as_ref()
    }

    /// The bag; problems say why not.
    pub(super) fn fill(&self, lowering: &mut Lowering) -> Option<Bag> {
        let bag = match &self.spec.how {
            Preparation::MadeUpTo { drug, cap, volume } => {
                let volume = self.whole(lowering, volume)?;
                let (kind, amount) = self.amount(lowering, drug, cap.as_ref())?;
                let draw = self.draw(kind, &amount);
                let diluent = draw.as_ref().and_then(|draw| volume.sub(draw));
                self.mixture(
                    volume.clone(),
                    volume,
                    false,
                    Some((kind, amount, draw)),
                    diluent,
                )
            }
            Preparation::AddedTo {
                drug,
                cap,
                volume,
                counted_as,
            } => {
                let diluent = self.whole(lowering, volume)?;
                let (kind, amount) = self.amount(lowering, drug, cap.as_ref())?;
                let Some(draw) = self.draw(kind, &amount) else {
                    let what = "how the drug is supplied (its own volume is added to the bag)";
                    self.cannot_draw(lowering, drug, kind, what);
                    return None;
                };
                let total = diluent.add(&draw)?;
                let counted = match counted_as {
                    Some(counted) => self.whole(lowering, counted)?,
                    None => total.clone(),
                };
                let is_counted = counted_as.is_some();
                self.mixture(
                    total,
                    counted,
                    is_counted,
                    Some((kind, amount, Some(draw))),
                    Some(diluent),
                )
            }
            Preparation::Premixed { amount, volume } => {
                let volume = self.whole(lowering, volume)?;
                let (kind, amount) = self.amount(lowering, amount, None)?;
                self.mixture(
                    volume.clone(),
                    volume,
                    false,
                    Some((kind, amount, None)),
                    None,
                )
            }
            Preparation::PremixedStrength {
                strength,
                kind,
                volume,
            } => {
                let volume = self.whole(lowering, volume)?;
                let amount = volume.scale(strength);
                self.mixture(
                    volume.clone(),
                    volume,
                    false,
                    Some((*kind, amount, None)),
                    None,
                )
            }
            Preparation::Fluid { volume } => {
                let volume = self.whole(lowering, volume)?;
                self.mixture(volume.clone(), volume.clone(), false, None, Some(volume))
            }
            Preparation::Undiluted { volume } => {
                let volume = self.whole(lowering, volume)?;
                let supply = self.drug().and_then(|drug| drug.value.supplied.as_ref());
                let Some(supply) = supply else {
                    let what = "how the drug is supplied (it is given undiluted)";
                    lowering.problem(self.spec.span, ProblemKind::Missing { what });
                    return None;
                };
                let amount = volume.scale(&supply.strength);
                let draw = Some(volume.clone());
                self.mixture(
                    volume.clone(),
                    volume,
                    false,
                    Some((supply.kind, amount, draw)),
                    None,
                )
            }
        };
        if bag.is_none() {
            lowering.problem(
                self.spec.span,
                ProblemKind::NotComputable {
                    what: "the strength of the bag",
                },
            );
        }
        bag
    }

    fn whole(&self, lowering: &mut Lowering, size: &Size) -> Option<Curve> {
        super::whole(self.patients, lowering, size)
    }

    /// The amount of drug, its cap applied, and in what it is counted.
    fn amount(
        &self,
        lowering: &mut Lowering,
        drug: &Size,
        cap: Option<&Size>,
    ) -> Option<(DrugKind, Curve)> {
        let stated = self.whole(lowering, drug)?;
        let stated = match cap {
            None => stated,
            Some(cap) => {
                if cap.form.stuff != drug.form.stuff {
                    lowering.problem(
                        cap.span,
                        ProblemKind::WrongKind {
                            found: cap.unit.dimension().name(),
                            wanted: "a maximum (`at most`) of the same kind as the amount",
                        },
                    );
                    return None;
                }
                stated.min(&self.whole(lowering, cap)?)?
            }
        };
        match drug.form.stuff {
            Stuff::Drug(kind) => Some((kind, stated)),
            Stuff::Volume | Stuff::Drops => {
                let supply = self.drug().and_then(|named| named.value.supplied.as_ref());
                let Some(supply) = supply else {
                    let what = "how the drug is supplied (the mix states a volume of it)";
                    lowering.problem(drug.span, ProblemKind::Missing { what });
                    return None;
                };
                Some((supply.kind, stated.scale(&supply.strength)))
            }
        }
    }

    /// Why no volume of drug as supplied holds what the mix asks for.
    fn cannot_draw(
        &self,
        lowering: &mut Lowering,
        drug: &Size,
        kind: DrugKind,
        what: &'static str,
    ) {
        let supply = self.drug().and_then(|named| named.value.supplied.as_ref());
        match supply {
            Some(supply) => lowering.problem(
                drug.span,
                ProblemKind::NoEquivalence {
                    from: kind,
                    to: supply.kind,
                },
            ),
            None => lowering.problem(self.spec.span, ProblemKind::Missing { what }),
        }
    }

    /// The volume of drug as supplied that holds `amount`.
    fn draw(&self, kind: DrugKind, amount: &Curve) -> Option<Curve> {
        let (strength, _) = supplied_in(&self.drug()?.value, kind)?;
        Some(amount.scale(&strength.recip()?))
    }

    fn mixture(
        &self,
        volume: Curve,
        counted: Curve,
        is_counted: bool,
        drug: Option<(DrugKind, Curve, Option<Curve>)>,
        diluent: Option<Curve>,
    ) -> Option<Bag> {
        let drug = match drug {
            None => None,
            Some((kind, amount, draw)) => {
                let container = self
                    .drug()
                    .and_then(|drug| drug.value.supplied.as_ref())
                    .and_then(|supply| supply.container.clone());
                let containers = match (&draw, container.and_then(|container| container.recip())) {
                    (Some(draw), Some(per)) => Some(draw.scale(&per)),
                    _ => None,
                };
                let strength = amount.div(&counted)?;
                let true_strength = if is_counted {
                    amount.div(&volume)?
                } else {
                    strength.clone()
                };
                Some(DrugInBag {
                    kind,
                    strength,
                    true_strength,
                    amount,
                    draw,
                    containers,
                })
            }
        };
        Some(Bag {
            phase: self.phase,
            volume,
            counted,
            is_counted,
            drug,
            diluent,
        })
    }
}
