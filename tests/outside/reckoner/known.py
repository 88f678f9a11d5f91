"""The differences that are known, each with who is right: `known.toml`.

None is silent: each is counted by name in every run, its own text must still differ (else it is
to be settled), and what is settled must agree.
"""

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

from compare import Difference
from generator import Text

FILE = Path(__file__).with_name("known.toml")


@dataclass(frozen=True)
class Known:
    """A kind of difference: in what, what the tool does, in which texts; and its own text."""

    name: str
    right: str
    because: str
    about: re.Pattern[str]
    tool: str
    order: tuple[re.Pattern[str], ...]
    text: Text

    def is_of(self, text: Text, difference: Difference) -> bool:
        """Whether the difference is of this kind."""
        whole = text.whole()
        return (
            bool(self.about.search(difference.about))
            and difference.tool.startswith(self.tool)
            and all(pattern.search(whole) for pattern in self.order)
        )


def known() -> tuple[list[Known], list[Text]]:
    """The kinds that are known, and the texts of what is settled."""
    read = tomllib.loads(FILE.read_text())
    kinds = [
        Known(
            entry["name"], entry["right"], entry["because"], re.compile(entry["about"]),
            entry["tool"], tuple(re.compile(pattern, re.MULTILINE) for pattern in entry["order"]),
            _text(entry),
        )
        for entry in read["known"]
    ]  # fmt: skip
    return kinds, [_text(entry) for entry in read["settled"]]


def _text(entry: dict) -> Text:
    """The drug's and the order's lines; both bear the entry's name."""
    name = entry["name"]
    drug, _, order = entry["text"].strip("\n").partition("\n\n")
    lines = order.split("\n")
    return Text(
        [f'drug drug-{name} "Drug"', *drug.split("\n")],
        [f'order {name} "Order"', f"  drug       drug-{name}", *lines],
        name,
    )


def kind_of(kinds: list[Known], text: Text, difference: Difference) -> Known | None:
    """The known kind that the difference is of."""
    return next((kind for kind in kinds if kind.is_of(text, difference)), None)
