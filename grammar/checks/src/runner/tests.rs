use gutta_notation::ast::Date;
use gutta_notation::{Mark, MarkKind, NoValue, Phrase, Span, Unreadable, Why};
use gutta_protocol::{FileId, House, StanzaId, Workspace};

use super::check;
use crate::registry::of_mark;
use crate::{Check, MarkContext, Options, Severity};

const ORDER: &str = "order saline-small \"Saline\"\n  review by  2025-01-01\n";

/// One mark of each kind, and of each reason of those kinds that have some.
fn every_mark() -> Vec<MarkKind> {
    let unreadable = |why, expected: &[&str]| {
        let expected = expected.iter().map(|word| (*word).to_owned()).collect();
        MarkKind::Unreadable(Box::new(Unreadable { expected, why }))
    };
    let word = || "ceilng".to_owned();
    let why = [
        Why::UnknownKeyword { found: word() },
        Why::WrongHome {
            keyword: word(),
            home: "an order".to_owned(),
        },
        Why::BeforeFirstStanza,
        Why::IndentedStanza,
        Why::IndentThis,
        Why::Dash,
        Why::MadeUpOrAdded,
        Why::How,
        Why::UnclosedText,
        Why::RangeWanted,
        Why::BlankAfterKeyword,
        Why::TooLong,
        Why::NotText,
        Why::Other("A pump has no bag.".to_owned()),
    ];
    let mut kinds: Vec<_> = why
        .into_iter()
        .map(|why| unreadable(Some(why), &[]))
        .collect();
    kinds.extend([
        unreadable(None, &["a volume", "`all`"]),
        unreadable(None, &[]),
        MarkKind::TrailingZero,
        MarkKind::BarePoint,
        MarkKind::NoSpace,
        MarkKind::Thousands,
        MarkKind::DecimalComma,
        MarkKind::RiskyUnit {
            safe: "units".to_owned(),
        },
        MarkKind::Twice {
            first: Span::new(0, 5),
        },
        MarkKind::OddCharacter { found: '\u{a0}' },
        MarkKind::OddCharacter { found: '×' },
        MarkKind::HiddenCharacter {
            found: '\u{202e}',
            more: 0,
        },
        MarkKind::Pounds,
        MarkKind::RiskyName {
            full: "magnesium-sulfate",
        },
        MarkKind::RatioStrength,
        MarkKind::UnknownUnit,
        MarkKind::MissingUnit {
            fits: vec![gutta_quantity::units::ML_PER_H],
        },
        MarkKind::MissingUnit { fits: Vec::new() },
    ]);
    kinds.extend(
        [
            Phrase::Capital,
            Phrase::Indent,
            Phrase::Lid,
            Phrase::UnitOrder,
            Phrase::Spelling,
            Phrase::PerDay,
            Phrase::Comma,
            Phrase::WordOrder,
        ]
        .map(MarkKind::Phrase),
    );
    kinds.extend(
        [
            NoValue::LeadingZero,
            NoValue::TrailingPoint,
            NoValue::Fraction,
            NoValue::Sign,
            NoValue::Exponent,
            NoValue::TooManyDigits,
            NoValue::Zero,
            NoValue::FallingRange,
            NoValue::MixedRange,
            NoValue::Date,
            NoValue::CompoundTime,
            NoValue::FallingList,
            NoValue::Malformed,
        ]
        .map(MarkKind::NoValue),
    );
    kinds
}

#[test]
fn no_mark_stays_silent() {
    let workspace = Workspace::new(vec![("a.gtt", ORDER)], House::default());
    let stanza: StanzaId = workspace
        .file_ids()
        .flat_map(|file| workspace.stanzas_in(file))
        .next()
        .unwrap();
    for kind in every_mark() {
        for span in [Span::new(6, 18), Span::new(18, 18)] {
            let mark = Mark {
                kind: kind.clone(),
                span,
                fixes: Vec::new(),
            };
            let context = MarkContext {
                workspace: &workspace,
                stanza,
                mark: &mark,
            };
            let rule = of_mark(&kind);
            let (Check::Mark(check) | Check::MarkAndFile(check, _)) = rule.check else {
                panic!("{} does not look at marks", rule.name);
            };
            let finding = check(&context).unwrap_or_else(|| panic!("silent: {kind:?}"));
            assert_eq!(finding.rule.name, rule.name);
            assert!(finding.message.ends_with(['.', '?']), "{}", finding.message);
            assert!(!finding.notes.is_empty(), "what to do: {}", finding.message);
        }
    }
}

fn overdue(house: &str, today: Option<Date>) -> Vec<Severity> {
    let house = House::from_toml(house).unwrap();
    let workspace = Workspace::new(vec![("a.gtt", ORDER)], house);
    check(&workspace, None, &Options { today })
        .iter()
        .filter(|finding| finding.rule.name == "review.overdue")
        .map(|finding| finding.severity)
        .collect()
}

#[test]
fn a_house_sets_severities() {
    let today = Some(crate::harness::TODAY);
    assert_eq!(overdue("", today), [Severity::Warning]);
    let house = "[severity]\n\"review.overdue\" = \"error\"\n";
    assert_eq!(overdue(house, today), [Severity::Error]);
}

#[test]
fn without_a_day_no_date_is_judged() {
    assert_eq!(overdue("", None), []);
}

#[test]
fn a_locked_rule_keeps_its_severity() {
    let house = House::from_toml("[severity]\n\"text.unreadable\" = \"hint\"\n").unwrap();
    let workspace = Workspace::new(vec![("a.gtt", "ordr b \"B\"\n")], house);
    let found = check(&workspace, None, &Options::default());
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].severity, Severity::Error);
}

#[test]
fn findings_stand_in_the_order_of_the_text_whatever_is_asked() {
    let text = "order b \"B\"\n  mix 5.0mg made up to 50mL with x\n\norder a \"A\"\n  drug y\n";
    let files = vec![("b.gtt", text), ("a.gtt", text)];
    let workspace = Workspace::new(files, House::default());
    let all = check(&workspace, None, &Options::default());
    let causes = crate::stories(&all).into_iter().map(|story| story.cause);
    assert!(causes.is_sorted_by_key(|finding| (finding.place, finding.rule.name)));
    let told = crate::stories(&all).into_iter();
    let told = told.flat_map(|story| std::iter::once(story.cause).chain(story.follows));
    assert!(
        told.map(|finding| finding.place)
            .eq(all.iter().map(|finding| finding.place))
    );
    let mut ids: Vec<_> = workspace.file_ids().collect();
    ids.reverse();
    let asked = check(&workspace, Some(&ids), &Options::default());
    let shown = |findings: &[crate::Finding]| -> Vec<_> {
        findings
            .iter()
            .map(|finding| (finding.place, finding.message.clone()))
            .collect()
    };
    assert_eq!(shown(&all), shown(&asked));
}

#[test]
fn a_fault_of_a_rule_is_a_finding() {
    let text = "order a \"A\"\n  note \"x\"\n";
    let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
    let stanza = workspace.stanzas_in(FileId(0)).next().unwrap();
    let found = super::guarded(&workspace, stanza, || panic!("as the test asked"));
    let [finding] = found.as_slice() else {
        panic!("{found:?}")
    };
    assert_eq!(finding.rule.name, "limit.not-checked");
    assert!(finding.locked && finding.severity == Severity::Error);
    assert_eq!(workspace.text_at(finding.place), "order a \"A\"");
}
