"""Every value that `derive` gives, from the delivery ("What is derived")."""

from dataclasses import dataclass
from fractions import Fraction

from delivery import Delivery, Performed, PhaseDone
from orders import Order, Phase
from pieces import DAY, Patient, drug_of, fluid_of, substance_of
from quantities import DRUG_KINDS, Form
from reference import Reference


@dataclass(frozen=True)
class Value:
    """A value in base units; drug in the kind in which it is supplied."""

    value: Fraction
    form: Form


class Measures:
    """Answers for one order and one patient."""

    def __init__(
        self, reference: Reference, order: Order, delivery: Delivery, patient: Patient
    ) -> None:
        self.reference, self.order, self.patient = reference, order, patient
        self.delivery = delivery
        self.drug = reference.drugs.get(order.drug or "")

    def of_phase(self, index: int, measure: str, part: int, form: Form) -> Fraction | None:
        """A measure of one phase, of its `part`th bolus or run, in that form's base units."""
        done, phase = self.delivery.phases[index], self.order.phases[index]
        found = self._bag(done, measure) or self._step(done, phase, measure, part, form)
        return self._in_form(found, form) if found else None

    def of_order(self, measure: str, form: Form) -> Fraction | None:
        """A total, of the whole order or the most in a day, in that form's base units."""
        name, per_day, _ = measure.partition(" per day")

        per_ml = {"total": drug_of, "fluid": fluid_of}.get(name) or substance_of(name)
        got = self.delivery.most_in(DAY, per_ml) if per_day else self.delivery.total(per_ml)
        if got is None:
            return None
        if name == "total":
            return self._in_form(Value(got, Form(self._kind())), form)
        size = {"kg": self.patient.weight, "m2": self.patient.surface}.get(
            form.patient, Fraction(1)
        )
        return got / size if size else None

    def _kind(self) -> str:
        return self.drug.supplied.form.kind if self.drug and self.drug.supplied else "mass"

    def _bag(self, done: PhaseDone, measure: str) -> Value | None:
        """What is put together: strength, draw, containers, diluent."""
        bag = done.vessel
        if bag is None:
            return None
        per_ml = Form(self._kind(), below="volume")
        match measure:
            case "strength":
                return Value(bag.liquid.counted, per_ml)
            case "true strength":
                return Value(bag.liquid.drug, per_ml)
            case "draw" if bag.draw is not None:
                return Value(bag.draw, Form("volume"))
            case "diluent" if bag.diluent is not None:
                return Value(bag.diluent, Form("volume"))
            case "containers" if bag.draw is not None and self.drug and self.drug.container:
                return Value(Fraction(-(-bag.draw // self.drug.container)), Form(""))
        return None

    def _step(
        self, done: PhaseDone, phase: Phase, measure: str, part: int, form: Form
    ) -> Value | None:
        """A measure of a bolus or run, or of how its bag goes on."""
        line = "bolus" if measure.startswith("bolus") else "run"
        steps = [what for what in done.performed if what.step.line == line]
        if measure == "runs dry":
            return Value(done.runs_dry, Form("time")) if done.runs_dry is not None else None
        if measure == "bags per day":
            return self._bags(done, phase, steps[-1])
        if part >= len(steps):
            return None
        what = steps[part]
        match measure:
            case "flow":
                return Value(what.flow, Form("volume", below="time"))
            case "time" | "bolus time":
                return Value(what.time, Form("time"))
            case "volume":
                return Value(what.volume, Form("volume"))
            case "bolus" if form.kind == "volume":
                return Value(what.volume, Form("volume"))
            case "bolus":
                return Value(what.volume * what.liquid.counted, Form(self._kind()))
            case "dose":
                return Value(what.dose(), Form(self._kind(), below="time"))
            case "drops" if phase.giving_set:
                drops = what.flow * self.reference.drops[phase.giving_set]
                return Value(drops, Form("drops", below="time"))
        return None

    def _bags(self, done: PhaseDone, phase: Phase, run: Performed) -> Value | None:
        """How many bags a day, of one that is renewed or comes again."""
        if run.step.every:
            bags = DAY / run.step.every
            return Value(min(bags, Fraction(run.step.times or bags)), Form(""))
        if phase.then and phase.then.what == "renew" and done.vessel:
            return Value(DAY * run.flow / done.each_bag(), Form(""))
        return None

    def _in_form(self, found: Value, form: Form) -> Fraction | None:
        value = found.value
        if found.form.kind != form.kind:
            if self.drug is None or form.kind not in DRUG_KINDS:
                return None
            value = self.drug.same(value, found.form.kind, form.kind)
        by_dosing = form.kind in DRUG_KINDS
        size: Fraction | None = Fraction(1)
        if form.patient == "kg":
            size = self.patient.dosing if by_dosing else self.patient.weight
        elif form.patient:
            size = self.patient.surface
        return value / size if size else None
