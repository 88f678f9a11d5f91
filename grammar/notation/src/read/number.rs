//! Judging a number as it was written: a value, or nothing and why.

use gutta_quantity::Exact;

use crate::{DigitGroups, NoValue};

/// The most digits a number may have.
pub(super) const MOST_DIGITS: usize = 12;

/// What is to be said of a number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Verdict {
    /// The value; `None` where none is read.
    pub(super) value: Option<Exact>,
    /// Digits after the point.
    pub(super) decimals: u8,
    /// `5.0`: where the zeros too many start, with the point if none is left.
    pub(super) trailing_from: Option<usize>,
    /// `.5`.
    pub(super) bare_point: bool,
    /// Thousands without groups, or in another form: how the house writes it.
    pub(super) regrouped: Option<String>,
    /// Why there is no value.
    pub(super) fault: Option<Fault>,
}

/// Why a number has no value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// A comma that is no thousands group.
    Comma,
    /// Two numbers with a dash between.
    Dash,
    /// `1:1,000`, as the second number.
    Ratio(u64),
    /// All others.
    No(NoValue),
}

impl Verdict {
    fn no(fault: Fault) -> Self {
        Self {
            value: None,
            decimals: 0,
            trailing_from: None,
            bare_point: false,
            regrouped: None,
            fault: Some(fault),
        }
    }
}

/// Where the number at the start of `text` ends, and a unit written without
/// a blank begins.
pub(super) fn end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        let digit_follows = bytes.get(at + 1).is_some_and(u8::is_ascii_digit);
        let goes_on = match byte {
            b'0'..=b'9' | b'.' => true,
            b',' | b':' | b'/' => digit_follows && at > 0,
            b'-' | b'+' => at == 0 || digit_follows,
            b'e' | b'E' => is_exponent(&bytes[at + 1..]),
            _ => false,
        };
        if goes_on {
            at += 1;
            continue;
        }
        match text[at..].chars().next() {
            Some(found) if is_fraction(found) => at += found.len_utf8(),
            _ => break,
        }
    }
    // A full stop before letters belongs to the number: `5.mg`.
    at
}

/// Whether what follows an `e` is an exponent: digits, perhaps signed, and
/// then no letter.
fn is_exponent(rest: &[u8]) -> bool {
    let unsigned = match rest {
        [b'-' | b'+', rest @ ..] => rest,
        _ => rest,
    };
    let digits = unsigned
        .iter()
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    digits > 0 && digits <= MOST_DIGITS
}

const fn is_fraction(found: char) -> bool {
    matches!(found, '¼'..='¾' | '⅐'..='⅞')
}

/// Judges `text`, which may hold single blanks between groups of digits.
pub(super) fn judge(text: &str, groups: DigitGroups) -> Verdict {
    let bytes = text.as_bytes();
    let mut points = 0_usize;
    let mut plain = true;
    for byte in bytes {
        match byte {
            b'0'..=b'9' => {}
            b'.' => points += 1,
            _ => plain = false,
        }
    }
    if !plain {
        return odd(text, groups);
    }
    if points > 1 {
        return Verdict::no(Fault::No(NoValue::Malformed));
    }
    plain_number(text, None, groups)
}

/// A number of digits and at most one point. `grouped`: it was written with
/// groups, in the house's form or not.
fn plain_number(text: &str, grouped: Option<bool>, groups: DigitGroups) -> Verdict {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let no = |why| Verdict::no(Fault::No(why));
    if text.ends_with('.') {
        return no(if whole.is_empty() {
            NoValue::Malformed
        } else {
            NoValue::TrailingPoint
        });
    }
    if text.is_empty() {
        return no(NoValue::Malformed);
    }
    if whole.len() + fraction.len() > MOST_DIGITS {
        return no(NoValue::TooManyDigits);
    }
    if whole.len() > 1 && whole.starts_with('0') {
        return no(NoValue::LeadingZero);
    }
    let bare_point = whole.is_empty();
    let value = if bare_point {
        // At most 12 digits.
        let mut full = String::with_capacity(text.len() + 1);
        full.push('0');
        full.push_str(text);
        Exact::parse_decimal(&full)
    } else {
        Exact::parse_decimal(text)
    };
    let Some(value) = value else {
        return no(NoValue::Malformed);
    };
    let kept = fraction.trim_end_matches('0').len();
    // A zero has no right form: where it may not stand, that is said.
    let trailing = kept < fraction.len() && !value.is_zero();
    let trailing_from = trailing.then(|| whole.len() + if kept == 0 { 0 } else { kept + 1 });
    let regrouped = match grouped {
        Some(true) => None,
        Some(false) => Some(group(text, groups)),
        None => (whole.len() >= 5).then(|| group(text, groups)),
    };
    Verdict {
        value: Some(value),
        decimals: u8::try_from(fraction.len()).unwrap_or(u8::MAX),
        trailing_from,
        bare_point,
        regrouped,
        fault: None,
    }
}

/// Writes plain digits in the house's groups.
pub(super) fn group(text: &str, groups: DigitGroups) -> String {
    let (whole, fraction) = text.find('.').map_or((text, ""), |at| text.split_at(at));
    let separator = groups.separator();
    let mut grouped = String::with_capacity(text.len() + 4);
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && whole.len() >= 5 && (whole.len() - place) % 3 == 0 {
            grouped.push(separator);
        }
        grouped.push(digit);
    }
    grouped + fraction
}

/// A number with something in it that is neither digit nor point.
fn odd(text: &str, groups: DigitGroups) -> Verdict {
    let no = |why| Verdict::no(Fault::No(why));
    if text.len() > 1 && text.starts_with(['-', '+']) {
        return no(NoValue::Sign);
    }
    if text.chars().any(is_fraction) || text.contains('/') {
        return no(NoValue::Fraction);
    }
    if text.contains(['e', 'E']) {
        return no(NoValue::Exponent);
    }
    if text.contains('-') {
        return Verdict::no(Fault::Dash);
    }
    if let Some((one, many)) = text.split_once(':') {
        return ratio(one, many, groups);
    }
    let comma = text.contains(',');
    let blank = text.contains(' ');
    if comma && (blank || groups == DigitGroups::Space) {
        return Verdict::no(Fault::Comma);
    }
    let separator = if comma { ',' } else { ' ' };
    if !text
        .bytes()
        .all(|byte| byte.is_ascii_digit() || byte == b'.' || byte == separator as u8)
    {
        return no(NoValue::Malformed);
    }
    let Some(digits) = ungroup(text, separator) else {
        return if comma {
            Verdict::no(Fault::Comma)
        } else {
            no(NoValue::Malformed)
        };
    };
    let house = (separator == ',') == (groups == DigitGroups::Comma);
    let mut verdict = plain_number(&digits, Some(house), groups);
    // The place was counted without the separators.
    if let Some(from) = &mut verdict.trailing_from {
        *from += text.len() - digits.len();
    }
    verdict
}

/// The digits of a number in groups: a first group of 1 to 3 digits that does
/// not start with 0, then groups of exactly 3, at most one point.
fn ungroup(text: &str, separator: char) -> Option<String> {
    let (whole, fraction) = text.find('.').map_or((text, ""), |at| text.split_at(at));
    if fraction.contains(separator) || fraction.matches('.').count() > 1 {
        return None;
    }
    let mut groups = whole.split(separator);
    let first = groups.next()?;
    if first.is_empty() || first.len() > 3 || first.starts_with('0') {
        return None;
    }
    let mut digits = first.to_owned();
    for group in groups {
        if group.len() != 3 || digits.len() > MOST_DIGITS {
            return None;
        }
        digits.push_str(group);
    }
    digits.push_str(fraction);
    Some(digits)
}

/// `1:1,000`.
fn ratio(one: &str, many: &str, groups: DigitGroups) -> Verdict {
    let many = judge(many, groups)
        .value
        .and_then(|value| value.to_i64())
        .and_then(|value| u64::try_from(value).ok())
        .filter(|value| *value > 0);
    match many {
        Some(many) if one == "1" => Verdict::no(Fault::Ratio(many)),
        _ => Verdict::no(Fault::No(NoValue::Malformed)),
    }
}
