//! Of what reference files and sets state.

use super::{DIGITS, Part, RANGE, Shape, only, part, shape};
use crate::lines::homes::DRUG;

const EXCEPT: Part = part(
    "[except CONDITIONS]",
    &["except"],
    "when it does not hold: any of these lifts it",
);
const CONDITIONS: Part = part(
    "[by ROUTE] [in AREA] [for WEIGHTS] [aged AGES] [as PURPOSE] [after the first TIME]",
    &["by", "in", "for", "aged", "as", "after"],
    "when the limit holds: all kinds that are named must",
);

const MEASURE: &str = "`dose`, `flow`, `single dose`, `interval`, `strength`, `osmolarity`, \
     `bolus`, `bolus rate`, `bolus time`, `total` or `time`";

pub(in crate::lines) const USUAL: &[Shape] = &[shape(
    &[
        part("MEASURE", &[], MEASURE),
        part(
            "LOW to HIGH UNIT",
            RANGE,
            "ends included; one side only: `up to 4 g`, `60 min or more`",
        ),
        part(
            "[per day]",
            &["per day", "in any"],
            "of a total: over which time it is taken",
        ),
        CONDITIONS,
    ],
    "Outside it a warning.",
)];

pub(in crate::lines) const NEVER: &[Shape] = &[
    shape(
        &[
            part("MEASURE", &[], MEASURE),
            part(
                "above QUANTITY",
                &["above", "below"],
                "or `below`: the bound itself is allowed",
            ),
            part(
                "[per day]",
                &["per day", "in any"],
                "of a total: over which time it is taken",
            ),
            CONDITIONS,
            EXCEPT,
        ],
        "Beyond it an error.",
    ),
    // A substance is not held to a route or a way of giving.
    only(
        DRUG,
        &[
            part("by ROUTE", &["by"], "a route, or several after commas"),
            CONDITIONS,
            EXCEPT,
        ],
        "Never by this route. So also `never in AREA` and `never undiluted`.",
    ),
];

pub(in crate::lines) const FLOW: &[Shape] = &[shape(
    &[
        part("LOW to HIGH UNIT", &[], "the flows that the pump can run"),
        part(
            "[in steps of STEP]",
            &["in steps of", "in steps", "in"],
            "what it can be set to",
        ),
    ],
    "What the pump can run; each range has its own step.",
)];

pub(in crate::lines) const DROPS: &[Shape] = &[shape(
    &[
        part("NUMBER", &[], "how many drops"),
        part("per mL", &["per"], "make up 1 mL"),
    ],
    "The drop factor, as the package says it.",
)];

pub(in crate::lines) const CONTAINS: &[Shape] = &[shape(
    &[
        part("SUBSTANCE", &[], "what it is called wherever it is summed"),
        part(
            "STRENGTH",
            DIGITS,
            "how much of it per volume: `0.154 mmol/mL`",
        ),
    ],
    "What it contains besides the drug.",
)];

pub(in crate::lines) const SUPPLIED: &[Shape] = &[shape(
    &[
        part(
            "AMOUNT",
            &[],
            "the drug in one container, or its strength (`1 %`, `1 mg/mL`)",
        ),
        part("in VOLUME", &["in"], "the container's volume"),
    ],
    "What it is drawn up from.",
)];

pub(in crate::lines) const LINE: &[Shape] = &[shape(
    &[
        part("NAME:", &[], "what the line is called, and a colon"),
        part("ORDER, ORDER", &[], "the orders that run through it"),
    ],
    "What meets in one line.",
)];
