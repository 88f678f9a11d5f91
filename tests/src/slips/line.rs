//! A line of an order, as words, and its numbers.

use gutta_quantity::{Exact, Style};

/// A number with its unit, by the places of the two words in the line.
#[derive(Clone, Debug)]
pub struct Number {
    /// The number's place among the line's words; the unit's is the next.
    pub at: usize,
    /// Counted in the unit.
    pub value: Exact,
    /// As written.
    pub unit: String,
}

/// Its words.
pub fn words(line: &str) -> Vec<String> {
    line.split_whitespace().map(str::to_owned).collect()
}

/// Its first word.
pub fn keyword(line: &str) -> &str {
    line.split_whitespace().next().unwrap_or("")
}

/// Its numbers that have a unit, in order.
pub fn numbers(line: &str) -> Vec<Number> {
    let words = words(line);
    let mut numbers = Vec::new();
    for (at, pair) in words.windows(2).enumerate() {
        let digits = pair[0].trim_end_matches(',');
        let value = digits
            .starts_with(|c: char| c.is_ascii_digit())
            .then(|| Exact::parse_decimal(&digits.replace(',', "")))
            .flatten();
        let unit = pair[1].trim_end_matches(',');
        if let Some(value) = value
            && unit != "to"
            && !pair[0].ends_with(',')
        {
            let unit = unit.to_owned();
            numbers.push(Number { at, value, unit });
        }
    }
    numbers
}

/// The number that stands behind a word: `at 0.05 mcg/kg/min`.
pub fn after(line: &str, word: &str) -> Option<Number> {
    let words = words(line);
    numbers(line)
        .into_iter()
        .find(|number| number.at > 0 && words[number.at - 1] == word)
}

/// The line with another number there; nothing where its decimals do not end,
/// or it is the same.
pub fn with_value(line: &str, number: &Number, value: &Exact) -> Option<String> {
    let digits = Style::USUAL
        .decimal_exact(value)
        .filter(|digits| digits.len() < 12)?;
    if *value == number.value || value.is_zero() {
        return None;
    }
    Some(replaced(line, number.at, &digits))
}

/// The line with another unit there.
pub fn with_unit(line: &str, number: &Number, unit: &str) -> String {
    replaced(line, number.at + 1, unit)
}

/// The line with another word at a place, a comma behind it kept.
pub fn replaced(line: &str, at: usize, word: &str) -> String {
    let mut words = words(line);
    let comma = if words[at].ends_with(',') { "," } else { "" };
    words[at] = format!("{word}{comma}");
    format!("  {}", words.join(" "))
}
