//! What may be written in number costs no more than its number; what would
//! cost too much is cut short, and told.

#[path = "../../benches/kinds/mod.rs"]
mod kinds;

use gutta_notation::StanzaKind;
use gutta_protocol::derive::View;
use gutta_protocol::measures::Measures;
use gutta_protocol::model::Library;
use gutta_protocol::working::Working;
use gutta_protocol::{Analysis, House, Workspace};
use gutta_quantity::{Exact, work};

use super::budget::{ALL, SEARCH, STORY};
use crate::harness::{findings, show};
use crate::{Options, Severity, check_stanza};

/// The work of checking every stanza of the text, one after the other, and
/// whether any was cut short.
fn work_of(text: String) -> (u64, bool) {
    let workspace = Workspace::new(kinds::files(text), House::default());
    let library = Library::new(&workspace);
    let options = Options::default();
    let (mut all, mut cut) = (0, false);
    for file in workspace.file_ids() {
        for stanza in workspace.stanzas_in(file) {
            let (found, units) =
                work::counted(|| check_stanza(&workspace, &library, stanza, &options));
            // The search for slips may be: it explains, and no more.
            cut |= found.iter().any(|finding| {
                finding.rule.name == "check.cut-short" && finding.severity == Severity::Error
            });
            all += units;
        }
    }
    (all, cut)
}

/// What twice as much adds is twice what as much added before, where the work
/// is in proportion; four times, where it goes by the square.
#[test]
fn work_grows_with_the_number_and_not_with_its_square() {
    const N: usize = 40;
    let mut faults = String::new();
    for (name, text) in kinds::KINDS {
        let [(one, _), (two, _), (four, cut)] = [N, 2 * N, 4 * N].map(|n| work_of(text(n)));
        let (before, then) = (two.saturating_sub(one), four.saturating_sub(two));
        if cut || then > 3 * before + 100 {
            faults.push_str(&format!(
                "{name}: {one}, {two}, {four} units, cut short: {cut}\n"
            ));
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// The work of deriving all that is shown of the last order of the text, with
/// every step.
fn work_of_deriving(text: String) -> u64 {
    let workspace = Workspace::new(kinds::files(text), House::default());
    let library = Library::new(&workspace);
    let order = workspace.stanzas_of(StanzaKind::Order).last().unwrap();
    let analysis = Analysis::of(&workspace, &library, order);
    let order = &analysis.order;
    let derive = |view: &View| {
        for value in (Measures { order, view }).all(None) {
            let x = view.patients.interval.lo();
            let working = Working {
                order,
                view,
                x,
                dose: None,
            };
            std::hint::black_box(working.steps(&value));
        }
    };
    let views = &analysis.values.as_ref().unwrap().views;
    work::counted(|| views.iter().for_each(derive)).1
}

/// Each substance and each bolus has its values, which go over all the others:
/// by the square at most of what a line costs, and never by its cube.
#[test]
fn values_are_derived_without_going_over_all_lines_for_each_pair_of_them() {
    const N: usize = 40;
    for (name, text) in [kinds::KINDS[13], kinds::KINDS[4], kinds::KINDS[3]] {
        let [one, two, four] = [N, 2 * N, 4 * N].map(|n| work_of_deriving(text(n)));
        assert!(
            four - two <= 3 * (two - one) + 100,
            "{name}: {one}, {two}, {four}"
        );
    }
}

#[test]
fn what_takes_too_long_is_cut_short_everywhere_alike() {
    let text = format!("use \"tarnwick.gtt\"\n\n{}", kinds::limits_and_runs(300));
    let once = findings(&text);
    let told: Vec<_> = once
        .iter()
        .filter(|finding| finding.rule.name == "check.cut-short")
        .collect();
    assert_eq!(told.len(), 1, "{once:?}");
    assert!(told[0].notes[0].contains("`limit.never`"), "{told:?}");
    assert!(told[0].locked);
    assert_eq!(format!("{once:?}"), format!("{:?}", findings(&text)));
}

#[test]
fn what_is_steep_stays_within_the_budgets() {
    for (name, text) in kinds::STEEP {
        let (units, _) = work_of(text(300));
        let stanzas = 40 * 200;
        assert!(
            units < 2 * (ALL + SEARCH + STORY) + stanzas,
            "{name}: {units}"
        );
    }
}

/// Reducing a fraction that has grown beyond 64 bits takes as long as some ten
/// steps with curves: the sums of steep kinds are made of nothing else.
#[test]
fn big_numbers_are_charged_by_what_they_take() {
    let big = Exact::ten_to(25);
    let third = big.checked_div(&Exact::int(3)).unwrap();
    let (_, units) = work::counted(|| std::hint::black_box(&third * &third));
    assert!(units >= 9, "{units}");
    let (_, units) = work::counted(|| std::hint::black_box(big.cmp(&third)));
    assert!(units >= 2, "{units}");
}

#[test]
fn only_the_search_for_slips_may_be_cut_short() {
    let (_, text) = kinds::KINDS[2];
    let text = |n| format!("use \"tarnwick.gtt\"\n\n{}", text(n));
    let cut = |n| {
        let mut found = findings(&text(n)).into_iter();
        found.find(|finding| finding.rule.name == "check.cut-short")
    };
    assert!(cut(10).is_none());
    let cut = cut(600).unwrap();
    assert_eq!(cut.severity, Severity::Warning);
    assert!(cut.message.contains("`limit.slip`"), "{}", cut.message);
}

/// A kind that cannot be read would cost nothing.
#[test]
fn every_kind_is_read() {
    let mut faults = String::new();
    for (name, text) in kinds::KINDS {
        let unread = ["names that are not known", "incomplete orders in one file"];
        if unread.contains(&name) {
            continue;
        }
        let text = format!("use \"tarnwick.gtt\"\n\n{}", text(3));
        for finding in findings(&text) {
            let rule = finding.rule.name;
            let hurdle = [
                "text.unreadable",
                "text.no-value",
                "name.unknown",
                "limit.not-checked",
            ];
            if hurdle.contains(&rule) {
                faults.push_str(&format!("{name}: {}", show(&text, &finding)));
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}
