//! The facts of orders, sets, areas, pumps and solutions.

use smol_str::SmolStr;

use super::Reader;
use super::places::Place;
use crate::ast::{
    Adjust, Bag, BagInto, Bolus, Dose, Every, Expect, ExpectMeasure, Fact, PatientKind, Repeat,
    Run, Steps, Then, Way, What,
};
use crate::parse::{Rule, Token};
use crate::words::{EXPECT_MEASURES, LineKind};
use crate::{Edit, MarkKind, NoValue, Phrase, Span, Spanned, Why, Written, WrittenUnit};

/// A lid, and where it stands.
pub(super) struct Lid {
    pub(super) written: Written,
    /// Comma or word, to the quantity's end, in the line's text.
    pub(super) text: (usize, usize),
    pub(super) comma: bool,
}

impl Reader<'_> {
    /// The fact of a line whose tokens were parsed.
    pub(super) fn fact(&mut self, kind: LineKind) -> Option<Fact> {
        use LineKind as K;
        Some(match kind {
            K::PumpFlow => {
                let range = self.range(Place::FLOW, false)?;
                let step = if self.skip(Rule::in_steps_of) {
                    Some(self.take_quantity(Place::FLOW)?)
                } else {
                    None
                };
                Fact::PumpFlow { range, step }
            }
            K::PumpVolume => Fact::PumpVolume(self.up_to(Place::VOLUME)?),
            K::PumpBolus => Fact::PumpBolus(self.up_to(Place::FLOW)?),
            K::Accuracy => Fact::Accuracy(self.take_quantity(Place::ACCURACY)?),
            K::Drops => Fact::DropFactor(self.drop_factor()?),
            K::Priming => Fact::Priming(self.take_quantity(Place::VOLUME)?),
            K::Patient => self.patient()?,
            K::DosingWeight => Fact::DosingWeight(self.up_to(Place::WEIGHT)?),
            K::Drug => Fact::Drug(self.take_drug_name()?),
            K::Area => {
                let token = self.advance()?;
                let span = self.place(token);
                let area = match token.rule {
                    Rule::any => None,
                    _ => Some(self.name(token).value),
                };
                Fact::Area(Spanned::new(area, span))
            }
            K::Route => {
                let token = self.advance()?;
                match token.rule {
                    Rule::any => Fact::Route(Spanned::new(None, self.place(token))),
                    _ => {
                        let route = self.route(token)?;
                        Fact::Route(Spanned::new(Some(route.value), route.span))
                    }
                }
            }
            K::Pump => Fact::Pump(self.take_name()?),
            K::GivingSet => Fact::GivingSet(self.take_name()?),
            K::Purpose => Fact::Purpose(self.take_name()?),
            K::Ceiling => Fact::Ceiling(self.take_quantity(Place::RATE)?),
            K::BolusCeiling => Fact::BolusCeiling(self.take_quantity(Place::RATE)?),
            K::Fluid => Fact::Fluid(self.range(Place::FLUID, false)?),
            K::Mix => self.mix()?,
            K::Premixed => {
                let amount = self.take_quantity(Place::SUPPLIED)?;
                self.skip(Rule::in_);
                let volume = self.take_quantity(Place::VOLUME)?;
                let solution = if self.skip(Rule::of) {
                    Some(self.take_name()?)
                } else {
                    None
                };
                bag(Bag::Premixed {
                    amount,
                    volume,
                    solution,
                })
            }
            K::Hang => {
                let volume = self.take_quantity(Place::VOLUME)?;
                self.skip(Rule::of);
                let solution = self.take_drug_name()?;
                bag(Bag::Hang { volume, solution })
            }
            K::Undiluted => bag(Bag::Undiluted {
                volume: self.take_quantity(Place::VOLUME)?,
            }),
            K::Run => self.run()?,
            K::Prime => Fact::Prime(self.take_quantity(Place::VOLUME)?),
            K::Bolus => self.bolus()?,
            K::Adjust => self.adjust()?,
            K::ChangeBag => {
                self.skip(Rule::every);
                Fact::ChangeBag(self.take_quantity(Place::TIME)?)
            }
            K::Flush => {
                let volume = self.take_quantity(Place::VOLUME)?;
                self.skip(Rule::with);
                let solution = self.take_name()?;
                Fact::Flush { volume, solution }
            }
            K::Then => self.then()?,
            K::Phase => {
                let token = self.advance()?;
                Fact::Phase {
                    name: self.phase_name(token),
                    title: self.take_text(),
                }
            }
            K::Expect => self.expect()?,
            K::Include => Fact::Include(self.take_names(Self::name)),
            K::LineMembers => {
                let line = self.take_name()?;
                self.skip(Rule::colon);
                let members = self.take_names(Self::name);
                Fact::LineMembers { line, members }
            }
            K::Load => {
                let substance = self.take_name()?;
                let range = self.range(Place::LOAD, false)?;
                Fact::Load { substance, range }
            }
            K::Words(kind) => Fact::Words {
                kind,
                text: self.take_text()?,
            },
            K::ReviewBy => Fact::ReviewBy(self.take_date()?),
            _ => return self.drug_fact(kind),
        })
    }

    /// A range that can only be `up to Q`.
    fn up_to(&mut self, place: Place) -> Option<crate::ast::Range> {
        let range = self.range(place, false)?;
        if let Some(low) = range.low.as_ref().filter(|_| self.whole) {
            let span = low.span;
            let fixes = match &range.high {
                Some(high) => vec![Edit {
                    span: Span::new(range.span.start, high.span.start),
                    text: "up to ".to_owned(),
                }],
                None => Vec::new(),
            };
            self.unreadable(span, vec!["`up to`".to_owned()], None, fixes);
        }
        Some(range)
    }

    fn drop_factor(&mut self) -> Option<Written> {
        let token = self.advance()?;
        let mut written = self.quantity(token, Place::DROPS);
        let per = self.next_if(Rule::per);
        let Some(per) = per else {
            match written.unit {
                WrittenUnit::Missing => {
                    self.missing_unit(written.span, Place::DROPS);
                }
                WrittenUnit::Known(unit) if unit == gutta_quantity::units::DROPS_PER_ML => {
                    let fix = Edit {
                        span: written.unit_span,
                        text: "per mL".to_owned(),
                    };
                    self.mark(
                        MarkKind::Phrase(Phrase::WordOrder),
                        written.unit_span,
                        vec![fix],
                    );
                }
                _ => self.not_per_ml(written.unit_span),
            }
            return Some(written);
        };
        let volume = self.advance()?;
        let span = self.place(volume);
        let verdict = super::unit::judge(self.token_text(volume), self.style);
        let unit = self.judged_unit(verdict, span);
        let spare = written.unit != WrittenUnit::Missing
            && written.unit.known() != Some(gutta_quantity::units::DROPS);
        if spare || (unit.is_some() && unit != Some(gutta_quantity::units::ML)) {
            self.not_per_ml(if spare { written.unit_span } else { span });
        }
        written.unit = match unit {
            Some(_) if self.whole => WrittenUnit::Known(gutta_quantity::units::DROPS_PER_ML),
            _ => WrittenUnit::Unknown,
        };
        written.unit_span = self.place(per).to(span);
        written.span = written.span.to(span);
        Some(written)
    }

    fn not_per_ml(&mut self, span: Span) {
        self.unreadable(span, vec!["`per mL`".to_owned()], None, Vec::new());
    }

    fn patient(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        let (kind, place) = match token.rule {
            Rule::weight => (PatientKind::Weight, Place::WEIGHT),
            Rule::surface => (PatientKind::Surface, Place::SURFACE),
            _ => (PatientKind::Age, Place::AGE),
        };
        let range = self.range(place, true)?;
        Some(Fact::Patient { kind, range })
    }

    fn mix(&mut self) -> Option<Fact> {
        let amount = self.take_quantity(Place::AMOUNT)?;
        let mut lids = self.lids(true);
        let after = self.tokens.get(self.next)?.start;
        let made_up = self.skip(Rule::made_up_to);
        if !made_up {
            self.skip(Rule::added_to);
        }
        let volume = self.take_quantity(Place::VOLUME)?;
        let with = self.advance()?;
        debug_assert!(matches!(with.rule, Rule::with | Rule::of));
        let solution = self.take_drug_name()?;
        self.skip(Rule::comma);
        let counted_as = if self.skip(Rule::counted_as) {
            Some(self.take_quantity(Place::VOLUME)?)
        } else {
            // The comma was a lid's.
            if self.tokens.get(self.next).is_some() {
                self.next -= usize::from(self.tokens[self.next - 1].rule == Rule::comma);
            }
            None
        };
        let late = self.lids(false);
        for lid in late {
            self.move_lid(&lid, after, ", ");
            lids.push(lid);
        }
        let lid = self.single_lid(lids);
        let into = if made_up {
            BagInto::MadeUpTo { volume, solution }
        } else {
            BagInto::AddedTo {
                volume,
                solution,
                counted_as,
            }
        };
        Some(bag(Bag::Mix {
            drug: Dose { amount, lid },
            into,
        }))
    }

    /// The lids that stand next, each with its comma marked where missing.
    /// Inside a line (`inner`) a comma stands after each too.
    pub(super) fn lids(&mut self, inner: bool) -> Vec<Lid> {
        let mut lids = Vec::new();
        loop {
            let comma = self.peek(Rule::comma);
            let at = usize::from(comma.is_some());
            let Some(word) = self
                .tokens
                .get(self.next + at)
                .copied()
                .filter(|token| token.rule == Rule::at_most)
            else {
                return lids;
            };
            self.next += at + 1;
            let Some(token) = self.advance() else {
                return lids;
            };
            let written = self.quantity(token, Place::AMOUNT);
            if comma.is_none() {
                self.no_comma(word);
            }
            // A comma after it, before what the line goes on with.
            if inner && self.peek(Rule::comma).is_none() {
                let fix = Edit {
                    span: self.at(token.end, token.end),
                    text: ",".to_owned(),
                };
                self.mark(MarkKind::Phrase(Phrase::Lid), written.span, vec![fix]);
            }
            if inner {
                self.skip_spare_comma();
            }
            lids.push(Lid {
                written,
                text: (comma.map_or(word.start, |comma| comma.start), token.end),
                comma: comma.is_some(),
            });
        }
    }

    /// Passes a comma that no lid and no `each time` follows.
    fn skip_spare_comma(&mut self) {
        let follows = self.tokens.get(self.next + 1).map(|token| token.rule);
        if self.peek(Rule::comma).is_some()
            && !matches!(
                follows,
                Some(Rule::at_most | Rule::each_time | Rule::counted_as)
            )
        {
            self.next += 1;
        }
    }

    /// A lid or `each time` without its comma.
    pub(super) fn no_comma(&mut self, word: Token) {
        let before = self.source.text[..word.start].trim_end().len();
        let fix = Edit {
            span: self.at(before, before),
            text: ",".to_owned(),
        };
        let span = self.place(word);
        self.mark(MarkKind::Phrase(Phrase::Lid), span, vec![fix]);
    }

    /// A lid that stands elsewhere than it should: `to`, in the line's text.
    pub(super) fn move_lid(&mut self, lid: &Lid, to: usize, then: &str) {
        let text = &self.source.text;
        let stop = text[..to].trim_end().len();
        let spot = lid.text.0.min(text.len());
        let words = text
            .get(lid.text.0..lid.text.1)
            .unwrap_or("")
            .trim_start_matches([',', ' '])
            .trim_end()
            .to_owned();
        let between = text.get(to..spot).unwrap_or("").trim_end();
        let between = between.trim();
        let joint = if between.is_empty() { "" } else { then };
        let fixed = format!(", {words}{joint}{between}");
        let fix = Edit {
            span: self.at(stop, lid.text.1),
            text: fixed,
        };
        let span = lid.written.span;
        self.marks.retain(|mark| {
            !(mark.kind == MarkKind::Phrase(Phrase::Lid)
                && !lid.comma
                && mark.span.end <= span.start
                && mark.span.end + 2 > span.start)
        });
        self.mark(MarkKind::Phrase(Phrase::Lid), span, vec![fix]);
    }

    /// The one lid that may stand there.
    pub(super) fn single_lid(&mut self, lids: Vec<Lid>) -> Option<Written> {
        let mut lids = lids.into_iter();
        let first = lids.next()?.written;
        if let Some(second) = lids.next() {
            self.unreadable(
                second.written.span,
                Vec::new(),
                Some(Why::Other(
                    "only one `at most` may stand on the amount, and one on the dose".to_owned(),
                )),
                Vec::new(),
            );
        }
        Some(first)
    }

    fn way(&mut self) -> Option<Way> {
        if self.skip(Rule::at) {
            return Some(Way::At(self.take_quantity(Place::RATE)?));
        }
        if self.skip(Rule::over) {
            return Some(Way::Over(self.take_quantity(Place::TIME)?));
        }
        None
    }

    fn run(&mut self) -> Option<Fact> {
        let mut amount = None;
        let mut all = None;
        if let Some(token) = self.next_if(Rule::all) {
            all = Some(self.place(token));
        } else if self.peek(Rule::amount).is_some() {
            amount = Some(self.take_quantity(Place::AMOUNT)?);
        }
        let early = self.lids(true);
        let way_start = self.tokens.get(self.next)?.start;
        let mut ways = Vec::new();
        let mut late: Vec<Lid> = Vec::new();
        while let Some(way) = self.way() {
            ways.push(way);
            late.extend(self.lids(false));
        }
        let ways_end = self.end_of_ways(&late);
        let every = self.every()?;
        let last = self.lids(false);
        let mut amount_lids = Vec::new();
        let mut dose_lids = Vec::new();
        let on_dose = |lid: &Lid| {
            lid.written
                .unit
                .known()
                .is_some_and(|unit| unit.dimension().time < 0)
        };
        let room = amount.is_some();
        for lid in early {
            if on_dose(&lid) || !room {
                self.misplaced(&lid);
                dose_lids.push(lid);
            } else {
                amount_lids.push(lid);
            }
        }
        for (lid, repeated) in late
            .into_iter()
            .map(|lid| (lid, false))
            .chain(last.into_iter().map(|lid| (lid, true)))
        {
            if on_dose(&lid) || !room {
                if repeated && every.is_some() {
                    self.move_lid(&lid, ways_end, " ");
                }
                dose_lids.push(lid);
            } else {
                self.move_lid(&lid, way_start, ", ");
                amount_lids.push(lid);
            }
        }
        let lid = self.single_lid(amount_lids);
        let dose_lid = self.single_lid(dose_lids);
        let what = match (all, amount) {
            (Some(span), _) => Some(What::All(span)),
            (None, Some(amount)) => Some(What::Amount(Dose { amount, lid })),
            (None, None) => None,
        };
        Some(Fact::Run(Box::new(Run {
            what,
            ways,
            dose_lid,
            every,
        })))
    }

    /// Where the ways of a run end, in the line's text.
    fn end_of_ways(&self, lids: &[Lid]) -> usize {
        let before = self
            .tokens
            .get(self.next.wrapping_sub(1))
            .map_or(0, |token| token.end);
        lids.first().map_or(before, |lid| lid.text.0)
    }

    /// A lid on the dose that stands before the way.
    fn misplaced(&mut self, lid: &Lid) {
        let text = self.source.text.clone();
        let words = text[lid.text.0..lid.text.1]
            .trim_start_matches([',', ' '])
            .to_owned();
        // The first way goes to the next lid, `every`, or the line's end.
        let rest = text[lid.text.1..].trim_start_matches([',', ' ']);
        let stop = rest
            .find(", ")
            .into_iter()
            .chain(rest.find(" every "))
            .min()
            .unwrap_or(rest.len());
        let (way, _) = rest.split_at(stop);
        let end = text.len() - rest.len() + stop;
        let start = text[..lid.text.0].trim_end().len();
        let fix = Edit {
            span: self.at(start, end),
            text: format!(" {way}, {words}"),
        };
        self.mark(MarkKind::Phrase(Phrase::Lid), lid.written.span, vec![fix]);
    }

    /// `every TIME [for …]`; the outer `None` is a mismatch.
    fn every(&mut self) -> Option<Option<Every>> {
        if let Some(token) = self.next_if(Rule::daily) {
            let span = self.place(token);
            let safe = "every 24 h".to_owned();
            let fix = Edit {
                span,
                text: safe.clone(),
            };
            self.mark(MarkKind::RiskyUnit { safe }, span, vec![fix]);
            let interval = Written {
                value: Some(gutta_quantity::Exact::int(24)),
                decimals: 0,
                unit: WrittenUnit::Known(gutta_quantity::units::H),
                span,
                unit_span: span,
            };
            return Some(Some(Every {
                interval,
                repeat: None,
                span,
            }));
        }
        let Some(token) = self.next_if(Rule::every) else {
            return Some(None);
        };
        let interval = self.take_quantity(Place::TIME)?;
        let mut span = self.place(token).to(interval.span);
        let mut repeat = None;
        if self.skip(Rule::for_) {
            let token = self.advance()?;
            let place = self.place(token);
            span = span.to(place);
            let text = self.token_text(token).to_owned();
            repeat = Some(match text.split_once(' ') {
                Some((number, word)) if matches!(word.trim(), "doses" | "dose") => {
                    Repeat::Doses(Spanned::new(self.doses(number, token), place))
                }
                _ => Repeat::For(self.quantity(token, Place::TIME)),
            });
        }
        Some(Some(Every {
            interval,
            repeat,
            span,
        }))
    }

    /// `N` of `for N doses`: whole, at least 1.
    fn doses(&mut self, number: &str, token: Token) -> Option<u32> {
        let span = self.at(token.start, token.start + number.len());
        let (value, ..) = self.number(number, span, Place::COUNT);
        let value = value?;
        let count = value
            .to_i64()
            .and_then(|count| u32::try_from(count).ok())
            .filter(|count| *count > 0);
        if count.is_none() {
            self.no_value(NoValue::Malformed, span);
        }
        count
    }

    fn bolus(&mut self) -> Option<Fact> {
        let amount = self.take_quantity(Place::AMOUNT)?;
        let mut lids = self.lids(true);
        let way = self.way()?;
        lids.extend(self.lids(false));
        self.skip(Rule::comma);
        let each = self.next_if(Rule::each_time);
        if let Some(word) = each {
            let before = self.source.text[..word.start].trim_end();
            if !before.ends_with(',') {
                self.no_comma(word);
            }
        } else if self.next > 0 && self.tokens[self.next - 1].rule == Rule::comma {
            self.next -= 1;
        }
        let last = self.lids(false);
        for lid in last {
            if let Some(each) = each {
                let stop = self.source.text[..each.start]
                    .trim_end_matches([',', ' '])
                    .len();
                self.move_lid(&lid, stop, "");
            }
            lids.push(lid);
        }
        let lid = self.single_lid(lids);
        Some(Fact::Bolus(Box::new(Bolus {
            dose: Dose { amount, lid },
            way,
            each_time: each.is_some(),
        })))
    }

    fn adjust(&mut self) -> Option<Fact> {
        let first = self.advance()?;
        let steps = if self.skip(Rule::to) {
            self.next -= 2;
            let range = self.range(Place::RATE, false)?;
            self.skip(Rule::by);
            let step = self.take_quantity(Place::RATE)?;
            Steps::By { range, step }
        } else {
            let mut tokens = vec![first];
            while self.skip(Rule::comma) {
                tokens.push(self.advance()?);
            }
            let steps = self.steps(&tokens);
            if let ([only], true) = (steps.as_slice(), self.whole) {
                let expected = vec!["`to`".to_owned(), "a comma and the next step".to_owned()];
                self.unreadable(only.span, expected, Some(Why::RangeWanted), Vec::new());
            }
            Steps::List(steps)
        };
        self.skip(Rule::every);
        let every = self.take_quantity(Place::TIME)?;
        Some(Fact::Adjust(Box::new(Adjust { steps, every })))
    }

    fn steps(&mut self, tokens: &[Token]) -> Vec<Written> {
        let last = tokens.len().saturating_sub(1);
        let mut steps: Vec<Written> = Vec::with_capacity(tokens.len());
        for (place, token) in tokens.iter().enumerate() {
            let at = Place {
                bare: place < last,
                ..Place::RATE
            };
            steps.push(self.quantity(*token, at));
        }
        let unit = steps.last().map(|step| step.unit);
        for step in &mut steps {
            if let (WrittenUnit::Missing, Some(unit)) = (step.unit, unit) {
                step.unit = unit;
            }
        }
        let rising = steps
            .windows(2)
            .all(|pair| match (pair[0].quantity(), pair[1].quantity()) {
                (Some(low), Some(high)) => low.compare(&high) == Some(std::cmp::Ordering::Less),
                _ => true,
            });
        if !rising && let (Some(first), Some(last)) = (steps.first(), steps.last()) {
            let span = first.span.to(last.span);
            self.no_value(NoValue::FallingList, span);
        }
        steps
    }

    fn then(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        let then = match token.rule {
            Rule::stop => Then::Stop,
            Rule::renew => Then::Renew {
                lasting: if self.skip(Rule::for_) {
                    Some(self.take_quantity(Place::TIME)?)
                } else {
                    None
                },
            },
            _ => Then::KeepOpen {
                flow: self.take_quantity(Place::RATE)?,
                solution: if self.skip(Rule::with) {
                    Some(self.take_name()?)
                } else {
                    None
                },
            },
        };
        Some(Fact::Then(Box::new(then)))
    }

    fn expect(&mut self) -> Option<Fact> {
        if self.skip(Rule::finding) {
            let token = self.advance()?;
            return Some(Fact::ExpectFinding(self.rule_name(token)));
        }
        let first = self.advance()?;
        let last = self.next_if(Rule::word).unwrap_or(first);
        let measure = self.expect_measure(first, last);
        let place = expect_place(&measure.value).expected();
        let mut expect = Expect {
            measure,
            value: self.take_quantity(place)?,
            per_day: false,
            at: Vec::new(),
            phase: None,
        };
        while let Some(token) = self.advance() {
            match token.rule {
                Rule::per_day => expect.per_day = true,
                Rule::at => {
                    let at = self.take_quantity(Place::PATIENT.expected())?;
                    expect.at.push(at);
                }
                Rule::in_ => {
                    let token = self.advance()?;
                    expect.phase = Some(self.phase_name(token));
                }
                _ => {}
            }
        }
        self.total_per_day(&mut expect);
        Some(Fact::Expect(Box::new(expect)))
    }

    /// `expect total 2 g/day`: read as `2 g per day`.
    fn total_per_day(&mut self, expect: &mut Expect) {
        let day = match (&expect.measure.value, expect.value.unit) {
            (ExpectMeasure::Total, WrittenUnit::Known(unit)) => super::unit::without_day(unit),
            _ => None,
        };
        if let Some(unit) = day {
            self.per_day_mark(&expect.value, unit, !expect.per_day);
            expect.value.unit = WrittenUnit::Known(unit);
            expect.per_day = true;
        }
    }

    /// `…/day` where `per day` is meant.
    pub(super) fn per_day_mark(&mut self, value: &Written, unit: gutta_quantity::Unit, say: bool) {
        let mut text = super::unit::spell(unit, self.style);
        if say {
            text.push_str(" per day");
        }
        let fix = Edit {
            span: value.unit_span,
            text,
        };
        self.mark(MarkKind::Phrase(Phrase::PerDay), value.unit_span, vec![fix]);
    }

    fn expect_measure(&mut self, first: Token, last: Token) -> Spanned<ExpectMeasure> {
        let span = self.place(first).to(self.place(last));
        let text = self.source.text[first.start..last.end].to_owned();
        let words: Vec<_> = text.split(' ').filter(|word| !word.is_empty()).collect();
        let phrase = words.join(" ");
        let known = |same: fn(&str, &str) -> bool| {
            EXPECT_MEASURES
                .iter()
                .find(|(measure, _)| same(measure, &phrase))
        };
        if let Some((_, measure)) = known(str::eq) {
            return Spanned::new(measure.clone(), span);
        }
        if let Some((text, measure)) = known(str::eq_ignore_ascii_case) {
            let fix = Edit {
                span,
                text: (*text).to_owned(),
            };
            self.mark(MarkKind::Phrase(Phrase::Capital), span, vec![fix]);
            return Spanned::new(measure.clone(), span);
        }
        if first.start == last.start {
            let name = self.name(first);
            return Spanned::new(ExpectMeasure::Substance(name.value), span);
        }
        let fixes = super::near::nearest(&phrase, EXPECT_MEASURES.iter().map(|(word, _)| *word))
            .map(|near| Edit {
                span,
                text: near.to_owned(),
            })
            .into_iter()
            .collect();
        self.unreadable(span, vec!["a measure".to_owned()], None, fixes);
        Spanned::new(ExpectMeasure::Substance(SmolStr::new(phrase)), span)
    }
}

fn expect_place(measure: &ExpectMeasure) -> Place {
    use ExpectMeasure as M;
    match measure {
        M::Flow | M::PumpFlow => Place::FLOW,
        M::Strength | M::TrueStrength | M::Substance(_) => Place::STRENGTH,
        M::Drops | M::Dose => Place::RATE,
        M::Time | M::BolusTime => Place::TIME,
        M::Draw | M::Volume | M::Fluid => Place::VOLUME,
        M::Bolus | M::Total => Place::AMOUNT,
    }
}

fn bag(bag: Bag) -> Fact {
    Fact::Bag(Box::new(bag))
}
