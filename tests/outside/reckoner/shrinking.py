"""Makes the text of a difference small: takes line after line away while it still shows."""

from collections.abc import Callable

from compare import Comparing, Difference
from generator import Text
from tool import PER_FILE, Said, Tool

Told = tuple[Text, list[Difference]]


def compared(tool: Tool, comparing: Comparing, texts: list[Text]) -> list[Told]:
    """Asks the tool about all texts at once, and sets each beside the reckoner."""
    said = tool.ask(texts)
    return [(text, _differences(comparing, text, said, at, texts)) for at, text in enumerate(texts)]


def _differences(
    comparing: Comparing, text: Text, said: dict[str, Said], at: int, texts: list[Text]
) -> list[Difference]:
    before = texts[at - at % PER_FILE : at]
    first_line = 2 + sum(len(other.drug) + len(other.order) for other in before)
    return comparing.differences(text, said[text.name], first_line)


def shrunk(tool: Tool, comparing: Comparing, text: Text, about: str) -> Told:
    """The smallest text found that still differs in the same thing."""
    kept: Told = (text, [])
    while True:
        smaller = list(_without_a_line(kept[0]))
        told = compared(tool, comparing, smaller)
        still = [(other, found) for other, found in told if _shows(found, about)]
        if not still:
            break
        kept = _together(tool, comparing, kept[0], still, lambda found: _shows(found, about))
    return kept if kept[1] else compared(tool, comparing, [text])[0]


def kind(about: str) -> str:
    """What a difference is about, without its numbers and units."""
    return about.split(" in ")[0] if " in " in about.split("(")[0] else about


def _shows(found: list[Difference], about: str) -> bool:
    return any(kind(difference.about) == kind(about) for difference in found)


def _together(
    tool: Tool,
    comparing: Comparing,
    whole: Text,
    still: list[Told],
    shows: Callable[[list[Difference]], bool],
) -> Told:
    """All lines that can go one by one, at once where that shows it still; else the first."""
    gone = [line for other, _ in still for line in _lines(whole) if line not in _lines(other)]
    at_once = Text(
        [line for line in whole.drug if line not in gone],
        [line for line in whole.order if line not in gone],
        whole.name,
    )
    told = compared(tool, comparing, [at_once])[0]
    return told if shows(told[1]) else (_named(still[0][0], whole.name), still[0][1])


def _lines(text: Text) -> list[str]:
    return text.drug[1:] + text.order[1:]


def _without_a_line(text: Text) -> list[Text]:
    """The text without one of its lines, each under a name of its own."""
    found = []
    for at in range(1, len(text.drug)):
        found.append(Text(text.drug[:at] + text.drug[at + 1 :], text.order, text.name))
    for at in (at for at in range(1, len(text.order)) if " phase " not in text.order[at]):
        found.append(Text(text.drug, text.order[:at] + text.order[at + 1 :], text.name))
    return [_named(other, f"{text.name}-{at}") for at, other in enumerate(found)]


def _named(text: Text, name: str) -> Text:
    """The text under another name, its drug too."""
    drug = f"drug-of-{name}"
    old = text.drug[0].split()[1]
    header = [text.drug[0].replace(old, drug)]
    order = [line.replace(f" {old}", f" {drug}") for line in text.order]
    order[0] = order[0].replace(text.name, name)
    return Text(header + text.drug[1:], order, name)
