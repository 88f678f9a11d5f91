"""Compares `gutta` with an independent reckoner, on generated orders.

    python tests/outside/reckoner GUTTA [--orders N] [--values N] [--seed N] [--show N]
        [--processes N]

Exits with 1 where anything differs that is not known, or where what is settled differs. The last line counts what agreed.
"""

import argparse
import os
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from compare import Comparing, Counts
from generator import WARD, Text, texts
from known import Known, kind_of, known
from reference import reference
from shrinking import Told, compared, shrunk
from stanzas import stanzas
from tool import Tool

BATCH = 250
BEFORE_VALUES = 20000


@dataclass(frozen=True)
class Job:
    """Some texts, and how many values of them are to be compared."""

    program: str
    texts: list[Text]
    values: int


def carried_out(job: Job) -> tuple[list[Told], Counts]:
    """Compares the texts of a job, in a folder of its own."""
    comparing = Comparing(reference(stanzas(WARD, "ward.gtt")), job.values)
    with tempfile.TemporaryDirectory() as folder:
        told = compared(Tool(job.program, Path(folder)), comparing, job.texts)
    return [(text, found) for text, found in told if found], comparing.counts


def jobs(given: argparse.Namespace) -> list[Job]:
    """The generated texts, in batches."""
    written = list(islice(texts(given.seed), given.orders))
    share = -(-given.values * BATCH // given.orders)
    parts = [written[at : at + BATCH] for at in range(0, len(written), BATCH)]
    return [Job(given.gutta, part, share) for part in parts]


def own_texts(
    program: str, kinds: list[Known], settled: list[Text]
) -> tuple[list[Known], list[str]]:
    """The known kinds whose own texts differ still, and what is wrong with what is settled.

    A kind whose text differs no more excuses nothing, so that nothing hides behind it.
    """
    own = [kind.text for kind in kinds] + settled
    told, _ = carried_out(Job(program, own, BEFORE_VALUES))
    found = {text.name: differences for text, differences in told}
    still = [
        kind
        for kind in kinds
        if any(kind.is_of(kind.text, difference) for difference in found.get(kind.name, []))
    ]
    for kind in kinds:
        if kind not in still:
            print(f"known, and no more: {kind.name} agrees; settle it in known.toml")
    names = {text.name for text in settled}
    wrong = [f"settled {name}: {d.detail}" for name in names for d in found.get(name, [])]
    return still, wrong


def show(given: argparse.Namespace, unknown: list[Told]) -> None:
    """Prints the first differences, made small."""
    comparing = Comparing(reference(stanzas(WARD, "ward.gtt")), sys.maxsize)
    with tempfile.TemporaryDirectory() as folder:
        tool = Tool(given.gutta, Path(folder))
        for text, found in unknown[given.show :]:
            print(f"{text.name}: {found[0].tool}: {found[0].detail}")
        for text, found in unknown[: given.show]:
            small, left = shrunk(tool, comparing, text, found[0].about)
            print(small.whole())
            for difference in left:
                print(f"    {difference.tool}: {difference.detail}")
            print(flush=True)


def main() -> None:
    """Compares, tells what is known, and shows what is not."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("gutta", type=os.path.abspath)
    parser.add_argument("--orders", type=int, default=2000)
    parser.add_argument("--values", type=int, default=20000)
    parser.add_argument("--seed", type=int, default=20261130)
    parser.add_argument("--show", type=int, default=5, help="how many differences to make small")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    given = parser.parse_args()
    kinds, wrong = own_texts(given.gutta, *known())
    print(*wrong, sep="\n", end="\n" if wrong else "")
    counts, seen, unknown = Counts(), Counter[str](), list[Told]()
    with ProcessPoolExecutor(given.processes) as pool:
        for told, some in pool.map(carried_out, jobs(given)):
            counts.add(some)
            for text, found in told:
                of = {difference.about: kind_of(kinds, text, difference) for difference in found}
                seen.update({kind.name for kind in of.values() if kind})
                if left := [difference for difference in found if not of[difference.about]]:
                    unknown.append((text, left))
    for kind in kinds:
        print(f"known: {seen[kind.name]} orders, {kind.name} ({kind.right} is right)")
    show(given, unknown)
    print(f"unreadable {counts.unreadable}, too little in a bag {counts.short}, cut short "
          f"{counts.cut_short}; {counts.limits} limits, {counts.begins} weights where a breach "
          f"begins or ends")  # fmt: skip
    passed = counts.values + counts.orders - len(unknown)
    print(f"reckoner gutta: {passed} passed, {len(unknown) + len(wrong)} failed, of {counts.values} "
          f"values and the verdicts on {counts.orders} orders")  # fmt: skip
    sys.exit(1 if unknown or wrong else 0)


if __name__ == "__main__":
    main()
