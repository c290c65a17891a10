# SPDX-License-Identifier: GPL-3.0-or-later
"""Walks one random job a seed through the shop by the command line: from the drawing to the last offcut.

usage: walk.py [--program FILE] [--known FILE] [--keep FOLDER] [--jobs N] [--list] SEED...
A seed may be a range, 1-20. Each disagreement is a line; exit status 1 if one is not a known one."""

import argparse
import concurrent.futures
import json
import os
import shutil
import sys
import tempfile
import traceback
from collections import Counter

import check_money
import check_papers
import check_plan
import check_shelf
import make_job
import read_paper
import saw
import write_job
from command import LIMIT, Broken, Program, sheet_orders
from read_plan import Plan, Unreadable
from read_shelf import Shelf
from report import Report
from amounts import read_money, write_money


class Walk:
    """One job on its way. lying: the pieces that must be on the shelf; opening: what they were worth at first."""

    def __init__(self, seed, program, folder):
        self.report = Report(seed)
        self.job = make_job.make(seed)
        self.rng = make_job.random.Random(seed * 7919 + 1)
        self.program = Program(program, folder, self.report)
        self.orders = sheet_orders(program)
        self.order = self.quote = self.plan = None
        self.lying, self.opening, self.paid = {}, 0, 0

    def shelf(self):
        return Shelf(self.program.at("shelf.db"))

    def step(self, name):
        self.report.step = name

    # --- before the saw ------------------------------------------------------------------------

    def stock(self):
        """Puts the stock on the shelf, piece by piece, as a shop would enter it."""
        self.step("shelf add")
        for material in self.job.materials:
            words = ["--od", write_job.length(self.job, material.outside, True),
                     "--wall", write_job.length(self.job, material.wall, True)]
            if material.radius:
                words += ["--radius", write_job.length(self.job, material.radius, True)]
            self.program.must("shelf", "material", material.id, *words, *self.program.act())
        for piece in self.job.stock:
            self.add(piece)
        shelf = self.shelf()
        for piece in self.job.stock:
            there = shelf.pieces().get(piece.number)
            right = (piece.material, piece.kind, piece.length, piece.measured or piece.length, piece.ends, piece.value,
                     piece.place, piece.owner, piece.mark)
            said = there and (there.material, there.kind, there.length, there.actual, there.ends, there.value,
                              there.place, there.owner, there.mark)
            self.report.same("shelf add", piece.number, right, said)
        self.lying = shelf.pieces()
        shelf.close()
        self.opening = sum(piece.value for piece in self.job.stock)

    def add(self, piece):
        size = lambda nm: write_job.length(self.job, nm, True)
        words = ["--number", piece.number, "--value", write_money(piece.value), "--ends", ",".join(piece.ends)]
        words += ["--bar"] if piece.kind == "bar" else []
        words += ["--measured", size(piece.measured)] if piece.measured else []
        for option, value in (("--place", piece.place), ("--owner", piece.owner), ("--mark", piece.mark),
                              ("--date", piece.date)):
            words += [option, value] if value else []
        self.program.must("shelf", "add", piece.material, size(piece.length), *words, *self.program.act())

    def read_back(self):
        """Take-off and check: the job as it was understood."""
        self.step("takeoff")
        document = self.program.data("takeoff", "job.yaml")
        if document:
            check_plan.check_takeoff(self.report, self.job, document)
        self.step("check")
        document = self.program.data("check", "job.yaml")
        if document:
            said = document["understood"]
            count = lambda post: sum(p.count for p in self.job.parts if p.post == post)
            self.report.same("check: parts and posts", "understood", (count(False), count(True)), (said["parts"], said["posts"]))
            check_plan.check_limits_said(self.report, self.job, "check", str(document["remarks"]))

    def make_plan(self):
        """Plans and holds. False: there is not enough tube, and that was said."""
        self.step("plan")
        words = ["plan", "job.yaml", "--output", "plan.json", "--width", "400", *LIMIT]
        if self.job.way == "shelf":
            words += ["--from-shelf", "--hold", *self.program.act()]
        status, out, err = self.program.run(*words, right=(0, 1))
        self.said = out
        if status == 1:
            if "Not enough tube" not in out or os.path.exists(self.program.at("plan.json")):
                self.report.say("plan: not enough tube", "plan", "said, and no plan written", out[-200:])
            return False
        if status != 0:
            raise Broken("plan")
        check_plan.check_limits_said(self.report, self.job, "plan", out + err)
        self.read_plan("plan.json")
        check_papers.check_report(self.report, self.job, self.plan, read_paper.report_blocks(out), out)
        self.verify("plan.json", self.plan)
        if self.job.way == "listed":
            self.step("shelf hold")
            self.program.must("shelf", "hold", "job.yaml", "plan.json", *self.program.act())
        return True

    def verify(self, name, plan):
        self.step(f"verify {name}")
        document = self.program.data("verify", "job.yaml", name)
        if document:
            said = (document["valid"], read_money(document["value"]), document["claimed"]["status"])
            right = (True, plan.totals()["value"], plan.document["status"])
            self.report.same("verify: what is claimed", "plan", right, said)

    def read_plan(self, name):
        self.plan = Plan(self.job, json.loads(self.program.read(name)))
        if self.job.way == "shelf":
            check_plan.check_brought(self.report, self.job, self.plan, self.lying)
        check_plan.check_plan(self.report, self.job, self.plan)

    # --- papers ------------------------------------------------------------------------------------

    def sheets(self, plan_name, plan, job):
        """The sheet in every order; the blocks of one of them, by chance, to cut by."""
        found = {}
        for order in self.orders:
            self.step(f"sheet --order {order}")
            name = f"sheet-{order}.pdf"
            status, _, _ = self.program.run("sheet", "job.yaml", plan_name, "--order", order, "--output", name, "--replace")
            if status == 0:
                found[order], before = read_paper.sheet_blocks(self.program.at(name))
                check_papers.check_sheet(self.report, job, plan, found[order], before, f"sheet, --order {order}")
                check_papers.check_head(self.report, job, plan, before)
                check_papers.check_plan_number(self.report, job, plan, read_paper.heads_of(self.program.at(name)))
                check_papers.check_foot(self.report, read_paper.text_of(self.program.at(name)))
        return found[self.rng.choice(sorted(found))] if found else []

    def labels(self, plan_name, plan, job):
        self.step("labels")
        stock = self.rng.choice(sorted(read_paper.LABEL_GRID))
        status, _, _ = self.program.run("labels", "job.yaml", plan_name, "--output", "labels.pdf", "--stock", stock, "--replace")
        if status == 0:
            check_papers.check_labels(self.report, job, plan, read_paper.labels_of(self.program.at("labels.pdf"), stock))

    def buy(self, name, plan, job, fittings=True):
        """The order as data, table and paper; in the plan of a rest the fittings were ordered before."""
        self.step(f"order of {name}")
        words = ("order", "job.yaml", name, "--date", make_job.DAY)
        order = self.program.data(*words)
        if order:
            check_money.check_order_data(self.report, job, plan, order, fittings)
            self.program.must(*words, "--output", "order.csv", "--output", "order.pdf", "--replace")
            check_money.check_order_csv(self.report, job, order, self.program.read("order.csv"))
            check_money.check_order_paper(self.report, job, order, check_money.read_letter(self.program.at("order.pdf"), job.currency))
        return order

    def charge(self, name, plan, job, order):
        """The quote, private and as each client sees it."""
        self.step(f"quote of {name}")
        words = ("quote", "job.yaml", name, "--date", make_job.DAY)
        quote = self.program.data(*words, "--private") if job.quote and order else None
        if not quote:
            return None
        check_money.check_quote(self.report, job, plan, order, quote)
        self.program.must(*words, "--private", "--output", "quote.pdf", "--replace")
        text = read_paper.text_of(self.program.at("quote.pdf"))
        check_money.check_private_paper(self.report, job, quote, text)
        for index, (client, _, _) in enumerate(job.orders):
            one = ("--job", client) if job.several else ()
            public = self.program.data(*words, *one)
            if public:
                check_money.check_client_view(self.report, job, quote, public, client)
                self.program.must(*words, *one, "--output", f"quote-{index}.pdf", "--replace")
                paper = check_money.read_letter(self.program.at(f"quote-{index}.pdf"), job.currency)
                check_money.check_client_paper(self.report, job, quote, paper, client)
        return quote

    def papers(self, name, plan, job, fittings=True):
        """All papers of a plan: blocks of a sheet to cut by, order and quote."""
        blocks = self.sheets(name, plan, job)
        self.labels(name, plan, job)
        order = self.buy(name, plan, job, fittings)
        return blocks, order, self.charge(name, plan, job, order)

    # --- the whole way -----------------------------------------------------------------------------

    def go(self):
        with open(self.program.at("job.yaml"), "w", encoding="utf-8") as file:
            file.write(write_job.write(self.job))
        if self.job.way != "paper":
            self.stock()
        self.read_back()
        if not self.make_plan():
            return
        blocks, self.order, self.quote = self.papers("plan.json", self.plan, self.job)
        if self.job.way != "paper":
            saw.Saw(self, blocks).go()
            self.finish()

    def finish(self):
        """The end: the shelf's own check, list and export, and all that must add up."""
        self.step("end")
        document = self.program.data("shelf", "check", "--shelf", "shelf.db")
        if document:
            check_shelf.check_balance(self.report, document)
        shelf = self.shelf()
        document = self.program.data("shelf", "list", "--shelf", "shelf.db")
        if document:
            check_shelf.check_list(self.report, document, shelf)
        check_shelf.check_export(self.report, self.program.must("shelf", "export", "--shelf", "shelf.db"), shelf)
        check_shelf.check_cuts(self.report, shelf, self.job.kerf)
        check_shelf.check_length_balance(self.report, shelf)
        shelf.close()


def go_and_tell(one):
    """Walks; what ends the walk early is told in its report."""
    try:
        one.go()
    except Broken:
        pass  # why was told where it happened
    except Unreadable as why:
        one.report.say("an output can't be read", one.report.step, "a plan", str(why))
    except Exception:  # the checker's own fault: told, never passed over
        one.report.say("the checker failed", one.report.step, "no fault", traceback.format_exc(limit=-3))


def walk(seed, program, keep):
    """Walks one seed; its report and the commands that were given."""
    folder = os.path.join(keep, f"seed-{seed}") if keep else tempfile.mkdtemp(prefix=f"walk-{seed}-")
    if keep:
        shutil.rmtree(folder, ignore_errors=True)
        os.makedirs(folder)
    one = Walk(seed, program, folder)
    try:
        go_and_tell(one)
    finally:
        if keep:
            with open(os.path.join(folder, "commands"), "w", encoding="utf-8") as file:
                file.write("\n".join(one.program.lines) + "\n")
        else:
            shutil.rmtree(folder, ignore_errors=True)
    return one.report


def seeds_of(words):
    for word in words:
        first, _, last = word.partition("-")
        yield from range(int(first), int(last or first) + 1)


def read_known(path):
    """Causes that are known defects, one a line; # begins a remark."""
    if not path:
        return set()
    with open(path, encoding="utf-8") as file:
        lines = (line.partition("#")[0].strip() for line in file)
        return {line for line in lines if line}


def tell(reports, known, every):
    """Prints what was found; 1 if something that is not known was."""
    causes, first = Counter(), {}
    for report in reports:
        for cause, line in report.found:
            causes[cause] += 1
            first.setdefault(cause, line)
            if every or cause not in known:
                print(line)
    for cause in sorted(causes):
        if cause in known:
            print(f"known, {causes[cause]} times: {first[cause]}")
    fresh = sorted(cause for cause in causes if cause not in known)
    print(f"{len(reports)} walks, {sum(causes.values())} disagreements, {len(fresh)} causes that are not known")
    return 1 if fresh else 0


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", default="build/dropwise")
    parser.add_argument("--known")
    parser.add_argument("--keep")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--list", action="store_true")
    parser.add_argument("seeds", nargs="+")
    options = parser.parse_args()
    seeds = list(seeds_of(options.seeds))
    with concurrent.futures.ProcessPoolExecutor(options.jobs) as pool:
        reports = list(pool.map(walk, seeds, [options.program] * len(seeds), [options.keep] * len(seeds)))
    return tell(reports, read_known(options.known), options.list)


if __name__ == "__main__":
    sys.exit(main())
