//! Right orders, generated from the hospital's reference: each is right by the
//! reckoning here, which knows nothing of the tool.

use gutta_quantity::Exact;
use gutta_quantity::print::decimal_exact;

use super::right::{Known, Right};
use super::seed::Seed;

/// How many.
const COUNT: usize = 240;

const USES: &str = "\
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

/// A drug that runs steadily in a syringe, and what is right for it.
struct Steady {
    drug: &'static str,
    /// What the drug's stanza says is usual, in the unit.
    usual: (&'static str, &'static str),
    unit: &'static str,
    /// Minutes in the unit's time.
    minutes: i64,
    /// Drug of the unit's size in 1 mL of each bag, and the bag's line.
    bags: &'static [(i64, &'static str)],
    starts: &'static [&'static str],
    /// Lowest, highest, step.
    adjust: (&'static str, &'static str, &'static str),
    by_weight: bool,
}

const STEADY: &[Steady] = &[
    Steady {
        drug: "noradrenaline",
        usual: ("0.01", "1"),
        unit: "mcg/kg/min",
        minutes: 1,
        bags: &[
            (80, "mix 4 mg made up to 50 mL with glucose-5"),
            (160, "mix 8 mg made up to 50 mL with saline"),
            (320, "mix 16 mg made up to 50 mL with glucose-5"),
        ],
        starts: &["0.06", "0.1", "0.14", "0.2"],
        adjust: ("0.04", "0.4", "0.02"),
        by_weight: true,
    },
    Steady {
        drug: "adrenaline",
        usual: ("0.01", "0.5"),
        unit: "mcg/kg/min",
        minutes: 1,
        bags: &[
            (60, "mix 3 mg made up to 50 mL with glucose-5"),
            (100, "mix 5 mg made up to 50 mL with saline"),
        ],
        starts: &["0.04", "0.06", "0.1"],
        adjust: ("0.04", "0.4", "0.02"),
        by_weight: true,
    },
    Steady {
        drug: "dobutamine",
        usual: ("2.5", "15"),
        unit: "mcg/kg/min",
        minutes: 1,
        bags: &[
            (5_000, "mix 250 mg made up to 50 mL with glucose-5"),
            (2_500, "mix 125 mg made up to 50 mL with saline"),
        ],
        starts: &["5", "7.5"],
        adjust: ("2.5", "15", "2.5"),
        by_weight: true,
    },
    Steady {
        drug: "milrinone",
        usual: ("0.25", "0.75"),
        unit: "mcg/kg/min",
        minutes: 1,
        bags: &[
            (200, "mix 10 mg made up to 50 mL with glucose-5"),
            (400, "mix 20 mg made up to 50 mL with saline"),
        ],
        starts: &["0.35", "0.45"],
        adjust: ("0.25", "0.75", "0.1"),
        by_weight: true,
    },
    Steady {
        drug: "dexmedetomidine",
        usual: ("0.2", "1.4"),
        unit: "mcg/kg/h",
        minutes: 60,
        bags: &[
            (4, "mix 200 mcg made up to 50 mL with saline"),
            (8, "mix 400 mcg made up to 50 mL with glucose-5"),
        ],
        starts: &["0.4", "0.7"],
        adjust: ("0.2", "1.4", "0.1"),
        by_weight: true,
    },
    Steady {
        drug: "remifentanil",
        usual: ("0.05", "0.5"),
        unit: "mcg/kg/min",
        minutes: 1,
        bags: &[
            (40, "mix 2 mg made up to 50 mL with saline"),
            (50, "mix 2 mg made up to 40 mL with saline"),
        ],
        starts: &["0.1", "0.15"],
        adjust: ("0.05", "0.3", "0.05"),
        by_weight: true,
    },
    Steady {
        drug: "ketamine",
        usual: ("0.05", "0.3"),
        unit: "mg/kg/h",
        minutes: 60,
        bags: &[
            (4, "mix 200 mg made up to 50 mL with saline"),
            (2, "mix 100 mg made up to 50 mL with glucose-5"),
        ],
        starts: &["0.1", "0.15"],
        adjust: ("0.1", "0.3", "0.05"),
        by_weight: true,
    },
    Steady {
        drug: "salbutamol",
        usual: ("0.5", "5"),
        unit: "mcg/kg/min",
        minutes: 1,
        bags: &[(200, "mix 10 mg made up to 50 mL with saline")],
        starts: &["0.75", "1"],
        adjust: ("0.5", "1.5", "0.25"),
        by_weight: true,
    },
    Steady {
        drug: "aminophylline",
        usual: ("0.3", "0.7"),
        unit: "mg/kg/h",
        minutes: 60,
        bags: &[
            (10, "mix 500 mg made up to 50 mL with saline"),
            (5, "mix 250 mg made up to 50 mL with glucose-5"),
        ],
        starts: &["0.4", "0.5"],
        adjust: ("0.3", "0.7", "0.1"),
        by_weight: true,
    },
    Steady {
        drug: "heparin",
        usual: ("8", "30"),
        unit: "units/kg/h",
        minutes: 60,
        bags: &[
            (400, "mix 20,000 units made up to 50 mL with saline"),
            (200, "mix 10,000 units made up to 50 mL with glucose-5"),
        ],
        starts: &["14", "18"],
        adjust: ("10", "26", "2"),
        by_weight: true,
    },
    Steady {
        drug: "morphine",
        usual: ("5", "50"),
        unit: "mcg/kg/h",
        minutes: 60,
        bags: &[(1_000, "mix 50 mg made up to 50 mL with saline")],
        starts: &["20", "30"],
        adjust: ("20", "50", "10"),
        by_weight: true,
    },
    Steady {
        drug: "propofol",
        usual: ("0.3", "4"),
        unit: "mg/kg/h",
        minutes: 60,
        bags: &[(20, "undiluted 50 mL")],
        starts: &["1", "1.5", "2"],
        adjust: ("0.5", "4", "0.5"),
        by_weight: true,
    },
    Steady {
        drug: "midazolam",
        usual: ("0.5", "10"),
        unit: "mg/h",
        minutes: 60,
        bags: &[
            (1, "mix 50 mg made up to 50 mL with saline"),
            (2, "mix 100 mg made up to 50 mL with glucose-5"),
        ],
        starts: &["2", "3", "5"],
        adjust: ("2", "10", "1"),
        by_weight: false,
    },
    Steady {
        drug: "fentanyl",
        usual: ("25", "200"),
        unit: "mcg/h",
        minutes: 60,
        bags: &[(50, "undiluted 50 mL")],
        starts: &["50", "100"],
        adjust: ("50", "200", "25"),
        by_weight: false,
    },
    Steady {
        drug: "furosemide",
        usual: ("2", "20"),
        unit: "mg/h",
        minutes: 60,
        bags: &[
            (5, "mix 250 mg made up to 50 mL with saline"),
            (10, "undiluted 50 mL"),
        ],
        starts: &["10", "12"],
        adjust: ("8", "20", "2"),
        by_weight: false,
    },
    Steady {
        drug: "glyceryl-trinitrate",
        usual: ("5", "200"),
        unit: "mcg/min",
        minutes: 1,
        bags: &[(1_000, "undiluted 50 mL")],
        starts: &["20", "40"],
        adjust: ("20", "200", "20"),
        by_weight: false,
    },
    Steady {
        drug: "labetalol",
        usual: ("10", "160"),
        unit: "mg/h",
        minutes: 60,
        bags: &[(5, "undiluted 40 mL")],
        starts: &["30", "45"],
        adjust: ("15", "120", "15"),
        by_weight: false,
    },
    Steady {
        drug: "octreotide",
        usual: ("25", "50"),
        unit: "mcg/h",
        minutes: 60,
        bags: &[
            (10, "mix 500 mcg made up to 50 mL with saline"),
            (20, "mix 1 mg made up to 50 mL with saline"),
        ],
        starts: &["25", "50"],
        adjust: ("25", "50", "25"),
        by_weight: false,
    },
];

/// Orders of other kinds, each with the choices that are right: `{…}` stands
/// for one of several, parted by bars.
const OTHERS: &[&str] = &[
    // Fluids by time, by flow and by drops; below 80 mL/kg/day from 40 kg on.
    "area ward|route peripheral vein|pump volumetric|hang {500 mL;1 L} of {saline;ringer-lactate;glucose-5;glucose-4-saline}|run all at {60;75;83;100;120} mL/h|then {stop;renew}",
    "area ward|patient weight {40 to 150;50 to 120} kg|route {peripheral vein;central vein}|pump volumetric|hang 1 L of {saline;ringer-lactate;saline-potassium-20}|run all over {8;10;12} h|then {stop;renew}",
    "area ward|route peripheral vein|giving-set macro|hang {500 mL;1 L} of {saline;ringer-lactate}|run all at {20;25;30;40} drops/min|then {stop;renew}",
    "area ward|route peripheral vein|pump volumetric|hang 1 L of {saline;ringer-lactate}|run {250;400;500} mL over {4;5;6} h|then stop",
    // Children's fluids by weight; below 150 mL/kg/day.
    "area paediatric|patient weight {5 to 25;8 to 30;10 to 50} kg|route peripheral vein|pump volumetric|hang {500 mL;1 L} of {glucose-5-saline;saline}|run all at {2;3;4} mL/kg/h|then {stop;renew}",
    "area paediatric|patient weight {5 to 25;8 to 30} kg|route peripheral vein|pump volumetric|hang 500 mL of {saline;ringer-lactate}|run {10;15;20} mL/kg over {60 min;2 h;4 h}|then stop",
    // Antibiotics, repeated.
    "drug ceftriaxone|area {ward;adult-icu}|patient age 16 to 110 years|route {peripheral vein;central vein}|pump volumetric|mix {1;2} g made up to {50;100} mL with {saline;glucose-5}|run all over {30;45;60} min every 24 h",
    "drug meropenem|area {ward;adult-icu}|route {peripheral vein;central vein}|pump volumetric|mix {1;2} g made up to {100;50} mL with saline|run all over {15;30;60} min every {8;12} h",
    "drug piperacillin-tazobactam|area {ward;adult-icu}|route peripheral vein|pump volumetric|mix 4.5 g made up to {50;100} mL with {saline;glucose-5}|run all over {30;60;240} min every {6;8} h",
    "drug cefuroxime|area ward|route peripheral vein|pump volumetric|mix {750 mg;1.5 g} made up to {50;100} mL with saline|run all over {20;30;60} min every {6;8} h",
    "drug metronidazole|area ward|route {peripheral vein;central vein}|pump volumetric|undiluted 100 mL|run all over {20;30;60} min every {8;12} h",
    "drug vancomycin|area ward|patient weight {50 to 100;60 to 120} kg|route peripheral vein|pump volumetric|mix 1 g made up to {200;250} mL with {saline;glucose-5}|run all over {2 h;150 min;3 h} every {12;24} h",
    "drug gentamicin|area ward|patient weight {50 to 80;45 to 90} kg|route peripheral vein|pump volumetric|mix {3;4;5} mg/kg, at most {450;480} mg, made up to {50;100} mL with saline|run all over {30;60} min every {24;36} h for {3;5} doses",
    "drug aciclovir|area ward|patient weight {40 to 90;50 to 100} kg|route peripheral vein|pump volumetric|mix 500 mg made up to {100;125} mL with saline|run {5} mg/kg over {60;90} min every 8 h",
    "drug paracetamol|area ward|patient weight 50 to 150 kg|route {peripheral vein;central vein}|pump volumetric|undiluted 100 mL|run all over {15;20;30} min every {6;8} h",
    "drug ondansetron|area ward|route peripheral vein|pump volumetric|mix {4;8} mg made up to {50;100} mL with {saline;glucose-5}|run all over {15;20;30} min every {8;12} h",
    // Loads, then upkeep.
    "drug heparin|area adult-icu|patient weight {40 to 90;50 to 100} kg|route {central vein;peripheral vein}|pump syringe|mix 20,000 units made up to 50 mL with saline|bolus {60;70;80} units/kg over {5;10} min, at most {5,000;8,000} units|run all at {12;15;18} units/kg/h, at most {1,500;2,000} units/h|then renew",
    "drug milrinone|area adult-icu|patient weight {40 to 120;50 to 90} kg|route central vein|pump syringe|mix 10 mg made up to 50 mL with glucose-5|bolus {25;50} mcg/kg over {10;15;20} min, at most 5 mg|run all at {0.375;0.5} mcg/kg/min|then renew",
    "drug pantoprazole|area ward|route peripheral vein|pump volumetric|phase first|purpose loading|mix 80 mg made up to {50;100} mL with saline|run all over {20;30;60} min|phase steady|purpose bleeding|mix 80 mg made up to {80;100} mL with saline|run all at 8 mg/h|then {stop;renew for 62 h}",
    "drug aminophylline|area adult-icu|patient weight {40 to 80;50 to 90} kg|route {central vein;peripheral vein}|pump volumetric|phase first|purpose loading|mix {4;5} mg/kg, at most {400;450} mg, made up to 100 mL with saline|run all over {30;40;60} min|phase steady|purpose steady|mix 500 mg made up to 500 mL with glucose-5|run all at {0.4;0.5} mg/kg/h|then stop",
    "drug amiodarone|area adult-icu|route central vein|pump volumetric|phase loading|purpose loading|mix {150;300} mg made up to 100 mL with glucose-5|run all over {30;60;90} min|phase steady|purpose rhythm|mix 900 mg made up to 500 mL with glucose-5|run all over 23 h|then stop",
    // Three bags, by weight.
    "drug acetylcysteine|area emergency|patient weight {40 to 110;50 to 100} kg|route peripheral vein|pump volumetric|phase first|mix 150 mg/kg added to {200;250} mL of glucose-5|run all over {60;90} min|phase second|mix 50 mg/kg added to 500 mL of glucose-5|run all over 4 h|phase third|mix 100 mg/kg added to 1 L of glucose-5|run all over 16 h|then stop",
    // By body surface.
    "drug doxorubicin|area oncology|patient surface 1.2 to {2;2.4} m2|route central vein|pump volumetric|mix {50;60} mg/m2 made up to {100} mL with saline|run all over {15;20;30} min|then stop",
    "drug paclitaxel|area oncology|patient surface 1.2 to {2;2.4} m2|route central vein|pump volumetric|mix {135;175} mg/m2 made up to 500 mL with {saline;glucose-5}|run all over {3;4} h|then stop",
    "drug cyclophosphamide|area oncology|patient surface 1.2 to {2;2.4} m2|route peripheral vein|pump volumetric|mix {500;600;750} mg/m2 made up to {250;500} mL with saline|run all over {60;90;120} min|then stop",
    // Electrolytes.
    "drug potassium-chloride|area ward|patient weight {40 to 150;50 to 120} kg|route peripheral vein|pump volumetric|mix 20 mmol made up to 500 mL with {saline;glucose-5}|run all at {2.5;3;4;5} mmol/h|then {stop;renew}",
    "drug magnesium-sulfate|area emergency|route {peripheral vein;central vein}|pump volumetric|mix {4;5} g made up to 100 mL with {saline;glucose-5}|run all over {2;3;4} h|then stop",
    "drug calcium-gluconate|area ward|route central vein|pump volumetric|mix {1;2} g made up to 100 mL with {saline;glucose-5}|run all over {1;2} h|then stop",
];

fn exact(text: &str) -> Exact {
    Exact::parse_decimal(&text.replace(',', "")).expect("a number")
}

/// The generated orders: always the same.
pub(crate) fn orders() -> Vec<Right> {
    let mut seed = Seed(20_261_125);
    let mut orders: Vec<Right> = Vec::with_capacity(COUNT);
    let mut place = 0;
    while orders.len() < COUNT {
        place += 1;
        let made = if place % 2 == 0 {
            steady(&mut seed, &STEADY[place / 2 % STEADY.len()])
        } else {
            other(&mut seed, OTHERS[place / 2 % OTHERS.len()])
        };
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
    let middle = Exact::int((low + high) / 2);
    let rounded = |flow: Exact| {
        let tenths = (&flow * &Exact::int(10)).round_half_up();
        decimal_exact(&(&tenths * &Exact::ten_to(-1)))
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
    Some(Right {
        name: String::new(),
        folder: "icu".to_owned(),
        uses: USES.to_owned(),
        lines,
        flow: rounded(flow(start, &middle)),
        known: Some(Known {
            usual: (exact(of.usual.0), exact(of.usual.1)),
            weights,
        }),
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
