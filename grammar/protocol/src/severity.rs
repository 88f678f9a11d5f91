//! How serious a finding is.

/// How serious a finding is: the language server's own scale, the slightest
/// first. There is no "off": what is not to be seen is waived where it stands,
/// with a reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// Worth a thought while writing.
    Hint,
    /// Worth knowing.
    Information,
    /// Likely wrong.
    Warning,
    /// Wrong, or not to be released as it stands.
    Error,
}

impl Severity {
    /// All of them, the most serious first.
    pub const ALL: [Self; 4] = [Self::Error, Self::Warning, Self::Information, Self::Hint];

    /// Their words, likewise: wherever one is set, it is set by its word.
    pub const WORDS: &[&str] = &["error", "warning", "information", "hint"];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hint => "hint",
            Self::Information => "information",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }

    /// The severity of this word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|known| known.word() == word)
    }
}

#[cfg(test)]
mod tests {
    use super::Severity;

    #[test]
    fn words_and_severities_go_together() {
        assert_eq!(Severity::ALL.map(Severity::word), Severity::WORDS);
        for severity in Severity::ALL {
            assert_eq!(Severity::of_word(severity.word()), Some(severity));
        }
        assert_eq!(Severity::of_word("off"), None);
        assert!(Severity::ALL.is_sorted_by(|one, other| one > other));
    }
}
