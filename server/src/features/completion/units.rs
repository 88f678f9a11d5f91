//! Units of the kind that a place asks for, the drug's own first.

use gutta_notation::ast::{ExpectMeasure, LimitMeasure};
use gutta_notation::lines::LineKind;
use gutta_notation::words::EXPECT_MEASURES;
use gutta_notation::{Next, StanzaKind, Style, next};
use gutta_protocol::Space;
use gutta_protocol::model::size::{DrugKind, Form};
use gutta_quantity::{Atom, Exact, Unit, units};

use super::cursor::Cursor;
use super::names::last_of;
use super::{Item, Kind, drug_of};

const L_PER_DAY: Unit = Unit::over(Atom::L, Atom::Days);
const ML_PER_KG: Unit = Unit::over(Atom::ML, Atom::Kg);
const WEEKS: Unit = Unit::new(Atom::Weeks);
const G_PER_DAY: Unit = Unit::over(Atom::G, Atom::Days);
const G_PER_KG_PER_DAY: Unit = Unit::over2(Atom::G, Atom::Kg, Atom::Days);
const MMOL_PER_KG: Unit = Unit::over(Atom::Mmol, Atom::Kg);
const MMOL_PER_H: Unit = Unit::over(Atom::Mmol, Atom::H);
const MMOL_PER_DAY: Unit = Unit::over(Atom::Mmol, Atom::Days);
const MMOL_PER_KG_PER_H: Unit = Unit::over2(Atom::Mmol, Atom::Kg, Atom::H);
const MILLIUNITS: Unit = Unit::new(Atom::Milliunits);

const VOLUMES: &[Unit] = &[units::ML, units::L];
const FLOWS: &[Unit] = &[
    units::ML_PER_H,
    units::ML_PER_KG_PER_H,
    units::ML_PER_MIN,
    units::ML_PER_DAY,
    units::ML_PER_KG_PER_DAY,
];
const TIMES: &[Unit] = &[units::MIN, units::H, units::S, units::DAYS];
const AGES: &[Unit] = &[units::YEARS, units::MONTHS, WEEKS, units::DAYS];
const WEIGHTS: &[Unit] = &[units::KG, units::G];
const SURFACES: &[Unit] = &[units::M2];
const FLUIDS: &[Unit] = &[units::ML_PER_KG_PER_DAY, units::ML_PER_DAY, L_PER_DAY];

/// What a dose is per.
const DOSES: &[&[Atom]] = &[
    &[Atom::H],
    &[Atom::Min],
    &[Atom::Kg, Atom::H],
    &[Atom::Kg, Atom::Min],
    &[Atom::Days],
    &[Atom::Kg, Atom::Days],
    &[Atom::M2, Atom::Days],
];

/// Units that fit behind a number, which itself stands behind `before`.
pub(super) fn units(cursor: &Cursor<'_>, kind: LineKind, before: &str, number: &str) -> Vec<Item> {
    let drug = OfDrug::new(cursor);
    let mut found: Vec<Unit> = Vec::new();
    let mut add = |units: Vec<Unit>| {
        for unit in units {
            if !found.contains(&unit) {
                found.push(unit);
            }
        }
    };
    for next in next(kind, before) {
        add(fitting(&drug, kind, before, next));
    }
    // Within a time of several parts.
    let last = before.split_whitespace().next_back().unwrap_or("");
    if found.is_empty() {
        found = match last {
            "h" => plain(&[units::MIN]),
            "day" | "days" => plain(&[units::H, units::MIN]),
            _ => found,
        };
    }
    // The unit that stands on the line fits best once more.
    let style = cursor.site.workspace.house.style;
    let mut words = before.split([' ', ',']);
    let held = words.find_map(|word| found.iter().position(|unit| spells(style, *unit, word)));
    if let Some(place) = held {
        let unit = found.remove(place);
        found.insert(0, unit);
    }
    let one = match number {
        "1" => Exact::ONE,
        _ => Exact::ZERO,
    };
    found
        .into_iter()
        .map(|unit| Item::new(Kind::Unit, style.unit_after(unit, &one)))
        .collect()
}

/// Whether the word is the unit, as a line of the house writes it.
fn spells(style: Style, unit: Unit, word: &str) -> bool {
    style.unit(unit) == word || style.unit_after(unit, &Exact::ONE) == word
}

fn fitting(drug: &OfDrug, kind: LineKind, before: &str, next: Next) -> Vec<Unit> {
    use LineKind as L;
    match (next, kind) {
        (Next::Volume, _) => plain(VOLUMES),
        (Next::Time, _) => plain(TIMES),
        (Next::Unit, L::Drops) => plain(&[units::ML]),
        (Next::Unit, _) => drug.doses(),
        (Next::Rate, L::Ceiling | L::BolusCeiling) => {
            plain(&[units::ML_PER_H, units::ML_PER_KG_PER_H])
        }
        (Next::Rate, L::Bolus) => {
            joined(plain(&[units::ML_PER_H, units::ML_PER_MIN]), drug.doses())
        }
        (Next::Rate, L::Then) => joined(plain(&[units::ML_PER_H]), drug.doses()),
        (Next::Rate, _) => {
            let mut rates = drug.doses();
            rates.extend(plain(FLOWS));
            rates.push(units::DROPS_PER_MIN);
            rates
        }
        (Next::Dose | Next::Step, L::Adjust) => joined(drug.doses(), plain(FLOWS)),
        (Next::Step, _) => plain(&[units::ML_PER_H]),
        (Next::Strength, L::Osmolarity) => plain(&[units::MOSM_PER_L]),
        (Next::Strength, L::Accuracy) => plain(&[units::PERCENT]),
        (Next::Strength, _) => joined(drug.strengths(), plain(&[units::PERCENT])),
        (Next::Amount, L::Supplied | L::Premixed) => {
            let mut amounts = drug.amounts();
            amounts.extend(drug.strengths());
            amounts.push(units::PERCENT);
            amounts
        }
        (Next::Amount, L::Equals) => {
            plain(&[units::G, units::MG, units::MMOL, units::MEQ, units::UNITS])
        }
        (Next::Amount, L::Run) if before.trim().is_empty() => {
            let mut amounts = plain(VOLUMES);
            amounts.extend(drug.amounts());
            amounts.extend(plain(&[ML_PER_KG]));
            amounts.extend(per_patient(&drug.amounts()));
            amounts
        }
        // A cap.
        (Next::Amount, L::Run) => joined(drug.whole_doses(), drug.amounts()),
        (Next::Amount, _) => {
            let mut amounts = drug.amounts();
            amounts.extend(per_patient(&amounts));
            amounts.extend(plain(&[units::ML]));
            amounts
        }
        (Next::Value, _) => values(drug, kind, before),
        _ => Vec::new(),
    }
}

/// Units of a quantity whose kind the line's other words tell.
fn values(drug: &OfDrug, kind: LineKind, before: &str) -> Vec<Unit> {
    use LineKind as L;
    let first = before.split_whitespace().next().unwrap_or("");
    match kind {
        L::Patient => match first {
            "surface" => plain(SURFACES),
            "age" => plain(AGES),
            _ => plain(WEIGHTS),
        },
        L::DosingWeight => plain(WEIGHTS),
        L::Fluid => plain(FLUIDS),
        L::PumpVolume => plain(VOLUMES),
        L::PumpFlow | L::PumpBolus => plain(&[units::ML_PER_H]),
        L::Load => {
            let units: &[_] = match first {
                "glucose" => &[units::MG_PER_KG_PER_MIN, G_PER_KG_PER_DAY, G_PER_DAY],
                _ => &[
                    units::MMOL_PER_KG_PER_DAY,
                    MMOL_PER_DAY,
                    MMOL_PER_KG_PER_H,
                    MMOL_PER_H,
                ],
            };
            plain(units)
        }
        L::Expect if last_of(before, &["at"]).is_some() => {
            let mut units = plain(WEIGHTS);
            units.extend(plain(SURFACES));
            units.extend(drug.doses());
            units
        }
        L::Expect => expected(drug, before.trim_start()),
        L::Usual | L::Never | L::Waive => match last_of(before, &["for", "aged"]) {
            Some("aged") => plain(AGES),
            Some(_) => joined(plain(WEIGHTS), plain(SURFACES)),
            None => {
                let measure = match kind {
                    L::Waive => before.split_once(" of ").map_or("", |(_, of)| of),
                    _ => before,
                };
                limited(drug, measure.trim_start())
            }
        },
        _ => Vec::new(),
    }
}

/// Units of what a limit measures.
fn limited(drug: &OfDrug, text: &str) -> Vec<Unit> {
    use LimitMeasure as M;
    let measures = M::ALL.into_iter();
    let named = measures.filter(|measure| text.starts_with(measure.phrase()));
    let Some(measure) = named.max_by_key(|measure| measure.phrase().len()) else {
        return Vec::new();
    };
    match measure {
        M::Dose => drug.doses(),
        M::Flow => plain(FLOWS),
        M::SingleDose | M::Total => joined(drug.amounts(), per_patient(&drug.amounts())),
        M::Interval | M::BolusTime | M::Time => plain(TIMES),
        M::Strength => joined(drug.strengths(), plain(&[units::PERCENT])),
        M::Osmolarity => plain(&[units::MOSM_PER_L]),
        M::Bolus => {
            let amounts = joined(drug.amounts(), per_patient(&drug.amounts()));
            joined(amounts, plain(&[units::ML, ML_PER_KG]))
        }
        M::BolusRate => joined(plain(&[units::ML_PER_H, units::ML_PER_MIN]), drug.doses()),
    }
}

/// Units of what an example measures.
fn expected(drug: &OfDrug, text: &str) -> Vec<Unit> {
    use ExpectMeasure as M;
    let known = EXPECT_MEASURES.iter();
    let named = known.filter(|(name, _)| text.starts_with(name));
    let Some((_, measure)) = named.max_by_key(|(name, _)| name.len()) else {
        return plain(&[
            units::MMOL,
            MMOL_PER_KG,
            units::MEQ,
            units::MG,
            units::G,
            MMOL_PER_H,
        ]);
    };
    match measure {
        M::Flow | M::PumpFlow => plain(FLOWS),
        M::Strength | M::TrueStrength => drug.strengths(),
        M::Drops => plain(&[units::DROPS_PER_MIN]),
        M::Time | M::BolusTime => plain(TIMES),
        M::Dose => drug.doses(),
        M::Bolus => joined(drug.amounts(), plain(&[units::ML])),
        M::Draw | M::Volume => plain(VOLUMES),
        M::Total => joined(drug.amounts(), per_patient(&drug.amounts())),
        M::Fluid => plain(&[units::ML, units::L, ML_PER_KG]),
        M::Substance(_) => plain(&[units::MMOL, MMOL_PER_KG, units::MEQ, units::MG, units::G]),
    }
}

/// How a drug is counted.
struct OfDrug {
    dosed_in: Option<Unit>,
    kinds: Vec<DrugKind>,
    /// Whether there is a drug at all: a plain fluid has no doses.
    none: bool,
}

impl OfDrug {
    fn new(cursor: &Cursor<'_>) -> Self {
        if let Some(ingredient) = Self::of_ingredient(cursor) {
            return ingredient;
        }
        let Some((_, drug)) = drug_of(cursor) else {
            return Self {
                dosed_in: None,
                kinds: vec![
                    DrugKind::Mass,
                    DrugKind::Activity,
                    DrugKind::Amount,
                    DrugKind::Equivalents,
                ],
                none: matches!(cursor.kind, StanzaKind::Area),
            };
        };
        let dosed_in = drug.dosed_in.map(|(unit, _)| unit);
        let mut kinds: Vec<DrugKind> = dosed_in
            .and_then(|unit| Form::of(unit.dimension())?.drug())
            .into_iter()
            .collect();
        kinds.extend(drug.supplied.as_ref().map(|supplied| supplied.kind));
        kinds.extend(drug.equals.iter().flatten().map(|(kind, _)| *kind));
        let mut once: Vec<DrugKind> = Vec::new();
        for kind in kinds {
            if !once.contains(&kind) {
                once.push(kind);
            }
        }
        if once.is_empty() {
            once = vec![DrugKind::Mass, DrugKind::Activity];
        }
        Self {
            dosed_in,
            kinds: once,
            none: false,
        }
    }

    /// A substance is counted as what contains it counts it.
    fn of_ingredient(cursor: &Cursor<'_>) -> Option<Self> {
        let workspace = cursor.site.workspace;
        let stanza = workspace.stanza(cursor.stanza?);
        let name = stanza.name.as_ref()?;
        if stanza.kind != StanzaKind::Ingredient {
            return None;
        }
        let mut kinds: Vec<DrugKind> = Vec::new();
        for id in workspace.declared_anywhere(Space::Substance, &name.value) {
            let library = cursor.site.library();
            let of_drug = library.drug(id).map(|drug| &drug.contains);
            let of_solution = || library.solution(id).map(|solution| &solution.contains);
            for content in of_drug.or_else(of_solution).into_iter().flatten() {
                if content.substance == name.value && !kinds.contains(&content.kind) {
                    kinds.push(content.kind);
                }
            }
        }
        if kinds.is_empty() {
            kinds = vec![DrugKind::Amount, DrugKind::Mass];
        }
        Some(Self {
            dosed_in: None,
            kinds,
            none: false,
        })
    }

    fn amounts(&self) -> Vec<Unit> {
        if self.none {
            return Vec::new();
        }
        let kinds = self.kinds.iter();
        kinds.flat_map(|kind| amounts(*kind)).copied().collect()
    }

    /// As the drug is dosed, then in its other forms.
    fn doses(&self) -> Vec<Unit> {
        let mut doses: Vec<Unit> = self.dosed_in.into_iter().collect();
        for amount in self.amounts() {
            let forms = DOSES.iter().filter_map(|below| {
                let mut below = below.iter();
                below.try_fold(amount, |unit, atom| unit.per(*atom))
            });
            doses.extend(forms);
        }
        doses
    }

    /// Doses of the whole patient.
    fn whole_doses(&self) -> Vec<Unit> {
        let mut doses = self.doses();
        doses.retain(|unit| {
            let dimension = unit.dimension();
            dimension == dimension.without_patient()
        });
        doses
    }

    fn strengths(&self) -> Vec<Unit> {
        let amounts = self.amounts().into_iter();
        amounts.filter_map(|unit| unit.per(Atom::ML)).collect()
    }
}

const fn amounts(kind: DrugKind) -> &'static [Unit] {
    match kind {
        DrugKind::Mass => &[units::MG, units::MCG, units::G],
        DrugKind::Amount => &[units::MMOL],
        DrugKind::Equivalents => &[units::MEQ],
        DrugKind::Activity => &[units::UNITS, MILLIUNITS],
    }
}

fn per_patient(amounts: &[Unit]) -> Vec<Unit> {
    let each = amounts.iter();
    each.flat_map(|unit| [unit.per(Atom::Kg), unit.per(Atom::M2)])
        .flatten()
        .collect()
}

fn plain(units: &[Unit]) -> Vec<Unit> {
    units.to_vec()
}

fn joined(mut first: Vec<Unit>, then: Vec<Unit>) -> Vec<Unit> {
    first.extend(then);
    first
}
