"""Writes orders over the whole notation, right and wrong, with the references they lean on.

The same seed writes the same texts. Drugs and their numbers mean nothing: each drug has a usual
dose an hour, and limits and orders are drawn around it, so that about half of them meet.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from drawing import FLUIDS, PURPOSES, ROUTES, UNITS, Drawing, decimal
from drugs import DrugWriter

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


@dataclass
class Text:
    """An order with its drug, as lines; the first is the header."""

    drug: list[str]
    order: list[str]
    name: str

    def whole(self) -> str:
        """Both stanzas, to be read below a `use` of the ward."""
        return "\n".join(self.drug + self.order) + "\n"


def texts(seed: int) -> Iterator[Text]:
    """Orders, each with a drug of its own, without end."""
    drawing = Drawing(seed)
    count = 0
    while True:
        count += 1
        drug = DrugWriter(drawing, f"drug-n{count}")
        order = OrderWriter(drawing, drug, f"order-n{count}")
        yield Text(drug.lines, order.lines, f"order-n{count}")


class OrderWriter:
    """One order of a drug."""

    def __init__(self, writer: Drawing, drug: DrugWriter, name: str) -> None:
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
            span = w.pick(
                (
                    f"{low} to {high} kg",
                    f"{low} to {high} kg",
                    f"up to {high} kg",
                    f"{low} kg or more",
                )
            )
            self._add(
                "patient", f"weight {span if area != 'weightless' else f'{low} to {high} kg'}"
            )
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
                self._add(
                    "run",
                    f"{w.pick((10, 20, 50))} mL over {self.w.time(Fraction(w.pick((1, 4, 8)), 4))}",
                )
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
        self._add(
            "then",
            self._then(emptied=any(line.startswith("  run        all") for line in self.lines)),
        )

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
            self._add(
                "run",
                f"{what} at {decimal(max(self.hourly / self.strength, Fraction(1, 10)))} mL/h",
            )
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
        course = w.pick(
            ("", "")[: 2 * self.last]
            + (f" for {w.random.randint(2, 6)} doses", f" for {every * 3} h")
        )
        self._add("run", f"{line} every {every} h{course}")
        return "repeats"

    def _by_dose(self, what: str) -> None:
        w, kind = self.w, self.drug.kind
        patient = "/kg" if self.by_weight else ""
        share = Fraction(1, 70) if self.by_weight else Fraction(1)
        per, hours = w.pick(
            (("/h", Fraction(1)), ("/min", Fraction(1, 60)), ("/day", Fraction(24)))
        )
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
            self._add(
                "adjust",
                f"{decimal(number)} to {decimal(number * w.pick((2, 3, 5)), 3)}{tail} {step}",
            )

    def _spoil(self) -> None:
        """Makes one line unreadable."""
        w = self.w
        where = [
            n for n, line in enumerate(self.lines) if line.split()[0] in ("run", "mix", "bolus")
        ]
        at = w.pick(where)
        keyword, rest = self.lines[at].split(None, 1)
        self.lines[at] = "  " + w.pick((
            f"{keyword} 0,5 mg over 1 h", f"{keyword} 5 mg", f"{keyword}ning {rest}",
            f"{keyword} -5 mg over 1 h", f"{keyword} {rest} or so",
        ))  # fmt: skip
