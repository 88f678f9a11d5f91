"""Writes orders over the whole notation, right and wrong, with the references they lean on.

The same seed writes the same texts. Drugs and their numbers mean nothing: each drug has a usual
dose an hour, and limits and orders are drawn around it, so that about half of them meet.
"""

from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import TypeVar

T = TypeVar("T")

WARD = """\
pump volumetric "Volumetric"
  flow       0.5 to 99.9 mL/h in steps of 0.1 mL/h
  flow       100 to 1,200 mL/h in steps of 1 mL/h
  bolus      up to 1,200 mL/h
pump syringe "Syringe"
  flow       0.01 to 9.99 mL/h in steps of 0.01 mL/h
  flow       10 to 600 mL/h in steps of 0.1 mL/h
  bolus      up to 1,200 mL/h
giving-set macro "Macro"
  drops      20 per mL
giving-set micro "Micro"
  drops      60 per mL
area icu "Intensive care"
  patient    weight 40 to 150 kg
  patient    age 16 to 110 years
area ward "Ward"
  patient    weight 40 to 150 kg
  patient    age 16 to 110 years
  pump       volumetric
area child "Children"
  patient    weight 3 to 50 kg
  patient    age 28 days to 16 years
  pump       syringe
area day-unit "Day unit"
  patient    surface 1.2 to 2.5 m2
  patient    weight 40 to 150 kg
  patient    age 16 to 110 years
area weightless "Where nobody is weighed"
  patient    age 16 to 110 years
solution saline "Saline"
  contains   sodium 0.154 mmol/mL
  contains   chloride 0.154 mmol/mL
solution glucose-5 "Glucose 5 %"
  contains   glucose 50 mg/mL
solution ringer "Ringer"
  contains   sodium 0.131 mmol/mL
  contains   calcium 0.002 mmol/mL
  contains   chloride 0.111 mmol/mL
"""
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


@dataclass
class Text:
    """An order with its drug, as lines; the first is the header."""

    drug: list[str]
    order: list[str]
    name: str

    def whole(self) -> str:
        """Both stanzas, to be read below a `use` of the ward."""
        return "\n".join(self.drug + self.order) + "\n"


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


class Writer:
    """Draws drugs and orders."""

    def __init__(self, seed: int) -> None:
        self.random = Random(seed)
        self.count = 0

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
        per, hours = self.pick((("/h", Fraction(1)), ("/min", Fraction(1, 60)), ("/day", Fraction(24))))
        return self.amount(value * hours, kind, patient + per)

    def time(self, hours: Fraction) -> str:
        """About so many hours."""
        if hours >= 4:
            return f"{round(hours)} h"
        minutes = max(round(hours * 60), 2)
        if minutes > 60 and minutes % 60 and self.chance(50):
            return f"{minutes // 60} h {minutes % 60} min"
        return f"{minutes} min"

    def text(self) -> Text:
        """An order, with a drug of its own."""
        self.count += 1
        name = f"n{self.count}"
        drug = DrugWriter(self, f"drug-{name}")
        order = OrderWriter(self, drug, f"order-{name}")
        return Text(drug.lines, order.lines, f"order-{name}")


class DrugWriter:
    """One drug: its usual dose an hour for 70 kg, and limits around it."""

    def __init__(self, writer: Writer, name: str) -> None:
        self.w, self.name = writer, name
        self.kind = writer.pick(("mass", "mass", "mass", "amount", "activity"))
        self.hourly = Fraction(writer.pick((1, 2, 5))) * Fraction(10) ** writer.random.randint(-1, 2)
        self.per_ml = self.hourly * writer.pick((Fraction(1, 2), Fraction(1), Fraction(2), Fraction(5)))
        self.lines = [f'drug {name} "Drug"', f"  supplied   {self._supplied()}"]
        if self.kind == "mass" and writer.chance(25):
            self.lines.append("  equals     1 g, 5 mmol, 10 mEq")
        if writer.chance(15):
            self.lines.append("  contains   calcium 0.05 mmol/mL")
        self._limits()

    def _supplied(self) -> str:
        volume = self.w.pick((1, 2, 5, 10, 20))
        unit, size = self.w.pick([u for u in UNITS[self.kind] if self.per_ml / u[1] >= Fraction(1, 50)])
        return f"{plain(self.per_ml * volume / size)} {unit} in {volume} mL"

    def _limits(self) -> None:
        w = self.w
        style = w.pick(("continuous", "continuous", "doses", "doses", "both", "scarce"))
        weights = {
            "continuous": {"dose": 90, "single dose": 5, "interval": 5},
            "doses": {"dose": 10, "single dose": 90, "interval": 50},
            "both": {"dose": 70, "single dose": 60, "interval": 30},
            "scarce": {"dose": 10, "single dose": 15, "interval": 10},
        }[style]
        others = {
            "flow": 8, "strength": 25, "bolus": 40, "bolus rate": 15, "bolus time": 15, "total": 30,
            "time": 15,
        }  # fmt: skip
        for measure, percent in (weights | others).items():
            for _ in range(3):
                if w.chance(percent):
                    self.lines.append(self._limit(measure))
                percent //= 2

    def _limit(self, measure: str) -> str:
        w = self.w
        window, hours = "", Fraction(8)
        if measure == "total":
            window, hours = w.pick((
                (" per day", Fraction(24)), (" in any 4 h", Fraction(4)),
                (" in any 36 h", Fraction(36)), ("", Fraction(12)),
            ))  # fmt: skip
        bound = self._bounds(measure, hours)
        conditions = self._conditions(measure)
        if w.chance(50):
            side = "below" if measure in ("interval", "bolus time", "time") else "above"
            if w.chance(12):
                side = "above" if side == "below" else "below"
            low, _ = bound(Fraction(1, 4) if side == "below" else Fraction(2))
            line = f"  never      {measure} {side} {low}{window}{conditions}"
            return line + (f" except in {w.pick(AREAS)}" if w.chance(10) else "")
        low, high = bound(w.pick((Fraction(1, 2), Fraction(1))))
        span = w.pick((f"{low} to {high}",) * 3 + (f"up to {high}", f"{low} or more"))
        return f"  usual      {measure} {span}{window}{conditions}"

    def _bounds(self, measure, hours):
        """A function that draws two bounds around a multiple of what is usual."""
        w = self.w
        patient = w.pick(("", "/kg", "/kg")) if w.chance(97) else "/m2"
        share = {"": Fraction(1), "/kg": Fraction(1, 70), "/m2": Fraction(10, 18)}[patient]

        def drawn(scale: Fraction) -> tuple[str, str]:
            low = self.w.around(scale)
            high = low * self.w.pick((2, 5, 10))
            return write(low), write(high)

        def write(value: Fraction) -> str:
            match measure:
                case "dose":
                    return w.rate(value * self.hourly * share, self.kind, patient)
                case "bolus rate":
                    return w.rate(value * self.hourly * 10 * share, self.kind, patient)
                case "flow":
                    return f"{decimal(value * 20)} mL/h"
                case "strength":
                    return w.amount(value * self.hourly / 8, self.kind, "/mL")
                case "bolus":
                    return w.amount(value * self.hourly * 2 * share, self.kind, patient)
                case "single dose" | "total":
                    return w.amount(value * self.hourly * hours * share, self.kind, patient)
                case "interval":
                    return f"{max(round(value * 8), 1)} h"
                case "bolus time":
                    return f"{max(round(value * 15), 1)} min"
            return f"{max(round(value * 120), 2)} min"

        return drawn

    def _conditions(self, measure: str) -> str:
        w, found = self.w, []
        if w.chance(12):
            found.append(f"by {w.pick(ROUTES)}")
        if w.chance(10):
            found.append("in " + ", ".join(sorted(w.random.sample(AREAS, w.random.randint(1, 2)))))
        if w.chance(8):
            found.append(w.pick(("for 10 to 70 kg", "for below 50 kg", "for 60 kg or more")))
        if w.chance(6):
            found.append(w.pick(("aged below 12 years", "aged 18 years or more", "aged 2 to 20 years")))
        if w.chance(10):
            found.append(f"as {w.pick(PURPOSES)}")
        if measure == "dose" and w.chance(5):
            found.append("after the first 3 h")
        w.random.shuffle(found)
        return "".join(" " + condition for condition in found)


class OrderWriter:
    """One order of a drug."""

    def __init__(self, writer: Writer, drug: DrugWriter, name: str) -> None:
        self.w, self.drug = writer, drug
        self.lines = [f'order {name} "Order"', f"  drug       {drug.name}"]
        self.hourly = writer.around(drug.hourly)
        self.by_weight = writer.chance(60)
        self._for_whom()
        if writer.chance(25):
            self._phases()
        else:
            self._body(last=True)
        if writer.chance(2):
            self._spoil()

    def _add(self, keyword: str, rest: str) -> None:
        self.lines.append(f"  {keyword:<10} {rest}")

    def _for_whom(self) -> None:
        w = self.w
        area = w.pick(("icu", "icu", "ward", "ward", "child", "day-unit", "weightless"))
        if w.chance(95):
            self._add("area", "any" if w.chance(4) else area)
        self.adult = area != "child"
        band = (40, 150) if self.adult else (3, 50)
        weighs = w.chance(70) or area == "weightless"
        if weighs and (area != "weightless" or self.by_weight):
            low, high = sorted(w.random.sample(range(band[0], band[1] + 1), 2))
            span = w.pick((f"{low} to {high} kg", f"{low} to {high} kg", f"up to {high} kg", f"{low} kg or more"))
            self._add("patient", f"weight {span if area != 'weightless' else f'{low} to {high} kg'}")
        if self.adult and w.chance(10):
            self._add("patient", "age 18 to 60 years")
        if self.by_weight and w.chance(8):
            self._add("dosing weight", "up to 60 kg")
        if w.chance(96):
            self._add("route", "any" if w.chance(3) else w.pick(ROUTES))
        if w.chance(60):
            self._add("pump", w.pick(("volumetric", "syringe")))
        if w.chance(20):
            self._add("purpose", w.pick(PURPOSES))

    def _phases(self) -> None:
        w = self.w
        count = w.random.randint(2, 3)
        if w.chance(15):
            self._bag()
        shared = self.lines[-1].split()[0] in ("mix", "premixed", "undiluted")
        for index in range(count):
            self._add("phase", f"p{index + 1}")
            if w.chance(25) and not any(line.startswith("  purpose") for line in self.lines):
                self._add("purpose", w.pick(PURPOSES))
            if index and w.chance(15):
                self._add("hang", f"{w.pick((50, 100, 500))} mL of {w.pick(FLUIDS)}")
                self._add("run", f"{w.pick((10, 20, 50))} mL over {self.w.time(Fraction(w.pick((1, 4, 8)), 4))}")
                if index == count - 1:
                    self._add("then", "stop")
                continue
            emptied = any(line.startswith("  run        all") for line in self.lines[-4:])
            goes_on = (index > 0 and w.chance(5 if emptied else 40)) or (index == 0 and shared)
            self._body(last=index == count - 1, bag=not goes_on, partly=index < count - 1)

    def _body(self, *, last: bool, bag: bool = True, partly: bool = False) -> None:
        """The lines of a phase: what is in the bag, how it runs, what follows."""
        w = self.w
        if bag:
            self._bag()
            if w.chance(20):
                self._add("prime", f"{w.pick((1, 2, 3))} mL")
        if w.chance(25):
            self._bolus()
        runs = self._run(partly, last=last)
        if runs == "repeats" or not last:
            if w.chance(15):
                self._flush()
            return
        if w.chance(18):
            self._flush()
            self._add("then", "stop")
            return
        self._add("then", self._then(emptied=any(line.startswith("  run        all") for line in self.lines)))

    def _then(self, *, emptied: bool) -> str:
        """What follows; the drug keeps a line open where some of it is left, as a rule."""
        w = self.w
        fluid = f" with {w.pick(FLUIDS)}" if emptied or w.chance(50) else ""
        open_line = f"keep open {w.pick((1, 2, 5))} mL/h{fluid}"
        renew_for = f"renew for {w.pick((3, 12, 40))} h"
        return w.pick(("stop", "stop", "renew", "renew", renew_for, open_line, open_line))

    def _flush(self) -> None:
        self._add("flush", f"{self.w.pick((1, 5, 10, 20))} mL with {self.w.pick(FLUIDS)}")

    def _bag(self) -> None:
        """A bag that holds the dose of one to some twenty hours."""
        w, drug = self.w, self.drug
        self.volume = Fraction(w.pick((20, 40, 50, 100, 250, 500)))
        held = min(self.hourly * w.pick((1, 4, 8, 20)), drug.per_ml * self.volume * Fraction(4, 5))
        self.strength = held / self.volume
        way = w.pick(("to", "to", "to", "added", "added", "counted", "premixed", "undiluted"))
        if way == "undiluted":
            self.strength = drug.per_ml
            self._add("undiluted", f"{decimal(self.volume)} mL")
            return
        amount, lid = w.amount(held, drug.kind), ""
        if self.by_weight and w.chance(25) and way != "premixed":
            amount = w.amount(held / 70, drug.kind, "/kg")
            if w.chance(40):
                lid = f", at most {w.amount(held, drug.kind)},"
        fluid = w.pick(FLUIDS)
        volume = f"{decimal(self.volume)} mL"
        match way:
            case "to":
                self._add("mix", f"{amount}{lid} made up to {volume} with {fluid}")
            case "added":
                self._add("mix", f"{amount}{lid} added to {volume} of {fluid}")
            case "counted":
                self._add("mix", f"{amount}{lid} added to {volume} of {fluid}, counted as {volume}")
            case _:
                self._add("premixed", f"{amount} in {volume} of {fluid}")

    def _bolus(self) -> None:
        w, drug = self.w, self.drug
        value = w.around(drug.hourly * 2)
        by_weight = self.by_weight and w.chance(50)
        amount = w.amount(value / 70, drug.kind, "/kg") if by_weight else w.amount(value, drug.kind)
        if w.chance(20):
            amount = f"{w.pick((1, 2, 5))} mL"
        minutes = w.pick((2, 5, 15, 60))
        way = f"over {minutes} min"
        if w.chance(20):
            way = f"at {w.rate(value * 60 / minutes, drug.kind)}"
        lid = f", at most {w.amount(value, drug.kind)}" if by_weight and w.chance(30) else ""
        self._add("bolus", f"{amount} {way}{lid}")

    def _run(self, partly: bool, *, last: bool) -> str:
        """A run; says whether it repeats."""
        self.last = last
        w = self.w
        what = self._part() if w.chance(50 if partly else 25) else "all"
        way = w.pick(("dose", "dose", "time", "time", "flow", "drops", "amount"))
        if way == "time":
            return self._by_time(what)
        if way == "amount":
            return self._by_time(self._drug_amount(self.hourly * w.pick((1, 4))))
        if way == "flow":
            self._add("run", f"{what} at {decimal(max(self.hourly / self.strength, Fraction(1, 10)))} mL/h")
            return "once"
        if way == "drops":
            self._add("giving-set", w.pick(("macro", "micro")))
            self._add("run", f"{what} at {w.pick((5, 20, 40))} drops/min")
            return "once"
        self._by_dose(what)
        return "once"

    def _part(self) -> str:
        """Some of the bag: a volume, or a volume by weight."""
        if self.by_weight and self.w.chance(20):
            return f"{self.w.pick(('0.05', '0.1'))} mL/kg"
        return f"{decimal(self.volume * self.w.pick((Fraction(1, 10), Fraction(1, 4), Fraction(1, 2))))} mL"

    def _drug_amount(self, value: Fraction) -> str:
        w = self.w
        if not self.by_weight or w.chance(50):
            return w.amount(value, self.drug.kind)
        lid = f", at most {w.amount(value, self.drug.kind)}," if w.chance(40) else ""
        return w.amount(value / 70, self.drug.kind, "/kg") + lid

    def _by_time(self, what: str) -> str:
        w = self.w
        hours = Fraction(w.pick((1, 2, 4, 8, 32)), 4)
        line = f"{what} over {w.time(hours)}"
        if not w.chance(45):
            self._add("run", line)
            return "once"
        if any(text.startswith("  bolus") for text in self.lines[-1:]) and w.chance(40):
            self.lines[-1] += ", each time"
        every = int(hours) + w.pick((1, 3, 5, 12, 24))
        course = w.pick(("", "")[: 2 * self.last] + (f" for {w.random.randint(2, 6)} doses", f" for {every * 3} h"))
        self._add("run", f"{line} every {every} h{course}")
        return "repeats"

    def _by_dose(self, what: str) -> None:
        w, kind = self.w, self.drug.kind
        patient = "/kg" if self.by_weight else ""
        share = Fraction(1, 70) if self.by_weight else Fraction(1)
        per, hours = w.pick((("/h", Fraction(1)), ("/min", Fraction(1, 60)), ("/day", Fraction(24))))
        value = self.hourly * share * hours
        fitting = [u for u in UNITS[kind] if Fraction(1, 20) <= value / u[1] <= 5000]
        unit, size = w.pick(fitting or [UNITS[kind][-1]])
        number = Fraction(decimal(value / size).replace(",", ""))
        tail = f" {unit}{patient}{per}"
        lid = ""
        if self.by_weight and w.chance(25):
            lid = ", at most " + w.rate(w.around(self.hourly), kind)
        self._add("run", f"{what} at {decimal(number)}{tail}{lid}")
        if w.chance(25):
            step = f"by {decimal(number)}{tail} every 15 min"
            self._add("adjust", f"{decimal(number)} to {decimal(number * w.pick((2, 3, 5)), 3)}{tail} {step}")

    def _spoil(self) -> None:
        """Makes one line unreadable."""
        w = self.w
        where = [n for n, line in enumerate(self.lines) if line.split()[0] in ("run", "mix", "bolus")]
        at = w.pick(where)
        keyword, rest = self.lines[at].split(None, 1)
        self.lines[at] = "  " + w.pick((
            f"{keyword} 0,5 mg over 1 h", f"{keyword} 5 mg", f"{keyword}ning {rest}",
            f"{keyword} -5 mg over 1 h", f"{keyword} {rest} or so",
        ))  # fmt: skip
