//! What reading noticed: a stretch of text and what is to be said of it. The
//! rules of the `text` and `unit` families turn marks into findings, and own
//! the words.

use gutta_quantity::Unit;

use crate::Span;

/// One thing that reading noticed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// What it is.
    pub kind: MarkKind,
    /// Where it stands.
    pub span: Span,
    /// The corrections that suit; more than one where the author must choose.
    pub fixes: Vec<Edit>,
}

/// A replacement of a stretch of the stanza's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced.
    pub span: Span,
    /// What stands there instead.
    pub text: String,
}

/// What a [`Mark`] says. Each kind belongs to one rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// `text.unreadable`: what was found, and what could stand there.
    Unreadable(Box<Unreadable>),
    /// `text.trailing-zero`: `5.0 mg`.
    TrailingZero,
    /// `text.bare-point`: `.5 mg`.
    BarePoint,
    /// `text.no-space`: `5mg`.
    NoSpace,
    /// `text.thousands`: `10000`, or groups in a form that is not the house's.
    Thousands,
    /// `text.decimal-comma`: a comma that is no thousands group; no value.
    DecimalComma,
    /// `text.risky-unit`: the unit written, and the safe way to write it.
    RiskyUnit {
        /// How it is written safely.
        safe: String,
    },
    /// `text.twice`: the same fact stood before, at `first`.
    Twice {
        /// The first of the two.
        first: Span,
    },
    /// `text.odd-character`: a character that looks like another one, and is
    /// read as that.
    OddCharacter {
        /// The character found.
        found: char,
    },
    /// `text.odd-character`: characters that cannot be seen stand on the line;
    /// none is read as another.
    HiddenCharacter {
        /// The worst of them.
        found: char,
        /// How many more there are.
        more: usize,
    },
    /// `text.pounds`: a weight in pounds or ounces, or a dose by them; read
    /// exactly.
    Pounds,
    /// `text.risky-name`: a drug written in a warned-of short form.
    RiskyName {
        /// The full name.
        full: &'static str,
    },
    /// `text.ratio-strength`: `1:1,000`.
    RatioStrength,
    /// `text.look-alike`: letters of more than one script in one name.
    MixedScripts,
    /// `text.phrase`: read, but not as the notation writes it.
    Phrase(Phrase),
    /// `text.no-value`: no value is read.
    NoValue(NoValue),
    /// `unit.unknown`: not a unit of the notation.
    UnknownUnit,
    /// `unit.missing`: a number without its unit; the units that fit there.
    MissingUnit {
        /// Units that fit, the likeliest first.
        fits: Vec<Unit>,
    },
}

impl MarkKind {
    /// The rule that the mark belongs to.
    #[must_use]
    pub const fn rule(&self) -> &'static str {
        match self {
            Self::Unreadable(_) => "text.unreadable",
            Self::TrailingZero => "text.trailing-zero",
            Self::BarePoint => "text.bare-point",
            Self::NoSpace => "text.no-space",
            Self::Thousands => "text.thousands",
            Self::DecimalComma => "text.decimal-comma",
            Self::RiskyUnit { .. } => "text.risky-unit",
            Self::Twice { .. } => "text.twice",
            Self::OddCharacter { .. } | Self::HiddenCharacter { .. } => "text.odd-character",
            Self::Pounds => "text.pounds",
            Self::RiskyName { .. } => "text.risky-name",
            Self::RatioStrength => "text.ratio-strength",
            Self::MixedScripts => "text.look-alike",
            Self::Phrase(_) => "text.phrase",
            Self::NoValue(_) => "text.no-value",
            Self::UnknownUnit => "unit.unknown",
            Self::MissingUnit { .. } => "unit.missing",
        }
    }

    /// Whether the mark's one fix changes the spelling alone: value, size of
    /// the unit and name stay what they were.
    #[must_use]
    pub const fn is_spelling(&self) -> bool {
        matches!(
            self,
            Self::TrailingZero
                | Self::BarePoint
                | Self::NoSpace
                | Self::Thousands
                | Self::RiskyUnit { .. }
                | Self::OddCharacter { .. }
                | Self::Phrase(_)
        )
    }
}

/// Why a line could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// What could stand at the mark's first column, in words or as written
    /// (`a volume`, `over`).
    pub expected: Vec<String>,
    /// Why, where more can be said than what was expected.
    pub why: Option<Why>,
}

/// The known ways in which a line goes wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// The first word of a stanza or line is none of the keywords.
    UnknownKeyword {
        /// The word found.
        found: String,
    },
    /// The keyword exists and belongs in another stanza.
    WrongHome {
        /// The keyword.
        keyword: String,
        /// The stanzas or lines it belongs to.
        home: String,
    },
    /// A line stands before the first stanza.
    BeforeFirstStanza,
    /// A stanza keyword stands indented.
    IndentedStanza,
    /// A reference stands in the first column and would start a stanza.
    IndentThis,
    /// A dash between two numbers.
    Dash,
    /// `mix … in …` and its kin: made up to, or added to?
    MadeUpOrAdded,
    /// A run or bolus that says how much and not how.
    How,
    /// A quoted text without its closing quote.
    UnclosedText,
    /// A single quantity where a range belongs.
    RangeWanted,
    /// No blank after the keyword.
    BlankAfterKeyword,
    /// A stanza of more lines than the tool reads.
    TooLong,
    /// A line or file that is not text.
    NotText,
    /// Anything else, in words.
    Other(String),
}

/// What was unlike the notation in a line that was read all the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phrase {
    /// A capital where the notation writes small letters.
    Capital,
    /// A line that should be indented.
    Indent,
    /// A lid without its comma, or in another place.
    Lid,
    /// Time before weight below the line (`mcg/min/kg`).
    UnitOrder,
    /// A word that the notation spells otherwise (`milligrams`).
    Spelling,
    /// A total per day written into its unit or as a dose.
    PerDay,
    /// A comma where nothing ends.
    Comma,
    /// Another order of words.
    WordOrder,
}

/// Why a number, date or range has no value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoValue {
    /// `05`.
    LeadingZero,
    /// `5.`.
    TrailingPoint,
    /// `½`, `1/2`.
    Fraction,
    /// `-5`.
    Sign,
    /// `5e3`.
    Exponent,
    /// More than 12 digits.
    TooManyDigits,
    /// Zero where something must be given.
    Zero,
    /// A range whose ends stand in falling order.
    FallingRange,
    /// A range whose ends are of two kinds.
    MixedRange,
    /// A date that does not exist.
    Date,
    /// A compound time whose parts do not fall, repeat, or overflow.
    CompoundTime,
    /// A list of steps that does not rise.
    FallingList,
    /// Anything else that looks like a number and is none.
    Malformed,
}
