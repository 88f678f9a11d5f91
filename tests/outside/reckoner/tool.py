"""Runs the command over many orders at once, and reads what it says."""

import json
import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from generator import WARD, Text
from quantities import quantity

LIMIT_RULES = ("limit.never", "limit.unusual", "limit.adjust-escapes")
PER_FILE = 50


@dataclass(frozen=True)
class Breach:
    """One finding of a limit: its line, its side, from which weight to which it holds."""

    place: tuple[str, int]
    side: str
    low: Fraction | None
    high: Fraction | None
    by_surface: bool
    message: str

    def holds(self, weight: Fraction) -> bool:
        """Whether it tells of this weight."""
        return not (self.low and weight < self.low or self.high and weight > self.high)


@dataclass(frozen=True)
class Told:
    """One value that is derived: of which phase and part, for whom, exactly (None: there is none)."""

    measure: str
    phase: int
    part: str
    unit: str
    at: dict[str, str]
    exact: str | None


@dataclass
class Said:
    """What the tool says of one order."""

    breaches: list[Breach]
    rules: set[str]
    values: list[Told]
    incomplete: bool


class Tool:
    """The command in a folder of its own."""

    def __init__(self, program: str, folder: Path) -> None:
        self.program, self.folder = program, folder
        (folder / "gutta.toml").write_text("# The reckoner's own.\n")
        (folder / "ward.gtt").write_text(WARD)

    def ask(self, texts: list[Text]) -> dict[str, Said]:
        """Writes the texts, some fifty a file, and asks `check` and `derive` once each."""
        for old in self.folder.glob("batch-*.gtt"):
            old.unlink()
        for at in range(0, len(texts), PER_FILE):
            body = "".join(text.whole() for text in texts[at : at + PER_FILE])
            path = self.folder / f"batch-{at // PER_FILE}.gtt"
            path.write_text('use "ward.gtt"\n' + body)
        said = {text.name: Said([], set(), [], True) for text in texts}
        for finding in self._run("check")["findings"]:
            if finding["stanza"] in said:
                _take(said[finding["stanza"]], finding)
        for order in self._run("derive")["orders"]:
            of = said[order["name"]]
            of.incomplete = bool(order["incomplete"])
            of.values = list(_values(order))
        return said

    def _run(self, *command: str) -> dict:
        ran = subprocess.run(
            [self.program, *command, "--format", "json"],
            cwd=self.folder, capture_output=True, text=True, check=False,
        )  # fmt: skip
        if not ran.stdout:
            raise RuntimeError(f"{' '.join(command)} said nothing: {ran.stderr[:2000]}")
        return json.loads(ran.stdout)


def _values(order: dict) -> Iterator[Told]:
    """The values of an order: a measure's numbers, each for a patient or for all."""
    patients = order.get("patients") or [{}]
    for index, phase in enumerate(order["phases"]):
        for value in phase["values"]:
            for number in value["numbers"]:
                at = patients[number.get("patient", 0)]
                yield Told(
                    value["measure"], index, value.get("part") or "", value["unit"], at,
                    number.get("exact"),
                )  # fmt: skip


def _take(said: Said, finding: dict) -> None:
    said.rules.add(finding["rule"])
    if finding["rule"] not in LIMIT_RULES or not finding["related"]:
        return
    related = finding["related"][0]
    place = (related["file"], related["start"]["line"])
    said.breaches.append(breach(finding["message"], place))


_SIZE = r"(\d[\d,.]* (?:kg|g|m2))"


def breach(message: str, place: tuple[str, int]) -> Breach:
    """`Below 61.6 kg the dose …`, `From 40 kg to 150 kg …`, `Above …`; without words, everywhere."""
    side = "below" if re.search(r"less than|never below|below the usual", message) else "above"
    spans = (
        (rf"(?:Below|Up to) {_SIZE}", None, 1),
        (rf"Above {_SIZE}", 1, None),
        (rf"At {_SIZE}", 1, 1),
        (rf"From {_SIZE} on", 1, None),
        (rf"(?:From|Between) {_SIZE} (?:to|and) {_SIZE}", 1, 2),
    )
    for pattern, low, high in spans:
        if found := re.match(pattern, message):
            ends = [_size(found[end]) if end else None for end in (low, high)]
            return Breach(place, side, *ends, "m2" in found[0], message)
    return Breach(place, side, None, None, False, message)


def _size(text: str) -> Fraction:
    read = quantity(text)
    return read.value / 10**6 if read.form.kind == "mass" else read.value
