#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads every drawing of cases.json with `dropwise list`, and with `dropwise takeoff` as the parts of a job, and
compares parts, cut lengths, fittings and remarks with what must come. usage: check.py PROGRAM"""
import json
import os
import subprocess
import sys
import tempfile

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data")


def run(program, *words):
    done = subprocess.run([program, *words], cwd=HERE, capture_output=True, text=True, check=False, env={**os.environ, "LC_ALL": "C.UTF-8"})
    return done.returncode, json.loads(done.stdout) if done.stdout else None, done.stderr


def same_ends(got, want):
    return want is None or got == want or got == want[::-1]


def list_faults(program, case):
    status, told, said = run(program, "list", case["file"], "--json", *case["options"])
    if status != (2 if case["parts"] is None else 0) or told is None:
        yield f"list: exit status {status}: {said}"
        return
    parts = [[p["label"], p["count"], p["layer"], p["length nm"], p["ends"]] for p in told["parts"]]
    wanted = case["parts"] or []
    for got, want in zip(parts, wanted):
        if got[:4] != want[:4] or not same_ends(got[4], want[4]):
            yield f"list: {got}, expected {want}"
    if len(parts) != len(wanted):
        yield f"list: {len(parts)} parts {parts}, expected {len(wanted)}"
    remarks = [(r["severity"], r["text"]) for r in told["remarks"]]
    for severity, text in case["remarks"]:
        if sum(r[0] == severity and text in r[1] for r in remarks) != 1:
            yield f"list: {severity} \"{text}\" is not said once: {remarks}"
    if len(remarks) != len(case["remarks"]):
        yield f"list: {len(remarks)} remarks {remarks}, expected {len(case['remarks'])}"


def job_faults(program, case):
    with tempfile.NamedTemporaryFile("w", suffix=".yaml", encoding="utf-8") as job:
        path = os.path.join(HERE, case["file"])
        job.write("dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2}\nrules: {keep: 300}\n" + case["job"]
                  + f"parts: {{file: \"{path}\"{case['extra']}}}\n")
        job.flush()
        status, told, said = run(program, "takeoff", job.name, "--json")
    if status or told is None:
        yield f"takeoff: exit status {status}: {said}"
        return
    cuts = [[p["label"], p["count"], p["cut"]["nm"]] for p in told["parts"]]
    if cuts != case["cuts"]:
        yield f"takeoff: {cuts}, expected {case['cuts']}"
    for part in told["parts"]:
        if sum(step["amount"]["nm"] for step in part["steps"]) != part["cut"]["nm"]:
            yield f"takeoff: the steps of {part['label']} do not add up"
    fittings = {f["fitting"]: f["count"] for f in told["fittings"]}
    if fittings != case["fittings"]:
        yield f"takeoff: fittings {fittings}, expected {case['fittings']}"


def main():
    program = os.path.abspath(sys.argv[1])
    with open(os.path.join(HERE, "cases.json"), encoding="utf-8") as text:
        cases = json.load(text)
    bad = 0
    for case in cases:
        faults = list(list_faults(program, case)) + (list(job_faults(program, case)) if case["cuts"] else [])
        for fault in faults:
            print(f"{case['file']}: {fault}")
        bad += len(faults)
    print(f"{len(cases)} drawings, {bad} faults")
    return bad > 0


if __name__ == "__main__":
    sys.exit(main())
