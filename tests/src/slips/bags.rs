//! Slips in what is in the bag.

use gutta_quantity::{Exact, Style};

use super::kinds::Kind as K;
use super::line::{Number, after, keyword, numbers, replaced, with_unit, with_value, words};
use super::{Maker, thousandfold};

impl Maker<'_> {
    pub(super) fn of_bags(&mut self) {
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
                        let digits = Style::USUAL.decimal_exact(&twice).expect("ends");
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

    fn tens(&mut self, kind: K, at: usize, line: &str, number: &Number) {
        for power in [-1, 1] {
            let value = &number.value * &Exact::ten_to(power);
            if let Some(line) = with_value(line, number, &value) {
                self.push(kind, at, line, None);
            }
        }
    }
}
