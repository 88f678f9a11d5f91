//! The notation's own words: what the dispatcher reads, completion offers and
//! the editors' syntax files colour.

use crate::StanzaKind;
use crate::ast::WordsKind;

/// A keyword that starts a stanza.
#[derive(Clone, Copy, Debug)]
pub struct StanzaWord {
    /// The keyword.
    pub word: &'static str,
    /// The stanza it starts.
    pub kind: StanzaKind,
}

/// The keywords that start a stanza, in the notation's order.
pub const STANZAS: [StanzaWord; 10] = [
    stanza("use", StanzaKind::Use),
    stanza("pump", StanzaKind::Pump),
    stanza("giving-set", StanzaKind::GivingSet),
    stanza("area", StanzaKind::Area),
    stanza("solution", StanzaKind::Solution),
    stanza("ingredient", StanzaKind::Ingredient),
    stanza("drug", StanzaKind::Drug),
    stanza("order", StanzaKind::Order),
    stanza("specimen", StanzaKind::Specimen),
    stanza("set", StanzaKind::Set),
];

const fn stanza(word: &'static str, kind: StanzaKind) -> StanzaWord {
    StanzaWord { word, kind }
}

/// The kinds of line; each has its rule in the grammar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "each is the keyword of the same name")]
pub enum LineKind {
    PumpFlow,
    PumpVolume,
    PumpBolus,
    Accuracy,
    Drops,
    Priming,
    Patient,
    DosingWeight,
    Drug,
    Area,
    Route,
    Pump,
    GivingSet,
    Purpose,
    Ceiling,
    BolusCeiling,
    Fluid,
    Contains,
    Osmolarity,
    Also,
    Class,
    DosedIn,
    Supplied,
    With,
    NotWith,
    OnlyBy,
    Usual,
    Never,
    Equals,
    HangTime,
    HighAlert,
    Mix,
    Premixed,
    Hang,
    Undiluted,
    Run,
    Prime,
    Bolus,
    Adjust,
    ChangeBag,
    Flush,
    Then,
    Phase,
    Expect,
    Include,
    LineMembers,
    /// A set's line on a substance; its keyword is the substance.
    Load,
    Waive,
    Words(WordsKind),
    ReviewBy,
    /// A line of the notation's second part.
    SecondPart,
}

impl LineKind {
    /// Whether a stanza (or phase) may have several; patients by weight,
    /// surface and age, and contents of several substances, among them.
    #[must_use]
    pub const fn repeats(self) -> bool {
        matches!(
            self,
            Self::PumpFlow
                | Self::Patient
                | Self::Run
                | Self::Bolus
                | Self::Flush
                | Self::Usual
                | Self::Never
                | Self::Phase
                | Self::Include
                | Self::LineMembers
                | Self::Expect
                | Self::Words(_)
                | Self::Waive
                | Self::Also
                | Self::Class
                | Self::Equals
                | Self::Contains
                | Self::Load
        )
    }

    /// Whether each phase may have its own.
    #[must_use]
    pub const fn is_of_phase(self) -> bool {
        self.is_bag()
            || matches!(
                self,
                Self::Prime
                    | Self::Adjust
                    | Self::Ceiling
                    | Self::BolusCeiling
                    | Self::Then
                    | Self::ChangeBag
                    | Self::Route
                    | Self::Pump
                    | Self::GivingSet
                    | Self::Purpose
            )
    }

    /// Whether it says what is in the bag.
    #[must_use]
    pub const fn is_bag(self) -> bool {
        matches!(
            self,
            Self::Mix | Self::Premixed | Self::Hang | Self::Undiluted
        )
    }
}

/// The stanzas a line may stand in, one bit each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Homes(u16);

impl Homes {
    const fn of(kinds: &[StanzaKind]) -> Self {
        let mut bits = 0;
        let mut index = 0;
        while index < kinds.len() {
            bits |= 1 << kinds[index] as u16;
            index += 1;
        }
        Self(bits)
    }

    /// Whether the line may stand in a stanza of the kind.
    #[must_use]
    pub const fn has(self, kind: StanzaKind) -> bool {
        self.0 & (1 << kind as u16) != 0
    }

    /// The keywords of the stanzas, as a phrase: `order, specimen or set`.
    #[must_use]
    pub fn phrase(self) -> String {
        let words: Vec<_> = STANZAS
            .iter()
            .filter(|stanza| self.has(stanza.kind))
            .map(|stanza| format!("`{}`", stanza.word))
            .collect();
        crate::words::one_of(&words)
    }
}

/// `a, b or c`.
pub(crate) fn one_of(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

/// A keyword that starts a line.
#[derive(Clone, Copy, Debug)]
pub struct LineWord {
    /// The keyword, in full (`bolus ceiling`).
    pub words: &'static str,
    /// The line it starts.
    pub kind: LineKind,
    /// The stanzas it may stand in.
    pub homes: Homes,
}

use StanzaKind as S;

const ORDER: Homes = Homes::of(&[S::Order, S::Specimen]);
const DRUG: Homes = Homes::of(&[S::Drug]);
const LIMITED: Homes = Homes::of(&[S::Ingredient, S::Drug]);
const PUMP: Homes = Homes::of(&[S::Pump]);
const SET: Homes = Homes::of(&[S::Set]);
const MOST: Homes = Homes::of(&[
    S::Pump,
    S::GivingSet,
    S::Area,
    S::Solution,
    S::Ingredient,
    S::Drug,
    S::Order,
    S::Specimen,
    S::Set,
]);
const PLACED: Homes = Homes::of(&[S::Area, S::Order, S::Specimen]);
const FOR_WHOM: Homes = Homes::of(&[S::Area, S::Order, S::Specimen, S::Set]);

/// The keywords that start a line. Of two that share their first word in one
/// stanza, the longer stands first.
pub const LINES: &[LineWord] = &[
    line("run", LineKind::Run, ORDER),
    line("mix", LineKind::Mix, ORDER),
    line("expect", LineKind::Expect, ORDER),
    line("drug", LineKind::Drug, ORDER),
    line(
        "area",
        LineKind::Area,
        Homes::of(&[S::Order, S::Specimen, S::Set]),
    ),
    line("patient", LineKind::Patient, FOR_WHOM),
    line("route", LineKind::Route, ORDER),
    line("pump", LineKind::Pump, PLACED),
    line("then", LineKind::Then, ORDER),
    line("usual", LineKind::Usual, LIMITED),
    line("never", LineKind::Never, LIMITED),
    line("bolus ceiling", LineKind::BolusCeiling, PLACED),
    line("bolus", LineKind::PumpBolus, PUMP),
    line("bolus", LineKind::Bolus, ORDER),
    line("ceiling", LineKind::Ceiling, PLACED),
    line("adjust", LineKind::Adjust, ORDER),
    line("phase", LineKind::Phase, ORDER),
    line("prime", LineKind::Prime, ORDER),
    line("flush", LineKind::Flush, ORDER),
    line("hang time", LineKind::HangTime, DRUG),
    line("hang", LineKind::Hang, ORDER),
    line("premixed", LineKind::Premixed, ORDER),
    line("undiluted", LineKind::Undiluted, ORDER),
    line("change bag", LineKind::ChangeBag, ORDER),
    line("giving-set", LineKind::GivingSet, PLACED),
    line("purpose", LineKind::Purpose, ORDER),
    line("dosing weight", LineKind::DosingWeight, ORDER),
    line("flow", LineKind::PumpFlow, PUMP),
    line("volume", LineKind::PumpVolume, PUMP),
    line("accuracy", LineKind::Accuracy, PUMP),
    line("drops", LineKind::Drops, Homes::of(&[S::GivingSet])),
    line("priming", LineKind::Priming, Homes::of(&[S::GivingSet])),
    line("fluid", LineKind::Fluid, Homes::of(&[S::Area, S::Set])),
    line(
        "contains",
        LineKind::Contains,
        Homes::of(&[S::Solution, S::Drug]),
    ),
    line(
        "osmolarity",
        LineKind::Osmolarity,
        Homes::of(&[S::Solution, S::Drug]),
    ),
    line("also", LineKind::Also, DRUG),
    line("class", LineKind::Class, DRUG),
    line("dosed in", LineKind::DosedIn, DRUG),
    line("supplied", LineKind::Supplied, DRUG),
    line("with", LineKind::With, DRUG),
    line("not with", LineKind::NotWith, DRUG),
    line("only by", LineKind::OnlyBy, DRUG),
    line("equals", LineKind::Equals, LIMITED),
    line(
        "high-alert",
        LineKind::HighAlert,
        Homes::of(&[S::Drug, S::Order, S::Specimen]),
    ),
    line("include", LineKind::Include, SET),
    line("line", LineKind::LineMembers, SET),
    line("waive", LineKind::Waive, MOST),
    line("note", LineKind::Words(WordsKind::Note), MOST),
    line("source", LineKind::Words(WordsKind::Source), MOST),
    line("monitor", LineKind::Words(WordsKind::Monitor), MOST),
    line("goal", LineKind::Words(WordsKind::Goal), MOST),
    line("stop when", LineKind::Words(WordsKind::StopWhen), ORDER),
    line("review by", LineKind::ReviewBy, MOST),
    line("steer", LineKind::SecondPart, ORDER),
    line("when", LineKind::SecondPart, ORDER),
    line("demand", LineKind::SecondPart, ORDER),
    line("plus", LineKind::SecondPart, ORDER),
    line("reduce", LineKind::SecondPart, ORDER),
    line("stated as", LineKind::SecondPart, DRUG),
    line("house strength", LineKind::SecondPart, DRUG),
    line("steady", LineKind::SecondPart, DRUG),
    line("status", LineKind::SecondPart, MOST),
    line("signed", LineKind::SecondPart, MOST),
];

const fn line(words: &'static str, kind: LineKind, homes: Homes) -> LineWord {
    LineWord { words, kind, homes }
}

/// The words of the notation that neither a unit nor a name can be.
pub const OWN: &[&str] = &[
    "any", "all", "to", "of", "at", "over", "by", "in", "for", "with", "as", "after", "from",
    "and", "or",
];

/// Further words that a line may go on with behind a name. They are read as
/// names where nothing else can stand, and are better not chosen for one.
pub const AFTER_NAMES: &[&str] = &[
    "above",
    "added",
    "age",
    "aged",
    "because",
    "below",
    "climbing",
    "counted",
    "down",
    "each",
    "every",
    "except",
    "finding",
    "keep",
    "made",
    "not",
    "per",
    "renew",
    "stop",
    "surface",
    "then",
    "undiluted",
    "until",
    "up",
    "weight",
];

/// What is counted in `every 8 h for 3 doses`.
pub const DOSES: [&str; 2] = ["doses", "dose"];

/// Measures that an `expect` may name.
pub const EXPECT_MEASURES: &[(&str, crate::ast::ExpectMeasure)] = {
    use crate::ast::ExpectMeasure as M;
    &[
        ("flow", M::Flow),
        ("pump flow", M::PumpFlow),
        ("strength", M::Strength),
        ("true strength", M::TrueStrength),
        ("drops", M::Drops),
        ("time", M::Time),
        ("dose", M::Dose),
        ("bolus", M::Bolus),
        ("bolus time", M::BolusTime),
        ("draw", M::Draw),
        ("total", M::Total),
        ("volume", M::Volume),
        ("fluid", M::Fluid),
    ]
};

/// The stanza that the word starts, if it is written as the notation has it.
#[must_use]
pub fn stanza_kind(word: &str) -> Option<StanzaKind> {
    STANZAS
        .iter()
        .find(|stanza| stanza.word == word)
        .map(|stanza| stanza.kind)
}

/// The first of a keyword's words.
pub(crate) fn first_word(words: &str) -> &str {
    words.split(' ').next().unwrap_or(words)
}

/// Whether the word, in whatever case, starts a line and no stanza.
pub(crate) fn is_line_keyword_only(word: &str) -> bool {
    LINES.iter().any(|line| {
        share_first_letter(line.words, word) && first_word(line.words).eq_ignore_ascii_case(word)
    }) && !STANZAS
        .iter()
        .any(|stanza| stanza.word.eq_ignore_ascii_case(word))
}

/// Whether both begin with the same letter, in whatever case.
pub(crate) fn share_first_letter(keyword: &str, word: &str) -> bool {
    match (keyword.bytes().next(), word.bytes().next()) {
        (Some(one), Some(other)) => one.eq_ignore_ascii_case(&other),
        _ => false,
    }
}
