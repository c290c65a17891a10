#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Drawings made to do harm, or broken: each is refused with words and exit status 2, and none takes more than
128 MiB or hangs. A good drawing that is cut off anywhere is refused too. usage: hostile.py PROGRAM"""
import os
import subprocess
import sys
import tempfile

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data")
MEMORY = 128 * 1024  # KiB
SECONDS = 100  # then it hangs
HEAD = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n"
TAIL = "0\nENDSEC\n0\nEOF\n"


def line(*values):
    return "0\nLINE\n8\na\n" + "".join(f"{code}\n{value}\n" for code, value in zip((10, 20, 11, 21), values))


def model(entities):
    return HEAD + "0\nSECTION\n2\nENTITIES\n" + entities + TAIL


def blocks(body, entities):
    return HEAD + "0\nSECTION\n2\nBLOCKS\n" + body + "0\nENDSEC\n0\nSECTION\n2\nENTITIES\n" + entities + TAIL


def block(name, body):
    return f"0\nBLOCK\n2\n{name}\n10\n0\n20\n0\n{body}0\nENDBLK\n"


def insert(name, more=""):
    return f"0\nINSERT\n8\n0\n2\n{name}\n10\n1\n20\n1\n{more}"


GOOD = line(0, 0, 1000, 0)
HOSTILE = {
    "binary.dxf": (b"....CAD Binary DXF\r\n\x1a\x00\x00\x00SECTION\x00", "a binary DXF"),
    "other.dwg": (b"AC1027\x00\x00\x00\x00\x00\x00\x00\x00\x00", "a DWG drawing"),
    "nan.dxf": (model(line("nan", 0, 1000, 0)), "`nan` (group 10) is no number"),
    "inf.dxf": (model(line(0, "inf", 1000, 0)), "`inf` (group 20) is no number"),
    "huge.dxf": (model(line(0, 0, "1e300", 0)), "`1e300` (group 11) is no number"),
    "far.dxf": (model(line(0, 0, "1000000001", 0)), "coordinates go up to 1 000 km"),
    "hex.dxf": (model(line(0, 0, "0x20", 0)), "is no number"),
    "comma.dxf": (model(line(0, 0, "1000,5", 0)), "is no number"),
    "no-section-end.dxf": (HEAD + "0\nSECTION\n2\nENTITIES\n" + GOOD + "0\nEOF\n", "ENDSEC is missing"),
    "no-header-end.dxf": (HEAD.replace("0\nENDSEC\n", "") + "0\nSECTION\n2\nENTITIES\n" + GOOD + TAIL, "ENDSEC is missing"),
    "no-entities.dxf": (HEAD + "0\nEOF\n", "no section ENTITIES"),
    "empty.dxf": (model(""), "dw:no parts"),
    "no-end.dxf": (model("0\nLINE\n8\na\n10\n0\n20\n0\n"), "lacks a coordinate"),
    "no-radius.dxf": (model("0\nARC\n8\na\n10\n0\n20\n0\n50\n0\n51\n90\n"), "its radius"),
    "code.dxf": (model("0\nLINE\nx\na\n"), "a group code of DXF is wanted"),
    "inches.dxf": (model(GOOD).replace("70\n4", "70\n8"), "$INSUNITS 8 is no unit"),
    "no-unit.dxf": (model(GOOD).replace("70\n4", "70\n0"), "does not say its unit"),
    "million.dxf": (lambda: model("".join(line(i, 0, i, 900) for i in range(1000000))), "more than 5000 lines"),
    "texts.dxf": (lambda: model("0\nTEXT\n8\na\n10\n0\n20\n0\n1\nx\n" * 1000000 + line("nan", 0, 1, 1)), "is no number"),
    "grid.dxf": (lambda: model("".join(line(5 * i, -10, 5 * i, 9e4) + line(-10, 5 * i, 9e4, 5 * i) for i in range(2400))), "cross without a joint"),
    "star.dxf": (lambda: model("".join(line(0, 0, 1000 + i, i) for i in range(4900))), "more than 100 lines meet here"),
    "self.dxf": (blocks(block("A", GOOD + insert("A")), insert("A")), "more than 16 blocks within each other"),
    "bomb.dxf": (lambda: blocks("".join(block(f"B{i}", insert(f"B{i + 1}") * 10) for i in range(12)) + block("B12", ""), insert("B0")),
                 "unfold to more than can be read"),
    "rows.dxf": (blocks(block("A", ""), insert("A", "70\n1000\n71\n1001\n44\n1\n45\n1\n")), "more than 1000 rows"),
    "lost.dxf": (blocks("", insert("A")), "no such block"),
    "uneven.dxf": (blocks(block("A", "0\nARC\n8\na\n10\n0\n20\n0\n40\n50\n50\n0\n51\n90\n"), insert("A", "41\n2\n")), "scaled unevenly"),
    "open-block.dxf": (HEAD + "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nA\n" + TAIL, "block `A` does not end"),
    "layers.dxf": (lambda: model("".join(line(0, 0, 900, 0).replace("8\na", f"8\nl{i}") for i in range(2000))), "more than 1000 layers"),
}


def run(program, path, kept):
    """Exit status, peak of memory in KiB, and what was said."""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as said:
        command = [program, "list", path] if kept is None else [program, "new", path, "--kerf", "2", "-m", "a", "-o", kept]
        child = subprocess.Popen(["timeout", str(SECONDS), *command], stdout=subprocess.DEVNULL, stderr=said)
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        return child.returncode, usage.ru_maxrss, said.read()


def cut_off(program, folder):
    """How often a drawing that ends too early is not refused, or not in few words."""
    bad = n = 0
    with open(os.path.join(HERE, "traeger.dxf"), "rb") as file:
        whole = file.read()
    path = os.path.join(folder, "cut.dxf")
    for at in range(whole.index(b"HEADER"), len(whole) - 6, 7):
        with open(path, "wb") as out:
            out.write(whole[:at])
        status, _, text = run(program, path, None)
        n += 1
        if status != 2 or len(text.strip().splitlines()) > 3 or "cut.dxf:" not in text:
            print(f"cut off at {at}: exit status {status}: {text}")
            bad += 1
    return n, bad


def make(folder):
    for name, (data, _) in HOSTILE.items():
        data = data() if callable(data) else data
        with open(os.path.join(folder, name), "wb") as out:
            out.write(data if isinstance(data, bytes) else data.encode())


def main():
    if sys.argv[1] == "--make":
        make(sys.argv[2])
        return 0
    bad = 0
    program = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        # In a process of its own: a child's peak counts what its parent had when it was begun.
        subprocess.run([sys.executable, __file__, "--make", folder], check=True)
        for name, (_, words) in HOSTILE.items():
            kept = os.path.join(folder, "job.yaml") if words.startswith("dw:") else None
            words = "there are no centre lines" if kept else words
            status, memory, text = run(program, os.path.join(folder, name), kept)
            if status != 2 or words not in text or (memory > MEMORY and "asan" not in program):
                print(f"{name}: exit status {status}, {memory} KiB, expected 2 and \"{words}\": {text[:2000]}")
                bad += 1
        n, more = cut_off(program, folder)
    print(f"{len(HOSTILE)} hostile drawings, {n} cut off, {bad + more} taken")
    return bad + more > 0


if __name__ == "__main__":
    sys.exit(main())
