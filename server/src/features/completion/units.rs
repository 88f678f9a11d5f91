//! Units of the kind that a place asks for, the drug's own first.

use gutta_notation::ast::{ExpectMeasure, LimitMeasure};
use gutta_notation::words::{EXPECT_MEASURES, LineKind};
use gutta_notation::{Micro, Next, StanzaKind, next};
use gutta_protocol::Space;
use gutta_protocol::model::size::{DrugKind, Form};
use gutta_quantity::{Exact, Unit};

use super::cursor::Cursor;
use super::names::last_of;
use super::{Item, Kind, drug_of};

const VOLUMES: &[&str] = &["mL", "L"];
const FLOWS: &[&str] = &["mL/h", "mL/kg/h", "mL/min", "mL/day", "mL/kg/day"];
const TIMES: &[&str] = &["min", "h", "s", "days"];
const AGES: &[&str] = &["years", "months", "weeks", "days"];
const WEIGHTS: &[&str] = &["kg", "g"];
const SURFACES: &[&str] = &["m2"];
const FLUIDS: &[&str] = &["mL/kg/day", "mL/day", "L/day"];

/// Units that fit behind a number, which itself stands behind `before`.
pub(super) fn units(cursor: &Cursor<'_>, kind: LineKind, before: &str, number: &str) -> Vec<Item> {
    let drug = OfDrug::new(cursor);
    let mut found: Vec<String> = Vec::new();
    let mut add = |units: Vec<String>| {
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
            "h" => plain(&["min"]),
            "day" | "days" => plain(&["h", "min"]),
            _ => found,
        };
    }
    // The unit that stands on the line fits best once more.
    let mut held = before.split([' ', ',']);
    let held = held.find(|word| found.iter().any(|unit| unit == word));
    let mut units = found.clone();
    if let Some(place) = held.and_then(|held| units.iter().position(|unit| unit == held)) {
        let unit = units.remove(place);
        units.insert(0, unit);
    }
    let micrograms = cursor.site.workspace.house.style.micro == Micro::Micrograms;
    let one = number == "1";
    let spell = |unit: String| {
        let singular = Unit::parse(&unit).filter(|_| one);
        let unit = singular.map_or(unit, |unit| unit.after(&Exact::ONE));
        match unit.strip_prefix("mcg").filter(|_| micrograms) {
            Some(rest) if one => format!("microgram{rest}"),
            Some(rest) => format!("micrograms{rest}"),
            None => unit,
        }
    };
    units
        .into_iter()
        .map(|unit| Item::new(Kind::Unit, spell(unit)))
        .collect()
}

fn fitting(drug: &OfDrug, kind: LineKind, before: &str, next: Next) -> Vec<String> {
    use LineKind as L;
    match (next, kind) {
        (Next::Volume, _) => plain(VOLUMES),
        (Next::Time, _) => plain(TIMES),
        (Next::Unit, L::Drops) => plain(&["mL"]),
        (Next::Unit, _) => drug.doses(),
        (Next::Rate, L::Ceiling | L::BolusCeiling) => plain(&["mL/h", "mL/kg/h"]),
        (Next::Rate, L::Bolus) => joined(plain(&["mL/h", "mL/min"]), drug.doses()),
        (Next::Rate, L::Then) => joined(plain(&["mL/h"]), drug.doses()),
        (Next::Rate, _) => {
            let mut rates = drug.doses();
            rates.extend(plain(FLOWS));
            rates.push("drops/min".to_owned());
            rates
        }
        (Next::Dose | Next::Step, L::Adjust) => joined(drug.doses(), plain(FLOWS)),
        (Next::Step, _) => plain(&["mL/h"]),
        (Next::Strength, L::Osmolarity) => plain(&["mOsm/L"]),
        (Next::Strength, L::Accuracy) => plain(&["%"]),
        (Next::Strength, _) => joined(drug.strengths(), plain(&["%"])),
        (Next::Amount, L::Supplied | L::Premixed) => {
            let mut amounts = drug.amounts();
            amounts.extend(drug.strengths());
            amounts.push("%".to_owned());
            amounts
        }
        (Next::Amount, L::Equals) => ["g", "mg", "mmol", "mEq", "units"]
            .map(str::to_owned)
            .into(),
        (Next::Amount, L::Run) if before.trim().is_empty() => {
            let mut amounts = plain(VOLUMES);
            amounts.extend(drug.amounts());
            amounts.extend(plain(&["mL/kg"]));
            amounts.extend(per_patient(&drug.amounts()));
            amounts
        }
        // A lid.
        (Next::Amount, L::Run) => joined(drug.whole_doses(), drug.amounts()),
        (Next::Amount, _) => {
            let mut amounts = drug.amounts();
            amounts.extend(per_patient(&amounts));
            amounts.extend(plain(&["mL"]));
            amounts
        }
        (Next::Value, _) => values(drug, kind, before),
        _ => Vec::new(),
    }
}

/// Units of a quantity whose kind the line's other words tell.
fn values(drug: &OfDrug, kind: LineKind, before: &str) -> Vec<String> {
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
        L::PumpFlow | L::PumpBolus => plain(&["mL/h"]),
        L::Load => {
            let units: &[_] = match first {
                "glucose" => &["mg/kg/min", "g/kg/day", "g/day"],
                _ => &["mmol/kg/day", "mmol/day", "mmol/kg/h", "mmol/h"],
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
fn limited(drug: &OfDrug, text: &str) -> Vec<String> {
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
        M::Strength => joined(drug.strengths(), plain(&["%"])),
        M::Osmolarity => plain(&["mOsm/L"]),
        M::Bolus => {
            let amounts = joined(drug.amounts(), per_patient(&drug.amounts()));
            joined(amounts, plain(&["mL", "mL/kg"]))
        }
        M::BolusRate => joined(plain(&["mL/h", "mL/min"]), drug.doses()),
    }
}

/// Units of what an example measures.
fn expected(drug: &OfDrug, text: &str) -> Vec<String> {
    use ExpectMeasure as M;
    let known = EXPECT_MEASURES.iter();
    let named = known.filter(|(name, _)| text.starts_with(name));
    let Some((_, measure)) = named.max_by_key(|(name, _)| name.len()) else {
        return plain(&["mmol", "mmol/kg", "mEq", "mg", "g", "mmol/h"]);
    };
    match measure {
        M::Flow | M::PumpFlow => plain(FLOWS),
        M::Strength | M::TrueStrength => drug.strengths(),
        M::Drops => plain(&["drops/min"]),
        M::Time | M::BolusTime => plain(TIMES),
        M::Dose => drug.doses(),
        M::Bolus => joined(drug.amounts(), plain(&["mL"])),
        M::Draw | M::Volume => plain(VOLUMES),
        M::Total => joined(drug.amounts(), per_patient(&drug.amounts())),
        M::Fluid => plain(&["mL", "L", "mL/kg"]),
        M::Substance(_) => plain(&["mmol", "mmol/kg", "mEq", "mg", "g"]),
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

    fn amounts(&self) -> Vec<String> {
        if self.none {
            return Vec::new();
        }
        let of = |kind: &DrugKind| amounts(*kind).iter().map(|unit| (*unit).to_owned());
        self.kinds.iter().flat_map(of).collect()
    }

    /// As the drug is dosed, then in its other forms.
    fn doses(&self) -> Vec<String> {
        let amounts = self.amounts();
        let forms = |per: &'static [&'static str]| {
            let amounts = amounts.iter();
            amounts.flat_map(move |amount| per.iter().map(move |per| format!("{amount}{per}")))
        };
        let mut doses: Vec<String> = self.dosed_in.iter().map(Unit::to_string).collect();
        doses.extend(forms(&[
            "/h", "/min", "/kg/h", "/kg/min", "/day", "/kg/day", "/m2/day",
        ]));
        doses
    }

    /// Doses of the whole patient.
    fn whole_doses(&self) -> Vec<String> {
        let mut doses = self.doses();
        doses.retain(|unit| !unit.contains("/kg/") && !unit.contains("/m2/"));
        doses
    }

    fn strengths(&self) -> Vec<String> {
        let amounts = self.amounts();
        amounts.iter().map(|unit| format!("{unit}/mL")).collect()
    }
}

const fn amounts(kind: DrugKind) -> &'static [&'static str] {
    match kind {
        DrugKind::Mass => &["mg", "mcg", "g"],
        DrugKind::Amount => &["mmol"],
        DrugKind::Equivalents => &["mEq"],
        DrugKind::Activity => &["units", "milliunits"],
    }
}

fn per_patient(amounts: &[String]) -> Vec<String> {
    let each = amounts.iter();
    each.flat_map(|unit| [format!("{unit}/kg"), format!("{unit}/m2")])
        .collect()
}

fn plain(units: &[&str]) -> Vec<String> {
    units.iter().map(|unit| (*unit).to_owned()).collect()
}

fn joined(mut first: Vec<String>, then: Vec<String>) -> Vec<String> {
    first.extend(then);
    first
}
