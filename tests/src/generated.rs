//! Right orders, generated from the hospital's reference: each is right by the
//! reckoning here, which knows nothing of the tool.

use gutta_quantity::{Exact, Style};

use super::choices::{OTHERS, STEADY, Steady};
use super::right::{Known, Right};
use super::seed::Seed;

/// How many.
const COUNT: usize = 240;

/// What every generated order stands below, in a folder of the hospital.
pub const USES: &str = "\
use \"../reference/areas.gtt\"
use \"../reference/pumps.gtt\"
use \"../reference/giving-sets.gtt\"
use \"../reference/solutions.gtt\"
use \"../reference/drugs/vasoactive.gtt\"
use \"../reference/drugs/analgesia.gtt\"
use \"../reference/drugs/electrolytes.gtt\"
use \"../reference/drugs/hormones-and-blood.gtt\"
use \"../reference/drugs/sedation.gtt\"
use \"../reference/drugs/anti-infectives.gtt\"
use \"../reference/drugs/antidotes.gtt\"
use \"../reference/drugs/cytotoxics.gtt\"
use \"../reference/drugs/other.gtt\"
";

fn exact(text: &str) -> Exact {
    Exact::parse_decimal(&text.replace(',', "")).expect("a number")
}

/// A right order without a name and a header, of the kind at this place; nothing
/// where chance drew what does not go together.
pub fn order(seed: &mut Seed, place: usize) -> Option<Right> {
    if place.is_multiple_of(2) {
        steady(seed, &STEADY[place / 2 % STEADY.len()])
    } else {
        other(seed, OTHERS[place / 2 % OTHERS.len()])
    }
}

/// Generated orders, no two alike: always the same.
pub fn orders() -> Vec<Right> {
    let mut seed = Seed(20_261_125);
    let mut orders: Vec<Right> = Vec::with_capacity(COUNT);
    let mut place = 0;
    while orders.len() < COUNT {
        place += 1;
        let made = order(&mut seed, place);
        let fresh = |made: &Right| {
            orders
                .iter()
                .all(|other| other.lines[1..] != made.lines[1..])
        };
        if let Some(mut made) = made.filter(fresh) {
            made.name = format!("generated-{}", orders.len() + 1);
            made.lines[0] = format!("order {} \"Generated\"", made.name);
            orders.push(made);
        }
    }
    orders
}

/// A steady run whose flow the syringe pump runs to within a tenth at every
/// weight and step; nothing where the choices do not allow it.
fn steady(seed: &mut Seed, of: &Steady) -> Option<Right> {
    let (strength, bag) = *seed.one(of.bags);
    let start = *seed.one(of.starts);
    let (low, high) = *seed.one(&[(40, 150), (40, 100), (50, 90), (60, 120), (45, 110)]);
    let weights = (Exact::int(low), Exact::int(high));
    let (least, most, step) = of.adjust;
    let flow = |dose: &str, weight: &Exact| {
        let one = Exact::ONE;
        let by = if of.by_weight { weight } else { &one };
        let per_hour = Exact::int(60).checked_div(&Exact::int(of.minutes));
        let hourly = &(&exact(dose) * by) * &per_hour.expect("minutes");
        hourly
            .checked_div(&Exact::int(strength))
            .expect("a strength")
    };
    // The pump's step is 0.1 mL/h: half of it is a tenth of 0.5 mL/h.
    let runs = flow(least, &weights.0) >= exact("0.6") && flow(most, &weights.1) <= exact("95");
    // 3,000 units of heparin an hour are never passed.
    let heparin = of.drug == "heparin" && high > 110;
    if !runs || heparin {
        return None;
    }
    let adjusted = seed.below(3) > 0;
    let rounded = |flow: Exact| {
        let tenths = (&flow * &Exact::int(10)).round_half_up();
        Style::USUAL.decimal_exact(&(&tenths * &Exact::ten_to(-1)))
    };
    let mut lines = vec![
        String::new(),
        format!("  drug {}", of.drug),
        "  area adult-icu".to_owned(),
        format!("  patient weight {low} to {high} kg"),
        "  route central vein".to_owned(),
        "  pump syringe".to_owned(),
        format!("  {bag}"),
        format!("  run all at {start} {}", of.unit),
    ];
    if adjusted {
        let unit = of.unit;
        lines.push(format!(
            "  adjust {least} to {most} {unit} by {step} {unit} every 15 min"
        ));
    }
    lines.push("  then renew".to_owned());
    let known = Known {
        usual: (exact(of.usual.0), exact(of.usual.1)),
        weights,
    };
    Some(Right {
        name: String::new(),
        folder: "icu".to_owned(),
        uses: USES.to_owned(),
        lines,
        flow: rounded(flow(start, &known.middle())),
        known: Some(known),
    })
}

/// An order from a line with choices.
fn other(seed: &mut Seed, choices: &str) -> Option<Right> {
    let mut text = String::new();
    let mut rest = choices;
    while let Some((before, after)) = rest.split_once('{') {
        let (inside, after) = after.split_once('}').expect("a closed choice");
        let options: Vec<_> = inside.split(';').collect();
        text.push_str(before);
        let chosen: &&str = seed.one(&options);
        text.push_str(chosen);
        rest = after;
    }
    text.push_str(rest);
    let mut lines = vec![String::new()];
    lines.extend(text.split('|').map(|line| format!("  {line}")));
    Some(Right {
        name: String::new(),
        folder: "icu".to_owned(),
        uses: USES.to_owned(),
        lines,
        flow: None,
        known: None,
    })
}
