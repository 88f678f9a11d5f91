//! Two ways of writing that give a patient the same are judged alike, whatever
//! the limits.

use std::collections::BTreeSet;

use crate::support::{last_order, workspace};
use gutta_protocol::derive::{Patient, derive};
use gutta_protocol::limits::{judge, of_substances};
use gutta_protocol::model::{self, Library};
use proptest::prelude::*;

/// The limits of a drug, one a line.
fn limits(by_rate: bool) -> impl Strategy<Value = String> {
    let bound = move |low: u32, high: u32| low..high;
    let mut each: Vec<BoxedStrategy<String>> = vec![
        bound(1, 2_000)
            .prop_map(|n| format!("never single dose above {n} mg"))
            .boxed(),
        bound(1, 40)
            .prop_map(|n| format!("never single dose above {n} mg/kg"))
            .boxed(),
        bound(1, 400)
            .prop_map(|n| format!("usual single dose {n} to {} mg", 3 * n))
            .boxed(),
        bound(1, 400)
            .prop_map(|n| format!("never single dose above {n} mg as loading"))
            .boxed(),
        bound(1, 400)
            .prop_map(|n| format!("never interval below {n} min"))
            .boxed(),
        bound(1, 400)
            .prop_map(|n| format!("never bolus above {n} mg"))
            .boxed(),
        bound(1, 400)
            .prop_map(|n| format!("usual bolus {n} to {} mg", 2 * n))
            .boxed(),
        bound(1, 400)
            .prop_map(|n| format!("never bolus rate above {n} mg/min"))
            .boxed(),
        bound(1, 60)
            .prop_map(|n| format!("never bolus time below {n} min"))
            .boxed(),
        bound(1, 20)
            .prop_map(|n| format!("never strength above {n} mg/mL"))
            .boxed(),
    ];
    if by_rate {
        each.extend([
            bound(1, 2_000)
                .prop_map(|n| format!("never dose above {n} mg/h"))
                .boxed(),
            bound(1, 40)
                .prop_map(|n| format!("usual dose {n} to {} mg/kg/h", 2 * n))
                .boxed(),
            bound(1, 400)
                .prop_map(|n| format!("never flow above {n} mL/h"))
                .boxed(),
            bound(1, 400)
                .prop_map(|n| format!("never time below {n} min"))
                .boxed(),
            bound(1, 2_000)
                .prop_map(|n| format!("never total above {n} mg"))
                .boxed(),
            bound(1, 2_000)
                .prop_map(|n| format!("never total above {n} mg per day"))
                .boxed(),
            bound(1, 900)
                .prop_map(|n| format!("never total above {n} mg in any 2 h"))
                .boxed(),
            bound(1, 400)
                .prop_map(|n| format!("never dose above {n} mg/h as loading"))
                .boxed(),
        ]);
    }
    let each: Vec<_> = each
        .into_iter()
        .map(|line| proptest::option::weighted(0.4, line))
        .collect();
    each.prop_map(|lines| {
        let lines = lines.into_iter().flatten();
        lines.map(|line| format!("  {line}\n")).collect()
    })
}

/// The limits of a substance, one a line.
fn of_substance() -> impl Strategy<Value = String> {
    let each: Vec<BoxedStrategy<String>> = vec![
        (1_u32..200)
            .prop_map(|n| format!("never dose above {n} mmol/h"))
            .boxed(),
        (1_u32..40)
            .prop_map(|n| format!("usual dose up to 0.{n} mmol/kg/h"))
            .boxed(),
        (1_u32..200)
            .prop_map(|n| format!("never dose above {n} mmol/h except as loading"))
            .boxed(),
        (1_u32..40)
            .prop_map(|n| format!("never total above {n} mmol in any 90 min"))
            .boxed(),
        (1_u32..30)
            .prop_map(|n| format!("usual total up to 0.{n} mmol/kg per day"))
            .boxed(),
        (1_u32..200)
            .prop_map(|n| format!("never total above {n} mg"))
            .boxed(),
        (1_u32..20)
            .prop_map(|n| format!("never strength above 0.{n} mmol/mL by central vein"))
            .boxed(),
    ];
    let each: Vec<_> = each
        .into_iter()
        .map(|line| proptest::option::weighted(0.5, line))
        .collect();
    each.prop_map(|lines| {
        let lines = lines.into_iter().flatten();
        lines.map(|line| format!("  {line}\n")).collect()
    })
}

/// What is found: each bound that is passed, where, and how far; of the drug, and
/// of the substance that it is, 0.1 mmol a mg.
fn found(limits: &str, of_substance: &str, lines: &str) -> BTreeSet<String> {
    let text = format!(
        "solution fluid \"As the drug at 1 mg/mL\"\n  contains   judgate 0.1 mmol/mL\n\ningredient judgate\n  equals     1 mmol, 10 mg\n{of_substance}\ndrug judgamine \"A drug with limits\"\n  supplied   40 mg in 4 mL\n  contains   judgate 1 mmol/mL\n  with       saline\n{limits}\norder a \"A\"\n  patient    weight 10 to 100 kg\n  route      central vein\n{lines}"
    );
    let workspace = workspace(&text);
    let library = Library::new(&workspace);
    let order = model::order(&workspace, &library, last_order(&workspace));
    let values = match derive(&order, &Patient::default()) {
        Ok(values) => values,
        Err(incomplete) => panic!("{text}\n{:?}", incomplete.problems),
    };
    let mut judgements = vec![judge(&order, &values)];
    let substances = of_substances(&workspace, &library, &order, &values);
    judgements.extend(substances.into_iter().map(|of| of.judgement));
    for judgement in &judgements {
        assert!(judgement.unchecked.is_empty(), "{text}");
    }
    let breaches = judgements.iter().flat_map(|of| &of.breaches);
    let told = breaches.map(|breach| {
        let bound = workspace.stanza_text(breach.drug);
        let span = breach.bound.span;
        let line = &bound[span.start as usize..span.end as usize];
        format!(
            "{line} {:?}: {:?} {:?}",
            breach.bound.side, breach.worst, breach.regions
        )
    });
    told.collect()
}

/// A giving: strength in mg/mL, half its volume in mL, half its time in min.
fn giving() -> impl Strategy<Value = (u32, u32, u32)> {
    (
        1_u32..20,
        5_u32..100,
        prop::sample::select(vec![15_u32, 30, 60, 120]),
    )
}

fn assert_alike(limits: &str, substance: &str, ways: &[String]) {
    let drug = |lines: &String| format!("  drug       judgamine\n{lines}");
    let all: Vec<_> = ways
        .iter()
        .map(|lines| found(limits, substance, &drug(lines)))
        .collect();
    for (lines, other) in ways.iter().zip(&all) {
        assert_eq!(
            &all[0], other,
            "limits\n{limits}of the substance\n{substance}first\n{}other\n{lines}",
            ways[0]
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// In one run or two, in phases, from one bag or two, by flow, time or dose.
    #[test]
    fn one_giving_in_parts(limits in limits(true), substance in of_substance(), (strength, volume, time) in giving()) {
        let (amount, bag) = (strength * volume * 2, volume * 2);
        let mix = format!("mix {amount} mg made up to {bag} mL with saline");
        let half = format!("mix {} mg made up to {volume} mL with saline", strength * volume);
        let tenths = volume * 600 / time;
        let flow = format!("{}.{}", tenths / 10, tenths % 10);
        let flow = flow.trim_end_matches(".0");
        prop_assume!(tenths * time == volume * 600);
        let mut ways = vec![
            format!("  {mix}\n  run all over {} min\n  then stop\n", 2 * time),
            format!("  {mix}\n  run {volume} mL over {time} min\n  run all over {time} min\n  then stop\n"),
            format!("  {mix}\n  run all at {flow} mL/h\n  then stop\n"),
            format!("  {mix}\n  phase one\n    run {volume} mL over {time} min\n  phase two\n    run all over {time} min\n  then stop\n"),
            format!("  phase one\n    {half}\n    run all over {time} min\n  phase two\n    {half}\n    run all over {time} min\n  then stop\n"),
            format!("  premixed {amount} mg in {bag} mL of saline\n  run all over {} min\n  then stop\n", 2 * time),
        ];
        if tenths % 10 == 0 {
            let dose = strength * tenths / 10;
            ways.push(format!("  {mix}\n  run all at {dose} mg/h\n  then stop\n"));
        }
        assert_alike(&limits, &substance, &ways);
    }

    /// The fluid of a bag, or the drug that is its substance made as strong; a
    /// part of it in the flush, with what the bag lacks.
    #[test]
    fn a_substance_from_whatever_brings_it(substance in of_substance(), (_, volume, time) in giving()) {
        let then = format!("run all over {time} min\n  then stop\n");
        let ways = [
            format!("  hang {volume} mL of fluid\n  {then}"),
            format!("  drug judgamine\n  mix {volume} mg made up to {volume} mL with glucose-5\n  {then}"),
            format!("  drug judgamine\n  premixed {volume} mg in {volume} mL\n  {then}"),
            format!("  hang {volume} mL of fluid\n  phase one\n    run {volume} mL over {time} min\n  then stop\n"),
        ];
        let all: Vec<_> = ways.iter().map(|lines| found("", &substance, lines)).collect();
        for (lines, other) in ways.iter().zip(&all) {
            assert_eq!(&all[0], other, "limits\n{substance}first\n{}other\n{lines}", ways[0]);
        }
    }

    /// A bolus, two of half, or a phase as loading, before what follows.
    #[test]
    fn a_bolus_or_a_load(limits in limits(true), substance in of_substance(), (strength, volume, time) in giving(), half in 1_u32..20) {
        let bolus = 2 * half;
        let bag = volume + bolus;
        let mix = format!("mix {} mg made up to {bag} mL with saline", strength * bag);
        assert_alike(&limits, &substance, &[
            format!("  {mix}\n  bolus {bolus} mL over 10 min\n  run all over {time} min\n  then stop\n"),
            format!("  {mix}\n  bolus {} mg over 10 min\n  run all over {time} min\n  then stop\n", strength * bolus),
            format!("  {mix}\n  bolus {half} mL over 5 min\n  bolus {half} mL over 5 min\n  run all over {time} min\n  then stop\n"),
            format!("  {mix}\n  phase first\n    purpose loading\n    run {bolus} mL over 10 min\n  phase second\n    run all over {time} min\n  then stop\n"),
        ]);
    }

    /// Where nothing judges by dose or in total: a bag renewed, or a bag each
    /// time.
    #[test]
    fn renewed_or_repeated(limits in limits(false), substance in of_substance(), (strength, volume, time) in giving()) {
        let mix = format!("mix {} mg made up to {volume} mL with saline", strength * volume);
        assert_alike(&limits, &substance, &[
            format!("  {mix}\n  run all over {time} min\n  then renew\n"),
            format!("  {mix}\n  run all over {time} min every {time} min\n"),
        ]);
    }

    /// Where no interval is stated: repeated with less than an hour between, in
    /// phases, or renewed.
    #[test]
    fn one_giving_repeated(limits in limits(true), substance in of_substance(), (strength, volume, time) in giving()) {
        prop_assume!(!limits.contains("interval"));
        let mix = format!("mix {} mg made up to {volume} mL with saline", strength * volume);
        assert_alike(&limits, &substance, &[
            format!("  phase one\n    {mix}\n    run all over {time} min\n  phase two\n    {mix}\n    run all over {time} min\n  then stop\n"),
            format!("  {mix}\n  run all over {time} min every {time} min for 2 doses\n"),
            format!("  {mix}\n  run all over {time} min\n  then renew for {time} min\n"),
        ]);
    }

    /// The last of what repeats, and what follows it at once.
    #[test]
    fn what_follows_the_last(limits in limits(true), substance in of_substance(), (strength, volume, time) in giving()) {
        prop_assume!(!limits.contains("interval"));
        let mix = format!("mix {} mg made up to {volume} mL with saline", strength * volume);
        let run = format!("    {mix}\n    run all over {time} min\n");
        let every = time + 60;
        assert_alike(&limits, &substance, &[
            format!("  phase one\n{run}  phase wait\n    hang 50 mL of saline\n    run all over 60 min\n  phase two\n{run}  phase three\n{run}  then stop\n"),
            format!("  phase one\n    {mix}\n    run all over {time} min every {every} min for 2 doses\n  phase three\n{run}  then stop\n"),
        ]);
    }
}
