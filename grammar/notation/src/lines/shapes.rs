//! The shapes of the lines that have several parts.

mod reference;

use super::homes::Homes;
pub(super) use reference::*;

/// A line's shape behind its keyword.
#[derive(Debug, PartialEq, Eq)]
pub struct Shape {
    /// The parts, as they follow one another.
    pub parts: &'static [Part],
    /// What the line says, in a sentence.
    pub about: &'static str,
    /// The stanzas in which the line may take it.
    pub homes: Homes,
}

/// A part of a shape.
#[derive(Debug, PartialEq, Eq)]
pub struct Part {
    /// As the shape writes it.
    pub text: &'static str,
    /// The words that begin it; the first part begins with the line.
    pub starts: &'static [&'static str],
    /// What it says.
    pub about: &'static str,
}

const fn part(text: &'static str, starts: &'static [&'static str], about: &'static str) -> Part {
    Part {
        text,
        starts,
        about,
    }
}

const fn shape(parts: &'static [Part], about: &'static str) -> Shape {
    only(Homes::ALL, parts, about)
}

const fn only(homes: Homes, parts: &'static [Part], about: &'static str) -> Shape {
    Shape {
        parts,
        about,
        homes,
    }
}

/// What a number begins with.
const DIGITS: &[&str] = &["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"];
/// What a range begins with.
const RANGE: &[&str] = &[
    "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "up to", "up",
];

/// A line of one part, or none.
pub(super) const SINGLE: &[Shape] = &[];

const AT_MOST: Part = part(
    ", at most QUANTITY",
    &["at most"],
    "a maximum of the dose or the amount, for the whole patient",
);
const WITH: Part = part("with SOLUTION", &["with"], "the diluent's name");

pub(super) const RUN: &[Shape] = &[shape(
    &[
        part(
            "WHAT",
            &[],
            "how much: a volume, an amount of drug, or `all` that is left in the bag",
        ),
        part(
            "at RATE",
            &["at"],
            "a flow (mL/h), a dose (mcg/kg/min) or a drip rate (drops/min)",
        ),
        part(
            "over TIME",
            &["over"],
            "a time, from which the flow is calculated",
        ),
        AT_MOST,
        part(
            "every TIME",
            &["every"],
            "from the start of one dose to the start of the next",
        ),
        part(
            "for N doses",
            &["for"],
            "how often in all, or for how long (`for 3 days`)",
        ),
    ],
    "Runs from the bag. `at` or `over` is enough; if both are stated, they must agree.",
)];

pub(super) const MIX: &[Shape] = &[
    shape(
        &[
            part("AMOUNT", &[], "the drug: 4 mg, 20 mg/kg, or a volume of it"),
            AT_MOST,
            part(
                "made up to VOLUME",
                &["made up to", "made up", "made"],
                "the final volume, the drug's own included",
            ),
            WITH,
        ],
        "The final volume is the one written.",
    ),
    shape(
        &[
            part("AMOUNT", &[], "the drug: 4 mg, 20 mg/kg, or a volume of it"),
            AT_MOST,
            part(
                "added to VOLUME",
                &["added to", "added"],
                "the diluent's volume; the drug's own volume is added to it",
            ),
            part("of SOLUTION", &["of"], "the diluent's name"),
            part(
                ", counted as VOLUME",
                &["counted as", "counted"],
                "the volume from which strength and flow are calculated",
            ),
        ],
        "The final volume is the one written plus the drug's own.",
    ),
];

pub(super) const BOLUS: &[Shape] = &[shape(
    &[
        part("AMOUNT", &[], "an amount of drug or a volume, also per kg"),
        part("over TIME", &["over"], "how long it takes"),
        part("at RATE", &["at"], "how fast, instead of a time"),
        AT_MOST,
        part(
            ", each time",
            &["each time", "each"],
            "given with every repetition of the run",
        ),
    ],
    "From the same bag, once, unless `each time`.",
)];

pub(super) const ADJUST: &[Shape] = &[shape(
    &[
        part(
            "LOW to HIGH UNIT",
            &[],
            "the settings that are allowed, or a list of them: `1, 2, 4 mL/h`",
        ),
        part(
            "by STEP",
            &["by"],
            "one step, counted from the lowest setting",
        ),
        part(
            "every TIME",
            &["every"],
            "the minimum time between two steps",
        ),
    ],
    "Permission to go one step up or down.",
)];

pub(super) const EXPECT: &[Shape] = &[shape(
    &[
        part(
            "MEASURE",
            &[],
            "`flow`, `pump flow`, `strength`, `drops`, `time`, `dose`, `draw`, `total` … or a \
             substance",
        ),
        part(
            "QUANTITY",
            DIGITS,
            "the value that the order must have, to the last digit written",
        ),
        part("[per day]", &["per day"], "the most in any 24 hours"),
        part(
            "[at WEIGHT] [at DOSE]",
            &["at"],
            "for one patient, at one setting; without, it must hold for all",
        ),
        part("[in PHASE]", &["in"], "in one phase only"),
    ],
    "A worked example.",
)];

pub(super) const PREMIXED: &[Shape] = &[shape(
    &[
        part("AMOUNT", &[], "the drug in the bag, or its strength"),
        part("in VOLUME", &["in"], "the bag's volume"),
        part("of SOLUTION", &["of"], "what it is made with"),
    ],
    "A bag as it is bought.",
)];

pub(super) const HANG: &[Shape] = &[shape(
    &[
        part("VOLUME", &[], "the bag's volume"),
        part("of SOLUTION", &["of"], "the fluid's name"),
    ],
    "A plain fluid.",
)];

pub(super) const FLUSH: &[Shape] = &[shape(
    &[
        part("VOLUME", &[], "how much is pushed behind the drug"),
        part("with SOLUTION", &["with"], "the fluid's name"),
    ],
    "Follows what was given, and pushes what the line holds to the patient.",
)];

pub(super) const CHANGE_BAG: &[Shape] = &[shape(
    &[part(
        "every TIME",
        &[],
        "the longest time that one bag hangs",
    )],
    "A fresh bag, prepared the same way.",
)];

pub(super) const THEN: &[Shape] = &[
    shape(
        &[part("stop", &["stop"], "nothing follows")],
        "The pump stops after the last run.",
    ),
    shape(
        &[
            part("renew", &["renew"], "another bag, prepared the same way"),
            part(
                "[for TIME]",
                &["for"],
                "for how long; without, until stopped",
            ),
        ],
        "The next bag follows.",
    ),
    shape(
        &[
            part(
                "keep open RATE",
                &["keep open", "keep"],
                "the flow that keeps the line open",
            ),
            part(
                "[with SOLUTION]",
                &["with"],
                "with what; without, with what is in the bag",
            ),
        ],
        "A small flow follows the last run.",
    ),
];

pub(super) const PHASE: &[Shape] = &[shape(
    &[
        part("NAME", &[], "by which an `expect` names it: `first`"),
        part("[\"TITLE\"]", &[], "for people, in quotes"),
    ],
    "The lines below are this phase's; it begins when the one above ends.",
)];

pub(super) const PATIENT: &[Shape] = &[shape(
    &[
        part("MEASURE", &[], "`weight`, `surface` or `age`"),
        part(
            "LOW to HIGH UNIT",
            RANGE,
            "ends included; one side only: `up to 40 kg`, `16 years or more`",
        ),
    ],
    "For whom it is.",
)];

pub(super) const WAIVE: &[Shape] = &[shape(
    &[
        part("RULE", &[], "the rule's name"),
        part(
            "[of MEASURE up to QUANTITY]",
            &["of", "up to", "up", "down to", "down"],
            "how far: beyond it the finding is back",
        ),
        part("because \"REASON\"", &["because"], "why, in quotes"),
        part("[until DATE]", &["until"], "the last day on which it holds"),
    ],
    "The rule's findings here are known and accepted.",
)];
