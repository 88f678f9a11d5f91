//! Runs of a drug whose limits are for loads, in a phase that does not say
//! that it is one. `purpose loading` left out switches no limit off: where no
//! other limit judges such a run, it is judged as the load that it may be.

use gutta_notation::ast::LimitMeasure;

use super::compare::{Judging, judge_reading};
use super::holds::{Stretch, without};
use super::judgement::Unjudged;
use super::readings::Reader;
use crate::model::limit::{LimitBound, Side};

/// For whom the drug's limits judge each run otherwise than as a load.
#[derive(Default)]
pub(super) struct Otherwise {
    judged: Vec<Judged>,
}

/// For whom a limit judges a run.
struct Judged {
    what: HeldBack,
    /// Its phase and place there; `None`: every run.
    run: Option<(usize, usize)>,
    over: Stretch,
}

/// What of a run a limit holds back.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum HeldBack {
    /// How much drug in a time.
    Dose,
    /// How fast, and no more: a flow, or how long at least.
    Speed,
    /// How much at once.
    Single,
    /// How much in all.
    Total,
}

impl Otherwise {
    /// Notes that a bound judges a run, and those of one giving with it where
    /// it judges that; `None`: every run, where it judges a total, else none.
    pub(super) fn note(
        &mut self,
        reader: &Reader<'_>,
        bound: &LimitBound,
        run: Option<(usize, usize)>,
        over: &[Stretch],
    ) {
        // A bound on the harmless side holds no slip back.
        let what = match (bound.measure, bound.side) {
            (LimitMeasure::Dose, Side::High) => HeldBack::Dose,
            (LimitMeasure::Flow, Side::High) | (LimitMeasure::Time, Side::Low) => HeldBack::Speed,
            (LimitMeasure::SingleDose, Side::High) => HeldBack::Single,
            (LimitMeasure::Total, Side::High) => HeldBack::Total,
            _ => return,
        };
        let runs = match run {
            // How long a giving lasts is judged of all its runs together, too.
            Some((phase, run))
                if what == HeldBack::Single || bound.measure == LimitMeasure::Time =>
            {
                let giving = reader.giving_with(phase, run).into_iter();
                giving.map(Some).collect()
            }
            None if what != HeldBack::Total => return,
            run => vec![run],
        };
        for run in runs {
            let noted = over.iter().cloned().map(|over| Judged { what, run, over });
            self.judged.extend(noted);
        }
    }

    /// For whom none of these holds this run back.
    pub(super) fn left(
        &self,
        whole: Stretch,
        run: (usize, usize),
        whats: &[HeldBack],
    ) -> Vec<Stretch> {
        let mut left = vec![whole];
        for judged in &self.judged {
            let of_run = judged.run.is_none_or(|of| of == run);
            if of_run && whats.contains(&judged.what) {
                left = without(&left, &judged.over);
            }
        }
        left
    }
}

/// Whether a bound is of loads alone.
fn of_loads(bound: &LimitBound) -> bool {
    let measure = matches!(
        bound.measure,
        LimitMeasure::Bolus | LimitMeasure::BolusRate | LimitMeasure::BolusTime
    );
    measure || bound.when.purposes.iter().any(|name| name == "loading")
}

const ALL: &[HeldBack] = &[
    HeldBack::Dose,
    HeldBack::Speed,
    HeldBack::Single,
    HeldBack::Total,
];

/// What must leave a run alone before a bound of loads judges it. A dose at
/// once says nothing of how fast; but it need not take as long as a load.
const fn before(bound: &LimitBound) -> &'static [HeldBack] {
    match bound.measure {
        LimitMeasure::BolusRate => &[HeldBack::Dose, HeldBack::Speed],
        LimitMeasure::BolusTime => &[HeldBack::Dose, HeldBack::Speed, HeldBack::Single],
        _ => ALL,
    }
}

/// Judges the runs that may be loads, and notes those that nothing judges.
pub(super) fn judge(judging: &mut Judging<'_>, reader: &Reader<'_>, otherwise: &Otherwise) {
    let of_loads: Vec<_> = judging
        .limits
        .iter()
        .filter(|bound| of_loads(bound))
        .collect();
    let whole = Stretch::of(&judging.view.patients.interval);
    for (phase, run, derived) in reader.each_run() {
        let holds_drug = judging
            .view
            .phases
            .get(phase)
            .is_some_and(|phase| phase.bag.drug.is_some());
        if !holds_drug || reader.is_load(phase) {
            continue;
        }
        let left = |whats: &[HeldBack]| otherwise.left(whole.clone(), (phase, run), whats);
        let over = left(ALL);
        if !over.is_empty() {
            let unjudged = Unjudged {
                at: derived.span,
                phase,
                view: judging.index,
                over,
            };
            match of_loads.is_empty() {
                true => judging.judgement.unjudged.push(unjudged),
                false => judging.judgement.as_loads.push(unjudged),
            }
        }
        for bound in of_loads.iter().filter(|bound| !bound.usual) {
            let within = left(before(bound));
            let mut judged = false;
            for reading in reader.as_loads(bound, (phase, run)) {
                let over = judge_reading(judging, bound, reading, Some(&within));
                judged |= !over.is_empty();
            }
            judging.judgement.applied += usize::from(judged);
        }
    }
}
