"""From text to stanzas and their lines, as `notation.md` ("Text") says.

What cannot be read raises `Unreadable`: a stanza with such a line has no values (principle 3).
"""

import re
from dataclasses import dataclass, field

from quantities import Quantity, Range, Unreadable, quantity

KEYWORDS = (
    "bolus ceiling", "change bag every", "dosing weight", "review by", "dosed in", "not with",
    "only by", "hang time", "stop when",
)  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One line of a stanza: its keyword, the rest of its words, its number in the file."""

    keyword: str
    rest: str
    number: int


@dataclass
class Stanza:
    """A header with the lines below it."""

    kind: str
    name: str
    file: str
    number: int
    lines: list[Line] = field(default_factory=list)

    def all(self, keyword: str) -> list[str]:
        """What every line of that keyword says."""
        return [line.rest for line in self.lines if line.keyword == keyword]

    def one(self, keyword: str) -> str | None:
        """What the only line of that keyword says."""
        found = self.all(keyword)
        return found[0] if found else None


def stanzas(text: str, file: str) -> list[Stanza]:
    """The stanzas of a file, without its `use` lines."""
    found: list[Stanza] = []
    for at, raw in enumerate(text.split("\n"), 1):
        line = _without_comment(raw).rstrip()
        if not line:
            continue
        words = " ".join(line.split())
        if line[0] in " \t":
            found[-1].lines.append(_line(words, at))
        elif not words.startswith("use "):
            kind, name, *_ = words.split(" ")
            found.append(Stanza(kind, name, file, at))
    return found


def _without_comment(raw: str) -> str:
    """The line up to its `#`, texts taken out."""
    return re.sub(r"#.*", "", re.sub(r'"[^"]*"', '""', raw))


def _line(words: str, at: int) -> Line:
    for keyword in KEYWORDS:
        if words.startswith(keyword + " "):
            return Line(keyword, words.removeprefix(keyword + " "), at)
    keyword, _, rest = words.partition(" ")
    return Line(keyword, rest, at)


def match(pattern: str, text: str, what: str) -> re.Match[str]:
    """The text as the whole of the pattern, or `Unreadable`."""
    found = re.fullmatch(pattern, text)
    if not found:
        raise Unreadable(f"{what}: {text}")
    return found


def optional(text: str | None) -> Quantity | None:
    """A quantity, where there is one."""
    return quantity(text) if text else None


def kilograms(band: Range) -> Range:
    """A range of weights, in kg of the patient."""

    def end(of: Quantity | None) -> Quantity | None:
        return Quantity(of.value / 10**6, of.form) if of else None

    return Range(end(band.low), end(band.high), band.high_left_out)
