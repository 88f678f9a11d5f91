"""Numbers, units, times and ranges, as `notation.md` ("Text", "Units") writes them.

Every value is a `Fraction` in the base unit of its kind: mg, mmol, mEq, units, mL, drops,
h, m2, mOsm, and kg for what a patient weighs.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

T = TypeVar("T")

HOURS_A_MONTH = Fraction("365.25") / 12 * 24

# Unit -> its kind, and how many of the base unit it is ("Units", ruling 20).
UNITS: dict[str, tuple[str, Fraction]] = {
    "kg": ("mass", Fraction(10**6)),
    "g": ("mass", Fraction(10**3)),
    "mg": ("mass", Fraction(1)),
    "mcg": ("mass", Fraction(1, 10**3)),
    "ng": ("mass", Fraction(1, 10**6)),
    "mol": ("amount", Fraction(10**3)),
    "mmol": ("amount", Fraction(1)),
    "micromol": ("amount", Fraction(1, 10**3)),
    "mEq": ("charge", Fraction(1)),
    "units": ("activity", Fraction(1)),
    "unit": ("activity", Fraction(1)),
    "milliunits": ("activity", Fraction(1, 10**3)),
    "milliunit": ("activity", Fraction(1, 10**3)),
    "L": ("volume", Fraction(10**3)),
    "mL": ("volume", Fraction(1)),
    "drops": ("drops", Fraction(1)),
    "drop": ("drops", Fraction(1)),
    "s": ("time", Fraction(1, 3600)),
    "min": ("time", Fraction(1, 60)),
    "h": ("time", Fraction(1)),
    "days": ("time", Fraction(24)),
    "day": ("time", Fraction(24)),
    "weeks": ("time", Fraction(168)),
    "months": ("time", HOURS_A_MONTH),
    "years": ("time", HOURS_A_MONTH * 12),
    "m2": ("surface", Fraction(1)),
    "mOsm": ("osmoles", Fraction(1)),
}
DRUG_KINDS = ("mass", "amount", "charge", "activity")
MG_A_KG = UNITS["kg"][1]

NUMBER = r"\d[\d,]*(?:\.\d+)?"
_WORDS = "|".join(sorted(UNITS, key=len, reverse=True))
UNIT = rf"(?:%|(?:{_WORDS})(?:/(?:{_WORDS})){{0,2}})(?![\w/])"
QUANTITY = rf"{NUMBER} {UNIT}"
TIME = rf"{NUMBER} (?:days?|h|min|s)\b(?: {NUMBER} (?:h|min|s)\b)*"
VOLUME = rf"{NUMBER} (?:mL|L)(?![\w/])"


class Unreadable(Exception):
    """A text is not as the notation writes it."""


def needed(value: T | None, what: str) -> T:
    """The value, where there is one; else nothing can be reckoned."""
    if value is None:
        raise Unreadable(f"nobody says {what}")
    return value


@dataclass(frozen=True)
class Form:
    """What a quantity is a quantity of: `mcg/kg/min` is mass, by kg, per time."""

    kind: str
    patient: str = ""  # "kg" or "m2": by the patient's weight or surface
    below: str = ""  # "time" or "volume": per h, or per mL


@dataclass(frozen=True)
class Quantity:
    """A value in base units, with its form."""

    value: Fraction
    form: Form


@dataclass(frozen=True)
class Range:
    """Two ends, both included; an end may be open, or (`below Q`) left out."""

    low: Quantity | None
    high: Quantity | None
    high_left_out: bool = False

    def holds(self, value: Fraction) -> bool:
        """Whether the value, in the ends' base units, lies within."""
        if self.low and value < self.low.value:
            return False
        if not self.high:
            return True
        return value < self.high.value or (value == self.high.value and not self.high_left_out)

    def meets(self, low: Fraction | None, high: Fraction | None) -> bool:
        """Whether any value from low to high (None: without end) lies within."""
        if self.low and high is not None and high < self.low.value:
            return False
        if self.high and low is not None:
            return low < self.high.value or (low == self.high.value and not self.high_left_out)
        return True


def number(text: str) -> Fraction:
    """`25,000` or `0.05`. A comma stands between groups of three digits alone."""
    if not re.fullmatch(r"(?:0|[1-9]\d*|[1-9]\d{0,2}(?:,\d{3})+)(?:\.\d+)?", text):
        raise Unreadable(f"{text} is no number")
    return Fraction(text.replace(",", ""))


def unit(text: str) -> tuple[Form, Fraction]:
    """The form that a unit makes, and how many base units one of it is."""
    if text == "%":  # weight in volume: 1 % is 10 mg/mL
        return Form("mass", below="volume"), Fraction(10)
    top, *under = text.split("/")
    if top not in UNITS:
        raise Unreadable(f"{text} is no unit")
    kind, size = UNITS[top]
    patient = below = ""
    for part in under:
        part_kind, part_size = UNITS[part]
        if part in ("kg", "m2"):
            patient = part
        elif part_kind in ("time", "volume"):
            below, size = part_kind, size / part_size
        else:
            raise Unreadable(f"{part} does not stand below the line")
    return Form(kind, patient, below), size


def quantity(text: str) -> Quantity:
    """`0.05 mcg/kg/min`, `4 mg`; a time may be compound."""
    if " " not in text:
        raise Unreadable(f"{text} has no unit")
    amount, of = text.split(" ", 1)
    if " " in of:
        return Quantity(time(text), Form("time"))
    form, size = unit(of)
    return Quantity(number(amount) * size, form)


def time(text: str) -> Fraction:
    """`2 h 30 min`, in hours."""
    if not re.fullmatch(TIME, text):
        raise Unreadable(f"{text} is no time")
    parts = re.findall(rf"({NUMBER}) (\w+)", text)
    return sum((number(amount) * UNITS[of][1] for amount, of in parts), Fraction(0))


def quantities_between(text: str) -> Range:
    """`A to B UNIT`, `A UNIT to B UNIT`, `up to A`, `below A`, `A or more`; `A` alone is both ends."""
    for words, left_out in (("up to ", False), ("below ", True)):
        if text.startswith(words):
            return Range(None, quantity(text.removeprefix(words)), left_out)
    if text.endswith(" or more"):
        return Range(quantity(text.removesuffix(" or more")), None)
    if " to " in text:
        first, last = text.split(" to ", 1)
        high = quantity(last)
        low = quantity(first if " " in first else f"{first} {last.split(' ', 1)[1]}")
        return Range(low, high)
    only = quantity(text)
    return Range(only, only)
