//! The table of the lines, and what is made of it.

use super::Often::{Any, Once, OncePerPatientKind, OncePerSubstance};
use super::Reach::{EachPhase, FirstPhase, LastPhase, Stanza};
use super::homes::*;
use super::shapes::*;
use super::{LineWord, Row};
use crate::parse::Rule;

/// Makes the kinds, their rows and their keywords of the table.
macro_rules! lines {
    ($(
        $kind:ident [$($words:literal $homes:ident),*]
        $often:ident $reach:ident $rule:ident $place:literal $shapes:ident
    ;)*) => {
        /// The kinds of line.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[allow(missing_docs, reason = "each is the keyword of the same name")]
        pub enum LineKind {
            $($kind,)*
        }

        impl LineKind {
            /// Every kind, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$kind,)*];
        }

        /// The rows, each in its kind's place.
        pub(super) const ROWS: &[Row] = &[$(Row {
            kind: LineKind::$kind,
            words: &[$(LineWord { words: $words, kind: LineKind::$kind, homes: $homes },)*],
            often: $often,
            reach: $reach,
            rule: Rule::$rule,
            place: $place,
            shapes: $shapes,
        },)*];

        /// The keywords that start a line. Of two that share their first word
        /// in one stanza, the longer stands first.
        pub const LINES: &[LineWord] = &[$($(
            LineWord { words: $words, kind: LineKind::$kind, homes: $homes },
        )*)*];
    };
}

// The commonest first: each line is sought from the top. The place in an order
// is where completion offers it, and an author looks for it; `SINGLE` is the
// shape of a line of one part. A set's line on a substance begins with the
// substance. What the second part of the notation adds is known and not read.
lines! {
//  kind          keywords, and where           how often            for which phases  grammar     place  shapes
    Run           ["run" ORDER]                 Any                  EachPhase   run_line           150   RUN;
    Mix           ["mix" ORDER]                 Once                 FirstPhase  mix_line            90   MIX;
    Expect        ["expect" ORDER]              Any                  Stanza      expect_line        270   EXPECT;
    Drug          ["drug" ORDER]                Once                 Stanza      name_line           10   SINGLE;
    Area          ["area" MEANT]                Once                 Stanza      area_line           20   SINGLE;
    Patient       ["patient" FOR_WHOM]          OncePerPatientKind   Stanza      patient_line        30   PATIENT;
    Route         ["route" ORDER]               Once                 EachPhase   route_line          60   SINGLE;
    Pump          ["pump" PLACED]               Once                 EachPhase   name_line           70   SINGLE;
    Then          ["then" ORDER]                Once                 LastPhase   then_line          210   THEN;
    Usual         ["usual" LIMITED]             Any                  Stanza      usual_line           0   USUAL;
    Never         ["never" LIMITED]             Any                  Stanza      never_line           0   NEVER;
    BolusCeiling  ["bolus ceiling" PLACED]      Once                 EachPhase   rate_line          180   SINGLE;
    PumpBolus     ["bolus" PUMP]                Once                 Stanza      range_line           0   SINGLE;
    Bolus         ["bolus" ORDER]               Any                  EachPhase   bolus_line         140   BOLUS;
    Ceiling       ["ceiling" PLACED]            Once                 EachPhase   rate_line          170   SINGLE;
    Adjust        ["adjust" ORDER]              Once                 EachPhase   adjust_line        160   ADJUST;
    Phase         ["phase" ORDER]               Any                  Stanza      header_line        220   PHASE;
    Prime         ["prime" ORDER]               Once                 FirstPhase  volume_line        130   SINGLE;
    Flush         ["flush" ORDER]               Any                  EachPhase   flush_line         200   FLUSH;
    HangTime      ["hang time" DRUG]            Once                 Stanza      time_line            0   SINGLE;
    Hang          ["hang" ORDER]                Once                 FirstPhase  hang_line          110   HANG;
    Premixed      ["premixed" ORDER]            Once                 FirstPhase  premixed_line      100   PREMIXED;
    Undiluted     ["undiluted" ORDER]           Once                 FirstPhase  volume_line        120   SINGLE;
    ChangeBag     ["change bag" ORDER]          Once                 EachPhase   change_line        190   CHANGE_BAG;
    GivingSet     ["giving-set" PLACED]         Once                 EachPhase   name_line           80   SINGLE;
    Purpose       ["purpose" ORDER]             Once                 EachPhase   name_line           50   SINGLE;
    DosingWeight  ["dosing weight" ORDER]       Once                 Stanza      range_line          40   SINGLE;
    PumpFlow      ["flow" PUMP]                 Any                  Stanza      flow_line            0   FLOW;
    PumpVolume    ["volume" PUMP]               Once                 Stanza      range_line           0   SINGLE;
    Accuracy      ["accuracy" PUMP]             Once                 Stanza      strength_line        0   SINGLE;
    Drops         ["drops" TUBING]              Once                 Stanza      drops_line           0   DROPS;
    Priming       ["priming" TUBING]            Once                 Stanza      volume_line          0   SINGLE;
    Fluid         ["fluid" SUMMED]              Once                 Stanza      range_line           0   SINGLE;
    Contains      ["contains" MADE]             OncePerSubstance     Stanza      contains_line        0   CONTAINS;
    Osmolarity    ["osmolarity" MADE]           Once                 Stanza      strength_line        0   SINGLE;
    Also          ["also" DRUG]                 Any                  Stanza      names_line           0   SINGLE;
    Class         ["class" DRUG]                Any                  Stanza      names_line           0   SINGLE;
    DosedIn       ["dosed in" DRUG]             Once                 Stanza      unit_line            0   SINGLE;
    Supplied      ["supplied" DRUG]             Once                 Stanza      supplied_line        0   SUPPLIED;
    With          ["with" DRUG]                 Once                 Stanza      names_line           0   SINGLE;
    NotWith       ["not with" DRUG]             Once                 Stanza      names_line           0   SINGLE;
    OnlyBy        ["only by" DRUG]              Once                 Stanza      routes_line          0   SINGLE;
    Equals        ["equals" LIMITED]            Any                  Stanza      equals_line          0   SINGLE;
    HighAlert     ["high-alert" ALERTED]        Once                 Stanza      bare_line          260   SINGLE;
    Include       ["include" SET]               Any                  Stanza      names_line           0   SINGLE;
    LineMembers   ["line" SET]                  Any                  Stanza      line_line            0   LINE;
    Load          []                            OncePerSubstance     Stanza      load_line            0   SINGLE;
    Waive         ["waive" MOST]                Any                  Stanza      waive_line         310   WAIVE;
    Note          ["note" MOST]                 Any                  Stanza      text_line          280   SINGLE;
    Source        ["source" MOST]               Any                  Stanza      text_line          290   SINGLE;
    Monitor       ["monitor" MOST]              Any                  Stanza      text_line          240   SINGLE;
    Goal          ["goal" MOST]                 Any                  Stanza      text_line          230   SINGLE;
    StopWhen      ["stop when" ORDER]           Any                  Stanza      text_line          250   SINGLE;
    ReviewBy      ["review by" MOST]            Once                 Stanza      date_line          300   SINGLE;
    SecondPart    ["steer" ORDER, "when" ORDER, "demand" ORDER, "plus" ORDER, "reduce" ORDER,
                   "stated as" DRUG, "house strength" DRUG, "steady" DRUG, "status" MOST, "signed" MOST]
                                                Once                 Stanza      bare_line            0   SINGLE;
}
