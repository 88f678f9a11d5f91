//! Calendar days on the command line.

use gutta_notation::ast::Date;

/// The system's date.
pub(crate) fn today() -> Option<Date> {
    of(jiff::Zoned::now().date())
}

/// A day as it is written: `2026-11-25`.
pub(crate) fn read(text: &str) -> Result<Date, String> {
    let plain = text.len() == 10
        && text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'-');
    let date = text.parse().ok().and_then(of).filter(|_| plain);
    date.ok_or_else(|| "a date is written 2026-11-25".to_owned())
}

fn of(date: jiff::civil::Date) -> Option<Date> {
    Some(Date {
        year: u16::try_from(date.year()).ok()?,
        month: u8::try_from(date.month()).ok()?,
        day: u8::try_from(date.day()).ok()?,
    })
}
