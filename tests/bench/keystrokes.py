#!/usr/bin/env python3
"""Times from a keystroke to what an author sees, over the real wire.

    keystrokes.py GUTTA [--before GUTTA] [--others FOLDER]

Prints the median and the 99th percentile of 320 keystrokes, in milliseconds:
from the change to the findings of that version, and from the change to the
inlay hints of the 60 lines around it; and the server's memory. They are made at
160 places, spread over a file of the mixed corpus: a digit comes behind a number
of a `run`, and goes again. Each keystroke is measured alone: the next one waits
for the answer to the one before.

With --before, another build of gutta takes each keystroke in turn with it, on a
file of its own, and the ratios are told. The servers that `others.sh` has
fetched are driven in the same way, each on a file of as many bytes in its own
language: Python's is of its standard library, the others' are one piece over and
over.
"""

import argparse
import pathlib
import queue
import re
import shutil
import statistics
import sys
import tempfile
import time

import corpora
import wire

STROKES = 320
WARM_UP = 20
# Behind a run's first number.
RUN = r"^ +run .*?\d[\d,.]*"


def times(sessions, see):
    """What each stroke took in each session, the sessions taking turns."""
    taken = [[] for _ in sessions]
    for number in range(WARM_UP + STROKES):
        # Neither goes first always, nor where a character comes.
        turn = list(zip(sessions, taken, strict=True))
        for session, into in turn if number // 2 % 2 else reversed(turn):
            begun = time.perf_counter()
            session.stroke(number)
            try:
                getattr(session, see)(number)
            except queue.Empty:
                return [None for _ in sessions]
            into.append((time.perf_counter() - begun) * 1000)
    return [strokes[WARM_UP:] for strokes in taken]


def percentile(taken, hundredth):
    return sorted(taken)[len(taken) * hundredth // 100]


def percentiles(taken):
    if taken is None:
        return "no answer"
    return f"{percentile(taken, 50):8.2f} {percentile(taken, 99):8.2f}"


def row(name, findings, hints, memory):
    print(f"{name:44} {percentiles(findings):>17}  {percentiles(hints) if hints else '':>17} {memory:8.0f}", flush=True)


def ratios(both):
    """The median of what a stroke takes one beside the other, and of the 99th percentiles."""
    if any(taken is None for taken in both):
        return ""
    middle = statistics.median(one / other for one, other in zip(*both, strict=True))
    late = percentile(both[0], 99) / percentile(both[1], 99)
    return f"{middle:8.2f} {late:8.2f}"


def gutta(builds, name, folder, path):
    """The builds on the same file, each with a server of its own."""
    text = (folder / path).read_text()
    servers, sessions = [], []
    for build in builds:
        server = wire.Server([build, "serve"], folder)
        servers.append(server)
        sessions.append(wire.Session(server, folder / path, "gutta", text, wire.places(text, RUN, STROKES // 2)))
    findings = times(sessions, "see_findings")
    # A hint asks nothing of the findings; they are still told.
    hints = times(sessions, "see_hints")
    for number, server in enumerate(servers):
        row("  before" if number else name, findings[number], hints[number], server.memory())
        server.end()
    if len(builds) > 1:
        print(f"{'  now / before, of each stroke':44} {ratios(findings):>17}  {ratios(hints):>17}", flush=True)


def other(command, name, language, ending, text, pattern):
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder).resolve()
        path = folder / f"bench.{ending}"
        path.write_text(text)
        server = wire.Server(command, folder)
        session = wire.Session(server, path, language, text, wire.places(text, pattern, STROKES // 2))
        row(name, times([session], "see_findings")[0], None, server.memory())
        server.end()


def filled(piece, size):
    """The piece, numbered, as often as makes up the bytes."""
    return "".join(piece.replace("{n}", str(number)) for number in range(max(1, size // len(piece))))


TOML = """\
[order-{n}]
drug = "noradrenaline"
weight = [40, 120]
strength = 0.08
doses = [0.02, 0.06, 0.5]
note = "bed {n}"

"""

JSON_PIECE = '  "order-{n}": {\n    "drug": "noradrenaline",\n    "weight": [40, 120],\n    "dose": 0.06,\n    "note": "bed {n}"\n  },\n'


def others(folder, size, lines):
    beside = f"{lines} lines' bytes"
    ruff = folder / "venv/bin/ruff"
    if ruff.exists():
        text = corpora.python_text(size)
        other([str(ruff), "server"], f"ruff server, {beside}", "python", "py", text, r"^ *\w+ = .*\d$")
    tombi = folder / "venv/bin/tombi"
    if tombi.exists():
        other([str(tombi), "lsp"], f"tombi lsp, {beside}", "toml", "toml", filled(TOML, size), r"0\.08")
    name = folder / "node_modules/.bin/vscode-json-languageserver"
    if name.exists():
        text = "{\n" + filled(JSON_PIECE, size) + '  "end": 1\n}\n'
        other([str(name), "--stdio"], f"vscode-json-languageserver, {beside}", "json", "json", text, r"0\.06")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("gutta")
    parser.add_argument("--before", metavar="GUTTA")
    parser.add_argument("--others", metavar="FOLDER", type=pathlib.Path, default=corpora.OTHERS)
    arguments = parser.parse_args()
    builds = [arguments.gutta, arguments.before] if arguments.before else [arguments.gutta]
    builds = [shutil.which(build) or sys.exit(f"there is no {build}") for build in builds]
    builds = [str(pathlib.Path(build).resolve()) for build in builds]
    print(f"{'ms':44} {'findings p50/p99':>17}  {'hints p50/p99':>17} {'MiB':>8}")
    for lines in (1_000, 10_000, 100_000):
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder).resolve()
            corpora.orders(folder, lines=lines)
            path = folder / "all.gtt"
            gutta(builds, f"gutta, {lines} lines in one file", folder, path.name)
            # What a client must be sent whole grows with what is found.
            text = path.read_text()
            path.write_text(re.sub(r"(?m)^  review by .*\n", "", text))
            gutta(builds, "gutta, the same, with a hint in each order", folder, path.name)
            others(arguments.others, len(text.encode()), lines)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder).resolve()
        corpora.orders(folder, files=10_000, copies=1)
        wards = sorted(path.relative_to(folder) for path in folder.glob("*/icu/vasoactive.gtt"))
        gutta(builds, f"gutta, a file of {len(wards)} wards' 10000", folder, wards[len(wards) // 2])


if __name__ == "__main__":
    main()
