"""From text to orders and what they lean on, as `notation.md` ("Text", "Stanzas") says.

What cannot be read raises `Unreadable`: a stanza with such a line has no values (principle 3).
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction

from quantities import (
    QUANTITY,
    TIME,
    VOLUME,
    Quantity,
    Range,
    Unreadable,
    needed,
    number,
    quantities_between,
    quantity,
    time,
)

KEYWORDS = (
    "bolus ceiling", "change bag every", "dosing weight", "review by", "dosed in", "not with",
    "only by", "hang time", "stop when",
)  # fmt: skip
# Ruling 32: what may stand in a phase; all else holds for the whole order.
PHASE_LINES = (
    "mix", "premixed", "hang", "undiluted", "prime", "bolus", "run", "adjust", "flush", "ceiling",
    "bolus ceiling", "then", "change bag every", "route", "pump", "giving-set", "purpose",
)  # fmt: skip
BAG_LINES = ("mix", "premixed", "hang", "undiluted")
MEASURES = (
    "single dose", "bolus rate", "bolus time", "bolus", "interval", "strength", "osmolarity",
    "total", "time", "dose", "flow",
)  # fmt: skip
NAME = r"[\w-]+"


@dataclass(frozen=True)
class Line:
    """One line of a stanza: its keyword, the rest of its words, its number in the file."""

    keyword: str
    rest: str
    number: int


@dataclass
class Stanza:
    """A header with the lines below it."""

    kind: str
    name: str
    file: str
    number: int
    lines: list[Line] = field(default_factory=list)

    def all(self, keyword: str) -> list[str]:
        """What every line of that keyword says."""
        return [line.rest for line in self.lines if line.keyword == keyword]

    def one(self, keyword: str) -> str | None:
        """What the only line of that keyword says."""
        found = self.all(keyword)
        return found[0] if found else None


def stanzas(text: str, file: str) -> list[Stanza]:
    """The stanzas of a file, without its `use` lines."""
    found: list[Stanza] = []
    for at, raw in enumerate(text.split("\n"), 1):
        line = _without_comment(raw).rstrip()
        if not line:
            continue
        words = " ".join(line.split())
        if line[0] in " \t":
            found[-1].lines.append(_line(words, at))
        elif not words.startswith("use "):
            kind, name, *_ = words.split(" ")
            found.append(Stanza(kind, name, file, at))
    return found


def _without_comment(raw: str) -> str:
    """The line up to its `#`, texts taken out."""
    return re.sub(r"#.*", "", re.sub(r'"[^"]*"', '""', raw))


def _line(words: str, at: int) -> Line:
    for keyword in KEYWORDS:
        if words.startswith(keyword + " "):
            return Line(keyword, words.removeprefix(keyword + " "), at)
    keyword, _, rest = words.partition(" ")
    return Line(keyword, rest, at)


def match(pattern: str, text: str, what: str) -> re.Match[str]:
    """The text as the whole of the pattern, or `Unreadable`."""
    found = re.fullmatch(pattern, text)
    if not found:
        raise Unreadable(f"{what}: {text}")
    return found


def optional(text: str | None) -> Quantity | None:
    """A quantity, where there is one."""
    return quantity(text) if text else None


@dataclass(frozen=True)
class Solution:
    """A fluid, or what a drug's supplied solution brings: base units per mL by substance."""

    contents: dict[str, Fraction]
    osmolarity: Fraction | None = None


def contents(stanza: Stanza) -> Solution:
    """The `contains` and `osmolarity` lines of a `solution` or `drug`."""
    found = {}
    for rest in stanza.all("contains"):
        name, _, amount = rest.partition(" ")
        found[name] = quantity(amount).value
    osmolarity = optional(stanza.one("osmolarity"))
    return Solution(found, osmolarity.value if osmolarity else None)


@dataclass(frozen=True)
class Conditions:
    """`by`, `in`, `for`, `aged`, `as`, `after the first`: None where not asked for."""

    routes: tuple[str, ...] | None = None
    areas: tuple[str, ...] | None = None
    purposes: tuple[str, ...] | None = None
    sizes: Range | None = None  # of weight in kg or surface in m2
    by_surface: bool = False
    ages: Range | None = None
    after: Fraction = Fraction(0)

    def stated(self) -> list[tuple[str, object]]:
        """The conditions that are asked for."""
        return [(name, value) for name, value in vars(self).items() if value and name != "by_surface"]

    def include(self, other: "Conditions") -> bool:
        """Whether all of the other's conditions are among these."""
        return all(condition in self.stated() for condition in other.stated())


@dataclass(frozen=True)
class Limit:
    """One `usual` or `never` line of a drug."""

    never: bool
    measure: str
    low: Quantity | None
    high: Quantity | None
    window: Fraction | None  # of a total: in any so many hours
    conditions: Conditions
    exceptions: Conditions | None
    place: tuple[str, int]  # file and line
    text: str

    @property
    def unit(self) -> Quantity:
        """Either bound, for its form."""
        return needed(self.high or self.low, "what the limit is")


_CONDITION = r"by|in(?! any)|for|aged|as|after the first"


def conditions(text: str) -> Conditions:
    """`by peripheral vein in ward for 2 to 10 kg`."""
    found: dict[str, object] = {}
    parts = re.split(rf"(?:^| )({_CONDITION}) ", text)
    if parts[0]:
        raise Unreadable(f"conditions: {text}")
    for word, said in zip(parts[1::2], parts[2::2], strict=True):
        names = tuple(name.strip() for name in said.split(","))
        match word:
            case "by":
                found["routes"] = names
            case "in":
                found["areas"] = names
            case "as":
                found["purposes"] = names
            case "aged":
                found["ages"] = quantities_between(said)
            case "for":
                found["sizes"], found["by_surface"] = _sizes(said)
            case _:
                found["after"] = time(said)
    return Conditions(**found)  # type: ignore[arg-type]


def _sizes(said: str) -> tuple[Range, bool]:
    band = quantities_between(said)
    by_surface = any(end and end.form.kind == "surface" for end in (band.low, band.high))
    return band if by_surface else _kilograms(band), by_surface


def _kilograms(band: Range) -> Range:
    """A range of weights, in kg of the patient."""

    def end(of: Quantity | None) -> Quantity | None:
        return Quantity(of.value / 10**6, of.form) if of else None

    return Range(end(band.low), end(band.high), band.high_left_out)


def limit(line: Line, file: str) -> Limit | None:
    """A `usual` or `never` line with a measure (`never by`, `never in` have none)."""
    words = line.rest
    measure = next((m for m in MEASURES if words.startswith(m + " ")), None)
    if measure is None:
        return None
    words, _, exceptions = words.removeprefix(measure + " ").partition(" except ")
    bounds, tail = _split_conditions(words)
    window = None
    if found := re.match(rf"(per day|in any ({TIME}))(?: |$)", tail):
        window = time(found[2]) if found[2] else Fraction(24)
        tail = tail[found.end() :]
    never = line.keyword == "never"
    span = _never(bounds) if never else quantities_between(bounds)
    return Limit(
        never, measure, span.low, span.high, window, conditions(tail),
        conditions(exceptions) if exceptions else None, (file, line.number),
        f"{line.keyword} {line.rest}",
    )  # fmt: skip


def _split_conditions(words: str) -> tuple[str, str]:
    found = re.search(rf" (?=(?:per day|in any|{_CONDITION})\b)", words)
    return (words[: found.start()], words[found.end() :]) if found else (words, "")


def _never(words: str) -> Range:
    side, _, bound = words.partition(" ")
    if side == "above":
        return Range(None, quantity(bound))
    if side == "below":
        return Range(quantity(bound), None)
    raise Unreadable(f"never: {words}")


@dataclass
class Drug:
    """A hospital's rules for one drug, as far as they are reckoned with."""

    name: str
    supplied: Quantity | None  # drug per mL
    container: Fraction | None  # mL
    brings: Solution
    equal: dict[str, Fraction]  # kind -> base units that are the same amount
    limits: list[Limit]

    def same(self, value: Fraction, kind: str, wanted: str) -> Fraction:
        """An amount of one kind as an amount of another (`equals`)."""
        if kind == wanted:
            return value
        if kind not in self.equal or wanted not in self.equal:
            raise Unreadable(f"nobody says what {kind} equals {wanted}")
        return value * self.equal[wanted] / self.equal[kind]


def drug(stanza: Stanza) -> Drug:
    """Reads a `drug` stanza."""
    supplied, container = _supplied(stanza.one("supplied"))
    equal = {}
    if line := stanza.one("equals"):
        for part in line.split(", "):
            amount = quantity(part)
            equal[amount.form.kind] = amount.value
    lines = [line for line in stanza.lines if line.keyword in ("usual", "never")]
    limits = [found for line in lines if (found := limit(line, stanza.file))]
    return Drug(stanza.name, supplied, container, contents(stanza), equal, limits)


def _supplied(line: str | None) -> tuple[Quantity | None, Fraction | None]:
    """`4 mg in 4 mL`, `0.125 % in 200 mL`: drug per mL, and the container's mL."""
    if line is None:
        return None, None
    found = match(rf"(.+?) in ({VOLUME})", line, "supplied")
    amount, volume = quantity(found[1]), quantity(found[2]).value
    per_ml = amount.value if amount.form.below == "volume" else amount.value / volume
    return Quantity(per_ml, amount.form), volume


@dataclass(frozen=True)
class Pump:
    """Ranges of flow in mL/h (low, high, step)."""

    flows: tuple[tuple[Fraction, Fraction, Fraction | None], ...]


def pump(stanza: Stanza) -> Pump:
    """Reads a `pump` stanza."""
    flows = []
    for rest in stanza.all("flow"):
        span, _, step = rest.partition(" in steps of ")
        ends = quantities_between(span)
        low, high = needed(ends.low, "the least flow"), needed(ends.high, "the greatest")
        flows.append((low.value, high.value, quantity(step).value if step else None))
    return Pump(tuple(flows))


@dataclass(frozen=True)
class Bag:
    """What is in the bag: `mix`, `premixed`, `hang` or `undiluted`."""

    line: str  # its keyword
    amount: Quantity | None
    lid: Quantity | None
    volume: Quantity  # as written: final, added to, or hung
    added: bool
    counted: Quantity | None
    solution: str | None


_LID = rf", at most ({QUANTITY})"
_MIX = (
    rf"({QUANTITY})(?:{_LID},)? (made up to|added to) ({VOLUME}) (with|of) ({NAME})"
    rf"(?:, counted as ({VOLUME}))?"
)


def bag(line: Line) -> Bag:
    """Reads a line that says what is in the bag."""
    rest = line.rest
    if line.keyword == "mix":
        found = match(_MIX, rest, "mix")
        added = found[3] == "added to"
        if found[5] != ("of" if added else "with"):
            raise Unreadable(f"mix: {rest}")
        return Bag(
            "mix", quantity(found[1]), optional(found[2]), quantity(found[4]), added,
            optional(found[7]), found[6],
        )  # fmt: skip
    if line.keyword == "premixed":
        found = match(rf"({QUANTITY}) in ({VOLUME})(?: of ({NAME}))?", rest, "premixed")
        return Bag(
            "premixed", quantity(found[1]), None, quantity(found[2]), False, None, found[3]
        )
    if line.keyword == "hang":
        found = match(rf"({VOLUME}) of ({NAME})", rest, "hang")
        return Bag("hang", None, None, quantity(found[1]), False, None, found[2])
    found = match(rf"({VOLUME})", rest, "undiluted")
    return Bag("undiluted", None, None, quantity(found[1]), False, None, None)


@dataclass(frozen=True)
class Step:
    """A `bolus` or a `run`: how much (None: all), how, its lids, whether and when it comes back."""

    line: str
    amount: Quantity | None
    rate: Quantity | None
    over: Fraction | None
    amount_lid: Quantity | None = None
    rate_lid: Quantity | None = None
    each_time: bool = False
    every: Fraction | None = None
    times: int | None = None


def bolus(rest: str) -> Step:
    """`bolus AMOUNT over TIME|at RATE [, at most AMOUNT] [, each time]` (and ruling 27)."""
    pattern = (
        rf"({QUANTITY})(?:{_LID},)? (?:over ({TIME})|at ({QUANTITY}))(?:{_LID})?(, each time)?"
    )
    found = match(pattern, rest, "bolus")
    lid = optional(found[2] or found[5])
    over = time(found[3]) if found[3] else None
    return Step("bolus", quantity(found[1]), optional(found[4]), over, lid, each_time=bool(found[6]))


def run(rest: str) -> Step:
    """`run WHAT WAY [, at most QUANTITY] [every TIME [for N doses | for TIME]]`."""
    body, _, every = rest.partition(" every ")
    pattern = rf"(all|{QUANTITY})(?:{_LID},)?((?: (?:over {TIME}|at {QUANTITY})){{1,2}})(?:{_LID})?"
    found = match(pattern, body, "run")
    amount = None if found[1] == "all" else quantity(found[1])
    rate = over = None
    for way in re.findall(rf" (?:over {TIME}|at {QUANTITY})", found[3]):
        if way.startswith(" over "):
            over = time(way.removeprefix(" over "))
        else:
            rate = quantity(way.removeprefix(" at "))
    amount_lid, rate_lid = optional(found[2]), optional(found[4])
    if rate_lid and rate_lid.form.below != "time":
        amount_lid, rate_lid = rate_lid, None
    interval, times = _every(every) if every else (None, None)
    return Step("run", amount, rate, over, amount_lid, rate_lid, every=interval, times=times)


def _every(words: str) -> tuple[Fraction, int | None]:
    """`8 h`, `8 h for 3 doses`, `8 h for 24 h` (the length of the course: ruling 26)."""
    found = match(rf"({TIME})(?: for (?:([1-9]\d*) doses?|({TIME})))?", words, "every")
    interval = time(found[1])
    if found[2]:
        return interval, int(found[2])
    return interval, -(-time(found[3]) // interval) if found[3] else None


@dataclass(frozen=True)
class Then:
    """What follows the last run: `stop`, `renew`, `open`."""

    what: str
    time: Fraction | None = None  # of `renew for`
    flow: Quantity | None = None
    solution: str | None = None


def then(rest: str) -> Then:
    """Reads a `then` line."""
    if rest == "stop":
        return Then("stop")
    if rest == "renew":
        return Then("renew")
    if rest.startswith("renew for "):
        return Then("renew", time(rest.removeprefix("renew for ")))
    found = match(rf"keep open ({QUANTITY})(?: with ({NAME}))?", rest, "then")
    return Then("open", flow=quantity(found[1]), solution=found[2])


def adjust(rest: str) -> tuple[Quantity, Quantity]:
    """The lowest and the highest setting of an `adjust`."""
    found = match(rf"(.+?)(?: by ({QUANTITY}))? every ({TIME})", rest, "adjust")
    if found[2]:
        span = quantities_between(found[1])
        return needed(span.low, "the lowest setting"), needed(span.high, "the highest")
    members, _, of = found[1].rpartition(" ")
    settings = [quantity(f"{member} {of}") for member in members.split(", ")]
    return settings[0], settings[-1]


@dataclass
class Phase:
    """What holds in one phase, in the order written."""

    name: str | None
    bag: Bag | None = None
    prime: Fraction = Fraction(0)
    steps: list[Step] = field(default_factory=list)
    flushes: list[tuple[Fraction, str]] = field(default_factory=list)
    adjust: tuple[Quantity, Quantity] | None = None
    then: Then | None = None
    route: str | None = None
    purpose: str | None = None
    pump: str | None = None
    giving_set: str | None = None
    ceiling: Quantity | None = None


@dataclass
class Order:
    """An order, read; `Reference.bounds` adds what its area says."""

    name: str
    drug: str | None
    area: str | None
    patient: dict[str, Range]  # weight in kg, surface in m2, age in h
    dosing_weight: Fraction | None
    phases: list[Phase]


def order(stanza: Stanza) -> Order:
    """Reads an `order` stanza, every line of it."""
    head, groups = _phase_groups(stanza)
    patient = {}
    for rest in stanza.all("patient"):
        what, _, span = rest.partition(" ")
        band = quantities_between(span)
        patient[what] = _kilograms(band) if what == "weight" else band
    dosing = stanza.one("dosing weight")
    weight = quantity(dosing.removeprefix("up to ")).value / 10**6 if dosing else None
    phases = [_phase(name, head, own, first=n == 0) for n, (name, own) in enumerate(groups)]
    return Order(stanza.name, stanza.one("drug"), stanza.one("area"), patient, weight, phases)


KNOWN_LINES = (
    *PHASE_LINES, "drug", "area", "patient", "dosing weight", "high-alert", "phase", "note",
    "source", "goal", "monitor", "review by", "stop when", "expect", "waive",
)  # fmt: skip


def _phase_groups(stanza: Stanza) -> tuple[list[Line], list[tuple[str | None, list[Line]]]]:
    """The lines above the first phase, and those of each phase."""
    head: list[Line] = []
    groups: list[tuple[str | None, list[Line]]] = []
    for line in stanza.lines:
        if line.keyword not in KNOWN_LINES:
            raise Unreadable(f"{line.keyword} {line.rest}")
        if line.keyword == "phase":
            groups.append((line.rest.split(" ")[0], []))
        elif line.keyword in PHASE_LINES:
            (groups[-1][1] if groups else head).append(line)
    return head, groups or [(None, [])]


def _phase(name: str | None, head: list[Line], own: list[Line], *, first: bool) -> Phase:
    """A phase with what stands above the first one; its own lines go before those.

    A bag above the first phase is hung once: the first phase begins it, the next go on with
    what is left ("In several phases").
    """
    phase = Phase(name)
    overridden = {line.keyword for line in own}
    if overridden & set(BAG_LINES):
        overridden |= set(BAG_LINES)
    once = ("prime", *BAG_LINES)
    held = [line for line in head if line.keyword not in overridden]
    for line in [line for line in held if first or line.keyword not in once] + own:
        _put(phase, line)
    return phase


def _put(phase: Phase, line: Line) -> None:
    rest = line.rest
    match line.keyword:
        case "mix" | "premixed" | "hang" | "undiluted":
            phase.bag = bag(line)
        case "prime":
            phase.prime = quantity(rest).value
        case "bolus":
            phase.steps.append(bolus(rest))
        case "run":
            phase.steps.append(run(rest))
        case "flush":
            found = match(rf"({VOLUME}) with ({NAME})", rest, "flush")
            phase.flushes.append((quantity(found[1]).value, found[2]))
        case "adjust":
            phase.adjust = adjust(rest)
        case "then":
            phase.then = then(rest)
        case "ceiling":
            phase.ceiling = quantity(rest)
        case "route" | "pump" | "purpose":
            setattr(phase, line.keyword, rest)
        case "giving-set":
            phase.giving_set = rest


@dataclass
class Reference:
    """Everything that orders name."""

    drugs: dict[str, Drug] = field(default_factory=dict)
    solutions: dict[str, Solution] = field(default_factory=dict)
    areas: dict[str, Stanza] = field(default_factory=dict)
    pumps: dict[str, Pump] = field(default_factory=dict)
    drops: dict[str, Fraction] = field(default_factory=dict)  # per mL

    def ends(self, of: Order, what: str) -> tuple[Fraction | None, Fraction | None]:
        """The ends of the order's weights, surfaces or ages: its own, else its area's (ruling 34)."""
        ends: list[Fraction | None] = [None, None]
        for span in (of.patient.get(what), self._area(of.area, what)):
            for side, end in enumerate((span.low, span.high) if span else ()):
                if ends[side] is None and end is not None:
                    ends[side] = end.value
        return ends[0], ends[1]

    def ceiling(self, of: Order) -> Quantity | None:
        """The area's ceiling."""
        stanza = self.areas.get(of.area or "")
        return optional(stanza.one("ceiling")) if stanza else None

    def pump_of(self, of: Order, phase: Phase) -> Pump | None:
        """The order's pump before the area's (ruling 34)."""
        stanza = self.areas.get(of.area or "")
        name = phase.pump or (stanza.one("pump") if stanza else None)
        return self.pumps.get(name) if name else None

    def _area(self, name: str | None, what: str) -> Range | None:
        stanza = self.areas.get(name or "")
        lines = stanza.all("patient") if stanza else []
        for rest in lines:
            if rest.startswith(what + " "):
                band = quantities_between(rest.removeprefix(what + " "))
                return _kilograms(band) if what == "weight" else band
        return None


def reference(found: list[Stanza]) -> Reference:
    """Reads the stanzas that orders name."""
    made = Reference()
    for stanza in found:
        match stanza.kind:
            case "drug":
                made.drugs[stanza.name] = drug(stanza)
            case "solution":
                made.solutions[stanza.name] = contents(stanza)
            case "area":
                made.areas[stanza.name] = stanza
            case "pump":
                made.pumps[stanza.name] = pump(stanza)
            case "giving-set":
                if drops := stanza.one("drops"):
                    made.drops[stanza.name] = number(drops.removesuffix(" per mL"))
    return made
