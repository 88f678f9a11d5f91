"""Which limits of the drug hold, and which are passed ("Which limit holds", "A giving", "Loads")."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

from answers import Answers
from bags import in_kind
from delivery import Delivery, deliver
from orders import Order, Phase
from pieces import DAY, Apart, Piece, drug_of, givings
from quantities import DRUG_KINDS, Quantity
from reference import Limit, Reference

ABOVE, BELOW = "above", "below"
BY_RATE = ("dose", "flow", "time")  # what a load is not judged by, as a rule
BAGS_SEEN = 40  # of bags that follow one another, each a giving: the next ones are as these


class Judge:
    """Judges one order at one patient."""

    def __init__(
        self, reference: Reference, order: Order, weight: Fraction | None, surface: Fraction | None
    ) -> None:
        drug = reference.drugs[order.drug or ""]
        windows = [limit.window for limit in drug.limits if limit.window]
        horizon = max([DAY, *windows])
        self.delivery: Delivery
        self.delivery, self.patient = deliver(reference, order, weight, surface, horizon)
        self.at_ends = [
            deliver(reference, at, weight, surface, horizon)[0] for at in _at_ends_of_adjust(order)
        ]
        self.drug, self.order = drug, order
        self.answers = [Answers(reference, order, phase, self.patient) for phase in order.phases]
        self.held: dict[tuple[int, str, bool], set[int]] = {}
        loads_stated = {"bolus", "bolus rate", "bolus time"}
        self.loads_by_rate = not any(l.never and l.measure in loads_stated for l in drug.limits)
        self.givings = self._givings()

    def broken(self, limit: Limit, side: str) -> bool:
        """Whether this patient is beyond the limit on that side."""
        size = self.patient.size(limit.unit)
        if side == ABOVE:
            return bool(limit.high) and self._past(limit, side, limit.high.value * size)
        return bool(limit.low) and self._past(
            limit, side, self._asked(limit, limit.low.value * size)
        )

    def _past(self, limit: Limit, side: str, bound: Fraction) -> bool:
        values = self._readings(limit, side)
        return any(value > bound if side == ABOVE else value < bound for value in values)

    def _asked(self, limit: Limit, low: Fraction) -> Fraction:
        """A lower `usual` asks for no more than the drug's `never` of the same measure allows."""
        if limit.never:
            return low
        for other in self.drug.limits:
            same = other.measure == limit.measure and other.window == limit.window
            if other.never and other.high and same and self._surely(other):
                allowed = other.high.value * self.patient.size(other.high)
                if other.unit.form.kind in DRUG_KINDS:
                    allowed = self.drug.same(allowed, other.unit.form.kind, limit.unit.form.kind)
                low = min(low, allowed)
        return low

    # Which limit holds.

    def _held(self, limit: Limit, side: str, *, load: bool = False) -> set[int]:
        """The phases for which the limit holds on that side."""
        asked = (id(limit), side, load)
        if asked not in self.held:
            phases = range(len(self.answers))
            self.held[asked] = {at for at in phases if self._holds(limit, side, at, load)}
        return self.held[asked]

    def _holds(self, limit: Limit, side: str, index: int, load: bool) -> bool:
        answers = self.answers[index]
        as_loading = limit.conditions.purposes == ("loading",)
        if as_loading and not load and answers.phase.purpose is None:
            return False  # what does not say that it is a load is none
        if not answers.fulfil(limit.conditions, unanswered=True, load=load):
            return False
        if limit.exceptions and answers.fulfil(limit.exceptions, unanswered=False, load=load):
            return False
        return limit.never or not any(
            self._replaces(other, limit, side, index, load) for other in self.drug.limits
        )

    def _replaces(self, other: Limit, limit: Limit, side: str, index: int, load: bool) -> bool:
        """A `usual` gives way to one of its measure, form and side with all its conditions."""
        if other is limit or other.never or other.measure != limit.measure:
            return False
        if other.unit.form != limit.unit.form or other.window != limit.window:
            return False
        if not (other.high if side == ABOVE else other.low):
            return False
        narrower = other.conditions.include(limit.conditions)
        if not narrower or limit.conditions.include(other.conditions):
            return False
        return self.answers[index].fulfil(other.conditions, unanswered=False, load=load)

    def _surely(self, limit: Limit) -> bool:
        """Whether its conditions hold, and none of them because it was left unanswered."""
        return any(
            answers.fulfil(limit.conditions, unanswered=False)
            and not (limit.exceptions and answers.fulfil(limit.exceptions, unanswered=True))
            for answers in self.answers
        )

    # What is read of the delivery.

    def _readings(self, limit: Limit, side: str) -> Iterator[Fraction]:
        """Every value that the limit judges on that side, in its bound's base units."""
        by_measure: dict[str, Callable[[Limit, str], Iterator[Fraction]]] = {
            "dose": self._rates,
            "flow": self._rates,
            "single dose": self._single_doses,
            "interval": self._intervals,
            "strength": self._strengths,
            "bolus": self._boluses,
            "bolus time": self._bolus_times,
            "bolus rate": self._bolus_rates,
            "total": self._totals,
            "time": self._times,
        }
        for value in by_measure[limit.measure](limit, side):
            if limit.unit.form.kind in DRUG_KINDS and self.drug.supplied:
                kind = self.drug.supplied.form.kind
                yield self.drug.same(value, kind, limit.unit.form.kind)
            else:
                yield value

    def _nominal(self, piece: Piece, limit: Limit) -> list[Fraction]:
        """Drug per h: a `usual` by the counted volume, a `never` by both."""
        return [piece.nominal_rate, piece.drug] if limit.never else [piece.nominal_rate]

    def _amounts(self, pieces: list[Piece], limit: Limit) -> Iterator[Fraction]:
        """All their drug: a `usual` by the counted volume, a `never` by both."""
        yield sum((piece.nominal_amount() for piece in pieces), Fraction(0))
        if limit.never:
            yield sum((piece.amount() for piece in pieces), Fraction(0))

    def _judged(self, piece: Piece, limit: Limit, side: str) -> bool:
        """Whether a limit by rate or time judges this piece."""
        if side == BELOW and piece.what in ("pushed", "open", "left off"):
            return False  # what keeps the vein open is meant to be little
        named = "loading" in (limit.conditions.purposes or ())
        if piece.load:
            by_rate = piece.comes_back or named or (limit.never and self.loads_by_rate)
            return by_rate and piece.phase in self._held(limit, side, load=True)
        as_load = named and limit.never and self._as_load(piece, limit.measure)
        return piece.phase in self._held(limit, side, load=as_load)

    def _rates(self, limit: Limit, side: str) -> Iterator[Fraction]:
        """`dose` and `flow`: piece by piece, and at both ends of an `adjust`."""
        after = limit.conditions.after
        for piece in self.delivery.pieces:
            if not piece.drug or (piece.end is not None and piece.end <= after):  # nor a lump
                continue
            if self._judged(piece, limit, side):
                yield from [piece.flow] if limit.measure == "flow" else self._nominal(piece, limit)
                if piece.what == "run":
                    yield from self._settings(piece, limit)

    def _settings(self, piece: Piece, limit: Limit) -> Iterator[Fraction]:
        """The ends of an `adjust` as flows or doses, its lid binding."""
        phase = self.order.phases[piece.phase]
        run = next(step for step in phase.steps if step.line == "run")
        for setting in phase.adjust or ():
            flow = self._flow(setting, piece)
            if run.rate_lid:
                flow = min(flow, self._flow(run.rate_lid, piece))
            at = replace(piece, flow=flow)
            yield from [flow] if limit.measure == "flow" else self._nominal(at, limit)

    def _flow(self, setting: Quantity, piece: Piece) -> Fraction:
        value = self.patient.scaled(setting)
        if setting.form.kind == "volume":
            return value
        return in_kind(self.drug, setting, value) / piece.liquid.counted

    def _strengths(self, limit: Limit, side: str) -> Iterator[Fraction]:
        for index in self._held(limit, side):
            done = self.delivery.phases[index]
            if done.own and done.vessel and done.vessel.liquid.drug:
                yield done.vessel.liquid.counted
                if limit.never:
                    yield done.vessel.liquid.drug

    def _of_giving(self, giving: list[Piece], limit: Limit, side: str) -> bool:
        """Whether the limit holds for the giving, by any phase that it goes through."""
        if side == BELOW and giving[0].what == "left off":
            return False
        named = limit.never and "loading" in (limit.conditions.purposes or ())
        load = any(p.load or (named and self._as_load(p, limit.measure)) for p in giving)
        held = self._held(limit, side) | (self._held(limit, side, load=True) if load else set())
        return any(piece.phase in held for piece in giving)

    def _single_doses(self, limit: Limit, side: str) -> Iterator[Fraction]:
        for giving in self.givings:
            if not self._ends(giving) and side == ABOVE and giving[-1].what == "renewed":
                once = [p for p in giving if p.load and not p.comes_back]
                if once and self._of_giving(once, limit, side) and not self._way(once, limit, side):
                    yield from self._amounts(once, limit)
            if (
                self._ends(giving)
                and self._of_giving(giving, limit, side)
                and not self._way(giving, limit, side)
            ):
                counted = [piece for piece in giving if side == ABOVE or piece.what != "pushed"]
                yield from self._amounts(counted, limit)

    def _ends(self, giving: list[Piece]) -> bool:
        """Whether it does: no piece goes on, and no repetitions that are one giving."""
        phase = self.delivery.repeats_for_ever
        rounds = {piece.round for piece in giving if piece.round and piece.phase == phase}
        return len(rounds) <= 1 and all(piece.end is not None for piece in giving)

    def _way(self, giving: list[Piece], limit: Limit, side: str) -> bool:
        """Whether the limit gives way to a `single dose` as loading, in a giving with a load."""
        loads = [piece for piece in giving if piece.load]
        if not loads or any(piece.comes_back for piece in loads):
            return False
        if "loading" in (limit.conditions.purposes or ()):
            return False
        return any(
            other.measure == "single dose"
            and "loading" in (other.conditions.purposes or ())
            and bool(other.high if side == ABOVE else other.low)
            and (other.never or not limit.never)
            and bool(self._held(other, side, load=True))
            for other in self.drug.limits
        )

    def _intervals(self, limit: Limit, side: str) -> Iterator[Fraction]:
        """From the start of one giving to that of the next: of bags that follow one another from
        one bag, of repetitions from one time, and of what an hour without the drug parts.
        """
        for before, after in zip(self.givings, self.givings[1:], strict=False):
            first = after[0]
            if first.what in ("renewed", "left off"):
                start = first.begun
            elif first.round:
                time = (first.phase, first.round - 1)
                start = min(p.start for p in before if (p.phase, p.round) == time)
            else:
                continue
            if self._of_giving(after, limit, side):
                yield first.start - start
        parts = list(self._parts())
        for before, after in zip(parts, parts[1:], strict=False):
            if after[0].round or after[0].what in ("renewed", "left off"):
                continue
            if self._of_giving(after, limit, side):
                yield after[0].start - before[0].start

    def _parts(self) -> Iterator[list[Piece]]:
        """What is given without an hour's pause, each repetition by itself."""
        part: list[Piece] = []
        end: Fraction | None = Fraction(0)
        for piece in self.delivery.pieces:
            if not piece.liquid.drug or piece.what == "pushed":
                continue
            again = bool(part) and (piece.phase, piece.round) != (part[-1].phase, part[-1].round)
            apart = end is not None and piece.start - end >= 1
            if part and (apart or (again and piece.round)):
                yield part
                part, end = [], Fraction(0)
            part.append(piece)
            end = None if piece.end is None or end is None else max(end, piece.end)
        if part:
            yield part

    def _times(self, limit: Limit, side: str) -> Iterator[Fraction]:
        """How long a giving lasts; of loads alone, only where limits by rate hold for them."""
        for giving in self.givings:
            if not any(self._judged(piece, limit, side) for piece in giving):
                continue
            counted = [piece for piece in giving if piece.what != "pushed"]
            ends = [piece.end for piece in counted if piece.end is not None]
            if self._ends(giving):
                yield max(ends) - counted[0].start
            elif limit.high:
                yield limit.high.value + 1  # without end

    def _loads(self, limit: Limit, side: str) -> Iterator[list[Piece]]:
        """The loads of each giving for which the limit holds; as loads, runs that nothing else
        judges too (`limit.as-load`).
        """
        held = self._held(limit, side, load=True)
        for giving in self.givings:
            asked = [p for p in giving if p.phase in held and (side == ABOVE or p.what != "pushed")]
            loads = [piece for piece in asked if piece.load]
            if loads and not (side == BELOW and giving[0].what == "left off"):
                yield loads
            if limit.never and any(self._as_load(p, limit.measure) for p in asked if not p.load):
                yield [p for p in asked if p.load or self._as_load(p, limit.measure)]

    def _as_load(self, piece: Piece, measure: str) -> bool:
        """Whether no limit holds a run back, of a drug with limits for loads alone."""
        by_rate = measure == "bolus rate"
        judging = BY_RATE if by_rate else (*BY_RATE, "single dose", "total")
        return not any(
            limit.measure in judging
            and (limit.low if limit.measure == "time" else limit.high)
            and piece.phase in self._held(limit, BELOW if limit.measure == "time" else ABOVE)
            and (piece.end is None or piece.end > limit.conditions.after)
            for limit in self.drug.limits
        )

    def _boluses(self, limit: Limit, side: str) -> Iterator[Fraction]:
        for loads in self._loads(limit, side):
            if self._ends(loads):
                yield from self._amounts(loads, limit)
            elif limit.high:
                yield limit.high.value * self.patient.size(limit.unit) + 1  # without end
        if side == ABOVE:  # what a flush pushes out of the line
            held = self._held(limit, side, load=True)
            for piece in self.delivery.pieces:
                if piece.what == "pushed" and piece.lump and piece.phase in held:
                    yield from self._amounts([piece], limit)

    def _bolus_times(self, limit: Limit, side: str) -> Iterator[Fraction]:
        for loads in self._loads(limit, side):
            if self._ends(loads):
                flowing = [piece.lasts() for piece in loads if piece.what != "pushed"]
                yield sum(flowing, Fraction(0))

    def _bolus_rates(self, limit: Limit, side: str) -> Iterator[Fraction]:
        by_volume = limit.unit.form.kind == "volume"
        for loads in self._loads(limit, side):
            for piece in (piece for piece in loads if not piece.lump):
                yield from [piece.flow] if by_volume else self._nominal(piece, limit)

    def _totals(self, limit: Limit, side: str) -> Iterator[Fraction]:
        with_drug = {piece.phase for piece in self.delivery.pieces if piece.liquid.drug}
        if not with_drug & (self._held(limit, side) | self._held_by_loads(limit, side)):
            return

        def per_ml(piece: Piece) -> Fraction:
            return drug_of(piece) if side == ABOVE or piece.what != "pushed" else Fraction(0)

        for delivery in [self.delivery, *(self.at_ends if limit.never else ())]:
            if limit.window:
                yield delivery.most_in(limit.window, per_ml)
            elif (total := delivery.total(per_ml)) is not None:
                yield total
            elif limit.high:
                yield limit.high.value * self.patient.size(limit.unit) + 1  # it grows without end

    def _held_by_loads(self, limit: Limit, side: str) -> set[int]:
        loads = {piece.phase for piece in self.delivery.pieces if piece.load}
        return loads & self._held(limit, side, load=True)

    # Givings.

    def _givings(self) -> list[list[Piece]]:
        """The givings of the order; bags that are renewed, each by itself where no limit by
        `dose` or `total` judges them, and they have no end or the drug states an interval ("Bags
        that follow one another").
        """
        stated = [limit for limit in self.drug.limits if limit.measure == "interval"]
        shortest = min((limit.low.value for limit in stated if limit.low), default=None)
        found = givings(self.delivery.pieces, Apart(bool(stated), shortest))
        renewed = [piece for piece in self.delivery.pieces if piece.what == "renewed"]
        ends = all(piece.end is not None for piece in renewed)
        if not renewed or (ends and not stated) or self._by_rate():
            return found
        return [part for giving in found for part in self._bags(giving)]

    def _by_rate(self) -> bool:
        renewed = {piece.phase for piece in self.delivery.pieces if piece.what == "renewed"}
        return any(
            renewed & self._held(limit, ABOVE)
            for limit in self.drug.limits
            if limit.measure in ("dose", "total") and limit.high
        )

    def _bags(self, giving: list[Piece]) -> Iterator[list[Piece]]:
        first = [piece for piece in giving if piece.what != "renewed"]
        if first:
            yield first
        for piece in giving:
            if piece.what == "renewed":
                yield from ([bag] for bag in _one_by_one(piece))


def _at_ends_of_adjust(order: Order) -> list[Order]:
    """The order with every run that may be adjusted at the lowest, and at the highest setting."""
    if not any(phase.adjust for phase in order.phases):
        return []
    return [replace(order, phases=[_set(phase, end) for phase in order.phases]) for end in (0, 1)]


def _set(phase: Phase, end: int) -> Phase:
    if not phase.adjust:
        return phase
    rate = phase.adjust[end]
    steps = [
        replace(step, rate=rate, over=None) if step.line == "run" else step for step in phase.steps
    ]
    return replace(phase, steps=steps)


def _one_by_one(renewed: Piece) -> Iterator[Piece]:
    """The bags of a renewed piece; the last one may be left off before it is empty."""
    start, begun, lasts = renewed.start, renewed.begun, renewed.bag / renewed.flow
    for _ in range(BAGS_SEEN):
        end = start + lasts
        if renewed.end is not None and end > renewed.end:
            if start < renewed.end:
                end, what = renewed.end, "left off"
                yield replace(renewed, start=start, end=end, begun=begun, what=what)
            return
        yield replace(renewed, start=start, end=end, begun=begun)
        start, begun = end, start
