#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Good lists with one thing changed, as hands and programs change them: whatever the program takes must be the
list's parts, or be doubted or refused at the place of the change. Says also how many lists that leave no
question open, as their parts are clear to whoever reads them, were doubted or refused: needlessly.
usage: mutate.py PROGRAM [N [SEED]]

What a changed list says is kept beside it by this script, which knows what it changed; it reads no list."""
import json
import os
import random
import subprocess
import sys
import tempfile
from fractions import Fraction

# language: item number, label, length, count, remark
HEADS = {
    "en": ("Pos", "Description", "Length", "Qty", "Remark"), "de": ("Pos", "Benennung", "Länge", "Stück", "Bemerkung"),
    "fr": ("Pos", "Désignation", "Longueur", "Qté", "Remarque"), "es": ("Pos", "Descripción", "Longitud", "Cantidad", "Observaciones"),
    "it": ("Pos", "Descrizione", "Lunghezza", "Q.tà", "Note"), "nl": ("Pos", "Omschrijving", "Lengte", "Aantal", "Opmerking"),
}
NAMES = ["upright", "rail", "brace", "strut", "sill", "crossbar", "hook rail", "foot", "shelf arm", "sign post"]
SIZES = {"mm": 1, "cm": 10, "m": 1000, "in": Fraction("25.4")}


class List:
    """Rows of text cells, and the part that each row stands for: None where it is none."""

    def __init__(self, rng):
        self.language = rng.choice(sorted(HEADS))
        self.comma = rng.random() < 0.6
        self.separator = ";" if self.comma else rng.choice([",", ";", "\t"])
        self.items, self.remarks = rng.random() < 0.6, rng.random() < 0.4
        self.unit = "mm"
        self.head = [HEADS[self.language][0]] * self.items + list(HEADS[self.language][1:3])
        self.head += [HEADS[self.language][3]] + [HEADS[self.language][4]] * self.remarks
        self.at = {"label": int(self.items), "length": int(self.items) + 1, "count": int(self.items) + 2}
        self.head[self.at["length"]] += " (mm)"
        self.rows, self.parts = [], []
        for i, name in enumerate(rng.sample(NAMES, rng.randint(3, 8)), 1):
            length, count = Fraction(rng.randint(250, 2800)), rng.choice([1, 2, 2, 3, 4, 4, 6, 8, 12])
            length += rng.choice([0, 0, Fraction(1, 2), Fraction(1, 4)])
            self.rows.append([str(i)] * self.items + [name, self.number(length), str(count)] + [rng.choice(["", "brushed", "see drawing"])] * self.remarks)
            self.parts.append((name, length, count))
        self.rows[0][self.at["length"]] = self.number(self.parts[0][1] + Fraction(1, 2))
        self.parts[0] = (self.parts[0][0], self.parts[0][1] + Fraction(1, 2), self.parts[0][2])
        self.lines = None  # of the change; None: any of the list

    def number(self, value):
        text = f"{float(value):.3f}".rstrip("0").rstrip(".")
        return text.replace(".", ",") if self.comma else text

    def text(self):
        out = []
        for row in [self.head] + self.rows:
            out.append(self.separator.join('"' + c.replace('"', '""') + '"' if self.separator in c or '"' in c else c for c in row))
        return "\n".join(out) + "\n"

    def insert(self, at, row, part=None):
        self.rows.insert(at, row)
        self.parts.insert(at, part)

    def row(self, rng):
        return rng.randrange(len(self.rows))

    def blank(self):
        return [""] * len(self.head)


def changed(made, row):
    """The change is in that row of the list, or above it in the heading."""
    made.lines = {row + 2}


# --- changes: each alters a list and what it says; `False`: it does not fit ----------------------------------


def other_mark(made, rng):
    row = made.row(rng)
    cell = made.rows[row][made.at["length"]]
    if not ("," in cell or "." in cell):
        return False
    made.rows[row][made.at["length"]] = cell.translate(str.maketrans(",.", ".,"))
    changed(made, row)
    return True


def thousands(made, rng):
    row = made.row(rng)
    cell, at = made.rows[row][made.at["length"]], made.at["length"]
    whole = cell.split(",")[0].split(".")[0]
    if len(whole) < 4:
        return False
    mark = rng.choice([".", ",", " ", "'", "\u00a0", "\u202f"])
    made.rows[row][at] = whole[:-3] + mark + cell[len(whole) - 3:]
    changed(made, row)
    return True


def lost_mark(made, rng):
    row = made.row(rng)
    name, length, count = made.parts[row]
    if length.denominator == 1 or length < 1000:
        return False
    made.rows[row][made.at["length"]] = made.number(length).replace(",", "").replace(".", "") + "0" * rng.randint(1, 2)
    changed(made, row)
    return True


def metres(made, rng):
    row = made.row(rng)
    made.rows[row][made.at["length"]] = made.number(made.parts[row][1] / 1000)
    changed(made, row)
    return True


def own_unit(made, rng):
    row = made.row(rng)
    unit = rng.choice(["cm", "m", "mm"])
    made.rows[row][made.at["length"]] = made.number(made.parts[row][1] / SIZES[unit]) + " " + unit
    changed(made, row)
    return made.parts[row][1] / SIZES[unit] * 1000 % 1 == 0


def unit_of_heading(made, rng):
    unit = rng.choice(["cm", "m", "in"])
    head = made.head[made.at["length"]].replace("(mm)", rng.choice(["(%s)", "[%s]", "%s"]) % unit)
    made.head[made.at["length"]] = head
    made.parts = [(n, length * SIZES[unit], c) for n, length, c in made.parts]
    return True


def no_unit(made, rng):
    made.head[made.at["length"]] = made.head[made.at["length"]].replace(" (mm)", "")
    return True


def heading_typo(made, rng):
    which = rng.choice(["label", "length", "count"])
    head = made.head[made.at[which]]
    at = rng.randrange(1, len(head.split(" ")[0]))
    made.head[made.at[which]] = head[:at] + head[at + 1:]
    made.lines = {1}
    return True


def other_language(made, rng):
    other = HEADS[rng.choice(sorted(HEADS))]
    which = rng.choice(["label", "length", "count"])
    at = {"label": 1, "length": 2, "count": 3}[which]
    made.head[made.at[which]] = other[at] + (" (mm)" if which == "length" else "")
    return True


def two_languages(made, rng):
    other = HEADS[rng.choice(sorted(HEADS))]
    made.head[made.at["count"]] += " / " + other[3]
    made.head[made.at["label"]] += "/" + other[1]
    return True


def capitals(made, rng):
    made.head = [h.upper() for h in made.head]
    return True


def swapped_headings(made, rng):
    a, b = rng.sample(["label", "length", "count"], 2)
    made.head[made.at[a]], made.head[made.at[b]] = made.head[made.at[b]], made.head[made.at[a]]
    made.lines = None
    return True


def no_heading(made, rng):
    made.head = made.rows.pop(0)
    made.lines = None
    return True


def title(made, rng):
    rows = [[rng.choice(["Cut list 7", "Rack, sheet 2", "2026-03-01"])] + [""] * (len(made.head) - 1) for _ in range(rng.randint(1, 3))]
    made.rows = rows[1:] + [made.head] + made.rows
    made.parts = [None] * len(rows) + made.parts
    made.head = rows[0]
    return True


def total(made, rng):
    words = rng.choice(["Total", "Totals (mm)", "Summe", "Gesamt", "Somme", "Suma", "Totale", "Totaal", "Sum:", "Grand total"])
    lengths, counts = sum(p[1] for p in made.parts), sum(p[2] for p in made.parts)
    if rng.random() < 0.5:
        lengths = sum(p[1] * p[2] for p in made.parts)
    row = made.blank()
    row[rng.choice([0, made.at["label"]])] = words
    kind = rng.random()
    if kind < 0.7:
        row[made.at["count"]] = str(counts)
    if kind > 0.4:
        row[made.at["length"]] = made.number(lengths)
    made.insert(len(made.rows), row)
    changed(made, len(made.rows) - 1)
    return True


def nameless_total(made, rng):
    row = made.blank()
    row[made.at["count"]] = str(sum(p[2] for p in made.parts))
    if rng.random() < 0.7:
        row[made.at["length"]] = made.number(sum(p[1] * p[2] for p in made.parts) if rng.random() < 0.5 else sum(p[1] for p in made.parts))
    made.insert(len(made.rows), row)
    changed(made, len(made.rows) - 1)
    return True


def named_total(made, rng):
    row = made.blank()
    row[made.at["label"]] = rng.choice(["Rack", "all", "Stand"])
    row[made.at["count"]] = str(sum(p[2] for p in made.parts))
    row[made.at["length"]] = made.number(sum(p[1] for p in made.parts))
    made.insert(len(made.rows), row)
    changed(made, len(made.rows) - 1)
    return True


def blank_row(made, rng):
    made.insert(made.row(rng), made.blank())
    return True


def blank_column(made, rng):
    at = rng.randint(0, len(made.head))
    for row in [made.head] + made.rows:
        row.insert(at, "")
    return True


def group(made, rng):
    row = made.blank()
    row[rng.choice([0, made.at["label"]])] = rng.choice(["Frame A", "left side", "Desk"])
    at = made.row(rng)
    made.insert(at, row)
    return True


def remark_below(made, rng):
    row = made.blank()
    row[0] = rng.choice(["all ends square", "Deburr inside.", "checked 2026-03-01"])
    made.insert(len(made.rows), row)
    return True


def heading_again(made, rng):
    made.insert(made.row(rng), list(made.head))
    return True


def missing(made, rng):
    row, which = made.row(rng), rng.choice(["length", "count", "label"])
    made.rows[row][made.at[which]] = ""
    if which == "label":
        made.parts[row] = (None,) + made.parts[row][1:]
    changed(made, row)
    return True


def shifted_right(made, rng):
    row = made.row(rng)
    made.rows[row].insert(rng.randrange(made.at["count"] + 1), "")
    changed(made, row)
    return True


def shifted_left(made, rng):
    row = made.row(rng)
    del made.rows[row][rng.randrange(made.at["count"] + 1)]
    changed(made, row)
    return True


def swapped_cells(made, rng):
    row = made.row(rng)
    cells, (a, b) = made.rows[row], rng.sample([made.at["label"], made.at["length"], made.at["count"]], 2)
    cells[a], cells[b] = cells[b], cells[a]
    changed(made, row)
    return True


def joined_rows(made, rng):
    if len(made.rows) < 2:
        return False
    row = rng.randrange(len(made.rows) - 1)
    made.rows[row] += made.rows.pop(row + 1)
    changed(made, row)
    return True


def count_written(made, rng):
    row = made.row(rng)
    cell = made.rows[row][made.at["count"]]
    made.rows[row][made.at["count"]] = rng.choice([cell + " pcs", cell + " Stk.", "x" + cell, cell + ",0", cell + ".00", "0" + cell, "O" + cell, cell + "?", "(" + cell + ")", "2+" + cell, "-" + cell])
    changed(made, row)
    return True


def no_count_heading(made, rng):
    made.head[made.at["count"]] = rng.choice(["", "x", "Bin"])
    made.lines = None
    return True


def sums_beside(made, rng):
    made.head.append(rng.choice(["Total", "Gesamt (mm)", "Total length", "Totaal mm"]))
    for row, part in zip(made.rows, made.parts):
        row.append(made.number(part[1] * part[2]))
    return True


def weights_beside(made, rng):
    made.head.append(rng.choice(["kg", "Gewicht", "Finish", "Rev"]))
    for row in made.rows:
        row.append(made.number(Fraction(rng.randint(1, 900), 100)))
    return True


CHANGES = [v for k, v in list(globals().items()) if callable(v) and k not in ("Fraction", "List", "changed") and getattr(v, "__module__", "") == "__main__"]


# What leaves no question open; a reason why one list of a change does is below.
CLEAR = {"blank_column", "blank_row", "capitals", "group", "heading_again", "no_unit", "other_language", "own_unit", "remark_below",
         "sums_beside", "title", "total", "two_languages", "unit_of_heading", "weights_beside"}
CLEAR_COUNTS = (" pcs", " Stk.", ",0", ".00")
CLEAR_THOUSANDS = ("\u00a0", "\u202f")


def is_clear(change, made):
    """Lengths over 15 m are no tube; a total that is not the sum of its rows is a question."""
    if any(p and p[1] > 15000 for p in made.parts):
        return False
    if change == "count_written":
        return any(made.rows[row][made.at["count"]].endswith(CLEAR_COUNTS) for row in range(len(made.rows)))
    if change == "thousands":
        return any(mark in row[made.at["length"]] for row in made.rows for mark in CLEAR_THOUSANDS)
    return change in CLEAR


# --- what came of it -------------------------------------------------------------------------------------------


def read(program, path):
    run = subprocess.run([program, "list", path, "--json"], capture_output=True, text=True, check=False)
    if not run.stdout:
        return run.returncode, [], []
    told = json.loads(run.stdout)
    at = told["columns"].index("label") if "label" in told["columns"] else None
    parts = [(row["row"], row["cells"][at] if at is not None else "", row["least nm"], row["count"]) for row in told["rows"] if row["cells"]]
    return run.returncode, parts, [r for r in told["remarks"] if r["severity"] != "note"]


def judge(made, status, parts, remarks):
    """"right", "doubted", "refused", or what is wrong."""
    truth = {i + 2: p for i, p in enumerate(made.parts) if p is not None}
    wrong = set()
    for line, label, length, count in parts:
        want = truth.pop(line, None)
        if want is None or (length, count) != (want[1] * 10**6, want[2]) or (want[0] is not None and label.strip() != want[0]):
            wrong.add(line)
    wrong |= set(truth)
    if status == 2:
        return "refused" if remarks or not parts else "status 2 without a word"
    said = {r["line"] for r in remarks}
    unsaid = {line for line in wrong if not (line in said or 1 in said or (made.lines and made.lines & said))}
    if unsaid:
        return f"taken wrongly without a doubt: lines {sorted(unsaid)}, {parts}"
    return "doubted" if remarks else "right"


def main():
    program, n = os.path.abspath(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 2000
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    told, bad, done, clear, needless = {}, 0, 0, 0, {"doubted": 0, "refused": 0}
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "list.csv")
        for i in range(n * 2):
            rng = random.Random(f"{seed} {i}")
            change, made = CHANGES[i % len(CHANGES)], List(rng)
            if done == n:
                break
            if not change(made, rng):
                continue
            done += 1
            with open(path, "w", encoding="utf-8", newline="") as out:
                out.write(made.text())
            came = judge(made, *read(program, path))
            kind = came if came in ("right", "doubted", "refused") else "wrong"
            told.setdefault(change.__name__, {}).setdefault(kind, 0)
            told[change.__name__][kind] += 1
            clear += is_clear(change.__name__, made)
            if kind in needless and is_clear(change.__name__, made):
                needless[kind] += 1
            if kind == "wrong":
                bad += 1
                print(f"{seed} {i} {change.__name__}: {came}\n{made.text()}")
    for name, kinds in sorted(told.items()):
        print(f"{name:18}", ", ".join(f"{kinds[k]} {k}" for k in sorted(kinds)))
    total = {k: sum(kinds.get(k, 0) for kinds in told.values()) for k in ("right", "doubted", "refused")}
    print(f"{done} lists: {total['right']} read without a doubt, {total['doubted']} with one, {total['refused']} refused, {bad} wrong")
    print(f"{clear} of them leave no question open: {needless['doubted']} doubted and {needless['refused']} refused needlessly, "
          f"{100 * sum(needless.values()) / clear:.1f} %")
    return bad > 0


if __name__ == "__main__":
    sys.exit(main())
