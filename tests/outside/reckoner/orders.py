"""An order's lines ("Stanzas", `order`), every one of them."""

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
    quantities_between,
    quantity,
    time,
)
from stanzas import Line, Stanza, kilograms, match, optional

# Ruling 32: what may stand in a phase; all else holds for the whole order.
PHASE_LINES = (
    "mix", "premixed", "hang", "undiluted", "prime", "bolus", "run", "adjust", "flush", "ceiling",
    "bolus ceiling", "then", "change bag every", "route", "pump", "giving-set", "purpose",
)  # fmt: skip
BAG_LINES = ("mix", "premixed", "hang", "undiluted")
NAME = r"[\w-]+"


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
        return Bag("premixed", quantity(found[1]), None, quantity(found[2]), False, None, found[3])
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
    return Step(
        "bolus", quantity(found[1]), optional(found[4]), over, lid, each_time=bool(found[6])
    )


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
        patient[what] = kilograms(band) if what == "weight" else band
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
