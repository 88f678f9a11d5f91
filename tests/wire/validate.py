#!/usr/bin/env python3
"""Holds every message of the wire tests against the published protocol types.

    validate.py TRANSCRIPTS

Oracle: `lsprotocol` (PyPI, by Microsoft), generated from the Language Server
Protocol's meta model, 3.17. A message must be taken in by its type, and come
out again as it was: a key that the protocol does not know would be lost.
"""

import json
import pathlib
import sys
from collections import Counter

from lsprotocol import converters, types

# Not of the protocol: for the tests alone, and a request of our own.
OWN = {"gutta/panic", "gutta/derived", "gutta/work"}


def plain(value):
    """Without what is null or left out, which mean the same."""
    if isinstance(value, dict):
        return {key: plain(held) for key, held in value.items() if held is not None}
    if isinstance(value, list):
        return [plain(held) for held in value]
    return value


def type_of(kept):
    message, answers = kept["message"], kept["answers"]
    if "method" in message:
        return types.METHOD_TO_TYPES[message["method"]][0]
    if "error" in message:
        return types.ResponseErrorMessage
    return types.METHOD_TO_TYPES[answers][1]


def main():
    converter = converters.get_converter()
    seen, wrong = Counter(), []
    for path in sorted(pathlib.Path(sys.argv[1]).glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            try:
                kept = json.loads(line)
            except ValueError:
                continue  # a session that was killed while it wrote
            message = kept["message"]
            name = message.get("method") or kept["answers"] or "error"
            if name in OWN:
                continue
            kind = type_of(kept)
            try:
                back = converter.unstructure(converter.structure(message, kind), kind)
            except Exception as error:  # whatever it is, the message is not of its type
                wrong.append(f"{name}: {error!r}: {line[:400]}")
                continue
            if plain(back) != plain(message):
                wrong.append(f"{name}: not as it was: {line[:400]}\n  back: {json.dumps(back)[:400]}")
            seen[name] += 1
    for name, count in sorted(seen.items()):
        print(f"{count:8} {name}")
    for told in wrong[:20]:
        print(told)
    if not seen:
        sys.exit("there was nothing to hold against the protocol")
    if wrong:
        sys.exit(f"{len(wrong)} messages are not of the protocol")
    print(f"{sum(seen.values())} messages, all of the protocol")


if __name__ == "__main__":
    main()
