//! Typed stanzas: what was written, where, and nothing of what it means.

mod bag;
mod drug;
mod order;
mod pieces;
mod value;

pub use bag::{Bag, Dose, Into as BagInto};
pub use drug::{
    Bound, Conditions, Equals, Limit, LimitMeasure, Never, NeverWhat, Route, Supplied, Usual,
    Window,
};
pub use order::{
    Adjust, Bolus, Every, Expect, ExpectMeasure, PatientKind, Repeat, Run, Steps, Then, Waive,
    WaiveBound, Way, What, WordsKind,
};
pub use pieces::{NameOf, Piece};
pub use value::{Date, Name, Range, Text, Written, WrittenUnit};

use std::sync::Arc;

pub use crate::stanzas::StanzaKind;

use crate::lines::LineKind;
use crate::{Mark, Span, Spanned};

/// A file: stanzas that together hold every byte of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct File {
    /// In the order of the text.
    pub stanzas: Vec<Placed>,
}

/// A stanza and where in the file it starts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    /// The byte offset of the stanza's first byte.
    pub start: u32,
    /// The stanza, whose spans count from `start`.
    pub stanza: Arc<Stanza>,
}

/// A stanza, read line by line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stanza {
    /// Its kind.
    pub kind: StanzaKind,
    /// The header line, from its first to its last readable byte.
    pub header: Span,
    /// Its name; `None` where the header could not be read, and for `use`.
    pub name: Option<Name>,
    /// The title in quotes; for `use` the path.
    pub title: Option<Text>,
    /// The lines that state something, in order. Blank lines and comments
    /// are left to the text.
    pub lines: Vec<Line>,
    /// What reading noticed, by place.
    pub marks: Vec<Mark>,
    /// Length in bytes.
    pub len: u32,
}

impl Stanza {
    /// Whether the header and every line were read, each with all its values.
    /// Only then may anything be derived from it.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        let header = matches!(self.kind, StanzaKind::Preamble)
            || (self.kind == StanzaKind::Use && self.title.is_some())
            || (self.kind != StanzaKind::Unknown && self.name.is_some());
        header && self.lines.iter().all(|line| line.whole)
    }
}

/// A line that states something.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// From the keyword to the last byte before blanks, comment or line end.
    pub span: Span,
    /// The keyword (`never dose`'s is `never`; `bolus ceiling` is one).
    pub keyword: Span,
    /// What it states.
    pub fact: Fact,
    /// Whether the line was read, every value on it included.
    pub whole: bool,
}

const _: () = assert!(size_of::<Fact>() <= 56);

/// What a line states. Which of them a stanza may hold is the parser's to
/// say; a fact out of its home is [`Fact::Unreadable`].
///
/// A large repository is held line by line: what is larger than a quantity is
/// boxed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fact {
    /// The line could not be read; a mark says why.
    Unreadable,

    /// `flow RANGE [in steps of Q]` of a pump.
    PumpFlow {
        /// The flows it can run.
        range: Box<Range>,
        /// Its step; `None`: any value.
        step: Option<Box<Written>>,
    },
    /// `volume up to Q` of a pump.
    PumpVolume(Box<Range>),
    /// `bolus up to Q` of a pump.
    PumpBolus(Box<Range>),
    /// `accuracy 5 %`.
    Accuracy(Written),
    /// `drops 20 per mL`, as drops per mL.
    DropFactor(Written),
    /// `priming 18 mL`.
    Priming(Written),

    /// `patient weight|surface|age RANGE`.
    Patient {
        /// Which of the three.
        kind: PatientKind,
        /// The range.
        range: Box<Range>,
    },
    /// `dosing weight up to Q`.
    DosingWeight(Box<Range>),
    /// `drug NAME`.
    Drug(Name),
    /// `area NAME`, `area any` (`None`).
    Area(Spanned<Option<smol_str::SmolStr>>),
    /// `route ROUTE`, `route any` (`None`).
    Route(Spanned<Option<Route>>),
    /// `pump NAME`.
    Pump(Name),
    /// `giving-set NAME`.
    GivingSet(Name),
    /// `purpose NAME`.
    Purpose(Name),
    /// `ceiling RATE`.
    Ceiling(Written),
    /// `bolus ceiling RATE`.
    BolusCeiling(Written),
    /// `fluid RANGE` of an area or a set.
    Fluid(Box<Range>),

    /// `contains SUBSTANCE STRENGTH`.
    Contains {
        /// What it declares.
        substance: Name,
        /// How much of it per volume.
        strength: Box<Written>,
    },
    /// `osmolarity Q`.
    Osmolarity(Written),

    /// `also NAME, NAME`.
    Also(Vec<Name>),
    /// `class NAME, …`: what kind of drug it is.
    Class(Vec<Name>),
    /// `dosed in UNIT`.
    DosedIn(Spanned<WrittenUnit>),
    /// `supplied …`.
    Supplied(Box<Supplied>),
    /// `with SOLUTION, …`.
    With(Vec<Name>),
    /// `not with NAME, …`.
    NotWith(Vec<Name>),
    /// `only by ROUTE, …`.
    OnlyBy(Vec<Spanned<Route>>),
    /// `usual MEASURE RANGE [conditions]`.
    Usual(Box<Usual>),
    /// `never …`.
    Never(Box<Never>),
    /// `equals Q, Q, …`.
    Equals(Equals),
    /// `hang time TIME`.
    HangTime(Written),
    /// `high-alert`.
    HighAlert,

    /// What is in the bag: `mix`, `premixed`, `hang`, `undiluted`.
    Bag(Box<Bag>),
    /// `run …`.
    Run(Box<Run>),
    /// `prime VOLUME`.
    Prime(Written),
    /// `bolus …`.
    Bolus(Box<Bolus>),
    /// `adjust …`.
    Adjust(Box<Adjust>),
    /// `change bag every TIME`.
    ChangeBag(Written),
    /// `flush VOLUME with SOLUTION`.
    Flush {
        /// How much.
        volume: Box<Written>,
        /// Of what.
        solution: Name,
    },
    /// `then …`.
    Then(Box<Then>),
    /// `phase NAME ["text"]`: the lines below are that phase's.
    Phase {
        /// Its name.
        name: Name,
        /// Its title.
        title: Option<Box<Text>>,
    },
    /// `expect MEASURE Q …`.
    Expect(Box<Expect>),
    /// `expect finding RULE`.
    ExpectFinding(Name),

    /// `include NAME, …`.
    Include(Vec<Name>),
    /// `line NAME: NAME, …`.
    LineMembers {
        /// The line's name.
        line: Box<Name>,
        /// The orders that run through it.
        members: Vec<Name>,
    },
    /// `glucose RANGE`, `potassium RANGE` of a set.
    Load {
        /// The substance.
        substance: Name,
        /// How much of it the whole set may bring.
        range: Box<Range>,
    },

    /// `waive RULE …`.
    Waive(Box<Waive>),
    /// `goal`, `monitor`, `note`, `source`, `stop when`.
    Words {
        /// Which of them.
        kind: WordsKind,
        /// The text.
        text: Text,
    },
    /// `review by DATE`; `None` where the date has no value.
    ReviewBy(Spanned<Option<Date>>),
}

impl Fact {
    /// The kind of the line that states it; `None` where it could not be read.
    #[must_use]
    pub const fn kind(&self) -> Option<LineKind> {
        use LineKind as K;
        Some(match self {
            Self::Unreadable => return None,
            Self::PumpFlow { .. } => K::PumpFlow,
            Self::PumpVolume(_) => K::PumpVolume,
            Self::PumpBolus(_) => K::PumpBolus,
            Self::Accuracy(_) => K::Accuracy,
            Self::DropFactor(_) => K::Drops,
            Self::Priming(_) => K::Priming,
            Self::Patient { .. } => K::Patient,
            Self::DosingWeight(_) => K::DosingWeight,
            Self::Drug(_) => K::Drug,
            Self::Area(_) => K::Area,
            Self::Route(_) => K::Route,
            Self::Pump(_) => K::Pump,
            Self::GivingSet(_) => K::GivingSet,
            Self::Purpose(_) => K::Purpose,
            Self::Ceiling(_) => K::Ceiling,
            Self::BolusCeiling(_) => K::BolusCeiling,
            Self::Fluid(_) => K::Fluid,
            Self::Contains { .. } => K::Contains,
            Self::Osmolarity(_) => K::Osmolarity,
            Self::Also(_) => K::Also,
            Self::Class(_) => K::Class,
            Self::DosedIn(_) => K::DosedIn,
            Self::Supplied(_) => K::Supplied,
            Self::With(_) => K::With,
            Self::NotWith(_) => K::NotWith,
            Self::OnlyBy(_) => K::OnlyBy,
            Self::Usual(_) => K::Usual,
            Self::Never(_) => K::Never,
            Self::Equals(_) => K::Equals,
            Self::HangTime(_) => K::HangTime,
            Self::HighAlert => K::HighAlert,
            Self::Bag(bag) => match **bag {
                Bag::Mix { .. } => K::Mix,
                Bag::Premixed { .. } => K::Premixed,
                Bag::Hang { .. } => K::Hang,
                Bag::Undiluted { .. } => K::Undiluted,
            },
            Self::Run(_) => K::Run,
            Self::Prime(_) => K::Prime,
            Self::Bolus(_) => K::Bolus,
            Self::Adjust(_) => K::Adjust,
            Self::ChangeBag(_) => K::ChangeBag,
            Self::Flush { .. } => K::Flush,
            Self::Then(_) => K::Then,
            Self::Phase { .. } => K::Phase,
            Self::Expect(_) | Self::ExpectFinding(_) => K::Expect,
            Self::Include(_) => K::Include,
            Self::LineMembers { .. } => K::LineMembers,
            Self::Load { .. } => K::Load,
            Self::Waive(_) => K::Waive,
            Self::Words { kind, .. } => match kind {
                WordsKind::Goal => K::Goal,
                WordsKind::Monitor => K::Monitor,
                WordsKind::Note => K::Note,
                WordsKind::Source => K::Source,
                WordsKind::StopWhen => K::StopWhen,
            },
            Self::ReviewBy(_) => K::ReviewBy,
        })
    }
}
