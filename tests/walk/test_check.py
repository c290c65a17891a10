# SPDX-License-Identifier: GPL-3.0-or-later
"""Tests the checker itself: outputs of a real job with one digit or word changed must be found out.

usage: test_check.py PROGRAM. A checker that sees nothing fails here."""

import copy
import json
import os
import re
import shutil
import sys
import tempfile

import check_money
import check_papers
import check_plan
import check_shelf
import make_job
import read_paper
import walk
from read_plan import Plan, Unreadable
from read_shelf import Piece
from report import Report

SEEDS = (2, 7, 11)  # millimetres, inches, several clients; sheets of more than a page


class Outputs:
    """All that one job gave, made once and then changed a digit at a time."""

    def __init__(self, program, seed, folder):
        self.walk = walk.Walk(seed, program, folder)
        self.job, run = self.walk.job, self.walk.program
        with open(run.at("job.yaml"), "w", encoding="utf-8") as file:
            file.write(walk.write_job.write(self.job))
        self.walk.stock()
        self.walk.make_plan()
        self.document = json.loads(run.read("plan.json"))
        run.must("sheet", "job.yaml", "plan.json", "--order", "plan", "--output", "sheet.pdf")
        run.must("labels", "job.yaml", "plan.json", "--output", "labels.pdf")
        self.sheet = read_paper.words_of(run.at("sheet.pdf"))
        self.labels = read_paper.words_of(run.at("labels.pdf"))
        self.order = run.data("order", "job.yaml", "plan.json", "--date", make_job.DAY)
        run.must("order", "job.yaml", "plan.json", "--date", make_job.DAY, "--output", "o.csv", "--output", "o.pdf")
        self.table, self.paper = run.read("o.csv"), check_money.read_letter(run.at("o.pdf"), self.job.currency)
        self.quote = run.data("quote", "job.yaml", "plan.json", "--date", make_job.DAY, "--private")
        self.held = run.data("shelf", "plans", "1", "--shelf", "shelf.db") if self.job.way != "paper" else None


def found(check):
    """Causes and places that a check finds; not what is said there, which a change may merely repeat."""
    report = Report(0)
    try:
        check(report)
    except (Unreadable, ValueError, IndexError, KeyError, StopIteration, AttributeError) as why:
        report.say("unreadable", "output", "readable", repr(why))
    return sorted(report.places)


def other_digit(text, at):
    return text[:at] + str((int(text[at]) + 3) % 10) + text[at + 1:]


# --- papers ----------------------------------------------------------------------------------------

def check_words(outputs, name, words):
    """The check of a paper whose words are these."""
    real = read_paper.words_of
    read_paper.words_of = lambda path: words
    try:
        plan = Plan(outputs.job, outputs.document)
        if name == "sheet":
            def check(report):
                blocks, before = read_paper.sheet_blocks(None)
                check_papers.check_sheet(report, outputs.job, plan, blocks, before, "sheet")
                check_papers.check_head(report, outputs.job, plan, before)
                check_papers.check_plan_number(report, outputs.job, plan, read_paper.heads_of(None))
        else:
            def check(report):
                check_papers.check_labels(report, outputs.job, plan, read_paper.labels_of(None, "a4-21"))
        return found(check)
    finally:
        read_paper.words_of = real


def frame(words):
    """Words that frame the page and are not the plan's: page numbers, dates, the scale."""
    out = set()
    for line in read_paper.lines_of(words):
        text = read_paper.said(line)
        if re.search(r"\bpage \d+ of|printed at|^plan [0-9a-f]{8}|^\d{4}-\d\d-\d\d plan|Cut sheet$", text):
            out |= {id(word) for word in line}
    return out


def change_digits(outputs, name, words):
    """Every digit of a paper, one word at a time: how many changes pass unseen."""
    base, unseen, tried = check_words(outputs, name, words), [], 0
    quiet = frame(words) if name == "sheet" else set()
    for index, word in enumerate(words):
        digit = re.search(r"\d", word.text)
        if not digit or id(word) in quiet:
            continue
        changed = list(words)
        changed[index] = copy.copy(word)
        changed[index].text = other_digit(word.text, digit.start())
        tried += 1
        if check_words(outputs, name, changed) == base:
            unseen.append(word.text)
    return tried, unseen


def change_report(outputs):
    """Every number between the first bar and the last of the report that `plan` printed."""
    text, plan = outputs.walk.said, Plan(outputs.job, outputs.document)

    def seen(said):
        return found(lambda report: check_papers.check_report(
            report, outputs.job, plan, read_paper.report_blocks(said), said))
    base, unseen, tried = seen(text), [], 0
    start, stop = text.index("\nCut\n"), text.index("\nWhere the tube goes")
    for match in re.finditer(r"\d+", text[start:stop]):
        tried += 1
        if seen(other_digit(text, start + match.end() - 1)) == base:
            line = text[:start + match.end()].rpartition("\n")[2]
            unseen.append(line.strip())
    return tried, unseen


# --- data --------------------------------------------------------------------------------------------

def is_number(value):
    return not isinstance(value, bool) and re.fullmatch(r"-?\d+(\.\d+)?", str(value)) is not None


def leaves(value, words, path=()):
    """Paths to all numbers, and to texts of digits, in a document; or to all words, yes and no."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from leaves(one, words, path + (key,))
    elif isinstance(value, list):
        for index, one in enumerate(value):
            yield from leaves(one, words, path + (index,))
    elif isinstance(value, (int, str)) and is_number(value) != words:
        yield path


def spot_of(document, path):
    """The map or list that the end of a path stands in."""
    for key in path[:-1]:
        document = document[key]
    return document


def changed_at(document, path):
    out = copy.deepcopy(document)
    spot = spot_of(out, path)
    old = spot[path[-1]]
    spot[path[-1]] = not old if isinstance(old, bool) else old + 1 if isinstance(old, int) else \
        other_digit(old, len(old) - 1) if is_number(old) else old + "x"
    return out


def change_data(document, check, asked, words=False):
    """Each number, or each word, of a document that is asked for, changed: how many pass unseen."""
    base, unseen, tried = found(lambda report: check(report, document)), [], 0
    for path in leaves(document, words):
        if not asked(path):
            continue
        tried += 1
        changed = changed_at(document, path)
        if found(lambda report: check(report, changed)) == base:
            unseen.append("/".join(map(str, path)))
    return tried, unseen


def check_plan_data(outputs):
    lying = {p.number: Piece(p.number, p.material, p.kind, p.length, p.measured or None, p.ends, p.value, "shelf",
                             p.place, p.owner, p.mark) for p in outputs.job.stock}

    def check(report, document):
        plan = Plan(outputs.job, document)
        check_plan.check_plan(report, outputs.job, plan)
        check_plan.check_brought(report, outputs.job, plan, lying)
    return check


def plan_number(path):
    """Numbers of a plan that bear on the cutting or the money."""
    if path[0] in ("layouts", "takes"):
        return "group" not in path and "index" not in path[-2:] and path[-1] != "text"
    return path[0] == "totals" or (path[0] == "shelf" and path[2] in ("length", "measured", "price", "book value")
                                   and path[-1] != "text")


def plan_word(path):
    """Words of a plan that bear on the cutting; a word that says how a length is read aloud is none."""
    return path[0] in ("layouts", "shelf") and path[-1] not in ("text", "date") and "nm" not in path


def data_tests(outputs):
    plan = Plan(outputs.job, outputs.document)
    yield "plan", outputs.document, check_plan_data(outputs), plan_number
    yield "plan's words", outputs.document, check_plan_data(outputs), plan_word
    yield "order", outputs.order, \
        lambda report, doc: check_money.check_order_data(report, outputs.job, plan, doc), \
        lambda path: path[-1] in ("quantity", "amount", "total", "bars", "fittings", "paid") or \
        (path[-1] in ("pack", "packs", "spare") and spot_of(outputs.order, path)["kind"] == "bars")
    yield "order against its table", outputs.order, \
        lambda report, doc: check_money.check_order_csv(report, outputs.job, doc, outputs.table), \
        lambda path: path[-1] in ("quantity", "amount")
    yield "order against its paper", outputs.order, \
        lambda report, doc: check_money.check_order_paper(report, outputs.job, doc, outputs.paper), \
        lambda path: path[-1] in ("amount", "total") and "suppliers" in path
    if outputs.quote:
        yield "quote", outputs.quote, \
            lambda report, doc: check_money.check_quote(report, outputs.job, plan, outputs.order, doc), \
            lambda path: path[-1] in ("cost", "price", "tax", "charged", "total", "spent", "shop_bears", "paid", "from") and \
            path[0] != "shop_offcuts" and "offcuts" not in path
    if outputs.held:
        yield "shelf plans", outputs.held, \
            lambda report, doc: check_shelf.check_held(report, outputs.job, plan, doc, {}), \
            lambda path: path[0] == "bars" and path[-1] in ("bar", "nm", "count", "done")
        yield "shelf plans' words", outputs.held, \
            lambda report, doc: check_shelf.check_held(report, outputs.job, plan, doc, {}), \
            lambda path: path[0] == "bars" and path[-1] != "text"


# --- the shelf ---------------------------------------------------------------------------------------

def shelf_test():
    """A shelf that differs in one thing from what must lie there is found out."""
    piece = Piece("C1", "al38", "offcut", 10**9, None, ("sawn", "sawn"), 12500, "shelf")

    class Lying:
        def __init__(self, one):
            self.one = one

        def pieces(self):
            return {"C1": self.one}
    unseen = []
    for name, value in (("length", 10**9 + 1), ("value", 12501), ("state", "held"), ("kind", "bar"),
                        ("material", "al48"), ("measured", 999), ("ends", ("mill", "sawn")), ("owner", "x")):
        other = copy.copy(piece)
        setattr(other, name, value)
        if not found(lambda report: check_shelf.check_state(report, "shelf", {"C1": piece}, Lying(other))):
            unseen.append(name)
    if found(lambda report: check_shelf.check_state(report, "shelf", {"C1": piece}, Lying(piece))):
        unseen.append("what is right is called wrong")
    return 9, unseen


def main():
    failed = 0

    def tell(name, tried, unseen):
        nonlocal failed
        print(f"{name}: {tried} changes, {len(unseen)} unseen{': ' + ', '.join(unseen[:8]) if unseen else ''}")
        failed += len(unseen) > 0 or tried == 0

    for seed in SEEDS:
        folder = tempfile.mkdtemp(prefix="walk-test-")
        try:
            outputs = Outputs(sys.argv[1], seed, folder)
            for name in ("sheet", "labels"):
                tell(f"seed {seed}, {name}", *change_digits(outputs, name, getattr(outputs, name)))
            tell(f"seed {seed}, report", *change_report(outputs))
            for name, document, check, asked in data_tests(outputs):
                tell(f"seed {seed}, {name}", *change_data(document, check, asked, name.endswith("words")))
        finally:
            shutil.rmtree(folder, ignore_errors=True)
    tell("shelf", *shelf_test())
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
