"""Sets the reckoner's verdict on each limit, and where a breach begins, beside the tool's."""

from fractions import Fraction

from limits import Judge
from orders import Order
from quantities import Unreadable
from reference import Limit, Reference
from tool import Breach, Said

GRID = 6  # weights between the ends at which verdicts are compared
NEAR = Fraction(1, 90)  # a printed weight is told to three digits at the least
BESIDE = Fraction(1, 10**9)

Who = tuple[Fraction | None, Fraction | None]


class Verdicts:
    """Verdicts on one order; the judge of each patient is kept."""

    def __init__(self, reference: Reference, of: Order) -> None:
        self.reference, self.order = reference, of
        self.weights = reference.ends(of, "weight")
        self.surfaces = reference.ends(of, "surface")
        self.kept: dict[Who, Judge] = {}
        self.begins = 0

    def short(self) -> bool:
        """Whether for any patient more is to leave a bag than it holds."""
        return any(self._judge(who).delivery.short for who in self._patients())

    def differ(self, limit: Limit, side: str, theirs: list[Breach]) -> str | None:
        """In what the two differ, if in anything."""
        if not (limit.high if side == "above" else limit.low):
            return f"has no such side, the tool: {_told(theirs)}" if theirs else None
        try:
            if self._one_by_one(theirs):
                return self._anywhere(limit, side, theirs)
            return self._grid(limit, side, theirs) or self._ends(limit, side, theirs)
        except Unreadable:
            return None  # a limit by weight, of an order that does not say for whom

    def _one_by_one(self, theirs: list[Breach]) -> bool:
        """Whether weights cannot be set against the tool's words: it tells of surfaces too."""
        return self.surfaces[0] is not None or any(breach.by_surface for breach in theirs)

    def _anywhere(self, limit: Limit, side: str, theirs: list[Breach]) -> str | None:
        patients = self._patients()
        whole = [who for who in patients if not self._is_short(who)]
        mine = any(self._broken(limit, side, who) for who in whole)
        if mine == bool(theirs) or (theirs and len(whole) < len(patients)):
            return None
        return f"the reckoner says {mine}, the tool {_told(theirs)}"

    def _grid(self, limit: Limit, side: str, theirs: list[Breach]) -> str | None:
        """At every weight of the grid, but those at which the tool's words begin or end."""
        for who in self._patients():
            weight = who[0] or Fraction(0)
            if self._is_short(who) or any(_near(weight, breach) for breach in theirs):
                continue
            mine = self._broken(limit, side, who)
            if mine != any(breach.holds(weight) for breach in theirs):
                return f"at {_kg(weight)} the reckoner says {mine}, the tool {_told(theirs)}"
        return None

    def _ends(self, limit: Limit, side: str, theirs: list[Breach]) -> str | None:
        """On either side of each weight that the tool prints: it is on the safe side of the true
        one, and near it.
        """
        low, high = self.weights
        for weight in {end for breach in theirs for end in (breach.low, breach.high) if end}:
            for away in (-1, 1):
                inside = any(breach.holds(weight * (1 + away * BESIDE)) for breach in theirs)
                at = weight * (1 + away * (NEAR if inside else BESIDE))
                if (
                    low is None
                    or high is None
                    or not low <= at <= high
                    or self._is_short((at, None))
                ):
                    continue
                if inside and not any(breach.holds(at) for breach in theirs):
                    continue  # what it tells is smaller than the digits that it prints
                mine = self._broken(limit, side, (at, None))
                if mine != inside:
                    return f"just {'above' if away > 0 else 'below'} {_kg(weight)} the reckoner says " \
                        f"{mine}, the tool {_told(theirs)}"  # fmt: skip
            self.begins += 1
        return None

    def _patients(self) -> list[Who]:
        """The ends of the weights and some between, each with either end of the surfaces."""
        low, high = self.weights
        weights: list[Fraction | None] = [None]
        if low is not None and high is not None:
            steps = GRID if low != high else 0
            weights = [low + (high - low) * n / max(steps, 1) for n in range(steps + 1)]
        surfaces = self.surfaces if self.surfaces[0] is not None else (None,)
        return [(weight, surface) for weight in weights for surface in surfaces]

    def _judge(self, who: Who) -> Judge:
        if who not in self.kept:
            self.kept[who] = Judge(self.reference, self.order, *who)
        return self.kept[who]

    def _is_short(self, who: Who) -> bool:
        return self._judge(who).delivery.short

    def _broken(self, limit: Limit, side: str, who: Who) -> bool:
        return self._judge(who).broken(limit, side)


def at_line(said: Said, line: int, side: str) -> list[Breach]:
    """What the tool says of the limit in that line, on that side."""
    return [breach for breach in said.breaches if breach.place[1] == line and breach.side == side]


def _told(theirs: list[Breach]) -> str:
    return "; ".join(breach.message for breach in theirs) or "nothing"


def _near(weight: Fraction, breach: Breach) -> bool:
    ends = [end for end in (breach.low, breach.high) if end is not None]
    return any(abs(weight - end) <= end * NEAR for end in ends)


def _kg(weight: Fraction) -> str:
    return f"{float(weight):.6g} kg"
