//! Every way in which a house may write, and what is written in none of them
//! but another. The tests of the command and of the server share it.

use gutta_checks::{Page, rules};
use gutta_notation::{DigitGroups, Micro, Style, in_style};

/// A house.
#[derive(Clone, Copy, Debug)]
pub(crate) struct House {
    pub(crate) style: Style,
    /// Its `gutta.toml`.
    pub(crate) toml: &'static str,
}

/// All four.
pub(crate) const HOUSES: [House; 4] = [
    house(
        DigitGroups::Comma,
        Micro::Mcg,
        "digit-groups = \"comma\"\nmicrograms = \"mcg\"\n",
    ),
    house(
        DigitGroups::Comma,
        Micro::Micrograms,
        "digit-groups = \"comma\"\nmicrograms = \"micrograms\"\n",
    ),
    house(
        DigitGroups::Space,
        Micro::Mcg,
        "digit-groups = \"space\"\nmicrograms = \"mcg\"\n",
    ),
    house(
        DigitGroups::Space,
        Micro::Micrograms,
        "digit-groups = \"space\"\nmicrograms = \"micrograms\"\n",
    ),
];

const fn house(digit_groups: DigitGroups, micro: Micro, toml: &'static str) -> House {
    House {
        style: Style {
            digit_groups,
            micro,
        },
        toml,
    }
}

/// Orders of large numbers and of small masses, right and wrong: what is
/// printed of them shows the house's style.
const LARGE: &str = include_str!("large.gtt");

/// What the rules' pages lean on.
const TARNWICK: &str = include_str!("../../grammar/checks/src/tarnwick.gtt");

impl House {
    /// A text of the project's own as the house writes it.
    pub(crate) fn writes(self, text: &str) -> String {
        in_style(text, self.style).into_owned()
    }

    /// The orders of large numbers.
    pub(crate) fn large(self) -> String {
        self.writes(LARGE)
    }

    /// What the pages lean on.
    pub(crate) fn reference(self) -> String {
        self.writes(TARNWICK)
    }

    /// The bad and the fixed example of every rule's page, by the rule's name.
    pub(crate) fn pages(self) -> Vec<(&'static str, String, String)> {
        let pages = rules().iter().map(|rule| {
            let text = rule.page(self.style);
            let page = Page::of(&text);
            let example = |heading| page.example(heading).unwrap().to_owned();
            (rule.name, example("Bad"), example("Fixed"))
        });
        pages.collect()
    }

    /// What in `said` no person of the house writes: a number in other groups,
    /// or a unit in another spelling. What stands so in the `source` is quoted.
    pub(crate) fn foreign(self, said: &str, source: &str) -> Option<String> {
        let found = numbers(said).find(|number| !self.groups(number) && !stands(source, number));
        found.map(str::to_owned).or_else(|| {
            let mut words = said.split(|c: char| !c.is_ascii_alphabetic());
            let other: &[&str] = match self.style.micro {
                Micro::Mcg => &["microgram", "micrograms", "nanogram", "nanograms"],
                Micro::Micrograms => &["mcg", "ng"],
            };
            let word = words.find(|word| other.contains(word) && !source.contains(word));
            word.map(str::to_owned)
        })
    }

    /// Whether the number is grouped as the house does.
    fn groups(self, number: &str) -> bool {
        let whole = number.split('.').next().unwrap_or("");
        let digits = whole.bytes().filter(u8::is_ascii_digit).count();
        let mine = self.style.digit_groups.separator();
        let others = [',', ' '].into_iter().filter(|other| *other != mine);
        !whole.contains(others.collect::<Vec<_>>().as_slice())
            && (digits < 5 || whole.contains(mine))
    }

    /// Why a text does not read as well in this house as the one before it was
    /// changed: what is remarked now, and was not.
    pub(crate) fn reads_worse(self, before: &str, after: &str) -> Option<String> {
        let mut known = marks(before, self.style);
        marks(after, self.style).into_iter().find(|mark| {
            let place = known.iter().position(|known| known == mark);
            place.map(|place| known.swap_remove(place)).is_none()
        })
    }
}

/// What reading remarks, by rule, with what it marks.
fn marks(text: &str, style: Style) -> Vec<String> {
    let mut all = Vec::new();
    for placed in gutta_notation::read(text, style).stanzas {
        let stanza = &text[placed.start as usize..];
        all.extend(placed.stanza.marks.iter().map(|mark| {
            let (start, end) = (mark.span.start as usize, mark.span.end as usize);
            format!("{} at `{}`", mark.kind.rule(), &stanza[start..end])
        }));
    }
    all
}

/// The numbers of a text that are long or grouped, in whatever way; digits of
/// a word are none.
fn numbers(text: &str) -> impl Iterator<Item = &str> {
    let mut at = 0;
    std::iter::from_fn(move || {
        loop {
            let rest = text.get(at..)?;
            let begin = at + rest.find(|c: char| c.is_ascii_digit())?;
            let end = begin + length(&text[begin..]);
            at = end;
            let beside = |c: Option<char>| c.is_some_and(char::is_alphabetic);
            let of_word =
                beside(text[..begin].chars().next_back()) || beside(text[end..].chars().next());
            if end - begin >= 5 && !of_word {
                return Some(&text[begin..end]);
            }
        }
    })
}

/// How long the number is that a text begins with: digits, groups of three
/// behind them, decimals.
fn length(text: &str) -> usize {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let mut end = digits(text);
    if end <= 3 {
        while let Some(group) = text[end..].strip_prefix([',', ' ']) {
            if digits(group) != 3 {
                break;
            }
            end += 4;
        }
    }
    if let Some(decimals) = text[end..].strip_prefix('.') {
        let decimals = digits(decimals);
        end += if decimals > 0 { decimals + 1 } else { 0 };
    }
    end
}

/// Whether the number stands in a text by itself.
fn stands(text: &str, number: &str) -> bool {
    let beside = |c: Option<char>| c.is_none_or(|c| !c.is_ascii_digit());
    text.match_indices(number).any(|(at, _)| {
        beside(text[..at].chars().next_back()) && beside(text[at + number.len()..].chars().next())
    })
}

#[test]
fn what_is_foreign_is_seen() {
    let [comma, words, space, _] = HOUSES;
    for (house, said, foreign) in [
        (comma, "25,000 units, 2000 mL", None),
        (comma, "25 000 units", Some("25 000")),
        (comma, "25000 units", Some("25000")),
        (comma, "at 5 micrograms", Some("micrograms")),
        (comma, "5 mcg, 12345.5 mg", Some("12345.5")),
        (space, "25 000 units, 0.12345 mL, 1 234.5 mL", None),
        (space, "1,234.5 mL", Some("1,234.5")),
        (space, "5, 100 mL", None),
        (words, "25,000 units, 5 mcg/mL", Some("mcg")),
        (words, "2 nanograms of something", None),
        (words, "2 ng", Some("ng")),
    ] {
        assert_eq!(house.foreign(said, "").as_deref(), foreign, "{said}");
        assert_eq!(house.foreign(said, said), None, "{said}");
    }
}
