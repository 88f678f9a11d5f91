//! Other numbers and words in a right order that stays right.

use gutta_quantity::{Exact, Style};

use crate::hospital::Stanza;
use crate::right::is_expect;
use crate::seed::Seed;
use crate::slips::line::{Number, after, keyword, numbers as numbers_of, words as words_of};

/// An area with the weights that its patients have, in whole kg.
pub(super) struct Area {
    name: String,
    weights: (i64, i64),
}

impl Area {
    pub(super) fn of(stanza: &Stanza) -> Option<Self> {
        let weights = stanza.lines.iter().find_map(|line| weights(line))?;
        (stanza.keyword() == "area").then(|| Self {
            name: stanza.name().to_owned(),
            weights,
        })
    }
}

/// `patient weight 40 to 150 kg`
fn weights(line: &str) -> Option<(i64, i64)> {
    match words_of(line).as_slice() {
        [patient, weight, low, to, high, kg]
            if [patient, weight, to, kg] == ["patient", "weight", "to", "kg"] =>
        {
            Some((low.parse().ok()?, high.parse().ok()?))
        }
        _ => None,
    }
}

/// Narrows the patients' weights, moves the dose among the steps that the order
/// allows and takes steps off their end; goes without worked examples that no
/// longer hold.
pub(super) fn numbers(lines: &mut Vec<String>, areas: &[Area], seed: &mut Seed) {
    // What is waived is waived for these very numbers.
    if lines.iter().any(|line| keyword(line) == "waive") {
        return;
    }
    doses(lines, seed);
    narrow(lines, areas, seed);
}

/// Another date of review, and fewer worked examples and words for people.
pub(super) fn words(lines: &mut Vec<String>, seed: &mut Seed) {
    lines.retain(|line| match keyword(line) {
        "expect" | "goal" | "monitor" | "note" => seed.below(4) > 0,
        _ => true,
    });
    for line in lines {
        let words = words_of(line);
        if let Some(("review", date)) = words.first().map(String::as_str).zip(words.get(2))
            && let Some(year) = date.get(..4).and_then(|year| year.parse::<usize>().ok())
        {
            let (year, month) = (year + 1 + seed.below(3), 1 + seed.below(12));
            let date = format!("{year}-{month:02}-{:02}", 1 + seed.below(28));
            *line = line.replace(&words[2], &date);
        }
    }
}

/// The worked examples' numbers behind `at`: weights, doses.
fn settings(lines: &[String]) -> impl Iterator<Item = Number> {
    let expects = lines.iter().filter(|line| is_expect(line));
    expects.flat_map(|line| {
        let words = words_of(line);
        let at = move |number: &Number| words[number.at - 1] == "at";
        numbers_of(line).into_iter().filter(at)
    })
}

fn narrow(lines: &mut Vec<String>, areas: &[Area], seed: &mut Seed) {
    let stated = lines.iter().position(|line| weights(line).is_some());
    let of_area = |line: &String| {
        let words = words_of(line);
        let area = areas.iter().find(|area| words.get(1) == Some(&area.name));
        area.filter(|_| keyword(line) == "area")
    };
    let at = match stated {
        Some(at) => at,
        None if lines.iter().any(|line| keyword(line) == "patient") => return,
        None => match lines.iter().position(|line| of_area(line).is_some()) {
            Some(at) => at,
            None => return,
        },
    };
    let area = of_area(&lines[at]).map(|area| area.weights);
    let Some((low, high)) = weights(&lines[at]).or(area) else {
        return;
    };
    let quarter = (high - low) / 4;
    let (mut least, mut most) = (low + quarter, high - quarter);
    for setting in settings(lines) {
        let whole = setting.value.round_half_up().to_i64();
        match (setting.unit.as_str(), whole) {
            ("kg", Some(whole)) => {
                // One more on each side, for what was rounded.
                least = least.min(whole - 1);
                most = most.max(whole + 1);
            }
            ("g", _) => return,
            _ => {}
        }
    }
    let chosen = |from: i64, to: i64, seed: &mut Seed| {
        let count = usize::try_from(to - from + 1).unwrap_or(1).max(1);
        from + i64::try_from(seed.below(count)).unwrap_or(0)
    };
    let low = chosen(low, least, seed);
    // A cap that nobody is heavy enough for would be a finding.
    let caps = lines.iter().any(|line| line.contains("at most"));
    let spare = if caps { 0 } else { high - most };
    let high = high - chosen(0, spare, seed);
    let line = format!("  patient    weight {low} to {high} kg");
    match stated {
        Some(at) => lines[at] = line,
        None => lines.insert(at + 1, line),
    }
}

/// What an `adjust` line allows.
struct Steps {
    doses: Vec<Exact>,
    /// The highest dose as written, where the line is a range.
    top: Option<String>,
    unit: String,
}

impl Steps {
    /// `adjust 0.02 to 0.5 mcg/kg/min by 0.02 mcg/kg/min every 5 min`,
    /// `adjust 10, 20, 40 mcg/kg/h every 2 h`
    fn of(line: &str) -> Option<Self> {
        let words = words_of(line);
        let exact = |word: &str| Exact::parse_decimal(word.trim_end_matches(','));
        if words.get(2)? == "to" {
            let (low, high) = (exact(&words[1])?, exact(words.get(3)?)?);
            let step = after(line, "by")?.value;
            let mut doses = vec![low];
            while let Some(dose) = doses.last().map(|dose| dose + &step)
                && dose <= high
            {
                doses.push(dose);
            }
            return Some(Self {
                doses,
                top: Some(words[3].clone()),
                unit: words.get(4)?.clone(),
            });
        }
        let doses: Vec<_> = words[1..].iter().map_while(|word| exact(word)).collect();
        Some(Self {
            unit: words.get(doses.len() + 1)?.clone(),
            doses,
            top: None,
        })
    }
}

fn doses(lines: &mut Vec<String>, seed: &mut Seed) {
    let only = |word: &str| {
        let mut found = lines.iter().enumerate();
        let mut found = found.by_ref().filter(|(_, line)| keyword(line) == word);
        let first = found.next().map(|(at, _)| at);
        first.filter(|_| found.next().is_none())
    };
    let (Some(run), Some(adjust)) = (only("run"), only("adjust")) else {
        return;
    };
    let (Some(rate), Some(steps)) = (after(&lines[run], "at"), Steps::of(&lines[adjust])) else {
        return;
    };
    let place = |dose: &Exact| steps.doses.iter().position(|step| step == dose);
    let Some(now) = place(&rate.value).filter(|_| steps.unit == rate.unit) else {
        return;
    };
    let last = steps.doses.len() - 1;
    let start = (now + seed.below(4)).saturating_sub(1).min(last);
    let of_dose = |setting: &Number| setting.unit == steps.unit;
    if start != now {
        let written = words_of(&lines[run])[rate.at].clone();
        let Some(dose) = Style::USUAL.decimal_exact(&steps.doses[start]) else {
            return;
        };
        lines[run] = lines[run].replacen(&format!("at {written} "), &format!("at {dose} "), 1);
        // What is said of another dose, or of the bag, holds on.
        lines.retain(|line| {
            let said = words_of(line);
            let of_bag = ["strength", "true", "draw", "bolus"]
                .contains(&said.get(1).map_or("", |word| word));
            !is_expect(line)
                || of_bag
                || settings(std::slice::from_ref(line)).any(|at| of_dose(&at))
        });
    }
    let asked = settings(lines).filter(of_dose);
    let needed = asked
        .filter_map(|at| place(&at.value))
        .chain([start, 1])
        .max();
    if let (Some(top), Some(needed)) = (steps.top, needed)
        && needed < last
    {
        let end = needed + seed.below(last - needed + 1);
        if let Some(dose) = Style::USUAL.decimal_exact(&steps.doses[end]) {
            let to = |dose: &str| format!("to {dose} {}", steps.unit);
            lines[adjust] = lines[adjust].replacen(&to(&top), &to(&dose), 1);
        }
    }
}
