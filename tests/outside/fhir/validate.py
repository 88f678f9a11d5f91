#!/usr/bin/env python3
"""Holds every export of the command's tests against FHIR, and its numbers
against what the tool itself derives.

    validate.py EXPORTS

EXPORTS holds `NAME.r4.json` and `NAME.r5.json`, bundles, and `NAME.derive.json`,
what `gutta derive --format json` says of the same files.

Oracles:
- `fhir.resources` of PyPI, models made from HL7's definitions: R5 (5.0.0), and
  R4B (4.3.0) for R4 (4.0.1), the nearest release that it has; fhir.js holds R4
  against its own schema.
- `gutta derive`: of each calculated number, and of each ordered one that it has
  a measure for, as exact fractions. Numbers are read as decimals here.
- The standard library's XML parser, for the texts.
"""

import json
import re
import sys
import xml.etree.ElementTree as ElementTree
from collections import Counter
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

from fhir.resources import get_fhir_model_class as r5
from fhir.resources.R4B import get_fhir_model_class as r4b

# Sizes of the units that the tool writes, by the notation's table: within one
# kind alone they are compared.
SIZE = {
    "kg": 10**6, "g": 10**3, "mg": 1, "mcg": Fraction(1, 10**3), "ng": Fraction(1, 10**6),
    "mol": 10**3, "mmol": 1, "micromol": Fraction(1, 10**3), "mEq": 1,
    "units": 1, "unit": 1, "milliunits": Fraction(1, 10**3), "milliunit": Fraction(1, 10**3),
    "L": 10**3, "mL": 1,
    "s": Fraction(1, 60), "min": 1, "h": 60, "d": 1440, "day": 1440, "days": 1440,
}  # fmt: skip
KINDS = ["kg g mg mcg ng", "mol mmol micromol", "mEq", "units unit milliunits milliunit", "L mL"]
KIND = {unit: kind for kind in KINDS for unit in kind.split()}
XHTML = "{http://www.w3.org/1999/xhtml}"


class Wrong(Exception):
    """Something is not as it must be."""


def check(holds, what):
    if not holds:
        raise Wrong(what)


def base(number, unit):
    """A number in the base units of its unit, and per what of the patient."""
    top, *below = unit.split("/")
    value = Fraction(number) * SIZE[top]
    patient = [part for part in below if part in ("kg", "m2")]
    for part in below:
        if part not in patient:
            value /= SIZE[part]
    return value, patient[0] if patient else None


def quantity(value):
    return base(value["value"], value.get("unit", ""))


def ratio(value):
    """A ratio as a value in base units."""
    top, per = quantity(value["numerator"])
    return top / quantity(value["denominator"])[0], per


class Derived:
    """What the tool derives of the orders of an export."""

    def __init__(self, document):
        check(document["form"] == 2, f"derived values of form {document['form']}")
        self.orders = {}
        for order in document["orders"]:
            check(order["name"] not in self.orders, f"two orders {order['name']}")
            self.orders[order["name"]] = order

    def values(self, order, phase, measure, like):
        """The values of a measure in base units, with their patients: those of
        the kind that `like`, a unit, has."""
        patients = self.orders[order]["patients"]
        for part in self.orders[order]["phases"]:
            if part["name"] != phase:
                continue
            for value in part["values"]:
                if value["measure"] != measure:
                    continue
                if like is not None and KIND[like.split("/")[0]] != KIND[value["unit"].split("/")[0]]:
                    continue
                for number in value["numbers"]:
                    if number["exact"] is None:
                        continue
                    at = patients[number["patient"]] if "patient" in number else {}
                    yield base(number["exact"], value["unit"]), at

    def amounts(self, order, phase, like):
        """The drug in each run, of the kind of `like`, in base units."""
        for (strength, _), at in self.values(order, phase, "strength", like):
            for (volume, _), other in self.values(order, phase, "volume", None):
                if at == other or not at or not other:
                    yield (strength * volume, None), at or other


def patient(at, per):
    of = {"kg": "weight", "m2": "surface"}[per]
    number, unit = at[of].replace(",", "").split()
    return Fraction(number) * (Fraction(1, 1000) if unit == "g" else 1)


def agrees(found, value, per):
    """Whether a derived value is this one, brought to the same form."""
    (derived, derived_per), at = found
    if per != derived_per:
        if derived_per is not None or not at:
            return False
        derived /= patient(at, per)
    return derived == value


class Numbers:
    """Holds the numbers of an order's dosages against what is derived."""

    def __init__(self, derived, counted):
        self.derived, self.counted = derived, counted

    def dosage(self, order, phase, dosage):
        bolus = "; bolus " in dosage["text"]
        lidded = "maxDosePerPeriod" in dosage or "maxDosePerAdministration" in dosage
        for part in dosage.get("doseAndRate", []):
            ordered = part["type"]["coding"][0]["code"] == "ordered"
            if "doseQuantity" in part:
                dose = part["doseQuantity"]
                volume = dose["unit"].split("/")[0] in ("mL", "L")
                measure = "bolus" if bolus else "volume" if volume else None
                self.one(order, phase, measure, quantity(dose), dose["unit"], ordered and lidded)
            if "rateQuantity" in part:
                rate = part["rateQuantity"]
                volume = rate["unit"].split("/")[0] in ("mL", "L")
                measure = None if bolus else "flow" if volume else "dose"
                self.one(order, phase, measure, quantity(rate), rate["unit"], ordered and lidded)
            if "rateRatio" in part:
                rate = part["rateRatio"]
                unit = rate["numerator"]["unit"]
                volume = unit.split("/")[0] in ("mL", "L")
                if volume and not bolus:
                    self.one(order, phase, "flow", ratio(rate), unit, ordered and lidded)
                else:
                    top = quantity(rate["numerator"])
                    self.one(order, phase, "bolus" if bolus else None, top, unit, ordered and lidded)
                    time = quantity(rate["denominator"])
                    self.one(order, phase, "bolus time" if bolus else "time", time, None, False)
        repeat = dosage.get("timing", {}).get("repeat", {})
        if "duration" in repeat:
            time = base(repeat["duration"], repeat["durationUnit"])
            self.one(order, phase, "bolus time" if bolus else "time", time, None, False)

    def one(self, order, phase, measure, value, unit, lidded):
        if measure is None:
            # The drug in a run: what is run, times its strength.
            found = list(self.derived.amounts(order, phase, unit))
            if not found:
                self.counted["stated"] += 1
                return
        else:
            found = list(self.derived.values(order, phase, measure, unit))
        number, per = value
        # A lid holds the value down for some patients, or for all of them.
        under = lidded and all(one[0][0] <= number for one in found if one[0][1] == per)
        holds = any(agrees(one, number, per) for one in found) or (found and under)
        check(holds, f"{order}, {phase}: {measure or 'amount'} {value}, derived {found}")
        self.counted["derived"] += 1

    def bag(self, order, phase, medication, release):
        """What is in a bag: its strength, its diluent, and its volume, which is
        what is drawn up and what it goes into."""
        name = "strength" if release == "r4" else "strengthRatio"
        shares = [part.get(name) for part in medication.get("ingredient", [])]
        strengths = list(self.derived.values(order, phase, "strength", None))
        drawn = list(self.derived.values(order, phase, "draw", None))
        diluents = list(self.derived.values(order, phase, "diluent", None))
        if strengths and shares[0]:
            self.equal(order, strengths, ratio(shares[0]))
        volume = None
        if "totalVolume" in medication:
            volume = quantity(medication["totalVolume"])[0]
        elif "amount" in medication:
            volume = quantity(medication["amount"]["numerator"])[0]
        # One number each for every patient, or nothing is exported.
        parts = [{value for (value, _), _ in some} for some in (drawn, diluents) if some]
        if not drawn or any(len(part) != 1 for part in parts):
            return
        whole = sum(part.pop() for part in parts)
        if volume is not None:
            check(whole == volume, f"{order}: the bag holds {volume}, derived {whole}")
            self.counted["derived"] += 1
        if diluents and len(shares) > 1 and shares[1]:
            share = diluents[0][0][0] / whole
            check(ratio(shares[1])[0] == share, f"{order}: diluent {shares[1]}, derived {share}")
            self.counted["derived"] += 1

    def equal(self, order, found, value):
        check(all(agrees(one, *value) for one in found), f"{order}: {value}, derived {found}")
        self.counted["derived"] += 1


def xhtml(div):
    root = ElementTree.fromstring(div)
    check(root.tag == f"{XHTML}div", "the text is no div")
    tags = {element.tag.removeprefix(XHTML) for element in root.iter()}
    check(tags <= {"div", "p", "pre", "ul", "li"}, f"{tags} in a text")


def hang_together(bundle):
    """Every reference is to a resource of the bundle, every name there once."""
    entries = bundle["entry"]
    urls = {entry["fullUrl"]: entry["resource"] for entry in entries}
    check(len(urls) == len(entries), "two resources have one URL")

    def walk(value):
        if isinstance(value, list):
            for inner in value:
                walk(inner)
        elif isinstance(value, dict):
            check(value, "an element is empty")
            for key, inner in value.items():
                if key in ("reference", "definitionCanonical") and isinstance(inner, str):
                    check(inner in urls, f"{inner} is not in the bundle")
                walk(inner)

    walk(bundle)
    for url, resource in urls.items():
        check(url.endswith(resource["id"]), f"{url} is not of {resource['id']}")
        if "url" in resource:
            check(resource["url"] == url, f"{url} has another canonical URL")
            # Rule adf-0, pdf-0 (R4), cnl-0 (R5).
            name = resource.get("name", "A")
            check(re.fullmatch(r"[A-Z][A-Za-z0-9_]{0,254}", name), f"name {name}")
            check(resource["status"] == "draft" and resource["experimental"], "no draft")
        if resource["resourceType"] == "PlanDefinition":
            steps = {action.get("id") for action in resource["action"]}
            for action in resource["action"]:
                for after in action.get("relatedAction", []):
                    other = after.get("actionId", after.get("targetId"))
                    check(other in steps, f"no step {other}")
    return urls


def numbers(bundle, urls, derived, counted, release):
    held = Numbers(derived, counted)
    for resource in urls.values():
        if resource["resourceType"] != "ActivityDefinition":
            continue
        order = resource["identifier"][0]["value"]
        phase = None
        if "name" not in resource:
            parts = derived.orders[order]["phases"]
            named = [part["name"] for part in parts if part["name"] is not None]
            phase = next((name for name in named if resource["title"].endswith(f": {name}")), None)
        for dosage in resource["dosage"]:
            held.dosage(order, phase, dosage)
        product = urls[resource["productReference"]["reference"]]
        held.bag(order, phase, product, release)


def main(folder):
    wrong, passed, counted = [], Counter(), Counter()
    for path in sorted(folder.glob("*.r[45].json")):
        release = path.suffixes[0][1:]
        text = path.read_text(encoding="utf-8")
        bundle = json.loads(text, parse_float=Decimal)
        try:
            urls = hang_together(bundle)
            model = r5 if release == "r5" else r4b
            for resource in bundle["entry"]:
                resource = resource["resource"]
                model(resource["resourceType"]).model_validate(resource)
                if "text" in resource:
                    xhtml(resource["text"]["div"])
                passed[release] += 1
            model("Bundle").model_validate(bundle)
            document = path.with_name(path.name.split(".")[0] + ".derive.json")
            derived = Derived(json.loads(document.read_text(encoding="utf-8")))
            numbers(bundle, urls, derived, counted, release)
        except (Wrong, ValueError, ElementTree.ParseError) as error:
            wrong.append(f"{path.name}: {error}")
    if wrong:
        print("\n".join(line[:2000] for line in wrong))
        print(f"oracle fhir-resources: {len(wrong)} exports are wrong", file=sys.stderr)
        return 1
    print(f"oracle fhir-resources: {sum(passed.values())} passed, resources: {dict(passed)}")
    stated = counted["stated"]
    print(f"oracle fhir-numbers: {counted['derived']} passed, as derived; {stated} are the line's own")
    return 0 if passed["r4"] and passed["r5"] and counted["derived"] else 1


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
