//! The words with which lines begin on paper, and what they ask for.

use crate::lines::homes::{
    ALERTED, DRUG, FOR_WHOM, Homes, LIMITED, MEANT, MOST, ORDER, PLACED, PUMP, TUBING,
};
use crate::stanzas::StanzaKind;

/// What a line is about, whatever it is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum About {
    /// How it runs.
    Run,
    /// A first, faster part of it.
    Bolus,
    /// What is in the bag.
    Mix,
    /// A plain fluid.
    Hang,
    /// A route.
    Route,
    /// Whom it is for.
    Patient,
    /// The highest rate.
    Ceiling,
    /// How far it may be adjusted.
    Adjust,
    /// Purging the line.
    Prime,
    /// What is flushed with.
    Flush,
    /// It ends with the bag.
    Stop,
    /// It goes on with the next bag.
    Renew,
    /// The vein is kept open.
    KeepOpen,
    /// When the bag is changed.
    ChangeBag,
    /// When it is reviewed.
    Review,
    /// The order's drug, area, pump, giving set: a name behind this keyword.
    Name(&'static str),
    /// A text behind this keyword.
    Text(&'static str),
    /// How a drug comes.
    Supplied,
    /// What a drug may be diluted with.
    With,
    /// What it must not be mixed with.
    NotWith,
    /// By which routes only.
    OnlyBy,
    /// A range in which a measure is usual.
    Usual(&'static str),
    /// A bound that a measure must not pass.
    Never(&'static str),
    /// Other names.
    Also,
    /// How long a bag may hang.
    HangTime,
    /// In what a drug is dosed.
    DosedIn,
    /// A line of one word.
    HighAlert,
    /// The flows of a pump.
    PumpFlow,
    /// The volume of a pump.
    PumpVolume,
    /// Drops per mL.
    Drops,
    /// The volume of a giving set.
    Priming,
}

/// In these stanzas lines that begin so are about this. Longer phrases win.
type Row = (Homes, About, &'static str);

const ROWS: &[Row] = &[
    (
        ORDER,
        About::Run,
        "run | rate | infusion rate | flow | flow rate | rate of infusion | infuse \
         | infuse at | infuse all | give | give at | run at | start | start at \
         | starting rate | starting dose | initial rate | initial dose | dose | dosage \
         | dose rate | administer | administer at | administration | infusion \
         | continuous infusion | maintenance | maintenance dose | maintenance rate \
         | set rate | set to | deliver | duration | over | infusion time | drip rate | speed \
         | iv infusion | intravenous infusion | vtbi | volume to be infused \
         | intermittent infusion | frequency",
    ),
    (
        ORDER,
        About::Bolus,
        "bolus | bolus dose | loading dose | load | loading | initial bolus | stat dose \
         | stat | push | iv push | slow push | slow bolus | iv bolus",
    ),
    (
        ORDER,
        About::Mix,
        "mix | mixture | dilute | dilution | dilution of | make up | make | prepare \
         | preparation | reconstitute | add | draw up | syringe | syringe contents \
         | bag contents | contents | prescription | additive | make to",
    ),
    (
        ORDER,
        About::Hang,
        "hang | fluid | iv fluid | fluids | bag | plain fluid | infusion fluid \
         | maintenance fluid",
    ),
    (
        ORDER,
        About::Route,
        "route | route of administration | via | by | access | line | iv access | site \
         | administration route | cvc | central line | picc | cannula | iv | sc \
         | s/c | subcut | central | peripheral | io | central venous | peripheral line \
         | peripheral cannula | intravenous",
    ),
    (
        FOR_WHOM,
        About::Patient,
        "patient | patients | weight | body weight | weight range | patient weight | age \
         | age range | adults | children | for patients | population | wt",
    ),
    (
        PLACED,
        About::Ceiling,
        "max rate | maximum rate | max flow | maximum flow | maximum flow rate | rate limit \
         | do not exceed | not to exceed | max infusion rate | maximum infusion rate \
         | upper rate | hard limit | max | maximum | ceiling | ceiling rate",
    ),
    (
        ORDER,
        About::Adjust,
        "adjust | titrate | titration | titrate to | titrate between | titrate from \
         | dose range | range | rate range | vary | increase | titration range",
    ),
    (
        ORDER,
        About::Prime,
        "prime | prime line | prime with | prime the line with | purge | priming",
    ),
    (
        ORDER,
        About::Flush,
        "flush | flush with | then flush | flush line with | flush the line with \
         | after flush",
    ),
    (
        ORDER,
        About::Stop,
        "stop | stop after | discontinue | end | then end | when finished stop \
         | stop when finished | stop when complete | stop at end | single bag | once only \
         | once | one bag only | then stop",
    ),
    (
        ORDER,
        About::Renew,
        "repeat | repeat bag | renew | continue | continuous | then continue | then repeat \
         | replace bag | next bag | new syringe when empty | ongoing | until review \
         | change syringe when empty",
    ),
    (
        ORDER,
        About::KeepOpen,
        "kvo | keep vein open | keep open | tkvo | tko | then kvo",
    ),
    (
        ORDER,
        About::ChangeBag,
        "change bag | change syringe | change every | change | discard after | expires after \
         | expiry | bag life | syringe life | change bag every | change syringe every",
    ),
    (
        MOST,
        About::Review,
        "review | review date | review on | review by | next review | valid until \
         | expiry date | due for review",
    ),
    (
        ORDER,
        About::Name("drug"),
        "drug | medicine | medication | drug name | name of drug | infusion of",
    ),
    (
        MEANT,
        About::Name("area"),
        "area | ward | unit | location | department | clinical area | setting",
    ),
    (
        PLACED,
        About::Name("pump"),
        "pump | device | pump type | syringe driver | infusion pump | equipment",
    ),
    (
        PLACED,
        About::Name("giving-set"),
        "giving-set | giving set | set | administration set | iv set | tubing",
    ),
    (
        MOST,
        About::Text("note"),
        "note | notes | comment | comments | caution | cautions | warning \
         | additional information | remarks | nb | n.b.",
    ),
    (
        MOST,
        About::Text("source"),
        "source | sources | reference | references | ref | refs | evidence",
    ),
    (
        MOST,
        About::Text("monitor"),
        "monitor | monitoring | observe | observations | obs | check",
    ),
    (
        MOST,
        About::Text("goal"),
        "goal | goals | target | aim | aim for | titrate to effect | endpoint \
         | treatment goal",
    ),
    (
        ORDER,
        About::Text("stop when"),
        "stop when | stop if | stop criteria | discontinue if | discontinue when",
    ),
    (
        DRUG,
        About::Supplied,
        "supplied | presentation | available as | comes as | strength | vial | ampoule | amp \
         | concentration | vial strength | supplied as | stock | formulation",
    ),
    (
        DRUG,
        About::With,
        "with | diluent | diluents | compatible with | compatible fluids \
         | compatible diluents | dilute with | dilute in | diluted with",
    ),
    (
        DRUG,
        About::NotWith,
        "not with | incompatible with | incompatible | incompatibilities | do not mix with \
         | not compatible with",
    ),
    (
        DRUG,
        About::OnlyBy,
        "only by | route | routes | only via | give via | give only via | central line only \
         | central only | by",
    ),
    (
        LIMITED,
        About::Usual("dose"),
        "usual | usual dose | usual rate | usual range | normal dose | typical dose \
         | recommended dose | dose range | dose | dosage | adult dose | recommended range \
         | therapeutic range | standard dose",
    ),
    (
        LIMITED,
        About::Never("dose"),
        "never | max dose | maximum dose | maximum rate | max rate | never exceed \
         | do not exceed | not to exceed | dose limit | upper limit | hard limit | max \
         | maximum | absolute maximum",
    ),
    (
        DRUG,
        About::Never("single dose"),
        "max single dose | maximum single dose | largest single dose | single dose limit",
    ),
    (
        LIMITED,
        About::Never("total"),
        "max daily dose | maximum daily dose | daily maximum | max total | maximum total dose \
         | max dose per day | maximum dose in 24 h | max in 24 hours",
    ),
    (
        DRUG,
        About::Never("strength"),
        "max concentration | maximum concentration | max strength | maximum strength \
         | concentration limit",
    ),
    (
        DRUG,
        About::Usual("strength"),
        "usual concentration | standard concentration | usual strength | final concentration \
         | recommended concentration",
    ),
    (
        DRUG,
        About::Also,
        "also | also known as | aka | synonym | synonyms | other names | other name",
    ),
    (
        DRUG,
        About::HangTime,
        "hang time | stable for | stability | expires after | discard after | shelf life \
         | expiry | use within | in-use shelf life",
    ),
    (
        DRUG,
        About::DosedIn,
        "dosed in | dose unit | dose units | units | prescribed in | dosing unit \
         | dosing units | unit",
    ),
    (
        ALERTED,
        About::HighAlert,
        "high-alert | high alert | high risk | high-risk | high risk medicine \
         | high alert medication",
    ),
    (
        PUMP,
        About::PumpFlow,
        "flow | range | rate | rate range | flow range | flow rate | delivery rate | rates",
    ),
    (
        PUMP,
        About::PumpVolume,
        "volume | syringe size | capacity | max volume | maximum volume | volume limit \
         | syringe | size",
    ),
    (
        TUBING,
        About::Drops,
        "drops | drop factor | drip factor | drops per ml | calibration | factor",
    ),
    (
        TUBING,
        About::Priming,
        "priming | priming volume | prime volume | volume | dead space | internal volume",
    ),
];

/// What a line of the stanza that begins so is about, and how many bytes say so.
pub(super) fn about(kind: StanzaKind, text: &str) -> Option<(About, usize)> {
    let lower = text.to_ascii_lowercase();
    let rows = ROWS.iter().filter(|(homes, ..)| homes.has(kind));
    let begins = |phrase: &&str| {
        let rest = lower.strip_prefix(*phrase);
        rest.is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
    };
    let found = rows.filter_map(|(_, about, phrases)| {
        let phrases = phrases.split(" | ").filter(begins);
        Some((*about, phrases.map(str::len).max()?))
    });
    // Of equal ones the first.
    found.reduce(|best, other| if other.1 > best.1 { other } else { best })
}
