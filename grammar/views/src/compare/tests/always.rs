//! What holds for every comparison.

use std::fs;
use std::path::{Path, PathBuf};

use gutta_notation::Style;
use gutta_protocol::{House, Workspace};
use gutta_quantity::Exact;
use proptest::prelude::*;

use super::{compared, told, with};
use crate::compare::telling::size_of;
use crate::compare::{Comparison, Subject, compare};

fn examples() -> Vec<(String, String)> {
    fn walk(folder: &Path, into: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, into);
            } else if path.extension().is_some_and(|end| end == "gtt") {
                into.push(path);
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut paths = Vec::new();
    walk(&root, &mut paths);
    let read = |path: &PathBuf| {
        let name = path
            .strip_prefix(&root)
            .unwrap()
            .to_string_lossy()
            .replace('\\', "/");
        (name, fs::read_to_string(path).unwrap())
    };
    paths.iter().map(read).collect()
}

/// The text as a careless hand leaves it: blanks, comments, empty lines.
fn careless(text: &str) -> String {
    let lines = text.lines().enumerate().map(|(index, line)| {
        let indent = if line.starts_with(' ') { "       " } else { "" };
        let rest = line.trim_start();
        match index % 3 {
            _ if rest.is_empty() => "\n\n".to_owned(),
            0 => format!("{indent}{rest}   # a word beside"),
            1 => format!("{indent}{rest}\t "),
            _ => format!("{indent}{rest}\n# a word below"),
        }
    });
    lines.collect::<Vec<_>>().join("\r\n")
}

#[test]
fn every_example_is_the_same_as_itself_however_it_is_laid_out() {
    let files = examples();
    let of = |change: &dyn Fn(&str) -> String| {
        let files = files
            .iter()
            .map(|(name, text)| (name.as_str(), change(text)));
        Workspace::new(files.collect(), House::default())
    };
    let plain = of(&str::to_owned);
    let untidy = of(&careless);
    let formatted = of(&|text| gutta_notation::format(&careless(text), &Style::USUAL));
    for other in [&plain, &untidy, &formatted] {
        let comparison = compare(&plain, other);
        assert!(comparison.is_same(), "{}", told(&comparison));
        assert!(comparison.orders_same > 100, "{}", comparison.orders_same);
        assert_eq!(comparison.specimens, Vec::<String>::new());
    }
}

fn flow_of(dose: u32, cap: u32) -> String {
    with(
        "run        all at 0.05 mg/kg/h, at most 5 mg/h",
        &format!("run        all at {dose} mcg/kg/h, at most {cap} mcg/h"),
    )
}

fn steady(comparison: &Comparison) -> Option<&Subject> {
    comparison
        .subjects
        .iter()
        .find(|subject| subject.name == "steady")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// No patient's flow changes by more than the greatest ratio says, and
    /// somebody's by as much; the other way round it is its inverse.
    #[test]
    fn the_greatest_ratio_is_the_greatest(
        one in 10_u32..90, other in 10_u32..90, cap in 2_000_u32..9_000, most in 2_000_u32..9_000,
    ) {
        let (before, after) = (flow_of(one, cap), flow_of(other, most));
        let (there, back) = (compared(&before, &after), compared(&after, &before));
        let flow = |comparison: &Comparison| {
            let changes = &steady(comparison)?.changes;
            changes.iter().find(|change| change.what == "flow").cloned()
        };
        let given = |dose: u32, cap: u32, weight: i64| {
            let dose = Exact::int(i64::from(dose)) * Exact::int(weight);
            dose.min(Exact::int(i64::from(cap)))
        };
        let size = |ratio: &Exact| size_of(ratio).unwrap();
        let ratios = (40..=160).map(|weight| {
            size(&given(other, most, weight).checked_div(&given(one, cap, weight)).unwrap())
        });
        let sampled = ratios.max().unwrap();
        let (Some(there), Some(back)) = (flow(&there), flow(&back)) else {
            prop_assert_eq!(sampled, Exact::ONE);
            return Ok(());
        };
        let greatest = there.greatest.unwrap().ratio;
        prop_assert!(size(&greatest) >= sampled, "{:?} {:?}", greatest, sampled);
        let turned = back.greatest.unwrap().ratio;
        prop_assert_eq!(size(&greatest), size(&turned));
        // The corners lie between whole weights: within one of them is as much.
        let near = &sampled * &Exact::ratio(41, 40).unwrap();
        prop_assert!(size(&greatest) <= near, "{:?} {:?}", greatest, sampled);
    }
}
