# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the shelf against the plan and against what was booked: pieces, lengths, values, and the end of it all."""

import csv
import io
from collections import Counter

import expect
from amounts import NM, read_length, read_money, write_money


def differences(right, said):
    """What is in one and not in the other, of two lists of pieces."""
    right, said = Counter(p.as_it_lies() for p in right), Counter(p.as_it_lies() for p in said)
    return sorted((right - said).elements(), key=str), sorted((said - right).elements(), key=str)


def check_state(report, cause, right, shelf):
    """The shelf's pieces against those that must lie there."""
    missing, extra = differences(right.values(), shelf.pieces().values())
    for row in missing:
        report.say(cause, "shelf", f"must hold {row}", "not there")
    for row in extra:
        report.say(cause, "shelf", "must not hold it", f"there is {row}")
    return not missing and not extra


def check_list(report, document, shelf):
    """`shelf list` says what the file holds."""
    pieces = shelf.pieces()
    report.same("shelf list: numbers", "list", sorted(pieces), sorted(row["number"] for row in document["pieces"]))
    for row in document["pieces"]:
        piece = pieces.get(row["number"])
        if piece:
            right = (piece.material, piece.kind, piece.actual, piece.length, list(piece.ends), piece.value,
                     piece.state, piece.place, piece.owner, piece.mark, piece.parent)
            said = (row["material"], row["kind"], int(row["length"]["nm"]), int(row["nominal"]["nm"]), row["ends"],
                    read_money(row["value"]), row["state"], row["place"], row["owner"], row["mark"], row["from"])
            report.same("shelf list: piece", row["number"], right, said)


def check_export(report, text, shelf):
    pieces = shelf.pieces()
    rows = list(csv.DictReader(io.StringIO(text.lstrip("\ufeff"))))
    report.same("shelf export: numbers", "export", sorted(pieces), sorted(row["number"] for row in rows))
    for row in rows:
        piece = pieces.get(row["number"])
        if piece:
            measured = row["measured (mm)"] or row["length (mm)"]
            said = (row["material"], row["kind"], read_length(row["length (mm)"], "mm").nm,
                    read_length(measured, "mm").nm, read_money(row["value"]), row["place"] or None, row["owner"] or None)
            right = (piece.material, piece.kind, piece.length, piece.actual, piece.value, piece.place, piece.owner)
            report.same("shelf export: piece", row["number"], right, said)


def check_held(report, job, plan, document, here, cut=()):
    """`shelf plans N` shows the plan's bars under its numbers. here: {bar: number of the piece that it is} of new
    bars that came; cut: bars that are cut."""
    rows = {row["bar"]: row for row in document["bars"]}
    report.same("shelf plans: numbers of bars", "bars", sorted(bar.number for bar in plan.bars), sorted(rows))
    for bar in plan.bars:
        row, place = rows.get(bar.number), f"bar {bar.number}"
        if row is None:
            continue
        right = (bar.supply.id, bar.supply.source, bar.supply.material, list(bar.supply.ends), expect.actual(bar.supply),
                 bar.rest, bar.leftover, bar.number in cut)
        said = (row["supply"], row["source"], row["material"], [row["datum end"], row["far end"]],
                int(row["length"]["nm"]), row["rest"], int(row["leftover"]["nm"]), row["cut"])
        report.same("shelf plans: bar", place, right, said)
        if bar.number not in cut:
            number = bar.supply.id if bar.supply.source != "new" else here.get(bar.number)
            report.same("shelf plans: here or to come", place, (number, number is not None), (row["number"], row["here"]))
        report.same("shelf plans: pieces cut", place, len(bar.pieces) if bar.number in cut else 0, row["done"])
        pieces = [(one["use"], one["label"], int(one["length"]["nm"])) for one in row["pieces"] for _ in range(one["count"])]
        right = [(p.use, job.parts[p.part].label if p.part is not None else None, p.length) for p in bar.pieces]
        report.same("shelf plans: pieces", place, right, pieces)


def check_balance(report, document):
    """`shelf check` balances what came in with where it is."""
    balance = {key: int(value["nm"]) for key, value in document["balance"].items()}
    into = balance.pop("in") + balance.pop("corrected")
    report.same("shelf check: balance", "balance", into, sum(balance.values()))


def check_cuts(report, shelf, kerf):
    """Every cut accounts for its bar, chips are kerfs, and kept lengths lie on the shelf as pieces."""
    pieces = shelf.pieces(None)
    for cut in shelf.cuts():
        place = f"plan {cut['plan']}, bar {cut['bar']}"
        parts = sum(cut[key] for key in ("parts", "posts", "kept", "scrap", "trim", "chips"))
        report.same("ledger: a cut accounts for its bar", place, cut["length"], parts)
        # An offcut that was found to be of another length since was booked as long as its cut left it.
        born = sum(p.length for p in pieces.values() if p.parent == cut["piece"])
        report.same("ledger: what is kept lies on the shelf", place, cut["kept"], born)


# --- the end ---------------------------------------------------------------------------------------

def check_made(report, job, shelf):
    """Every part exists once, and posts as many as were allowed."""
    count, lengths = shelf.made()
    for index, part in enumerate(job.parts):
        place = f"part {index} {part.label}"
        if part.post and count[index] > part.count:
            report.say("end: posts", place, f"at most {part.count}", count[index])
        if not part.post:
            report.same("end: every part exists once", place, part.count, count[index])
        low, high = expect.lengths(job, part)
        made = list(lengths.get(index, ()))
        for true in job.true.get(index, ()):
            if true not in made:
                report.say("end: a true length was made", place, true, made)
            else:
                made.remove(true)
        for length in made:
            if not low - 1 <= length <= high + 1:
                report.say("end: length of a part", place, f"{low} to {high}", length)


def check_money(report, opening, paid, shelf):
    """What was there and what was paid is used up or lies on the shelf: nothing in between."""
    brought = sum(piece.value for piece in shelf.pieces(None).values() if piece.parent is None)
    report.same("end: paid for is on the books", "values of bars", write_money(opening + paid), write_money(brought))


def check_length_balance(report, shelf):
    """All that came in, and what offcuts were found to be longer or shorter, is somewhere."""
    every = shelf.pieces(None)
    came = sum(p.actual if p.parent is None else p.actual - p.length for p in every.values())
    there = sum(p.actual for p in every.values() if p.state in ("shelf", "held"))
    gone = sum(cut[key] for cut in shelf.cuts() for key in ("parts", "posts", "scrap", "trim", "chips"))
    thrown = sum(p.actual for p in every.values() if p.state in ("scrapped", "lost"))
    report.same("end: lengths balance", "all", came, there + gone + thrown)
