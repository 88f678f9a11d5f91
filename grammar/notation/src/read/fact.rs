//! From a line's tokens to its fact, for each kind of line.

use super::Reader;
use super::places::Place;
use crate::ast::{Fact, WordsKind};
use crate::lines::LineKind;

impl Reader<'_> {
    /// The fact of a line whose tokens were parsed.
    pub(super) fn fact(&mut self, kind: LineKind) -> Option<Fact> {
        use LineKind as K;
        Some(match kind {
            K::PumpFlow => self.pump_flow()?,
            K::PumpVolume => Fact::PumpVolume(self.up_to(Place::VOLUME)?),
            K::PumpBolus => Fact::PumpBolus(self.up_to(Place::FLOW)?),
            K::Accuracy => Fact::Accuracy(self.take_quantity(Place::ACCURACY)?),
            K::Drops => Fact::DropFactor(self.drop_factor()?),
            K::Priming => Fact::Priming(self.take_quantity(Place::VOLUME)?),
            K::Patient => self.patient()?,
            K::DosingWeight => Fact::DosingWeight(self.up_to(Place::WEIGHT)?),
            K::Drug => Fact::Drug(self.take_drug_name()?),
            K::Area => self.area()?,
            K::Route => self.route_line()?,
            K::Pump => Fact::Pump(self.take_name()?),
            K::GivingSet => Fact::GivingSet(self.take_name()?),
            K::Purpose => Fact::Purpose(self.take_name()?),
            K::Ceiling => Fact::Ceiling(self.take_quantity(Place::RATE)?),
            K::BolusCeiling => Fact::BolusCeiling(self.take_quantity(Place::RATE)?),
            K::Fluid => Fact::Fluid(Box::new(self.range(Place::FLUID, false)?)),
            K::Contains => self.contains()?,
            K::Osmolarity => Fact::Osmolarity(self.take_quantity(Place::OSMOLARITY)?),
            K::Also => Fact::Also(self.take_names(Self::drug_name)),
            K::Class => Fact::Class(self.take_names(Self::name)),
            K::DosedIn => self.dosed_in()?,
            K::Supplied => Fact::Supplied(Box::new(self.supplied()?)),
            K::With => Fact::With(self.take_names(Self::drug_name)),
            K::NotWith => Fact::NotWith(self.take_names(Self::drug_name)),
            K::OnlyBy => Fact::OnlyBy(self.take_routes()),
            K::Usual => Fact::Usual(Box::new(self.usual()?)),
            K::Never => Fact::Never(Box::new(self.never()?)),
            K::Equals => self.equals()?,
            K::HangTime => Fact::HangTime(self.take_quantity(Place::TIME)?),
            K::HighAlert => Fact::HighAlert,
            K::Mix => self.mix()?,
            K::Premixed => self.premixed()?,
            K::Hang => self.hang()?,
            K::Undiluted => self.undiluted()?,
            K::Run => self.run()?,
            K::Prime => Fact::Prime(self.take_quantity(Place::VOLUME)?),
            K::Bolus => self.bolus()?,
            K::Adjust => self.adjust()?,
            K::ChangeBag => self.change_bag()?,
            K::Flush => self.flush()?,
            K::Then => self.then()?,
            K::Phase => self.phase()?,
            K::Expect => self.expect()?,
            K::Include => Fact::Include(self.take_names(Self::name)),
            K::LineMembers => self.line_members()?,
            K::Load => self.load()?,
            K::Waive => Fact::Waive(Box::new(self.waive()?)),
            K::Note => self.words(WordsKind::Note)?,
            K::Source => self.words(WordsKind::Source)?,
            K::Monitor => self.words(WordsKind::Monitor)?,
            K::Goal => self.words(WordsKind::Goal)?,
            K::StopWhen => self.words(WordsKind::StopWhen)?,
            K::ReviewBy => Fact::ReviewBy(self.take_date()?),
            K::SecondPart => return None,
        })
    }
}
