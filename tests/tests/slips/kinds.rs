//! The kinds of slips, and what each makes of a right order.

use gutta_quantity::Exact;

use super::line::{Number, after, keyword, numbers, replaced, with_unit, with_value, words};
use super::right::Right;
use super::seed::Seed;

/// What a slip is about; a kind has one row in the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    PointOne,
    PointTwo,
    Thousandfold,
    TimeBelow,
    PerKgLost,
    PerKgTwice,
    PoundsInDose,
    PoundsInWeights,
    DaysDose,
    OtherField,
    Swapped,
    BagAmountTen,
    BagAmountUnit,
    BagVolumeTen,
    BagVolumeUnit,
    VolumeLeftOut,
    BeyondTheBag,
    RouteChanged,
    RouteLeftOut,
    AreaLeftOut,
    ThenLeftOut,
    WrongDiluent,
    TimeUnit,
    WeightsDeleted,
    MixDeleted,
    GivingSetDeleted,
    WrongDrugName,
    LidDropped,
    AdjustWidened,
    Unreadable,
}

use Kind as K;

/// Every kind, in the order of the table, with how it is told, and the least
/// share of it in per cent that is caught.
pub(crate) const KINDS: &[(Kind, &str, u32)] = &[
    (K::PointOne, "a point moved by one place", 0),
    (K::PointTwo, "a point moved by two places", 0),
    (K::Thousandfold, "mg for mcg, g for mg and the like", 0),
    (
        K::TimeBelow,
        "per minute, per hour and per day for each other",
        0,
    ),
    (K::PerKgLost, "`/kg` or `/m2` lost", 0),
    (K::PerKgTwice, "the weight reckoned in twice", 0),
    (K::PoundsInDose, "a dose reckoned with pounds", 0),
    (K::PoundsInWeights, "the patient's weights in pounds", 0),
    (K::DaysDose, "a day's dose at each time", 0),
    (
        K::OtherField,
        "the flow's number for the dose, or the reverse",
        0,
    ),
    (K::Swapped, "two neighbouring digits swapped", 0),
    (K::BagAmountTen, "the bag's drug wrong by ten", 0),
    (K::BagAmountUnit, "the bag's drug wrong by a unit", 0),
    (K::BagVolumeTen, "the bag's volume wrong by ten", 0),
    (K::BagVolumeUnit, "the bag's volume wrong by a unit", 0),
    (K::VolumeLeftOut, "the run's volume left out", 100),
    (K::BeyondTheBag, "a run beyond the bag", 100),
    (K::RouteChanged, "another route", 0),
    (K::RouteLeftOut, "the route left out", 0),
    (K::AreaLeftOut, "the area left out", 100),
    (K::ThenLeftOut, "what follows the bag left out", 100),
    (K::WrongDiluent, "another diluent", 0),
    (
        K::TimeUnit,
        "minutes, hours and days of a time for each other",
        0,
    ),
    (K::WeightsDeleted, "the patient's weights deleted", 0),
    (K::MixDeleted, "the line of the bag deleted", 100),
    (
        K::GivingSetDeleted,
        "the giving set deleted, with drops",
        100,
    ),
    (K::WrongDrugName, "the drug's name wrong by a letter", 100),
    (K::LidDropped, "a lid dropped", 0),
    (K::AdjustWidened, "an adjust range ten times as wide", 0),
    (K::Unreadable, "a line made unreadable", 100),
];

/// One slip in one order.
#[derive(Clone, Debug)]
pub(crate) struct Slip {
    pub(crate) kind: Kind,
    /// The order's lines with the slip in them.
    pub(crate) lines: Vec<String>,
    /// What it makes of the run's dose, as a factor, at the lightest and at
    /// the heaviest patient; nothing where it is about something else.
    pub(crate) dose: Option<(Exact, Exact)>,
}

/// Makes slips in an order.
pub(crate) struct Maker<'a> {
    pub(crate) order: &'a Right,
    pub(crate) seed: &'a mut Seed,
    pub(crate) made: Vec<Slip>,
}

const ROUTES: &[&str] = &[
    "central vein",
    "peripheral vein",
    "umbilical vein",
    "intraosseous",
    "subcutaneous",
    "epidural",
    "intrathecal",
    "enteral",
];

const SOLUTIONS: &[&str] = &[
    "saline",
    "glucose-5",
    "glucose-10",
    "ringer-lactate",
    "saline-half",
];

fn ratio(num: i64, den: i64) -> Exact {
    Exact::ratio(num, den).expect("a ratio")
}

impl Maker<'_> {
    /// Makes every slip that this order can hold.
    pub(crate) fn all(&mut self) {
        self.numbers_of_runs();
        self.of_patients();
        self.of_bags();
        self.left_out();
        self.renamed();
        self.widened();
        self.unreadable();
    }

    fn lines(&self) -> Vec<(usize, String)> {
        self.order
            .lines
            .iter()
            .cloned()
            .enumerate()
            .skip(1)
            .collect()
    }

    fn push(&mut self, kind: Kind, at: usize, line: String, factor: Option<Exact>) {
        let dose = factor.map(|factor| (factor.clone(), factor));
        self.push_by_weight(kind, at, line, dose);
    }

    fn push_by_weight(
        &mut self,
        kind: Kind,
        at: usize,
        line: String,
        dose: Option<(Exact, Exact)>,
    ) {
        let mut lines = self.order.lines.clone();
        lines[at] = line;
        self.made.push(Slip { kind, lines, dose });
    }

    fn delete(&mut self, kind: Kind, at: usize) {
        let mut lines = self.order.lines.clone();
        lines.remove(at);
        self.made.push(Slip {
            kind,
            lines,
            dose: None,
        });
    }

    /// The rate of each run, and the amounts of runs and boluses.
    fn numbers_of_runs(&mut self) {
        for (at, line) in self.lines() {
            let rate = matches!(keyword(&line), "run" | "bolus")
                .then(|| after(&line, "at"))
                .flatten();
            if let Some(rate) = &rate {
                let of_dose = keyword(&line) == "run";
                self.digits(at, &line, rate, of_dose);
                self.units(at, &line, rate, of_dose);
                self.field(at, &line, rate);
            }
            let amount = numbers(&line)
                .into_iter()
                .find(|number| number.at == 1 && matches!(keyword(&line), "run" | "bolus"));
            if let Some(amount) = &amount {
                self.digits(at, &line, amount, false);
                self.units(at, &line, amount, false);
            }
            self.times(at, &line);
        }
        self.days();
    }

    fn digits(&mut self, at: usize, line: &str, number: &Number, of_dose: bool) {
        for (kind, power) in [
            (K::PointOne, -1),
            (K::PointOne, 1),
            (K::PointTwo, -2),
            (K::PointTwo, 2),
        ] {
            let factor = Exact::ten_to(power);
            if let Some(line) = with_value(line, number, &(&number.value * &factor)) {
                self.push(kind, at, line, of_dose.then_some(factor));
            }
        }
        for value in swapped(&number.value) {
            if let Some(line) = with_value(line, number, &value) {
                let factor = value.checked_div(&number.value);
                self.push(K::Swapped, at, line, factor.filter(|_| of_dose));
            }
        }
        if number.unit.contains("/kg") {
            let factor = ratio(220, 100);
            if let Some(line) = with_value(line, number, &(&number.value * &factor)) {
                self.push(K::PoundsInDose, at, line, of_dose.then_some(factor));
            }
        }
    }

    fn units(&mut self, at: usize, line: &str, number: &Number, of_dose: bool) {
        let (top, per) = number.unit.split_once('/').unwrap_or((&number.unit, ""));
        let join = |top: &str, per: &str| {
            if per.is_empty() {
                top.to_owned()
            } else {
                format!("{top}/{per}")
            }
        };
        for (other, factor) in thousandfold(top) {
            let line = with_unit(line, number, &join(other, per));
            self.push(K::Thousandfold, at, line, of_dose.then_some(factor));
        }
        for (time, other, factor) in [
            ("min", "h", ratio(1, 60)),
            ("min", "day", ratio(1, 1440)),
            ("h", "min", ratio(60, 1)),
            ("h", "day", ratio(1, 24)),
            ("day", "h", ratio(24, 1)),
            ("day", "min", ratio(1440, 1)),
        ] {
            if per.rsplit('/').next() == Some(time) {
                let per = format!("{}{other}", &per[..per.len() - time.len()]);
                let line = with_unit(line, number, &join(top, &per));
                self.push(K::TimeBelow, at, line, of_dose.then_some(factor));
            }
        }
        for by in ["kg", "m2"] {
            let rest = per
                .strip_prefix(by)
                .filter(|rest| rest.is_empty() || rest.starts_with('/'));
            if let Some(rest) = rest {
                let line = with_unit(line, number, &join(top, rest.trim_start_matches('/')));
                let by_weight = self.weights().map(|(low, high)| {
                    let part = |weight: &Exact| weight.recip().expect("a weight");
                    (part(&low), part(&high))
                });
                let dose = by_weight.filter(|_| of_dose && by == "kg");
                self.push_by_weight(K::PerKgLost, at, line, dose);
            }
        }
        if per.starts_with("kg") {
            // Reckoned for a patient of 20 kg (children) or 70 kg, and still
            // written per kg.
            let weight = match self.weights() {
                Some((_, high)) if high < Exact::int(70) => high,
                _ => Exact::int(70),
            };
            if let Some(line) = with_value(line, number, &(&number.value * &weight)) {
                self.push(K::PerKgTwice, at, line, of_dose.then_some(weight));
            }
        }
    }

    fn weights(&self) -> Option<(Exact, Exact)> {
        self.order.known.as_ref().map(|known| known.weights.clone())
    }

    /// The number of the flow in the dose's field, or the dose's in the flow's.
    fn field(&mut self, at: usize, line: &str, rate: &Number) {
        if keyword(line) != "run" || rate.unit.starts_with("drops") {
            return;
        }
        if rate.unit.starts_with("mL") {
            let drug = self.order.lines.iter().any(|line| keyword(line) == "drug");
            if drug {
                let unit = rate.unit.replacen("mL", "mg", 1);
                self.push(K::OtherField, at, with_unit(line, rate, &unit), None);
            }
            return;
        }
        self.push(K::OtherField, at, with_unit(line, rate, "mL/h"), None);
        let flow = self.order.flow.as_deref().and_then(Exact::parse_decimal);
        if let Some(flow) = flow
            && let Some(line) = with_value(line, rate, &flow)
        {
            let factor = flow.checked_div(&rate.value);
            self.push(K::OtherField, at, line, factor);
        }
    }

    fn times(&mut self, at: usize, line: &str) {
        for word in ["over", "every"] {
            if !matches!(keyword(line), "run" | "bolus") {
                continue;
            }
            let Some(time) = after(line, word) else {
                continue;
            };
            let units: &[&str] = match time.unit.as_str() {
                "min" => &["h"],
                "h" => &["min", "days"],
                "day" | "days" => &["h"],
                _ => &[],
            };
            for unit in units {
                self.push(K::TimeUnit, at, with_unit(line, &time, unit), None);
            }
        }
    }

    /// A day's dose at each time: as often as the run is given a day, else by
    /// each of the usual factors.
    fn days(&mut self) {
        let mut often = Vec::new();
        let mut amounts = Vec::new();
        for (at, line) in self.lines() {
            let first = numbers(&line)
                .into_iter()
                .find(|number| number.at == 1 && is_drug(&number.unit));
            match keyword(&line) {
                "run" => {
                    if let Some(every) = after(&line, "every") {
                        let hours = match every.unit.as_str() {
                            "min" => every.value.checked_div(&Exact::int(60)),
                            "h" => Some(every.value),
                            _ => Some(&every.value * &Exact::int(24)),
                        };
                        often.extend(hours.and_then(|hours| Exact::int(24).checked_div(&hours)));
                    }
                    amounts.extend(first.map(|number| (at, line.clone(), number)));
                    if let Some(rate) = after(&line, "at").filter(|rate| rate.unit.ends_with("/h"))
                    {
                        // The day's dose as the hour's.
                        let factor = Exact::int(24);
                        if let Some(line) = with_value(&line, &rate, &(&rate.value * &factor)) {
                            self.push(K::DaysDose, at, line, Some(factor));
                        }
                    }
                }
                "mix" => amounts.extend(first.map(|number| (at, line.clone(), number))),
                _ => {}
            }
        }
        for factor in often {
            let factor = if factor == Exact::ONE {
                Exact::int(7)
            } else {
                factor
            };
            for (at, line, number) in &amounts {
                if let Some(line) = with_value(line, number, &(&number.value * &factor)) {
                    self.push(K::DaysDose, *at, line, None);
                }
            }
        }
    }

    fn of_patients(&mut self) {
        for (at, line) in self.lines() {
            if keyword(&line) != "patient" || !line.contains("weight") {
                continue;
            }
            self.delete(K::WeightsDeleted, at);
            // `patient weight 40 to 150 kg`, each in pounds.
            let pounds: Vec<_> = words(&line)
                .iter()
                .map(|word| match Exact::parse_decimal(word) {
                    Some(weight) => {
                        let pounds = &weight * &ratio(220, 100);
                        pounds.round_half_up().to_i64().expect("pounds").to_string()
                    }
                    None => word.clone(),
                })
                .collect();
            if line.trim_end().ends_with("kg") && !line.contains(" g ") {
                self.push(
                    K::PoundsInWeights,
                    at,
                    format!("  {}", pounds.join(" ")),
                    None,
                );
            }
        }
    }

    fn of_bags(&mut self) {
        let renews = self.order.lines.iter().any(|line| line.contains("renew"));
        let mut volume = None;
        for (at, line) in self.lines() {
            let numbers = numbers(&line);
            match keyword(&line) {
                "mix" | "premixed" => {
                    if let Some(amount) = numbers.first() {
                        self.tens(K::BagAmountTen, at, &line, amount);
                        let (top, per) = amount.unit.split_once('/').unwrap_or((&amount.unit, ""));
                        for (other, _) in thousandfold(top) {
                            let unit = if per.is_empty() {
                                other.to_owned()
                            } else {
                                format!("{other}/{per}")
                            };
                            self.push(K::BagAmountUnit, at, with_unit(&line, amount, &unit), None);
                        }
                    }
                    let of = ["to", "in"].iter().find_map(|word| after(&line, word));
                    self.bag_volume(at, &line, of.clone());
                    volume = of;
                }
                "hang" | "undiluted" => {
                    let of = numbers.first().cloned();
                    self.bag_volume(at, &line, of.clone());
                    volume = of;
                }
                "run" => {
                    let run = words(&line);
                    if let (Some(bag), false) = (&volume, renews)
                        && run.get(1).is_some_and(|word| word == "all")
                    {
                        let twice = &bag.value * &Exact::int(2);
                        let digits = gutta_quantity::print::decimal_exact(&twice).expect("ends");
                        let more = format!("{digits} {}", bag.unit);
                        self.push(K::BeyondTheBag, at, replaced(&line, 1, &more), None);
                    }
                }
                _ => {}
            }
            if matches!(keyword(&line), "mix" | "premixed" | "hang" | "undiluted") {
                self.delete(K::MixDeleted, at);
            }
        }
    }

    fn bag_volume(&mut self, at: usize, line: &str, volume: Option<Number>) {
        let Some(volume) = volume else { return };
        self.tens(K::BagVolumeTen, at, line, &volume);
        let (top, per) = volume.unit.split_once('/').unwrap_or((&volume.unit, ""));
        let other = if top == "mL" { "L" } else { "mL" };
        let unit = if per.is_empty() {
            other.to_owned()
        } else {
            format!("{other}/{per}")
        };
        self.push(K::BagVolumeUnit, at, with_unit(line, &volume, &unit), None);
    }

    fn tens(&mut self, kind: Kind, at: usize, line: &str, number: &Number) {
        for power in [-1, 1] {
            let value = &number.value * &Exact::ten_to(power);
            if let Some(line) = with_value(line, number, &value) {
                self.push(kind, at, line, None);
            }
        }
    }

    fn left_out(&mut self) {
        let by_drops = self
            .order
            .lines
            .iter()
            .any(|line| line.contains("drops/min"));
        for (at, line) in self.lines() {
            match keyword(&line) {
                "run" => {
                    let words = words(&line);
                    let first = if words[1] == "all" { 2 } else { 3 };
                    // A lid on the amount goes with it.
                    let way = words.iter().position(|word| word == "at" || word == "over");
                    if let Some(way) = way.filter(|way| *way >= first) {
                        let line = format!("  run {}", words[way..].join(" "));
                        self.push(K::VolumeLeftOut, at, line, None);
                    }
                }
                "route" => self.delete(K::RouteLeftOut, at),
                "area" => self.delete(K::AreaLeftOut, at),
                "then" => self.delete(K::ThenLeftOut, at),
                "giving-set" if by_drops => self.delete(K::GivingSetDeleted, at),
                _ => {}
            }
            if let Some((before, lid)) = line.split_once(", at most ") {
                let rest: Vec<_> = lid.split(' ').skip(2).collect();
                let tail = if rest.is_empty() {
                    String::new()
                } else {
                    format!(" {}", rest.join(" "))
                };
                // The comma behind the lid goes with it.
                let line = format!("{before}{tail}");
                self.push(K::LidDropped, at, line, None);
            }
        }
    }

    fn renamed(&mut self) {
        for (at, line) in self.lines() {
            let words = words(&line);
            match keyword(&line) {
                "route" => {
                    let own = words[1..].join(" ");
                    let others: Vec<_> = ROUTES.iter().filter(|route| **route != own).collect();
                    let route = *self.seed.one(&others);
                    self.push(K::RouteChanged, at, format!("  route {route}"), None);
                }
                "drug" => {
                    let name = &words[1];
                    let place = self.seed.below(name.len());
                    let name: String = name
                        .char_indices()
                        .filter(|(index, _)| *index != place)
                        .map(|(_, letter)| letter)
                        .collect();
                    self.push(K::WrongDrugName, at, format!("  drug {name}"), None);
                }
                "mix" | "premixed" | "hang" => {
                    let place = words.iter().position(|word| {
                        let word = word.trim_end_matches(',');
                        word == "saline" || word.starts_with("glucose") || word == "ringer-lactate"
                    });
                    let Some(place) = place else { continue };
                    let own = words[place].trim_end_matches(',');
                    let others: Vec<_> = SOLUTIONS.iter().filter(|other| **other != own).collect();
                    let other = *self.seed.one(&others);
                    self.push(K::WrongDiluent, at, replaced(&line, place, other), None);
                }
                _ => {}
            }
        }
    }

    fn widened(&mut self) {
        for (at, line) in self.lines() {
            if keyword(&line) != "adjust" {
                continue;
            }
            // `0.02 to 0.5 mcg/kg/min by …`, `0.01, 0.02, 0.03 units/min every …`
            let words = words(&line);
            let end = words.iter().position(|word| {
                let word = word.trim_end_matches(',');
                word.contains('/') && !word.starts_with(|c: char| c.is_ascii_digit())
            });
            let Some(end) = end.filter(|end| *end > 1) else {
                continue;
            };
            let high = Exact::parse_decimal(&words[end - 1].replace(',', ""));
            let digits = high
                .and_then(|high| gutta_quantity::print::decimal_exact(&(&high * &Exact::int(10))));
            if let Some(digits) = digits {
                self.push(
                    K::AdjustWidened,
                    at,
                    replaced(&line, end - 1, &digits),
                    None,
                );
            }
        }
    }

    fn unreadable(&mut self) {
        let candidates: Vec<_> = self
            .lines()
            .into_iter()
            .filter(|(_, line)| {
                let words = [
                    "run", "mix", "route", "drug", "patient", "pump", "then", "area",
                ];
                words.contains(&keyword(line))
            })
            .collect();
        if candidates.is_empty() {
            return;
        }
        let (at, line) = self.seed.one(&candidates).clone();
        // A letter lost from the keyword, or a word that says nothing.
        let keyword = keyword(&line).to_owned();
        let spoilt = match self.seed.below(2) {
            0 => line.replacen(&keyword, &keyword[1..], 1),
            _ => line.replacen(&keyword, &format!("{keyword} about"), 1),
        };
        self.push(K::Unreadable, at, spoilt, None);
    }
}

fn is_drug(unit: &str) -> bool {
    !unit.starts_with("mL") && !unit.starts_with('L') && !unit.starts_with("drops")
}

/// The number with each pair of neighbouring digits swapped.
fn swapped(value: &Exact) -> Vec<Exact> {
    let decimals = value.decimals().unwrap_or(0);
    let scale = Exact::ten_to(i32::try_from(decimals).expect("few decimals"));
    let whole = (value * &scale).to_i64().expect("a whole number");
    let digits = whole.to_string();
    let mut swapped = Vec::new();
    for at in 1..digits.len() {
        let mut other = digits.clone().into_bytes();
        if other[at - 1] != other[at] && other[at] != b'0' {
            other.swap(at - 1, at);
            let other: i64 = String::from_utf8(other)
                .expect("digits")
                .parse()
                .expect("a number");
            swapped.extend(Exact::from(other).checked_div(&scale));
        }
    }
    swapped
}

/// Units a thousandfold apart, with what the change makes of the value.
fn thousandfold(unit: &str) -> Vec<(&'static str, Exact)> {
    let up = || Exact::int(1_000);
    let down = || Exact::ten_to(-3);
    match unit {
        "g" => vec![("mg", down())],
        "mg" => vec![("mcg", down()), ("g", up())],
        "mcg" => vec![("ng", down()), ("mg", up())],
        "ng" => vec![("mcg", up())],
        "units" => vec![("milliunits", down())],
        "milliunits" => vec![("units", up())],
        _ => Vec::new(),
    }
}
