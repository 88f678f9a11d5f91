"""Writes drugs with limits of every measure, under every condition."""

from collections.abc import Callable
from fractions import Fraction

from drawing import AREAS, PURPOSES, ROUTES, UNITS, Drawing, decimal, plain


class DrugWriter:
    """One drug: its usual dose an hour for 70 kg, and limits around it."""

    def __init__(self, writer: Drawing, name: str) -> None:
        self.w, self.name = writer, name
        self.kind = writer.pick(("mass", "mass", "mass", "amount", "activity"))
        self.hourly = Fraction(writer.pick((1, 2, 5))) * Fraction(10) ** writer.random.randint(
            -1, 2
        )
        self.per_ml = self.hourly * writer.pick(
            (Fraction(1, 2), Fraction(1), Fraction(2), Fraction(5))
        )
        self.lines = [f'drug {name} "Drug"', f"  supplied   {self._supplied()}"]
        if self.kind == "mass" and writer.chance(25):
            self.lines.append("  equals     1 g, 5 mmol, 10 mEq")
        if writer.chance(15):
            self.lines.append("  contains   calcium 0.05 mmol/mL")
        self._limits()

    def _supplied(self) -> str:
        volume = self.w.pick((1, 2, 5, 10, 20))
        unit, size = self.w.pick(
            [u for u in UNITS[self.kind] if self.per_ml / u[1] >= Fraction(1, 50)]
        )
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

    def _bounds(self, measure: str, hours: Fraction) -> Callable[[Fraction], tuple[str, str]]:
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
            found.append(
                w.pick(("aged below 12 years", "aged 18 years or more", "aged 2 to 20 years"))
            )
        if w.chance(10):
            found.append(f"as {w.pick(PURPOSES)}")
        if measure == "dose" and w.chance(5):
            found.append("after the first 3 h")
        w.random.shuffle(found)
        return "".join(" " + condition for condition in found)
