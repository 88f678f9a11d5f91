"""What an order says to the conditions of limits ("Which limit holds")."""

from orders import Order, Phase
from pieces import Patient
from reference import Conditions, Reference


class Answers:
    """What one phase of an order says to the conditions of limits, at one patient."""

    def __init__(self, reference: Reference, order: Order, phase: Phase, patient: Patient) -> None:
        self.order, self.phase, self.patient = order, phase, patient
        self.ages = reference.ends(order, "age")

    def fulfil(self, conditions: Conditions, *, unanswered: bool, load: bool = False) -> bool:
        """Whether all conditions hold; `unanswered` is what an open one counts as."""
        named = (
            (conditions.routes, self.phase.route),
            (conditions.areas, self.order.area),
            (conditions.purposes, self.phase.purpose),
        )
        for wanted, said in named:
            if wanted is None or (load and "loading" in wanted):
                continue
            if said is None or said == "any":
                if not unanswered:
                    return False
            elif said not in wanted:
                return False
        return self._size(conditions, unanswered) and self._age(conditions, unanswered)

    def _size(self, conditions: Conditions, unanswered: bool) -> bool:
        if conditions.sizes is None:
            return True
        size = self.patient.surface if conditions.by_surface else self.patient.weight
        return unanswered if size is None else conditions.sizes.holds(size)

    def _age(self, conditions: Conditions, unanswered: bool) -> bool:
        if conditions.ages is None:
            return True
        low, high = self.ages
        if low is None and high is None:
            return unanswered
        return conditions.ages.meets(low, high)
