"""Compares the tool's units with pint's, exactly.

    python oracle.py COMMAND...

COMMAND reads lines `VALUE UNIT -> UNIT` and answers each with the exact value
in the second unit (`21/8`), or `!` where the two are of different kinds, and
the UCUM codes of both units, parted by tabs. Every unit that the notation can
write is converted into every unit of its kind, and into random units of other
kinds, at seeded random values. pint computes in fractions here, so that the
answers must be equal, not close.
"""

import random
import subprocess
import sys
from dataclasses import dataclass
from fractions import Fraction

import pint

SEED = 20261125
UNLIKE_PER_UNIT = 8

# The notation's spelling, pint's name, and the kind of quantity.
# Activity, equivalents, drops and osmoles are kinds of their own: nothing but
# the drug (or the giving set) ties them to others.
ABOVE = {
    "kg": ("kilogram", "mass"),
    "g": ("gram", "mass"),
    "mg": ("milligram", "mass"),
    "mcg": ("microgram", "mass"),
    "ng": ("nanogram", "mass"),
    "lb": ("pound", "mass"),
    "oz": ("ounce", "mass"),
    "mol": ("mole", "amount"),
    "mmol": ("millimole", "amount"),
    "micromol": ("micromole", "amount"),
    "mEq": ("milliequivalent_", "equivalents"),
    "units": ("activity_", "activity"),
    "milliunits": ("milliactivity_", "activity"),
    "L": ("liter", "volume"),
    "mL": ("milliliter", "volume"),
    "drops": ("drop_", "drops"),
    "mOsm": ("milliosmole_", "osmoles"),
    "kcal": ("kilocalorie", "energy"),
}
VOLUME = {"L": "liter", "mL": "milliliter"}
TIME = {"s": "second", "min": "minute", "h": "hour", "day": "day"}
AGE = {"days": "day", "weeks": "week", "months": "month", "years": "year"}
# Below the line, of the patient: plain kilograms and square metres to pint.
PATIENT = {
    "kg": ("kilogram", "weight"),
    "lb": ("pound", "weight"),
    "oz": ("ounce", "weight"),
    "m2": ("meter**2", "surface"),
}


@dataclass(frozen=True)
class Unit:
    """A unit as the notation writes it, as pint does, and its kind."""

    text: str
    pint: str
    kind: tuple


def units():
    """Every unit that the notation's units make, up to two below the line."""
    for text, (name, kind) in ABOVE.items():
        yield Unit(text, name, (kind,))
        for volume, below in VOLUME.items():
            if kind != "volume":
                yield Unit(f"{text}/{volume}", f"{name}/{below}", (kind, "volume"))
        for time, below in TIME.items():
            yield Unit(f"{text}/{time}", f"{name}/{below}", (kind, "time"))
        for patient, (below, of) in PATIENT.items():
            yield Unit(f"{text}/{patient}", f"{name}/({below})", (kind, of))
            for time, low in TIME.items():
                unit = f"{text}/{patient}/{time}"
                yield Unit(unit, f"{name}/({below})/{low}", (kind, of, "time"))
    for text, name in (TIME | AGE).items():
        yield Unit(text, name, ("age or time",))
    yield Unit("m2", "meter**2", ("surface",))
    # Weight in volume, by the notation: pint's own per cent is a plain share.
    yield Unit("%", "percent_", ("mass", "volume"))


def value(random_):
    """A number as an author may write it: up to twelve digits."""
    whole = random_.randrange(10 ** random_.randint(1, 7))
    decimals = random_.randint(0, 5)
    if decimals == 0:
        return str(whole + 1)
    return f"{whole}.{random_.randrange(1, 10**decimals):0{decimals}d}"


def registry():
    """pint in fractions, with the kinds that stand alone."""
    made = pint.UnitRegistry(non_int_type=Fraction)
    for kind in ("activity_", "equivalent_", "drop_", "osmole_"):
        made.define(f"{kind} = [{kind}]")
    made.define("percent_ = 10 * milligram / milliliter")
    return made


def cases(random_):
    """Pairs of units with a value; every pair of one kind, some of others."""
    every = list(units())
    for unit in every:
        others = [other for other in every if other.kind != unit.kind]
        for other in every:
            if other.kind == unit.kind:
                yield unit, other, value(random_)
        for other in random_.sample(others, UNLIKE_PER_UNIT):
            yield unit, other, value(random_)


def main():
    random_ = random.Random(SEED)
    quantities = registry().Quantity
    asked = list(cases(random_))
    lines = "".join(f"{number} {a.text} -> {b.text}\n" for a, b, number in asked)
    answer = subprocess.run(sys.argv[1:], input=lines, capture_output=True, text=True)
    if answer.returncode != 0:
        sys.exit(f"the tool failed:\n{answer.stderr}")
    answers = answer.stdout.splitlines()
    if len(answers) != len(asked):
        sys.exit(f"{len(asked)} lines asked, {len(answers)} answered")

    wrong = []
    for (a, b, number), line in zip(asked, answers):
        got = line.split("\t")[0]
        if a.kind == b.kind:
            exact = quantities(Fraction(number), a.pint).to(b.pint).magnitude
            if not isinstance(exact, (int, Fraction)):
                sys.exit(f"pint left the fractions at {a.text} -> {b.text}")
            right = str(Fraction(exact))
        else:
            right = "!"
        if got != right:
            wrong.append(f"{number} {a.text} -> {b.text}: {got}, by pint {right}")
    if wrong:
        print(*wrong[:20], sep="\n")
        sys.exit(f"oracle pint: {len(wrong)} of {len(asked)} conversions differ")
    tested = len({a.text for a, _, _ in asked})
    print(f"oracle pint: {tested} passed, of units, by {len(asked)} conversions")


if __name__ == "__main__":
    main()
