"""Sets everything that the reckoner says of an order beside what the tool says."""

from dataclasses import dataclass
from fractions import Fraction

from delivery import deliver
from generator import Text
from measures import Measures
from orders import Order, order
from quantities import Form, Unreadable, quantity, unit
from reference import Limit, Reference, drug
from stanzas import stanzas
from tool import Breach, Said, Told
from verdicts import Verdicts, at_line

OF_PHASE = (
    "strength", "true strength", "draw", "diluent", "containers", "flow", "time", "volume",
    "dose", "drops", "bolus", "bolus time", "runs dry", "bags per day",
)  # fmt: skip
NOT_COMPARED = ("pump flow", "pump dose")


@dataclass
class Difference:
    """Where the two do not say the same: in what (a measure, a limit's line), and how.

    `tool` is what the tool does by the reckoner: of a value, tell `more` or `less`; of a limit,
    be `silent` or `cry`, or `cry without a weight`; else `other`.
    """

    about: str
    tool: str
    detail: str


@dataclass
class Counts:
    """What was compared."""

    values: int = 0
    orders: int = 0
    limits: int = 0
    begins: int = 0  # weights at which a breach begins or ends
    unreadable: int = 0
    short: int = 0  # orders that take more from a bag than it holds, for some patient
    cut_short: int = 0

    def add(self, other: "Counts") -> None:
        """Adds what another compared."""
        for name, number in vars(other).items():
            setattr(self, name, getattr(self, name) + number)


class Comparing:
    """Compares one order after another; values until there are enough of them."""

    def __init__(self, ward: Reference, values: int) -> None:
        self.ward, self.enough = ward, values
        self.counts = Counts()

    def differences(self, text: Text, said: Said, first_line: int) -> list[Difference]:
        """All that differs; `first_line` is where the text begins in the tool's file."""
        try:
            of, reference, limits = self._read(text)
        except Unreadable as why:
            self.counts.unreadable += 1
            silent = said.incomplete and not said.values
            return (
                [] if silent else [Difference("unreadable", "other", f"{why}, and it has values")]
            )
        if said.incomplete:
            return self._no_values(of, reference, said)
        try:
            found = self._values(of, reference, said)
        except Unreadable as why:
            return [Difference("not carried out", "other", f"{why}, and it has values")]
        if "check.cut-short" in said.rules:
            self.counts.cut_short += 1
            return found
        return found + self._verdicts(of, reference, limits, said, first_line)

    def _read(self, text: Text) -> tuple[Order, Reference, list[Limit]]:
        found = stanzas(text.whole(), "")
        reference = Reference(**vars(self.ward))
        read = drug(found[0])
        reference.drugs = {read.name: read}
        return order(found[1]), reference, read.limits

    def _no_values(self, of: Order, reference: Reference, said: Said) -> list[Difference]:
        """An order without values is one that cannot be carried out for everybody."""
        weights, surfaces = reference.ends(of, "weight"), reference.ends(of, "surface")
        if (weights[0] is None) != (weights[1] is None):
            return []  # a range that nobody closes (ruling 34)
        try:
            ends = [deliver(reference, of, weight, surfaces[0])[0] for weight in weights]
        except Unreadable:
            return []
        if any(delivery.short for delivery in ends):
            return []
        return [Difference("incomplete", "other", f"has no values: {sorted(said.rules)}")]

    def _values(self, of: Order, reference: Reference, said: Said) -> list[Difference]:
        found: dict[str, Difference] = {}
        made: dict[tuple, Measures] = {}
        for value in said.values if self.counts.values < self.enough else said.values[:1]:
            at, measure = value.at, value.measure
            who = (_exact(at, "weight", 10**6), _exact(at, "surface", 1))
            if who not in made:
                made[who] = Measures(reference, of, *deliver(reference, of, *who))
            short = made[who].delivery.short
            if short or measure in NOT_COMPARED or value.exact is None:
                continue
            mine = _answer(made[who], value)
            self.counts.values += 1
            if mine is None or mine != Fraction(value.exact):
                about = f"{measure} in {value.unit}"
                detail = f"the tool says {value.exact}, the reckoner {mine}"
                where = f"phase {value.phase + 1}, {value.part or 'whole'}, {at}"
                tool = "less" if mine is not None and mine > Fraction(value.exact) else "more"
                found.setdefault(about, Difference(about, tool, f"{about} ({where}): {detail}"))
        return list(found.values())

    def _verdicts(
        self, of: Order, reference: Reference, limits: list[Limit], said: Said, first_line: int
    ) -> list[Difference]:
        self.counts.orders += 1
        verdicts = Verdicts(reference, of)
        found = self._enough(of, verdicts, said)
        for limit in limits:
            line = limit.place[1] + first_line - 1
            for side in ("above", "below"):
                self.counts.limits += bool(limit.high if side == "above" else limit.low)
                theirs = at_line(said, line, side)
                differ = verdicts.differ(limit, side, theirs)
                if differ:
                    about = f"{limit.text} ({side})"
                    found.append(Difference(about, _tool(differ, theirs), f"{about}: {differ}"))
        self.counts.begins += verdicts.begins
        return found

    def _enough(self, of: Order, verdicts: Verdicts, said: Said) -> list[Difference]:
        """Whether the bags hold what is to leave them: where they do not, nothing else is asked.

        An order whose bag is renewed is left in peace ("Balance").
        """
        short, told = verdicts.short(), "volume.not-enough" in said.rules
        self.counts.short += short
        last = of.phases[-1].then
        if short == told or (last and last.what == "renew"):
            return []
        detail = f"not enough in a bag: the reckoner {short}, the tool {told}"
        return [Difference("not enough", "silent" if short else "cry", detail)]


def _tool(differ: str, theirs: list[Breach]) -> str:
    """Whether the tool is silent where the reckoner finds a breach, or the reverse."""
    if "the reckoner says True" in differ:
        return "silent" if theirs else "silent altogether"
    weights = all(breach.low or breach.high for breach in theirs)
    return "cry" if weights else "cry without a weight"


def _answer(measures: Measures, value: Told) -> Fraction | None:
    """The reckoner's value, in the tool's unit."""
    form, size = unit(value.unit) if value.unit else (Form(""), Fraction(1))
    if value.measure in OF_PHASE:
        mine = measures.of_phase(value.phase, value.measure, _part(value), form)
    else:
        mine = measures.of_order(value.measure, form)
    return mine / size if mine is not None else None


def _part(value: Told) -> int:
    """Which of several boluses or runs: `run 2` is the second."""
    part = value.part.split()[-1] if value.part else "1"
    return int(part) - 1 if part.isdigit() else 0


def _exact(at: dict[str, str], what: str, size: int) -> Fraction | None:
    if f"exact_{what}" in at:
        return Fraction(at[f"exact_{what}"])
    return quantity(at[what]).value / size if what in at else None
