"""What is in the bag (`mix`, `premixed`, `hang`, `undiluted`)."""

from dataclasses import dataclass
from fractions import Fraction

from orders import Bag
from pieces import NOTHING, Liquid, Patient
from quantities import Quantity, Unreadable, needed
from reference import Drug, Reference


@dataclass(frozen=True)
class Vessel:
    """A bag as it hangs, in mL; `draw` is what is drawn up, `diluent` what it is put into."""

    volume: Fraction
    liquid: Liquid
    draw: Fraction | None
    diluent: Fraction | None
    counted: bool


def vessel(bag: Bag, drug: Drug | None, reference: Reference, patient: Patient) -> Vessel:
    """What hangs, by the line that says what is in the bag."""
    fluid = reference.solutions[bag.solution].contents if bag.solution else {}
    written = patient.scaled(bag.volume)
    if bag.line == "hang":
        return Vessel(written, Liquid(NOTHING, NOTHING, fluid), None, None, False)
    drug = needed(drug, "which drug it is")
    if bag.line == "undiluted":
        per_ml = needed(drug.supplied, "what is supplied").value
        return Vessel(written, Liquid(per_ml, per_ml, drug.brings.contents), written, None, False)
    amount = _amount(bag, drug, patient)
    if bag.line == "premixed":
        brought = _brought(drug, amount, None)
        liquid = _mixed(amount, written, written, [(fluid, written), (brought, Fraction(1))])
        return Vessel(written, liquid, None, None, False)
    draw = amount / drug.supplied.value if drug.supplied else None
    if draw is None and bag.added:
        raise Unreadable("nobody says what volume the drug brings")
    diluent = written if bag.added else written - (draw or NOTHING)
    volume = written + (draw or NOTHING) if bag.added else written
    counted = bag.counted.value if bag.counted else volume
    parts = [(fluid, diluent), (_brought(drug, amount, draw), Fraction(1))]
    return Vessel(volume, _mixed(amount, volume, counted, parts), draw, diluent, bool(bag.counted))


def _amount(bag: Bag, drug: Drug, patient: Patient) -> Fraction:
    """The drug that is put in, in the kind in which it is supplied."""
    written = needed(bag.amount, "how much drug")
    if written.form.kind == "volume":
        return patient.scaled(written) * needed(drug.supplied, "what is supplied").value
    amount = in_kind(drug, written, patient.scaled(written))
    if bag.lid:
        amount = min(amount, in_kind(drug, bag.lid, patient.scaled(bag.lid)))
    return amount


def in_kind(drug: Drug, of: Quantity, value: Fraction) -> Fraction:
    """An amount in the kind in which the drug is supplied."""
    kind = drug.supplied.form.kind if drug.supplied else of.form.kind
    return drug.same(value, of.form.kind, kind)


def _brought(drug: Drug, amount: Fraction, draw: Fraction | None) -> dict[str, Fraction]:
    """What the drug's own solution brings, by its amount."""
    if not drug.supplied:
        return {}
    volume = amount / drug.supplied.value if draw is None else draw
    return {name: per_ml * volume for name, per_ml in drug.brings.contents.items()}


def _mixed(
    amount: Fraction,
    volume: Fraction,
    counted: Fraction,
    parts: list[tuple[dict[str, Fraction], Fraction]],
) -> Liquid:
    """So much drug, and so many mL of each part, in the volume."""
    substances: dict[str, Fraction] = {}
    for held, times in parts:
        for name, per_ml in held.items():
            substances[name] = substances.get(name, NOTHING) + per_ml * times / volume
    return Liquid(amount / volume, amount / counted, substances)
