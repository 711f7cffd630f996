#!/usr/bin/env python3
"""Recomputes the hashes of a record with Python's own libraries, as an outside check.

    recompute.py SESSION          checks every line and every bound file
    recompute.py --write SESSION  writes `sha256` into lines that were made by hand

JSON whose numbers are all whole has the same canonical form (RFC 8785) as `json.dumps` gives with
sorted members and no blanks; a line with another number is refused here.
"""

import hashlib
import json
import pathlib
import sys


def whole_only(text):
    raise ValueError(f"the number {text} is not whole")


def canonical(line):
    return json.dumps(line, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def bound_files(line):
    mark = line.get("mark", {})
    if isinstance(mark, dict):
        yield from mark.get("opened", {}).get("procedure", [])
        resumed = mark.get("resumed", {})
        yield from resumed.get("unnamed_clips", [])
        if resumed.get("torn"):
            yield resumed["torn"]
    if "clip" in line:
        yield line["clip"]


def main():
    write = sys.argv[1] == "--write"
    session = pathlib.Path(sys.argv[-1])
    events = session / "session.jsonl"
    previous = "0" * 64
    written = []
    for number, text in enumerate(events.read_text("utf-8").splitlines(), 1):
        line = json.loads(text, parse_float=whole_only)
        stated = line.pop("sha256", None)
        if write:
            for bound in bound_files(line):
                data = (session / bound["file"]).read_bytes()
                bound["sha256"] = hashlib.sha256(data).hexdigest()
        previous = hashlib.sha256((previous + canonical(line)).encode()).hexdigest()
        if not write and stated != previous:
            sys.exit(f"line {number}: found {stated}, expected {previous}")
        for bound in bound_files(line):
            data = (session / bound["file"]).read_bytes()
            if hashlib.sha256(data).hexdigest() != bound["sha256"]:
                sys.exit(f"line {number}: {bound['file']} was changed")
        line["sha256"] = previous
        written.append(canonical(line) + "\n")
    if write:
        events.write_text("".join(written), "utf-8")
    print(f"{len(written)} lines, head {previous}")


main()
