#!/usr/bin/env python3
"""Times from a keystroke to what an author sees, over the real wire.

    keystrokes.py GUTTA [--others FOLDER]

Prints the median and the 99th percentile of 300 keystrokes, in milliseconds:
from the change to the findings of that version, and from the change to the
inlay hints of the 60 lines around it; and the server's memory. Each keystroke
is measured alone: the next one waits for the answer to the one before.

With --others, the servers found in that folder (made by `others.sh`) are
driven in the same way, each on a file of as many bytes in its own language.
"""

import argparse
import json
import os
import pathlib
import queue
import shutil
import subprocess
import sys
import tempfile
import threading
import time

PATIENCE = 60.0
STROKES = 300
WARM_UP = 20

ORDER = """\
order order-{n} "Noradrenaline, bed {n}"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.06 mcg/kg/min
  adjust     0.02 to 0.5 mcg/kg/min by 0.02 mcg/kg/min every 5 min
  then       renew
  expect     strength 80 mcg/mL
  expect     flow 3.15 mL/h at 70 kg
  note       "bed {n}"
  review by  2027-11-01

"""

REFERENCE = """\
pump syringe "Syringe pump"
  flow       0.1 to 200 mL/h in steps of 0.1 mL/h
  volume     up to 60 mL

solution glucose-5 "Glucose 5 %"
  contains   glucose 50 mg/mL

drug noradrenaline "Noradrenaline (as base)"
  supplied   4 mg in 4 mL
  dosed in   mcg/kg/min
  with       glucose-5
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 1 mcg/kg/min

"""


class Server:
    """A language server and a raw client of it."""

    def __init__(self, command, folder, options=None):
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=folder
        )
        self.inbox = queue.Queue()
        self.last = 0
        threading.Thread(target=self._read, daemon=True).start()
        url = pathlib.Path(folder).as_uri()
        answer = self.ask(
            "initialize",
            {
                "processId": os.getpid(),
                "rootUri": url,
                "workspaceFolders": [{"uri": url, "name": "bench"}],
                "initializationOptions": options or {},
                "capabilities": {
                    "textDocument": {
                        "publishDiagnostics": {"versionSupport": True},
                        "inlayHint": {},
                        "synchronization": {},
                    },
                    "workspace": {"workspaceFolders": True},
                },
            },
        )
        self.capabilities = answer["capabilities"]
        self.tell("initialized", {})

    def _read(self):
        stream = self.process.stdout
        while True:
            length = 0
            while True:
                line = stream.readline()
                if not line:
                    self.inbox.put(None)
                    return
                line = line.strip()
                if not line:
                    break
                if line.lower().startswith(b"content-length:"):
                    length = int(line.split(b":")[1])
            self.inbox.put(json.loads(stream.read(length)))

    def _write(self, message):
        body = json.dumps(message).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self.process.stdin.flush()

    def tell(self, method, params):
        self._write({"jsonrpc": "2.0", "method": method, "params": params})

    def send(self, method, params):
        self.last += 1
        self._write({"jsonrpc": "2.0", "id": self.last, "method": method, "params": params})
        return self.last

    def ask(self, method, params):
        number = self.send(method, params)
        answer = self.wait(lambda message: message.get("id") == number and "method" not in message)
        if "error" in answer:
            sys.exit(f"{method}: {answer['error']}")
        return answer["result"]

    def wait(self, wanted, patience=PATIENCE):
        """Waits for a message; answers on the way what the server asks."""
        until = time.monotonic() + patience
        while True:
            message = self.inbox.get(timeout=max(0.001, until - time.monotonic()))
            if message is None:
                sys.exit("the server ended")
            if "id" in message and "method" in message:
                result = [None] if message["method"] == "workspace/configuration" else None
                self._write({"jsonrpc": "2.0", "id": message["id"], "result": result})
            if wanted(message):
                return message

    def memory(self):
        """Resident memory of the server and its children, in MiB."""
        total = 0
        for pid in [self.process.pid, *children(self.process.pid)]:
            for line in pathlib.Path(f"/proc/{pid}/status").read_text().splitlines():
                if line.startswith("VmRSS"):
                    total += int(line.split()[1])
        return total / 1024

    def end(self):
        self.process.kill()
        self.process.wait()


def children(pid):
    found = []
    for path in pathlib.Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text().rsplit(")", 1)[1].split()
        except OSError:
            continue
        if int(fields[1]) == pid:
            found += [int(path.parent.name), *children(int(path.parent.name))]
    return found


class Session:
    """One open document, typed into."""

    def __init__(self, server, path, language, text, line, column):
        self.server, self.url, self.line, self.column = server, path.as_uri(), line, column
        self.version = 1
        self.pulls = bool(server.capabilities.get("diagnosticProvider")) and language != "gutta"
        document = {"uri": self.url, "languageId": language, "version": 1, "text": text}
        server.tell("textDocument/didOpen", {"textDocument": document})
        self.see_findings()

    def stroke(self, number):
        """One character comes, or goes again."""
        self.version += 1
        here = {"line": self.line, "character": self.column}
        there = {"line": self.line, "character": self.column + (number % 2)}
        change = {"range": {"start": here, "end": there}, "text": "" if number % 2 else "1"}
        document = {"uri": self.url, "version": self.version}
        self.server.tell("textDocument/didChange", {"textDocument": document, "contentChanges": [change]})

    def see_findings(self):
        if self.pulls:
            self.server.ask("textDocument/diagnostic", {"textDocument": {"uri": self.url}})
            return
        self.server.wait(
            lambda message: message.get("method") == "textDocument/publishDiagnostics"
            and message["params"]["uri"] == self.url
            and message["params"].get("version", self.version) == self.version
        )

    def see_hints(self):
        span = {
            "start": {"line": max(0, self.line - 30), "character": 0},
            "end": {"line": self.line + 30, "character": 0},
        }
        self.server.ask("textDocument/inlayHint", {"textDocument": {"uri": self.url}, "range": span})

    def times(self, see):
        taken = []
        for number in range(WARM_UP + STROKES):
            begun = time.perf_counter()
            self.stroke(number)
            try:
                see()
            except queue.Empty:
                return None
            taken.append((time.perf_counter() - begun) * 1000)
        return sorted(taken[WARM_UP:])


def percentiles(taken):
    if taken is None:
        return "no answer"
    return f"{taken[len(taken) // 2]:8.2f} {taken[len(taken) * 99 // 100]:8.2f}"


def orders(lines):
    """As many orders as make up the lines."""
    each = ORDER.count("\n")
    return "".join(ORDER.format(n=number) for number in range(max(1, lines // each)))


def row(name, findings, hints, memory):
    print(f"{name:44} {percentiles(findings):>17}  {percentiles(hints) if hints else '':>17} {memory:8.0f}", flush=True)


def gutta(command, name, files, path, middle):
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder).resolve()
        for file, text in files.items():
            (folder / file).parent.mkdir(parents=True, exist_ok=True)
            (folder / file).write_text(text)
        (folder / "gutta.toml").write_text("")
        server = Server([command, "serve"], folder)
        text = files[path]
        lines = text.split("\n")
        start = next(n for n in range(int(len(lines) * middle), len(lines)) if lines[n].startswith("  run "))
        session = Session(server, folder / path, "gutta", text, start, lines[start].index("0.06") + 4)
        findings = session.times(session.see_findings)
        # A hint asks nothing of the findings; they are still told.
        able = server.capabilities.get("inlayHintProvider")
        hints = session.times(session.see_hints) if able else None
        row(name, findings, hints, server.memory())
        server.end()
        return findings


def other(command, name, language, ending, text, line, column):
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder).resolve()
        path = folder / f"bench.{ending}"
        path.write_text(text)
        server = Server(command, folder)
        session = Session(server, path, language, text, line, column)
        row(name, session.times(session.see_findings), None, server.memory())
        server.end()


def filled(piece, size):
    """The piece, numbered, as often as makes up the bytes."""
    text, number = [], 0
    total = 0
    while total < size:
        part = piece.replace("{n}", str(number))
        text.append(part)
        total += len(part)
        number += 1
    return "".join(text)


PYTHON = """\
def order_{n}(weight: float, dose: float) -> float:
    \"\"\"The flow for one weight.\"\"\"
    strength = 4 / 50
    flow = dose * weight * 60 / 1000 / strength
    if flow > 200:
        raise ValueError("beyond the pump")
    return round(flow, 1)


"""

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
    folder = pathlib.Path(folder)

    def middle(text, needle):
        parts = text.split("\n")
        line = next(n for n in range(len(parts) // 2, len(parts)) if needle in parts[n])
        return line, parts[line].index(needle) + len(needle)

    ruff = folder / "venv/bin/ruff"
    if ruff.exists():
        text = filled(PYTHON, size)
        other([str(ruff), "server"], f"ruff server, {lines} lines' bytes", "python", "py", text, *middle(text, "1000"))
    tombi = folder / "venv/bin/tombi"
    if tombi.exists():
        text = filled(TOML, size)
        other([str(tombi), "lsp"], f"tombi lsp, {lines} lines' bytes", "toml", "toml", text, *middle(text, "0.08"))
    name = folder / "node_modules/.bin/vscode-json-languageserver"
    if name.exists():
        text = "{\n" + filled(JSON_PIECE, size) + '  "end": 1\n}\n'
        command = [str(name), "--stdio"]
        other(command, f"vscode-json-languageserver, {lines} lines' bytes", "json", "json", text, *middle(text, "0.06"))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("gutta")
    parser.add_argument("--others", metavar="FOLDER")
    arguments = parser.parse_args()
    command = shutil.which(arguments.gutta) or sys.exit(f"there is no {arguments.gutta}")
    print(f"{'ms':44} {'findings p50/p99':>17}  {'hints p50/p99':>17} {'MiB':>8}")
    for lines in (1_000, 10_000, 100_000):
        text = REFERENCE + orders(lines)
        gutta(command, f"gutta, {lines} lines in one file", {"a.gtt": text}, "a.gtt", 0.5)
        # What a client must be sent whole grows with what is found.
        hinted = text.replace("  review by  2027-11-01\n", "")
        gutta(command, "the same, with a hint in each order", {"a.gtt": hinted}, "a.gtt", 0.5)
        if arguments.others:
            others(arguments.others, len(text.encode()), lines)
    files = {"reference.gtt": REFERENCE}
    for number in range(10_000):
        own = "".join(ORDER.format(n=f"{number}-{order}") for order in range(3))
        files[f"ward-{number % 100}/orders-{number}.gtt"] = 'use "../reference.gtt"\n\n' + own
    gutta(command, "gutta, 10000 files of 3 orders", files, "ward-50/orders-50.gtt", 0.3)


if __name__ == "__main__":
    main()
