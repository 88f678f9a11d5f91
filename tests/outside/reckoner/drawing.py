"""Draws numbers and writes them as the notation does; the same seed draws the same."""

from fractions import Fraction
from random import Random
from typing import TypeVar

T = TypeVar("T")

ROUTES = ("central vein", "peripheral vein", "intraosseous")
AREAS = ("icu", "ward", "child", "day-unit", "weightless")
PURPOSES = ("induction", "rescue", "loading")
FLUIDS = ("saline", "glucose-5", "ringer")
UNITS = {
    "mass": (("g", 1000), ("mg", 1), ("mcg", Fraction(1, 1000)), ("ng", Fraction(1, 10**6))),
    "amount": (("mmol", 1), ("micromol", Fraction(1, 1000))),
    "activity": (("units", 1), ("milliunits", Fraction(1, 1000))),
}
TENTHS = (1, 3, 5, 7, 9, 10, 10, 11, 13, 15, 20, 30, 50, 100)
FACTORS = tuple(Fraction(tenths, 10) for tenths in TENTHS)


def decimal(value: Fraction, digits: int = 2) -> str:
    """The value to so many significant digits, grouped from 10,000 on."""
    size = 0
    while value >= 10 ** (size + 1):
        size += 1
    while value < Fraction(10) ** size:
        size -= 1
    step = Fraction(10) ** (size + 1 - digits)
    whole, _, rest = plain(round(value / step) * step).partition(".")
    grouped = f"{int(whole):,}" if len(whole) > 4 else whole
    return grouped + (f".{rest}" if rest else "")


def plain(value: Fraction) -> str:
    """A value whose decimals end, without zeros at their end."""
    scale = 0
    while value.denominator != 1:
        value, scale = value * 10, scale + 1
    digits = str(value.numerator).rjust(scale + 1, "0")
    return f"{digits[:-scale]}.{digits[-scale:]}" if scale else digits


class Drawing:
    """Draws whatever texts are made of."""

    def __init__(self, seed: int) -> None:
        self.random = Random(seed)

    def chance(self, percent: int) -> bool:
        """Whether it happens."""
        return self.random.randrange(100) < percent

    def pick(self, of: tuple[T, ...] | list[T]) -> T:
        """One of them."""
        return self.random.choice(of)

    def around(self, value: Fraction) -> Fraction:
        """The value, times one of the factors."""
        return value * self.pick(FACTORS)

    def amount(self, value: Fraction, kind: str, tail: str = "") -> str:
        """An amount of drug in base units, in a unit that makes it easy to read."""
        fitting = [u for u in UNITS[kind] if Fraction(1, 20) <= value / u[1] <= 5000]
        unit, size = self.pick(fitting or [UNITS[kind][-1 if value < 1 else 0]])
        return f"{decimal(value / size)} {unit}{tail}"

    def rate(self, value: Fraction, kind: str, patient: str = "") -> str:
        """A dose, of so many base units an hour."""
        per, hours = self.pick(
            (("/h", Fraction(1)), ("/min", Fraction(1, 60)), ("/day", Fraction(24)))
        )
        return self.amount(value * hours, kind, patient + per)

    def time(self, hours: Fraction) -> str:
        """About so many hours."""
        if hours >= 4:
            return f"{round(hours)} h"
        minutes = max(round(hours * 60), 2)
        if minutes > 60 and minutes % 60 and self.chance(50):
            return f"{minutes // 60} h {minutes % 60} min"
        return f"{minutes} min"
