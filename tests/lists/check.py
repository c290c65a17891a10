#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads every list of cases.json with `dropwise list` and compares parts and remarks with what must come.
usage: check.py PROGRAM"""
import json
import os
import subprocess
import sys

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data")


def read(program, case):
    """Parts and remarks (mistakes and doubts) as the program tells them."""
    run = subprocess.run([program, "list", case["file"], "--json"] + case["options"], cwd=HERE, capture_output=True, text=True, check=False,
                         env={**os.environ, "LC_ALL": "C.UTF-8", "XDG_DATA_HOME": "/dev/null"})
    if not run.stdout:
        return run.returncode, None, [("none", 0, 0, run.stderr)]
    told = json.loads(run.stdout)
    at = told["columns"].index("label") if "label" in told["columns"] else None
    parts = [[row["cells"][at] if at is not None else "", row["least nm"], row["count"]] for row in told["rows"] if row["cells"]]
    remarks = [(r["severity"], r["line"], r["column"], r["text"]) for r in told["remarks"] if r["severity"] != "note"]
    return run.returncode, parts, remarks


def faults(case, status, parts, remarks):
    wrong = any(r[0] == "wrong" for r in case["remarks"])
    if status != (2 if wrong else 0):
        yield f"exit status {status}"
    if parts != (case["parts"] or []):
        yield f"parts {parts}, expected {case['parts']}"
    said = sorted(remarks, key=lambda r: r[1:3])
    for got, want in zip(said, sorted(case["remarks"], key=lambda r: r[1:3])):
        if list(got[:3]) != want[:3] or want[3] not in got[3]:
            yield f"remark {got}, expected {want}"
    if len(said) != len(case["remarks"]):
        yield f"{len(said)} remarks {said}, expected {len(case['remarks'])}"


def main():
    with open(os.path.join(HERE, "cases.json"), encoding="utf-8") as text:
        cases = json.load(text)
    bad = 0
    for case in cases:
        for fault in faults(case, *read(os.path.abspath(sys.argv[1]), case)):
            print(f"{case['file']}: {fault}")
            bad += 1
    print(f"{len(cases)} lists, {bad} faults")
    return bad > 0


if __name__ == "__main__":
    sys.exit(main())
