//! What a drug or a solution says of each substance in it, said in one way: how
//! many millimoles are in a base unit of volume, the least and the most.

use gutta_notation::{Fact, Span, Stanza};
use gutta_protocol::chemistry::{Composition, made, substance};
use gutta_protocol::derive::COMPANIONS;
use gutta_protocol::model::drug::{Drug, equivalence};
use gutta_protocol::model::reference::ContainedSubstance;
use gutta_protocol::model::size::DrugKind;
use gutta_quantity::Exact;
use smol_str::SmolStr;

/// One saying about a substance.
#[derive(Clone, Debug)]
pub(super) struct Claim {
    /// Of what.
    pub(super) substance: SmolStr,
    /// Millimoles in a base unit of volume: no fewer, no more.
    pub(super) range: (Exact, Exact),
    /// The line that says it.
    pub(super) span: Span,
    /// What else it goes by, for a sentence: the molar mass of a salt, say.
    pub(super) by: Option<String>,
}

/// How far apart two sayings are, as a factor; `None`: they can be the same.
pub(super) fn factor(
    one: &(Exact, Exact),
    other: &(Exact, Exact),
    tolerance: &Exact,
) -> Option<Exact> {
    let allowed = &Exact::ONE + tolerance;
    let (low, high) = if one.0 > other.1 {
        (other, one)
    } else {
        (one, other)
    };
    let apart = high.0.checked_div(&low.1)?;
    (apart > allowed).then_some(apart)
}

/// What the `contains` lines say.
pub(super) fn of_contents(contents: &[ContainedSubstance]) -> Vec<Claim> {
    let claims = contents.iter().filter_map(|content| {
        let per = match substance(&content.substance) {
            Some(known) => known.millimoles(content.kind)?,
            None if content.kind == DrugKind::Amount => (Exact::ONE, Exact::ONE),
            None => return None,
        };
        Some(Claim {
            substance: named(&content.substance),
            range: (&content.strength * &per.0, &content.strength * &per.1),
            span: content.span,
            by: None,
        })
    });
    claims.collect()
}

/// A substance's first name: dextrose is glucose.
fn named(name: &SmolStr) -> SmolStr {
    substance(name).map_or_else(
        || name.clone(),
        |known| known.names.first().copied().unwrap_or_default().into(),
    )
}

/// What a salt or a substance of this amount brings of each of its ions.
/// `amount` is in base units of `kind`, in a base unit of volume.
pub(super) fn of_amount(
    made: Composition,
    kind: DrugKind,
    amount: &Exact,
    span: Span,
) -> Vec<Claim> {
    let by_mass = kind == DrugKind::Mass;
    let (per, parts) = match made {
        Composition::Salt(salt) => {
            let name = salt.names.first().copied().unwrap_or_default();
            let charge = cations(salt.ions);
            let per = match kind {
                DrugKind::Equivalents => Exact::ratio(1, charge).map(|per| (per.clone(), per)),
                _ => salt.millimoles(kind),
            };
            (per, (name, salt.ions.to_vec()))
        }
        Composition::Substance(own) => {
            let name = own.names.first().copied().unwrap_or_default();
            (own.millimoles(kind), (name, vec![(name, 1)]))
        }
    };
    let Some(per) = per else { return Vec::new() };
    let (name, parts) = parts;
    let claims = parts.into_iter().map(|(substance, count)| {
        let count = Exact::int(count);
        let of = |per: &Exact| &(amount * per) * &count;
        Claim {
            substance: substance.into(),
            range: (of(&per.0), of(&per.1)),
            span,
            by: by_mass.then(|| format!("by the molar mass of {}", name.replace('-', " "))),
        }
    });
    claims.collect()
}

/// The charges of all positive ions of a salt.
fn cations(ions: &[(&str, i64)]) -> i64 {
    let charges = ions.iter().filter_map(|(name, count)| {
        let (charge, _, positive) = substance(name)?.charge()?;
        positive.then_some(charge * count)
    });
    charges.sum()
}

/// What `supplied` says, by itself and through each `equals`.
pub(super) fn of_supply(drug: &Drug, stanza: &Stanza) -> Vec<Claim> {
    let Some(supplied) = &drug.supplied else {
        return Vec::new();
    };
    let mut claims = Vec::new();
    let amount = through(drug, stanza, supplied.kind, DrugKind::Amount);
    let moles = amount.map(|(factor, span)| (&supplied.strength * &factor, span));
    if let Some(made) = drug.made {
        claims.extend(of_amount(
            made,
            supplied.kind,
            &supplied.strength,
            supplied.span,
        ));
        if let Some((moles, span)) = &moles
            && supplied.kind != DrugKind::Amount
        {
            let span = span.unwrap_or(supplied.span);
            claims.extend(of_amount(made, DrugKind::Amount, moles, span));
        }
        return claims;
    }
    for content in &drug.contains {
        let own = match is_own(drug, stanza, content) {
            true => Own::Named,
            false => own_of_all(drug, content),
        };
        let by_moles = moles.as_ref().and_then(|(moles, span)| {
            // Which salt it is is not known: its own ion is there once to four times.
            let times = Exact::int(4);
            let least = moles.checked_div(&times)?;
            Some((least, moles * &times, span.unwrap_or(supplied.span)))
        });
        // No more of it than all that is supplied.
        let by_mass = || {
            let known = substance(&content.substance)?;
            let per = known.millimoles(DrugKind::Mass)?;
            let is_mass = supplied.kind == DrugKind::Mass;
            let most = is_mass.then(|| &supplied.strength * &per.1)?;
            Some((Exact::ZERO, most, supplied.span))
        };
        let Some((least, most, span)) = by_moles.or_else(by_mass) else {
            continue;
        };
        let least = match own {
            Own::Named => least,
            Own::Alone => Exact::ZERO,
            Own::No => continue,
        };
        claims.push(Claim {
            substance: named(&content.substance),
            range: (least, most),
            span,
            by: None,
        });
    }
    claims
}

/// Whether a content is the drug itself.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Own {
    /// Its name says so, or it stands there as a salt: it is there in full.
    Named,
    /// Nothing else is there: it may be a trace, but no more than the drug.
    Alone,
    /// All else may be there beside it.
    No,
}

/// What a content is whose drug's name does not speak of it.
fn own_of_all(drug: &Drug, content: &ContainedSubstance) -> Own {
    let is_companion = |name: &SmolStr| COMPANIONS.contains(&name.as_str());
    let mut others = drug.contains.iter().filter(|of| *of != content);
    if is_companion(&content.substance) || !others.clone().all(|of| is_companion(&of.substance)) {
        return Own::No;
    }
    let half = Exact::ratio(1, 2).unwrap_or_default();
    let with_it = others.any(|of| {
        let times = of.strength.checked_div(&content.strength);
        let times = times.filter(|_| of.kind == content.kind && of.kind == DrugKind::Amount);
        times.is_some_and(|times| times >= half && times <= Exact::int(2))
    });
    match with_it {
        true => Own::Named,
        false => Own::Alone,
    }
}

/// Whether a content is what the drug is given for: its name or title speaks of
/// it. All else may be there beside it.
fn is_own(drug: &Drug, stanza: &Stanza, content: &ContainedSubstance) -> bool {
    let named = |name: &str| {
        let name = name.to_lowercase();
        let mut words = name.split(|c: char| !c.is_alphanumeric());
        words.any(|word| word == content.substance.as_str())
    };
    let title = stanza.title.as_ref().map(|title| &title.value);
    let mut names = [&drug.name].into_iter().chain(&drug.also).chain(title);
    names.any(|name| named(name))
}

/// The factor from one counting to another, and the first `equals` on the way.
fn through(
    drug: &Drug,
    stanza: &Stanza,
    from: DrugKind,
    to: DrugKind,
) -> Option<(Exact, Option<Span>)> {
    let factor = equivalence(Some(drug), from, to)?;
    let mut lines = equals_lines(drug, stanza);
    let line = lines.find(|(ways, _)| ways.iter().any(|(kind, _)| *kind == to));
    Some((factor, line.map(|(_, span)| span)))
}

/// The drug's `equals`, each with its line.
pub(super) fn equals_lines<'a>(
    drug: &'a Drug,
    stanza: &'a Stanza,
) -> impl Iterator<Item = (&'a [(DrugKind, Exact)], Span)> {
    let lines = stanza.lines.iter();
    let lines = lines.filter(|line| matches!(line.fact, Fact::Equals(_)));
    let ways = drug.equals.iter().map(Vec::as_slice);
    ways.zip(lines.map(|line| line.span))
}

/// What a title says of its salts and sugars: `Glucose 5 % in sodium chloride
/// 0.9 %`. Of several together, chloride and the like add up, so that only what
/// one of them brings alone is held against the lines.
pub(super) fn of_title(stanza: &Stanza) -> Vec<Claim> {
    let Some(title) = &stanza.title else {
        return Vec::new();
    };
    let mut claims: Vec<Claim> = Vec::new();
    let mut parts = title.value.split('%').collect::<Vec<_>>();
    let rest = parts.pop().unwrap_or_default();
    let mut more = rest.chars().any(char::is_alphanumeric);
    for part in &parts {
        let part = part.trim().trim_start_matches([',', '+', ';']).trim_start();
        let bare = ["in ", "with ", "and "]
            .iter()
            .find_map(|word| part.strip_prefix(word))
            .unwrap_or(part);
        let number = bare.rsplit(' ').next().and_then(Exact::parse_decimal);
        let (Some(made), Some(percent)) = (made(bare), number) else {
            more = true;
            continue;
        };
        let amount = &percent * &Exact::int(10);
        claims.extend(of_amount(made, DrugKind::Mass, &amount, title.span));
    }
    more |= parts.len() > 1;
    let shared = |claim: &Claim| {
        let name = claim.substance.as_str();
        matches!(
            name,
            "chloride" | "phosphate" | "sulfate" | "acetate" | "lactate"
        )
    };
    let twice: Vec<_> = claims
        .iter()
        .filter(|claim| {
            let same = claims
                .iter()
                .filter(|other| other.substance == claim.substance);
            same.count() > 1
        })
        .map(|claim| claim.substance.clone())
        .collect();
    claims.retain(|claim| {
        let added_up = more && shared(claim);
        !(added_up || twice.contains(&claim.substance))
    });
    claims
}

/// The line of a stanza that states its osmolarity.
pub(super) fn osmolarity_line(stanza: &Stanza) -> Option<Span> {
    let line = stanza
        .lines
        .iter()
        .find(|line| matches!(line.fact, Fact::Osmolarity(_)))?;
    Some(line.span)
}
