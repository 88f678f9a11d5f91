//! The shapes of the lines that have several parts.

use super::{Part, Shape};

const fn part(text: &'static str, starts: &'static [&'static str], about: &'static str) -> Part {
    Part {
        text,
        starts,
        about,
    }
}

const AT_MOST: Part = part(
    ", at most QUANTITY",
    &["at most"],
    "a maximum of the dose or the amount, for the whole patient",
);
const WITH: Part = part("with SOLUTION", &["with"], "the diluent's name");
const CONDITIONS: Part = part(
    "[by ROUTE] [in AREA] [for WEIGHTS] [aged AGES] [as PURPOSE] [after the first TIME]",
    &["by", "in", "for", "aged", "as", "after"],
    "when the limit applies: all that are named must be met",
);
const EXCEPT: Part = part(
    "[except CONDITIONS]",
    &["except"],
    "when it does not apply: any of these is enough",
);

pub(super) const RUN: &[Shape] = &[Shape {
    keyword: "run",
    parts: &[
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
    about: "Runs from the bag. `at` or `over` is enough; if both are stated, they must agree.",
}];

pub(super) const MIX: &[Shape] = &[
    Shape {
        keyword: "mix",
        parts: &[
            part("AMOUNT", &[], "the drug: 4 mg, 20 mg/kg, or a volume of it"),
            AT_MOST,
            part(
                "made up to VOLUME",
                &["made up to", "made up", "made"],
                "the final volume, the drug's own included",
            ),
            WITH,
        ],
        about: "The final volume is the one written.",
    },
    Shape {
        keyword: "mix",
        parts: &[
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
        about: "The final volume is the one written plus the drug's own.",
    },
];

pub(super) const BOLUS: &[Shape] = &[Shape {
    keyword: "bolus",
    parts: &[
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
    about: "From the same bag, once, unless `each time`.",
}];

pub(super) const ADJUST: &[Shape] = &[Shape {
    keyword: "adjust",
    parts: &[
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
    about: "Permission to go one step up or down.",
}];

const MEASURE: &str = "`dose`, `flow`, `single dose`, `interval`, `strength`, `osmolarity`, \
     `bolus`, `bolus rate`, `bolus time`, `total` or `time`";

pub(super) const USUAL: &[Shape] = &[Shape {
    keyword: "usual",
    parts: &[
        part("MEASURE", &[], MEASURE),
        part(
            "LOW to HIGH UNIT",
            &[
                "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "up to", "up",
            ],
            "ends included; one side only: `up to 4 g`, `60 min or more`",
        ),
        part(
            "[per day]",
            &["per day", "in any"],
            "of a total: the time over which it is added up",
        ),
        CONDITIONS,
    ],
    about: "Outside this range there is a warning.",
}];

pub(super) const NEVER: &[Shape] = &[
    Shape {
        keyword: "never",
        parts: &[
            part("MEASURE", &[], MEASURE),
            part(
                "above QUANTITY",
                &["above", "below"],
                "or `below`; a value equal to the limit is allowed",
            ),
            part(
                "[per day]",
                &["per day", "in any"],
                "of a total: the time over which it is added up",
            ),
            CONDITIONS,
            EXCEPT,
        ],
        about: "Beyond it there is an error.",
    },
    Shape {
        keyword: "never",
        parts: &[
            part("by ROUTE", &["by"], "a route, or several after commas"),
            CONDITIONS,
            EXCEPT,
        ],
        about: "Never by this route. Likewise `never in AREA` and `never undiluted`.",
    },
];

pub(super) const EXPECT: &[Shape] = &[Shape {
    keyword: "expect",
    parts: &[
        part(
            "MEASURE",
            &[],
            "`flow`, `pump flow`, `strength`, `drops`, `time`, `dose`, `draw`, `total` … or a \
             substance",
        ),
        part(
            "QUANTITY",
            &["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"],
            "the value that the order must give, to the last digit written",
        ),
        part("[per day]", &["per day"], "the maximum in any 24 hours"),
        part(
            "[at WEIGHT] [at DOSE]",
            &["at"],
            "for one patient, at one setting; without these it must be right for all",
        ),
        part("[in PHASE]", &["in"], "in one phase only"),
    ],
    about: "A worked example.",
}];

pub(super) const PREMIXED: &[Shape] = &[Shape {
    keyword: "premixed",
    parts: &[
        part("AMOUNT", &[], "the drug in the bag, or its strength"),
        part("in VOLUME", &["in"], "the bag's volume"),
        part("of SOLUTION", &["of"], "what it is made with"),
    ],
    about: "A ready-made bag.",
}];

/// A substance is not held to a route or a way of giving.
pub(super) const NEVER_OF_SUBSTANCE: &[Shape] = NEVER.split_at(1).0;
