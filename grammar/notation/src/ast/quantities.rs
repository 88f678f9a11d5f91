//! Every quantity on a line, wherever in its fact it stands.

use super::{
    Bag, BagInto, Bound, Conditions, Dose, Fact, Limit, NeverWhat, Range, Repeat, Steps, Supplied,
    Then, What, Window, Written,
};

impl Fact {
    /// Every quantity that the line states, those without a value among them.
    #[must_use]
    pub fn quantities(&self) -> Vec<&Written> {
        let mut found = Found::default();
        found.fact(self);
        found.0
    }
}

#[derive(Default)]
struct Found<'a>(Vec<&'a Written>);

impl<'a> Found<'a> {
    fn one(&mut self, written: &'a Written) {
        self.0.push(written);
    }

    fn maybe(&mut self, written: Option<&'a Written>) {
        self.0.extend(written);
    }

    fn range(&mut self, range: &'a Range) {
        self.maybe(range.low.as_ref());
        // The ends of a single quantity are one.
        let same = |low: &Written, high: &Written| low.span == high.span;
        let high = range.high.as_ref();
        self.0
            .extend(high.filter(|high| !range.low.as_ref().is_some_and(|low| same(low, high))));
    }

    fn dose(&mut self, dose: &'a Dose) {
        self.one(&dose.amount);
        self.maybe(dose.lid.as_ref());
    }

    fn conditions(&mut self, conditions: &'a Conditions) {
        for range in [&conditions.patients, &conditions.aged]
            .into_iter()
            .flatten()
        {
            self.range(range);
        }
        self.maybe(conditions.after_first.as_ref());
    }

    fn limit(&mut self, limit: &'a Limit) {
        match &limit.bound {
            Bound::Within(range) => self.range(range),
            Bound::NotAbove(written) | Bound::NotBelow(written) => self.one(written),
        }
        if let Some(window) = &limit.window
            && let Window::InAny(time) = &window.value
        {
            self.one(time);
        }
    }

    fn bag(&mut self, bag: &'a Bag) {
        match bag {
            Bag::Mix { drug, into } => {
                self.dose(drug);
                match into {
                    BagInto::MadeUpTo { volume, .. } => self.one(volume),
                    BagInto::AddedTo {
                        volume, counted_as, ..
                    } => {
                        self.one(volume);
                        self.maybe(counted_as.as_ref());
                    }
                }
            }
            Bag::Premixed { amount, volume, .. } => {
                self.one(amount);
                self.one(volume);
            }
            Bag::Hang { volume, .. } | Bag::Undiluted { volume } => self.one(volume),
        }
    }

    fn fact(&mut self, fact: &'a Fact) {
        match fact {
            Fact::PumpFlow { range, step } => {
                self.range(range);
                if let Some(step) = step {
                    self.one(step);
                }
            }
            Fact::PumpVolume(range)
            | Fact::PumpBolus(range)
            | Fact::Patient { range, .. }
            | Fact::DosingWeight(range)
            | Fact::Fluid(range)
            | Fact::Load { range, .. } => self.range(range),
            Fact::Accuracy(written)
            | Fact::DropFactor(written)
            | Fact::Priming(written)
            | Fact::Ceiling(written)
            | Fact::BolusCeiling(written)
            | Fact::Osmolarity(written)
            | Fact::HangTime(written)
            | Fact::Prime(written)
            | Fact::ChangeBag(written) => self.one(written),
            Fact::Contains { strength, .. } => self.one(strength),
            Fact::Supplied(supplied) => match &**supplied {
                Supplied::Amount { amount, volume } => {
                    self.one(amount);
                    self.one(volume);
                }
                Supplied::Strength { strength, volume } => {
                    self.one(strength);
                    self.maybe(volume.as_ref());
                }
            },
            Fact::Usual(usual) => {
                self.limit(&usual.limit);
                self.conditions(&usual.conditions);
            }
            Fact::Never(never) => {
                if let NeverWhat::Limit(limit) = &never.what {
                    self.limit(limit);
                }
                self.conditions(&never.conditions);
                let except = never.except.iter().flat_map(|except| &except.value);
                except.for_each(|conditions| self.conditions(conditions));
            }
            Fact::Equals(equals) => equals.0.iter().for_each(|written| self.one(written)),
            Fact::Bag(bag) => self.bag(bag),
            Fact::Run(run) => {
                if let Some(What::Amount(dose)) = &run.what {
                    self.dose(dose);
                }
                run.ways.iter().for_each(|way| self.one(way.written()));
                self.maybe(run.dose_lid.as_ref());
                if let Some(every) = &run.every {
                    self.one(&every.interval);
                    if let Some(Repeat::For(time)) = &every.repeat {
                        self.one(time);
                    }
                }
            }
            Fact::Bolus(bolus) => {
                self.dose(&bolus.dose);
                self.one(bolus.way.written());
            }
            Fact::Adjust(adjust) => {
                match &adjust.steps {
                    Steps::By { range, step } => {
                        self.range(range);
                        self.one(step);
                    }
                    Steps::List(list) => list.iter().for_each(|written| self.one(written)),
                }
                self.one(&adjust.every);
            }
            Fact::Flush { volume, .. } => self.one(volume),
            Fact::Then(then) => match &**then {
                Then::Stop => {}
                Then::Renew { lasting } => self.maybe(lasting.as_ref()),
                Then::KeepOpen { flow, .. } => self.one(flow),
            },
            Fact::Expect(expect) => {
                self.one(&expect.value);
                expect.at.iter().for_each(|written| self.one(written));
            }
            Fact::Waive(waive) => {
                let bound = waive.bound.as_ref();
                self.maybe(bound.map(|bound| &bound.quantity));
            }
            Fact::Unreadable
            | Fact::Drug(_)
            | Fact::Area(_)
            | Fact::Route(_)
            | Fact::Pump(_)
            | Fact::GivingSet(_)
            | Fact::Purpose(_)
            | Fact::Also(_)
            | Fact::Class(_)
            | Fact::DosedIn(_)
            | Fact::With(_)
            | Fact::NotWith(_)
            | Fact::OnlyBy(_)
            | Fact::HighAlert
            | Fact::Phase { .. }
            | Fact::ExpectFinding(_)
            | Fact::Include(_)
            | Fact::LineMembers { .. }
            | Fact::Words { .. }
            | Fact::ReviewBy(_) => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::{Style, read};

    /// Each quantity of the lines, as it is written.
    fn quantities(text: &str) -> Vec<&str> {
        let file = read(text, Style::USUAL);
        let placed = file.stanzas.first().unwrap();
        let lines = placed.stanza.lines.iter();
        lines
            .flat_map(|line| line.fact.quantities())
            .map(|written| written.span.text(text))
            .collect()
    }

    #[test]
    fn of_an_order() {
        let text = "\
order a
  patient weight 40 to 120 kg
  mix 20 mg/kg, at most 2 g, added to 100 mL of saline, counted as 100 mL
  run 50 mL at 2 mL/h, at most 9 mL/h every 8 h for 3 days
  bolus 5 mL over 2 min
  adjust 1, 2 mL/h every 5 min
  expect flow 3 mL/h at 70 kg
";
        assert_eq!(
            quantities(text),
            [
                "40", "120 kg", "20 mg/kg", "2 g", "100 mL", "100 mL", "50 mL", "2 mL/h", "9 mL/h",
                "8 h", "3 days", "5 mL", "2 min", "1", "2 mL/h", "5 min", "3 mL/h", "70 kg"
            ]
        );
    }

    #[test]
    fn of_a_drug() {
        let text = "\
drug a
  supplied 4 mg in 4 mL
  usual dose 1 to 2 mg/h for 2 to 10 kg after the first 1 h
  never total above 4 g in any 24 h except aged up to 3 years
  equals 1 g, 4.06 mmol
";
        assert_eq!(
            quantities(text),
            [
                "4 mg",
                "4 mL",
                "1",
                "2 mg/h",
                "2",
                "10 kg",
                "1 h",
                "4 g",
                "24 h",
                "3 years",
                "1 g",
                "4.06 mmol"
            ]
        );
    }
}
