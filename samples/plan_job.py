#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The library from Python, by its headers alone: reads a job file, plans it, prints the bars, and
writes the plan document.

    python3 plan_job.py JOB.yaml [PLAN.json]

Needs python3-cffi, a C preprocessor and an installed libdropwise with its headers."""

import os
import shlex
import subprocess
import sys
import time

import cffi


def declarations():
    """What the headers declare, without what they include from elsewhere."""
    flags = subprocess.run(["pkg-config", "--cflags", "dropwise"], check=True,
                           capture_output=True, text=True).stdout
    text = subprocess.run(["cc", "-E", *shlex.split(flags), "-"], check=True, capture_output=True,
                          text=True, input="#include <dropwise/dropwise.h>\n").stdout
    ours, lines = False, []
    for line in text.splitlines():
        if line.startswith("# "):  # "# LINE "FILE" ..." says where the next lines come from
            ours = "/dropwise/" in line.split('"')[1]
        elif ours:
            lines.append(line)
    return "\n".join(lines)


ffi = cffi.FFI()
ffi.cdef(declarations())
lib = ffi.dlopen("libdropwise.so.0")


def text_of(pointer):
    return ffi.string(pointer).decode() if pointer else ""


class Refused(Exception):
    """A call failed: what is wrong, with its place if it has one."""

    def __init__(self, error, report=None):
        lines = [place(report.remarks[i].what) for i in range(report.n_remarks)] if report else []
        super().__init__("\n".join(lines or [place(error)]))


def place(error):
    where = text_of(error.file)
    if where and error.line:
        where += f":{error.line}:{error.column}"
    return f"{where}: {text_of(error.text)}" if where else text_of(error.text)


def read_job(path):
    job, error = ffi.new("struct dw_job **"), ffi.new("struct dw_error *")
    report = ffi.gc(ffi.new("struct dw_report *"), lib.dw_report_free)
    if lib.dw_job_read(os.fsencode(path), job, report, error):
        raise Refused(error, report)
    return ffi.gc(job[0], lib.dw_job_free)


@ffi.callback("int64_t(void *)")
def now_ms(_user):
    return time.monotonic_ns() // 1_000_000


def solve(job, seconds):
    settings = ffi.new("struct dw_settings *")
    lib.dw_settings_default(settings)
    settings.time_ms = int(seconds * 1000)
    hooks = ffi.new("struct dw_hooks *", {"now_ms": now_ms})
    plan, error = ffi.new("struct dw_plan **"), ffi.new("struct dw_error *")
    if lib.dw_solve(job, settings, hooks, plan, error):
        raise Refused(error)
    return ffi.gc(plan[0], lib.dw_plan_free)


def document(job, plan):
    text, error = ffi.new("char **"), ffi.new("struct dw_error *")
    if lib.dw_plan_to_json(job, plan, text, error):
        raise Refused(error)
    try:
        return text_of(text[0])
    finally:
        lib.dw_free(text[0])


def length(job, nanometres):
    style = ffi.new("struct dw_length_style *",
                    {"unit": job.unit, "denominator": job.denominator, "decimals": 2})
    text = ffi.new("char[]", 64)
    lib.dw_length_print(text, nanometres, style)
    return text_of(text)


def print_plan(job, plan):
    for i in range(plan.n_layouts):
        layout = plan.layouts[i]
        pieces = [f"{piece.count} x {length(job, piece.length)}"
                  for piece in layout.pieces[0:layout.n_pieces]]
        print(f"{layout.count} x {text_of(job.supplies[layout.supply].id)}:", ", ".join(pieces))
    money = ffi.new("char[]", 64)
    lib.dw_money_print(money, plan.totals.value, job.currency, True)
    best = plan.status == lib.DW_STATUS_OPTIMAL
    print(text_of(money) + (", and no plan is cheaper" if best else ""))


def main(job_path, plan_path=None):
    job = read_job(job_path)
    plan = solve(job, 30)
    if plan.status == lib.DW_STATUS_INFEASIBLE:
        print("not enough tube", file=sys.stderr)
        return 1
    print_plan(job, plan)
    if plan_path:
        with open(plan_path, "w", encoding="utf-8") as out:
            out.write(document(job, plan))
    return 0


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        sys.exit("usage: plan_job.py JOB.yaml [PLAN.json]")
    try:
        sys.exit(main(*sys.argv[1:]))
    except Refused as refused:
        print(refused, file=sys.stderr)
        sys.exit(2)
