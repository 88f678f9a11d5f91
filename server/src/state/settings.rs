//! What the user has set in the editor.

use gutta_checks::Severity;
use gutta_notation::read_quantity;
use gutta_protocol::model::size::Scalar;
use gutta_quantity::{Exact, Style};
use serde::de::Error;
use serde::{Deserialize, Deserializer};

/// The section of the editor's settings.
pub(crate) const SECTION: &str = "gutta";

/// The settings; what is not given, or not understood, is as by default.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "camelCase", default)]
pub(crate) struct Settings {
    /// What is shown behind the lines.
    pub(crate) hints: Hints,
    /// The least severity that is shown: `error`, `warning`, `information`
    /// or `hint`; without one, all are.
    #[serde(deserialize_with = "severity")]
    pub(crate) severity: Option<Severity>,
    /// The day on which reviews and waivers are judged (`2026-11-25`);
    /// without one, today.
    pub(crate) today: Option<String>,
}

#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "camelCase", default)]
pub(crate) struct Hints {
    /// Whether derived values stand behind their lines.
    pub(crate) enabled: bool,
    /// One weight for which they are shown (`70 kg`); without one, the ends
    /// of the order's range.
    pub(crate) weight: Option<String>,
}

impl Default for Hints {
    fn default() -> Self {
        Self {
            enabled: true,
            weight: None,
        }
    }
}

fn severity<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Severity>, D::Error> {
    let word = String::deserialize(from)?;
    let known = Severity::of_word(&word);
    let unknown = || D::Error::unknown_variant(&word, Severity::WORDS);
    known.map(Some).ok_or_else(unknown)
}

impl Settings {
    /// Whether findings of the severity are shown.
    pub(crate) fn shows(&self, severity: Severity) -> bool {
        self.severity.is_none_or(|least| severity >= least)
    }

    /// From what a client sends: the section itself, or an object that holds
    /// it.
    ///
    /// # Errors
    /// Where the section is not as it should be, in words.
    pub(crate) fn from_json(value: &serde_json::Value) -> Result<Self, String> {
        let section = value.get(SECTION).unwrap_or(value);
        if section.is_null() {
            return Ok(Self::default());
        }
        let settings = Self::deserialize(section)
            .map_err(|error| format!("settings of {SECTION}: {error}"))?;
        let wrong = |key: &str, example: &str, text: &str| {
            format!("settings of {SECTION}: {key} is written {example:?}, not {text:?}")
        };
        match (settings.hints.weight.as_deref(), settings.today.as_deref()) {
            (Some(text), _) if parse_weight(text).is_none() => {
                Err(wrong("hints.weight", "70 kg", text))
            }
            (_, Some(text)) if super::parsed(text).is_none() => {
                Err(wrong("today", "2026-11-25", text))
            }
            _ => Ok(settings),
        }
    }
}

/// A weight as the settings write it, in kg. They are a person's, who may have
/// several houses open.
pub(crate) fn parse_weight(text: &str) -> Option<Exact> {
    let weight = Scalar::read_weight(&read_quantity(text, Style::USUAL)?)?.value;
    weight.is_positive().then_some(weight)
}
