"""Compares the tool with an independent reckoner, on generated orders.

    python tests/outside/reckoner GUTTA [--orders N] [--seed N] [--show N]
"""

import argparse
import sys
import tempfile
from pathlib import Path

from compare import Comparing
from generator import WARD, Writer
from reading import reference, stanzas
from shrinking import compared, kind, shrunk
from tool import Tool


def main() -> None:
    """Runs the comparison; exits with 1 where anything differs."""
    parser = argparse.ArgumentParser()
    parser.add_argument("gutta")
    parser.add_argument("--orders", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=20261130)
    parser.add_argument("--values", type=int, default=20000)
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--show", type=int, default=20)
    given = parser.parse_args()
    writer = Writer(given.seed)
    texts = [writer.text() for _ in range(given.orders)]
    comparing = Comparing(reference(stanzas(WARD, "ward.gtt")), given.values)
    with tempfile.TemporaryDirectory() as folder:
        tool = Tool(given.gutta, Path(folder))
        told = compared(tool, comparing, texts)
        wrong = [(text, found) for text, found in told if found]
        print(comparing.counts)
        print(len(wrong))
        for text, found in wrong[: given.show]:
            for about in {kind(difference.about): difference.about for difference in found}.values():
                small, left = shrunk(tool, comparing, text, about) if given.small else (text, found)
                print(small.whole())
                for difference in left[:2]:
                    print("   ", difference.detail[:260])
                print(flush=True)
                break
    sys.exit(1 if wrong else 0)


main()
