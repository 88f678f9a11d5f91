//! Drugs as supplied, solutions, and what is in a bag.

use gutta_notation::Span;
use gutta_protocol::measures::amount_unit;
use gutta_protocol::model::drug::Drug;
use gutta_protocol::model::order::Named;
use gutta_protocol::model::reference::{ContainedSubstance, Solution};
use gutta_protocol::{Analysis, StanzaId};
use gutta_quantity::{Exact, units};

use super::derived::{Derived, same};
use super::fhir::{
    CodeableConcept, CodeableReference, Identifier, Ingredient, Medication, Quantity, Ratio,
    Reference, Resource,
};
use super::left_out::LeftOut;
use super::names::Name;
use super::narrative::narrative;
use super::text::plain;
use super::{Exporter, Release};

/// What an ingredient is.
enum Item {
    /// Another medication.
    Medication(Reference),
    /// A substance, by its name in the house.
    Named(String),
}

impl Exporter<'_> {
    /// The drug as it is supplied.
    pub(super) fn drug(&mut self, drug: &Named<Drug>) -> Reference {
        let id = drug.id;
        if let Some(url) = self.held.get(&id) {
            return Reference {
                reference: url.clone(),
            };
        }
        let title = self.title(id);
        let supply = drug.value.supplied.as_ref();
        let container = supply.and_then(|supply| supply.container.clone());
        let strength = supply.and_then(|supply| {
            let unit = amount_unit(supply.kind);
            let volume = container.clone().unwrap_or(Exact::ONE);
            Ratio::of(
                (&supply.strength * &volume, unit),
                (volume, units::ML),
                self.style,
            )
        });
        let mut left = LeftOut::of(self.workspace, &self.lines, id);
        if let Some(supply) = supply.filter(|_| strength.is_none()) {
            left.note(self.workspace, supply.span, TOO_LONG);
        }
        let mut ingredients = vec![self.ingredient(Item::Named(title.clone()), strength)];
        ingredients.extend(self.contents(&drug.value.contains, &mut left));
        self.stanza_medication(id, title, container, ingredients, left)
    }

    /// A solution.
    fn solution(&mut self, solution: &Named<Solution>) -> Reference {
        let id = solution.id;
        if let Some(url) = self.held.get(&id) {
            return Reference {
                reference: url.clone(),
            };
        }
        let mut left = LeftOut::of(self.workspace, &self.lines, id);
        let ingredients = self.contents(&solution.value.contains, &mut left);
        self.stanza_medication(id, self.title(id), None, ingredients, left)
    }

    fn contents(&self, contents: &[ContainedSubstance], left: &mut LeftOut) -> Vec<Ingredient> {
        let one = |content: &ContainedSubstance| {
            let top = (content.strength.clone(), amount_unit(content.kind));
            let strength = Ratio::of(top, (Exact::ONE, units::ML), self.style);
            if strength.is_none() {
                left.note(self.workspace, content.span, TOO_LONG);
            }
            self.ingredient(Item::Named(plain(&content.substance)), strength)
        };
        contents.iter().map(one).collect()
    }

    fn stanza_medication(
        &mut self,
        id: StanzaId,
        title: String,
        volume: Option<Exact>,
        ingredient: Vec<Ingredient>,
        left: LeftOut,
    ) -> Reference {
        let name = self.name("Medication", id, "");
        let text = narrative(&title, self.lines_of(id), &left.omissions);
        self.held.insert(id, name.url.clone());
        self.left.push(left);
        let identifier = self.plain_name(id);
        let medication = Medication {
            text,
            ..self.medication(&name, identifier, title, volume, ingredient)
        };
        self.push(name.url, Resource::Medication(Box::new(medication)))
    }

    /// What is in the bag of a phase that hangs one.
    pub(super) fn bag(
        &mut self,
        analysis: &Analysis,
        derived: &Derived<'_>,
        phase: usize,
        left: &mut LeftOut,
    ) -> Option<Reference> {
        let order = &analysis.order;
        let spec = order.phases.get(phase)?.bag.as_ref()?;
        let bag = |view: &gutta_protocol::derive::View| Some(view.phases.get(phase)?.bag.clone());
        let constant =
            |of: fn(gutta_protocol::derive::Bag) -> Option<gutta_protocol::curve::Curve>| {
                same(derived.views, |view| of(bag(view)?))
            };
        let volume = constant(|bag| Some(bag.volume));
        let mut ingredients = Vec::new();
        let first = derived.views.first().and_then(bag)?;
        if let (Some(named), Some(drug)) = (&order.drug, &first.drug) {
            let unit = amount_unit(drug.kind);
            let amount =
                constant(|bag| Some(bag.drug?.amount)).zip(constant(|bag| Some(bag.counted)));
            let strength = constant(|bag| Some(bag.drug?.strength));
            // Of what depends on the patient the strength may still be one.
            let share = amount.or(strength.map(|strength| (strength, Exact::ONE)));
            let ratio = share
                .and_then(|(top, below)| Ratio::of((top, unit), (below, units::ML), self.style));
            if ratio.is_none() {
                left.note(
                    self.workspace,
                    spec.span,
                    "its strength depends on the patient, or has no decimal",
                );
            }
            let item = Item::Medication(self.drug(named));
            ingredients.push(self.ingredient(item, ratio));
        }
        if first.is_counted {
            left.note(
                self.workspace,
                spec.span,
                "its strength is for the counted volume, not the true one",
            );
        }
        if let Some(solution) = &spec.solution {
            let item = Item::Medication(self.solution(solution));
            let diluent =
                constant(|bag| bag.drug.is_some().then_some(bag.diluent)?).zip(volume.clone());
            let share = diluent.and_then(|(top, below)| {
                Ratio::of((top, units::ML), (below, units::ML), self.style)
            });
            ingredients.push(self.ingredient(item, share));
        }
        let id = order.id;
        let name = self.name("Medication", id, &format!("bag {phase}"));
        let line = self.written(id, spec.span);
        let missing = volume.as_ref().is_none_or(|volume| {
            Quantity::from_base(volume.clone(), units::ML, self.style).is_none()
        });
        if missing {
            left.note(
                self.workspace,
                spec.span,
                "its volume depends on the patient, or has no decimal",
            );
        }
        let title = format!("{}: {line}", self.title(id));
        let own = left
            .omissions
            .iter()
            .filter(|omission| omission.text == line);
        let medication = Medication {
            text: narrative(
                &title,
                std::iter::empty(),
                &own.cloned().collect::<Vec<_>>(),
            ),
            ..self.medication(&name, self.plain_name(id), title, volume, ingredients)
        };
        Some(self.push(name.url, Resource::Medication(Box::new(medication))))
    }

    /// A line as written.
    pub(super) fn written(&self, id: StanzaId, span: Span) -> String {
        plain(self.workspace.text_at(self.workspace.place(id, span)))
    }

    fn medication(
        &self,
        name: &Name,
        identifier: String,
        title: String,
        volume: Option<Exact>,
        ingredient: Vec<Ingredient>,
    ) -> Medication {
        let volume = volume.and_then(|volume| Quantity::from_base(volume, units::ML, self.style));
        let (amount, total_volume) = match self.release {
            Release::R4 => (volume.and_then(Ratio::of_one), None),
            Release::R5 => (None, volume),
        };
        Medication {
            id: name.id.clone(),
            text: narrative(&title, std::iter::empty(), &[]),
            identifier: vec![Identifier { value: identifier }],
            code: CodeableConcept::text(title),
            amount,
            total_volume,
            ingredient,
        }
    }

    fn ingredient(&self, item: Item, strength: Option<Ratio>) -> Ingredient {
        let (reference, concept) = match item {
            Item::Medication(reference) => (Some(reference), None),
            Item::Named(name) => (None, Some(CodeableConcept::text(name))),
        };
        match self.release {
            Release::R4 => Ingredient {
                item_reference: reference,
                item_codeable_concept: concept,
                strength,
                ..Ingredient::default()
            },
            Release::R5 => Ingredient {
                item: Some(CodeableReference { concept, reference }),
                strength_ratio: strength,
                ..Ingredient::default()
            },
        }
    }
}

/// Why a number is in words alone.
pub(super) const TOO_LONG: &str = "its number has no decimal of the standard's length";
