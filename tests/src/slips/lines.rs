//! Lines left out, names and routes that are others, and what is spoilt.

use gutta_quantity::{Exact, Style};

use super::Maker;
use super::kinds::Kind as K;
use super::line::{keyword, replaced, words};

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

impl Maker<'_> {
    pub(super) fn left_out(&mut self) {
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
                    // A cap on the amount goes with it.
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
            if let Some((before, cap)) = line.split_once(", at most ") {
                let rest: Vec<_> = cap.split(' ').skip(2).collect();
                let tail = if rest.is_empty() {
                    String::new()
                } else {
                    format!(" {}", rest.join(" "))
                };
                // The comma behind the cap goes with it.
                let line = format!("{before}{tail}");
                self.push(K::CapDropped, at, line, None);
            }
        }
    }

    pub(super) fn renamed(&mut self) {
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

    pub(super) fn widened(&mut self) {
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
            let digits =
                high.and_then(|high| Style::USUAL.decimal_exact(&(&high * &Exact::int(10))));
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

    pub(super) fn unreadable(&mut self) {
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
