//! Slips in what is run and given: numbers, units and times.

use gutta_quantity::Exact;

use super::kinds::Kind as K;
use super::line::{Number, after, keyword, numbers, with_unit, with_value};
use super::{Maker, ratio, thousandfold};

impl Maker<'_> {
    /// The rate of each run, and the amounts of runs and boluses.
    pub(super) fn numbers_of_runs(&mut self) {
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
