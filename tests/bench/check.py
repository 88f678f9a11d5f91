#!/usr/bin/env python3
"""Times `gutta check` of a large mixed repository, the whole process, cold.

    check.py GUTTA [--before GUTTA] [--others FOLDER] [--orders N] [--runs N]

Beside it, where `others.sh` has fetched it, `ruff check --no-cache` of as many
bytes of Python's standard library; with --before, another build of gutta on the
same repository. Each is run with as many threads as it takes by itself, and held
to one processor. All take turns, run by run; what is printed are medians: of the
times, and of the ratios of two runs that followed each other. Files are in the
system's memory; nothing else is kept from one run to the next. A peak of memory
below that of this script is told as its own.
"""

import argparse
import os
import pathlib
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

import corpora

RUNS = 9


class Tool:
    """A command in a folder, and what its runs took."""

    def __init__(self, name, command, folder, size, alone):
        self.name, self.command, self.folder = name, command, folder
        self.megabytes = size / 1_000_000
        self.processors = {min(os.sched_getaffinity(0))} if alone else os.sched_getaffinity(0)
        self.wall, self.busy, self.memory = [], [], 0

    def run(self, output):
        # What is started inherits them.
        own = os.sched_getaffinity(0)
        os.sched_setaffinity(0, self.processors)
        begun = time.perf_counter()
        child = subprocess.Popen(
            self.command, cwd=self.folder, stdin=subprocess.DEVNULL, stdout=output, stderr=subprocess.STDOUT
        )
        os.sched_setaffinity(0, own)
        _, status, usage = os.wait4(child.pid, 0)
        wall = time.perf_counter() - begun
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode not in (0, 1):
            sys.exit(f"{self.name} ended with {child.returncode}")
        return wall * 1000, (usage.ru_utime + usage.ru_stime) * 1000, usage.ru_maxrss / 1024

    def told(self):
        """What it says of all that it found; the run is not counted."""
        with tempfile.TemporaryFile() as output:
            self.run(output)
            output.seek(0)
            lines = output.read().decode(errors="replace").splitlines()
        said = [line for line in lines if " errors" in line or " error," in line]
        return said[-1] if said else "nothing found"

    def measure(self):
        wall, busy, memory = self.run(subprocess.DEVNULL)
        self.wall.append(wall)
        self.busy.append(busy)
        self.memory = max(self.memory, memory)

    def row(self):
        wall, busy = statistics.median(self.wall), statistics.median(self.busy)
        spread = f"{min(self.wall):.0f} to {max(self.wall):.0f}"
        print(
            f"{self.name:36} {wall:8.0f} {spread:>16} {wall / self.megabytes:8.1f}"
            f" {busy / self.megabytes:10.1f} {self.memory:6.0f}"
        )


def ratio(one, other):
    """How much longer a megabyte takes one than the other, by pairs of runs."""
    pairs = zip(one.wall, other.wall, strict=True)
    ratios = [(a / one.megabytes) / (b / other.megabytes) for a, b in pairs]
    said = f"{min(ratios):.2f} to {max(ratios):.2f}"
    print(f"{one.name} / {other.name}: {statistics.median(ratios):.2f} ({said})")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("gutta")
    parser.add_argument("--before", metavar="GUTTA")
    parser.add_argument("--others", metavar="FOLDER", type=pathlib.Path, default=corpora.OTHERS)
    parser.add_argument("--orders", metavar="N", type=int, default=20_000)
    parser.add_argument("--runs", metavar="N", type=int, default=RUNS)
    arguments = parser.parse_args()

    def found(command):
        path = shutil.which(command) or sys.exit(f"there is no {command}")
        return str(pathlib.Path(path).resolve())

    builds = {"gutta": found(arguments.gutta)}
    if arguments.before:
        builds["before"] = found(arguments.before)
    ruff = arguments.others / "venv/bin/ruff"
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder).resolve()
        size, said = corpora.orders(folder / "orders", orders=arguments.orders)
        print(said)
        pythons = 0
        if ruff.exists():
            pythons, said = corpora.python(folder / "python", size)
            print(said)
        tools = {}
        for alone in (False, True):
            threads = "one processor" if alone else "as it comes"
            for name, build in builds.items():
                tool = Tool(f"{name}, {threads}", [build, "check"], folder / "orders", size, alone)
                tools[name, alone] = tool
            if ruff.exists():
                command = [str(ruff), "check", "--no-cache", "--isolated"]
                tools["ruff", alone] = Tool(f"ruff, {threads}", command, folder / "python", pythons, alone)
        for tool in tools.values():
            print(f"{tool.name}: {tool.told()}")
        for number in range(arguments.runs):
            # Neither of two always goes first.
            turn = list(tools.values())
            for tool in turn if number % 2 else reversed(turn):
                tool.measure()
    print(f"{'':36} {'ms':>8} {'':16} {'ms/MB':>8} {'CPU ms/MB':>10} {'MiB':>6}")
    for tool in tools.values():
        tool.row()
    for alone in (False, True):
        for other in ("before", "ruff"):
            if (other, alone) in tools:
                ratio(tools["gutta", alone], tools[other, alone])


if __name__ == "__main__":
    main()
