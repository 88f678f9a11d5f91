"""What orders name: drugs with their limits, solutions, areas, pumps ("Stanzas")."""

import re
from dataclasses import dataclass, field
from fractions import Fraction

from orders import Order, Phase
from quantities import (
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
from stanzas import Line, Stanza, kilograms, match, optional

MEASURES = (
    "single dose", "bolus rate", "bolus time", "bolus", "interval", "strength", "osmolarity",
    "total", "time", "dose", "flow",
)  # fmt: skip


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
        return [
            (name, value) for name, value in vars(self).items() if value and name != "by_surface"
        ]

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
    return band if by_surface else kilograms(band), by_surface


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
                return kilograms(band) if what == "weight" else band
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
