# SPDX-License-Identifier: GPL-3.0-or-later
"""At the saw: bars cut by the numbers on the sheet, in any order, with wrong cuts and steps taken back."""

import copy

import aside
import buying
import check_money
import check_papers
import check_shelf
import expect
import mistake
import read_paper
from amounts import read_money, round_half_up, write_money
from command import Broken
from read_shelf import Piece


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
        self.buying, self.pieces_here = buying.Buying(self.plan), {}
        self.aside = aside.Aside(self)
        self.paid_before = 0

    def step(self, name):
        self.report.step = name

    def see(self, cause, right):
        """Compares the shelf with what must lie there, has it checked, and goes on from what does."""
        shelf = self.walk.shelf()
        check_shelf.check_state(self.report, cause, right, shelf)
        self.walk.lying = shelf.pieces()
        self.pieces_here = shelf.bars_here(self.number)
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
        out, gone = self.taken(lying, bar)
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
        step = self.report.step
        self.step(f"shelf plans after {step}")
        document = self.program.data("shelf", "plans", self.number, "--shelf", "shelf.db")
        if document:
            cut = {bar.number for bar in self.plan.bars} - self.todo
            bought = {bar.number for bar in self.buying.bars}
            self.report.same("deliver: which bars are here", "bars", self.buying.here - cut, set(self.pieces_here) & bought)
            check_shelf.check_held(self.report, self.job, self.plan, document, self.pieces_here, cut)
            self.print_held()
        self.step(step)

    def print_held(self):
        """A sheet of the plan as it is held now tells what is still to be delivered."""
        shelf, sheet = ("--shelf", "shelf.db"), ("--output", "held.pdf", "--replace")
        self.program.must("shelf", "plans", self.number, "--output", "held.json", "--replace", *shelf)
        self.program.must("sheet", "job.yaml", "held.json", *shelf, *sheet)
        blocks, before = read_paper.sheet_blocks(self.program.at("held.pdf"))
        bought = {bar.number for bar in self.plan.bars if bar.supply.source == "new"}
        check_papers.check_to_come(self.report, self.plan, blocks, before,
                                   (bought & self.todo) - set(self.pieces_here))

    def deliver(self):
        """Books that something came of what was bought, now and then at another price than planned."""
        names = [name for name in self.buying.supplies if self.buying.to_come(name)]
        names = self.rng.sample(names, self.rng.randint(0, len(names)))
        if not names:
            return
        before, old = self.walk.lying, copy.deepcopy(self.buying)
        words, right = [], copy.deepcopy(before)
        for name in sorted(names):
            count, value = self.rng.randint(1, self.buying.to_come(name)), self.buying.each(name)
            words.append(f"{name}={count}")
            if self.rng.random() < 0.5:
                value += self.rng.randint(1, 300) * 100
                words += ["--paid", f"{name}={write_money(value)}"]
            for k in range(count):
                right[f"came {name} {k}"] = self.buying.arrive(name, value)
        self.step(f"shelf deliver {self.number} {' '.join(words)}")
        if self.program.data("shelf", "deliver", self.number, *words, *self.program.act()) is None:
            raise Broken(self.report.step)
        self.steps.append(("deliver", before, [], old))
        self.see("deliver: the shelf after it", right)
        self.show()

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
        before, old = self.walk.lying, copy.deepcopy(self.buying)
        if self.program.data("shelf", "cut", self.number, number, *self.program.act()) is None:
            raise Broken(self.report.step)
        self.steps.append(("cut", before, [number], old))
        self.todo.discard(number)
        self.see("cut: the shelf after it", self.after_cut(before, bar))
        if self.rng.random() < 0.3:
            self.show()

    def cut_all(self):
        """The rest in one go: one booking, that one undo takes back."""
        self.step(f"shelf cut {self.number} --all")
        before, numbers, old = self.walk.lying, sorted(self.todo), copy.deepcopy(self.buying)
        shelf = self.walk.shelf()
        steps = shelf.steps()
        shelf.close()
        if self.program.data("shelf", "cut", self.number, "--all", *self.program.act()) is None:
            raise Broken(self.report.step)
        right = before
        for number in numbers:
            right = self.after_cut(right, self.plan.bar(number))
        shelf = self.walk.shelf()
        made = shelf.steps() - steps
        shelf.close()
        if made != 1:
            self.report.say("cut --all is one step", f"{len(numbers)} bars", "1 step", f"{made} steps")
        self.todo.clear()
        self.see("cut: the shelf after it", right)
        if made == 1 and self.rng.random() < 0.5:
            self.steps.append(("cut", before, numbers, old))
            self.undo()

    def undo(self):
        """Takes the last booking back; the shelf is as it was."""
        what, before, numbers, self.buying = self.steps.pop()
        self.step(f"shelf undo of {what} of bar {numbers}")
        if self.program.data("shelf", "undo", *self.last_step(), *self.program.act()) is None:
            raise Broken(self.report.step)
        self.todo.update(numbers)
        self.see(f"undo: the shelf after undo of {what}", before)

    def last_step(self):
        """A step from before a copy was put back is taken back by its number alone."""
        shelf = self.walk.shelf()
        (step, _), restored = shelf.in_force()[0], shelf.put_back()
        shelf.close()
        return ["--step", step] if restored > step else []

    def taken(self, lying, bar):
        """The shelf without the bar, and the piece that it is; a bar that was to come came with its pack."""
        out = copy.deepcopy(lying)
        if bar.supply.source != "new":
            return out, out.pop(bar.supply.id, None)
        key = self.piece_of(bar)
        if bar.number not in self.buying.here:
            self.bring(out, bar)
        elif key is None:  # it came with another bar of the same step
            key = next(k for k, one in out.items() if not one.number and one.kind == "bar" and is_piece(bar.supply, one))
        self.buying.here.discard(bar.number)
        self.buying.cut.add(bar.number)
        return out, out.pop(key, None)

    def piece_of(self, bar):
        """The number of the piece that a bar of the plan is; None if it is still to come."""
        return self.pieces_here.get(bar.number) if bar.supply.source == "new" else bar.supply.id

    def bring(self, out, bar):
        """What comes along with a bar that is not here yet."""
        came = self.buying.come_with(bar)
        out.update((f"came with bar {bar.number}, {k}", one) for k, one in enumerate(came))

    # --- to the last bar -----------------------------------------------------------------------------

    def go(self):
        self.see("hold: the shelf after it", self.held(self.walk.lying, self.plan))
        self.show()
        while self.todo:
            self.aside.step()
            roll = self.rng.random()
            if roll < 0.12 and self.mistakes < 3:
                mistake.Mistake(self).make()
            elif roll < 0.22 and self.steps:
                self.undo()
            elif roll < 0.26:
                self.cut_all()
            elif roll < 0.36:
                self.deliver()
            else:
                self.cut()
        self.deliver_rest()
        self.end()

    def deliver_rest(self):
        """Bars that were bought for the shelf alone come with no cut: they are booked when they are there."""
        buying = self.buying
        rest = [(name, buying.to_come(name)) for name in sorted(buying.supplies) if buying.to_come(name)]
        if not rest:
            return
        self.step(f"shelf deliver {self.number}, the rest")
        right = copy.deepcopy(self.walk.lying)
        for name, count in rest:
            right.update((f"came {name} {k}", buying.arrive(name, buying.each(name))) for k in range(count))
        if self.program.data("shelf", "deliver", self.number, *[f"{n}={c}" for n, c in rest], *self.program.act()) is None:
            raise Broken(self.report.step)
        self.see("deliver: the shelf after it", right)

    def end(self):
        """Every part once; what was paid for and not cut lies on the shelf."""
        self.step("end")
        shelf = self.walk.shelf()
        check_shelf.check_made(self.report, self.walk.job, shelf)
        if self.mistakes == 0:
            self.check_spare(shelf)
        paid = self.paid_before + self.buying.paid
        check_shelf.check_money(self.report, self.walk.opening, paid, shelf)
        shelf.close()

    def check_spare(self, shelf):
        """Whole bars of packs and price breaks that no layout uses."""
        spare = 0
        for row in self.plan.document["takes"]:
            supply = self.plan.supplies[row["supply"]["index"]]
            if supply.source == "new":
                spare += row["bought"] - row["used"]
        bars = sum(p.kind == "bar" for p in shelf.pieces().values())
        before = sum(p.kind == "bar" for p in self.walk.job.stock)
        used = sum(bar.supply.source == "shelf" for bar in self.plan.bars)
        self.report.same("end: bars that were bought and not cut lie on the shelf", "whole bars",
                         before - used + spare, bars)
        self.check_all_money(shelf, spare)

    def check_all_money(self, shelf, spare):
        """Opening + paid + kept = charged + borne + what lies there now, to the cent."""
        walk, totals = self.walk, self.plan.totals()
        known = all(bar.supply.book is not None for bar in self.plan.bars if bar.supply.source != "new")
        if not walk.quote or not walk.order or not known:
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
