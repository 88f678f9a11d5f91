#!/usr/bin/env python3
"""The real editors, each with its folder under `editors/` and the server.

    run.py GUTTA --neovim NVIM [EDITOR...]

GUTTA is the program, NVIM Neovim's. Without EDITOR all: neovim, emacs, vim.
Emacs with eglot, and Vim with ALE and tmux, are the system's. Each editor gets
a home and a copy of `workspace/` of its own, which are removed afterwards.
"""

import argparse
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
EDITORS = HERE.parent.parent / "editors"
PATIENCE = 60.0


def environment(home, gutta):
    """As the session's, but with nothing of the user's own."""
    kept = {name: os.environ[name] for name in ("PATH", "LANG") if name in os.environ}
    kept["PATH"] = f"{gutta.parent}:{kept.get('PATH', '/usr/bin:/bin')}"
    return kept | {
        "HOME": str(home),
        "XDG_CONFIG_HOME": str(home / "config"),
        "XDG_DATA_HOME": str(home / "data"),
        "XDG_STATE_HOME": str(home / "state"),
        "XDG_CACHE_HOME": str(home / "cache"),
        "LC_ALL": "C.UTF-8",
        "TERM": "screen-256color",
        "GUTTA": str(gutta),
    }


def run(command, workspace, env):
    """What it prints goes on; whether it left with 0."""
    try:
        done = subprocess.run(command, cwd=workspace, env=env, timeout=5 * PATIENCE, check=False,
                              stdin=subprocess.DEVNULL)
    except subprocess.TimeoutExpired:
        print(f"FAIL {command[0]} did not end")
        return False
    return done.returncode == 0


def neovim(options, workspace, env):
    return run([options.neovim, "--headless", "--clean", "--cmd", f"set runtimepath^={EDITORS}/neovim",
                "-c", f"luafile {HERE}/neovim.lua"], workspace, env)


def emacs(_, workspace, env):
    return run(["emacs", "--batch", "--no-init-file", "--directory", str(EDITORS / "emacs"),
                "--load", str(HERE / "emacs.el"), "--funcall", "test-all"], workspace, env)


class Vim:
    """Vim in a terminal of 120 by 40."""

    def __init__(self, workspace, env):
        self.workspace, self.env = workspace, env
        # One of its own: a server that is ending still holds its socket.
        self.socket = tempfile.mktemp(prefix="tmux-", dir=workspace)

    def tmux(self, *command):
        return subprocess.run(["tmux", "-S", self.socket, *command], cwd=self.workspace, env=self.env,
                              check=True, capture_output=True, text=True, timeout=PATIENCE).stdout

    def __enter__(self):
        self.tmux("-f", "/dev/null", "new-session", "-d", "-x", "120", "-y", "40",
                  "vim", "-u", str(HERE / "vimrc"), "orders.gtt")
        try:
            self.until("the file", lambda: "noradrenaline-central" in self.screen())
        except AssertionError:
            self.tmux("kill-server")
            raise
        return self

    def __exit__(self, *_):
        self.tmux("kill-server")

    def screen(self):
        return self.tmux("capture-pane", "-p")

    def press(self, *keys):
        self.tmux("send-keys", *keys)

    def until(self, what, condition):
        """Waits until the condition gives something, and gives it back."""
        end = time.monotonic() + PATIENCE
        while True:
            found = condition()
            if found:
                return found
            if time.monotonic() > end:
                raise AssertionError(f"not within {PATIENCE} s: {what}\n{self.screen()}")
            time.sleep(0.1)

    def wrote(self, function):
        """What a function of `vimrc` writes, line by line."""
        answer = self.workspace / "answer"
        answer.unlink(missing_ok=True)
        # Written elsewhere and moved, so that half a file is never read.
        self.press("Escape", f":call {function}('half') | call rename('half', 'answer')", "Enter")
        self.until(f"an answer of {function}", answer.exists)
        return answer.read_text(encoding="utf-8").splitlines()


GROUPS = """\
5 order: guttaStanza
5 noradrenaline-central: guttaName
5 "Nor: guttaText
6 noradrenaline:\x20
9 route: guttaLine
9 central vein: guttaRoute
11 4 mg: guttaNumber
11 mg: guttaUnit
11 up to: guttaPhrase
11 -5:\x20
12 mcg/kg: guttaUnit
14 flow: guttaMeasure
1 # Inv: guttaComment"""


def equal(found, wanted):
    assert found == wanted, f"\nfound  {found}\nwanted {wanted}"


def coloured(screen):
    equal(screen.wrote("Groups"), GROUPS.splitlines())


def found(screen):
    # ALE shows a hint as a warning.
    wanted = ["16 W review.none", "22 W text.no-space", "23 E limit.never", "5 W review.none"]
    screen.until("findings", lambda: screen.wrote("Findings"))
    equal(screen.wrote("Findings"), wanted)
    # Read by a person: the sign in the margin, and the message under the text.
    screen.press(":23", "Enter")
    screen.until("the message", lambda: "limit.never: The dose of noradrenaline is 3 mcg/kg" in screen.screen())


def followed(screen):
    screen.until("findings", lambda: screen.wrote("Findings"))
    screen.press(":23s/at 3 /at 0.3 /", "Enter")
    screen.until("the limit kept", lambda: "23 E limit.never" not in screen.wrote("Findings"))
    equal(screen.wrote("Findings"), ["16 W review.none", "22 W text.no-space", "5 W review.none"])


def missed(screen):
    screen.press(":messages", "Enter")
    screen.until("a message", lambda: "no program `/nowhere/gutta`, so nothing is checked" in screen.screen())


VIM = [
    ("words and units are coloured", coloured, {}),
    ("findings are shown", found, {}),
    ("they follow what is typed", followed, {}),
    ("a missing program is said", missed, {"GUTTA": "/nowhere/gutta"}),
]


def vim(_, workspace, env):
    passed = failed = 0
    for name, test, other in VIM:
        try:
            with Vim(workspace, env | {"GUTTA_VIM": str(EDITORS / "vim")} | other) as screen:
                test(screen)
        except AssertionError as fault:
            failed += 1
            print(f"FAIL vim: {name}\n{fault}")
        else:
            passed += 1
            print(f"ok   vim: {name}")
    print(f"editor vim: {passed} passed, {failed} failed")
    return failed == 0


TESTS = {"neovim": neovim, "emacs": emacs, "vim": vim}


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("gutta", type=lambda path: pathlib.Path(path).resolve())
    parser.add_argument("--neovim", default="nvim")
    parser.add_argument("editors", nargs="*", metavar="EDITOR")
    sys.stdout.reconfigure(line_buffering=True)
    options = parser.parse_intermixed_args()
    if unknown := [name for name in options.editors if name not in TESTS]:
        parser.error(f"no editor {', '.join(unknown)}; there are {', '.join(TESTS)}")
    # The editors run elsewhere.
    if found := shutil.which(options.neovim):
        options.neovim = str(pathlib.Path(found).absolute())
    fine = True
    for name in options.editors or TESTS:
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            workspace = folder / "workspace"
            shutil.copytree(HERE / "workspace", workspace)
            fine &= TESTS[name](options, workspace, environment(folder / "home", options.gutta))
    sys.exit(0 if fine else 1)


if __name__ == "__main__":
    main()
