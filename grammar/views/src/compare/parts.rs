//! What each line of a phase states: the bag, its boluses and runs, what they
//! may be changed to, and what follows. Taken apart by name, as orders are.

use gutta_protocol::model::order::{
    AdjustSpec, BagSpec, BolusSpec, EverySpec, Preparation, RunSpec, StepsSpec, ThenSpec, WaySpec,
    WhatSpec,
};
use gutta_protocol::model::size::{Per, Stuff};

use super::statement::{Bearing, Statement, StatementValue, name};

/// How the bag is prepared. How much is in it, its values say.
pub(super) fn of_bag(all: &mut Vec<Statement>, bag: &BagSpec) {
    let BagSpec {
        span: _,
        how,
        solution,
    } = bag;
    let (words, cap) = match how {
        Preparation::MadeUpTo {
            drug: _,
            cap,
            volume: _,
        } => ("made up to a volume", cap.as_ref()),
        Preparation::AddedTo {
            drug: _,
            cap,
            volume: _,
            counted_as: None,
        } => ("added to a volume", cap.as_ref()),
        Preparation::AddedTo {
            drug: _,
            cap,
            volume: _,
            counted_as: Some(_),
        } => ("added to a volume and counted as another", cap.as_ref()),
        Preparation::Premixed {
            amount: _,
            volume: _,
        }
        | Preparation::PremixedStrength {
            strength: _,
            kind: _,
            volume: _,
        } => ("premixed", None),
        Preparation::Fluid { volume: _ } => ("a plain fluid", None),
        Preparation::Undiluted { volume: _ } => ("undiluted", None),
    };
    all.push(name("bag", words));
    all.extend(
        solution
            .as_ref()
            .map(|with| name("solution", &with.value.name)),
    );
    all.extend(
        cap.map(|cap| Statement::size("maximum of the drug in the bag", cap, Bearing::MOST)),
    );
}

pub(super) fn numbered(word: &str, index: usize, of: usize) -> String {
    match of {
        0 | 1 => word.to_owned(),
        _ => format!("{word} {}", index + 1),
    }
}

/// What a bolus's values do not say.
pub(super) fn of_bolus(all: &mut Vec<Statement>, bolus: &BolusSpec, which: &str) {
    let BolusSpec {
        span: _,
        size: _,
        cap,
        way: _,
        each_time,
    } = bolus;
    let cap = cap.as_ref();
    all.extend(
        cap.map(|cap| Statement::size(format!("maximum of the {which}"), cap, Bearing::MOST)),
    );
    if *each_time {
        all.push(Statement::new(
            format!("{which} each time"),
            StatementValue::So,
            Bearing::ACTS,
        ));
    }
}

/// What a run's values do not say: how it is set, its caps, its repetition.
pub(super) fn of_run(all: &mut Vec<Statement>, run: &RunSpec, which: &str) {
    let RunSpec {
        span: _,
        what,
        ways,
        dose_cap,
        every,
    } = run;
    if let Some(WhatSpec::Size(_, Some(cap))) = what {
        all.push(Statement::size(
            format!("maximum amount of the {which}"),
            cap,
            Bearing::MOST,
        ));
    }
    let mut ways: Vec<_> = ways.iter().map(way).collect();
    ways.sort_unstable();
    all.push(name(&format!("{which} set by"), &ways.join(" and ")));
    let cap = dose_cap.as_ref();
    all.extend(
        cap.map(|cap| Statement::size(format!("maximum of the {which}"), cap, Bearing::MOST)),
    );
    if let Some(EverySpec {
        interval,
        count,
        span: _,
    }) = every
    {
        let what = format!("{which} every");
        all.push(Statement::time(what, &interval.value, Bearing::ACTS));
        let times = count.map_or_else(|| "until stopped".to_owned(), |count| count.to_string());
        all.push(name(&format!("{which}, how often"), &times));
    }
}

fn way(way: &WaySpec) -> String {
    let WaySpec::At(rate) = way else {
        return "a time".to_owned();
    };
    let stuff = match rate.form.stuff {
        Stuff::Drug(kind) => format!("a dose by {}", kind.word()),
        Stuff::Volume => "a flow".to_owned(),
        Stuff::Drops => "a drip rate".to_owned(),
    };
    match rate.form.per {
        Per::Patient => stuff,
        Per::Weight => format!("{stuff} per kg"),
        Per::Surface => format!("{stuff} per m2"),
    }
}

pub(super) fn of_adjust(all: &mut Vec<Statement>, adjust: &AdjustSpec) {
    let AdjustSpec {
        span: _,
        steps,
        every,
    } = adjust;
    let low = steps.low();
    all.extend(low.map(|low| Statement::size("adjust from", low, Bearing::ALLOWS_DOWN_TO)));
    let high = steps.high();
    all.extend(high.map(|high| Statement::size("adjust up to", high, Bearing::ALLOWS_UP_TO)));
    all.push(match steps {
        StepsSpec::By {
            low: _,
            high: _,
            step,
        } => Statement::size("adjust by", step, Bearing::ALLOWS_UP_TO),
        StepsSpec::List(list) => {
            let list = list.iter().map(|size| (size.value.clone(), size.unit));
            Statement::new(
                "adjust to",
                StatementValue::Numbers(list.collect()),
                Bearing::ALLOWS,
            )
        }
    });
    all.push(Statement::time(
        "adjust every",
        &every.value,
        Bearing::LEAST,
    ));
}

pub(super) fn of_then(all: &mut Vec<Statement>, then: &ThenSpec) {
    match then {
        ThenSpec::Stop => all.push(name("then", "stop")),
        ThenSpec::Renew(lasting) => {
            all.push(name("then", "renew"));
            let lasting = lasting.as_ref();
            all.extend(
                lasting.map(|time| Statement::time("renew for", &time.value, Bearing::MOST)),
            );
        }
        ThenSpec::KeepOpen { rate, solution } => {
            all.push(name("then", "keep open"));
            all.push(Statement::size("keep open", rate, Bearing::ACTS));
            let with = solution.as_ref().map(|with| with.value.name.as_str());
            all.push(name("keep open with", with.unwrap_or("the drug")));
        }
    }
}
