"""Carries out an order, line by line ("What the lines mean, exactly")."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from bags import Vessel, in_kind, vessel
from orders import Order, Phase, Step, Then
from pieces import DAY, NOTHING, Liquid, Patient, Piece, most_in, total
from quantities import Quantity, Unreadable, needed
from reference import Reference


@dataclass
class Performed:
    """A `bolus` or `run` as it was carried out the first time."""

    step: Step
    flow: Fraction
    volume: Fraction
    time: Fraction
    liquid: Liquid

    def as_stated(self) -> tuple[bool, bool]:
        """Whether its rate, and its amount, go by the counted volume: `all` is what is in the bag."""
        some = self.step.amount is not None
        return some or self.step.rate is not None, some

    def dose(self) -> Fraction:
        """Drug per h, nominally."""
        return self.flow * (self.liquid.counted if self.as_stated()[0] else self.liquid.drug)


@dataclass
class PhaseDone:
    """What a phase came to."""

    vessel: Vessel | None  # its own bag, or the one it goes on with
    own: bool
    performed: list[Performed]
    runs_dry: Fraction | None

    def last_run(self) -> Performed:
        """The run that goes on, where bags are renewed."""
        runs = [what for what in self.performed if what.step.line == "run"]
        return needed(runs[-1] if runs else None, "what runs")

    def each_bag(self) -> Fraction:
        """mL that each bag gives that is renewed: all, or what the run says."""
        run = self.last_run()
        volume = needed(self.vessel, "what hangs").volume
        return volume if run.step.amount is None else min(run.volume, volume)


@dataclass
class Delivery:
    """The pieces of an order for one patient, by start; `endless` if any never ends."""

    pieces: list[Piece]
    phases: list[PhaseDone]
    repeats_for_ever: int | None  # the phase that does
    short: bool  # more was to leave a bag than it held

    @property
    def endless(self) -> bool:
        """Whether drug or fluid goes on without an end."""
        return self.repeats_for_ever is not None or any(p.end is None for p in self.pieces)

    def total(self, per_ml: Callable[[Piece], Fraction]) -> Fraction | None:
        """All of it, where it ends."""
        flowing = [piece for piece in self.pieces if per_ml(piece)]
        again = [piece for piece in flowing if piece.phase == self.repeats_for_ever and piece.round]
        if again or any(piece.end is None for piece in flowing):
            return None
        return total(flowing, per_ml)

    def most_in(self, hours: Fraction, per_ml: Callable[[Piece], Fraction]) -> Fraction:
        """The most in any so many hours."""
        return most_in(self.pieces, hours, per_ml)


class Building:
    """Carries out an order, line by line, for one patient."""

    def __init__(
        self, reference: Reference, order: Order, patient: Patient, horizon: Fraction
    ) -> None:
        self.reference, self.order, self.patient = reference, order, patient
        self.drug = reference.drugs.get(order.drug or "")
        self.horizon = horizon  # repetitions without end are carried out so far
        self.clock = NOTHING
        self.vessel: Vessel | None = None
        self.left = self.bag_primed = NOTHING  # in the bag, and what left it for the line
        self.line: list[tuple[Fraction, Liquid]] = []  # mL that stand in it, the first to come out
        self.balance: dict[str, Fraction] = {}  # of each substance ("" is the drug): what came out
        self.on_top: dict[str, Fraction] = {}  # of the line beyond the bags, and what of it counted
        self.emptied: dict[int, Fraction] = {}  # by bag, hours from its beginning
        self.begun = NOTHING  # when the bag was begun
        self.pieces: list[Piece] = []
        self.phases: list[PhaseDone] = []
        self.for_ever: int | None = None
        self.short = self.primed_as_load = False

    def delivery(self) -> Delivery:
        """Carries out every phase."""
        for index, phase in enumerate(self.order.phases):
            self._phase(index, phase)
        for done in self.phases:
            done.runs_dry = self.emptied.get(id(done.vessel))
        return Delivery(
            sorted(self.pieces, key=lambda piece: piece.start), self.phases, self.for_ever,
            self.short,
        )  # fmt: skip

    def _phase(self, index: int, phase: Phase) -> None:
        done = PhaseDone(None, phase.bag is not None, [], None)
        self.phases.append(done)
        if phase.bag:
            made = vessel(phase.bag, self.drug, self.reference, self.patient)
            self._hang(made, phase.prime, load=phase.purpose == "loading")
        done.vessel = self.vessel
        starts = [self._first(index, phase, step, done) for step in phase.steps]
        if (emptied := self._empties(phase, done)) is not None:
            self.emptied[id(self.vessel)] = emptied
        self._flushes(index, phase, 0)
        self._repeats(index, phase, done, starts)
        if phase.then:
            self._then(index, phase, done, phase.then)

    def hanging(self) -> Vessel:
        """The bag that hangs."""
        return needed(self.vessel, "what hangs")

    def _hang(self, made: Vessel, prime: Fraction, *, load: bool) -> None:
        """A fresh bag, primed; what the old line held is pushed out only by what follows."""
        self.vessel, self.left, self.begun = made, made.volume - prime, self.clock
        self.short |= self.left < 0 or (made.diluent or NOTHING) < 0
        self.bag_primed = prime
        if prime:
            self.line, self.primed_as_load = [(prime, made.liquid)], load
            self.balance, self.on_top = {}, {}

    def _first(self, index: int, phase: Phase, step: Step, done: PhaseDone) -> Fraction:
        """Carries out a step, notes what it came to, and says when it began."""
        start = self.clock
        what = self._performed(phase, step)
        done.performed.append(what)
        self._give(index, phase, what, 0)
        return start

    def _performed(self, phase: Phase, step: Step) -> Performed:
        liquid = self.hanging().liquid
        volume = self._volume(step, liquid)
        flow = self._flow(phase, step, liquid)
        if flow is None:
            over = needed(step.over, "how fast it runs")
            return Performed(step, volume / over, volume, over, liquid)
        return Performed(step, flow, volume, volume / flow, liquid)

    def _volume(self, step: Step, liquid: Liquid) -> Fraction:
        """mL of a step: what is left, or the amount up to its lid."""
        if step.amount is None:
            return max(self.left, NOTHING)
        volume = self._mls(step.amount, liquid)
        return min(volume, self._mls(step.amount_lid, liquid)) if step.amount_lid else volume

    def _mls(self, amount: Quantity, liquid: Liquid) -> Fraction:
        """A volume, or an amount of drug by the counted strength, in mL (per h, of a rate)."""
        value = self.patient.scaled(amount)
        if amount.form.kind == "volume":
            return value
        drug = needed(self.drug, "which drug it is")
        if not liquid.counted:
            raise Unreadable("a dose of a fluid without drug")
        return in_kind(drug, amount, value) / liquid.counted

    def _flow(self, phase: Phase, step: Step, liquid: Liquid) -> Fraction | None:
        """mL/h, of a step that says a rate."""
        if step.rate is None:
            return None
        if step.rate.form.kind == "drops":
            return step.rate.value / needed(
                self.reference.drops.get(phase.giving_set or ""), "how many drops"
            )
        flow = self._mls(step.rate, liquid)
        return min(flow, self._mls(step.rate_lid, liquid)) if step.rate_lid else flow

    def _give(self, index: int, phase: Phase, what: Performed, round_: int) -> None:
        """Puts a step into the delivery; what was primed is pushed out ahead of it."""
        load = what.step.line == "bolus" or phase.purpose == "loading"
        renewed = phase.then is not None and phase.then.what == "renew" and what.step.line == "run"
        comes_back = renewed or what.step.every is not None or what.step.each_time
        piece = Piece(
            self.clock, self.clock + what.time, what.flow, what.liquid, what.step.line, index, load,
            round_, comes_back, as_stated=what.as_stated(),
        )  # fmt: skip
        self._push(piece, what.volume)
        self._add(piece)
        self.short |= what.volume > self.left or not what.volume
        self.left -= what.volume

    def _add(self, piece: Piece) -> None:
        self.pieces.append(piece)
        if piece.end is not None:
            self.clock = piece.end

    def _push(self, by: Piece, volume: Fraction | None) -> None:
        """ "The line": what flows in pushes out what stands there, and stands there in its turn.

        What left the bag counts as given where it stands; what was primed comes on top: all of it
        where a flush or a fluid that keeps the vein open takes its place, what is more in it
        where a bag does. Never more of it than was primed.
        """
        # Of a flush all counts as given: what stays of it counts no second time.
        stays = by.liquid if by.what not in ("flush", "open") else Liquid(NOTHING, NOTHING, {})
        rest = sum(part for part, _ in self.line)
        if volume is not None:
            rest = min(rest, volume)
        start = by.start
        while rest > 0:
            held, liquid = self.line.pop(0)
            part = min(held, rest)
            if held > part:
                self.line.insert(0, (held - part, liquid))
            self.line.append((part, stays))
            rest -= part
            if liquid is not by.liquid:
                start = self._pushed(by, start, part, self._surplus(liquid, by, part))
            elif not by.lump:
                start += part / by.flow

    def _pushed(self, by: Piece, start: Fraction, part: Fraction, liquid: Liquid) -> Fraction:
        """Puts what is pushed out into the delivery; says when it is through.

        It is a load if what it was primed with is one, not because a bolus pushes it.
        """
        end = start if by.lump else start + part / by.flow
        pushed = replace(by, start=start, end=end, liquid=liquid, what="pushed", comes_back=False)
        load, lump = self.primed_as_load, part if by.lump else NOTHING
        self.pieces.append(replace(pushed, load=load, lump=lump))
        return end

    def _surplus(self, held: Liquid, follows: Piece, part: Fraction) -> Liquid:
        """Per mL what the line held more of, of the drug and each substance by itself."""
        by = follows.liquid
        of_a_bag = follows.what not in ("flush", "open")

        def more(name: str, holds: Fraction, brings: Fraction) -> Fraction:
            more_in_it = (holds - brings if of_a_bag else holds) * part
            balance = self.balance.get(name, NOTHING) + more_in_it
            on_top = self.on_top.get(name, NOTHING)
            extra = max(balance - on_top, NOTHING)
            self.balance[name], self.on_top[name] = balance, on_top + extra
            return extra / part

        drug = more("", held.drug, by.drug)
        counted = drug * held.counted / held.drug if held.drug else NOTHING
        return Liquid(drug, counted, {
            name: more(name, per_ml, by.substances.get(name, NOTHING))
            for name, per_ml in held.substances.items()
        })  # fmt: skip

    def _flushes(self, index: int, phase: Phase, round_: int) -> None:
        for volume, solution in phase.flushes:
            liquid = Liquid(NOTHING, NOTHING, self.reference.solutions[solution].contents)
            piece = Piece(
                self.clock, self.clock, NOTHING, liquid, "flush", index, phase.purpose == "loading",
                round_, lump=volume,
            )  # fmt: skip
            self._push(piece, volume)
            self._add(piece)

    def _repeats(self, index: int, phase: Phase, done: PhaseDone, starts: list[Fraction]) -> None:
        """Ruling 29: a repeated run takes a fresh bag each time, with the boluses `each time`."""
        again = [
            (start, what.step)
            for start, what in zip(starts, done.performed, strict=True)
            if what.step.every or what.step.each_time
        ]
        every = next((step.every for _, step in again if step.every), None)
        if every is None:
            return
        times = next(step.times for _, step in again if step.every)
        if times is None:
            self.for_ever = index
            times = int(-(-self.horizon // every)) + 1
        hanging = needed(done.vessel, "what hangs")
        for round_ in range(1, times):
            self.clock = again[0][0] + round_ * every
            self._hang(hanging, phase.prime, load=phase.purpose == "loading")
            for _, step in again:
                self._give(index, phase, self._performed(phase, step), round_)
            self._flushes(index, phase, round_)

    def _empties(self, phase: Phase, done: PhaseDone) -> Fraction | None:
        """Hours from a bag's beginning to its end, at the last run's flow if it is renewed."""
        hanging = self.hanging()
        left = hanging.volume - self.bag_primed
        for piece in self.pieces:
            if piece.liquid is not hanging.liquid or piece.start < self.begun:
                continue
            if piece.flow and piece.mls() >= left:
                return piece.start + left / piece.flow - self.begun
            left -= piece.mls()
        follows = phase.then
        if follows and follows.what == "renew" and (flow := done.last_run().flow):
            return self.clock - self.begun + left / flow
        if follows and follows.what == "open" and follows.flow and not follows.solution:
            return self.clock - self.begun + left / self._mls(follows.flow, hanging.liquid)
        return None

    def _then(self, index: int, phase: Phase, done: PhaseDone, follows: Then) -> None:
        load = phase.purpose == "loading"
        last = done.last_run()
        if follows.what == "renew" and last.flow:
            end = self.clock + follows.time if follows.time else None
            self._add(Piece(
                self.clock, end, last.flow, last.liquid, "renewed", index, load,
                comes_back=True, bag=done.each_bag(), begun=self.begun,
                as_stated=last.as_stated(),
            ))  # fmt: skip
        elif follows.what == "open":
            self._keep_open(index, follows)

    def _keep_open(self, index: int, follows: Then) -> None:
        liquid = self.hanging().liquid
        flow = self._mls(needed(follows.flow, "the flow"), liquid)
        if follows.solution:
            fluid = self.reference.solutions[follows.solution].contents
            liquid = Liquid(NOTHING, NOTHING, fluid)
            piece = Piece(self.clock, None, flow, liquid, "open", index, False)
            self._push(piece, None)
            self._add(piece)
        else:
            self.short |= self.left <= 0
            end = self.clock + max(self.left, NOTHING) / flow
            self._add(
                Piece(self.clock, end, flow, liquid, "open", index, False, as_stated=(True, False))
            )


def deliver(
    reference: Reference, order: Order, weight: Fraction | None, surface: Fraction | None,
    horizon: Fraction = DAY,
) -> tuple[Delivery, Patient]:  # fmt: skip
    """What reaches a patient of this weight (kg) and surface (m2)."""
    dosing = weight
    if weight is not None and order.dosing_weight is not None:
        dosing = min(weight, order.dosing_weight)
    patient = Patient(weight, surface, dosing)
    return Building(reference, order, patient, horizon).delivery(), patient
