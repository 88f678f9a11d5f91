//! Numbers and units as people write them, and as the notation does.

/// A unit word in the notation's spelling; `None`: it is no unit.
fn atom(word: &str) -> Option<&'static str> {
    Some(match word {
        "ml" | "mls" | "cc" | "millilitre" | "millilitres" | "milliliter" | "milliliters" => "mL",
        "l" | "litre" | "litres" | "liter" | "liters" => "L",
        "h" | "hr" | "hrs" | "hour" | "hours" => "h",
        "min" | "mins" | "minute" | "minutes" => "min",
        "s" | "sec" | "secs" | "second" | "seconds" => "s",
        "d" | "day" | "days" => "day",
        "mcg" | "mcgs" | "µg" | "μg" | "ug" | "microgram" | "micrograms" => "mcg",
        "ng" | "nanogram" | "nanograms" => "ng",
        "mg" | "mgs" | "milligram" | "milligrams" => "mg",
        "g" | "gm" | "gms" | "gram" | "grams" => "g",
        "u" | "iu" | "unit" | "units" => "unit",
        "mmol" | "mmols" | "millimole" | "millimoles" => "mmol",
        "meq" => "mEq",
        "kg" | "kgs" | "kilo" | "kilos" | "kilogram" | "kilograms" => "kg",
        "m2" | "m²" => "m2",
        "drop" | "drops" | "gtt" | "gtts" => "drop",
        "mosm" | "mosmol" => "mOsm",
        "year" | "years" | "yr" | "yrs" => "year",
        "month" | "months" => "month",
        "week" | "weeks" => "week",
        "%" => "%",
        _ => return None,
    })
}

/// A unit as the notation writes it: `mL/h` of `ml/hr`, `mls per hour`, `ml.h-1`.
/// Time goes last.
pub(super) fn unit(parts: &[&str]) -> Option<String> {
    let mut below: Vec<&str> = Vec::new();
    let [first, rest @ ..] = parts else {
        return None;
    };
    let top = atom(&first.to_lowercase())?;
    for part in rest {
        below.push(atom(&part.to_lowercase())?);
    }
    let is_time = |part: &&str| matches!(*part, "h" | "min" | "s" | "day");
    below.sort_by_key(|part| is_time(part));
    if below.iter().filter(|part| is_time(part)).count() > 1 || below.len() > 2 {
        return None;
    }
    let top = match top {
        "unit" => "units",
        "drop" => "drops",
        "day" => "days",
        "year" => "years",
        "month" => "months",
        "week" => "weeks",
        top => top,
    };
    let mut unit = top.to_owned();
    for part in below {
        unit.push('/');
        unit.push_str(part);
    }
    Some(unit)
}

/// A number as the notation writes it; `None` where it may be read in two ways
/// (`0,5`) or is none.
pub(super) fn number(word: &str) -> Option<String> {
    let mut digits = String::new();
    let groups: Vec<&str> = word.split(',').collect();
    if let [first, rest @ ..] = groups.as_slice()
        && !rest.is_empty()
    {
        let whole = |group: &&str| group.len() == 3 && group.bytes().all(|b| b.is_ascii_digit());
        let (last, between) = rest.split_last()?;
        let last_whole = last.split('.').next().unwrap_or("");
        if first.is_empty() || first.len() > 3 || first.starts_with('0') {
            return None;
        }
        if !between.iter().all(whole) || !whole(&last_whole) {
            return None;
        }
    }
    digits.push_str(&groups.concat());
    let (whole, part) = match digits.split_once('.') {
        Some((whole, part)) => (whole, Some(part)),
        None => (digits.as_str(), None),
    };
    let all_digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if !all_digits(whole) || !part.is_none_or(|part| !part.is_empty() && all_digits(part)) {
        return None;
    }
    // Elsewhere `1.000` is a thousand.
    if part == Some("000") {
        return None;
    }
    let part = part.map(|part| part.trim_end_matches('0')).unwrap_or("");
    if whole.is_empty() && part.is_empty() || whole.len() + part.len() > 12 {
        return None;
    }
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let grouped = if whole.len() >= 5 {
        in_groups(whole)
    } else {
        whole.to_owned()
    };
    Some(match part {
        "" => grouped,
        part => format!("{grouped}.{part}"),
    })
}

/// `25,000` of `25000`.
fn in_groups(whole: &str) -> String {
    let mut grouped = String::new();
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    grouped
}
