//! Times as they are spoken.

use super::{Printed, Style};
use crate::{Exact, Rounding};

impl Style {
    /// A time given in minutes, as `5 h 57 min`: to the minute from 10 min up,
    /// to the second below that, and to one significant figure below that,
    /// rounded as asked. Days are counted from 48 h up: the trade says
    /// 24 h and 36 h (common practice, no source).
    #[must_use]
    pub fn duration(self, minutes: &Exact, rounding: Rounding) -> Printed {
        if minutes.is_negative() {
            let other_way = match rounding {
                Rounding::Down => Rounding::Up,
                Rounding::Up => Rounding::Down,
                Rounding::HalfUp => Rounding::HalfUp,
            };
            let told = self.duration(&-minutes, other_way);
            return Printed {
                number: format!("-{}", told.number),
                ..told
            };
        }
        let whole_seconds = rounding.apply(&(minutes * &Exact::int(60)));
        if whole_seconds.is_zero() && !minutes.is_zero() {
            let seconds = minutes * &Exact::int(60);
            let seconds = self.to_figures(&seconds, 1, rounding);
            return by_the_clock(format!("{} s", seconds.text), seconds.rounded);
        }
        // What rounds up to 10 min is 10 min either way.
        let seconds = if *minutes < Exact::int(10) {
            whole_seconds
        } else {
            &rounding.apply(minutes) * &Exact::int(60)
        };
        let rounded = seconds != minutes * &Exact::int(60);
        let (minutes, seconds) = split(&seconds, 60);
        let (hours, minutes) = split(&minutes, 60);
        let (days, hours) = if hours >= Exact::int(48) {
            split(&hours, 24)
        } else {
            (Exact::ZERO, hours)
        };
        let mut text = String::new();
        for (count, one, many) in [
            (days, "day", "days"),
            (hours, "h", "h"),
            (minutes, "min", "min"),
            (seconds, "s", "s"),
        ] {
            if count.is_zero() {
                continue;
            }
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(&self.decimal(&count, 0, Rounding::HalfUp));
            text.push(' ');
            text.push_str(if count == Exact::ONE { one } else { many });
        }
        if text.is_empty() {
            text.push_str("0 s");
        }
        by_the_clock(text, rounded)
    }
}

const fn by_the_clock(number: String, rounded: bool) -> Printed {
    Printed {
        number,
        unit: String::new(),
        rounded,
    }
}

/// Whole numbers: how many times `size` is in it, and what is left.
fn split(whole: &Exact, size: i64) -> (Exact, Exact) {
    let size = Exact::int(size);
    let count = whole.checked_div(&size).unwrap_or_default().floor();
    let rest = whole - &(&count * &size);
    (count, rest)
}
