//! What may be written in number costs no more than its number; what would
//! cost too much is cut short, and told.

#[path = "../../benches/kinds/mod.rs"]
mod kinds;

use std::cell::OnceCell;

use gutta_notation::StanzaKind;
use gutta_protocol::derive::View;
use gutta_protocol::measures::Measures;
use gutta_protocol::model::Library;
use gutta_protocol::working::Working;
use gutta_protocol::{Analysis, House, Workspace};
use gutta_quantity::{Exact, work};

use super::budget::{ALL, SEARCH, STORY};
use crate::as_if::AsIf;
use crate::harness::{findings, show};
use crate::{Check, Options, OrderContext, Severity, check_stanza, rules, story};

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
                style: workspace.house.style,
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

/// The work of the search for slips in the only order of the text, and of the
/// search for what has one cause; with the rules that find something.
fn searched(text: String) -> (u64, u64, Vec<&'static str>) {
    let workspace = Workspace::new(kinds::files(text), House::default());
    let library = Library::new(&workspace);
    let order = workspace.stanzas_of(StanzaKind::Order).last().unwrap();
    let analysis = Analysis::of(&workspace, &library, order);
    let context = OrderContext {
        workspace: &workspace,
        library: &library,
        stanza: order,
        options: &Options::default(),
        analysis: &analysis,
        flows: &OnceCell::new(),
        substances: &OnceCell::new(),
        mended: &OnceCell::new(),
    };
    let as_if = AsIf {
        context: &context,
        rules: rules(),
    };
    let mut found = as_if.found(&analysis, |_| true);
    let mut slips = 0;
    for rule in rules() {
        if let Check::Search(search) = rule.check {
            slips += work::counted(|| search(&context, rules(), &mut found)).1;
        }
    }
    let stories = work::counted(|| story::link(&context, &mut found, |link| link())).1;
    let rules = found.iter().map(|finding| finding.rule.name);
    (slips, stories, rules.collect())
}

/// Ten times the flow beside a load with a maximum; too often, with a part of it
/// at once each time and a flush after it; ten times the amount in the second of
/// two phases that repeat: each with as many limits as a drug has.
#[test]
fn the_searches_of_everyday_orders_are_carried_to_their_end() {
    let orders = [
        "  mix        20 g made up to 500 mL with saline\n  bolus      20 mg/kg over 20 min, at most 2 g\n  run        all at 120 mL/h\n  then       renew\n",
        "  mix        2.1 g made up to 100 mL with saline\n  bolus      300 mg over 30 min, each time\n  run        all over 2 h 24 min every 3 h for 4 days\n  flush      20 mL with saline\n",
        "  phase      first\n    mix      15 mg/kg added to 100 mL of saline\n    bolus    5 mg/kg over 30 min, each time\n    run      all over 90 min every 8 h for 6 doses\n  phase      second\n    mix      200 mg/kg added to 100 mL of saline\n    run      all over 2 h every 8 h for 4 days\n",
    ];
    for order in orders {
        let text = format!(
            "use \"tarnwick.gtt\"\n\ndrug limitamine \"A drug with limits\"\n  supplied   1 g in 10 mL\n  with       saline\n  usual dose 2 to 12 mg/kg/h\n  never dose above 15 mg/kg/h\n  never dose above 1.8 g/h\n  usual bolus 2 to 30 mg/kg\n  never bolus above 40 mg/kg\n  never bolus time below 5 min\n  usual single dose 10 to 60 mg/kg\n  never single dose above 6 g\n  usual interval 6 to 24 h\n  never interval below 4 h\n  never total above 15 g per day\n  never total above 250 mg/kg in any 12 h\n\norder limitamine-steady \"Limitamine\"\n  drug       limitamine\n  area       adult-icu\n  patient    weight 70 to 120 kg\n  route      central vein\n{order}"
        );
        let (slips, stories, rules) = searched(text);
        assert!(rules.contains(&"limit.never"), "{rules:?}: {order}");
        assert!(slips < SEARCH / 4, "{slips}: {order}");
        assert!(stories < STORY, "{stories}: {order}");
    }
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
