"""Large mixed corpora to measure by, of orders and of Python, of as many bytes."""

import ast
import pathlib
import random
import re
import subprocess
import sys
import sysconfig

ROOT = pathlib.Path(__file__).resolve().parents[2]
# Where `others.sh` puts what is measured beside, unless told otherwise.
OTHERS = ROOT / ".cache/others"
# Of the standard library: tests of it, and what was installed beside it.
ELSEWHERE = {"__pycache__", "test", "tests", "idle_test", "site-packages", "dist-packages"}


def orders(folder, **numbers):
    """Writes a repository of orders as `large.rs` says; its bytes, and what was written in words."""
    asked = [f"{name}={number}" for name, number in numbers.items()]
    command = ["cargo", "run", "--release", "--locked", "--quiet", "--package", "gutta-tests", "--"]
    done = subprocess.run([*command, str(folder), *asked], cwd=ROOT, check=True, capture_output=True, text=True)
    said = done.stdout.strip()
    return int(re.search(r"(\d+) bytes", said)[1]), said


def library():
    """The files of Python's standard library that this Python reads, shuffled: always the same way."""
    root = pathlib.Path(sysconfig.get_path("stdlib"))
    paths = [path for path in sorted(root.rglob("*.py")) if not ELSEWHERE & set(path.relative_to(root).parts)]
    random.Random(1).shuffle(paths)
    for path in paths:
        try:
            text = path.read_text(encoding="utf-8")
            ast.parse(text)
        except (SyntaxError, ValueError, RecursionError):
            continue
        yield path.relative_to(root), text


def python(folder, size):
    """Writes the standard library's files until they are as many bytes, over again where it is too small.

    Gives the bytes, and what was written in words.
    """
    written, files, turn = 0, 0, 0
    texts = list(library()) or sys.exit("Python's standard library is not there as text")
    while written < size:
        for path, text in texts:
            to = folder / f"copy{turn}" / path
            to.parent.mkdir(parents=True, exist_ok=True)
            to.write_text(text, encoding="utf-8")
            written += len(text.encode())
            files += 1
            if written >= size:
                break
        turn += 1
    return written, f"{files} files of Python's standard library, {written} bytes"


def python_text(size):
    """As many bytes of Python in one file, of the standard library's."""
    texts, total = [], 0
    while total < size:
        for _, text in library():
            # Such a line may stand at the top of a file alone.
            if "from __future__" not in text:
                texts.append(text)
                total += len(text.encode())
                if total >= size:
                    break
    return "\n".join(texts)
