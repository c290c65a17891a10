#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Workbooks made to do harm, or broken: each is refused, with words and exit status 2, and none takes more
than 64 MiB. They are made here, as some are large. usage: hostile.py PROGRAM"""
import os
import struct
import subprocess
import sys
import tempfile
import zipfile

import make

SHEET = "xl/worksheets/sheet1.xml"
HEAD = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
MEMORY = 64 * 1024  # KiB


def good():
    with tempfile.NamedTemporaryFile(suffix=".xlsx") as file:
        make.Book().add("Parts", [["Part", "Length (mm)", "Qty"], ["rail", 760, 2]]).save(file.name)
        return file.read()


def with_part(name, data, drop=()):
    """A good workbook with one part exchanged; `data` may come in chunks."""
    def write(path):
        with tempfile.NamedTemporaryFile() as source, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
            source.write(good())
            source.flush()
            book = zipfile.ZipFile(source.name)
            for part in book.namelist():
                if part in drop:
                    continue
                with out.open(part, "w") as file:
                    for chunk in (data() if part == name else [book.read(part)]):
                        file.write(chunk)
    return write


def raw(data):
    def write(path):
        with open(path, "wb") as file:
            file.write(data)
    return write


def many_files(path):
    with zipfile.ZipFile(path, "w") as out:
        for i in range(12000):
            out.writestr(f"f{i}", "")


def content(text):
    def write(path):
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
            out.writestr("content.xml", text)
    return write


def ods(row="", cell=""):
    return content('<d xmlns:o="o" xmlns:t="t"><t:table t:name="P"><t:table-row%s><t:table-cell%s o:value-type="float" '
                   'o:value="12"><t:p>12</t:p></t:table-cell></t:table-row></t:table></d>' % (row, cell))


def rows(n):
    for start in range(1, n, 1000):
        yield "".join(f'<row r="{r}"><c r="A{r}"><v>{r}</v></c></row>' for r in range(start, start + 1000)).encode()


def encrypted():
    """Says of its sheet that it is encrypted: bit 0 of the flags in both headers."""
    data = bytearray(good())
    at = data.find(SHEET.encode())
    while at >= 0:
        for signature, flags, name in ((b"PK\3\4", 6, 30), (b"PK\1\2", 8, 46)):
            if bytes(data[at - name:at - name + 4]) == signature:
                struct.pack_into("<H", data, at - name + flags, data[at - name + flags] | 1)
        at = data.find(SHEET.encode(), at + 1)
    return bytes(data)


HOSTILE = {
    "bomb.xlsx": (with_part(SHEET, lambda: [HEAD] + [b" " * (1 << 20)] * 200), "unpacks to more"),
    "bomb-text.xlsx": (with_part("xl/sharedStrings.xml", lambda: [b"<sst><si><t>"] + [b"a" * (1 << 20)] * 200), "unpacks to more"),
    "million-rows.xlsx": (with_part(SHEET, lambda: [HEAD, *rows(1000000), b"</sheetData></worksheet>"]), "more than 100000 rows"),
    "deep.xlsx": (with_part(SHEET, lambda: [HEAD, b"<a>" * 100000]), "64 elements within each other"),
    "entities.xlsx": (with_part(SHEET, lambda: [b'<!DOCTYPE x [<!ENTITY a "aaaa">]>' + HEAD + b"&a;"]), "document type"),
    "external.xlsx": (with_part(SHEET, lambda: [b'<!DOCTYPE x SYSTEM "file:///etc/passwd"><worksheet/>']), "document type"),
    "cut-in-xml.xlsx": (with_part(SHEET, lambda: [HEAD, b'<row r="1"><c']), "the workbook is broken"),
    "rows-backwards.xlsx": (with_part(SHEET, lambda: [HEAD, b'<row r="2"/><row r="1"/>']), "out of order"),
    "no-sheet.xlsx": (with_part("", lambda: [], drop=(SHEET,)), "lacks its part"),
    "cut-short.xlsx": (raw(good()[:len(good()) // 2]), "the workbook is broken"),
    "noise.xlsx": (raw(b"PK\3\4" + bytes(range(256)) * 20), "the workbook is broken"),
    "password.xlsx": (raw(encrypted()), "has a password"),
    "old.xls": (raw(bytes.fromhex("D0CF11E0A1B11AE1") + bytes(2000)), "old workbook"),
    "many-files.xlsx": (many_files, "more than 10000 files"),
    "no-workbook.xlsx": (with_part("", lambda: [], drop=("_rels/.rels",)), "is no workbook"),
    "rows-repeated.ods": (ods(row=' t:number-rows-repeated="1048576"'), "more than 100000 rows"),
    "cells-repeated.ods": (ods(cell=' t:number-columns-repeated="16384"'), "more cells than any table has columns"),
    "table-in-table.ods": (content('<d xmlns:t="t"><t:table><t:table-row><t:table-cell><t:table/></t:table-cell></t:table-row></t:table></d>'), "sheet within a cell"),
}


def run(program, path):
    """Exit status, peak of memory in KiB, and what was said."""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as said:
        child = subprocess.Popen([program, "list", path], stdout=subprocess.DEVNULL, stderr=said)
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        return child.returncode, usage.ru_maxrss, said.read()


def main():
    if sys.argv[1] == "--make":
        for name, (write, _) in HOSTILE.items():
            write(os.path.join(sys.argv[2], name))
        return 0
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        # In a process of its own: a child's peak counts what its parent had when it was begun.
        subprocess.run([sys.executable, __file__, "--make", folder], check=True)
        for name, (_, words) in HOSTILE.items():
            status, memory, text = run(sys.argv[1], os.path.join(folder, name))
            if status != 2 or words not in text or (memory > MEMORY and "asan" not in sys.argv[1]):
                print(f"{name}: exit status {status}, {memory} KiB, expected 2 and \"{words}\": {text}")
                bad += 1
    print(f"{len(HOSTILE)} hostile workbooks, {bad} taken")
    return bad > 0


if __name__ == "__main__":
    sys.exit(main())
