//! What a house writes in `gutta.toml`. A key that is not known, or a value
//! that cannot be read, is a fault: nothing is passed over in silence.

use std::collections::BTreeMap;

use crate::House;
use crate::house::Level;

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

impl Settings {
    /// Reads the text of a `gutta.toml`; see [`House::from_toml`].
    ///
    /// # Errors
    ///
    /// The first thing that is wrong with it.
    pub fn read(text: &str) -> Result<Self, SettingsFault> {
        let house = House::from_toml(text).map_err(|fault| SettingsFault {
            message: fault.message,
            line: usize::try_from(fault.line).ok(),
        })?;
        let severity = house.severity.iter().map(|setting| {
            let level = match setting.level {
                Level::Error => "error",
                Level::Warning => "warning",
                Level::Information => "information",
                Level::Hint => "hint",
            };
            (setting.rule.to_string(), level.to_owned())
        });
        Ok(Self {
            exclude: house.exclude.clone(),
            severity: severity.collect(),
            house,
        })
    }
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
            said.starts_with("Some(3): `rounding` is no key of `[house]`"),
            "{said}"
        );
    }

    #[test]
    fn a_quantity_carries_its_unit() {
        for wrong in ["\"10\"", "\"10 mL\"", "\"-10 %\"", "\"1e3 %\"", "\"0,5 %\""] {
            let said = fault(&format!("[house]\nrounding-tolerance = {wrong}\n"));
            assert_eq!(said, "Some(2): rounding-tolerance is written as \"10 %\"");
        }
        let said = fault("[house]\nrounding-tolerance = 10\n");
        assert_eq!(said, "Some(2): rounding-tolerance is written as \"10 %\"");
    }

    #[test]
    fn ranges_rise() {
        let said = fault("[house]\ncountable-drops = \"150 to 5 drops/min\"\n");
        assert_eq!(
            said,
            "Some(2): countable-drops is written as \"5 to 150 drops/min\""
        );
    }
}
