"""What reaches the patient over time: pieces at one flow each ("What is judged is the delivery").

Whatever is measured or judged asks the pieces, and never the lines.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from quantities import DRUG_KINDS, Quantity, Unreadable, needed

NOTHING = Fraction(0)
DAY = Fraction(24)


@dataclass(frozen=True)
class Patient:
    """Weight in kg and surface in m2; the dosing weight is the weight with its lid."""

    weight: Fraction | None
    surface: Fraction | None
    dosing: Fraction | None

    def scaled(self, amount: Quantity) -> Fraction:
        """The amount for this patient: drug by the dosing weight, volume by the weight."""
        return amount.value * self.size(amount)

    def size(self, amount: Quantity) -> Fraction:
        """By what a quantity per kg or m2 is to be multiplied."""
        if not amount.form.patient:
            return Fraction(1)
        if amount.form.patient == "m2":
            size = self.surface
        else:
            size = self.dosing if amount.form.kind in DRUG_KINDS else self.weight
        if size is None:
            raise Unreadable("nobody says how heavy or how large the patient is")
        return size


@dataclass(frozen=True)
class Liquid:
    """What a mL holds: drug (truly, and by the counted volume), and each substance."""

    drug: Fraction
    counted: Fraction
    substances: dict[str, Fraction]


@dataclass(frozen=True)
class Piece:
    """From `start` to `end` (None: without end) `flow` mL/h of a liquid flow.

    A `pushed` piece is what was primed, which the fluid behind it pushes out of the line: it
    brings drug, and no fluid of its own. A flush states no rate: it is a lump of so many mL,
    at once, and what it pushes out too.
    """

    start: Fraction
    end: Fraction | None
    flow: Fraction
    liquid: Liquid
    what: str  # run, bolus, flush, open, renewed, pushed
    phase: int
    load: bool
    round: int = 0  # of an order that repeats
    comes_back: bool = False
    bag: Fraction = NOTHING  # mL of a bag that is renewed
    begun: Fraction = NOTHING  # when the bag was
    as_stated: tuple[bool, bool] = (False, False)  # see `nominal_rate`, `nominal_amount`
    lump: Fraction = NOTHING  # mL that are given at once

    @property
    def drug(self) -> Fraction:
        """Drug per h."""
        return self.flow * self.liquid.drug

    @property
    def nominal_rate(self) -> Fraction:
        """Drug per h by the counted volume; of all that is in a bag over a time, truly."""
        return self.flow * (self.liquid.counted if self.as_stated[0] else self.liquid.drug)

    def nominal_amount(self) -> Fraction:
        """All its drug by the counted volume; of all that is in a bag, truly."""
        return self.mls() * (self.liquid.counted if self.as_stated[1] else self.liquid.drug)

    def lasts(self) -> Fraction:
        """Its length in h, of a piece that ends."""
        return needed(self.end, "when it ends") - self.start

    def mls(self) -> Fraction:
        """All that flows, in mL."""
        return self.flow * self.lasts() + self.lump

    def amount(self) -> Fraction:
        """All its drug."""
        return self.mls() * self.liquid.drug


def drug_of(piece: Piece) -> Fraction:
    """Drug per mL."""
    return piece.liquid.drug


def fluid_of(piece: Piece) -> Fraction:
    """Fluid per mL."""
    return Fraction(piece.what != "pushed")


def substance_of(name: str) -> Callable[[Piece], Fraction]:
    """The substance per mL."""
    return lambda piece: piece.liquid.substances.get(name, NOTHING)


def _within(
    pieces: list[tuple[Piece, Fraction]], begin: Fraction, end: Fraction
) -> tuple[Fraction, Fraction]:
    """What flows from hour to hour, with lumps at its beginning, and with those at its end."""
    flowed = first = last = NOTHING
    for piece, per_ml in pieces:
        since = max(piece.start, begin)
        until = end if piece.end is None else min(piece.end, end)
        if until > since:
            flowed += per_ml * piece.flow * (until - since)
        elif piece.lump and begin <= piece.start <= end:
            first += per_ml * piece.lump * (piece.start < end)
            last += per_ml * piece.lump * (piece.start > begin)
    return flowed + first, flowed + last


def most_in(pieces: list[Piece], hours: Fraction, per_ml: Callable[[Piece], Fraction]) -> Fraction:
    """The most in any so many hours: such a window begins where a piece does, or ends so.

    Of two lumps that lie exactly so far apart, one alone is within.
    """
    flowing = [(piece, per_ml(piece)) for piece in pieces if per_ml(piece)]
    starts = {piece.start for piece, _ in flowing}
    ends = {piece.end for piece, _ in flowing if piece.end is not None}
    begins = starts | {end - hours for end in ends if end >= hours} | {NOTHING}
    return max(max(_within(flowing, begin, begin + hours)) for begin in begins)


def total(pieces: list[Piece], per_ml: Callable[[Piece], Fraction]) -> Fraction:
    """All of it, of pieces that end."""
    return sum((per_ml(piece) * piece.mls() for piece in pieces if per_ml(piece)), NOTHING)


@dataclass(frozen=True)
class Apart:
    """How far apart two givings are: whether the drug states an interval, and its shortest."""

    stated: bool
    shortest: Fraction | None


def givings(pieces: list[Piece], apart: Apart) -> list[list[Piece]]:
    """ "A giving": pieces with drug that follow one another are one; a repetition begins another.

    What something else stands between is one too, unless the starts lie the drug's shortest
    interval apart, or (where none is stated, and for repetitions too) an hour lies between.
    """
    found: list[list[Piece]] = []
    end: Fraction | None = NOTHING
    for piece in (piece for piece in pieces if piece.liquid.drug):
        if found and _goes_on(found[-1], end, piece, apart):
            found[-1].append(piece)
            if end is not None and piece.what != "pushed":
                end = None if piece.end is None else max(end, piece.end)
        else:
            found.append([piece])
            end = piece.end
    return found


def _goes_on(giving: list[Piece], end: Fraction | None, piece: Piece, apart: Apart) -> bool:
    """Whether the piece belongs to the giving, which ends at `end`."""
    last = giving[-1]
    if piece.what == "pushed":
        return True  # it belongs to what the line was primed for
    if piece.phase == last.phase and piece.round != last.round:
        return not apart.stated and end is not None and piece.start - end < 1
    if end is None or piece.start <= end:
        return True
    if apart.shortest is not None:
        return piece.start - giving[0].start < apart.shortest
    return piece.start - end < 1
