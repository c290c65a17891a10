# SPDX-License-Identifier: GPL-3.0-or-later
"""At the saw: bars cut by the numbers on the sheet, in any order, with wrong cuts and steps taken back."""

import copy
import json
from collections import Counter
from fractions import Fraction

import check_papers
import check_plan
import check_shelf
import expect
from amounts import NM, read_money, round_half_up, write_money
from command import LIMIT, Broken
from read_plan import Plan
from read_shelf import Piece
from write_job import length


def far_end(supply):
    """The far end of what a bar leaves: sawn where it was squared."""
    return "sawn" if supply.trim else supply.ends[1]


def is_piece(supply, piece):
    """Can a piece that has no number yet be this supply of a plan?"""
    return (supply.material, expect.actual(supply)) == (piece.material, piece.actual)


class Saw:
    """Cuts a held plan. number: its number on the shelf; job: what is still to be made; todo: bars not cut yet."""

    def __init__(self, walk, blocks):
        self.walk, self.report, self.program, self.rng = walk, walk.report, walk.program, walk.rng
        self.job, self.plan, self.blocks = walk.job, walk.plan, blocks
        self.number, self.mistakes, self.steps = 1, 0, []
        self.todo = {bar.number for bar in self.plan.bars}
        self.old_steps = []

    def step(self, name):
        self.report.step = name

    def see(self, cause, right):
        """Compares the shelf with what must lie there, has it checked, and goes on from what does."""
        shelf = self.walk.shelf()
        check_shelf.check_state(self.report, cause, right, shelf)
        self.walk.lying = shelf.pieces()
        shelf.close()
        self.program.run("shelf", "check", "--shelf", "shelf.db")

    # --- what must lie on the shelf ------------------------------------------------------------------

    def held(self, lying, plan):
        """The same pieces, those that the plan takes held by it and no others."""
        used = {bar.supply.id: bar.supply for bar in plan.bars if bar.supply.source != "new"}
        born = [supply for number, supply in used.items() if number not in lying]
        out = copy.deepcopy(lying)
        for number, piece in out.items():
            alike = next((s for s in born if not piece.number and is_piece(s, piece)), None)
            if alike:
                born.remove(alike)
            piece.state = "held" if number in used or alike else "shelf"
        return out

    def after_cut(self, lying, bar):
        """The shelf once this bar is cut: the bar gone, what is kept of it there."""
        out = copy.deepcopy(lying)
        gone = out.pop(bar.supply.id, None) if bar.supply.source != "new" else None
        if bar.rest == "kept":
            material = expect.left_material(self.job, bar.supply)
            out[f"left of bar {bar.number}"] = Piece(
                "", material.id, "offcut", bar.leftover, None, ("sawn", far_end(bar.supply)),
                expect.worth(self.job, material, bar.leftover), "shelf",
                owner=gone and gone.owner, mark=gone and gone.mark)
        return out

    # --- steps ---------------------------------------------------------------------------------------

    def show(self):
        """The plan as the shelf holds it."""
        self.step("shelf plans")
        document = self.program.data("shelf", "plans", self.number, "--shelf", "shelf.db")
        if document:
            check_shelf.check_held(self.report, self.job, self.plan, document)

    def deliver(self):
        """Books what was bought, where the program has a command for it."""
        if "deliver" not in self.walk.can:
            return

    def on_paper(self):
        """A bar that is still to be cut: its number on the sheet, and the bar that the sheet shows there."""
        for block in self.rng.sample(self.blocks, len(self.blocks)):
            numbers = [n for n in range(block.first, block.last + 1) if n in self.todo]
            if numbers:
                bars = [bar for bar in self.plan.bars if check_papers.looks_like(self.job, block, bar)]
                return self.rng.choice(numbers), bars[0] if bars else None
        number = self.rng.choice(sorted(self.todo))
        return number, self.plan.bar(number)

    def cut(self):
        """Cuts and books one bar, by the number that the sheet gives it."""
        number, shown = self.on_paper()
        self.step(f"shelf cut {self.number} {number}")
        bar = self.plan.bar(number)
        if shown and bar and shown.layout != bar.layout:
            self.report.say("cut: the sheet's number books another bar", f"bar {number}",
                            f"the sheet shows {shown.supply.id}", f"booked {bar.supply.id}")
        before = self.walk.lying
        if self.program.data("shelf", "cut", self.number, number, *self.program.act()) is None:
            raise Broken(self.report.step)
        self.steps.append(("cut", before, [number]))
        self.todo.discard(number)
        self.see("cut: the shelf after it", self.after_cut(before, bar))

    def cut_all(self):
        """The rest in one go: one booking, that one undo takes back."""
        self.step(f"shelf cut {self.number} --all")
        before, numbers = self.walk.lying, sorted(self.todo)
        shelf = self.walk.shelf()
        steps = shelf.steps()
        shelf.close()
        if self.program.data("shelf", "cut", self.number, "--all", *self.program.act()) is None:
            raise Broken(self.report.step)
        right = before
        for number in numbers:
            right = {f"{k} {number}" if k.startswith("left") else k: v
                     for k, v in self.after_cut(right, self.plan.bar(number)).items()}
        shelf = self.walk.shelf()
        made = shelf.steps() - steps
        shelf.close()
        if made != 1:
            self.report.say("cut --all is one step", f"{len(numbers)} bars", "1 step", f"{made} steps")
        self.todo.clear()
        self.see("cut: the shelf after it", right)
        if made == 1 and self.rng.random() < 0.5:
            self.steps.append(("cut", before, numbers))
            self.undo()

    def undo(self):
        """Takes the last booking back; the shelf is as it was."""
        what, before, numbers = self.steps.pop()
        self.step(f"shelf undo of {what} of bar {numbers}")
        if self.program.data("shelf", "undo", *self.program.act()) is None:
            raise Broken(self.report.step)
        self.todo.update(numbers)
        self.see(f"undo: the shelf after undo of {what}", before)

    # --- wrong cuts ----------------------------------------------------------------------------------

    def mistake(self):
        """One wrong cut of a kind by chance, booked with `miscut`."""
        self.mistakes += 1
        number, _ = self.on_paper()
        bar = self.plan.bar(number)
        kinds = {"short": self.too_short, "wrong bar": self.wrong_bar, "measured": self.measured}
        kind = self.rng.choice(sorted(kinds))
        made = kinds[kind](bar)
        if made is None:
            return
        words, right = made
        before, old = self.walk.lying, (self.job, self.plan, self.blocks, self.number, set(self.todo))
        self.step(f"miscut {self.number} {number} {' '.join(words)}")
        words = ["miscut", "job.yaml", self.number, number, *words, *LIMIT]
        shelf = self.walk.shelf()
        steps = shelf.steps()
        shelf.close()
        if "miscut output" in self.walk.can:
            words += ["--output", f"plan-{self.number + 1}.json"]
        document = self.program.data(*words, *self.program.act(), right=(0, 1))
        shelf = self.walk.shelf()
        made, done, plans = shelf.steps() - steps, shelf.made()[0], shelf.open_plans()
        shelf.close()
        if document is None and made == 0:
            return  # refused, and nothing was booked
        if made != 1:
            self.report.say("miscut is one step", kind, "1 step", f"{made} steps")
        self.after_mistake(kind, right, document, done, plans)
        if self.rng.random() < 0.4:
            self.undo_mistake(before, old)

    def after_mistake(self, kind, right, document, done, plans):
        """The new plan, and the shelf with it; what came before is not taken back any more."""
        if document is None:
            raise Broken(self.report.step)
        self.old_steps, self.steps = self.steps, []
        self.new_plan(document, done, plans)
        cause = f"miscut {kind}: the shelf after it"
        self.see(cause, self.held(right, self.plan) if self.plan.bars else right)

    def new_plan(self, document, done, plans):
        """What is still to be made, and the plan for it."""
        self.step(f"new plan after {self.report.step}")
        self.job = copy.copy(self.walk.job)
        rest = document.get("document")
        whole = rest is None or is_of_whole_job(self.walk.job, rest)
        self.job.parts = []
        already = Counter()
        for index, part in enumerate(self.walk.job.parts):
            left = part.count - done[index]
            if whole:
                already[index] = done[index]
                self.job.parts.append(part)
            elif left > 0:
                self.job.parts.append(copy.copy(part))
                self.job.parts[-1].count = left
        if not rest:
            self.todo, self.blocks = set(), []
            return
        self.number = document["plan"]
        self.report.same("miscut: the open plan", "plans", [self.number], plans)
        self.plan = Plan(self.job, rest)
        before, spent, after, difference = (read_money(document[k]) for k in ("before", "spent", "after", "difference"))
        self.report.same("miscut: money", "difference", after + spent - before, difference)
        self.report.same("miscut: money", "after", self.plan.totals()["value"], after)
        check_plan.check_plan(self.report, self.job, self.plan, already)
        self.todo, self.blocks = {bar.number for bar in self.plan.bars}, []
        self.new_papers()
        self.show()

    def new_papers(self):
        """Papers of the new plan, where the program writes it to a file."""
        if "miscut output" in self.walk.can:
            name = f"plan-{self.number}.json"
            self.blocks = self.walk.sheets(name, self.plan, self.job)
            self.walk.labels(name, self.plan, self.job)

    def undo_mistake(self, before, old):
        """One undo takes a wrong cut back as a whole."""
        self.step("shelf undo of miscut")
        self.program.data("shelf", "undo", *self.program.act())
        shelf = self.walk.shelf()
        whole = check_shelf.differences(before.values(), shelf.pieces().values()) == ([], [])
        plans = shelf.open_plans()
        shelf.close()
        self.job, self.plan, self.blocks, self.number, self.todo = old
        self.steps = self.old_steps
        if not whole or plans != [self.number]:
            self.report.say("undo of a miscut takes back the whole of it", "shelf", "as it was before the miscut",
                            f"plans {plans}, shelf {'as it was' if whole else 'otherwise'}")
            self.program.data("shelf", "undo", *self.program.act())
        self.see("undo: the shelf after undo of miscut", before)

    def taken(self, lying, bar):
        """The shelf without the bar, and the piece that it is."""
        out = copy.deepcopy(lying)
        piece = out.pop(bar.supply.id, None) if bar.supply.source != "new" else None
        return out, piece

    def keep_loose(self, out, name, material, nm, value, parent, remark=None):
        """A length that came off a wrong cut: kept if it is one to keep, or fits a part."""
        useful = nm >= material.keep or any(
            material.id in part.materials and expect.lengths(self.job, part)[0] <= nm for part in self.still())
        if nm > 0 and useful:
            out[name] = Piece("", material.id, "offcut", nm, None, ("sawn", "sawn"), value, "shelf",
                              owner=parent and parent.owner, mark=parent and parent.mark, remark=remark)

    def still(self):
        return self.walk.job.parts

    def too_short(self, bar):
        """A piece came out too short; those before it are good, nothing was cut after."""
        at = self.rng.randrange(len(bar.pieces))
        piece = bar.pieces[at]
        if piece.use == "bend end":
            return None
        grid = Fraction(NM["in"] // 16 if self.job.unit != "mm" else NM["mm"])
        came = int(self.rng.randint(1, 99) * piece.length // 100 // grid * grid)
        if came < grid:
            return None
        out, parent = self.taken(self.walk.lying, bar)
        start = sum(p.length + self.job.kerf for p in bar.pieces[:at])
        rest = expect.usable(bar.supply) - start - came - self.job.kerf
        first = self.job.material(bar.supply.material) if at == 0 else expect.left_material(self.job, bar.supply)
        tail = expect.left_material(self.job, bar.supply)
        self.keep_loose(out, "spoiled", first, came, 0, parent, "mis-cut")
        self.keep_loose(out, "rest", tail, rest, expect.worth(self.job, tail, rest), parent)
        return ["--short", f"{at + 1}={length(self.job, came, True)}"], out

    def wrong_bar(self, bar):
        """The pieces were cut from another piece of the shelf, now and then of another tube."""
        others = [p for n, p in self.walk.lying.items() if n != bar.supply.id and
                  (p.material == bar.supply.material or self.rng.random() < 0.2)]
        if not others or bar.supply.bend:
            return None
        other = self.rng.choice(others)
        usable = other.actual - sum(end == "mill" for end in other.ends) * self.walk.job.trim
        fit, used = 0, 0
        while fit < len(bar.pieces) and used + bar.pieces[fit].length <= usable:
            used += bar.pieces[fit].length + self.job.kerf
            fit += 1
        if fit == 0:
            return None
        out = copy.deepcopy(self.walk.lying)
        del out[other.number]
        material = self.job.material(other.material)
        if not all(other.material in self.job.parts[p.part].materials for p in bar.pieces[:fit]):
            for at, piece in enumerate(bar.pieces[:fit]):
                self.keep_loose(out, f"spoiled {at}", material, piece.length, 0, other, "mis-cut")
        self.keep_loose(out, "rest", material, usable - used, expect.worth(self.job, material, usable - used), other)
        return ["--wrong-bar", other.number], out

    def measured(self, bar):
        """Before its first cut the bar is found to be shorter than it should be."""
        if bar.supply.bend:
            return None
        step = NM["in"] // 4 if self.job.unit != "mm" else NM["mm"]
        nm = expect.actual(bar.supply) - self.rng.randint(1, 60) * step
        out = copy.deepcopy(self.walk.lying)
        if bar.supply.source == "new":
            out["measured"] = Piece("", bar.supply.material, "bar", bar.supply.length, nm, bar.supply.ends,
                                    bar.supply.price, "shelf")
        else:
            out[bar.supply.id].measured = nm
        return ["--measured", length(self.job, nm, True)], out

    # --- to the last bar -----------------------------------------------------------------------------

    def go(self):
        self.see("hold: the shelf after it", self.held(self.walk.lying, self.plan))
        self.show()
        self.deliver()
        while self.todo:
            roll = self.rng.random()
            if roll < 0.12 and self.mistakes < 3:
                self.mistake()
            elif roll < 0.22 and self.steps:
                self.undo()
            elif roll < 0.26:
                self.cut_all()
            else:
                self.cut()
        self.end()

    def end(self):
        """Every part once; what was paid for and not cut lies on the shelf."""
        self.step("end")
        shelf = self.walk.shelf()
        check_shelf.check_made(self.report, self.walk.job, shelf)
        if self.mistakes == 0:
            self.check_spare(shelf)
        shelf.close()

    def check_spare(self, shelf):
        """Whole bars of packs and price breaks that no layout uses."""
        spare, paid = 0, 0
        for row in self.plan.document["takes"]:
            supply = self.plan.supplies[row["supply"]["index"]]
            if supply.source == "new":
                spare += row["bought"] - row["used"]
                paid += row["bought"] * expect.price_at(supply, row["bought"])
        bars = sum(p.kind == "bar" for p in shelf.pieces().values())
        before = sum(p.kind == "bar" for p in self.walk.job.stock)
        used = sum(bar.supply.source == "shelf" for bar in self.plan.bars)
        self.report.same("end: bars that were bought and not cut lie on the shelf", "whole bars",
                         before - used + spare, bars)
        check_shelf.check_money(self.report, self.walk.opening, paid, shelf)
        self.check_all_money(shelf, spare)

    def check_all_money(self, shelf, spare):
        """Opening + paid + kept = charged + borne + what lies there now, to the cent."""
        walk, totals = self.walk, self.plan.totals()
        if not walk.quote or not walk.order:
            return
        spare_money = 0
        for row in self.plan.document["takes"]:
            supply = self.plan.supplies[row["supply"]["index"]]
            if supply.source == "new":
                spare_money += (row["bought"] - row["used"]) * expect.price_at(supply, row["bought"])
        closing = sum(p.value for p in shelf.pieces().values() if not p.owner)
        opening = sum(p.value for p in walk.job.stock if not p.owner)
        kept = sum(p.value for p in shelf.pieces(None).values() if p.parent and not p.owner)
        gone = read_money(walk.quote["charged"]) + read_money(walk.quote["shop_bears"])
        left = opening + read_money(walk.order["total"]) + totals["cuts"] + kept + spare_money
        self.report.same("end: paid, charged and kept add up", "money", write_money(round_half_up(left, 100)),
                         write_money(round_half_up(gone + closing, 100)))


def is_of_whole_job(job, document):
    """Do the indices of the document's parts mean those of the whole job?"""
    named = [row["part"] for layout in document["layouts"] for row in layout["pieces"] if row["part"]]
    named += [row["part"] for group in document["groups"] for row in group["certificate"]["duals"]]
    return all(one["index"] < len(job.parts) and job.parts[one["index"]].label == one["label"] for one in named)
