//! What a house writes in `gutta.toml`. A key that is not known, or a value
//! that cannot be read, is a fault: nothing is passed over in silence.

use std::collections::BTreeMap;

use gutta_notation::{DigitGroups, Micro, Style};
use gutta_quantity::Exact;
use serde::Deserialize;
use smol_str::SmolStr;

use crate::House;

/// The file's name, at the root of the workspace.
pub const FILE_NAME: &str = "gutta.toml";

/// All that `gutta.toml` says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Settings {
    /// The numbers and habits that reading and checking need.
    pub house: House,
    /// Paths that are not checked, in the form of a `.gitignore`.
    pub exclude: Vec<String>,
    /// Severities set by rule or family, as written (`limit.unusual`, `error`).
    pub severity: BTreeMap<String, String>,
}

/// Why a `gutta.toml` could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SettingsFault {
    /// What is wrong, in one line.
    pub message: String,
    /// The line it stands on, from 1, where it is known.
    pub line: Option<usize>,
}

#[derive(Deserialize, Default)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
struct Written {
    digit_groups: Option<Groups>,
    micrograms: Option<Micrograms>,
    exclude: Vec<String>,
    default: Defaults,
    severity: BTreeMap<String, String>,
    house: Numbers,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Groups {
    Comma,
    Space,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Micrograms {
    Mcg,
    Micrograms,
}

#[derive(Deserialize, Default)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
struct Defaults {
    pump: Option<String>,
    area: Option<String>,
    giving_set: Option<String>,
}

/// Quantities are written as in an order, so that each carries its unit and
/// none passes through a floating-point number.
#[derive(Deserialize, Default)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
struct Numbers {
    rounding_tolerance: Option<String>,
    counted_as_tolerance: Option<String>,
    peripheral_osmolarity: Option<String>,
    left_over: Option<String>,
    countable_drops: Option<String>,
    line_delay: Option<String>,
    left_in_line: Option<String>,
    syringe_marks: Option<Vec<String>>,
    hang_time: Option<String>,
}

impl Settings {
    /// Reads the text of a `gutta.toml`.
    ///
    /// # Errors
    ///
    /// The first thing that is wrong with it.
    pub fn read(text: &str) -> Result<Self, SettingsFault> {
        let written: Written = toml::from_str(text).map_err(|error| SettingsFault {
            message: error.message().lines().collect::<Vec<_>>().join(" "),
            line: error.span().and_then(|span| line_of(text, span.start)),
        })?;
        let mut house = House {
            style: Style {
                digit_groups: match written.digit_groups {
                    Some(Groups::Space) => DigitGroups::Space,
                    Some(Groups::Comma) | None => DigitGroups::Comma,
                },
                micro: match written.micrograms {
                    Some(Micrograms::Micrograms) => Micro::Micrograms,
                    Some(Micrograms::Mcg) | None => Micro::Mcg,
                },
            },
            pump: written.default.pump.map(SmolStr::from),
            area: written.default.area.map(SmolStr::from),
            giving_set: written.default.giving_set.map(SmolStr::from),
            ..House::default()
        };
        written.house.put_into(&mut house, text)?;
        Ok(Self {
            house,
            exclude: written.exclude,
            severity: written.severity,
        })
    }
}

impl Numbers {
    fn put_into(self, house: &mut House, text: &str) -> Result<(), SettingsFault> {
        let fault = |key: &str, form: &str| SettingsFault {
            message: format!("{key} is written as `{form}`"),
            line: text
                .lines()
                .position(|line| line.trim_start().starts_with(key))
                .map(|index| index + 1),
        };
        let read = |key: &str, value: Option<String>, form: &str, units: &[(&str, Exact)]| {
            value
                .map(|value| quantity(&value, units).ok_or_else(|| fault(key, form)))
                .transpose()
        };
        let percent = [("%", Exact::ten_to(-2))];
        let minutes = [("min", Exact::ONE), ("h", Exact::int(60))];
        let set = |place: &mut Exact, value: Option<Exact>| {
            if let Some(value) = value {
                *place = value;
            }
        };
        set(
            &mut house.rounding_tolerance,
            read(
                "rounding-tolerance",
                self.rounding_tolerance,
                "10 %",
                &percent,
            )?,
        );
        set(
            &mut house.counted_as_tolerance,
            read(
                "counted-as-tolerance",
                self.counted_as_tolerance,
                "5 %",
                &percent,
            )?,
        );
        set(
            &mut house.peripheral_osmolarity,
            read(
                "peripheral-osmolarity",
                self.peripheral_osmolarity,
                "900 mOsm/L",
                &[("mOsm/L", Exact::ONE)],
            )?,
        );
        set(
            &mut house.left_over,
            read("left-over", self.left_over, "50 %", &percent)?,
        );
        set(
            &mut house.line_delay,
            read("line-delay", self.line_delay, "30 min", &minutes)?,
        );
        set(
            &mut house.left_in_line,
            read("left-in-line", self.left_in_line, "10 %", &percent)?,
        );
        let hang_time = read("hang-time", self.hang_time, "24 h", &minutes)?;
        house.hang_time = hang_time.or(house.hang_time.take());
        if let Some(value) = self.countable_drops {
            (house.drops_low, house.drops_high) = value
                .strip_suffix(" drops/min")
                .and_then(|range| range.split_once(" to "))
                .and_then(|(low, high)| Some((number(low)?, number(high)?)))
                .filter(|(low, high)| low <= high)
                .ok_or_else(|| fault("countable-drops", "5 to 150 drops/min"))?;
        }
        if let Some(values) = self.syringe_marks {
            let millilitre = [("mL", Exact::ONE)];
            house.syringe_marks = values
                .iter()
                .map(|value| {
                    let (mark, size) = value.split_once(" to ")?;
                    let (mark, size) = (quantity(mark, &millilitre)?, quantity(size, &millilitre)?);
                    (mark.is_positive() && size.is_positive()).then_some((size, mark))
                })
                .collect::<Option<Vec<_>>>()
                .filter(|marks| marks.is_sorted())
                .ok_or_else(|| fault("syringe-marks", "0.01 mL to 1 mL"))?;
        }
        Ok(())
    }
}

/// A number and one of the units, each with what it counts.
fn quantity(text: &str, units: &[(&str, Exact)]) -> Option<Exact> {
    let (value, unit) = text.split_once(' ')?;
    let (_, size) = units.iter().find(|(name, _)| *name == unit)?;
    Some(&number(value)? * size)
}

/// At most 12 digits, as in an order.
fn number(text: &str) -> Option<Exact> {
    let digits = text.bytes().filter(u8::is_ascii_digit).count();
    (digits <= 12).then(|| Exact::parse_decimal(text)).flatten()
}

fn line_of(text: &str, offset: usize) -> Option<usize> {
    let before = text.as_bytes().get(..offset)?;
    Some(before.iter().filter(|byte| **byte == b'\n').count() + 1)
}

#[cfg(test)]
mod tests {
    use gutta_notation::{DigitGroups, Micro};
    use gutta_quantity::Exact;

    use super::Settings;
    use crate::House;

    fn fault(text: &str) -> String {
        match Settings::read(text) {
            Ok(settings) => panic!("read as {settings:?}"),
            Err(fault) => format!("{:?}: {}", fault.line, fault.message),
        }
    }

    #[test]
    fn an_empty_file_is_the_notations_defaults() {
        let settings = Settings::read("").expect("an empty file");
        assert_eq!(settings.house, House::default());
    }

    #[test]
    fn every_setting_is_read() {
        let settings = Settings::read(
            r#"
digit-groups = "space"
micrograms = "micrograms"
exclude = ["drafts/"]

[default]
pump = "syringe"
area = "adult-icu"
giving-set = "macro"

[severity]
"limit.unusual" = "error"

[house]
rounding-tolerance = "7.5 %"
counted-as-tolerance = "4 %"
peripheral-osmolarity = "850 mOsm/L"
left-over = "25 %"
countable-drops = "10 to 120 drops/min"
line-delay = "1 h"
left-in-line = "5 %"
syringe-marks = ["0.1 mL to 5 mL", "1 mL to 60 mL"]
hang-time = "24 h"
"#,
        )
        .expect("a full file");
        let house = settings.house;
        assert_eq!(house.style.digit_groups, DigitGroups::Space);
        assert_eq!(house.style.micro, Micro::Micrograms);
        assert_eq!(house.pump.as_deref(), Some("syringe"));
        assert_eq!(Some(house.rounding_tolerance), Exact::ratio(3, 40));
        assert_eq!(house.line_delay, Exact::int(60));
        assert_eq!(house.drops_high, Exact::int(120));
        assert_eq!(house.hang_time, Some(Exact::int(1440)));
        assert_eq!(house.syringe_marks.len(), 2);
        assert_eq!(house.syringe_marks[1], (Exact::int(60), Exact::int(1)));
        assert_eq!(settings.exclude, ["drafts/"]);
        assert_eq!(
            settings.severity.get("limit.unusual").map(String::as_str),
            Some("error")
        );
    }

    #[test]
    fn an_unknown_key_is_a_fault() {
        let said = fault("\n[house]\nrounding = \"10 %\"\n");
        assert!(
            said.starts_with("Some(3): unknown field `rounding`"),
            "{said}"
        );
    }

    #[test]
    fn a_quantity_carries_its_unit() {
        for wrong in ["\"10\"", "\"10 mL\"", "\"-10 %\"", "\"1e3 %\"", "\"0,5 %\""] {
            let said = fault(&format!("[house]\nrounding-tolerance = {wrong}\n"));
            assert_eq!(said, "Some(2): rounding-tolerance is written as `10 %`");
        }
        let said = fault("[house]\nrounding-tolerance = 10\n");
        assert!(said.starts_with("Some(2): invalid type"), "{said}");
    }

    #[test]
    fn ranges_rise() {
        let said = fault("[house]\ncountable-drops = \"150 to 5 drops/min\"\n");
        assert_eq!(
            said,
            "Some(2): countable-drops is written as `5 to 150 drops/min`"
        );
    }
}
