"""A raw client of a language server, that types and waits."""

import json
import os
import pathlib
import queue
import re
import subprocess
import sys
import threading
import time

PATIENCE = 60.0


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
    """One open document, typed into: at many places in turn, each time one character that goes again."""

    def __init__(self, server, path, language, text, places):
        self.server, self.url, self.places = server, path.as_uri(), places
        self.version = 1
        self.pulls = bool(server.capabilities.get("diagnosticProvider")) and language != "gutta"
        document = {"uri": self.url, "languageId": language, "version": 1, "text": text}
        server.tell("textDocument/didOpen", {"textDocument": document})
        self.see_findings()

    def stroke(self, number):
        """One character comes, or goes again."""
        self.version += 1
        line, column = self.places[number // 2 % len(self.places)]
        here = {"line": line, "character": column}
        there = {"line": line, "character": column + number % 2}
        change = {"range": {"start": here, "end": there}, "text": "" if number % 2 else "1"}
        document = {"uri": self.url, "version": self.version}
        self.server.tell("textDocument/didChange", {"textDocument": document, "contentChanges": [change]})

    def see_findings(self, _number=0):
        if self.pulls:
            self.server.ask("textDocument/diagnostic", {"textDocument": {"uri": self.url}})
            return
        self.server.wait(
            lambda message: (
                message.get("method") == "textDocument/publishDiagnostics"
                and message["params"]["uri"] == self.url
                and message["params"].get("version", self.version) == self.version
            )
        )

    def see_hints(self, number):
        line, _ = self.places[number // 2 % len(self.places)]
        span = {"start": {"line": max(0, line - 30), "character": 0}, "end": {"line": line + 30, "character": 0}}
        self.server.ask("textDocument/inlayHint", {"textDocument": {"uri": self.url}, "range": span})


def places(text, pattern, most):
    """Where the pattern ends, in so many lines of the text, spread over all of it."""
    pattern = re.compile(pattern)
    lines = text.split("\n")
    found = [(number, match.end()) for number, line in enumerate(lines) if (match := pattern.search(line))]
    if not found:
        sys.exit(f"nothing in the text is like {pattern.pattern}")
    count = min(most, len(found))
    return [found[place * len(found) // count] for place in range(count)]
