//! The shape of a line while it is written, with the part that is next.

use gutta_notation::StanzaKind;

use crate::state::Site;

/// The shapes that a line may take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Signature {
    pub(crate) shapes: &'static [Shape],
    /// Which of them the line takes, as far as it is written.
    pub(crate) active: usize,
    /// The part of that one which the cursor is in.
    pub(crate) part: usize,
}

/// A line's shape.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Shape {
    /// The keyword.
    pub(crate) keyword: &'static str,
    pub(crate) parts: &'static [Part],
    /// What the line says, in a sentence.
    pub(crate) about: &'static str,
}

/// A part of a shape.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Part {
    /// As the shape writes it.
    pub(crate) text: &'static str,
    /// The words that begin it; the first part begins with the line.
    pub(crate) starts: &'static [&'static str],
    pub(crate) about: &'static str,
}

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
    "a lid on the dose or the amount, for the whole patient",
);
const WITH: Part = part("with SOLUTION", &["with"], "the diluent's name");
const CONDITIONS: Part = part(
    "[by ROUTE] [in AREA] [for WEIGHTS] [aged AGES] [as PURPOSE] [after the first TIME]",
    &["by", "in", "for", "aged", "as", "after"],
    "when the limit holds: all kinds that are named must",
);
const EXCEPT: Part = part(
    "[except CONDITIONS]",
    &["except"],
    "when it does not hold: any of these lifts it",
);

const RUN: &[Shape] = &[Shape {
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
            "a flow (mL/h), a dose (mcg/kg/min) or a drip (drops/min)",
        ),
        part(
            "over TIME",
            &["over"],
            "a time, from which the flow follows",
        ),
        AT_MOST,
        part(
            "every TIME",
            &["every"],
            "from the start of one giving to the start of the next",
        ),
        part(
            "for N doses",
            &["for"],
            "how often in all, or for how long (`for 3 days`)",
        ),
    ],
    about: "Runs from the bag. One way, `at` or `over`, is enough; two must agree.",
}];

const MIX: &[Shape] = &[
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
                "the diluent's volume: the drug's own comes on top",
            ),
            part("of SOLUTION", &["of"], "the diluent's name"),
            part(
                ", counted as VOLUME",
                &["counted as", "counted"],
                "the volume by which strength and flow are reckoned",
            ),
        ],
        about: "The final volume is the one written and the drug's own.",
    },
];

const BOLUS: &[Shape] = &[Shape {
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

const ADJUST: &[Shape] = &[Shape {
    keyword: "adjust",
    parts: &[
        part(
            "LOW to HIGH UNIT",
            &[],
            "the settings that are allowed, or a list of them: `1, 2, 4 mL/h`",
        ),
        part("by STEP", &["by"], "one step, counted from the low end"),
        part("every TIME", &["every"], "the least time between two steps"),
    ],
    about: "Permission to go one step up or down.",
}];

const MEASURE: &str = "`dose`, `flow`, `single dose`, `interval`, `strength`, `osmolarity`, \
     `bolus`, `bolus rate`, `bolus time`, `total` or `time`";

const USUAL: &[Shape] = &[Shape {
    keyword: "usual",
    parts: &[
        part("MEASURE", &[], MEASURE),
        part(
            "LOW to HIGH UNIT",
            &[
                "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "up to", "up",
            ],
            "ends included; one side alone: `up to 4 g`, `60 min or more`",
        ),
        part(
            "[per day]",
            &["per day", "in any"],
            "of a total: over which time it is taken",
        ),
        CONDITIONS,
    ],
    about: "Outside it a warning.",
}];

const NEVER: &[Shape] = &[
    Shape {
        keyword: "never",
        parts: &[
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
        about: "Beyond it an error.",
    },
    Shape {
        keyword: "never",
        parts: &[
            part("by ROUTE", &["by"], "a route, or several after commas"),
            CONDITIONS,
            EXCEPT,
        ],
        about: "Never by this route. So also `never in AREA` and `never undiluted`.",
    },
];

const EXPECT: &[Shape] = &[Shape {
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
            "the value that the order must have, to the last digit written",
        ),
        part("[per day]", &["per day"], "the most in any 24 hours"),
        part(
            "[at WEIGHT] [at DOSE]",
            &["at"],
            "for one patient, at one setting; without, it must hold for all",
        ),
        part("[in PHASE]", &["in"], "in one phase alone"),
    ],
    about: "A worked example.",
}];

const PREMIXED: &[Shape] = &[Shape {
    keyword: "premixed",
    parts: &[
        part("AMOUNT", &[], "the drug in the bag, or its strength"),
        part("in VOLUME", &["in"], "the bag's volume"),
        part("of SOLUTION", &["of"], "what it is made with"),
    ],
    about: "A bag as it is bought.",
}];

/// The shape of the line at the byte, as far as it is written before it.
pub(crate) fn signature(site: Site<'_>, offset: u32) -> Option<Signature> {
    let id = site.stanza_at(offset)?;
    let kind = site.workspace.stanza(id).kind;
    let text = site.source().text.get(..offset as usize)?;
    let start = text.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    of_line(kind, text.get(start..)?)
}

/// The same for the line's text before the cursor.
fn of_line(kind: StanzaKind, before: &str) -> Option<Signature> {
    if !before.starts_with([' ', '\t']) || in_comment_or_text(before) {
        return None;
    }
    let written = before.trim_start();
    let (keyword, rest) = written.split_once([' ', '\t'])?;
    let order = matches!(kind, StanzaKind::Order | StanzaKind::Specimen);
    let shapes = match (keyword, kind) {
        ("run", _) if order => RUN,
        ("mix", _) if order => MIX,
        ("bolus", _) if order && !rest.trim_start().starts_with("ceiling") => BOLUS,
        ("adjust", _) if order => ADJUST,
        ("expect", _) if order => EXPECT,
        ("premixed", _) if order => PREMIXED,
        ("usual", StanzaKind::Drug) => USUAL,
        ("never", StanzaKind::Drug) => NEVER,
        _ => return None,
    };
    let words: Vec<&str> = rest.split_whitespace().collect();
    let ended = rest.ends_with([' ', '\t']);
    let mut best = (0, 0, 0);
    for (index, shape) in shapes.iter().enumerate() {
        let (part, known) = progress(shape, &words, ended);
        if known > best.2 || index == 0 {
            best = (index, part, known);
        }
    }
    let (active, part, _) = best;
    Some(Signature {
        shapes,
        active,
        part,
    })
}

/// The part in which the words end, and how many of the shape's own words
/// stand among them.
fn progress(shape: &Shape, words: &[&str], ended: bool) -> (usize, usize) {
    let mut current = 0;
    let mut known = 0;
    // Where the current part's own words end.
    let mut from = 0;
    let mut at = 0;
    // A word that is still being written begins nothing.
    let whole = if ended {
        words.len()
    } else {
        words.len().saturating_sub(1)
    };
    while at < whole {
        match started(shape, words.get(at..whole).unwrap_or(&[]), current) {
            Some((part, taken)) => {
                // A number that begins a part belongs to it.
                let number = starts_number(words.get(at).copied().unwrap_or(""));
                let again = number && part == current;
                if !again {
                    current = part;
                    // A shape that begins otherwise than the rest is meant.
                    known += if part == 0 { 2 } else { 1 };
                    from = if number { at } else { at + taken };
                }
                at += taken.max(1);
            }
            None => at += 1,
        }
    }
    let own = words.get(from..whole).unwrap_or(&[]);
    if ended && is_complete(own) && current + 1 < shape.parts.len() {
        let optional = |part: &Part| part.text.starts_with(',');
        let next = (current + 1..shape.parts.len())
            .find(|next| shape.parts.get(*next).is_some_and(|part| !optional(part)));
        current = next.unwrap_or(current + 1);
    }
    (current, known)
}

/// The part that the words begin, and how many of them do. A number begins no
/// part before the current one: it belongs to that (`at 70 kg`).
fn started(shape: &Shape, words: &[&str], current: usize) -> Option<(usize, usize)> {
    let mut best: Option<(usize, usize)> = None;
    for (index, part) in shape.parts.iter().enumerate() {
        for start in part.starts {
            let len = start.split(' ').count();
            let digit = start.len() == 1 && start.starts_with(|c: char| c.is_ascii_digit());
            let fits = if digit {
                index >= current && words.first().is_some_and(|word| word.starts_with(start))
            } else {
                let mut own = words.iter().map(|word| word.trim_end_matches(','));
                start.split(' ').all(|word| own.next() == Some(word))
            };
            if fits && best.is_none_or(|(_, longest)| len > longest) {
                best = Some((index, len));
            }
        }
    }
    best
}

fn starts_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
}

/// Words that need another one behind them.
const OPEN: &[&str] = &[
    "pump",
    "true",
    "single",
    "central",
    "peripheral",
    "umbilical",
    "nerve",
];

/// Whether a part has all that it needs: a number with its unit, or words.
fn is_complete(words: &[&str]) -> bool {
    let Some(last) = words.last() else {
        return false;
    };
    if !words.iter().any(|word| starts_number(word)) {
        return !OPEN.contains(last) && !last.ends_with(',');
    }
    match words {
        [.., number, unit] => starts_number(number) && !starts_number(unit) && *unit != "to",
        _ => false,
    }
}

/// Whether a comment or an open text precedes the cursor.
fn in_comment_or_text(before: &str) -> bool {
    let mut in_text = false;
    for letter in before.chars() {
        match letter {
            '"' => in_text = !in_text,
            '#' if !in_text => return true,
            _ => {}
        }
    }
    in_text
}

#[cfg(test)]
mod tests;
