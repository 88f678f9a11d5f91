//! The settings of `gutta.toml`, a row each. What the file may hold, how a value
//! is read, what holds without it, the schema for editors and the file that
//! begins a repository all follow from these rows.

use std::fmt::Write;

use gutta_notation::{DigitGroups, Micro};
use gutta_quantity::{Atom, Exact, Unit};
use smol_str::SmolStr;

use super::House;

/// A setting.
#[derive(Clone, Copy, Debug)]
pub struct Setting {
    /// The table it is in; empty for the top of the file.
    pub table: &'static str,
    /// Its key.
    pub key: &'static str,
    /// What it sets, in a sentence.
    pub about: &'static str,
    /// What holds where the file leaves it out, as the file would write it;
    /// `None`: nothing.
    pub default: Option<&'static str>,
    /// A value, as the file writes it.
    pub example: &'static str,
    /// What its values look like, and where one is kept.
    pub form: Form,
}

/// The form of a setting's values.
#[derive(Clone, Copy, Debug)]
pub enum Form {
    /// One of some words; the function is given the place of the word.
    Word(&'static [&'static str], fn(&mut House, usize)),
    /// A name that the workspace declares.
    Name(fn(&mut House) -> &mut Option<SmolStr>),
    /// A part of the whole: `10 %`, or `0.1`.
    Share(fn(&mut House) -> &mut Exact),
    /// A number of mOsm/L.
    Osmolarity(fn(&mut House) -> &mut Exact),
    /// `30 min`, in minutes.
    Time(fn(&mut House) -> &mut Exact),
    /// `24 h`, in minutes, where there may be none.
    TimeIfAny(fn(&mut House) -> &mut Option<Exact>),
    /// `5 to 150 drops/min`.
    Drops(fn(&mut House, (Exact, Exact))),
    /// A list of `0.1 mL to 5 mL`: from mark to mark, up to this size.
    SyringeMarks(fn(&mut House) -> &mut Vec<(Exact, Exact)>),
    /// A list of patterns of paths.
    Patterns(fn(&mut House) -> &mut Vec<String>),
}

/// The tables of the file, each with what it is for.
pub const TABLES: [(&str, &str); 3] = [
    (
        "default",
        "What applies where neither an order nor its area says so.",
    ),
    (
        "house",
        "The hospital's own figures. They have no published source.",
    ),
    (
        "severity",
        "Another severity for a rule: \"error\", \"warning\", \"information\" or \"hint\". A rule that guards a `never`, a route or legibility cannot be lowered.",
    ),
];

/// The settings, in the order in which the file is written. The table
/// `[severity]` holds names of rules instead.
pub const SETTINGS: [Setting; 17] = [
    with_default(
        "",
        "digit-groups",
        "How thousands are separated, from 10,000 up: \"comma\" (25,000) or \"space\" (25 000).",
        "\"comma\"",
        Form::Word(&["comma", "space"], |house, at| {
            house.style.digit_groups = [DigitGroups::Comma, DigitGroups::Space][at];
        }),
    ),
    with_default(
        "",
        "micrograms",
        "How micrograms are spelled, and nanograms with them: \"mcg\" or \"micrograms\".",
        "\"mcg\"",
        Form::Word(&["mcg", "micrograms"], |house, at| {
            house.style.micro = [Micro::Mcg, Micro::Micrograms][at];
        }),
    ),
    Setting {
        default: Some("[]"),
        ..without_default(
            "",
            "exclude",
            "Paths that are not checked, also where they are named on the command line: patterns as in a `.gitignore`, from this file's folder.",
            "[\"old/**\"]",
            Form::Patterns(|house| &mut house.exclude),
        )
    },
    without_default(
        "default",
        "pump",
        "The pump where neither the order nor its area names one.",
        "\"syringe\"",
        Form::Name(|house| &mut house.pump),
    ),
    without_default(
        "default",
        "area",
        "The area where the order names none.",
        "\"adult-icu\"",
        Form::Name(|house| &mut house.area),
    ),
    without_default(
        "default",
        "giving-set",
        "The giving set where neither the order nor its area names one.",
        "\"macro\"",
        Form::Name(|house| &mut house.giving_set),
    ),
    share(
        "rounding-tolerance",
        "How far the pump's rounding may change a dose.",
        "\"10 %\"",
        |house| &mut house.rounding_tolerance,
    ),
    share(
        "counted-as-tolerance",
        "How far a volume `counted as` may be from the true one.",
        "\"5 %\"",
        |house| &mut house.counted_as_tolerance,
    ),
    share(
        "reference-tolerance",
        "How far two lines of a reference may differ on the same thing.",
        "\"10 %\"",
        |house| &mut house.reference_tolerance,
    ),
    with_default(
        "house",
        "peripheral-osmolarity",
        "The osmolarity above which a peripheral vein is too small.",
        "\"900 mOsm/L\"",
        Form::Osmolarity(|house| &mut house.peripheral_osmolarity),
    ),
    share(
        "left-over",
        "How much of a bag may be thrown away without a finding.",
        "\"50 %\"",
        |house| &mut house.left_over,
    ),
    with_default(
        "house",
        "countable-drops",
        "The drops per minute that can be counted by eye.",
        "\"5 to 150 drops/min\"",
        Form::Drops(|house, (low, high)| {
            house.drops_low = low;
            house.drops_high = high;
        }),
    ),
    with_default(
        "house",
        "line-delay",
        "How long a drug may take through its line.",
        "\"30 min\"",
        Form::Time(|house| &mut house.line_delay),
    ),
    share(
        "left-in-line",
        "How much of a dose may be left in the line.",
        "\"10 %\"",
        |house| &mut house.left_in_line,
    ),
    share(
        "marked-change",
        "By how much a value may change between two states before `gutta compare` marks it.",
        "\"10 %\"",
        |house| &mut house.marked_change,
    ),
    with_default(
        "house",
        "syringe-marks",
        "The volume between two marks of a syringe, and up to which size of syringe; in rising order.",
        "[\"0.01 mL to 1 mL\", \"0.1 mL to 5 mL\", \"0.2 mL to 10 mL\", \"0.5 mL to 20 mL\", \"1 mL to 60 mL\"]",
        Form::SyringeMarks(|house| &mut house.syringe_marks),
    ),
    without_default(
        "house",
        "hang-time",
        "How long a bag may hang where its drug does not say.",
        "\"24 h\"",
        Form::TimeIfAny(|house| &mut house.hang_time),
    ),
];

const fn without_default(
    table: &'static str,
    key: &'static str,
    about: &'static str,
    example: &'static str,
    form: Form,
) -> Setting {
    Setting {
        table,
        key,
        about,
        default: None,
        example,
        form,
    }
}

const fn with_default(
    table: &'static str,
    key: &'static str,
    about: &'static str,
    default: &'static str,
    form: Form,
) -> Setting {
    Setting {
        default: Some(default),
        ..without_default(table, key, about, default, form)
    }
}

const fn share(
    key: &'static str,
    about: &'static str,
    default: &'static str,
    place: fn(&mut House) -> &mut Exact,
) -> Setting {
    with_default("house", key, about, default, Form::Share(place))
}

impl Form {
    /// What counts osmolarity in the file.
    pub(super) const OSMOLARITY: Unit = Unit::over(Atom::MOsm, Atom::L);

    /// The regular expression of a value (of a list: of a member); `None`: any
    /// text.
    #[must_use]
    pub const fn pattern(self) -> Option<&'static str> {
        match self {
            Self::Word(..) | Self::Name(_) | Self::Patterns(_) => None,
            Self::Share(_) => Some(r"^[0-9]+(\.[0-9]+)?( ?%)?$"),
            Self::Osmolarity(_) => Some(r"^[0-9]+(\.[0-9]+)? mOsm/L$"),
            Self::Time(_) | Self::TimeIfAny(_) => Some(r"^[0-9]+(\.[0-9]+)? (s|min|h|days?)$"),
            Self::Drops(_) => {
                Some(r"^[0-9]+(\.[0-9]+)?( drops/min)? to [0-9]+(\.[0-9]+)? drops/min$")
            }
            Self::SyringeMarks(_) => Some(r"^[0-9]+(\.[0-9]+)? mL to [0-9]+(\.[0-9]+)? mL$"),
        }
    }

    /// Whether its value is a list.
    #[must_use]
    pub const fn is_list(self) -> bool {
        matches!(self, Self::SyringeMarks(_) | Self::Patterns(_))
    }
}

impl Setting {
    /// What a value looks like, in words: `"comma" or "space"`.
    #[must_use]
    pub fn shape(&self) -> String {
        match self.form {
            Form::Word(words, _) => {
                let words: Vec<_> = words.iter().map(|word| format!("\"{word}\"")).collect();
                words.join(" or ")
            }
            _ => self.example.to_owned(),
        }
    }
}

/// A `gutta.toml` that sets nothing: each setting as a comment, with what holds
/// without it (else an example). Any of them works when the `# ` before it is
/// taken away.
#[must_use]
pub fn commented() -> String {
    let mut text = String::new();
    let tables = std::iter::once(("", "")).chain(TABLES);
    for (table, about) in tables {
        if !table.is_empty() {
            let _ = writeln!(text, "\n{}[{table}]", comment(about));
        }
        for setting in SETTINGS.iter().filter(|setting| setting.table == table) {
            let value = setting.default.unwrap_or(setting.example);
            let about = comment(setting.about);
            let _ = writeln!(text, "\n{about}# {} = {value}", setting.key);
        }
    }
    let _ = writeln!(text, "# \"limit.unusual\" = \"error\"");
    text
}

/// A sentence as lines of comment, which no setting can be taken for.
fn comment(sentence: &str) -> String {
    const WIDTH: usize = 78;
    let mut text = String::from("##");
    let mut width = 2;
    for word in sentence.split(' ') {
        if width + 1 + word.chars().count() > WIDTH {
            text.push_str("\n##");
            width = 2;
        }
        text.push(' ');
        text.push_str(word);
        width += 1 + word.chars().count();
    }
    text.push('\n');
    text
}
